//! Some heads on one valve: solved as they would be built, and what stands against it.

use super::{Asked, ZonesError};
use crate::findings::limits::{FAST_IN_HOSE, FAST_IN_PIPE};
use crate::garden::Garden;
use crate::hydraulics::{RunError, run};
use crate::parts::{Id, Part};
use crate::quantity::{Quantity, dim};
use crate::unit_system::UnitSystem;
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

/// What keeps some heads from running at once: the first limit that is broken, in the order in which they stand here.
#[derive(Clone, Debug, PartialEq)]
pub enum Hindrance {
    /// More heads than one valve is to have.
    Count {
        /// The most.
        most: usize,
    },
    /// There is no steady state.
    NoState {
        /// Why.
        why: String,
    },
    /// A tap falls below what a main must keep.
    Tap {
        /// Name of the supply.
        name: String,
        /// Pressure there, Pa.
        has_pa: f64,
        /// The least, Pa.
        least_pa: f64,
    },
    /// A head gets too little pressure.
    Low {
        /// The head, as a place in the list.
        head: usize,
        /// Pressure there, Pa.
        has_pa: f64,
        /// What it needs with the reserve, Pa.
        needs_pa: f64,
    },
    /// A head gets too much pressure.
    High {
        /// The head.
        head: usize,
        /// Pressure there, Pa.
        has_pa: f64,
        /// The upper end of its range, Pa.
        most_pa: f64,
    },
    /// Water runs too fast in a hose or pipe.
    Velocity {
        /// Name of the hose or pipe.
        name: String,
        /// Velocity there, m/s.
        has_m_per_s: f64,
        /// The most, m/s.
        most_m_per_s: f64,
    },
    /// Pressures differ too much.
    Variation {
        /// Difference of the pressures as a share of their mean.
        has: f64,
        /// The most.
        most: f64,
    },
}

impl Hindrance {
    /// In a few words, with the values.
    pub fn in_words(&self, heads: &[String], units: UnitSystem) -> String {
        let show = |si: f64, dimension| units.quantity(si, dimension).to_string();
        let pressure = |si: f64| show(si, dim::PRESSURE);
        match self {
            Hindrance::Count { most } => format!("a valve has {most} heads at most"),
            Hindrance::NoState { why } => why.clone(),
            Hindrance::Tap { name, has_pa, least_pa } => {
                format!("pressure at {name} drops to {}, below {}", pressure(*has_pa), pressure(*least_pa))
            }
            Hindrance::Low { head, has_pa, needs_pa } => {
                format!("{} gets {}, below {}", heads[*head], pressure(*has_pa), pressure(*needs_pa))
            }
            Hindrance::High { head, has_pa, most_pa } => {
                format!("{} gets {}, above {}", heads[*head], pressure(*has_pa), pressure(*most_pa))
            }
            Hindrance::Velocity { name, has_m_per_s, most_m_per_s } => {
                format!("{} in {name}, above {}", show(*has_m_per_s, dim::SPEED), show(*most_m_per_s, dim::SPEED))
            }
            Hindrance::Variation { has, most } => {
                format!("pressures differ by {:.0} % of their mean, more than {:.0} %", 100.0 * has, 100.0 * most)
            }
        }
    }
}

/// Some heads running at once.
#[derive(Clone, Debug)]
pub struct Judged {
    /// What all of them give, m3/s.
    pub flow_m3_per_s: f64,
    /// The head with the least pressure, as a place in the list, and that pressure, Pa.
    pub lowest: (usize, f64),
    /// The highest pressure at a head, Pa.
    pub highest_pa: f64,
    /// Difference of the pressures as a share of their mean.
    pub variation: f64,
    /// The highest velocity in a hose or pipe, m/s.
    pub fastest_m_per_s: f64,
    /// Length of the laterals, m.
    pub lateral_m: f64,
    /// What stands against it; none where they may run at once.
    pub hindrance: Option<Hindrance>,
}

/// Solves sets of heads, each once.
pub(super) struct Judge<'a> {
    source: &'a Garden,
    heads: Vec<Part>,
    asked: &'a Asked,
    pub names: Vec<String>,
    /// Where the heads stand, m.
    at_m: Vec<(f64, f64)>,
    pub placed: bool,
    known: Mutex<HashMap<Vec<usize>, Judged>>,
}

impl<'a> Judge<'a> {
    /// Errors: a source that is no line to go on from, or two parts of one name.
    pub fn new(source: &'a Garden, heads: &[Part], asked: &'a Asked) -> Result<Judge<'a>, ZonesError> {
        let placed = heads.iter().all(|head| head.si(Id::X).is_some());
        let at = |head: &Part| (head.si(Id::X).unwrap_or(0.0), head.si(Id::Y).unwrap_or(0.0));
        let mut named = Vec::with_capacity(heads.len());
        for (index, head) in heads.iter().enumerate() {
            let number = format!("{} {}", head.spec().word, index + 1);
            named.push(if head.name().is_some() { head.clone() } else { head.clone().named(&number)? });
        }
        let judge = Judge {
            source,
            names: named.iter().map(|head| head.name().unwrap_or_default().to_string()).collect(),
            heads: named,
            asked,
            at_m: heads.iter().map(at).collect(),
            placed,
            known: Mutex::default(),
        };
        // All of them on one valve: what cannot be joined is refused here.
        let every: Vec<usize> = (0..heads.len()).collect();
        judge.garden(std::slice::from_ref(&every))?;
        Ok(judge)
    }

    /// How many sets were solved.
    pub fn solved(&self) -> usize {
        self.known.lock().unwrap_or_else(PoisonError::into_inner).len()
    }

    /// How far two heads are apart, m.
    pub fn apart_m(&self, one: usize, other: usize) -> f64 {
        apart(self.at_m[one], self.at_m[other])
    }

    /// Where a head stands as seen from the manifold, m.
    pub fn seen_from_manifold_m(&self, head: usize) -> (f64, f64) {
        (self.at_m[head].0 - self.asked.manifold_m.0, self.at_m[head].1 - self.asked.manifold_m.1)
    }

    /// The shortest tree of laterals from the manifold through these heads: for each the one upstream of it (none for the manifold)
    /// and the distance, m, in the order of growth.
    fn tree(&self, set: &[usize]) -> Vec<(usize, Option<usize>, f64)> {
        if !self.placed {
            let length_m = self.asked.lateral.value(Id::Length);
            return set.iter().map(|&head| (head, None, length_m)).collect();
        }
        let mut near: Vec<(usize, Option<usize>, f64)> =
            set.iter().map(|&head| (head, None, apart(self.at_m[head], self.asked.manifold_m))).collect();
        let mut grown = Vec::with_capacity(set.len());
        while let Some(index) = (0..near.len()).min_by(|&a, &b| near[a].2.total_cmp(&near[b].2)) {
            let next = near.swap_remove(index);
            for other in &mut near {
                let distance_m = self.apart_m(next.0, other.0);
                if distance_m < other.2 {
                    (other.1, other.2) = (Some(next.0), distance_m);
                }
            }
            grown.push(next);
        }
        grown
    }

    /// The name of a zone: that of the valve that was given, with a number.
    pub fn zone_name(&self, number: usize) -> String {
        format!("{} {number}", self.asked.valve.name().unwrap_or("zone"))
    }

    /// A zone as a line from its valve.
    fn zone(&self, number: usize, set: &[usize]) -> Result<Garden, ZonesError> {
        let tree = self.tree(set);
        let name = |part: &Part, name: String| part.clone().named(&name);
        let valve = name(&self.asked.valve, self.zone_name(number))?;
        let coil_m = self.asked.lateral.value(Id::Length);
        let mut lines: HashMap<Option<usize>, Vec<Garden>> = HashMap::new();
        // From the far ends toward the valve: what is downstream of a head is there before the head is.
        for &(head, upstream, length_m) in tree.iter().rev() {
            let mut beyond = vec![Garden::of(self.heads[head].clone())];
            beyond.extend(lines.remove(&Some(head)).unwrap_or_default().into_iter().rev());
            let here = lines.entry(upstream).or_default();
            if length_m == 0.0 {
                here.extend(beyond.into_iter().rev());
                continue;
            }
            let mut lateral = name(&self.asked.lateral, format!("to {}", self.names[head]))?;
            for id in [Id::Length, Id::Price] {
                if let Some(coil) = lateral.quantity(id) {
                    lateral.set(id, Quantity { si: coil.si * length_m / coil_m, ..coil })?;
                }
            }
            here.push(Garden::of(lateral).then_branches(&beyond)?);
        }
        let mut first = lines.remove(&None).unwrap_or_default();
        first.reverse();
        Ok(Garden::of(valve).then_branches(&first)?)
    }

    /// The source with a zone for each set.
    pub fn garden(&self, sets: &[Vec<usize>]) -> Result<Garden, ZonesError> {
        let zones: Vec<Garden> =
            sets.iter().enumerate().map(|(index, set)| self.zone(index + 1, set)).collect::<Result<_, _>>()?;
        Ok(self.source.then_branches(&zones)?)
    }

    /// Length of the laterals of a set, m.
    pub fn lateral_m(&self, set: &[usize]) -> f64 {
        self.tree(set).iter().map(|lateral| lateral.2).sum()
    }

    /// These heads on one valve, running alone. The same set is solved once.
    ///
    /// Errors: a garden that cannot be solved for another reason than its limits, or a stop.
    pub fn judge(&self, set: &[usize]) -> Result<Judged, ZonesError> {
        let mut key = set.to_vec();
        key.sort_unstable();
        if let Some(known) = self.known.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Ok(known.clone());
        }
        let judged = self.solve(&key)?;
        self.known.lock().unwrap_or_else(PoisonError::into_inner).insert(key, judged.clone());
        Ok(judged)
    }

    /// Whether these heads may run at once.
    pub fn fits(&self, set: &[usize]) -> Result<bool, ZonesError> {
        Ok(self.judge(set)?.hindrance.is_none())
    }

    fn solve(&self, set: &[usize]) -> Result<Judged, ZonesError> {
        let asked = self.asked;
        let mut judged = Judged {
            flow_m3_per_s: 0.0,
            lowest: (set[0], f64::INFINITY),
            highest_pa: 0.0,
            variation: 0.0,
            fastest_m_per_s: 0.0,
            lateral_m: self.lateral_m(set),
            hindrance: None,
        };
        if let Some(most) = asked.most_heads.filter(|&most| set.len() > most) {
            return Ok(Judged { hindrance: Some(Hindrance::Count { most }), ..judged });
        }
        let garden = self.source.then(&self.zone(1, set)?)?;
        let solution = match run(&garden, &[&self.zone_name(1)]) {
            Ok(solution) => solution,
            Err(RunError::Solve(error)) => {
                return Ok(Judged { hindrance: Some(Hindrance::NoState { why: error.to_string() }), ..judged });
            }
            Err(error) => return Err(error.into()),
        };
        let mut hindrances: Vec<Hindrance> = Vec::new();
        for place in garden.of_spec(|spec| spec.is_main()) {
            let has_pa = solution.parts[place].pressure_out_pa.unwrap_or(0.0);
            let least_pa = garden.least_tap_pa();
            if has_pa < least_pa {
                hindrances.push(Hindrance::Tap { name: garden.name(place).into(), has_pa, least_pa });
            }
        }
        let mut sum_pa = 0.0;
        let mut lows: Vec<(f64, Hindrance)> = Vec::new();
        for &head in set {
            let (part, state) = (&self.heads[head], solution.state(&self.names[head])?);
            let has_pa = state.pressure_out_pa.unwrap_or(0.0);
            judged.flow_m3_per_s += state.flow_m3_per_s;
            sum_pa += has_pa;
            if has_pa < judged.lowest.1 {
                judged.lowest = (head, has_pa);
            }
            judged.highest_pa = judged.highest_pa.max(has_pa);
            if let Some(needs_pa) = part.si(Id::RangeLow).map(|low| low + asked.reserve_pa).filter(|&needs| has_pa < needs) {
                lows.push((has_pa - needs_pa, Hindrance::Low { head, has_pa, needs_pa }));
            }
            if let Some(most_pa) = part.si(Id::RangeHigh).filter(|&most| has_pa > most) {
                lows.push((most_pa - has_pa, Hindrance::High { head, has_pa, most_pa }));
            }
        }
        // Of several heads out of range the one that is farthest out of it.
        lows.sort_by(|a, b| a.0.total_cmp(&b.0));
        hindrances.extend(lows.into_iter().map(|(_, hindrance)| hindrance));
        let mut fast: Vec<(f64, Hindrance)> = Vec::new();
        for place in garden.of_spec(|spec| spec.is_line()) {
            let has_m_per_s = solution.parts[place].speed_m_per_s.unwrap_or(0.0).abs();
            judged.fastest_m_per_s = judged.fastest_m_per_s.max(has_m_per_s);
            let usual = if garden.spec(place).traits.flexible { FAST_IN_HOSE } else { FAST_IN_PIPE };
            let most_m_per_s = asked.velocity_m_per_s.unwrap_or(usual.of(&garden));
            if has_m_per_s > most_m_per_s {
                let name = garden.name(place).to_string();
                fast.push((has_m_per_s / most_m_per_s, Hindrance::Velocity { name, has_m_per_s, most_m_per_s }));
            }
        }
        fast.sort_by(|a, b| b.0.total_cmp(&a.0));
        hindrances.extend(fast.into_iter().map(|(_, hindrance)| hindrance));
        let mean_pa = sum_pa / set.len() as f64;
        judged.variation = if mean_pa > 0.0 { (judged.highest_pa - judged.lowest.1) / mean_pa } else { 0.0 };
        if judged.variation > asked.variation {
            hindrances.push(Hindrance::Variation { has: judged.variation, most: asked.variation });
        }
        judged.hindrance = hindrances.into_iter().next();
        Ok(judged)
    }
}

fn apart(one: (f64, f64), other: (f64, f64)) -> f64 {
    (one.0 - other.0).hypot(one.1 - other.1)
}
