//! Names of radio channels, and transponder codes that can be given out.
//!
//! Sources: Annex 10 Volume V, table 4-1 (bis) \[memory\] (names and carriers; the names in use that the tests list are
//! published); Annex 10 Volume V, 4.1.3.1 \[memory\] (distress and guard band); codes of special use: SERA.13005,
//! UK CAA SafetyNotice 2011/07, those marked \[memory\] in [`RESERVED_CODES`].

use crate::element::Standard;

/// The distance between channels of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spacing {
    /// 25 kHz: the name is the carrier.
    Wide,
    /// 8.33 kHz: the name stands for a carrier beside it.
    Narrow,
}

/// A channel by its name, the six digits that are said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Channel {
    kilohertz: u32,
}

/// The first and the last name, kilohertz.
const BAND: std::ops::RangeInclusive<u32> = 118_000..=136_990;

impl Channel {
    /// The channel of a name with three decimals; `None` if the name is none.
    ///
    /// ```
    /// use hearback::airport::channel::Channel;
    /// assert!(Channel::parse("118.805").is_some());
    /// assert!(Channel::parse("118.820").is_none());
    /// ```
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        let (whole, part) = name.split_once('.')?;
        let digits = |text: &str| text.len() == 3 && text.bytes().all(|b| b.is_ascii_digit());
        (digits(whole) && digits(part)).then(|| Self::named(format!("{whole}{part}").parse().ok()?)).flatten()
    }

    /// The channel whose name, read in kilohertz, is this number.
    #[must_use]
    pub fn named(kilohertz: u32) -> Option<Self> {
        let named = kilohertz.is_multiple_of(5) && !matches!(kilohertz % 25, 20);
        (named && BAND.contains(&kilohertz)).then_some(Self { kilohertz })
    }

    /// Every channel, in the order of the names.
    pub fn all() -> impl Iterator<Item = Self> {
        BAND.filter_map(Self::named)
    }

    /// Its name.
    #[must_use]
    pub fn name(self) -> String {
        format!("{}.{:03}", self.kilohertz / 1000, self.kilohertz % 1000)
    }

    /// Whether the name stands for 25 or for 8.33 kHz.
    #[must_use]
    pub fn spacing(self) -> Spacing {
        if self.kilohertz.is_multiple_of(25) { Spacing::Wide } else { Spacing::Narrow }
    }

    /// What is transmitted on, megahertz.
    ///
    /// ```
    /// use hearback::airport::channel::Channel;
    /// let carrier = Channel::parse("133.010").map(|channel| channel.carrier()).unwrap();
    /// assert!((carrier - 133.0083).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn carrier(self) -> f64 {
        // Names 5, 10 and 15 kHz above a wide channel are its thirds.
        let (block, third) = (self.kilohertz / 25 * 25, self.kilohertz % 25);
        let third = if third == 0 { 0 } else { third / 5 - 1 };
        (f64::from(block) + f64::from(third) * 25.0 / 3.0) / 1000.0
    }

    /// True if a rule set uses it: `us` has 25 kHz only.
    #[must_use]
    pub fn used_in(self, standard: Standard) -> bool {
        standard != Standard::Us || self.spacing() == Spacing::Wide
    }

    /// What it is kept for, if no station may have it: distress with its guard band, search and rescue, air to air.
    #[must_use]
    pub fn kept_for(self) -> Option<&'static str> {
        match self.kilohertz {
            121_500 => Some("distress"),
            121_450..=121_550 => Some("the guard band of 121.500"),
            123_100 => Some("search and rescue"),
            123_450 => Some("air to air"),
            _ => None,
        }
    }

    /// The names of `standard` on either side of a number of kilohertz that is no name for a station.
    #[must_use]
    pub fn beside(kilohertz: u32, standard: Standard) -> Vec<String> {
        let fine = |khz: u32| {
            Self::named(khz).filter(|channel| channel.used_in(standard) && channel.kept_for().is_none())
        };
        let below = (1..=200).find_map(|n| fine(kilohertz.saturating_sub(n)));
        let above = (1..=200).find_map(|n| fine(kilohertz.saturating_add(n)));
        below.into_iter().chain(above).map(Self::name).collect()
    }
}

/// Codes that are never given to a flight, with what each says.
pub const RESERVED_CODES: &[(u16, &str)] = &[
    (0o0000, "a transponder that failed, or general use"),
    (0o1000, "a flight known by its Mode S identification"),
    // Memory for the United States and Canada.
    (0o1200, "flying by visual rules"),
    (0o2000, "no code instructed"),
    (0o7000, "not receiving a service"),
    (0o7500, "unlawful interference"),
    (0o7600, "radio failure"),
    (0o7700, "emergency"),
    // Memory.
    (0o7777, "tests and interceptors"),
];

/// What a transponder code is reserved for, if it is.
///
/// ```
/// use hearback::airport::channel::reserved;
/// assert_eq!(reserved(0o7600), Some("radio failure"));
/// assert_eq!(reserved(0o4421), None);
/// ```
#[must_use]
pub fn reserved(code: u16) -> Option<&'static str> {
    RESERVED_CODES.iter().find(|(known, _)| *known == code).map(|(_, what)| *what)
}

/// True if a code can be given to a flight: four octal digits and not reserved.
#[must_use]
pub fn assignable(code: u16) -> bool {
    code <= 0o7777 && reserved(code).is_none()
}
