//! A drill at a console: a transmission, a reply, what was wrong in it at once; the debrief at the end.

use super::debrief::{Ended, day_words, debrief_rows};
use super::history::{History, Review};
use super::items::{self, Item};
use super::queue::Queue;
use super::schedule::{Plan, Schedule, Want};
use super::skill::Skill;
use crate::CAUTION;
use crate::airport::Station;
use crate::callsign::Callsign;
use crate::crew::CrewBook;
use crate::diagnostic::count;
use crate::element::{Element, Fault, Severity, Standard, Verdict};
use crate::error::{Error, Result};
use crate::feedback::reply_rows;
use crate::judge::judgement::{Finding, Form};
use crate::record::keep::Keep;
use crate::rules::{Phase, RuleSet};
use crate::scenario::draw::{Duty, Exchange, Flight, RadioExchange, Turn};
use crate::scenario::play::{Action, Attempt, Event, Play};
use crate::scenario::{Leads, Rank, Seat};
use crate::session::Ending;
use crate::session::console::{Console, Input, Timing};
use crate::session::hint::{TOLD, hint_rows, why_rows};
use crate::session::screen::{Row, Tone, hang};
use crate::session::typed::{bare, help_rows, meant};
use jiff::ZonedDateTime;
use std::collections::BTreeSet;
use std::io::Write;
use std::sync::Arc;

/// Columns before what is said.
const COLUMN: usize = 16;

/// What the trainee can type that is not said, with what it does.
const COMMANDS: [(&str, &str); 5] = [
    ("help", "this list"),
    ("hint", "what is due; again for its form; again for a right reply"),
    ("why", "the rule behind the last finding"),
    ("skip", "leave this item; it counts as not tried"),
    ("quit", "end with the debrief"),
];

/// What is drilled, and with what.
pub struct Setup<'a> {
    /// The rule set.
    pub rules: Arc<RuleSet>,
    /// The words of the crew; a flight wants them.
    pub book: Arc<CrewBook>,
    /// Reviews so far, and where new ones are kept.
    pub history: &'a mut dyn History,
    /// Takes every attempt whole, if they are kept.
    pub keeper: Option<&'a mut dyn Keep>,
    /// Tells the day and the time.
    pub clock: &'a dyn Fn() -> ZonedDateTime,
    /// The skills to choose from, in the order in which they are learned.
    pub skills: Vec<Skill>,
    /// How much.
    pub want: Want,
    /// What values are drawn from.
    pub seed: u64,
    /// Colours and bold letters.
    pub styled: bool,
}

/// One item that was tried.
#[derive(Debug, Clone)]
pub struct Tried {
    /// Its number in the session.
    pub number: usize,
    /// What was transmitted, and a right reply.
    pub item: Item,
    /// The reply and its judgement.
    pub attempt: Attempt,
    /// How long it took.
    pub timing: Timing,
    /// What is kept of it: the skill of the item first, then others that slipped.
    pub reviews: Vec<Review>,
}

/// A drill and its console.
pub struct Drill<'a> {
    setup: Setup<'a>,
    console: &'a mut dyn Console,
    out: &'a mut dyn Write,
    callsign: Callsign,
    all: BTreeSet<Skill>,
    queue: Queue,
    /// Skills that are new in this session.
    fresh: BTreeSet<Skill>,
    showing: u64,
    ended: Ended,
    last: Vec<Finding>,
    lines: String,
}

/// What follows an item.
enum Next {
    Go,
    Leave,
    Stop,
}

impl<'a> Drill<'a> {
    /// A drill before its first line.
    ///
    /// # Errors
    /// A fault of the program: no callsign can be drawn.
    pub fn new(setup: Setup<'a>, console: &'a mut dyn Console, out: &'a mut dyn Write) -> Result<Self> {
        let callsign = items::callsign(setup.rules.standard, setup.seed)
            .ok_or_else(|| Error::Internal("a drill has no callsign".to_owned()))?;
        let all = super::skill::catalogue(&setup.rules).into_iter().collect();
        Ok(Self {
            setup,
            console,
            out,
            callsign,
            all,
            queue: Queue::default(),
            fresh: BTreeSet::new(),
            showing: 0,
            ended: Ended::default(),
            last: Vec::new(),
            lines: String::new(),
        })
    }

    /// Drills until nothing is left, or until the trainee leaves.
    ///
    /// # Errors
    /// When the history, the console or the output fails.
    pub fn run(&mut self) -> Result<Ending> {
        let schedule = self.schedule()?;
        let plan = schedule.plan(&self.setup.skills, self.setup.want);
        self.opening(&schedule, &plan)?;
        self.fresh = plan.new.iter().cloned().collect();
        self.queue = Queue::of(plan.skills());
        let mut ending = Ending::Finished;
        while let Some(skill) = self.queue.next_skill() {
            match self.item(skill)? {
                Next::Go => {}
                Next::Leave => {
                    ending = Ending::Left;
                    break;
                }
                Next::Stop => {
                    ending = Ending::Interrupted;
                    break;
                }
            }
        }
        if ending != Ending::Finished || self.showing > 0 {
            let schedule = self.schedule()?;
            let width = self.console.width();
            let rows = debrief_rows(
                &self.ended,
                &schedule,
                &self.setup.skills,
                self.setup.want,
                &self.setup.rules,
                width,
            );
            self.rows(&rows);
        }
        self.flush()?;
        Ok(ending)
    }

    fn schedule(&self) -> Result<Schedule> {
        Ok(Schedule::of(&self.setup.history.reviews()?, &(self.setup.clock)()))
    }

    fn opening(&mut self, schedule: &Schedule, plan: &Plan) -> Result<()> {
        let width = self.console.width();
        let due = schedule.due(&self.setup.skills).len();
        let known = self.setup.skills.iter().filter(|s| schedule.standing(s).is_some()).count();
        let unknown = self.setup.skills.len() - known;
        let mut text = format!("Drill: {} due today, {} new.", count(due, "skill"), plan.new.len());
        if unknown > plan.new.len() {
            text.push_str(&format!(" {} more to learn.", unknown - plan.new.len()));
        }
        if !plan.ahead.is_empty() {
            text.push_str(&format!(" {} before its time.", count(plan.ahead.len(), "skill")));
        }
        self.rows(&hang((Tone::Plain, ""), 0, Tone::Label, &text, width));
        if plan.skills().is_empty() {
            let later = schedule.later(&self.setup.skills);
            let next = match later.first_key_value() {
                Some((day, n)) => {
                    format!("The next {} due {}.", many(*n), day_words(schedule.today, *day))
                }
                None => "There is nothing to come.".to_owned(),
            };
            let text = format!(
                "Nothing is left for today. {next} --ahead drills before its time, --new 20 takes more that is new."
            );
            self.rows(&hang((Tone::Plain, ""), 0, Tone::Plain, &text, width));
            return Ok(());
        }
        let text = format!("You are {}. Read back what you are told.", self.callsign.written());
        self.rows(&hang((Tone::Plain, ""), 0, Tone::Plain, &text, width));
        let facts = format!(
            "{CAUTION} /help lists the commands; seed {}, rule set {}.",
            self.setup.seed, self.setup.rules.standard
        );
        self.rows(&hang((Tone::Plain, ""), 0, Tone::Faint, &facts, width));
        Ok(())
    }

    /// Shows a skill, takes a reply and keeps what it was.
    fn item(&mut self, skill: Skill) -> Result<Next> {
        self.showing += 1;
        let number = usize::try_from(self.showing).unwrap_or(usize::MAX);
        let rules = Arc::clone(&self.setup.rules);
        let made = items::item(&rules, &skill, &self.callsign, self.setup.seed, self.showing);
        let item =
            made.ok_or_else(|| Error::Internal(format!("no transmission can be made for `{skill}`")))?;
        let flight = self.flight(&item);
        let mut play = Play::new(rules, flight, Arc::clone(&self.setup.book));
        self.rows(&[Row::new()]);
        let heading = match (self.queue.has_returned(&skill), self.fresh.contains(&skill)) {
            (true, _) => Some("once more"),
            (false, true) => Some("new"),
            (false, false) => None,
        };
        if let Some(heading) = heading {
            self.note(&format!(
                "{heading}: {}, {}",
                self.title(&skill),
                crate::feedback::label(skill.element)
            ));
        }
        self.voices(play.begin(), number);
        let (mut hint, mut dropped, mut silent) = (0u8, false, false);
        loop {
            self.flush()?;
            match self.console.read(self.out, "radio> ", None)? {
                Input::Wake => {}
                Input::Interrupt if dropped => {
                    self.note("Stopped. What you have replied is kept.");
                    return Ok(Next::Stop);
                }
                Input::Interrupt => {
                    dropped = true;
                    self.note("Line dropped. Ctrl-C again stops; Ctrl-D ends with the debrief.");
                }
                Input::End => return Ok(Next::Leave),
                Input::Line(line, timing) => {
                    dropped = false;
                    let typed = line.trim().to_owned();
                    if let Some(command) = bare(&typed, &COMMANDS) {
                        self.note(&format!("Not transmitted: the command is /{command}."));
                    } else if typed.starts_with(['/', '?']) {
                        match self.command(&typed, &play, &mut hint) {
                            Some("quit") => return Ok(Next::Leave),
                            Some("skip") => {
                                self.ended.skipped += 1;
                                self.note("Skipped.");
                                return Ok(Next::Go);
                            }
                            _ => {}
                        }
                    } else if typed.is_empty() && !silent {
                        silent = true;
                        self.note(
                            "Nothing was said. Enter again leaves it unanswered; that counts as a miss.",
                        );
                    } else {
                        let actions = play.step(Event::Reply(line));
                        let judged = actions.iter().find_map(|action| match action {
                            Action::Judged(attempt) => Some((**attempt).clone()),
                            _ => None,
                        });
                        if let Some(attempt) = judged {
                            if let Some(keeper) = &mut self.setup.keeper {
                                keeper.keep(play.flight(), &attempt, timing, hint);
                            }
                            self.keep(Tried {
                                number,
                                reviews: self.reviews(&item, &attempt, hint),
                                item,
                                attempt,
                                timing,
                            })?;
                            return Ok(Next::Go);
                        }
                        let over = actions.iter().any(|action| matches!(action, Action::Finished));
                        self.voices(actions, 0);
                        if over {
                            self.ended.skipped += 1;
                            return Ok(Next::Go);
                        }
                    }
                }
            }
        }
    }

    /// What a reply tells about skills. A slip counts for the skill of its own element; what belongs to no skill,
    /// the callsign for instance, counts for the one that was tried.
    fn reviews(&self, item: &Item, attempt: &Attempt, hint: u8) -> Vec<Review> {
        let at = (self.setup.clock)().timestamp();
        let silent = attempt.reply.trim().is_empty();
        let found = || attempt.judgement.findings.iter().filter(|f| f.severity > Severity::Advice);
        let is_slip = |f: &Finding| matches!(f.fault, Fault::Wrong | Fault::Missing) && !f.element.is_form();
        let owed = attempt.basis.owed(&self.setup.rules, &self.callsign, &attempt.reply, &attempt.judgement);
        // A clause of another topic has skills of its own.
        let skill_of = |element: Element| {
            let topic = owed.iter().find(|owed| owed.element == element).and_then(|owed| owed.topic.clone());
            let own = element == item.skill.element;
            let topic = topic.filter(|_| !own).unwrap_or_else(|| item.skill.topic.clone());
            Skill { element, topic, ..item.skill.clone() }
        };
        let mut own: Option<Severity> = None;
        let mut others: Vec<Review> = Vec::new();
        for slip in found().filter(|f| is_slip(f)) {
            let skill = skill_of(slip.element);
            if skill != item.skill && self.all.contains(&skill) {
                if !silent && others.iter().all(|review| review.skill != skill) {
                    others.push(Review { skill, at, right: false, severity: Some(slip.severity) });
                }
            } else {
                own = own.max(Some(slip.severity));
            }
        }
        let right = own.is_none() && !silent && hint < TOLD;
        let form = found().map(|f| f.severity).max();
        let helped = (hint > 0).then_some(Severity::Advice);
        let severity = match (right, silent) {
            (true, _) if others.is_empty() => form.or(helped),
            (true, _) => helped,
            (false, true) => own.or(Some(Severity::Major)),
            (false, false) => own.or(Some(Severity::Minor)),
        };
        let mut reviews = vec![Review { skill: item.skill.clone(), at, right, severity }];
        reviews.extend(others);
        reviews
    }

    /// Shows what the judge says, keeps it, and lets come back what could have hurt someone.
    fn keep(&mut self, tried: Tried) -> Result<()> {
        let width = self.console.width();
        let judgement = &tried.attempt.judgement;
        self.rows(&reply_rows(&tried.attempt.reply, judgement, false, tried.timing, width));
        if judgement.verdict > Verdict::Correct {
            let model = format!("\"{}\"", tried.item.model);
            self.rows(&hang((Tone::Label, "    right is"), COLUMN, Tone::Voice, &model, width));
        }
        if !tried.attempt.reply.trim().is_empty() && !judgement.findings.is_empty() {
            self.last.clone_from(&judgement.findings);
        }
        let mut back = false;
        for review in &tried.reviews {
            self.setup.history.keep(review.clone())?;
            if review.is_critical_slip() {
                back |= self.queue.bring_back(&review.skill) || self.queue.is_next(&review.skill);
            }
        }
        if back {
            self.note("This could have hurt someone: it comes back before the end.");
        }
        self.ended.tried.push(tried);
        Ok(())
    }

    /// Carries out a command; the name of one that ends the item.
    fn command(&mut self, typed: &str, play: &Play, hint: &mut u8) -> Option<&'static str> {
        let width = self.console.width();
        let command = match meant(typed, &COMMANDS) {
            Ok(command) => command,
            Err(what) => {
                self.note(&what);
                return None;
            }
        };
        match command {
            "help" => {
                self.rows(&help_rows(&COMMANDS, width));
                self.note("Anything else is transmitted, once: there is no second reply. \"say again\" and \"confirm ...\" cost nothing.");
            }
            "hint" => {
                if let Some(due) = play.due() {
                    self.rows(&hint_rows(&due, *hint, play.flight().standard, width));
                    self.ended.hints += usize::from(*hint == 0);
                    *hint = TOLD.min(*hint + 1);
                }
            }
            "why" => self.rows(&why_rows(&self.last, width)),
            command => return Some(command),
        }
        None
    }

    /// Shows what the station says.
    fn voices(&mut self, actions: Vec<Action>, number: usize) {
        let width = self.console.width();
        let counter = if number == 0 { "   ".to_owned() } else { format!("{number:>3}") };
        for action in actions {
            match action {
                Action::Transmit { station, text } => {
                    let head = format!("{counter} {}", station.label);
                    let text = format!("\"{text}\"");
                    self.rows(&hang((Tone::Label, &head), COLUMN, Tone::Voice, &text, width));
                }
                Action::Waits => self.note("The station waits. Reply when you are ready."),
                Action::GoesOn { .. } => self.note("The drill goes on; this item counts as not tried."),
                _ => {}
            }
        }
    }

    /// A flight of one exchange.
    fn flight(&self, item: &Item) -> Flight {
        let standard = self.setup.rules.standard;
        let topic = self.setup.rules.topics.iter().find(|topic| topic.id == item.skill.topic);
        let label = station(topic.map_or(Phase::Any, |topic| topic.phase), standard);
        let station = Station {
            id: label.to_lowercase(),
            name: format!("Skerrow {label}"),
            label: label.to_owned(),
            frequency: String::new(),
        };
        let duty = Duty { seat: Seat::Monitoring, radio: true };
        let turn = Turn::Station { says: item.say.clone(), cut: None, unable: None };
        Flight {
            scenario: "drill".to_owned(),
            seed: self.setup.seed,
            standard,
            form: Form::Strict,
            callsign: self.callsign.clone(),
            title: String::new(),
            briefing: String::new(),
            rank: Rank::FirstOfficer,
            operator: "default".to_owned(),
            slips: 0.0,
            difficulty: 1,
            exchanges: vec![Exchange::Radio(RadioExchange { duty, station, cue: None, turn })],
            leads: vec![Leads::default()],
        }
    }

    fn title(&self, skill: &Skill) -> String {
        super::debrief::title(&self.setup.rules, &skill.topic)
    }

    fn note(&mut self, text: &str) {
        let width = self.console.width();
        self.rows(&hang((Tone::Plain, ""), 4, Tone::Faint, text, width));
    }

    fn rows(&mut self, rows: &[Row]) {
        for row in rows {
            self.lines.push_str(&row.paint(self.setup.styled));
            self.lines.push('\n');
        }
    }

    fn flush(&mut self) -> Result<()> {
        if !self.lines.is_empty() {
            let lines = std::mem::take(&mut self.lines);
            self.console.show(self.out, &lines)?;
        }
        Ok(())
    }
}

/// "skill is" or "3 skills are".
fn many(n: usize) -> String {
    if n == 1 { "skill is".to_owned() } else { format!("{n} skills are") }
}

/// Who speaks in a phase of flight.
pub(crate) fn station(phase: Phase, standard: Standard) -> &'static str {
    match phase {
        Phase::BeforeTaxi if standard == Standard::Us => "Clearance",
        Phase::BeforeTaxi => "Delivery",
        Phase::Taxi => "Ground",
        Phase::TakeOff | Phase::Landing => "Tower",
        Phase::Arrival | Phase::Approach => "Approach",
        Phase::EnRoute | Phase::Any | Phase::Abnormal if standard == Standard::Us => "Center",
        Phase::EnRoute | Phase::Any | Phase::Abnormal => "Control",
    }
}
