//! The flight deck in time: exchanges of the crew that are running, what is due in each, and until when.

use super::basis::Basis;
use super::draw::CrewExchange;
use super::event::{self, Action, Attempt, Detection, Skill};
use super::steps::{Crew, Heard, Kind, Maker, Step, Want, When};
use crate::crew::{Channel, CrewBook, Operator, Role};
use crate::element::{Element, Fault, Severity, Verdict};
use crate::judge::judgement::{Finding, Judgement};
use crate::session::respond::Open;
use std::collections::VecDeque;
use std::sync::Arc;

/// Replies that may fail before the others go on.
const TRIES: u8 = 3;

/// A little more than nothing, so that a time that was reached counts as reached.
const EPSILON: f64 = 1e-6;

/// The exchanges that are running.
pub(super) struct Deck {
    book: Arc<CrewBook>,
    operator: Operator,
    running: Vec<Running>,
    /// Seconds of the flight.
    pub(super) now: f64,
    /// False if the clock stands until something is said.
    pub(super) clock_runs: bool,
    /// What was missed last: said now, it is too late.
    missed: Option<Want>,
}

/// One exchange that has begun.
struct Running {
    number: usize,
    steps: VecDeque<Step>,
    due: Option<Due>,
}

/// Something that is due now.
struct Due {
    want: Want,
    opened: f64,
    /// Said too early, and counted then.
    replies: u8,
    tries: u8,
}

/// What a reply came to.
struct Judged {
    judgement: Judgement,
    detection: Option<Detection>,
}

impl Deck {
    pub(super) fn new(book: Arc<CrewBook>, operator: &str) -> Self {
        let operator = book.operator(operator).cloned().unwrap_or_default();
        Self { book, operator, running: Vec::new(), now: 0.0, clock_runs: false, missed: None }
    }

    pub(super) fn book(&self) -> &CrewBook {
        &self.book
    }

    /// True if nothing runs.
    pub(super) fn is_idle(&self) -> bool {
        self.running.is_empty()
    }

    /// The channel of what is due first.
    pub(super) fn channel(&self) -> Option<Channel> {
        self.first_due().map(|due| due.want.channel)
    }

    /// What is due first, with a right reply.
    pub(super) fn due(&self) -> Option<event::Due> {
        let (number, due) =
            self.running.iter().find_map(|run| run.due.as_ref().map(|due| (run.number, due)))?;
        let (want, judged) = (&due.want, self.judge(&due.want, "").judgement);
        let slip = match &want.kind {
            Kind::Watch { slip: Some(heard), said } => Some((said.clone(), heard.right.clone())),
            _ => None,
        };
        // What a step of speaking up lacks when nothing is said is what it needs.
        let needed = judged.findings.iter().map(|f| f.element).filter(|element| *element != Element::Call);
        let mut elements: Vec<Element> = match want.kind {
            Kind::SpeakUp { .. } => needed.collect(),
            _ => vec![element(&want.kind)],
        };
        if elements.is_empty() {
            elements.push(Element::Call);
        }
        Some(event::Due {
            elements: elements.into_iter().map(|element| Open { element, value: None }).collect(),
            model: judged.model,
            call: true,
            exchange: number,
            channel: want.channel,
            skill: want.kind.skill(),
            asked: asked(&want.kind),
            lacking: judged.findings,
            window: Some(want.window),
            optional: self.is_optional(&want.kind),
            slip,
        })
    }

    /// True if some operators leave it out.
    fn is_optional(&self, kind: &Kind) -> bool {
        match kind {
            Kind::Call { id, role: Role::First, .. } => self.book.call(id).is_some_and(|call| call.optional),
            _ => false,
        }
    }

    /// True if what is due first is to be watched.
    pub(super) fn watches(&self) -> bool {
        self.first_due().is_some_and(|due| matches!(due.want.kind, Kind::Watch { .. } | Kind::Listen { .. }))
    }

    fn first_due(&self) -> Option<&Due> {
        self.running.iter().find_map(|run| run.due.as_ref())
    }

    /// The next moment at which something that is due is missed.
    pub(super) fn wake(&self) -> Option<f64> {
        let ends = self.running.iter().filter_map(|run| run.due.as_ref()).map(|due| self.ends(due));
        ends.min_by(f64::total_cmp)
    }

    /// The steps of an exchange of the crew.
    pub(super) fn steps(&self, crew: Crew, exchange: &CrewExchange) -> Vec<Step> {
        Maker { book: &self.book, operator: &self.operator, crew }.steps(exchange)
    }

    /// Begins an exchange.
    pub(super) fn begin(&mut self, number: usize, steps: Vec<Step>, actions: &mut Vec<Action>) {
        actions.push(Action::Begin { number });
        let mut run = Running { number, steps: steps.into(), due: None };
        self.go_on(&mut run, When::Always, actions);
        self.keep(run);
    }

    fn keep(&mut self, run: Running) {
        if run.due.is_some() {
            let at = self.running.iter().position(|other| other.number > run.number);
            self.running.insert(at.unwrap_or(self.running.len()), run);
        }
    }

    /// Carries out steps until something is due.
    fn go_on(&self, run: &mut Running, outcome: When, actions: &mut Vec<Action>) {
        let comes = |when: When| when == When::Always || when == outcome;
        while let Some(step) = run.steps.pop_front() {
            match step {
                Step::Cue(text) => actions.push(Action::Happens { text }),
                Step::Voice { who, channel, text, when } if comes(when) => {
                    actions.push(Action::Voice { who, channel, text });
                }
                Step::Station { station, text, when } if comes(when) => {
                    actions.push(Action::Transmit { station, text });
                }
                Step::Voice { .. } | Step::Station { .. } => {}
                Step::Due(want) => {
                    run.due = Some(Due { want, opened: self.now, replies: 0, tries: 0 });
                    return;
                }
            }
        }
    }

    /// Seconds in which a reply counts as in time: the window, and more because it is typed.
    fn window(&self, want: &Want) -> f64 {
        let model = self.judge(want, "").judgement.model;
        let time = &self.operator.time;
        let typed = if self.clock_runs {
            time.typing + time.typing_per_character * model.chars().count() as f64
        } else {
            0.0
        };
        want.window + typed
    }

    /// When a thing that is due counts as missed.
    fn ends(&self, due: &Due) -> f64 {
        let window = self.window(&due.want);
        let late = match due.want.kind {
            Kind::Watch { .. } | Kind::Listen { .. } => 0.0,
            _ => due.want.window * (self.operator.time.late_factor - 1.0).max(0.0),
        };
        due.opened + window + late
    }

    /// Lets the clock come to `now`: what has not been said by then is missed.
    pub(super) fn time(&mut self, now: f64, actions: &mut Vec<Action>) {
        self.now = self.now.max(now);
        while let Some(at) = self
            .running
            .iter()
            .position(|run| run.due.as_ref().is_some_and(|due| self.ends(due) <= self.now + EPSILON))
        {
            self.pass(at, actions);
        }
    }

    /// Silence on purpose: the first thing that is due is left unsaid.
    pub(super) fn silence(&mut self, actions: &mut Vec<Action>) {
        if let Some(at) = self.running.iter().position(|run| run.due.is_some()) {
            self.pass(at, actions);
        }
    }

    /// Leaves everything that is running.
    pub(super) fn skip(&mut self) {
        self.running.clear();
    }

    /// What is due in an exchange is not said.
    fn pass(&mut self, at: usize, actions: &mut Vec<Action>) {
        let mut run = self.running.remove(at);
        let Some(mut due) = run.due.take() else { return };
        let judged = self.judge(&due.want, "");
        let outcome = match judged.detection {
            Some(Detection::Miss) => When::Unnoticed,
            Some(_) => When::Said,
            None => When::Always,
        };
        let optional = self.is_optional(&due.want.kind);
        if due.replies == 0 && !optional {
            let accepted = judged.judgement.verdict == Verdict::Correct;
            self.record(run.number, &mut due, "", judged, accepted, actions);
        }
        self.missed = Some(due.want);
        self.go_on(&mut run, outcome, actions);
        self.keep(run);
    }

    /// Where an answer is due and the reply is already what comes after it, the answer may be left out: who is
    /// told to read a list and reads the first item has answered.
    pub(super) fn go_ahead(&mut self, reply: &str) {
        let answer =
            |due: &Due| matches!(due.want.kind, Kind::Call { role: Role::Second, .. }) && due.replies == 0;
        for at in 0..self.running.len() {
            let run = &self.running[at];
            let Some(Step::Due(next)) = run.steps.front() else { continue };
            let fits = |want: &Want| self.judge(want, reply).judgement.verdict <= Verdict::Nonstandard;
            if run.due.as_ref().is_some_and(|due| answer(due) && !fits(&due.want)) && fits(next) {
                let run = &mut self.running[at];
                if let Some(Step::Due(want)) = run.steps.pop_front() {
                    run.due = Some(Due { want, opened: self.now, replies: 0, tries: 0 });
                }
            }
        }
    }

    /// True if the reply is right for something that is due.
    pub(super) fn fits(&self, reply: &str) -> bool {
        let due = self.running.iter().filter_map(|run| run.due.as_ref());
        let right = |want: &Want| self.judge(want, reply).judgement.verdict <= Verdict::Nonstandard;
        due.map(|due| &due.want).any(right)
    }

    /// True if the reply is what was missed last.
    pub(super) fn is_too_late(&self, reply: &str) -> bool {
        let call = |want: &&Want| !matches!(want.kind, Kind::Watch { .. });
        let right = |want: &Want| self.judge(want, reply).judgement.verdict <= Verdict::Nonstandard;
        self.missed.as_ref().filter(call).is_some_and(right)
    }

    /// Takes a reply; false if nothing is due.
    pub(super) fn reply(&mut self, reply: &str, channel: Option<Channel>, actions: &mut Vec<Action>) -> bool {
        let open = self.running.iter().enumerate().filter_map(|(at, run)| Some((at, run.due.as_ref()?)));
        let judged: Vec<(usize, Judged)> = open.map(|(at, due)| (at, self.judge(&due.want, reply))).collect();
        // The first that it fits; else the one it comes nearest to, the newest of equals.
        let good = judged.iter().position(|(_, j)| j.judgement.verdict <= Verdict::Nonstandard);
        let near = (0..judged.len()).rev().min_by_key(|n| judged[*n].1.judgement.verdict);
        let Some((at, mut judged)) = good.or(near).and_then(|n| judged.into_iter().nth(n)) else {
            return false;
        };
        let mut run = self.running.remove(at);
        let Some(mut due) = run.due.take() else { return false };
        let understood = judged.judgement.verdict <= Verdict::Nonstandard;
        let wrong_channel = channel.filter(|channel| *channel != due.want.channel);
        if understood {
            if let Some(said) = wrong_channel {
                self::wrong_channel(&mut judged.judgement, due.want.channel, said);
            }
            let (took, window) = (self.now - due.opened, self.window(&due.want));
            if took > window + EPSILON {
                let why = "What the words are for had already gone by.";
                let given = format!("late, after {} s", short(took));
                let expected = format!("within {} s", short(window));
                add(&mut judged.judgement, Element::Timing, expected, &given, why);
            }
        }
        let watch = matches!(due.want.kind, Kind::Watch { .. } | Kind::Listen { .. });
        let accepted = understood && wrong_channel.is_none();
        let outcome = match judged.detection {
            Some(Detection::Hit) => When::Caught,
            Some(Detection::Miss) => When::Unnoticed,
            Some(Detection::FalseAlarm) => When::FalseAlarm,
            Some(Detection::CorrectSilence) | None => When::Said,
        };
        self.record(run.number, &mut due, reply, judged, accepted, actions);
        if accepted || watch {
            self.go_on(&mut run, outcome, actions);
        } else {
            due.tries += 1;
            if due.tries < TRIES {
                run.due = Some(due);
            } else {
                actions.push(Action::GoesOn { unable: false });
                self.go_on(&mut run, When::Always, actions);
            }
        }
        self.keep(run);
        true
    }

    /// The first thing an exchange wants, said before its time; none if the reply is not that.
    pub(super) fn early(&self, number: usize, steps: &[Step], reply: &str) -> Option<Attempt> {
        let want = steps.iter().find_map(|step| match step {
            Step::Cue(_) => None,
            Step::Due(want) => Some(Some(want)),
            Step::Voice { .. } | Step::Station { .. } => Some(None),
        })??;
        if !matches!(want.kind, Kind::Call { role: Role::First, .. }) {
            return None;
        }
        let mut judged = self.judge(want, reply);
        if judged.judgement.verdict > Verdict::Nonstandard {
            return None;
        }
        let why = "A call before its time tells of something that is not so yet.";
        add(&mut judged.judgement, Element::Timing, "when it happens".to_owned(), "early", why);
        let mut due = Due { want: want.clone(), opened: self.now, replies: 0, tries: 0 };
        Some(self.attempt(number, &mut due, reply, judged, true))
    }

    fn record(
        &self,
        number: usize,
        due: &mut Due,
        reply: &str,
        judged: Judged,
        accepted: bool,
        actions: &mut Vec<Action>,
    ) {
        actions.push(Action::Judged(Box::new(self.attempt(number, due, reply, judged, accepted))));
    }

    fn attempt(&self, number: usize, due: &mut Due, reply: &str, judged: Judged, accepted: bool) -> Attempt {
        let Judged { judgement, detection } = judged;
        let skill = due.want.kind.skill();
        let first = due.replies == 0;
        due.replies += 1;
        Attempt {
            exchange: number,
            station: due.want.channel.name().to_owned(),
            channel: due.want.channel,
            skill,
            detection,
            asked: asked(&due.want.kind),
            call: matches!(skill, Skill::Call | Skill::Challenge | Skill::Briefing | Skill::SpeakingUp),
            reply: reply.to_owned(),
            wanted: match &due.want.kind {
                Kind::Watch { slip: None, .. }
                | Kind::Listen { .. }
                | Kind::Brief { .. }
                | Kind::SpeakUp { .. } => Vec::new(),
                kind => vec![(element(kind), judgement.model.clone())],
            },
            judgement,
            first,
            accepted,
            basis: Basis::of_kind(&due.want.kind, &due.want.values),
        }
    }

    /// Judges a reply by what is due.
    fn judge(&self, want: &Want, reply: &str) -> Judged {
        let judgement = match &want.kind {
            Kind::Listen { .. } => {
                let mut judgement = Judgement::right(String::new());
                if reply.chars().any(char::is_alphanumeric) {
                    let why = "Who answers for another aircraft takes its clearance, and its read-back is not heard.";
                    fault(
                        &mut judgement,
                        Element::Callsign,
                        Fault::Unrequested,
                        None,
                        Severity::Critical,
                        why,
                    );
                    judgement.verdict = Verdict::Incorrect;
                    judgement.score = 0;
                }
                return Judged { judgement, detection: None };
            }
            Kind::Watch { slip, .. } => return self.watch(slip.as_ref(), reply),
            kind => Basis::of_kind(kind, &want.values).judge_crew(&self.book, &self.operator, reply),
        };
        // The checks of a scenario refuse what the book does not have.
        let judgement = judgement.unwrap_or_else(|| Judgement::right(String::new()));
        Judged { judgement, detection: None }
    }

    /// Judges what is said, or not said, after another voice.
    fn watch(&self, slip: Option<&Heard>, reply: &str) -> Judged {
        let silent = !reply.chars().any(char::is_alphanumeric) || self.book.agrees(reply);
        let Some(heard) = slip else {
            let mut judgement = Judgement::right(String::new());
            if !silent {
                let why = "What was said is what was meant. A needless challenge costs a moment; a missed slip can cost more.";
                fault(&mut judgement, Element::Challenge, Fault::Unrequested, None, Severity::Minor, why);
                judgement.verdict = Verdict::Incorrect;
                judgement.score = 0;
            }
            let detection = if silent { Detection::CorrectSilence } else { Detection::FalseAlarm };
            return Judged { judgement, detection: Some(detection) };
        };
        let model = match &heard.element {
            Some(_) => format!("I heard {}", heard.spoken),
            None if heard.item.is_empty() => format!("Negative, {}", heard.right),
            None => format!("Check {}", heard.right),
        };
        let mut judgement = Judgement::right(model);
        let right = Some(heard.right.clone());
        let mut detection = Detection::Hit;
        if silent {
            let why = "A slip that nobody challenges is flown.";
            fault(&mut judgement, Element::Challenge, Fault::Missing, right, Severity::Critical, why);
            judgement.verdict = Verdict::Incomplete;
            judgement.score = 40;
            detection = Detection::Miss;
        } else if !self.book.holds(&heard.right, reply) && !self.book.holds(&heard.spoken, reply) {
            let named = !heard.item.is_empty() && self.book.holds(&heard.item, reply);
            // Another value than the one that is wrong challenges something that was right.
            let other = self.book.gives_number(reply);
            if !other && (named || self.book.doubts(reply)) {
                let why = "Doubt alone starts a search; the value that you heard ends it.";
                fault(&mut judgement, Element::Challenge, Fault::Missing, right, Severity::Minor, why);
                judgement.verdict = Verdict::Nonstandard;
                judgement.score = 90;
            } else {
                let why = "This challenges nothing: say the value that was given.";
                fault(&mut judgement, Element::Challenge, Fault::Wrong, right, Severity::Critical, why);
                judgement.verdict = Verdict::Incorrect;
                judgement.score = 0;
                detection = Detection::Miss;
            }
        }
        for finding in &mut judgement.findings {
            finding.better = Some(judgement.model.clone());
        }
        Judged { judgement, detection: Some(detection) }
    }
}

fn fault(
    judgement: &mut Judgement,
    element: Element,
    fault: Fault,
    expected: Option<String>,
    severity: Severity,
    why: &str,
) {
    judgement.findings.push(Finding {
        element,
        fault,
        severity,
        expected,
        given: None,
        span: None,
        rule: Arc::from("common practice"),
        why: Arc::from(why),
        better: None,
        id: Arc::from(""),
    });
}

/// Adds that something right was said where those it is for do not hear it.
pub(super) fn wrong_channel(judgement: &mut Judgement, right: Channel, said: Channel) {
    let why = "The words are right, but those they are for do not hear them.";
    add(judgement, Element::Channel, right.name().to_owned(), said.name(), why);
}

/// Adds that something right was said in the wrong place, or at the wrong time.
fn add(judgement: &mut Judgement, element: Element, expected: String, given: &str, why: &str) {
    let severity = if element == Element::Channel { Severity::Major } else { Severity::Minor };
    fault(judgement, element, Fault::Misplaced, Some(expected), severity, why);
    if let Some(finding) = judgement.findings.last_mut() {
        finding.given = Some(given.to_owned());
    }
    if judgement.verdict == Verdict::Correct {
        judgement.verdict = Verdict::Nonstandard;
        judgement.score = 90;
    }
}

/// What is measured where this is due.
fn element(kind: &Kind) -> Element {
    match kind.skill() {
        Skill::Call => Element::Call,
        Skill::Answer => Element::Reply,
        Skill::Response => Element::Response,
        Skill::Challenge | Skill::Watching => Element::Challenge,
        Skill::Briefing => Element::Briefing,
        Skill::SpeakingUp => Element::Concern,
        Skill::ReadBack | Skill::RadioCall => Element::Instruction,
        Skill::Listening => Element::Callsign,
    }
}

/// What was due, in a few words.
fn asked(kind: &Kind) -> String {
    match kind {
        Kind::Call { id, .. } | Kind::Brief { id } => id.clone(),
        Kind::Item { list, item, .. } => format!("{list} {item}"),
        Kind::SpeakUp { seconds, .. } => format!("{seconds} s left"),
        Kind::Watch { said, .. } => said.clone(),
        Kind::Listen { says } => says.clone(),
    }
}

/// Seconds with one decimal at most.
fn short(seconds: f64) -> String {
    let text = format!("{seconds:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
