//! Typed values: what an element means, apart from how it was said.

/// Side of a parallel runway.
pub type Side = u8;

/// The value of a slot. Two values are equal if they mean the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Value {
    /// Designator 1–36 and side (`L`, `R`, `C` or 0).
    Runway(u8, Side),
    /// Flight level, hundreds of feet.
    FlightLevel(u16),
    /// Altitude or height in feet.
    Feet(u32),
    /// Degrees magnetic, 1–360.
    Heading(u16),
    /// A bearing in degrees, 1–360.
    Bearing(u16),
    /// A relative turn or a side step in degrees.
    Degrees(u16),
    /// Knots.
    Knots(u16),
    /// Hundredths of Mach.
    Mach(u16),
    /// Feet per minute.
    Rate(u32),
    /// Kilohertz.
    Frequency(u32),
    /// Transponder code, read as a decimal number.
    Squawk(u16),
    /// Altimeter setting in hectopascals.
    Hectopascals(u16),
    /// Altimeter setting in hundredths of an inch of mercury.
    Inches(u16),
    /// Time: hour and minute, or minutes alone (hour 255).
    Time(u8, u8),
    /// A plain number.
    Number(u32),
    /// A letter.
    Letter(u8),
    /// Letters and digits of a stand or holding point, packed.
    Mark(u64),
    /// Taxiways in order, packed, and how many.
    Route([u16; 10], u8),
    /// A name, by its folded letters.
    Name(u64),
    /// A procedure: name, number, letter (0 if none).
    Procedure(u64, u8, u8),
    /// A station: place (0 if not said) and function (0 if not said).
    Unit(u64, u16),
    /// Wind: direction, speed, gust; 0, 0, 0 is calm.
    Wind(u16, u16, u16),
    /// An aircraft type or a kind of vehicle.
    Aircraft(u64),
    /// A callsign, by its folded words and characters.
    Callsign(u64),
    /// A form of a slot of the grammar: slot, form, and what its inner slots hold.
    Form(u16, u16, u64),
}

impl Value {
    /// A short number that differs where the values differ: used for the inner slots of a form.
    #[must_use]
    pub fn digest(&self) -> u64 {
        use std::hash::{Hash, Hasher};
        let mut hasher = rustc_hash::FxHasher::default();
        match *self {
            Self::Runway(n, side) => (1u8, n, side).hash(&mut hasher),
            Self::FlightLevel(n) => (2u8, n).hash(&mut hasher),
            Self::Feet(n) => (3u8, n).hash(&mut hasher),
            Self::Heading(n) => (4u8, n).hash(&mut hasher),
            Self::Bearing(n) => (25u8, n).hash(&mut hasher),
            Self::Degrees(n) => (5u8, n).hash(&mut hasher),
            Self::Knots(n) => (6u8, n).hash(&mut hasher),
            Self::Mach(n) => (7u8, n).hash(&mut hasher),
            Self::Rate(n) => (8u8, n).hash(&mut hasher),
            Self::Frequency(n) => (9u8, n).hash(&mut hasher),
            Self::Squawk(n) => (10u8, n).hash(&mut hasher),
            Self::Hectopascals(n) => (11u8, n).hash(&mut hasher),
            Self::Inches(n) => (12u8, n).hash(&mut hasher),
            Self::Time(h, m) => (13u8, h, m).hash(&mut hasher),
            Self::Number(n) => (14u8, n).hash(&mut hasher),
            Self::Letter(n) => (15u8, n).hash(&mut hasher),
            Self::Mark(n) => (16u8, n).hash(&mut hasher),
            Self::Route(items, n) => (17u8, items, n).hash(&mut hasher),
            Self::Name(n) => (18u8, n).hash(&mut hasher),
            Self::Procedure(a, b, c) => (19u8, a, b, c).hash(&mut hasher),
            Self::Unit(a, b) => (20u8, a, b).hash(&mut hasher),
            Self::Wind(a, b, c) => (21u8, a, b, c).hash(&mut hasher),
            Self::Aircraft(n) => (22u8, n).hash(&mut hasher),
            Self::Callsign(n) => (23u8, n).hash(&mut hasher),
            Self::Form(a, b, c) => (24u8, a, b, c).hash(&mut hasher),
        }
        hasher.finish()
    }
}

/// Packs one taxiway (one or two letters, number 0–63) into 16 bits.
#[must_use]
pub fn pack_taxiway(first: u8, second: u8, number: u8) -> u16 {
    let letter = |c: u8| if c.is_ascii_uppercase() { u16::from(c - b'A' + 1) } else { 0 };
    letter(first) << 11 | letter(second) << 6 | u16::from(number.min(63))
}

/// The written form of a packed taxiway: `C1`.
#[must_use]
pub fn unpack_taxiway(packed: u16) -> String {
    let mut out = String::new();
    for shift in [11, 6] {
        let letter = u8::try_from(packed >> shift & 31).unwrap_or(0);
        if letter > 0 {
            out.push(char::from(b'A' + letter - 1));
        }
    }
    if packed & 63 > 0 {
        out.push_str(&(packed & 63).to_string());
    }
    out
}

/// The channel a spoken frequency means: two digits after the decimal can stand for a 25 kHz channel
/// (`.97` is `.975`), one digit for hundreds.
///
/// Source: Annex 10 Volume II, 5.2.1.7.3.4 (channel designators); JO 7110.65 2-4-17, from memory.
#[must_use]
pub fn channel(megahertz: u32, decimals: &[u8]) -> Option<u32> {
    let tail = match *decimals {
        [a] => u32::from(a) * 100,
        [a, b] => {
            let pair = u32::from(a) * 100 + u32::from(b) * 10;
            if matches!(b, 2 | 7) { pair + 5 } else { pair }
        }
        [a, b, c] => u32::from(a) * 100 + u32::from(b) * 10 + u32::from(c),
        _ => return None,
    };
    (100..=399).contains(&megahertz).then_some(megahertz * 1000 + tail)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taxiways_and_channels_survive_packing() {
        for (first, second, number, written) in
            [(b'A', 0, 0, "A"), (b'C', 0, 1, "C1"), (b'K', b'L', 12, "KL12")]
        {
            assert_eq!(unpack_taxiway(pack_taxiway(first, second, number)), written);
        }
        assert_eq!(channel(118, &[7]), Some(118_700));
        assert_eq!(channel(135, &[2, 7]), Some(135_275));
        assert_eq!(channel(118, &[0, 0, 5]), Some(118_005));
        assert_eq!(channel(99, &[5]), None);
    }
}
