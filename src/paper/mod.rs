//! Graded papers: what is asked, how it is sat, how it is marked, and what a group has not understood.

pub mod competency;
pub mod group;
pub mod loss;
pub mod marked;
pub mod report;
pub mod show;
pub mod stats;
pub mod wrong;
