//! `drill`: short items, those that are due today; or the list of them.

use super::practise::{any_seed, console};
use crate::contract::RuleSets;
use crate::diagnostic::{clean, count, list, nearest};
use crate::drill::debrief::{day_words, title};
use crate::drill::history::{History, Review};
use crate::drill::schedule::{Schedule, Standing, Want};
use crate::drill::session::{Drill, Setup};
use crate::drill::skill::{Skill, catalogue};
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::feedback::label;
use crate::record::Record;
use crate::record::keep::{Keeper, Place};
use crate::rules::RuleSet;
use crate::session::Ending;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};
use serde_json::json;
use std::io::Write;
use std::sync::Arc;

/// A time that stands for now, for tests: `2026-11-26T08:00:00+00:00[UTC]`.
const NOW: &str = "HEARBACK_NOW";

/// What was asked for on the command line.
#[derive(Debug, Clone)]
pub struct Options {
    /// How much.
    pub want: Want,
    /// One topic only.
    pub topic: Option<String>,
    /// By which rules.
    pub standard: Standard,
    /// List instead of drilling.
    pub due: bool,
    /// The list as JSON.
    pub json: bool,
    /// What values are drawn from; by chance if left out.
    pub seed: Option<u64>,
    /// No line editing.
    pub plain: bool,
    /// Colours and bold letters.
    pub styled: bool,
    /// Where attempts are kept.
    pub place: Place,
}

/// Drills, or lists what is due, and returns the exit status; a learner's slips are no failure.
///
/// # Errors
/// If there is no such topic, or if the history, the terminal or the output fails.
pub fn run(options: &Options, sets: &dyn RuleSets, out: &mut dyn Write, err: &mut dyn Write) -> Result<u8> {
    let rules = sets.get(options.standard);
    let skills = skills(&rules, options.topic.as_deref())?;
    let fixed = now_given()?;
    let clock = move || fixed.clone().unwrap_or_else(ZonedDateTime::now);
    let before = kept(&options.place, err);
    let mut history = Kept { place: &options.place, before, session: Vec::new() };
    let mut want = options.want;
    if options.topic.is_some() {
        // Who names a topic wants it today, whatever was new before.
        want.new += Schedule::of(&history.reviews()?, &clock()).introduced_today();
    }
    let options = &Options { want, ..options.clone() };
    if options.due {
        let schedule = Schedule::of(&history.reviews()?, &clock());
        let list = Listed { options, rules: &rules, schedule: &schedule, skills: &skills };
        if options.json {
            list.json(out)?
        } else {
            list.text(out)?
        }
        return Ok(exit::DONE);
    }
    let book = sets.crew().map_err(Error::Internal)?;
    let mut keeper =
        Keeper::open(&options.place, Arc::clone(&rules), Arc::clone(&book), sets.fingerprint(), err);
    let setup = Setup {
        rules,
        book,
        history: &mut history,
        keeper: Some(&mut keeper),
        clock: &clock,
        skills,
        want: options.want,
        seed: options.seed.unwrap_or_else(any_seed),
        styled: options.styled,
    };
    let mut console = console(options.plain, options.styled)?;
    let ending = Drill::new(setup, &mut *console, out)?.run()?;
    out.flush()?;
    Ok(match ending {
        Ending::Finished | Ending::Left => exit::DONE,
        Ending::Interrupted => exit::INTERRUPTED,
    })
}

/// Reviews as the record tells them: what is due after a drill is what is due the next time. Where nothing is kept,
/// those of the session count.
struct Kept<'a> {
    place: &'a Place,
    before: Vec<Review>,
    session: Vec<Review>,
}

impl History for Kept<'_> {
    fn reviews(&self) -> Result<Vec<Review>> {
        let recorded = kept(self.place, &mut std::io::sink());
        if recorded.len() > self.before.len() {
            return Ok(recorded);
        }
        Ok(self.before.iter().chain(&self.session).cloned().collect())
    }

    fn keep(&mut self, review: Review) -> Result<()> {
        self.session.push(review);
        Ok(())
    }
}

/// What the record tells of skills that were tried before; where it cannot be read, `err` gets one line.
pub(super) fn kept(place: &Place, err: &mut dyn Write) -> Vec<Review> {
    let read = |file: &std::path::Path| match Record::read(file)? {
        Some(record) => record.reviews(&place.profile),
        None => Ok(Vec::new()),
    };
    let reviews = place.file.as_deref().map_or(Ok(Vec::new()), read).unwrap_or_else(|trouble| {
        let _ = writeln!(err, "hearback: {trouble}; what was practised before is not known");
        Vec::new()
    });
    of_skills(reviews)
}

/// Those of a record's reviews that are of skills.
pub(super) fn of_skills(reviews: Vec<crate::record::Review>) -> Vec<Review> {
    let review = |review: crate::record::Review| {
        let skill = Skill::parse(&review.skill)?;
        Some(Review { skill, at: review.at, right: review.right, severity: review.severity })
    };
    reviews.into_iter().filter_map(review).collect()
}

/// The moment that stands for now.
pub(super) fn clock() -> Result<ZonedDateTime> {
    Ok(now_given()?.unwrap_or_else(ZonedDateTime::now))
}

fn now_given() -> Result<Option<ZonedDateTime>> {
    let Some(given) = std::env::var(NOW).ok().filter(|given| !given.is_empty()) else { return Ok(None) };
    let problem = "a time with its zone is wanted, for instance 2026-11-26T08:00:00+00:00[UTC]".to_owned();
    let utc = |moment: Timestamp| moment.to_zoned_datetime(TimeZone::UTC);
    match given.parse().or_else(|_| given.parse().map(utc)) {
        Ok(now) => Ok(Some(now)),
        Err(_) => Err(Error::Answer { name: NOW.to_owned(), given: clean(&given).into_owned(), problem }),
    }
}

/// The skills of a rule set, or of one of its topics.
fn skills(rules: &RuleSet, topic: Option<&str>) -> Result<Vec<Skill>> {
    let mut skills = catalogue(rules);
    let Some(topic) = topic else { return Ok(skills) };
    let mut known: Vec<String> = skills.iter().map(|skill| skill.topic.clone()).collect();
    known.dedup();
    skills.retain(|skill| skill.topic == topic);
    if skills.is_empty() {
        let help = match nearest(topic, known.iter().map(String::as_str)) {
            Some(near) => format!("; did you mean `{near}`?"),
            None => format!(" to drill; there are {}", list(&known)),
        };
        return Err(Error::Unknown { what: "topic", name: clean(topic).into_owned(), help });
    }
    Ok(skills)
}

struct Listed<'a> {
    options: &'a Options,
    rules: &'a RuleSet,
    schedule: &'a Schedule,
    skills: &'a [Skill],
}

impl Listed<'_> {
    /// How many days ahead the list tells.
    const DAYS: usize = 7;

    fn unknown(&self) -> usize {
        self.skills.iter().filter(|skill| self.schedule.standing(skill).is_none()).count()
    }

    /// New skills of today, whatever else is due.
    fn unseen(&self) -> Vec<Skill> {
        let want = Want { count: usize::MAX, ..self.options.want };
        self.schedule.plan(self.skills, want).new
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        let today = self.schedule.today;
        let (due, new) = (self.schedule.due(self.skills), self.unseen());
        let standard = self.options.standard;
        writeln!(out, "Due today: {} (rule set {standard})", count(due.len(), "skill"))?;
        for standing in &due {
            let last = day_words(standing.last, today).replace("in ", "");
            let last = match last.as_str() {
                "today" => "last tried today".to_owned(),
                "tomorrow" => "last tried yesterday".to_owned(),
                days => format!("last tried {days} ago"),
            };
            let recall = (standing.recall * 100.0).round();
            writeln!(out, "  {}  {last}, recall {recall} %", self.name(&standing.skill))?;
        }
        writeln!(out, "New today: {}", count(new.len(), "skill"))?;
        for skill in &new {
            writeln!(out, "  {}", self.name(skill).trim_end())?;
        }
        let later = self.schedule.later(self.skills);
        for (day, n) in later.iter().take(Self::DAYS) {
            writeln!(out, "Due {} ({day}): {}", day_words(today, *day), count(*n, "skill"))?;
        }
        let more: usize = later.values().skip(Self::DAYS).sum();
        if more > 0 {
            writeln!(out, "Due later: {}", count(more, "skill"))?;
        }
        writeln!(out, "Not tried yet: {} of {}", self.unknown(), self.skills.len())?;
        Ok(())
    }

    fn json(&self, out: &mut dyn Write) -> Result<()> {
        let due: Vec<_> = self.schedule.due(self.skills).into_iter().map(|s| self.standing(s)).collect();
        let new: Vec<String> = self.unseen().iter().map(Skill::to_string).collect();
        let later = self.schedule.later(self.skills);
        let later: Vec<_> =
            later.iter().map(|(day, n)| json!({ "day": day.to_string(), "skills": n })).collect();
        let list = json!({
            "format": 1,
            "standard": self.options.standard.name(),
            "today": self.schedule.today.to_string(),
            "due": due,
            "new": new,
            "later": later,
            "untried": self.unknown(),
            "skills": self.skills.len(),
        });
        writeln!(out, "{list}")?;
        Ok(())
    }

    fn standing(&self, standing: &Standing) -> serde_json::Value {
        json!({
            "skill": standing.skill.to_string(),
            "introduced": standing.introduced.to_string(),
            "last": standing.last.to_string(),
            "due": standing.due.to_string(),
            "recall": (standing.recall * 1000.0).round() / 1000.0,
            "tries": standing.tries.0,
            "slips": standing.tries.1,
        })
    }

    /// Topic and element, in columns.
    fn name(&self, skill: &Skill) -> String {
        let widest = self.skills.iter().map(|s| title(self.rules, &s.topic).len()).max().unwrap_or(0);
        format!("{:widest$}  {:17}", title(self.rules, &skill.topic), label(skill.element))
    }
}
