//! Questions on the radio: what a trainee asks of the other voice, and how a station names what it asks for.

use super::respond::Open;
use crate::element::{Element, Standard};
use crate::judge::judgement::{Item, Move};

/// A move that the conversation answers before anything is judged, the most urgent first.
#[must_use]
pub fn urgent(moves: &[Move], reply: &str) -> Option<Asked> {
    let has = |wanted: Move| moves.contains(&wanted);
    let said = words(reply);
    let asks = said.first().is_some_and(|w| w == "confirm" || w == "verify");
    let slower = said
        .windows(2)
        .any(|w| matches!(w[0].as_str(), "speak" | "say" | "talk") && w[1].starts_with("slow"));
    if slower {
        Some(Asked::Slower)
    } else if has(Move::Unable) {
        Some(Asked::Unable)
    } else if has(Move::StandBy) {
        Some(Asked::Wait)
    } else if has(Move::SayAgain) || has(Move::SayAgainPart) || asks_again(&said) {
        Some(Asked::Again)
    } else if has(Move::Confirm) || asks {
        Some(Asked::Confirm)
    } else {
        None
    }
}

/// What the trainee wants of the other voice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// More slowly.
    Slower,
    /// Something else: this cannot be done.
    Unable,
    /// To be left alone for a moment.
    Wait,
    /// All or a part again.
    Again,
    /// Whether it was heard right.
    Confirm,
}

/// True for "say again" and little else, a slip of the keyboard in *again* forgiven.
#[must_use]
fn asks_again(said: &[String]) -> bool {
    said.len() <= 6
        && said
            .windows(2)
            .any(|w| w[0] == "say" && w[1].len() >= 4 && strsim::osa_distance(&w[1], "again") <= 1)
}

/// True if somebody of the crew asks for words again.
#[must_use]
pub fn wants_again(reply: &str) -> bool {
    asks_again(&words(reply))
}

/// What comes after the word that asks for a confirmation.
#[must_use]
pub fn asked_about(reply: &str) -> &str {
    let lower = reply.to_ascii_lowercase();
    let word = ["confirm", "verify"].into_iter().find_map(|w| lower.find(w).map(|at| at + w.len()));
    word.map_or(reply, |end| &reply[end..])
}

/// How a station names an element in a question.
#[must_use]
pub fn item_name(element: Element, standard: Standard) -> Option<&'static str> {
    let us = standard == Standard::Us;
    Some(match element {
        Element::Callsign => "call sign",
        Element::Instruction => "instruction",
        Element::Runway => "runway",
        Element::HoldingPoint => "holding point",
        Element::TaxiRoute => "taxi route",
        Element::Stand => {
            if us {
                "gate"
            } else {
                "stand"
            }
        }
        Element::Condition => "condition",
        Element::Level => {
            if us {
                "altitude"
            } else {
                "level"
            }
        }
        Element::Restriction => "restriction",
        Element::Heading => "heading",
        Element::Turn => "direction of turn",
        Element::Speed => "speed",
        Element::Rate => "rate",
        Element::Route => "route",
        Element::Point => "point",
        Element::ClearanceLimit => "destination",
        Element::Sid => "departure",
        Element::Star => "arrival",
        Element::Approach => "type of approach",
        Element::Squawk => "squawk",
        Element::Frequency => "frequency",
        Element::Unit => "station",
        Element::Altimeter => {
            if us {
                "altimeter"
            } else {
                "QNH"
            }
        }
        Element::Service => "service",
        Element::Hold => "holding instructions",
        Element::Time => "time",
        Element::Information => "information",
        Element::Traffic => "traffic",
        Element::Deviation => "deviation",
        _ => return None,
    })
}

/// Elements of a transmission that a question names.
pub(super) fn named(request: &str, items: &[Item]) -> Vec<Open> {
    let asked = words(request);
    let says = |list: &[&str]| asked.iter().any(|w| list.contains(&w.as_str()));
    let table: [(&[&str], &[Element]); 16] = [
        (&["squawk", "code", "transponder"], &[Element::Squawk]),
        (&["qnh", "altimeter", "pressure", "setting"], &[Element::Altimeter]),
        (&["level", "altitude", "climb", "descend", "descent"], &[Element::Level]),
        (&["heading"], &[Element::Heading]),
        (&["turn", "direction"], &[Element::Turn]),
        (&["speed"], &[Element::Speed]),
        (&["frequency", "channel"], &[Element::Frequency]),
        (&["runway"], &[Element::Runway]),
        (&["holding", "point", "waypoint", "direct"], &[Element::HoldingPoint, Element::Point]),
        (&["route", "taxi", "via"], &[Element::TaxiRoute, Element::Route]),
        (&["limit", "destination"], &[Element::ClearanceLimit]),
        (&["departure", "sid"], &[Element::Sid]),
        (&["condition", "behind"], &[Element::Condition]),
        (&["restriction"], &[Element::Restriction]),
        (&["information"], &[Element::Information]),
        (&["station", "unit"], &[Element::Unit]),
    ];
    let found =
        table.iter().filter(|(list, _)| says(list)).flat_map(|(_, elements)| elements.iter().copied());
    let found = found.filter(|e| items.iter().any(|i| i.element == *e));
    found.map(|element| Open { element, value: None }).collect()
}

/// The stretch that "all after …" or "all before …" asks for; the named words are said too.
pub(super) fn passage(body: &str, request: &str) -> Option<String> {
    let asked = words(request);
    let mark = asked.windows(2).position(|w| w[0] == "all" && matches!(w[1].as_str(), "after" | "before"))?;
    let after = asked[mark + 1] == "after";
    let key = &asked[mark + 2..];
    let mut places = Vec::new();
    let mut at = 0;
    for word in body.split(' ') {
        places.push((at..at + word.len(), plain(word)));
        at += word.len() + 1;
    }
    for length in (1..=key.len()).rev() {
        let hit = places.windows(length).position(|w| w.iter().map(|(_, word)| word).eq(&key[..length]));
        if let Some(hit) = hit {
            let (start, end) = (places[hit].0.start, places[hit + length - 1].0.end);
            let part = if after { &body[start..] } else { &body[..end] };
            return Some(part.trim_end_matches(',').to_owned());
        }
    }
    None
}

fn words(text: &str) -> Vec<String> {
    text.split(|c: char| c.is_whitespace() || c == ',')
        .map(plain)
        .filter(|w| !w.is_empty())
        .take(400)
        .collect()
}

fn plain(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}
