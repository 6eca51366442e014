//! Several transmissions of a station in one, as busy controllers speak.

use super::Leads;
use super::draw::{Exchange, RadioExchange, Turn};
use std::collections::BTreeSet;

/// Joins transmissions of one station that follow each other with nothing between, two at a time.
pub(super) fn join(callsign: &str, exchanges: &mut Vec<Exchange>, leads: &mut Vec<Leads>) {
    let ways = leads.iter().flat_map(|lead| [lead.then, lead.wrong, lead.unable]).flatten();
    let targets: BTreeSet<usize> = ways.collect();
    let mut out: Vec<Exchange> = Vec::new();
    let mut kept: Vec<Leads> = Vec::new();
    let mut places = Vec::new();
    let mut whole = false;
    for (at, (exchange, lead)) in exchanges.drain(..).zip(leads.drain(..)).enumerate() {
        let free = !whole && !targets.contains(&at) && kept.last().is_some_and(goes_on);
        if free
            && let Some(text) = after(callsign, &exchange)
            && let Some(Exchange::Radio(RadioExchange {
                station,
                turn: Turn::Station { says, cut: None, unable },
                ..
            })) = out.last_mut()
            && exchange.radio().is_some_and(|radio| radio.station.id == station.id)
        {
            says.push_str(", ");
            says.push_str(&text);
            *unable = None;
            if let Some(last) = kept.last_mut() {
                *last = lead;
            }
            whole = true;
        } else {
            whole = false;
            out.push(exchange);
            kept.push(lead);
        }
        places.push(out.len() - 1);
    }
    let place = |to: usize| places.get(to).copied().unwrap_or(out.len());
    for lead in &mut kept {
        *lead = lead.moved(place);
    }
    *exchanges = out;
    *leads = kept;
}

/// True if nothing but the next exchange follows.
fn goes_on(lead: &Leads) -> bool {
    lead.then.is_none() && lead.wrong.is_none() && lead.unable.is_none()
}

/// What a station says without the callsign, if it can follow something else it says.
fn after(callsign: &str, exchange: &Exchange) -> Option<String> {
    let radio = exchange.radio().filter(|radio| radio.cue.is_none() && radio.duty.radio)?;
    let Turn::Station { says, cut: None, unable: None } = &radio.turn else { return None };
    let rest = says.strip_prefix(callsign)?.strip_prefix(", ")?;
    Some(rest.to_owned())
}
