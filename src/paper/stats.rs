//! Figures of a paper sat by a group: how hard each item is, how well it tells people apart, how far to trust a mark.
//!
//! Scores are whole points, so every sum is exact: the order of people changes nothing, and what has no spread is known
//! to have none. A figure that does not exist is a reason in words, never a number that is not one.

use serde::{Serialize, Serializer};
use std::fmt;

/// Why there is no such figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Absent {
    /// Nobody's paper counts.
    NoPeople,
    /// One person's paper counts.
    OnePerson,
    /// There are no items.
    NoItems,
    /// There is one item.
    OneItem,
    /// There are two items: without one of them a single one is left.
    TwoItems,
    /// Everybody has the same score on this item.
    ItemAlike,
    /// Everybody has the same total.
    TotalAlike,
    /// Everybody has the same total without this item.
    RestAlike,
}

impl Absent {
    /// The reason as a reader is told it, without a capital and a full stop.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::NoPeople => "nobody's paper counts",
            Self::OnePerson => "one person alone has no spread",
            Self::NoItems => "there are no items",
            Self::OneItem => "it takes two items",
            Self::TwoItems => "it takes two other items",
            Self::ItemAlike => "everybody has the same score on this item",
            Self::TotalAlike => "everybody has the same total",
            Self::RestAlike => "everybody has the same total without this item",
        }
    }
}

impl fmt::Display for Absent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl Serialize for Absent {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.words())
    }
}

/// A figure, or why there is none.
pub type Figure = Result<f64, Absent>;

/// Sums of one item.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Sums {
    /// Of the scores.
    x: i128,
    /// Of their squares.
    xx: i128,
    /// Of the scores times the totals.
    xt: i128,
}

/// The scores of people on the items of one paper, as far as the figures need them: a few sums for each item.
///
/// ```
/// use hearback::paper::stats::{Absent, Scores};
/// let mut scores = Scores::new(3, 1);
/// for row in [[1, 1, 0], [1, 0, 0], [1, 1, 1]] {
///     scores.add(&row);
/// }
/// assert_eq!(scores.difficulty(1), Ok(2.0 / 3.0));
/// assert_eq!(scores.corrected(0), Err(Absent::ItemAlike));
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Scores {
    full: u8,
    people: i128,
    items: Vec<Sums>,
    t: i128,
    tt: i128,
}

impl Scores {
    /// Nobody's scores yet: so many items, each worth so many points, 1 for right and wrong.
    #[must_use]
    pub fn new(items: usize, full: u8) -> Self {
        Self { full: full.max(1), people: 0, items: vec![Sums::default(); items], t: 0, tt: 0 }
    }

    /// One more person, item by item. An item without a score was not answered and counts nothing, as if it were wrong;
    /// what is more than full counts full.
    pub fn add(&mut self, row: &[u8]) {
        let score = |item: usize| i128::from(row.get(item).map_or(0, |score| (*score).min(self.full)));
        let total: i128 = (0..self.items.len()).map(score).sum();
        let full = self.full;
        for (item, sums) in self.items.iter_mut().enumerate() {
            let x = i128::from(row.get(item).map_or(0, |score| (*score).min(full)));
            sums.x += x;
            sums.xx += x * x;
            sums.xt += x * total;
        }
        self.people += 1;
        self.t += total;
        self.tt += total * total;
    }

    /// How many people.
    #[must_use]
    pub fn people(&self) -> usize {
        usize::try_from(self.people).unwrap_or(usize::MAX)
    }

    /// How many items.
    #[must_use]
    pub fn items(&self) -> usize {
        self.items.len()
    }

    /// Difficulty p of an item: the mean score as a share of the full one. 1 is easy, 0 nobody can do.
    ///
    /// # Errors
    /// Nobody sat the paper, or it has no such item.
    pub fn difficulty(&self, item: usize) -> Figure {
        let sums = self.item(item)?;
        self.some()?;
        Ok(sums.x as f64 / (self.people as f64 * f64::from(self.full)))
    }

    /// Mean of the totals, in points.
    ///
    /// # Errors
    /// Nobody sat the paper.
    pub fn mean(&self) -> Figure {
        self.some()?;
        Ok(self.t as f64 / self.people as f64)
    }

    /// Variance of the totals, divided by the number of people: the one that belongs to p·q in KR-20.
    ///
    /// # Errors
    /// Nobody sat the paper.
    pub fn variance(&self) -> Figure {
        self.some()?;
        let n = self.people as f64;
        Ok(self.spread() as f64 / (n * n))
    }

    /// Standard deviation of the totals, as of a sample of all who could sit the paper.
    ///
    /// # Errors
    /// Fewer than two people sat the paper.
    pub fn deviation(&self) -> Figure {
        self.several()?;
        let n = self.people as f64;
        Ok((self.spread() as f64 / (n * (n - 1.0))).sqrt())
    }

    /// Cronbach's alpha: how far the items measure one thing. Of right and wrong it is KR-20. It is below 0 where
    /// items contradict each other.
    ///
    /// # Errors
    /// Fewer than two people or items, or all totals are the same.
    pub fn alpha(&self) -> Figure {
        self.several()?;
        let within = self.items.iter().map(|sums| self.item_spread(sums)).sum();
        alpha(self.items.len(), within, self.spread()).map_err(|reason| match reason {
            Absent::RestAlike => Absent::TotalAlike,
            other => other,
        })
    }

    /// Kuder and Richardson's formula 20, with the variance divided by the number of people. Of scores between right
    /// and wrong it is Cronbach's alpha.
    ///
    /// # Errors
    /// As [`Scores::alpha`].
    pub fn kr20(&self) -> Figure {
        self.alpha()
    }

    /// Alpha of the paper without an item. More than alpha itself: the paper would be better without it.
    ///
    /// # Errors
    /// Fewer than two people, fewer than three items, or all totals are the same without it.
    pub fn alpha_without(&self, item: usize) -> Figure {
        let sums = self.item(item)?;
        self.several()?;
        if self.items.len() == 2 {
            return Err(Absent::TwoItems);
        }
        let within: i128 = self.items.iter().map(|sums| self.item_spread(sums)).sum();
        alpha(self.items.len() - 1, within - self.item_spread(sums), self.rest_spread(sums))
    }

    /// Correlation of an item with the total that it is part of.
    ///
    /// # Errors
    /// Fewer than two people, or no spread in the item or the total.
    pub fn item_total(&self, item: usize) -> Figure {
        let sums = self.item(item)?;
        self.several()?;
        let together = self.people * sums.xt - sums.x * self.t;
        correlation(together, self.item_spread(sums), self.spread(), Absent::TotalAlike)
    }

    /// Discrimination: correlation of an item with the total of the others. Those who can do the rest can do it too
    /// where it is near 1; near 0 it tells nothing, below 0 something is wrong with it.
    ///
    /// # Errors
    /// Fewer than two people or items, or no spread in the item or in the others.
    pub fn corrected(&self, item: usize) -> Figure {
        let sums = self.item(item)?;
        self.several()?;
        if self.items.len() < 2 {
            return Err(Absent::OneItem);
        }
        let own = self.item_spread(sums);
        let together = self.people * sums.xt - sums.x * self.t - own;
        correlation(together, own, self.rest_spread(sums), Absent::RestAlike)
    }

    /// Standard error of measurement, in points: what a total may be off by chance. An alpha below 0 is taken as 0.
    ///
    /// # Errors
    /// As [`Scores::alpha`].
    pub fn error(&self) -> Figure {
        Ok(standard_error(self.deviation()?, self.alpha()?.max(0.0)))
    }

    fn some(&self) -> Result<(), Absent> {
        if self.people == 0 { Err(Absent::NoPeople) } else { Ok(()) }
    }

    fn several(&self) -> Result<(), Absent> {
        match self.people {
            0 => Err(Absent::NoPeople),
            1 => Err(Absent::OnePerson),
            _ => Ok(()),
        }
    }

    fn item(&self, item: usize) -> Result<&Sums, Absent> {
        self.items.get(item).ok_or(Absent::NoItems)
    }

    /// n² times the variance of the totals.
    fn spread(&self) -> i128 {
        self.people * self.tt - self.t * self.t
    }

    /// n² times the variance of an item.
    fn item_spread(&self, sums: &Sums) -> i128 {
        self.people * sums.xx - sums.x * sums.x
    }

    /// n² times the variance of the totals without an item.
    fn rest_spread(&self, sums: &Sums) -> i128 {
        let (x, t) = (sums.x, self.t - sums.x);
        debug_assert!(x >= 0 && t >= 0);
        self.people * (self.tt - 2 * sums.xt + sums.xx) - t * t
    }
}

fn alpha(items: usize, within: i128, total: i128) -> Figure {
    match items {
        0 => return Err(Absent::NoItems),
        1 => return Err(Absent::OneItem),
        _ => {}
    }
    if total == 0 {
        return Err(Absent::RestAlike);
    }
    let k = items as f64;
    Ok(k / (k - 1.0) * (1.0 - within as f64 / total as f64))
}

fn correlation(together: i128, own: i128, other: i128, alike: Absent) -> Figure {
    match (own, other) {
        (0, _) => Err(Absent::ItemAlike),
        (_, 0) => Err(alike),
        _ => Ok((together as f64 / ((own as f64).sqrt() * (other as f64).sqrt())).clamp(-1.0, 1.0)),
    }
}

/// Standard error of measurement of scores with a standard deviation and a reliability.
///
/// ```
/// use hearback::paper::stats::standard_error;
/// assert!((standard_error(15.0, 0.84) - 6.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn standard_error(deviation: f64, reliability: f64) -> f64 {
    deviation * (1.0 - reliability).max(0.0).sqrt()
}

/// Reliability of a paper that is so many times as long, after Spearman and Brown.
///
/// ```
/// use hearback::paper::stats::lengthened;
/// assert!((lengthened(0.5, 2.0) - 2.0 / 3.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn lengthened(reliability: f64, times: f64) -> f64 {
    times * reliability / (1.0 + (times - 1.0) * reliability)
}

/// How many items of the same kind would bring a paper to a reliability, after Spearman and Brown; none if no number
/// would, or if it is there already.
///
/// ```
/// use hearback::paper::stats::items_for;
/// assert_eq!(items_for(0.5, 10, 0.8), Some(40));
/// assert_eq!(items_for(0.8, 10, 0.8), None);
/// assert_eq!(items_for(0.0, 10, 0.8), None);
/// ```
#[must_use]
pub fn items_for(reliability: f64, items: usize, wanted: f64) -> Option<usize> {
    if reliability <= 0.0 || reliability >= wanted || wanted >= 1.0 {
        return None;
    }
    let times = wanted * (1.0 - reliability) / (reliability * (1.0 - wanted));
    // A trace of rounding is no item more.
    let needed = (times * items as f64 - 1e-9).ceil();
    (needed <= 10_000.0).then_some(needed as usize)
}
