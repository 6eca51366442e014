//! Wind: along and across a runway, as it is reported, and which runway it makes the one in use.
//!
//! Sources: Annex 3, Attachment C (how wind is reported); Doc 8168, 2.1.3 and AMC1 ATS.TR.260 (limits of choosing a
//! runway, gusts included); JO 7110.65, 3-5-1 (calm wind below 5 knots). The order of the steps in [`choose`] is this
//! program's own.

use super::range::{OutOfRange, within};

/// A surface wind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wind {
    /// Where it comes from, degrees magnetic; 0 if it is calm.
    pub from: u16,
    /// Mean speed, knots.
    pub speed: u16,
    /// Greatest speed, knots; 0 without gusts.
    pub gust: u16,
}

impl Wind {
    /// Reads `260/10`, `260/10G22` or `calm`.
    ///
    /// ```
    /// use hearback::airport::wind::Wind;
    /// assert_eq!(Wind::parse("240/15G27"), Some(Wind { from: 240, speed: 15, gust: 27 }));
    /// assert_eq!(Wind::parse("calm"), Some(Wind { from: 0, speed: 0, gust: 0 }));
    /// assert_eq!(Wind::parse("400/15"), None);
    /// ```
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        if text == "calm" {
            return Some(Self { from: 0, speed: 0, gust: 0 });
        }
        let (from, rest) = text.split_once('/')?;
        let (speed, gust) = rest.split_once('G').map_or((rest, None), |(speed, gust)| (speed, Some(gust)));
        let wind = Self {
            from: from.parse().ok()?,
            speed: speed.parse().ok()?,
            gust: gust.map_or(Some(0), |g| g.parse().ok())?,
        };
        ((1..=360).contains(&wind.from) && (wind.gust == 0 || wind.gust > wind.speed)).then_some(wind)
    }

    /// The form [`Wind::parse`] reads.
    #[must_use]
    pub fn canonical(&self) -> String {
        match (self.speed, self.gust) {
            (0, 0) => "calm".to_owned(),
            (speed, 0) => format!("{:03}/{speed:02}", self.from),
            (speed, gust) => format!("{:03}/{speed:02}G{gust:02}", self.from),
        }
    }

    /// The speed that limits are compared with: the gust if there is one.
    #[must_use]
    pub fn greatest(&self) -> u16 {
        self.speed.max(self.gust)
    }
}

/// Wind along and across a runway, knots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Components {
    /// From ahead; negative from behind.
    pub headwind: f64,
    /// From the right; negative from the left.
    pub crosswind: f64,
}

impl Components {
    /// From behind, knots; 0 if the wind has no such part.
    #[must_use]
    pub fn tailwind(&self) -> f64 {
        (-self.headwind).max(0.0)
    }
}

/// The parts of a wind along and across a runway. Bearing and direction in degrees from the same north, speed and
/// result in knots; for a calm the direction does not matter.
///
/// ```
/// use hearback::airport::wind::components;
/// let parts = components(350.0, 330.0, 15.0);
/// assert_eq!((parts.headwind.round(), parts.crosswind.round()), (14.0, -5.0));
/// ```
#[must_use]
pub fn components(runway_bearing: f64, wind_from: f64, speed: f64) -> Components {
    let angle = ((wind_from - runway_bearing + 540.0).rem_euclid(360.0) - 180.0).to_radians();
    Components { headwind: speed * angle.cos(), crosswind: speed * angle.sin() }
}

/// The strongest wind, in knots, that keeps the part across within `limit` knots at `angle` degrees to the runway.
///
/// # Errors
/// An angle at which no wind blows across.
///
/// ```
/// use hearback::airport::wind::strongest;
/// assert_eq!(strongest(17.0, 55.0).map(|kt| (kt * 100.0).round() / 100.0), Ok(20.75));
/// assert!(strongest(17.0, 0.0).is_err());
/// ```
pub fn strongest(limit: f64, angle: f64) -> Result<f64, OutOfRange> {
    within("angle", angle, (1.0, 179.0), "1 to 179 degrees").map(|angle| limit / angle.to_radians().sin())
}

/// A direction as it is reported: the nearest ten degrees, fives go up, north is 360.
/// Source: Annex 3, Attachment C.
///
/// ```
/// use hearback::airport::wind::reported_direction;
/// assert_eq!([4.0, 5.0, 94.0, 95.0, 355.0].map(reported_direction), [360, 10, 90, 100, 360]);
/// ```
#[must_use]
pub fn reported_direction(degrees: f64) -> u16 {
    let tens = ((degrees.rem_euclid(360.0) / 10.0 + 0.5).floor()).rem_euclid(36.0);
    let whole = (tens * 10.0) as u16;
    if whole == 0 { 360 } else { whole }
}

/// True if a new wind needs a new broadcast: direction by 60° or more with 10 knots before or after, mean by 10
/// knots or more, gusts by 10 knots more with a mean of 15 before or after. Source: Annex 3, Appendix 3.
#[must_use]
pub fn significant(old: Wind, new: Wind) -> bool {
    let apart = (i32::from(old.from) - i32::from(new.from)).rem_euclid(360);
    let turned = apart.min(360 - apart) >= 60 && old.speed.max(new.speed) >= 10;
    let gusts = |wind: Wind| wind.gust.saturating_sub(wind.speed);
    let gusty = gusts(new) >= gusts(old) + 10 && old.speed.max(new.speed) >= 15;
    turned || old.speed.abs_diff(new.speed) >= 10 || gusty
}

/// What a runway may have of the wind before another is taken, knots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Across, gusts included.
    pub crosswind: f64,
    /// From behind, gusts included.
    pub tailwind: f64,
}

impl Default for Limits {
    /// 15 knots across and 5 from behind: Doc 8168, 2.1.3; AMC1 ATS.TR.260.
    fn default() -> Self {
        Self { crosswind: 15.0, tailwind: 5.0 }
    }
}

/// A direction of a runway that can be chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Degrees magnetic, exact.
    pub bearing: f64,
    /// Aircraft take off from it.
    pub departures: bool,
    /// Aircraft land on it.
    pub arrivals: bool,
    /// Taken as long as the wind keeps the limits.
    pub preferred: bool,
    /// Nothing moves on it.
    pub closed: bool,
    /// Metres; 0 if it is not known.
    pub length: u32,
}

/// Below this, in knots, the wind does not choose. Source: JO 7110.65, 3-5-1.
const CALM: u16 = 5;

/// The place in `runways` of the runway that a wind in degrees magnetic makes the one in use, among those that
/// `fits` lets through; `None` if it lets none through that is open. Below 5 knots it is the first preferred one
/// (else the first), then the first preferred one within the limits with gusts, then the one with the most headwind.
///
/// ```
/// use hearback::airport::wind::{Candidate, Limits, Wind, choose};
/// let both = [90.0, 270.0].map(|bearing| Candidate {
///     bearing, departures: true, arrivals: true, preferred: bearing < 100.0, closed: false, length: 2500,
/// });
/// let in_wind = |text: &str| choose(&both, Wind::parse(text).unwrap(), &Limits::default(), |_| true);
/// assert_eq!(in_wind("270/04"), Some(0));
/// assert_eq!(in_wind("270/06"), Some(1));
/// ```
#[must_use]
pub fn choose(
    runways: &[Candidate],
    wind: Wind,
    limits: &Limits,
    fits: impl Fn(&Candidate) -> bool,
) -> Option<usize> {
    let parts =
        |runway: &Candidate, speed: u16| components(runway.bearing, f64::from(wind.from), f64::from(speed));
    let open: Vec<(usize, &Candidate)> =
        runways.iter().enumerate().filter(|(_, runway)| !runway.closed && fits(runway)).collect();
    let calm = wind.speed < CALM;
    let within = |runway: &Candidate| {
        let parts = parts(runway, wind.greatest());
        // A wind that meets a limit exactly keeps it, on every machine.
        parts.tailwind() <= limits.tailwind + 1e-6 && parts.crosswind.abs() <= limits.crosswind + 1e-6
    };
    if let Some((at, _)) = open.iter().find(|(_, runway)| runway.preferred && (calm || within(runway))) {
        return Some(*at);
    }
    if calm {
        return open.first().map(|(at, _)| *at);
    }
    // Ties: less wind across, the longer one, the one named first. Hundredths of a knot, so that parallels tie.
    let rank = |runway: &Candidate| {
        let parts = parts(runway, wind.speed);
        let hundredths = |knots: f64| (knots * 100.0).round() as i64;
        (-hundredths(parts.headwind), hundredths(parts.crosswind.abs()), u32::MAX - runway.length)
    };
    open.iter().min_by_key(|(_, runway)| rank(runway)).map(|(at, _)| *at)
}

/// The runways in use, as places in the list they were chosen from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InUse {
    /// Where aircraft land.
    pub arrivals: usize,
    /// Where they take off.
    pub departures: usize,
}

/// The runways in use for landing and for taking off. Parallel runways that serve both are split: departures take
/// another one of the same direction. `None` if no open runway serves landing, or none taking off.
#[must_use]
pub fn in_use(runways: &[Candidate], wind: Wind, limits: &Limits) -> Option<InUse> {
    let arrivals = choose(runways, wind, limits, |runway| runway.arrivals)?;
    let landing = runways.get(arrivals)?.bearing;
    let turned = |runway: &Candidate| {
        let apart = (runway.bearing - landing).rem_euclid(360.0);
        apart.min(360.0 - apart)
    };
    let same = runways.iter().enumerate().find(|(at, runway)| {
        *at != arrivals && runway.departures && !runway.closed && turned(runway) < PARALLEL
    });
    let serves = runways.get(arrivals).is_some_and(|runway| runway.departures);
    let departures = match same {
        Some((at, _)) => at,
        None if serves => arrivals,
        // Not against those that land, if there is another way.
        None => choose(runways, wind, limits, |runway| runway.departures && turned(runway) < 120.0)
            .or_else(|| choose(runways, wind, limits, |runway| runway.departures))?,
    };
    Some(InUse { arrivals, departures })
}

/// Runways whose bearings differ by less are side by side, degrees.
const PARALLEL: f64 = 5.0;
