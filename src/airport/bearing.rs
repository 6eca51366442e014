//! Bearings: true and magnetic, the designator a runway gets from them, levels that go with a track.
//!
//! Sources: Annex 14 Volume I, 5.2.2; AIM 4-3-6 (designators); Annex 2, Appendix 3 \[memory\] (semicircular levels).

/// A bearing brought between 0 (excluded) and 360 degrees.
#[must_use]
pub fn turned(degrees: f64) -> f64 {
    let inside = degrees.rem_euclid(360.0);
    if inside == 0.0 { 360.0 } else { inside }
}

/// Degrees magnetic from degrees true; `variation` is positive to the east.
///
/// ```
/// use hearback::airport::bearing::to_magnetic;
/// assert_eq!(to_magnetic(100.0, -4.0), 104.0);
/// assert_eq!(to_magnetic(2.0, 5.0), 357.0);
/// ```
#[must_use]
pub fn to_magnetic(degrees_true: f64, variation: f64) -> f64 {
    turned(degrees_true - variation)
}

/// Degrees true from degrees magnetic; `variation` is positive to the east.
///
/// ```
/// assert_eq!(hearback::airport::bearing::to_true(105.0, -15.0), 90.0);
/// ```
#[must_use]
pub fn to_true(degrees_magnetic: f64, variation: f64) -> f64 {
    turned(degrees_magnetic + variation)
}

/// The variation of a year from that of another, in the unit of the two numbers given, east positive.
///
/// ```
/// // 0° 40′ east in 1990 and 5′ more each year make 1° 50′ in 2004.
/// assert_eq!(hearback::airport::bearing::variation_in(40.0, 5.0, 1990, 2004), 110.0);
/// ```
#[must_use]
pub fn variation_in(variation: f64, change_a_year: f64, epoch: i32, year: i32) -> f64 {
    variation + f64::from(year - epoch) * change_a_year
}

/// The number of a runway: the whole number nearest a tenth of its magnetic bearing; a half goes up, north is 36.
///
/// ```
/// use hearback::airport::bearing::number;
/// assert_eq!([183.0, 87.0, 3.0, 185.0].map(number), [18, 9, 36, 19]);
/// ```
#[must_use]
pub fn number(magnetic: f64) -> u8 {
    let tenth = (turned(magnetic) / 10.0 + 0.5).floor() as u8;
    if tenth == 0 || tenth > 36 { 36 } else { tenth }
}

/// The designator of a lone runway: two digits.
///
/// ```
/// assert_eq!(hearback::airport::bearing::designator(87.0), "09");
/// ```
#[must_use]
pub fn designator(magnetic: f64) -> String {
    format!("{:02}", number(magnetic))
}

/// The designators of runways side by side, from left to right as an aircraft on approach sees them; none for no
/// runway or more than four. Of four, the right pair takes the next number that is nearest to the bearing.
///
/// ```
/// use hearback::airport::bearing::parallels;
/// assert_eq!(parallels(90.0, 3), ["09L", "09C", "09R"]);
/// assert_eq!(parallels(90.0, 4), ["09L", "09R", "10L", "10R"]);
/// ```
#[must_use]
pub fn parallels(magnetic: f64, count: usize) -> Vec<String> {
    let own = number(magnetic);
    let below = turned(magnetic) / 10.0 + 0.5 - f64::from(own) < 0.5;
    let beside = if below || own == 36 { (own + 34) % 36 + 1 } else { own + 1 };
    let named = |number: u8, sides: &[&str]| -> Vec<String> {
        sides.iter().map(|side| format!("{number:02}{side}")).collect()
    };
    match count {
        1 => named(own, &[""]),
        2 => named(own, &["L", "R"]),
        3 => named(own, &["L", "C", "R"]),
        4 => [named(own, &["L", "R"]), named(beside, &["L", "R"])].concat(),
        _ => Vec::new(),
    }
}

/// Number and side of a designator.
fn parts(designator: &str) -> Option<(u8, Option<char>)> {
    let digits = designator.trim_end_matches(['L', 'C', 'R']);
    let side = designator.get(digits.len()..)?.chars().next();
    let number = digits.parse().ok().filter(|n| (1..=36).contains(n))?;
    (designator.len() <= 3).then_some((number, side))
}

/// The designator of the other end: the number differs by 18, left and right change.
///
/// ```
/// use hearback::airport::bearing::reciprocal;
/// assert_eq!(reciprocal("09L").as_deref(), Some("27R"));
/// assert_eq!(reciprocal("37"), None);
/// ```
#[must_use]
pub fn reciprocal(designator: &str) -> Option<String> {
    let (number, side) = parts(designator)?;
    let other = (number + 17) % 36 + 1;
    let side = match side {
        Some('L') => "R",
        Some('R') => "L",
        Some(_) => "C",
        None => "",
    };
    Some(format!("{other:02}{side}"))
}

/// How far a designator is from a magnetic bearing, degrees.
#[must_use]
pub fn off(designator: &str, magnetic: f64) -> Option<f64> {
    let (number, _) = parts(designator)?;
    let apart = (f64::from(number) * 10.0 - magnetic).rem_euclid(360.0);
    Some(apart.min(360.0 - apart))
}

/// True if a cruising level goes with a track: odd thousands from 000 to 179 degrees magnetic, even ones from 180 to
/// 359; above FL410 every second odd or even one. `level` is a flight level. Source: Annex 2, Appendix 3 \[memory\].
///
/// ```
/// use hearback::airport::bearing::semicircular;
/// assert!(semicircular(90.0, 330) && !semicircular(90.0, 340));
/// assert!(semicircular(270.0, 340) && semicircular(90.0, 450) && !semicircular(90.0, 430));
/// ```
#[must_use]
pub fn semicircular(track_magnetic: f64, level: u16) -> bool {
    let east = track_magnetic.rem_euclid(360.0) < 180.0;
    if !level.is_multiple_of(10) || level == 0 {
        return false;
    }
    let thousands = level / 10;
    match thousands {
        // 410, 450, 490 east; 430, 470, 510 west.
        42.. => thousands % 4 == if east { 1 } else { 3 },
        _ => (thousands % 2 == 1) == east,
    }
}
