//! The table beside a map: what has a number on it, in groups, in one panel or several side by side.

use super::what::{Roster, RosterGroup};
use crate::figure::geometry::Spot;
use crate::figure::palette::{AXIS, INK, QUIET};
use crate::figure::scene::{Anchor, NOTE_SIZE, Scene, Text};
use crate::figure::text::{Weight, tidy, widest, width, wrap};

/// Height of a line.
const LINE: f64 = 16.0;
/// Above the title of a group.
const BEFORE_GROUP: f64 = 7.0;
/// Between columns, and between panels.
const GAP: f64 = 12.0;
const PANEL_GAP: f64 = 28.0;
/// Longer names are broken into lines, and on a narrow sheet all names longer than the other columns leave room for, down to the least.
const MOST_NAME: f64 = 170.0;
const LEAST_NAME: f64 = 84.0;
/// Keeps the words of a name on one line.
const GLUE: &str = "\u{a0}";
/// Heads of the columns, with the line below.
const HEAD: f64 = 35.0;

/// A table, measured.
pub(super) struct Table<'a> {
    roster: &'a Roster,
    /// Width of the numbers, then of each column.
    columns: Vec<f64>,
}

/// A line of the table.
#[derive(Clone, Copy)]
enum Row<'a> {
    Group(&'a RosterGroup),
    Cells(usize, &'a [String]),
    Folded(&'a RosterGroup),
}

impl<'a> Table<'a> {
    /// With numbers, in this much room if that can be, or without where each row stands beside its thing: then no name is broken.
    pub fn new(roster: &'a Roster, numbered: bool, room: f64) -> Table<'a> {
        let rows = || roster.groups.iter().flat_map(|group| &group.rows);
        let number = rows().map(|row| row.0).max().unwrap_or(0).to_string();
        let mut columns = vec![if numbered { width(&number, NOTE_SIZE, Weight::Bold) } else { 0.0 }];
        for (column, title) in roster.columns.iter().enumerate() {
            let cells: Vec<&str> = rows().filter_map(|row| row.1.get(column)).map(String::as_str).collect();
            columns.push(widest(&cells, NOTE_SIZE, Weight::Regular).max(widest(&head_lines(title), NOTE_SIZE, Weight::Regular)));
        }
        if numbered && let Some(title) = roster.columns.first() {
            let others = columns[0] + columns[2..].iter().sum::<f64>() + (columns.len() - 1) as f64 * GAP;
            let most = (room - others).clamp(LEAST_NAME, MOST_NAME);
            columns[1] = columns[1].min(most).max(widest(&head_lines(title), NOTE_SIZE, Weight::Regular));
        }
        Table { roster, columns }
    }

    /// Width of a panel.
    pub fn width(&self) -> f64 {
        let gaps = self.columns.iter().filter(|wide| **wide > 0.0).count().saturating_sub(1) as f64 * GAP;
        self.columns.iter().sum::<f64>() + gaps
    }

    /// As many panels as fit beside each other, no more than the rows fill.
    pub fn panels_in(&self, room: f64) -> usize {
        let most = ((room + PANEL_GAP) / (self.width() + PANEL_GAP)).floor().max(1.0) as usize;
        let rows: usize = self.roster.groups.iter().map(|group| 1 + if group.folded { 1 } else { group.rows.len() }).sum();
        most.min(rows.div_ceil(5)).max(1)
    }

    fn name_lines(&self, cells: &[String]) -> Vec<String> {
        let name = cells.first().map(|name| tidy(name)).unwrap_or_default();
        wrap(&name, NOTE_SIZE, Weight::Regular, self.columns[1] + 0.1, 9)
    }

    fn height_of(&self, row: &Row) -> f64 {
        match row {
            Row::Group(group) => BEFORE_GROUP + LINE * self.title_lines(group).len() as f64,
            Row::Cells(_, cells) => LINE * self.name_lines(cells).len().max(1) as f64,
            Row::Folded(group) => LINE * self.folded_lines(group).len() as f64,
        }
    }

    /// Numbers and names of a group that is folded.
    fn folded_lines(&self, group: &RosterGroup) -> Vec<String> {
        let room = self.width();
        let name = |(number, cells): &(usize, Vec<String>)| {
            let name = format!("{number} {}", cells.first().map(|name| tidy(name)).unwrap_or_default());
            // A name stays on one line where it fits.
            if width(&name, NOTE_SIZE, Weight::Regular) < room - 10.0 { name.replace(' ', GLUE) } else { name }
        };
        let names: Vec<String> = group.rows.iter().map(name).collect();
        let lines = wrap(&names.join(", "), NOTE_SIZE, Weight::Regular, room, 12);
        lines.into_iter().map(|line| line.replace(GLUE, " ")).collect()
    }

    /// What stands in a group below its title.
    fn rows_of(group: &'a RosterGroup) -> Vec<Row<'a>> {
        if group.folded {
            return vec![Row::Folded(group)];
        }
        group.rows.iter().map(|(number, cells)| Row::Cells(*number, cells)).collect()
    }

    fn title_lines(&self, group: &RosterGroup) -> Vec<String> {
        wrap(&tidy(&group.title), NOTE_SIZE, Weight::Bold, self.width(), 3)
    }

    /// The rows of each panel; a group that goes on in the next has its title there again.
    fn panels(&self, count: usize) -> Vec<Vec<Row<'a>>> {
        let all = self
            .roster
            .groups
            .iter()
            .flat_map(|group| std::iter::once(Row::Group(group)).chain(Table::rows_of(group)).map(move |row| (group, row)));
        let whole: f64 = self.roster.groups.iter().map(|group| self.height_of_group(group)).sum();
        let mut most = whole / count as f64;
        let rows: Vec<(&RosterGroup, Row)> = all.collect();
        // Titles that are printed again need some room more.
        loop {
            let panels = self.filled(&rows, most);
            if panels.len() <= count {
                return panels;
            }
            most += LINE;
        }
    }

    fn filled(&self, rows: &[(&'a RosterGroup, Row<'a>)], most: f64) -> Vec<Vec<Row<'a>>> {
        let (mut panels, mut height) = (vec![Vec::new()], 0.0);
        for (at, (group, row)) in rows.iter().enumerate() {
            let mut need = self.height_of(row);
            if matches!(row, Row::Group(_)) {
                // A title does not stand alone at the foot of a panel.
                need += rows.get(at + 1).map_or(0.0, |(_, next)| self.height_of(next));
            }
            if height + need > most + 0.5 && height > 0.0 {
                panels.push(Vec::new());
                height = 0.0;
                if matches!(row, Row::Cells(..)) {
                    height += self.height_of(&Row::Group(group));
                    if let Some(panel) = panels.last_mut() {
                        panel.push(Row::Group(group));
                    }
                }
            }
            height += self.height_of(row);
            if let Some(panel) = panels.last_mut() {
                panel.push(*row);
            }
        }
        panels
    }

    fn height_of_group(&self, group: &'a RosterGroup) -> f64 {
        let rows = Table::rows_of(group).into_iter().map(|row| self.height_of(&row));
        self.height_of(&Row::Group(group)) + rows.sum::<f64>()
    }

    /// Height with this many panels.
    pub fn height(&self, count: usize) -> f64 {
        let of_panel = |panel: &Vec<Row>| panel.iter().map(|row| self.height_of(row)).sum::<f64>();
        HEAD + self.panels(count).iter().map(of_panel).fold(0.0, f64::max)
    }

    /// Prints the panels side by side from an upper left corner.
    pub fn print(&self, count: usize, (left, top): Spot, scene: &mut Scene) {
        for (index, panel) in self.panels(count).iter().enumerate() {
            let x = left + index as f64 * (self.width() + PANEL_GAP);
            self.print_head((x, top), scene);
            let mut y = top + HEAD;
            for row in panel {
                match row {
                    Row::Group(group) => {
                        for (line, text) in self.title_lines(group).into_iter().enumerate() {
                            let at = (x, y + BEFORE_GROUP + LINE * (line as f64 + 1.0) - 4.0);
                            scene.text(Text::new(text, at, NOTE_SIZE, Anchor::Start, INK).bold());
                        }
                    }
                    Row::Folded(group) => {
                        for (line, text) in self.folded_lines(group).into_iter().enumerate() {
                            let at = (x, y + LINE * (line as f64 + 1.0) - 4.0);
                            scene.text(Text::new(text, at, NOTE_SIZE, Anchor::Start, QUIET));
                        }
                    }
                    Row::Cells(number, cells) => {
                        let at = (x + self.columns[0], y + LINE - 4.0);
                        scene.text(Text::new(number.to_string(), at, NOTE_SIZE, Anchor::End, INK).bold());
                        self.print_cells(cells, (x, y + LINE - 4.0), scene);
                    }
                }
                y += self.height_of(row);
            }
        }
    }

    /// Heads of the columns from an upper left corner, with a line below.
    pub fn print_head(&self, (left, top): Spot, scene: &mut Scene) {
        let lines: Vec<[String; 2]> = self.roster.columns.iter().map(|title| head_lines(title)).collect();
        for line in 0..2 {
            let titles: Vec<String> = lines.iter().map(|of_title| of_title[line].clone()).collect();
            self.print_line(&titles, (left, top + LINE - 4.0 + line as f64 * (LINE - 2.0)), QUIET, scene);
        }
        let base = top + HEAD - 4.0;
        scene.line(vec![(left, base), (left + self.width(), base)], AXIS, 1.0);
    }

    /// The cells of a row on a base line; a long name goes on below.
    pub fn print_cells(&self, cells: &[String], (left, base): Spot, scene: &mut Scene) {
        self.print_line(cells, (left, base), INK, scene);
    }

    fn print_line(&self, cells: &[String], (left, base): Spot, ink: crate::figure::scene::Ink, scene: &mut Scene) {
        let mut x = left + if self.columns[0] > 0.0 { self.columns[0] + GAP } else { 0.0 };
        for (line, text) in self.name_lines(cells).into_iter().enumerate() {
            scene.text(Text::new(text, (x, base + line as f64 * LINE), NOTE_SIZE, Anchor::Start, ink));
        }
        x += self.columns[1];
        for (wide, cell) in self.columns[2..].iter().zip(cells.iter().skip(1)) {
            x += GAP + wide;
            if !cell.is_empty() {
                scene.text(Text::new(cell, (x, base), NOTE_SIZE, Anchor::End, ink));
            }
        }
    }

    /// The cells of what has a number.
    pub fn cells_of(&self, number: usize) -> Option<&'a [String]> {
        let mut rows = self.roster.groups.iter().flat_map(|group| &group.rows);
        rows.find(|row| row.0 == number).map(|row| row.1.as_slice())
    }
}

/// A title in two lines: what it is, and its unit, which stands in parentheses.
fn head_lines(title: &str) -> [String; 2] {
    match title.split_once(" (") {
        Some((what, unit)) => [what.into(), unit.trim_end_matches(')').into()],
        None => [String::new(), title.into()],
    }
}

/// Height of the heads of the columns.
pub(super) const HEAD_HEIGHT: f64 = HEAD;
