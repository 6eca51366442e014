//! What the other voice says to a reply, as the rule set has it: nothing, a question, or the right value again.

use super::ask::{item_name, named, passage};
use crate::element::{Element, Fault, Standard, Verdict};
use crate::judge::judgement::{Finding, Item, Judgement};
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// The voice of a station that speaks to one aircraft.
#[derive(Debug, Clone)]
pub struct Voice<'a> {
    /// The rule set it speaks by.
    pub standard: Standard,
    /// The callsign as it is said.
    pub callsign: &'a str,
    /// The name of the station.
    pub station: &'a str,
}

/// A transmission to be read back, with what is in it.
#[derive(Debug, Clone, Copy)]
pub struct Said<'a> {
    /// The whole text.
    pub text: &'a str,
    /// The elements that were found in it.
    pub items: &'a [Item],
}

/// What the other voice makes of a reply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Response {
    /// It is content; some clearances are confirmed aloud.
    Accept(Option<String>),
    /// It asks or corrects, and something must be read back again.
    Again {
        /// What it says.
        text: String,
        /// The part of the transmission that the next reply is judged by; `None` is all of it.
        part: Option<String>,
        /// What is still open; empty is all of it.
        open: Vec<Open>,
    },
}

/// An element that must still come back, with the value it had if that is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Open {
    /// The element.
    pub element: Element,
    /// Its canonical value.
    pub value: Option<String>,
}

impl Open {
    /// True if this is the element, and the value unless either is unknown.
    #[must_use]
    pub fn is(&self, element: Element, value: Option<&str>) -> bool {
        let same = match (&self.value, value) {
            (Some(ours), Some(theirs)) => ours == theirs,
            _ => true,
        };
        self.element == element && same
    }
}

impl Voice<'_> {
    /// What follows a read-back. `tries` counts the replies to this transmission that failed before.
    #[must_use]
    pub fn to_readback(&self, said: Said<'_>, judgement: &Judgement, tries: u8) -> Response {
        let open = failed(&judgement.findings);
        match judgement.verdict {
            Verdict::Correct | Verdict::Nonstandard => Response::Accept(self.confirmation(said)),
            Verdict::Incomplete => self.ask(said, judgement, open),
            Verdict::Incorrect => self.correct(said, judgement, open, tries),
        }
    }

    /// What follows a call of the trainee's own. The station never names the value it misses.
    #[must_use]
    pub fn to_call(&self, judgement: &Judgement) -> Response {
        let mut open = failed(&judgement.findings);
        let accepted = matches!(judgement.verdict, Verdict::Correct | Verdict::Nonstandard);
        if accepted || (!open.is_empty() && open.iter().all(|o| o.element == Element::Unit)) {
            return Response::Accept(None);
        }
        let callsign =
            judgement.findings.iter().any(|f| f.element == Element::Callsign && f.fault == Fault::Missing);
        let nothing = judgement.heard.iter().all(|i| matches!(i.element, Element::Callsign | Element::Unit));
        let text = if callsign {
            format!("Station calling {}, say again your call sign", self.station)
        } else if nothing || open.is_empty() {
            format!("{}, {}, {}", self.callsign, self.station, self.go_ahead())
        } else {
            open.retain(|o| o.element != Element::Unit);
            let request = has(&open, Element::Instruction).then(|| "say again your request".to_owned());
            let names = self.names(&open);
            let ask = (!names.is_empty()).then(|| format!("{} {}", self.verb(), and(&names)));
            let parts: Vec<String> = ask.into_iter().chain(request).collect();
            match parts.is_empty() {
                true => format!("{}, say again", self.callsign),
                false => format!("{}, {}", self.callsign, parts.join(", ")),
            }
        };
        if callsign || nothing {
            open.clear();
        }
        Response::Again { text, part: None, open }
    }

    /// The transmission again after silence.
    #[must_use]
    pub fn after_silence(&self, text: &str, silences: u8) -> String {
        if silences <= 1 {
            text.to_owned()
        } else {
            format!("{}, reply not received, {}", self.callsign, self.body(text))
        }
    }

    /// What is said when an aircraft that wanted to wait is quiet for a while.
    #[must_use]
    pub fn after_stand_by(&self) -> String {
        format!("{}, {}", self.callsign, self.go_ahead())
    }

    /// The answer to "say again", to "say again all after …" and the like.
    #[must_use]
    pub fn say_again(&self, said: Said<'_>, request: &str) -> String {
        let body = self.body(said.text);
        let part = passage(body, request).or_else(|| self.part(said, &named(request, said.items)));
        format!("{}, I say again, {}", self.callsign, part.as_deref().unwrap_or(body))
    }

    /// The transmission again, with pauses.
    #[must_use]
    pub fn slower(&self, text: &str) -> String {
        format!("{} ... {}", self.callsign, self.body(text).replace(", ", " ... "))
    }

    /// The answer to "confirm …": yes, or the right value. `heard` are the elements of what was asked.
    #[must_use]
    pub fn to_confirm(&self, said: Said<'_>, heard: &[Item], request: &str) -> String {
        let value = |item: &&Item| !matches!(item.element, Element::Callsign | Element::Instruction);
        let ours = |item: &&Item| value(item) && said.items.iter().any(|s| s.element == item.element);
        let asked: Vec<&Item> = heard.iter().filter(ours).collect();
        let right =
            |item: &Item| said.items.iter().any(|s| s.element == item.element && s.value == item.value);
        let wrong: Vec<Open> =
            asked.iter().filter(|i| !right(i)).map(|i| Open { element: i.element, value: None }).collect();
        if wrong.is_empty() && !asked.is_empty() {
            return format!("{}, {}", self.callsign, self.yes());
        }
        let elements = if wrong.is_empty() { named(request, said.items) } else { wrong };
        let part = self.part(said, &elements);
        let part = part.as_deref().unwrap_or_else(|| self.body(said.text));
        let no = if asked.is_empty() { "" } else { "negative, " };
        format!("{}, {no}{part}", self.callsign)
    }

    /// The answer to "unable" where the scenario has no other plan.
    #[must_use]
    pub fn to_unable(&self) -> String {
        format!("{}, roger, advise when able", self.callsign)
    }

    fn confirmation(&self, said: Said<'_>) -> Option<String> {
        let aloud =
            said.items.iter().any(|i| matches!(i.element, Element::ClearanceLimit | Element::Condition));
        let word = match self.standard {
            Standard::Us => "read back correct",
            Standard::Icao | Standard::Eu | Standard::Uk => "correct",
        };
        aloud.then(|| format!("{}, {word}", self.callsign))
    }

    fn ask(&self, said: Said<'_>, judgement: &Judgement, open: Vec<Open>) -> Response {
        // Roger or the callsign alone: nothing of what was asked for came back.
        let empty = !judgement.heard.iter().any(|i| i.required);
        if !open.is_empty() && open.iter().all(|o| o.element == Element::Callsign) {
            let text = match self.standard {
                Standard::Icao | Standard::Eu => format!("Confirm {}", self.callsign),
                Standard::Uk => "Confirm call sign".to_owned(),
                Standard::Us => format!("{}, verify that was for you", self.callsign),
            };
            return Response::Again { text, part: None, open };
        }
        let holding =
            said.items.iter().any(|i| i.element == Element::Instruction && i.value.contains("hold short"));
        let lost = has(&open, Element::Instruction) || has(&open, Element::Runway);
        let text = if self.standard == Standard::Us && holding && lost {
            format!("{}, read back hold short instructions", self.callsign)
        } else if self.standard == Standard::Us && has(&open, Element::Runway) {
            format!("{}, read back runway assignment", self.callsign)
        } else if empty {
            format!("{}, read back", self.callsign)
        } else {
            let names = self.names(&open);
            let safety = [Element::Instruction, Element::Runway, Element::Condition, Element::Restriction];
            match (names.is_empty(), open.iter().any(|o| safety.contains(&o.element))) {
                (true, _) => format!("{}, read back", self.callsign),
                (false, true) => format!("{}, read back {}", self.callsign, and(&names)),
                (false, false) => format!("{}, {} {}", self.callsign, self.verb(), and(&names)),
            }
        };
        Response::Again { text, part: self.part(said, &open).map(|p| self.addressed(&p)), open }
    }

    fn correct(&self, said: Said<'_>, judgement: &Judgement, open: Vec<Open>, tries: u8) -> Response {
        let again = match self.standard {
            Standard::Icao | Standard::Eu => "negative, I say again,",
            Standard::Uk | Standard::Us if tries > 0 => "negative, I say again,",
            Standard::Uk | Standard::Us => "negative,",
        };
        let stolen =
            judgement.findings.iter().any(|f| f.element == Element::Callsign && f.fault == Fault::Wrong);
        let part = if stolen { None } else { self.part(said, &open) };
        match part {
            Some(part) => Response::Again {
                text: format!("{}, {again} {part}", self.callsign),
                part: Some(format!("{}, {again} {part}", self.callsign)),
                open,
            },
            None => Response::Again {
                text: format!("{}, negative, I say again, {}", self.callsign, self.body(said.text)),
                part: None,
                open: Vec::new(),
            },
        }
    }

    /// The clauses of a transmission that hold the elements, `None` if that is all of it or none.
    fn part(&self, said: Said<'_>, open: &[Open]) -> Option<String> {
        if has(open, Element::Condition) {
            return None;
        }
        let clauses = self.clauses(said);
        let inside = |clause: &Range<usize>, item: &Item| {
            (item.span.start as usize) < clause.end && clause.start < item.span.end as usize
        };
        let wanted = |item: &&Item| open.iter().any(|o| o.is(item.element, Some(&item.value)));
        let mut spans: Vec<&Item> = said.items.iter().filter(wanted).collect();
        // A runway without its verb says too little: the instruction it belongs to comes along.
        let runways: Vec<&Item> = spans.iter().copied().filter(|i| i.element == Element::Runway).collect();
        for runway in runways {
            let verb = |i: &&Item| i.element == Element::Instruction && i.span.overlaps(runway.span);
            spans.extend(said.items.iter().filter(verb));
        }
        let parts: Vec<&str> = clauses
            .iter()
            .filter(|clause| spans.iter().any(|item| inside(clause, item)))
            .map(|clause| said.text[clause.clone()].trim())
            .collect();
        let all = parts.len() == clauses.len();
        (!parts.is_empty() && !all).then(|| parts.join(", "))
    }

    /// The stretches between commas, without the callsign; a comma inside a value parts nothing.
    fn clauses(&self, said: Said<'_>) -> Vec<Range<usize>> {
        let text = said.text;
        let inside = |comma: usize| {
            said.items.iter().any(|i| (i.span.start as usize) < comma && comma < i.span.end as usize)
        };
        let mut at = text.len() - self.body(text).len();
        let mut out: Vec<Range<usize>> = Vec::new();
        for clause in text[at..].split(',') {
            let end = at + clause.len();
            match out.last_mut() {
                Some(before) if at > 0 && inside(at - 1) => before.end = end,
                _ if !clause.trim().is_empty() => out.push(at..end),
                _ => {}
            }
            at = end + 1;
        }
        out
    }

    /// The transmission without the callsign it begins with.
    fn body<'t>(&self, text: &'t str) -> &'t str {
        let head =
            text.get(..self.callsign.len()).is_some_and(|head| head.eq_ignore_ascii_case(self.callsign));
        if head { text[self.callsign.len()..].trim_start_matches([',', ' ']) } else { text }
    }

    fn addressed(&self, part: &str) -> String {
        format!("{}, {part}", self.callsign)
    }

    /// The elements as a station names them; a verb and a callsign are asked for in other ways.
    fn names(&self, open: &[Open]) -> Vec<&'static str> {
        let named = open.iter().filter(|o| !matches!(o.element, Element::Callsign | Element::Instruction));
        let mut names: Vec<&str> = named.filter_map(|o| item_name(o.element, self.standard)).collect();
        names.dedup();
        names
    }

    fn verb(&self) -> &'static str {
        if self.standard == Standard::Us { "verify" } else { "confirm" }
    }

    fn yes(&self) -> &'static str {
        if self.standard == Standard::Us { "affirmative" } else { "affirm" }
    }

    fn go_ahead(&self) -> &'static str {
        if self.standard == Standard::Uk { "pass your message" } else { "go ahead" }
    }
}

/// What is wrong or missing, once each; faults of form are none.
#[must_use]
pub fn failed(findings: &[Finding]) -> Vec<Open> {
    let mut out = Vec::new();
    for finding in findings {
        let open = Open { element: finding.element, value: finding.expected.clone() };
        let bad = matches!(finding.fault, Fault::Wrong | Fault::Missing) && !finding.element.is_form();
        if bad && !out.contains(&open) {
            out.push(open);
        }
    }
    out
}

fn has(open: &[Open], element: Element) -> bool {
    open.iter().any(|o| o.element == element)
}

fn and(names: &[&str]) -> String {
    match names {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => names.join(""),
    }
}
