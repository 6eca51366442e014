//! Runways, levels, headings, speeds, rates and other counted values.

use super::form::*;
use super::{Match, View, small};
use crate::text::token::{BREAK, GLUED, GROUP, Kind, TYPED};
use crate::value::Value;

impl View<'_> {
    pub(super) fn runway(&self, i: usize, out: &mut Vec<Match>) {
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
        let next = self.word(from + len);
        if !marked
            && next != 0
            && [self.marks.minute, self.marks.mile, self.marks.degrees, self.marks.feet].contains(&next)
        {
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
            Kind::Letter if a.is(TYPED) && matches!(a.value, b'L' | b'R' | b'C') => {
                Some((a.value, a.is(GLUED)))
            }
            Kind::Word if a.word == 0 => None,
            Kind::Word if a.word == self.marks.left => Some((b'L', !a.is(BREAK))),
            Kind::Word if a.word == self.marks.right => Some((b'R', !a.is(BREAK))),
            Kind::Word if a.word == self.marks.centre => Some((b'C', !a.is(BREAK))),
            _ => None,
        });
        if let Some((side, close)) = side {
            self.found(out, [i, from, end + 1, end + 1], Value::Runway(number, side), form, u8::from(!close));
        }
        let glued_letter = self.at(end).is_some_and(|a| a.kind == Kind::Letter && a.is(GLUED));
        if !glued_letter {
            self.found(
                out,
                [i, from, end, end],
                Value::Runway(number, 0),
                form,
                u8::from(side.is_some_and(|s| s.1)),
            );
        }
    }

    /// `D thousand [D hundred]`, `D hundred`: feet, end, form.
    pub(super) fn round_number(&self, i: usize) -> Option<(u32, usize, u32)> {
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
                } else if tail.len == 3
                    && self.at(end).is_some_and(|a| !a.is(BREAK))
                    && tail.digits[1..3] == [0, 0]
                {
                    feet += tail.number(0, 3);
                    end += 3;
                }
                Some((feet, end, ROUND))
            }
            Some(Kind::Hundred) if run.len <= 2 => Some((head * 100, end + 1, ROUND)),
            _ => None,
        }
    }

    pub(super) fn level(&self, i: usize, out: &mut Vec<Match>) {
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
                self.found(
                    out,
                    [i, from, end, end],
                    Value::FlightLevel(small(level)),
                    form | ROUND | HUNDRED,
                    0,
                );
                return;
            }
            // "three six zero three six zero": said twice.
            if run.len == 6 && run.digits[..3] == run.digits[3..6] && self.cut(from + 6) {
                let value = Value::FlightLevel(small(run.number(0, 3)));
                self.found(out, [i, from, from + 3, from + 6], value, form, 0);
            }
            for len in [3, 2] {
                if run.len >= len && self.cut(from + len) {
                    let value = Value::FlightLevel(small(run.number(0, len)));
                    let cost = if run.len == len || (len == 3 && run.len > 3) { 0 } else { 3 };
                    // No aircraft flies above flight level 660: further digits belong to what follows.
                    let cost = cost + if run.number(0, len) > 660 { 8 } else { 0 };
                    self.found(out, [i, from, from + len, from + len], value, form, cost);
                }
            }
            // "level four thousand feet"
            if alone != 0
                && let Some((feet, to, round)) = self.round_number(from)
            {
                let end = to + usize::from(self.word(to) == marks.feet);
                let unit = if end > to { UNIT } else { 0 };
                self.found(out, [i, from, to, end], Value::Feet(feet), round | unit | CLEAR, 0);
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
        // "one one minutes" is no level.
        let run = self.run(from);
        let counted = self.word(from + run.len);
        if !altitude && counted != 0 && [marks.minute, marks.mile].contains(&counted) {
            return;
        }
        if let Some((feet, to, round)) = self.round_number(from) {
            let (end, unit) = with_unit(to);
            let clear = if feet >= 1000 { CLEAR } else { 0 };
            let vague = if unit == 0 && clear == 0 && !altitude { 2 } else { 0 };
            self.found(
                out,
                [i, from, to, end],
                Value::Feet(feet),
                altitude_form | round | unit | clear,
                vague,
            );
            if feet <= 400 && unit == 0 && !altitude {
                let value = Value::FlightLevel(small(feet));
                self.found(out, [i, from, to, to], value, round | HUNDRED, 1);
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
                self.found(out, [i, from, to, end], Value::Feet(feet), altitude_form | unit, cost);
            }
        }
        if !altitude {
            for len in [3, 2] {
                let to = from + len;
                let next = self.word(to);
                let other_unit = next != 0
                    && [marks.feet, marks.knots, marks.degrees, marks.mile, marks.oclock].contains(&next);
                if run.len >= len && self.cut(to) && !other_unit {
                    let cost =
                        if run.len == len { 1 } else { 4 } + if run.number(0, len) > 660 { 8 } else { 0 };
                    self.found(
                        out,
                        [i, from, to, to],
                        Value::FlightLevel(small(run.number(0, len))),
                        0,
                        cost,
                    );
                }
            }
        }
    }

    pub(super) fn heading(&self, i: usize, out: &mut Vec<Match>) {
        let marked = self.word(i) == self.marks.heading;
        let from = if marked { self.fillers(i + 1) } else { i };
        let run = self.run(from);
        if run.len == 0 || !self.starts(from) {
            return;
        }
        // "heading two hundred": understood, though a heading is said in digits.
        if marked && run.len == 1 && run.number(0, 1) < 4 && self.kind(from + 1) == Some(Kind::Hundred) {
            let to = from + 2;
            let end = to + usize::from(self.word(to) == self.marks.degrees);
            let form = MARK | CLEAR | GROUPED;
            self.found(out, [i, from, to, end], Value::Heading(small(run.number(0, 1) * 100)), form, 0);
            return;
        }
        // "heading zero six zero zero six zero": said twice.
        if marked && run.len == 6 && run.digits[..3] == run.digits[3..6] && self.cut(from + 6) {
            let end = from + 6 + usize::from(self.word(from + 6) == self.marks.degrees);
            let value = Value::Heading(small(run.number(0, 3)));
            self.found(out, [i, from, from + 3, end], value, MARK | CLEAR, 0);
        }
        let lens: &[usize] = if marked { &[3, 2, 1] } else { &[3] };
        for &len in lens {
            if run.len < len || !self.cut(from + len) {
                continue;
            }
            let to = from + len;
            if matches!(self.kind(to), Some(Kind::Thousand | Kind::Hundred | Kind::Decimal)) && run.len == len
            {
                continue;
            }
            // "heading, one three minutes" counts minutes.
            let counted = self.word(to);
            if counted != 0 && [self.marks.minute, self.marks.mile].contains(&counted) {
                continue;
            }
            let unit = counted == self.marks.degrees;
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
            let cost =
                if run.len > len { 3 } else { 0 } + u8::from(len < 3) + if number > 360 { 8 } else { 0 };
            self.found(out, [i, from, to, end], value, form, cost);
        }
    }

    /// Three digits after the words that tell which bearing.
    pub(super) fn bearing(&self, i: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        if run.len == 3 && self.starts(i) {
            let end = i + 3 + usize::from(self.word(i + 3) == self.marks.degrees);
            let value = Value::Bearing(small(run.number(0, 3)));
            self.found(out, [i, i, i + 3, end], value, CLEAR, 0);
        }
    }

    pub(super) fn degrees(&self, i: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        if (1..=3).contains(&run.len) && self.starts(i) && self.word(i + run.len) == self.marks.degrees {
            let to = i + run.len;
            let value = Value::Degrees(small(run.number(0, run.len)));
            self.found(out, [i, i, to, to + 1], value, CLEAR | UNIT, 0);
        }
    }

    pub(super) fn speed(&self, i: usize, out: &mut Vec<Match>) {
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
                    self.found(out, [i, from, decimal, decimal], value, MARK | CLEAR, 0);
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
                self.found(out, [i, from, end, end], value, MARK | CLEAR, 0);
            }
            return;
        }
        let marked = first == marks.speed;
        let from = if marked { self.fillers(i + 1) } else { i };
        let run = self.run(from);
        if run.len == 1
            && self.kind(from + 1) == Some(Kind::Hundred)
            && (marked || self.word(from + 2) == marks.knots)
        {
            let end = from + 2 + usize::from(self.word(from + 2) == marks.knots);
            let unit = if end > from + 2 { UNIT } else { 0 };
            let mark = if marked { MARK } else { 0 };
            let value = Value::Knots(small(run.number(0, 1) * 100));
            self.found(out, [i, from, from + 2, end], value, CLEAR | GROUPED | unit | mark, 0);
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
            // Bare digits are a level sooner than a speed.
            let bare = if marked || unit { 0 } else { 2 };
            let cost = bare + if run.len > len { 3 } else { 0 };
            let value = Value::Knots(small(run.number(0, len)));
            self.found(out, [i, from, to, to + usize::from(unit)], value, form, cost);
        }
    }

    pub(super) fn rate(&self, i: usize, out: &mut Vec<Match>) {
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
        let per = self.word(end) == marks.per && self.word(end + 1) == marks.minute;
        // "ft/min"
        let short = end > to && self.word(end) == marks.minute;
        let unit = per || short;
        if unit {
            end += if per { 2 } else { 1 };
        } else {
            end = to;
        }
        // Without its unit a rate is said in whole hundreds.
        if !unit && (number < 200 || number % 100 != 0) {
            return;
        }
        let form = if unit { CLEAR | UNIT } else { 0 } | round;
        self.found(out, [i, i, to, end], Value::Rate(number), form, 0);
    }

    pub(super) fn counted(&self, i: usize, unit: u16, out: &mut Vec<Match>) {
        let run = self.run(i);
        if (1..=3).contains(&run.len) && self.starts(i) && unit != 0 {
            let to = i + run.len;
            if self.word(to) == unit {
                let value = Value::Number(run.number(0, run.len));
                self.found(out, [i, i, to, to + 1], value, CLEAR | UNIT, 0);
            }
        }
    }

    pub(super) fn wind(&self, i: usize, out: &mut Vec<Match>) {
        let marks = self.marks;
        let mut at = i;
        if self.word(at) == marks.surface && marks.surface != 0 {
            at += 1;
        }
        let marked = self.word(at) == marks.wind;
        if marked {
            at += 1;
            if self.word(at) == marks.calm && marks.calm != 0 {
                self.found(out, [i, at, at + 1, at + 1], Value::Wind(0, 0, 0), MARK | CLEAR, 0);
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
        if !(marked || degrees && unit) {
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
        self.found(out, [i, from, at, at], Value::Wind(direction, small(knots), small(gust)), form, 0);
    }

    pub(super) fn temperature(&self, i: usize, out: &mut Vec<Match>) {
        let signed = [self.marks.minus, self.marks.plus].contains(&self.word(i)) && self.word(i) != 0;
        let from = i + usize::from(signed);
        let run = self.run(from);
        if (1..=2).contains(&run.len) && self.starts(from) {
            let to = from + run.len;
            let sign = if self.word(i) == self.marks.minus { 100 } else { 0 };
            let end = to + usize::from(self.word(to) == self.marks.degrees && self.marks.degrees != 0);
            self.found(out, [i, i, to, end], Value::Number(sign + run.number(0, run.len)), 0, 0);
        }
    }
}
