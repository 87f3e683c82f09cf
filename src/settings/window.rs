//! The window of a pressure switch: which cut-in and cut-out let the pump start in every zone, stay on, and stop.
//!
//! Cut-in must lie above the pressure of every zone without the pump, cut-out above that with the pump, both at the highest
//! pressure of the main; cut-out below the pressure at shut-off at the lowest pressure of the main, relief settings and ratings.
//! The margins are those of `findings::limits`.

use super::bench::{AtRest, Pair};
use super::bounds::{Bound, BoundKind};
use super::case::{Ask, Case, Range};
use super::change::Remedy;
use super::error::SettingsError;
use super::scale::Suggestion;
use crate::findings::limits::GAUGE_MARGIN;
use crate::garden::Garden;
use crate::hydraulics::Drive;
use crate::numeric::seek;
use crate::parts::Id;
use crate::quantity::{Preference, Quantity, dim};

/// How much room there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// There is a range that keeps all margins.
    Works,
    /// There is a range, but only without the margins.
    NoMargin,
    /// No setting works.
    DoesNotWork,
}

impl Verdict {
    /// The verdict in short.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Works => "works",
            Verdict::NoMargin => "works, no margin",
            Verdict::DoesNotWork => "does not work",
        }
    }
}

/// What a pump does when its switch never stops it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    pub pressure_pa: f64,
    /// Flow through relief valves and leaks meanwhile, m3/s.
    pub flow_m3_per_s: f64,
}

/// The window of a switch.
#[derive(Clone, Debug)]
pub struct Window {
    /// The garden as it was given.
    pub garden: Garden,
    /// What was asked for.
    pub ask: Ask,
    /// The switch, by its place in the garden.
    pub switch: usize,
    /// The booster that it drives, by its place in the garden.
    pub booster: usize,
    /// Least difference between cut-in and cut-out, Pa.
    pub differential_pa: f64,
    /// Widest difference between cut-in and cut-out, Pa; never below the least.
    pub widest_pa: f64,
    /// What the switch reads, one entry for each set of zones that run together.
    pub cases: Vec<Case>,
    /// At the switch with the pump off and all outlets closed, at the usual pressure of the main, Pa.
    pub rest_pa: f64,
    /// The same at the highest pressure of the main, Pa.
    pub rest_highest_pa: f64,
    /// At the switch with the pump at shut-off, at the lowest pressure of the main, Pa.
    pub dead_head_lowest_pa: f64,
    /// The same at the usual pressure of the main, Pa.
    pub dead_head_pa: f64,
    /// The same at the highest pressure of the main, Pa.
    pub dead_head_highest_pa: f64,
    /// Where the pump settles against closed outlets with relief valves and leaks doing their work.
    pub settled: Settled,
    /// What bounds cut-in and cut-out, from zones, the pump, relief valves and ratings.
    pub bounds: Vec<Bound>,
    /// How much room the bounds leave.
    pub verdict: Verdict,
    /// With margins where the settings have them; none where no settings work.
    pub cut_in: Option<Range>,
    /// Cut-out pressures that work; as for cut-in.
    pub cut_out: Option<Range>,
    /// Settings on the scale of a switch that work, those that keep all margins first.
    pub suggestion: Option<Suggestion>,
    /// What would open a window that is not open, found by trying.
    pub remedies: Vec<Remedy>,
}

impl Window {
    /// The bound from above that holds cut-out lowest; always there, since a pump has a dead head.
    pub fn lowest_ceiling(&self) -> Option<&Bound> {
        let ceilings = self.bounds.iter().filter(|bound| !bound.is_lower());
        ceilings.min_by(|a, b| a.kept_pa().total_cmp(&b.kept_pa()))
    }

    /// The zone that pushes a setting highest.
    pub fn highest_floor(&self, kind: BoundKind) -> Option<&Bound> {
        let floors = self.bounds.iter().filter(|bound| bound.kind == kind);
        floors.max_by(|a, b| a.kept_pa().total_cmp(&b.kept_pa()))
    }

    /// The least cut-out that keeps the margins from below, Pa: above the zones, and far enough above cut-in.
    pub fn least_cut_out_pa(&self) -> f64 {
        let floor = |kind: BoundKind| self.highest_floor(kind).map_or(0.0, Bound::kept_pa);
        floor(BoundKind::ZoneWithPump).max(floor(BoundKind::ZoneWithoutPump) + self.differential_pa)
    }

    /// True where settings that can be bought keep all margins.
    pub fn is_sound(&self) -> bool {
        self.suggestion.is_some_and(|suggestion| suggestion.keeps_margins)
    }

    /// The cases that leave room between their own pressures and what bounds cut-out from above, and those that do not. Cases
    /// that do so one by one do so together, for each adds a bound from below of its own.
    pub fn works_and_fails(&self) -> (Vec<&Case>, Vec<&Case>) {
        let ceiling_pa = self.lowest_ceiling().map_or(f64::NAN, Bound::kept_pa);
        let gauge_pa = GAUGE_MARGIN.of(&self.garden);
        let least_pa = |case: &Case| (case.on_highest_pa + gauge_pa).max(case.off_highest_pa + gauge_pa + self.differential_pa);
        self.cases.iter().partition(|case| least_pa(case) <= ceiling_pa)
    }

    /// The pressure to which the main may fall before a pump that starts no longer reaches this cut-out, Pa; none where it
    /// reaches it whatever the main does, or never. Errors: no steady state.
    pub fn stops_down_to_pa(&self, cut_out_pa: f64) -> Result<Option<f64>, SettingsError> {
        const TOLERANCE_PA: f64 = 10.0;
        let pair = Pair { switch: self.switch, booster: self.booster };
        let supplies = self.garden.supplies();
        let Some(usual_pa) = supplies.filter_map(|supply| self.garden.parts()[supply].si(Id::StaticPressure)).reduce(f64::max)
        else {
            return Ok(None);
        };
        let mut at_rest = AtRest::of(&self.garden, pair)?;
        let mut above = |main_pa: f64| -> Result<f64, SettingsError> {
            // All supplies fall by the same.
            let fallen = self.garden.with_main(|own_pa| (own_pa - usual_pa + main_pa).max(TOLERANCE_PA))?;
            Ok(at_rest.at_switch_pa(&fallen, Drive::Full)? - cut_out_pa)
        };
        if above(usual_pa)? < 0.0 || above(TOLERANCE_PA)? >= 0.0 {
            return Ok(None);
        }
        Ok(seek(TOLERANCE_PA, usual_pa, TOLERANCE_PA, above).ok().map(|sought| sought.x))
    }

    /// The garden with the suggested settings given to its switch; none where there are none.
    pub fn settled_garden(&self) -> Option<Garden> {
        let Suggestion { cut_in, cut_out, .. } = self.suggestion?;
        let name = self.garden.name(self.switch);
        let part = (*self.garden.parts()[self.switch]).clone().with(&[(Id::CutIn, cut_in), (Id::CutOut, cut_out)]).ok()?;
        self.garden.replace(name, &part).ok()
    }

    /// A pressure in the unit of the switch's settings.
    pub fn pressure(&self, si: f64) -> Quantity {
        Quantity { si, dimension: dim::PRESSURE, preference: preference(&self.garden, self.switch) }
    }
}

pub(super) fn preference(garden: &Garden, switch: usize) -> Preference {
    let own = || garden.units().preference(dim::PRESSURE);
    garden.parts()[switch].get(Id::CutIn).map_or_else(|_| own(), |cut_in| cut_in.preference)
}
