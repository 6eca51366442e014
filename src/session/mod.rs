//! A session at a console: the other voice, the trainee's replies, feedback, and the debrief at the end.

pub mod ask;
pub mod console;
pub mod debrief;
mod debrief_crew;
pub mod hint;
pub mod notes;
pub mod plain;
pub mod prompt;
pub mod respond;
pub mod screen;
pub mod typed;

use crate::CAUTION;
use crate::airport::value::canonical;
use crate::crew::Channel;
use crate::element::Element;
use crate::error::Result;
use crate::feedback::reply_rows;
use crate::judge::judgement::{Finding, Form};
use crate::record::keep::Keep;
use crate::scenario::draw::Exchange;
use crate::scenario::play::{Action, Event, Play};
use console::{Console, Input, Timing};
use debrief::{Record, debrief_rows};
use hint::{Hints, hint_rows, why_rows};
use notes::Notes;
use screen::{Row, Tone, columns, hang};
use std::io::Write;
use std::time::Duration;
use typed::{bare, help_rows, meant};

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// The flight came to its end.
    Finished,
    /// The trainee left; the debrief was shown.
    Left,
    /// Stopped from the keyboard.
    Interrupted,
}

/// How a session is shown.
#[derive(Debug, Clone, Default)]
pub struct Look {
    /// Colours and bold letters.
    pub styled: bool,
    /// No feedback before the end.
    pub quiet: bool,
    /// How fast the clock of the flight runs: 1 is real time, 0.5 half as fast; it stands between replies if
    /// this is 0, or if the console has no clock.
    pub pace: f64,
    /// The command that flies the same flight again.
    pub repeat: String,
}

/// A flight, a console, and what was seen so far.
pub struct Session<'a> {
    play: Play,
    console: &'a mut dyn Console,
    out: &'a mut dyn Write,
    look: Look,
    record: Record,
    notes: Notes,
    last: Vec<Finding>,
    hints: Hints,
    column: usize,
    /// The reason that was told last; it is not told again at once.
    told: String,
    /// Lines that are not on screen yet.
    lines: String,
    /// Time on the console's clock at the beginning; none if the clock of the flight stands between replies.
    start: Option<Duration>,
    /// Takes every attempt as it is judged.
    keep: Option<&'a mut dyn Keep>,
}

/// Columns for who speaks; a longer label stands in a row of its own.
const WIDEST: usize = 22;

/// What the trainee can type that is not said, with what it does.
const COMMANDS: [(&str, &str); 6] = [
    ("help", "this list"),
    ("hint", "what is due; again for its form; again for a right reply"),
    ("why", "the rule behind the last finding"),
    ("notes", "what you were given and have read back correctly"),
    ("skip", "leave this exchange"),
    ("quit", "end with the debrief"),
];

/// What can be typed besides where the crew speaks, with what it does.
const CREW_COMMANDS: [(&str, &str); 2] = [
    ("wait", "say nothing for so many seconds: /wait 5"),
    ("radio", "say it there: /radio, /deck, /interphone, /headset or /pa, then the words"),
];

enum Next {
    Go,
    Leave,
}

impl<'a> Session<'a> {
    /// A session before its first line.
    #[must_use]
    pub fn new(play: Play, console: &'a mut dyn Console, out: &'a mut dyn Write, look: Look) -> Self {
        let widest = play.flight().exchanges.iter().map(label_width).max().unwrap_or(0);
        Self {
            play,
            console,
            out,
            look,
            record: Record::default(),
            notes: Notes::default(),
            last: Vec::new(),
            hints: Hints::default(),
            column: 4 + widest.min(WIDEST) + 2,
            told: String::new(),
            lines: String::new(),
            start: None,
            keep: None,
        }
    }

    /// The same, with someone who takes every attempt before the trainee reads what became of it.
    #[must_use]
    pub fn keeping(mut self, keep: &'a mut dyn Keep) -> Self {
        self.keep = Some(keep);
        self
    }

    /// Flies to the end, or until the trainee leaves.
    ///
    /// # Errors
    /// When the console or the output fails.
    pub fn run(&mut self) -> Result<Ending> {
        self.opening()?;
        self.start = self.console.now().filter(|_| self.look.pace > 0.0);
        self.play.run_clock(self.start.is_some());
        let actions = self.play.begin();
        let mut over = self.show(actions, Timing::default())?;
        let mut dropped = false;
        while !over {
            let mut wait = None;
            if let Some(wake) = self.play.wake() {
                if self.start.is_some() {
                    let left = (wake - self.time()).max(0.0) / self.look.pace;
                    // A time that no clock reaches is a day.
                    wait = Some(Duration::try_from_secs_f64(left).unwrap_or(Duration::from_secs(86_400)));
                } else if !self.play.is_waiting() {
                    let actions = self.play.step(Event::Time(wake));
                    over = self.show(actions, Timing::default())?;
                    continue;
                }
            }
            self.flush()?;
            let prompt = format!("{}> ", self.play.channel().name());
            match self.console.read(self.out, &prompt, wait)? {
                Input::Wake => {
                    over = self.catch_up()?;
                    if over {
                        self.note("The flight is over: press Enter.")?;
                        self.flush()?;
                        self.console.read(self.out, &prompt, None)?;
                    }
                }
                Input::Interrupt if dropped => {
                    self.note("Stopped.")?;
                    self.text((Tone::Label, "  fly it again"), 18, &self.look.repeat.clone())?;
                    self.flush()?;
                    return Ok(Ending::Interrupted);
                }
                Input::Interrupt => {
                    dropped = true;
                    self.note("Line dropped. Ctrl-C again stops; Ctrl-D ends with the debrief.")?;
                }
                Input::End => return self.close(Ending::Left),
                Input::Line(line, timing) => {
                    dropped = false;
                    let typed = line.trim_start();
                    if let Some(command) = bare(typed, &COMMANDS) {
                        self.note(&format!("Not transmitted: the command is /{command}."))?;
                    } else if typed.starts_with(['/', '?']) {
                        match self.command(typed.trim())? {
                            (Next::Leave, _) => return self.close(Ending::Left),
                            (Next::Go, done) => over = done,
                        }
                    } else {
                        over = self.catch_up()? || self.say(line, timing)?;
                    }
                }
            }
        }
        self.close(Ending::Finished)
    }

    /// Seconds of the flight.
    fn time(&self) -> f64 {
        match (self.start, self.console.now()) {
            (Some(start), Some(now)) => now.saturating_sub(start).as_secs_f64() * self.look.pace,
            _ => self.play.now(),
        }
    }

    /// Lets happen what has happened by now; true if the flight is over.
    fn catch_up(&mut self) -> Result<bool> {
        let now = self.time();
        let actions = self.play.step(Event::Time(now));
        self.show(actions, Timing::default())
    }

    /// Says a line, or nothing. Where the clock stands, saying nothing lets it run to what comes next.
    fn say(&mut self, line: String, timing: Timing) -> Result<bool> {
        let silent = line.trim().is_empty();
        let event = match self.play.wake() {
            _ if !silent || self.play.takes_silence() => Event::Reply(line),
            Some(wake) if self.start.is_none() => Event::Time(wake),
            _ => return Ok(false),
        };
        let actions = self.play.step(event);
        self.show(actions, timing)
    }

    fn flush(&mut self) -> Result<()> {
        if !self.lines.is_empty() {
            let lines = std::mem::take(&mut self.lines);
            self.console.show(self.out, &lines)?;
        }
        Ok(())
    }

    fn opening(&mut self) -> Result<()> {
        let flight = self.play.flight();
        let (title, briefing) = (flight.title.clone(), flight.briefing.clone());
        let form = match flight.form {
            Form::Strict => "",
            Form::Line => ", only values count",
        };
        let harder =
            if flight.difficulty > 1 { format!(", difficulty {}", flight.difficulty) } else { String::new() };
        let facts = format!("seed {}, rule set {}{form}{harder}", flight.seed, flight.standard);
        let width = self.console.width();
        self.rows(&hang((Tone::Plain, ""), 0, Tone::Label, &title, width))?;
        self.text((Tone::Plain, ""), 0, &briefing)?;
        self.faint(0, &format!("{CAUTION} /help lists the commands; {facts}."))
    }

    fn close(&mut self, ending: Ending) -> Result<Ending> {
        self.record.finished = ending == Ending::Finished;
        let width = self.console.width();
        if self.look.quiet {
            for (attempt, timing) in self.record.attempts.clone() {
                if !attempt.judgement.findings.is_empty() && !attempt.reply.trim().is_empty() {
                    self.row(&Row::new())?;
                    let head = format!("{:>3} {}", attempt.exchange, attempt.station);
                    let asked = if attempt.call { "your call" } else { &attempt.asked };
                    self.text((Tone::Label, &head), self.column, asked)?;
                    if attempt.judgement.findings.iter().all(|f| f.span.is_none()) {
                        self.text((Tone::Plain, ""), 4, &attempt.reply)?;
                    }
                    self.rows(&reply_rows(&attempt.reply, &attempt.judgement, attempt.call, timing, width))?;
                }
            }
        }
        let rows =
            debrief_rows(&self.record, self.play.flight(), self.play.rules(), &self.look.repeat, width);
        self.rows(&rows)?;
        self.flush()?;
        self.out.flush()?;
        Ok(ending)
    }

    /// Shows what happens; true if the flight is over.
    fn show(&mut self, actions: Vec<Action>, timing: Timing) -> Result<bool> {
        let mut number = 0;
        for action in actions {
            match action {
                Action::Begin { number: n } => {
                    number = n;
                    self.hints.begin(n);
                    self.record.begun = n;
                    self.row(&Row::new())?;
                }
                Action::Cue { station, text, call } => {
                    let head = match self.play.difficulty().tuning {
                        // The frequency was told; where it must be tuned it is not told again.
                        true => counter(number),
                        false => format!("{} {} {}", counter(number), station.label, station.frequency),
                    };
                    number = if call { number } else { 0 };
                    let text = if call { format!("{text} [your call]") } else { format!("({text})") };
                    let width = self.console.width();
                    let rows = hang((Tone::Label, &head), self.column, Tone::Plain, &text, width);
                    self.rows(&rows)?;
                }
                Action::Transmit { station, text } => {
                    let head = format!("{} {} {}", counter(number), station.label, station.frequency);
                    number = 0;
                    let width = self.console.width();
                    let rows =
                        hang((Tone::Label, &head), self.column, Tone::Voice, &format!("\"{text}\""), width);
                    match self.play.difficulty().rate {
                        None => self.rows(&rows)?,
                        Some(rate) => self.once(&rows, &head, &text, rate)?,
                    }
                }
                Action::Happens { text } => {
                    let head = counter(number);
                    number = 0;
                    let width = self.console.width();
                    let rows =
                        hang((Tone::Label, &head), self.column, Tone::Plain, &format!("({text})"), width);
                    self.rows(&rows)?;
                }
                Action::Voice { who, channel, text } => {
                    let head = format!("{} {who}, {}", counter(number), channel.name());
                    number = 0;
                    let width = self.console.width();
                    let rows =
                        hang((Tone::Label, &head), self.column, Tone::Voice, &format!("\"{text}\""), width);
                    self.rows(&rows)?;
                }
                Action::NoAnswer { frequency, heard } => match heard {
                    None => self
                        .note(&format!("Nobody answers on {frequency}. /tune and a frequency changes it."))?,
                    Some(station) => {
                        let head = format!("{} {} {}", counter(0), station.label, station.frequency);
                        let width = self.console.width();
                        let text = format!("\"Station calling, this is {}, say again\"", station.name);
                        self.rows(&hang((Tone::Label, &head), self.column, Tone::Voice, &text, width))?;
                        self.note(
                            "That is not the station you were to call: /tune and a frequency changes it.",
                        )?;
                    }
                },
                Action::TooLate => self.note("Too late: that was counted as missed.")?,
                Action::Nothing => self.note("Nothing was due: nobody waits for words of yours now.")?,
                Action::Judged(attempt) => {
                    if let Some(keep) = &mut self.keep {
                        keep.keep(self.play.flight(), &attempt, timing, self.hints.before(&attempt));
                    }
                    self.notes.take(&attempt);
                    if !self.look.quiet {
                        let width = self.console.width();
                        let mut shown = attempt.judgement.clone();
                        for finding in &mut shown.findings {
                            // Reasons of the crew come again and again: once in a row is enough.
                            if finding.element >= Element::Call && *self.told == *finding.why {
                                finding.why = "".into();
                                finding.rule = "".into();
                            } else {
                                self.told = finding.why.to_string();
                            }
                        }
                        let rows = reply_rows(&attempt.reply, &shown, attempt.call, timing, width);
                        self.rows(&rows)?;
                    }
                    self.last = if attempt.reply.trim().is_empty() {
                        Vec::new()
                    } else {
                        attempt.judgement.findings.clone()
                    };
                    self.record.attempts.push((*attempt, timing));
                }
                Action::Waits => {
                    self.note("The station waits. Reply when you are ready; Enter lets it call you.")?
                }
                Action::Unable => self.record.unable += 1,
                Action::GoesOn { unable } => {
                    self.record.given_up.push(self.record.begun);
                    self.note(if unable {
                        "The flight goes on as if it had been done; this is noted for the debrief."
                    } else {
                        "Three replies were not right: the flight goes on; this is noted for the debrief."
                    })?;
                }
                Action::Finished => return Ok(true),
            }
        }
        Ok(false)
    }

    /// Carries out a command; with it, whether the flight is over.
    fn command(&mut self, typed: &str) -> Result<(Next, bool)> {
        if self.play.difficulty().tuning
            && let Some(rest) = typed.trim_start_matches(['/', '?']).strip_prefix("tune")
        {
            return Ok((Next::Go, self.tune(rest.trim())?));
        }
        if self.play.flight().has_crew() {
            let words = typed.trim_start_matches(['/', '?']);
            let (name, rest) = words.split_once(' ').unwrap_or((words, ""));
            let channel = Channel::ALL.into_iter().find(|channel| channel.name() == name.to_lowercase());
            if let Some(channel) = channel.filter(|_| !rest.trim().is_empty()) {
                let over = self.catch_up()?;
                let actions = self.play.step(Event::Say(channel, rest.trim().to_owned()));
                return Ok((Next::Go, over || self.show(actions, Timing::default())?));
            }
            if name.eq_ignore_ascii_case("wait") {
                return Ok((Next::Go, self.wait(rest.trim())?));
            }
        }
        let width = self.console.width();
        let command = match meant(typed, &COMMANDS) {
            Ok(command) => command,
            Err(what) => {
                self.note(&what)?;
                return Ok((Next::Go, false));
            }
        };
        match command {
            "help" => {
                self.rows(&help_rows(&COMMANDS, width))?;
                if self.play.difficulty().tuning {
                    self.text((Tone::Label, "    /tune"), 12, "tunes a frequency: /tune 118.705")?;
                }
                if self.play.flight().has_crew() {
                    for (command, what) in CREW_COMMANDS {
                        self.text((Tone::Label, &format!("    /{command}")), 12, what)?;
                    }
                    self.note("Anything else is said where the situation asks for it. Where the clock stands, an empty line lets it run to what comes next.")?;
                    return Ok((Next::Go, false));
                }
                self.note("Anything else is transmitted. An empty line is silence. \"say again\", \"say again all after ...\", \"confirm ...\", \"stand by\" and \"unable\" are radio speech and cost nothing.")?;
            }
            "hint" => {
                if let Some(due) = self.play.due() {
                    let standard = self.play.flight().standard;
                    let step = self.hints.next(&due);
                    self.rows(&hint_rows(&due, step, standard, width))?;
                    self.record.hints += usize::from(step == 0);
                }
            }
            "why" if self.look.quiet => {
                self.note("Explanations wait for the debrief: this flight is quiet until the end.")?
            }
            "why" => {
                let rows = why_rows(&self.last, width);
                self.rows(&rows)?;
            }
            "notes" => {
                let rows = self.notes.rows(&self.play.flight().briefing, width);
                self.rows(&rows)?;
            }
            "skip" => {
                self.record.skipped += 1;
                self.note("Skipped.")?;
                let actions = self.play.step(Event::Skip);
                return Ok((Next::Go, self.show(actions, Timing::default())?));
            }
            _ => return Ok((Next::Leave, false)),
        }
        Ok((Next::Go, false))
    }

    /// Shows a transmission for as long as it takes to say it; then it is gone.
    fn once(&mut self, rows: &[Row], head: &str, text: &str, rate: u16) -> Result<()> {
        self.flush()?;
        self.rows(rows)?;
        self.flush()?;
        let words = text.split_whitespace().count();
        let seconds = words as f64 * 60.0 / f64::from(rate);
        if self.console.fade(self.out, rows.len(), seconds)? {
            let width = self.console.width();
            let gone = "(said; \"say again\" brings it back)";
            self.rows(&hang((Tone::Label, head), self.column, Tone::Faint, gone, width))?;
        }
        Ok(())
    }

    /// Tunes a frequency.
    fn tune(&mut self, text: &str) -> Result<bool> {
        match canonical(Element::Frequency, text) {
            Ok(frequency) => {
                self.note(&format!("{frequency} is tuned."))?;
                let actions = self.play.step(Event::Tune(frequency));
                self.show(actions, Timing::default())
            }
            Err(allowed) => {
                self.note(&format!("/tune wants {}, for instance /tune 118.705.", allowed.replace('`', "")))?;
                Ok(false)
            }
        }
    }

    /// Says nothing for some seconds.
    fn wait(&mut self, seconds: &str) -> Result<bool> {
        if self.start.is_some() {
            self.note("The clock runs by itself; --pace 0 stops it.")?;
            return Ok(false);
        }
        match seconds.parse::<f64>() {
            Ok(seconds) if (0.0..=600.0).contains(&seconds) => {
                let actions = self.play.step(Event::Time(self.play.now() + seconds));
                self.show(actions, Timing::default())
            }
            _ => {
                self.note("/wait wants seconds from 0 to 600, for instance /wait 5.")?;
                Ok(false)
            }
        }
    }

    fn note(&mut self, text: &str) -> Result<()> {
        self.faint(4, text)
    }

    fn faint(&mut self, column: usize, text: &str) -> Result<()> {
        let width = self.console.width();
        self.rows(&hang((Tone::Plain, ""), column, Tone::Faint, text, width))
    }

    fn text(&mut self, label: (Tone, &str), column: usize, text: &str) -> Result<()> {
        let width = self.console.width();
        self.rows(&hang(label, column, Tone::Plain, text, width))
    }

    fn rows(&mut self, rows: &[Row]) -> Result<()> {
        rows.iter().try_for_each(|row| self.row(row))
    }

    fn row(&mut self, row: &Row) -> Result<()> {
        self.lines.push_str(&row.paint(self.look.styled));
        self.lines.push('\n');
        Ok(())
    }
}

/// Columns that the label of an exchange needs.
fn label_width(exchange: &Exchange) -> usize {
    match exchange {
        Exchange::Radio(radio) => {
            let station = columns(&radio.station.label) + 1 + columns(&radio.station.frequency);
            let other = "PM to , radio".len() + columns(&radio.station.label);
            if radio.duty.radio { station } else { station.max(other) }
        }
        Exchange::Crew(_) => "PF to PM, deck".len(),
        Exchange::Other(other) => columns(&other.station.label) + 1 + columns(&other.station.frequency),
    }
}

/// The number of an exchange before the first line it shows, blanks before the others.
fn counter(number: usize) -> String {
    if number == 0 { "   ".to_owned() } else { format!("{number:>3}") }
}
