//! Judges kept replies again by today's grammar; what a changed judgement takes the place of is kept.

use super::entry::{Entry, Found, PROGRAM, parts};
use super::{Record, Result, Trouble, moment, rows};
use crate::bar::Progress;
use crate::callsign::Callsign;
use crate::contract::RuleSets;
use crate::crew::{CrewBook, Operator};
use crate::element::{Element, Verdict};
use crate::scenario::basis::{Basis, Judges};
use jiff::Timestamp;
use rusqlite::{TransactionBehavior, params};

/// What judging again came to.
#[derive(Debug, Default)]
pub struct Again {
    /// Replies that were judged.
    pub judged: usize,
    /// Replies in whose judgement the grammar has no part: words for others, slips of other voices.
    pub apart: usize,
    /// Replies to what today's grammar does not have.
    pub unknown: usize,
    /// Replies whose judgement changed.
    pub changed: Vec<Change>,
}

/// A judgement that changed.
#[derive(Debug)]
pub struct Change {
    row: i64,
    /// As it was.
    pub before: Entry,
    /// As it is.
    pub after: Entry,
}

impl Record {
    /// Judges every kept reply again, of one profile or of all, and keeps both judgements where they differ. Every reply
    /// is a step of `progress`.
    ///
    /// # Errors
    /// What SQLite says; nothing is changed then.
    pub fn judge_again(
        &mut self,
        sets: &dyn RuleSets,
        book: &CrewBook,
        profile: Option<&str>,
        now: Timestamp,
        progress: &dyn Progress,
    ) -> Result<Again> {
        let grammar = sets.fingerprint();
        let mut again = Again::default();
        self.each(profile, |row, before| {
            progress.advance(1);
            if matches!(before.basis, Basis::Watching { .. } | Basis::Listening) {
                again.apart += 1;
                return Ok(());
            }
            match judged(&before, sets, book) {
                None => again.unknown += 1,
                Some(mut after) => {
                    again.judged += 1;
                    let same = |a: &Entry, b: &Entry| {
                        (a.verdict, a.score, &a.findings, &a.elements)
                            == (b.verdict, b.score, &b.findings, &b.elements)
                    };
                    if !same(&before, &after) {
                        after.judged_at = moment::whole(now);
                        after.program = PROGRAM.to_owned();
                        after.grammar.clone_from(&grammar);
                        after.earlier.push(before.judgement());
                        again.changed.push(Change { row, before, after });
                    }
                }
            }
            Ok::<_, Trouble>(())
        })?;
        self.replace(&again.changed).map_err(self.fail())?;
        Ok(again)
    }

    fn replace(&mut self, changes: &[Change]) -> rusqlite::Result<()> {
        let change = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        for Change { row, before, after } in changes {
            let version = rows::version(&change, &after.program, &after.grammar)?;
            // Unless another program has forgotten it, or judged it again, meanwhile.
            let changed = change.prepare_cached(
                "UPDATE attempt SET verdict = ?1, score = ?2, findings = ?3, owed = ?4, judged_at = ?5, version = ?6
                 WHERE id = ?7 AND judged_at = ?8 AND lower(hex(uid)) = ?9",
            )?.execute(params![
                after.verdict.name(),
                after.score,
                rows::json(&after.findings),
                i64::try_from(after.elements.len()).unwrap_or(i64::MAX),
                moment::text(after.judged_at),
                version,
                row,
                moment::text(before.judged_at),
                before.id,
            ])?;
            if changed == 1 {
                let number = i64::try_from(before.earlier.len()).unwrap_or(i64::MAX);
                rows::insert_earlier(&change, *row, number, &before.judgement())?;
                change.prepare_cached("DELETE FROM owed WHERE attempt = ?1")?.execute([row])?;
                rows::insert_parts(&change, *row, after.standard, &after.elements)?;
            }
        }
        change.commit()
    }
}

/// The attempt with today's judgement; none if today's grammar does not have what was due.
fn judged(entry: &Entry, sets: &dyn RuleSets, book: &CrewBook) -> Option<Entry> {
    let rules = sets.get(entry.standard);
    if let Basis::Call { phrase, .. } = &entry.basis {
        rules.phrase(phrase)?;
    }
    let callsign = Callsign::parse(&entry.callsign)?;
    let none = Operator::default();
    let operator = book.operator(&entry.operator).unwrap_or(&none);
    let judges = Judges { rules: &rules, book, operator };
    let judgement = entry.basis.judge(judges, &callsign, &entry.reply)?.counted(entry.form);
    let owed = entry.basis.owed(&rules, &callsign, &entry.reply, &judgement);
    let elements = parts(entry.skill, &owed, &judgement.findings, judgement.verdict);
    let mut findings: Vec<Found> = judgement.findings.iter().map(Found::from).collect();
    let (mut verdict, mut score) = (judgement.verdict, judgement.score);
    // When and where it was said is no matter of the grammar.
    let moment = |f: &&Found| matches!(f.element, Element::Timing | Element::Channel);
    let had: Vec<Found> = entry.findings.iter().filter(moment).cloned().collect();
    if !had.is_empty() && verdict <= Verdict::Nonstandard {
        if verdict == Verdict::Correct {
            (verdict, score) = (Verdict::Nonstandard, 90);
        }
        findings.extend(had);
    }
    Some(Entry { verdict, score, findings, elements, ..entry.clone() })
}
