//! New files of the crew's book: a checklist, and the choices of an operator.

use super::ask::{Asker, id, line, number, one_of, quoted, slug};
use super::{Draft, grammar_folder, place, typed};
use crate::cli::new::{NewCommand, NewFile};
use crate::contract::RuleSets;
use crate::crew::{Call, CrewBook};
use crate::diagnostic::list;
use crate::error::{Error, Result};
use crate::grammar::sets::Sets;
use std::fmt::Write as _;
use std::path::Path;

/// Items of a checklist that nobody has described yet.
const ITEMS: [&str; 3] = ["Doors = Closed", "Flaps = Set", "Parking brake = Set"];

pub(super) fn checklist(command: &NewCommand, to: &NewFile, asker: &mut Asker<'_>) -> Result<Draft> {
    let NewCommand::Checklist { id: own, title, read_by, answered_by, item, .. } = command else {
        return Err(Error::Internal("a checklist was asked for".to_owned()));
    };
    let title = asker.ask("--title", "Name as it is called", title.as_deref(), "Ground check", &line)?;
    let own = asker.ask("--id", "Name in scenarios", own.as_deref(), &slug(&title), &id)?;
    let position = |text: &str| one_of(text, &["PF", "PM", "CA", "FO"]);
    let read_by = asker.ask("--read-by", "Read by PF, PM, CA or FO", read_by.as_deref(), "PM", &position)?;
    let answers = |text: &str| one_of(text, &["PF", "PM", "CA", "FO", "BOTH"]);
    let other = match read_by.as_str() {
        "PM" => "PF",
        "PF" => "PM",
        "FO" => "CA",
        _ => "FO",
    };
    let by = asker.ask(
        "--answered-by",
        "Answered by PF, PM, CA, FO or BOTH",
        answered_by.as_deref(),
        other,
        &answers,
    )?;
    let mut items: Vec<String> = Vec::new();
    for text in item {
        items.push(asker.ask("--item", "", Some(text), "", &pair)?);
    }
    while item.is_empty() && !asker.defaults {
        let default =
            ITEMS.get(items.len()).copied().filter(|_| items.len() < ITEMS.len()).unwrap_or("no more");
        let more = |text: &str| if text == "no more" { Ok(text.to_owned()) } else { pair(text) };
        let question = format!("Item {}, as in Flaps = Five, set", items.len() + 1);
        match asker.ask("--item", &question, None, default, &more)? {
            end if end == "no more" => break,
            item => items.push(item),
        }
    }
    if items.is_empty() {
        items = ITEMS.map(str::to_owned).to_vec();
    }
    let file = place(to, asker, &format!("my-grammar/crew/{own}.toml"))?;
    let caller = if by == "BOTH" { "PF" } else { by.as_str() };
    let mut text = format!(
        "# Checklist: {title}
# A file for the folder `crew` of a grammar folder of your own.
format = 1

[[checklist]]
# Its name in scenarios: `checklist = '{own}'`. A list of this name that is built in gives way to it.
id = '{own}'
# As it is called: \"{title} checklist\".
title = {title_text}
# For readers.
phase = 'any'
cue = 'When it is due.'
# PF, PM, CA (captain), FO (first officer).
called_by = '{caller}'
read_by = '{read_by}'
source = 'common practice'

# `says`: every answer that is right, the first is taught. A value stands in angle brackets, <flap>; a scenario gives
# it: `set = {{ flap = '5' }}`. `weak = ['…']` are answers that are understood, but are not what you teach.
# `killer = true`: the answer must carry the value or the state that was seen. `below_the_line = true`: it waits
# until the rest has been read.
",
        title_text = quoted(&title)
    );
    for (challenge, response) in items.iter().filter_map(|item| item.split_once(" = ")) {
        let _ = write!(
            text,
            "\n[[checklist.item]]\nchallenge = {}\nby = '{by}'\nsays = [{}]\n",
            quoted(challenge),
            quoted(response)
        );
    }
    let mut next = beginning(&file, "crew");
    next.push(format!("  in a scenario:  [[exchange]]  checklist = '{own}'"));
    Ok(Draft { file, text, next })
}

/// A challenge and its response.
fn pair(text: &str) -> super::ask::Checked {
    let found = line(text)?;
    match found.split_once('=').map(|(challenge, response)| (challenge.trim(), response.trim())) {
        Some((challenge, response)) if !challenge.is_empty() && !response.is_empty() => {
            Ok(format!("{challenge} = {response}"))
        }
        _ => Err("the challenge, an equals sign, the response".to_owned()),
    }
}

/// What to do next with a file of a grammar folder.
pub(super) fn beginning(file: &Path, inside: &str) -> Vec<String> {
    let mut next = vec![format!("  hearback check {}", typed(file))];
    match grammar_folder(file, inside) {
        Some(folder) => {
            let folder = typed(&folder);
            next.push(format!("  hearback --grammar {folder} check       everything, with your folder over the built-in one"));
            next.push(format!("  hearback --grammar {folder} practise    fly with it"));
        }
        None => next.push(format!("  put it into a folder {inside} of a grammar folder: DIR/{inside}; then hearback --grammar DIR practise")),
    }
    next
}

pub(super) fn operator(
    command: &NewCommand,
    to: &NewFile,
    sets: &Sets,
    asker: &mut Asker<'_>,
) -> Result<Draft> {
    let NewCommand::Operator { title, cross_check, climb, stop, to_go, .. } = command else {
        return Err(Error::Internal("an operator was asked for".to_owned()));
    };
    let book = sets.crew().map_err(Error::Internal)?;
    let title = asker.ask("--title", "Title", title.as_deref(), "My operator", &line)?;
    let speed = |text: &str| number(text, 40, 130);
    let knots =
        asker.ask("--cross-check", "Speeds are compared at, knots", cross_check.as_deref(), "80", &speed)?;
    let climb = words(&book, asker, "--climb", "The aircraft climbs away", climb.as_deref(), "to-pos")?;
    let stop = words(&book, asker, "--stop", "Stop on the runway", stop.as_deref(), "rj-stop")?;
    let to_go =
        words(&book, asker, "--to-go", "A thousand feet before a level", to_go.as_deref(), "cl-1000")?;
    let file = place(to, asker, &format!("my-grammar/crew/operators/{}.toml", slug(&title)))?;
    let mut text = format!(
        "# Operator: {title}
# A file for the folder `crew/operators` of a grammar folder of your own. The file name is the operator's name:
# `operator = '…'` in a scenario, or `--operator …`. Every key may be left out: then the usual choice holds.
format = 1
title = {title_text}

# Values that calls take from the operator.
[value]
# Knots at which the speeds are compared on the take-off roll.
xcheck = '{knots}'

# Your words, where the trade has several; the other right forms stay right. `hearback explain to-pos` lists them.
[says]
",
        title_text = quoted(&title)
    );
    let chosen = [
        ("to-pos", &climb),
        ("ef-pos", &climb),
        ("ga-pos", &climb),
        ("rj-stop", &stop),
        ("cl-1000", &to_go),
        ("de-1000", &to_go),
    ];
    for (id, form) in chosen {
        if book.call(id).is_some_and(|call| has(call, form)) {
            let _ = writeln!(text, "{id} = {}", quoted(form));
        }
    }
    text.push_str(
        "
# The words of answers, in the same way.
# [answer]
# to-v1 = 'Checked'

# Seconds. An answer must begin within `answer`; a call counts as late up to `late_factor` times its window.
# [time]
# answer = 3.0
# late_factor = 2.0
",
    );
    let mut next = beginning(&file, "crew/operators");
    if let Some(name) = file.file_stem().map(|name| typed(Path::new(name))) {
        let folder = grammar_folder(&file, "crew/operators");
        let folder = folder.map_or_else(|| "DIR".to_owned(), |folder| typed(&folder));
        next.pop();
        next.push(format!("  hearback --grammar {folder} practise take-off-roll --operator {name}"));
    }
    Ok(Draft { file, text, next })
}

fn has(call: &Call, form: &str) -> bool {
    call.call.right().any(|known| known == form)
}

/// One of the right forms of a call.
fn words(
    book: &CrewBook,
    asker: &mut Asker<'_>,
    flag: &str,
    question: &str,
    given: Option<&str>,
    id: &str,
) -> Result<String> {
    let call = book.call(id).ok_or_else(|| Error::Internal(format!("no call `{id}`")))?;
    let forms: Vec<&str> = call.call.right().filter(|form| !form.contains('<')).collect();
    let question = format!("{question}: {}", list(&forms));
    asker.ask(flag, &question, given, call.call.taught(), &|text| one_of(text, &forms))
}
