//! Functions for pipes by trade size or by inside diameter.

use super::make::build;
use crate::laws::pipe_sizes::{LengthUnit, PipeSeries, PipeSize, SERIES, find_pipe_size, find_series};
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Dimension, Preference, Quantity, ZERO_CELSIUS_K, dim};
use crate::script::language::error::{Answer, raise, raise_about};
use crate::script::language::values::expect_quantity;
use crate::table::{Column, Table};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// A pipe by its trade size, with a wall this warm.
fn pipe_of(length: &Dynamic, name: &str, celsius: Option<f64>) -> Answer<Part> {
    let size = find_pipe_size(name).map_err(|error| raise_about(error, "size"))?;
    let rating_pa = celsius.map_or(Ok(size.rating_pa()), |celsius| size.rating_at_pa(celsius));
    let rating_pa = rating_pa.map_err(|error| raise_about(error, "temperature"))?;
    let unit = size.series.unit;
    let shown = |si, dimension| Dynamic::from(Quantity { si, dimension, preference: shown_in(unit, dimension) });
    let (diameter, rating) = (shown(size.inside_m(), dim::LENGTH), shown(rating_pa, dim::PRESSURE));
    let roughness = Dynamic::from(Quantity::new(size.series.roughness_m, dim::LENGTH));
    let numbers = [(Id::Length, length), (Id::Diameter, &diameter), (Id::PressureRating, &rating), (Id::Roughness, &roughness)];
    build(Kind::Pipe, None, &numbers)
}

/// How lengths and pressures of pipes show whose sizes are named in a unit.
fn shown_in(unit: LengthUnit, dimension: Dimension) -> Preference {
    let name = match (unit, dimension == dim::LENGTH) {
        (LengthUnit::Inch, true) => "in",
        (LengthUnit::Inch, false) => "psi",
        (LengthUnit::Millimeter, true) => "mm",
        (LengthUnit::Millimeter, false) => "bar",
    };
    Preference::written_in(name)
}

fn sizes_of(series: impl IntoIterator<Item = &'static PipeSeries>) -> Answer<Table> {
    let sizes: Vec<PipeSize> = series.into_iter().flat_map(PipeSeries::sizes).collect();
    let unit = sizes.first().map(|size| size.series.unit).filter(|unit| sizes.iter().all(|size| size.series.unit == *unit));
    let column = |name: &str, dimension: Dimension, of: fn(&PipeSize) -> f64| {
        let preference = unit.map_or(Preference::Usual, |unit| shown_in(unit, dimension));
        Column::quantities(name, sizes.iter().map(|size| Some(of(size))), dimension, preference)
    };
    let columns = vec![
        Column::texts("pipe", sizes.iter().map(PipeSize::name)),
        Column::texts("what", sizes.iter().map(|size| size.series.detail)),
        column("outside_diameter", dim::LENGTH, PipeSize::outside_m),
        column("wall", dim::LENGTH, PipeSize::wall_m),
        column("inside_diameter", dim::LENGTH, PipeSize::inside_m),
        column("pressure_rating", dim::PRESSURE, PipeSize::rating_pa),
        Column::texts("source", sizes.iter().map(|size| size.series.source)),
    ];
    Table::new(columns).map_err(raise)
}

#[export_module]
mod functions {
    /// A rigid pipe (mainline, lateral, riser) by length and trade size (`pipe_sizes()` lists them), or by length and inside diameter;
    /// friction loss as in a hose. A trade size brings the inside diameter, the pressure rating and the roughness; the temperature of
    /// its wall, where it is given, lowers the rating.
    ///
    /// ```hw
    /// pipe(20.ft, "3/4 in sch 40").diameter                     // => 0.824 in
    /// pipe(20.ft, "1 in class 200", 100.degF).pressure_rating   // => 124 psi
    /// pipe(20.ft, 0.9.inch).named("riser").length               // => 20 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pipe(length: Dynamic, size: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let name = size.as_immutable_string_ref().map(|name| name.to_string());
        match name {
            Ok(name) => pipe_of(&length, &name, None),
            Err(_) => build(Kind::Pipe, None, &[(Id::Length, &length), (Id::Diameter, &size)]),
        }
    }

    #[rhai_fn(name = "pipe", return_raw)]
    pub fn warm_pipe(length: Dynamic, size: &str, temperature: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let wall = expect_quantity(&temperature, dim::TEMPERATURE, "pipe: temperature")?;
        pipe_of(&length, size, Some(wall - ZERO_CELSIUS_K))
    }

    /// A table of pipes by trade size, all or those of one type: outside diameter, least wall, inside diameter, pressure rating and
    /// source. Plastic walls are on average thicker than the least: the mean inside diameter is up to 0.5 mm (0.02 in) smaller.
    ///
    /// ```hw
    /// pipe_sizes("class 200")["pipe"][0]   // => 3/4 in class 200
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pipe_sizes() -> Result<Table, Box<EvalAltResult>> {
        sizes_of(SERIES)
    }

    #[rhai_fn(name = "pipe_sizes", return_raw)]
    pub fn pipe_sizes_of(series: &str) -> Result<Table, Box<EvalAltResult>> {
        sizes_of([find_series(series).map_err(raise)?])
    }
}
