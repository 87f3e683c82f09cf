//! The supply curve of a tap: its working pressure over flow, with the readings it was measured by.

use super::Color;
use super::view::View;
use crate::figure::{Axis, CurveStyle, Figure, Plot, Series};
use crate::garden::Garden;
use crate::parts::{Id, Law};
use crate::quantity::{UnitSystem, dim};

/// Points of the curve.
const STEPS: usize = 48;

/// Flow of the chart where no test gives one, m3/s: 10 gpm.
const USUAL_FLOW_M3_PER_S: f64 = 10.0 * crate::quantity::GPM_M3_PER_S;

/// The figure of the supply at a place; none for a part that is no supply. It goes to the flow at which the usual minimum in the main
/// is left, and at least to one and a half times the largest flow of a test.
pub fn tap_figure(garden: &Garden, place: usize, system: UnitSystem) -> Option<Figure> {
    let part = &garden.parts()[place];
    let Law::Source { pressure_pa, resistance } = garden.law_of(place) else { return None };
    let system = system.or_own(garden.units());
    let view = View { garden, solution: None, color: Color::Pressure, system };
    let shown = |(flow, pressure_pa): (f64, f64)| (view.shown(flow, dim::FLOW), view.shown(pressure_pa, dim::PRESSURE));
    let measured = part.si(Id::MeasuredFlow).zip(part.si(Id::MeasuredPressure));
    let readings: Vec<(f64, f64)> =
        if part.readings().is_empty() { measured.into_iter().collect() } else { part.readings().to_vec() };
    let tested = readings.iter().map(|(flow, _)| *flow).fold(0.0, f64::max);
    let left =
        if resistance > 0.0 { ((pressure_pa - garden.least_tap_pa()).max(0.0) / resistance).sqrt() } else { USUAL_FLOW_M3_PER_S };
    let most = left.max(1.5 * tested);
    let curve =
        (0..=STEPS).map(|step| most * step as f64 / STEPS as f64).map(|flow| (flow, pressure_pa - resistance * flow * flow));
    let curve = curve.filter(|(_, pressure_pa)| *pressure_pa >= 0.0).map(shown);
    let mut layers = vec![(CurveStyle::Lines, Series::new("working pressure", curve))];
    let at_rest = (0.0, part.si(Id::StaticAtTest).unwrap_or(pressure_pa));
    layers.push((CurveStyle::Points, Series::new("readings", std::iter::once(at_rest).chain(readings).map(shown))));
    let x = Axis::new("flow").unit(view.unit_text(dim::FLOW)).from_zero();
    let y = Axis::new("pressure").unit(view.unit_text(dim::PRESSURE)).from_zero();
    Some(Figure::new(x, y, Plot::Layers(layers)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::svg;
    use crate::support::*;

    #[test]
    fn a_tap_is_drawn_with_its_readings_and_other_parts_are_not() {
        let garden = line(&[supply("tap", 58.0, 44.0, 6.0), head("bed", 0.125)]);
        let drawn = svg(&tap_figure(&garden, 0, UnitSystem::AsWritten).expect("a supply")).expect("drawn");
        assert!(drawn.contains("working pressure") && drawn.contains("readings") && drawn.contains("gpm"), "{drawn}");
        assert!(tap_figure(&garden, 1, UnitSystem::AsWritten).is_none());
    }
}
