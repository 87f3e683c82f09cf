//! The booster pump.

use super::error::{Contradiction, PartError};
use super::faults::FaultKind;
use super::id::Id;
use super::kind::Kind;
use super::law::Law;
use super::law_of::law_of;
use super::parameter::{NOT_NEGATIVE, POSITIVE, Parameter, Parameters, Rule};
use super::part::{Part, Spec, stores_none};
use super::traits::{Placing, SymbolShape, Traits};
use crate::laws::pump::water_power_w;
use crate::quantity::FOOT_M;
use std::sync::Arc;

/// Net positive suction head that a small garden pump is taken to require where none is given, m: 10 ft. Common practice, no
/// source; makers state 2 to 4 m for pumps of this size.
pub const USUAL_NPSH_M: f64 = 10.0 * FOOT_M;

pub(super) const BOOSTER: Spec = Spec {
    kind: Kind::Booster,
    word: "booster",
    about: "a booster pump by points of its curve; when off, water flows through it freely",
    placing: Placing::Inline,
    traits: Traits { pushes_back: true, pumps: true, ..Traits::PLAIN },
    symbol: SymbolShape::Pump,
    headline: &[],
    faults: &[FaultKind::WillNotStop, FaultKind::WillNotStart],
    parameters: Parameters::of(&[
        Parameter::new(Id::Speed, "", POSITIVE, "speed as a fraction of the speed of the curve (affinity laws)").or(1.0),
        Parameter::new(Id::Efficiency, "", Rule::Share, "wire-to-water efficiency: hydraulic power over input power"),
        Parameter::new(Id::InputPower, "W", POSITIVE, "electrical input power while it runs"),
        Parameter::new(
            Id::Npsh,
            "ft",
            NOT_NEGATIVE,
            "net positive suction head required (NPSHr); 10 ft is assumed where the manufacturer gives none",
        ),
        Parameter::new(Id::Price, "$", NOT_NEGATIVE, "price"),
        Parameter::new(Id::PressureRating, "psi", POSITIVE, "pressure rating (highest working pressure)"),
        Parameter::new(
            Id::DryRunCutoff,
            "psi",
            Rule::Any,
            "inlet pressure at or below which a dry-run cut-off locks the pump out",
        ),
    ]),
    check: check_booster,
    stores: stores_none,
    law: law_of!(|part, _| {
        let Some(curve) = part.curve() else { return Law::Free };
        let speed = part.value(Id::Speed);
        let curve = if speed == 1.0 { Arc::clone(curve) } else { Arc::new(curve.at_speed(speed)) };
        Law::Booster { curve, holds_pa: None }
    }),
};

fn check_booster(part: &Part) -> Result<(), PartError> {
    if part.curve().is_none() {
        return Err(part.contradiction(
            "it has no curve",
            "give points of flow and boost, as in booster({[[0.gpm, 40.psi], [10.gpm, 20.psi]]|[[0.lpm, 3.bar], [40.lpm, 1.5.bar]]})",
        ));
    }
    match part.quantity(Id::InputPower) {
        Some(power) if power.preference.unit().is_some_and(|unit| unit.symbol == "hp") => Err(part.contradiction(
            Contradiction::of("{} on a nameplate is shaft power, not electrical input power", &[power]),
            "write .shaft_power(1.hp), or give the input power in watts or by .amps(8, 115)",
        )),
        _ => Ok(()),
    }
}

/// How a booster runs: its flow, what it adds to the pressure, and the drive that holds its pressure, if it has one.
#[derive(Clone, Copy, Debug)]
pub struct Running<'a> {
    /// Flow through it, m3/s.
    pub flow_m3_per_s: f64,
    /// Pressure at its outlet less that at its inlet, Pa.
    pub rise_pa: f64,
    /// Its drive; without one it runs at its own speed.
    pub drive: Option<&'a Part>,
}

impl Part {
    /// Electrical power of a booster that runs, W: its input power, or the water power over its efficiency; nothing where it says neither.
    ///
    /// With a drive the input power goes with the cube of the speed, and the efficiency stays what it is, both by the affinity laws; what the
    /// drive itself takes comes on top, also at full speed.
    pub fn electric_power_w(&self, running: Running) -> Option<f64> {
        let of_efficiency = |efficiency: f64| (water_power_w(running.flow_m3_per_s, running.rise_pa) / efficiency).max(0.0);
        let slowed = || running.drive.map_or(1.0, |_| self.share_of_speed(running.flow_m3_per_s, running.rise_pa).powi(3));
        let own_w = self.si(Id::InputPower).map(|power_w| power_w * slowed());
        let own_w = own_w.or_else(|| self.si(Id::Efficiency).map(of_efficiency))?;
        Some(own_w / running.drive.and_then(|drive| drive.si(Id::Efficiency)).unwrap_or(1.0))
    }

    /// True where it is known what a booster takes from the mains.
    pub fn states_power(&self) -> bool {
        self.si(Id::InputPower).or(self.si(Id::Efficiency)).is_some()
    }

    /// Speed of a booster that adds this pressure at this flow, as a share of its own speed; 1 for what it does not reach, and without a curve.
    pub fn share_of_speed(&self, flow_m3_per_s: f64, rise_pa: f64) -> f64 {
        let speed = self.value(Id::Speed);
        self.curve().map_or(1.0, |curve| (curve.speed_for(flow_m3_per_s, rise_pa) / speed).min(1.0))
    }
}
