//! Each zone of a garden open alone, and what is to be said of it.
//!
//! A zone is solved in the excerpt of the garden that water reaches with its valve open, so that it costs what it opens.
//! What lies outside has no pressure and no flow; only two things may still be said of it: a booster there runs dry, and a
//! closed valve at the edge may stand above its rating.

use super::cycling::Overshoot;
use super::finding::{Book, Finding, once_in_order};
use super::ratings::{self, Strain, When};
use super::{of_garden, of_solution};
use crate::garden::{Excerpt, Garden, Sections};
use crate::hydraulics::{Network, Solution, Switches, run_switched};
use crate::parts::Id;
use std::collections::HashMap;

/// What is to be said of a garden before it runs: [`of_garden`], and of each of its zones open alone what
/// [`of_solution`] says.
///
/// A zone that has no steady state is passed over. Sorted by level, then by place; no finding stands twice.
pub fn of_zones(garden: &Garden) -> Vec<Finding> {
    let mut findings = of_garden(garden);
    // What no zone can be solved with may lie outside of an excerpt: a loop that does not close, a part without a diameter.
    if garden.opened(&[]).and_then(|open| Network::new(garden, &open)).is_err() {
        return findings;
    }
    let mut zones = Zones::of(garden);
    for valve in garden.valves() {
        if crate::limits::ended() {
            break;
        }
        let name = garden.name(valve);
        findings.extend(zones.findings_of(valve).into_iter().map(|finding| finding.in_zone(name)));
    }
    once_in_order(findings)
}

/// The zones of a garden, to be looked at one after the other.
struct Zones<'a> {
    garden: &'a Garden,
    sections: Sections,
    switches: Switches,
    /// For each switch or booster of a pair the others.
    partners: HashMap<usize, Vec<usize>>,
    /// Boosters without a switch that something fed in all zones up to now: the first zone that leaves one dry reports it.
    unswitched: Vec<usize>,
    /// For each node the rated valves there that no zone strained yet while they were closed, the weakest last.
    rated_valves: HashMap<usize, Vec<(f64, usize)>>,
}

impl Zones<'_> {
    fn of(garden: &Garden) -> Zones<'_> {
        let switches = Switches::of(garden);
        let mut partners: HashMap<usize, Vec<usize>> = HashMap::new();
        for (switch, booster) in switches.pairs() {
            partners.entry(switch).or_default().push(booster);
            partners.entry(booster).or_default().push(switch);
        }
        let unswitched = garden.boosters().filter(|booster| !partners.contains_key(booster)).collect();
        let (sections, rated_valves) = (Sections::of(garden), rated_valves(garden));
        Zones { garden, sections, switches, partners, unswitched, rated_valves }
    }

    /// What is to be said of one zone open alone, by the places of the whole garden; none where it has no steady state.
    fn findings_of(&mut self, valve: usize) -> Vec<Finding> {
        let excerpt = self.excerpt(valve);
        let cut = excerpt.garden(self.garden);
        let zone: Vec<&str> = excerpt.place(valve).map(|_| self.garden.name(valve)).into_iter().collect();
        let Ok(solution) = run_switched(&cut, &zone, &self.switches.within(&excerpt)) else { return Vec::new() };
        let is_dry = |booster: usize| excerpt.place(booster).is_none_or(|place| solution.parts[place].pressure_in_pa.is_none());
        self.unswitched.retain(|&booster| !is_dry(booster));
        let mut findings = of_solution(&solution);
        for finding in &mut findings {
            finding.place = finding.place.map(|place| excerpt.whole(place));
        }
        findings.extend(self.of_shut_valves(&excerpt, &solution, valve));
        findings
    }

    /// The excerpt with a valve open: what water reaches, boosters that may run dry, and what drives or is driven by it.
    fn excerpt(&self, valve: usize) -> Excerpt {
        let excerpt = self.sections.excerpt(&[valve], &self.unswitched);
        let inside = |place: usize| excerpt.place(place).is_some();
        let mut beside = self.unswitched.clone();
        beside.extend(
            excerpt.places().iter().filter_map(|place| self.partners.get(place)).flatten().filter(|&&other| !inside(other)),
        );
        if beside.len() == self.unswitched.len() { excerpt } else { self.sections.excerpt(&[valve], &beside) }
    }

    /// Closed valves at the edge of an excerpt whose pressure is above their rating.
    fn of_shut_valves(&mut self, excerpt: &Excerpt, solution: &Solution, open: usize) -> Vec<Finding> {
        if self.rated_valves.is_empty() {
            return Vec::new();
        }
        let overshoot = Overshoot::of(solution);
        let mut strains = Vec::new();
        for (node, whole_node) in excerpt.nodes().iter().enumerate() {
            let Some(valves) = self.rated_valves.get_mut(whole_node) else { continue };
            let pressure_pa = solution.node_pa[node] - overshoot.at_node(node);
            let from = valves.partition_point(|&(rating_pa, _)| rating_pa >= pressure_pa || pressure_pa.is_nan());
            let strained = valves.split_off(from);
            for (rating_pa, place) in strained {
                if place == open {
                    valves.push((rating_pa, place));
                } else {
                    strains.push(Strain { place, pressure_pa, when: When::Running });
                }
            }
        }
        let mut book = Book::new(self.garden);
        ratings::report(&mut book, &strains);
        book.finish()
    }
}

/// For each node the rated valves that have an end there, the weakest last.
fn rated_valves(garden: &Garden) -> HashMap<usize, Vec<(f64, usize)>> {
    let mut at_node: HashMap<usize, Vec<(f64, usize)>> = HashMap::new();
    for valve in garden.valves() {
        let Some(rating_pa) = garden.parts()[valve].si(Id::PressureRating) else { continue };
        let joint = &garden.layout().places[valve];
        for node in [joint.from, joint.to] {
            at_node.entry(node).or_default().push((rating_pa, valve));
        }
    }
    at_node.values_mut().for_each(|valves| valves.sort_by(|a, b| b.0.total_cmp(&a.0)));
    at_node
}
