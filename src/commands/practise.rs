//! `practise`: flies a scenario at the prompt.

use super::drill::{clock, of_skills};
use crate::content::Content;
use crate::contract::RuleSets;
use crate::diagnostic::{self, clean};
use crate::drill::after::after_rows;
use crate::drill::schedule::Schedule;
use crate::drill::skill::{Skill, catalogue};
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::judge::judgement::Form;
use crate::record::Record;
use crate::record::keep::{Keeper, Place};
use crate::rules::RuleSet;
use crate::scenario::Seat;
use crate::scenario::draw::draw;
use crate::scenario::load::{Library, Which};
use crate::scenario::play::Play;
use crate::session::console::{Console, SystemClock};
use crate::session::plain::Plain;
use crate::session::prompt::Prompt;
use crate::session::screen::Row;
use crate::session::{Ending, Look, Session};
use crate::settings::Settings;
use std::collections::BTreeMap;
use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

/// The scenario that is flown when none is named.
pub const FIRST: &str = "skerrow-departure";

/// What was asked for on the command line.
#[derive(Debug, Clone)]
pub struct Options {
    /// Which flight.
    pub which: Which,
    /// What the flight is drawn from; by chance if left out.
    pub seed: Option<u64>,
    /// No feedback before the end.
    pub quiet: bool,
    /// How fast the clock of the flight runs; 0 stops it between replies.
    pub pace: f64,
    /// No line editing: prompt and echo as plain text.
    pub plain: bool,
    /// Another difficulty than the scenario's.
    pub difficulty: Option<u8>,
    /// Another seat than the scenario's at the beginning.
    pub seat: Option<Seat>,
    /// Another operator than the scenario's.
    pub operator: Option<String>,
    /// A rule set other than the scenario's.
    pub standard: Option<Standard>,
    /// Another choice than the scenario's of how far form counts.
    pub form: Option<Form>,
    /// Content that was named on the command line, to name it again.
    pub content: Vec<PathBuf>,
    /// Colours and bold letters.
    pub styled: bool,
    /// Where attempts are kept.
    pub place: Place,
}

/// Flies a scenario and returns the exit status; a learner's slips are no failure.
///
/// # Errors
/// If there is no such scenario, if it has problems, or if the terminal or the output fails.
pub fn run(
    options: &Options,
    sets: &dyn RuleSets,
    content: &Content,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let rules = &|standard| -> Arc<RuleSet> { sets.get(standard) };
    let book = sets.crew().map_err(Error::Internal)?;
    let mut scenario = Library::new(rules, Arc::clone(&book)).with_content(content).which(&options.which)?;
    if let Some(seat) = options.seat.filter(|seat| *seat != scenario.seat) {
        scenario.change_seat();
        debug_assert_eq!(scenario.seat, seat, "there are two seats");
    }
    scenario.difficulty = options.difficulty.unwrap_or(scenario.difficulty);
    if let Some(operator) = &options.operator {
        if book.operator(operator).is_none() {
            let known = diagnostic::list(&book.operator_ids().collect::<Vec<_>>());
            let help = match diagnostic::nearest(operator, book.operator_ids()) {
                Some(near) => format!("; did you mean `{near}`?"),
                None => format!("; there are {known}"),
            };
            return Err(Error::Unknown { what: "operator", name: clean(operator).into_owned(), help });
        }
        scenario.operator.clone_from(operator);
    }
    let standard = options.standard.unwrap_or(scenario.standard);
    let seed = options.seed.unwrap_or_else(any_seed);
    let mut flight = draw(&scenario, standard, seed).ok_or_else(|| {
        Error::Internal(format!("nothing can be drawn from `{}` with seed {seed}", scenario.id))
    })?;
    let content: String = options
        .content
        .iter()
        .map(|place| format!("--content {} ", quoted(&place.to_string_lossy())))
        .collect();
    let named = match &options.which {
        Which::Scenario(name) => quoted(name),
        Which::Phase { airport, phase } => format!("--airport {} --phase {}", quoted(airport), quoted(phase)),
    };
    let mut repeat = format!("hearback {content}practise {named} --seed {seed}");
    if let Some(standard) = options.standard {
        repeat.push_str(&format!(" --standard {standard}"));
    }
    if let Some(seat) = options.seat {
        let named = Seat::ALL.iter().find(|(_, known)| *known == seat);
        repeat.extend(named.map(|(name, _)| format!(" --seat {name}")));
    }
    if let Some(difficulty) = options.difficulty {
        repeat.push_str(&format!(" --difficulty {difficulty}"));
    }
    if let Some(operator) = &options.operator {
        repeat.push_str(&format!(" --operator {}", quoted(operator)));
    }
    if let Some(form) = options.form {
        flight.form = form;
        let named = Form::ALL.iter().find(|(_, known)| *known == form);
        repeat.extend(named.map(|(name, _)| format!(" --form {name}")));
    }
    let look = Look { styled: options.styled, quiet: options.quiet, pace: options.pace, repeat };
    let mut console = console(options.plain, options.styled)?;
    let mut keeper =
        Keeper::open(&options.place, rules(standard), Arc::clone(&book), sets.fingerprint(), err);
    let play = Play::new(rules(standard), flight, book);
    let ending = Session::new(play, &mut *console, out, look).keeping(&mut keeper).run()?;
    if ending != Ending::Interrupted {
        let touched = keeper.touched().clone();
        if let Some(record) = keeper.end() {
            // A record that fails now is no reason to end in failure: the flight is over.
            let rows = after(&touched, &record, options, &rules(standard), console.width());
            for row in rows.unwrap_or_default() {
                writeln!(out, "{}", row.paint(options.styled))?;
            }
            out.flush()?;
        }
    }
    Ok(match ending {
        Ending::Finished | Ending::Left => exit::DONE,
        Ending::Interrupted => exit::INTERRUPTED,
    })
}

/// What is told below the debrief, by the record.
fn after(
    touched: &BTreeMap<String, bool>,
    record: &Record,
    options: &Options,
    rules: &RuleSet,
    width: usize,
) -> Result<Vec<Row>> {
    let reviews = of_skills(record.reviews(&options.place.profile)?);
    let touched = touched.iter().filter_map(|(skill, right)| Some((Skill::parse(skill)?, *right))).collect();
    let schedule = Schedule::of(&reviews, &clock()?);
    let command = match rules.standard {
        chosen if chosen == Settings::read().unwrap_or_default().standard => "hearback drill".to_owned(),
        other => format!("hearback drill --standard {other}"),
    };
    Ok(after_rows(&touched, &schedule, &catalogue(rules), rules, &command, width))
}

/// The console that fits where replies come from and where lines go.
pub(super) fn console(plain: bool, styled: bool) -> Result<Box<dyn Console>> {
    let typed = std::io::stdin().is_terminal();
    let lines = std::io::stdin().lock();
    let columns = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(80);
    let dumb = std::env::var("TERM").is_ok_and(|term| term == "dumb");
    Ok(if !typed {
        Box::new(Plain::piped(lines, columns))
    } else if plain || dumb || !std::io::stdout().is_terminal() {
        Box::new(Plain::typed(lines, columns, Arc::new(SystemClock::start())))
    } else {
        drop(lines);
        Box::new(Prompt::open(Arc::new(SystemClock::start()), styled)?)
    })
}

/// A name as it can be typed at a shell.
fn quoted(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '.' | '_' | '-' | '/' | '\\' | ':');
    if name.chars().all(plain) { name.to_owned() } else { format!("'{}'", clean(name)) }
}

/// A seed that is short enough to be typed again.
pub(super) fn any_seed() -> u64 {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    u64::from(now.subsec_micros()) % 9000 + 1000
}
