//! Arguments of `map`: what is drawn, how, and the route on it.

use crate::airport::network::Prefer;
use crate::map::request::PREFERENCES;
use clap::Args;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  hearback map hvalby                          a plan in the terminal
  hearback map hvalby --from 24 --to 22        the way from stand 24 to runway 22
  hearback map hvalby --from B1 --to 'stand 22' --closed A
  hearback map my-airport.toml --svg my-airport.svg
  hearback map hvalby --from 24 --to D1 --json

A runway stands for the holding points at its beginning, or, after --from, for its exits. A name that is both
a runway and a stand is the runway, unless the other end is one; `stand 22` and `runway 22` say which.";

/// What `map` draws.
#[derive(Debug, Clone, Args)]
#[command(after_help = EXAMPLES)]
pub struct MapArgs {
    /// A built-in airport, one of your own content (`name` or `packid/name`), or a file
    pub airport: String,
    /// Write a drawing instead of the plan; `-` is standard output
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    pub svg: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "svg")]
    pub force: bool,
    /// Where a route begins: a stand, an exit, a holding point, or a runway that is left
    #[arg(long, value_name = "PLACE", requires = "to")]
    pub from: Option<String>,
    /// Where it ends: a runway, a holding point or a stand
    #[arg(long, value_name = "PLACE", requires = "from")]
    pub to: Option<String>,
    /// What the route is short in: `usual` weighs distance, turns and runways to cross as a controller would
    #[arg(long, value_name = "WHAT", default_value = "usual", value_parser = preference(), requires = "from")]
    pub by: Prefer,
    /// Close a taxiway; may stand several times
    #[arg(long, value_name = "TAXIWAY", action = clap::ArgAction::Append)]
    pub closed: Vec<String>,
    /// Code letter of the aircraft's span, A to F; C, or that of a smaller stand, if left out
    #[arg(long, value_name = "LETTER", ignore_case = true, value_parser = code(), requires = "from")]
    pub code: Option<char>,
    /// One JSON object instead of the plan
    #[arg(long)]
    pub json: bool,
    /// Letters of ASCII only
    #[arg(long)]
    pub plain: bool,
    /// Columns of the plan; those of the terminal if left out
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=160))]
    pub width: Option<u16>,
}

fn preference() -> impl TypedValueParser<Value = Prefer> {
    PossibleValuesParser::new(PREFERENCES.map(|(name, _)| name)).try_map(|name| {
        PREFERENCES.iter().find(|(known, _)| *known == name).map(|(_, prefer)| *prefer).ok_or("no preference")
    })
}

fn code() -> impl TypedValueParser<Value = char> {
    PossibleValuesParser::new(["A", "B", "C", "D", "E", "F"])
        .try_map(|name| name.chars().next().map(|c| c.to_ascii_uppercase()).ok_or("no code letter"))
}
