//! Checks the values that a scenario draws by itself.

use super::Choice;
use super::schema::ValueEntry;
use crate::airport::check::check_value;
use crate::airport::schema::Text;
use crate::airport::value::canonical;
use crate::diagnostic::Findings;
use crate::element::Element;
use std::ops::Range;

/// The most values one slot can be drawn from.
const CHOICES: usize = 10_000;

/// What a slot of the scenario is drawn from, or notes on why it cannot be; `computed` if the airport has a network.
pub(super) fn check_choice(
    notes: &mut Findings,
    name: &str,
    span: Range<usize>,
    entry: &ValueEntry,
    computed: bool,
) -> Option<Choice> {
    let element = match &entry.element {
        Some(text) => Some(element(notes, text)?),
        None => airport_element(name).or(computed_element(name).filter(|_| computed)),
    };
    let values = match (&entry.one_of, &entry.from, &entry.to) {
        (Some(list), None, None) => {
            let read =
                list.iter().map(|text| check_value(notes, "S007", element.unwrap_or(Element::Word), text));
            read.collect::<Option<Vec<String>>>()?
        }
        (None, Some(from), Some(to)) => {
            let step = entry.step.as_ref().map_or(1, |s| *s.get_ref());
            let (least, most) = (*from.get_ref(), *to.get_ref());
            let fine =
                step > 0 && least <= most && most.abs_diff(least) / step.unsigned_abs() < CHOICES as u64;
            if !fine {
                let problem = notes.problem(
                    "S007",
                    from.span(),
                    format!("`{name}` cannot be drawn from {least} to {most} in steps of {step}"),
                );
                notes.add(problem.help("let `to` be larger than `from`, and `step` 1 or more"));
                return None;
            }
            let steps = (0..).map(|n| least + n * step).take_while(|n| *n <= most);
            let read: Result<Vec<String>, _> = steps.map(|n| numbered(element, n)).collect();
            match read {
                Ok(values) => values,
                Err((number, allowed)) => {
                    let what = element.map_or("value", Element::name);
                    let problem = notes.problem("S007", from.span(), format!("{number} is no {what}"));
                    notes.add(problem.help(format!("write {allowed}")));
                    return None;
                }
            }
        }
        _ => Vec::new(),
    };
    if values.is_empty() {
        let problem = notes.problem("S007", span, format!("`{name}` has nothing to be drawn from"));
        notes.add(problem.help("write `one_of = ['…', '…']`, or `from` and `to`"));
        return None;
    }
    let share = entry.share.as_ref().map_or(1.0, |share| *share.get_ref());
    if let Some(entry) = entry.share.as_ref().filter(|_| !(share > 0.0 && share <= 1.0)) {
        let problem = notes.problem("S022", entry.span(), format!("{share} is no share of all flights"));
        notes.add(problem.help("write a number above 0 and up to 1, for instance 0.25"));
        return None;
    }
    Some(Choice { name: name.to_owned(), element, values, share })
}

fn element(notes: &mut Findings, text: &Text) -> Option<Element> {
    let found = Element::parse(text.get_ref());
    if found.is_none() {
        let problem = notes.problem("S005", text.span(), format!("unknown element `{}`", text.get_ref()));
        notes.add(problem.suggest(text.get_ref(), Element::ALL.iter().map(|e| e.name())));
    }
    found
}

/// The element of a slot that the airport draws.
fn airport_element(name: &str) -> Option<Element> {
    Some(match name {
        "runway" | "crossing" => Element::Runway,
        "sid" => Element::Sid,
        "level" => Element::Level,
        "destination" => Element::ClearanceLimit,
        "stand" => Element::Stand,
        "holding_point" => Element::HoldingPoint,
        "taxi_route" => Element::TaxiRoute,
        "information" | "next_information" => Element::Information,
        "squawk" => Element::Squawk,
        "qnh" | "altimeter" | "next_qnh" => Element::Altimeter,
        "wind" => Element::Wind,
        "turn" => Element::Turn,
        "heading" => Element::Heading,
        _ => return None,
    })
}

/// The element of a slot that only an airport with a network draws; elsewhere the name is free.
fn computed_element(name: &str) -> Option<Element> {
    Some(match name {
        "crossing_in" | "landing_runway" | "backtrack" | "backtrack_in" => Element::Runway,
        "approach_runway" | "circling" => Element::Runway,
        "approach_type" => Element::Approach,
        "arrival" | "star" => Element::Star,
        "hold_fix" => Element::Point,
        "transition_level" => Element::Level,
        "taxi_in" | "exit" | "crossing_route" | "crossing_in_route" => Element::TaxiRoute,
        "crossing_point" | "crossing_in_point" => Element::HoldingPoint,
        "vector_side" | "hold_turn" => Element::Turn,
        "vector_downwind" | "vector_base" | "vector_intercept" | "hold_inbound" => Element::Heading,
        _ => return None,
    })
}

/// The canonical value of a number: feet for a level, knots for a speed.
fn numbered(element: Option<Element>, number: i64) -> Result<String, (i64, &'static str)> {
    let text = match element {
        Some(Element::Level) => format!("{number}ft"),
        Some(Element::Runway) => format!("{number:02}"),
        _ => number.to_string(),
    };
    canonical(element.unwrap_or(Element::Word), &text).map_err(|allowed| (number, allowed))
}
