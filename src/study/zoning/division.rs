//! Heads of one group divided into the fewest sets that can run at once, with the shortest laterals.

use super::judged::Judge;
use super::{ALL_COMPARED, ZonesError};
use crate::limits::Ended;
use crate::thread_pool::all_of;

/// Directions in which heads are put in a row, over half a turn.
const DIRECTIONS: usize = 8;

/// Heads by bearing from the manifold are cut open at up to this number of places.
const OPENINGS: usize = 6;

/// Exchanges between zones that are tried at most.
const MOST_EXCHANGES: usize = 4000;

/// A division is better with fewer sets, or with as many and shorter laterals.
fn cost(judge: &Judge, sets: &[Vec<usize>]) -> (usize, f64) {
    (sets.len(), sets.iter().map(|set| judge.lateral_m(set)).sum())
}

fn better(one: (usize, f64), other: (usize, f64)) -> bool {
    one.0 < other.0 || (one.0 == other.0 && one.1 < other.1 * (1.0 - 1e-9))
}

/// The fewest sets of a group: the best of all divisions of a small group, else the best that was found.
pub(super) fn fewest(judge: &Judge, group: &[usize], threads: Option<usize>) -> Result<Vec<Vec<usize>>, ZonesError> {
    if group.len() <= ALL_COMPARED { best_of_all(judge, group, threads) } else { found(judge, group, threads) }
}

/// Numbered pieces of work on several threads. Errors: the first one, or a stop.
fn all<T: Send>(
    threads: Option<usize>,
    count: usize,
    work: impl Fn(usize) -> Result<T, ZonesError> + Sync,
) -> Result<Vec<T>, ZonesError> {
    let done = all_of(threads, count, work);
    if done.len() < count { Err(ZonesError::Run(Ended.into())) } else { done.into_iter().collect() }
}

/// Every set is judged; then for each set of heads its best division, from the smaller ones up.
pub(super) fn best_of_all(judge: &Judge, group: &[usize], threads: Option<usize>) -> Result<Vec<Vec<usize>>, ZonesError> {
    let count = 1usize << group.len();
    let members = |mask: usize| -> Vec<usize> {
        group.iter().enumerate().filter(|(bit, _)| mask >> bit & 1 == 1).map(|(_, &head)| head).collect()
    };
    let fits = all(threads, count - 1, |index| judge.fits(&members(index + 1)))?;
    // For each mask the number of sets, the length of laterals and the set that holds its lowest head.
    let mut best: Vec<(usize, f64, usize)> = vec![(usize::MAX, f64::INFINITY, 0); count];
    best[0] = (0, 0.0, 0);
    let length_m: Vec<f64> = (0..count).map(|mask| judge.lateral_m(&members(mask))).collect();
    for mask in 1..count {
        let lowest = mask & mask.wrapping_neg();
        let rest = mask ^ lowest;
        // All subsets of the rest together with the lowest head.
        let mut part = rest;
        loop {
            let set = part | lowest;
            if fits[set - 1] && best[mask ^ set].0 != usize::MAX {
                let (sets, meters, _) = best[mask ^ set];
                let now = (sets + 1, meters + length_m[set]);
                if better(now, (best[mask].0, best[mask].1)) {
                    best[mask] = (now.0, now.1, set);
                }
            }
            if part == 0 {
                break;
            }
            part = (part - 1) & rest;
        }
    }
    let mut sets = Vec::new();
    let mut mask = count - 1;
    while mask != 0 {
        sets.push(members(best[mask].2));
        mask ^= best[mask].2;
    }
    Ok(sets)
}

/// Heads in a row, in several ways; each row is cut into the fewest pieces that fit, and the best division is then improved by moving and
/// exchanging single heads.
pub(super) fn found(judge: &Judge, group: &[usize], threads: Option<usize>) -> Result<Vec<Vec<usize>>, ZonesError> {
    let rows = rows(judge, group);
    let cut = all(threads, rows.len(), |index| cut(judge, &rows[index]))?;
    let mut order: Vec<(usize, (usize, f64))> = cut.iter().enumerate().map(|(index, sets)| (index, cost(judge, sets))).collect();
    order.sort_by(|a, b| a.1.0.cmp(&b.1.0).then(a.1.1.total_cmp(&b.1.1)));
    // The best two are improved: another start may end in fewer zones.
    let starts: Vec<Vec<Vec<usize>>> = order.iter().take(2).map(|&(index, _)| cut[index].clone()).collect();
    let improved = all(threads, starts.len(), |index| improve(judge, starts[index].clone()))?;
    let best = improved.into_iter().reduce(|one, other| if better(cost(judge, &other), cost(judge, &one)) { other } else { one });
    Ok(best.unwrap_or_default())
}

/// The heads of a group in a row: along several directions, and by bearing from the manifold.
fn rows(judge: &Judge, group: &[usize]) -> Vec<Vec<usize>> {
    let by = |key: &dyn Fn(usize) -> f64| {
        let mut row = group.to_vec();
        row.sort_by(|&a, &b| key(a).total_cmp(&key(b)).then(a.cmp(&b)));
        row
    };
    if !judge.placed {
        return vec![group.to_vec()];
    }
    let mut rows: Vec<Vec<usize>> = (0..DIRECTIONS)
        .map(|step| {
            let (sin, cos) = (std::f64::consts::PI * step as f64 / DIRECTIONS as f64).sin_cos();
            by(&|head| judge.seen_from_manifold_m(head).0 * cos + judge.seen_from_manifold_m(head).1 * sin)
        })
        .collect();
    let around = by(&|head| judge.seen_from_manifold_m(head).1.atan2(judge.seen_from_manifold_m(head).0));
    for opening in 0..OPENINGS {
        let mut row = around.clone();
        row.rotate_left(opening * around.len() / OPENINGS);
        rows.push(row);
    }
    rows
}

/// Cuts a row into the fewest pieces that fit, and of those divisions takes the one with the shortest laterals.
fn cut(judge: &Judge, row: &[usize]) -> Result<Vec<Vec<usize>>, ZonesError> {
    // For each end the best division of what is before it: number of pieces, length, and where its last piece begins.
    let mut best: Vec<(usize, f64, usize)> = vec![(0, 0.0, 0)];
    for end in 1..=row.len() {
        let mut here = (usize::MAX, f64::INFINITY, end - 1);
        for start in (0..end).rev() {
            let piece = &row[start..end];
            if !judge.fits(piece)? {
                break; // A longer piece takes still more water.
            }
            let now = (best[start].0 + 1, best[start].1 + judge.lateral_m(piece));
            if better(now, (here.0, here.1)) {
                here = (now.0, now.1, start);
            }
        }
        best.push(here);
    }
    let mut sets = Vec::new();
    let mut end = row.len();
    while end > 0 {
        let start = best[end].2;
        sets.push(row[start..end].to_vec());
        end = start;
    }
    Ok(sets)
}

/// Moves heads and exchanges two of them as long as zones become fewer or laterals shorter.
fn improve(judge: &Judge, mut sets: Vec<Vec<usize>>) -> Result<Vec<Vec<usize>>, ZonesError> {
    let mut tried = 0;
    loop {
        if let Some(fewer) = without_one(judge, &sets)? {
            sets = fewer;
            continue;
        }
        let mut changed = false;
        for from in 0..sets.len() {
            for to in 0..sets.len() {
                if from == to || tried > MOST_EXCHANGES {
                    continue;
                }
                if let Some((one, other)) = shorter(judge, &sets[from], &sets[to], &mut tried)? {
                    (sets[from], sets[to]) = (one, other);
                    changed = true;
                }
            }
        }
        sets.retain(|set| !set.is_empty());
        if !changed || tried > MOST_EXCHANGES {
            return Ok(sets);
        }
    }
}

/// All heads of a zone moved to others that have room for them; none where no zone can be given up so.
fn without_one(judge: &Judge, sets: &[Vec<usize>]) -> Result<Option<Vec<Vec<usize>>>, ZonesError> {
    let mut small: Vec<usize> = (0..sets.len()).collect();
    small.sort_by_key(|&index| sets[index].len());
    for given_up in small {
        let mut others: Vec<Vec<usize>> =
            sets.iter().enumerate().filter(|(index, _)| *index != given_up).map(|(_, set)| set.clone()).collect();
        let mut all_moved = true;
        for &head in &sets[given_up] {
            let near = |set: &Vec<usize>| set.iter().map(|&own| judge.apart_m(own, head)).fold(f64::INFINITY, f64::min);
            let mut order: Vec<usize> = (0..others.len()).collect();
            order.sort_by(|&a, &b| near(&others[a]).total_cmp(&near(&others[b])));
            let mut home = None;
            for index in order {
                let more: Vec<usize> = others[index].iter().copied().chain([head]).collect();
                if judge.fits(&more)? {
                    home = Some((index, more));
                    break;
                }
            }
            match home {
                Some((index, more)) => others[index] = more,
                None => {
                    all_moved = false;
                    break;
                }
            }
        }
        if all_moved {
            return Ok(Some(others));
        }
    }
    Ok(None)
}

type Pair = (Vec<usize>, Vec<usize>);

/// Two zones after one head has moved from the first to the second, or two were exchanged, where laterals become shorter by it.
fn shorter(judge: &Judge, from: &[usize], to: &[usize], tried: &mut usize) -> Result<Option<Pair>, ZonesError> {
    let length_m = |set: &[usize]| judge.lateral_m(set);
    let now_m = length_m(from) + length_m(to);
    let without = |set: &[usize], head: usize| -> Vec<usize> { set.iter().copied().filter(|&other| other != head).collect() };
    let mut options: Vec<(f64, Pair)> = Vec::new();
    for &head in from {
        let (less, mut more) = (without(from, head), to.to_vec());
        more.push(head);
        options.push((length_m(&less) + length_m(&more), (less, more)));
        for &back in to {
            let (mut one, mut other) = (without(from, head), without(to, back));
            one.push(back);
            other.push(head);
            options.push((length_m(&one) + length_m(&other), (one, other)));
        }
    }
    options.retain(|option| option.0 < now_m * (1.0 - 1e-9));
    options.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, (one, other)) in options {
        *tried += 1;
        if *tried > MOST_EXCHANGES {
            return Ok(None);
        }
        if judge.fits(&other)? && (one.is_empty() || judge.fits(&one)?) {
            return Ok(Some((one, other)));
        }
    }
    Ok(None)
}
