//! A grid of characters that is drawn on in dots: braille, or plain ASCII.

use super::Point;

/// What a cell shows; what comes later lies above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Ink {
    /// Nothing.
    #[default]
    None,
    /// The line to a stand.
    Lane,
    /// A taxiway.
    Taxiway,
    /// A runway.
    Runway,
    /// A taxiway that is closed.
    Closed,
    /// The route.
    Route,
    /// The direction of a taxiway.
    Arrow,
    /// The name of a taxiway.
    Name,
    /// A stand.
    Stand,
    /// An exit.
    Exit,
    /// A holding point.
    Hold,
    /// The designator of a runway.
    Designator,
}

/// Dots of a cell, across and down.
const DOTS: (usize, usize) = (2, 4);

#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    dots: u8,
    ink: Ink,
    letter: Option<char>,
}

/// The grid.
#[derive(Debug, Clone)]
pub struct Canvas {
    columns: usize,
    rows: usize,
    cells: Vec<Cell>,
}

impl Canvas {
    /// An empty grid.
    #[must_use]
    pub fn new(columns: usize, rows: usize) -> Self {
        Self { columns, rows, cells: vec![Cell::default(); columns * rows] }
    }

    fn cell(&mut self, column: f64, row: f64) -> Option<&mut Cell> {
        let inside = column >= 0.0 && row >= 0.0 && column < self.columns as f64 && row < self.rows as f64;
        if !inside {
            return None;
        }
        self.cells.get_mut(row as usize * self.columns + column as usize)
    }

    /// A dot, in columns and rows.
    pub fn dot(&mut self, (x, y): Point, ink: Ink) {
        // The bits of U+2800: the left column is 1, 2, 4, 64 from above, the right one 8, 16, 32, 128.
        const BITS: [[u8; DOTS.1]; DOTS.0] = [[1, 2, 4, 64], [8, 16, 32, 128]];
        let (dx, dy) = ((x.fract() * DOTS.0 as f64) as usize, (y.fract() * DOTS.1 as f64) as usize);
        if let Some(cell) = self.cell(x, y) {
            cell.dots |= BITS[dx.min(1)][dy.min(3)];
            cell.ink = cell.ink.max(ink);
        }
    }

    /// A line of dots.
    pub fn line(&mut self, a: Point, b: Point, ink: Ink) {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let steps = ((dx * DOTS.0 as f64).abs().max((dy * DOTS.1 as f64).abs()) * 1.5).ceil().max(1.0);
        for step in 0..=steps as usize {
            let t = step as f64 / steps;
            self.dot((a.0 + dx * t, a.1 + dy * t), ink);
        }
    }

    /// A line with a letter in every cell it touches.
    pub fn letters(&mut self, a: Point, b: Point, letter: char, ink: Ink) {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let steps = (dx.abs().max(dy.abs()) * 2.0).ceil().max(1.0);
        for step in 0..=steps as usize {
            let t = step as f64 / steps;
            self.put(a.0 + dx * t, a.1 + dy * t, letter, ink);
        }
    }

    /// A letter, unless something above it is there.
    pub fn put(&mut self, column: f64, row: f64, letter: char, ink: Ink) {
        if let Some(cell) = self.cell(column, row)
            && (cell.ink <= ink || cell.letter.is_none())
        {
            cell.letter = Some(letter);
            cell.ink = ink;
        }
    }

    /// A text from a cell to the right.
    pub fn text(&mut self, column: f64, row: f64, text: &str, ink: Ink) {
        for (n, letter) in text.chars().enumerate() {
            self.put(column + n as f64, row, letter, ink);
        }
    }

    /// Clears a cell, so that a name stands out.
    pub fn clear(&mut self, column: f64, row: f64) {
        if let Some(cell) = self.cell(column, row)
            && cell.letter.is_none()
        {
            *cell = Cell::default();
        }
    }

    /// Rows from above, each as runs of one ink; blanks at the ends are left out.
    #[must_use]
    pub fn rows(&self, plain: bool) -> Vec<Vec<(Ink, String)>> {
        let mut out = Vec::with_capacity(self.rows);
        for row in self.cells.chunks(self.columns) {
            let mut runs: Vec<(Ink, String)> = Vec::new();
            for cell in row {
                let letter = shown(cell, plain);
                let ink = if letter == ' ' { Ink::None } else { cell.ink };
                match runs.last_mut() {
                    Some((last, text)) if *last == ink => text.push(letter),
                    _ => runs.push((ink, letter.to_string())),
                }
            }
            while runs.last().is_some_and(|(_, text)| text.trim().is_empty()) {
                runs.pop();
            }
            out.push(runs);
        }
        out
    }
}

fn shown(cell: &Cell, plain: bool) -> char {
    match (cell.letter, cell.dots) {
        (Some(letter), _) => letter,
        (None, 0) => ' ',
        (None, _) if plain => match cell.ink {
            Ink::Runway => '#',
            Ink::Closed => 'x',
            _ => '.',
        },
        (None, dots) => char::from_u32(0x2800 + u32::from(dots)).unwrap_or('.'),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_dots_fill_a_cell_and_nothing_is_drawn_outside() {
        let mut canvas = Canvas::new(2, 1);
        for step in 0..8 {
            canvas.dot((f64::from(step % 2) * 0.5, f64::from(step / 2) * 0.25), Ink::Runway);
        }
        canvas.line((-5.0, -5.0), (-1.0, 9.0), Ink::Route);
        assert_eq!(canvas.rows(false), [[(Ink::Runway, "\u{28ff}".to_owned())]]);
        assert_eq!(canvas.rows(true), [[(Ink::Runway, "#".to_owned())]]);
    }
}
