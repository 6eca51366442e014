//! Numbers of minutes as they are said: fifteen minutes, a quarter of an hour, an hour and a half.

use super::said::{TokKind, Words};
use super::scan::Heard;

/// A number of minutes, and where it stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Duration {
    pub(super) minutes: u32,
    pub(super) from: usize,
    pub(super) to: usize,
}

/// The minutes that a value stands for; none if it is no number of minutes.
pub(super) fn minutes(words: &Words, value: &str) -> Option<u32> {
    let heard = Heard::new(words, value);
    if let Some(first) = durations(&heard).first() {
        return Some(first.minutes);
    }
    let at = (0..heard.toks.len()).find(|&k| heard.run(k) > k)?;
    heard.number(at, heard.run(at))?.parse().ok()
}

/// Every number of minutes from now on; "five minutes ago" is none.
pub(super) fn durations(heard: &Heard<'_>) -> Vec<Duration> {
    let mut out = Vec::new();
    let mut at = 0;
    while at < heard.toks.len() {
        let Some(found) = one(heard, at) else {
            at = heard.run(at).max(at + 1);
            continue;
        };
        at = found.to;
        if skip(heard, at, &["ago"]) == at {
            out.push(found);
        }
    }
    // What is corrected counts as corrected.
    let corrected = |d: &Duration| (d.to..heard.toks.len().min(d.to + 2)).any(|k| heard.is(k, "correction"));
    if let Some(last) = out.iter().rposition(corrected).filter(|&k| k + 1 < out.len()) {
        out.drain(..=last);
    }
    out
}

/// The place behind the first of `words` at `at`; `at` if none stands there.
fn skip(heard: &Heard<'_>, at: usize, words: &[&str]) -> usize {
    if words.iter().any(|word| heard.is(at, word)) { at + 1 } else { at }
}

fn number(heard: &Heard<'_>, at: usize) -> Option<(u32, usize)> {
    let end = heard.run(at);
    if end == at {
        return None;
    }
    heard.number(at, end)?.parse().ok().map(|n| (n, end))
}

fn one(heard: &Heard<'_>, at: usize) -> Option<Duration> {
    let done = |minutes: u32, to: usize| Some(Duration { minutes, from: at, to });
    // "half an hour", "a quarter of an hour".
    for (word, share) in [("half", 30), ("quarter", 15)] {
        let next = skip(heard, at, &[word]);
        if next > at {
            let hour = skip(heard, skip(heard, next, &["of"]), &["an", "a"]);
            if heard.is(hour, "hour") {
                return done(share, hour + 1);
            }
        }
    }
    if heard.is(at, "hour") {
        return hours(heard, at, at, 1);
    }
    let (count, end) = number(heard, at)?;
    if heard.is(end, "minutes") {
        return done(count, end + 1);
    }
    if heard.is(end, "quarter") && heard.is(skip(heard, skip(heard, end + 1, &["of"]), &["an", "a"]), "hour")
    {
        return done(count.checked_mul(15)?, skip(heard, skip(heard, end + 1, &["of"]), &["an", "a"]) + 1);
    }
    if heard.is(end, "hour") {
        return hours(heard, at, end, count);
    }
    // "fifteen to twenty minutes", "time one five", "in fifteen".
    let range = skip(heard, end, &["to", "or"]);
    if range > end
        && let Some((_, last)) = number(heard, range)
        && heard.is(last, "minutes")
    {
        return done(count, end);
    }
    let before =
        (0..at).rev().take(4).find(|&k| !(heard.toks[k].free && heard.toks[k].kind == TokKind::Word));
    before
        .filter(|&k| ["time", "t", "in"].iter().any(|word| heard.is(k, word)))
        .and_then(|_| done(count, end))
}

/// Hours, and what is said behind them: "and a half", "and twenty minutes".
fn hours(heard: &Heard<'_>, from: usize, hour: usize, count: u32) -> Option<Duration> {
    let whole = count.checked_mul(60)?;
    let next = skip(heard, skip(heard, hour + 1, &["and"]), &["a"]);
    for (word, share) in [("half", 30), ("quarter", 15)] {
        if heard.is(next, word) {
            return Some(Duration { minutes: whole.checked_add(share)?, from, to: next + 1 });
        }
    }
    if let Some((rest, end)) = number(heard, next)
        && heard.is(end, "minutes")
    {
        return Some(Duration { minutes: whole.checked_add(rest)?, from, to: end + 1 });
    }
    Some(Duration { minutes: whole, from, to: hour + 1 })
}
