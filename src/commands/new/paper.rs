//! A new graded paper.

use super::ask::{Asker, Checked, line, list, number, one_of, quoted, slug};
use super::{Draft, place, standard_of, toml_list, typed};
use crate::cli::new::{NewCommand, NewFile};
use crate::content::Content;
use crate::contract::RuleSets;
use crate::diagnostic::suggestion;
use crate::drill::skill::catalogue;
use crate::element::Standard;
use crate::error::{Error, Result};
use crate::grammar::sets::Sets;
use crate::paper::Outright;
use crate::rules::RuleSet;
use crate::scenario::load::Library;
use crate::wrap::{PAGE, lines};
use std::fmt::Write as _;
use std::sync::Arc;

/// An answer that leaves something out.
const NONE: &str = "none";

pub(super) fn draft(
    command: &NewCommand,
    to: &NewFile,
    sets: &Sets,
    content: &Content,
    asker: &mut Asker<'_>,
) -> Result<Draft> {
    let NewCommand::Paper {
        title,
        standard,
        topics,
        airports,
        calls,
        items,
        difficulty,
        minutes,
        seconds,
        pass_mark,
        fails,
        values,
        ..
    } = command
    else {
        return Err(Error::Internal("a paper was asked for".to_owned()));
    };
    let title = asker.ask("--title", "Title", title.as_deref(), "Read-backs, first paper", &line)?;
    let given = standard.map(|standard| standard_of(standard).name());
    let name = asker.ask("--standard", "Rule set: icao, eu, uk or us", given, "icao", &|text| {
        one_of(text, &Standard::ALL.map(Standard::name))
    })?;
    let standard = Standard::parse(&name).unwrap_or_default();
    let set = sets.get(standard);
    let skills = catalogue(&set);
    let topic = |text: &str| known(text, skills.iter().map(|skill| skill.topic.as_str()));
    let question = "Topics to read back, with commas; ? lists them";
    let topics =
        asker.ask("--topics", question, topics.as_deref(), "line-up, take-off, landing", &|text| {
            list(text, &topic)
        })?;
    let rules = |standard: Standard| -> Arc<RuleSet> { sets.get(standard) };
    let book = sets.crew().map_err(Error::Internal)?;
    let library = Library::new(&rules, Arc::clone(&book)).with_content(content);
    let airport = |text: &str| match library.airport(text) {
        Ok(_) => Ok(text.to_owned()),
        Err(error) => Err(error.to_string()),
    };
    let question = "Airports whose flights they come from, or none";
    let airports =
        asker.ask("--airports", question, airports.as_deref(), NONE, &|text| or_none(text, &airport))?;
    let items =
        asker.ask("--items", "How many read-backs", items.as_deref(), "10", &|text| number(text, 1, 200))?;
    let question = "How much comes back of one: 1 (one element) to 5 (four and more), or any";
    let difficulty =
        asker.ask("--difficulty", question, difficulty.as_deref(), "any", &|text| match text {
            "any" => Ok(text.to_owned()),
            text => number(text, 1, 5),
        })?;
    let call = |text: &str| known(text, book.calls().map(|call| call.id.as_str()));
    let question = "Calls of the crew besides, with commas, or none; ? lists them";
    let calls = asker.ask("--calls", question, calls.as_deref(), NONE, &|text| or_none(text, &call))?;
    let or_no =
        |text: &str, least, most| if text == "no" { Ok(text.to_owned()) } else { number(text, least, most) };
    let minutes =
        asker.ask("--minutes", "Minutes in all, or no limit: no", minutes.as_deref(), "15", &|text| {
            or_no(text, 1, 600)
        })?;
    let seconds = asker.ask("--seconds", "Seconds for each, or no", seconds.as_deref(), "60", &|text| {
        or_no(text, 5, 3600)
    })?;
    let pass_mark = asker
        .ask("--pass-mark", "Per cent to pass", pass_mark.as_deref(), "75", &|text| number(text, 0, 100))?;
    let finding = |text: &str| Outright::parse(text).map(|finding| finding.to_string());
    let question = "Findings that fail it whatever the mark, or none";
    let fails =
        asker.ask("--fails", question, fails.as_deref(), "runway wrong, instruction wrong", &|text| {
            or_none(text, &finding)
        })?;
    let question = "Everybody the same values, or each person his own: same or own";
    let values =
        asker.ask("--values", question, values.as_deref(), "own", &|text| one_of(text, &["same", "own"]))?;
    let file = place(to, asker, &format!("{}.toml", slug(&title)))?;

    let fails = if fails == NONE { "[]".to_owned() } else { toml_list(&fails) };
    let limit = |name: &str, value: &str| match value {
        "no" => format!("# {name} = 60\n"),
        value => format!("{name} = {value}\n"),
    };
    let mut text = format!(
        "# A graded paper. `hearback check` says what is wrong in it, `hearback paper items` what it asks.
format = 1
title = {title}
# Shown before the first item.
# preface = '…'
standard = '{standard}'
# Another number draws other items.
seed = {seed}
# `same`: everybody gets the same items. `own`: other values in the same words for each person, as many to come back.
values = '{values}'

# Minutes in all, and seconds for each; left out there is no limit.
{minutes}{seconds}# `once`: a transmission is there only as long as it takes to say it. `readable`: it stays.
hear = 'readable'
# A hint halves an item.
hints = false
# Replies to one item: a station corrects a wrong one and hears another, which counts half.
replies = 1
# How often a person may sit the paper; the best sitting counts.
sittings = 1
# When it is told what was wrong: `end`, `item` or `none`.
feedback = 'end'
# `line`: only values count. `strict`: words and their order too.
form = 'strict'

# Per cent.
pass_mark = {pass_mark}
# Element and fault; `any wrong`, `critical wrong` and `critical` are understood too.
fails = {fails}

[[part]]
title = 'Read back'
items = {items}
topics = {topics}
",
        title = quoted(&title),
        seed = title.bytes().fold(7u32, |sum, byte| (sum * 31 + u32::from(byte)) % 9973),
        minutes = limit("minutes", &minutes),
        seconds = limit("seconds", &seconds),
        topics = toml_list(&topics),
    );
    if airports == NONE {
        text.push_str("# Transmissions and calls of flights there, with its names, runways and frequencies.\n# airports = ['hvalby']\n");
    } else {
        let _ = writeln!(text, "airports = {}", toml_list(&airports));
    }
    if difficulty == "any" {
        text.push_str("# From 1 (one element comes back) to 5 (four and more).\n# difficulty = 2\n");
    } else {
        let _ = writeln!(text, "difficulty = {difficulty}");
    }
    if calls == NONE {
        text.push_str("\n# Calls between the pilots; `to-v1/answer` is the answer to one.\n# [[part]]\n# title = 'The take-off roll'\n# items = 2\n# calls = ['to-v1', 'to-rotate']\n# checklists = ['before-takeoff']\n");
    } else {
        let count = calls.split(", ").count();
        let _ = write!(
            text,
            "\n[[part]]\ntitle = 'Calls'\nitems = {count}\ncalls = {}\n# checklists = ['before-takeoff']\n",
            toml_list(&calls)
        );
    }
    let name = typed(&file);
    let next = vec![
        format!("  hearback paper items {name}     what it asks, with right replies"),
        format!("  hearback paper take {name}      sit it"),
        format!("  hearback paper mark {name} results/    judge the results again"),
        format!("  hearback paper report {name} results/  what the group knows"),
    ];
    Ok(Draft { file, text, next })
}

/// A name that is known.
fn known<'k>(text: &str, known: impl Iterator<Item = &'k str>) -> Checked {
    let mut known: Vec<&str> = known.collect();
    known.dedup();
    if known.contains(&text) {
        return Ok(text.to_owned());
    }
    if text == "?" {
        return Err(lines(&known.join(", "), PAGE - 2).join("\n  "));
    }
    Err(format!("`{}` is not known; {}", text, suggestion(text, &known).unwrap_or_default()))
}

/// Names with commas between them, or none.
fn or_none(text: &str, check: &dyn Fn(&str) -> Checked) -> Checked {
    if text == NONE { Ok(text.to_owned()) } else { list(text, check) }
}
