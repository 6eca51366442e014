//! What the other voice says to a reply, as the rule set has it: nothing, a question, or the right value again.

use crate::element::{Element, Fault, Standard, Verdict};
use crate::judge::judgement::{Finding, Item, Judgement, Move};
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
        /// Elements that are still open; empty is all of them.
        open: Vec<Element>,
    },
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
        if accepted || open == [Element::Unit] {
            return Response::Accept(None);
        }
        let callsign = judgement.findings.iter().any(|f| f.element == Element::Callsign && f.fault == Fault::Missing);
        let nothing = judgement.heard.iter().all(|i| matches!(i.element, Element::Callsign | Element::Unit));
        let text = if callsign {
            format!("Station calling {}, say again your call sign", self.station)
        } else if nothing || open.is_empty() {
            format!("{}, {}, {}", self.callsign, self.station, self.go_ahead())
        } else {
            open.retain(|e| *e != Element::Unit);
            let request = open.contains(&Element::Instruction).then(|| "say again your request".to_owned());
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
        if silences <= 1 { text.to_owned() } else { format!("{}, reply not received, {}", self.callsign, self.body(text)) }
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
        let right = |item: &Item| said.items.iter().any(|s| s.element == item.element && s.value == item.value);
        let wrong: Vec<Element> = asked.iter().filter(|i| !right(i)).map(|i| i.element).collect();
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
        format!("{}, roger", self.callsign)
    }

    fn confirmation(&self, said: Said<'_>) -> Option<String> {
        let aloud = said.items.iter().any(|i| matches!(i.element, Element::ClearanceLimit | Element::Condition));
        let word = match self.standard {
            Standard::Us => "read back correct",
            Standard::Icao | Standard::Eu | Standard::Uk => "correct",
        };
        aloud.then(|| format!("{}, {word}", self.callsign))
    }

    fn ask(&self, said: Said<'_>, judgement: &Judgement, open: Vec<Element>) -> Response {
        let empty = judgement.heard.iter().all(|i| i.element == Element::Callsign);
        if open == [Element::Callsign] {
            let text = match self.standard {
                Standard::Icao | Standard::Eu => format!("Confirm {}", self.callsign),
                Standard::Uk => "Confirm call sign".to_owned(),
                Standard::Us => format!("{}, verify that was for you", self.callsign),
            };
            return Response::Again { text, part: None, open };
        }
        let holding = said.items.iter().any(|i| i.element == Element::Instruction && i.value.contains("hold short"));
        let lost = open.contains(&Element::Instruction) || open.contains(&Element::Runway);
        let text = if self.standard == Standard::Us && holding && lost {
            format!("{}, read back hold short instructions", self.callsign)
        } else if self.standard == Standard::Us && open.contains(&Element::Runway) {
            format!("{}, read back runway assignment", self.callsign)
        } else if empty {
            format!("{}, read back", self.callsign)
        } else {
            let names = self.names(&open);
            let safety = [Element::Instruction, Element::Runway, Element::Condition, Element::Restriction];
            match (names.is_empty(), open.iter().any(|e| safety.contains(e))) {
                (true, _) => format!("{}, read back", self.callsign),
                (false, true) => format!("{}, read back {}", self.callsign, and(&names)),
                (false, false) => format!("{}, {} {}", self.callsign, self.verb(), and(&names)),
            }
        };
        if empty {
            return Response::Again { text, part: None, open: Vec::new() };
        }
        Response::Again { text, part: self.part(said, &open).map(|p| self.addressed(&p)), open }
    }

    fn correct(&self, said: Said<'_>, judgement: &Judgement, open: Vec<Element>, tries: u8) -> Response {
        let again = match self.standard {
            Standard::Icao | Standard::Eu => "negative, I say again,",
            Standard::Uk | Standard::Us if tries > 0 => "negative, I say again,",
            Standard::Uk | Standard::Us => "negative,",
        };
        let stolen = judgement.findings.iter().any(|f| f.element == Element::Callsign && f.fault == Fault::Wrong);
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
    fn part(&self, said: Said<'_>, elements: &[Element]) -> Option<String> {
        let wanted = |e: Element| elements.contains(&e);
        if wanted(Element::Condition) {
            return None;
        }
        // A runway without its verb, or a verb without its runway, says too little.
        let runway = wanted(Element::Runway) || wanted(Element::Instruction);
        let clauses = self.clauses(said.text);
        let inside = |clause: &Range<usize>, item: &Item| (item.span.start as usize) < clause.end && clause.start < item.span.end as usize;
        let mut chosen: Vec<bool> = clauses
            .iter()
            .map(|clause| said.items.iter().any(|i| wanted(i.element) && inside(clause, i)))
            .collect();
        if runway {
            let pair: Vec<bool> = clauses
                .iter()
                .map(|c| said.items.iter().any(|i| matches!(i.element, Element::Runway | Element::Instruction) && inside(c, i)))
                .collect();
            let alone: Vec<usize> = (0..chosen.len()).filter(|&n| chosen[n] && only_runway(&clauses[n], said)).collect();
            for n in alone {
                let near = [n.checked_sub(1), Some(n + 1)].into_iter().flatten();
                if let Some(near) = near.into_iter().find(|&m| pair.get(m).copied().unwrap_or(false)) {
                    chosen[near] = true;
                }
            }
        }
        let parts: Vec<&str> = clauses.iter().zip(&chosen).filter(|(_, c)| **c).map(|(r, _)| said.text[r.clone()].trim()).collect();
        let all = parts.len() == clauses.len();
        (!parts.is_empty() && !all).then(|| parts.join(", "))
    }

    /// The stretches between commas, without the callsign.
    fn clauses(&self, text: &str) -> Vec<Range<usize>> {
        let mut at = text.len() - self.body(text).len();
        let mut out = Vec::new();
        for clause in text[at..].split(',') {
            if !clause.trim().is_empty() {
                out.push(at..at + clause.len());
            }
            at += clause.len() + 1;
        }
        out
    }

    /// The transmission without the callsign it begins with.
    fn body<'t>(&self, text: &'t str) -> &'t str {
        let head = text.get(..self.callsign.len()).is_some_and(|head| head.eq_ignore_ascii_case(self.callsign));
        if head { text[self.callsign.len()..].trim_start_matches([',', ' ']) } else { text }
    }

    fn addressed(&self, part: &str) -> String {
        format!("{}, {part}", self.callsign)
    }

    /// The elements as a station names them; a verb and a callsign are asked for in other ways.
    fn names(&self, elements: &[Element]) -> Vec<&'static str> {
        let named = elements.iter().filter(|e| !matches!(e, Element::Callsign | Element::Instruction));
        named.filter_map(|e| item_name(*e, self.standard)).collect()
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

/// A move that the conversation answers before anything is judged, the most urgent first.
#[must_use]
pub fn urgent(moves: &[Move], reply: &str) -> Option<Asked> {
    let has = |wanted: Move| moves.contains(&wanted);
    let slower = words(reply).windows(2).any(|w| matches!(w[0].as_str(), "speak" | "say" | "talk") && w[1].starts_with("slow"));
    if slower {
        Some(Asked::Slower)
    } else if has(Move::Unable) {
        Some(Asked::Unable)
    } else if has(Move::StandBy) {
        Some(Asked::Wait)
    } else if has(Move::SayAgain) || has(Move::SayAgainPart) {
        Some(Asked::Again)
    } else if has(Move::Confirm) {
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

/// What comes after the word that asks for a confirmation.
#[must_use]
pub fn asked_about(reply: &str) -> &str {
    let lower = reply.to_ascii_lowercase();
    let word = ["confirm", "verify"].into_iter().find_map(|w| lower.find(w).map(|at| at + w.len()));
    word.map_or(reply, |end| &reply[end..])
}

/// The elements that are wrong or missing, once each; faults of form are none.
#[must_use]
pub fn failed(findings: &[Finding]) -> Vec<Element> {
    let mut out = Vec::new();
    for finding in findings {
        let bad = matches!(finding.fault, Fault::Wrong | Fault::Missing) && !finding.element.is_form();
        if bad && !out.contains(&finding.element) {
            out.push(finding.element);
        }
    }
    out
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
        Element::Stand => if us { "gate" } else { "stand" },
        Element::Condition => "condition",
        Element::Level => if us { "altitude" } else { "level" },
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
        Element::Altimeter => if us { "altimeter" } else { "QNH" },
        Element::Service => "service",
        Element::Hold => "holding instructions",
        Element::Time => "time",
        Element::Information => "information",
        Element::Traffic => "traffic",
        Element::Deviation => "deviation",
        _ => return None,
    })
}

fn only_runway(clause: &Range<usize>, said: Said<'_>) -> bool {
    let inside = |i: &&Item| (i.span.start as usize) < clause.end && clause.start < i.span.end as usize;
    let here: Vec<Element> = said.items.iter().filter(inside).map(|i| i.element).collect();
    here.contains(&Element::Runway) != here.contains(&Element::Instruction)
}

/// Elements of a transmission that a question names.
fn named(request: &str, items: &[Item]) -> Vec<Element> {
    let asked = words(request);
    let has = |list: &[&str]| asked.iter().any(|w| list.contains(&w.as_str()));
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
    let found = table.iter().filter(|(list, _)| has(list)).flat_map(|(_, elements)| elements.iter().copied());
    found.filter(|e| items.iter().any(|i| i.element == *e)).collect()
}

/// The stretch that "all after …" or "all before …" asks for; the named words are said too.
fn passage(body: &str, request: &str) -> Option<String> {
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
    text.split(|c: char| c.is_whitespace() || c == ',').map(plain).filter(|w| !w.is_empty()).take(400).collect()
}

fn plain(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

fn and(names: &[&str]) -> String {
    match names {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => names.join(""),
    }
}
