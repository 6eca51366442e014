//! P
use super::Report;
/// page
pub fn page(_: &Report) -> String { String::new() }
