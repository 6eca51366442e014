//! Two routes that came back as one: *vacate via Alfa, taxi via Bravo* answered by *via Alfa Bravo*.

use super::Case;
use super::need::Need;
use crate::parse::Heard;
use crate::rules::Duty;
use crate::value::Value;

/// The taxiways of a route.
fn ways(heard: &Heard) -> Option<Vec<u16>> {
    match heard.slot?.1.value {
        Value::Route(ways, count) => Some(ways[..usize::from(count)].to_vec()),
        _ => None,
    }
}

impl Case<'_> {
    /// Matches two routes, neither of which came back alone, with one that is both, in order.
    pub(super) fn joined_routes(&mut self, used: &mut [bool]) {
        let open = |need: &Need| need.matched.is_none() && need.duty != Duty::None;
        let list = &self.needs.list;
        let routes: Vec<(usize, Vec<u16>)> = list
            .iter()
            .enumerate()
            .filter(|(_, need)| open(need))
            .filter_map(|(n, need)| ways(&need.heard).map(|w| (n, w)))
            .collect();
        let [(first, a), (second, b)] = &routes[..] else { return };
        let both = [&a[..], &b[..]].concat();
        let heard = &self.heard.heard;
        let Some(i) = heard.iter().enumerate().position(|(i, h)| !used[i] && ways(h).as_ref() == Some(&both))
        else {
            return;
        };
        let (first, second) = (*first, *second);
        used[i] = true;
        self.needs.list[first].matched = Some(i);
        self.needs.list[second].matched = Some(i);
    }
}
