//! Values → words: how each rule set says a level, a heading, a frequency.
//!
//! Sources: Annex 10 Volume II, 5.2.1.4; SERA.14035; CAP 413 chapter 2; AIM 4-2-7 to 4-2-11; JO 7110.65 2-4-17.

use crate::callsign::spell;
use crate::element::{Element, Standard};
use std::fmt::Write as _;

const DIGITS: [&str; 10] = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner"];
const TEENS: [&str; 10] =
    ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"];
const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

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

/// Whole hundreds and thousands: the thousands digit by digit, then *thousand*, then the hundreds.
/// `None` if the number has tens or units.
#[must_use]
pub fn round(number: u32) -> Option<String> {
    if number == 0 || !number.is_multiple_of(100) {
        return None;
    }
    let (thousands, hundreds) = (number / 1000, number % 1000 / 100);
    let mut out = String::new();
    if thousands > 0 {
        let _ = write!(out, "{} thousand", digits(&thousands.to_string()));
    }
    if hundreds > 0 {
        let gap = if out.is_empty() { "" } else { " " };
        let _ = write!(out, "{gap}{} hundred", digits(&hundreds.to_string()));
    }
    Some(out)
}

fn letters_and_digits(text: &str) -> String {
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

fn side(text: &str, us: bool) -> (&str, &'static str) {
    match text.as_bytes().last() {
        Some(b'L') => (&text[..text.len() - 1], " left"),
        Some(b'R') => (&text[..text.len() - 1], " right"),
        Some(b'C') => (&text[..text.len() - 1], if us { " center" } else { " centre" }),
        _ => (text, ""),
    }
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
    match element {
        Element::Runway => {
            let (number, side) = side(canonical, us);
            let number = if us { number.trim_start_matches('0') } else { number };
            format!("runway {}{side}", digits(number))
        }
        Element::Level => level(standard, canonical),
        Element::Heading => {
            let degrees = standard == Standard::Uk && canonical.ends_with('0');
            format!("heading {}{}", digits(canonical), if degrees { " degrees" } else { "" })
        }
        Element::Speed => speed(us, canonical),
        Element::Rate => {
            let number = canonical.trim_end_matches("fpm");
            let said = number.parse().ok().and_then(round).unwrap_or_else(|| digits(number));
            format!("{said} feet per minute")
        }
        Element::Squawk => match canonical.strip_suffix("000") {
            Some(thousands) if !us && thousands.len() == 1 && thousands != "0" => {
                format!("{} thousand", digits(thousands))
            }
            _ if canonical.bytes().all(|b| b.is_ascii_digit()) => digits(canonical),
            _ => canonical.to_owned(),
        },
        Element::Frequency => frequency(us, canonical),
        Element::Altimeter => altimeter(standard, canonical),
        Element::Information if canonical.len() == 1 => format!("information {}", letters_and_digits(canonical)),
        Element::Stand => format!("stand {}", letters_and_digits(canonical)),
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
        Element::Time => digits(canonical),
        Element::Wind => wind(standard, canonical),
        _ => canonical.to_owned(),
    }
}

fn level(standard: Standard, canonical: &str) -> String {
    if let Some(level) = canonical.strip_prefix("FL") {
        let trimmed = level.trim_start_matches('0');
        let hundreds = trimmed.len() == 3 && trimmed.ends_with("00") && standard != Standard::Us;
        let said = if hundreds { format!("{} hundred", digits(&trimmed[..1])) } else { digits(trimmed) };
        return format!("flight level {said}");
    }
    let Some(feet) = canonical.strip_suffix("ft") else { return canonical.to_owned() };
    let said = feet.parse().ok().and_then(round).unwrap_or_else(|| digits(feet));
    match standard {
        Standard::Us => said,
        Standard::Uk => format!("altitude {said} feet"),
        Standard::Icao | Standard::Eu => format!("{said} feet"),
    }
}

fn speed(us: bool, canonical: &str) -> String {
    if let Some(mach) = canonical.strip_prefix('M') {
        let mark = if us { "point" } else { "decimal" };
        let (whole, rest) = mach.split_once('.').unwrap_or((mach, ""));
        let rest = rest.strip_suffix('0').filter(|r| !r.is_empty()).unwrap_or(rest);
        let whole = if whole == "0" { String::new() } else { format!("{} ", digits(whole)) };
        return format!("Mach {whole}{mark} {}", digits(rest));
    }
    format!("{} knots", digits(canonical.trim_end_matches("kt")))
}

fn frequency(us: bool, canonical: &str) -> String {
    let Some((megahertz, rest)) = canonical.split_once('.') else { return canonical.to_owned() };
    let rest = if rest.len() == 3 && rest.ends_with("00") {
        &rest[..1]
    } else if us && rest.len() == 3 {
        &rest[..2]
    } else {
        rest
    };
    format!("{} {} {}", digits(megahertz), if us { "point" } else { "decimal" }, digits(rest))
}

fn altimeter(standard: Standard, canonical: &str) -> String {
    if let Some(inches) = canonical.strip_suffix("inHg") {
        return format!("altimeter {}", digits(inches));
    }
    let Some(pressure) = canonical.strip_suffix("hPa") else { return canonical.to_owned() };
    let said = if pressure == "1000" { "one thousand".to_owned() } else { digits(pressure) };
    let unit = if standard == Standard::Uk && pressure.len() == 3 { " hectopascals" } else { "" };
    format!("QNH {said}{unit}")
}

fn procedure(canonical: &str) -> String {
    let Some((name, version)) = canonical.rsplit_once(' ') else { return canonical.to_owned() };
    format!("{name} {}", letters_and_digits(version))
}

fn wind(standard: Standard, canonical: &str) -> String {
    let surface = if standard == Standard::Uk { "surface wind" } else { "wind" };
    let Some((direction, rest)) = canonical.split_once('/') else { return format!("{surface} calm") };
    let (speed, gust) = rest.split_once('G').map_or((rest, None), |(s, g)| (s, Some(g)));
    if standard == Standard::Us {
        let gust = gust.map_or(String::new(), |g| format!(" gusts {}", digits(g)));
        return format!("{surface} {} at {}{gust}", digits(direction), digits(speed));
    }
    let gust = gust.map_or(String::new(), |g| format!(" gusting {} knots", digits(g)));
    format!("{surface} {} degrees {} knots{gust}", digits(direction), digits(speed))
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
