//! The phrase book as data: files, merged rule sets, and their soundness.

pub mod check;
pub(crate) mod compile;
pub mod load;
pub mod notation;
pub mod schema;
pub mod sets;

mod embedded {
    include!(concat!(env!("OUT_DIR"), "/embedded.rs"));
}

/// Every grammar file that the binary carries: path below the repository, and text.
#[must_use]
pub fn builtin_files() -> &'static [(&'static str, &'static str)] {
    embedded::GRAMMAR
}

/// Every scenario and airport file that the binary carries.
#[must_use]
pub fn builtin_scenarios() -> &'static [(&'static str, &'static str)] {
    embedded::SCENARIOS
}
