//! A new scenario: a phase of a flight at an airport of one's choice.

use super::ask::{self, Asker, line, one_of, slug};
use super::{Draft, place, typed};
use crate::airport::{self, Airport};
use crate::cli::new::{NewCommand, NewFile};
use crate::content::{Content, Item};
use crate::contract::RuleSets;
use crate::diagnostic::list;
use crate::error::{Error, Result};
use crate::grammar::sets::Sets;
use crate::scenario::Seat;
use crate::scenario::load::Library;
use crate::scenario::phases::{self, Phases, Wish};
use std::path::Path;
use std::sync::Arc;

pub(super) fn draft(
    command: &NewCommand,
    to: &NewFile,
    sets: &Sets,
    content: &Content,
    asker: &mut Asker<'_>,
) -> Result<Draft> {
    let NewCommand::Scenario { title, airport, phase, telephony, flight, seat, crew, .. } = command else {
        return Err(Error::Internal("a scenario was asked for".to_owned()));
    };
    let rules = |standard| sets.get(standard);
    let library = Library::new(&rules, sets.crew().map_err(Error::Internal)?).with_content(content);
    let folder = to.file.as_deref().and_then(Path::parent).unwrap_or(Path::new("")).to_path_buf();
    let find = |id: &str| find(&library, id, &folder);
    let own = content.names(Item::Airport);
    let mut known: Vec<&str> = own.iter().map(String::as_str).collect();
    known.extend(airport::load::builtin_ids().filter(|id| !own.contains(*id)).map(|id| -> &str { id }));
    let question = format!("Airport: {}, or one of your own", list(&known));
    let id = asker
        .ask("--airport", &question, airport.as_deref(), "skerrow", &|id| find(id).map(|_| id.to_owned()))?;
    let airport = find(&id).map_err(Error::Internal)?;
    let all = Phases::builtin().map_err(Error::Internal)?;
    let given = |name: &str| phases::write(all, &airport, &Wish::of(name, &id)).map(|_| name.to_owned());
    let names: Vec<&str> = all.names().filter(|name| given(name).is_ok()).collect();
    let first = names.first().copied().unwrap_or("departure");
    let question = format!("Part of a flight: {}", list(&names));
    let phase = asker.ask("--phase", &question, phase.as_deref(), first, &given)?;
    let default = all.title(&phase, &airport.name);
    let title = asker.ask("--title", "Title", title.as_deref(), &default, &line)?;
    let telephony = asker.ask(
        "--telephony",
        "Name of the operator on the radio",
        telephony.as_deref(),
        "Whimbrel",
        &line,
    )?;
    let flight = asker.ask("--flight", "Number of the flight", flight.as_deref(), "214", &line)?;
    let seat = asker.ask(
        "--seat",
        "The trainee's seat: monitoring (works the radio) or flying",
        seat.as_deref(),
        "monitoring",
        &|text| one_of(text, &["monitoring", "flying"]),
    )?;
    let crew =
        asker.ask("--crew", "Calls between the pilots too: yes or no", crew.as_deref(), "yes", &|text| {
            one_of(text, &["yes", "no"])
        })?;
    let file = place(to, asker, &format!("{}.toml", slug(&title)))?;
    let wish = Wish {
        title: Some(&title),
        callsign: Some((&telephony, &flight)),
        seat: if seat == "flying" { Seat::Flying } else { Seat::Monitoring },
        crew: crew == "yes",
        ..Wish::of(&phase, &id)
    };
    let text = phases::write(all, &airport, &wish).map_err(Error::Internal)?;
    let name = typed(&file);
    let next = vec![
        format!("  hearback check {name}           what is wrong in it, if something is"),
        format!("  hearback check --watch {name}   the same while you write"),
        format!("  hearback preview {name}         the whole script, and what the trainee owes"),
        format!("  hearback practise {name}        fly it"),
    ];
    Ok(Draft { file, text, next })
}

/// The airport of that name: beside the scenario, of one's own content, or built in.
fn find(library: &Library<'_>, id: &str, folder: &Path) -> std::result::Result<Arc<Airport>, String> {
    ask::id(id)?;
    let beside =
        [folder.join("airports"), folder.to_path_buf()].map(|folder| folder.join(format!("{id}.toml")));
    let found = match beside.iter().find(|file| file.is_file()) {
        Some(file) => library.airport(&file.to_string_lossy()),
        None => library.airport(id),
    };
    found.map_err(|error| match error {
        Error::Data(found) => {
            format!("the airport has problems: `hearback check` shows {} of them", found.len())
        }
        other => other.to_string(),
    })
}
