//! One thin file for each command: gather, call the library, write.

pub mod check;
pub mod coverage;
pub mod explain;
pub mod lines;
pub mod practise;
