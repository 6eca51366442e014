//! The model of a call that the pilot begins: its parts in order, every value in words.

use super::model::{any_filled, capital, push_word};
use crate::callsign::Callsign;
use crate::element::Element;
use crate::parse::canonical::slot_name;
use crate::rules::{RuleSet, SlotRef, Template};
use crate::text::speak;

/// A pilot's own call: its parts in order.
pub(crate) fn call_model(
    rules: &RuleSet,
    callsign: &Callsign,
    call: &str,
    wanted: &[(Element, String)],
) -> String {
    let Some(phrase) = rules.phrase(call) else { return String::new() };
    let mut left: Vec<(Element, String)> = wanted.to_vec();
    let mut request = String::new();
    if let Some(template) = &phrase.model {
        call_template(rules, template, &mut left, &mut request);
    }
    let mut parts: Vec<String> = Vec::new();
    // A station that the situation names is called first, whatever the call.
    if !phrase.parts.contains(&Element::Unit)
        && let Some(k) = left.iter().position(|w| w.0 == Element::Unit)
    {
        let (element, value) = left.remove(k);
        parts.push(words(rules, element, &value));
    }
    for &part in &phrase.parts {
        match part {
            Element::Callsign => parts.push(callsign.spoken(rules.standard)),
            Element::Instruction => {
                if !request.is_empty() {
                    parts.push(std::mem::take(&mut request));
                }
            }
            _ => {
                while let Some(k) = left.iter().position(|w| w.0 == part) {
                    let (element, value) = left.remove(k);
                    parts.push(words(rules, element, &value));
                }
            }
        }
    }
    if !phrase.parts.contains(&Element::Callsign) {
        parts.push(callsign.spoken(rules.standard));
    }
    if !request.is_empty() {
        parts.push(request);
    }
    parts.extend(left.iter().map(|(element, value)| words(rules, *element, value)));
    let mut out = parts.join(", ");
    capital(&mut out);
    out
}

fn call_template(rules: &RuleSet, template: &Template, left: &mut Vec<(Element, String)>, out: &mut String) {
    let has = |element: Option<Element>, left: &[(Element, String)]| {
        element.is_some_and(|e| left.iter().any(|l| l.0 == e))
    };
    match template {
        Template::Sequence(items) => items.iter().for_each(|t| call_template(rules, t, left, out)),
        Template::Either(items) => {
            let choice = items.iter().find(|t| t.fits(left)).or(items.first());
            if let Some(choice) = choice {
                call_template(rules, choice, left, out);
            }
        }
        Template::Optional(item) => {
            if item.has_slot() && any_filled(item, &|e, _| has(e, left)) && item.fits(left) {
                call_template(rules, item, left, out);
            }
        }
        Template::Word(word, _) => push_word(out, 0, word),
        Template::Slot(element, _) => {
            if let Some(element) = element
                && let Some(k) = left.iter().position(|l| l.0 == *element)
            {
                let (_, value) = left.remove(k);
                push_word(out, 0, &words(rules, *element, &value));
            }
        }
    }
}

/// A canonical value in words: as the vocabulary that has it says it, else as the rule set says numbers
/// and names.
pub(super) fn words(rules: &RuleSet, element: Element, value: &str) -> String {
    let slots = rules.symbols.iter().filter(|s| s.element == Some(element)).map(|s| s.slot);
    let said = slots.filter_map(|slot| match slot {
        SlotRef::Data(data) => said_as(rules, data, value, 0),
        SlotRef::Builtin(_) => None,
    });
    said.into_iter().next().unwrap_or_else(|| speak::spoken(rules.standard, element, value))
}

/// A canonical value of a vocabulary as its model says it: `20 miles left` → *two zero miles left of track*.
fn said_as(rules: &RuleSet, data: u16, value: &str, depth: u8) -> Option<String> {
    let slot = &rules.slots[usize::from(data)];
    slot.values.iter().zip(&slot.models).find_map(|(form, model)| {
        // A form that is nothing but another value says nothing of its own.
        if depth > 2 || form.starts_with('{') && form.ends_with('}') && form.matches('{').count() == 1 {
            return None;
        }
        let mut inner = Vec::new();
        for (holder, text) in holders(form, value)? {
            let named = |s: &SlotRef| slot_name(rules, *s) == holder;
            let slot = slots_of(model).into_iter().find(named)?;
            let said = match slot {
                SlotRef::Data(data) => said_as(rules, data, text, depth + 1)?,
                SlotRef::Builtin(_) => said_inside(rules, holder, text)?,
            };
            inner.push((slot, said));
        }
        let mut out = String::new();
        fill(model, &mut inner, &mut out);
        inner.is_empty().then_some(out)
    })
}

/// A value of the matcher's own inside a vocabulary, in words.
fn said_inside(rules: &RuleSet, holder: &str, text: &str) -> Option<String> {
    let number = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    match holder {
        "distance" if number => {
            Some(format!("{} {}", speak::digits(text), if text == "1" { "mile" } else { "miles" }))
        }
        "degrees" if number => Some(format!("{} degrees", speak::digits(text))),
        "number" | "minutes" if number => Some(speak::digits(text)),
        "distance" | "degrees" | "number" | "minutes" => None,
        _ => Some(speak::spoken(rules.standard, Element::parse(holder).unwrap_or(Element::Point), text)),
    }
}

/// What stands in the places of a form: `{distance} miles {turn}` in `20 miles left`.
fn holders<'a>(form: &'a str, value: &'a str) -> Option<Vec<(&'a str, &'a str)>> {
    let mut out = Vec::new();
    let (mut form, mut value) = (form, value);
    loop {
        let Some((before, rest)) = form.split_once('{') else {
            return form.eq_ignore_ascii_case(value).then_some(out);
        };
        value = value.strip_prefix(before)?;
        let (holder, rest) = rest.split_once('}')?;
        let literal = rest.split('{').next().unwrap_or(rest);
        let end = if literal.is_empty() { value.len() } else { value.find(literal)? };
        out.push((holder, &value[..end]));
        (form, value) = (rest, &value[end..]);
    }
}

/// The slots of a template, in order.
fn slots_of(template: &Template) -> Vec<SlotRef> {
    match template {
        Template::Sequence(items) | Template::Either(items) => items.iter().flat_map(slots_of).collect(),
        Template::Optional(item) => slots_of(item),
        Template::Word(..) => Vec::new(),
        Template::Slot(_, slot) => slot.iter().copied().collect(),
    }
}

/// Says a template with values already in words.
fn fill(template: &Template, inner: &mut Vec<(SlotRef, String)>, out: &mut String) {
    match template {
        Template::Sequence(items) => items.iter().for_each(|t| fill(t, inner, out)),
        Template::Either(items) => {
            let fits = |t: &&Template| slots_of(t).iter().all(|s| inner.iter().any(|i| i.0 == *s));
            if let Some(choice) = items.iter().find(fits) {
                fill(choice, inner, out);
            }
        }
        Template::Optional(item) => {
            let slots = slots_of(item);
            if !slots.is_empty() && slots.iter().all(|s| inner.iter().any(|i| i.0 == *s)) {
                fill(item, inner, out);
            }
        }
        Template::Word(word, _) => push_word(out, 0, word),
        Template::Slot(_, slot) => {
            if let Some(k) = inner.iter().position(|i| Some(i.0) == *slot) {
                push_word(out, 0, &inner.remove(k).1);
            }
        }
    }
}
