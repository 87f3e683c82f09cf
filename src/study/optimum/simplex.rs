//! Several variables, the bottom of the valley: simplex searches, begun again until that gains nothing.
//!
//! Only the order of settings is used, so that limits count as they should.
//! Source: J. A. Nelder and R. Mead, A simplex method for function minimization, The Computer Journal 7 (1965).

use super::worth::{Judge, Worth};

/// Searches, each from the best of the last with a smaller simplex.
const STARTS: [f64; 8] = [0.1, 0.03, 0.1, 0.01, 0.003, 0.03, 1e-3, 1e-4];
/// Steps of a search for each variable.
const STEPS: usize = 120;
/// Size at which a search ends, in parts of the range.
const SMALL: f64 = 1e-11;

/// Searches around a setting; each variable is between 0 and 1.
pub fn search<E>(start: &[f64], judge: &mut Judge<E>) -> Result<(), E> {
    let mut best = start.to_vec();
    for (turn, size) in STARTS.into_iter().enumerate() {
        best = descend(&best, if turn % 2 == 0 { size } else { -size }, judge)?;
    }
    Ok(())
}

fn descend<E>(start: &[f64], size: f64, judge: &mut Judge<E>) -> Result<Vec<f64>, E> {
    let n = start.len();
    let mut corners: Vec<(Vec<f64>, Worth)> = vec![(start.to_vec(), judge(start)?)];
    for variable in 0..n {
        let mut corner = start.to_vec();
        // Turned inwards at an end.
        let step = if (0.0..=1.0).contains(&(corner[variable] + size)) { size } else { -size };
        corner[variable] = (corner[variable] + step).clamp(0.0, 1.0);
        let worth = judge(&corner)?;
        corners.push((corner, worth));
    }
    for _ in 0..STEPS * n {
        // Insertion sort keeps the older of two equals in front.
        corners.sort_by(|(_, a), (_, b)| a.broken.total_cmp(&b.broken).then(a.value.total_cmp(&b.value)));
        if extent(&corners) < SMALL {
            break;
        }
        let center: Vec<f64> =
            (0..n).map(|variable| corners[..n].iter().map(|(at, _)| at[variable]).sum::<f64>() / n as f64).collect();
        let toward = |factor: f64| -> Vec<f64> {
            center.iter().zip(&corners[n].0).map(|(c, worst)| (c + factor * (c - worst)).clamp(0.0, 1.0)).collect()
        };
        let reflected = toward(1.0);
        let worth = judge(&reflected)?;
        if worth.beats(&corners[0].1) {
            let expanded = toward(2.0);
            let further = judge(&expanded)?;
            corners[n] = if further.beats(&worth) { (expanded, further) } else { (reflected, worth) };
        } else if worth.beats(&corners[n - 1].1) {
            corners[n] = (reflected, worth);
        } else {
            let contracted = toward(if worth.beats(&corners[n].1) { 0.5 } else { -0.5 });
            let inside = judge(&contracted)?;
            if inside.beats(&corners[n].1) && !worth.beats(&inside) {
                corners[n] = (contracted, inside);
            } else {
                let best = corners[0].0.clone();
                for (at, worth) in &mut corners[1..] {
                    at.iter_mut().zip(&best).for_each(|(x, b)| *x = b + 0.5 * (*x - b));
                    *worth = judge(at)?;
                }
            }
        }
    }
    corners.sort_by(|(_, a), (_, b)| a.broken.total_cmp(&b.broken).then(a.value.total_cmp(&b.value)));
    Ok(corners.swap_remove(0).0)
}

/// The largest distance of a corner from the first, along a variable.
fn extent(corners: &[(Vec<f64>, Worth)]) -> f64 {
    let first = &corners[0].0;
    corners[1..].iter().flat_map(|(at, _)| at.iter().zip(first).map(|(a, b)| (a - b).abs())).fold(0.0, f64::max)
}
