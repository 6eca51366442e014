//! The command line: declarations only.

pub mod map;
pub mod new;
pub mod paper;
pub mod record;

use crate::rules::Phase;
use crate::scenario::load::Kind;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  hearback                                what is due today, and one key to begin
  hearback practise                       fly the first scenario, no set-up
  hearback practise skerrow-departure --seed 4173
  hearback practise --airport hvalby --phase arrival
  hearback drill                          short items, those that are due today
  hearback scenarios                      what there is to fly, from easy to hard
  hearback explain hold short             what it is, why it matters, right and wrong
  hearback compare level.feet             one phrase or rule in all four rule sets
  hearback phrasebook --phase taxi        what is said on the ground, and what comes back
  hearback phrasebook --format html > book.html
  hearback new scenario                   a file to begin with, after a few questions
  hearback preview my-flight.toml         the whole script, with what the trainee owes
  hearback check --watch my-flight.toml   what is wrong in it, again at every change
  hearback map hvalby --from 24 --to 22   an airport and a way across it
  hearback pack club club.zip             what colleagues add with --content club.zip
  hearback progress                       what comes back right, and what does not
  hearback record export > record.jsonl   all that was kept of it
  hearback grade < replies.jsonl > judged.jsonl

Exit status: 0 done, 1 problems found, 2 usage, file or system error, 130 interrupted.

Caution: a training aid only. Local rules, the AIP, your operator's procedures and a
licensed instructor come first. Never for use in flight.";

const GRADE: &str = "\
One object a line, text in quotes:
  say       what the station says
            \"say\":\"Whimbrel two one four, squawk four four two one\"
  reply     what the pilot says back
            \"reply\":\"Squawk 4421, Whimbrel 214\"
  callsign  whose reply it is; the one the station says, if left out
            \"callsign\":\"Whimbrel 214\"
  standard  icao, eu, uk or us; icao if left out
            \"standard\":\"uk\"
  id        anything; comes back as it is
            \"id\":\"7\"
Or what one pilot says to the other:
  cue        a call of grammar/crew, for instance to-v1; or checklist and item, from 1
  role       call or reply, challenge or response
  values     what the call carries: \"values\":{\"flap\":\"5\"}
  operator   default or larkspur; default if left out
Or a briefing, judged part by part:
  briefing   nits, takeoff, approach, or escalation: one pilot stops the other
  values     what it must carry: \"values\":{\"min\":\"320\",\"maa\":\"3000\"}
  context    the moment, in words or as an object: \"context\":\"8 seconds to impact\"
Other keys are ignored. Comes out, in order:
  {\"id\":…,\"verdict\":\"…\",\"score\":…,\"findings\":[…],\"model\":\"…\"}
or, for a line that cannot be read (exit status 1):
  {\"id\":…,\"error\":\"…\",\"line\":N}";

const PARSE: &str = "\
One object a line, text in quotes:
  text      the transmission
            \"text\":\"Whimbrel two one four, squawk four four two one\"
  speaker   controller or pilot; controller if left out
            \"speaker\":\"pilot\"
  standard  icao, eu, uk or us; icao if left out
            \"standard\":\"uk\"
  id        anything; comes back as it is
            \"id\":\"7\"
Other keys are ignored. Comes out, in order:
  {\"id\":…,\"callsign\":\"…\",\"elements\":[…],\"unparsed\":[…]}
or, for a line that cannot be read (exit status 1):
  {\"id\":…,\"error\":\"…\",\"line\":N}";

const DRILL: &str = "\
An item is a skill: one element in one family of phrases, by one rule set, for instance
icao/line-up/runway. Each time it comes it is another transmission, made from the grammar.
One reply counts; what was wrong in it is told at once. What you know well comes again
after days or weeks, what slipped comes tomorrow, and what could have hurt someone comes
back in the same session.";

/// Practise airline radiotelephony: another voice speaks, you reply, every element is judged.
#[derive(Debug, Parser)]
#[command(name = "hearback", version, after_help = EXAMPLES, max_term_width = 100)]
pub struct Cli {
    /// Colours in messages and on screen
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub color: Color,
    /// Folder with grammar of your own, put over the built-in one
    #[arg(long, global = true, value_name = "DIR", env = "HEARBACK_GRAMMAR")]
    pub grammar: Option<PathBuf>,
    /// Search a folder or a pack of scenarios, airports and grammar of your own before what is built in; may stand
    /// several times. Without it the places in HEARBACK_CONTENT, parted as in PATH
    #[arg(long, global = true, value_name = "DIR|ZIP", action = clap::ArgAction::Append)]
    pub content: Vec<PathBuf>,
    /// Keep what you practise in this file. Without it the one in HEARBACK_RECORD (empty: nothing is kept), or `record.db`
    /// in the platform's folder for data
    #[arg(long, global = true, value_name = "FILE")]
    pub record: Option<PathBuf>,
    /// Keep nothing of what you practise
    #[arg(long, global = true, conflicts_with = "record")]
    pub no_record: bool,
    /// Whose record it is, where several people share a machine; `default` if left out
    #[arg(long, global = true, value_name = "NAME", env = "HEARBACK_PROFILE", value_parser = profile)]
    pub profile: Option<String>,
    /// What to do; without a command the first screen, with what is due today
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// When to use colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// A rule set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum StandardName {
    /// ICAO Annex 10, Annex 11, PANS-ATM
    Icao,
    /// Regulation (EU) 923/2012
    Eu,
    /// CAP 413
    Uk,
    /// AIM and JO 7110.65
    Us,
}

/// How far the form of a reply counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FormName {
    /// Words, order and form of numbers count: training
    Strict,
    /// Only values count, as controllers on the line take them
    Line,
}

/// A seat on board.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SeatName {
    /// Pilot monitoring: works the radio
    Monitoring,
    /// Pilot flying: listens to the radio
    Flying,
}

/// How the phrase book is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PageFormat {
    /// For a terminal, 80 columns
    Text,
    /// Markdown
    Markdown,
    /// One page for a browser or a printer
    Html,
    /// One JSON object
    Json,
}

impl Command {
    /// True if the results go to a program: what goes wrong is then written for it too.
    #[must_use]
    pub fn json(&self) -> bool {
        match self {
            Self::Drill { json, .. }
            | Self::Scenarios { json }
            | Self::Check { json, .. }
            | Self::Preview { json, .. }
            | Self::Pack { json, .. }
            | Self::Packs { json }
            | Self::Explain { json, .. }
            | Self::Compare { json, .. }
            | Self::Progress { json, .. } => *json,
            Self::Phrasebook { json, format, .. } => *json || *format == PageFormat::Json,
            Self::Map(options) => options.json,
            Self::Paper { what } => what.json(),
            Self::Record { what } => what.json(),
            _ => false,
        }
    }
}

fn profile(name: &str) -> Result<String, String> {
    crate::record::profile(name)
}

fn phase() -> impl TypedValueParser<Value = Phase> {
    PossibleValuesParser::new(Phase::ALL.map(Phase::name))
        .try_map(|name| Phase::parse(&name).ok_or("no phase of flight"))
}

fn kind() -> impl TypedValueParser<Value = Kind> {
    PossibleValuesParser::new(Kind::ALL.map(|(name, _)| name)).try_map(|name| {
        Kind::ALL
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, kind)| *kind)
            .ok_or("no kind of data file")
    })
}

fn pace() -> impl TypedValueParser<Value = f64> {
    clap::builder::StringValueParser::new().try_map(|text| match text.parse::<f64>() {
        Ok(pace) if pace == 0.0 || (0.05..=10.0).contains(&pace) => Ok(pace),
        _ => Err("0, or a number from 0.05 to 10"),
    })
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Fly a scenario at the prompt
    #[command(visible_alias = "practice")]
    Practise {
        /// A built-in scenario, one of your own content (`name` or `packid/name`), or a file
        #[arg(conflicts_with_all = ["airport", "phase"])]
        scenario: Option<String>,
        /// A flight that an airport gives by itself, another one each time: a built-in airport, one of your own content,
        /// or a file
        #[arg(long, value_name = "NAME")]
        airport: Option<String>,
        /// Which part of a flight: departure, arrival, ground or tower; departure if left out
        #[arg(long, value_name = "PHASE", requires = "airport")]
        phase: Option<String>,
        /// Draw the flight from this number; the same number gives the same flight
        #[arg(long, value_name = "N")]
        seed: Option<u64>,
        /// No feedback before the debrief
        #[arg(long, visible_alias = "quiet-until-end")]
        quiet: bool,
        /// Plain lines instead of an editing prompt; the clock then stands between replies
        #[arg(long)]
        plain: bool,
        /// How fast the clock of the flight runs: 1 is real time, 0.5 half as fast, 0 stops it between replies
        #[arg(long, value_name = "X", default_value = "1", value_parser = pace())]
        pace: f64,
        /// 1 to 5: other aircraft talk (2), frequencies are to be tuned (3), what is said is heard once (4), in longer
        /// transmissions (5); the scenario's choice if left out
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=5))]
        difficulty: Option<u8>,
        /// Your seat at the beginning, if not the scenario's
        #[arg(long)]
        seat: Option<SeatName>,
        /// Whose calls the crew uses: `default`, `larkspur`, or a file of `crew/operators` in your grammar folder
        #[arg(long, value_name = "NAME")]
        operator: Option<String>,
        /// Fly by another rule set than the scenario's
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// Whether the form of a reply counts, or its values only; the scenario's choice, or strict, if left out
        #[arg(long)]
        form: Option<FormName>,
    },
    /// Drill what is due today: short items in an order that keeps them in memory
    #[command(after_help = DRILL)]
    Drill {
        /// Items at most; a dangerous slip comes back besides
        #[arg(long, value_name = "N", default_value_t = 12, value_parser = clap::value_parser!(u16).range(1..=200))]
        count: u16,
        /// New skills a day at most
        #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u16).range(0..=200))]
        new: u16,
        /// One topic of the phrase book only, for instance `line-up`
        #[arg(long, value_name = "TOPIC")]
        topic: Option<String>,
        /// By which rules; those of your first start, or icao, if left out
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// Fill up with what is due next, before its time
        #[arg(long)]
        ahead: bool,
        /// Only list what is due, what is new and what comes later
        #[arg(long)]
        due: bool,
        /// The list as one JSON object
        #[arg(long, requires = "due")]
        json: bool,
        /// Draw callsign and values from this number; the same number gives the same transmissions
        #[arg(long, value_name = "N")]
        seed: Option<u64>,
        /// Plain lines instead of an editing prompt
        #[arg(long)]
        plain: bool,
    },
    /// List what there is to fly, from easy to hard
    Scenarios {
        /// One JSON object instead of a table
        #[arg(long)]
        json: bool,
    },
    /// Judge exchanges: JSON Lines in, JSON Lines out
    #[command(after_help = GRADE)]
    Grade {
        /// Files to read; standard input if none, or for `-`
        files: Vec<PathBuf>,
        /// Whether the form of a reply counts, or its values only; strict if left out
        #[arg(long)]
        form: Option<FormName>,
    },
    /// Read transmissions: JSON Lines in, elements out
    #[command(after_help = PARSE)]
    Parse {
        /// Files to read; standard input if none, or for `-`
        files: Vec<PathBuf>,
    },
    /// Check grammar, airports and scenarios, and run every example of the grammar
    Check {
        /// Files to check, or folders with files; everything built in (and `--grammar`, `--content`) if none
        files: Vec<PathBuf>,
        /// Check again whenever a file changes, until Ctrl-C
        #[arg(long, requires = "files")]
        watch: bool,
        /// Problems and counts as one JSON object
        #[arg(long, conflicts_with = "watch")]
        json: bool,
    },
    /// Write a file to begin with: asks a few questions, and never overwrites
    New {
        /// What kind of file
        #[command(subcommand)]
        kind: new::NewCommand,
    },
    /// Print the JSON Schema of a kind of data file, for an editor
    Schema {
        /// The kind of data file
        #[arg(value_parser = kind())]
        kind: Kind,
    },
    /// Print the whole script of a flight, and what the trainee owes at every point of it
    Preview {
        /// A built-in scenario, one of your own content, or a file
        #[arg(required_unless_present = "airport", conflicts_with_all = ["airport", "phase"])]
        scenario: Option<String>,
        /// A flight that an airport gives by itself
        #[arg(long, value_name = "NAME")]
        airport: Option<String>,
        /// Which part of a flight: departure, arrival, ground or tower; departure if left out
        #[arg(long, value_name = "PHASE", requires = "airport")]
        phase: Option<String>,
        /// Draw the flight from this number
        #[arg(long, value_name = "N", default_value_t = 1)]
        seed: u64,
        /// The trainee's seat at the beginning, if not the scenario's
        #[arg(long)]
        seat: Option<SeatName>,
        /// Another rule set than the scenario's
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
    },
    /// Draw an airport, perhaps with a taxi route: a plan in the terminal, or an SVG file
    Map(map::MapArgs),
    /// Check a folder of content and make one zip of it, a pack
    Pack {
        /// The folder, with a `pack.toml`
        folder: PathBuf,
        /// The zip; `ID-VERSION.zip` if left out
        #[arg(value_name = "FILE.zip")]
        zip: Option<PathBuf>,
        /// Write over a file that is there
        #[arg(long)]
        force: bool,
        /// What was made as one JSON object
        #[arg(long)]
        json: bool,
    },
    /// List content of your own: what is found where, and what stands before what
    Packs {
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
    },
    /// Explain an element, a phrase, a rule or a word, with its source
    Explain {
        /// An element (`level`), a phrase (`runway.line-up`), a rule (`order.kept`) or words (`line up`)
        #[arg(required_unless_present = "coverage", conflicts_with = "coverage", num_args = 1..)]
        what: Vec<String>,
        /// The topics of the radio book instead: phrases and examples of each, by rule set
        #[arg(long)]
        coverage: bool,
        /// Rule set to explain it in
        #[arg(long, value_name = "RULES", default_value = "icao")]
        standard: StandardName,
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
    },
    /// Show a phrase, a rule or an element in all four rule sets, side by side
    Compare {
        /// A phrase (`level.climb`), a rule (`level.feet`), an element (`level`) or words (`hold short`)
        #[arg(required = true, num_args = 1..)]
        what: Vec<String>,
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
    },
    /// Print the phrase book: what is said in each phase of flight, and what comes back
    Phrasebook {
        /// One phase of flight only
        #[arg(long, value_parser = phase())]
        phase: Option<Phase>,
        /// One topic only, for instance `line-up`
        #[arg(long, value_name = "TOPIC", conflicts_with = "phase")]
        topic: Option<String>,
        /// One rule set's own wording; without it icao's, and where the others differ
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// How it is written
        #[arg(long, value_name = "FORMAT", default_value = "text")]
        format: PageFormat,
        /// The same as --format json
        #[arg(long, conflicts_with = "format")]
        json: bool,
    },
    /// Graded papers for a study group: set, sit, mark, report
    #[command(after_help = paper::PAPER)]
    Paper {
        /// What to do
        #[command(subcommand)]
        what: paper::PaperCommand,
    },
    /// Show how practice goes: right and owed by element, topic and week, and the most dangerous habits
    #[command(after_help = record::PROGRESS)]
    Progress {
        /// One page with charts for a browser or a printer, into this file
        #[arg(long, value_name = "FILE", conflicts_with = "json")]
        html: Option<PathBuf>,
        /// Write over a file that is there
        #[arg(long, requires = "html")]
        force: bool,
        /// One JSON object instead of a page
        #[arg(long)]
        json: bool,
        /// What was practised on that day or later (UTC): 2026-03-14
        #[arg(long, value_name = "DATE", value_parser = record::date)]
        since: Option<jiff::Timestamp>,
    },
    /// Look after the record of what you practised: where it is, out, in, judged again, forgotten
    Record {
        /// What to do with it
        #[command(subcommand)]
        what: record::RecordCommand,
    },
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page, of the program or of one command: hearback manual | man -l -
    Manual {
        /// A command
        command: Option<String>,
    },
}
