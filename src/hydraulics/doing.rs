//! What each part does in a steady state, beyond pressure and flow: whether a head has what it needs, whether a regulator holds.

use super::solution::Solution;
use super::switch::Verdict;
use crate::laws::friction::Regime;
use crate::parts::{Id, Running};
use std::borrow::Cow;

/// What a part does in a steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Doing {
    /// It belongs to a ring without loss: how the flow is split between its branches is undetermined.
    SplitUndetermined,
    /// A tank into which water runs.
    Fills,
    /// An outlet without flow.
    NoFlow,
    /// A head below its operating range.
    BelowRange,
    /// A head above its operating range.
    AboveRange,
    /// A head in its operating range.
    InRange,
    /// A check valve or backflow preventer through which water flows.
    Open,
    /// A check valve, backflow preventer, relief valve or regulator through which no water flows.
    Closed,
    /// A relief valve that lets water out.
    Relieving,
    /// A regulator that holds its setting.
    Regulates,
    /// A regulator with flow whose inlet pressure is below its setting.
    WideOpen,
    /// A booster that runs.
    Runs,
    /// A booster that its drive runs at this speed, in percent of its own.
    RunsAt(u8),
    /// A booster that does not run; water flows through it freely.
    Off,
    /// A pressure switch, relay, control or drive, and what comes of it.
    Switches(Verdict),
    /// A hose or pipe with flow, and its flow regime.
    Flows(Regime),
}

impl Doing {
    /// The state in short, for tables.
    pub fn words(self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Doing::SplitUndetermined => "split undetermined",
            Doing::Fills => "fills",
            Doing::NoFlow => "no flow",
            Doing::BelowRange => "below range",
            Doing::AboveRange => "above range",
            Doing::InRange => "in range",
            Doing::Open => "open",
            Doing::Closed => "closed",
            Doing::Relieving => "relieving",
            Doing::Regulates => "regulates",
            Doing::WideOpen => "wide open",
            Doing::Runs => "runs",
            Doing::Off => "off",
            Doing::Switches(verdict) => verdict.word(),
            Doing::Flows(regime) => regime.name(),
            Doing::RunsAt(percent) => return Cow::Owned(format!("runs at {percent}%")),
        })
    }
}

impl Solution {
    /// What the part at a place does; `None` where pressure and flow say all.
    pub fn doing(&self, place: usize) -> Option<Doing> {
        let (part, state) = (&self.garden.parts()[place], &self.parts[place]);
        let flows = state.flow_m3_per_s != 0.0;
        let either = |holds: bool, this: Doing, other: Doing| Some(if holds { this } else { other });
        if self.undetermined.iter().flatten().any(|&other| other == place) {
            return Some(Doing::SplitUndetermined);
        }
        let (spec, traits) = (part.spec(), part.traits());
        if traits.fills && state.flow_m3_per_s < 0.0 {
            Some(Doing::Fills)
        } else if traits.waters && !flows {
            Some(Doing::NoFlow)
        } else if spec.throws() {
            self.need_met(place)
        } else if spec.keeps_back() {
            either(flows, Doing::Open, Doing::Closed)
        } else if traits.opens {
            either(self.open[place], Doing::Open, Doing::Closed)
        } else if traits.relieves {
            either(flows, Doing::Relieving, Doing::Closed)
        } else if spec.regulates() {
            either(flows, if self.held.contains(&place) { Doing::Regulates } else { Doing::WideOpen }, Doing::Closed)
        } else if traits.pumps {
            match self.garden.drive_of(place) {
                _ if !self.runs[place] => Some(Doing::Off),
                Some(_) => Some(Doing::RunsAt((100.0 * self.share_of_speed(place)).round() as u8)),
                None => Some(Doing::Runs),
            }
        } else if traits.starts.is_some() {
            self.switches.iter().find(|switch| switch.place == place).map(|switch| Doing::Switches(switch.verdict))
        } else {
            state.regime().filter(|_| spec.is_line()).map(Doing::Flows)
        }
    }

    /// Whether the pressure at a head is below, in or above its operating range; `None` for one without a range, and where no source
    /// is connected.
    pub fn need_met(&self, place: usize) -> Option<Doing> {
        let part = &self.garden.parts()[place];
        let pressure_pa = self.parts[place].pressure_out_pa?;
        match (part.si(Id::RangeLow), part.si(Id::RangeHigh)) {
            (Some(low_pa), _) if pressure_pa < low_pa => Some(Doing::BelowRange),
            (_, Some(high_pa)) if pressure_pa > high_pa => Some(Doing::AboveRange),
            (Some(_), _) => Some(Doing::InRange),
            _ => None,
        }
    }

    /// Electrical power of a booster in this state, W: zero while off; `None` where neither its input power nor its efficiency is
    /// given. Source: [`Part::electric_power_w`](crate::parts::Part::electric_power_w).
    pub fn electric_power_w(&self, place: usize) -> Option<f64> {
        if self.runs[place] { self.garden.parts()[place].electric_power_w(self.running(place)) } else { Some(0.0) }
    }

    /// Speed of a booster as a share of its own speed: less than 1 only with a drive, zero while off.
    pub fn share_of_speed(&self, place: usize) -> f64 {
        let Running { flow_m3_per_s, rise_pa, drive } = self.running(place);
        match drive {
            _ if !self.runs[place] => 0.0,
            Some(_) => self.garden.parts()[place].share_of_speed(flow_m3_per_s, rise_pa),
            None => 1.0,
        }
    }

    /// How a booster runs. What it adds with a drive shows in the pressures at its ends, and else follows from its curve.
    fn running(&self, place: usize) -> Running<'_> {
        let (part, state) = (&self.garden.parts()[place], &self.parts[place]);
        let flow_m3_per_s = state.flow_m3_per_s;
        let by_curve = || part.curve().map_or(0.0, |curve| curve.at_speed(part.value(Id::Speed)).rise(flow_m3_per_s).0);
        let drive = self.garden.drive_of(place).map(|drive| &*self.garden.parts()[drive]);
        let by_ends = || state.loss_pa().map(|loss_pa| -loss_pa);
        let rise_pa = drive.and_then(|_| by_ends()).unwrap_or_else(by_curve);
        Running { flow_m3_per_s, rise_pa, drive }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::hydraulics::run;
    use crate::hydraulics::test_parts::part;
    use crate::parts::Kind;

    fn doing(supply_psi: f64, name: &str) -> Option<Doing> {
        let line = [
            part(Kind::Supply, "tap", &[("static_pressure", supply_psi, "psi")]),
            part(Kind::Hose, "feed", &[("length", 50.0, "ft"), ("diameter", 0.625, "in")]),
            part(Kind::Regulator, "first", &[("set", 50.0, "psi")]),
            part(Kind::Regulator, "second", &[("set", 30.0, "psi")]),
            part(Kind::Head, "spray", &[("nozzle", 0.125, "in"), ("range_low", 25.0, "psi")]),
        ];
        let garden = line.into_iter().map(Garden::of).reduce(|a, b| a.then(&b).unwrap()).unwrap();
        let solution = run(&garden, &[]).unwrap();
        solution.doing(garden.find(name).unwrap())
    }

    #[test]
    fn of_two_regulators_in_a_row_each_says_for_itself_whether_it_holds() {
        assert_eq!((doing(60.0, "first"), doing(60.0, "second")), (Some(Doing::Regulates), Some(Doing::Regulates)));
        assert_eq!((doing(40.0, "first"), doing(40.0, "second")), (Some(Doing::WideOpen), Some(Doing::Regulates)));
        assert_eq!((doing(28.0, "first"), doing(28.0, "second")), (Some(Doing::WideOpen), Some(Doing::WideOpen)));
    }

    #[test]
    fn a_head_says_how_its_pressure_stands_to_what_it_needs() {
        assert_eq!(doing(60.0, "spray"), Some(Doing::InRange));
        assert_eq!(doing(20.0, "spray"), Some(Doing::BelowRange));
    }
}
