//! What a drawing shows, and the drawing itself before it is written: into a file, on a page without its fonts, again for a narrow page.

use super::description::{Figure, Plot};
use super::error::FigureError;
use super::map::{self, Map};
use super::reading::Reading;
use super::scene::{Cells, Scene, Told};
use super::sheet::{Sheet, sheet_scenes, stacked};
use super::svg::{Colors, Fonts};
use super::{Paper, compose, dark, pdf, png, svg, whole};
use crate::lines::as_sentence;

/// Width of a drawing that a phone shows in full, pixels: in a wider one texts would be too small there.
pub const NARROW: u32 = 360;
/// Least and most height of a figure of that width, pixels.
const NARROW_HEIGHT: (u32, u32) = (300, 900);
/// Height of a panel of that width, pixels.
const NARROW_PANEL: u32 = 260;
/// Height of a line below a panel, pixels.
const FOOT_LINE: u32 = 18;
/// Height of a step of a waterfall of that width, and of what is above and below the steps, pixels.
const NARROW_STEP: u32 = 34;
const AROUND_STEPS: u32 = 140;
/// Height of a row of on and off and of a strip of curves of that width, and of what is around them, pixels.
const NARROW_ROW: u32 = 22;
const NARROW_STRIP: u32 = 150;
const AROUND_STRIPS: u32 = 120;
/// No figure is higher, pixels.
const TALLEST: u32 = 2000;
/// A map with more pixels than this is not drawn into a picture.
const MOST_PIXELS: f64 = 6.0e6;

/// A figure, a map or a sheet of paper.
#[derive(Clone, Debug)]
pub enum Graphic {
    /// Values on axes.
    Figure(Figure),
    /// A garden from above.
    Map(Map),
    /// A card to print.
    Sheet(Sheet),
}

/// A graphic with everything on it in its place.
#[derive(Clone, Debug)]
pub struct Drawn {
    graphic: Graphic,
    /// The pages of a sheet, or the one of all else.
    pages: Vec<Scene>,
}

impl Graphic {
    /// Finds the place of everything on it. Errors: there is nothing honest to draw; the evaluation is to end.
    pub fn drawn(self) -> Result<Drawn, FigureError> {
        let pages = match &self {
            Graphic::Figure(figure) => vec![compose(figure)?],
            Graphic::Map(map) => vec![map::compose(map)?],
            Graphic::Sheet(sheet) => sheet_scenes(sheet)?,
        };
        Ok(Drawn { graphic: self, pages })
    }

    /// The same for a narrow page; nothing for one that is as narrow.
    pub fn narrow(&self) -> Option<Graphic> {
        match self {
            // Panels stand below each other, as high as a figure by itself.
            Graphic::Figure(figure) if figure.size.0 > NARROW && matches!(figure.plot, Plot::Panels { .. }) => {
                let mut figure = figure.clone();
                if let Plot::Panels { columns, figures } = &mut figure.plot {
                    *columns = 1;
                    figures.iter_mut().for_each(values_at_the_foot);
                    let at_foot = figures.iter().map(|panel| panel.callouts.len().min(3) as u32).max().unwrap_or(0);
                    let height = NARROW_PANEL + FOOT_LINE * at_foot;
                    figure.size = (NARROW, (height * figures.len() as u32).min(TALLEST));
                }
                Some(Graphic::Figure(figure))
            }
            Graphic::Figure(figure) if figure.size.0 > NARROW => {
                let least = match &figure.plot {
                    // The names of steps are broken into two lines rather than cut.
                    Plot::Waterfall(waterfall) => AROUND_STEPS + NARROW_STEP.saturating_mul(waterfall.names.len() as u32),
                    // The marks of switches stand beside their lines.
                    Plot::Strips(strips) => {
                        AROUND_STRIPS + NARROW_ROW * strips.rows.len() as u32 + NARROW_STRIP * strips.panels.len() as u32
                    }
                    _ => 0,
                };
                let height = (figure.size.1 * 7 / 10).max(least);
                let height = height.clamp(NARROW_HEIGHT.0, NARROW_HEIGHT.1);
                let mut figure = figure.clone().sized(NARROW, height);
                values_at_the_foot(&mut figure);
                Some(Graphic::Figure(figure))
            }
            Graphic::Map(map) if map.width > NARROW => Some(Graphic::Map(map::narrow(map, NARROW))),
            Graphic::Sheet(sheet) => Some(Graphic::Sheet(Sheet { paper: Paper::Narrow, ..sheet.clone() })),
            _ => None,
        }
    }
}

/// Points keep their names alone, which need little room; the values after them stand below the figure.
fn values_at_the_foot(figure: &mut Figure) {
    let told: Vec<String> =
        figure.callouts.iter().map(|callout| callout.label.clone()).filter(|label| label.contains(": ")).collect();
    if told.is_empty() {
        return;
    }
    for callout in &mut figure.callouts {
        if let Some((name, _)) = callout.label.split_once(": ") {
            callout.label = name.to_string();
        }
    }
    let before = figure.caption.as_deref().map_or(String::new(), |caption| format!("{} ", as_sentence(caption)));
    figure.caption = Some(format!("{before}{}", told.join("; ")));
}

impl Drawn {
    /// What it shows.
    pub fn graphic(&self) -> &Graphic {
        &self.graphic
    }

    /// As an SVG text, with the fonts that it needs. Errors: the evaluation is to end.
    pub fn svg(&self) -> Result<String, FigureError> {
        whole(self.written(Fonts::Inside))
    }

    /// As an SVG text for a page that has the fonts.
    pub fn svg_without_fonts(&self) -> String {
        self.written(Fonts::Outside)
    }

    fn written(&self, fonts: Fonts) -> String {
        match (&self.graphic, self.pages.as_slice()) {
            // A sheet is for paper.
            (Graphic::Sheet(_), pages) => svg::write(&stacked(pages.to_vec()), fonts, Colors::Light),
            (_, [scene, ..]) => svg::write(scene, fonts, Colors::LightAndDark),
            (_, []) => String::new(),
        }
    }

    /// As the bytes of a PNG picture; the pages of a sheet stand one below the other.
    ///
    /// Errors: a picture that is too large or cannot be encoded; the evaluation is to end.
    pub fn png(&self) -> Result<Vec<u8>, FigureError> {
        let scene = stacked(self.on_paper());
        let ratio = match &self.graphic {
            Graphic::Figure(figure) => figure.pixel_ratio,
            Graphic::Map(map) => map.pixel_ratio,
            Graphic::Sheet(_) => 1,
        };
        let (width, height) = (scene.width.saturating_mul(ratio), scene.height.saturating_mul(ratio));
        if matches!(self.graphic, Graphic::Map(_)) && f64::from(width) * f64::from(height) > MOST_PIXELS {
            return Err(FigureError::LargePicture { width, height });
        }
        whole(png::write(&scene, ratio)?)
    }

    /// As the bytes of a PDF document, of one page for all but a long sheet. Errors: a font that cannot be read; the evaluation is to end.
    pub fn pdf(&self) -> Result<Vec<u8>, FigureError> {
        whole(pdf::write(&self.on_paper())?)
    }

    /// The pages in the colors of their paper.
    fn on_paper(&self) -> Vec<Scene> {
        let is_dark = match &self.graphic {
            Graphic::Figure(figure) => figure.dark,
            Graphic::Map(map) => map.dark,
            Graphic::Sheet(_) => false,
        };
        let pages = self.pages.iter().cloned();
        if is_dark { pages.map(dark::darkened).collect() } else { pages.collect() }
    }

    /// Width and height, pixels.
    pub fn size(&self) -> (u32, u32) {
        self.pages.first().map_or((0, 0), |scene| (scene.width, scene.height))
    }

    /// Where values lie between its axes of numbers; nothing for other drawings.
    pub fn reading(&self) -> Option<Reading> {
        self.pages.first()?.reading
    }

    /// The values that it shows one by one, with their places and words.
    pub fn told(&self) -> &[Told] {
        self.pages.first().map_or(&[], |scene| &scene.told)
    }

    /// The values of the cells of its ground; nothing for a drawing without.
    pub fn cells(&self) -> Option<&Cells> {
        self.pages.first()?.cells.as_ref()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{Axis, CurveStyle, Fall, Falls, Series, Waterfall};

    fn narrow(figure: Figure) -> Figure {
        let Some(Graphic::Figure(narrow)) = Graphic::Figure(figure).narrow() else { panic!("a figure") };
        narrow
    }

    #[test]
    fn on_a_narrow_figure_points_have_their_names_and_the_values_stand_below() {
        let series = vec![Series::new("pump", vec![(0.0, 45.0), (10.0, 18.0)])];
        let curve = Figure::new(Axis::new("flow"), Axis::new("boost"), Plot::Curves { style: CurveStyle::Lines, series });
        let named = curve.clone().callout((4.8, 38.3), "beds: 4.8 gpm").callout((8.6, 23.6), "all: 8.6 gpm");
        let named = Figure { caption: Some("Two zones".into()), ..named };
        let plain = narrow(curve.clone().callout((4.8, 38.3), "beds"));
        assert_eq!((plain.caption, plain.callouts[0].label.as_str()), (None, "beds"));
        let panels = Figure::new(Axis::new(""), Axis::new(""), Plot::Panels { columns: 2, figures: vec![named.clone(), curve] });
        let Plot::Panels { figures, .. } = narrow(panels).plot else { panic!("panels") };
        for figure in [narrow(named), figures[0].clone()] {
            assert_eq!(figure.callouts.iter().map(|callout| callout.label.as_str()).collect::<Vec<_>>(), ["beds", "all"]);
            assert_eq!(figure.caption.as_deref(), Some("Two zones. beds: 4.8 gpm; all: 8.6 gpm"));
        }
    }

    #[test]
    fn no_name_of_a_step_is_cut_on_a_narrow_figure() {
        let names: Vec<String> = (1..=8).map(|step| format!("a fitting number {step}: pressure loss")).collect();
        let things = vec![Falls { name: String::new(), rows: names.iter().map(|_| Some(Fall::Total(5.0))).collect() }];
        let figure = Figure::new(Axis::new("pressure"), Axis::new(""), Plot::Waterfall(Waterfall { names, things }));
        let drawn = Graphic::Figure(narrow(figure)).drawn().expect("a drawing").svg().expect("a text");
        let texts: Vec<&str> = drawn.split("</text>").filter_map(|text| text.rsplit('>').next()).collect();
        assert!(texts.iter().all(|text| !text.contains('…')), "{texts:?}");
    }
}
