//! A transmission read once, for all the replies to it.

use super::judgement::Judgement;
use super::model::{Transmission, model};
use super::need::{For, Needs};
use super::{Case, Situation, moves, repair};
use crate::parse::{self, Parsed, Speaker, with_parsed};
use crate::rules::RuleSet;
use std::cell::RefCell;
use std::hash::{Hash, Hasher};

/// Stands for what was blocked or not readable.
pub const LOST: char = '…';
/// Transmissions that a thread keeps: answers to one paper come in any order.
const KEPT: usize = 512;
/// Longer transmissions are not kept, so that memory stays flat.
const LONGEST: usize = 1000;

/// A transmission with all that does not depend on the reply.
pub(super) struct Asked {
    /// Number of the rule set it was read by.
    rules: u64,
    situation: Situation,
    say: String,
    pub(super) said: Parsed,
    needs: Needs,
    model: String,
}

impl Asked {
    /// Reads a transmission; `said` is working memory.
    pub(super) fn of(rules: &RuleSet, situation: &Situation, say: &str, mut said: Parsed) -> Self {
        said.read(rules, say, Speaker::Controller, Some(&situation.callsign), &[], (&[], 0));
        repair::repair(rules, &mut said);
        let lost = say.contains(LOST);
        let needs = Needs { lost, ..Needs::of(rules, situation, &said) };
        let model = match needs.address {
            For::Us => model(&Transmission { rules, situation, text: say, said: &said, needs: &needs }),
            For::Other | For::Silence => String::new(),
        };
        let (situation, say) = (situation.clone(), say.to_owned());
        Self { rules: rules.serial, situation, say, said, needs, model }
    }

    /// Judges one reply; `items` lists what was said and heard.
    pub(super) fn judge(&self, rules: &RuleSet, reply: &str, heard: &mut Parsed, items: bool) -> Judgement {
        {
            let hints = self.needs.hints(&self.said, &self.say);
            let (phrases, exact) = self.needs.phrases(rules);
            let own = Some(&self.situation.callsign);
            heard.read(rules, reply, Speaker::Pilot, own, &hints, (&phrases, exact));
        }
        repair::repair(rules, heard);
        let mut case = Case {
            rules,
            situation: &self.situation,
            say: &self.say,
            said: &self.said,
            reply,
            heard,
            needs: self.needs.clone(),
            findings: Vec::new(),
            moves: moves(rules, heard),
            items,
        };
        let silent = case.heard.s.atoms.is_empty();
        if case.needs.address != For::Us {
            if !silent {
                case.not_for_us();
            }
            return case.finish(self.model.clone());
        }
        case.align();
        case.words();
        if silent {
            case.callsign_missing();
        } else {
            case.callsign();
            case.order();
        }
        case.finish(self.model.clone())
    }

    /// A copy without working memory.
    fn compact(&self) -> Self {
        Self {
            rules: self.rules,
            situation: self.situation.clone(),
            say: self.say.clone(),
            said: self.said.compact(),
            needs: self.needs.clone(),
            model: self.model.clone(),
        }
    }

    fn is(&self, rules: &RuleSet, situation: &Situation, say: &str) -> bool {
        self.rules == rules.serial && self.say == say && self.situation == *situation
    }
}

/// A place for a transmission: what was read there last, and what is kept.
#[derive(Default)]
struct Place {
    seen: u64,
    kept: Option<Asked>,
}

thread_local! {
    static SHELF: RefCell<Vec<Place>> = RefCell::new((0..KEPT).map(|_| Place::default()).collect());
}

/// [`judge`](super::judge) without the lists of what was said and heard, for batches: a transmission that
/// this thread reads for the second time is kept, and not read again.
pub(crate) fn judge_findings(rules: &RuleSet, situation: &Situation, say: &str, reply: &str) -> Judgement {
    let mut hasher = rustc_hash::FxHasher::default();
    (rules.serial, say).hash(&mut hasher);
    let hash = hasher.finish();
    let place = usize::try_from(hash >> 32).unwrap_or(0) % KEPT;
    let judge = |asked: &Asked| with_parsed(|heard| asked.judge(rules, reply, heard, false));
    let known = SHELF.with_borrow(|shelf| match &shelf[place].kept {
        Some(asked) if asked.is(rules, situation, say) => Some(judge(asked)),
        _ => None,
    });
    if let Some(judged) = known {
        return judged;
    }
    let asked = Asked::of(rules, situation, say, parse::take());
    let judged = judge(&asked);
    SHELF.with_borrow_mut(|shelf| {
        let place = &mut shelf[place];
        if place.seen == hash && say.len() <= LONGEST {
            place.kept = Some(asked.compact());
        }
        place.seen = hash;
    });
    parse::give(asked.said);
    judged
}
