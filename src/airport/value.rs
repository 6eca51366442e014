//! Values as authors write them: which are allowed, their canonical form, and how they look on screen.

use crate::element::Element;

/// The canonical form of a value an author wrote.
///
/// # Errors
/// What is allowed, in a few words, if the value is not.
///
/// ```
/// use hearback::{airport::value::canonical, element::Element};
/// assert_eq!(canonical(Element::Level, "FL80"), Ok("FL080".to_owned()));
/// assert!(canonical(Element::Runway, "37").is_err());
/// ```
pub fn canonical(element: Element, text: &str) -> Result<String, &'static str> {
    let text = text.trim();
    match element {
        Element::Runway => runway(text).ok_or("two digits from 01 to 36, perhaps with L, C or R"),
        Element::Level => level(text).ok_or("a flight level such as `FL080` or feet such as `5000ft`"),
        Element::Heading => number(text, 1, 360).map(|n| format!("{n:03}")).ok_or("degrees from 1 to 360"),
        Element::Speed => speed(text).ok_or("knots such as `220kt` or a Mach number such as `M0.78`"),
        Element::Rate => number(text.trim_end_matches("fpm"), 100, 9900)
            .map(|n| format!("{n}fpm"))
            .ok_or("feet per minute such as `1500fpm`"),
        Element::Frequency => frequency(text).ok_or("a channel from `118.000` to `136.990`"),
        Element::Squawk => squawk(text).map(|code| format!("{code:04o}")).ok_or("four digits from 0 to 7"),
        Element::Altimeter => {
            altimeter(text).ok_or("a setting from `870hPa` to `1085hPa`, or inches such as `29.92inHg`")
        }
        Element::Information => letter(text).ok_or("one letter"),
        Element::Stand | Element::HoldingPoint => {
            short(text).ok_or("a few letters and digits such as `12` or `C1`")
        }
        Element::TaxiRoute => taxi_route(text).ok_or("taxiways with blanks between them such as `B C1`"),
        Element::Turn => {
            Some(text.to_owned()).filter(|t| t == "left" || t == "right").ok_or("`left` or `right`")
        }
        _ if text.is_empty() || text.chars().any(|c| c.is_control() || c == '{' || c == '}') => {
            Err("some words without braces")
        }
        _ => Ok(text.to_owned()),
    }
}

/// A canonical value as it looks on screen: `FL080` is `FL80`, `4000ft` is `4,000 ft`.
///
/// ```
/// use hearback::{airport::value::written, element::Element};
/// assert_eq!(written(Element::Level, "4000ft"), "4,000 ft");
/// assert_eq!(written(Element::Squawk, "4421"), "4421");
/// ```
#[must_use]
pub fn written(element: Element, canonical: &str) -> String {
    let unit = |suffix: &str, shown: &str| {
        canonical.strip_suffix(suffix).map(|n| format!("{}{shown}", thousands(n)))
    };
    let shown = match element {
        Element::Level => match canonical.strip_prefix("FL") {
            Some(digits) => Some(format!("FL{}", digits.trim_start_matches('0'))),
            None => unit("ft", " ft"),
        },
        Element::Speed => match canonical.strip_prefix('M') {
            Some(mach) => Some(format!("Mach {mach}")),
            None => unit("kt", " kt"),
        },
        Element::Rate => unit("fpm", " ft/min"),
        Element::Altimeter => canonical
            .strip_suffix("hPa")
            .map(|n| format!("{n} hPa"))
            .or_else(|| canonical.strip_suffix("inHg").map(|n| format!("{n} in"))),
        Element::Restriction | Element::Condition | Element::Route | Element::Hold => {
            let words: Vec<String> = canonical.split(' ').map(inner).collect();
            Some(words.join(" "))
        }
        _ => None,
    };
    shown.unwrap_or_else(|| canonical.to_owned())
}

/// A level or speed among other words.
fn inner(word: &str) -> String {
    match (level(word), speed(word)) {
        (Some(level), _) if level == word => written(Element::Level, word),
        (_, Some(speed)) if speed == word => written(Element::Speed, word),
        _ => word.to_owned(),
    }
}

/// A transponder code from four octal digits.
#[must_use]
pub fn squawk(text: &str) -> Option<u16> {
    let digits = text.len() == 4 && text.bytes().all(|b| matches!(b, b'0'..=b'7'));
    digits.then(|| u16::from_str_radix(text, 8).ok()).flatten()
}

/// Feet above mean sea level in the standard atmosphere, for comparing levels of both kinds.
#[must_use]
pub fn feet(level: &str) -> Option<i64> {
    match level.strip_prefix("FL") {
        Some(digits) => digits.parse::<i64>().ok().map(|n| n * 100),
        None => level.strip_suffix("ft")?.parse().ok(),
    }
}

fn thousands(digits: &str) -> String {
    match digits.len().checked_sub(3) {
        Some(cut) if cut > 0 && digits.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{},{}", &digits[..cut], &digits[cut..])
        }
        _ => digits.to_owned(),
    }
}

fn number(text: &str, least: u32, most: u32) -> Option<u32> {
    let text = text.trim();
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let number = digits.then(|| text.parse().ok()).flatten()?;
    (least..=most).contains(&number).then_some(number)
}

fn runway(text: &str) -> Option<String> {
    let digits = text.trim_end_matches(['L', 'C', 'R']);
    let sides = text.len() - digits.len();
    let two = digits.len() == 2 && number(digits, 1, 36).is_some();
    (two && sides <= 1).then(|| text.to_owned())
}

fn level(text: &str) -> Option<String> {
    match text.strip_prefix("FL") {
        Some(digits) => number(digits, 5, 600).map(|n| format!("FL{n:03}")),
        None => number(text.strip_suffix("ft")?, 100, 60_000).map(|n| format!("{n}ft")),
    }
}

fn speed(text: &str) -> Option<String> {
    match text.strip_prefix('M') {
        Some(mach) => {
            let digits = mach.strip_prefix("0.").or_else(|| mach.strip_prefix('.'))?;
            let fine = (1..=3).contains(&digits.len()) && number(digits, 1, 999).is_some();
            fine.then(|| format!("M0.{digits}"))
        }
        None => number(text.strip_suffix("kt").unwrap_or(text), 60, 600).map(|n| format!("{n}kt")),
    }
}

/// Channels end in multiples of 5 kHz; 20, 45, 70 and 95 name none (Annex 10, Volume V).
fn frequency(text: &str) -> Option<String> {
    let (whole, part) = text.split_once('.')?;
    let fine = whole.len() == 3 && (1..=3).contains(&part.len());
    let khz = fine.then(|| number(&format!("{whole}{part:0<3}"), 118_000, 136_990)).flatten()?;
    let named = khz % 5 == 0 && !matches!(khz % 100, 20 | 45 | 70 | 95);
    named.then(|| format!("{}.{:03}", khz / 1000, khz % 1000))
}

fn altimeter(text: &str) -> Option<String> {
    if let Some(inches) = text.strip_suffix("inHg") {
        let (whole, part) = inches.split_once('.')?;
        let hundredths = (part.len() == 2).then(|| number(&format!("{whole}{part}"), 2600, 3200));
        return hundredths.flatten().map(|n| format!("{}.{:02}inHg", n / 100, n % 100));
    }
    number(text.strip_suffix("hPa").unwrap_or(text), 870, 1085).map(|n| format!("{n}hPa"))
}

fn letter(text: &str) -> Option<String> {
    let one = text.len() == 1 && text.bytes().all(|b| b.is_ascii_uppercase());
    one.then(|| text.to_owned())
}

fn short(text: &str) -> Option<String> {
    let fine =
        (1..=4).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit());
    fine.then(|| text.to_owned())
}

fn taxi_route(text: &str) -> Option<String> {
    let ways: Vec<&str> = text.split_whitespace().collect();
    let fine = |way: &&str| short(way).is_some_and(|w| w.starts_with(|c: char| c.is_ascii_uppercase()));
    (!ways.is_empty() && ways.iter().all(fine)).then(|| ways.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn allowed_values_get_one_form_and_others_are_refused() {
        let rows = [
            (Element::Runway, "09", Some("09")),
            (Element::Runway, "27L", Some("27L")),
            (Element::Runway, "27LR", None),
            (Element::Runway, "9", None),
            (Element::Level, "FL80", Some("FL080")),
            (Element::Level, "5000ft", Some("5000ft")),
            (Element::Level, "5000", None),
            (Element::Heading, "5", Some("005")),
            (Element::Heading, "0", None),
            (Element::Speed, "220", Some("220kt")),
            (Element::Speed, "M.78", Some("M0.78")),
            (Element::Frequency, "121.7", Some("121.700")),
            (Element::Frequency, "121.720", None),
            (Element::Frequency, "137.0", None),
            (Element::Squawk, "4521", Some("4521")),
            (Element::Squawk, "4581", None),
            (Element::Altimeter, "998", Some("998hPa")),
            (Element::Altimeter, "29.92inHg", Some("29.92inHg")),
            (Element::Information, "K", Some("K")),
            (Element::Information, "KK", None),
            (Element::TaxiRoute, "A  B C1", Some("A B C1")),
            (Element::TaxiRoute, "a b", None),
            (Element::Point, "TARNO", Some("TARNO")),
            (Element::Point, "{x}", None),
        ];
        for (element, text, expected) in rows {
            assert_eq!(canonical(element, text).ok().as_deref(), expected, "{element} {text}");
        }
    }

    #[test]
    fn values_look_as_on_a_flight_deck() {
        let rows = [
            (Element::Level, "FL080", "FL80"),
            (Element::Level, "12000ft", "12,000 ft"),
            (Element::Level, "900ft", "900 ft"),
            (Element::Speed, "220kt", "220 kt"),
            (Element::Altimeter, "998hPa", "998 hPa"),
            (Element::Heading, "210", "210"),
            (Element::Restriction, "except maintain 5000ft", "except maintain 5,000 ft"),
        ];
        for (element, value, expected) in rows {
            assert_eq!(written(element, value), expected);
        }
        assert!(feet("FL080") > feet("5000ft"));
    }
}
