//! The courses as a picture: one panel for each learner, one line for each way of choosing.

use crate::course::{Course, DAYS, ITEMS, Way};
use std::fmt::Write;

const WIDTH: f64 = 1020.0;
const HEIGHT: f64 = 640.0;
const COLUMNS: usize = 3;
/// A panel: its place on the page and its size.
const LEFT: f64 = 60.0;
const TOP: f64 = 96.0;
const STEP: (f64, f64) = (335.0, 272.0);
const PANEL: (f64, f64) = (245.0, 200.0);
/// The lowest recall that is drawn.
const LOWEST: f64 = 0.3;

/// Colour, dashes: each way is told from the others without colour too.
fn look(way: Way) -> (&'static str, &'static str) {
    match way {
        Way::Scheduler => ("#0060a8", "none"),
        Way::Random => ("#c24a00", "7 4"),
        Way::Fixed => ("#4a4a4a", "2 3"),
    }
}

fn x(day: f64) -> f64 {
    day / f64::from(DAYS) * PANEL.0
}

fn y(recall: f64) -> f64 {
    PANEL.1 - (recall - LOWEST) / (1.0 - LOWEST) * PANEL.1
}

/// The picture of all learners, in the order given.
pub(crate) fn svg(panels: &[(&str, Vec<(Way, Course)>)], skills: usize, seeds: u64) -> String {
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(&text);
        out.push('\n');
    };
    line(format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="13" fill="#222">"##
    ));
    line(format!(r##"<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>"##));
    line(format!(
        r##"<text x="{LEFT}" y="32" font-size="18" font-weight="bold">Recall of all {skills} skills over {DAYS} days, {ITEMS} items a day</text>"##
    ));
    line(format!(
        r##"<text x="{LEFT}" y="54">Simulated learners, mean of {seeds} seeds. Model and numbers are this project's own (tests/simulation/learner.rs).</text>"##
    ));
    for (n, (name, courses)) in panels.iter().enumerate() {
        line(panel(n, name, courses));
    }
    line(legend(panels.len()));
    line("</svg>".to_owned());
    out
}

fn place(n: usize) -> (f64, f64) {
    (LEFT + (n % COLUMNS) as f64 * STEP.0, TOP + (n / COLUMNS) as f64 * STEP.1)
}

fn panel(n: usize, name: &str, courses: &[(Way, Course)]) -> String {
    let (left, top) = place(n);
    let mut out = format!(r##"<g transform="translate({left} {top})">"##);
    let mut put = |text: String| write!(out, "\n{text}").expect("text can be written to");
    put(format!(r##"<text x="0" y="-10" font-weight="bold">{name}</text>"##));
    for tenth in [4u8, 6, 8, 10] {
        let at = y(f64::from(tenth) / 10.0);
        put(format!(r##"<path d="M0 {at:.1}H{}" stroke="#ddd"/>"##, PANEL.0));
        put(format!(r##"<text x="-8" y="{:.1}" text-anchor="end">{} %</text>"##, at + 4.0, tenth * 10));
    }
    for day in [0u32, 30, 60, 90] {
        let at = x(f64::from(day));
        put(format!(r##"<text x="{at:.1}" y="{:.1}" text-anchor="middle">{day}</text>"##, PANEL.1 + 18.0));
    }
    put(format!(r##"<path d="M0 0V{0}H{1}" fill="none" stroke="#888"/>"##, PANEL.1, PANEL.0));
    put(format!(
        r##"<text x="{:.1}" y="{:.1}" text-anchor="middle" fill="#555">day</text>"##,
        PANEL.0 / 2.0,
        PANEL.1 + 34.0
    ));
    for (way, course) in courses.iter().rev() {
        let (colour, dashes) = look(*way);
        let points: Vec<String> = course
            .all
            .iter()
            .zip(1u32..)
            .map(|(recall, day)| format!("{:.1},{:.1}", x(f64::from(day)), y(recall.max(LOWEST))))
            .collect();
        put(format!(
            r##"<polyline points="{}" fill="none" stroke="{colour}" stroke-width="2.2" stroke-dasharray="{dashes}"/>"##,
            points.join(" ")
        ));
    }
    // Ends of lines, as percentages, kept apart from each other.
    let mut ends: Vec<(f64, Way, f64)> =
        courses.iter().map(|(way, course)| (y(course.end()), *way, course.end())).collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut above = f64::NEG_INFINITY;
    for (at, way, end) in ends {
        let at = at.max(above + 14.0);
        above = at;
        let percent = (end * 100.0).round();
        put(format!(
            r##"<text x="{:.1}" y="{:.1}" fill="{}" font-weight="bold">{percent}</text>"##,
            PANEL.0 + 5.0,
            at + 4.0,
            look(way).0
        ));
    }
    out.push_str("\n</g>");
    out
}

fn legend(n: usize) -> String {
    let (left, top) = place(n);
    let mut out = format!(r##"<g transform="translate({left} {top})">"##);
    let mut put = |text: String| write!(out, "\n{text}").expect("text can be written to");
    for (row, way) in Way::ALL.into_iter().enumerate() {
        let (colour, dashes) = look(way);
        let at = 20.0 + row as f64 * 28.0;
        put(format!(
            r##"<path d="M0 {at}H44" stroke="{colour}" stroke-width="2.2" stroke-dasharray="{dashes}"/>"##
        ));
        put(format!(
            r##"<text x="54" y="{:.1}" font-weight="bold" fill="{colour}">{}</text>"##,
            at + 4.0,
            way.name()
        ));
    }
    let notes = [
        "At the right of each line: recall at the end.",
        "At first an order that shows everything",
        "once is ahead: the scheduler keeps what",
        "it has begun before it begins more.",
    ];
    for (row, note) in notes.into_iter().enumerate() {
        put(format!(r##"<text x="0" y="{:.1}" fill="#555">{note}</text>"##, 116.0 + row as f64 * 18.0));
    }
    out.push_str("\n</g>");
    out
}
