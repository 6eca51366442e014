//! The phrase book as one page for a browser or a printer: no script, nothing from elsewhere.

use super::rows::Row;
use super::side::{Avoid, Exchange, Side, Wrong};
use super::{Book, Entry, MEMORY, NOTATION, READING};
use crate::CAUTION;
use crate::element::Standard;
use crate::page::whole;
use maud::{Markup, html};

const STYLE: &str = include_str!("book.css");

/// The whole page.
#[must_use]
pub fn page(book: &Book) -> String {
    let body = html! {
        header {
            h1 { (book.title()) }
            p.caution role="note" { (CAUTION) }
            p { (READING) }
            p { (MEMORY) }
            dl.notation {
                @for (pattern, meaning) in NOTATION {
                    div { dt { (pattern) } dd { (meaning) } }
                }
            }
        }
        (contents(book))
        main {
            @for chapter in &book.chapters {
                section.chapter {
                    h2 id=(chapter.phase.name()) { (chapter.phase.title()) }
                    @for section in &chapter.sections {
                        section {
                            h3 id=(format!("topic-{}", section.id)) { (section.title) }
                            @for entry in &section.entries { (self::entry(entry)) }
                        }
                    }
                }
            }
            @if !book.values.is_empty() { (values(book)) }
            @if !book.rules.is_empty() { (rules(book)) }
        }
    };
    whole(&book.title(), &[STYLE], &body)
}

fn contents(book: &Book) -> Markup {
    html! {
        nav aria-label="Contents" {
            h2 { "Contents" }
            ol {
                @for chapter in &book.chapters {
                    li {
                        a href=(format!("#{}", chapter.phase.name())) { (chapter.phase.title()) }
                        ul {
                            @for section in &chapter.sections {
                                li { a href=(format!("#topic-{}", section.id)) { (section.title) } " " }
                            }
                        }
                    }
                }
                @if !book.values.is_empty() { li { a href="#values" { "Values" } } }
                @if !book.rules.is_empty() { li { a href="#rules" { "Rules of form" } } }
            }
        }
    }
}

fn entry(entry: &Entry) -> Markup {
    let side = &entry.side;
    html! {
        article id=(entry.id) {
            h4 { span.id { (entry.id) } " " span.who { (side.who) } }
            @if let Some((usual, others)) = side.patterns.split_first() {
                p.pattern { (usual) }
                @if !others.is_empty() {
                    p.also { "Heard as well:" }
                    @for other in others { p.pattern.other { (other) } }
                }
            }
            @if let Some(example) = &side.example { (exchange(example)) }
            dl {
                (item("Parts in order", &side.parts))
                @if !side.model.is_empty() { dt { "Answer" } dd { span.pattern { (side.model) } } }
                (item("Must come back", &side.back))
                @for wrong in &side.wrong { (self::wrong(wrong, side)) }
                @for avoid in &side.avoid { (self::avoid(avoid)) }
                (item("Why", &side.why))
                dt { "Source" }
                dd.source { (sources(&entry.sources)) }
            }
            @if !entry.differences.is_empty() { (differences(&entry.differences)) }
        }
    }
}

fn exchange(said: &Exchange) -> Markup {
    html! {
        blockquote {
            @if let Some(station) = &said.station { p { b { "Station" } " " q { (station) } } }
            @if said.pilot.is_empty() {
                p { b { "Pilot" } " (silence)" }
            } @else {
                p { b { "Pilot" } " " q { (said.pilot) } }
            }
        }
    }
}

fn item(label: &str, text: &str) -> Markup {
    html! { @if !text.is_empty() { dt { (label) } dd { (text) } } }
}

fn wrong(wrong: &Wrong, side: &Side) -> Markup {
    let same = side.example.as_ref().is_some_and(|right| right.station == wrong.exchange.station);
    html! {
        dt { "Wrong" }
        dd.wrong {
            @if let Some(station) = wrong.exchange.station.as_ref().filter(|_| !same) {
                div.to { "to " q { (station) } }
            }
            q { (wrong.exchange.pilot) } " " em { (wrong.faults) }
        }
    }
}

fn avoid(avoid: &Avoid) -> Markup {
    html! {
        dt { "Avoid" }
        dd { span.pattern { (avoid.says.join(" · ")) } ", instead: " b { (avoid.better) } ". " (avoid.why) }
    }
}

/// The groups of a row, one after the other.
fn sources(row: &Row) -> Markup {
    html! {
        @if let [one] = row.groups.as_slice() {
            (one.lines.join(" "))
        } @else {
            @for group in &row.groups {
                span.group { b { (group.names()) } " " (group.lines.join(" ")) }
                " "
            }
        }
    }
}

fn differences(rows: &[Row]) -> Markup {
    html! {
        table.differences {
            caption { "Where the rule sets differ" }
            tbody {
                @for row in rows {
                    @for (k, group) in row.groups.iter().enumerate() {
                        tr.first[k == 0] {
                            @if k == 0 { th scope="rowgroup" rowspan=(row.groups.len()) { (row.key) } }
                            th.sets scope="row" { (group.names()) }
                            td { @for line in &group.lines { div { (line) } } }
                        }
                    }
                }
            }
        }
    }
}

fn values(book: &Book) -> Markup {
    html! {
        section.chapter {
            h2 id="values" { "Values" }
            dl.values {
                @for (name, values) in &book.values {
                    dt { "(" (name) ")" }
                    dd { (values.join(" · ")) }
                }
            }
        }
    }
}

fn rules(book: &Book) -> Markup {
    let shown: &[Standard] = match &book.standard {
        Some(one) => std::slice::from_ref(one),
        None => &Standard::ALL,
    };
    html! {
        section.chapter {
            h2 id="rules" { "Rules of form" }
            table.rules {
                thead {
                    tr {
                        th scope="col" { "rule" }
                        @for standard in shown { th.sets scope="col" { (standard.name()) } }
                        th scope="col" { "why, and source" }
                    }
                }
                tbody {
                    @for rule in &book.rules {
                        tr.differs[rule.differs()] {
                            th scope="row" { (rule.id) }
                            @for &standard in shown {
                                td.on { @if rule.on[standard as usize] { "yes" } @else { "–" } }
                            }
                            td.text {
                                div { (sources(&rule.why)) }
                                div.source { (sources(&rule.sources)) }
                            }
                        }
                    }
                }
            }
        }
    }
}
