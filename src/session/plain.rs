//! A console for pipes and simple terminals: prints the prompt, and echoes what nobody typed.

use super::console::{Clock, Console, Input, Timing};
use crate::diagnostic::visible;
use crate::error::{Error, Result};
use std::io::{BufRead, Write};
use std::sync::Arc;
use std::time::Duration;

/// Characters of an echo; a longer line is cut on screen, not in what is judged.
const ECHO: usize = 2000;

/// Lines from any reader.
pub struct Plain<R> {
    lines: R,
    typed: Option<Arc<dyn Clock>>,
    width: usize,
}

impl<R: BufRead> Plain<R> {
    /// A console for a pipe: prompt and echo, no times.
    #[must_use]
    pub fn piped(lines: R, width: usize) -> Self {
        Self { lines, typed: None, width }
    }

    /// A console for a terminal that shows what is typed by itself; the time to Enter is measured.
    #[must_use]
    pub fn typed(lines: R, width: usize, clock: Arc<dyn Clock>) -> Self {
        Self { lines, typed: Some(clock), width }
    }
}

impl<R: BufRead> Console for Plain<R> {
    fn read(&mut self, out: &mut dyn Write, prompt: &str, _: Option<Duration>) -> Result<Input> {
        write!(out, "{prompt}")?;
        out.flush()?;
        let start = self.typed.as_ref().map(|clock| clock.now());
        let mut bytes = Vec::new();
        let read = self.lines.read_until(b'\n', &mut bytes).map_err(|e| Error::Terminal(e.to_string()))?;
        if read == 0 {
            writeln!(out)?;
            return Ok(Input::End);
        }
        let line = String::from_utf8_lossy(&bytes);
        let line = line.trim_end_matches(['\n', '\r']).to_owned();
        let Some(clock) = &self.typed else {
            let echo: String = line.chars().take(ECHO).map(visible).collect();
            let more = if line.chars().nth(ECHO).is_some() { " ..." } else { "" };
            writeln!(out, "{echo}{more}")?;
            return Ok(Input::Line(line, Timing::default()));
        };
        let sent = start.map(|start| clock.now().saturating_sub(start));
        Ok(Input::Line(line, Timing { first_key: None, sent }))
    }

    fn width(&mut self) -> usize {
        self.width
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pipe_gets_prompt_and_echo_and_bad_bytes_do_no_harm() {
        let mut console = Plain::piped(&b"ready\r\n\xff\x1b[2J\nlast"[..], 80);
        let mut out = Vec::new();
        let mut lines = Vec::new();
        while let Input::Line(line, timing) = console.read(&mut out, "radio> ", None).unwrap() {
            assert_eq!(timing, Timing::default());
            lines.push(line);
        }
        assert_eq!(lines, ["ready", "\u{fffd}\u{1b}[2J", "last"]);
        let shown = String::from_utf8(out).unwrap();
        assert_eq!(shown, "radio> ready\nradio> \u{fffd}\u{241b}[2J\nradio> last\nradio> \n");
    }
}
