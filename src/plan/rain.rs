//! Water on the ground of a plan: a coverage or depths, with beds, obstacles, wind and cans.

use super::PlanError;
use super::real::CIRCLES;
use crate::coverage::{CatchCans, Coverage, Depth, Grid};
use crate::figure::{Axis, Ground, Label, Map, Rain};
use crate::parts::SymbolShape;
use crate::quantity::{Quantity, UnitSystem, dim, find_unit};
use crate::table::ColumnKind;

/// What the ground of a plan shows.
#[derive(Clone, Copy, Debug)]
pub enum Wet<'a> {
    /// Application rates.
    Coverage(&'a Coverage),
    /// Depths over a schedule.
    Depth(&'a Depth),
}

impl Wet<'_> {
    fn grid(&self) -> &Grid {
        match self {
            Wet::Coverage(coverage) => &coverage.grid,
            Wet::Depth(depth) => &depth.grid,
        }
    }

    fn values(&self) -> &[f64] {
        match self {
            Wet::Coverage(coverage) => &coverage.rates_m_per_s,
            Wet::Depth(depth) => &depth.depths_m,
        }
    }

    fn units(&self) -> UnitSystem {
        match self {
            Wet::Coverage(coverage) => coverage.units,
            Wet::Depth(depth) => depth.units,
        }
    }
}

/// Puts water on the ground of a plan to scale; cans with their rates beside a coverage.
///
/// Errors: a plan that is not to scale; cans without places, mouth or time.
pub fn put_rain(map: &mut Map, wet: Wet, cans: Option<&CatchCans>, system: UnitSystem) -> Result<(), PlanError> {
    let Ground::Real { unit } = &map.ground else { return Err(PlanError::NotToScale) };
    let meter = find_unit(unit).map_or(1.0, |unit| unit.to_si(1.0));
    let on_map = |(x_m, y_m): (f64, f64)| (x_m / meter, y_m / meter);
    let (grid, values, units) = (wet.grid(), wet.values(), wet.units());
    let system = system.or_own(units);
    let (dimension, symbol, word) = match wet {
        Wet::Coverage(_) => (dim::SPEED, "in/h", "application rate"),
        Wet::Depth(_) => (dim::LENGTH, "in", "depth of water"),
    };
    let kind = ColumnKind::Quantity { dimension, preference: units.preference_of(symbol) };
    let shown = |si: f64| kind.shown_value(si, system);
    let outlines = |of: &[crate::coverage::Outline]| -> Vec<Vec<(f64, f64)>> {
        of.iter().map(|outline| outline.corners().iter().map(|corner| on_map(*corner)).collect()).collect()
    };
    let frame = grid.ground.frame();
    let cells = 0..grid.columns * grid.rows;
    let mut notes = vec![format!("colors show the {word}, the cross the driest spot")];
    let mut wind = None;
    if let Wet::Coverage(coverage) = wet
        && let Some(known) = coverage.wind
    {
        let speed = Quantity { preference: units.preference_of("mph"), ..Quantity::new(known.speed_m_per_s, dim::SPEED) };
        wind = Some((known.toward(), format!("wind {}", speed.show(system))));
        notes.push("circles show the throw in calm air".into());
        map.notes.retain(|note| !note.starts_with(CIRCLES));
    }
    let mut at_cans = Vec::new();
    if let (Some(cans), Wet::Coverage(_)) = (cans, wet) {
        let places = cans.places_m(Some(frame)).map_err(PlanError::Cans)?;
        for (place, catch) in places.iter().zip(&cans.catches) {
            at_cans.push((on_map(*place), shown(cans.rate_m_per_s(*catch).map_err(PlanError::Cans)?)));
        }
        notes.push("discs show what the cans caught".into());
    }
    if !grid.ground.obstacles.is_empty() {
        notes.push("gray ground takes no water".into());
    }
    map.notes.splice(0..0, notes);
    name_only(map);
    let lowest = grid.lowest(values);
    let least = Quantity { preference: units.preference_of(symbol), ..Quantity::new(values[lowest], dimension) };
    let driest = format!("driest {}", least.show(system));
    map.rain = Some(Rain {
        frame: (on_map((frame.left_m, frame.bottom_m)), on_map((frame.right_m, frame.top_m))),
        columns: grid.columns,
        values: cells.map(|cell| (grid.share_of(cell) > 0.0).then(|| shown(values[cell]))).collect(),
        axis: Axis::new(word).unit(kind.unit_text(system).unwrap_or_default()).from_zero(),
        beds: outlines(&grid.ground.beds),
        obstacles: outlines(&grid.ground.obstacles),
        driest: Some((on_map(grid.place_m(lowest)), driest)),
        wind,
        cans: at_cans,
    });
    Ok(())
}

/// Of the labels only names, and none of hoses: the ground is what is to be seen.
fn name_only(map: &mut Map) {
    for symbol in &mut map.symbols {
        symbol.label = match std::mem::replace(&mut symbol.label, Label::Nothing) {
            Label::Number(number) => Label::Number(number),
            _ if symbol.shape == SymbolShape::Bare => Label::Nothing,
            Label::Lines(lines) if symbol.shape == SymbolShape::Head => Label::Lines(lines.into_iter().take(1).collect()),
            Label::Lines(lines) | Label::Spare(lines) => Label::Spare(lines.into_iter().take(1).collect()),
            Label::Nothing => Label::Nothing,
        };
    }
}
