//! One thin file for each command: gather, call the library, write.

pub mod check;
pub mod compare;
pub mod coverage;
pub mod drill;
pub mod explain;
mod explain_crew;
pub mod home;
pub mod lines;
pub mod map;
pub mod new;
pub mod pack;
pub mod packs;
pub mod pages;
pub mod paper;
pub mod phrasebook;
pub mod practise;
pub mod preview;
pub mod progress;
pub mod record;
pub mod scenarios;
pub mod watch;
