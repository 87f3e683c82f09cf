//! A line with equal outlets along its length, closed at its end, such as a soaker hose: followed from outlet to outlet.
//!
//! The line is followed from its last wet outlet to its start, which needs no iteration; what is asked for, the flow or the
//! pressure at the start, is met by turning the flow of that outlet. Friction may use up all pressure on the way: the
//! outlets beyond, which get less than a share of 1e-13 of the flow, count as dry.

use super::friction::{Loss, PipeFriction};
use super::hazen_williams::HazenWilliams;
use crate::numeric::{Point, RefinedCurve, rising_root};

/// Share of the whole flow below which the last outlet counts as dry.
const DRY: f64 = 1e-13;
/// Flows between which the discharge is looked up, m3/s; outside it is followed each time.
const LOOKED_UP: (f64, f64) = (1e-10, 1.0);
/// Relative error of pressures looked up.
const WITHIN: f64 = 2e-9;

/// Friction between two outlets.
#[derive(Clone, Copy, Debug)]
pub enum Wall {
    /// By the roughness of the wall (Darcy-Weisbach).
    Rough(PipeFriction),
    /// By a Hazen-Williams coefficient.
    HazenWilliams(HazenWilliams),
}

/// A line made ready for many evaluations of its discharge.
#[derive(Debug)]
pub struct OutletLine {
    wall: Wall,
    outlets: usize,
    /// Flow of one outlet = this x pressure^exponent.
    coefficient: f64,
    exponent: f64,
    /// Logarithm of pressure over that of flow, both at the start.
    curve: RefinedCurve,
}

/// What goes in at the start of the line, and how it changes with the logarithm of the last outlet's flow.
#[derive(Clone, Copy, Debug)]
struct Start {
    flow: f64,
    flow_rate: f64,
    pressure: f64,
    pressure_rate: f64,
}

/// Flow and pressure of the last wet outlet.
#[derive(Clone, Copy)]
struct End {
    flow: f64,
    pressure: f64,
}

/// What the start of the line is to reach.
#[derive(Clone, Copy)]
enum Goal {
    Flow(f64),
    Pressure(f64),
}

impl OutletLine {
    /// `wall` is the friction of one spacing; the first outlet sits one spacing downstream of the start. `exponent` is above 0 and
    /// at most 1; each outlet gives `coefficient` x P^exponent, in m3/s and Pa.
    pub fn new(wall: Wall, outlets: usize, coefficient: f64, exponent: f64) -> OutletLine {
        let (low, high) = LOOKED_UP;
        OutletLine { wall, outlets: outlets.max(1), coefficient, exponent, curve: RefinedCurve::new(low.ln(), high.ln(), WITHIN) }
    }

    /// Pressure at the start (Pa) at a flow into it, and its slope (Pa s/m3), right to 1e-7; from a table that fills as it
    /// is used.
    pub fn pressure(&self, flow_m3_per_s: f64) -> Loss {
        let flow = flow_m3_per_s.abs();
        if flow == 0.0 {
            return Loss { loss_pa: 0.0, slope_pa_s_per_m3: 0.0 };
        }
        let point = self.curve.at(flow.ln(), |logarithm| self.logarithms(logarithm.exp()));
        let pressure = point.value.exp();
        Loss { loss_pa: pressure.copysign(flow_m3_per_s), slope_pa_s_per_m3: point.slope * pressure / flow }
    }

    /// As [`OutletLine::pressure`], to rounding, which takes a hundred times as long.
    pub fn pressure_followed(&self, flow_m3_per_s: f64) -> Loss {
        let flow = flow_m3_per_s.abs();
        if flow == 0.0 {
            return Loss { loss_pa: 0.0, slope_pa_s_per_m3: 0.0 };
        }
        let start = self.reach(Goal::Flow(flow));
        let slope = start.pressure_rate / start.flow_rate;
        let pressure = start.pressure + slope * (flow - start.flow);
        Loss { loss_pa: pressure.copysign(flow_m3_per_s), slope_pa_s_per_m3: slope }
    }

    /// Flow into the line (m3/s) at a pressure at its start (Pa), to rounding; nothing at or below zero.
    pub fn flow(&self, pressure_pa: f64) -> f64 {
        if pressure_pa <= 0.0 {
            return 0.0;
        }
        let start = self.reach(Goal::Pressure(pressure_pa));
        start.flow + start.flow_rate / start.pressure_rate * (pressure_pa - start.pressure)
    }

    /// Pressure (Pa) and flow (m3/s) at the start for a pressure above zero at the last outlet.
    pub fn from_end(&self, end_pa: f64) -> (f64, f64) {
        let start = self.follow(self.outlets, End { flow: self.coefficient * end_pa.powf(self.exponent), pressure: end_pa });
        (start.pressure, start.flow)
    }

    fn logarithms(&self, flow: f64) -> Point {
        let pressure = self.pressure_followed(flow);
        Point { value: pressure.loss_pa.ln(), slope: flow * pressure.slope_pa_s_per_m3 / pressure.loss_pa }
    }

    /// The last outlet by its flow; its pressure may be too small for a number where the exponent is near zero.
    fn end(&self, flow: f64) -> End {
        End { flow, pressure: (flow / self.coefficient).powf(1.0 / self.exponent) }
    }

    /// The start of a line of n outlets, from the last.
    fn follow(&self, outlets: usize, end: End) -> Start {
        let (mut pressure, mut pressure_rate) = (end.pressure, end.pressure / self.exponent);
        let (mut flow, mut flow_rate) = (end.flow, end.flow);
        let mut memory = 0.0;
        for outlet in 0..outlets {
            if outlet > 0 && pressure > 0.0 {
                let out = self.coefficient * if self.exponent == 0.5 { pressure.sqrt() } else { pressure.powf(self.exponent) };
                flow += out;
                flow_rate += self.exponent * out / pressure * pressure_rate;
            }
            let loss = match &self.wall {
                Wall::Rough(pipe) => pipe.loss(flow, &mut memory),
                Wall::HazenWilliams(pipe) => pipe.loss(flow),
            };
            pressure += loss.loss_pa;
            pressure_rate += loss.slope_pa_s_per_m3 * flow_rate;
        }
        Start { flow, flow_rate, pressure, pressure_rate }
    }

    /// The start that reaches a goal above zero: the last wet outlet is looked for, then its flow.
    fn reach(&self, goal: Goal) -> Start {
        // What the last outlet gives at most, were there no friction.
        let most = match goal {
            Goal::Flow(flow) => flow,
            Goal::Pressure(pressure) => self.coefficient * pressure.powf(self.exponent),
        };
        let least = DRY * most;
        let wet_up_to = |outlets: usize| goal.excess(&self.follow(outlets, self.end(least))).0 <= 0.0;
        let mut wet = self.outlets;
        if !wet_up_to(wet) {
            let (mut low, mut high) = (1, self.outlets);
            while high - low > 1 {
                let middle = low + (high - low) / 2;
                *if wet_up_to(middle) { &mut low } else { &mut high } = middle;
            }
            wet = low;
        }
        let first = if let Goal::Flow(flow) = goal { flow / wet as f64 } else { most };
        self.turn(goal, wet, (least.ln(), first.ln()))
    }

    /// On logarithms of the last outlet's flow, from the upper end of its bracket.
    fn turn(&self, goal: Goal, wet: usize, (low, high): (f64, f64)) -> Start {
        let mut start = Start { flow: 0.0, flow_rate: 0.0, pressure: 0.0, pressure_rate: 0.0 };
        rising_root(low, high, high, 1e-13, |logarithm| {
            start = self.follow(wet, self.end(logarithm.exp()));
            goal.excess(&start)
        });
        start
    }
}

impl Goal {
    /// Logarithm of what a start has over what it is to reach, and its rate.
    fn excess(self, start: &Start) -> (f64, f64) {
        match self {
            Goal::Flow(flow) => ((start.flow / flow).ln(), start.flow_rate / start.flow),
            Goal::Pressure(pressure) => ((start.pressure / pressure).ln(), start.pressure_rate / start.pressure),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const WATER: (f64, f64) = (999.1, 1.138e-3);

    /// A drip line: its length, diameter, outlets, exponent, and the flow of all outlets together at 1 bar.
    fn line(length_m: f64, diameter_m: f64, outlets: usize, exponent: f64, flow: f64) -> OutletLine {
        let spacing = PipeFriction::new(length_m / outlets as f64, diameter_m, 1.5e-6, WATER.0, WATER.1);
        OutletLine::new(Wall::Rough(spacing), outlets, flow / outlets as f64 / 1e5f64.powf(exponent), exponent)
    }

    /// Flow at a pressure by a march the other way, from the start with a guessed flow, which is bisected: with too little the
    /// water runs out before the end, with too much some is left there or the pressure runs out.
    fn shot(line: &OutletLine, pressure_pa: f64) -> f64 {
        let Wall::Rough(pipe) = line.wall else { return f64::NAN };
        let too_much = |flow: f64| {
            let (mut pressure, mut left) = (pressure_pa, flow);
            for _ in 0..line.outlets {
                pressure -= pipe.loss(left, &mut 0.0).loss_pa;
                if pressure <= 0.0 {
                    return true;
                }
                left -= line.coefficient * pressure.powf(line.exponent);
                if left <= 0.0 {
                    return false;
                }
            }
            true
        };
        let (mut low, mut high) = (0.0, line.outlets as f64 * line.coefficient * pressure_pa.powf(line.exponent));
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            *if too_much(middle) { &mut high } else { &mut low } = middle;
        }
        0.5 * (low + high)
    }

    #[test]
    fn a_drip_line_on_a_barrel_gives_what_a_march_from_its_start_gives() {
        // 100 m of 13.6 mm with 300 outlets of 2 L/h: friction leaves the far end dry at a barrel's pressure.
        let drip = line(100.0, 0.0136, 300, 0.05, 600e-3 / 3600.0);
        for pressure_pa in [0.01, 1.0, 30.0, 1e3, 3e3, 1e4, 5e4, 1e5, 3e5, 1e6] {
            let (found, expected) = (drip.flow(pressure_pa), shot(&drip, pressure_pa));
            assert!((found / expected - 1.0).abs() < 1e-9, "{pressure_pa} Pa: {found} and {expected}");
            let back = drip.pressure(found).loss_pa;
            assert!((back / pressure_pa - 1.0).abs() < 1e-7, "{pressure_pa} Pa and {back} Pa");
        }
    }

    #[test]
    fn a_reach_that_turns_turbulent_beside_the_middle_of_an_interval_is_looked_up_right() {
        // The cubic meets the curve in the middle by chance, with a corner near it.
        let line = line(254.888_108_513, 0.014_190_131_232, 111, 0.713_395_012_7, 3.924_952_659_559e-4);
        let middle = line.flow(10.711_552_828_967f64.exp());
        for share in (-10..=10).map(|step| 1.0 + 1e-4 * f64::from(step)) {
            let (quick, followed) = (line.pressure(middle * share).loss_pa, line.pressure_followed(middle * share).loss_pa);
            assert!((quick / followed - 1.0).abs() < 1e-8, "{quick} and {followed} at {share}");
        }
    }

    proptest! {
        #[test]
        fn any_line_gives_what_a_march_from_its_start_gives(
            size in (1.0f64..300.0, 0.004f64..0.03, 1usize..200),
            outlet in (0.02f64..1.0, 1e-6f64..1e-3),
            log_pressure in 0.0f64..14.0,
        ) {
            let line = line(size.0, size.1, size.2, outlet.0, outlet.1);
            let pressure_pa = log_pressure.exp();
            let (found, expected) = (line.flow(pressure_pa), shot(&line, pressure_pa));
            prop_assert!((found / expected - 1.0).abs() < 1e-8, "{found} and {expected}");
            let (quick, followed) = (line.pressure(found), line.pressure_followed(found));
            prop_assert!((followed.loss_pa / pressure_pa - 1.0).abs() < 1e-9);
            prop_assert!((quick.loss_pa / pressure_pa - 1.0).abs() < 1e-7);
            prop_assert!((quick.slope_pa_s_per_m3 / followed.slope_pa_s_per_m3 - 1.0).abs() < 1e-3);
        }

        #[test]
        fn the_slope_is_that_of_differences(outlets in 1usize..100, exponent in 0.05f64..1.0, flow in 1e-7f64..1e-3) {
            let line = line(50.0, 0.0136, outlets, exponent, 2e-4);
            let at = |share: f64| line.pressure_followed(flow * share).loss_pa;
            let (slope, step) = (line.pressure_followed(flow).slope_pa_s_per_m3, 1e-6);
            let (above, below) = ((at(1.0 + step) - at(1.0)) / (step * flow), (at(1.0) - at(1.0 - step)) / (step * flow));
            // An outlet's reach may just turn turbulent between.
            let (least, most) = (above.min(below), above.max(below));
            prop_assert!(slope >= least * (1.0 - 1e-5) && slope <= most * (1.0 + 1e-5), "{slope}: {least} to {most}");
        }
    }
}
