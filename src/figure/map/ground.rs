//! Ground to scale: from places to pixels, with a scale bar, an arrow to the north, and room around for labels.

use super::heap::{is_crowded, spread};
use super::land;
use super::projection::Projection;
use super::tag::{BODY, Tag};
use super::what::{Label, Map, Throw};
use crate::figure::geometry::{Rect, Spot};
use crate::figure::labels::{Candidate, Obstacle, Surroundings, place};
use crate::figure::palette::{AXIS, INK, QUIET};
use crate::figure::scene::{Anchor, NOTE_SIZE, Scene, Shape, Text};
use crate::figure::ticks::number;
use crate::parts::SymbolShape;

/// Room at the edge of the sheet.
pub(super) const EDGE: f64 = 16.0;
/// The ground is at most so high.
const MOST_HIGH: f64 = 560.0;
/// Room around the ground for labels, across and up: more where they do not fit.
const MARGINS: [(f64, f64); 5] = [(26.0, 24.0), (64.0, 36.0), (110.0, 52.0), (150.0, 90.0), (150.0, 170.0)];
/// The same on a narrow sheet, where labels stand above and below the ground.
const NARROW_MARGINS: [(f64, f64); 5] = [(26.0, 24.0), (26.0, 60.0), (26.0, 110.0), (64.0, 110.0), (150.0, 170.0)];
/// Widths of narrow sheets, on which labels may stand farther from their things.
const NARROW: f64 = 500.0;
const DEAR_IF_NARROW: f64 = 260.0;
/// A label farther from its thing than this asks for more room around.
const DEAR: f64 = 60.0;
/// Between what lies lowest and the strip with the scale bar.
const FOOT: f64 = 12.0;
/// Height of the strip with scale bar and north.
const STRIP: f64 = 40.0;
/// Where symbols cover each other the ground is drawn this much wider, up to a width, px.
const WIDER: f64 = 1.25;
const WIDEST: f64 = 4000.0;
/// With more circles than this, labels do not keep off them.
const MOST_CIRCLES: usize = 12;

/// A label, the spot of what it names, and the line along which that extends.
type Tagged = (Tag, Spot, Option<(Spot, Spot)>);

/// A label where it is printed, and the place of what it names.
pub(super) struct Printed {
    pub tag: Tag,
    pub at: Spot,
    pub where_to: Candidate,
}

/// Everything on ground to scale with its pixels.
pub(super) struct RealGround {
    unit: String,
    low: (f64, f64),
    /// Pixels for a unit of length.
    per_unit: f64,
    plot: Rect,
    frame: Rect,
    /// Width of the map, without a table beside it.
    pub width: f64,
    /// Where the symbols of the map are drawn; heaps are spread.
    pub spots: Vec<Spot>,
    pub printed: Vec<Printed>,
    /// Labels that are needed and found no place.
    pub left_out: usize,
    /// Symbols cover each other.
    crowded: bool,
}

impl RealGround {
    /// The ground in a width, below an upper edge; wider where its symbols would cover each other.
    pub fn new(map: &Map, unit: &str, top: f64, width: f64) -> RealGround {
        let mut ground = RealGround::in_width(map, unit, top, width);
        while ground.crowded && ground.width < WIDEST {
            ground = RealGround::in_width(map, unit, top, (WIDER * ground.width).min(WIDEST));
        }
        ground
    }

    fn in_width(map: &Map, unit: &str, top: f64, width: f64) -> RealGround {
        let mut best: Option<(f64, RealGround)> = None;
        let (margins, dear) = if width < NARROW { (NARROW_MARGINS, DEAR_IF_NARROW) } else { (MARGINS, DEAR) };
        for margin in margins {
            let mut ground = RealGround::bare(map, unit, top, width, margin);
            if ground.crowded {
                continue;
            }
            let (printed, left_out) = ground.labels(map);
            let apart = |one: &Printed| one.where_to.leader.map_or(0.0, |(from, to)| (from.0 - to.0).hypot(from.1 - to.1));
            let dearest = printed.iter().filter(|one| one.tag.needed).map(apart).fold(0.0, f64::max);
            (ground.printed, ground.left_out) = (printed, left_out);
            ground.cut_foot();
            if ground.left_out == 0 && dearest <= dear {
                return ground;
            }
            let cost = 1e6 * ground.left_out as f64 + dearest;
            if best.as_ref().is_none_or(|(other, _)| cost < *other) {
                best = Some((cost, ground));
            }
        }
        best.map_or_else(|| RealGround::bare(map, unit, top, width, margins[margins.len() - 1]), |(_, ground)| ground)
    }

    /// Takes off room below that nothing needs.
    fn cut_foot(&mut self) {
        let spots = self.spots.iter().map(|spot| spot.1 + BODY);
        let labels = self.printed.iter().map(|printed| printed.where_to.rect.bottom);
        let needed = spots.chain(labels).fold(self.plot.bottom, f64::max);
        self.frame.bottom = self.frame.bottom.min(needed + FOOT);
    }

    fn bare(map: &Map, unit: &str, top: f64, width: f64, margin: (f64, f64)) -> RealGround {
        let (low, high) = extent(map);
        let (wide, upright) = ((high.0 - low.0).max(1e-6), (high.1 - low.1).max(1e-6));
        let margin = (margin.0.min(0.2 * width), margin.1);
        let room = (width - 2.0 * margin.0, MOST_HIGH.min(1.2 * width));
        let per_unit = (room.0 / wide).min(room.1 / upright);
        let top = top + margin.1;
        let left = (width - wide * per_unit) / 2.0;
        let plot = Rect { left, top, right: width - left, bottom: top + upright * per_unit };
        let frame = Rect { left: 6.0, right: width - 6.0, top: plot.top - margin.1 + 2.0, bottom: plot.bottom + margin.1 };
        let unit = unit.to_string();
        let (spots, printed) = (Vec::new(), Vec::new());
        let mut ground = RealGround { unit, low, per_unit, plot, frame, width, spots, printed, left_out: 0, crowded: false };
        ground.spread_symbols(map);
        ground
    }

    /// Heights that the ground and a table of given width beside it leave for each other: how large a unit of length is drawn.
    pub fn scale_in(map: &Map, width: f64) -> f64 {
        let (low, high) = extent(map);
        let room = (width - 2.0 * MARGINS[1].0, MOST_HIGH.min(1.2 * width));
        (room.0 / (high.0 - low.0).max(1e-6)).min(room.1 / (high.1 - low.1).max(1e-6))
    }

    /// Finds where symbols are drawn: labels on lines stay.
    fn spread_symbols(&mut self, map: &Map) {
        let mut spots: Vec<Spot> = map.symbols.iter().map(|symbol| self.px(symbol.at)).collect();
        let shaped: Vec<usize> = (0..spots.len()).filter(|index| map.symbols[*index].shape != SymbolShape::Bare).collect();
        let own: Vec<Spot> = shaped.iter().map(|index| spots[*index]).collect();
        let toward: Vec<Spot> = shaped.iter().map(|index| self.turn(map.symbols[*index].toward)).collect();
        let firm: Vec<bool> = shaped.iter().map(|index| map.symbols[*index].shape == SymbolShape::Head).collect();
        let apart = spread(&own, &toward, &firm, &self.frame.grown(-BODY));
        self.crowded = is_crowded(&apart);
        for (index, spot) in shaped.into_iter().zip(apart) {
            spots[index] = spot;
        }
        self.spots = spots;
    }

    /// All labels that find a place, and how many that are needed find none.
    fn labels(&self, map: &Map) -> (Vec<Printed>, usize) {
        let mut solids: Vec<Rect> = Vec::new();
        for (symbol, (x, y)) in map.symbols.iter().zip(&self.spots) {
            if symbol.shape != SymbolShape::Bare {
                let half = if matches!(symbol.label, Label::Number(_)) { BODY } else { BODY - 1.0 };
                solids.push(Rect { left: x - half, top: y - half, right: x + half, bottom: y + half });
            }
        }
        solids.extend(map.rain.iter().flat_map(|rain| land::solids(rain, self)));
        let segments = |points: Vec<Spot>| points.windows(2).map(|pair| Obstacle::Segment(pair[0], pair[1])).collect::<Vec<_>>();
        let on_sheet = |places: &[(f64, f64)]| places.iter().map(|place| self.px(*place)).collect::<Vec<Spot>>();
        let mut obstacles: Vec<Obstacle> = map.routes.iter().flat_map(|route| segments(on_sheet(&route.points))).collect();
        if map.throws.len() <= MOST_CIRCLES {
            obstacles.extend(map.throws.iter().flat_map(|throw| segments(on_sheet(&outline(throw)))));
        }
        let mut tags: Vec<Tagged> = Vec::new();
        for (symbol, spot) in map.symbols.iter().zip(&self.spots) {
            let half = (0.5 * symbol.toward.0, 0.5 * symbol.toward.1);
            let ends = [-1.0, 1.0].map(|side| self.px((symbol.at.0 + side * half.0, symbol.at.1 + side * half.1)));
            tags.push((Tag::new(symbol), *spot, Some((ends[0], ends[1]))));
        }
        tags.extend(map.rain.iter().filter_map(|rain| land::driest(rain, self)).map(|(tag, spot)| (tag, spot, None)));
        tags.retain(|(tag, _, _)| !tag.is_empty());
        let labels: Vec<_> = tags.iter().map(|(tag, spot, line)| tag.placed_freely(*spot, line.as_ref(), &self.frame)).collect();
        let around = Surroundings { frame: self.frame, solids: &solids, obstacles: &obstacles, touch: 0.0 };
        let chosen = place(&labels, &around);
        let (mut printed, mut left_out) = (Vec::new(), 0);
        for (((tag, at, _), label), choice) in tags.into_iter().zip(&labels).zip(chosen) {
            match choice.map(|index| label.candidates[index]) {
                Some(where_to) => printed.push(Printed { tag, at, where_to }),
                None => left_out += usize::from(tag.needed),
            }
        }
        (printed, left_out)
    }

    /// The lower edge of the map with its strip.
    pub fn bottom(&self) -> f64 {
        self.frame.bottom + STRIP
    }

    /// Length of the scale bar: a round number of the unit, about a sixth of the ground.
    fn bar(&self) -> f64 {
        let wanted = 120.0 / self.per_unit;
        let power = 10f64.powf(wanted.log10().floor());
        [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|length| *length <= wanted).unwrap_or(power)
    }

    /// A scale bar at the lower left, the wind beside it, and an arrow to the north at the lower right.
    pub fn furnish(&self, map: &Map, scene: &mut Scene) {
        let y = self.bottom() - 14.0;
        let (left, right) = (EDGE, EDGE + self.bar() * self.per_unit);
        scene.line(vec![(left, y - 5.0), (left, y), (right, y), (right, y - 5.0)], INK, 1.4);
        let text = format!("{} {}", number(self.bar(), 4), self.unit);
        let text = Text::new(text, (right + 8.0, y + 3.0), NOTE_SIZE, Anchor::Start, QUIET);
        let wind_left = text.bounds().right + 30.0;
        scene.text(text);
        if let Some(rain) = &map.rain {
            land::draw_wind(rain, self, (wind_left, self.bottom() - land::WIND_HEIGHT - 3.0), scene);
        }
        let x = self.width - EDGE - 8.0;
        scene.line(vec![(x, y + 4.0), (x, y - 16.0)], AXIS, 1.4);
        scene.shapes.push(Shape::Area { points: vec![(x, y - 24.0), (x + 5.0, y - 12.0), (x - 5.0, y - 12.0)], ink: INK });
        scene.text(Text::new("north", (x - 10.0, y + 3.0), NOTE_SIZE, Anchor::End, QUIET));
    }
}

impl Projection for RealGround {
    fn px(&self, (x, y): (f64, f64)) -> Spot {
        (self.plot.left + (x - self.low.0) * self.per_unit, self.plot.bottom - (y - self.low.1) * self.per_unit)
    }

    fn turn(&self, toward: (f64, f64)) -> Spot {
        (toward.0, -toward.1)
    }
}

/// The lower left and the upper right corner of all that is drawn.
fn extent(map: &Map) -> ((f64, f64), (f64, f64)) {
    let mut low = (f64::INFINITY, f64::INFINITY);
    let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    let mut include = |(x, y): (f64, f64)| {
        low = (low.0.min(x), low.1.min(y));
        high = (high.0.max(x), high.1.max(y));
    };
    map.symbols.iter().for_each(|symbol| include(symbol.at));
    map.routes.iter().flat_map(|route| &route.points).for_each(|place| include(*place));
    map.throws.iter().flat_map(outline).for_each(&mut include);
    map.rain.iter().flat_map(|rain| rain.places()).for_each(&mut include);
    (low, high)
}

/// The rim of the wetted ground; of a sector with its tip at the head.
pub(super) fn outline(throw: &Throw) -> Vec<(f64, f64)> {
    let whole = throw.arc_deg >= 360.0;
    let n_steps = ((throw.arc_deg / 5.0).ceil() as i32).max(2);
    let at = |step: i32| {
        let share = f64::from(step) / f64::from(n_steps) - 0.5;
        let angle = (throw.middle_deg + throw.arc_deg * share).to_radians();
        (throw.center.0 + throw.radius * angle.cos(), throw.center.1 + throw.radius * angle.sin())
    };
    let rim = (0..n_steps + i32::from(!whole)).map(at);
    if whole { rim.collect() } else { std::iter::once(throw.center).chain(rim).collect() }
}
