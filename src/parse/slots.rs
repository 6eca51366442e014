//! Slots of the matcher's own: what can be read as a runway, a level, a frequency at a place in the text.

use super::automaton::First;
use super::marks::Marks;
use crate::text::token::{Atom, BREAK, CAPITAL, FILLER, GLUED, GROUP, Kind, MULTIPLE, OH, POINT, TYPED};
use crate::rules::SlotRef;
use crate::value::{Value, channel, pack_taxiway};
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
}
use form::{ALTITUDE, CLEAR, DECIMAL, GROUPED, HUNDRED, LEVEL_ALONE, LOOSE_DIGIT, MARK, NO_LEAD, ROUND, SHORT, SPOKEN, UNIT};

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
    Runway "runway"; Level "level"; Heading "heading"; Degrees "degrees"; Speed "speed"; Rate "rate";
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
            Self::Rate | Self::Squawk | Self::Minutes | Self::Number => (&[Digit], vec![]),
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
                Some(a) if a.kind == Kind::Digit && (run.len == 0 || !a.is(BREAK)) => run.digits[run.len] = a.value,
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

    fn found(&self, out: &mut Vec<Match>, i: usize, from: usize, to: usize, end: usize, value: Value, form: u32, cost: u8) {
        debug_assert!(end > i);
        let form = form | self.said(from, to);
        out.push(Match { slot: SlotRef::Builtin(self.reading.get()), start: index(i), end: index(end), from: index(from), to: index(to), value, form, cost, inner: (0, 0) });
    }

    /// All readings of `slot` at atom `i`.
    pub(crate) fn read(&self, slot: Builtin, i: usize, out: &mut Vec<Match>) {
        self.reading.set(slot);
        match slot {
            Builtin::Runway => self.runway(i, out),
            Builtin::Level => self.level(i, out),
            Builtin::Heading => self.heading(i, out),
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

    fn runway(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.word(i) == self.marks.runway;
        let from = if marked { self.fillers(i + 1) } else { i };
        let run = self.run(from);
        if run.len == 0 || (!marked && run.len > 2) || !self.starts(from) {
            return;
        }
        let len = run.len.min(2);
        if !self.cut(from + len) {
            return;
        }
        let number = u8::try_from(run.number(0, len)).unwrap_or(99);
        if number == 0 || (!marked && number > 36) {
            return;
        }
        let end = from + len;
        let short = if len == 1 { SHORT } else { 0 };
        let form = if marked { MARK | CLEAR } else { 0 } | short;
        let side = self.at(end).and_then(|a| match a.kind {
            Kind::Letter if a.is(TYPED) && matches!(a.value, b'L' | b'R' | b'C') => Some((a.value, a.is(GLUED))),
            Kind::Word if a.word == 0 => None,
            Kind::Word if a.word == self.marks.left => Some((b'L', !a.is(BREAK))),
            Kind::Word if a.word == self.marks.right => Some((b'R', !a.is(BREAK))),
            Kind::Word if a.word == self.marks.centre => Some((b'C', !a.is(BREAK))),
            _ => None,
        });
        if let Some((side, close)) = side {
            self.found(out, i, from, end + 1, end + 1, Value::Runway(number, side), form, u8::from(!close));
        }
        let glued_letter = self.at(end).is_some_and(|a| a.kind == Kind::Letter && a.is(GLUED));
        if !glued_letter {
            self.found(out, i, from, end, end, Value::Runway(number, 0), form, u8::from(side.is_some_and(|s| s.1)));
        }
    }

    /// `D thousand [D hundred]`, `D hundred`: feet, end, form.
    fn round_number(&self, i: usize) -> Option<(u32, usize, u32)> {
        let run = self.run(i);
        if run.len == 0 || run.len > 3 || !self.starts(i) {
            return None;
        }
        let mut end = i + run.len;
        let head = run.number(0, run.len);
        match self.kind(end) {
            Some(Kind::Thousand) => {
                end += 1;
                let mut feet = head * 1000;
                let tail = self.run(end);
                if tail.len == 1 && self.kind(end + 1) == Some(Kind::Hundred) {
                    feet += tail.number(0, 1) * 100;
                    end += 2;
                } else if tail.len == 3 && self.at(end).is_some_and(|a| !a.is(BREAK)) && tail.digits[1..3] == [0, 0] {
                    feet += tail.number(0, 3);
                    end += 3;
                }
                Some((feet, end, ROUND))
            }
            Some(Kind::Hundred) if run.len <= 2 => Some((head * 100, end + 1, ROUND)),
            _ => None,
        }
    }

    fn level(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let first = self.word(i);
        if first == marks.flight || first == marks.level {
            let (at, alone) = if first == marks.flight {
                if self.word(i + 1) != marks.level {
                    return;
                }
                (i + 2, 0)
            } else {
                (i + 1, LEVEL_ALONE)
            };
            let from = self.fillers(at);
            let run = self.run(from);
            let form = MARK | CLEAR | alone;
            if run.len == 1 && self.kind(from + 1) == Some(Kind::Hundred) {
                let mut level = run.number(0, 1) * 100;
                let mut end = from + 2;
                let tail = self.run(end);
                if tail.len == 2 && self.at(end).is_some_and(|a| a.is(GROUP)) {
                    level += tail.number(0, 2);
                    end += 2;
                }
                self.found(out, i, from, end, end, Value::FlightLevel(small(level)), form | ROUND | HUNDRED, 0);
                return;
            }
            for len in [3, 2] {
                if run.len >= len && self.cut(from + len) {
                    let value = Value::FlightLevel(small(run.number(0, len)));
                    let cost = if run.len == len || (len == 3 && run.len > 3) { 0 } else { 3 };
                    self.found(out, i, from, from + len, from + len, value, form, cost);
                }
            }
            // "level four thousand feet"
            if alone != 0
                && let Some((feet, to, round)) = self.round_number(from)
            {
                let end = to + usize::from(self.word(to) == marks.feet);
                let unit = if end > to { UNIT } else { 0 };
                self.found(out, i, from, to, end, Value::Feet(feet), round | unit | CLEAR, 0);
            }
            return;
        }
        let altitude = first == marks.altitude || first == marks.height;
        let from = if altitude { self.fillers(i + 1) } else { i };
        let altitude_form = if altitude { ALTITUDE | CLEAR } else { 0 };
        if !self.is_digit(from) || !self.starts(from) {
            return;
        }
        let with_unit = |to: usize| {
            let end = to + usize::from(self.word(to) == marks.feet);
            (end, if end > to { UNIT | CLEAR } else { 0 })
        };
        if let Some((feet, to, round)) = self.round_number(from) {
            let (end, unit) = with_unit(to);
            let clear = if feet >= 1000 { CLEAR } else { 0 };
            let vague = if unit == 0 && clear == 0 && !altitude { 2 } else { 0 };
            self.found(out, i, from, to, end, Value::Feet(feet), altitude_form | round | unit | clear, vague);
            if feet <= 900 && feet % 100 == 0 && unit == 0 && !altitude {
                let value = Value::FlightLevel(small(feet));
                self.found(out, i, from, to, to, value, round | HUNDRED, 1);
            }
            return;
        }
        let run = self.run(from);
        if matches!(self.kind(from + run.len), Some(Kind::Thousand | Kind::Hundred | Kind::Decimal)) {
            return;
        }
        for len in (3..=5).rev() {
            if run.len < len || !self.cut(from + len) {
                continue;
            }
            let to = from + len;
            let (end, unit) = with_unit(to);
            if unit != 0 || altitude || len >= 4 {
                let feet = run.number(0, len);
                let cost = if run.len == len { 0 } else { 4 } + if unit == 0 && !altitude { 2 } else { 0 };
                self.found(out, i, from, to, end, Value::Feet(feet), altitude_form | unit, cost);
            }
        }
        if !altitude {
            for len in [3, 2] {
                let to = from + len;
                let next = self.word(to);
                let other_unit =
                    next != 0 && [marks.feet, marks.knots, marks.degrees, marks.mile, marks.oclock].contains(&next);
                if run.len >= len && self.cut(to) && !other_unit {
                    let cost = if run.len == len { 1 } else { 4 };
                    self.found(out, i, from, to, to, Value::FlightLevel(small(run.number(0, len))), 0, cost);
                }
            }
        }
    }

    fn heading(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.word(i) == self.marks.heading;
        let from = if marked { self.fillers(i + 1) } else { i };
        let run = self.run(from);
        if run.len == 0 || !self.starts(from) {
            return;
        }
        let lens: &[usize] = if marked { &[3, 2, 1] } else { &[3] };
        for &len in lens {
            if run.len < len || !self.cut(from + len) {
                continue;
            }
            let to = from + len;
            if matches!(self.kind(to), Some(Kind::Thousand | Kind::Hundred | Kind::Decimal)) && run.len == len {
                continue;
            }
            let unit = self.word(to) == self.marks.degrees;
            let end = to + usize::from(unit);
            let mut form = if marked { MARK | CLEAR } else { 0 };
            if unit {
                form |= UNIT;
            }
            if len < 3 {
                form |= SHORT;
            }
            let number = run.number(0, len);
            let value = Value::Heading(if number == 0 { 360 } else { small(number) });
            let cost = if run.len > len { 3 } else { 0 } + u8::from(len < 3) + if number > 360 { 8 } else { 0 };
            self.found(out, i, from, to, end, value, form, cost);
        }
    }

    fn degrees(&self, i: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        if (1..=3).contains(&run.len) && self.starts(i) && self.word(i + run.len) == self.marks.degrees {
            let to = i + run.len;
            let value = Value::Degrees(small(run.number(0, run.len)));
            self.found(out, i, i, to, to + 1, value, CLEAR | UNIT, 0);
        }
    }

    fn speed(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let first = self.word(i);
        let typed_m = self.at(i).is_some_and(|a| a.kind == Kind::Letter && a.is(TYPED) && a.value == b'M');
        if first == marks.mach || typed_m {
            let from = i + 1;
            let run = self.run(from);
            let mut decimal = from + run.len;
            if run.len > 1 || (typed_m && self.kind(decimal) != Some(Kind::Decimal)) {
                // "Mach seven eight"
                if (2..=3).contains(&run.len) && !typed_m {
                    let value = Value::Mach(small(run.number(0, 2)));
                    self.found(out, i, from, decimal, decimal, value, MARK | CLEAR, 0);
                }
                return;
            }
            if self.kind(decimal) != Some(Kind::Decimal) {
                return;
            }
            decimal += 1;
            let tail = self.run(decimal);
            if (1..=3).contains(&tail.len) {
                let hundredths = if tail.len == 1 { tail.number(0, 1) * 10 } else { tail.number(0, 2) };
                let value = Value::Mach(small(run.number(0, run.len) * 100 + hundredths));
                let end = decimal + tail.len;
                self.found(out, i, from, end, end, value, MARK | CLEAR, 0);
            }
            return;
        }
        let marked = first == marks.speed;
        let from = if marked { self.fillers(i + 1) } else { i };
        let run = self.run(from);
        if run.len == 1 && self.kind(from + 1) == Some(Kind::Hundred) && (marked || self.word(from + 2) == marks.knots) {
            let end = from + 2 + usize::from(self.word(from + 2) == marks.knots);
            let unit = if end > from + 2 { UNIT } else { 0 };
            let mark = if marked { MARK } else { 0 };
            let value = Value::Knots(small(run.number(0, 1) * 100));
            self.found(out, i, from, from + 2, end, value, CLEAR | GROUPED | unit | mark, 0);
        }
        for len in [3, 2] {
            let to = from + len;
            if run.len < len || !self.starts(from) || !self.cut(to) {
                continue;
            }
            let unit = self.word(to) == marks.knots;
            if len == 2 && !unit {
                continue;
            }
            if matches!(self.kind(to), Some(Kind::Thousand | Kind::Hundred | Kind::Decimal)) {
                continue;
            }
            let mut form = if marked { MARK | CLEAR } else { 0 };
            if unit {
                form |= UNIT | CLEAR;
            }
            let cost = if run.len > len { 3 } else { 0 };
            let value = Value::Knots(small(run.number(0, len)));
            self.found(out, i, from, to, to + usize::from(unit), value, form, cost);
        }
    }

    fn rate(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let (number, to, round) = match self.round_number(i) {
            Some(found) => found,
            None => {
                let run = self.run(i);
                if !(3..=4).contains(&run.len) || !self.starts(i) {
                    return;
                }
                (run.number(0, run.len), i + run.len, 0)
            }
        };
        let mut end = to;
        if self.word(end) == marks.feet {
            end += 1;
        }
        let unit = self.word(end) == marks.per && self.word(end + 1) == marks.minute;
        if unit {
            end += 2;
        } else {
            end = to;
        }
        let form = if unit { CLEAR | UNIT } else { 0 } | round;
        self.found(out, i, i, to, end, Value::Rate(number), form, 0);
    }

    fn frequency(&self, i: usize, out: &mut Vec<Match>) {
        if !self.starts(i) {
            return;
        }
        // "point niner"
        if self.kind(i) == Some(Kind::Decimal) {
            let run = self.run(i + 1);
            if (1..=2).contains(&run.len)
                && let Some(kilohertz) = channel(121, &run.digits[..run.len])
            {
                let end = i + 1 + run.len;
                self.found(out, i, i, end, end, Value::Frequency(kilohertz), SHORT, 0);
            }
            return;
        }
        let run = self.run(i);
        if run.len < 2 {
            return;
        }
        let decimal = i + run.len;
        if self.kind(decimal) == Some(Kind::Decimal) {
            if run.len > 3 {
                return;
            }
            let tail = self.run(decimal + 1);
            let lead = if run.len == 2 { (100, NO_LEAD, 2) } else { (0, 0, 0) };
            let megahertz = run.number(0, run.len) + lead.0;
            for len in (1..=tail.len.min(3)).rev() {
                let end = decimal + 1 + len;
                if self.cut(end)
                    && let Some(kilohertz) = channel(megahertz, &tail.digits[..len])
                {
                    let cost = lead.2 + if tail.len > len && !(len == 3 && tail.len > 3) { 3 } else { 0 };
                    self.found(out, i, i, end, end, Value::Frequency(kilohertz), CLEAR | lead.1, cost);
                }
            }
            return;
        }
        if matches!(self.kind(decimal), Some(Kind::Thousand | Kind::Hundred)) {
            return;
        }
        for len in (4..=run.len.min(6)).rev() {
            let end = i + len;
            if !self.cut(end) {
                continue;
            }
            let megahertz = run.number(0, 3);
            let (megahertz, digits, lead, cost) = if (118..=136).contains(&megahertz) {
                (megahertz, &run.digits[3..len], 0, 0)
            } else if (18..=36).contains(&run.number(0, 2)) && len <= 5 {
                (run.number(0, 2) + 100, &run.digits[2..len], NO_LEAD, 2)
            } else {
                (megahertz, &run.digits[3..len], 0, 3)
            };
            if let Some(kilohertz) = channel(megahertz, digits) {
                let cost = cost + if run.len > len { 3 } else { 0 };
                self.found(out, i, i, end, end, Value::Frequency(kilohertz), lead, cost);
            }
        }
    }

    fn squawk(&self, i: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        if !self.starts(i) {
            return;
        }
        if run.len >= 4 && self.cut(i + 4) {
            let value = Value::Squawk(small(run.number(0, 4)));
            self.found(out, i, i, i + 4, i + 4, value, 0, if run.len > 4 { 3 } else { 0 });
        } else if run.len == 1 && self.kind(i + 1) == Some(Kind::Thousand) {
            let value = Value::Squawk(small(run.number(0, 1) * 1000));
            self.found(out, i, i, i + 2, i + 2, value, ROUND, 0);
        }
    }

    fn altimeter(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let first = self.word(i);
        let marked = first != 0 && [marks.qnh, marks.qfe, marks.altimeter].contains(&first);
        let from = if marked { self.fillers(i + 1) } else { i };
        let run = self.run(from);
        if run.len == 0 || !self.starts(from) {
            return;
        }
        let base = if marked { MARK | CLEAR } else { 0 };
        let unit = |to: usize| {
            let said = self.word(to) == marks.hectopascals;
            (to + usize::from(said), if said { UNIT | CLEAR } else { 0 })
        };
        if run.len == 1 && self.kind(from + 1) == Some(Kind::Thousand) && run.digits[0] == 1 {
            let (end, form) = unit(from + 2);
            self.found(out, i, from, from + 2, end, Value::Hectopascals(1000), base | form | ROUND, 0);
            return;
        }
        if run.len == 2 && self.kind(from + 2) == Some(Kind::Decimal) {
            let tail = self.run(from + 3);
            if tail.len == 2 {
                let value = Value::Inches(small(run.number(0, 2) * 100 + tail.number(0, 2)));
                self.found(out, i, from, from + 5, from + 5, value, base | CLEAR, 0);
            }
            return;
        }
        for len in [4, 3] {
            let to = from + len;
            if run.len < len || !self.cut(to) {
                continue;
            }
            let number = run.number(0, len);
            let (end, form) = unit(to);
            let cost = if run.len > len { 3 } else { 0 };
            let inches = len == 4 && (2700..=3199).contains(&number);
            let plausible = (850..=1085).contains(&number);
            if inches && form == 0 {
                self.found(out, i, from, to, to, Value::Inches(small(number)), base, cost);
            } else if plausible || marked || form != 0 {
                self.found(out, i, from, to, end, Value::Hectopascals(small(number)), base | form, cost);
            }
        }
    }

    fn time(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.word(i) == self.marks.time;
        let from = i + usize::from(marked);
        let run = self.run(from);
        if !self.starts(from) {
            return;
        }
        let form = if marked { MARK | CLEAR } else { 0 };
        for len in [4, 2] {
            let to = from + len;
            if run.len < len || !self.cut(to) {
                continue;
            }
            let (hour, minute) = if len == 4 { (run.number(0, 2), run.number(2, 4)) } else { (255, run.number(0, 2)) };
            if minute < 60 && (hour < 24 || hour == 255) {
                let value = Value::Time(u8::try_from(hour).unwrap_or(255), u8::try_from(minute).unwrap_or(0));
                let end = to + usize::from(self.at(to).is_some_and(|a| a.kind == Kind::Letter && a.value == b'Z'));
                self.found(out, i, from, to, end, value, form, if run.len > len { 3 } else { 0 });
            }
        }
    }

    fn number(&self, i: usize, most: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        let len = run.len.min(most);
        if len > 0 && self.starts(i) && self.cut(i + len) {
            self.found(out, i, i, i + len, i + len, Value::Number(run.number(0, len)), 0, 0);
        }
    }

    fn information(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.word(i) == self.marks.information;
        let from = if marked { self.fillers(i + 1) } else { i };
        if let Some(atom) = self.at(from)
            && atom.kind == Kind::Letter
        {
            let form = if marked { MARK | CLEAR } else { 0 };
            self.found(out, i, from, from + 1, from + 1, Value::Letter(atom.value), form, 0);
        }
    }

    /// Letters and digits such as `B12`, `12`, `C1`: packed, end.
    fn mark_at(&self, i: usize, most_digits: usize, letter_after: bool) -> Option<(u64, usize)> {
        let mut packed = 0u64;
        let mut at = i;
        let mut push = |byte: u8| packed = packed << 8 | u64::from(byte);
        for _ in 0..2 {
            match self.at(at) {
                Some(a) if a.kind == Kind::Letter && (at == i || !a.is(BREAK) && a.is(GLUED)) => {
                    push(a.value);
                    at += 1;
                }
                _ => break,
            }
        }
        let run = self.run(at);
        let joined = at == i || self.at(at).is_some_and(|a| !a.is(BREAK));
        if joined && run.len > 0 {
            let len = run.len.min(most_digits);
            if !self.cut(at + len) {
                return None;
            }
            for &digit in &run.digits[..len] {
                push(b'0' + digit);
            }
            at += len;
            if letter_after
                && let Some(a) = self.at(at)
                && a.kind == Kind::Letter
                && !a.is(BREAK)
            {
                push(a.value);
                at += 1;
            }
        }
        (at > i).then_some((packed, at))
    }

    fn stand(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.marks.is_stand(self.word(i));
        let from = i + usize::from(marked);
        if !marked && !self.is_digit(from) {
            return;
        }
        if !self.starts(from) {
            return;
        }
        for letter_after in [true, false] {
            if let Some((packed, to)) = self.mark_at(from, 3, letter_after) {
                let form = if marked { MARK | CLEAR } else { 0 };
                let cost = u8::from(!letter_after);
                self.found(out, i, from, to, to, Value::Mark(packed), form, cost);
            }
        }
    }

    fn holding_point(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut from = i;
        if self.word(i) == marks.hold && [marks.point, marks.position].contains(&self.word(i + 1)) && self.word(i + 1) != 0 {
            from = i + 2;
        } else if self.word(i) == marks.intersection {
            from = i + 1;
        }
        let marked = from > i;
        let Some(first) = self.at(from) else { return };
        if first.kind != Kind::Letter || (!marked && lone_article(self.atoms, from)) {
            return;
        }
        let form = if marked { MARK | CLEAR } else { 0 };
        for digits in [2, 1, 0] {
            let run = self.run(from + 1).len;
            if (digits == 0 && run > 0 && self.at(from + 1).is_some_and(|a| !a.is(BREAK) && a.is(GLUED)))
                || (digits > 0 && run < digits)
            {
                continue;
            }
            if digits == 0 {
                let value = Value::Mark(u64::from(first.value));
                let cost = if run > 0 && self.at(from + 1).is_some_and(|a| !a.is(BREAK)) { 2 } else { 0 };
                self.found(out, i, from, from + 1, from + 1, value, form, cost);
            } else if let Some((packed, to)) = self.mark_at(from, digits, false) {
                let cost = if run > digits { 3 } else { 0 };
                self.found(out, i, from, to, to, Value::Mark(packed), form, cost);
            }
        }
    }

    fn taxi_route(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut items = [0u16; 10];
        let mut len = 0usize;
        let mut at = i;
        let mut ends = [(0usize, 0u8); 10];
        while len < items.len() {
            let mut next = at;
            if len > 0 {
                while [marks.and, marks.then, marks.via, marks.taxiway].contains(&self.word(next)) && self.word(next) != 0 {
                    next += 1;
                }
            } else if self.word(next) == marks.taxiway && marks.taxiway != 0 {
                next += 1;
            }
            let Some(a) = self.at(next) else { break };
            if a.kind != Kind::Letter || (a.is(FILLER) && !a.is(CAPITAL) && len > 0 && next == at) {
                break;
            }
            let run = self.run(next + 1);
            let joined = self.at(next + 1).is_some_and(|b| !b.is(BREAK));
            let mut digits = if joined { run.len.min(2) } else { 0 };
            if run.len > 2 && joined {
                digits = if self.at(next + 1).is_some_and(|b| b.is(GLUED)) { break } else { 0 };
            }
            if self.word(next + 1 + digits) == marks.mile && digits > 0 {
                digits = 0;
            }
            let number = u8::try_from(run.number(0, digits)).unwrap_or(0);
            items[len] = pack_taxiway(a.value, 0, number);
            at = next + 1 + digits;
            ends[len] = (at, 0);
            len += 1;
        }
        for n in (1..=len).rev() {
            let mut cut = [0u16; 10];
            cut[..n].copy_from_slice(&items[..n]);
            let end = ends[n - 1].0;
            let value = Value::Route(cut, u8::try_from(n).unwrap_or(10));
            let cost = u8::try_from(len - n).unwrap_or(9);
            self.found(out, i, i, end, end, value, 0, cost);
        }
    }

    /// A word that can be a name: outside the vocabulary.
    fn is_name(&self, i: usize) -> bool {
        self.at(i).is_some_and(|a| a.kind == Kind::Word && a.word == 0)
    }

    /// Two to five letters of the alphabet, or typed capitals: folded, end.
    fn spelt(&self, i: usize) -> Option<(u64, usize)> {
        let mut hash = crate::text::FOLD_START;
        let mut at = i;
        while at - i < 5 {
            match self.at(at) {
                Some(a) if a.kind == Kind::Letter && (at == i || !a.is(BREAK)) && !a.is(FILLER) => {
                    hash = crate::text::fold_byte(hash, a.value.to_ascii_lowercase());
                    at += 1;
                }
                _ => break,
            }
        }
        (at >= i + 2).then_some((hash, at))
    }

    fn name(&self, i: usize, most: usize, out: &mut Vec<Match>) {
        if self.is_name(i) {
            let hash = self.atoms[i].hash;
            let two = most > 1 && self.is_name(i + 1) && !self.atoms[i + 1].is(BREAK);
            if two {
                let both = hash.rotate_left(7) ^ self.atoms[i + 1].hash;
                self.found(out, i, i, i + 2, i + 2, Value::Name(both), 0, 0);
            }
            self.found(out, i, i, i + 1, i + 1, Value::Name(hash), 0, if two { 2 } else { 0 });
        } else if let Some((hash, end)) = self.spelt(i) {
            self.found(out, i, i, end, end, Value::Name(hash), 0, 1);
        }
    }

    fn procedure(&self, i: usize, out: &mut Vec<Match>) {
        let (name, at) = if self.is_name(i) {
            (self.atoms[i].hash, i + 1)
        } else if let Some(spelt) = self.spelt(i) {
            spelt
        } else {
            return;
        };
        let run = self.run(at);
        if run.len != 1 || self.at(at).is_some_and(|a| a.is(BREAK)) {
            return;
        }
        let number = run.digits[0];
        let letter = self.at(at + 1).filter(|a| a.kind == Kind::Letter && !a.is(BREAK)).map_or(0, |a| a.value);
        let end = at + 1 + usize::from(letter != 0);
        self.found(out, i, i, end, end, Value::Procedure(name, number, letter), 0, 0);
    }

    fn airway(&self, i: usize, out: &mut Vec<Match>) {
        let prefix = match self.word(i) {
            0 => 0,
            w if w == self.marks.upper => b'U',
            w if w == self.marks.kopter => b'K',
            _ => 0,
        };
        let mut at = i + usize::from(prefix != 0);
        let mut packed = u64::from(prefix);
        let start = at;
        while at - start < 2 && self.kind(at) == Some(Kind::Letter) && self.at(at).is_some_and(|a| !a.is(FILLER)) {
            packed = packed << 8 | u64::from(self.atoms[at].value);
            at += 1;
        }
        let run = self.run(at);
        if at == start || !(1..=3).contains(&run.len) {
            return;
        }
        for &digit in &run.digits[..run.len] {
            packed = packed << 8 | u64::from(b'0' + digit);
        }
        let end = at + run.len;
        self.found(out, i, i, end, end, Value::Mark(packed), 0, 0);
    }

    fn unit(&self, i: usize, out: &mut Vec<Match>) {
        let mut place = 0u64;
        let mut at = i;
        while at - i < 2 && self.is_name(at) && (at == i || !self.atoms[at].is(BREAK)) {
            let hash = self.atoms[at].hash;
            place = if at == i { hash } else { place.rotate_left(7) ^ hash };
            at += 1;
            let function = self.word(at);
            if self.marks.is_function(function) {
                let more = self.marks.is_function(self.word(at + 1)) && self.at(at + 1).is_some_and(|a| !a.is(BREAK));
                let end = at + 1 + usize::from(more);
                self.found(out, i, i, end, end, Value::Unit(place, function), CLEAR, 0);
                return;
            }
        }
        if at > i {
            let first = self.atoms[i].hash;
            self.found(out, i, i, i + 1, i + 1, Value::Unit(first, 0), 0, 3);
            if at > i + 1 {
                self.found(out, i, i, at, at, Value::Unit(place, 0), 0, 4);
            }
        } else if self.marks.is_function(self.word(i)) {
            self.found(out, i, i, i + 1, i + 1, Value::Unit(0, self.word(i)), CLEAR, 0);
        }
    }

    fn counted(&self, i: usize, unit: u16, out: &mut Vec<Match>) {
        let run = self.run(i);
        if (1..=3).contains(&run.len) && self.starts(i) && unit != 0 {
            let to = i + run.len;
            if self.word(to) == unit {
                let value = Value::Number(run.number(0, run.len));
                self.found(out, i, i, to, to + 1, value, CLEAR | UNIT, 0);
            }
        }
    }

    fn wind(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut at = i;
        if self.word(at) == marks.surface && marks.surface != 0 {
            at += 1;
        }
        let marked = self.word(at) == marks.wind;
        if marked {
            at += 1;
            if self.word(at) == marks.calm && marks.calm != 0 {
                self.found(out, i, at, at + 1, at + 1, Value::Wind(0, 0, 0), MARK | CLEAR, 0);
                return;
            }
        } else if at > i {
            return;
        }
        let from = at;
        let run = self.run(at);
        if run.len < 3 || !self.starts(at) {
            return;
        }
        let direction = small(run.number(0, 3));
        at += 3;
        let degrees = self.word(at) == marks.degrees;
        at += usize::from(degrees);
        if [marks.at, marks.and].contains(&self.word(at)) && self.word(at) != 0 {
            at += 1;
        }
        let speed = self.run(at);
        if speed.len == 0 {
            return;
        }
        let len = speed.len.min(2);
        let knots = speed.number(0, len);
        at += len;
        let unit = self.word(at) == marks.knots;
        at += usize::from(unit);
        if !marked && !(degrees && unit) {
            return;
        }
        let mut gust = 0;
        if self.word(at) == marks.gust && marks.gust != 0 {
            let top = self.run(at + 1);
            if top.len > 0 {
                let len = top.len.min(2);
                gust = top.number(0, len);
                at += 1 + len;
                at += usize::from(self.word(at) == marks.knots);
            }
        }
        let form = CLEAR | if marked { MARK } else { 0 };
        self.found(out, i, from, at, at, Value::Wind(direction, small(knots), small(gust)), form, 0);
    }

    /// *A three two zero*, *Airbus*, *seven three seven*, *vehicle*: the type decides, the maker does not.
    fn aircraft(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut at = i;
        let maker = marks.is_maker(self.word(at)).then(|| self.word(at));
        if maker.is_some() {
            at += 1;
        }
        let mut digest = 0u64;
        let letter = self.at(at).filter(|a| a.kind == Kind::Letter && self.is_digit(at + 1));
        let digits_at = at + usize::from(letter.is_some());
        let run = self.run(digits_at);
        let enough = if letter.is_some() || maker.is_some() { 1..=3 } else { 3..=3 };
        if enough.contains(&run.len) && self.starts(digits_at) {
            let to = digits_at + run.len;
            let next = self.word(to);
            let other = next != 0 && [marks.feet, marks.knots, marks.degrees, marks.mile, marks.oclock].contains(&next);
            if !other && !matches!(self.kind(to), Some(Kind::Decimal | Kind::Hundred | Kind::Thousand)) {
                for &digit in &run.digits[..run.len] {
                    digest = digest << 8 | u64::from(b'0' + digit);
                }
                // "an A three two zero": the letter is part of the type, not an article.
                let cut = letter.is_none() && i > 0 && self.kind(i - 1) == Some(Kind::Letter) && !self.atoms[i].is(BREAK);
                self.found(out, i, i, to, to, Value::Aircraft(digest), CLEAR, u8::from(cut));
                return;
            }
        }
        if let Some(maker) = maker {
            self.found(out, i, i, i + 1, i + 1, Value::Aircraft(u64::from(maker) << 40), CLEAR, 0);
        } else if marks.is_vehicle(self.word(i)) {
            self.found(out, i, i, i + 1, i + 1, Value::Aircraft(u64::from(self.word(i)) << 40), CLEAR, 0);
        }
    }

    fn callsign(&self, i: usize, out: &mut Vec<Match>) {
        if let Some((digest, end)) = super::address::shape(self.atoms, i) {
            self.found(out, i, i, end, end, Value::Callsign(digest), 0, 0);
        }
    }

    fn temperature(&self, i: usize, out: &mut Vec<Match>) {
        let signed = [self.marks.minus, self.marks.plus].contains(&self.word(i)) && self.word(i) != 0;
        let from = i + usize::from(signed);
        let run = self.run(from);
        if (1..=2).contains(&run.len) && self.starts(from) {
            let to = from + run.len;
            let sign = if self.word(i) == self.marks.minus { 100 } else { 0 };
            let end = to + usize::from(self.word(to) == self.marks.degrees && self.marks.degrees != 0);
            self.found(out, i, i, to, end, Value::Number(sign + run.number(0, run.len)), 0, 0);
        }
    }
}

/// *a* typed in small letters is the article unless a digit is glued to it.
fn lone_article(atoms: &[Atom], i: usize) -> bool {
    let atom = &atoms[i];
    atom.is(TYPED)
        && !atom.is(CAPITAL)
        && matches!(atom.value, b'A' | b'I' | b'M')
        && !atoms.get(i + 1).is_some_and(|a| a.kind == Kind::Digit && a.is(GLUED))
}
