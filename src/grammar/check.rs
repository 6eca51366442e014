//! The content check: every example of the grammar, run as the test it is.

use crate::callsign::Callsign;
use crate::diagnostic::{Diagnostic, list};
use crate::element::{Severity, Verdict};
use crate::judge::judgement::Judgement;
use crate::judge::{self, Situation, judge, judge_call};
use crate::rules::{ExampleCase, PhraseKind, RuleSet};

/// What a check looked at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counted {
    /// Phrases.
    pub phrases: usize,
    /// Examples that were run.
    pub examples: usize,
}

/// Runs every example of a rule set: right replies must have no finding, wrong ones just those they
/// name, and the model of each transmission must itself be right. Instructions and calls must have a
/// right and a wrong example in the rule set that states them first, other words of a station a right one.
#[must_use]
pub fn check_examples(rules: &RuleSet) -> (Vec<Diagnostic>, Counted) {
    let mut found = rules.unproved.clone();
    for case in &rules.examples {
        check_example(rules, case, &mut found);
    }
    (found, Counted { phrases: rules.phrases().len(), examples: rules.examples.len() })
}

fn check_example(rules: &RuleSet, case: &ExampleCase, found: &mut Vec<Diagnostic>) {
    let example = &case.example;
    let problem = |code, span, title: String| Diagnostic::new(code, &case.path, &case.source, span, title);
    let say = example.say.as_ref();
    let callsign = match &example.callsign {
        Some(text) => match Callsign::parse(text.get_ref()) {
            Some(callsign) => callsign,
            None => {
                found.push(problem("G020", text.span(), format!("`{}` is not a callsign", text.get_ref())));
                return;
            }
        },
        None => match say {
            Some(say) => match judge::addressed(rules, say.get_ref()) {
                Some(callsign) => callsign,
                None => {
                    found.push(
                        problem("G020", say.span(), "this transmission names no callsign".into())
                            .help("begin it with one, or add `callsign = '…'` to the example"),
                    );
                    return;
                }
            },
            None => match judge::speaker(rules, example.reply.get_ref()) {
                Some(callsign) => callsign,
                None => {
                    found.push(
                        problem("G020", example.reply.span(), "this call names no callsign".into())
                            .help("add `callsign = '…'` to the example"),
                    );
                    return;
                }
            },
        },
    };
    let situation = Situation { callsign, shortened: false };
    let judged = match say {
        Some(say) => judge(rules, &situation, say.get_ref(), example.reply.get_ref()),
        None => judge_call(rules, &situation, &case.id, &[], example.reply.get_ref()),
    };
    let mut wanted: Vec<String> = example.faults.iter().map(|f| f.get_ref().clone()).collect();
    if case.right && !wanted.is_empty() {
        found.push(problem("G021", example.faults[0].span(), "a right reply has no faults".into()));
        return;
    }
    if !case.right && wanted.is_empty() {
        found.push(
            problem("G021", example.reply.span(), "a wrong reply names its faults".into())
                .help("for instance `faults = ['runway missing']`"),
        );
        return;
    }
    let mut got = faults(&judged);
    wanted.sort();
    got.sort();
    if got != wanted {
        let title = format!("`{}` [{}] is judged {}", case.id, rules.standard, judged.verdict.name());
        let label =
            if got.is_empty() { "no fault found".to_owned() } else { format!("found: {}", got.join(", ")) };
        let help = if wanted.is_empty() {
            "wanted: no fault".to_owned()
        } else {
            format!("wanted: {}", list(&wanted))
        };
        found.push(problem("G022", example.reply.span(), title).label(label).help(help));
    }
    if let Some(say) = say
        && !judged.model.is_empty()
    {
        let again = judge(rules, &situation, say.get_ref(), &judged.model);
        if again.verdict != Verdict::Correct {
            let title = format!("`{}` [{}]: the model read-back is not right", case.id, rules.standard);
            let help = format!("model: {}; found: {}", judged.model, faults(&again).join(", "));
            found.push(problem("G023", say.span(), title).help(help));
        }
    }
}

/// `element fault` of every finding above advice.
#[must_use]
pub fn faults(judged: &Judgement) -> Vec<String> {
    judged
        .findings
        .iter()
        .filter(|f| f.severity > Severity::Advice)
        .map(|f| format!("{} {}", f.element.name(), f.fault.name()))
        .collect()
}

/// Phrases of the base that lack a right or a wrong example: their ids.
#[must_use]
pub fn without_examples(rules: &RuleSet) -> Vec<String> {
    rules
        .phrases()
        .iter()
        .filter(|p| matches!(p.kind, PhraseKind::Instruction | PhraseKind::Call))
        .filter(|p| {
            let has = |right| rules.examples.iter().any(|e| *e.id == *p.id && e.right == right);
            !(has(true) && has(false))
        })
        .map(|p| p.id.to_string())
        .collect()
}
