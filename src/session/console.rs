//! Where replies come from: a prompt, a pipe or a script.

use crate::error::Result;
use std::collections::VecDeque;
use std::io::Write;
use std::time::{Duration, Instant};

/// Tells how much time has passed since some moment; the moment does not matter.
pub trait Clock: Send + Sync {
    /// Time since that moment.
    fn now(&self) -> Duration;
}

/// The clock of the machine.
#[derive(Debug)]
pub struct SystemClock(Instant);

impl SystemClock {
    /// A clock that starts now.
    #[must_use]
    pub fn start() -> Self {
        Self(Instant::now())
    }
}

impl Clock for SystemClock {
    fn now(&self) -> Duration {
        self.0.elapsed()
    }
}

/// How long a reply took; left out where nothing can be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Timing {
    /// From the prompt to the first key.
    pub first_key: Option<Duration>,
    /// From the prompt to Enter.
    pub sent: Option<Duration>,
}

/// What came from a console.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A line without its end.
    Line(String, Timing),
    /// The line was dropped.
    Interrupt,
    /// Nothing more will come.
    End,
    /// The time to wait is over; what is being typed stays as it is.
    Wake,
}

/// Where replies come from.
pub trait Console {
    /// Shows the prompt and waits for a line, or no longer than `wait` if the console can.
    ///
    /// # Errors
    /// When the terminal or the output fails.
    fn read(&mut self, out: &mut dyn Write, prompt: &str, wait: Option<Duration>) -> Result<Input>;

    /// Shows text, above what is being typed if something is.
    ///
    /// # Errors
    /// When the terminal or the output fails.
    fn show(&mut self, out: &mut dyn Write, text: &str) -> Result<()> {
        out.write_all(text.as_bytes())?;
        out.flush()?;
        Ok(())
    }

    /// Leaves the last `rows` lines on screen for so many seconds and takes them away; false if the console cannot.
    ///
    /// # Errors
    /// When the terminal or the output fails.
    fn fade(&mut self, _out: &mut dyn Write, _rows: usize, _seconds: f64) -> Result<bool> {
        Ok(false)
    }

    /// The time on a clock that runs by itself; none where time is counted by what comes in.
    fn now(&self) -> Option<Duration> {
        None
    }

    /// Columns of the screen.
    fn width(&mut self) -> usize {
        80
    }
}

/// A console that is told beforehand what comes; shows prompt and echo as a plain one does.
#[derive(Debug, Default)]
pub struct Script {
    inputs: VecDeque<Input>,
    width: usize,
}

impl Script {
    /// A script for a screen of that width; after the last input comes the end.
    #[must_use]
    pub fn new(width: usize, inputs: impl IntoIterator<Item = Input>) -> Self {
        Self { inputs: inputs.into_iter().collect(), width }
    }

    /// A script of lines that each took four seconds, one to the first key.
    #[must_use]
    pub fn of_lines<'a>(width: usize, lines: impl IntoIterator<Item = &'a str>) -> Self {
        let timing = Timing { first_key: Some(Duration::from_secs(1)), sent: Some(Duration::from_secs(4)) };
        Self::new(width, lines.into_iter().map(|line| Input::Line(line.to_owned(), timing)))
    }
}

impl Console for Script {
    fn read(&mut self, out: &mut dyn Write, prompt: &str, _: Option<Duration>) -> Result<Input> {
        let input = self.inputs.pop_front().unwrap_or(Input::End);
        write!(out, "{prompt}")?;
        match &input {
            Input::Wake => writeln!(out)?,
            Input::Line(line, _) => writeln!(out, "{}", crate::diagnostic::clean(line))?,
            Input::Interrupt => writeln!(out, "^C")?,
            Input::End => writeln!(out, "^D")?,
        }
        Ok(input)
    }

    fn width(&mut self) -> usize {
        self.width
    }
}
