//! A paper is sat at a console: the clock runs, each line is on disk before the next is asked for, and nothing is told
//! before its time.

use super::Feedback;
use super::answering::Answering;
use super::exam::Exam;
use super::item::Item;
use super::opening::duration;
use super::result::{Event, REPLY, Reason, Taken, Writer};
use super::told::told_rows;
use crate::diagnostic::count;
use crate::error::Result;
use crate::record::keep::Keep;
use crate::scenario::event::Action;
use crate::session::console::{Console, Input, Timing};
use crate::session::hint::hint_rows;
use crate::session::screen::{Row, Tone, hang};
use crate::session::typed::{bare, help_rows, meant};
use jiff::Timestamp;
use std::io::Write;
use std::time::Duration;

/// Columns before what is said.
const COLUMN: usize = 16;

/// Words a minute, where a transmission is heard once.
const RATE: f64 = 120.0;

/// Seconds before the end of an item or of the paper at which that is told.
const WARNING: u64 = 10;

/// A line that is sent sooner was typed before the prompt stood there.
const AHEAD: Duration = Duration::from_millis(150);

/// What can be typed that is not said, with what it does.
const COMMANDS: [(&str, &str); 5] = [
    ("help", "this list"),
    ("time", "what is left, for this item and for the paper"),
    ("hint", "what must come back; the item then counts half"),
    ("skip", "leave this item without an answer; it cannot be taken up again"),
    ("quit", "hand in; what is not answered counts as nothing"),
];

/// A sitting and its console.
pub struct Sitting<'a> {
    exam: &'a Exam,
    items: Vec<&'a Item>,
    started: Timestamp,
    writer: Writer,
    console: &'a mut dyn Console,
    out: &'a mut dyn Write,
    clock: &'a dyn Fn() -> Timestamp,
    styled: bool,
    keeper: Option<&'a mut dyn Keep>,
    /// The person was asked whether to hand in.
    leaving: bool,
    lines: String,
}

/// What follows an item.
enum Next {
    Go,
    Hand(Reason),
    Stop,
}

/// What came of waiting for a line.
enum Heard {
    Line(String, Timing),
    /// The time for the item is over while a line may be being typed.
    ItemOver,
    /// A line came after it.
    TooLate,
    PaperOver,
    Leave,
    Stop,
}

impl<'a> Sitting<'a> {
    /// A sitting that is begun, or goes on with what `writer` has written so far.
    pub fn new(
        exam: &'a Exam,
        (name, sitting): (&str, u32),
        started: Timestamp,
        writer: Writer,
        (console, out): (&'a mut dyn Console, &'a mut dyn Write),
        clock: &'a dyn Fn() -> Timestamp,
        styled: bool,
    ) -> Self {
        let items = exam.items(name, sitting);
        Self {
            exam,
            items,
            started,
            writer,
            console,
            out,
            clock,
            styled,
            keeper: None,
            leaving: false,
            lines: String::new(),
        }
    }

    /// The same, with somebody who keeps judged replies.
    #[must_use]
    pub fn keeping(self, keeper: &'a mut dyn Keep) -> Self {
        Self { keeper: Some(keeper), ..self }
    }

    /// Takes the paper to its end; `Ok(None)` if it was stopped from the keyboard and can be taken up again.
    ///
    /// # Errors
    /// When the result file, the terminal or the output fails.
    pub fn run(&mut self, before: Option<&Taken>) -> Result<Option<Reason>> {
        let (mut at, typed, shown) = before.map_or((0, Vec::new(), None), open_item);
        let mut given = Some((typed, shown)).filter(|_| before.is_some());
        if before.is_some() {
            let gone = duration(self.seconds_since(self.started));
            self.note(&format!("This sitting began {gone} ago and goes on; the clock has run all the time."));
            self.write(Event::Resumed {})?;
        }
        let mut reason = Reason::Done;
        while at < self.items.len() {
            if self.left(self.paper_end()) == Some(0) {
                reason = Reason::Time;
                break;
            }
            let (typed, shown) = given.take().unwrap_or_default();
            match self.item(at, &typed, shown)? {
                Next::Go => at += 1,
                Next::Hand(why) => {
                    reason = why;
                    break;
                }
                Next::Stop => {
                    self.note("Stopped. The clock runs on: the same command goes on here.");
                    self.flush()?;
                    return Ok(None);
                }
            }
        }
        self.flush()?;
        Ok(Some(reason))
    }

    /// Writes the last line: why the sitting ended, and the mark that marking gave.
    ///
    /// # Errors
    /// When the result file fails.
    pub fn close(&mut self, reason: Reason, mark: f64) -> Result<()> {
        self.write(Event::End { reason, mark })
    }

    fn write(&mut self, event: Event) -> Result<()> {
        Ok(self.writer.write((self.clock)(), event)?)
    }

    fn seconds_since(&self, moment: Timestamp) -> u64 {
        let now = (self.clock)();
        u64::try_from((now.as_millisecond() - moment.as_millisecond()) / 1000).unwrap_or(0)
    }

    fn paper_end(&self) -> Option<i64> {
        let minutes = self.exam.paper.conditions.minutes?;
        Some(self.started.as_millisecond() + i64::from(minutes) * 60_000)
    }

    /// Milliseconds until a moment; 0 when it has passed.
    fn left(&self, end: Option<i64>) -> Option<u64> {
        end.map(|end| u64::try_from(end - (self.clock)().as_millisecond()).unwrap_or(0))
    }

    /// Shows an item and takes replies until it is over. What was typed before a break is taken as it was.
    fn item(&mut self, at: usize, typed: &[Event], shown: Option<Timestamp>) -> Result<Next> {
        let exam = self.exam;
        let Some(item) = self.items.get(at).copied() else { return Ok(Next::Go) };
        let number = u32::try_from(at + 1).unwrap_or(u32::MAX);
        let (mut answering, actions) = Answering::begin(exam, item);
        let seconds = exam.paper.conditions.seconds;
        let end = |shown: Timestamp| seconds.map(|s| shown.as_millisecond() + i64::from(s) * 1000);
        let whole = seconds.map(|s| u64::from(s) * 1000);
        self.heading(at, shown.map_or(whole, |shown| self.left(end(shown))));
        self.voices(item, actions)?;
        // What is heard once has been said now: the time to answer begins.
        self.write(Event::Item { number, drawn: item.clone() })?;
        let item_end = end(shown.unwrap_or_else(self.clock));
        for event in typed {
            match event {
                Event::Hint {} => answering.hint(),
                Event::Typed { text, .. } => {
                    let actions = answering.take(text);
                    self.voices(item, actions)?;
                }
                _ => {}
            }
        }
        let mut timing = Timing::default();
        let mut next = Next::Go;
        while !answering.is_over() {
            match self.hear(item, item_end)? {
                Heard::ItemOver => {
                    self.write(Event::TimeOver {})?;
                    self.closed("The time for this item is over.", &mut next)?;
                    break;
                }
                Heard::TooLate => {
                    self.write(Event::TimeOver {})?;
                    self.note("The time for this item was over: it is not answered.");
                    break;
                }
                Heard::PaperOver => {
                    self.write(Event::TimeOver {})?;
                    self.note("The time for the paper is over.");
                    next = Next::Hand(Reason::Time);
                    break;
                }
                Heard::Leave => {
                    if self.hands_in(at) {
                        next = Next::Hand(Reason::Left);
                        break;
                    }
                }
                Heard::Stop => return Ok(Next::Stop),
                Heard::Line(line, time) => match self.command(line.trim(), &mut answering, item_end)? {
                    Command::Said => {
                        self.leaving = false;
                        let text: String = line.chars().take(REPLY).collect();
                        let ms = |time: Option<Duration>| {
                            time.map(|t| u32::try_from(t.as_millis()).unwrap_or(u32::MAX))
                        };
                        self.write(Event::Typed {
                            text: text.clone(),
                            first_key_ms: ms(time.first_key),
                            sent_ms: ms(time.sent),
                        })?;
                        timing = time;
                        let actions = answering.take(&text);
                        self.keep(&answering, &actions, time);
                        if !answering.is_over() {
                            self.voices(item, actions)?;
                        }
                    }
                    Command::Skip => {
                        self.write(Event::Skipped {})?;
                        break;
                    }
                    Command::Quit => {
                        if self.hands_in(at) {
                            next = Next::Hand(Reason::Left);
                            break;
                        }
                    }
                    Command::Done => self.leaving = false,
                },
            }
        }
        let ended = answering.end();
        let (verdict, score) = (ended.answer.judgement.verdict, ended.score());
        self.write(Event::Closed { verdict, score })?;
        if exam.paper.conditions.feedback == Feedback::Item {
            let width = self.console.width();
            self.rows(&told_rows(item, &ended, timing, width));
        }
        Ok(next)
    }

    /// True if the person means to hand in: asked once where something is not answered yet.
    fn hands_in(&mut self, at: usize) -> bool {
        if self.leaving || self.console.now().is_none() {
            return true;
        }
        self.leaving = true;
        let open = count(self.items.len().saturating_sub(at), "item");
        self.note(&format!(
            "{open} not answered: /quit or Ctrl-D once more hands in; Ctrl-C twice only stops."
        ));
        false
    }

    /// Gives judged replies to whoever keeps them.
    fn keep(&mut self, answering: &Answering<'_>, actions: &[Action], timing: Timing) {
        let Some(keeper) = &mut self.keeper else { return };
        for action in actions {
            if let Action::Judged(attempt) = action {
                keeper.keep(answering.flight(), attempt, timing, u8::from(answering.hinted()));
            }
        }
    }

    /// Says that an item is closed; what is being typed goes nowhere.
    fn closed(&mut self, text: &str, next: &mut Next) -> Result<()> {
        self.note(&format!("{text} What stands on the line is not sent; Enter goes on."));
        self.flush()?;
        let wait = self.left(self.paper_end()).map(Duration::from_millis);
        match self.console.read(self.out, "", wait)? {
            Input::Line(..) | Input::Interrupt => {}
            Input::Wake => *next = Next::Hand(Reason::Time),
            Input::End => *next = Next::Hand(Reason::Left),
        }
        Ok(())
    }

    /// Waits for a line, no longer than the time allows.
    fn hear(&mut self, item: &Item, item_end: Option<i64>) -> Result<Heard> {
        let prompt = if item.callsign.is_empty() { "deck> " } else { "radio> " };
        let mut dropped = false;
        let mut warned = false;
        loop {
            self.flush()?;
            let ends = [self.left(item_end), self.left(self.paper_end())];
            let left = ends.into_iter().flatten().min();
            let warn =
                left.filter(|left| !warned && *left > WARNING * 1000).map(|left| left - WARNING * 1000);
            let wait = warn.or(left).map(Duration::from_millis);
            match self.console.read(self.out, prompt, wait)? {
                // A reply that comes when the time is over does not count.
                Input::Line(..) | Input::Wake if self.left(self.paper_end()) == Some(0) => {
                    return Ok(Heard::PaperOver);
                }
                Input::Line(..) if self.left(item_end) == Some(0) => return Ok(Heard::TooLate),
                Input::Line(_, timing)
                    if self.exam.paper.conditions.once && timing.sent.is_some_and(|sent| sent < AHEAD) =>
                {
                    self.note("Typed while it was being said: not sent.");
                }
                Input::Line(line, timing) => return Ok(Heard::Line(line, timing)),
                Input::Wake if self.left(item_end) == Some(0) => return Ok(Heard::ItemOver),
                Input::Wake => {
                    if !warned {
                        self.note(&format!("{WARNING} seconds are left."));
                    }
                    warned = true;
                }
                Input::Interrupt if dropped => return Ok(Heard::Stop),
                Input::Interrupt => {
                    dropped = true;
                    self.note("Line dropped. Ctrl-C again stops, and the clock runs on; Ctrl-D hands in.");
                }
                Input::End => return Ok(Heard::Leave),
            }
        }
    }

    fn heading(&mut self, at: usize, own: Option<u64>) {
        let width = self.console.width();
        let slot = |at: usize| self.exam.slots.get(at).and_then(|slot| slot.part);
        let part = slot(at).filter(|_| at == 0 || slot(at - 1) != slot(at));
        let title = part.and_then(|part| self.exam.paper.parts.get(part)?.title.clone());
        self.rows(&[Row::new()]);
        if let Some(title) = title {
            self.rows(&hang((Tone::Plain, ""), 0, Tone::Label, &title, width));
        }
        let mut text = format!("{} of {}", at + 1, self.items.len());
        if let Some(left) = self.left(self.paper_end()) {
            text.push_str(&format!(", {} left", duration(left / 1000)));
        }
        if let Some(left) = own {
            text.push_str(&format!(", {} for this one", duration(left / 1000)));
        }
        self.rows(&hang((Tone::Plain, ""), 2, Tone::Faint, &text, width));
    }

    /// Shows what is said and what happens.
    fn voices(&mut self, item: &Item, actions: Vec<Action>) -> Result<()> {
        let width = self.console.width();
        for action in actions {
            match action {
                Action::Transmit { station, text } => {
                    let head = format!("  {}", station.label);
                    let said = format!("\"{text}\"");
                    let rows = hang((Tone::Label, &head), COLUMN, Tone::Voice, &said, width);
                    if self.exam.paper.conditions.once {
                        self.once(&rows, &head, &text)?;
                    } else {
                        self.rows(&rows);
                    }
                }
                Action::Cue { station, text, call } => {
                    let who = match (call, station.label.as_str()) {
                        (true, "") => format!("[{}, your call]", item.callsign),
                        (true, label) => format!("[{}, you call {label}]", item.callsign),
                        (false, _) => String::new(),
                    };
                    let text = format!("{text} {who}");
                    self.rows(&hang((Tone::Label, "  cue"), COLUMN, Tone::Plain, text.trim(), width));
                }
                Action::Happens { text } => {
                    let who = match item.station.as_str() {
                        both if both.starts_with("both") => both.to_owned(),
                        one => format!("the {one}"),
                    };
                    let text = format!("{text} [yours, as {who}]");
                    self.rows(&hang((Tone::Label, "  cue"), COLUMN, Tone::Plain, &text, width));
                }
                Action::Waits => self.note("The station waits. Reply when you are ready."),
                _ => {}
            }
        }
        Ok(())
    }

    /// Shows a transmission for as long as it takes to say it.
    fn once(&mut self, rows: &[Row], head: &str, text: &str) -> Result<()> {
        self.flush()?;
        self.rows(rows);
        self.flush()?;
        let seconds = text.split_whitespace().count() as f64 * 60.0 / RATE;
        if self.console.fade(self.out, rows.len(), seconds)? {
            let width = self.console.width();
            let gone = "(said; \"say again\" brings it back)";
            self.rows(&hang((Tone::Label, head), COLUMN, Tone::Faint, gone, width));
        }
        Ok(())
    }

    /// Carries out a command; anything else is said.
    fn command(
        &mut self,
        typed: &str,
        answering: &mut Answering<'_>,
        item_end: Option<i64>,
    ) -> Result<Command> {
        if let Some(command) = bare(typed, &COMMANDS) {
            self.note(&format!("Not transmitted: the command is /{command}."));
            return Ok(Command::Done);
        }
        if !typed.starts_with(['/', '?']) {
            return Ok(Command::Said);
        }
        let width = self.console.width();
        let command = match meant(typed, &COMMANDS) {
            Ok(command) => command,
            Err(what) => {
                self.note(&what);
                return Ok(Command::Done);
            }
        };
        match command {
            "help" => {
                let hints = self.exam.paper.conditions.hints;
                let commands = COMMANDS.into_iter().filter(|(command, _)| hints || *command != "hint");
                self.rows(&help_rows(&commands.collect::<Vec<_>>(), width));
                self.note("Anything else is transmitted. \"say again\" and \"confirm ...\" cost nothing but time; an empty line is silence.");
            }
            "time" => {
                let left =
                    [(self.left(item_end), "for this item"), (self.left(self.paper_end()), "for the paper")];
                let left = left
                    .into_iter()
                    .filter_map(|(left, what)| Some(format!("{} {what}", duration(left? / 1000))));
                let left: Vec<String> = left.collect();
                let text = if left.is_empty() {
                    "There is no limit.".to_owned()
                } else {
                    format!("Left: {}.", left.join(", "))
                };
                self.note(&text);
            }
            "hint" if !self.exam.paper.conditions.hints => self.note("This paper gives no hints."),
            "hint" => {
                self.write(Event::Hint {})?;
                answering.hint();
                match answering.due() {
                    Some(due) => self.rows(&hint_rows(&due, 0, self.exam.paper.standard, width)),
                    None => {
                        let model = answering.model();
                        let first = model.split(' ').next().unwrap_or_default();
                        let words = count(model.split(' ').count(), "word");
                        self.note(&format!("It begins with \"{first}\" and has {words}."));
                    }
                }
            }
            "skip" => return Ok(Command::Skip),
            _ => return Ok(Command::Quit),
        }
        Ok(Command::Done)
    }

    fn note(&mut self, text: &str) {
        let width = self.console.width();
        self.rows(&hang((Tone::Plain, ""), 4, Tone::Faint, text, width));
    }

    fn rows(&mut self, rows: &[Row]) {
        for row in rows {
            self.lines.push_str(&row.paint(self.styled));
            self.lines.push('\n');
        }
    }

    fn flush(&mut self) -> Result<()> {
        if !self.lines.is_empty() {
            let lines = std::mem::take(&mut self.lines);
            self.console.show(self.out, &lines)?;
        }
        Ok(())
    }
}

/// What a line was.
enum Command {
    Said,
    Skip,
    Quit,
    Done,
}

/// The item that was open when a sitting broke off, from 0, with what was typed for it and when it was shown first.
fn open_item(taken: &Taken) -> (usize, Vec<Event>, Option<Timestamp>) {
    let (mut at, mut typed, mut shown) = (0usize, Vec::new(), None);
    for line in &taken.lines {
        match &line.event {
            Event::Item { number, .. } => {
                let next = usize::try_from(*number).unwrap_or(1).saturating_sub(1);
                if next != at || shown.is_none() {
                    (at, shown) = (next, Some(line.at));
                    typed.clear();
                }
            }
            Event::Typed { .. } | Event::Hint {} => typed.push(line.event.clone()),
            Event::Closed { .. } => {
                at += 1;
                typed.clear();
                shown = None;
            }
            _ => {}
        }
    }
    (at, typed, shown)
}
