//! One item while it is answered: lines go in, voices and a judgement come out. Nothing is read or shown here, so that
//! marking goes the same way as sitting.

use super::exam::Exam;
use super::item::{Item, Task};
use crate::airport::Station;
use crate::callsign::Callsign;
use crate::crew::{Channel, Role};
use crate::drill::items;
use crate::element::Verdict;
use crate::judge::judgement::Judgement;
use crate::record::entry::{Part, parts};
use crate::scenario::basis::{Basis, Judges};
use crate::scenario::draw::{Duty, Exchange, Flight, RadioExchange, Turn};
use crate::scenario::event::{Action, Attempt, Due, Event, Skill};
use crate::scenario::play::Play;
use crate::scenario::{Leads, Rank, Seat};
use crate::session::ask::wants_again;
use std::sync::Arc;

/// Silences after which an item counts as not answered.
const SILENCES: u8 = 2;

/// An item that is being answered.
pub struct Answering<'e> {
    exam: &'e Exam,
    item: &'e Item,
    flight: Flight,
    play: Option<Play>,
    silences: u8,
    replies: u8,
    hinted: bool,
    again: u32,
    typed: Option<String>,
    first: Option<Answer>,
    last: Option<Answer>,
    over: bool,
}

/// A reply and what the judge says of it.
#[derive(Debug, Clone)]
pub struct Answer {
    /// As it was typed.
    pub reply: String,
    /// The judgement.
    pub judgement: Judgement,
    /// What was owed, and whether it came back.
    pub owed: Vec<Part>,
}

/// How an item ended.
#[derive(Debug, Clone)]
pub struct Ended {
    /// The first reply, or silence.
    pub answer: Answer,
    /// True if there was a reply.
    pub answered: bool,
    /// The score of a later reply that was right.
    pub corrected: Option<u8>,
    /// A hint was asked for.
    pub hinted: bool,
    /// How often the transmission was asked for again.
    pub again: u32,
}

impl<'e> Answering<'e> {
    /// An item before anything is said; with it what is said and happens first.
    #[must_use]
    pub fn begin(exam: &'e Exam, item: &'e Item) -> (Self, Vec<Action>) {
        let flight = flight(exam, item);
        let radio = !flight.exchanges.is_empty();
        let mut play =
            radio.then(|| Play::new(Arc::clone(&exam.rules), flight.clone(), Arc::clone(&exam.book)));
        let mut actions = play.as_mut().map(Play::begin).unwrap_or_default();
        if let (None, Some(text)) = (&play, &item.cue) {
            actions.push(Action::Happens { text: text.clone() });
        }
        let answering = Self {
            exam,
            item,
            flight,
            play,
            silences: 0,
            replies: 0,
            hinted: false,
            again: 0,
            typed: None,
            first: None,
            last: None,
            over: false,
        };
        (answering, actions)
    }

    /// True if nothing more is taken.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.over
    }

    /// The item as a flight of one exchange.
    #[must_use]
    pub fn flight(&self) -> &Flight {
        &self.flight
    }

    /// True if a hint was given.
    #[must_use]
    pub fn hinted(&self) -> bool {
        self.hinted
    }

    /// True if a reply was judged.
    #[must_use]
    pub fn replied(&self) -> bool {
        self.first.is_some()
    }

    /// What is due; none for the crew.
    #[must_use]
    pub fn due(&self) -> Option<Due> {
        self.play.as_ref().and_then(Play::due)
    }

    /// A right reply to the whole item.
    #[must_use]
    pub fn model(&self) -> String {
        let (basis, _) = self.basis();
        self.judge(&basis, "").map(|judgement| judgement.model).unwrap_or_default()
    }

    /// Notes that a hint was given.
    pub fn hint(&mut self) {
        self.hinted = true;
    }

    /// Takes a line; an empty one is silence.
    pub fn take(&mut self, line: &str) -> Vec<Action> {
        if self.over {
            return Vec::new();
        }
        let silent = line.trim().is_empty();
        if silent {
            self.silences += 1;
        } else {
            self.typed = Some(line.to_owned());
        }
        let actions = match &mut self.play {
            Some(play) => play.step(Event::Reply(line.to_owned())),
            None => self.crew(line).into_iter().collect(),
        };
        let mut judged = false;
        for action in &actions {
            match action {
                Action::Judged(attempt) if !silent => {
                    judged = true;
                    self.judged(attempt);
                }
                Action::Finished => self.over = true,
                _ => {}
            }
        }
        if !judged && !silent {
            self.again += 1;
        }
        self.over |= self.silences >= SILENCES;
        actions
    }

    /// Keeps a judged reply; the item is over if it was right, or if no further one is taken.
    fn judged(&mut self, attempt: &Attempt) {
        self.replies += 1;
        let answer = self.answer(attempt.skill, &attempt.basis, &attempt.reply, attempt.judgement.clone());
        let right = attempt.accepted || answer.is_right();
        self.first.get_or_insert_with(|| answer.clone());
        self.last = Some(answer);
        self.over |= right || self.replies >= self.exam.paper.conditions.replies;
    }

    fn answer(&self, skill: Skill, basis: &Basis, reply: &str, judgement: Judgement) -> Answer {
        let callsign = self.flight.callsign.clone();
        let owed = basis.owed(&self.exam.rules, &callsign, reply, &judgement);
        let owed = parts(skill, &owed, &judgement.findings, judgement.verdict);
        Answer { reply: reply.to_owned(), judgement, owed }
    }

    /// Judges words of the crew.
    fn crew(&self, line: &str) -> Option<Action> {
        if line.trim().is_empty() {
            return None;
        }
        if wants_again(line) {
            return Some(Action::Happens { text: self.item.asked().to_owned() });
        }
        let (basis, skill) = self.basis();
        let judgement = self.judge(&basis, line)?;
        let accepted = judgement.verdict <= Verdict::Nonstandard;
        Some(Action::Judged(Box::new(Attempt {
            exchange: 1,
            station: self.item.station.clone(),
            channel: Channel::Deck,
            skill,
            detection: None,
            asked: self.item.asked().to_owned(),
            call: skill == Skill::Call,
            reply: line.to_owned(),
            judgement,
            first: self.replies == 0,
            accepted,
            wanted: Vec::new(),
            basis,
        })))
    }

    fn judge(&self, basis: &Basis, line: &str) -> Option<Judgement> {
        let operator = self.exam.operator();
        let judges = Judges { rules: &self.exam.rules, book: &self.exam.book, operator: &operator };
        let callsign = self.flight.callsign.clone();
        Some(basis.judge(judges, &callsign, line)?.counted(self.exam.paper.form))
    }

    /// What the whole item is judged by.
    fn basis(&self) -> (Basis, Skill) {
        match &self.item.task {
            Task::ReadBack { says } => {
                let basis =
                    Basis::Transmission { say: says.clone(), shortened: false, part: None, open: Vec::new() };
                (basis, Skill::ReadBack)
            }
            Task::RadioCall { phrase, wanted } => {
                let basis = Basis::Call {
                    phrase: phrase.clone(),
                    wanted: wanted.clone(),
                    shortened: false,
                    open: Vec::new(),
                };
                (basis, Skill::RadioCall)
            }
            Task::CrewCall { id, role, values } => {
                let skill = if *role == Role::First { Skill::Call } else { Skill::Answer };
                (Basis::CrewCall { id: id.clone(), case: None, role: *role, values: values.clone() }, skill)
            }
            Task::Checklist { list, item, values } => {
                let basis = Basis::Item {
                    list: list.clone(),
                    item: *item,
                    role: Role::Second,
                    values: values.clone(),
                };
                (basis, Skill::Response)
            }
        }
    }

    /// How the item ended, whenever that is.
    #[must_use]
    pub fn end(self) -> Ended {
        let answered = self.first.is_some() || self.typed.is_some();
        let answer = self.first.clone().unwrap_or_else(|| {
            let (basis, skill) = self.basis();
            let blank = self.judge(&basis, "").unwrap_or_else(|| Judgement {
                verdict: Verdict::Incomplete,
                score: 0,
                ..Judgement::right(String::new())
            });
            // Whatever silence would be worth elsewhere: here a reply was due.
            let blank = Judgement { score: 0, ..blank };
            Answer { reply: self.typed.clone().unwrap_or_default(), ..self.answer(skill, &basis, "", blank) }
        });
        let later = self.last.filter(|last| !answer.is_right() && last.is_right());
        let corrected = later.map(|last| last.judgement.score);
        Ended { answer, answered, corrected, hinted: self.hinted, again: self.again }
    }
}

impl Ended {
    /// From 0 to 100: a later reply counts half, and so does one after a hint.
    #[must_use]
    pub fn score(&self) -> u8 {
        let score = self.answer.judgement.score.max(self.corrected.unwrap_or(0) / 2);
        if self.hinted { score / 2 } else { score }
    }
}

impl Answer {
    /// True if nothing that was owed is wrong or missing.
    #[must_use]
    pub fn is_right(&self) -> bool {
        self.judgement.verdict <= Verdict::Nonstandard
    }
}

/// A flight of one exchange on the radio, or of none.
fn flight(exam: &Exam, item: &Item) -> Flight {
    let turn = match &item.task {
        Task::ReadBack { says } => Some(Turn::Station { says: says.clone(), cut: None, unable: None }),
        Task::RadioCall { phrase, wanted } => {
            Some(Turn::Call { phrase: phrase.clone(), wanted: wanted.clone() })
        }
        Task::CrewCall { .. } | Task::Checklist { .. } => None,
    };
    let label = item.station.clone();
    let station = Station { id: label.to_lowercase(), name: label.clone(), label, frequency: String::new() };
    let duty = Duty { seat: Seat::Monitoring, radio: true };
    let radio = |turn| Exchange::Radio(RadioExchange { duty, station, cue: item.cue.clone(), turn });
    let callsign = item.own().or_else(|| items::callsign(exam.paper.standard, exam.paper.seed));
    Flight {
        scenario: "paper".to_owned(),
        seed: exam.paper.seed,
        standard: exam.paper.standard,
        form: exam.paper.form,
        callsign: callsign.unwrap_or_else(Callsign::none),
        title: String::new(),
        briefing: String::new(),
        rank: Rank::FirstOfficer,
        operator: exam.paper.operator.clone(),
        slips: 0.0,
        difficulty: 1,
        exchanges: turn.map(radio).into_iter().collect(),
        leads: vec![Leads::default()],
    }
}
