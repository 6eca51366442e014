//! Numbers and callsigns in both directions, small spaces whole.
//!
//! Vectors: Annex 10 Volume II 5.2.1.4; SERA.14035; CAP 413 chapter 2; AIM 4-2-8 to 4-2-11; JO 7110.65
//! 2-4-17, 2-4-20. Those marked M are from memory.

use hearback::callsign::Callsign;
use hearback::element::{Element, Standard};
use hearback::parse::{Speaker, read};
use hearback::rules::RuleSet;
use hearback::text::speak::spoken;

/// The value of `element` that a station's transmission with this text in it is read as.
fn heard(rules: &RuleSet, element: Element, text: &str) -> Option<String> {
    let carrier = match element {
        Element::Level => format!("Whimbrel two one four, climb to {text}"),
        Element::Heading => format!("Whimbrel two one four, turn left {text}"),
        Element::Speed => format!("Whimbrel two one four, maintain {text}"),
        Element::Frequency => format!("Whimbrel two one four, contact Skerrow Tower {text}"),
        Element::Squawk => format!("Whimbrel two one four, squawk {text}"),
        Element::Runway => format!("Whimbrel two one four, line up and wait {text}"),
        _ => format!("Whimbrel two one four, {text}"),
    };
    let reading = read(rules, &carrier, Speaker::Controller);
    assert_eq!(reading.callsign.as_deref(), Some("Whimbrel 214"), "{carrier}");
    reading.items.into_iter().find(|i| i.element == element).map(|i| i.value)
}

#[track_caller]
fn round_trip(standard: Standard, element: Element, value: &str, typed: &[String]) {
    let rules = RuleSet::builtin(standard);
    let said = spoken(standard, element, value);
    assert_eq!(heard(&rules, element, &said).as_deref(), Some(value), "[{standard}] said {said:?}");
    for typed in typed {
        assert_eq!(heard(&rules, element, typed).as_deref(), Some(value), "[{standard}] typed {typed:?}");
    }
}

#[test]
fn published_vectors_are_said_as_published() {
    use Element::{Altimeter, Frequency, Heading, Level, Runway, Speed, Squawk};
    // element, value, icao, eu, uk, us; `-` where a rule set does not have it.
    for (element, value, icao, eu, uk, us) in [
        (Level, "FL080", "flight level eight zero", "=", "=", "-"), // N01
        (Level, "FL100", "flight level one hundred", "=", "=", "-"), // N02
        (Level, "FL110", "flight level one one zero", "=", "=", "-"), // N03
        (Level, "FL180", "flight level one eight zero", "=", "=", "="), // N04
        (Level, "FL200", "flight level two hundred", "=", "=", "flight level two zero zero"), // N05
        (Level, "FL275", "flight level two seven five", "=", "=", "="), // N06
        (Level, "FL300", "flight level three hundred", "=", "=", "flight level three zero zero"), // N07
        (Level, "500ft", "five hundred feet", "=", "altitude five hundred feet", "five hundred"), // N09
        (
            Level,
            "3400ft",
            "three thousand four hundred feet",
            "=",
            "altitude three thousand four hundred feet",
            "three thousand four hundred",
        ), // N11
        (
            Level,
            "10000ft",
            "one zero thousand feet",
            "=",
            "altitude one zero thousand feet",
            "one zero thousand",
        ), // N13
        (
            Level,
            "13500ft",
            "one three thousand five hundred feet",
            "=",
            "altitude one three thousand five hundred feet",
            "one three thousand five hundred",
        ), // N16
        (
            Level,
            "17900ft",
            "one seven thousand niner hundred feet",
            "=",
            "altitude one seven thousand niner hundred feet",
            "one seven thousand niner hundred",
        ), // N17
        (Heading, "005", "heading zero zero five", "=", "=", "="),  // N21
        (Heading, "080", "heading zero eight zero", "=", "heading zero eight zero degrees", "="), // N22
        (Heading, "275", "heading two seven five", "=", "=", "="),  // N24
        (Heading, "360", "heading three six zero", "=", "heading three six zero degrees", "="), // N25
        (Speed, "190kt", "one niner zero knots", "=", "=", "="),    // N26
        (Speed, "M0.64", "Mach decimal six four", "=", "=", "Mach point six four"), // N28
        (Speed, "M0.70", "Mach decimal seven", "=", "=", "Mach point seven"), // N29
        (Speed, "M1.50", "Mach one decimal five", "=", "=", "Mach one point five"), // N30
        (Frequency, "118.000", "one one eight decimal zero", "=", "=", "one one eight point zero"), // N31
        (Frequency, "118.005", "one one eight decimal zero zero five", "=", "=", "-"), // N32
        (
            Frequency,
            "118.025",
            "one one eight decimal zero two five",
            "=",
            "=",
            "one one eight point zero two",
        ), // N33 us M
        (Frequency, "118.100", "one one eight decimal one", "=", "=", "one one eight point one"), // N34
        (
            Frequency,
            "124.975",
            "one two four decimal niner seven five",
            "=",
            "=",
            "one two four point niner seven",
        ), // N37 us M
        (Frequency, "126.550", "one two six decimal five five zero", "=", "=", "one two six point five five"), // N38
        (Frequency, "132.010", "one three two decimal zero one zero", "=", "=", "-"), // N39
        (Squawk, "1000", "one thousand", "=", "=", "one zero zero zero"),             // N40, eu R, rest M
        (Squawk, "2400", "two four zero zero", "=", "=", "="),                        // N41
        (Squawk, "4203", "four two zero three", "=", "=", "="),                       // N42
        (Squawk, "6500", "six five zero zero", "=", "=", "="),                        // N43
        (Squawk, "7000", "seven thousand", "=", "=", "seven zero zero zero"),         // N44
        (Altimeter, "993hPa", "QNH niner niner three", "=", "QNH niner niner three hectopascals", "-"), // N45
        (Altimeter, "1000hPa", "QNH one thousand", "=", "=", "-"),                    // N46
        (Altimeter, "1010hPa", "QNH one zero one zero", "=", "=", "-"),               // N47
        (Altimeter, "29.92inHg", "-", "-", "-", "altimeter two niner niner two"),     // N48
        (Altimeter, "30.01inHg", "-", "-", "-", "altimeter three zero zero one"),     // N49
        (Runway, "27", "runway two seven", "=", "=", "="),                            // N55
        (Runway, "30", "runway three zero", "=", "=", "="),                           // N56
        (Runway, "09R", "runway zero niner right", "=", "=", "runway niner right"),   // N57
        (Runway, "18C", "runway one eight centre", "=", "=", "runway one eight center"), // N58 M
    ] {
        for (standard, text) in Standard::ALL.into_iter().zip([icao, eu, uk, us]) {
            if text == "-" {
                continue;
            }
            let text = if text == "=" { icao } else { text };
            assert_eq!(spoken(standard, element, value), text, "{standard} {value}");
            round_trip(standard, element, value, &[]);
        }
    }
}

#[test]
fn older_and_looser_number_forms_are_understood() {
    let icao = RuleSet::builtin(Standard::Icao);
    for (element, text, value) in [
        (Element::Level, "flight level one zero zero", "FL100"),
        (Element::Level, "ten thousand feet", "10000ft"),
        (Element::Level, "eleven thousand feet", "11000ft"),
        (Element::Level, "4,000 ft", "4000ft"),
        (Element::Level, "FL80", "FL080"),
        (Element::Frequency, "one eighteen decimal seven", "118.700"),
        (Element::Frequency, "one one eight seven", "118.700"),
        (Element::Frequency, "one one eight point seven", "118.700"),
        (Element::Squawk, "seven zero zero zero", "7000"),
        (Element::Heading, "heading tree six zero", "360"),
        (Element::Runway, "rwy 27l", "27L"),
        (Element::Altimeter, "QNH niner niner tree", "993hPa"),
    ] {
        assert_eq!(heard(&icao, element, text).as_deref(), Some(value), "{text}");
    }
}

#[test]
fn small_spaces_whole() {
    for standard in Standard::ALL {
        let us = standard == Standard::Us;
        for degrees in 1..=360 {
            round_trip(
                standard,
                Element::Heading,
                &format!("{degrees:03}"),
                &[format!("heading {degrees:03}")],
            );
        }
        for code in 0..4096u32 {
            let value = format!("{code:04o}");
            round_trip(standard, Element::Squawk, &value, std::slice::from_ref(&value));
        }
        for level in (if us { 180 } else { 10 }..=600).step_by(5) {
            round_trip(
                standard,
                Element::Level,
                &format!("FL{level:03}"),
                &[format!("FL{level}"), format!("flight level {level}")],
            );
        }
        for feet in (1000..=20_000).step_by(100) {
            round_trip(
                standard,
                Element::Level,
                &format!("{feet}ft"),
                &[format!("{feet} ft"), format!("{feet}ft")],
            );
        }
        for runway in 1..=36 {
            for side in ["", "L", "R", "C"] {
                let value = format!("{runway:02}{side}");
                round_trip(
                    standard,
                    Element::Runway,
                    &value,
                    &[format!("runway {value}"), format!("rwy {value}")],
                );
            }
        }
        for megahertz in 118..=136 {
            for tail in 0..200 {
                // 25 kHz channels end in 00, 25, 50, 75; the names of 8.33 kHz channels lie between.
                let kilohertz = tail * 5;
                let name_of_25 = kilohertz % 25 == 0;
                let name_of_8 = !matches!(kilohertz % 25, 20) && !name_of_25;
                if !(name_of_25 || name_of_8 && !us) {
                    continue;
                }
                let value = format!("{megahertz}.{kilohertz:03}");
                round_trip(standard, Element::Frequency, &value, std::slice::from_ref(&value));
            }
        }
    }
}

#[test]
fn callsigns_of_the_three_types() {
    // Annex 10 Volume II 5.2.1.7.2.1; group form AIM 4-2-4 a 5, JO 7110.65 2-4-20.
    for (written, icao, us, short) in [
        ("QZ-ABD", "Quebec Zulu Alfa Bravo Delta", "=", Some("Quebec Bravo Delta")),
        (
            "Larkspur Zulu Alfa Bravo Delta",
            "Larkspur Zulu Alfa Bravo Delta",
            "=",
            Some("Larkspur Bravo Delta"),
        ),
        ("Whimbrel 214", "Whimbrel two one four", "Whimbrel two fourteen", None),
        ("Larkspur 7 Delta", "Larkspur seven Delta", "=", None),
        ("Harebell 52", "Harebell five two", "Harebell fifty-two", None),
        ("Fernway 1004", "Fernway one zero zero four", "Fernway ten zero four", None),
        ("Fernway 3015", "Fernway three zero one five", "Fernway thirty fifteen", None),
        ("Marlpit 365 Heavy", "Marlpit three six five heavy", "Marlpit three sixty-five heavy", None),
    ] {
        let callsign = Callsign::parse(written).expect(written);
        assert_eq!(callsign.written(), written);
        assert_eq!(callsign.spoken(Standard::Icao), icao);
        assert_eq!(callsign.spoken(Standard::Us), if us == "=" { icao } else { us });
        assert_eq!(callsign.short().map(|c| c.spoken(Standard::Icao)).as_deref(), short);
        for said in [icao, if us == "=" { icao } else { us }] {
            let again = Callsign::parse(said).expect(said);
            assert_eq!(again.spoken(Standard::Icao), icao, "{said}");
        }
    }
}
