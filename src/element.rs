//! The registry of elements, faults, severities and verdicts: every name the program judges by.

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;

/// How much a fault can hurt; ordered from harmless to dangerous.
///
/// The ranks follow the hazard ranking of read-back faults that the data cite for each phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema, Hash)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// A kept courtesy, a forgiven slip of the keyboard: never changes the verdict.
    Advice,
    /// Form, place, or an item of little risk.
    Minor,
    /// Loss of identity, frequency, speed or an altimeter setting.
    Major,
    /// Someone can be hurt: runway, level, turn, condition, another aircraft's clearance.
    Critical,
}

impl Severity {
    /// The lower-case name used in data and output.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Advice => "advice",
            Self::Minor => "minor",
            Self::Major => "major",
            Self::Critical => "critical",
        }
    }
}

/// What is the matter with an element of a reply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, Hash)]
#[serde(rename_all = "lowercase")]
pub enum Fault {
    /// Another value than the one transmitted.
    Wrong,
    /// A required element is not in the reply.
    Missing,
    /// Right, in the wrong place.
    Misplaced,
    /// Right, in a form or word that the rule set does not use.
    Nonstandard,
    /// Need not or must not be read back.
    Unrequested,
}

impl Fault {
    /// Every one, from the registry.
    pub const ALL: [Self; 5] =
        [Self::Wrong, Self::Missing, Self::Misplaced, Self::Nonstandard, Self::Unrequested];

    /// The lower-case name used in data and output.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Wrong => "wrong",
            Self::Missing => "missing",
            Self::Misplaced => "misplaced",
            Self::Nonstandard => "nonstandard",
            Self::Unrequested => "unrequested",
        }
    }

    /// The fault of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|fault| fault.name() == name)
    }
}

/// The judgement of a whole reply; ordered from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, Hash)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Nothing above advice.
    Correct,
    /// All there and right, with a fault of form.
    Nonstandard,
    /// A required element is missing.
    Incomplete,
    /// A value is wrong, or a limit was left out while the rest was read back.
    Incorrect,
}

impl Verdict {
    /// The lower-case name used in data and output.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Correct => "correct",
            Self::Nonstandard => "nonstandard",
            Self::Incomplete => "incomplete",
            Self::Incorrect => "incorrect",
        }
    }
}

macro_rules! elements {
    ($($variant:ident $name:literal $wrong:ident $missing:ident $doc:literal $example:literal;)*) => {
        /// One value that matters in a transmission, or one property of its form.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum Element { $(#[doc = $doc] $variant,)* }

        impl Element {
            /// Every element, in the order of the registry.
            pub const ALL: &'static [Element] = &[$(Element::$variant,)*];

            /// The lower-case name used in data and output.
            #[must_use]
            pub fn name(self) -> &'static str { match self { $(Element::$variant => $name,)* } }

            /// What it is, in one sentence.
            #[must_use]
            pub fn doc(self) -> &'static str { match self { $(Element::$variant => $doc,)* } }

            /// The canonical form of one value.
            #[must_use]
            pub fn example(self) -> &'static str { match self { $(Element::$variant => $example,)* } }

            fn when_wrong(self) -> Severity { match self { $(Element::$variant => Severity::$wrong,)* } }
            fn when_missing(self) -> Severity { match self { $(Element::$variant => Severity::$missing,)* } }
        }
    };
}

elements! {
    Callsign "callsign" Critical Major "Who is speaking or is spoken to." "Whimbrel 214";
    Instruction "instruction" Critical Critical "What is to be done: climb, line up, cross, hold short." "line up and wait";
    Runway "runway" Critical Critical "A runway designator with its letter." "27L";
    HoldingPoint "holding_point" Major Major "A named holding point or intersection." "C1";
    TaxiRoute "taxi_route" Major Minor "The taxiways to follow, in order." "B C";
    Stand "stand" Minor Minor "A parking stand or gate." "12";
    Condition "condition" Critical Critical "What has to happen first." "behind landing";
    Level "level" Critical Critical "A flight level, altitude or height." "FL080";
    LevelUnit "level_unit" Minor Minor "The words that make a number a level: flight level, feet, altitude." "flight level";
    Restriction "restriction" Critical Critical "A limit on an instruction: at or above, until, except." "at or above";
    Heading "heading" Major Major "Degrees magnetic, three digits." "210";
    Turn "turn" Critical Major "The direction of a turn." "left";
    Speed "speed" Major Major "Knots or a Mach number." "220kt";
    Rate "rate" Major Minor "Rate of climb or descent in feet per minute." "1500fpm";
    Route "route" Major Major "Airways, points or the planned route." "flight planned route";
    Point "point" Major Major "A significant point on the route." "TARNO";
    ClearanceLimit "clearance_limit" Major Major "How far the clearance goes." "Tarnmoor";
    Sid "sid" Major Major "A standard instrument departure, with its version." "TARNO 1A";
    Star "star" Major Major "A standard arrival, with its version." "TARNO 2B";
    Approach "approach" Critical Critical "The kind of approach, or its interception." "ILS";
    Squawk "squawk" Major Major "A transponder code or its operation." "4521";
    Frequency "frequency" Major Major "A radio channel." "118.700";
    Unit "unit" Minor Minor "A station: place and function." "Skerrow Tower";
    Altimeter "altimeter" Major Major "An altimeter setting." "1013hPa";
    PressureUnit "pressure_unit" Minor Minor "The word hectopascals." "hectopascals";
    Service "service" Minor Minor "The type of surveillance service." "Traffic Service";
    Hold "hold" Major Major "How to hold: direction, pattern, as published." "north as published";
    Time "time" Major Minor "A time or a number of minutes." "0715";
    Information "information" Minor Minor "An information letter, or news that needs no read-back." "K";
    Wind "wind" Minor Minor "Surface wind." "260/10";
    Traffic "traffic" Critical Minor "Another aircraft or vehicle." "A320";
    Deviation "deviation" Major Major "Distance or degrees and side of a weather deviation." "20 miles right";
    Word "word" Minor Minor "A word that the trade does not use, or uses for something else." "affirmative";
    NumberForm "number_form" Minor Minor "How a number is said." "one zero thousand";
    Order "order" Minor Minor "The order of the items." "as transmitted";
    Call "call" Major Major "A call between the pilots." "V1";
    Reply "reply" Major Major "The answer to a call." "set";
    Challenge "challenge" Major Major "The first half of a checklist item." "flaps";
    Response "response" Major Major "The second half of a checklist item." "five set";
    Address "address" Minor Minor "Whom one speaks to." "Captain";
    Concern "concern" Major Major "What worries the speaker." "we are high";
    Evidence "evidence" Major Major "The fact that supports a concern." "four dots above";
    Proposal "proposal" Major Major "What should be done." "go around";
    Agreement "agreement" Minor Minor "Asking for consent." "do you agree";
    Channel "channel" Major Major "Where something is said: radio, flight deck, interphone, headset, public address." "deck";
    Timing "timing" Minor Major "When something is said: in time, early or late." "in time";
    Briefing "briefing" Major Major "A part of a briefing." "minimums 320";
}

impl Element {
    /// The element of that name.
    ///
    /// ```
    /// use hearback::element::Element;
    /// assert_eq!(Element::parse("taxi_route"), Some(Element::TaxiRoute));
    /// assert_eq!(Element::parse("taxi-route"), None);
    /// ```
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|e| e.name() == name)
    }

    /// True for elements of form, which never make more than `nonstandard`.
    #[must_use]
    pub fn is_form(self) -> bool {
        matches!(self, Self::LevelUnit | Self::PressureUnit | Self::Word | Self::NumberForm | Self::Order)
    }

    /// The severity of `fault` in this element where the phrase names no hazard of its own.
    #[must_use]
    pub fn severity(self, fault: Fault) -> Severity {
        match fault {
            Fault::Wrong => self.when_wrong(),
            Fault::Missing => self.when_missing(),
            Fault::Misplaced | Fault::Nonstandard | Fault::Unrequested => Severity::Minor,
        }
    }
}

impl fmt::Display for Element {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl Serialize for Element {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Element {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let name = std::borrow::Cow::<str>::deserialize(deserializer)?;
        Self::parse(&name).ok_or_else(|| serde::de::Error::custom(format!("no element `{name}`")))
    }
}

/// A set of rules that belong together: a base and three regions that state their differences.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, Hash, Default)]
#[serde(rename_all = "lowercase")]
pub enum Standard {
    /// Annex 10, Annex 11, PANS-ATM, Doc 9432.
    #[default]
    Icao,
    /// Regulation (EU) 923/2012 with its acceptable means of compliance.
    Eu,
    /// CAP 413 on top of the retained European rules.
    Uk,
    /// AIM, JO 7110.65, Pilot/Controller Glossary.
    Us,
}

impl Standard {
    /// The four rule sets.
    pub const ALL: [Standard; 4] = [Self::Icao, Self::Eu, Self::Uk, Self::Us];

    /// The lower-case name used in data, output and folders.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Icao => "icao",
            Self::Eu => "eu",
            Self::Uk => "uk",
            Self::Us => "us",
        }
    }

    /// The documents that it follows.
    #[must_use]
    pub fn documents(self) -> &'static str {
        match self {
            Self::Icao => "ICAO Annex 10, Annex 11, PANS-ATM",
            Self::Eu => "Regulation (EU) 923/2012",
            Self::Uk => "CAP 413",
            Self::Us => "AIM and JO 7110.65",
        }
    }

    /// The rule set of that name.
    #[must_use]
    pub fn parse(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.name() == name)
    }
}

impl fmt::Display for Standard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_finds_its_own_variant_again() {
        for &e in Element::ALL {
            assert_eq!(Element::parse(e.name()), Some(e));
            assert!(e.doc().ends_with('.') && !e.example().is_empty(), "{e} is documented");
        }
        for s in Standard::ALL {
            assert_eq!(Standard::parse(s.name()), Some(s));
        }
        for f in ["wrong", "missing", "misplaced", "nonstandard", "unrequested"] {
            assert_eq!(Fault::parse(f).map(Fault::name), Some(f));
        }
    }
}
