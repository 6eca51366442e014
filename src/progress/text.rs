//! The report for a terminal: bars with their figures, 78 columns.

use super::stats::{Times, Trend};
use super::{By, Line, Report, day, percent, seconds};
use crate::diagnostic::clean;
use crate::session::screen::{Row, Tone, hang};
use crate::wrap::PAGE;
use unicode_width::UnicodeWidthStr;

/// How it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Look {
    /// Colours and bold letters.
    pub styled: bool,
    /// No other characters than ASCII in bars.
    pub ascii: bool,
}

/// Lines of a group that are shown; `--json` and `--html` have all.
const SHOWN: usize = 12;

/// Weeks that are shown.
const WEEKS: usize = 10;

/// Columns of a bar.
const BAR: usize = 10;

/// Columns of a name.
const NAME: usize = 18;

/// The whole page.
#[must_use]
pub fn page(report: &Report, look: Look) -> String {
    let mut out = String::new();
    let mut put = |rows: Vec<Row>| {
        for row in rows {
            out.push_str(row.paint(look.styled).trim_end());
            out.push('\n');
        }
    };
    let plain = |text: &str| hang((Tone::Plain, ""), 0, Tone::Plain, text, PAGE);
    let title = |text: &str| {
        let mut rows = vec![Row::new()];
        rows.extend(hang((Tone::Plain, ""), 0, Tone::Label, text, PAGE));
        rows
    };
    put(hang((Tone::Plain, ""), 0, Tone::Label, &format!("Progress of {}", clean(&report.profile)), PAGE));
    put(plain(&report.summary()));
    if report.firsts == 0 {
        put(plain("hearback practise flies a scenario; what you reply is kept, and shown here."));
        return out;
    }
    put(plain(&format!("First replies: {}.", report.verdict_words())));
    let total = &report.total;
    let (low, high) = total.interval();
    put(plain(&format!(
        "Came back right: {} of {} owed elements, {} % (95 % interval {} to {}).",
        total.right,
        total.owed,
        percent(total.share()),
        percent(low),
        percent(high)
    )));
    if let Some(times) = &total.times {
        put(plain(&format!("To the first key: {}.", time_words(times))));
    }
    if let Some(typing) = &report.typing {
        put(plain(&format!("From there to Enter: {}.", time_words(typing))));
    }
    if !report.habits.is_empty() {
        put(title("Most dangerous habits"));
        for (habit, number) in report.habits.iter().zip(1..) {
            put(hang((Tone::Plain, &format!("{number:>2}")), 4, Tone::Bad, &habit.words(), PAGE));
            if let Some(example) = &habit.example {
                for (label, text) in [
                    ("asked", clean(&example.asked_words()).into_owned()),
                    ("typed", clean(example.typed_words()).into_owned()),
                    ("found", format!("{} ({})", clean(&example.found_words()), day(example.at))),
                ] {
                    put(hang((Tone::Faint, &format!("    {label}")), 11, Tone::Plain, &text, PAGE));
                }
            }
        }
    }
    for group in &report.groups {
        put(title(group.by.title()));
        let skip = if group.by == By::Week { group.lines.len().saturating_sub(WEEKS) } else { 0 };
        let shown = if group.by == By::Week { WEEKS } else { SHOWN };
        put(vec![head(group.by)]);
        put(group.lines.iter().skip(skip).take(shown).map(|line| row(group.by, line, look)).collect());
        let rest = group.lines.len().saturating_sub(shown);
        if rest > 0 {
            let what = if group.by == By::Week { "earlier" } else { "stronger" };
            put(hang((Tone::Plain, ""), 2, Tone::Faint, &format!("and {rest} {what}: --html, --json"), PAGE));
        }
    }
    out
}

/// `median 2.1 s, half between 1.4 and 3.0 s`.
fn time_words(times: &Times) -> String {
    format!(
        "median {} s, half of them {} to {} s",
        seconds(times.median),
        seconds(times.lower),
        seconds(times.upper)
    )
}

fn head(by: By) -> Row {
    let more = match by {
        By::Week => "",
        _ => "first key s    trend",
    };
    let text = format!("  {:NAME$} {:BAR$} {:>8} {:>4} {:>7}  {more}", "", "", "right", "%", "95 %");
    Row::of(Tone::Faint, text.trim_end())
}

fn row(by: By, line: &Line, look: Look) -> Row {
    let (low, high) = line.interval();
    let name = clean(&line.name).replace('_', " ");
    let name = fit(&name, NAME);
    let share = percent(line.share());
    let figures = format!(
        " {:>8} {share:>4} {:>7}",
        format!("{}/{}", line.right, line.owed),
        format!("{}-{}", percent(low), percent(high))
    );
    let mut row = Row::of(Tone::Plain, format!("  {name} "));
    let tone = match share {
        90.. => Tone::Good,
        70.. => Tone::Fair,
        _ => Tone::Bad,
    };
    row = row.and(tone, bar(line.share(), BAR, look.ascii)).and(Tone::Plain, figures);
    if by != By::Week {
        let times = line.times.map_or_else(
            || "-".to_owned(),
            |t| format!("{} ({}-{})", seconds(t.median), seconds(t.lower), seconds(t.upper)),
        );
        let trend = if line.trend == Trend::TooFew { "-" } else { line.trend.name() };
        row = row.and(Tone::Plain, format!("  {times:14} {trend}"));
    }
    row
}

/// The name in so many columns.
pub(crate) fn fit(name: &str, width: usize) -> String {
    let mut out = String::new();
    for c in name.chars() {
        out.push(c);
        if out.width() > width {
            out.pop();
            break;
        }
    }
    let pad = width.saturating_sub(out.width());
    out + &" ".repeat(pad)
}

/// A bar of so many columns, filled for a share.
pub(crate) fn bar(share: f64, long: usize, ascii: bool) -> String {
    let (full, empty) = if ascii { ('#', '.') } else { ('█', '░') };
    // Only all is a full bar, only nothing an empty one.
    let filled = match (share * long as f64).round() as usize {
        0 if share > 0.0 => 1,
        filled if filled >= long && share < 1.0 => long.saturating_sub(1),
        filled => filled,
    };
    (0..long).map(|at| if at < filled { full } else { empty }).collect()
}
