//! Sheets of paper to print: headings, tables, lists to check off, lines to fill in, and small print at the foot.
//!
//! The text is made smaller, within limits, until a sheet fits on one page; what is longer goes on on further pages. Knows nothing of gardens.

use super::error::FigureError;
use super::geometry::{Rect, Spot};
use super::palette::{AXIS, INK, PAPER, QUIET};
use super::scene::{Anchor, Ink, Scene, Shape, Text};
use super::text::{Weight, tidy, width, wrap};
use crate::limits;

/// The paper of a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 8 1/2 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 mm.
    A4,
    /// No paper but a narrow screen: one page as long as it needs.
    Narrow,
}

impl Paper {
    /// Those to print, by their names.
    pub const ALL: [(&'static str, Paper); 2] = [("Letter", Paper::Letter), ("A4", Paper::A4)];

    /// Width and height in pixels of 1/96 inch.
    fn pixels(self) -> (u32, u32) {
        match self {
            Paper::Letter => (816, 1056),
            Paper::A4 => (794, 1123),
            Paper::Narrow => (360, u32::MAX),
        }
    }

    /// Space around a page, pixels.
    fn margin(self) -> f64 {
        if self == Paper::Narrow { 14.0 } else { 48.0 }
    }
}

/// What a sheet shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Its paper.
    pub paper: Paper,
    /// The line at its top.
    pub title: String,
    /// A line below it; may be empty.
    pub subtitle: String,
    /// From top to bottom.
    pub blocks: Vec<SheetBlock>,
    /// Small print at the foot of each page.
    pub foot: Vec<String>,
}

/// A part of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum SheetBlock {
    /// A line above what follows.
    Heading(String),
    /// Running text.
    Text(String),
    /// A table.
    Table(SheetTable),
    /// Numbered lines, each with a box to check off.
    Steps(Vec<String>),
    /// Labels with lines to write on, two in a row.
    Blanks(Vec<String>),
}

/// A table of a sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetTable {
    /// Heads of the columns.
    pub heads: Vec<String>,
    /// The columns whose texts end at the right.
    pub right: Vec<usize>,
    /// Rows of as many cells.
    pub rows: Vec<Vec<SheetCell>>,
    /// How many rows at the end are sums.
    pub sums: usize,
}

/// A cell of a table of a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum SheetCell {
    /// A text.
    Text(String),
    /// Room to write.
    Blank,
}

impl SheetCell {
    fn text(&self) -> &str {
        match self {
            SheetCell::Text(text) => text,
            SheetCell::Blank => "",
        }
    }
}

const BODY: f64 = 14.0;
const HEADING: f64 = 16.0;
const TITLE: f64 = 23.0;
const SMALL: f64 = 11.5;
/// From one base line to the next, in sizes of the text.
const LINE: f64 = 1.32;
/// A line to write on, pixels at full size.
const BLANK: f64 = 86.0;
/// Height of a row to write in.
const HAND: f64 = 21.0;
/// Between two columns.
const GAP: f64 = 14.0;
/// Sizes that are tried, the largest first; what does not fit at the last one is broken into pages at the one before.
const SCALES: [f64; 6] = [1.0, 0.94, 0.88, 0.82, 0.77, 0.72];
const SCALE_OF_PAGES: f64 = 0.88;

/// What stands together on one page, its shapes from its own top.
struct Block {
    height: f64,
    shapes: Vec<Shape>,
    /// It stays with the one below.
    keeps: bool,
}

/// Sizes and width of a page at a scale.
struct Press {
    scale: f64,
    /// Left edge of the texts, and their width.
    left: f64,
    wide: f64,
    /// Rows of a table stand as lines of their own where its columns do not fit.
    unfolds: bool,
}

/// The pages of a sheet. Errors: the evaluation is to end.
pub(super) fn sheet_scenes(sheet: &Sheet) -> Result<Vec<Scene>, FigureError> {
    for scale in SCALES {
        let press = Press::new(sheet.paper, scale);
        let pages = press.broken(press.blocks(sheet), sheet);
        limits::go_on()?;
        if pages.len() == 1 {
            return Ok(press.scenes(pages, sheet));
        }
    }
    let press = Press::new(sheet.paper, SCALE_OF_PAGES);
    let pages = press.broken(press.blocks(sheet), sheet);
    limits::go_on()?;
    Ok(press.scenes(pages, sheet))
}

/// All pages as one picture.
pub(super) fn stacked(pages: Vec<Scene>) -> Scene {
    let mut pages = pages.into_iter();
    let Some(mut all) = pages.next() else {
        return Scene::new((1, 1), String::new(), String::new(), Vec::new());
    };
    for page in pages {
        let down = f64::from(all.height);
        all.shapes.extend(page.shapes.into_iter().map(|shape| moved(shape, down)));
        all.height += page.height;
    }
    all
}

fn moved(shape: Shape, down: f64) -> Shape {
    let at = |(x, y): Spot| (x, y + down);
    let all = |points: Vec<Spot>| points.into_iter().map(at).collect();
    let rect = |rect: Rect| Rect { top: rect.top + down, bottom: rect.bottom + down, ..rect };
    match shape {
        Shape::Line { points, ink, width, dash } => Shape::Line { points: all(points), ink, width, dash },
        Shape::Area { points, ink } => Shape::Area { points: all(points), ink },
        Shape::Veil { points, ink, opacity } => Shape::Veil { points: all(points), ink, opacity },
        Shape::Disc { center, radius, ink } => Shape::Disc { center: at(center), radius, ink },
        Shape::Box { rect: area, ink } => Shape::Box { rect: rect(area), ink },
        Shape::Picture { rect: area, columns, cells } => Shape::Picture { rect: rect(area), columns, cells },
        Shape::Text(text) => Shape::Text(Text { at: at(text.at), ..text }),
    }
}

fn rule(from: f64, to: f64, y: f64, ink: Ink, width: f64) -> Shape {
    Shape::Line { points: vec![(from, y), (to, y)], ink, width, dash: &[] }
}

/// Lines of a text as shapes from `top`, and where they end.
fn lines(lines: &[String], (left, top): Spot, size: f64, (weight, ink): (Weight, Ink), into: &mut Vec<Shape>) -> f64 {
    for (row, line) in lines.iter().enumerate() {
        let at = (left, top + size + row as f64 * LINE * size);
        into.push(Shape::Text(Text { weight, ..Text::new(line.as_str(), at, size, Anchor::Start, ink) }));
    }
    top + lines.len() as f64 * LINE * size
}

const PLAIN: (Weight, Ink) = (Weight::Regular, INK);
const STRONG: (Weight, Ink) = (Weight::Bold, INK);

impl Press {
    fn new(paper: Paper, scale: f64) -> Press {
        let (left, (width, _)) = (paper.margin(), paper.pixels());
        Press { scale, left, wide: f64::from(width) - 2.0 * left, unfolds: paper == Paper::Narrow }
    }

    fn size(&self, size: f64) -> f64 {
        size * self.scale
    }

    fn wrapped(&self, text: &str, size: f64, weight: Weight, wide: f64) -> Vec<String> {
        wrap(&tidy(text), size, weight, wide, usize::MAX)
    }

    fn blocks(&self, sheet: &Sheet) -> Vec<Block> {
        sheet.blocks.iter().flat_map(|block| self.block(block)).collect()
    }

    fn block(&self, block: &SheetBlock) -> Vec<Block> {
        match block {
            SheetBlock::Heading(text) => {
                let (size, above) = (self.size(HEADING), self.size(12.0));
                let broken = self.wrapped(text, size, Weight::Bold, self.wide);
                let mut shapes = Vec::new();
                let bottom = lines(&broken, (self.left, above), size, STRONG, &mut shapes);
                vec![Block { height: bottom + self.size(3.0), shapes, keeps: true }]
            }
            SheetBlock::Text(text) => {
                let size = self.size(BODY);
                let broken = self.wrapped(text, size, Weight::Regular, self.wide);
                let mut shapes = Vec::new();
                let bottom = lines(&broken, (self.left, 0.0), size, PLAIN, &mut shapes);
                vec![Block { height: bottom + self.size(5.0), shapes, keeps: false }]
            }
            SheetBlock::Table(table) => self.table(table),
            SheetBlock::Steps(steps) => steps.iter().enumerate().map(|(index, step)| self.step(index, step)).collect(),
            SheetBlock::Blanks(labels) if self.unfolds => labels.chunks(1).map(|one| self.blanks(one, self.wide)).collect(),
            SheetBlock::Blanks(labels) => {
                let half = (self.wide - self.size(GAP)) / 2.0;
                labels.chunks(2).map(|pair| self.blanks(pair, half)).collect()
            }
        }
    }

    /// A line with a box before its number.
    fn step(&self, index: usize, step: &str) -> Block {
        let (size, side) = (self.size(BODY), self.size(11.0));
        let indent = self.left + self.size(50.0);
        let broken = self.wrapped(step, size, Weight::Regular, self.left + self.wide - indent);
        let mut shapes = Vec::new();
        let top = self.size(1.5);
        let corner = top + size - side + self.size(1.0);
        let square = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0)];
        let points = square.into_iter().map(|(x, y)| (self.left + 1.0 + x, corner + y)).collect();
        shapes.push(Shape::Line { points, ink: INK, width: 1.0, dash: &[] });
        let number = Text::new(format!("{}.", index + 1), (indent - self.size(6.0), top + size), size, Anchor::End, QUIET);
        shapes.push(Shape::Text(number));
        let bottom = lines(&broken, (indent, top), size, PLAIN, &mut shapes).max(top + LINE * size);
        Block { height: bottom + self.size(2.5), shapes, keeps: false }
    }

    /// Labels beside each other, each with a line up to the end of its part.
    fn blanks(&self, labels: &[String], part: f64) -> Block {
        let size = self.size(BODY);
        let mut shapes = Vec::new();
        let mut height: f64 = 0.0;
        let wrapped: Vec<Vec<String>> =
            labels.iter().map(|label| self.wrapped(label, size, Weight::Regular, part - self.size(BLANK))).collect();
        for (index, broken) in wrapped.iter().enumerate() {
            let left = self.left + index as f64 * (part + self.size(GAP));
            let top = self.size(8.0);
            let bottom = lines(broken, (left, top), size, PLAIN, &mut shapes);
            let last = broken.last().map_or(0.0, |line| width(line, size, Weight::Regular));
            let base = bottom - LINE * size + size + self.size(2.0);
            shapes.push(rule(left + last + self.size(8.0), left + part, base, AXIS, 1.0));
            height = height.max(bottom);
        }
        Block { height: height + self.size(4.0), shapes, keeps: false }
    }

    /// Widths of the columns of a table: as wide as their texts where there is room, the widest made narrower where there is not; and
    /// whether there is.
    fn columns(&self, table: &SheetTable) -> (Vec<f64>, bool) {
        let (size, head_size) = (self.size(BODY), self.size(SMALL));
        let count = table.heads.len();
        let is_blank = |column: usize| table.rows.iter().any(|row| row.get(column) == Some(&SheetCell::Blank));
        let natural: Vec<f64> = (0..count)
            .map(|column| {
                let texts = table.rows.iter().enumerate().filter_map(|(row, cells)| Some((row, cells.get(column)?)));
                let of_row = |(row, cell): (usize, &SheetCell)| {
                    let weight = if row + table.sums >= table.rows.len() { Weight::Bold } else { Weight::Regular };
                    width(&tidy(cell.text()), size, weight)
                };
                let widest = texts.map(of_row).fold(width(&tidy(&table.heads[column]), head_size, Weight::Bold), f64::max);
                if is_blank(column) { widest.max(self.size(BLANK)) } else { widest }
            })
            .collect();
        let room = self.wide - self.size(GAP) * (count.max(1) - 1) as f64;
        let sum: f64 = natural.iter().sum();
        if sum <= room {
            // What is left widens the lines to write on, or else the widest column of texts.
            let blank: Vec<usize> = (0..count).filter(|column| is_blank(*column)).collect();
            let texts = (0..count).filter(|column| !table.right.contains(column));
            let widest = texts.max_by(|a, b| natural[*a].total_cmp(&natural[*b]));
            let takers = if blank.is_empty() { widest.into_iter().collect() } else { blank };
            let share = (room - sum) / takers.len().max(1) as f64;
            let widened = natural.iter().enumerate();
            return (widened.map(|(column, wide)| wide + if takers.contains(&column) { share } else { 0.0 }).collect(), true);
        }
        // The width at which the widest columns are cut so that all fit.
        let mut sorted = natural.clone();
        sorted.sort_by(f64::total_cmp);
        let (mut left, mut cut) = (room, room);
        for (index, wide) in sorted.iter().enumerate() {
            let share = left / (sorted.len() - index) as f64;
            if *wide > share {
                cut = share;
                break;
            }
            left -= wide;
        }
        (natural.iter().map(|wide| wide.min(cut)).collect(), false)
    }

    /// The rows of a table one below the other, each with the heads before its cells.
    fn unfolded(&self, table: &SheetTable) -> Vec<Block> {
        let size = self.size(BODY);
        let end = self.left + self.wide;
        let row = |(index, cells): (usize, &Vec<SheetCell>)| {
            let (mut shapes, mut bottom) = (Vec::new(), self.size(4.0));
            for (column, (cell, head)) in cells.iter().zip(&table.heads).enumerate() {
                let text = match (column, cell) {
                    (_, SheetCell::Text(text)) if text.is_empty() => continue,
                    (0, SheetCell::Text(text)) => text.clone(),
                    (_, SheetCell::Text(text)) => format!("{head}: {text}"),
                    (_, SheetCell::Blank) => format!("{head}:"),
                };
                let look = if column == 0 || index + table.sums >= table.rows.len() { STRONG } else { PLAIN };
                let broken = self.wrapped(&text, size, look.0, self.wide);
                let from = bottom + if *cell == SheetCell::Blank { self.size(8.0) } else { 0.0 };
                bottom = lines(&broken, (self.left, from), size, look, &mut shapes);
                if *cell == SheetCell::Blank {
                    let begin = self.left + broken.last().map_or(0.0, |line| width(line, size, look.0)) + self.size(8.0);
                    shapes.push(rule(begin, end, bottom - LINE * size + size + self.size(2.0), AXIS, 1.0));
                }
            }
            shapes.push(rule(self.left, end, bottom + self.size(3.0), AXIS, 0.5));
            Block { height: bottom + self.size(5.0), shapes, keeps: false }
        };
        table.rows.iter().enumerate().map(row).collect()
    }

    fn table(&self, table: &SheetTable) -> Vec<Block> {
        let (widths, fits) = self.columns(table);
        if self.unfolds && !fits {
            return self.unfolded(table);
        }
        let lefts: Vec<f64> = widths
            .iter()
            .scan(self.left, |left, wide| {
                let here = *left;
                *left += wide + self.size(GAP);
                Some(here)
            })
            .collect();
        let end = self.left + self.wide;
        let (size, head_size) = (self.size(BODY), self.size(SMALL));
        let heads: Vec<SheetCell> = table.heads.iter().map(|head| SheetCell::Text(head.clone())).collect();
        let row = |cells: &[SheetCell], size: f64, weight: Weight, ink: Ink| {
            let (top, mut bottom) = (self.size(3.0), 0.0_f64);
            let mut shapes = Vec::new();
            for ((cell, left), (column, wide)) in cells.iter().zip(&lefts).zip(widths.iter().enumerate()) {
                match cell {
                    // The line below the row is the one to write on.
                    SheetCell::Blank => bottom = bottom.max(top + self.size(HAND)),
                    SheetCell::Text(text) => {
                        let broken = self.wrapped(text, size, weight, *wide);
                        if table.right.contains(&column) {
                            for (at, line) in broken.iter().enumerate() {
                                let spot = (left + wide, top + size + at as f64 * LINE * size);
                                shapes
                                    .push(Shape::Text(Text { weight, ..Text::new(line.as_str(), spot, size, Anchor::End, ink) }));
                            }
                            bottom = bottom.max(top + broken.len() as f64 * LINE * size);
                        } else {
                            bottom = bottom.max(lines(&broken, (*left, top), size, (weight, ink), &mut shapes));
                        }
                    }
                }
            }
            (bottom.max(top + LINE * size), shapes)
        };
        let mut blocks = Vec::new();
        let (bottom, mut shapes) = row(&heads, head_size, Weight::Bold, QUIET);
        shapes.push(rule(self.left, end, bottom + self.size(1.0), INK, 1.0));
        blocks.push(Block { height: bottom + self.size(3.0), shapes, keeps: true });
        for (index, cells) in table.rows.iter().enumerate() {
            let is_sum = index + table.sums >= table.rows.len();
            let weight = if is_sum { Weight::Bold } else { Weight::Regular };
            let (bottom, mut shapes) = row(cells, size, weight, INK);
            let last = index + table.sums + 1 == table.rows.len();
            shapes.push(rule(
                self.left,
                end,
                bottom + self.size(1.0),
                if last { INK } else { AXIS },
                if last { 1.0 } else { 0.5 },
            ));
            blocks.push(Block { height: bottom + self.size(2.0), shapes, keeps: last && table.sums > 0 });
        }
        if let Some(last) = blocks.last_mut() {
            last.height += self.size(5.0);
        }
        blocks
    }

    /// Title and subtitle, and their height.
    fn top(&self, sheet: &Sheet) -> (f64, Vec<Shape>) {
        let mut shapes = Vec::new();
        let size = self.size(TITLE);
        let broken = self.wrapped(&sheet.title, size, Weight::Bold, self.wide);
        let mut bottom = lines(&broken, (self.left, 0.0), size, STRONG, &mut shapes);
        if !sheet.subtitle.is_empty() {
            let size = self.size(BODY);
            let broken = self.wrapped(&sheet.subtitle, size, Weight::Regular, self.wide);
            bottom = lines(&broken, (self.left, bottom), size, (Weight::Regular, QUIET), &mut shapes);
        }
        (bottom + self.size(6.0), shapes)
    }

    /// The small print, and its height.
    fn foot(&self, sheet: &Sheet) -> (f64, Vec<Shape>) {
        if sheet.foot.is_empty() {
            return (0.0, Vec::new());
        }
        let size = self.size(SMALL);
        let mut shapes = vec![rule(self.left, self.left + self.wide, self.size(4.0), INK, 1.0)];
        let mut bottom = self.size(8.0);
        for text in &sheet.foot {
            let broken = self.wrapped(text, size, Weight::Regular, self.wide);
            bottom = lines(&broken, (self.left, bottom), size, PLAIN, &mut shapes);
        }
        (bottom, shapes)
    }

    /// Blocks by pages, each with its own shapes moved into place; a page has at least one block.
    fn broken(&self, blocks: Vec<Block>, sheet: &Sheet) -> Vec<Vec<Shape>> {
        let (_, high) = sheet.paper.pixels();
        let first = sheet.paper.margin() + self.top(sheet).0;
        // Room for the number of the page.
        let last = f64::from(high) - sheet.paper.margin() - self.foot(sheet).0 - self.size(SMALL) - 4.0;
        let mut pages: Vec<Vec<Shape>> = vec![Vec::new()];
        let mut y = first;
        let mut blocks = blocks.into_iter().peekable();
        // Blocks that stay together move to the next page together.
        while blocks.peek().is_some() {
            let mut group: Vec<Block> = Vec::new();
            for block in blocks.by_ref() {
                let keeps = block.keeps;
                group.push(block);
                if !keeps {
                    break;
                }
            }
            let height: f64 = group.iter().map(|block| block.height).sum();
            if y + height > last && pages.last().is_some_and(|page| !page.is_empty()) {
                pages.push(Vec::new());
                y = first;
            }
            for block in group {
                let page = pages.last_mut().map(|page| page as &mut Vec<Shape>);
                let shapes = block.shapes.into_iter().map(|shape| moved(shape, y));
                page.into_iter().for_each(|page| page.extend(shapes.clone()));
                y += block.height;
            }
        }
        pages
    }

    fn scenes(&self, pages: Vec<Vec<Shape>>, sheet: &Sheet) -> Vec<Scene> {
        let (width, mut height) = sheet.paper.pixels();
        let margin = sheet.paper.margin();
        let count = pages.len();
        if sheet.paper == Paper::Narrow {
            let blocks: f64 = self.blocks(sheet).iter().map(|block| block.height).sum();
            height = (2.0 * margin + self.top(sheet).0 + blocks + self.foot(sheet).0).ceil() as u32;
        }
        let scene = |(index, body): (usize, Vec<Shape>)| {
            let paper = Rect { left: 0.0, top: 0.0, right: f64::from(width), bottom: f64::from(height) };
            let mut shapes = vec![Shape::Box { rect: paper.grown(1.0), ink: PAPER }];
            shapes.extend(self.top(sheet).1.into_iter().map(|shape| moved(shape, margin)));
            shapes.extend(body);
            let (foot, print) = self.foot(sheet);
            let top = f64::from(height) - margin - foot;
            shapes.extend(print.into_iter().map(|shape| moved(shape, top)));
            if count > 1 {
                let at = (f64::from(width) - margin, f64::from(height) - margin + self.size(SMALL) + 4.0);
                let page = format!("page {} of {count}", index + 1);
                shapes.push(Shape::Text(Text::new(page, at, self.size(SMALL), Anchor::End, QUIET)));
            }
            Scene::new((width, height), tidy(&sheet.title), in_words(sheet), shapes)
        };
        pages.into_iter().enumerate().map(scene).collect()
    }
}

#[cfg(test)]
fn texts(scene: &Scene) -> Vec<&Text> {
    scene.shapes.iter().filter_map(|shape| if let Shape::Text(text) = shape { Some(text) } else { None }).collect()
}

/// What stands on a sheet, for those who do not see it.
fn in_words(sheet: &Sheet) -> String {
    let block = |block: &SheetBlock| match block {
        SheetBlock::Heading(text) | SheetBlock::Text(text) => text.clone(),
        SheetBlock::Table(table) => {
            let row = |row: &Vec<SheetCell>| {
                row.iter().map(SheetCell::text).filter(|text| !text.is_empty()).collect::<Vec<_>>().join(", ")
            };
            table.rows.iter().map(row).collect::<Vec<_>>().join("; ")
        }
        SheetBlock::Steps(steps) => steps.join("; "),
        SheetBlock::Blanks(labels) => format!("to write in: {}", labels.join(", ")),
    };
    let texts = [sheet.subtitle.clone()].into_iter().chain(sheet.blocks.iter().map(block)).chain(sheet.foot.iter().cloned());
    let sentences = texts.map(|text| tidy(&text)).filter(|text| !text.is_empty());
    sentences.map(|text| format!("{}.", text.trim_end_matches('.'))).collect::<Vec<_>>().join(" ")
}

/// What is wrong on a page: texts that cover each other, or that leave the page.
#[cfg(test)]
fn faults(scene: &Scene) -> Vec<String> {
    let margin = if scene.width == Paper::Narrow.pixels().0 { Paper::Narrow.margin() } else { 20.0 };
    let page = Rect { left: 0.0, top: 0.0, right: f64::from(scene.width), bottom: f64::from(scene.height) }.grown(1.0 - margin);
    let texts = texts(scene);
    let bounds: Vec<Rect> = texts.iter().map(|text| text.bounds()).collect();
    let mut faults = Vec::new();
    for (index, (text, area)) in texts.iter().zip(&bounds).enumerate() {
        if !(page.holds((area.left, area.top)) && page.holds((area.right, area.bottom))) {
            faults.push(format!("'{}' leaves the page", text.content));
        }
        for (other, beside) in texts.iter().zip(&bounds).skip(index + 1) {
            if area.shared_area(beside) > 1.0 {
                faults.push(format!("'{}' covers '{}'", text.content, other.content));
            }
        }
    }
    faults
}

/// What is wrong on the pages of a sheet, and how many there are.
#[cfg(test)]
pub(crate) fn faults_of_sheet(sheet: &Sheet) -> (Vec<String>, usize) {
    let pages = sheet_scenes(sheet).unwrap_or_default();
    (pages.iter().flat_map(faults).collect(), pages.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::Graphic;
    use proptest::prelude::*;

    fn cell(text: &str) -> SheetCell {
        if text.is_empty() { SheetCell::Blank } else { SheetCell::Text(text.into()) }
    }

    fn sheet(rows: Vec<Vec<SheetCell>>, steps: Vec<String>, paper: Paper) -> Sheet {
        let table = SheetTable { heads: ["Zone", "Value", "Checked"].map(String::from).to_vec(), right: vec![1], rows, sums: 0 };
        Sheet {
            paper,
            title: "Watering".into(),
            subtitle: "Two zones".into(),
            blocks: vec![
                SheetBlock::Heading("Settings".into()),
                SheetBlock::Table(table),
                SheetBlock::Steps(steps),
                SheetBlock::Blanks(vec!["Checked on".into(), "by".into(), "Next".into()]),
            ],
            foot: vec!["Cautions hold whatever the results are.".into()],
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

        #[test]
        fn no_text_covers_another_or_leaves_its_page(
            names in prop::collection::vec("[a-zA-Z ]{0,60}", 0..40),
            steps in prop::collection::vec("[a-z ]{0,200}", 0..25),
            paper in prop_oneof![Just(Paper::Letter), Just(Paper::A4), Just(Paper::Narrow)],
        ) {
            let rows = names.iter().map(|name| vec![cell(&format!("x{name}")), cell("65 psi (4.48 bar)"), cell("")]).collect();
            let pages = sheet_scenes(&sheet(rows, steps.clone(), paper)).expect("pages");
            for page in &pages {
                prop_assert_eq!(faults(page), Vec::<String>::new());
            }
            // All of it is there, on as many pages as it takes.
            let shown: String = pages.iter().flat_map(texts).map(|text| text.content.as_str()).collect::<Vec<_>>().join(" ");
            prop_assert_eq!(shown.matches("65 psi").count(), names.len());
            let last = format!("{}.", steps.len());
            prop_assert!(steps.is_empty() || shown.contains(&last));
        }
    }

    #[test]
    fn a_long_sheet_goes_on_on_further_pages_with_numbers() {
        let rows = (0..150).map(|row| vec![cell(&format!("zone {row}")), cell("20 min"), cell("")]).collect();
        let pages = sheet_scenes(&sheet(rows, vec![], Paper::Letter)).expect("pages");
        assert!(pages.len() > 1);
        for (index, page) in pages.iter().enumerate() {
            let numbered = format!("page {} of {}", index + 1, pages.len());
            assert!(texts(page).iter().any(|text| text.content == numbered), "{numbered}");
            assert!(texts(page).iter().any(|text| text.content.starts_with("Cautions hold")));
        }
        let picture = stacked(pages.clone());
        assert_eq!(picture.height as usize, 1056 * pages.len());
    }

    #[test]
    fn the_paper_has_its_size() {
        for (paper, size) in [(Paper::Letter, "[0 0 612 792]"), (Paper::A4, "[0 0 595.5 842.25]")] {
            let bytes = Graphic::Sheet(sheet(vec![], vec![], paper)).drawn().and_then(|drawn| drawn.pdf()).expect("a document");
            assert!(String::from_utf8_lossy(&bytes).contains(&format!("/MediaBox {size}")), "{paper:?}");
        }
    }
}
