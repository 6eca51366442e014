//! A console for a terminal: a prompt with history and editing that measures the time to the first key.
//! The editor works in a thread of its own, so that what happens meanwhile is shown above the line being typed.

use super::console::{Clock, Console, Input, Timing};
use crate::error::{Error, Result};
use etcetera::BaseStrategy;
use rustyline::error::ReadlineError;
use rustyline::history::FileHistory;
use rustyline::{
    Cmd, ColorMode, ConditionalEventHandler, Config, Editor, Event, EventContext, EventHandler,
    ExternalPrinter, RepeatCount,
};
use std::io::Write;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

/// Lines that are kept from one session to the next.
const KEPT: usize = 500;

/// A prompt on a terminal.
pub struct Prompt {
    clock: Arc<dyn Clock>,
    /// Prompts for the editor; without it the editor ends.
    ask: Option<Sender<String>>,
    answers: Receiver<Answer>,
    printer: Box<dyn ExternalPrinter + Send>,
    /// True while a line is being typed.
    typing: bool,
    width: usize,
    editor: Option<JoinHandle<()>>,
}

/// What the editor gives back: a line or its end, and the width of the screen.
struct Answer {
    input: Result<Input>,
    width: Option<usize>,
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
        let printer = Box::new(editor.create_external_printer().map_err(terminal)?);
        let width = columns(&mut editor).unwrap_or(80);
        let (ask, asked) = channel();
        let (answer, answers) = channel();
        let typist = Typist { editor, clock: Arc::clone(&clock), first_key, history, styled };
        let editor = std::thread::spawn(move || typist.work(&asked, &answer));
        Ok(Self { clock, ask: Some(ask), answers, printer, typing: false, width, editor: Some(editor) })
    }
}

impl Console for Prompt {
    fn read(&mut self, out: &mut dyn Write, prompt: &str, wait: Option<Duration>) -> Result<Input> {
        out.flush()?;
        if !self.typing {
            let ask = self.ask.as_ref().and_then(|ask| ask.send(prompt.to_owned()).ok());
            ask.ok_or_else(gone)?;
            self.typing = true;
        }
        let answer = match wait {
            None => self.answers.recv().map_err(|_| gone())?,
            Some(wait) => match self.answers.recv_timeout(wait) {
                Ok(answer) => answer,
                Err(RecvTimeoutError::Timeout) => return Ok(Input::Wake),
                Err(RecvTimeoutError::Disconnected) => return Err(gone()),
            },
        };
        self.typing = false;
        self.width = answer.width.unwrap_or(self.width);
        answer.input
    }

    fn show(&mut self, out: &mut dyn Write, text: &str) -> Result<()> {
        if self.typing {
            return self.printer.print(text.to_owned()).map_err(terminal);
        }
        out.write_all(text.as_bytes())?;
        out.flush()?;
        Ok(())
    }

    fn fade(&mut self, out: &mut dyn Write, rows: usize, seconds: f64) -> Result<bool> {
        if self.typing {
            return Ok(false);
        }
        out.flush()?;
        std::thread::sleep(Duration::from_secs_f64(seconds));
        // Up so many rows, then clear to the end of the screen.
        write!(out, "\r\u{1b}[{rows}A\u{1b}[0J")?;
        out.flush()?;
        Ok(true)
    }

    fn now(&self) -> Option<Duration> {
        Some(self.clock.now())
    }

    fn width(&mut self) -> usize {
        self.width
    }
}

impl Drop for Prompt {
    fn drop(&mut self) {
        self.ask = None;
        // An editor that waits for a key would never end.
        if let Some(editor) = self.editor.take().filter(|_| !self.typing) {
            let _ = editor.join();
        }
    }
}

/// The editor and what it needs to measure.
struct Typist {
    editor: Editor<(), FileHistory>,
    clock: Arc<dyn Clock>,
    first_key: Arc<Mutex<Option<Duration>>>,
    history: Option<PathBuf>,
    styled: bool,
}

impl Typist {
    /// Reads a line for every prompt until no more are sent.
    fn work(mut self, asked: &Receiver<String>, answers: &Sender<Answer>) {
        while let Ok(prompt) = asked.recv() {
            let input = self.line(&prompt);
            let width = columns(&mut self.editor);
            if answers.send(Answer { input, width }).is_err() {
                break;
            }
        }
        if let Some(path) = &self.history {
            if let Some(folder) = path.parent() {
                let _ = std::fs::create_dir_all(folder);
            }
            let _ = self.editor.save_history(path);
        }
    }

    fn line(&mut self, prompt: &str) -> Result<Input> {
        *self.first_key.lock().unwrap_or_else(PoisonError::into_inner) = None;
        let start = self.clock.now();
        let painted = format!("\u{1b}[1m{prompt}\u{1b}[0m");
        let line = if self.styled {
            self.editor.readline(&(prompt, painted.as_str()))
        } else {
            self.editor.readline(prompt)
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
}

fn columns(editor: &mut Editor<(), FileHistory>) -> Option<usize> {
    let columns = editor.dimensions().map(|(columns, _)| usize::from(columns));
    columns.filter(|columns| *columns > 0)
}

fn terminal(error: ReadlineError) -> Error {
    Error::Terminal(error.to_string())
}

fn gone() -> Error {
    Error::Internal("the editor of the prompt has ended".to_owned())
}

/// `$XDG_STATE_HOME/hearback/history`, or the platform's place for such files.
fn history_file() -> Option<PathBuf> {
    let folders = etcetera::choose_base_strategy().ok()?;
    let folder = folders.state_dir().unwrap_or_else(|| folders.data_dir());
    Some(folder.join("hearback").join("history"))
}
