//! A garden judged: its problems and its weakest head, over all sets of zones.

use crate::findings::{Level, of_garden, of_solution};
use crate::garden::{Garden, GardenError};
use crate::hydraulics::{RunError, Solution, run};
use crate::parts::Id;
use crate::quantity::UnitSystem;

/// A finding above a note that the owner did not accept.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Its code.
    pub code: &'static str,
    /// The part it is about; empty for the garden as a whole.
    pub name: String,
    /// What is wrong, in the units of the garden.
    pub what: String,
}

impl Problem {
    /// Whether two are of one kind and about one part; their values may differ.
    pub fn is_like(&self, other: &Problem) -> bool {
        self.code == other.code && self.name == other.name
    }

    /// Its code and part in short.
    pub fn in_short(&self) -> String {
        if self.name.is_empty() { self.code.into() } else { format!("{} {}", self.code, self.name) }
    }
}

/// The head with the least margin above its operating range, or of those without a range the one with the least pressure.
#[derive(Clone, Debug, PartialEq)]
pub struct WeakHead {
    /// Its name.
    pub name: String,
    /// The zones that are open then.
    pub zones: Vec<String>,
    /// Pressure there, gauge, Pa.
    pub pressure_pa: f64,
}

/// What is said of a garden.
pub(super) struct Judged {
    pub problems: Vec<Problem>,
    pub weakest: Option<WeakHead>,
    solutions: Vec<Solution>,
}

impl Judged {
    /// Solves each set of zones, by default each zone by itself with the valves upstream of it, and looks for findings.
    pub fn of(garden: &Garden, zones: Option<&[Vec<String>]>) -> Result<Judged, RunError> {
        let own;
        let sets = match zones {
            Some(sets) => sets,
            None => {
                own = each_zone(garden)?;
                &own
            }
        };
        let solutions: Vec<Solution> =
            sets.iter().map(|set| run(garden, &set.iter().map(String::as_str).collect::<Vec<_>>())).collect::<Result<_, _>>()?;
        let mut problems: Vec<Problem> = Vec::new();
        let findings = of_garden(garden).into_iter().chain(solutions.iter().flat_map(of_solution));
        for finding in findings {
            let code = finding.code();
            let problem = Problem { code, name: finding.name.clone(), what: finding.what(UnitSystem::AsWritten) };
            let counts = finding.level() != Level::Note && garden.accepted().reason(code).is_none();
            if counts && !problems.iter().any(|known| known.is_like(&problem)) {
                problems.push(problem);
            }
        }
        let weakest = weakest(&solutions);
        Ok(Judged { problems, weakest, solutions })
    }

    /// The pressure at a head in the state in which it was the weakest; none where head or zones are gone.
    pub fn pressure_at(&self, weak: &WeakHead) -> Option<f64> {
        let solution = self.solutions.iter().find(|solution| solution.zones == weak.zones)?;
        solution.pressure_pa(&weak.name).ok().flatten()
    }
}

/// Each zone that waters something, with the valves upstream of it; all closed where there is no valve.
fn each_zone(garden: &Garden) -> Result<Vec<Vec<String>>, GardenError> {
    let zones = garden.zones_of_places();
    let serves = |valve: usize| garden.of_spec(|spec| spec.traits.waters).any(|place| zones[place].contains(&valve));
    let mut sets = Vec::new();
    for valve in garden.valves().filter(|&valve| serves(valve)) {
        let mut open = garden.valves_upstream(valve).unwrap_or_default();
        open.push(valve);
        sets.push(open.into_iter().map(|place| garden.name(place).to_string()).collect());
    }
    if sets.is_empty() {
        garden.opened(&[])?;
        sets.push(Vec::new());
    }
    Ok(sets)
}

fn weakest(solutions: &[Solution]) -> Option<WeakHead> {
    let mut found: Option<((bool, f64), WeakHead)> = None;
    for solution in solutions {
        for place in solution.garden.of_spec(|spec| spec.traits.waters) {
            let Some(pressure_pa) = solution.parts[place].pressure_out_pa else { continue };
            let low = solution.garden.parts()[place].si(Id::RangeLow);
            // Heads with a range come first, by their margin.
            let rank = (low.is_none(), pressure_pa - low.unwrap_or(0.0));
            if found.as_ref().is_none_or(|(best, _)| rank < *best) {
                let name = solution.garden.name(place).to_string();
                found = Some((rank, WeakHead { name, zones: solution.zones.clone(), pressure_pa }));
            }
        }
    }
    found.map(|(_, weak)| weak)
}
