//! Zones from a list of heads: which heads run on which valve, so that a source supplies each zone within its limits.
//!
//! Every zone is solved as it would be built, with its valve and its laterals; nothing is estimated from added flows. `judged` says
//! whether some heads can run at once and what stands against it, `division` looks for the fewest zones and the shortest laterals. Knows no scripts.

mod division;
mod judged;
#[cfg(test)]
mod tests;

use crate::findings::limits::GAUGE_MARGIN;
use crate::garden::{Garden, GardenError};
use crate::hydraulics::RunError;
use crate::parts::{Around, Id, Kind, Part, PartError, Placing};
use crate::told::Told;
use crate::unit_system::chosen;
use crate::water::Water;
use judged::Judge;
use std::collections::HashMap;
use thiserror::Error;

pub use judged::{Hindrance, Judged};

/// Most heads that one call divides.
pub const MOST_HEADS: usize = 500;

/// Up to this many heads that may share a valve all divisions are compared; beyond it the best one that was found is given.
pub const ALL_COMPARED: usize = 10;

/// By how much the pressures of a zone may differ, as a share of their mean.
///
/// Source: NRCS, Conservation Practice Standard 442 and ASABE EP405: 20 % of the design pressure in a lateral; from memory.
pub const USUAL_VARIATION: f64 = 0.20;

/// By how much the application rates of heads on one valve may differ, as a share of the lower one. Common practice, no source.
pub const USUAL_MATCHED: f64 = 0.15;

/// What zones are made of, and what they have to keep.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The pipe or hose from which laterals are cut: its length is that of a coil, with its price.
    pub lateral: Part,
    /// The valve of each zone; its name with a number is that of the zone.
    pub valve: Part,
    /// Where the valves stand on the plan, m.
    pub manifold_m: (f64, f64),
    /// Highest velocity in hoses and pipes, m/s; none for the limits of findings.
    pub velocity_m_per_s: Option<f64>,
    /// Pressure to be had above the lower end of each operating range, Pa.
    pub reserve_pa: f64,
    /// By how much pressures in a zone may differ, as a share of their mean.
    pub variation: f64,
    /// By how much application rates in a zone may differ, as a share of the lower one.
    pub matched: f64,
    /// Most heads on one valve.
    pub most_heads: Option<usize>,
    /// Threads that work; none for all cores.
    pub threads: Option<usize>,
}

impl Asked {
    /// Zones with this lateral, and usual limits otherwise.
    pub fn of(lateral: Part) -> Asked {
        Asked {
            lateral,
            valve: Part::new(Kind::Valve),
            manifold_m: (0.0, 0.0),
            velocity_m_per_s: None,
            reserve_pa: GAUGE_MARGIN.usual,
            variation: USUAL_VARIATION,
            matched: USUAL_MATCHED,
            most_heads: None,
            threads: None,
        }
    }
}

/// One zone of the answer.
#[derive(Clone, Debug)]
pub struct Zone {
    /// Name of its valve.
    pub name: String,
    /// Its heads, as places in the list that was given.
    pub heads: Vec<usize>,
    /// Pressures, flow and velocity while it runs alone.
    pub judged: Judged,
    /// The heads of other zones that are added to it, the nearest first, until it breaks a limit, and that limit; none where it never does.
    pub limit: Option<(Vec<usize>, Hindrance)>,
}

/// Heads divided into zones.
#[derive(Clone, Debug)]
pub struct Zones {
    /// The source with all zones.
    pub garden: Garden,
    /// The zones, in the order of their first heads.
    pub zones: Vec<Zone>,
    /// Names of the heads in the order given.
    pub heads: Vec<String>,
    /// How many groups of heads do not share a valve with others, for their kind or their application rate.
    pub groups: usize,
    /// True where all divisions were compared: there is none with fewer zones.
    pub all_compared: bool,
    /// How many sets of heads were solved.
    pub solved: usize,
    /// True where heads have places, so that laterals have the lengths of the plan.
    pub placed: bool,
}

/// Why heads cannot be divided.
#[derive(Debug, Error)]
pub enum ZonesError {
    /// The list of heads is empty.
    #[error("there are no heads to divide into zones")]
    NoHeads,
    /// Too many heads.
    #[error("{found} heads are more than the {MOST_HEADS} that are divided at once")]
    TooMany {
        /// How many were given.
        found: usize,
    },
    /// A part of the list is no outlet.
    #[error("{part} gives no water: the heads of zones are heads, emitters or soakers")]
    NotAHead {
        /// The part, as messages call it.
        part: String,
    },
    /// A head has no operating range.
    #[error("{part} has no operating range, so nothing says what pressure it needs")]
    NoRange {
        /// The part.
        part: String,
    },
    /// Some heads have a place on the plan and one has none.
    #[error("{part} has no place on the plan, and other heads have one")]
    NoPlace {
        /// The part.
        part: String,
    },
    /// The lateral is neither hose nor pipe.
    #[error("a lateral is a hose or a pipe, found {part}")]
    NotALine {
        /// The part.
        part: String,
    },
    /// The valve is none.
    #[error("the valve of a zone is a valve, found {part}")]
    NotAValve {
        /// The part.
        part: String,
    },
    /// A head that cannot run even alone.
    #[error("{part} cannot run even alone: {why}")]
    NotAlone {
        /// The head.
        part: String,
        /// What stands against it.
        why: String,
        /// True where it gets too much pressure.
        high: bool,
    },
    /// The source cannot be joined, or two parts have one name.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// The source cannot be solved.
    #[error(transparent)]
    Run(#[from] RunError),
    /// A part refuses its length.
    #[error(transparent)]
    Part(#[from] PartError),
}

impl Told for ZonesError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            ZonesError::NoHeads => {
                chosen("list them, as in [head(\"a\", {(1/8).inch|3.2.mm}).operating_range({25.psi, 60.psi|1.7.bar, 4.bar})]")
            }
            ZonesError::TooMany { .. } => "divide one side of the plot after the other".into(),
            ZonesError::NotAHead { .. } => "hoses and valves belong to the options, as in #{ lateral: .., valve: .. }".into(),
            ZonesError::NoRange { .. } => chosen("add .operating_range({25.psi, 60.psi|1.7.bar, 4.bar})"),
            ZonesError::NoPlace { .. } => chosen("add .at({10.ft, 20.ft|3.m, 6.m}), or leave all places out"),
            ZonesError::NotALine { .. } => chosen("write lateral: pipe({100.ft, (3/4).inch|30.m, 20.mm})"),
            ZonesError::NotAValve { .. } => "write valve: valve(\"zone\").price(20.USD)".into(),
            ZonesError::NotAlone { high: true, .. } => {
                "add a regulator to the source, or use heads with regulators inside".into()
            }
            ZonesError::NotAlone { .. } => {
                "a wider feed or lateral, a smaller nozzle or a booster helps; or allow more in the options".into()
            }
            ZonesError::Garden(error) => return error.hint(),
            ZonesError::Run(error) => return error.hint(),
            ZonesError::Part(error) => return error.hint(),
        })
    }
}

/// Divides heads into the fewest zones that a source supplies within its limits, with the shortest laterals.
///
/// Each lateral leads straight from a head to the nearest one, or to the manifold; without places each head has a lateral of its own, as long
/// as the lateral that was given. Up to [`ALL_COMPARED`] heads of a group the answer is the best of all divisions.
/// Errors: see [`ZonesError`].
pub fn zones_for(source: &Garden, heads: &[Part], asked: &Asked) -> Result<Zones, ZonesError> {
    check(heads, asked)?;
    let judge = Judge::new(source, heads, asked)?;
    for (place, head) in heads.iter().enumerate() {
        if let Some(hindrance) = judge.judge(&[place])?.hindrance {
            let why = hindrance.in_words(&judge.names, source.units());
            let high = matches!(hindrance, Hindrance::High { .. });
            return Err(ZonesError::NotAlone { part: head.title(), why, high });
        }
    }
    let groups = groups(heads, asked.matched);
    let mut sets: Vec<Vec<usize>> = Vec::new();
    for group in &groups {
        sets.extend(division::fewest(&judge, group, asked.threads)?);
    }
    for set in &mut sets {
        set.sort_unstable();
    }
    sets.sort();
    let group_of: HashMap<usize, usize> =
        groups.iter().enumerate().flat_map(|(index, group)| group.iter().map(move |&head| (head, index))).collect();
    let mut zones = Vec::with_capacity(sets.len());
    for (index, set) in sets.iter().enumerate() {
        let like = |head: &usize| group_of[head] == group_of[&set[0]] && !set.contains(head);
        let distance = |head: usize| set.iter().map(|&own| judge.apart_m(own, head)).fold(f64::INFINITY, f64::min);
        let mut others: Vec<usize> = (0..heads.len()).filter(like).collect();
        others.sort_by(|&a, &b| distance(a).total_cmp(&distance(b)));
        let mut limit = None;
        for count in 1..=others.len() {
            let added = &others[..count];
            if let Some(hindrance) = judge.judge(&[set, added].concat())?.hindrance {
                limit = Some((added.to_vec(), hindrance));
                break;
            }
        }
        zones.push(Zone { name: judge.zone_name(index + 1), heads: set.clone(), judged: judge.judge(set)?, limit });
    }
    Ok(Zones {
        garden: judge.garden(&sets)?,
        zones,
        heads: judge.names.clone(),
        groups: groups.len(),
        all_compared: groups.iter().all(|group| group.len() <= ALL_COMPARED),
        solved: judge.solved(),
        placed: judge.placed,
    })
}

fn check(heads: &[Part], asked: &Asked) -> Result<(), ZonesError> {
    if heads.is_empty() {
        return Err(ZonesError::NoHeads);
    }
    if heads.len() > MOST_HEADS {
        return Err(ZonesError::TooMany { found: heads.len() });
    }
    if !asked.lateral.spec().is_line() {
        return Err(ZonesError::NotALine { part: asked.lateral.title() });
    }
    if !asked.valve.traits().opens {
        return Err(ZonesError::NotAValve { part: asked.valve.title() });
    }
    let placed = |head: &Part| head.si(Id::X).is_some() && head.si(Id::Y).is_some();
    for head in heads {
        if head.spec().placing != Placing::Outlet || !head.traits().waters {
            return Err(ZonesError::NotAHead { part: head.title() });
        }
        if head.spec().throws() && head.si(Id::RangeLow).is_none() {
            return Err(ZonesError::NoRange { part: head.title() });
        }
        if !placed(head) && heads.iter().any(placed) {
            return Err(ZonesError::NoPlace { part: head.title() });
        }
    }
    Ok(())
}

/// Heads that may share a valve: of one kind, and with application rates that differ by no more than the share `matched`.
///
/// The rates are cut into the fewest intervals, from the lowest up. Heads whose throw is unknown are a group of their own.
fn groups(heads: &[Part], matched: f64) -> Vec<Vec<usize>> {
    let mut known: Vec<(Kind, Option<f64>, usize)> =
        heads.iter().enumerate().map(|(place, head)| (head.kind(), rate_m_per_s(head), place)).collect();
    known.sort_by(|a, b| a.0.spec().word.cmp(b.0.spec().word).then(a.1.unwrap_or(0.0).total_cmp(&b.1.unwrap_or(0.0))));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut first: Option<(Kind, Option<f64>)> = None;
    for (kind, rate, place) in known {
        let joins = first.is_some_and(|(of, lowest)| {
            of == kind
                && match (lowest, rate) {
                    (Some(lowest), Some(rate)) => rate <= lowest * (1.0 + matched) * (1.0 + 1e-9),
                    (None, None) => true,
                    _ => false,
                }
        });
        if joins {
            groups.last_mut().expect("begun").push(place);
        } else {
            groups.push(vec![place]);
            first = Some((kind, rate));
        }
    }
    groups
}

/// What a head gives to the ground of its sector at the pressure at which its throw is known, m/s.
fn rate_m_per_s(head: &Part) -> Option<f64> {
    let (radius_m, pressure_pa) = (head.si(Id::Radius)?, head.si(Id::RadiusPressure)?);
    let arc_deg = head.si(Id::Arc).unwrap_or(360.0);
    let flow_m3_per_s = head.law(&Around { water: Water::default(), diameter_m: f64::NAN }).outflow(pressure_pa)?.flow_m3_per_s;
    Some(flow_m3_per_s / (0.5 * arc_deg.to_radians() * radius_m * radius_m))
}
