//! An exchange of the crew as steps: what others say, what happens, and what is due from the trainee.

use super::draw::{CrewExchange, Duty};
use super::event::Skill;
use super::{Rank, Seat, Slip, Talk};
use crate::airport::Station;
use crate::crew::{
    Briefing, Call, Channel, Checklist, CrewBook, Operator, Position, Role, judge_briefing, judge_call,
    judge_item,
};
use crate::element::Element;
use std::collections::BTreeMap;

/// Values by name.
pub(super) type Values = BTreeMap<String, String>;

/// One step of an exchange.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// Something happens.
    Cue(String),
    /// A voice on board says something.
    Voice { who: String, channel: Channel, text: String, when: When },
    /// A station speaks.
    Station { station: Station, text: String, when: When },
    /// The trainee must say something, or must watch.
    Due(Want),
}

/// What must have happened at the step before for this one to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum When {
    Always,
    /// The trainee said what was due.
    Said,
    /// The trainee challenged a slip.
    Caught,
    /// A slip went by.
    Unnoticed,
    /// The trainee challenged what was right.
    FalseAlarm,
}

/// What is due from the trainee.
#[derive(Debug, Clone)]
pub(super) struct Want {
    pub(super) kind: Kind,
    pub(super) channel: Channel,
    /// Seconds in which it must begin.
    pub(super) window: f64,
    pub(super) values: Values,
}

/// What kind of thing is due.
#[derive(Debug, Clone)]
pub(super) enum Kind {
    Call {
        id: String,
        case: Option<String>,
        role: Role,
    },
    Item {
        list: String,
        item: usize,
        role: Role,
    },
    Brief {
        id: String,
    },
    SpeakUp {
        seconds: u32,
        unanswered: u32,
    },
    /// Silence: the words were for another aircraft.
    Listen {
        says: String,
    },
    /// Silence, unless what was heard is not what was said.
    Watch {
        slip: Option<Heard>,
        said: String,
    },
}

/// A slip and what would have been right.
#[derive(Debug, Clone)]
pub(super) struct Heard {
    /// The right value, as it is written.
    pub(super) right: String,
    /// The same as it is said.
    pub(super) spoken: String,
    /// Its element, where a station said it.
    pub(super) element: Option<Element>,
    /// What it is: the item of a checklist, or the element.
    pub(super) item: String,
}

impl Kind {
    pub(super) fn skill(&self) -> Skill {
        match self {
            Self::Call { role: Role::First, .. } => Skill::Call,
            Self::Call { role: Role::Second, .. } => Skill::Answer,
            Self::Item { role: Role::First, .. } => Skill::Challenge,
            Self::Item { role: Role::Second, .. } => Skill::Response,
            Self::Brief { .. } => Skill::Briefing,
            Self::SpeakUp { .. } => Skill::SpeakingUp,
            Self::Watch { .. } => Skill::Watching,
            Self::Listen { .. } => Skill::Listening,
        }
    }
}

/// The crew of a flight, as the trainee's seat and rank have it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Crew {
    pub(super) duty: Duty,
    pub(super) rank: Rank,
}

impl Crew {
    /// True if the trainee is meant, alone or with others.
    pub(super) fn is_trainee(self, by: Position) -> bool {
        match by {
            Position::Flying => self.duty.seat == Seat::Flying,
            Position::Monitoring => self.duty.seat == Seat::Monitoring,
            Position::Captain => self.rank == Rank::Captain,
            Position::FirstOfficer => self.rank == Rank::FirstOfficer,
            Position::Radio => self.duty.radio,
            Position::NotRadio => !self.duty.radio,
            Position::Both | Position::Either | Position::First => true,
            Position::Cabin | Position::Senior | Position::Ground | Position::Controller => false,
        }
    }

    /// Short name of the trainee's seat.
    pub(super) fn own(self) -> &'static str {
        if self.duty.seat == Seat::Flying { "PF" } else { "PM" }
    }

    /// Short name of the other pilot's seat.
    pub(super) fn other(self) -> &'static str {
        if self.duty.seat == Seat::Flying { "PM" } else { "PF" }
    }

    /// Who speaks to whom.
    pub(super) fn who(self, by: Position, channel: Channel) -> String {
        let from = match by {
            Position::Cabin | Position::Senior | Position::Ground | Position::Controller => by.words(),
            _ => self.other(),
        };
        let to = match channel {
            Channel::Deck => self.own(),
            Channel::Radio if by == Position::Controller => self.own(),
            Channel::Radio => "station",
            Channel::Pa => "all",
            Channel::Interphone | Channel::Headset if from == self.other() => match channel {
                Channel::Headset => "ground crew",
                _ => "cabin crew",
            },
            Channel::Interphone | Channel::Headset => self.own(),
        };
        format!("{from} to {to}")
    }
}

/// Makes steps of exchanges.
pub(super) struct Maker<'a> {
    pub(super) book: &'a CrewBook,
    pub(super) operator: &'a Operator,
    pub(super) crew: Crew,
}

impl Maker<'_> {
    /// The steps of an exchange.
    pub(super) fn steps(&self, exchange: &CrewExchange) -> Vec<Step> {
        let mut steps: Vec<Step> = exchange.cue.iter().cloned().map(Step::Cue).collect();
        let values = &exchange.values;
        match &exchange.talk {
            Talk::Call { id, case } => {
                if let Some(call) = self.book.call_when(id, case.as_deref()) {
                    let by = (call.by, call.answered.map(|(who, _)| who));
                    self.call(call, by, exchange.cue.is_none(), values, &mut steps);
                }
            }
            Talk::Checklist { list, first, last } => {
                if let Some(list) = self.book.checklist(list) {
                    self.checklist(list, *first..=*last, values, exchange.slip.as_ref(), &mut steps);
                }
            }
            Talk::Brief(id) => {
                if let Some(briefing) = self.book.briefing(id) {
                    steps.push(self.briefing(briefing, &exchange.set));
                }
            }
            Talk::SpeakUp { seconds, unanswered } => steps.push(Step::Due(Want {
                kind: Kind::SpeakUp { seconds: *seconds, unanswered: *unanswered },
                channel: Channel::Deck,
                window: f64::from(*seconds).clamp(2.0, SPEAK_UP_WINDOW),
                values: exchange.set.clone(),
            })),
            Talk::Voice { by, channel, says } => {
                let text = exchange.slip.as_ref().map_or(says, |slip| &slip.says).clone();
                let who = self.crew.who(*by, *channel);
                steps.push(Step::Voice { who, channel: *channel, text: text.clone(), when: When::Always });
                if !exchange.watched {
                    return steps;
                }
                let slip = exchange.slip.as_ref().map(|slip| Heard {
                    right: slip.heard.clone(),
                    spoken: slip.heard.clone(),
                    element: None,
                    item: String::new(),
                });
                let again = exchange.slip.as_ref().map(|_| says.clone());
                self.watch(slip, text, *channel, values, &mut steps);
                if let Some(text) = again {
                    let who = self.crew.who(*by, *channel);
                    steps.push(Step::Voice {
                        who,
                        channel: *channel,
                        text: format!("Correction. {text}"),
                        when: When::Caught,
                    });
                }
            }
        }
        steps
    }

    /// A briefing: due from the trainee, or given by the one whose it is.
    fn briefing(&self, briefing: &Briefing, values: &Values) -> Step {
        let (by, channel) = (briefing.by, briefing.channel);
        if self.crew.is_trainee(by) {
            let kind = Kind::Brief { id: briefing.id.clone() };
            return Step::Due(Want { kind, channel, window: BRIEFING_WINDOW, values: values.clone() });
        }
        let text = judge_briefing(self.book, briefing, values, "").model;
        Step::Voice { who: self.crew.who(by, channel), channel, text, when: When::Always }
    }

    fn watch(
        &self,
        slip: Option<Heard>,
        said: String,
        channel: Channel,
        values: &Values,
        steps: &mut Vec<Step>,
    ) {
        let window = self.book.watching.window;
        let kind = Kind::Watch { slip, said };
        steps.push(Step::Due(Want { kind, channel, window, values: values.clone() }));
    }

    fn call(
        &self,
        call: &Call,
        (caller, answerer): (Position, Option<Position>),
        cued: bool,
        values: &Values,
        steps: &mut Vec<Step>,
    ) {
        let model = |role| judge_call(self.book, call, role, self.operator, values, "").map(|j| j.model);
        // Who answers what either may notice leaves it to the other to notice it.
        let open = matches!(caller, Position::Either | Position::First);
        let named = |by: Position| !matches!(by, Position::Both | Position::Either | Position::First);
        let mine = match answerer.filter(|by| open && named(*by)) {
            Some(by) => !self.crew.is_trainee(by),
            None => self.crew.is_trainee(caller),
        };
        if mine {
            if cued {
                let mut all = self.operator.value.clone();
                all.extend(values.clone());
                steps.push(Step::Cue(crate::crew::filled(&call.cue, &all)));
            }
            steps.push(self.due(call, Role::First, call.channel, call.window, values));
        } else {
            let text = model(Role::First).unwrap_or_default();
            let who = self.crew.who(caller, call.channel);
            steps.push(Step::Voice { who, channel: call.channel, text, when: When::Always });
        }
        let (Some((_, channel)), Some(by)) = (call.answered, answerer) else { return };
        let caller = matches!(caller, Position::Both | Position::Either | Position::First);
        if self.crew.is_trainee(by) && !mine {
            steps.push(self.due(call, Role::Second, channel, self.operator.time.answer, values));
        } else if mine && (!self.crew.is_trainee(by) || caller) {
            let text = model(Role::Second).unwrap_or_default();
            steps.push(Step::Voice { who: self.crew.who(by, channel), channel, text, when: When::Said });
        } else if !mine {
            let text = model(Role::Second).unwrap_or_default();
            steps.push(Step::Voice { who: self.crew.who(by, channel), channel, text, when: When::Always });
        }
    }

    fn due(&self, call: &Call, role: Role, channel: Channel, window: f64, values: &Values) -> Step {
        let kind = Kind::Call { id: call.id.clone(), case: call.case.clone(), role };
        Step::Due(Want { kind, channel, window, values: values.clone() })
    }

    fn checklist(
        &self,
        list: &Checklist,
        items: std::ops::RangeInclusive<usize>,
        values: &Values,
        slip: Option<&Slip<String>>,
        steps: &mut Vec<Step>,
    ) {
        let mut values = values.clone();
        values.insert("checklist".to_owned(), list.title.clone());
        let call = |id: &str, steps: &mut Vec<Step>| {
            if let Some(call) = self.book.call(id) {
                let by = |by| if by == Position::Flying { list.called_by } else { list.read_by };
                let call_by = (by(call.by), call.answered.map(|(who, _)| by(who)));
                self.call(call, call_by, true, &values, steps);
            }
        };
        if *items.start() == 1 {
            call("ck-call", steps);
        } else if self.below(list, *items.start()) && !self.below(list, items.start() - 1) {
            call("ck-below", steps);
        }
        for item in items.clone() {
            self.item(list, item, &values, slip.filter(|slip| slip.item == item), steps);
        }
        if *items.end() == list.items.len() {
            call("ck-done", steps);
        } else if self.below(list, items.end() + 1) && !self.below(list, *items.end()) {
            call("ck-line", steps);
        }
    }

    fn below(&self, list: &Checklist, item: usize) -> bool {
        item.checked_sub(1).and_then(|at| list.items.get(at)).is_some_and(|item| item.below)
    }

    fn item(
        &self,
        list: &Checklist,
        item: usize,
        values: &Values,
        slip: Option<&Slip<String>>,
        steps: &mut Vec<Step>,
    ) {
        let Some(entry) = item.checked_sub(1).and_then(|at| list.items.get(at)) else { return };
        let model =
            |role| judge_item(self.book, list, item, role, values, "").map_or(String::new(), |j| j.model);
        let due = |role, window| {
            let kind = Kind::Item { list: list.id.clone(), item, role };
            Step::Due(Want { kind, channel: Channel::Deck, window, values: values.clone() })
        };
        let say = |by, text: String, when| Step::Voice {
            who: self.crew.who(by, Channel::Deck),
            channel: Channel::Deck,
            text,
            when,
        };
        let reads = self.crew.is_trainee(list.read_by);
        let answers = self.crew.is_trainee(entry.by);
        let other_answers = !answers || entry.by == Position::Both;
        let heard = |slip: &Slip<String>| Heard {
            right: slip.heard.clone(),
            spoken: slip.heard.clone(),
            element: None,
            item: entry.challenge.taught().to_owned(),
        };
        if reads {
            steps.push(due(Role::First, ITEM_WINDOW));
        } else {
            // Where the trainee alone answers, it is the challenge that can be wrong.
            let slip = slip.filter(|_| !other_answers);
            let right = model(Role::First);
            let text = slip.map_or(right.clone(), |slip| slip.says.clone());
            steps.push(say(list.read_by, text.clone(), When::Always));
            if let Some(slip) = slip {
                self.watch(Some(heard(slip)), text, Channel::Deck, values, steps);
                steps.push(say(list.read_by, right, When::Always));
            }
        }
        if answers && !reads {
            steps.push(due(Role::Second, ITEM_WINDOW));
        }
        if other_answers {
            let right = model(Role::Second);
            let text = slip.map_or(right.clone(), |slip| slip.says.clone());
            steps.push(say(entry.by, text.clone(), When::Always));
            if let Some(slip) = slip {
                self.watch(Some(heard(slip)), text, Channel::Deck, values, steps);
                steps.push(say(entry.by, format!("Correcting. {right}"), When::Caught));
            }
        }
        if answers && reads {
            if other_answers {
                steps.push(Step::Cue("Both pilots answer this item; your answer is next.".to_owned()));
            }
            steps.push(due(Role::Second, ITEM_WINDOW));
        }
    }
}

/// Seconds in which a briefing must begin.
const BRIEFING_WINDOW: f64 = 60.0;

/// Seconds in which one speaks up at the latest, where more are left.
const SPEAK_UP_WINDOW: f64 = 15.0;

/// Seconds for an item of a checklist.
const ITEM_WINDOW: f64 = 6.0;
