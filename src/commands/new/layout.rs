//! The file of a new airport: one runway, a taxiway beside it, an apron, and a way out and in for each end.

use super::ask::quoted;
use super::toml_list;
use crate::airport::bearing::reciprocal;
use std::fmt::Write as _;

/// What is known of it.
pub(super) struct Facts<'a> {
    pub(super) name: &'a str,
    pub(super) standard: &'a str,
    /// One end of the runway.
    pub(super) runway: &'a str,
    /// Feet.
    pub(super) elevation: i64,
    /// Feet.
    pub(super) transition: i64,
    /// Metres.
    pub(super) length: i64,
    pub(super) stands: Vec<&'a str>,
    /// With commas.
    pub(super) destinations: &'a str,
}

/// Metres from the centre line of the runway: where aircraft hold, the taxiway, the lane before the stands, the
/// stands.
const HOLD: i64 = 95;
const BESIDE: i64 = 185;
const LANE: i64 = 290;
const STANDS: i64 = 350;
/// Metres from one stand to the next.
const APART: i64 = 50;

impl Facts<'_> {
    /// The whole file.
    pub(super) fn text(&self) -> String {
        let mut out = format!(
            "# {name}: an airport with one runway and a taxiway beside it.
# Everything here is drawn from for a flight: no value is fixed but by its list. Names should be invented.
format = 1
# As it is spoken.
name = {quoted}
# Feet above mean sea level.
elevation = {elevation}
transition_altitude = {transition}
# The rule set that is spoken here: icao, eu, uk or us.
standard = '{standard}'
# Letters that the broadcast can carry.
information = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ'
# Degrees from true to magnetic north, east positive. Bearings of runways are true, headings magnetic.
variation = 0.0
# What a runway may have of the wind, in knots, before the other end is taken.
limits = {{ crosswind = 20, tailwind = 5 }}
# Feet: no flight is led lower, and none is safe everywhere below the second.
minimum_vectoring_altitude = {lowest}
minimum_sector_altitude = {sector}
# How much else moves: light, moderate or heavy.
traffic = 'moderate'

",
            name = self.name,
            quoted = quoted(self.name),
            elevation = self.elevation,
            transition = self.transition,
            standard = self.standard,
            lowest = self.lowest(),
            sector = self.lowest() + 1000,
        );
        self.network(&mut out);
        self.stations(&mut out);
        self.runways(&mut out);
        self.procedures(&mut out);
        out.push_str(
            "# What the weather can be: hectopascals, knots, degrees Celsius.
[weather]
qnh = { from = 984, to = 1034 }
wind = { from = 4, to = 18 }
temperature = { from = -4, to = 24 }

# Transponder codes that are given out.
[[squawk]]
from = '4401'
to = '4477'
",
        );
        out
    }

    /// The lowest altitude for vectors: some way above the airport.
    fn lowest(&self) -> i64 {
        (self.elevation.max(0) + 1999) / 100 * 100
    }

    fn other(&self) -> String {
        reciprocal(self.runway).unwrap_or_else(|| self.runway.to_owned())
    }

    /// True bearing of the runway, in degrees.
    fn bearing(&self) -> i64 {
        self.runway.get(..2).and_then(|digits| digits.parse::<i64>().ok()).unwrap_or(9) * 10
    }

    /// Metres east and north of a place `along` the runway from its beginning and `beside` it to the right.
    fn place(&self, along: i64, beside: i64) -> (i64, i64) {
        let (sin, cos) = (self.bearing() as f64).to_radians().sin_cos();
        let (along, beside) = (along as f64, beside as f64);
        ((along * sin + beside * cos).round() as i64, (along * cos - beside * sin).round() as i64)
    }

    /// Taxiways: the one beside the runway, two to the apron, and the lane there. No stand begins with their letters.
    fn letters(&self) -> Vec<char> {
        let taken = |letter: char| self.stands.iter().any(|stand| stand.starts_with(letter));
        "ABCDEFGHKLMNPQRST".chars().filter(|letter| !taken(*letter)).take(4).collect()
    }

    fn network(&self, out: &mut String) {
        let letters = self.letters();
        let [main, first, second, lane] = letters[..] else { return };
        let (one, other, length) = (self.runway, self.other(), self.length);
        let low = |letter: char| letter.to_ascii_lowercase();
        let node = |out: &mut String, id: &str, along: i64, beside: i64, rest: &str| {
            let (x, y) = self.place(along, beside);
            let _ = writeln!(out, "  {{ id = {}, x = {x}, y = {y}{rest} }},", quoted(id));
        };
        out.push_str(
            "# Places on the ground, in metres east and north of the beginning of the runway. A holding point, an exit and a
# stand bear the name that is said; `exits` are the runways one leaves there after landing.
node = [
",
        );
        // Where an airliner that lands on one end and on the other can turn off.
        let off = (length * 2 / 3).max(1_050).min(length - 120);
        let stubs = [
            (60, format!(", kind = 'holding_point', runways = ['{one}'], exits = ['{other}']")),
            (length - off, format!(", kind = 'exit', exits = ['{other}']")),
            (off, format!(", kind = 'exit', exits = ['{one}']")),
            (length - 60, format!(", kind = 'holding_point', runways = ['{other}'], exits = ['{one}']")),
        ];
        for (n, (along, rest)) in stubs.iter().enumerate() {
            node(out, &format!("{main}{}", n + 1), *along, HOLD, rest);
        }
        let count = i64::try_from(self.stands.len()).unwrap_or(1);
        let from = length / 2 - (count - 1) * APART / 2;
        let doors = [from - 60, from + (count - 1) * APART + 60];
        let mut beside: Vec<(i64, String)> = stubs
            .iter()
            .enumerate()
            .map(|(n, (along, _))| (*along, format!("{}{}", low(main), n + 1)))
            .collect();
        beside.push((doors[0], format!("{}{}", low(main), low(first))));
        beside.push((doors[1], format!("{}{}", low(main), low(second))));
        beside.sort();
        out.push_str("  # The taxiway beside the runway.\n");
        for (along, id) in &beside {
            node(out, id, *along, BESIDE, "");
        }
        out.push_str("  # The apron.\n");
        let ends = [format!("{}0", low(lane)), format!("{}{}", low(lane), count + 1)];
        node(out, &ends[0], doors[0], LANE, "");
        for (n, stand) in (0..).zip(&self.stands) {
            let bend = format!("{}{}", low(lane), n + 1);
            node(out, &bend, from + n * APART, LANE, "");
            let rest = format!(", kind = 'stand', joins = ['{bend}'], code = 'C'");
            node(out, stand, from + n * APART, STANDS, &rest);
        }
        node(out, &ends[1], doors[1], LANE, "");
        out.push_str("]\n\n# Taxiways: the name that is said, and the places in order.\ntaxiway = [\n");
        let mut way = |name: &str, nodes: &[String]| {
            let nodes: Vec<String> = nodes.iter().map(|id| quoted(id)).collect();
            let _ = writeln!(out, "  {{ name = '{name}', nodes = [{}], code = 'D' }},", nodes.join(", "));
        };
        way(&main.to_string(), &beside.into_iter().map(|(_, id)| id).collect::<Vec<_>>());
        for n in 1..=4 {
            way(&format!("{main}{n}"), &[format!("{}{n}", low(main)), format!("{main}{n}")]);
        }
        way(&first.to_string(), &[format!("{}{}", low(main), low(first)), ends[0].clone()]);
        way(&second.to_string(), &[format!("{}{}", low(main), low(second)), ends[1].clone()]);
        let bends = (0..=count + 1).map(|n| format!("{}{n}", low(lane))).collect::<Vec<_>>();
        way(&lane.to_string(), &bends);
        out.push_str("]\n\n");
    }

    fn stations(&self, out: &mut String) {
        out.push_str("# Who can be spoken to: the name in scenarios, the name on the radio, megahertz.\n");
        // The American rule set has channels of 25 kHz only.
        let (clearance, last, channels) = match self.standard {
            "us" => (
                ("clearance", "Clearance"),
                ("center", "Center"),
                ["121.650", "121.800", "118.700", "124.350", "119.875", "132.475"],
            ),
            _ => (
                ("delivery", "Delivery"),
                ("control", "Control"),
                ["121.655", "121.805", "118.705", "124.355", "119.880", "132.480"],
            ),
        };
        let stations = [
            clearance,
            ("ground", "Ground"),
            ("tower", "Tower"),
            ("departure", "Departure"),
            ("approach", "Approach"),
            last,
        ];
        for ((id, function), frequency) in stations.into_iter().zip(channels) {
            let radio = quoted(&format!("{} {function}", self.name));
            let _ = write!(out, "[[station]]\nid = '{id}'\nname = {radio}\nfrequency = '{frequency}'\n\n");
        }
    }

    fn runways(&self, out: &mut String) {
        let (other, bearing) = (self.other(), self.bearing());
        let (x, y) = self.place(self.length, 0);
        let ends = [(self.runway, bearing, (0, 0)), (&*other, (bearing + 180 - 1) % 360 + 1, (x, y))];
        out.push_str(
            "# Both ends of the runway: degrees true, metres, where it begins, and the ways down to it.\n",
        );
        for (designator, bearing, (x, y)) in ends {
            let _ = write!(
                out,
                "[[runway]]
designator = '{designator}'
bearing = {bearing}
length = {length}
width = 45
threshold = {{ x = {x}, y = {y} }}
approaches = ['ILS']

",
                length = self.length,
            );
        }
        let _ = write!(
            out,
            "# Stands that share their way out, and where the nose can point after the push-back.
[[apron]]
id = 'main'
stands = {}
face = ['north', 'south']

",
            toml_list(&self.stands.join(", ")),
        );
    }

    fn procedures(&self, out: &mut String) {
        let other = self.other();
        let first = (self.elevation.max(0) + 4_500) / 1000 * 1000;
        let level = |feet: i64| match feet > self.transition {
            true => format!("FL{:03}", feet.max(self.transition + 3_000) / 1000 * 10),
            false => format!("{feet}ft"),
        };
        out.push_str(
            "# Departures: name and version, where they begin, their points, the first level, where they lead.\n",
        );
        for (sid, end, points) in
            [("TARNO 1A", self.runway, "['TARNO', 'SKEVA']"), ("DUNLI 1B", &*other, "['DUNLI', 'HOLMA']")]
        {
            let _ = write!(
                out,
                "[[departure]]\nname = '{sid}'\nrunways = ['{end}']\npoints = {points}\ninitial = '{}'\ndestinations = {}\n\n",
                level(first),
                toml_list(self.destinations),
            );
        }
        out.push_str("# Arrivals: name and version, the runways they lead to, their points.\n");
        for (star, end) in [("MERLO 1C", self.runway), ("MERLO 2D", &*other)] {
            let _ = write!(
                out,
                "[[arrival]]\nname = '{star}'\nrunways = ['{end}']\nfixes = ['MERLO', 'DUNLI']\n\n"
            );
        }
        let _ = write!(
            out,
            "# Where one waits: the course inbound, the way round, the levels.
[[hold]]
fix = 'MERLO'
inbound = {inbound}
turn = 'right'
levels = {{ from = '{from}', to = 'FL{to}' }}

",
            inbound = self.bearing(),
            from = level(first),
            to = ((self.transition + 9_000) / 1000 * 10).max(200),
        );
    }
}
