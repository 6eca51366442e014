//! A right reply in the rule set's spoken form, made from the elements of the transmission.

use super::Situation;
use super::need::Needs;
use crate::callsign::Callsign;
use crate::element::{Element, Standard};
use crate::parse::slots::{Builtin, Match, form};
use crate::parse::{Heard, Parsed, canonical};
use crate::rules::{Duty, FormRule, PhraseKind, RuleSet, SlotRef, Template};
use crate::text::speak;
use crate::value::Value;

/// What a model is made from.
#[derive(Clone, Copy)]
pub(crate) struct Transmission<'a> {
    pub(crate) rules: &'a RuleSet,
    pub(crate) situation: &'a Situation,
    pub(crate) text: &'a str,
    pub(crate) said: &'a Parsed,
    pub(crate) needs: &'a Needs,
}

/// A value that a template can take.
#[derive(Debug, Clone, Copy)]
struct Filled {
    element: Option<Element>,
    slot: SlotRef,
    found: Match,
    used: bool,
}

/// The model read-back of a transmission.
pub(crate) fn model(case: &Transmission<'_>) -> String {
    let rules = case.rules;
    let mut out = String::with_capacity(160);
    let (mut wilco, mut question, mut delay) = (false, false, false);
    let list = &case.needs.list;
    let mut filled: Vec<Filled> = Vec::with_capacity(8);
    let mut words: Vec<u16> = Vec::with_capacity(16);
    for (k, need) in list.iter().enumerate() {
        let clause = need.heard.clause;
        if list[..k].iter().any(|n| n.heard.clause == clause) {
            continue;
        }
        let Some(p) = need.heard.phrase else { continue };
        let phrase = &rules.phrases[p as usize];
        let owed = list.iter().filter(|n| n.heard.clause == clause).map(|n| n.duty).max().unwrap_or_default();
        match phrase.kind {
            PhraseKind::Question => match &phrase.model {
                // The answer is a value that only the pilot knows.
                Some(template) if phrase.own_model && template.has_slot() => delay = true,
                Some(template) if phrase.own_model => {
                    let said = Speech { rules, parsed: case.said, text: case.text };
                    clause_words(case, &need.heard, &mut words);
                    said.render(template, &words, &mut [], false, &mut out, 0);
                }
                _ => question = true,
            },
            // News is received; only what is to be done is complied with.
            _ if owed == Duty::Acknowledge => wilco |= phrase.instruction.is_some(),
            _ if owed == Duty::None => {}
            _ => {
                filled.clear();
                filled.extend(
                    list.iter().filter(|n| n.heard.clause == clause && n.duty != Duty::None).filter_map(
                        |n| {
                            n.heard.slot.map(|(slot, found)| Filled {
                                element: Some(n.heard.element),
                                slot,
                                found,
                                used: false,
                            })
                        },
                    ),
                );
                clause_words(case, &need.heard, &mut words);
                let said = Speech { rules, parsed: case.said, text: case.text };
                let before = out.len();
                if before > 0 {
                    out.push_str(", ");
                }
                let start = out.len();
                if let Some(template) = &phrase.model {
                    said.render(template, &words, &mut filled, false, &mut out, start);
                }
                // A value the template has no place for is said after it.
                for rest in filled.iter().filter(|f| !f.used) {
                    said.value(rest, &mut out, start);
                }
                if out.len() == start {
                    out.truncate(before);
                }
            }
        }
    }
    let part = |word: &str, out: &mut String| {
        if !out.is_empty() {
            out.push_str(", ");
        }
        out.push_str(word);
    };
    if rules.on(FormRule::LevelNoTo) && out.contains("to flight level") {
        out = out.replace("to flight level", "flight level");
    }
    if case.needs.lost {
        part("say again", &mut out);
    } else if delay && out.is_empty() {
        part("stand by", &mut out);
    } else if question && out.is_empty() {
        part(if rules.standard == Standard::Us { "affirmative" } else { "affirm" }, &mut out);
    } else if wilco {
        part("wilco", &mut out);
    } else if out.is_empty() {
        part("roger", &mut out);
    }
    let own = &case.situation.callsign;
    let short = if case.needs.station_shortened || case.situation.shortened { own.short() } else { None };
    part(&short.as_ref().unwrap_or(own).spoken(rules.standard), &mut out);
    capital(&mut out);
    out
}

/// Begins with a capital letter.
pub(super) fn capital(out: &mut String) {
    if let Some(first) = out.chars().next()
        && first.is_lowercase()
    {
        let upper: String = first.to_uppercase().collect();
        out.replace_range(..first.len_utf8(), &upper);
    }
}

/// Vocabulary words of the clause that an element came from.
fn clause_words(case: &Transmission<'_>, heard: &Heard, words: &mut Vec<u16>) {
    words.clear();
    if let Some(cover) = case.said.s.covers.get(heard.clause as usize) {
        let atoms = &case.said.s.atoms[cover.start as usize..cover.end as usize];
        words.extend(atoms.iter().map(|a| a.word).filter(|&w| w != 0));
    }
}

/// Appends a word, with a space unless the part begins here.
pub(super) fn push_word(out: &mut String, start: usize, word: &str) {
    if word == "," {
        if out.len() > start && !out.ends_with(',') {
            out.push(',');
        }
        return;
    }
    if out.len() > start && !word.is_empty() {
        out.push(' ');
    }
    out.push_str(word);
}

/// The transmission that values are taken from.
#[derive(Clone, Copy)]
struct Speech<'a> {
    rules: &'a RuleSet,
    parsed: &'a Parsed,
    text: &'a str,
}

impl Speech<'_> {
    /// `inner`: values are found by their slot, not by their element.
    fn render(
        &self,
        template: &Template,
        words: &[u16],
        filled: &mut [Filled],
        inner: bool,
        out: &mut String,
        start: usize,
    ) {
        let find = |element: Option<Element>, slot: Option<SlotRef>, filled: &[Filled]| {
            filled.iter().position(|f| {
                !f.used
                    && if inner { Some(f.slot) == slot } else { f.element == element && element.is_some() }
            })
        };
        match template {
            Template::Sequence(items) => {
                items.iter().for_each(|t| self.render(t, words, filled, inner, out, start))
            }
            Template::Either(items) => {
                // The alternative whose slots are filled, first with values of just their kind; of several,
                // the one that was said.
                let fits = |t: &&Template| t.needs(&|e, s| find(e, s, filled).is_some());
                let kind =
                    |e, s| filled.iter().any(|f| !f.used && (inner || f.element == e) && Some(f.slot) == s);
                let choice = items.iter().find(|t| t.has_slot() && t.needs(&kind));
                let choice = choice.or_else(|| items.iter().find(|t| t.has_slot() && fits(t)));
                let choice = choice.or_else(|| items.iter().find(|t| fits(t) && t.was_said(words)));
                let choice = choice.or_else(|| items.iter().find(fits)).or(items.first());
                if let Some(choice) = choice {
                    self.render(choice, words, filled, inner, out, start);
                }
            }
            Template::Optional(item) => {
                let include = if item.has_slot() {
                    item.needs(&|e, s| find(e, s, filled).is_some())
                        && any_filled(item, &|e, s| find(e, s, filled).is_some())
                } else {
                    item.was_said(words)
                };
                if include {
                    self.render(item, words, filled, inner, out, start);
                }
            }
            Template::Word(word, _) => push_word(out, start, word),
            Template::Slot(element, slot) => {
                if let Some(k) = find(*element, *slot, filled) {
                    filled[k].used = true;
                    self.value(&filled[k], out, start);
                }
            }
        }
    }

    /// Says a value.
    fn value(&self, filled: &Filled, out: &mut String, start: usize) {
        let found = &filled.found;
        match (filled.slot, found.value) {
            (SlotRef::Data(data), Value::Form(_, form, _)) => {
                let template = &self.rules.slots[data as usize].models[form as usize];
                let mut inner: Vec<Filled> = canonical::inner(self.parsed, found)
                    .map(|(found, slot)| Filled { element: None, slot, found, used: false })
                    .collect();
                let atoms = &self.parsed.s.atoms[found.start as usize..found.end as usize];
                let words: Vec<u16> = atoms.iter().map(|a| a.word).filter(|&w| w != 0).collect();
                self.render(template, &words, &mut inner, true, out, start);
            }
            (SlotRef::Builtin(builtin), value) => {
                if out.len() > start {
                    out.push(' ');
                }
                if !say_number(
                    self.rules.standard,
                    builtin,
                    &value,
                    found.form,
                    filled.element.is_none(),
                    out,
                ) {
                    let element = filled.element.unwrap_or(Element::Point);
                    let canonical =
                        canonical::of_match(self.rules, self.parsed, self.text, element, filled.slot, found);
                    say_name(self.rules.standard, builtin, &canonical, found.form, out);
                }
            }
            _ => {}
        }
    }
}

/// True if any slot of the template passes.
pub(super) fn any_filled(
    template: &Template,
    has: &dyn Fn(Option<Element>, Option<SlotRef>) -> bool,
) -> bool {
    match template {
        Template::Sequence(items) | Template::Either(items) => items.iter().any(|t| any_filled(t, has)),
        Template::Optional(item) => any_filled(item, has),
        Template::Word(..) => false,
        Template::Slot(element, slot) => has(*element, *slot),
    }
}

/// Says the values that are numbers; false if it is none.
fn say_number(
    standard: Standard,
    builtin: Builtin,
    value: &Value,
    said: u32,
    inner: bool,
    out: &mut String,
) -> bool {
    match (*value, builtin) {
        (Value::Feet(feet), _) => {
            // The word altitude only where the station said it.
            if said & form::ALTITUDE != 0 && standard != Standard::Us {
                out.push_str("altitude ");
            }
            speak::say_feet(standard, feet, out);
        }
        (Value::FlightLevel(level), _) if inner && said & form::MARK == 0 => {
            speak::say_level_digits(standard, level, out)
        }
        (Value::Letter(letter), _) if inner && said & form::MARK == 0 => {
            out.push_str(&speak::letters_and_digits(&char::from(letter).to_string()))
        }
        (Value::Frequency(kilohertz), _) if said & form::SHORT != 0 && standard == Standard::Us => {
            out.push_str("point ");
            speak::push_digits(out, kilohertz / 100 % 10, 1);
            if kilohertz % 100 != 0 {
                speak::push_digits(out, kilohertz / 10 % 10, 1);
            }
        }
        (Value::Number(n), Builtin::Temperature) => {
            if n >= 100 {
                out.push_str("minus ");
            }
            speak::push_digits(out, n % 100, 1);
        }
        (Value::Number(n), Builtin::Distance) => {
            speak::push_digits(out, n, 1);
            out.push_str(if n == 1 { " mile" } else { " miles" });
        }
        (Value::Number(n), Builtin::Clock) => {
            speak::push_digits(out, n, 1);
            out.push_str(" o'clock");
        }
        _ => return speak::say(standard, value, out),
    }
    true
}

/// Says names, letters and marks from their canonical form.
fn say_name(standard: Standard, builtin: Builtin, canonical: &str, said: u32, out: &mut String) {
    match builtin {
        Builtin::Stand => out.push_str(&speak::spoken(standard, Element::Stand, canonical)),
        Builtin::HoldingPoint => {
            let spoken = speak::spoken(standard, Element::HoldingPoint, canonical);
            let marked = said & form::MARK != 0;
            out.push_str(if marked { &spoken } else { spoken.trim_start_matches("holding point ") });
        }
        Builtin::TaxiRoute => out.push_str(&speak::spoken(standard, Element::TaxiRoute, canonical)),
        Builtin::Procedure => out.push_str(&speak::spoken(standard, Element::Sid, canonical)),
        Builtin::Callsign => match Callsign::parse(canonical) {
            Some(callsign) => out.push_str(&callsign.spoken(standard)),
            None => out.push_str(canonical),
        },
        Builtin::Airway => airway(canonical, out),
        Builtin::Aircraft => marks(canonical, out),
        _ => out.push_str(canonical),
    }
}

/// An airway: its prefix as a word, then its letter and digits. Source: SERA.14025.
fn airway(canonical: &str, out: &mut String) {
    let letters = canonical.bytes().take_while(u8::is_ascii_alphabetic).count();
    let prefix = match canonical.as_bytes() {
        [b'K', ..] if letters > 1 => "kopter ",
        [b'S', ..] if letters > 1 => "supersonic ",
        [b'U', ..] if letters > 1 => "upper ",
        _ => "",
    };
    out.push_str(prefix);
    out.push_str(&speak::letters_and_digits(&canonical[usize::from(!prefix.is_empty())..]));
}

/// Letters and digits one by one, other words as they are: `A320` → "A three two zero".
fn marks(canonical: &str, out: &mut String) {
    for (k, word) in canonical.split(' ').enumerate() {
        if k > 0 {
            out.push(' ');
        }
        if word.bytes().any(|b| b.is_ascii_digit()) {
            for (i, c) in word.chars().enumerate() {
                if i > 0 {
                    out.push(' ');
                }
                match c.to_digit(10) {
                    Some(digit) => speak::push_digits(out, digit, 1),
                    None => out.push(c),
                }
            }
        } else {
            out.push_str(word);
        }
    }
}
