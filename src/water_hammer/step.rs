//! How long a step of the march is, which hoses are too short for it, and what the march costs before it begins.
//!
//! A step is short against the way to the valve or against the closing, whichever is longer; hoses in which a wave takes less
//! than one and a half steps are lumps (`model`). The finer of these is taken as long as the work is small.

use super::hose::{Hose, LUMPED_BELOW, is_lump, number_of_stretches};

/// Stretches of hose on the way in the coarsest march that is wished for, and in the finest.
const LEAST_STRETCHES: f64 = 120.0;
const MOST_STRETCHES: f64 = 480.0;
/// Steps in the time of a wave to the valve or of the closing, at least.
const LEAST_STEPS: f64 = 24.0;
/// Nothing that happens faster asks for finer steps, s.
const FASTEST_S: f64 = 1e-3;
/// How long is followed after the closing, in reflection times: five swings of 4 L/a.
const FOLLOWED: f64 = 10.0;
/// Steps that are taken at least.
const FEWEST_STEPS: f64 = 10.0;
/// Work of a march that is done without asking for coarser steps, and the most that is done at all; a unit is one point of a hose
/// worked out once, some 5 ns.
const USUAL_WORK: f64 = 4e7;
const MOST_WORK: f64 = 2e9;
/// What a part without length costs in a step, in the same unit.
const PART_WORK: f64 = 30.0;
/// Points along all hoses at most: some 60 MB.
const MOST_POINTS: f64 = 1e6;

/// Why a march is not begun: it would be too much work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooMuch {
    pub steps: f64,
    pub points: f64,
}

/// What a step is chosen from.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    /// Hoses on the way from the source to the valve.
    pub way: &'a [Hose],
    /// All hoses that water reaches, those on the way among them.
    pub all: &'a [Hose],
    /// Parts of the garden.
    pub number_of_parts: usize,
    /// The part of the closing that is followed, s.
    pub closing_s: f64,
}

/// The steps of a march.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steps {
    pub step_s: f64,
    pub number: usize,
}

impl Steps {
    /// Memory of a march over n points: pressure and flow of each before and after a step, four numbers a step in the trace.
    pub fn bytes(&self, points: usize) -> usize {
        (4 * size_of::<f64>()).saturating_mul(points.saturating_add(self.number))
    }

    /// Errors: more work than is done, if a step costs this much.
    pub fn check(&self, work_of_step: f64) -> Result<(), TooMuch> {
        if self.number as f64 * work_of_step <= MOST_WORK {
            return Ok(());
        }
        Err(TooMuch { steps: self.number as f64, points: work_of_step })
    }
}

impl Line<'_> {
    fn travel_s(hoses: &[Hose]) -> f64 {
        hoses.iter().map(|hose| hose.travel_s).sum()
    }

    fn followed_s(&self) -> f64 {
        self.closing_s + FOLLOWED * 2.0 * Line::travel_s(self.way)
    }

    /// The steps; `finer` times as many as usual. Errors: more work than is done.
    pub fn steps(&self, finer: f64) -> Result<Steps, TooMuch> {
        let (way_s, all_s) = (Line::travel_s(self.way), Line::travel_s(self.all));
        let shortest_s = self.way.iter().map(|hose| hose.travel_s).fold(f64::INFINITY, f64::min);
        let wished_s = way_s / (4.0 * way_s / shortest_s).clamp(LEAST_STRETCHES, MOST_STRETCHES);
        let coarsest_s = way_s.max(self.closing_s).max(FASTEST_S) / LEAST_STEPS;
        let longest_s = wished_s.max(self.affordable_s(all_s).min(coarsest_s)).max(finer * all_s / MOST_POINTS) / finer;
        if longest_s > coarsest_s / finer && way_s >= LUMPED_BELOW * longest_s {
            return Err(self.too_much(all_s, coarsest_s / finer));
        }
        let step_s = self.fitting_s(way_s.max(longest_s), longest_s);
        let steps = Steps { step_s, number: (self.followed_s() / step_s).ceil().max(FEWEST_STEPS) as usize };
        steps.check(self.work_of_step(all_s, step_s)).map_err(|_| self.too_much(all_s, step_s))?;
        Ok(steps)
    }

    fn work_of_step(&self, all_s: f64, step_s: f64) -> f64 {
        all_s / step_s + PART_WORK * self.number_of_parts as f64
    }

    fn too_much(&self, all_s: f64, step_s: f64) -> TooMuch {
        TooMuch { steps: (self.followed_s() / step_s).ceil(), points: (all_s / step_s).ceil() }
    }

    /// The step at which the work is as usual: from work = (T/h) (travel/h + parts).
    fn affordable_s(&self, all_s: f64) -> f64 {
        let parts = PART_WORK * self.number_of_parts as f64 * self.followed_s();
        let points = all_s * self.followed_s();
        (parts + (parts * parts + 4.0 * points * USUAL_WORK).sqrt()) / (2.0 * USUAL_WORK)
    }

    /// The step of at most `longest_s` for which hoses come nearest to whole numbers of steps. A single hose is divided
    /// evenly; others are tried around that.
    fn fitting_s(&self, whole_s: f64, longest_s: f64) -> f64 {
        let stretches = whole_s / longest_s;
        let misfit = |step_s: f64| {
            let bent = self.all.iter().filter(|hose| !is_lump(hose, step_s)).map(|hose| {
                let n = number_of_stretches(hose, step_s) as f64;
                (n * step_s / hose.travel_s - 1.0).abs()
            });
            bent.fold(0.0, f64::max)
        };
        let counts = (0..=60).map(|n| (stretches + f64::from(n) * 0.01 * stretches).round().max(1.0));
        let candidates = counts.filter(|count| *count <= 1.6 * stretches.max(1.0)).map(|count| whole_s / count);
        candidates.min_by(|a, b| misfit(*a).total_cmp(&misfit(*b))).unwrap_or(longest_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hose(travel_s: f64) -> Hose {
        Hose { place: 0, wave_speed_m_per_s: 100.0, assumed: false, travel_s }
    }

    fn steps(way: &[f64], beside: &[f64], closing_s: f64) -> Result<Steps, TooMuch> {
        let way: Vec<Hose> = way.iter().map(|&travel_s| hose(travel_s)).collect();
        let all: Vec<Hose> = way.iter().copied().chain(beside.iter().map(|&travel_s| hose(travel_s))).collect();
        Line { way: &way, all: &all, number_of_parts: all.len() + 4, closing_s }.steps(1.0)
    }

    #[test]
    fn a_short_hose_beside_a_long_one_costs_no_more_than_the_usual_work() {
        for short_s in [1e-2, 1.5e-3, 7e-4, 2.5e-4, 1e-5, 1e-7, 1e-12] {
            for closing_s in [0.0, 0.01, 0.3, 3.0] {
                for (way, beside) in [(vec![short_s], vec![0.9]), (vec![0.4, short_s, 0.2], vec![0.9])] {
                    let found = steps(&way, &beside, closing_s).expect("little work");
                    let points = (way.iter().chain(&beside).sum::<f64>() / found.step_s).ceil();
                    let work = found.number as f64 * points;
                    assert!(
                        work <= 3.0 * USUAL_WORK && points <= 2.0 * MOST_POINTS,
                        "{short_s} s, {closing_s} s: {work} {points}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_garden_too_large_for_any_march_is_refused_before_it_begins() {
        let error = steps(&[0.3], &vec![1.0; 50_000], 0.0).expect_err("too much");
        assert!(error.points > MOST_POINTS, "{error:?}");
    }
}
