//! `compare`: one phrase, rule or element in all four rule sets.

use crate::book::compare::Compared;
use crate::contract::RuleSets;
use crate::error::{Result, exit};
use crate::machine;
use std::io::Write;

/// Compares `what`, as a page or as one object, and returns the exit status.
///
/// # Errors
/// [`crate::error::Error::Unknown`] if nothing of that name is known in any rule set, with the nearest name.
pub fn run(what: &str, sets: &dyn RuleSets, json: bool, out: &mut dyn Write) -> Result<u8> {
    let compared = Compared::of(what, sets)?;
    if json {
        machine::write(&compared, out)?
    } else {
        compared.text(out)?
    }
    Ok(exit::DONE)
}
