//! Arguments of `new`: what a new file needs to know, one flag for each question.

use super::StandardName;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What every new file needs.
#[derive(Debug, Clone, Args)]
pub struct NewFile {
    /// Where it is written; asked for if left out. A file that is there is never overwritten
    pub file: Option<PathBuf>,
    /// Ask nothing: take the default where no flag says otherwise
    #[arg(long)]
    pub defaults: bool,
}

/// Kinds of new files. Every question has a flag; what has none given is asked, and Enter takes the default.
#[derive(Debug, Clone, Subcommand)]
pub enum NewCommand {
    /// A small flight that can be flown at once
    Scenario {
        /// Where it goes
        #[command(flatten)]
        to: NewFile,
        /// One line for lists
        #[arg(long)]
        title: Option<String>,
        /// A built-in airport, or one of your own beside the file or in a folder `airports` beside it
        #[arg(long, value_name = "ID")]
        airport: Option<String>,
        /// Which part of a flight: departure, arrival, ground or tower
        #[arg(long)]
        phase: Option<String>,
        /// The operator's name on the radio, for instance Whimbrel
        #[arg(long, value_name = "NAME")]
        telephony: Option<String>,
        /// The flight's digits and letters, for instance 214
        #[arg(long, value_name = "DIGITS")]
        flight: Option<String>,
        /// monitoring or flying; the pilot monitoring works the radio
        #[arg(long)]
        seat: Option<String>,
        /// yes or no: calls between the pilots as well
        #[arg(long, value_name = "YES")]
        crew: Option<String>,
    },
    /// A checklist of your own
    Checklist {
        /// Where it goes
        #[command(flatten)]
        to: NewFile,
        /// Its name in scenarios, for instance ground-check
        #[arg(long)]
        id: Option<String>,
        /// Its name as it is called
        #[arg(long)]
        title: Option<String>,
        /// Who reads it: PF, PM, CA or FO
        #[arg(long, value_name = "POSITION")]
        read_by: Option<String>,
        /// Who answers: PF, PM, CA, FO or BOTH
        #[arg(long, value_name = "POSITION")]
        answered_by: Option<String>,
        /// An item, `Flaps = Five, set`; may come several times
        #[arg(long, value_name = "ITEM")]
        item: Vec<String>,
    },
    /// The choices of an operator: whose words and speeds the crew uses
    Operator {
        /// Where it goes
        #[command(flatten)]
        to: NewFile,
        /// One line for lists
        #[arg(long)]
        title: Option<String>,
        /// Knots at which the speeds are compared on the take-off roll
        #[arg(long, value_name = "KNOTS")]
        cross_check: Option<String>,
        /// What is called when the aircraft climbs away
        #[arg(long, value_name = "WORDS")]
        climb: Option<String>,
        /// What is called to stop on the runway
        #[arg(long, value_name = "WORDS")]
        stop: Option<String>,
        /// What is called a thousand feet before a level
        #[arg(long, value_name = "WORDS")]
        to_go: Option<String>,
    },
    /// A phrase of your own, with examples that are run as tests
    Grammar {
        /// Where it goes
        #[command(flatten)]
        to: NewFile,
        /// Its name, for instance club.follow-van
        #[arg(long)]
        id: Option<String>,
        /// The rule set that has it
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// How it is said: words, [what may be left out], (one | of these), `<value>`
        #[arg(long, value_name = "PATTERN")]
        says: Option<String>,
        /// What is to be done, in a few words
        #[arg(long, value_name = "WORDS")]
        instruction: Option<String>,
        /// The phrase as a station says it, with values, without the callsign
        #[arg(long, value_name = "WORDS")]
        example: Option<String>,
    },
    /// A graded paper for a group
    Paper {
        /// Where it goes
        #[command(flatten)]
        to: NewFile,
        /// One line for lists
        #[arg(long)]
        title: Option<String>,
        /// The rule set
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// Topics of the phrase book, with commas between them
        #[arg(long, value_name = "LIST")]
        topics: Option<String>,
        /// Airports whose flights the items come from, with commas between them, or none
        #[arg(long, value_name = "LIST")]
        airports: Option<String>,
        /// How many read-backs
        #[arg(long, value_name = "N")]
        items: Option<String>,
        /// 1 to 5, or any
        #[arg(long, value_name = "N")]
        difficulty: Option<String>,
        /// Calls of the crew, with commas between them, or none
        #[arg(long, value_name = "LIST")]
        calls: Option<String>,
        /// Minutes in all, or no
        #[arg(long, value_name = "N")]
        minutes: Option<String>,
        /// Seconds for each item, or no
        #[arg(long, value_name = "N")]
        seconds: Option<String>,
        /// Per cent to pass
        #[arg(long, value_name = "N")]
        pass_mark: Option<String>,
        /// Findings that fail it whatever the mark, with commas between them, or none
        #[arg(long, value_name = "LIST")]
        fails: Option<String>,
        /// same or own
        #[arg(long)]
        values: Option<String>,
    },
    /// An airport with one runway
    Airport {
        /// Where it goes
        #[command(flatten)]
        to: NewFile,
        /// Its name as it is spoken
        #[arg(long)]
        name: Option<String>,
        /// The rule set that is spoken there
        #[arg(long, value_name = "RULES")]
        standard: Option<StandardName>,
        /// One end of the runway, for instance 09 or 27L
        #[arg(long, value_name = "DESIGNATOR")]
        runway: Option<String>,
        /// Feet above mean sea level
        #[arg(long, value_name = "FEET")]
        elevation: Option<String>,
        /// Feet
        #[arg(long, value_name = "FEET")]
        transition_altitude: Option<String>,
        /// Metres, from 1200 to 5500
        #[arg(long, value_name = "METRES")]
        length: Option<String>,
        /// Stands, with commas between them
        #[arg(long, value_name = "LIST")]
        stands: Option<String>,
        /// Airports that flights leave for, with commas between them
        #[arg(long, value_name = "LIST")]
        destinations: Option<String>,
    },
}
