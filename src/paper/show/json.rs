//! The report as one JSON object. A figure that does not exist is null, with the reason beside it.

use crate::paper::competency::{CAUTION, CUT_WORDS, GroupGrade, Observed, UNSEEN};
use crate::paper::loss::{Need, Strength};
use crate::paper::report::{FORMAT, GroupReport, ItemReport, Person};
use crate::paper::stats::Figure;
use crate::record::moment;
use serde_json::{Value, json};

/// The object; shares from 0 to 1, marks and scores from 0 to 100, times in seconds or as the key says.
#[must_use]
pub fn object(report: &GroupReport) -> Value {
    let figures = &report.figures;
    json!({
        "format": FORMAT,
        "paper": {
            "title": report.paper.title, "standard": report.paper.standard, "pass_mark": report.paper.pass_mark,
            "fingerprint": report.paper.fingerprint,
        },
        "caution": crate::CAUTION,
        "people": report.people.iter().map(person).collect::<Vec<_>>(),
        "apart": report.apart.iter().map(|apart| json!({
            "name": apart.name, "file": apart.file, "why": apart.why,
        })).collect::<Vec<_>>(),
        "items": report.items.iter().map(item).collect::<Vec<_>>(),
        "figures": {
            "people": report.people.len(), "passed": figures.passed,
            "pass_interval": [figures.pass_interval.0, figures.pass_interval.1],
            "mean": number(figures.mean), "standard_deviation": number(figures.deviation),
            "quartiles": figures.quartiles,
            "lowest": figures.range.map(|range| range.0), "highest": figures.range.map(|range| range.1),
            "bins_of_10": figures.bins,
            "kr20": number(figures.kr20), "alpha": number(figures.alpha),
            "standard_error": number(figures.error), "items_for_alpha_80": figures.items_for_80,
        },
        "needs": report.needs.iter().map(need).collect::<Vec<_>>(),
        "commands": report.commands,
        "overruled": report.overruled.iter().map(|taken| json!({
            "item": taken.item, "person": taken.person, "element": taken.element, "fault": taken.fault,
            "reason": taken.reason, "by": taken.by, "at": moment::text(taken.at),
        })).collect::<Vec<_>>(),
        "competencies": {
            "caution": CAUTION, "cuts": CUT_WORDS, "unseen": UNSEEN,
            "group": report.grades.iter().map(group_grade).collect::<Vec<_>>(),
        },
    })
}

fn number(figure: Figure) -> Value {
    match figure {
        Ok(value) => json!({ "value": value }),
        Err(reason) => json!({ "value": null, "why": reason }),
    }
}

fn need(need: &Need) -> Value {
    json!({
        "skill": need.subject.key, "name": need.subject.name, "topic": need.subject.topic, "crew": need.subject.crew,
        "lost": need.lost, "owed": need.owed, "people": need.people, "severity": need.severity, "danger": need.danger,
    })
}

fn strength(strength: &Strength) -> Value {
    json!({ "skill": strength.subject.key, "name": strength.subject.name, "owed": strength.owed })
}

fn person(person: &Person) -> Value {
    json!({
        "name": person.name, "file": person.file, "place": person.place, "sitting": person.sitting,
        "started": person.started.map(moment::text), "seconds": person.seconds, "mark": person.mark,
        "passed": person.passed,
        "outright": person.outright.iter().map(|(item, element, fault)| json!({
            "item": item, "element": element, "fault": fault,
        })).collect::<Vec<_>>(),
        "strengths": person.strengths.iter().map(strength).collect::<Vec<_>>(),
        "dangers": person.dangers.iter().map(need).collect::<Vec<_>>(),
        "notices": person.notices,
        "scores": person.cells.iter().map(|cell| cell.score).collect::<Vec<_>>(),
        "replies": person.cells.iter().map(|cell| cell.word()).collect::<Vec<_>>(),
        "competencies": person.grades.iter().map(observed).collect::<Vec<_>>(),
    })
}

fn observed(seen: &Observed) -> Value {
    json!({
        "name": seen.competency.name(),
        "evidence": seen.evidence.iter().map(|e| json!({
            "what": e.what, "shown": e.shown, "required": e.required,
        })).collect::<Vec<_>>(),
        "how_many": [seen.behaviours, seen.behaviours_required],
        "how_often": [seen.shown, seen.required],
        "unsafe_items": seen.unsafe_items, "missed_items": seen.missed_items,
        "cap": seen.cap().map(|cap| cap.words()),
        "practice_grade": seen.grade(), "observed": seen.grade().is_some(),
    })
}

fn group_grade(grade: &GroupGrade) -> Value {
    json!({
        "name": grade.competency.name(), "counted": grade.competency.counted(),
        "shown": grade.shown, "required": grade.required,
        "people_unsafe": grade.unsafe_people, "people_missed": grade.missed_people,
        "people_by_practice_grade": grade.grades, "people_not_observed": grade.not_observed,
    })
}

fn item(item: &ItemReport) -> Value {
    json!({
        "number": item.info.number, "skill": item.info.skill, "title": item.info.title,
        "people": item.people, "right": item.right,
        "difficulty": number(item.difficulty), "interval": [item.interval.0, item.interval.1],
        "mean_score": number(item.score), "discrimination": number(item.discrimination),
        "item_total": number(item.item_total), "kr20_without": number(item.without),
        "median_ms": item.median_ms, "say_again": item.again, "people_who_asked_again": item.again_people,
        "no_reply": item.silent, "other_replies": item.other_replies, "remark": item.remark(),
        "replies": item.replies.iter().map(|reply| json!({
            "text": reply.text, "count": reply.count, "asked": reply.asked, "same_for_all": reply.same,
            "what": reply.what,
        })).collect::<Vec<_>>(),
        "faults": item.slips.iter().map(|slip| json!({
            "element": slip.element, "fault": slip.fault, "severity": slip.severity, "count": slip.count,
            "values": slip.values.iter().map(|(expected, given, count)| json!({
                "expected": expected, "given": given, "count": count,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}
