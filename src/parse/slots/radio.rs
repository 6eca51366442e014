//! Frequencies, codes, altimeter settings, times and plain numbers.

use super::form::*;
use super::{Match, View, small};
use crate::text::token::Kind;
use crate::value::{Value, channel};

impl View<'_> {
    pub(super) fn frequency(&self, i: usize, out: &mut Vec<Match>) {
        if !self.starts(i) {
            return;
        }
        // "point niner", but not "holding point three one"
        if self.kind(i) == Some(Kind::Decimal) {
            if i > 0 && self.word(i - 1) == self.marks.hold {
                return;
            }
            let run = self.run(i + 1);
            if (1..=2).contains(&run.len)
                && let Some(kilohertz) = channel(121, &run.digits[..run.len])
            {
                let end = i + 1 + run.len;
                self.found(out, [i, i, end, end], Value::Frequency(kilohertz), SHORT, 0);
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
                    let cut = if len == 2 { CUT_CHANNEL } else { 0 };
                    let form = CLEAR | lead.1 | cut;
                    self.found(out, [i, i, end, end], Value::Frequency(kilohertz), form, cost);
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
                // Six digits that make a channel are nothing else.
                let clear = if run.len == 6 && len == 6 && lead == 0 && cost == 0 { CLEAR } else { 0 };
                self.found(out, [i, i, end, end], Value::Frequency(kilohertz), lead | clear, cost);
            }
        }
    }

    pub(super) fn squawk(&self, i: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        if !self.starts(i) {
            return;
        }
        if run.len >= 4 && self.cut(i + 4) {
            let value = Value::Squawk(small(run.number(0, 4)));
            self.found(out, [i, i, i + 4, i + 4], value, 0, if run.len > 4 { 3 } else { 0 });
        } else if run.len == 1 && self.kind(i + 1) == Some(Kind::Thousand) {
            let value = Value::Squawk(small(run.number(0, 1) * 1000));
            self.found(out, [i, i, i + 2, i + 2], value, ROUND, 0);
        } else if run.len == 2 && self.kind(i + 2) == Some(Kind::Hundred) {
            let value = Value::Squawk(small(run.number(0, 2) * 100));
            self.found(out, [i, i, i + 3, i + 3], value, ROUND, 0);
        }
    }

    pub(super) fn altimeter(&self, i: usize, out: &mut Vec<Match>) {
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
            self.found(out, [i, from, from + 2, end], Value::Hectopascals(1000), base | form | ROUND, 0);
            return;
        }
        if run.len == 2 && self.kind(from + 2) == Some(Kind::Decimal) {
            let tail = self.run(from + 3);
            if tail.len == 2 {
                let value = Value::Inches(small(run.number(0, 2) * 100 + tail.number(0, 2)));
                self.found(out, [i, from, from + 5, from + 5], value, base | CLEAR, 0);
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
                self.found(out, [i, from, to, to], Value::Inches(small(number)), base, cost);
            } else if plausible || marked || form != 0 {
                self.found(out, [i, from, to, end], Value::Hectopascals(small(number)), base | form, cost);
            }
        }
    }

    pub(super) fn time(&self, i: usize, out: &mut Vec<Match>) {
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
            let (hour, minute) =
                if len == 4 { (run.number(0, 2), run.number(2, 4)) } else { (255, run.number(0, 2)) };
            if minute < 60 && (hour < 24 || hour == 255) {
                let value = Value::Time(u8::try_from(hour).unwrap_or(255), u8::try_from(minute).unwrap_or(0));
                let end =
                    to + usize::from(self.at(to).is_some_and(|a| a.kind == Kind::Letter && a.value == b'Z'));
                self.found(out, [i, from, to, end], value, form, if run.len > len { 3 } else { 0 });
            }
        }
    }

    pub(super) fn number(&self, i: usize, most: usize, out: &mut Vec<Match>) {
        let run = self.run(i);
        let len = run.len.min(most);
        if len > 0 && self.starts(i) && self.cut(i + len) {
            // Before *minutes* it can be nothing else.
            let form = if self.counts_minutes(i + len) { CLEAR } else { 0 };
            self.found(out, [i, i, i + len, i + len], Value::Number(run.number(0, len)), form, 0);
        }
    }
}
