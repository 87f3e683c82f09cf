//! What sets the ends of a window: zones, the pump, relief valves and ratings, each brought to the height of the switch.

use super::bench::{AtRest, Pair};
use super::case::Case;
use super::error::SettingsError;
use super::mains::Mains;
use crate::findings::limits::{GAUGE_MARGIN, RELIEF_MARGIN, SHUT_OFF_MARGIN};
use crate::findings::rating_share;
use crate::garden::Garden;
use crate::hydraulics::Drive;
use crate::parts::Id;
use crate::quantity::Quantity;

/// What a bound comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoundKind {
    /// Pressure of a zone without the pump: cut-in must lie above it, else the pump never starts.
    ZoneWithoutPump,
    /// Pressure of a zone with the pump: cut-out must lie above it, else the pump short-cycles.
    ZoneWithPump,
    /// Pressure at shut-off under the lowest pressure of the main: cut-out must lie below it, else the pump never stops.
    DeadHead,
    /// Setting of a relief valve: cut-out must lie below it, else it weeps.
    Relief,
    /// Rating of a part on the pressurized line: cut-out must lie below it.
    Rating,
}

/// One bound on a setting.
#[derive(Clone, Debug)]
pub struct Bound {
    /// What sets the bound.
    pub kind: BoundKind,
    /// The part it comes from; none for a zone.
    pub place: Option<usize>,
    /// The zones it comes from; empty for a part.
    pub zones: Vec<String>,
    /// The limit at the switch, Pa.
    pub limit_pa: f64,
    /// How far a setting is to stay away from it, Pa.
    pub margin_pa: f64,
    /// The parameter of the part itself (a setting, a rating), in its own unit and at its own height.
    pub own: Option<Quantity>,
}

impl Bound {
    /// The limit with its margin: the least or the highest setting that keeps it.
    pub fn kept_pa(&self) -> f64 {
        match self.kind {
            BoundKind::ZoneWithoutPump | BoundKind::ZoneWithPump => self.limit_pa + self.margin_pa,
            _ => self.limit_pa - self.margin_pa,
        }
    }

    /// By how much settings keep away from the limit, as a share of the margin; below zero where they break it.
    pub fn kept_share(&self, cut_in_pa: f64, cut_out_pa: f64) -> f64 {
        let setting_pa = if self.kind == BoundKind::ZoneWithoutPump { cut_in_pa } else { cut_out_pa };
        let room_pa = if self.is_lower() { setting_pa - self.limit_pa } else { self.limit_pa - setting_pa };
        room_pa / self.margin_pa
    }

    /// The setting it bounds.
    pub fn setting(&self) -> &'static str {
        if self.kind == BoundKind::ZoneWithoutPump { "cut-in" } else { "cut-out" }
    }

    /// True for a bound from below.
    pub fn is_lower(&self) -> bool {
        matches!(self.kind, BoundKind::ZoneWithoutPump | BoundKind::ZoneWithPump)
    }
}

/// All bounds of a garden: zones, relief valves and ratings at the highest pressure of the main, shut-off at the lowest.
///
/// Errors: a state at rest has no steady solution.
pub fn bounds(mains: &Mains, pair: Pair, cases: &[Case], at_rest: &mut AtRest) -> Result<Vec<Bound>, SettingsError> {
    let zone = |kind: BoundKind, case: &Case, limit_pa: f64| Bound {
        kind,
        place: None,
        zones: case.zones.clone(),
        limit_pa,
        margin_pa: GAUGE_MARGIN.of(&mains.usual),
        own: None,
    };
    let mut found: Vec<Bound> = Vec::new();
    for case in cases {
        found.push(zone(BoundKind::ZoneWithoutPump, case, case.off_highest_pa));
        found.push(zone(BoundKind::ZoneWithPump, case, case.on_highest_pa));
    }
    found.push(Bound {
        kind: BoundKind::DeadHead,
        place: Some(pair.booster),
        zones: Vec::new(),
        limit_pa: at_rest.at_switch_pa(&mains.lowest, Drive::Full)?,
        margin_pa: SHUT_OFF_MARGIN.of(&mains.usual),
        own: None,
    });
    found.extend(of_parts(&mains.highest, pair, at_rest)?);
    Ok(found)
}

/// Reliefs and ratings on the line whose pressure goes up and down with that at the switch.
pub(super) fn of_parts(garden: &Garden, pair: Pair, at_rest: &mut AtRest) -> Result<Vec<Bound>, SettingsError> {
    /// Speed of the pump in a second state, to see which parts follow the switch; any other than full speed will do.
    const SLOWER: f64 = 0.8;
    /// Pressures that move together agree to this, Pa.
    const TOGETHER_PA: f64 = 1.0;
    let full = at_rest.state(garden, Drive::Full)?;
    let slower = at_rest.state(garden, Drive::Share(SLOWER))?;
    let (Some(full_pa), Some(slower_pa)) = (full.at(garden, pair.switch), slower.at(garden, pair.switch)) else {
        return Ok(Vec::new());
    };
    let step_pa = full_pa - slower_pa;
    let bound = |place: usize| -> Option<Bound> {
        let spec = garden.spec(place);
        let (number, kind) = match spec.traits.relieves {
            true => (Id::Set, BoundKind::Relief),
            false => (Id::PressureRating, BoundKind::Rating),
        };
        let own = if spec.has(number) { garden.parts()[place].quantity(number)? } else { return None };
        let margin_pa = match kind {
            BoundKind::Relief => RELIEF_MARGIN.of(garden),
            _ => rating_share(garden, place).map_or(0.0, |share| (1.0 - share) * own.si).max(GAUGE_MARGIN.of(garden)),
        };
        let at_pa = full.highest(garden, place)?;
        let follows = (at_pa - slower.highest(garden, place)? - step_pa).abs() < TOGETHER_PA;
        let limit_pa = own.si - (at_pa - full_pa);
        follows.then_some(Bound { kind, place: Some(place), zones: Vec::new(), limit_pa, margin_pa, own: Some(own) })
    };
    // Heads and other outlets have needs, not ratings; a pump without effect on the switch bounds nothing.
    if step_pa <= TOGETHER_PA {
        return Ok(Vec::new());
    }
    Ok((0..garden.parts().len()).filter_map(bound).collect())
}
