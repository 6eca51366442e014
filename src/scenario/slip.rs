//! A read-back that goes wrong: one value of a clearance changed or left out, by chance of the seed.

use crate::airport::value::canonical;
use crate::crew::{Change, CrewBook};
use crate::element::{Element, Fault, Standard, Verdict};
use crate::judge::judgement::{Finding, Item};
use crate::judge::{Situation, judge};
use crate::rules::RuleSet;
use crate::text::speak::spoken;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::Rng;

/// A wrong read-back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongReadBack {
    /// Its name in the book.
    pub id: String,
    /// What the other pilot says.
    pub text: String,
    /// The element that is wrong or missing.
    pub element: Element,
    /// Its value as the station said it.
    pub heard: String,
}

/// A wrong read-back of the clearance, if it has a value that can go wrong. The judge itself confirms
/// that exactly this element is wrong in it.
#[must_use]
pub fn wrong_read_back(
    book: &CrewBook,
    rules: &RuleSet,
    situation: &Situation,
    standard: Standard,
    say: &str,
    chance: &mut ChaCha8Rng,
) -> Option<WrongReadBack> {
    let right = judge(rules, situation, say, "");
    let due: Vec<_> = right.said.iter().filter(|item| item.required).collect();
    let values =
        due.iter().filter(|i| !matches!(i.element, Element::Callsign | Element::Instruction)).count();
    let mut ways: Vec<(u32, WrongReadBack)> = Vec::new();
    for slip in &book.slips {
        for element in slip.elements.iter().filter_map(|name| Element::parse(name)) {
            // A value is lost among others; a limit can be lost alone.
            if slip.does == Change::Omit && element != Element::Instruction && values < 3 {
                continue;
            }
            let text = if slip.does == Change::Flight {
                other_flight(situation, standard, &right.model, chance)
            } else {
                due.iter().find(|item| item.element == element).and_then(|item| {
                    let (start, end) = (item.span.start as usize, item.span.end as usize);
                    let new = match slip.does {
                        Change::Omit => String::new(),
                        does => spoken(standard, element, &changed(element, &item.value, does, chance)?),
                    };
                    let mut other = say.to_owned();
                    other.replace_range(start..end, &new);
                    Some(judge(rules, situation, &other, "").model)
                })
            };
            let text = match slip.does {
                Change::Omit if element == Element::Instruction => {
                    without_hold_short(rules, situation, say, &due)
                }
                _ => text,
            };
            let Some(text) = text.filter(|text| !text.is_empty()) else { continue };
            let judged = judge(rules, situation, say, &text);
            let bad = |f: &&Finding| matches!(f.fault, Fault::Wrong | Fault::Missing);
            let hit = judged.findings.iter().filter(bad).find(|f| f.element == element);
            // With the hold short goes its runway; anything else wrong is one thing alone.
            let with = |f: &Finding| element == Element::Instruction && f.element == Element::Runway;
            let others = judged.findings.iter().filter(bad).filter(|f| !with(f)).count();
            if let (Some(hit), 1, true) = (hit, others, judged.verdict >= Verdict::Incomplete) {
                let heard = hit.expected.clone().unwrap_or_default();
                ways.push((slip.weight, WrongReadBack { id: slip.id.clone(), text, element, heard }));
            }
        }
    }
    let total: u32 = ways.iter().map(|way| way.0).sum();
    let mut at = chance.next_u32().checked_rem(total)?;
    ways.into_iter()
        .find(|way| {
            let here = at < way.0;
            at = at.saturating_sub(way.0);
            here
        })
        .map(|way| way.1)
}

/// The read-back of a clearance without the clause that tells where to hold short; none if it has no such clause.
fn without_hold_short(rules: &RuleSet, situation: &Situation, say: &str, due: &[&Item]) -> Option<String> {
    let hold =
        due.iter().find(|item| item.element == Element::Instruction && item.value.contains("hold short"))?;
    let (start, end) = (hold.span.start as usize, hold.span.end as usize);
    let from = say[..start].rfind(',')?;
    let to = say[end..].find(',').map_or(say.len(), |comma| end + comma);
    let mut other = say.to_owned();
    other.replace_range(from..to, "");
    Some(judge(rules, situation, &other, "").model)
}

/// Another value of the element that could have been said as well.
fn changed(element: Element, value: &str, does: Change, chance: &mut ChaCha8Rng) -> Option<String> {
    let draw = u64::from(chance.next_u32());
    let up = draw % 2 == 0;
    let beside = |text: &str, step: i64| -> Option<i64> {
        let number: i64 = text.parse().ok()?;
        let other = if up { number + step } else { number - step };
        (other > 0).then_some(other)
    };
    let other = match does {
        Change::Near => match element {
            Element::Level => match value.strip_prefix("FL") {
                Some(level) => format!("FL{:03}", beside(level, 10)?),
                None => format!("{}ft", beside(value.strip_suffix("ft")?, 1000)?),
            },
            _ => format!("{}kt", beside(value.strip_suffix("kt")?, 10)?),
        },
        Change::Side => match value {
            "left" => "right".to_owned(),
            "right" => "left".to_owned(),
            _ => match value.strip_suffix('L') {
                Some(number) => format!("{number}R"),
                None => format!("{}L", value.strip_suffix('R')?),
            },
        },
        Change::Digit => return digit(element, value, draw),
        Change::Omit | Change::Flight => return None,
    };
    canonical(element, &other).ok()
}

/// The value with two digits changed round, or one digit another; only a value that the element can have.
fn digit(element: Element, value: &str, draw: u64) -> Option<String> {
    let places: Vec<usize> =
        value.bytes().enumerate().filter(|(_, b)| b.is_ascii_digit()).map(|(n, _)| n).collect();
    let mut others = Vec::new();
    for pair in places.windows(2) {
        let mut bytes = value.as_bytes().to_vec();
        bytes.swap(pair[0], pair[1]);
        others.push(bytes);
    }
    for place in &places {
        let mut bytes = value.as_bytes().to_vec();
        bytes[*place] = if bytes[*place] == b'9' { b'8' } else { bytes[*place] + 1 };
        others.push(bytes);
    }
    let others: Vec<String> = others
        .into_iter()
        .filter_map(|bytes| String::from_utf8(bytes).ok())
        .filter(|text| text != value && canonical(element, text).as_deref() == Ok(text))
        .collect();
    let at = draw.checked_rem(others.len() as u64)?;
    others.get(usize::try_from(at).ok()?).cloned()
}

/// The read-back with the digits of another flight.
fn other_flight(
    situation: &Situation,
    standard: Standard,
    model: &str,
    chance: &mut ChaCha8Rng,
) -> Option<String> {
    let own = situation.callsign.spoken(standard);
    let written = situation.callsign.written();
    let (name, flight) = written.rsplit_once(' ')?;
    let other = digit(Element::Word, flight, u64::from(chance.next_u32()))?;
    let other = crate::callsign::Callsign::parse(&format!("{name} {other}"))?;
    model.contains(&own).then(|| model.replace(&own, &other.spoken(standard)))
}
