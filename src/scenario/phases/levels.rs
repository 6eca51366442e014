//! Levels of a generated flight that the airport's heights leave room for.
//!
//! How far they lie apart is this program's own choice; that they keep above the lowest vectoring altitude and the
//! transition level is not.

use crate::airport::Airport;
use crate::airport::value::feet;

/// Slots with the canonical levels they are drawn from; a slot for which there is no room is left out.
pub(super) fn levels(airport: &Airport) -> Vec<(&'static str, Vec<String>)> {
    let transition = airport.transition_altitude;
    let level =
        |feet: i64| if feet > transition { format!("FL{:03}", feet / 100) } else { format!("{feet}ft") };
    let up = |feet: i64, step: i64| feet.div_euclid(step) * step + if feet % step == 0 { 0 } else { step };
    let steps = |from: i64, step: i64, count: i64| -> Vec<String> {
        (0..count).map(|n| level(from + n * step)).collect()
    };
    let first = airport.departures.iter().filter_map(|d| feet(&d.initial));
    let (least, most) = first.fold((i64::MAX, 0), |(least, most), x| (least.min(x), most.max(x)));
    // The lowest flight level that is usable at any pressure; where the transition is high, altitudes do.
    let high = transition >= 17_000;
    let layer = if high { 10_000.max(airport.elevation + 6000) } else { transition + 3000 };
    let climb = up(layer.max(most + 1000), 1000);
    let cruise = up(climb + 12_000, 10_000).max(24_000);
    let mut out = vec![("climb", steps(climb, 1000, 4)), ("cruise", steps(cruise, 2000, 5))];
    let passing = up(airport.elevation + 1400, 100);
    let passed: Vec<String> = (0..9).map(|n| passing + n * 100).filter(|x| *x < least).map(level).collect();
    out.push(("passing", passed));
    // Down to the approach.
    let lowest = airport.minimum_vectoring.unwrap_or(0).max(airport.elevation + 1900);
    let last = up(lowest, 500);
    let finals: Vec<i64> = [last, last + 500].into_iter().filter(|x| x + 500 <= transition).collect();
    let Some(above) = finals.last() else { return out };
    let altitude: Vec<i64> = (1..=4).map(|n| above + n * 500).filter(|x| *x <= transition).collect();
    let top = altitude.last().copied().unwrap_or(*above);
    let descent = up(layer.max(top + 1000), 1000);
    out.push(("final_altitude", finals.iter().copied().map(level).collect()));
    out.push(("altitude", altitude.into_iter().map(level).collect()));
    out.push(("descent", steps(descent, 1000, 3)));
    out.push(("arrival_level", steps(descent + 4000, 1000, 4)));
    out.retain(|(_, values)| !values.is_empty());
    out
}
