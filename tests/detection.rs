//! Sensitivity and bias of catching slips, against published figures and an independent computation.

use hearback::crew::{Tally, sensitivity_and_bias};

/// Hit rate, false-alarm rate, d′, c (if published), tolerance. The first two are published, each rounded:
/// the manual of the STAT program `dprime` (October 1985), and the page on d′ of openwetware.org; the others
/// were computed with scipy 1.17.1 (`norm.ppf(H) - norm.ppf(F)`).
const RATES: [(f64, f64, f64, Option<f64>, f64); 7] = [
    (0.7, 0.4, 0.78, None, 0.005),
    (0.990196078431, 0.990196078431, 0.0, Some(-2.3), 0.05),
    (0.8, 0.2, 1.683242467146, Some(0.0), 1e-9),
    (0.9, 0.1, 2.563103131089, Some(0.0), 1e-9),
    (0.95, 0.3, 2.16925413966, Some(-0.560226557122), 1e-9),
    (0.5, 0.5, 0.0, Some(0.0), 1e-9),
    (0.69, 0.31, 0.991700694695, Some(0.0), 1e-9),
];

/// Hits, misses, false alarms, correct silences, d′, c: computed with scipy 1.17.1 after the log-linear
/// correction (hits + 0.5) / (n + 1), whose formula was read at blind.scaientist.eu/learn/articles/sdt.
const COUNTS: [(u32, u32, u32, u32, f64, f64); 6] = [
    (40, 10, 10, 40, 1.641584176665, 0.0),
    (18, 2, 5, 15, 1.817245278574, -0.271138478325),
    (20, 0, 0, 20, 3.961504793295, 0.0),
    (15, 5, 1, 19, 2.102717953648, 0.413874815862),
    (0, 10, 0, 10, 0.0, 1.690621629585),
    (9, 1, 3, 7, 1.569592683086, -0.312007220551),
];

#[test]
fn rates_give_the_published_sensitivity_and_bias() {
    for (hit, alarm, sensitivity, bias, tolerance) in RATES {
        let (d, c) = sensitivity_and_bias(hit, alarm);
        assert!((d - sensitivity).abs() <= tolerance, "d' of {hit} and {alarm} is {d}");
        assert!(bias.is_none_or(|bias| (c - bias).abs() <= tolerance), "c of {hit} and {alarm} is {c}");
    }
}

#[test]
fn counts_are_corrected_before_they_are_measured() {
    for (hits, misses, false_alarms, correct_silences, sensitivity, bias) in COUNTS {
        let tally = Tally { hits, misses, false_alarms, correct_silences };
        let (d, c) = tally.measure().expect("there are both slips and right words");
        assert!((d - sensitivity).abs() < 1e-9 && (c - bias).abs() < 1e-9, "{tally:?}: {d}, {c}");
    }
}

#[test]
fn nothing_is_measured_without_both_slips_and_right_words() {
    assert_eq!(Tally { hits: 3, misses: 1, ..Tally::default() }.measure(), None);
    assert_eq!(Tally { false_alarms: 1, correct_silences: 9, ..Tally::default() }.measure(), None);
}
