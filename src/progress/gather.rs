//! Reads the record once and counts; two lists in the order of attempts are read side by side.

use super::habit::{Counted, Habit};
use super::stats::{Times, Trend};
use super::{By, Group, Line, Report, place};
use crate::crew::Channel;
use crate::element::{Severity, Standard};
use crate::record::{Record, Result, moment};
use crate::rules::Phase;
use crate::session::hint::TOLD;
use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row};
use rustc_hash::FxHashMap;

/// What stands for the phase of what belongs to none: calls between the pilots.
const NO_PHASE: &str = "flight deck";

/// What stands for the topic of what belongs to none.
const NO_TOPIC: &str = "any";

/// Counts of one part.
#[derive(Debug, Default, Clone)]
struct Tally {
    right: usize,
    owed: usize,
    times: Vec<u32>,
    /// By week, from the first.
    weeks: Vec<(u32, u32)>,
    /// The attempt that was counted last.
    last: i64,
}

impl Tally {
    fn add(&mut self, attempt: &Attempt, right: bool) {
        self.right += usize::from(right);
        self.owed += 1;
        if self.weeks.len() <= attempt.week {
            self.weeks.resize(attempt.week + 1, (0, 0));
        }
        let week = &mut self.weeks[attempt.week];
        week.0 += u32::from(right);
        week.1 += 1;
        if self.last != attempt.id {
            self.last = attempt.id;
            self.times.extend(attempt.first_key);
        }
    }

    fn line(mut self, name: String, first_week: i32) -> Line {
        let weeks: Vec<(i32, usize, usize)> = (first_week..)
            .zip(&self.weeks)
            .filter(|(_, week)| week.1 > 0)
            .map(|(number, week)| (number, week.0 as usize, week.1 as usize))
            .collect();
        Line {
            name,
            right: self.right,
            owed: self.owed,
            times: Times::of(&mut self.times),
            trend: Trend::of(&weeks),
            weeks,
        }
    }
}

/// One first reply.
struct Attempt {
    id: i64,
    /// From the first week of the record.
    week: usize,
    first_key: Option<u32>,
    channel: usize,
    phase: usize,
    /// A right reply was shown before it: it tells nothing of what is known.
    told: bool,
}

/// What can be owed, as places in the lists of names.
#[derive(Clone, Copy, Default)]
struct Item {
    standard: usize,
    topic: usize,
    element: usize,
}

/// Names with their counts, in the order in which they came.
#[derive(Default)]
struct Names {
    places: FxHashMap<String, usize>,
    tallies: Vec<(String, Tally)>,
}

impl Names {
    fn place(&mut self, name: &str) -> usize {
        if let Some(place) = self.places.get(name) {
            return *place;
        }
        let place = self.tallies.len();
        self.places.insert(name.to_owned(), place);
        self.tallies.push((name.to_owned(), Tally::default()));
        place
    }
}

/// Everything that was counted.
#[derive(Default)]
pub(super) struct Gathered {
    attempts: usize,
    firsts: usize,
    told: usize,
    span: Option<(Timestamp, Timestamp)>,
    verdicts: [usize; 4],
    first_week: i32,
    total: Tally,
    typing: Vec<u32>,
    element: Names,
    topic: Names,
    standard: Names,
    channel: Names,
    phase: Names,
    habits: Vec<Habit>,
}

impl Report {
    /// What the record says of a profile.
    ///
    /// # Errors
    /// What SQLite says.
    pub fn of(record: &Record, profile: &str, since: Option<Timestamp>) -> Result<Self> {
        let gathered = record.with(|db| Gathered::of(db, profile, since))?;
        Ok(gathered.report(profile, since))
    }
}

impl Gathered {
    fn of(db: &Connection, profile: &str, since: Option<Timestamp>) -> rusqlite::Result<Self> {
        // One view of the record, although others write.
        let db = db.unchecked_transaction()?;
        let mut all = Self::default();
        let items = all.items(&db)?;
        let since = since.map_or(String::new(), moment::text);
        let oldest: Option<String> = db.query_row(
            "SELECT min(at) FROM attempt WHERE profile = ?1 AND at >= ?2",
            [profile, &since],
            |row| row.get(0),
        )?;
        let Some(oldest) = oldest else { return Ok(all) };
        all.first_week = week(&oldest);
        let mut attempts = db.prepare(
            "SELECT id, at, channel, phase, verdict, first, first_key_ms, sent_ms, hints FROM attempt
             WHERE profile = ?1 AND at >= ?2 ORDER BY id",
        )?;
        let mut attempts = attempts.query([profile, &since])?;
        let mut owed =
            db.prepare("SELECT attempt, item, right, severity FROM owed ORDER BY attempt, number")?;
        let mut owed = owed.query([])?;
        let mut next: Option<Due> = owed.next()?.map(due).transpose()?;
        let mut habits: FxHashMap<(usize, usize, usize), Counted> = FxHashMap::default();
        let mut last = (String::new(), String::new());
        let mut week_of = (String::new(), 0);
        while let Some(row) = attempts.next()? {
            let Some(attempt) = all.attempt(row, &mut last, &mut week_of)? else { continue };
            while next.as_ref().is_some_and(|due| due.attempt < attempt.id) {
                next = owed.next()?.map(self::due).transpose()?;
            }
            while let Some(due) = next.take_if(|due| due.attempt == attempt.id) {
                next = owed.next()?.map(self::due).transpose()?;
                let Some(item) = items.get(&due.item) else { continue };
                all.count(&attempt, *item, due.right && !attempt.told);
                // What was read off a hint is neither a habit nor free of one.
                if !(attempt.told && due.right) {
                    let habit = habits.entry((item.standard, item.topic, item.element)).or_default();
                    habit.add(attempt.id, due.severity.filter(|_| !due.right));
                }
            }
        }
        all.span = Some((oldest, last.1))
            .and_then(|(from, to)| Some((moment::parse(&from).ok()?, moment::parse(&to).ok()?)));
        let name = |names: &Names, at: usize| names.tallies.get(at).map_or("", |(name, _)| name).to_owned();
        let habits = habits.into_iter().map(|((standard, topic, element), counted)| {
            let names = [name(&all.standard, standard), name(&all.topic, topic), name(&all.element, element)];
            (names, counted)
        });
        all.habits = super::habit::worst(&db, habits.collect())?;
        Ok(all)
    }

    fn items(&mut self, db: &Connection) -> rusqlite::Result<FxHashMap<i64, Item>> {
        let mut found = db.prepare("SELECT id, standard, topic, element FROM item")?;
        let mut rows = found.query([])?;
        let mut out = FxHashMap::default();
        while let Some(row) = rows.next()? {
            let topic = match text(row, 2)? {
                "" => NO_TOPIC,
                topic => topic,
            };
            let item = Item {
                standard: self.standard.place(text(row, 1)?),
                topic: self.topic.place(topic),
                element: self.element.place(text(row, 3)?),
            };
            out.insert(row.get(0)?, item);
        }
        Ok(out)
    }

    /// Counts an attempt; gives it back if it is a first reply. `last` are the oldest and newest moments so far,
    /// `week_of` a day and its week.
    fn attempt(
        &mut self,
        row: &Row<'_>,
        last: &mut (String, String),
        week_of: &mut (String, i32),
    ) -> rusqlite::Result<Option<Attempt>> {
        self.attempts += 1;
        let at = text(row, 1)?;
        if *at > *last.1 {
            at.clone_into(&mut last.1);
        }
        if !row.get::<_, bool>(5)? {
            return Ok(None);
        }
        self.firsts += 1;
        let told = row.get::<_, u8>(8)? >= TOLD;
        self.told += usize::from(told);
        let day = at.get(..10).unwrap_or_default();
        if week_of.0 != day {
            *week_of = (day.to_owned(), week(at));
        }
        if let Ok(verdict) = crate::record::verdict(text(row, 4)?) {
            self.verdicts[place(verdict)] += 1;
        }
        let (first_key, sent): (Option<u32>, Option<u32>) = (row.get(6)?, row.get(7)?);
        self.typing.extend(first_key.zip(sent).map(|(key, sent)| sent.saturating_sub(key)));
        let phase = match row.get_ref(3)? {
            ValueRef::Null => NO_PHASE,
            _ => text(row, 3)?,
        };
        Ok(Some(Attempt {
            id: row.get(0)?,
            week: usize::try_from(week_of.1 - self.first_week).unwrap_or(0),
            first_key,
            channel: self.channel.place(text(row, 2)?),
            phase: self.phase.place(phase),
            told,
        }))
    }

    fn count(&mut self, attempt: &Attempt, item: Item, right: bool) {
        self.total.add(attempt, right);
        for (names, at) in [
            (&mut self.element, item.element),
            (&mut self.topic, item.topic),
            (&mut self.standard, item.standard),
            (&mut self.channel, attempt.channel),
            (&mut self.phase, attempt.phase),
        ] {
            if let Some((_, tally)) = names.tallies.get_mut(at) {
                tally.add(attempt, right);
            }
        }
    }

    /// What is shown of it.
    pub(super) fn report(self, profile: &str, since: Option<Timestamp>) -> Report {
        let first_week = self.first_week;
        let mut typing = self.typing;
        let total = self.total.line("all".to_owned(), first_week);
        let weeks = total.weeks.iter().map(|&(number, right, owed)| Line {
            name: week_name(number),
            right,
            owed,
            times: None,
            weeks: vec![(number, right, owed)],
            trend: Trend::TooFew,
        });
        let weeks: Vec<Line> = weeks.collect();
        let lines = |names: Names| -> Vec<Line> {
            let counted = names.tallies.into_iter().filter(|(_, tally)| tally.owed > 0);
            counted.map(|(name, tally)| tally.line(name, first_week)).collect()
        };
        let mut groups = Vec::new();
        let (element, topic, phase) = (lines(self.element), lines(self.topic), lines(self.phase));
        let (channel, standard) = (lines(self.channel), lines(self.standard));
        for (by, mut lines) in [
            (By::Element, element),
            (By::Topic, topic),
            (By::Phase, phase),
            (By::Channel, channel),
            (By::Standard, standard),
            (By::Week, weeks),
        ] {
            // Weeks come in their order.
            if by != By::Week {
                lines.sort_by(|a, b| order(by, a).cmp(&order(by, b)).then_with(|| weakest(a, b)));
            }
            groups.push(Group { by, lines });
        }
        Report {
            profile: profile.to_owned(),
            since,
            attempts: self.attempts,
            firsts: self.firsts,
            told: self.told,
            span: self.span,
            verdicts: self.verdicts,
            total,
            typing: Times::of(&mut typing),
            groups,
            habits: self.habits,
        }
    }
}

/// A fixed order where there is one; elements and topics begin with the weakest.
fn order(by: By, line: &Line) -> usize {
    let at = |names: &[&str]| names.iter().position(|name| *name == line.name).unwrap_or(names.len());
    match by {
        By::Element | By::Topic | By::Week => 0,
        By::Standard => at(&Standard::ALL.map(Standard::name)),
        By::Channel => at(&Channel::ALL.map(Channel::name)),
        By::Phase => at(&Phase::ALL.map(Phase::name)),
    }
}

/// The weakest first: whatever the luck of few replies, it is not better than the upper end of its interval.
fn weakest(a: &Line, b: &Line) -> std::cmp::Ordering {
    a.interval().1.total_cmp(&b.interval().1).then(b.owed.cmp(&a.owed)).then(a.name.cmp(&b.name))
}

/// One element that was owed.
struct Due {
    attempt: i64,
    item: i64,
    right: bool,
    severity: Option<Severity>,
}

fn due(row: &Row<'_>) -> rusqlite::Result<Due> {
    let severity = match row.get_ref(3)? {
        ValueRef::Null => None,
        _ => crate::record::severity(text(row, 3)?),
    };
    Ok(Due { attempt: row.get(0)?, item: row.get(1)?, right: row.get(2)?, severity })
}

fn text<'r>(row: &'r Row<'_>, at: usize) -> rusqlite::Result<&'r str> {
    row.get_ref(at)?.as_str().map_err(|e| crate::record::unreadable(at, e.to_string()))
}

/// Weeks from Monday to Sunday since that of 1 January 1970, a Thursday.
fn week(at: &str) -> i32 {
    let number = |range: std::ops::Range<usize>| at.get(range).and_then(|text| text.parse::<i16>().ok());
    let date = number(0..4).zip(number(5..7)).zip(number(8..10)).and_then(|((year, month), day)| {
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    });
    let days = date.map_or(0, |date| date.duration_since(EPOCH).as_hours() / 24);
    i32::try_from((days + 3).div_euclid(7)).unwrap_or(0)
}

const EPOCH: Date = Date::constant(1970, 1, 1);

/// The name of a week after ISO 8601: `2026-W11`.
#[must_use]
pub fn week_name(number: i32) -> String {
    let monday = EPOCH.checked_add(jiff::Span::new().days(i64::from(number) * 7 - 3)).unwrap_or(EPOCH);
    let week = monday.iso_week_date();
    format!("{:04}-W{:02}", week.year(), week.week())
}

/// The element of a name as people say it.
#[must_use]
pub fn spoken(element: &str) -> String {
    element.replace('_', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weeks_begin_on_monday_and_have_the_names_of_iso_8601() {
        for (day, name) in [
            ("1970-01-01", "1970-W01"),
            ("2026-01-01", "2026-W01"),
            ("2026-03-15", "2026-W11"),
            ("2026-03-16", "2026-W12"),
            ("2021-01-03", "2020-W53"),
        ] {
            assert_eq!(week_name(week(day)), name, "{day}");
        }
    }
}
