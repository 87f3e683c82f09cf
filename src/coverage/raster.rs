//! Water that is even over triangles, gathered exactly on the cells of a grid.
//!
//! A triangle is what lies to the right of its rising sides less what lies to the right of its falling ones, so each side adds to the
//! cells it passes, and a sum from left to right in each row completes all triangles at once. Lengths are in cells here.

/// A grid in the making.
pub struct Raster {
    columns: usize,
    rows: usize,
    /// Changes from cell to cell, row by row; a column more than the grid has takes what lies beyond its right edge.
    changes: Vec<f64>,
}

/// A triangle of less area than this holds its water in one place, cells.
const LEAST_AREA: f64 = 1e-9;
/// A rate below this share of the mean is rounding.
const ROUNDING: f64 = 1e-9;

impl Raster {
    /// An empty grid.
    pub fn new(columns: usize, rows: usize) -> Raster {
        Raster { columns, rows, changes: vec![0.0; (columns + 1) * rows] }
    }

    /// The density of an amount that is even over a triangle, below zero where its corners run clockwise; of a triangle without area it
    /// is zero, and the amount goes to its middle.
    pub fn density(&mut self, corners: [(f64, f64); 3], amount: f64) -> f64 {
        let [a, b, c] = corners;
        let area = 0.5 * ((b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0));
        if area.abs() < LEAST_AREA {
            let third = |of: fn(&(f64, f64)) -> f64| corners.iter().map(of).sum::<f64>() / 3.0;
            self.add_spot((third(|at| at.0), third(|at| at.1)), amount);
            return 0.0;
        }
        amount / area
    }

    fn add_spot(&mut self, (x, y): (f64, f64), amount: f64) {
        let inside = x >= 0.0 && y >= 0.0 && x < self.columns as f64 && y < self.rows as f64;
        if inside {
            let first = y as usize * (self.columns + 1) + x as usize;
            self.changes[first] += amount;
            self.changes[first + 1] -= amount;
        }
    }

    /// Adds a side of a triangle of that density, its corners counterclockwise: where the side falls, the density is added to all that
    /// lies to its right, and where it rises it is taken away again. A side that two triangles share runs against itself in the second.
    pub fn add_side(&mut self, from: (f64, f64), to: (f64, f64), density: f64) {
        if from.1 == to.1 {
            return;
        }
        let (low, high, sign) = if from.1 < to.1 { (from, to, -density) } else { (to, from, density) };
        let (bottom, top) = (low.1.max(0.0), high.1.min(self.rows as f64));
        if bottom >= top {
            return;
        }
        let slope = (high.0 - low.0) / (high.1 - low.1);
        let width = self.columns as f64;
        let mut y = bottom;
        let mut x = low.0 + slope * (bottom - low.1);
        for row in bottom as usize..(top.ceil() as usize).min(self.rows) {
            let next_y = top.min((row + 1) as f64);
            let next_x = low.0 + slope * (next_y - low.1);
            let changes = &mut self.changes[row * (self.columns + 1)..(row + 1) * (self.columns + 1)];
            across(changes, width, (x, next_x), sign * (next_y - y));
            (x, y) = (next_x, next_y);
        }
    }

    /// The amount of each cell, row by row from the bottom; what is rounding is zero.
    pub fn amounts(self) -> Vec<f64> {
        let mut amounts = Vec::with_capacity(self.columns * self.rows);
        for row in self.changes.chunks_exact(self.columns + 1) {
            let mut sum = 0.0;
            amounts.extend(row[..self.columns].iter().map(|change| {
                sum += change;
                sum
            }));
        }
        let least = ROUNDING * amounts.iter().sum::<f64>() / amounts.len().max(1) as f64;
        for amount in &mut amounts {
            if *amount < least {
                *amount = 0.0;
            }
        }
        amounts
    }
}

/// A piece of a side within one row: `weight` is its height, times the density, on its way from one x to another.
fn across(changes: &mut [f64], width: f64, (from, to): (f64, f64), weight: f64) {
    let (left, right) = if from <= to { (from, to) } else { (to, from) };
    if left >= width {
        return;
    }
    if right <= 0.0 {
        changes[0] += weight;
        return;
    }
    let mut put = |x: f64, share: f64| {
        // The cell in which it lies has what is to its right; all cells from the next one on have it whole.
        let column = x as usize;
        let beyond = (x - column as f64) * share;
        changes[column] += share - beyond;
        if let Some(next) = changes.get_mut(column + 1) {
            *next += beyond;
        }
    };
    if left >= 0.0 && right < width && left as usize == right as usize {
        return put(0.5 * (left + right), weight);
    }
    let per_x = weight / (right - left);
    let mut x = left;
    if x < 0.0 {
        put(0.0, -x * per_x);
        x = 0.0;
    }
    let end = right.min(width);
    while x < end {
        let next = end.min(x.floor() + 1.0);
        put(0.5 * (x + next), (next - x) * per_x);
        x = next;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn add_triangle(raster: &mut Raster, corners: [(f64, f64); 3], amount: f64) {
        let density = raster.density(corners, amount);
        let [a, b, c] = corners;
        for (from, to) in [(a, b), (b, c), (c, a)] {
            raster.add_side(from, to, density);
        }
    }

    proptest! {
        #[test]
        fn cells_hold_what_the_triangle_covers(
            corners in proptest::array::uniform3((-3.0..12.0, -3.0..9.0)), amount in 0.1..5.0,
        ) {
            let mut raster = Raster::new(9, 6);
            add_triangle(&mut raster, corners, amount);
            let amounts = raster.amounts();
            // The same by counting spots.
            let [a, b, c] = corners;
            let turn = |p: (f64, f64), q: (f64, f64), r: (f64, f64)| (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
            let area = 0.5 * turn(a, b, c).abs();
            prop_assume!(area > 0.5);
            let n = 40;
            for (cell, amount_here) in amounts.iter().enumerate() {
                let (column, row) = (cell % 9, cell / 9);
                let spots = (0..n * n).filter(|spot| {
                    let at = |index: i32, start: usize| start as f64 + (f64::from(index) + 0.5) / f64::from(n);
                    let spot = (at(spot % n, column), at(spot / n, row));
                    let signs = [turn(a, b, spot), turn(b, c, spot), turn(c, a, spot)];
                    signs.iter().all(|sign| *sign >= 0.0) || signs.iter().all(|sign| *sign <= 0.0)
                });
                let counted = amount / area * spots.count() as f64 / f64::from(n * n);
                prop_assert!((counted - amount_here).abs() < 0.06 * amount / area, "{cell}: {counted} {amount_here}");
            }
        }

        #[test]
        fn nothing_is_lost_inside(corners in proptest::array::uniform3((0.0..9.0, 0.0..6.0)), amount in 0.1..5.0) {
            let mut raster = Raster::new(9, 6);
            add_triangle(&mut raster, corners, amount);
            prop_assert!((raster.amounts().iter().sum::<f64>() - amount).abs() < 1e-7 * amount);
        }
    }
}
