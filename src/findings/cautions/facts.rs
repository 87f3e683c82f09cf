//! What cautions ask of a garden, gathered in one walk over the kinds of its parts.

use crate::findings::protection::has_bare_booster;
use crate::garden::Garden;
use crate::parts::{Backward, Placing, Soil, Spec};
use crate::quantity::UnitSystem;

/// Water of this temperature or more lets bacteria grow, K: 20 degC. Health-agency advice, from memory.
const WARM_WATER_K: f64 = 293.15;

/// What a garden is made of.
pub struct Facts<'a> {
    garden: &'a Garden,
    /// One spec for each kind of part that it has.
    specs: Vec<&'static Spec>,
    /// The places of its sources.
    sources: Vec<usize>,
}

impl<'a> Facts<'a> {
    pub fn of(garden: &'a Garden) -> Facts<'a> {
        let mut seen = 0u64;
        let (mut specs, mut sources) = (Vec::new(), Vec::new());
        for (place, kind) in garden.layout().kinds().iter().enumerate() {
            let bit = 1u64 << (*kind as u64);
            let is_new = seen & bit == 0;
            if is_new {
                seen |= bit;
                specs.push(kind.spec());
            }
            if kind.spec().placing == Placing::Source {
                sources.push(place);
            }
        }
        Facts { garden, specs, sources }
    }

    /// True when some part is so.
    pub fn any(&self, is_so: impl Fn(&Spec) -> bool) -> bool {
        self.specs.iter().any(|spec| is_so(spec))
    }

    pub fn is_fed(&self) -> bool {
        !self.sources.is_empty()
    }

    /// A tap on a main, or a well system.
    pub fn main(&self) -> bool {
        self.any(Spec::is_main)
    }

    pub fn open_tank(&self) -> bool {
        self.any(Spec::is_tank)
    }

    pub fn pump(&self) -> bool {
        self.any(|spec| spec.traits.pumps)
    }

    /// Something that can push water back toward the source.
    pub fn pushes_back(&self) -> bool {
        self.any(|spec| spec.traits.pushes_back)
    }

    pub fn preventer(&self) -> bool {
        self.any(|spec| spec.traits.backward == Backward::Protects)
    }

    pub fn hose(&self) -> bool {
        self.any(|spec| spec.traits.flexible)
    }

    pub fn pipe(&self) -> bool {
        self.any(|spec| spec.traits.trenched)
    }

    /// Drip or soaker lines, into which fertilizer is often fed.
    pub fn drip(&self) -> bool {
        self.any(|spec| spec.traits.drips)
    }

    /// Outlets that throw water through the air.
    pub fn spray(&self) -> bool {
        self.any(|spec| spec.traits.waters && !spec.traits.drips && spec.traits.soil != Soil::In)
    }

    /// Two sources in one network, one of which need not be the main.
    pub fn joined_sources(&self) -> bool {
        self.sources.len() > 1 && self.main()
    }

    pub fn warm_water(&self) -> bool {
        self.garden.water().temperature_k >= WARM_WATER_K
    }

    /// True when a source was given in metric units.
    pub fn metric(&self) -> bool {
        let given = |place: &usize| self.garden.parts()[*place].given().next().map(|(_, quantity)| quantity);
        let units = self.sources.iter().filter_map(given).filter_map(|quantity| quantity.shown_unit(UnitSystem::AsWritten));
        units.into_iter().any(|unit| unit.symbol == unit.metric && unit.symbol != unit.us)
    }

    /// A booster on a main in a garden that gives water, without a preventer upstream of it or a relief downstream of it.
    pub fn bare_booster(&self) -> bool {
        self.main() && self.pump() && has_bare_booster(self.garden)
    }
}
