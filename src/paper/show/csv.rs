//! The report as three tables: people, items, wrong replies.

use super::{figure, outright, result, taken_back};
use crate::feedback::label;
use crate::paper::report::{GroupReport, mark};
use crate::record::moment;

/// The files, by name, with their text.
///
/// # Errors
/// Never in practice: the tables are written to memory.
pub fn tables(report: &GroupReport) -> csv::Result<[(&'static str, String); 3]> {
    Ok([("people.csv", people(report)?), ("items.csv", items(report)?), ("replies.csv", replies(report)?)])
}

/// A cell that no spreadsheet takes for a formula.
#[must_use]
pub fn guarded(cell: &str) -> String {
    let risky = cell.trim_start_matches(' ').starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\'']);
    // A negative number is a number.
    if risky && cell.parse::<f64>().is_err() { format!("'{cell}") } else { cell.to_owned() }
}

fn table(head: &[&str], rows: Vec<Vec<String>>) -> csv::Result<String> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(head)?;
    for row in rows {
        out.write_record(row.iter().map(|cell| guarded(cell)))?;
    }
    let bytes = out.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn people(report: &GroupReport) -> csv::Result<String> {
    let mut head: Vec<String> = [
        "name",
        "file",
        "counts",
        "place",
        "mark",
        "result",
        "outright",
        "seconds",
        "sitting",
        "started",
        "strengths",
        "dangers",
        "notices",
    ]
    .map(str::to_owned)
    .to_vec();
    for grade in &report.grades {
        head.push(format!("practice grade: {}", grade.competency.name().to_lowercase()));
        head.push(format!("evidence: {}", grade.competency.name().to_lowercase()));
    }
    head.extend(report.items.iter().map(|item| format!("item {}", item.info.number)));
    let mut rows: Vec<Vec<String>> = Vec::new();
    for person in &report.people {
        let names = |all: Vec<&str>| all.join("; ");
        let mut row = vec![
            person.name.clone(),
            person.file.clone(),
            "yes".to_owned(),
            person.place.map_or(String::new(), |place| place.to_string()),
            mark(person.mark),
            result(person).to_owned(),
            outright(person).join("; "),
            person.seconds.to_string(),
            person.sitting.to_string(),
            person.started.map_or(String::new(), moment::text),
            names(person.strengths.iter().map(|s| s.subject.name.as_str()).collect()),
            names(person.dangers.iter().map(|n| n.subject.name.as_str()).collect()),
            person.notices.join("; "),
        ];
        for seen in &person.grades {
            row.push(seen.grade().map_or_else(|| "not observed".to_owned(), |grade| grade.to_string()));
            row.push(seen.lines().join("; "));
        }
        row.extend(person.cells.iter().map(|cell| cell.score.to_string()));
        rows.push(row);
    }
    for apart in &report.apart {
        let mut row = vec![apart.name.clone(), apart.file.clone(), "no".to_owned()];
        row.resize(head.len(), String::new());
        if let Some(cell) = row.get_mut(12) {
            *cell = apart.why.join("; ");
        }
        rows.push(row);
    }
    table(&head.iter().map(String::as_str).collect::<Vec<_>>(), rows)
}

fn items(report: &GroupReport) -> csv::Result<String> {
    let head = [
        "item",
        "skill",
        "title",
        "people",
        "right",
        "difficulty",
        "low",
        "high",
        "mean score",
        "discrimination",
        "item-total",
        "kr20 without it",
        "median seconds",
        "say again",
        "people who asked again",
        "no reply",
        "remark",
        "taken back",
    ];
    let value = |found| figure(found, 4).unwrap_or_default();
    let mut rows = Vec::new();
    for item in &report.items {
        let taken = report.overruled.iter().filter(|taken| taken.item == item.info.number).map(taken_back);
        rows.push(vec![
            item.info.number.to_string(),
            item.info.skill.clone(),
            item.info.title.clone(),
            item.people.to_string(),
            item.right.to_string(),
            value(item.difficulty),
            format!("{:.4}", item.interval.0),
            format!("{:.4}", item.interval.1),
            figure(item.score, 1).unwrap_or_default(),
            value(item.discrimination),
            value(item.item_total),
            value(item.without),
            item.median_ms.map_or(String::new(), |ms| format!("{:.1}", ms / 1000.0)),
            item.again.to_string(),
            item.again_people.to_string(),
            item.silent.to_string(),
            item.remark().unwrap_or_default().to_owned(),
            taken.collect::<Vec<_>>().join("; "),
        ]);
    }
    table(&head, rows)
}

fn replies(report: &GroupReport) -> csv::Result<String> {
    let head =
        ["item", "kind", "count", "text", "element", "fault", "expected", "given", "asked", "same for all"];
    let mut rows = Vec::new();
    for item in &report.items {
        let number = item.info.number.to_string();
        let row = |kind: &str, count: usize, rest: [String; 7]| {
            let mut row = vec![number.clone(), kind.to_owned(), count.to_string()];
            row.extend(rest);
            row
        };
        let empty = String::new;
        for reply in &item.replies {
            let same = if reply.same { "yes" } else { "no" };
            let rest = [
                reply.text.clone(),
                empty(),
                empty(),
                empty(),
                empty(),
                reply.asked.clone(),
                same.to_owned(),
            ];
            rows.push(row("reply", reply.count, rest));
        }
        for (kind, count) in [("other replies", item.other_replies), ("no reply", item.silent)] {
            if count > 0 {
                rows.push(row(kind, count, std::array::from_fn(|_| empty())));
            }
        }
        for slip in &item.slips {
            let (element, fault) = (label(slip.element), slip.fault.name().to_owned());
            let rest = [empty(), element.clone(), fault.clone(), empty(), empty(), empty(), empty()];
            rows.push(row("fault", slip.count, rest));
            for (expected, given, count) in &slip.values {
                let value = |value: &Option<String>| value.clone().unwrap_or_default();
                let rest = [
                    empty(),
                    element.clone(),
                    fault.clone(),
                    value(expected),
                    value(given),
                    empty(),
                    empty(),
                ];
                rows.push(row("value", *count, rest));
            }
        }
    }
    table(&head, rows)
}
