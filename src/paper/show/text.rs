//! The report for a terminal: bars with their figures, in as many columns as there are.

use super::{decimal, figure, outright, result, taken_back, times, words};
use crate::feedback::label;
use crate::paper::competency::{CAUTION, CUT_WORDS, UNSEEN, persons};
use crate::paper::report::{GroupReport, ItemReport, Person, READING, mark, time};
use crate::paper::wrong::{Slip, WrongReply};
use crate::progress::percent;
use crate::progress::text::{bar, fit};
use crate::session::screen::{Row, Tone, columns, hang};

/// Wrong replies, and values of a fault, that are shown of an item; the tables have more.
const SHOWN: usize = 3;

/// The narrowest page.
const NARROWEST: usize = 32;

struct Page {
    out: String,
    width: usize,
    ascii: bool,
    styled: bool,
}

/// The whole page.
#[must_use]
pub fn page(report: &GroupReport, width: usize, ascii: bool, styled: bool) -> String {
    let mut page = Page { out: String::new(), width: width.max(NARROWEST), ascii, styled };
    page.hang("", 0, Tone::Label, &report.paper.title);
    page.plain(&report.summary());
    page.hang("", 0, Tone::Faint, crate::CAUTION);
    if !report.people.is_empty() {
        figures(&mut page, report);
        needs(&mut page, report);
        people(&mut page, report);
        items(&mut page, report);
        grades(&mut page, report);
    }
    apart(&mut page, report);
    if !report.overruled.is_empty() {
        page.title("Findings taken back");
        for taken in &report.overruled {
            page.hang("  -", 4, Tone::Plain, &taken_back(taken));
        }
    }
    if !report.people.is_empty() {
        page.title("How to read it");
        page.hang("", 0, Tone::Faint, READING);
    }
    page.out
}

impl Page {
    fn put(&mut self, rows: Vec<Row>) {
        for row in rows {
            self.out.push_str(row.paint(self.styled).trim_end());
            self.out.push('\n');
        }
    }

    fn hang(&mut self, head: &str, column: usize, tone: Tone, text: &str) {
        let rows = hang((Tone::Plain, head), column, tone, text, self.width);
        self.put(rows);
    }

    fn plain(&mut self, text: &str) {
        self.hang("", 0, Tone::Plain, text);
    }

    fn title(&mut self, text: &str) {
        self.out.push('\n');
        self.hang("", 0, Tone::Label, text);
    }

    /// Columns of a bar.
    fn bars(&self) -> usize {
        if self.width < 60 { 6 } else { 10 }
    }
}

fn figures(page: &mut Page, report: &GroupReport) {
    let figures = &report.figures;
    let (low, high) = figures.pass_interval;
    page.title("The paper");
    page.plain(&format!(
        "Passed: {} of {} (95 % interval of the share {} to {} %).",
        figures.passed,
        report.people.len(),
        percent(low),
        percent(high)
    ));
    page.plain(&format!(
        "Mean mark {}, standard deviation {}.",
        words(figures.mean, 1),
        words(figures.deviation, 1)
    ));
    if let (Some([lower, middle, upper]), Some((least, most))) = (figures.quartiles, figures.range) {
        page.plain(&format!(
            "Marks from {} to {}, a quarter below {}, half below {}, three quarters below {}.",
            mark(least),
            mark(most),
            decimal(lower, 1),
            decimal(middle, 1),
            decimal(upper, 1)
        ));
    }
    page.plain(&format!(
        "KR-20 {}; alpha of the scores {}.",
        words(figures.kr20, 2),
        words(figures.alpha, 2)
    ));
    page.plain(&format!("Standard error of a mark {}.", words(figures.error, 1)));
    if let Some(items) = figures.items_for_80 {
        page.plain(&format!("About {items} items like these would bring alpha to 0.80."));
    }
    let most = figures.bins.iter().copied().max().unwrap_or(0).max(1);
    let room = page.width.saturating_sub(36).min(40);
    let mut rows = vec![Row::new()];
    let line = (report.paper.pass_mark / 10.0) as usize;
    for (at, number) in figures.bins.iter().enumerate().rev() {
        let name = if at == 9 { "90-100".to_owned() } else { format!("{}-{}", at * 10, at * 10 + 9) };
        let filled = if *number == 0 { 0 } else { (number * room).div_ceil(most) };
        let sign = if page.ascii { "#" } else { "\u{2588}" };
        let mut row = Row::of(Tone::Plain, format!("  {name:>6} {number:>4} "));
        let tone = match at.cmp(&line) {
            std::cmp::Ordering::Greater => Tone::Good,
            std::cmp::Ordering::Equal => Tone::Plain,
            std::cmp::Ordering::Less => Tone::Bad,
        };
        row = row.and(tone, sign.repeat(filled));
        if at == line.min(9) {
            let blank = if filled == 0 { "" } else { " " };
            row = row.and(Tone::Faint, format!("{blank}< pass mark {}", mark(report.paper.pass_mark)));
        }
        rows.push(row);
    }
    page.put(rows);
}

fn needs(page: &mut Page, report: &GroupReport) {
    page.title("To train next");
    if report.needs.is_empty() {
        page.plain("Nothing was lost.");
    }
    for (number, need) in (1..).zip(&report.needs) {
        let text = format!(
            "{}: lost {} of {} times by {}; {}",
            need.subject.name,
            need.lost,
            need.owed,
            persons(need.people),
            need.severity.name()
        );
        page.hang(&format!("{number:>2}"), 4, Tone::Plain, &text);
    }
    if !report.commands.is_empty() {
        page.out.push('\n');
        for command in &report.commands {
            page.hang("", 4, Tone::Voice, command);
        }
    }
}

fn people(page: &mut Page, report: &GroupReport) {
    page.title(if report.options.ranking { "People, by mark" } else { "People" });
    for person in &report.people {
        self::person(page, person);
    }
    page.out.push('\n');
    page.hang(
        "",
        2,
        Tone::Faint,
        "Signs, item by item: + right, ~ fault of form, o incomplete, x incorrect, - no reply.",
    );
}

fn person(page: &mut Page, person: &Person) {
    let place = person.place.map_or(String::new(), |place| format!("{place:>3} "));
    let bars = page.bars();
    let room = page.width.saturating_sub(columns(&place) + bars + 11);
    let name = if page.width < 64 { room } else { room.saturating_sub(17) }.clamp(8, 28);
    let tone = if person.passed { Tone::Good } else { Tone::Bad };
    let narrow = page.width < 64;
    let mut row = Row::of(Tone::Plain, format!("  {place}{} ", fit(&person.name, name)))
        .and(tone, bar(person.mark / 100.0, bars, page.ascii))
        .and(Tone::Plain, format!(" {:>5} ", mark(person.mark)));
    if !narrow {
        row = row.and(tone, result(person));
    }
    page.put(vec![row]);
    if narrow {
        page.hang("", 4, tone, result(person));
    }
    let signs: String = person.cells.iter().map(|cell| cell.sign()).collect();
    let indent = 4 + columns(&place);
    let blank = " ".repeat(indent);
    let mut line = |head: &str, text: &str| {
        let head = format!("{blank}{head}");
        page.hang(&head, indent + 11, Tone::Plain, text);
    };
    line("replies", &signs);
    let sitting = if person.sitting > 1 { format!(", sitting {}", person.sitting) } else { String::new() };
    line("time", &format!("{}{sitting}", time(person.seconds)));
    for text in outright(person) {
        line("outright", &text);
    }
    let strengths: Vec<String> =
        person.strengths.iter().map(|s| format!("{} ({})", s.subject.name, s.owed)).collect();
    if !strengths.is_empty() {
        line("strong", &strengths.join(", "));
    }
    let dangers: Vec<String> = person
        .dangers
        .iter()
        .map(|n| format!("{} (lost {} of {}, {})", n.subject.name, n.lost, n.owed, n.severity.name()))
        .collect();
    if !dangers.is_empty() {
        line("weak", &dangers.join(", "));
    }
    for notice in &person.notices {
        line("note", notice);
    }
}

fn items(page: &mut Page, report: &GroupReport) {
    page.title("Items");
    for item in &report.items {
        self::item(page, item);
    }
}

fn item(page: &mut Page, item: &ItemReport) {
    page.hang(&format!("{:>3}", item.info.number), 5, Tone::Label, &item.info.title);
    let bars = page.bars();
    let share = item.difficulty.unwrap_or(0.0);
    let tone = match percent(share) {
        90.. => Tone::Good,
        70.. => Tone::Fair,
        _ => Tone::Bad,
    };
    let words = format!(
        "{}/{} right, {} % ({}-{})",
        item.right,
        item.people,
        percent(share),
        percent(item.interval.0),
        percent(item.interval.1)
    );
    let row = Row::of(Tone::Plain, "     ").and(tone, bar(share, bars, page.ascii));
    if page.width < 48 {
        page.put(vec![row]);
        page.hang("", 5, Tone::Plain, &words);
    } else {
        page.put(vec![row.and(Tone::Plain, format!(" {words}"))]);
    }
    let mut facts = match item.discrimination {
        Ok(r) => vec![format!("discrimination {}", decimal(r, 2))],
        Err(reason) => vec![format!("no discrimination: {reason}")],
    };
    if let Some(without) = figure(item.without, 2) {
        facts.push(format!("KR-20 without it {without}"));
    }
    if let Some(ms) = item.median_ms {
        facts.push(format!("median time {:.1} s", ms / 1000.0));
    }
    if item.again > 0 {
        facts.push(format!("asked again {} by {}", times(item.again), persons(item.again_people)));
    }
    if item.silent > 0 {
        facts.push(format!("no reply from {}", persons(item.silent)));
    }
    page.hang("", 5, Tone::Faint, &facts.join("; "));
    if let Some(remark) = item.remark() {
        page.hang("     !", 7, Tone::Bad, remark);
    }
    for slip in item.slips.iter().take(SHOWN) {
        page.hang("     -", 7, Tone::Plain, &slip_words(slip, SHOWN));
    }
    for reply in item.replies.iter().take(SHOWN) {
        page.hang(&format!("{:>5} x", reply.count), 8, Tone::Plain, &reply_words(reply));
    }
    let rest: usize =
        item.replies.iter().skip(SHOWN).map(|reply| reply.count).sum::<usize>() + item.other_replies;
    if rest > 0 {
        page.hang(&format!("{rest:>5} x"), 8, Tone::Faint, "other wrong replies");
    }
}

/// `runway wrong 4 times: 27 given for 09 (3), 09L given for 09 (1)`.
pub(super) fn slip_words(slip: &Slip, most: usize) -> String {
    let times = times(slip.count);
    let values: Vec<String> = slip
        .values
        .iter()
        .take(most)
        .map(|(expected, given, count)| match (expected, given) {
            (Some(expected), Some(given)) => format!("{given} given for {expected} ({count})"),
            (Some(expected), None) => format!("{expected} ({count})"),
            (None, Some(given)) => format!("{given} ({count})"),
            (None, None) => format!("({count})"),
        })
        .collect();
    let values = if values.is_empty() { String::new() } else { format!(": {}", values.join(", ")) };
    format!("{} {} {times}{values}", label(slip.element), slip.fault.name())
}

/// The reply, what was wrong in it, and what it was a reply to.
fn reply_words(reply: &WrongReply) -> String {
    let text = if reply.text.is_empty() { "(nothing)".to_owned() } else { format!("\"{}\"", reply.text) };
    let what = if reply.what.is_empty() { String::new() } else { format!(" [{}]", reply.what.join("; ")) };
    let to = match (reply.asked.is_empty(), reply.same) {
        (true, _) => String::new(),
        (_, true) => format!(" to \"{}\"", reply.asked),
        (_, false) => format!(" to, among others, \"{}\"", reply.asked),
    };
    format!("{text}{what}{to}")
}

fn grades(page: &mut Page, report: &GroupReport) {
    page.title("Competencies");
    page.hang("", 0, Tone::Label, CAUTION);
    page.plain(UNSEEN);
    for grade in &report.grades {
        let head = format!("{} ({})", grade.competency.name(), grade.competency.counted());
        page.hang("", 2, Tone::Label, &head);
        for line in grade.lines() {
            page.hang("    -", 6, Tone::Plain, &line);
        }
    }
    for person in &report.people {
        page.out.push('\n');
        page.hang("", 2, Tone::Label, &person.name);
        for seen in person.grades.iter().filter(|seen| seen.required > 0) {
            let text = format!("{}: {}. {}.", seen.competency.name(), seen.lines().join("; "), seen.words());
            page.hang("    -", 6, Tone::Plain, &text);
        }
        let unseen: Vec<&str> = person
            .grades
            .iter()
            .filter(|seen| seen.required == 0)
            .map(|seen| seen.competency.name())
            .collect();
        if !unseen.is_empty() {
            page.hang("    -", 6, Tone::Faint, &format!("not observed: {}", unseen.join(", ")));
        }
    }
    page.out.push('\n');
    page.hang("", 0, Tone::Faint, CUT_WORDS);
}

fn apart(page: &mut Page, report: &GroupReport) {
    if report.apart.is_empty() {
        return;
    }
    page.title("Files that do not count");
    for apart in &report.apart {
        let file = if apart.file.is_empty() { String::new() } else { format!(" ({})", apart.file) };
        let why = if apart.why.is_empty() { "no reason given".to_owned() } else { apart.why.join("; ") };
        page.hang("  -", 4, Tone::Plain, &format!("{}{file}: {why}", apart.name));
    }
}
