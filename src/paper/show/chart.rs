//! Charts of the page, drawn as SVG: marks with the pass line, items by difficulty and discrimination, people by items.

use crate::paper::report::{GroupReport, ItemReport, mark};
use crate::progress::percent;
use maud::{Markup, html};

/// Size of the charts in their own units, and the margins of the figures beside them.
const WIDTH: f64 = 640.0;
const LEFT: f64 = 66.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 30.0;
const BOTTOM: f64 = 44.0;

fn n(value: f64) -> String {
    super::decimal(value, 1)
}

/// How many people have which mark.
pub(super) fn marks(report: &GroupReport) -> Markup {
    const HEIGHT: f64 = 240.0;
    let bins = &report.figures.bins;
    let most = bins.iter().copied().max().unwrap_or(0).max(1) as f64;
    let step = (WIDTH - LEFT - RIGHT) / 10.0;
    let x = |share: f64| LEFT + share * (WIDTH - LEFT - RIGHT);
    let y = |number: f64| TOP + (1.0 - number / most) * (HEIGHT - TOP - BOTTOM);
    let pass = report.paper.pass_mark.clamp(0.0, 100.0);
    let line = x(pass / 100.0);
    let words = format!(
        "{} marks in ten steps of ten per cent: {}; pass mark {} %",
        report.people.len(),
        bins.map(|number| number.to_string()).join(", "),
        mark(pass)
    );
    html! {
        svg.marks viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label=(words) {
            line.grid x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(0.0))) y2=(n(y(0.0))) {}
            text x=(n(LEFT - 6.0)) y=(n(y(0.0) + 4.0)) text-anchor="end" { "0" }
            text x=(n(LEFT - 6.0)) y=(n(y(most) + 4.0)) text-anchor="end" { (format!("{most:.0}")) }
            @for (at, number) in bins.iter().enumerate() {
                @let left = LEFT + at as f64 * step;
                @let top = y(*number as f64);
                rect.fill x=(n(left + 2.0)) y=(n(top)) width=(n(step - 4.0)) height=(n(y(0.0) - top)) {
                    title { (number) " with a mark from " (at * 10) " to " (if at == 9 { 100 } else { at * 10 + 9 }) }
                }
            }
            @for at in (0..=10).step_by(2) {
                text x=(n(x(f64::from(at) / 10.0))) y=(n(HEIGHT - BOTTOM + 18.0)) text-anchor=(match at { 10 => "end", _ => "middle" }) {
                    (at * 10)
                }
            }
            line.halo x1=(n(line)) x2=(n(line)) y1=(n(TOP - 14.0)) y2=(n(y(0.0) + 4.0)) {}
            line.pass x1=(n(line)) x2=(n(line)) y1=(n(TOP - 14.0)) y2=(n(y(0.0) + 4.0)) {}
            @for (at, number) in bins.iter().enumerate().filter(|(_, number)| **number > 0) {
                text.count x=(n(LEFT + (at as f64 + 0.5) * step)) y=(n(y(*number as f64) - 5.0)) text-anchor="middle" {
                    (number)
                }
            }
            text.pass x=(n(line)) y=(n(HEIGHT - 8.0)) text-anchor=(match pass { p if p > 85.0 => "end", p if p < 15.0 => "start", _ => "middle" }) {
                "pass mark " (mark(pass)) " %"
            }
        }
    }
}

/// Items as points: how easy, and how well they tell people apart. None if no item has both.
pub(super) fn scatter(report: &GroupReport) -> Option<Markup> {
    const HEIGHT: f64 = 360.0;
    let points: Vec<(&ItemReport, f64, f64)> = report
        .items
        .iter()
        .filter_map(|item| Some((item, item.difficulty.ok()?, item.discrimination.ok()?)))
        .collect();
    if points.is_empty() {
        return None;
    }
    let floor = if points.iter().any(|point| point.2 < 0.0) { -1.0 } else { 0.0 };
    let x = |p: f64| LEFT + 8.0 + p * (WIDTH - LEFT - RIGHT - 16.0);
    let y = |r: f64| TOP + (1.0 - (r - floor) / (1.0 - floor)) * (HEIGHT - TOP - BOTTOM);
    let words = format!(
        "{} items by the share that had them right and by discrimination; the table below has the figures",
        points.len()
    );
    let marks: &[f64] = if floor < 0.0 { &[-1.0, -0.5, 0.0, 0.5, 1.0] } else { &[0.0, 0.25, 0.5, 0.75, 1.0] };
    // Points that lie on one another share a label.
    let mut seen: Vec<(f64, f64, Vec<u32>)> = Vec::new();
    for (item, p, r) in &points {
        let (px, py) = (x(*p), y(*r));
        match seen.iter_mut().find(|known| (known.0 - px).abs() + (known.1 - py).abs() < 1.0) {
            Some(known) => known.2.push(item.info.number),
            None => seen.push((px, py, vec![item.info.number])),
        }
    }
    Some(html! {
        svg.scatter viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label=(words) {
            @for mark in marks {
                line.grid x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(*mark))) y2=(n(y(*mark))) {}
                text x=(n(LEFT - 6.0)) y=(n(y(*mark) + 4.0)) text-anchor="end" { (super::decimal(*mark, 2)) }
            }
            @for at in 0..=4 {
                text x=(n(x(f64::from(at) / 4.0))) y=(n(HEIGHT - BOTTOM + 18.0)) text-anchor="middle" { (at * 25) }
            }
            text x=(n(WIDTH / 2.0)) y=(n(HEIGHT - 6.0)) text-anchor="middle" { "had it right, %" }
            text x="4" y="17" { "discrimination" }
            @if floor < 0.0 { line.zero x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(0.0))) y2=(n(y(0.0))) {} }
            @for (px, py, numbers) in &seen {
                circle.point cx=(n(*px)) cy=(n(*py)) r="5" { title { "item " (label(numbers)) } }
            }
            @for (x, y, end, words) in labels(&seen) {
                text x=(n(x)) y=(n(y)) text-anchor=(if end { "end" } else { "start" }) { (words) }
            }
        }
    })
}

/// Numbers of items at one point; many are cut short.
fn label(numbers: &[u32]) -> String {
    let words: Vec<String> = numbers.iter().take(4).map(u32::to_string).collect();
    if numbers.len() > 4 { format!("{}…", words.join(",")) } else { words.join(",") }
}

/// A label beside each point, to the right or to the left, where it covers no point and no other label: place, whether
/// it ends there, words. A point without room for one has its number in its title only, and in the list.
fn labels(points: &[(f64, f64, Vec<u32>)]) -> Vec<(f64, f64, bool, String)> {
    // What a character and a line take on a phone.
    const CHARACTER: f64 = 11.0;
    const LINE: f64 = 17.0;
    let mut taken: Vec<[f64; 4]> =
        points.iter().map(|(x, y, _)| [x - 5.0, y - 5.0, x + 5.0, y + 5.0]).collect();
    let mut out = Vec::new();
    for (x, y, numbers) in points {
        let words = label(numbers);
        let long = words.chars().count() as f64 * CHARACTER;
        for (left, end) in [(x + 8.0, false), (x - 8.0 - long, true)] {
            let own = [left, y - LINE / 2.0, left + long, y + LINE / 2.0];
            let apart = |other: &[f64; 4]| {
                other[2] <= own[0] || own[2] <= other[0] || other[3] <= own[1] || own[3] <= other[1]
            };
            if left >= LEFT && own[2] <= WIDTH && taken.iter().all(apart) {
                taken.push(own);
                out.push((if end { x - 8.0 } else { left }, y + 5.0, end, words));
                break;
            }
        }
    }
    out
}

/// A bar from 0 to 100 % with a line over the interval.
pub(super) fn share(item: &ItemReport) -> Markup {
    let at = |share: f64| n(share * 100.0);
    let share = item.difficulty.unwrap_or(0.0);
    let (low, high) = item.interval;
    let words = format!("{} % right, 95 % interval {} to {} %", percent(share), percent(low), percent(high));
    html! {
        svg.bar viewBox="0 0 100 10" preserveAspectRatio="none" role="img" aria-label=(words) {
            rect.track x="0" y="1" width="100" height="8" {}
            rect.fill x="0" y="1" width=(at(share)) height="8" {}
            line.range x1=(at(low)) x2=(at(high)) y1="5" y2="5" {}
            line.range x1=(at(low)) x2=(at(low)) y1="2.5" y2="7.5" {}
            line.range x1=(at(high)) x2=(at(high)) y1="2.5" y2="7.5" {}
        }
    }
}

/// Items of one strip of the grid: more would be too small to read.
const STRIP: usize = 20;

/// People by items: strips of so many items, each a table with one sign in a cell.
pub(super) fn grid(report: &GroupReport) -> Markup {
    let strips = report.items.len().div_ceil(STRIP);
    html! {
        @for strip in 0..strips {
            @let (from, to) = (strip * STRIP, ((strip + 1) * STRIP).min(report.items.len()));
            div.wide {
                table.by-item {
                    thead {
                        tr {
                            th scope="col" { "item" }
                            @for item in &report.items[from..to] { th.n scope="col" { (item.info.number) } }
                        }
                    }
                    tbody {
                        @for person in &report.people {
                            tr {
                                th scope="row" { span { (person.name) } }
                                @for cell in person.cells.iter().take(to).skip(from) {
                                    td class=(cell.word().replace(' ', "-")) {
                                        abbr title=(format!("{}, {} points", cell.word(), cell.score)) { (cell.sign()) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
