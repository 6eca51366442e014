//! Charts of the HTML page, drawn as SVG: a bar with its interval, and shares from week to week.

use super::gather::week_name;
use super::stats::{Z, wilson};
use super::{Line, percent};
use maud::{Markup, html};

/// A bar from 0 to 100 %, with a line over the 95 % interval; figures stand beside it on the page.
pub(super) fn bar(line: &Line) -> Markup {
    let (low, high) = line.interval();
    let at = |share: f64| format!("{:.1}", share * 100.0);
    let words = format!(
        "{} % came back right, 95 % interval {} to {} %",
        percent(line.share()),
        percent(low),
        percent(high)
    );
    html! {
        svg.bar viewBox="0 0 100 10" preserveAspectRatio="none" role="img" aria-label=(words) {
            rect.track x="0" y="1" width="100" height="8" {}
            rect.fill x="0" y="1" width=(at(line.share())) height="8" {}
            line.range x1=(at(low)) x2=(at(high)) y1="5" y2="5" {}
            line.range x1=(at(low)) x2=(at(low)) y1="2.5" y2="7.5" {}
            line.range x1=(at(high)) x2=(at(high)) y1="2.5" y2="7.5" {}
        }
    }
}

/// Size of the chart of weeks, in its own units; margins for figures.
const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 66.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 34.0;

/// Names below the chart; more would run into one another.
const NAMES: usize = 6;

/// The share of each week as a point with its interval; weeks without practice leave a gap.
pub(super) fn weeks(weeks: &[(i32, usize, usize)]) -> Markup {
    let (Some(first), Some(last)) = (weeks.first(), weeks.last()) else { return html! {} };
    let span = f64::from((last.0 - first.0).max(1));
    let single = first.0 == last.0;
    let x = |week: i32| {
        let part = if single { 0.5 } else { f64::from(week - first.0) / span };
        LEFT + 8.0 + part * (WIDTH - LEFT - RIGHT - 16.0)
    };
    let y = |share: f64| TOP + (1.0 - share) * (HEIGHT - TOP - BOTTOM);
    let n = |value: f64| format!("{value:.1}");
    let share = |week: &(i32, usize, usize)| week.1 as f64 / week.2.max(1) as f64;
    let points: Vec<String> =
        weeks.iter().map(|week| format!("{:.1},{:.1}", x(week.0), y(share(week)))).collect();
    let step = weeks.len().div_ceil(NAMES).max(1);
    let words = format!(
        "From {} % in {} to {} % in {}",
        percent(share(first)),
        week_name(first.0),
        percent(share(last)),
        week_name(last.0)
    );
    html! {
        svg.weeks viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label=(words) {
            @for mark in [0.0, 0.25, 0.5, 0.75, 1.0] {
                line.grid x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(y(mark))) y2=(n(y(mark))) {}
                text x=(n(LEFT - 6.0)) y=(n(y(mark) + 4.0)) text-anchor="end" { (format!("{:.0} %", mark * 100.0)) }
            }
            @for week in weeks {
                @let (low, high) = wilson(week.1, week.2, Z);
                line.range x1=(n(x(week.0))) x2=(n(x(week.0))) y1=(n(y(low))) y2=(n(y(high))) {}
            }
            polyline.course points=(points.join(" ")) {}
            @for (at, week) in weeks.iter().enumerate() {
                circle.point cx=(n(x(week.0))) cy=(n(y(share(week)))) r="4.5" {
                    title { (format!("{}: {} of {}", week_name(week.0), week.1, week.2)) }
                }
                @if at % step == 0 {
                    text x=(n(x(week.0))) y=(n(HEIGHT - 12.0)) text-anchor=(anchor(at, weeks.len())) {
                        (week_name(week.0))
                    }
                }
            }
        }
    }
}

/// Names at the ends stay inside the chart.
fn anchor(at: usize, all: usize) -> &'static str {
    match at {
        _ if all == 1 => "middle",
        0 => "start",
        at if at + 1 == all => "end",
        _ => "middle",
    }
}
