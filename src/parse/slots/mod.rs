//! Slots of the matcher's own: what can be read as a runway, a level, a frequency at a place in the text.

mod names;
mod numbers;
mod radio;

use super::automaton::First;
use super::marks::Marks;
use crate::rules::SlotRef;
use crate::text::token::{Atom, BREAK, FILLER, GLUED, GROUP, Kind, MULTIPLE, OH, POINT, TYPED};
use crate::value::Value;
use std::cell::Cell;

/// A value read at a place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Match {
    /// What was read.
    pub(crate) slot: SlotRef,
    /// First atom, with marker words.
    pub(crate) start: u16,
    /// One past the last atom, with unit words.
    pub(crate) end: u16,
    /// Atoms of the value alone.
    pub(crate) from: u16,
    pub(crate) to: u16,
    pub(crate) value: Value,
    pub(crate) form: u32,
    pub(crate) cost: u8,
    /// Of a slot of the grammar: where its inner readings begin, and how many.
    pub(crate) inner: (u32, u8),
}

pub(crate) mod form {
    //! How a value was said.
    /// Can't be anything else: a marker or a unit was said.
    pub(crate) const CLEAR: u32 = 1;
    /// The marker word was said: runway, flight level, heading, QNH, speed.
    pub(crate) const MARK: u32 = 1 << 1;
    /// The unit was said: feet, knots, degrees, hectopascals.
    pub(crate) const UNIT: u32 = 1 << 2;
    /// *level* without *flight*.
    pub(crate) const LEVEL_ALONE: u32 = 1 << 3;
    /// *altitude* or *height* was said.
    pub(crate) const ALTITUDE: u32 = 1 << 4;
    /// The word *hundred* or *thousand* was used.
    pub(crate) const ROUND: u32 = 1 << 5;
    /// A group such as *fourteen* was used.
    pub(crate) const GROUPED: u32 = 1 << 6;
    /// At least one digit was spoken, not typed.
    pub(crate) const SPOKEN: u32 = 1 << 7;
    /// *oh*, *double* or *triple*.
    pub(crate) const LOOSE_DIGIT: u32 = 1 << 8;
    /// The decimal was said as *point*.
    pub(crate) const POINT: u32 = 1 << 9;
    /// A decimal was said or typed.
    pub(crate) const DECIMAL: u32 = 1 << 10;
    /// The leading digit was left out.
    pub(crate) const NO_LEAD: u32 = 1 << 11;
    /// Fewer digits than the form has.
    pub(crate) const SHORT: u32 = 1 << 12;
    /// Accepted only because this value was expected here.
    pub(crate) const EXPECTED: u32 = 1 << 13;
    /// *hundred* used in a flight level.
    pub(crate) const HUNDRED: u32 = 1 << 14;
    /// Two digits after the decimal of a channel that has three.
    pub(crate) const CUT_CHANNEL: u32 = 1 << 15;
}
use form::{DECIMAL, GROUPED, LOOSE_DIGIT, SPOKEN};

macro_rules! builtin_slots {
    ($($variant:ident $name:literal;)*) => {
        /// Slots that the matcher reads itself.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[repr(u8)]
        pub(crate) enum Builtin { $($variant,)* }
        impl Builtin {
            pub(crate) const ALL: &'static [Builtin] = &[$(Builtin::$variant,)*];
            pub(crate) fn name(self) -> &'static str { match self { $(Builtin::$variant => $name,)* } }
        }
    };
}
builtin_slots! {
    Runway "runway"; Level "level"; Heading "heading"; Bearing "bearing"; Degrees "degrees"; Speed "speed"; Rate "rate";
    Frequency "frequency"; Squawk "squawk"; Altimeter "altimeter"; Time "time"; Minutes "minutes";
    Number "number"; Information "information"; Stand "stand"; HoldingPoint "holding_point";
    TaxiRoute "taxi_route"; Point "point"; Place "place"; Procedure "procedure"; Airway "airway";
    Unit "unit"; Distance "distance"; Clock "clock"; Wind "wind"; Aircraft "aircraft";
    Callsign "callsign"; Temperature "temperature";
}

impl Builtin {
    /// What a reading of this slot can begin with: kinds of atoms, and words.
    pub(crate) fn begins(self, marks: &Marks) -> (&'static [First], Vec<u16>) {
        use First::{BeforeDegrees, BeforeMile, BeforeOclock, Decimal, Digit, Letter, Name};
        let m = marks;
        match self {
            Self::Runway => (&[Digit], vec![m.runway]),
            Self::Level => (&[Digit], vec![m.flight, m.level, m.altitude, m.height]),
            Self::Heading => (&[Digit], vec![m.heading]),
            Self::Rate | Self::Squawk | Self::Bearing | Self::Minutes | Self::Number => (&[Digit], vec![]),
            Self::Degrees => (&[BeforeDegrees], vec![]),
            Self::Distance => (&[BeforeMile], vec![]),
            Self::Clock => (&[BeforeOclock], vec![]),
            Self::Speed => (&[Digit, Letter], vec![m.speed, m.mach]),
            Self::Frequency => (&[Digit, Decimal], vec![]),
            Self::Altimeter => (&[Digit], vec![m.qnh, m.qfe, m.altimeter]),
            Self::Time => (&[Digit], vec![m.time]),
            Self::Information => (&[Letter], vec![m.information]),
            Self::Stand => (&[Digit], m.stands().to_vec()),
            Self::HoldingPoint => (&[Letter], vec![m.hold, m.intersection]),
            Self::TaxiRoute => (&[Letter], vec![m.taxiway]),
            Self::Point | Self::Place | Self::Procedure | Self::Callsign => (&[Name, Letter], vec![]),
            Self::Airway => (&[Letter], vec![m.upper, m.kopter]),
            Self::Unit => (&[Name], m.functions().to_vec()),
            Self::Wind => (&[BeforeDegrees], vec![m.surface, m.wind]),
            Self::Aircraft => (&[Digit, Letter], [m.makers(), m.vehicles()].concat()),
            Self::Temperature => (&[Digit], vec![m.minus, m.plus]),
        }
    }
}

/// Text as atoms, and the words that mark values.
pub(crate) struct View<'a> {
    pub(crate) atoms: &'a [Atom],
    pub(crate) marks: &'a Marks,
    reading: Cell<Builtin>,
}

impl<'a> View<'a> {
    pub(crate) fn new(atoms: &'a [Atom], marks: &'a Marks) -> Self {
        Self { atoms, marks, reading: Cell::new(Builtin::Runway) }
    }
}

/// Reads a run of digits.
#[derive(Clone, Copy)]
struct Run {
    digits: [u8; 8],
    len: usize,
}

impl Run {
    fn number(&self, from: usize, to: usize) -> u32 {
        self.digits[from..to].iter().fold(0, |n, &d| n * 10 + u32::from(d))
    }
}

#[expect(clippy::cast_possible_truncation, reason = "atom counts fit in u16: longer texts are cut before")]
fn index(i: usize) -> u16 {
    i as u16
}

fn small(n: u32) -> u16 {
    u16::try_from(n).unwrap_or(u16::MAX)
}

impl View<'_> {
    fn at(&self, i: usize) -> Option<&Atom> {
        self.atoms.get(i)
    }

    fn word(&self, i: usize) -> u16 {
        self.at(i).map_or(0, |a| if a.word != 0 { a.word } else { a.slip })
    }

    fn kind(&self, i: usize) -> Option<Kind> {
        self.at(i).map(|a| a.kind)
    }

    fn is_digit(&self, i: usize) -> bool {
        self.kind(i) == Some(Kind::Digit)
    }

    /// Up to eight digits from `i`, none of them after punctuation.
    fn run(&self, i: usize) -> Run {
        let mut run = Run { digits: [0; 8], len: 0 };
        while run.len < 8 {
            match self.at(i + run.len) {
                Some(a) if a.kind == Kind::Digit && (run.len == 0 || !a.is(BREAK)) => {
                    run.digits[run.len] = a.value
                }
                _ => break,
            }
            run.len += 1;
        }
        run
    }

    /// True if a value may end before atom `j`: a typed number is never cut.
    fn cut(&self, j: usize) -> bool {
        self.at(j).is_none_or(|a| !(a.kind == Kind::Digit && a.is(GLUED) && j > 0 && self.is_digit(j - 1)))
    }

    /// True if a value may begin at atom `i`.
    fn starts(&self, i: usize) -> bool {
        self.cut(i)
    }

    /// True if *minutes* stands at atom `i`: the digits before it count them.
    fn counts_minutes(&self, i: usize) -> bool {
        self.at(i).is_some_and(|a| !a.is(BREAK))
            && self.marks.minute != 0
            && self.word(i) == self.marks.minute
    }

    fn said(&self, from: usize, to: usize) -> u32 {
        let mut form = 0;
        for atom in &self.atoms[from..to.min(self.atoms.len())] {
            if matches!(atom.kind, Kind::Digit | Kind::Decimal) {
                if !atom.is(TYPED) {
                    form |= SPOKEN;
                }
                if atom.is(GROUP) {
                    form |= GROUPED;
                }
                if atom.flags & (OH | MULTIPLE) != 0 {
                    form |= LOOSE_DIGIT;
                }
                if atom.kind == Kind::Decimal {
                    form |= DECIMAL;
                    if atom.is(POINT) {
                        form |= form::POINT;
                    }
                }
            }
        }
        form
    }

    fn fillers(&self, mut i: usize) -> usize {
        while self.at(i).is_some_and(|a| a.is(FILLER) && a.kind == Kind::Word) {
            i += 1;
        }
        i
    }

    /// Notes a reading: `[start, from, to, end]` are its first atom, the atoms of its value, and its end.
    fn found(
        &self,
        out: &mut Vec<Match>,
        [start, from, to, end]: [usize; 4],
        value: Value,
        form: u32,
        cost: u8,
    ) {
        debug_assert!(end > start);
        let slot = self.reading.get();
        if !matches!(slot, Builtin::Minutes | Builtin::Number)
            && self.is_digit(end - 1)
            && self.counts_minutes(end)
        {
            return;
        }
        out.push(Match {
            slot: SlotRef::Builtin(slot),
            start: index(start),
            end: index(end),
            from: index(from),
            to: index(to),
            value,
            form: form | self.said(from, to),
            cost,
            inner: (0, 0),
        });
    }

    /// All readings of `slot` at atom `i`.
    pub(crate) fn read(&self, slot: Builtin, i: usize, out: &mut Vec<Match>) {
        self.reading.set(slot);
        match slot {
            Builtin::Runway => self.runway(i, out),
            Builtin::Level => self.level(i, out),
            Builtin::Heading => self.heading(i, out),
            Builtin::Bearing => self.bearing(i, out),
            Builtin::Degrees => self.degrees(i, out),
            Builtin::Speed => self.speed(i, out),
            Builtin::Rate => self.rate(i, out),
            Builtin::Frequency => self.frequency(i, out),
            Builtin::Squawk => self.squawk(i, out),
            Builtin::Altimeter => self.altimeter(i, out),
            Builtin::Time => self.time(i, out),
            Builtin::Minutes => self.number(i, 2, out),
            Builtin::Number => self.number(i, 4, out),
            Builtin::Information => self.information(i, out),
            Builtin::Stand => self.stand(i, out),
            Builtin::HoldingPoint => self.holding_point(i, out),
            Builtin::TaxiRoute => self.taxi_route(i, out),
            Builtin::Point => self.name(i, 1, out),
            Builtin::Place => self.name(i, 2, out),
            Builtin::Procedure => self.procedure(i, out),
            Builtin::Airway => self.airway(i, out),
            Builtin::Unit => self.unit(i, out),
            Builtin::Distance => self.counted(i, self.marks.mile, out),
            Builtin::Clock => self.counted(i, self.marks.oclock, out),
            Builtin::Wind => self.wind(i, out),
            Builtin::Aircraft => self.aircraft(i, out),
            Builtin::Callsign => self.callsign(i, out),
            Builtin::Temperature => self.temperature(i, out),
        }
    }
}
