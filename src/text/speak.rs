//! Values → words: how each rule set says a level, a heading, a frequency.
//!
//! Sources: Annex 10 Volume II, 5.2.1.4; SERA.14035; CAP 413 chapter 2; AIM 4-2-7 to 4-2-11; JO 7110.65 2-4-17.

use crate::callsign::spell;
use crate::element::{Element, Standard};
use crate::value::Value;

const DIGITS: [&str; 10] = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner"];
const TEENS: [&str; 10] = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] =
    ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// The word of one digit, 0–9.
#[must_use]
pub fn digit(d: u8) -> &'static str {
    DIGITS[usize::from(d.min(9))]
}

/// Digits one by one.
///
/// ```
/// assert_eq!(hearback::text::speak::digits("0715"), "zero seven one five");
/// ```
#[must_use]
pub fn digits(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes().filter(u8::is_ascii_digit) {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(digit(byte - b'0'));
    }
    out
}

/// A flight number in group form. Source: AIM 4-2-4 a 5; JO 7110.65 2-4-20.
///
/// ```
/// use hearback::text::speak::group;
/// assert_eq!(group(&[3, 0, 1, 5]), "thirty fifteen");
/// assert_eq!(group(&[1, 0, 1]), "one zero one");
/// ```
#[must_use]
pub fn group(number: &[u8]) -> String {
    let each = || number.iter().map(|&d| digit(d)).collect::<Vec<_>>().join(" ");
    if number.first() == Some(&0) {
        return each();
    }
    match *number {
        [a, b] => cardinal(a, b),
        [a, 0, 0] => format!("{} hundred", digit(a)),
        [a, b, c] if b > 0 => format!("{} {}", digit(a), cardinal(b, c)),
        [a, 0, 0, 0] => format!("{} thousand", digit(a)),
        [a, b, 0, 0] => format!("{} hundred", cardinal(a, b)),
        [a, b, 0, d] => format!("{} zero {}", cardinal(a, b), digit(d)),
        [a, b, c, d] => format!("{} {}", cardinal(a, b), cardinal(c, d)),
        _ => each(),
    }
}

/// In groups the nine stays *nine*.
fn cardinal(tens: u8, units: u8) -> String {
    let unit = |u: u8| if u == 9 { "nine" } else { digit(u) };
    match (tens, units) {
        (0, u) => unit(u).to_owned(),
        (1, u) => TEENS[usize::from(u)].to_owned(),
        (t, 0) => TENS[usize::from(t)].to_owned(),
        (t, u) => format!("{}-{}", TENS[usize::from(t)], unit(u)),
    }
}

pub(crate) fn letters_and_digits(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes().filter(u8::is_ascii_alphanumeric) {
        if !out.is_empty() {
            out.push(' ');
        }
        if byte.is_ascii_digit() {
            out.push_str(digit(byte - b'0'));
        } else {
            out.push_str(&spell(byte));
        }
    }
    out
}

/// Appends a number digit by digit, with zeros in front up to `width`.
pub(crate) fn push_digits(out: &mut String, number: u32, width: usize) {
    let mut digits = [0u8; 10];
    let mut len = 0;
    let mut rest = number;
    while rest > 0 || len < width.max(1) {
        digits[len] = u8::try_from(rest % 10).unwrap_or(0);
        rest /= 10;
        len += 1;
    }
    for (i, &d) in digits[..len].iter().rev().enumerate() {
        if i > 0 {
            out.push(' ');
        }
        out.push_str(digit(d));
    }
}

/// Appends whole hundreds and thousands; other numbers digit by digit.
fn push_round(out: &mut String, number: u32) {
    if number == 0 || !number.is_multiple_of(100) {
        return push_digits(out, number, 1);
    }
    let (thousands, hundreds) = (number / 1000, number % 1000 / 100);
    if thousands > 0 {
        push_digits(out, thousands, 1);
        out.push_str(" thousand");
    }
    if hundreds > 0 {
        if thousands > 0 {
            out.push(' ');
        }
        push_digits(out, hundreds, 1);
        out.push_str(" hundred");
    }
}

/// The digits of a flight level: whole hundreds as words except in `us`, no zero in front.
pub(crate) fn say_level_digits(standard: Standard, level: u16, out: &mut String) {
    if level >= 100 && level.is_multiple_of(100) && standard != Standard::Us {
        push_digits(out, u32::from(level) / 100, 1);
        out.push_str(" hundred");
    } else {
        push_digits(out, u32::from(level), 2);
    }
}

/// A number as heights and distances are said: whole hundreds and thousands in words.
///
/// ```
/// assert_eq!(hearback::text::speak::round(2400), "two thousand four hundred");
/// ```
#[must_use]
pub fn round(number: u32) -> String {
    let mut out = String::new();
    push_round(&mut out, number);
    out
}

/// Feet with their unit; `us` drops it.
pub(crate) fn say_feet(standard: Standard, feet: u32, out: &mut String) {
    push_round(out, feet);
    if standard != Standard::Us {
        out.push_str(" feet");
    }
}

/// Says a value that is a number, with the words that belong to it; false if it is none.
pub(crate) fn say(standard: Standard, value: &Value, out: &mut String) -> bool {
    let us = standard == Standard::Us;
    match *value {
        Value::Runway(number, side) => {
            out.push_str("runway ");
            push_digits(out, u32::from(number), if us { 1 } else { 2 });
            out.push_str(match side {
                b'L' => " left",
                b'R' => " right",
                b'C' if us => " center",
                b'C' => " centre",
                _ => "",
            });
        }
        Value::FlightLevel(level) => {
            out.push_str("flight level ");
            say_level_digits(standard, level, out);
        }
        Value::Feet(feet) => say_feet(standard, feet, out),
        Value::Heading(degrees) => {
            out.push_str("heading ");
            push_digits(out, u32::from(degrees), 3);
            if standard == Standard::Uk && degrees.is_multiple_of(10) {
                out.push_str(" degrees");
            }
        }
        Value::Bearing(degrees) => push_digits(out, u32::from(degrees), 3),
        Value::Degrees(degrees) => {
            push_digits(out, u32::from(degrees), 1);
            out.push_str(" degrees");
        }
        Value::Knots(knots) => {
            push_digits(out, u32::from(knots), 1);
            out.push_str(" knots");
        }
        Value::Mach(hundredths) => {
            out.push_str("Mach ");
            if hundredths >= 100 {
                push_digits(out, u32::from(hundredths) / 100, 1);
                out.push(' ');
            }
            out.push_str(if us { "point " } else { "decimal " });
            let rest = u32::from(hundredths) % 100;
            if rest.is_multiple_of(10) { push_digits(out, rest / 10, 1) } else { push_digits(out, rest, 2) }
        }
        Value::Rate(feet) => {
            push_round(out, feet);
            out.push_str(" feet per minute");
        }
        Value::Frequency(kilohertz) => {
            push_digits(out, kilohertz / 1000, 3);
            out.push_str(if us { " point " } else { " decimal " });
            let rest = kilohertz % 1000;
            if rest.is_multiple_of(100) {
                push_digits(out, rest / 100, 1);
            } else if us {
                push_digits(out, rest / 10, 2);
            } else {
                push_digits(out, rest, 3);
            }
        }
        Value::Squawk(code) if !us && code >= 1000 && code.is_multiple_of(1000) => {
            push_digits(out, u32::from(code) / 1000, 1);
            out.push_str(" thousand");
        }
        Value::Squawk(code) => push_digits(out, u32::from(code), 4),
        Value::Hectopascals(pressure) => {
            out.push_str("QNH ");
            if pressure == 1000 {
                out.push_str("one thousand")
            } else {
                push_digits(out, u32::from(pressure), 3)
            }
            if standard == Standard::Uk && pressure < 1000 {
                out.push_str(" hectopascals");
            }
        }
        Value::Inches(hundredths) => {
            out.push_str("altimeter ");
            push_digits(out, u32::from(hundredths), 4);
        }
        Value::Time(255, minute) => push_digits(out, u32::from(minute), 2),
        Value::Time(hour, minute) => push_digits(out, u32::from(hour) * 100 + u32::from(minute), 4),
        Value::Number(number) => push_digits(out, number, 1),
        Value::Letter(letter) => {
            out.push_str("information ");
            out.push_str(&spell(letter));
        }
        Value::Wind(direction, speed, gust) => {
            out.push_str(if standard == Standard::Uk { "surface wind " } else { "wind " });
            if (direction, speed, gust) == (0, 0, 0) {
                out.push_str("calm");
                return true;
            }
            push_digits(out, u32::from(direction), 3);
            out.push_str(if us { " at " } else { " degrees " });
            push_digits(out, u32::from(speed), 1);
            if !us {
                out.push_str(" knots");
            }
            if gust > 0 {
                out.push_str(if us { " gusts " } else { " gusting " });
                push_digits(out, u32::from(gust), 1);
                if !us {
                    out.push_str(" knots");
                }
            }
        }
        _ => return false,
    }
    true
}

/// How `standard` says the canonical value of an element, with the words that belong to it.
/// A value that is not in canonical form comes back as it is.
///
/// ```
/// use hearback::element::{Element, Standard};
/// use hearback::text::speak::spoken;
/// assert_eq!(spoken(Standard::Uk, Element::Level, "FL100"), "flight level one hundred");
/// assert_eq!(spoken(Standard::Us, Element::Level, "FL200"), "flight level two zero zero");
/// assert_eq!(spoken(Standard::Icao, Element::Runway, "09R"), "runway zero niner right");
/// assert_eq!(spoken(Standard::Us, Element::Frequency, "124.975"), "one two four point niner seven");
/// ```
#[must_use]
pub fn spoken(standard: Standard, element: Element, canonical: &str) -> String {
    let us = standard == Standard::Us;
    let mut out = String::new();
    if let Some(value) = number_of(element, canonical) {
        if standard == Standard::Uk && matches!(value, Value::Feet(_)) {
            out.push_str("altitude ");
        }
        say(standard, &value, &mut out);
        return out;
    }
    match element {
        Element::Stand => format!("{} {}", if us { "gate" } else { "stand" }, letters_and_digits(canonical)),
        Element::HoldingPoint => {
            let mark = if us { "" } else { "holding point " };
            format!("{mark}{}", letters_and_digits(canonical))
        }
        Element::TaxiRoute => {
            let items: Vec<_> = canonical.split(' ').map(letters_and_digits).collect();
            match items.split_last() {
                Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
                _ => items.concat(),
            }
        }
        Element::Sid | Element::Star => procedure(canonical),
        _ => canonical.to_owned(),
    }
}

/// The number that a canonical form stands for.
fn number_of(element: Element, text: &str) -> Option<Value> {
    let digits = |t: &str| -> Option<u32> {
        (!t.is_empty() && t.bytes().all(|b| b.is_ascii_digit())).then(|| t.parse().ok()).flatten()
    };
    let small = |t: &str| digits(t).and_then(|n| u16::try_from(n).ok());
    Some(match element {
        Element::Runway => {
            let side = text.bytes().last().filter(|b| matches!(b, b'L' | b'R' | b'C'));
            let number = text.trim_end_matches(['L', 'R', 'C']);
            Value::Runway(u8::try_from(digits(number)?).ok()?, side.unwrap_or(0))
        }
        Element::Level => match text.strip_prefix("FL") {
            Some(level) => Value::FlightLevel(small(level)?),
            None => Value::Feet(digits(text.strip_suffix("ft")?)?),
        },
        Element::Heading => Value::Heading(small(text)?),
        Element::Speed => match text.strip_prefix('M') {
            Some(mach) => {
                let (whole, rest) = mach.split_once('.')?;
                Value::Mach(small(whole)? * 100 + small(&format!("{rest:0<2}")[..2])?)
            }
            None => Value::Knots(small(text.strip_suffix("kt")?)?),
        },
        Element::Rate => Value::Rate(digits(text.strip_suffix("fpm")?)?),
        Element::Squawk if text.len() == 4 => Value::Squawk(small(text)?),
        Element::Frequency => {
            let (megahertz, rest) = text.split_once('.')?;
            Value::Frequency(digits(megahertz)? * 1000 + digits(&format!("{rest:0<3}")[..3])?)
        }
        Element::Altimeter => match text.strip_suffix("inHg") {
            Some(inches) => {
                let (whole, rest) = inches.split_once('.')?;
                Value::Inches(small(whole)? * 100 + small(&format!("{rest:0<2}")[..2])?)
            }
            None => Value::Hectopascals(small(text.strip_suffix("hPa")?)?),
        },
        Element::Information if text.len() == 1 && text.as_bytes()[0].is_ascii_uppercase() => {
            Value::Letter(text.as_bytes()[0])
        }
        Element::Time if text.len() == 2 => Value::Time(255, u8::try_from(digits(text)?).ok()?),
        Element::Time if text.len() == 4 => {
            Value::Time(u8::try_from(digits(&text[..2])?).ok()?, u8::try_from(digits(&text[2..])?).ok()?)
        }
        Element::Wind if text == "calm" => Value::Wind(0, 0, 0),
        Element::Wind => {
            let (direction, rest) = text.split_once('/')?;
            let (speed, gust) = rest.split_once('G').unwrap_or((rest, "0"));
            Value::Wind(small(direction)?, small(speed)?, small(gust)?)
        }
        _ => return None,
    })
}

fn procedure(canonical: &str) -> String {
    let Some((name, version)) = canonical.rsplit_once(' ') else { return canonical.to_owned() };
    format!("{name} {}", letters_and_digits(version))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn group_form_as_published() {
        // AIM 4-2-4 and JO 7110.65 2-4-20; 1200 and 2000 from memory.
        for (number, said) in [
            ("7", "seven"),
            ("52", "fifty-two"),
            ("25", "twenty-five"),
            ("100", "one hundred"),
            ("101", "one zero one"),
            ("521", "five twenty-one"),
            ("110", "one ten"),
            ("711", "seven eleven"),
            ("1200", "twelve hundred"),
            ("2000", "two thousand"),
            ("1004", "ten zero four"),
            ("3015", "thirty fifteen"),
            ("010", "zero one zero"),
        ] {
            let number: Vec<u8> = number.bytes().map(|b| b - b'0').collect();
            assert_eq!(group(&number), said);
        }
    }
}
