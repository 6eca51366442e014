//! hearback listens to what a pilot says back.
//!
//! The core is one pure function: a rule set, what a station said, who I am and what I replied give a
//! [`judgement`](judge::judgement::Judgement).
//!
//! ```
//! use hearback::{element::{Element, Fault, Standard, Verdict}, judge::judge_addressed, rules::RuleSet};
//!
//! let rules = RuleSet::builtin(Standard::Icao);
//! let say = "Whimbrel two one four, climb to flight level one two zero";
//! let judged = judge_addressed(&rules, say, "climbing flight level one one zero, Whimbrel 214").unwrap();
//! assert_eq!(judged.verdict, Verdict::Incorrect);
//! assert_eq!((judged.findings[0].element, judged.findings[0].fault), (Element::Level, Fault::Wrong));
//! ```
//!
//! Training aid only. Local rules, the AIP, the operator's procedures and a licensed instructor come
//! first; never for use in flight.

/// What stands before every session and every book.
pub const CAUTION: &str = "Training aid only: local rules, the AIP, your operator's procedures and a licensed instructor come first. Never for use in flight.";

pub mod airport;
pub mod bar;
pub mod batch;
pub mod book;
pub mod callsign;
pub mod cli;
pub mod commands;
pub mod content;
pub mod contract;
pub mod crew;
pub mod diagnostic;
pub mod drill;
pub mod element;
pub mod error;
pub mod feedback;
pub mod grammar;
mod jsonline;
pub mod judge;
pub mod lookup;
pub mod machine;
pub mod map;
mod page;
pub mod paper;
pub mod parse;
pub mod progress;
pub mod record;
pub mod rules;
pub mod scenario;
pub mod schema;
pub mod session;
pub mod settings;
pub mod span;
pub mod text;
pub mod value;
pub mod wrap;
