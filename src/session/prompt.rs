//! A console for a terminal: a prompt with history and editing that measures the time to the first key.

use super::console::{Clock, Console, Input, PROMPT, Timing};
use crate::error::{Error, Result};
use etcetera::BaseStrategy;
use rustyline::error::ReadlineError;
use rustyline::history::FileHistory;
use rustyline::{
    Cmd, ColorMode, ConditionalEventHandler, Config, Editor, Event, EventContext, EventHandler, RepeatCount,
};
use std::io::Write;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Lines that are kept from one session to the next.
const KEPT: usize = 500;

/// A prompt on a terminal.
pub struct Prompt {
    editor: Editor<(), FileHistory>,
    clock: Arc<dyn Clock>,
    first_key: Arc<Mutex<Option<Duration>>>,
    history: Option<PathBuf>,
    styled: bool,
}

/// Notes the time of the first key and leaves the key to the editor.
struct FirstKey {
    clock: Arc<dyn Clock>,
    at: Arc<Mutex<Option<Duration>>>,
}

impl ConditionalEventHandler for FirstKey {
    fn handle(&self, _: &Event, _: RepeatCount, _: bool, _: &EventContext) -> Option<Cmd> {
        let mut at = self.at.lock().unwrap_or_else(PoisonError::into_inner);
        at.get_or_insert_with(|| self.clock.now());
        None
    }
}

impl Prompt {
    /// A prompt with the history of earlier sessions.
    ///
    /// # Errors
    /// [`Error::Terminal`] if the terminal cannot be used.
    pub fn open(clock: Arc<dyn Clock>, styled: bool) -> Result<Self> {
        let color = if styled { ColorMode::Enabled } else { ColorMode::Disabled };
        let config = Config::builder().max_history_size(KEPT).and_then(|b| b.history_ignore_dups(true));
        let config = config.map_err(terminal)?.color_mode(color).build();
        let mut editor: Editor<(), FileHistory> = Editor::with_config(config).map_err(terminal)?;
        let first_key = Arc::new(Mutex::new(None));
        let handler = FirstKey { clock: Arc::clone(&clock), at: Arc::clone(&first_key) };
        editor.bind_sequence(Event::Any, EventHandler::Conditional(Box::new(handler)));
        let history = history_file();
        if let Some(path) = &history {
            // A history that cannot be read is no reason not to fly.
            let _ = editor.load_history(path);
        }
        Ok(Self { editor, clock, first_key, history, styled })
    }
}

impl Console for Prompt {
    fn read(&mut self, out: &mut dyn Write) -> Result<Input> {
        out.flush()?;
        *self.first_key.lock().unwrap_or_else(PoisonError::into_inner) = None;
        let start = self.clock.now();
        let painted = format!("\u{1b}[1m{PROMPT}\u{1b}[0m");
        let line = if self.styled {
            self.editor.readline(&(PROMPT, painted.as_str()))
        } else {
            self.editor.readline(PROMPT)
        };
        let sent = self.clock.now();
        match line {
            Ok(line) => {
                if !line.trim().is_empty() && line.len() <= 1000 {
                    let _ = self.editor.add_history_entry(line.as_str());
                }
                let key = *self.first_key.lock().unwrap_or_else(PoisonError::into_inner);
                let since = |at: Duration| at.saturating_sub(start);
                Ok(Input::Line(line, Timing { first_key: key.map(since), sent: Some(since(sent)) }))
            }
            Err(ReadlineError::Interrupted) => Ok(Input::Interrupt),
            Err(ReadlineError::Eof) => Ok(Input::End),
            Err(ReadlineError::Io(cause)) if cause.kind() == std::io::ErrorKind::InvalidData => {
                Ok(Input::Line(String::new(), Timing::default()))
            }
            Err(error) => Err(terminal(error)),
        }
    }

    fn width(&mut self) -> usize {
        let columns = self.editor.dimensions().map(|(columns, _)| usize::from(columns));
        columns.filter(|columns| *columns > 0).unwrap_or(80)
    }
}

impl Drop for Prompt {
    fn drop(&mut self) {
        if let Some(path) = &self.history {
            if let Some(folder) = path.parent() {
                let _ = std::fs::create_dir_all(folder);
            }
            let _ = self.editor.save_history(path);
        }
    }
}

fn terminal(error: ReadlineError) -> Error {
    Error::Terminal(error.to_string())
}

/// `$XDG_STATE_HOME/hearback/history`, or the platform's place for such files.
fn history_file() -> Option<PathBuf> {
    let folders = etcetera::choose_base_strategy().ok()?;
    let folder = folders.state_dir().unwrap_or_else(|| folders.data_dir());
    Some(folder.join("hearback").join("history"))
}
