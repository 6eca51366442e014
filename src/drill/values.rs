//! Values for the slots that the matcher reads itself, drawn by chance: each as it is stored, said and written.

use crate::callsign::Callsign;
use crate::element::{Element, Standard};
use crate::text::speak::{digits, spoken};
use crate::value::Value as Stored;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// One value in its forms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Value {
    /// As the judge names it.
    pub canonical: String,
    /// As it is said, with the words that go with it.
    pub spoken: String,
    /// As it is typed.
    pub typed: String,
}

/// Chance, and what it has said so far.
#[derive(Debug, Clone)]
pub struct Values {
    standard: Standard,
    rng: ChaCha8Rng,
    /// Points said since it was seeded.
    said: Vec<&'static str>,
}

const POINTS: [&str; 6] = ["TARNO", "MERLO", "DUNLI", "SKEVA", "HOLMA", "BIRLA"];
const PLACES: [&str; 4] = ["Tarnmoor", "Holmfell", "Brackwater", "Skerrow"];
const LETTERS: &[u8] = b"ABCDEFGHJKLMNPRSTVWYZ";

/// Codes that tell of an emergency: no station assigns them.
const EMERGENCY: [&str; 3] = ["7500", "7600", "7700"];

/// True for a digit or a word of a number.
#[must_use]
pub fn is_number(word: &str) -> bool {
    digits("0123456789").split(' ').any(|d| d == word)
        || ["hundred", "thousand"].contains(&word)
        || word.bytes().all(|b| b.is_ascii_digit())
}

/// True if the last word is one of a number.
#[must_use]
pub fn ends_in_number(text: &str) -> bool {
    text.split(' ').next_back().is_some_and(is_number)
}

/// True if the first word is one of a number.
#[must_use]
pub fn begins_with_number(text: &str) -> bool {
    text.split(' ').next().is_some_and(is_number)
}

impl Values {
    /// Values of a rule set, drawn from a number: the same number gives the same values on every machine.
    #[must_use]
    pub fn seeded(standard: Standard, seed: u64) -> Self {
        Self { standard, rng: ChaCha8Rng::seed_from_u64(seed), said: Vec::new() }
    }

    /// The same with a seed of 32 bytes.
    #[must_use]
    pub fn from_seed(standard: Standard, seed: [u8; 32]) -> Self {
        Self { standard, rng: ChaCha8Rng::from_seed(seed), said: Vec::new() }
    }

    /// The rule set by whose rules they are said.
    #[must_use]
    pub fn standard(&self) -> Standard {
        self.standard
    }

    /// A number from all there are.
    pub fn number(&mut self) -> u64 {
        self.rng.next_u64()
    }

    /// A number below `n`; 0 if that is 0.
    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.rng.next_u64() % (n as u64).max(1)).unwrap_or(0)
    }

    /// One of them; nothing is drawn from none.
    pub fn pick<'a>(&mut self, all: &[&'a str]) -> &'a str {
        let k = self.below(all.len());
        all.get(k).copied().unwrap_or("")
    }

    /// A point that was not said before, while there is one: no route goes through one point twice.
    fn point(&mut self) -> &'static str {
        loop {
            let point = self.pick(&POINTS);
            if !self.said.contains(&point) || self.said.len() >= POINTS.len() {
                self.said.push(point);
                return point;
            }
        }
    }

    fn code(&mut self) -> String {
        loop {
            let code: String = (0..4).map(|_| char::from(b"01234567"[self.below(8)])).collect();
            if !EMERGENCY.contains(&code.as_str()) {
                return code;
            }
        }
    }

    /// A level or a speed of the size of another, so that a low altitude stays one, and so does a change of speed;
    /// `None` for other values.
    pub fn like(&mut self, said: &Stored) -> Option<Value> {
        let (element, canonical, typed) = match *said {
            Stored::FlightLevel(n) => {
                let n = if n <= 100 { self.below(23) * 5 + 35 } else { (self.below(29) + 11) * 10 };
                (Element::Level, format!("FL{n:03}"), format!("FL{n}"))
            }
            Stored::Feet(n) => {
                let n = match n {
                    0..=3_000 => (self.below(25) + 10) * 100,
                    3_001..=10_000 => (self.below(14) + 6) * 500,
                    _ => (self.below(12) + 22) * 500,
                };
                (Element::Level, format!("{n}ft"), format!("{n} ft"))
            }
            Stored::Knots(n) if n < 100 => {
                let n = (self.below(5) + 1) * 10;
                (Element::Speed, format!("{n}kt"), format!("{n} knots"))
            }
            _ => return None,
        };
        Some(Value { spoken: spoken(self.standard, element, &canonical), canonical, typed })
    }

    /// A value of a slot that the matcher reads itself; `None` for a slot of the grammar.
    pub fn value(&mut self, slot: &str) -> Option<Value> {
        let s = self.standard;
        let us = s == Standard::Us;
        let both = |element, canonical: String, typed: String| Value {
            spoken: spoken(s, element, &canonical),
            canonical,
            typed,
        };
        let plain = |canonical: String, spoken: String, typed: String| Value { canonical, spoken, typed };
        Some(match slot {
            "runway" => {
                let n = self.below(36) + 1;
                let side = self.pick(&["", "", "L", "R", "C"]);
                let canonical = format!("{n:02}{side}");
                both(Element::Runway, canonical.clone(), format!("runway {canonical}"))
            }
            "level" => {
                if self.below(2) == 0 {
                    let n = if us { 18 + self.below(22) } else { 5 + self.below(35) } * 10;
                    both(Element::Level, format!("FL{n:03}"), format!("FL{n}"))
                } else {
                    let n = (self.below(160) + 10) * 100;
                    both(
                        Element::Level,
                        format!("{n}ft"),
                        if s == Standard::Uk { format!("altitude {n} ft") } else { format!("{n} ft") },
                    )
                }
            }
            "heading" => {
                let n = (self.below(72) + 1) * 5;
                let degrees = if s == Standard::Uk && n.is_multiple_of(10) { " degrees" } else { "" };
                both(Element::Heading, format!("{n:03}"), format!("heading {n:03}{degrees}"))
            }
            "degrees" => {
                let n = (self.below(8) + 1) * 10;
                plain(n.to_string(), format!("{} degrees", digits(&n.to_string())), format!("{n} degrees"))
            }
            "speed" => {
                let n = (self.below(20) + 16) * 10;
                both(Element::Speed, format!("{n}kt"), format!("{n} knots"))
            }
            "rate" => {
                let n = (self.below(5) + 1) * 500;
                both(Element::Rate, format!("{n}fpm"), format!("{n} feet per minute"))
            }
            "frequency" => {
                let (mhz, step) = (118 + self.below(18), self.below(40) * 25);
                let canonical = format!("{mhz}.{step:03}");
                both(Element::Frequency, canonical.clone(), canonical)
            }
            "squawk" => {
                let code = self.code();
                both(Element::Squawk, code.clone(), code)
            }
            "altimeter" if us => {
                let n = 2850 + self.below(230);
                let canonical = format!("{}.{:02}inHg", n / 100, n % 100);
                both(Element::Altimeter, canonical, format!("altimeter {n}"))
            }
            "altimeter" => {
                let n = 960 + self.below(80);
                let unit = if s == Standard::Uk && n < 1000 { " hPa" } else { "" };
                both(Element::Altimeter, format!("{n}hPa"), format!("QNH {n}{unit}"))
            }
            "time" => {
                let time = format!("{:02}{:02}", self.below(24), self.below(60));
                both(Element::Time, time.clone(), time)
            }
            "minutes" | "number" => {
                let n = (self.below(30) + 2).to_string();
                plain(n.clone(), digits(&n), n)
            }
            "information" => {
                let letter = char::from(LETTERS[self.below(LETTERS.len())]).to_string();
                both(Element::Information, letter.clone(), format!("information {letter}"))
            }
            "stand" => {
                let n = (self.below(60) + 1).to_string();
                both(Element::Stand, n.clone(), format!("stand {n}"))
            }
            "holding_point" => {
                let mark = format!(
                    "{}{}",
                    char::from(LETTERS[self.below(LETTERS.len())]),
                    self.pick(&["", "1", "2", "3"])
                );
                let said = spoken(Standard::Icao, Element::HoldingPoint, &mark);
                plain(mark.clone(), said, format!("holding point {mark}"))
            }
            "taxi_route" => {
                let n = self.below(3) + 1;
                let mut used: Vec<String> = Vec::new();
                while used.len() < n {
                    let next = char::from(LETTERS[self.below(LETTERS.len())]).to_string();
                    if !used.contains(&next) {
                        used.push(next);
                    }
                }
                let canonical = used.join(" ");
                both(Element::TaxiRoute, canonical.clone(), canonical)
            }
            "point" => {
                let name = self.point().to_owned();
                plain(name.clone(), name.clone(), name)
            }
            "place" => {
                let name = self.pick(&PLACES).to_owned();
                plain(name.clone(), name.clone(), name)
            }
            "procedure" => {
                let name = format!(
                    "{} {}{}",
                    self.point(),
                    self.below(9) + 1,
                    char::from(LETTERS[self.below(LETTERS.len())])
                );
                both(Element::Sid, name.clone(), name)
            }
            "airway" => {
                let n = self.below(90) + 1;
                plain(format!("L{n}"), format!("Lima {}", digits(&n.to_string())), format!("L{n}"))
            }
            "unit" => {
                let name = format!(
                    "{} {}",
                    self.pick(&PLACES),
                    self.pick(&["Tower", "Ground", "Approach", "Departure", "Control"])
                );
                plain(name.clone(), name.clone(), name)
            }
            "distance" => {
                let n = (self.below(28) + 2).to_string();
                plain(n.clone(), format!("{} miles", digits(&n)), format!("{n} miles"))
            }
            "clock" => {
                let n = (self.below(12) + 1).to_string();
                plain(n.clone(), format!("{} o'clock", digits(&n)), format!("{n} o'clock"))
            }
            "bearing" => {
                let n = format!("{:03}", self.below(360) + 1);
                plain(n.clone(), digits(&n), n)
            }
            "wind" => {
                let canonical = format!("{:03}/{:02}", (self.below(36) + 1) * 10, self.below(20) + 10);
                let said = spoken(s, Element::Wind, &canonical);
                plain(canonical, said.clone(), said)
            }
            "aircraft" => {
                let (canonical, said) = [
                    ("A320", "A three two zero"),
                    ("737", "seven three seven"),
                    ("E190", "E one niner zero"),
                ][self.below(3)];
                plain(canonical.into(), said.into(), canonical.into())
            }
            "callsign" => {
                let callsign = Callsign::parse("Dunlin 88")?;
                plain(callsign.written(), callsign.spoken(s), callsign.written())
            }
            "temperature" => {
                let n = (self.below(20) + 2).to_string();
                plain(n.clone(), digits(&n), n)
            }
            _ => return None,
        })
    }
}
