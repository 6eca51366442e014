//! The report as one page for a browser, a phone or a printer: no script, nothing from elsewhere.

use super::habit::Habit;
use super::stats::{Times, Trend};
use super::{By, Group, Line, Report, chart, day, percent, seconds};
use crate::CAUTION;
use crate::page::{FIGURES, whole};
use maud::{Markup, html};

const STYLE: &str = include_str!("progress.css");

/// The whole page.
#[must_use]
pub fn page(report: &Report) -> String {
    let title = format!("Progress of {}", report.profile);
    let body = html! {
        header {
            h1 { (title) }
            p { (report.summary()) }
            p.caution role="note" { (CAUTION) }
        }
        main {
            @if report.firsts > 0 {
                (overall(report))
                @if !report.habits.is_empty() {
                    section {
                        h2 { "Most dangerous habits" }
                        ol.habits { @for habit in &report.habits { (self::habit(habit)) } }
                    }
                }
                @for group in report.groups.iter().filter(|group| !group.lines.is_empty()) {
                    (self::group(group))
                }
                (notes())
            }
        }
    };
    whole(&title, &[FIGURES, STYLE], &body)
}

fn overall(report: &Report) -> Markup {
    let total = &report.total;
    let (low, high) = total.interval();
    html! {
        section {
            h2 { "Overall" }
            dl.figures {
                div {
                    dt { "Came back right" }
                    dd { b { (percent(total.share())) " %" } " " (total.right) " of " (total.owed) " owed" }
                }
                div {
                    dt { "95 % interval" }
                    dd { b { (percent(low)) "–" (percent(high)) " %" } " " (trend(total)) }
                }
                @if let Some(times) = &total.times {
                    div { dt { "To the first key" } dd { (time(times)) } }
                }
                @if let Some(typing) = &report.typing {
                    div { dt { "From there to Enter" } dd { (time(typing)) } }
                }
                div { dt { "First replies" } dd.words { (report.verdict_words()) } }
            }
            figure {
                (chart::weeks(&total.weeks))
                figcaption { "Share of owed elements that came back right, by week, with 95 % intervals" }
            }
        }
    }
}

fn time(times: &Times) -> Markup {
    html! {
        b { (seconds(times.median)) " s" } " half of them " (seconds(times.lower)) " to " (seconds(times.upper)) " s"
    }
}

fn trend(line: &Line) -> String {
    match line.trend {
        Trend::TooFew | Trend::Steady => line.trend.name().to_owned(),
        Trend::Rising(slope) | Trend::Falling(slope) => {
            format!("{} by {:.1} points a week", line.trend.name(), slope * 100.0)
        }
    }
}

fn habit(habit: &Habit) -> Markup {
    html! {
        li class=(habit.severity.name()) {
            p.what { (habit.words()) }
            @if let Some(example) = &habit.example {
                dl {
                    dt { "asked" } dd { (example.asked_words()) }
                    dt { "typed" } dd { (example.typed_words()) }
                    dt { "found" } dd { (example.found_words()) " (" (day(example.at)) ")" }
                }
            }
        }
    }
}

fn group(group: &Group) -> Markup {
    let more = group.by != By::Week;
    html! {
        section {
            h2 { (group.by.title()) }
            table {
                thead {
                    tr {
                        th scope="col" { (group.by.name()) }
                        th.chart scope="col" { "right" }
                        th.number scope="col" { "%" }
                        th.number scope="col" { "of" }
                        th.number scope="col" { "95 %" }
                        @if more {
                            th.number scope="col" { "first key" }
                            th scope="col" { "trend" }
                        }
                    }
                }
                tbody { @for line in &group.lines { (self::line(line, more)) } }
            }
        }
    }
}

fn line(line: &Line, more: bool) -> Markup {
    let (low, high) = line.interval();
    html! {
        tr {
            th scope="row" { (line.name.replace('_', " ")) }
            td.chart { (chart::bar(line)) }
            td.number { b { (percent(line.share())) } }
            td.number { (line.right) "/" (line.owed) }
            td.number { (percent(low)) "–" (percent(high)) }
            @if more {
                td.number {
                    @match &line.times {
                        Some(t) => { (seconds(t.median)) " s" small { " " (seconds(t.lower)) "–" (seconds(t.upper)) } },
                        None => "–",
                    }
                }
                td { (line.trend.name()) }
            }
        }
    }
}

fn notes() -> Markup {
    html! {
        section.notes {
            h2 { "How to read it" }
            p {
                "Only first replies count: what is said again after a question of the other voice was not remembered. "
                "An owed element is one that must be read back or called. The line over each bar is the interval after "
                "Wilson in which the true share lies with 95 % confidence; it is wide where there was little practice. "
                "Times run from the prompt to the first key: median, and the middle half. A trend is named where a line "
                "through at least three weeks with twenty owed elements is steeper than chance explains. Habits are ordered by the share that was "
                "missed at least, times the hazard: major counts three times minor, critical nine times."
            }
        }
    }
}
