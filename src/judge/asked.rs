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
/// Transmissions that a thread keeps, on shelves by their hash: answers to one paper come in any order.
const SHELVES: usize = 64;
/// Places on one shelf.
const PLACES: usize = 8;
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
    /// Phrases that it wants, and how many of them were said.
    phrases: (Vec<u16>, usize),
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
        let phrases = needs.phrases(rules);
        Self { rules: rules.serial, situation, say, said, needs, phrases, model }
    }

    /// Judges one reply; `items` lists what was said and heard.
    pub(super) fn judge(&self, rules: &RuleSet, reply: &str, heard: &mut Parsed, items: bool) -> Judgement {
        self.case(rules, reply, heard, items).finish(self.model.clone())
    }

    /// Everything that is found in one reply.
    pub(super) fn case<'a>(
        &'a self,
        rules: &'a RuleSet,
        reply: &'a str,
        heard: &'a mut Parsed,
        items: bool,
    ) -> Case<'a> {
        {
            let hints = self.needs.hints(&self.said, &self.say);
            let own = Some(&self.situation.callsign);
            let (phrases, exact) = &self.phrases;
            heard.read(rules, reply, Speaker::Pilot, own, &hints, (phrases, *exact));
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
            return case;
        }
        case.align();
        case.words();
        if silent {
            case.callsign_missing();
        } else {
            case.callsign();
            case.order();
        }
        case
    }

    /// A copy without working memory.
    fn compact(&self) -> Self {
        Self {
            rules: self.rules,
            situation: self.situation.clone(),
            say: self.say.clone(),
            said: self.said.compact(),
            needs: self.needs.clone(),
            phrases: self.phrases.clone(),
            model: self.model.clone(),
        }
    }

    fn is(&self, rules: &RuleSet, situation: &Situation, say: &str) -> bool {
        self.rules == rules.serial && self.say == say && self.situation == *situation
    }
}

/// A few transmissions, and the hashes of those that came last.
#[derive(Default)]
struct Shelf {
    kept: Vec<Asked>,
    seen: [u64; PLACES],
    /// Where the next one goes, in both lists.
    next: (usize, usize),
}

impl Shelf {
    /// Keeps a transmission that came before, not long ago, in the place of the oldest.
    fn offer(&mut self, hash: u64, asked: &Asked) {
        if !self.seen.contains(&hash) {
            self.seen[self.next.0] = hash;
            self.next.0 = (self.next.0 + 1) % PLACES;
        } else if self.kept.len() < PLACES {
            self.kept.push(asked.compact());
        } else {
            self.kept[self.next.1] = asked.compact();
            self.next.1 = (self.next.1 + 1) % PLACES;
        }
    }
}

thread_local! {
    static SHELF: RefCell<Vec<Shelf>> = RefCell::new((0..SHELVES).map(|_| Shelf::default()).collect());
}

/// [`judge`](super::judge) without the lists of what was said and heard, for batches: a transmission that
/// this thread reads for the second time is kept, and not read again.
pub(crate) fn judge_findings(rules: &RuleSet, situation: &Situation, say: &str, reply: &str) -> Judgement {
    let mut hasher = rustc_hash::FxHasher::default();
    (rules.serial, say).hash(&mut hasher);
    let hash = hasher.finish();
    let place = usize::try_from(hash >> 32).unwrap_or(0) % SHELVES;
    let judge = |asked: &Asked| with_parsed(|heard| asked.judge(rules, reply, heard, false));
    let known = SHELF
        .with_borrow(|shelves| shelves[place].kept.iter().find(|a| a.is(rules, situation, say)).map(judge));
    if let Some(judged) = known {
        return judged;
    }
    let asked = Asked::of(rules, situation, say, parse::take());
    let judged = judge(&asked);
    if say.len() <= LONGEST {
        SHELF.with_borrow_mut(|shelves| shelves[place].offer(hash, &asked));
    }
    parse::give(asked.said);
    judged
}
