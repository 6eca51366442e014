//! Other aircraft on the frequency: the station tells them what it might have told the trainee on another day.

use super::difficulty::Difficulty;
use super::draw::{
    Exchange, OPERATORS, OtherExchange, RadioExchange, Turn, Values, chance, draw, draw_values, happens,
};
use super::{Leads, Scenario};
use crate::callsign::Callsign;
use crate::element::Standard;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// Days whose flights lend their transmissions, and how many are looked through for them.
const DAYS: usize = 8;
const SEARCHED: u64 = 64;

/// What stations say on other days on which the same runways are used, by station; with the weather of today.
fn lent(scenario: &Scenario, standard: Standard, seed: u64) -> Vec<(String, String)> {
    let Some(today) = draw_values(scenario, standard, seed) else { return Vec::new() };
    let fits =
        |values: &Values| ["runway", "landing_runway"].iter().all(|slot| today.get(slot) == values.get(slot));
    let mut out = Vec::new();
    let days = (1..=SEARCHED).map(|day| seed.wrapping_add(day));
    let days = days.filter_map(|day| Some((day, draw_values(scenario, standard, day).filter(fits)?)));
    for (day, values) in days.take(DAYS) {
        for exchange in draw(scenario, standard, day).into_iter().flat_map(|flight| flight.exchanges) {
            let Exchange::Radio(RadioExchange { station, turn: Turn::Station { mut says, .. }, .. }) =
                exchange
            else {
                continue;
            };
            for slot in WEATHER {
                if let (Some(then), Some(now)) = (values.spoken(slot), today.spoken(slot)) {
                    says = says.replace(&then, &now);
                }
            }
            out.push((station.id, says));
        }
    }
    out
}

/// Slots that are the same for everybody on one day.
const WEATHER: [&str; 5] = ["wind", "qnh", "information", "next_qnh", "next_information"];

/// Puts talk with other aircraft before transmissions of a station that the trainee already listens to.
pub(super) fn add_traffic(
    scenario: &Scenario,
    standard: Standard,
    seed: u64,
    own: &Callsign,
    exchanges: &mut Vec<Exchange>,
    leads: &mut Vec<Leads>,
) {
    let share = Difficulty::of(scenario.difficulty).traffic;
    if share <= 0.0 {
        return;
    }
    let mut chance = chance(&scenario.id, seed, "traffic");
    let plain = Scenario { difficulty: 1, ..scenario.clone() };
    let others = lent(&plain, standard, seed);
    let spoken = own.spoken(standard);
    let mut out = Vec::new();
    // Where each exchange has come to lie.
    let mut places = Vec::new();
    let mut tuned: Option<String> = None;
    for exchange in std::mem::take(exchanges) {
        if let Exchange::Radio(radio) = &exchange
            && radio.duty.radio
        {
            let here = tuned.as_deref() == Some(&*radio.station.id);
            let lines: Vec<&String> =
                others.iter().filter(|(id, _)| *id == radio.station.id).map(|(_, says)| says).collect();
            if here && radio.cue.is_none() && !lines.is_empty() && happens(&mut chance, share) {
                let at = usize::try_from(chance.next_u32()).unwrap_or(0) % lines.len();
                if let Some(callsign) = other(own, &mut chance) {
                    let says = lines[at].replace(&spoken, &callsign.spoken(standard));
                    let station = radio.station.clone();
                    out.push(Exchange::Other(OtherExchange { duty: radio.duty, station, callsign, says }));
                }
            }
            tuned = Some(radio.station.id.clone());
        }
        places.push(out.len());
        out.push(exchange);
    }
    let place = |to: usize| places.get(to).copied().unwrap_or(out.len());
    let mut moved = vec![Leads::default(); out.len()];
    for (at, lead) in leads.iter().enumerate() {
        moved[place(at)] = lead.moved(place);
    }
    *leads = moved;
    *exchanges = out;
}

/// Another callsign: now and then one that sounds like the trainee's.
fn other(own: &Callsign, chance: &mut ChaCha8Rng) -> Option<Callsign> {
    let written = own.written();
    let (name, flight) = written.rsplit_once(' ')?;
    let draw = chance.next_u32();
    if draw.is_multiple_of(3) {
        let mut digits: Vec<u8> = flight.bytes().collect();
        let last = digits.iter().rposition(u8::is_ascii_digit)?;
        let turned = last.checked_sub(1).filter(|before| digits[*before] != digits[last]);
        match turned {
            Some(before) => digits.swap(before, last),
            None => digits[last] = if digits[last] == b'9' { b'8' } else { digits[last] + 1 },
        }
        let text = String::from_utf8(digits).ok()?;
        return Callsign::parse(&format!("{name} {text}"));
    }
    let operator = OPERATORS[usize::try_from(draw / 3).unwrap_or(0) % OPERATORS.len()];
    let number = 100 + chance.next_u32() % 800;
    Callsign::parse(&format!("{operator} {number}")).filter(|callsign| callsign.written() != written)
}
