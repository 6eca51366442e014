//! Where labels go: each at the cheapest of its places, clear of the others.

/// A box; `x` and `y` are its upper left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left.
    pub x: f64,
    /// Top.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// A box around a centre.
    #[must_use]
    pub fn around((x, y): (f64, f64), w: f64, h: f64) -> Self {
        Self { x: x - w / 2.0, y: y - h / 2.0, w, h }
    }

    /// Its centre.
    #[must_use]
    pub fn centre(&self) -> (f64, f64) {
        (self.x + self.w / 2.0, self.y + self.h / 2.0)
    }

    /// The same with a margin on all sides.
    #[must_use]
    pub fn grown(&self, x: f64, y: f64) -> Self {
        Self { x: self.x - x, y: self.y - y, w: self.w + 2.0 * x, h: self.h + 2.0 * y }
    }

    /// The area that two boxes share.
    #[must_use]
    pub fn shared(&self, other: &Self) -> f64 {
        let w = (self.x + self.w).min(other.x + other.w) - self.x.max(other.x);
        let h = (self.y + self.h).min(other.y + other.h) - self.y.max(other.y);
        if w > 0.0 && h > 0.0 { w * h } else { 0.0 }
    }

    /// True if the other box lies inside.
    #[must_use]
    pub fn holds(&self, other: &Self) -> bool {
        other.x >= self.x
            && other.y >= self.y
            && other.x + other.w <= self.x + self.w
            && other.y + other.h <= self.y + self.h
    }

    /// How much of a line lies inside.
    #[must_use]
    pub fn crossed(&self, a: (f64, f64), b: (f64, f64)) -> f64 {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        let sides = [
            (-dx, a.0 - self.x),
            (dx, self.x + self.w - a.0),
            (-dy, a.1 - self.y),
            (dy, self.y + self.h - a.1),
        ];
        for (p, q) in sides {
            if p.abs() < 1e-9 {
                if q < 0.0 {
                    return 0.0;
                }
            } else if p < 0.0 {
                from = from.max(q / p);
            } else {
                to = to.min(q / p);
            }
        }
        if to > from { (to - from) * dx.hypot(dy) } else { 0.0 }
    }
}

/// A label that wants a place.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
    /// Centres it may have, with what each costs by itself.
    pub places: Vec<((f64, f64), f64)>,
}

/// From where to where, and what covering a unit of it costs.
pub type Line = ((f64, f64), (f64, f64), f64);

/// What labels must keep clear of.
#[derive(Debug, Clone, Default)]
pub struct Board {
    /// The sheet; nothing lies outside of it.
    pub sheet: Option<Rect>,
    /// Boxes that are taken, with what covering all of them costs for each unit of area.
    pub taken: Vec<(Rect, f64)>,
    /// Lines that had better stay clear.
    pub lines: Vec<Line>,
    /// Room that labels leave between each other, across and down.
    pub gap: (f64, f64),
}

/// What covering another label costs for each unit of area: more than anything else.
const COVER: f64 = 1000.0;

impl Board {
    /// A place for every label, in the order given, and whether it is clear of the other labels. Those that come
    /// first have the first choice; afterwards each may move as long as it gets cheaper.
    #[must_use]
    pub fn settle(&self, wanted: &[Wanted]) -> Vec<(Rect, bool)> {
        // What does not depend on other labels is found once.
        let choices: Vec<Vec<(Rect, f64)>> = wanted.iter().map(|label| self.choices(label)).collect();
        let mut at: Vec<Option<usize>> = vec![None; wanted.len()];
        for _ in 0..4 {
            let mut moved = false;
            for label in 0..wanted.len() {
                let found = self.best(label, &choices, &at).map(|(choice, _)| choice);
                moved |= found != at[label];
                at[label] = found;
            }
            if !moved {
                break;
            }
        }
        (0..wanted.len())
            .map(|label| match at[label] {
                Some(choice) => {
                    let rect = choices[label][choice].0;
                    (rect, self.covers(label, &rect, &choices, &at) == 0.0)
                }
                None => (Rect { x: 0.0, y: 0.0, w: 0.0, h: 0.0 }, false),
            })
            .collect()
    }

    /// Every place on the sheet with its price.
    fn choices(&self, label: &Wanted) -> Vec<(Rect, f64)> {
        let mut out = Vec::with_capacity(label.places.len());
        for (centre, price) in &label.places {
            let rect = Rect::around(*centre, label.w, label.h);
            if self.sheet.is_some_and(|sheet| !sheet.holds(&rect)) {
                continue;
            }
            let taken: f64 = self.taken.iter().map(|(other, cost)| rect.shared(other) * cost).sum();
            let lines: f64 = self.lines.iter().map(|(a, b, cost)| rect.crossed(*a, *b) * cost).sum();
            out.push((rect, price + taken + lines));
        }
        out
    }

    fn best(&self, label: usize, choices: &[Vec<(Rect, f64)>], at: &[Option<usize>]) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for (n, (rect, price)) in choices[label].iter().enumerate() {
            if best.is_some_and(|(_, least)| *price >= least) {
                continue;
            }
            let price = price + COVER * self.covers(label, rect, choices, at);
            if best.is_none_or(|(_, least)| price < least) {
                best = Some((n, price));
            }
        }
        best
    }

    fn covers(&self, label: usize, rect: &Rect, choices: &[Vec<(Rect, f64)>], at: &[Option<usize>]) -> f64 {
        let wide = rect.grown(self.gap.0, self.gap.1);
        let others = at.iter().enumerate().filter(|(other, _)| *other != label);
        others.filter_map(|(other, place)| Some(wide.shared(&choices[other][(*place)?].0))).sum()
    }
}

/// Centres around a point for a box of that size: clear of it by each of `gaps`, in `steps` directions; further is
/// dearer, and so is a direction other than `towards`.
#[must_use]
pub fn ring(
    (x, y): (f64, f64),
    (w, h): (f64, f64),
    gaps: &[f64],
    steps: u32,
    towards: Option<(f64, f64)>,
) -> Vec<((f64, f64), f64)> {
    let mut out = Vec::new();
    for gap in gaps {
        for step in 0..steps {
            let angle = f64::from(step) * std::f64::consts::TAU / f64::from(steps);
            let (dx, dy) = (angle.cos(), angle.sin());
            // The box touches a circle of the radius `gap` around the point.
            let reach = (w / 2.0 * dx.abs()).max(h / 2.0 * dy.abs()) * 0.6 + (w * dx).hypot(h * dy) * 0.2;
            let far = gap + reach;
            let price = gap * 0.8
                + towards.map_or(0.0, |(tx, ty)| {
                    let length = tx.hypot(ty).max(1e-9);
                    6.0 * (1.0 - (dx * tx + dy * ty) / length)
                });
            out.push(((x + dx * far, y + dy * far), price));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_of_one_point_do_not_cover_each_other() {
        let label =
            || Wanted { w: 20.0, h: 10.0, places: ring((50.0, 50.0), (20.0, 10.0), &[4.0, 20.0], 16, None) };
        let sheet = Rect { x: 0.0, y: 0.0, w: 100.0, h: 100.0 };
        let board = Board { sheet: Some(sheet), gap: (1.0, 1.0), ..Board::default() };
        let found = board.settle(&[label(), label(), label(), label(), label()]);
        for (n, (rect, clear)) in found.iter().enumerate() {
            assert!(*clear && sheet.holds(rect));
            assert!(found[..n].iter().all(|(other, _)| rect.shared(other) == 0.0), "{found:?}");
        }
    }

    #[test]
    fn a_line_counts_as_far_as_it_lies_inside() {
        let rect = Rect { x: 0.0, y: 0.0, w: 10.0, h: 10.0 };
        assert!((rect.crossed((-5.0, 5.0), (5.0, 5.0)) - 5.0).abs() < 1e-9);
        assert!((rect.crossed((-5.0, 5.0), (50.0, 5.0)) - 10.0).abs() < 1e-9);
        assert!(rect.crossed((-5.0, 15.0), (50.0, 15.0)) == 0.0);
    }
}
