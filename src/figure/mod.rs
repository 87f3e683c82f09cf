//! Figures: a plain description becomes an SVG text, a PNG picture or a PDF document.
//!
//! The data arrive in the unit in which they are shown, as plain numbers and texts. Every figure is first composed as a
//! list of simple shapes (`scene`), which three writers turn into bytes; the same description gives the same bytes.
//! A loop over what is given may end early when the evaluation is to end; then there is no figure.
//! Values that are missing stay missing: a gap in a line, a dash in place of a bar, and a note at the foot.
//!
//! It knows nothing of quantities, tables, gardens or scripts, and writes no file of the user's.

mod axis;
mod bars;
mod boxes;
mod contour;
mod curves;
mod dark;
mod description;
mod error;
mod frame;
mod from_above;
mod geometry;
mod graphic;
mod heat;
mod histogram;
mod in_words;
mod kinds;
mod labels;
mod legend;
mod map;
mod marks;
mod on_off_rows;
mod palette;
mod panels;
mod pdf;
mod plot_labels;
mod png;
mod ramp;
mod reading;
mod ribbons;
mod rows;
mod scale;
mod scene;
mod sheet;
mod strips;
mod svg;
mod telling;
mod text;
mod ticks;
mod tornado;
#[cfg(test)]
mod vision; // color visions and differences of colors, for the tests
mod waterfall;
mod webfont;

#[cfg(test)]
mod gallery;
#[cfg(test)]
mod label_tests;
#[cfg(test)]
mod tests;

pub use description::{
    Axis, AxisScale, Band, BarSeries, BoxRow, Callout, CurveStyle, Field, Figure, FromAbove, Mark, MarkedAxis, Plot, Ribbon,
    Series, Shades, TornadoBar, Zero, check_bars, check_panels, check_rows, check_series,
};
pub use error::FigureError;
pub use graphic::{Drawn, Graphic, NARROW};
pub use kinds::{Fall, Falls, Span, StripEvent, StripPanel, StripRow, Strips, Waterfall};
pub use map::{Activity, Ground, InRows, Label, Map, Rain, Roster, RosterGroup, Route, Seat, Symbol, Throw, USUAL_WIDTH, Water};
#[cfg(test)]
pub(crate) use map::{faults_of_map, map_with_water};
pub use reading::{Reading, curves_of, reading};
pub use scene::{Cells, Told};
#[cfg(test)]
pub(crate) use sheet::faults_of_sheet;
pub use sheet::{Paper, Sheet, SheetBlock, SheetCell, SheetTable};
pub use webfont::{Glyphs, for_page, plain, rules as font_rules};

use crate::limits;
use scene::Scene;

/// The figure as an SVG text of the size the figure asks for; text stays text and numbers keep two decimals.
///
/// Errors: [`FigureError`] when there is nothing honest to draw; its hint says what to do. The evaluation is to end.
pub fn svg(figure: &Figure) -> Result<String, FigureError> {
    drawn(figure)?.svg()
}

/// The figure as the bytes of a PNG picture, as many pixels wide and high as the figure's size.
///
/// Errors: as [`svg`], and [`FigureError::Picture`] when the picture cannot be encoded.
pub fn png(figure: &Figure) -> Result<Vec<u8>, FigureError> {
    drawn(figure)?.png()
}

/// The figure as the bytes of a PDF document of one page.
///
/// Errors: as [`svg`], and [`FigureError::Picture`] when the font cannot be read.
pub fn pdf(figure: &Figure) -> Result<Vec<u8>, FigureError> {
    drawn(figure)?.pdf()
}

/// What was made without an early end. Errors: the evaluation is to end.
fn whole<T>(made: T) -> Result<T, FigureError> {
    limits::go_on()?;
    Ok(made)
}

/// What the figure shows, in words, for those who cannot see it. Errors: as [`svg`].
pub fn description(figure: &Figure) -> Result<String, FigureError> {
    Ok(compose(figure)?.description)
}

fn drawn(figure: &Figure) -> Result<Drawn, FigureError> {
    Graphic::Figure(figure.clone()).drawn()
}

fn compose(figure: &Figure) -> Result<Scene, FigureError> {
    figure.check()?;
    let scene = composed(figure, None);
    limits::go_on()?; // Before any error of values that were not read.
    scene
}

/// The scene of a figure; a plot of curves lies within the edges, left and right, where they are given.
fn composed(figure: &Figure, edges: Option<(f64, f64)>) -> Result<Scene, FigureError> {
    let curves = |series: &[_]| curves::compose(figure, series, edges);
    match &figure.plot {
        Plot::Curves { style, series } => curves(&series.iter().map(|one| (*style, one)).collect::<Vec<_>>()),
        Plot::Layers(layers) => curves(&layers.iter().map(|(style, one)| (*style, one)).collect::<Vec<_>>()),
        Plot::Histogram(groups) => histogram::compose(figure, groups),
        Plot::Boxes(groups) => boxes::compose(figure, groups),
        Plot::Tornado { base, bars } => tornado::compose(figure, *base, bars),
        Plot::Heat(field) => heat::compose(figure, field),
        Plot::Waterfall(waterfall) => waterfall::compose(figure, waterfall),
        Plot::Strips(strips) => strips::compose(figure, strips),
        Plot::Panels { columns, figures } => {
            figures.iter().try_for_each(Figure::check)?;
            let sizes = panels::sizes(figure, *columns, figures.len());
            // A panel may be smaller than a figure by itself.
            let sized: Vec<Figure> =
                figures.iter().zip(sizes).map(|(panel, (width, height))| panel.clone().sized(width, height)).collect();
            let mut scenes = Vec::new();
            for panel in &sized {
                scenes.push(composed(panel, None)?);
            }
            for (at, edges) in panels::common_edges(*columns, &scenes) {
                scenes[at] = composed(&sized[at], Some(edges))?;
            }
            Ok(panels::on_one_sheet(figure, *columns, scenes))
        }
        Plot::Bars { categories, series } => bars::compose(figure, categories, series),
    }
}
