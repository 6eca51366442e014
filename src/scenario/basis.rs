//! What a reply is judged by: kept with it, so that it can be judged again by another grammar.

use super::steps::Kind;
use crate::callsign::Callsign;
use crate::crew::{
    CrewBook, Operator, Role, SpeakingUp, judge_briefing, judge_call as judge_crew_call, judge_item,
    judge_speaking_up,
};
use crate::element::{Element, Fault, Severity, Verdict};
use crate::judge::judgement::{Finding, Judgement};
use crate::judge::{Owed, Situation, judge, judge_call, owed, owed_callsign};
use crate::rules::RuleSet;
use crate::session::respond::Open;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

type Values = BTreeMap<String, String>;

/// What was said or due when a reply was judged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Basis {
    /// A station's transmission.
    Transmission {
        /// All of it that was heard.
        say: String,
        /// The station had used the short callsign.
        shortened: bool,
        /// The part that was asked for again.
        part: Option<String>,
        /// What was still open; empty is all of it.
        open: Vec<Open>,
    },
    /// A call to a station.
    Call {
        /// Id of the phrase.
        phrase: String,
        /// Values of the situation.
        wanted: Vec<(Element, String)>,
        /// The station had used the short callsign.
        shortened: bool,
        /// What was still open; empty is all of it.
        open: Vec<Open>,
    },
    /// A call of the crew, or its answer.
    CrewCall {
        /// Its id.
        id: String,
        /// The situation, if it was not the usual one.
        case: Option<String>,
        /// Call or answer.
        role: Role,
        /// Values of the flight.
        values: Values,
    },
    /// An item of a checklist.
    Item {
        /// Id of the checklist.
        list: String,
        /// Counted from 1.
        item: usize,
        /// Challenge or response.
        role: Role,
        /// Values of the flight.
        values: Values,
    },
    /// A briefing.
    Briefing {
        /// Its id.
        id: String,
        /// Values of the flight.
        values: Values,
    },
    /// One pilot stops the other.
    SpeakingUp {
        /// Seconds that were left.
        seconds: u32,
        /// Calls that were not answered.
        unanswered: u32,
        /// Values of the flight.
        values: Values,
    },
    /// Another voice was to be watched. The grammar has no part in its judgement.
    Watching {
        /// What would have been right, if it slipped.
        right: Option<String>,
    },
    /// Words for another aircraft were to be left to it. The grammar has no part in its judgement.
    Listening,
}

/// By whose words a reply is judged.
#[derive(Clone, Copy)]
pub struct Judges<'a> {
    /// The rule set.
    pub rules: &'a RuleSet,
    /// The words of the crew.
    pub book: &'a CrewBook,
    /// Whose calls and values the crew uses.
    pub operator: &'a Operator,
}

impl Basis {
    /// The basis of something that is due from the crew.
    pub(super) fn of_kind(kind: &Kind, values: &Values) -> Self {
        let values = values.clone();
        match kind.clone() {
            Kind::Call { id, case, role } => Self::CrewCall { id, case, role, values },
            Kind::Item { list, item, role } => Self::Item { list, item, role, values },
            Kind::Brief { id } => Self::Briefing { id, values },
            Kind::SpeakUp { seconds, unanswered } => Self::SpeakingUp { seconds, unanswered, values },
            Kind::Watch { slip, .. } => Self::Watching { right: slip.map(|slip| slip.right) },
            Kind::Listen { .. } => Self::Listening,
        }
    }

    /// Judges a reply of a station's, strictly; none if it is not one of these.
    #[must_use]
    pub fn judge_radio(&self, rules: &RuleSet, callsign: &Callsign, reply: &str) -> Option<Judgement> {
        let situation = |shortened: &bool| Situation { callsign: callsign.clone(), shortened: *shortened };
        match self {
            Self::Call { phrase, wanted, shortened, open } => {
                let judgement = judge_call(rules, &situation(shortened), phrase, wanted, reply);
                Some(narrow(judgement, open))
            }
            Self::Transmission { say, shortened, part, open } => {
                let situation = situation(shortened);
                let whole = narrow(judge(rules, &situation, say, reply), open);
                let part = part.as_ref().map(|part| judge(rules, &situation, part, reply));
                // A reply that gives everything again, and something wrong in it, is told by the whole.
                let better = |part: &Judgement| {
                    let (ours, all) =
                        ((part.verdict, part.findings.len()), (whole.verdict, whole.findings.len()));
                    ours < all || ours == all && part.verdict != Verdict::Incorrect
                };
                Some(part.filter(better).unwrap_or(whole))
            }
            _ => None,
        }
    }

    /// Judges words of the crew; none if the book does not have what was due, or if no words were.
    #[must_use]
    pub fn judge_crew(&self, book: &CrewBook, operator: &Operator, reply: &str) -> Option<Judgement> {
        match self {
            Self::CrewCall { id, case, role, values } => book
                .call_when(id, case.as_deref())
                .and_then(|call| judge_crew_call(book, call, *role, operator, values, reply)),
            Self::Item { list, item, role, values } => {
                book.checklist(list).and_then(|list| judge_item(book, list, *item, *role, values, reply))
            }
            Self::Briefing { id, values } => {
                book.briefing(id).map(|briefing| judge_briefing(book, briefing, values, reply))
            }
            Self::SpeakingUp { seconds, unanswered, values } => {
                let situation = SpeakingUp {
                    seconds: Some(f64::from(*seconds)),
                    level: None,
                    unanswered: *unanswered,
                    values: values.clone(),
                };
                Some(judge_speaking_up(book, &situation, reply))
            }
            Self::Transmission { .. } | Self::Call { .. } | Self::Watching { .. } | Self::Listening => None,
        }
    }

    /// Judges a reply; none if today's grammar does not have what was due, or has no part in it.
    #[must_use]
    pub fn judge(&self, judges: Judges<'_>, callsign: &Callsign, reply: &str) -> Option<Judgement> {
        self.judge_radio(judges.rules, callsign, reply)
            .or_else(|| self.judge_crew(judges.book, judges.operator, reply))
    }

    /// What the reply owed, element by element; `judgement` is what was said of it.
    #[must_use]
    pub fn owed(&self, rules: &RuleSet, callsign: &Callsign, reply: &str, judged: &Judgement) -> Vec<Owed> {
        let situation = |shortened: &bool| Situation { callsign: callsign.clone(), shortened: *shortened };
        match self {
            Self::Transmission { say, shortened, open, .. } => {
                let mut owed = owed(rules, &situation(shortened), say, reply);
                if !open.is_empty() {
                    // What was not open any more need not come back, and its clause is no reason.
                    owed.retain(|o| is_open(open, o));
                    for (at, o) in owed.iter_mut().enumerate() {
                        o.clause = at;
                    }
                }
                owed
            }
            Self::Call { phrase, wanted, shortened, open } => {
                let own = |element, value: String| Owed {
                    answered: true,
                    ..Owed::of_phrase(rules, element, value, phrase)
                };
                let mut owed: Vec<Owed> = wanted.iter().map(|(e, v)| own(*e, v.clone())).collect();
                let instruction = rules.phrase(phrase).and_then(|p| p.instruction.clone());
                owed.extend(instruction.map(|value| own(Element::Instruction, value)));
                let callsign = own(Element::Callsign, String::new());
                owed.push(owed_callsign(&situation(shortened), callsign));
                owed.retain(|o| open.is_empty() || is_open(open, o));
                for (at, o) in owed.iter_mut().enumerate() {
                    o.clause = at;
                }
                owed
            }
            Self::CrewCall { id, role, .. } => {
                let element = if *role == Role::First { Element::Call } else { Element::Reply };
                vec![crew(element, judged.model.clone(), id)]
            }
            Self::Item { list, item, role, .. } => {
                let element = if *role == Role::First { Element::Challenge } else { Element::Response };
                let owed = crew(element, judged.model.clone(), list);
                vec![Owed { phrase: Some(format!("{list}.{item}").into()), ..owed }]
            }
            Self::Briefing { id, .. } => vec![crew(Element::Briefing, id.clone(), id)],
            Self::SpeakingUp { .. } => {
                [Element::Address, Element::Concern, Element::Evidence, Element::Proposal, Element::Agreement]
                    .map(|element| crew(element, String::new(), "speaking-up"))
                    .to_vec()
            }
            Self::Watching { right } => {
                vec![crew(Element::Challenge, right.clone().unwrap_or_default(), "watching")]
            }
            Self::Listening => vec![crew(Element::Callsign, String::new(), "listening")],
        }
    }
}

/// Something that is owed to the crew.
fn crew(element: Element, value: String, topic: &str) -> Owed {
    let topic = topic.to_owned();
    let phrase = Some(topic.as_str().into());
    Owed { element, value, phrase, topic: Some(topic), phase: None, clause: 0, answered: true }
}

fn is_open(open: &[Open], owed: &Owed) -> bool {
    owed.element == Element::Callsign || open.iter().any(|o| o.is(owed.element, Some(&owed.value)))
}

/// The judgement with only the open elements required; the callsign always is. Nothing open is all of it.
fn narrow(mut judgement: Judgement, open: &[Open]) -> Judgement {
    if open.is_empty() {
        return judgement;
    }
    let due = |f: &Finding| {
        f.element == Element::Callsign || open.iter().any(|o| o.is(f.element, f.expected.as_deref()))
    };
    judgement.findings.retain(|f| f.fault != Fault::Missing || due(f));
    let has = |wanted: Fault| judgement.findings.iter().any(|f| f.fault == wanted && !f.element.is_form());
    judgement.verdict = if has(Fault::Wrong) {
        Verdict::Incorrect
    } else if has(Fault::Missing) {
        Verdict::Incomplete
    } else if judgement.findings.iter().any(|f| f.severity > Severity::Advice) {
        Verdict::Nonstandard
    } else {
        Verdict::Correct
    };
    judgement
}
