//! A garden, a valve and a closing time: what the water hammer does to each part, and the course at the valve and the check valve.

use super::hose::{Hose, hose_of, is_lump};
use super::march::{Marched, Moment, Span, march};
use super::model::{Model, model, surroundings};
use super::slow::with_share;
use super::step::{Line, TooMuch};
use super::waves::{joukowsky_pa, michaud_pa, reflection_time_s};
use crate::garden::{Garden, GardenError};
use crate::hydraulics::{RunError, Solution, run};
use crate::limits;
use crate::parts::{Backward, Id, Placing};
use crate::quantity::{Quantity, dim};
use crate::told::Told;
use std::collections::{HashMap, HashSet};
use thiserror::Error;

/// Why water hammer cannot be computed.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum WaterHammerError {
    /// A zone is no valve of the garden, or the garden makes no sense.
    #[error(transparent)]
    Garden(#[from] GardenError),
    /// The steady state before the closing was not found.
    #[error(transparent)]
    Run(#[from] RunError),
    /// The list of zones is empty.
    #[error("no zone is named, so no valve closes")]
    NoZone,
    /// The valve is dry or its flow is nothing, so closing it stops no water.
    #[error("valve '{name}' has no flow, so closing it makes no water hammer")]
    NoFlow {
        /// Name of the valve.
        name: String,
    },
    /// There is no length in which a wave could run to the valve.
    #[error("no hose or pipe leads to valve '{name}'")]
    NoHose {
        /// Name of the valve.
        name: String,
    },
    /// Water boils on the way already before the valve closes.
    #[error("the line upstream of '{name}' is at full vacuum: water hammer cannot be computed with column separation")]
    Parted {
        /// Name of the part before which it does.
        name: String,
    },
    /// The closing time is below zero or not finite.
    #[error("the closing time must be zero or above, found {found}")]
    BadTime {
        /// The time that was given.
        found: Quantity,
    },
    /// The hoses are so unequal in length that following the waves would take too long.
    #[error("computing the waves from valve '{name}' would take {steps} steps over {points} points of hose")]
    TooMuch {
        /// Name of the valve.
        name: String,
        /// Steps of time that it would take.
        steps: f64,
        /// Points along all hoses that each step works out.
        points: f64,
    },
    /// Somebody or a limit stopped it.
    #[error("stopped")]
    Stopped,
}

impl Told for WaterHammerError {
    fn hint(&self) -> Option<String> {
        match self {
            WaterHammerError::Garden(error) => error.hint(),
            WaterHammerError::Run(error) => error.hint(),
            WaterHammerError::Stopped => None,
            WaterHammerError::NoZone => Some("name the valve that closes, as in water_hammer(\"berries\", 0.1.s)".into()),
            WaterHammerError::NoFlow { .. } => {
                Some("find out why its zone has no flow; give several zones as [\"berries\", \"beds\"]".into())
            }
            WaterHammerError::Parted { .. } => {
                Some("lower the pump or the crest, or widen the line to it; .findings() gives more".into())
            }
            WaterHammerError::NoHose { .. } => Some("put the hose or pipe that feeds it into the line".into()),
            WaterHammerError::BadTime { .. } => Some("give a time such as 0.1.s; 0.s closes at once".into()),
            WaterHammerError::TooMuch { .. } => {
                Some("leave out branches that are far from the valve and stay closed, or give a longer closing time".into())
            }
        }
    }
}

/// What a part goes through, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Struck {
    /// The part, by its place in the garden.
    pub place: usize,
    /// On the way from the supply to the valve; side branches and other zones are not.
    pub on_the_way: bool,
    /// For hoses and pipes.
    pub hose: Option<Hose>,
    /// Velocity of the water before the valve closes, m/s.
    pub speed_m_per_s: Option<f64>,
    /// The higher pressure of its ends before the valve closes.
    pub before_pa: f64,
    /// The highest pressure in it from the closing on, Pa.
    pub highest_pa: f64,
    /// The lowest pressure in it from the closing on, Pa.
    pub lowest_pa: f64,
}

/// Pressure over time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// Seconds since the valve begins to close; the other lists go by it.
    pub time_s: Vec<f64>,
    /// Before the valve that closes.
    pub valve_pa: Vec<f64>,
    /// Downstream of the check valve nearest to the valve; empty where there is none.
    pub check_pa: Vec<f64>,
    /// Flow through that check valve, m3/s.
    pub check_m3_per_s: Vec<f64>,
}

/// The water hammer of a valve that closes.
#[derive(Clone, Debug)]
pub struct WaterHammer {
    /// The steady state before the valve closes.
    pub solution: Solution,
    /// The valve that closes, by its place in the garden.
    pub valve: usize,
    /// Time in which the valve stops the flow, s; zero closes at once.
    pub closing_time_s: f64,
    /// The check valve of the trace.
    pub check: Option<usize>,
    /// Time in which a wave runs from the valve to the source and back, s.
    pub reflection_time_s: f64,
    /// Rise by Joukowsky's formula in the hose upstream of the valve, Pa.
    pub joukowsky_pa: f64,
    /// Rise by Michaud's formula, Pa; at a closing faster than the reflection time it does not hold.
    pub michaud_pa: f64,
    /// The end of the closing that is followed wave by wave, s; before it the water runs steadily at each moment.
    pub followed_s: f64,
    /// The step of the march, s.
    pub step_s: f64,
    /// The parts, those on the way first and in its order.
    pub parts: Vec<Struck>,
    /// Pressures upstream of the valve and downstream of the check valve over time.
    pub trace: Trace,
}

/// Default time in which a valve stops the flow, s: small timer valves close within some tenths of a second.
/// Common practice, no source.
const DEFAULT_CLOSING_TIME_S: f64 = 0.3;

/// The end of a slow closing that is followed wave by wave, in times of a wave to the farthest place and back: by then the
/// pressure that stops the water is less than a four-hundredth of Joukowsky's rise.
const LONGEST_FOLLOWED: f64 = 400.0;
/// The share of the flow from which a closing is followed at least.
const LEAST_SHARE: f64 = 1e-6;

/// Water hammer when the first of these zones closes while the others run on. Without a time the valve's own is taken.
///
/// The valve throttles the flow evenly to nothing, whatever the pressure; a real one does most of it near the end, so give
/// the time in which the flow truly stops. Errors: unknown zones, no steady state, no flow or no hose upstream of the valve.
pub fn water_hammer(garden: &Garden, zones: &[&str], closing_time_s: Option<f64>) -> Result<WaterHammer, WaterHammerError> {
    let name = zones.first().ok_or(WaterHammerError::NoZone)?.to_string();
    let solution = run(garden, zones)?;
    let valve = garden.find(&name)?;
    let closing_time_s =
        closing_time_s.unwrap_or_else(|| garden.parts()[valve].si(Id::ClosingTime).unwrap_or(DEFAULT_CLOSING_TIME_S));
    of_solution(solution, valve, closing_time_s, 1.0)
}

/// Water hammer of a solution; `finer` multiplies the number of stretches.
pub(super) fn of_solution(
    solution: Solution,
    valve: usize,
    closing_time_s: f64,
    finer: f64,
) -> Result<WaterHammer, WaterHammerError> {
    let garden = &solution.garden;
    let name = || garden.name(valve).to_string();
    if !(closing_time_s >= 0.0 && closing_time_s.is_finite()) {
        return Err(WaterHammerError::BadTime { found: Quantity::new(closing_time_s, dim::TIME) });
    }
    if let Some(&parted) = solution.parted.first() {
        return Err(WaterHammerError::Parted { name: garden.name(parted).to_string() });
    }
    let way = way_to(&solution, valve);
    let hoses: Vec<Hose> = way.iter().filter_map(|&place| hose_of(garden, place)).collect();
    let Some(last) = hoses.last().copied() else { return Err(WaterHammerError::NoHose { name: name() }) };
    let speed = |hose: &Hose| solution.parts[hose.place].speed_m_per_s.unwrap_or(0.0);
    let length = |hose: &Hose| garden.parts()[hose.place].value(Id::Length);
    let reflection_time_s = reflection_time_s(hoses.iter().map(|hose| (length(hose), hose.wave_speed_m_per_s)));
    let density = garden.water().density_kg_per_m3;
    let no_flow = || WaterHammerError::NoFlow { name: name() };
    let too_much = |TooMuch { steps, points }| WaterHammerError::TooMuch { name: name(), steps, points };
    let around = surroundings(&solution, valve).ok_or_else(no_flow)?;
    let followed_s = closing_time_s.min(LONGEST_FOLLOWED * reflection_time_s.max(2.0 * around.farthest_s));
    let line = Line { way: &hoses, all: &around.hoses, number_of_parts: garden.parts().len(), closing_s: followed_s };
    let steps = line.steps(finer).map_err(too_much)?;
    let steady_s = closing_time_s - followed_s;
    let late =
        (steady_s > 0.0).then(|| with_share(&solution, valve, (followed_s / closing_time_s).max(LEAST_SHARE))).transpose()?;
    let mut model = model(late.as_ref().unwrap_or(&solution), valve, steps.step_s).ok_or_else(no_flow)?;
    steps.check(model.work_of_step()).map_err(too_much)?;
    let check = way.iter().rev().copied().find(|&place| garden.spec(place).traits.backward == Backward::Keeps);
    limits::room_for(steps.bytes(model.number_of_points())).map_err(|_| WaterHammerError::Stopped)?;
    let mut trace = Trace::default();
    if steady_s > 0.0 {
        note_start(&mut trace, &solution, valve, check);
    }
    let share = |time_s: f64| if time_s >= followed_s { 0.0 } else { 1.0 - time_s / followed_s };
    let seen = march(&mut model, &steps, share, |moment| note(&mut trace, moment, steady_s, garden, check));
    let joukowsky_pa = joukowsky_pa(density, last.wave_speed_m_per_s, speed(&last));
    let mut parts = struck(&solution, &model, &seen, &way, valve);
    if is_lump(&last, steps.step_s)
        && closing_time_s <= 2.0 * last.travel_s
        && let Some(rise_pa) = model.rise_at_once_pa(garden)
    {
        strike_at_once(&mut parts, [valve, last.place], rise_pa);
    }
    Ok(WaterHammer {
        closing_time_s,
        valve,
        check,
        reflection_time_s,
        joukowsky_pa,
        michaud_pa: michaud_pa(density, hoses.iter().map(|hose| (length(hose), speed(hose))), closing_time_s),
        followed_s,
        step_s: steps.step_s,
        parts,
        trace,
        solution,
    })
}

/// A valve that closes before a wave is through the lump before it: no wave is followed there, but the rise is known.
fn strike_at_once(parts: &mut [Struck], places: [usize; 2], rise_pa: f64) {
    let struck_pa = parts.iter().find(|part| part.place == places[0]).map_or(f64::NAN, |valve| valve.before_pa + rise_pa);
    for part in parts.iter_mut().filter(|part| places.contains(&part.place)) {
        part.highest_pa = part.highest_pa.max(struck_pa);
    }
}

impl WaterHammer {
    /// The rise that the usual formulas give: Joukowsky's, or Michaud's where the valve closes slower than waves return.
    pub fn formula_pa(&self) -> f64 {
        if self.closing_time_s <= self.reflection_time_s { self.joukowsky_pa } else { self.michaud_pa.min(self.joukowsky_pa) }
    }

    /// The part that sees the highest pressure; of equals the one nearest to the valve.
    pub fn hardest(&self) -> Option<&Struck> {
        self.parts.iter().reduce(|best, part| if part.highest_pa >= best.highest_pa { part } else { best })
    }

    /// Hoses on the way that are too short for waves to be followed in them.
    pub fn lumps(&self) -> impl Iterator<Item = usize> + '_ {
        let lump = |part: &&Struck| part.on_the_way && part.hose.is_some_and(|hose| is_lump(&hose, self.step_s));
        self.parts.iter().filter(lump).map(|part| part.place)
    }

    /// What the valve goes through.
    pub fn at_valve(&self) -> Option<&Struck> {
        self.parts.iter().find(|part| part.place == self.valve)
    }

    /// The garden in which it happens.
    pub fn garden(&self) -> &Garden {
        &self.solution.garden
    }

    /// The same valve closed in another time. Errors: as for [`water_hammer`].
    pub fn shut_in(&self, closing_time_s: f64) -> Result<WaterHammer, WaterHammerError> {
        of_solution(self.solution.clone(), self.valve, closing_time_s, 1.0)
    }
}

/// The places from the source to the valve, in the order of the water, the valve last.
fn way_to(solution: &Solution, valve: usize) -> Vec<usize> {
    let name = solution.garden.name(valve).to_string();
    let mut way: Vec<usize> = solution.pressure_profile(&name).unwrap_or_default().iter().map(|point| point.place).collect();
    if solution.parts[valve].flow_m3_per_s < 0.0 || way.last() != Some(&valve) {
        // Turned round, the valve gives its water to the end by which it was joined: the way ends before it.
        way.retain(|&place| place != valve);
        way.push(valve);
    }
    way
}

/// The state before a slow closing.
fn note_start(trace: &mut Trace, solution: &Solution, valve: usize, check: Option<usize>) {
    let places = &solution.garden.layout().places;
    let before = if solution.parts[valve].flow_m3_per_s > 0.0 { places[valve].from } else { places[valve].to };
    trace.time_s.push(0.0);
    trace.valve_pa.push(solution.node_pa[before]);
    if let Some(check) = check {
        trace.check_pa.push(solution.node_pa[places[check].to]);
        trace.check_m3_per_s.push(solution.parts[check].flow_m3_per_s);
    }
}

fn note(trace: &mut Trace, moment: &Moment, after_s: f64, garden: &Garden, check: Option<usize>) {
    let model = moment.model;
    trace.time_s.push(after_s + moment.time_s);
    trace.valve_pa.push(model.nodes[model.valve_from].pressure_pa + model.valve_higher_pa);
    let Some(check) = check else { return };
    let Some(element) = model.elements.iter().find(|element| element.place == check) else { return };
    if let Some((node, higher_pa)) = model.at[garden.layout().places[check].to] {
        trace.check_pa.push(model.nodes[node].pressure_pa + higher_pa);
        trace.check_m3_per_s.push(element.flow);
    }
}

/// What each part saw: its two ends, and for hoses all points between.
fn struck(solution: &Solution, model: &Model, seen: &Marched, way: &[usize], valve: usize) -> Vec<Struck> {
    let garden = &solution.garden;
    let joints = &garden.layout().places;
    let of_node = |node: usize| {
        let (index, higher_pa) = model.at[node]?;
        let span = seen.nodes[index];
        Some(Span { highest_pa: span.highest_pa + higher_pa, lowest_pa: span.lowest_pa + higher_pa })
    };
    let conduits: HashMap<usize, usize> = model.conduits.iter().zip(0..).map(|(conduit, index)| (conduit.place, index)).collect();
    let one = |place: usize, on_the_way: bool| -> Option<Struck> {
        let joint = &joints[place];
        // The far side of the valve that closes is not followed.
        let forward = solution.parts[valve].flow_m3_per_s > 0.0;
        let (from, to) = match place == valve {
            true if forward => (joint.from, joint.from),
            true => (joint.to, joint.to),
            false => (joint.from, joint.to),
        };
        let started = |node: usize| Span { highest_pa: solution.node_pa[node], lowest_pa: solution.node_pa[node] };
        let mut span = of_node(from)?.with(of_node(to)?).with(started(from)).with(started(to));
        if let Some(&index) = conduits.get(&place) {
            span = span.with(seen.conduits[index]);
        }
        Some(Struck {
            place,
            on_the_way,
            hose: hose_of(garden, place),
            speed_m_per_s: solution.parts[place].speed_m_per_s,
            before_pa: solution.node_pa[from].max(solution.node_pa[to]),
            highest_pa: span.highest_pa,
            lowest_pa: span.lowest_pa,
        })
    };
    let on_the_way: HashSet<usize> = way.iter().copied().collect();
    let aside = (0..garden.parts().len()).filter(|place| !on_the_way.contains(place) && solution.open[*place]);
    let aside = aside.filter(|&place| garden.spec(place).placing != Placing::Source);
    way.iter().filter_map(|&place| one(place, true)).chain(aside.filter_map(|place| one(place, false))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::{Kind, Part};
    use crate::quantity::find_unit;

    fn part(kind: Kind, name: &str, numbers: &[(&str, f64, &str)]) -> Garden {
        let quantity = |value: f64, unit: &str| Quantity::written(value, find_unit(unit).expect("a unit"));
        let numbers: Vec<(&str, Quantity)> = numbers.iter().map(|&(name, value, unit)| (name, quantity(value, unit))).collect();
        Garden::of(Part::of_words(kind, Some(name), &numbers).expect("a sound part"))
    }

    #[test]
    fn a_finer_march_changes_little() {
        let hose = |name: &str, length: f64, diameter: f64| {
            part(Kind::Hose, name, &[("length", length, "ft"), ("diameter", diameter, "in"), ("compliance", 3.0, "mL/bar/m")])
        };
        let parts = [
            part(Kind::Supply, "tap", &[("static_pressure", 58.0, "psi")]),
            part(Kind::CheckValve, "check", &[]),
            hose("feed", 100.0, 0.75),
            hose("end", 37.0, 0.625),
            part(Kind::Valve, "beds", &[]),
            part(Kind::Head, "bed", &[("nozzle", 0.1875, "in")]),
        ];
        let garden = parts[1..].iter().fold(parts[0].clone(), |line, next| line.then(next).expect("joins"));
        for time_s in [0.0, 0.3] {
            let highest = |finer: f64| {
                let solution = run(&garden, &["beds"]).expect("a steady state");
                let valve = garden.find("beds").expect("known");
                let found = of_solution(solution, valve, time_s, finer).expect("a knock");
                found.at_valve().expect("the valve").highest_pa
            };
            let (coarse, middle, fine) = (highest(1.0), highest(2.0), highest(4.0));
            assert!((coarse / fine - 1.0).abs() < 5e-3, "{coarse} {middle} {fine}");
            assert!((middle / fine - 1.0).abs() <= (coarse / fine - 1.0).abs().max(5e-4), "{coarse} {middle} {fine}");
        }
    }
    fn beside_a_long_branch(short_in: f64, closing_s: f64) -> (Garden, f64) {
        let hose = |name: &str, length_ft: f64, diameter: f64| {
            part(Kind::Hose, name, &[("length", length_ft, "ft"), ("diameter", diameter, "in"), ("compliance", 3.0, "mL/bar/m")])
        };
        let supply = [("static_pressure", 58.0, "psi"), ("measured_pressure", 44.0, "psi"), ("measured_flow", 6.0, "gpm")];
        let tap = part(Kind::Supply, "tap", &supply);
        let trunk = tap.then(&hose("feed", 40.0, 0.75)).and_then(|line| line.then(&hose("short", short_in / 12.0, 0.5)));
        let ways = [
            part(Kind::Valve, "beds", &[]).then(&part(Kind::Head, "bed", &[("nozzle", 0.15, "in")])).expect("joins"),
            hose("long", 120.0, 0.625).then(&part(Kind::Head, "far", &[("nozzle", 0.1, "in")])).expect("joins"),
        ];
        (trunk.and_then(|line| line.then_branches(&ways)).expect("joins"), closing_s)
    }

    fn rise_in_steps(garden: &Garden, closing_s: f64, finer: f64) -> (f64, usize) {
        let found =
            of_solution(run(garden, &["beds"]).expect("a steady state"), garden.find("beds").expect("known"), closing_s, finer);
        let found = found.expect("a knock");
        let valve = found.at_valve().expect("the valve");
        (valve.highest_pa - valve.before_pa, found.lumps().count())
    }

    #[test]
    fn a_lump_changes_the_rise_by_less_than_a_hundredth_against_waves_followed_in_it() {
        for (short_in, coarse, fine) in [(6.0, 0.2, 3.0), (3.0, 0.2, 2.0), (1.0, 0.4, 2.0)] {
            for closing_s in [0.1, 0.3] {
                let (garden, closing_s) = beside_a_long_branch(short_in, closing_s);
                let (lumped, lumps) = rise_in_steps(&garden, closing_s, coarse);
                let (waves, none) = rise_in_steps(&garden, closing_s, fine);
                assert_eq!((lumps, none), (1, 0), "{short_in} in");
                assert!((lumped / waves - 1.0).abs() < 0.01, "{short_in} in, {closing_s} s: {lumped} Pa instead of {waves}");
            }
        }
    }
}
