//! Charts as scripts see them: what stands on which axis of which table, marks, and the file beside the script.
//!
//! Drawing is the work of `crate::figure`; here columns of a table become its description.

use super::Context;
use super::engine::context_of;
use super::error::{Answer, ScriptError, raise};
use super::garden::as_names;
use super::quantities::{as_quantity, describe};
use crate::figure::{self, Axis, BarSeries, CurveStyle, Figure, FigureError, MarkedAxis, Series};
use crate::files::write_atomically;
use crate::quantity::{Dimension, Quantity, UnitSystem};
use crate::table::{Cell, Column, Kind, Order, Table, Values};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult, INT};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A chart takes a table and is told what stands where; `save` writes it beside the script as .svg or .png. Numbers along x
make lines, texts make bars. Units stand on the axes.

```hw
let t = table([#{ length: 50.ft, p: 36.psi }, #{ length: 100.ft, p: 33.psi }, #{ length: 150.ft, p: 29.psi }]);
chart(t).x("length").y("p").mark(30.psi, "stalls below").save("length.svg")   // => saved length.svg
```
"#;

impl From<FigureError> for ScriptError {
    fn from(error: FigureError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint())
    }
}

/// A chart in the making.
#[derive(Clone, Debug)]
pub struct Chart {
    table: Table,
    x: Option<String>,
    y: Vec<String>,
    by: Option<String>,
    marks: Vec<(Quantity, String)>,
    title: Option<String>,
    style: Option<Style>,
    size: Option<(u32, u32)>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Style {
    Curves(CurveStyle),
    Bars,
}

impl Chart {
    /// The chart as SVG. Errors: columns that are missing or cannot be drawn.
    pub fn svg(&self, context: &Context) -> Answer<String> {
        let figure = Drawing { chart: self, system: context.units() }.figure()?;
        Ok(figure::svg(&figure).map_err(raise)?)
    }
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, _context: &Arc<Context>) {
    engine.register_type_with_name::<Chart>("a chart");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |chart: Chart| in_words(&chart));
    }
    engine.register_global_module(exported_module!(words).into());
}

fn in_words(chart: &Chart) -> String {
    let x = chart.x.as_deref().unwrap_or("?");
    let y = if chart.y.is_empty() { "?".to_string() } else { chart.y.join(", ") };
    format!("a chart of {y} over {x}; .save(\"name.svg\") draws it")
}

/// Columns chosen and checked, and the unit system they show in.
struct Drawing<'a> {
    chart: &'a Chart,
    system: UnitSystem,
}

impl Drawing<'_> {
    fn figure(&self) -> Answer<Figure> {
        let chart = self.chart;
        let missing = |what: &str| {
            let names = chart.table.names().join(", ");
            ScriptError::new(format!("the chart does not know what stands on its {what} axis"))
                .with_hint(format!("say .{what}(\"...\") with a column of the table: {names}"))
        };
        let x_name = chart.x.as_deref().ok_or_else(|| missing("x"))?;
        if chart.y.is_empty() {
            return Err(missing("y").into());
        }
        let x = chart.table.column(x_name).map_err(raise)?;
        let style = chart.style.unwrap_or(if x.kind().is_numeric() { Style::Curves(CurveStyle::Lines) } else { Style::Bars });
        let (y_axis, y_kind) = self.y_axis()?;
        let x_axis = self.axis(x_name, x.kind());
        let mut figure = match style {
            Style::Bars => {
                let (categories, series) = self.bars(x_name)?;
                Figure::bars(x_axis, y_axis, categories, series)
            }
            Style::Curves(curve) => {
                if !x.kind().is_numeric() {
                    let error = ScriptError::new(format!("the column '{x_name}' holds texts; lines need numbers along x"));
                    return Err(error.with_hint("leave .lines() out for bars, or choose another column").into());
                }
                Figure::curves(x_axis, y_axis, curve, self.curves(x_name)?)
            }
        };
        for (value, label) in &chart.marks {
            figure = self.mark(figure, x.kind(), y_kind, *value, label)?;
        }
        if let Some(by) = &chart.by {
            figure = figure.legend(by.as_str());
        }
        if let Some(title) = &chart.title {
            figure = figure.titled(title.as_str());
        }
        if let Some((width, height)) = chart.size {
            figure = figure.sized(width, height);
        }
        Ok(figure)
    }

    fn axis(&self, name: &str, kind: Kind) -> Axis {
        let axis = Axis::new(name);
        match kind.unit_text(self.system) {
            Some(unit) => axis.unit(unit),
            None => axis,
        }
    }

    /// The y axis: all its columns must be of one dimension.
    fn y_axis(&self) -> Answer<(Axis, Kind)> {
        let names = &self.chart.y;
        let first = self.chart.table.column(&names[0]).map_err(raise)?.kind();
        for name in names {
            let kind = self.chart.table.column(name).map_err(raise)?.kind();
            if !kind.is_numeric() {
                return Err(
                    ScriptError::new(format!("the column '{name}' holds no numbers and cannot stand on the y axis")).into()
                );
            }
            if !kind.fits(first) {
                let error = ScriptError::new(format!(
                    "'{}' and '{name}' are of different dimensions and cannot share the y axis",
                    names[0]
                ));
                return Err(error.with_hint("draw two charts").into());
            }
        }
        let common = names.iter().map(|name| name.rsplit('.').next().unwrap_or(name)).collect::<Vec<_>>();
        let label = if names.len() == 1 {
            names[0].clone()
        } else if common.iter().all(|word| *word == common[0]) {
            common[0].to_string()
        } else {
            names.join(", ")
        };
        Ok((self.axis(&label, first), first))
    }

    /// The tables that make a line each, with the names of the lines.
    fn groups(&self) -> Answer<Vec<(Option<String>, Table)>> {
        match &self.chart.by {
            None => Ok(vec![(None, self.chart.table.clone())]),
            Some(by) => {
                let groups = self.chart.table.group_by(by).map_err(raise)?;
                Ok(groups.into_iter().map(|(key, group)| (Some(self.key_in_words(&key)), group)).collect())
            }
        }
    }

    fn key_in_words(&self, key: &Cell) -> String {
        key.show(self.system)
    }

    fn series_name(&self, group: Option<&str>, y: &str) -> String {
        match (group, self.chart.y.len()) {
            (None, 1) => y.to_string(),
            (None, _) => y.to_string(),
            (Some(group), 1) => group.to_string(),
            (Some(group), _) => format!("{y}, {group}"),
        }
    }

    fn curves(&self, x_name: &str) -> Answer<Vec<Series>> {
        let mut series = Vec::new();
        for (group, table) in self.groups()? {
            let sorted = table.sort_by(x_name, Order::Rising).map_err(raise)?;
            let x = self.shown(&sorted.column(x_name).map_err(raise)?);
            for y_name in &self.chart.y {
                let y = self.shown(&sorted.column(y_name).map_err(raise)?);
                let points = x.iter().zip(y).filter_map(|(x, y)| Some(((*x)?, y))).collect();
                series.push(Series { name: self.series_name(group.as_deref(), y_name), points });
            }
        }
        Ok(series)
    }

    fn bars(&self, x_name: &str) -> Answer<(Vec<String>, Vec<BarSeries>)> {
        let names = |table: &Table| -> Answer<Vec<String>> {
            Ok(table.column(x_name).map_err(raise)?.cells().map(|cell| self.key_in_words(&cell)).collect())
        };
        let mut categories: Vec<String> = Vec::new();
        for name in names(&self.chart.table)? {
            if !categories.contains(&name) {
                categories.push(name);
            }
        }
        let mut series = Vec::new();
        for (group, table) in self.groups()? {
            let rows = names(&table)?;
            for y_name in &self.chart.y {
                let y = self.shown(&table.column(y_name).map_err(raise)?);
                let value = |category: &String| rows.iter().position(|row| row == category).and_then(|row| y[row]);
                let values = categories.iter().map(value).collect();
                series.push(BarSeries { name: self.series_name(group.as_deref(), y_name), values });
            }
        }
        Ok((categories, series))
    }

    /// The values of a column in the unit it shows in.
    fn shown(&self, column: &Column) -> Vec<Option<f64>> {
        let kind = column.kind();
        match &column.values {
            Values::Quantities { si, .. } => si.iter().map(|value| value.map(|si| kind.shown_value(si, self.system))).collect(),
            _ => vec![None; column.len()],
        }
    }

    fn mark(&self, figure: Figure, x: Kind, y: Kind, value: Quantity, label: &str) -> Answer<Figure> {
        let dimension = |kind: Kind| match kind {
            Kind::Quantity { dimension, .. } => Some(dimension),
            _ => None,
        };
        let fits = |kind: Kind| dimension(kind) == Some(value.dimension);
        if fits(y) {
            return Ok(figure.marked(MarkedAxis::Y, y.shown_value(value.si, self.system), label));
        }
        if fits(x) {
            return Ok(figure.marked(MarkedAxis::X, x.shown_value(value.si, self.system), label));
        }
        let words =
            |kind: Kind| dimension(kind).map_or_else(|| "texts".to_string(), |dimension: Dimension| dimension.to_string());
        let what = format!("mark: {} fits neither axis: x is {}, y is {}", value.described(), words(x), words(y));
        Err(ScriptError::new(what).into())
    }
}

/// Draws into a file beside the script, by its ending as .svg or .png.
pub fn save_picture(
    context: &Context,
    file: &str,
    svg: impl FnOnce() -> Result<String, FigureError>,
    png: impl FnOnce() -> Result<Vec<u8>, FigureError>,
) -> Result<String, Box<EvalAltResult>> {
    let path = context.folder.file(file).map_err(raise)?;
    let ending = path.extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
    let bytes = match ending.as_deref() {
        Some("svg") => svg().map_err(raise)?.into_bytes(),
        Some("png") => png().map_err(raise)?,
        _ => {
            let error = ScriptError::new(format!("cannot draw a chart into '{file}'"));
            return Err(error.with_hint("give the file the ending .svg or .png").into());
        }
    };
    write_atomically(&path, &bytes).map_err(raise)?;
    Ok(format!("saved {file}"))
}

#[export_module]
mod words {
    /// A chart of a table; say what stands on `x` and `y`, perhaps `by` which column the lines differ, and `save` it.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", p: 40.psi }, #{ pump: "large", p: 55.psi }]);
    /// chart(t).x("pump").y("p").save("pumps.png")   // => saved pumps.png
    /// ```
    pub fn chart(table: Table) -> Chart {
        Chart { table, x: None, y: Vec::new(), by: None, marks: Vec::new(), title: None, style: None, size: None }
    }

    /// The column along the x axis; texts make bars.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b")   // => a chart of b over a; .save("name.svg") draws it
    /// ```
    pub fn x(chart: Chart, column: &str) -> Chart {
        Chart { x: Some(column.to_string()), ..chart }
    }

    /// The column on the y axis, or a list of columns of one dimension.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2, c: 3 }])).x("a").y(["b", "c"])   // => a chart of b, c over a; .save("name.svg") draws it
    /// ```
    #[rhai_fn(return_raw)]
    pub fn y(chart: Chart, columns: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        Ok(Chart { y: as_names(&columns, "y")?, ..chart })
    }

    /// A line or a set of bars for each value of this column.
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, bore: "half", p: 9.psi }, #{ l: 2.ft, bore: "half", p: 8.psi }, #{ l: 1.ft, bore: "wide", p: 9.psi }]);
    /// chart(t).x("l").y("p").by("bore").save("by-bore.svg")   // => saved by-bore.svg
    /// ```
    pub fn by(chart: Chart, column: &str) -> Chart {
        Chart { by: Some(column.to_string()), ..chart }
    }

    /// A line across the chart at a value, with its label; the axis is the one of its dimension, y where both fit.
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, p: 9.psi }, #{ l: 2.ft, p: 8.psi }]);
    /// chart(t).x("l").y("p").mark(1.gpm, "too much").save("m.svg")   // => error: mark: 1 gpm (a flow) fits neither axis: x is a length, y is a pressure
    /// ```
    #[rhai_fn(return_raw)]
    pub fn mark(chart: Chart, value: Dynamic, label: &str) -> Result<Chart, Box<EvalAltResult>> {
        let mut chart = chart;
        let value = as_quantity(&value)
            .ok_or_else(|| ScriptError::new(format!("mark needs a number or quantity, found {}", describe(&value))))?;
        chart.marks.push((value, label.to_string()));
        Ok(chart)
    }

    /// The title above a chart.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").titled("Two numbers").save("t.svg")   // => saved t.svg
    /// ```
    pub fn titled(chart: Chart, title: &str) -> Chart {
        Chart { title: Some(title.to_string()), ..chart }
    }

    /// Lines between the points, which is usual for numbers along x.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").lines().save("l.svg")   // => saved l.svg
    /// ```
    pub fn lines(chart: Chart) -> Chart {
        Chart { style: Some(Style::Curves(CurveStyle::Lines)), ..chart }
    }

    /// Points without lines.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").points().save("p.svg")   // => saved p.svg
    /// ```
    pub fn points(chart: Chart) -> Chart {
        Chart { style: Some(Style::Curves(CurveStyle::Points)), ..chart }
    }

    /// Bars, which is usual for texts along x.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").bars().save("b.svg")   // => saved b.svg
    /// ```
    pub fn bars(chart: Chart) -> Chart {
        Chart { style: Some(Style::Bars), ..chart }
    }

    /// The width and height of a chart in pixels; 760 by 480 unless said.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").sized(400, 300).save("s.svg")   // => saved s.svg
    /// ```
    pub fn sized(chart: Chart, width: INT, height: INT) -> Chart {
        let pixels = |value: INT| u32::try_from(value).unwrap_or(0);
        Chart { size: Some((pixels(width), pixels(height))), ..chart }
    }

    /// Draws a chart into a file beside the script, as .svg or .png.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").save("ab.png")   // => saved ab.png
    /// ```
    #[rhai_fn(name = "save", return_raw)]
    pub fn save_chart(call: NativeCallContext, chart: Chart, file: &str) -> Result<String, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let figure = Drawing { chart: &chart, system: context.units() }.figure()?;
        save_picture(&context, file, || figure::svg(&figure), || figure::png(&figure))
    }
}
