//! The report as one page for a browser, a phone or a printer: no script, nothing from elsewhere.

use super::text::slip_words;
use super::{chart, decimal, outright, result, taken_back, times, words};
use crate::page::{FIGURES, whole};
use crate::paper::competency::{CAUTION, CUT_WORDS, GroupGrade, Observed, UNSEEN, persons};
use crate::paper::report::{GroupReport, ItemReport, Person, READING, mark, time};
use crate::progress::percent;
use maud::{Markup, html};

const STYLE: &str = include_str!("paper.css");

/// Wrong replies, and values of a fault, that are shown of an item; the tables have more.
const SHOWN: usize = 5;

/// The whole page.
#[must_use]
pub fn page(report: &GroupReport) -> String {
    let body = html! {
        header {
            h1 { (report.paper.title) }
            p { (report.summary()) }
            p.caution role="note" { (crate::CAUTION) }
        }
        main {
            @if !report.people.is_empty() {
                (figures(report))
                (needs(report))
                section {
                    h2 { @if report.options.ranking { "People, by mark" } @else { "People" } }
                    @for person in &report.people { (self::person(person)) }
                }
                section {
                    h2 { "People by items" }
                    (chart::grid(report))
                    p.key { "+ right, ~ fault of form, o incomplete, x incorrect, - no reply" }
                }
                section {
                    h2 { "Items" }
                    @if let Some(scatter) = chart::scatter(report) {
                        figure {
                            (scatter)
                            figcaption { "Each point is an item: to the right easy, to the top it tells people apart" }
                        }
                    }
                    @for item in &report.items { (self::item(item)) }
                }
                (grades(report))
            }
            @if !report.apart.is_empty() {
                section {
                    h2 { "Files that do not count" }
                    ul {
                        @for apart in &report.apart {
                            li {
                                b { (apart.name) }
                                @if !apart.file.is_empty() { " (" (apart.file) ")" }
                                ": "
                                @if apart.why.is_empty() { "no reason given" } @else { (apart.why.join("; ")) }
                            }
                        }
                    }
                }
            }
            @if !report.overruled.is_empty() {
                section {
                    h2 { "Findings taken back" }
                    ul { @for taken in &report.overruled { li { (taken_back(taken)) } } }
                }
            }
            @if !report.people.is_empty() {
                section.notes { h2 { "How to read it" } p { (READING) } }
            }
        }
    };
    whole(&report.paper.title, &[FIGURES, STYLE], &body)
}

fn figures(report: &GroupReport) -> Markup {
    let figures = &report.figures;
    let (low, high) = figures.pass_interval;
    html! {
        section {
            h2 { "The paper" }
            dl.figures {
                div {
                    dt { "Passed" }
                    dd { b { (figures.passed) " of " (report.people.len()) } "95 % interval " (percent(low)) "–" (percent(high)) " %" }
                }
                div {
                    dt { "Mean mark" }
                    dd { b { (words(figures.mean, 1)) } "standard deviation " (words(figures.deviation, 1)) }
                }
                @if let (Some([lower, middle, upper]), Some((least, most))) = (figures.quartiles, figures.range) {
                    div {
                        dt { "Half of the marks are below" }
                        dd {
                            b { (decimal(middle, 1)) }
                            "half of them " (decimal(lower, 1)) " to " (decimal(upper, 1)) ", all "
                            (mark(least)) " to " (mark(most))
                        }
                    }
                }
                (measure("KR-20, of right and wrong", figures.kr20, 2, None))
                (measure("Alpha, of the scores", figures.alpha, 2, figures.items_for_80.map(|items| {
                    format!("about {items} items like these would bring it to 0.80")
                })))
                (measure("Standard error of a mark", figures.error, 1, None))
            }
            figure {
                (chart::marks(report))
                figcaption { "How many people have which mark" }
            }
        }
    }
}

fn measure(
    title: &str,
    figure: crate::paper::stats::Figure,
    decimals: usize,
    more: Option<String>,
) -> Markup {
    html! {
        div {
            dt { (title) }
            dd {
                @match figure {
                    Ok(value) => { b { (decimal(value, decimals)) } @if let Some(more) = more { (more) } },
                    Err(reason) => { b { "none" } (reason.words()) },
                }
            }
        }
    }
}

fn needs(report: &GroupReport) -> Markup {
    html! {
        section {
            h2 { "To train next" }
            @if report.needs.is_empty() { p { "Nothing was lost." } }
            ol.needs {
                @for need in &report.needs {
                    li class=(need.severity.name()) {
                        b { (need.subject.name) } ": lost " (need.lost) " of " (need.owed) " times by "
                        (persons(need.people)) "; " (need.severity.name())
                    }
                }
            }
            @if !report.commands.is_empty() {
                p { "Commands that train it:" }
                ul.commands { @for command in &report.commands { li { code { (command) } } } }
            }
        }
    }
}

fn person(person: &Person) -> Markup {
    html! {
        article.person {
            h3 {
                @if let Some(place) = person.place { span.place { (place) ". " } }
                (person.name)
                span class=(if person.passed { "result passed" } else { "result failed" }) {
                    (mark(person.mark)) " %, " (result(person))
                }
            }
            dl {
                dt { "time" }
                dd { (time(person.seconds)) @if person.sitting > 1 { ", sitting " (person.sitting) } }
                @for text in outright(person) { dt { "outright" } dd.bad { (text) } }
                @if !person.strengths.is_empty() {
                    dt { "strong" }
                    dd { (person.strengths.iter().map(|s| format!("{} ({})", s.subject.name, s.owed)).collect::<Vec<_>>().join(", ")) }
                }
                @if !person.dangers.is_empty() {
                    dt { "weak" }
                    dd {
                        @for (at, need) in person.dangers.iter().enumerate() {
                            @if at > 0 { ", " }
                            (need.subject.name) " (lost " (need.lost) " of " (need.owed) ", " (need.severity.name()) ")"
                        }
                    }
                }
                @for notice in &person.notices { dt { "note" } dd { (notice) } }
            }
        }
    }
}

fn item(item: &ItemReport) -> Markup {
    html! {
        article.item {
            h3 { (item.info.number) ". " (item.info.title) }
            div.share {
                (chart::share(item))
                p {
                    b { (percent(item.difficulty.unwrap_or(0.0))) " %" } " right, "
                    (item.right) " of " (item.people) " (" (percent(item.interval.0)) "–" (percent(item.interval.1)) " %)"
                }
            }
            p.facts {
                "discrimination " (words(item.discrimination, 2))
                @if let Ok(without) = item.without { "; KR-20 without it " (decimal(without, 2)) }
                @if let Some(ms) = item.median_ms { "; median time " (decimal(ms / 1000.0, 1)) " s" }
                @if item.again > 0 { "; asked again " (times(item.again)) " by " (persons(item.again_people)) }
                @if item.silent > 0 { "; no reply from " (persons(item.silent)) }
            }
            @if let Some(remark) = item.remark() { p.bad { (remark) } }
            @if !item.slips.is_empty() {
                ul.slips { @for slip in item.slips.iter().take(SHOWN) { li { (slip_words(slip, SHOWN)) } } }
            }
            @if !item.replies.is_empty() || item.other_replies > 0 {
                dl.replies {
                    @for reply in item.replies.iter().take(SHOWN) {
                        dt { (reply.count) " ×" }
                        dd {
                            @if reply.text.is_empty() { "(nothing)" } @else { q { (reply.text) } }
                            @if !reply.what.is_empty() { " " em { (reply.what.join("; ")) } }
                            @if !reply.asked.is_empty() {
                                div.to { "to " @if !reply.same { "among others " } q { (reply.asked) } }
                            }
                        }
                    }
                    @let rest = item.other_replies + item.replies.iter().skip(SHOWN).map(|r| r.count).sum::<usize>();
                    @if rest > 0 { dt { (rest) " ×" } dd { "other wrong replies" } }
                }
            }
        }
    }
}

fn grades(report: &GroupReport) -> Markup {
    html! {
        section {
            h2 { "Competencies" }
            p.caution role="note" { (CAUTION) }
            p { (UNSEEN) }
            @for grade in &report.grades { (group_grade(grade)) }
            @for person in &report.people {
                article.grades {
                    h3 { (person.name) }
                    dl { @for seen in &person.grades { (observed(seen)) } }
                }
            }
            p.notes { (CUT_WORDS) }
        }
    }
}

fn group_grade(grade: &GroupGrade) -> Markup {
    html! {
        article.grades {
            h3 { (grade.competency.name()) span.result { (grade.competency.counted()) } }
            ul { @for line in grade.lines() { li { (line) } } }
        }
    }
}

fn observed(seen: &Observed) -> Markup {
    html! {
        dt { (seen.competency.name()) }
        dd {
            @for line in seen.lines() { div { (line) } }
            div { b { (seen.words()) } }
        }
    }
}
