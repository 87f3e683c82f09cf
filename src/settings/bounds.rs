//! What sets the ends of a window: zones, the pump, relief valves and ratings, each brought to the height of the switch.

use super::bench::{Outlets, Pair, Push, Rest};
use super::error::SettingsError;
use super::window::Case;
use crate::findings::limits::{DEAD_HEAD_MARGIN_PA, GAUGE_MARGIN_PA, RELIEF_ABOVE_CUT_OUT_PA};
use crate::garden::Garden;
use crate::parts::Kind as PartKind;
use crate::quantity::{Quantity, dim};

/// What a bound comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Pressure of a zone without the pump: cut-in must lie above it, else the pump never starts.
    ZoneWithoutPump,
    /// Pressure of a zone with the pump: cut-out must lie above it, else the pump short-cycles.
    ZoneWithPump,
    /// Pressure against shut valves: cut-out must lie below it, else the pump never stops.
    DeadHead,
    /// Setting of a relief valve: cut-out must lie below it, else it weeps.
    Relief,
    /// Rating of a part on the pressurised line: cut-out must lie below it.
    Rating,
}

/// One bound on a setting.
#[derive(Clone, Debug)]
pub struct Bound {
    pub kind: Kind,
    /// The part it comes from; nothing for a zone.
    pub place: Option<usize>,
    /// The zones it comes from; empty for a part.
    pub zones: Vec<String>,
    /// The limit at the switch, Pa.
    pub limit_pa: f64,
    /// How far a setting is to stay away from it, Pa.
    pub margin_pa: f64,
    /// The number of the part itself (a setting, a rating), in its own unit and at its own height.
    pub own: Option<Quantity>,
}

impl Bound {
    /// The limit with its margin: the least or the highest setting that keeps it.
    pub fn kept_pa(&self) -> f64 {
        match self.kind {
            Kind::ZoneWithoutPump | Kind::ZoneWithPump => self.limit_pa + self.margin_pa,
            _ => self.limit_pa - self.margin_pa,
        }
    }

    /// The setting it bounds.
    pub fn setting(&self) -> &'static str {
        if self.kind == Kind::ZoneWithoutPump { "cut-in" } else { "cut-out" }
    }

    /// True for a bound from below.
    pub fn is_lower(&self) -> bool {
        matches!(self.kind, Kind::ZoneWithoutPump | Kind::ZoneWithPump)
    }
}

/// All bounds of a garden. `highest` is the garden under the highest street pressure, `usual` under that of its supply.
pub fn bounds(usual: &Garden, highest: &Garden, pair: Pair, cases: &[Case]) -> Result<Vec<Bound>, SettingsError> {
    let zone = |kind: Kind, case: &Case, limit_pa: f64| Bound {
        kind,
        place: None,
        zones: case.zones.clone(),
        limit_pa,
        margin_pa: GAUGE_MARGIN_PA,
        own: None,
    };
    let mut found: Vec<Bound> = Vec::new();
    for case in cases {
        found.push(zone(Kind::ZoneWithoutPump, case, case.off_highest_pa));
        found.push(zone(Kind::ZoneWithPump, case, case.on_highest_pa));
    }
    let dead_head = Rest::of(usual, pair, Outlets::Plugged, Push::Share(1.0))?;
    found.push(Bound {
        kind: Kind::DeadHead,
        place: Some(pair.booster),
        zones: Vec::new(),
        limit_pa: dead_head.felt.pressure_pa,
        margin_pa: DEAD_HEAD_MARGIN_PA,
        own: None,
    });
    found.extend(of_parts(highest, pair)?);
    Ok(found)
}

/// Reliefs and ratings on the line whose pressure goes up and down with that at the switch.
fn of_parts(garden: &Garden, pair: Pair) -> Result<Vec<Bound>, SettingsError> {
    /// Speed of the pump in a second state, to see which parts follow the switch; any other than full speed will do.
    const SLOWER: f64 = 0.8;
    /// Pressures that move together agree to this, Pa.
    const TOGETHER_PA: f64 = 1.0;
    let full = Rest::of(garden, pair, Outlets::Plugged, Push::Share(1.0))?;
    let slower = Rest::of(garden, pair, Outlets::Plugged, Push::Share(SLOWER))?;
    let step_pa = full.felt.pressure_pa - slower.felt.pressure_pa;
    let bound = |place: usize| -> Option<Bound> {
        let part = &garden.parts()[place];
        let (number, kind, margin_pa) = match part.kind() {
            PartKind::Relief => ("set", Kind::Relief, RELIEF_ABOVE_CUT_OUT_PA),
            _ => ("rating", Kind::Rating, GAUGE_MARGIN_PA),
        };
        let own = part.get(number).ok()?;
        let at_pa = full.highest(garden, place)?;
        let follows = (at_pa - slower.highest(garden, place)? - step_pa).abs() < TOGETHER_PA;
        let limit_pa = own.si - (at_pa - full.felt.pressure_pa);
        follows.then_some(Bound { kind, place: Some(place), zones: Vec::new(), limit_pa, margin_pa, own: Some(own) })
    };
    // Heads and other outlets have needs, not ratings; a pump without effect on the switch bounds nothing.
    if step_pa <= TOGETHER_PA {
        return Ok(Vec::new());
    }
    Ok((0..garden.parts().len()).filter_map(bound).collect())
}

/// The garden with its street pressure raised to `highest_pa` at every tap that stands lower, at all flows alike.
pub fn under(garden: &Garden, highest_pa: f64) -> Result<Garden, SettingsError> {
    let mut changed = garden.clone();
    for place in garden.of_kind(PartKind::Supply) {
        let part = &garden.parts()[place];
        let (Some(usual_pa), name) = (part.si("static_pressure"), garden.name(place)) else { continue };
        let more_pa = highest_pa - usual_pa;
        if more_pa <= 0.0 {
            continue;
        }
        let pressure = |si: f64| Quantity::new(si, dim::PRESSURE);
        // The static pressure goes first, so that the measured one never stands above it.
        changed = changed.but(&format!("{name}.static_pressure"), pressure(highest_pa))?;
        if let Some(measured_pa) = part.si("measured_pressure") {
            changed = changed.but(&format!("{name}.measured_pressure"), pressure(measured_pa + more_pa))?;
        }
    }
    Ok(changed)
}
