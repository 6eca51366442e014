//! The information broadcast of an airport, and how a listener hears it.
//!
//! Sources: SERA.9010, Annex 11, 4.3.7 (what it says, in which order); AIM 4-1-13 (United States); Annex 3,
//! Attachment C and Appendix 3 \[memory\] (fog, mist, CAVOK).

use super::wind::Wind;
use crate::element::{Element, Standard};
use crate::text::speak::{digits, round, spoken};

/// How much of the sky is covered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cover {
    /// One or two eighths.
    Few,
    /// Three or four.
    Scattered,
    /// Five to seven.
    Broken,
    /// All of it.
    Overcast,
}

impl Cover {
    /// Every amount, the least first.
    pub const ALL: [Self; 4] = [Self::Few, Self::Scattered, Self::Broken, Self::Overcast];

    /// Its word.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Few => "few",
            Self::Scattered => "scattered",
            Self::Broken => "broken",
            Self::Overcast => "overcast",
        }
    }
}

/// A layer of cloud.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cloud {
    /// How much.
    pub cover: Cover,
    /// Feet above the aerodrome, whole hundreds.
    pub base: u32,
}

/// The approach to expect.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expected {
    /// Its kind as it is said.
    pub kind: String,
    /// Designator of the runway it leads to: aircraft circle if they land on another.
    pub to: String,
}

/// Everything a broadcast says.
#[derive(Debug, Clone, PartialEq)]
pub struct Broadcast {
    /// Name of the airport.
    pub airport: String,
    /// Its letter.
    pub letter: char,
    /// Hour and minute of the observation, universal time.
    pub time: (u8, u8),
    /// The approach to expect, if the airport tells.
    pub approach: Option<Expected>,
    /// Designator of the runway where aircraft land.
    pub landing: String,
    /// Designator of the runway where they take off.
    pub departing: String,
    /// Flight level; not said in `us`.
    pub transition_level: Option<u16>,
    /// Magnetic.
    pub wind: Wind,
    /// Metres; 10,000 stands for 10 kilometres or more.
    pub visibility: u32,
    /// The lowest layer that matters: below 5,000 feet or the highest minimum sector altitude.
    pub cloud: Option<Cloud>,
    /// Degrees Celsius.
    pub temperature: i64,
    /// Degrees Celsius.
    pub dew_point: i64,
    /// Hectopascals or inches, canonical.
    pub altimeter: String,
}

/// The letter of the next broadcast: in the order of the alphabet, after Z again A. Source: Annex 11, 4.3.5;
/// JO 7110.65, 2-9-1.
///
/// ```
/// use hearback::airport::atis::next_letter;
/// assert_eq!(['A', 'Y', 'Z'].map(next_letter), ['B', 'Z', 'A']);
/// ```
#[must_use]
pub fn next_letter(letter: char) -> char {
    match letter {
        'A'..='Y' => char::from(letter as u8 + 1),
        _ => 'A',
    }
}

/// True if view and cloud are said as one word: 10 kilometres or more, and no cloud that matters. Not in `us`.
#[must_use]
pub fn is_cavok(standard: Standard, visibility: u32, cloud: Option<Cloud>) -> bool {
    standard != Standard::Us && visibility >= 10_000 && cloud.is_none()
}

/// Visibility in metres as it is said; in `us` statute miles.
///
/// ```
/// use hearback::{airport::atis::say_visibility, element::Standard};
/// assert_eq!(say_visibility(Standard::Eu, 10_000), "one zero kilometres or more");
/// assert_eq!(say_visibility(Standard::Icao, 800), "eight hundred metres");
/// assert_eq!(say_visibility(Standard::Us, 10_000), "one zero");
/// ```
#[must_use]
pub fn say_visibility(standard: Standard, metres: u32) -> String {
    match (standard, metres) {
        (Standard::Us, metres) => {
            // Whole miles, and quarters below one.
            let miles = f64::from(metres) / 1609.344;
            match (miles * 4.0).round() as u32 {
                _ if metres >= 10_000 => "one zero".to_owned(),
                0 | 1 => "one quarter".to_owned(),
                2 => "one half".to_owned(),
                3 => "three quarters".to_owned(),
                _ => digits(&(miles.floor().max(1.0) as u32).to_string()),
            }
        }
        (_, 10_000..) => "one zero kilometres or more".to_owned(),
        // Up to 5 kilometres in metres, above in kilometres. Source: Annex 3, Appendix 3 [memory].
        (_, 5001..) => format!("{} kilometres", digits(&(metres / 1000).to_string())),
        (_, metres) => format!("{} metres", round(metres / 50 * 50)),
    }
}

/// Visibility in metres as it is written.
#[must_use]
pub fn write_visibility(standard: Standard, metres: u32) -> String {
    match (standard, metres) {
        (Standard::Us, 10_000..) => "10 miles".to_owned(),
        (Standard::Us, metres) => match (f64::from(metres) / 1609.344 * 4.0).round() as u32 {
            0 | 1 => "1/4 mile".to_owned(),
            2 => "1/2 mile".to_owned(),
            3 => "3/4 mile".to_owned(),
            _ => format!("{} miles", (metres / 1609).max(1)),
        },
        (_, 10_000..) => "10 km or more".to_owned(),
        (_, 5001..) => format!("{} km", metres / 1000),
        (_, metres) => format!("{} m", metres / 50 * 50),
    }
}

/// What dims the view: fog below 1,000 metres, mist up to 5,000. Source: Annex 3, Appendix 3, 4.4.2 \[memory\].
#[must_use]
pub fn obscured(metres: u32) -> Option<&'static str> {
    match metres {
        0..1000 => Some("fog"),
        1000..=5000 => Some("mist"),
        _ => None,
    }
}

/// A layer as it is said: amount first, in `us` height first for the layers above, and a ceiling named as such.
#[must_use]
pub fn say_cloud(standard: Standard, cloud: Option<Cloud>) -> String {
    match (standard, cloud) {
        (Standard::Us, None) => "sky clear".to_owned(),
        (_, None) => "no significant cloud".to_owned(),
        (Standard::Us, Some(Cloud { cover, base })) => match cover {
            Cover::Few => format!("few clouds at {}", round(base)),
            Cover::Scattered => format!("{} scattered", round(base)),
            Cover::Broken | Cover::Overcast => format!("ceiling {} {}", round(base), cover.name()),
        },
        (_, Some(Cloud { cover, base })) => format!("{} {} feet", cover.name(), round(base)),
    }
}

/// Degrees as they are said.
fn degrees(number: i64) -> String {
    let minus = if number < 0 { "minus " } else { "" };
    format!("{minus}{}", digits(&number.to_string()))
}

impl Broadcast {
    /// The whole broadcast as a listener hears it.
    ///
    /// ```
    /// use hearback::airport::atis::{Broadcast, Cloud, Cover};
    /// use hearback::{airport::wind::Wind, element::Standard};
    /// let broadcast = Broadcast {
    ///     airport: "Hvalby".into(), letter: 'K', time: (9, 20), approach: None, landing: "27".into(), departing: "27".into(),
    ///     transition_level: Some(60), wind: Wind { from: 240, speed: 12, gust: 0 }, visibility: 8000,
    ///     cloud: Some(Cloud { cover: Cover::Broken, base: 2400 }), temperature: 12, dew_point: 6,
    ///     altimeter: "1019hPa".into(),
    /// };
    /// assert_eq!(
    ///     broadcast.spoken(Standard::Icao),
    ///     "Hvalby information Kilo, time zero niner two zero, runway in use two seven, transition level six zero, \
    ///      wind two four zero degrees one two knots, visibility eight kilometres, broken two thousand four hundred \
    ///      feet, temperature one two, dew point six, QNH one zero one niner, acknowledge information Kilo"
    /// );
    /// ```
    #[must_use]
    pub fn spoken(&self, standard: Standard) -> String {
        let letter = spoken(standard, Element::Information, &self.letter.to_string());
        let time = digits(&format!("{:02}{:02}", self.time.0, self.time.1));
        let weather = self.weather(standard).join(", ");
        if standard == Standard::Us {
            let runways: Vec<String> =
                self.expected(standard).into_iter().chain([self.runways(standard)]).collect();
            return format!(
                "{} airport {letter}, {time} zulu, {weather}, {}, advise on initial contact you have {letter}",
                self.airport,
                runways.join(", ")
            );
        }
        let mut parts = vec![format!("{} {letter}", self.airport), format!("time {time}")];
        parts.extend(self.expected(standard));
        parts.push(self.runways(standard));
        if let Some(level) = self.transition_level {
            let level = spoken(standard, Element::Level, &format!("FL{level:03}"));
            parts.push(level.replacen("flight level", "transition level", 1));
        }
        parts.push(weather);
        parts.push(format!("acknowledge {letter}"));
        parts.join(", ")
    }

    /// The approach to expect. Source: Annex 11, 4.3.7; AIM 4-1-13; how circling is added is this program's own.
    fn expected(&self, standard: Standard) -> Option<String> {
        let Expected { kind, to } = self.approach.as_ref()?;
        let circles = *to != self.landing;
        let runway = |name: &str| spoken(standard, Element::Runway, name);
        Some(match (standard, circles) {
            (Standard::Us, false) => format!("{kind} {} approach in use", runway(to)),
            (Standard::Us, true) => {
                format!("{kind} {} approach in use, circle to land {}", runway(to), runway(&self.landing))
            }
            (_, false) => format!("expect {kind} approach"),
            (_, true) => {
                format!(
                    "expect {kind} approach {} followed by circling to {}",
                    runway(to),
                    runway(&self.landing)
                )
            }
        })
    }

    fn runways(&self, standard: Standard) -> String {
        let said =
            |designator: &str| spoken(standard, Element::Runway, designator).replacen("runway ", "", 1);
        match (self.landing == self.departing, standard) {
            (true, Standard::Us) => format!("landing and departing runway {}", said(&self.landing)),
            (true, _) => format!("runway in use {}", said(&self.landing)),
            (false, Standard::Us) => {
                format!("landing runway {}, departing runway {}", said(&self.landing), said(&self.departing))
            }
            (false, _) => {
                format!("landing runway {}, departure runway {}", said(&self.landing), said(&self.departing))
            }
        }
    }

    fn weather(&self, standard: Standard) -> Vec<String> {
        let mut parts = vec![spoken(standard, Element::Wind, &self.wind.canonical())];
        if is_cavok(standard, self.visibility, self.cloud) {
            parts.push("CAVOK".to_owned());
        } else {
            parts.push(format!("visibility {}", say_visibility(standard, self.visibility)));
            parts.extend(obscured(self.visibility).map(str::to_owned));
            parts.push(say_cloud(standard, self.cloud));
        }
        parts.push(format!("temperature {}", degrees(self.temperature)));
        parts.push(format!("dew point {}", degrees(self.dew_point)));
        parts.push(spoken(standard, Element::Altimeter, &self.altimeter));
        parts
    }
}
