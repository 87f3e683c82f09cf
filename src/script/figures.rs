//! Charts as scripts see them: what stands on which axis of which table, marks, and the file beside the script.
//!
//! Drawing is the work of `crate::figure`; here columns of a table become its description.

use super::Context;
use super::engine::context_of;
use super::error::{Answer, ScriptError, raise};
use super::garden::as_names;
use super::quantities::{as_quantity, describe};
use crate::figure::{self, Axis, BarSeries, CurveStyle, Field, Figure, FigureError, MarkedAxis, Plot, Series, Swing};
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
    bands: Vec<(String, Vec<(Quantity, Quantity)>)>,
    front: Option<Front>,
}

/// Which ends of the axes are the better ones, for the front of a trade-off.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Front {
    x: Better,
    y: Better,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Better {
    Less,
    More,
}

#[derive(Clone, Debug)]
enum Style {
    Curves(CurveStyle),
    Bars,
    Histogram,
    Boxes,
    /// The column of the colours.
    Heat(String),
    /// The value of today.
    Swings(Quantity),
}

impl Chart {
    /// What is drawn. Errors: columns that are missing or cannot be drawn.
    pub fn figure(&self, context: &Context) -> Answer<Figure> {
        Drawing { chart: self, system: context.units() }.figure()
    }

    /// The chart of a table that the word `tornado` made, where it is not said what stands where.
    fn of_a_tornado(&self) -> Option<Chart> {
        let known = self.table.names();
        let has = |name: &str| known.iter().any(|known| known == name);
        let silent = self.x.is_none() && self.y.is_empty() && ["number", "at_low", "at_high"].into_iter().all(has);
        silent.then(|| Chart { x: Some("number".into()), y: vec!["at_low".into(), "at_high".into()], ..self.clone() })
    }

    /// The chart as SVG. Errors: columns that are missing or cannot be drawn.
    pub fn svg(&self, context: &Context) -> Answer<String> {
        figure::svg(&self.figure(context)?).map_err(raise)
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
        if let Some(figure) = self.special()? {
            return Ok(self.dressed(figure));
        }
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
        let style =
            chart.style.clone().unwrap_or(if x.kind().is_numeric() { Style::Curves(CurveStyle::Lines) } else { Style::Bars });
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
                let series = self.curves(x_name)?;
                match chart.front {
                    Some(front) => with_front(x_axis, y_axis, curve, series, front),
                    None => Figure::curves(x_axis, y_axis, curve, series),
                }
            }
            // Drawn above.
            Style::Histogram | Style::Boxes | Style::Heat(_) | Style::Swings(_) => return Err(missing("x").into()),
        };
        for (name, spans) in &chart.bands {
            figure = figure.band(name.as_str(), self.spans(spans, x_name, x.kind())?);
        }
        for (value, label) in &chart.marks {
            figure = self.mark(figure, x.kind(), y_kind, *value, label)?;
        }
        if let Some(by) = &chart.by {
            figure = figure.legend(by.as_str());
        }
        Ok(self.dressed(figure))
    }

    /// With title and size.
    fn dressed(&self, figure: Figure) -> Figure {
        let titled = match &self.chart.title {
            Some(title) => figure.titled(title.as_str()),
            None => figure,
        };
        match self.chart.size {
            Some((width, height)) => titled.sized(width, height),
            None => titled,
        }
    }

    /// Histograms, boxes, heat maps and tornados; nothing for lines, points and bars.
    fn special(&self) -> Answer<Option<Figure>> {
        let Some(style) = &self.chart.style else { return Ok(None) };
        let figure = match style {
            Style::Curves(_) | Style::Bars => return Ok(None),
            Style::Histogram => {
                let name = self.needed("x")?;
                let (values, kind) = self.numbers(name)?;
                let figure = Figure::new(self.axis(name, kind), Axis::new("cases"), Plot::Histogram(gaps_as_nan(values)));
                self.marked_on_x(figure, kind)?
            }
            Style::Boxes => {
                let (x, y) = (self.needed("x")?, self.needed("y")?);
                let kind = self.numbers(y)?.1;
                let groups = self.chart.table.group_by(x).map_err(raise)?.into_iter();
                let group = |(key, table): (Cell, Table)| -> Answer<(String, Vec<f64>)> {
                    Ok((self.key_in_words(&key), gaps_as_nan(self.shown(&table.column(y).map_err(raise)?))))
                };
                let groups: Vec<(String, Vec<f64>)> = groups.map(group).collect::<Result<_, _>>()?;
                self.marked_on_x(Figure::new(self.axis(y, kind), Axis::new(x), Plot::Boxes(groups)), kind)?
            }
            Style::Swings(base) => {
                if let Some(chart) = self.chart.of_a_tornado() {
                    return Drawing { chart: &chart, system: self.system }.special();
                }
                let names = self.needed("x")?;
                let [low, high] = &self.chart.y[..] else {
                    let error = ScriptError::new(
                        "a tornado needs two columns on y: the value when each number is low and when it is high",
                    );
                    return Err(error.with_hint("say .y([\"low\", \"high\"])").into());
                };
                let ((lows, kind), (highs, _)) = (self.numbers(low)?, self.numbers(high)?);
                self.y_axis()?;
                let names = self.chart.table.column(names).map_err(raise)?;
                let swings = names.cells().zip(lows.into_iter().zip(highs));
                let named = |(row, (name, (low, high)))| Swing { name: self.with_its_range(&name, row), low, high };
                let swings = swings.enumerate().map(named).collect();
                let fits = matches!(kind, Kind::Quantity { dimension, .. } if dimension == base.dimension);
                if !fits {
                    let what = format!("tornado: the value of today is {}, the columns are not", base.described());
                    return Err(ScriptError::new(what)
                        .with_hint("give it in a unit of the columns, as in .tornado(38.psi)")
                        .into());
                }
                let base = kind.shown_value(base.si, self.system);
                let label = self.chart.by.clone().unwrap_or_else(|| self.quantity_in_words(kind));
                self.marked_on_x(Figure::new(self.axis(&label, kind), Axis::new(""), Plot::Swings { base, swings }), kind)?
            }
            Style::Heat(name) => self.heat(name)?,
        };
        Ok(Some(figure))
    }

    /// The first column said for an axis.
    fn needed(&self, axis: &str) -> Answer<&str> {
        let said = if axis == "x" { self.chart.x.as_deref() } else { self.chart.y.first().map(String::as_str) };
        let names = self.chart.table.names().join(", ");
        said.ok_or_else(|| {
            let error = ScriptError::new(format!("the chart does not know what stands on its {axis} axis"));
            error.with_hint(format!("say .{axis}(\"...\") with a column of the table: {names}")).into()
        })
    }

    /// The values of a column of numbers, as shown. Errors: an unknown column, or one of texts.
    fn numbers(&self, name: &str) -> Answer<(Vec<Option<f64>>, Kind)> {
        let column = self.chart.table.column(name).map_err(raise)?;
        if !column.kind().is_numeric() {
            return Err(ScriptError::new(format!("the column '{name}' holds no numbers"))
                .with_hint("choose another column")
                .into());
        }
        Ok((self.shown(&column), column.kind()))
    }

    /// All marks on the level axis, which shows values of this kind.
    fn marked_on_x(&self, mut figure: Figure, kind: Kind) -> Answer<Figure> {
        for (value, label) in &self.chart.marks {
            let fits = matches!(kind, Kind::Quantity { dimension, .. } if dimension == value.dimension);
            if !fits {
                let what = format!("mark: {} does not fit the values of the chart", value.described());
                return Err(ScriptError::new(what).with_hint("marks are of the dimension of the values").into());
            }
            figure = figure.marked(MarkedAxis::X, kind.shown_value(value.si, self.system), label.as_str());
        }
        Ok(figure)
    }

    /// A heat map of the column over x and y; marks become strong contours.
    fn heat(&self, name: &str) -> Answer<Figure> {
        let (x_name, y_name) = (self.needed("x")?, self.needed("y")?);
        let ((xs, x_kind), (ys, y_kind), (zs, z_kind)) = (self.numbers(x_name)?, self.numbers(y_name)?, self.numbers(name)?);
        let distinct = |values: &[Option<f64>]| {
            let mut known: Vec<f64> = values.iter().flatten().copied().filter(|value| value.is_finite()).collect();
            known.sort_by(f64::total_cmp);
            known.dedup();
            known
        };
        let (columns, rows) = (distinct(&xs), distinct(&ys));
        let mut values = vec![None; columns.len() * rows.len()];
        let place = |sorted: &[f64], value: f64| sorted.binary_search_by(|other| other.total_cmp(&value)).ok();
        for ((x, y), z) in xs.iter().zip(&ys).zip(&zs) {
            let found = x.and_then(|x| place(&columns, x)).zip(y.and_then(|y| place(&rows, y)));
            if let Some((column, row)) = found {
                values[row * columns.len() + column] = *z;
            }
        }
        let mut marks = Vec::new();
        for (value, label) in &self.chart.marks {
            if !matches!(z_kind, Kind::Quantity { dimension, .. } if dimension == value.dimension) {
                let what = format!("mark: {} does not fit the colours of the chart", value.described());
                return Err(ScriptError::new(what).with_hint("marks on a heat map are contours of its values").into());
            }
            marks.push((z_kind.shown_value(value.si, self.system), label.clone()));
        }
        let field = Field { xs: columns, ys: rows, values, axis: self.axis(name, z_kind), marks };
        Ok(Figure::new(self.axis(x_name, x_kind), self.axis(y_name, y_kind), Plot::Heat(field)))
    }

    /// Times of a band on the x axis. Errors: of another dimension than it.
    fn spans(&self, spans: &[(Quantity, Quantity)], x_name: &str, kind: Kind) -> Answer<Vec<(f64, f64)>> {
        let fits = |value: &Quantity| matches!(kind, Kind::Quantity { dimension, .. } if dimension == value.dimension);
        if let Some((start, _)) = spans.iter().find(|(start, end)| !fits(start) || !fits(end)) {
            let what = format!("bands: {} is not on the axis of '{x_name}'", start.described());
            return Err(ScriptError::new(what).with_hint("give starts and ends in the unit of the x axis").into());
        }
        let shown = |value: &Quantity| kind.shown_value(value.si, self.system);
        Ok(spans.iter().map(|(start, end)| (shown(start), shown(end))).collect())
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

    /// The name of a swing, with the ends of its range where the table has them: `feed.bore, 0.5 in to 0.75 in`.
    fn with_its_range(&self, name: &Cell, row: usize) -> String {
        let end = |column: &str| match self.chart.table.cell(row, column) {
            Ok(Cell::Text(text)) => Some(text),
            _ => None,
        };
        match (end("low"), end("high")) {
            (Some(low), Some(high)) => format!("{}, {low} to {high}", self.key_in_words(name)),
            _ => self.key_in_words(name),
        }
    }

    /// What a column holds, without its article: `pressure`.
    fn quantity_in_words(&self, kind: Kind) -> String {
        let text = kind.to_string();
        text.strip_prefix("a ").or(text.strip_prefix("an ")).unwrap_or(&text).to_string()
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

fn gaps_as_nan(values: Vec<Option<f64>>) -> Vec<f64> {
    values.into_iter().map(|value| value.unwrap_or(f64::NAN)).collect()
}

/// Curves with the line along those points that no other beats on both axes.
fn with_front(x: Axis, y: Axis, style: CurveStyle, series: Vec<Series>, front: Front) -> Figure {
    let points = series.iter().flat_map(|one| one.points.iter().filter_map(|(x, y)| Some((*x, (*y)?))));
    let line = front_of(points.collect(), front);
    let mut layers = vec![(CurveStyle::Lines, Series::new("no other beats these", line))];
    layers.extend(series.into_iter().map(|one| (style, one)));
    Figure::new(x, y, Plot::Layers(layers))
}

/// The points that no other beats, in order along x.
fn front_of(mut points: Vec<(f64, f64)>, front: Front) -> Vec<(f64, f64)> {
    let sign = |better: Better| if better == Better::Less { 1.0 } else { -1.0 };
    let (sx, sy) = (sign(front.x), sign(front.y));
    points.retain(|(x, y)| x.is_finite() && y.is_finite());
    points.sort_by(|a, b| (sx * a.0).total_cmp(&(sx * b.0)).then((sy * a.1).total_cmp(&(sy * b.1))));
    let mut best = f64::INFINITY;
    let beaten = |(_, y): &(f64, f64)| {
        let better = sy * y < best;
        best = best.min(sy * y);
        better
    };
    let mut line: Vec<(f64, f64)> = points.into_iter().filter(beaten).collect();
    line.sort_by(|a, b| a.0.total_cmp(&b.0));
    line
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
        Chart {
            table,
            x: None,
            y: Vec::new(),
            by: None,
            marks: Vec::new(),
            title: None,
            style: None,
            size: None,
            bands: Vec::new(),
            front: None,
        }
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

    /// How often the values of the x column fall into each step.
    ///
    /// ```hw
    /// let t = table([#{ p: 31.psi }, #{ p: 33.psi }, #{ p: 34.psi }, #{ p: 38.psi }]);
    /// chart(t).x("p").histogram().mark(32.psi, "stalls below").save("h.svg")   // => saved h.svg
    /// ```
    pub fn histogram(chart: Chart) -> Chart {
        Chart { style: Some(Style::Histogram), ..chart }
    }

    /// A box for each name on x: the middle half of its y values, the median, and whiskers to the least and greatest.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", p: 31.psi }, #{ pump: "small", p: 35.psi }, #{ pump: "large", p: 44.psi }]);
    /// chart(t).x("pump").y("p").boxes().save("boxes.svg")   // => saved boxes.svg
    /// ```
    pub fn boxes(chart: Chart) -> Chart {
        Chart { style: Some(Style::Boxes), ..chart }
    }

    /// Colours of a column over two others that make a grid, with contours; marks are strong contours.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
    /// let t = sweep(plot, vary("feed.length", steps(50.ft, 300.ft, 50.ft)).vary("feed.bore", [(1/2).inch, (5/8).inch, (3/4).inch]));
    /// chart(t).x("feed.length").y("feed.bore").heat("berry.pressure").mark(30.psi, "stalls below").save("heat.svg")   // => saved heat.svg
    /// ```
    pub fn heat(chart: Chart, column: &str) -> Chart {
        Chart { style: Some(Style::Heat(column.to_string())), ..chart }
    }

    /// A tornado: for each name on x a bar from the value of today to the two values on y, when the number is low and high.
    /// A table that the word `tornado` made needs no `x` and `y`; `by` says what the bars show.
    ///
    /// ```hw
    /// let t = table([#{ what: "feed length", low: 42.psi, high: 35.psi }, #{ what: "street pressure", low: 30.psi, high: 44.psi }]);
    /// chart(t).x("what").y(["low", "high"]).by("pressure at the berry").tornado(38.psi).save("tornado.svg")   // => saved tornado.svg
    /// let swings = tornado(#{ x: [1, 2, 4], y: [0, 5, 6] }, |k| k.x * k.y);
    /// chart(swings).tornado(10).save("swings.svg")   // => saved swings.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tornado(chart: Chart, today: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        let base = as_quantity(&today)
            .ok_or_else(|| ScriptError::new(format!("tornado needs the value of today, found {}", describe(&today))))?;
        Ok(Chart { style: Some(Style::Swings(base)), ..chart })
    }

    /// Points with the line along those that no other beats; "less" or "more" says which is better on x and on y.
    ///
    /// ```hw
    /// let t = table([#{ cost: 20, p: 30.psi }, #{ cost: 40, p: 38.psi }, #{ cost: 50, p: 35.psi }]);
    /// chart(t).x("cost").y("p").front("less", "more").save("front.svg")   // => saved front.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn front(chart: Chart, x: &str, y: &str) -> Result<Chart, Box<EvalAltResult>> {
        let better = |word: &str| match word {
            "less" => Ok(Better::Less),
            "more" => Ok(Better::More),
            _ => Err(ScriptError::new(format!("front: expected \"less\" or \"more\", found \"{word}\""))),
        };
        let front = Front { x: better(x)?, y: better(y)? };
        Ok(Chart { front: Some(front), style: Some(Style::Curves(CurveStyle::Points)), ..chart })
    }

    /// A row below the curves that shows when something is on: a list of starts and ends along x.
    ///
    /// ```hw
    /// let t = table([#{ time: 0.s, p: 40.psi }, #{ time: 60.s, p: 60.psi }, #{ time: 120.s, p: 45.psi }]);
    /// chart(t).x("time").y("p").bands("pump", [[0.s, 60.s], [110.s, 120.s]]).save("trace.svg")   // => saved trace.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bands(chart: Chart, name: &str, spans: rhai::Array) -> Result<Chart, Box<EvalAltResult>> {
        let mut chart = chart;
        let span = |span: &Dynamic| -> Option<(Quantity, Quantity)> {
            let ends = span.read_lock::<rhai::Array>()?;
            let [start, end] = &ends[..] else { return None };
            Some((as_quantity(start)?, as_quantity(end)?))
        };
        let read: Option<Vec<(Quantity, Quantity)>> = spans.iter().map(span).collect();
        let read = read.ok_or_else(|| {
            ScriptError::new("bands needs a list of pairs, a start and an end each")
                .with_hint("write [[0.s, 30.s], [60.s, 90.s]]")
        })?;
        chart.bands.push((name.to_string(), read));
        Ok(chart)
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
        if let Some(left_out) = context.leaves_out(file) {
            return Ok(left_out);
        }
        let figure = Drawing { chart: &chart, system: context.units() }.figure()?;
        let saved = save_picture(&context, file, || figure::svg(&figure), || figure::png(&figure))?;
        context.drew(figure);
        Ok(saved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_front_holds_the_points_that_no_other_beats() {
        let points = vec![(20.0, 30.0), (40.0, 38.0), (50.0, 35.0), (60.0, 41.0), (60.0, 39.0), (70.0, 41.0)];
        let front = Front { x: Better::Less, y: Better::More };
        assert_eq!(front_of(points.clone(), front), [(20.0, 30.0), (40.0, 38.0), (60.0, 41.0)]);
        let other = Front { x: Better::More, y: Better::Less };
        assert_eq!(front_of(points, other), [(20.0, 30.0), (50.0, 35.0), (60.0, 39.0), (70.0, 41.0)]);
    }
}
