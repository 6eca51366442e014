//! A bar for work that takes long: on standard error, after a second, and only where somebody looks at a terminal.

use indicatif::{HumanCount, ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle};
use std::fmt::Write;
use std::io::{IsTerminal, Read};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// Work that takes less long than this shows no bar.
const AFTER: Duration = Duration::from_secs(1);

/// Takes word of every step of a piece of work. Code that works tells it, and knows nothing of terminals; `&()` is
/// nobody.
pub trait Progress: Sync {
    /// So many steps more are done.
    fn advance(&self, steps: u64);
}

impl Progress for () {
    fn advance(&self, _: u64) {}
}

/// A bar.
///
/// ```
/// use hearback::bar::Bar;
///
/// let files = ["a", "b"];
/// let bar = Bar::of(files.len() as u64, "files");
/// for _ in files {
///     bar.advance(1);
/// }
/// bar.finish();
/// ```
#[derive(Debug)]
pub struct Bar {
    bar: ProgressBar,
    begin: Instant,
    /// Set when it is drawn for the first time; none where nobody would see it.
    shown: Option<OnceLock<()>>,
}

impl Bar {
    /// A bar for so many steps, which `unit` names: `files`.
    #[must_use]
    pub fn of(total: u64, unit: &'static str) -> Self {
        let text = format!("{{wide_bar}} {{human_pos}} of {{human_len}} {unit}, {{rate}}/s, {{eta}} left");
        Self::styled(total, &text)
    }

    /// A bar for so many bytes.
    #[must_use]
    pub fn bytes(total: u64) -> Self {
        Self::styled(total, "{wide_bar} {bytes} of {total_bytes}, {bytes_per_sec}, {eta} left")
    }

    /// The same for work whose results go to standard output: none where they go to a terminal themselves.
    #[must_use]
    pub fn beside_output(mut self) -> Self {
        self.shown = self.shown.take().filter(|_| !std::io::stdout().is_terminal());
        self
    }

    fn styled(total: u64, template: &str) -> Self {
        let bar = ProgressBar::with_draw_target(Some(total), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template(template) {
            let rate = |state: &ProgressState, out: &mut dyn Write| {
                let _ = write!(out, "{}", HumanCount(state.per_sec() as u64));
            };
            bar.set_style(style.with_key("rate", rate).progress_chars("=> "));
        }
        let dumb = std::env::var("TERM").is_ok_and(|term| term == "dumb");
        let seen = std::io::stderr().is_terminal() && !dumb;
        Self { bar, begin: Instant::now(), shown: seen.then(OnceLock::new) }
    }

    /// So many steps more are done; any thread may say so.
    pub fn advance(&self, steps: u64) {
        if let Some(shown) = &self.shown
            && self.begin.elapsed() >= AFTER
        {
            shown.get_or_init(|| self.bar.set_draw_target(ProgressDrawTarget::stderr()));
        }
        self.bar.inc(steps);
    }

    /// The work is over: the bar goes away, and what was on screen before is left.
    pub fn finish(self) {
        self.bar.finish_and_clear();
    }

    /// A reader whose bytes are the steps.
    pub fn reading<'b, R: Read + 'b>(&'b self, input: R) -> impl Read + 'b {
        Reading { bar: self, input }
    }
}

impl Progress for Bar {
    fn advance(&self, steps: u64) {
        Self::advance(self, steps);
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        // An error ends the work too: what is said of it stands on a clean line.
        self.bar.finish_and_clear();
    }
}

struct Reading<'b, R> {
    bar: &'b Bar,
    input: R,
}

impl<R: Read> Read for Reading<'_, R> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let read = self.input.read(into)?;
        self.bar.advance(read as u64);
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_counted_from_any_thread_and_bytes_as_they_are_read() {
        let bar = Bar::of(4, "files");
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| bar.advance(1));
            }
        });
        assert_eq!(bar.bar.position(), 4);
        bar.finish();
        let bar = Bar::bytes(5);
        let mut text = String::new();
        bar.reading(&b"hello"[..]).read_to_string(&mut text).unwrap();
        assert_eq!((text.as_str(), bar.bar.position()), ("hello", 5));
    }
}
