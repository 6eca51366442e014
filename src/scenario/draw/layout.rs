//! A flight at an airport with a network: the wind is drawn first, and runway, ways, vectors and broadcast follow.

use super::weather::setting;
use super::{Draw, Values, happens};
use crate::airport::approach::{Approach, VISUAL};
use crate::airport::atis::{Broadcast, Cloud, Cover, Expected, say_cloud, say_visibility, write_visibility};
use crate::airport::layout::{AIRLINER, Layout, Runway};
use crate::airport::network::{Node, Route};
use crate::airport::vectors::{Side, vectors};
use crate::airport::wind::Wind;
use crate::airport::{Airport, Apron, Arrival, Departure, Hold};
use crate::element::{Element, Standard};
use crate::text::speak::spoken;
use std::sync::Arc;

/// Slots that hang together at an airport with a network, besides those of every airport.
const NARROWED: [&str; 6] = ["landing_runway", "arrival", "star", "exit", "qnh", "altimeter"];

/// True if a layout draws this slot, narrowed by what the scenario allows.
pub(super) fn narrows(layout: &Layout, slot: &str) -> bool {
    let descends = || layout.runways.iter().any(|runway| !runway.approaches.is_empty());
    NARROWED.contains(&slot) || slot == "approach_type" && descends()
}

/// How much of the winds is gusty; this program's own.
const GUSTY: f64 = 0.2;

/// Where a flight moves.
struct Ground<'a> {
    layout: &'a Layout,
    wind: Wind,
    landing: &'a Runway,
    departing: &'a Runway,
}

/// Metres to see and feet below the cloud where the pilot has to see the airport early; this program's own.
const SIGHT: (i64, i64) = (6000, 2000);

impl Values {
    fn put(&mut self, slot: &str, element: Element, value: impl Into<String>) {
        self.drawn.insert(slot.to_owned(), (Some(element), value.into()));
    }

    /// Plain words that are said otherwise than written.
    fn words(&mut self, slot: &str, written: impl Into<String>, said: impl Into<String>) {
        self.drawn.insert(slot.to_owned(), (None, written.into()));
        self.said.insert(slot.to_owned(), said.into());
    }
}

impl Draw<'_> {
    /// Draws everything that a layout computes.
    pub(super) fn layout(&self, layout: &Layout, values: &mut Values) -> Option<()> {
        let airport = &*self.scenario.airport;
        let ground = self.ground(layout)?;
        values.put("wind", Element::Wind, ground.wind.canonical());
        values.put("landing_runway", Element::Runway, &ground.landing.designator);
        self.leaving(&ground, values)?;
        let stand = self.stand(&ground, values)?;
        self.coming(&ground, stand, values)?;
        let approach = self.down(&ground, values);
        self.led(&ground, approach.as_ref(), values)?;
        self.information(values)?;
        let codes = self.pick("squawk block", &airport.squawks)?;
        let code = self.between("squawk", &(i64::from(*codes.start())..=i64::from(*codes.end())))?;
        values.put("squawk", Element::Squawk, format!("{code:04o}"));
        self.air(&ground, approach.as_ref(), values)
    }

    /// Departures from a runway that the scenario allows.
    fn departures<'a>(&'a self, runway: &'a str) -> impl Iterator<Item = &'a Departure> {
        self.scenario.airport.departures.iter().filter(move |d| {
            d.runways.iter().any(|name| name == runway)
                && self.allows("sid", &d.name)
                && d.destinations.iter().any(|x| self.allows("destination", x))
        })
    }

    /// Arrivals to a runway that the scenario allows.
    fn arrivals<'a>(&'a self, runway: &'a String) -> impl Iterator<Item = &'a Arrival> {
        let allowed =
            |arrival: &Arrival| self.allows("arrival", &arrival.name) && self.allows("star", &arrival.name);
        let arrivals = self.scenario.airport.arrivals.iter();
        arrivals.filter(move |arrival| arrival.runways.contains(runway) && allowed(arrival))
    }

    /// True if the scenario allows these runways, and what it allows besides is found there.
    fn fits(&self, layout: &Layout, landing_runway: &Runway, departing: &Runway) -> bool {
        let (landing, departing) = (&landing_runway.designator, &departing.designator);
        let named = |slot: &str| self.scenario.values.iter().any(|choice| choice.name == slot);
        let descends = !named("approach_type")
            || !narrows(layout, "approach_type")
            || layout.approaches(landing_runway).any(|approach| self.allows("approach_type", approach.kind));
        let arrives = !(named("arrival") || named("star")) || self.arrivals(landing).next().is_some();
        self.allows("runway", departing)
            && self.allows("landing_runway", landing)
            && self.departures(departing).next().is_some()
            && layout.entries(departing).any(|node| self.allows("holding_point", &node.id))
            && layout.exits(landing).any(|node| self.allows("exit", &node.id))
            && arrives
            && descends
    }

    /// A wind, and the runways it makes those in use: such as fit the scenario. Where the drawn speed leaves none,
    /// because the wind is too light or too strong for a runway, every speed of the airport is open.
    fn ground<'a>(&self, layout: &'a Layout) -> Option<Ground<'a>> {
        let speeds = &self.scenario.airport.wind;
        let speed = u16::try_from(self.between("wind speed", speeds)?).ok()?;
        let gusts = speed >= 8 && happens(&mut self.chance("gust"), GUSTY);
        let over = u16::try_from(self.between("gust over mean", &(10..=14))?).ok()?;
        let grounds = |speed: u16, gust: u16| {
            let winds =
                (1..=36).map(move |tens| Wind { from: if speed == 0 { 0 } else { tens * 10 }, speed, gust });
            winds.filter_map(move |wind| {
                let (landing, departing) = layout.in_use(wind)?;
                self.fits(layout, landing, departing).then_some(Ground { layout, wind, landing, departing })
            })
        };
        let mut found: Vec<Ground<'a>> = grounds(speed, if gusts { speed + over } else { 0 }).collect();
        if found.is_empty() {
            let speeds = speeds.clone().filter_map(|speed| u16::try_from(speed).ok());
            found = speeds.flat_map(|speed| grounds(speed, 0)).collect();
        }
        let at = self.below("wind direction", found.len() as u64)?;
        found.into_iter().nth(usize::try_from(at).ok()?)
    }

    /// The departure.
    fn leaving(&self, ground: &Ground<'_>, values: &mut Values) -> Option<()> {
        let runway = &ground.departing.designator;
        let departures: Vec<&Departure> = self.departures(runway).collect();
        let departure = *self.pick("departure", &departures)?;
        values.put("runway", Element::Runway, runway);
        values.put("sid", Element::Sid, &departure.name);
        values.put("level", Element::Level, &departure.initial);
        for (n, point) in departure.points.iter().enumerate() {
            let slot = if n == 0 { "point".to_owned() } else { format!("point_{}", n + 1) };
            values.put(&slot, Element::Point, point);
        }
        let allowed = departure.destinations.iter().filter(|d| self.allows("destination", d));
        let destinations: Vec<&String> = allowed.collect();
        values.put("destination", Element::ClearanceLimit, *self.pick("destination", &destinations)?);
        Some(())
    }

    /// The stand, and the way from it to the runway.
    fn stand(&self, ground: &Ground<'_>, values: &mut Values) -> Option<&str> {
        let airport = &*self.scenario.airport;
        let runway = &ground.departing.designator;
        let network = &ground.layout.network;
        let entries: Vec<&str> = ground
            .layout
            .entries(runway)
            .map(|node| node.id.as_str())
            .filter(|id| self.allows("holding_point", id))
            .collect();
        let from = network.reaching(&entries, Some(AIRLINER));
        let roomy = |node: &Node| node.code.is_none_or(|code| code >= AIRLINER);
        let stands: Vec<(&Apron, &String)> = airport
            .aprons
            .iter()
            .flat_map(|apron| apron.stands.iter().map(move |stand| (apron, stand)))
            .filter(|(_, stand)| {
                self.allows("stand", stand)
                    && from.contains(stand.as_str())
                    && network.node(stand).is_some_and(roomy)
            })
            .collect();
        let (apron, stand) = self.pick("stand", &stands)?;
        values.put("stand", Element::Stand, *stand);
        values.drawn.insert("face".to_owned(), (None, self.pick("face", &apron.face)?.clone()));
        let ways: Vec<(&str, Arc<Route>)> = entries
            .into_iter()
            .filter_map(|entry| Some((entry, ground.layout.route(stand, entry)?)))
            .filter(|(_, route)| (1..=LONGEST).contains(&route.said().len()))
            .collect();
        let ways = nearest(ways, |(_, route)| route);
        let (entry, route) = self.pick("taxi", &ways)?;
        values.put("holding_point", Element::HoldingPoint, *entry);
        values.put("taxi_route", Element::TaxiRoute, route.said().join(" "));
        ground.crossings("crossing", route, values);
        if ground.layout.backtracks(ground.departing) {
            values.put("backtrack", Element::Runway, runway);
        }
        Some(stand.as_str())
    }

    /// The arrival, where the runway is left, and the way to the stand.
    fn coming(&self, ground: &Ground<'_>, stand: &str, values: &mut Values) -> Option<()> {
        let airport = &*self.scenario.airport;
        let runway = &ground.landing.designator;
        let arrivals: Vec<&Arrival> = self.arrivals(runway).collect();
        let arrival = self.pick("arrival", &arrivals).copied();
        if let Some(arrival) = arrival {
            for slot in ["arrival", "star"] {
                values.put(slot, Element::Star, &arrival.name);
            }
        }
        let exits = ground.layout.exits(runway).filter(|node| self.allows("exit", &node.id));
        let ways: Vec<(&str, Arc<Route>, Vec<String>)> = exits
            .filter_map(|node| {
                let route = ground.layout.route(&node.id, stand)?;
                // The exit has been named already.
                let named = route.taxiways.len() > 1 && route.taxiways.first() == Some(&node.id);
                let said = route.said().get(usize::from(named)..)?.to_vec();
                (1..=LONGEST).contains(&said.len()).then_some((node.id.as_str(), route, said))
            })
            .collect();
        let ways = nearest(ways, |(_, route, _)| route);
        let (exit, route, said) = self.pick("exit", &ways)?;
        values.put("exit", Element::TaxiRoute, *exit);
        values.put("taxi_in", Element::TaxiRoute, said.join(" "));
        ground.crossings("crossing_in", route, values);
        if ground.layout.turns_back(ground.landing) {
            values.put("backtrack_in", Element::Runway, runway);
        }
        // On the arrival if it has one.
        let passed = |hold: &&Hold| arrival.is_some_and(|arrival| arrival.fixes.contains(&hold.fix));
        let mut holds: Vec<&Hold> = airport.holds.iter().filter(passed).collect();
        if holds.is_empty() {
            holds.extend(&airport.holds);
        }
        if let Some(hold) = self.pick("hold", &holds) {
            values.put("hold_fix", Element::Point, &hold.fix);
            values.put("hold_inbound", Element::Heading, &hold.inbound);
            values.put("hold_turn", Element::Turn, hold.turn.name());
        }
        Some(())
    }

    /// The approach, and where it is followed by circling; `None` if the file tells of none.
    fn down<'a>(&self, ground: &Ground<'a>, values: &mut Values) -> Option<Approach<'a>> {
        let allowed = |approach: &Approach<'_>| self.allows("approach_type", approach.kind);
        let approaches: Vec<Approach<'a>> =
            ground.layout.approaches(ground.landing).filter(allowed).collect();
        let approach = *self.pick("approach", &approaches)?;
        values.put("approach_type", Element::Approach, approach.kind);
        values.said.insert("approach_type".to_owned(), approach.said(values.standard).to_owned());
        values.put("approach_runway", Element::Runway, &approach.to.designator);
        if approach.kind == VISUAL {
            values.put("visual", Element::Runway, &approach.landing.designator);
        }
        if approach.circles() {
            values.put("circling", Element::Runway, &approach.landing.designator);
        }
        Some(approach)
    }

    /// Headings: after take-off, and to the final approach.
    fn led(&self, ground: &Ground<'_>, approach: Option<&Approach<'_>>, values: &mut Values) -> Option<()> {
        let side = *self.pick("vector side", &[Side::Left, Side::Right])?;
        let final_course = approach.map_or(ground.landing, |approach| approach.to).bearing;
        let led = vectors(final_course, 30.0, side).ok()?;
        let headings = [
            ("vector_downwind", led.downwind),
            ("vector_base", led.base),
            ("vector_intercept", led.intercept),
        ];
        for (slot, heading) in headings {
            values.put(slot, Element::Heading, format!("{heading:03}"));
        }
        values.put("vector_side", Element::Turn, side.name());
        let turn = *self.pick("turn", &[-1_i64, 1])?;
        let along = (ground.departing.bearing / 10.0).round() as i64 * 10;
        let heading = (along + turn * 10 * self.between("heading", &(2..=7))? + 350) % 360 + 10;
        values.put("turn", Element::Turn, if turn < 0 { "left" } else { "right" });
        values.put("heading", Element::Heading, format!("{heading:03}"));
        Some(())
    }

    /// Pressure, view, cloud and temperatures that go together, and the broadcast that says them. How they go
    /// together is this program's own: mist in damp air with little wind, cloud the lower the damper the air is, and
    /// the more the lower the pressure; no mist and no low cloud where the approach is flown by sight.
    fn air(&self, ground: &Ground<'_>, approach: Option<&Approach<'_>>, values: &mut Values) -> Option<()> {
        let airport = &*self.scenario.airport;
        let standard = values.standard;
        let qnh = self.pressure(values)?;
        let altimeter = setting(standard, qnh);
        let temperature = self.between("temperature", &airport.temperature)?;
        let spread = self.between("spread", &(0..=14))?;
        let damp = match (spread, ground.wind.speed) {
            (0 | 1, ..=8) => 300..=5000,
            (..=3, _) => 3000..=9999,
            _ => 10_000..=10_000,
        };
        let wanted = &ground.layout.visibility;
        let sight = approach.filter(|approach| approach.by_sight()).map(|_| SIGHT);
        let seen = self.between("visibility", &damp)?.max(sight.map_or(0, |(view, _)| view));
        let seen = seen.clamp(*wanted.start(), *wanted.end());
        let seen = if seen > 5000 { seen / 1000 * 1000 } else { (seen / 100 * 100).max(100) };
        // A short view comes from damp air.
        let spread = if seen <= 5000 { spread.min(3) } else { spread };
        let cover = match qnh {
            ..1005 => &Cover::ALL[2..],
            1020.. => &Cover::ALL[..2],
            _ => &Cover::ALL[..],
        };
        let base = self.between("cloud base", &(spread * 4 - 1..=spread * 4 + 3))?.max(2) * 100;
        let base = base.max(sight.map_or(0, |(_, base)| base));
        let cloud = Cloud { cover: *self.pick("cloud", cover)?, base: u32::try_from(base).ok()? };
        let visibility = u32::try_from(seen).ok()?;
        let clear = airport.minimum_sector.map_or(5000, |least| (least - airport.elevation).max(5000));
        let cloud = (base < clear).then_some(cloud);
        values.words(
            "visibility",
            write_visibility(standard, visibility),
            say_visibility(standard, visibility),
        );
        let written = cloud.map_or("none that matters".to_owned(), |cloud| {
            format!("{} {} ft", cloud.cover.name(), cloud.base)
        });
        values.words("cloud", written, say_cloud(standard, cloud));
        values.drawn.insert("temperature".to_owned(), (None, temperature.to_string()));
        let dew_point = temperature - spread;
        values.drawn.insert("dew_point".to_owned(), (None, dew_point.to_string()));
        let level = ground.layout.transition.level(airport.transition_altitude, qnh);
        let level = level.filter(|_| standard != Standard::Us);
        if let Some(level) = level {
            values.put("transition_level", Element::Level, format!("FL{level:03}"));
            let said = spoken(standard, Element::Level, &format!("FL{level:03}"));
            let said = said.trim_start_matches("flight level ").to_owned();
            // The words before it say what it is.
            values.said.insert("transition_level".to_owned(), said);
        }
        let hour = u8::try_from(self.below("hour", 24)?).ok()?;
        let minute = *self.pick("minute", &[20_u8, 50])?;
        let broadcast = Broadcast {
            airport: airport.name.clone(),
            letter: values.get("information")?.1.chars().next()?,
            time: (hour, minute),
            approach: approach.map(|approach| Expected {
                kind: approach.said(standard).to_owned(),
                to: approach.to.designator.clone(),
            }),
            landing: ground.landing.designator.clone(),
            departing: ground.departing.designator.clone(),
            transition_level: level,
            wind: ground.wind,
            visibility,
            cloud,
            temperature,
            dew_point,
            altimeter,
        };
        values.drawn.insert("atis".to_owned(), (None, broadcast.spoken(standard)));
        Some(())
    }
}

/// Slots that few flights at an airport may have: runways on the way.
pub(in crate::scenario) fn rare(airport: &Airport) -> Vec<String> {
    let Some(layout) = &airport.layout else { return Vec::new() };
    let (out, back) = layout.most_crossings();
    let numbered = |slot: &'static str, most: usize| {
        (1..=most).map(move |n| if n == 1 { slot.to_owned() } else { format!("{slot}_{n}") })
    };
    numbered("crossing", out).chain(numbered("crossing_in", back)).collect()
}

/// The most taxiways that one transmission can name and a listener's reply is read for.
const LONGEST: usize = 10;

/// The ways that cross the fewest runways: nobody is sent to the other side of a runway without need.
fn nearest<T>(mut ways: Vec<T>, route: impl Fn(&T) -> &Route) -> Vec<T> {
    let fewest = ways.iter().map(|way| route(way).crossings.len()).min();
    ways.retain(|way| Some(route(way).crossings.len()) == fewest);
    ways
}

impl Ground<'_> {
    /// Runways on the way, in order: `slot`, `slot_2` and so on; before the first the holding point and the way to it.
    fn crossings(&self, slot: &str, route: &Route, values: &mut Values) {
        if let Some(first) = route.crossings.first() {
            if let Some(point) = &first.holding_point {
                values.put(&format!("{slot}_point"), Element::HoldingPoint, point);
            }
            let before = route.said_before(first).join(" ");
            if !before.is_empty() {
                values.put(&format!("{slot}_route"), Element::TaxiRoute, before);
            }
        }
        for (n, crossing) in route.crossings.iter().enumerate() {
            let slot = if n == 0 { slot.to_owned() } else { format!("{slot}_{}", n + 1) };
            values.put(&slot, Element::Runway, self.layout.crossed(&crossing.runway, self.wind));
        }
    }
}
