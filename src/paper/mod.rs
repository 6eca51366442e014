//! Graded papers: what is asked, how it is sat, how it is marked, and what a group has not understood.

pub mod marked;
pub mod stats;
