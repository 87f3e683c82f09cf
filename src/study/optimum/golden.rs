//! One variable: the range is scanned, and the best pieces are narrowed by golden section.

use super::worth::{Judge, Worth};
use crate::numeric::bottom;

/// Points of the scan.
const SCAN: usize = 33;
/// Pieces of the scan that are narrowed.
const PIECES: usize = 3;
/// Width at which a piece is narrow enough, in parts of the range.
const NARROW: f64 = 1e-10;

pub fn search<E>(judge: &mut Judge<E>) -> Result<(), E> {
    let at = |point: usize| point as f64 / (SCAN - 1) as f64;
    let mut scan: Vec<Worth> = Vec::with_capacity(SCAN);
    for point in 0..SCAN {
        scan.push(judge(&[at(point)])?);
    }
    let lowest = |point: &usize| {
        let beaten_by = |other: Option<&Worth>| other.is_some_and(|other| other.beats(&scan[*point]));
        !(point.checked_sub(1).is_some_and(|before| beaten_by(scan.get(before))) || beaten_by(scan.get(point + 1)))
    };
    let mut valleys: Vec<usize> = (0..SCAN).filter(lowest).collect();
    valleys.sort_by(|a, b| scan[*a].broken.total_cmp(&scan[*b].broken).then(scan[*a].value.total_cmp(&scan[*b].value)));
    for valley in valleys.into_iter().take(PIECES) {
        let (low, high) = (at(valley.saturating_sub(1)), at((valley + 1).min(SCAN - 1)));
        bottom(low, high, NARROW, |x| judge(&[x]), Worth::beats)?;
    }
    Ok(())
}
