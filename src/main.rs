//! The command `hearback`: parses arguments, calls one command, turns the outcome into an exit status.

use clap::Parser;
use hearback::cli::{Cli, Color, Command, FormName, PageFormat, SeatName, StandardName};
use hearback::commands::home::Choice;
use hearback::commands::{
    check, compare, coverage, drill, explain, home, lines, map, new, pack, packs, pages, paper, phrasebook,
    practise, preview, progress, record, scenarios, watch,
};
use hearback::content::{self, Content};
use hearback::contract::{RuleSets, grade_line, parse_line};
use hearback::diagnostic;
use hearback::drill::schedule::Want;
use hearback::element::Standard;
use hearback::error::{Error, Result, exit};
use hearback::grammar::sets::Sets;
use hearback::judge::judgement::Form;
use hearback::machine;
use hearback::record::keep::Place;
use hearback::record::{self as store, DEFAULT_PROFILE};
use hearback::scenario::Seat;
use hearback::scenario::load::Which;
use hearback::schema;
use hearback::settings::Settings;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return refused(&error),
    };
    let choice = match cli.color {
        Color::Auto => anstream::ColorChoice::Auto,
        Color::Always => anstream::ColorChoice::Always,
        Color::Never => anstream::ColorChoice::Never,
    };
    choice.write_global();
    let mut err = anstream::stderr();
    let json = cli.command.as_ref().is_some_and(Command::json);
    let status = match run(cli, &mut err) {
        Ok(status) => status,
        Err(error) => {
            if error.is_quiet() {
            } else if json {
                let _ = writeln!(err, "{}", machine::failure(&error));
            } else if let Error::Data(problems) = &error {
                let _ = write!(err, "{}", diagnostic::render(problems, true));
            } else {
                let _ = writeln!(err, "hearback: {error}");
            }
            error.status()
        }
    };
    ExitCode::from(status)
}

/// A command line that cannot be taken, or one that asks for help.
fn refused(error: &clap::Error) -> ExitCode {
    // What was asked for as JSON cannot be told from a command line that was not understood.
    if error.use_stderr() && std::env::args_os().any(|word| word == "--json") {
        let _ = writeln!(anstream::stderr(), "{}", machine::usage(&error.to_string()));
    } else {
        let _ = error.print();
    }
    ExitCode::from(if error.use_stderr() { exit::FAILED } else { exit::DONE })
}

fn run(cli: Cli, err: &mut dyn Write) -> Result<u8> {
    let stdout = io::stdout();
    let places = content::places(&named_content(&cli.content));
    match cli.command {
        // These two say of themselves what is wrong with content.
        Some(Command::Packs { json }) => return packs::run(&places, json, true, &mut stdout.lock(), err),
        Some(Command::Pack { folder, zip, force, json }) => {
            let options = pack::Options { folder, zip, force, json };
            return pack::run(&options, true, &mut stdout.lock(), err);
        }
        _ => {}
    }
    if let Some(Command::Check { files, watch: true, .. }) = &cli.command {
        return watch::run(files, cli.grammar.as_deref(), &places, true, &mut stdout.lock(), err);
    }
    let content = match &cli.command {
        Some(Command::Check { .. }) => Content::open(&places)?,
        _ => {
            let (content, left_out) = Content::open_found(&places)?;
            for (place, why) in left_out {
                let place = diagnostic::clean(&place.to_string_lossy()).into_owned();
                match why {
                    Error::Data(_) => writeln!(
                        err,
                        "hearback: `{place}` has problems and is left out; `hearback packs` shows them"
                    )?,
                    why => writeln!(err, "hearback: left out: {why}")?,
                }
            }
            content
        }
    };
    let sets = Sets::over(cli.grammar.as_deref(), &content)?;
    let styled = match cli.color {
        Color::Always => true,
        Color::Never => false,
        Color::Auto => {
            stdout.is_terminal()
                && matches!(anstream::AutoStream::choice(&stdout), c if c != anstream::ColorChoice::Never)
        }
    };
    let place = Place {
        file: record_file(cli.record, cli.no_record),
        profile: cli.profile.clone().unwrap_or_else(|| DEFAULT_PROFILE.to_owned()),
    };
    let command = match cli.command {
        Some(command) => command,
        None => {
            let stdin = io::stdin();
            let typed = stdin.is_terminal() && stdout.is_terminal();
            let mut answers = stdin.lock();
            let answers: Option<&mut dyn io::BufRead> = if typed { Some(&mut answers) } else { None };
            let (choice, settings) = home::run(&place, &sets, answers, &mut stdout.lock(), err)?;
            match begun(choice, &settings) {
                Some(command) => command,
                None => return Ok(exit::DONE),
            }
        }
    };
    match command {
        Command::Practise {
            scenario,
            airport,
            phase,
            seed,
            quiet,
            plain,
            pace,
            difficulty,
            seat,
            operator,
            standard,
            form,
        } => {
            let (standard, form) = (standard.map(set_of), form.map(form_of));
            let which = match (scenario, airport) {
                (None, None) => Which::Scenario(practise::FIRST.to_owned()),
                (scenario, airport) => which(scenario, airport, phase),
            };
            let options = practise::Options {
                which,
                seed,
                quiet,
                pace,
                plain,
                difficulty,
                seat: seat.map(seat_of),
                operator,
                standard,
                form,
                content: cli.content,
                styled,
                place,
            };
            practise::run(&options, &sets, &content, &mut stdout.lock(), err)
        }
        Command::Drill { count, new, topic, standard, ahead, due, json, seed, plain } => {
            let standard =
                standard.map(set_of).unwrap_or_else(|| Settings::read().unwrap_or_default().standard);
            let want = Want { count: count.into(), new: new.into(), ahead };
            let options = drill::Options { want, topic, standard, due, json, seed, plain, styled, place };
            drill::run(&options, &sets, &mut stdout.lock(), err)
        }
        Command::Scenarios { json } => {
            let mut out = BufWriter::new(stdout.lock());
            let status = scenarios::run(json, &content, &mut out)?;
            out.flush()?;
            Ok(status)
        }
        Command::Grade { files, form } => {
            let form = form.map_or(Form::Strict, form_of);
            let mut out = BufWriter::new(stdout.lock());
            lines::run(&files, &mut out, err, |line, number, to| grade_line(&sets, form, line, number, to))
        }
        Command::Parse { files } => {
            let mut out = BufWriter::new(stdout.lock());
            lines::run(&files, &mut out, err, |line, number, to| parse_line(&sets, line, number, to))
        }
        Command::Check { files, json, .. } => {
            let report = check::Report::of(&files, &sets, &content)?;
            let out = &mut stdout.lock();
            if json { report.json(out) } else { report.text(true, out, err) }
        }
        Command::New { kind } => {
            let stdin = io::stdin();
            let typed = stdin.is_terminal();
            new::run(&kind, &sets, &content, &mut stdin.lock(), typed, &mut stdout.lock(), err)
        }
        Command::Completions { shell } => pages::completions(shell, &mut stdout.lock()),
        Command::Manual { command } => pages::manual(command.as_deref(), &mut stdout.lock()),
        Command::Schema { kind } => {
            let mut out = stdout.lock();
            out.write_all(schema::text(kind).as_bytes())?;
            out.flush()?;
            Ok(exit::DONE)
        }
        Command::Preview { scenario, airport, phase, seed, seat, standard, json } => {
            let (seat, standard) = (seat.map(seat_of), standard.map(set_of));
            let which = which(scenario, airport, phase);
            let options = preview::Options { which, seed, seat, standard, json };
            let mut out = BufWriter::new(stdout.lock());
            let status = preview::run(&options, &sets, &content, &mut out)?;
            out.flush()?;
            Ok(status)
        }
        Command::Map(options) => {
            let mut out = BufWriter::new(stdout.lock());
            map::run(&options, &sets, &content, styled, &mut out)
        }
        Command::Explain { coverage: true, json, .. } => {
            let mut out = BufWriter::new(stdout.lock());
            let status = coverage::run(&sets, json, &mut out)?;
            out.flush()?;
            Ok(status)
        }
        Command::Explain { what, standard, json, .. } => {
            let rules = sets.get(set_of(standard));
            let mut out = BufWriter::new(stdout.lock());
            let status = explain::run(
                &what.join(" "),
                &rules,
                &*sets.crew().map_err(Error::Internal)?,
                json,
                &mut out,
            )?;
            out.flush()?;
            Ok(status)
        }
        Command::Compare { what, json } => {
            let mut out = BufWriter::new(stdout.lock());
            let status = compare::run(&what.join(" "), &sets, json, &mut out)?;
            out.flush()?;
            Ok(status)
        }
        Command::Phrasebook { phase, topic, standard, format, json } => {
            let format = if json { PageFormat::Json } else { format };
            let options = phrasebook::Options { phase, topic, standard: standard.map(set_of), format };
            let mut out = BufWriter::new(stdout.lock());
            let status = phrasebook::run(&options, &sets, &mut out)?;
            out.flush()?;
            Ok(status)
        }
        Command::Progress { html, force, json, since } => {
            let options = progress::Options {
                html,
                force,
                json,
                since,
                styled,
                ascii: !(stdout.is_terminal() && has_unicode()),
            };
            progress::run(&options, &place, &mut BufWriter::new(stdout.lock()), err)
        }
        Command::Paper { what } => {
            let look = paper::Look { styled, ascii: !(stdout.is_terminal() && has_unicode()) };
            paper::run(&what, &sets, &content, look, &place, &mut stdout.lock(), err)
        }
        Command::Record { what } => {
            let stdin = io::stdin();
            let ask = stdin.is_terminal().then(|| stdin.lock());
            let ask = ask.map(|lines| Box::new(lines) as Box<dyn io::BufRead>);
            let mut out = BufWriter::new(stdout.lock());
            record::run(&what, &place, cli.profile.as_deref(), &sets, ask, &mut out, err)
        }
        Command::Packs { .. } | Command::Pack { .. } => Ok(exit::DONE),
    }
}

/// The command that the first screen begins.
fn begun(choice: Choice, settings: &Settings) -> Option<Command> {
    let seat = settings.seat().map(|seat| match seat {
        Seat::Monitoring => SeatName::Monitoring,
        Seat::Flying => SeatName::Flying,
    });
    let words: &[&str] = match choice {
        Choice::Drill => &["drill"],
        Choice::Practise => &["practise"],
        Choice::Scenarios => &["scenarios"],
        Choice::Progress => &["progress"],
        Choice::Leave => return None,
    };
    let mut command = Cli::parse_from(["hearback"].iter().chain(words)).command?;
    if let Command::Practise { seat: wanted, .. } = &mut command {
        *wanted = seat;
    }
    Some(command)
}

/// The flight that the command line asks for.
fn which(scenario: Option<String>, airport: Option<String>, phase: Option<String>) -> Which {
    match airport {
        Some(airport) => Which::Phase { airport, phase: phase.unwrap_or_else(|| "departure".to_owned()) },
        None => Which::Scenario(scenario.unwrap_or_default()),
    }
}

/// Where attempts are kept: as the command line says, else the environment, else in the user's own folder.
fn record_file(named: Option<PathBuf>, none: bool) -> Option<PathBuf> {
    if none {
        return None;
    }
    match std::env::var_os("HEARBACK_RECORD") {
        _ if named.is_some() => named,
        Some(file) => Some(PathBuf::from(file)).filter(|file| !file.as_os_str().is_empty()),
        None => store::open::user_file(),
    }
}

/// True if the terminal, or whoever reads, is told to take more than ASCII.
fn has_unicode() -> bool {
    let set = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    match set("LC_ALL").or_else(|| set("LC_CTYPE")).or_else(|| set("LANG")) {
        Some(locale) => {
            let locale = locale.to_lowercase();
            locale.contains("utf-8") || locale.contains("utf8")
        }
        None => false,
    }
}

/// What was named on the command line; if nothing was, in the environment.
fn named_content(named: &[PathBuf]) -> Vec<PathBuf> {
    match std::env::var_os("HEARBACK_CONTENT") {
        Some(list) if named.is_empty() => {
            std::env::split_paths(&list).filter(|place| !place.as_os_str().is_empty()).collect()
        }
        _ => named.to_vec(),
    }
}

fn form_of(name: FormName) -> Form {
    match name {
        FormName::Strict => Form::Strict,
        FormName::Line => Form::Line,
    }
}

fn seat_of(name: SeatName) -> Seat {
    match name {
        SeatName::Monitoring => Seat::Monitoring,
        SeatName::Flying => Seat::Flying,
    }
}

fn set_of(name: StandardName) -> Standard {
    match name {
        StandardName::Icao => Standard::Icao,
        StandardName::Eu => Standard::Eu,
        StandardName::Uk => Standard::Uk,
        StandardName::Us => Standard::Us,
    }
}
