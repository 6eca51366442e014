//! What the judge says of a reply: a verdict, its findings, and what should have been said.

use crate::element::{Element, Fault, Severity, Verdict};
use crate::span::Span;
use std::sync::Arc;

/// One fault in a reply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What it concerns.
    pub element: Element,
    /// What is the matter with it.
    pub fault: Fault,
    /// How much it can hurt.
    pub severity: Severity,
    /// Canonical value that was transmitted, if there is one.
    pub expected: Option<String>,
    /// Canonical value that came back, if there is one.
    pub given: Option<String>,
    /// The words of the reply that it concerns.
    pub span: Option<Span>,
    /// Document and paragraph that ask for it.
    pub rule: Arc<str>,
    /// One sentence a trainee understands.
    pub why: Arc<str>,
    /// What to say instead, where there is a set phrase.
    pub better: Option<String>,
    /// Id of the phrase or rule in the grammar, for `explain`.
    pub id: Arc<str>,
}

/// What the trainee did with the conversation, beside reading back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Move {
    /// Received.
    Roger,
    /// Will comply.
    Wilco,
    /// Yes.
    Affirm,
    /// No.
    Negative,
    /// Repeat all.
    SayAgain,
    /// Repeat a part: all after, all before, or one item.
    SayAgainPart,
    /// Asks whether an item was heard right.
    Confirm,
    /// Cannot comply.
    Unable,
    /// Wait.
    StandBy,
    /// Wants something.
    Request,
    /// Looking out, traffic in sight, negative contact.
    TrafficAnswer,
}

/// An element that was transmitted or heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Which element.
    pub element: Element,
    /// Canonical value.
    pub value: String,
    /// Where it stands, with its marker words ("runway two seven").
    pub span: Span,
    /// True if it must come back (or, in a reply, if it answers a required element).
    pub required: bool,
}

/// How far the form of a reply counts. What is wrong or missing counts in both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    /// Words, order and form of numbers count: training.
    #[default]
    Strict,
    /// Only values count, as controllers on the line take them; form is advice.
    Line,
}

impl Form {
    /// Both with their names on the command line and in files.
    pub const ALL: [(&'static str, Self); 2] = [("strict", Self::Strict), ("line", Self::Line)];
}

/// The judgement of one reply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judgement {
    /// The overall call.
    pub verdict: Verdict,
    /// 0 to 100; 100 is correct, 0 incorrect.
    pub score: u8,
    /// Faults, in the order of the reply, those without a place last.
    pub findings: Vec<Finding>,
    /// A right reply in the rule set's spoken form; empty if silence is right.
    pub model: String,
    /// Moves found in the reply.
    pub moves: Vec<Move>,
    /// Elements of the transmission.
    pub said: Vec<Item>,
    /// Elements of the reply.
    pub heard: Vec<Item>,
    /// Limits that were left out: what was read back is a freer clearance than was given.
    pub freer: Vec<Element>,
}

impl Judgement {
    /// Nothing found: the reply is right. `model` is what else could have been said.
    #[must_use]
    pub fn right(model: String) -> Self {
        Self {
            verdict: Verdict::Correct,
            score: 100,
            findings: Vec::new(),
            model,
            moves: Vec::new(),
            said: Vec::new(),
            heard: Vec::new(),
            freer: Vec::new(),
        }
    }

    /// The same judgement without the findings of that element and fault; the verdict is that of what is left.
    /// Nothing changes if there is no such finding.
    #[must_use]
    pub fn without(mut self, element: Element, fault: Fault) -> Self {
        let before = self.findings.len();
        self.findings.retain(|finding| (finding.element, finding.fault) != (element, fault));
        if self.findings.len() < before {
            self.verdict = verdict(&self.findings, &self.freer);
            let required = self.said.iter().filter(|item| item.required).count();
            self.score = score(self.verdict, &self.findings, required);
        }
        self
    }

    /// The same judgement with the form of the reply counted as `form` says: on the line, a fault that never
    /// makes more than `nonstandard` becomes advice.
    #[must_use]
    pub fn counted(mut self, form: Form) -> Self {
        if form == Form::Line {
            for finding in &mut self.findings {
                let value =
                    !finding.element.is_form() && matches!(finding.fault, Fault::Wrong | Fault::Missing);
                if !value {
                    finding.severity = Severity::Advice;
                }
            }
            if self.verdict == Verdict::Nonstandard {
                self.verdict = Verdict::Correct;
                self.score = 100;
            }
        }
        self
    }
}

/// The overall call for these findings; `freer` are limits that were left out.
#[must_use]
pub fn verdict(findings: &[Finding], freer: &[Element]) -> Verdict {
    let one = |finding: &Finding| match finding.fault {
        _ if finding.element.is_form() => Verdict::Nonstandard,
        Fault::Wrong => Verdict::Incorrect,
        Fault::Missing if freer.contains(&finding.element) => Verdict::Incorrect,
        Fault::Missing => Verdict::Incomplete,
        Fault::Misplaced | Fault::Nonstandard | Fault::Unrequested => Verdict::Nonstandard,
    };
    let counting = findings.iter().filter(|f| f.severity > Severity::Advice);
    counting.map(one).max().unwrap_or(Verdict::Correct)
}

/// From 0 to 100: a fault of form costs ten, down to 60; of what is incomplete, the share that came back counts, 55 at
/// most; incorrect is 0. `required` elements had to come back, besides the callsign.
#[must_use]
pub fn score(verdict: Verdict, findings: &[Finding], required: usize) -> u8 {
    let whole = |n: usize| u8::try_from(n).unwrap_or(u8::MAX);
    match verdict {
        Verdict::Correct => 100,
        Verdict::Nonstandard => {
            let faults = findings.iter().filter(|f| f.severity > Severity::Advice).count();
            100u8.saturating_sub(whole(faults).saturating_mul(10)).max(60)
        }
        Verdict::Incomplete => {
            let wanted = required + 1;
            let is_missing = |f: &&Finding| f.fault == Fault::Missing && !f.element.is_form();
            let missing = findings.iter().filter(is_missing).count().min(wanted);
            whole(55 * (wanted - missing) / wanted)
        }
        Verdict::Incorrect => 0,
    }
}
