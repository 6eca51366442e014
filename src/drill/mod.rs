//! Short exercises: a skill comes again when it is about to be forgotten, each time in a new transmission.

pub mod after;
pub mod debrief;
pub mod history;
pub mod items;
pub mod queue;
pub mod schedule;
pub mod session;
pub mod skill;
pub mod spacing;
pub mod values;
