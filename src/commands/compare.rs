//! `compare`: one phrase, rule or element in all four rule sets.

use crate::book::compare;
use crate::contract::RuleSets;
use crate::error::{Result, exit};
use std::io::Write;

/// Compares `what` and returns the exit status.
///
/// # Errors
/// [`crate::error::Error::Unknown`] if nothing of that name is known in any rule set, with the nearest name.
pub fn run(what: &str, sets: &dyn RuleSets, out: &mut dyn Write) -> Result<u8> {
    compare::write(what, sets, out)?;
    Ok(exit::DONE)
}
