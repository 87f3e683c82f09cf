//! Ways that were gone before: the legs of several storages from where a setting is entered until it is left.
//!
//! A pump that cycles asks for the same ones again and again, but hardly ever from the very same pressures: an event is located only so
//! finely. A way that begins as near to a known one as a small share of the water that moves on it is taken to be that one. What the
//! stores hold otherwise goes to the largest flow between the garden and the outside on the first leg, so that no water is lost.

use super::frame::{Leg, Question};
use super::plant::Plant;
use super::state::volumes_m3;
use super::tolerances::SAME_MOMENT_S;
use std::collections::VecDeque;
use std::sync::Arc;

/// Two ways are one where their stores differ at the beginning by no more than this share of the water that moves.
const ALIKE: f64 = 1e-7;
/// Ways that are kept for a setting at most: more are a sign of a state that does not come back.
const MOST_KNOWN: usize = 64;
/// Legs of a way at most.
const MOST_LEGS: usize = 1000;

/// Legs one after another in a setting.
struct Way {
    begin_m3: Vec<f64>,
    /// The gauges at its beginning.
    raised: Vec<bool>,
    legs: Vec<Arc<Leg>>,
    /// Water between the garden and the outside, m3.
    moved_m3: f64,
}

/// The ways that are known of a setting.
#[derive(Default)]
pub struct Ways {
    known: VecDeque<Way>,
    /// The way that is being gone, and the leg to come.
    taken: Option<(usize, usize)>,
    recorded: Option<Way>,
    /// How many ways were ever kept.
    kept: usize,
}

impl Ways {
    /// How many ways were ever kept.
    pub fn kept(&self) -> usize {
        self.kept
    }

    /// Goes on from nothing; what is known stays known.
    pub fn wake(&mut self) {
        (self.taken, self.recorded) = (None, None);
    }

    /// The next leg of the way that is being gone; none where it is over or the state has left it.
    pub fn next(&mut self, question: &Question) -> Option<Arc<Leg>> {
        let (way, leg) = self.taken.take()?;
        let way_on = &self.known[way];
        let next = way_on.legs.get(leg)?;
        let before = &way_on.legs[leg - 1];
        if next.start_pa != question.stored_pa || before.raised != question.raised || !fits(next, question) {
            return None;
        }
        self.taken = Some((way, leg + 1));
        Some(Arc::clone(next))
    }

    /// The first leg of a known way that begins like this.
    pub fn find(&mut self, question: &Question) -> Option<Arc<Leg>> {
        let begin_m3 = volumes_m3(question.plant, question.stored_pa);
        for (index, way) in self.known.iter().enumerate() {
            if way.raised == question.raised
                && fits(&way.legs[0], question)
                && let Some(leg) = way.first_from(question, &begin_m3)
            {
                self.taken = Some((index, 1));
                return Some(Arc::new(leg));
            }
        }
        None
    }

    /// Begins to record a way, and keeps the one that was recorded before.
    pub fn begin(&mut self, question: &Question) {
        self.keep();
        let (begin_m3, raised) = (volumes_m3(question.plant, question.stored_pa), question.raised.to_vec());
        self.recorded = Some(Way { begin_m3, raised, legs: Vec::new(), moved_m3: 0.0 });
    }

    /// Records a leg.
    pub fn record(&mut self, question: &Question, leg: &Arc<Leg>) {
        let Some(way) = &mut self.recorded else { return };
        if way.legs.len() >= MOST_LEGS {
            self.recorded = None;
            return;
        }
        way.moved_m3 += outside(question.plant, leg).map(|(_, volume_m3, _)| volume_m3.abs()).sum::<f64>();
        way.legs.push(Arc::clone(leg));
    }

    fn keep(&mut self) {
        let Some(way) = self.recorded.take().filter(|way| !way.legs.is_empty()) else { return };
        if self.known.len() >= MOST_KNOWN {
            self.known.pop_front();
        }
        self.known.push_back(way);
        self.kept += 1;
    }
}

impl Way {
    /// Its first leg from other volumes; none where they are too far from its own, or nothing flows that could make up for it.
    fn first_from(&self, question: &Question, begin_m3: &[f64]) -> Option<Leg> {
        let within_m3 = ALIKE * self.moved_m3;
        let lacks = |(own_m3, m3): (&f64, &f64)| own_m3 - m3;
        if self.begin_m3.iter().zip(begin_m3).map(lacks).any(|lack_m3| lack_m3.abs() > within_m3) {
            return None;
        }
        let first = &self.legs[0];
        let lack_m3: f64 = self.begin_m3.iter().zip(begin_m3).map(lacks).sum();
        let largest = outside(question.plant, first).max_by(|one, other| one.1.abs().total_cmp(&other.1.abs()));
        let (index, flow_m3, counts) = largest?;
        if lack_m3 != 0.0 && flow_m3.abs() < 1e3 * lack_m3.abs() {
            return None;
        }
        let mut leg = Leg { start_pa: question.stored_pa.to_vec(), ..Leg::clone(first) };
        for (integral, lack_m3) in leg.integrals.iter_mut().zip(self.begin_m3.iter().zip(begin_m3).map(lacks)) {
            *integral += lack_m3;
        }
        leg.integrals[index] += counts * lack_m3;
        Some(leg)
    }
}

/// Whether a leg is over by the time that is asked for.
fn fits(leg: &Leg, question: &Question) -> bool {
    leg.time_s <= question.most_s + SAME_MOMENT_S
}

/// What flows between the garden and the outside on a leg: index of the integral, m3, and how it counts.
fn outside<'a>(plant: &'a Plant, leg: &'a Leg) -> impl Iterator<Item = (usize, f64, f64)> + 'a {
    let first = plant.first_tracked();
    let tracked = plant.tracked.iter().enumerate().filter(|(_, tracked)| tracked.counts != 0.0);
    tracked.map(move |(index, tracked)| (first + index, leg.integrals[first + index], tracked.counts))
}
