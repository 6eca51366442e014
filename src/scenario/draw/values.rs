//! Values of the slots of a flight: what they are, how they are said and how they are written.

use crate::airport::Station;
use crate::airport::value::written;
use crate::callsign::Callsign;
use crate::element::{Element, Standard};
use crate::text::speak::{digits, spoken};
use std::collections::BTreeMap;

/// Values drawn for the slots of a scenario.
#[derive(Debug, Clone)]
pub struct Values {
    pub(super) standard: Standard,
    pub(super) callsign: Callsign,
    pub(super) drawn: BTreeMap<String, (Option<Element>, String)>,
    /// Words of values whose form on paper does not tell how they are said.
    pub(super) said: BTreeMap<String, String>,
}

impl Values {
    /// The trainee's callsign.
    #[must_use]
    pub fn callsign(&self) -> &Callsign {
        &self.callsign
    }

    /// Element and canonical value of a slot.
    #[must_use]
    pub fn get(&self, slot: &str) -> Option<(Option<Element>, &str)> {
        self.drawn.get(slot).map(|(element, value)| (*element, value.as_str()))
    }

    /// The slots that have a value.
    pub fn slots(&self) -> impl Iterator<Item = &str> {
        ["callsign"].into_iter().chain(self.drawn.keys().map(String::as_str))
    }

    /// What a call of the trainee must carry: the station if it is addressed, and the slots.
    #[must_use]
    pub fn wanted(&self, station: &Station, addressed: bool, with: &[String]) -> Vec<(Element, String)> {
        let unit = addressed.then(|| (Element::Unit, station.name.clone()));
        let slots = with.iter().filter_map(|slot| {
            let (element, value) = self.get(slot)?;
            Some((element?, value.to_owned()))
        });
        unit.into_iter().chain(slots).collect()
    }

    /// True if the slot has a value.
    #[must_use]
    pub fn has(&self, slot: &str) -> bool {
        slot == "callsign" || self.drawn.contains_key(slot)
    }

    /// The value of a slot as it is said.
    #[must_use]
    pub fn spoken(&self, slot: &str) -> Option<String> {
        if slot == "callsign" {
            return Some(self.callsign.spoken(self.standard));
        }
        if let Some(words) = self.said.get(slot) {
            return Some(words.clone());
        }
        self.get(slot).map(|(element, value)| match element {
            Some(element) => spoken(self.standard, element, value),
            None => plain_words(value),
        })
    }

    /// The value of a slot as it looks on an instrument or a sheet of paper.
    #[must_use]
    pub fn written(&self, slot: &str) -> Option<String> {
        if slot == "callsign" {
            return Some(self.callsign.written());
        }
        self.get(slot).map(|(element, value)| match element {
            Some(element) => written(element, value),
            None => value.to_owned(),
        })
    }
}

/// Plain words as they are, a number digit by digit.
fn plain_words(value: &str) -> String {
    match value.parse::<i64>() {
        Ok(number) => {
            let minus = if number < 0 { "minus " } else { "" };
            format!("{minus}{}", digits(value))
        }
        Err(_) => value.to_owned(),
    }
}
