//! Tables as people see them: on a terminal and in a report.
//!
//! The layout: names on the first line, units in parentheses on the second, a thin rule, then the rows. Numbers stand to
//! the right with their decimal points in line, texts to the left. A missing value is a lone `-`. Only plain ASCII is added
//! to what the table holds, so that a table looks the same in every terminal, file and font.

use super::digits::Digits;
use super::{Cell, Column, Table, TableError, Values};
use crate::clock;
use crate::limits;
use crate::lines::broken_between_words;
use crate::quantity::UnitSystem;
use crate::visible::visible;

/// How a table is laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Which units are shown. Default: as written.
    pub system: UnitSystem,
    /// Width in characters: columns that do not fit are left out and named below, those of the middle first. Default: no limit.
    pub width: Option<usize>,
    /// Rows shown of a longer table, which is folded in the middle; `None` shows all. Default: 20, the first 15 and the last 5.
    pub rows: Option<usize>,
    /// How to see the rows left out; it ends the line of the fold.
    pub see_all: String,
}

impl Default for Sheet {
    fn default() -> Sheet {
        Sheet {
            system: UnitSystem::AsWritten,
            width: None,
            rows: Some(20),
            see_all: "first_rows(n) and last_rows(n) show more; a saved table has all".into(),
        }
    }
}

/// Between two columns.
const GAP: &str = "   ";
/// Longer texts are cut on a terminal.
const LONGEST_TEXT: usize = 40;
const MISSING: &str = "-";
/// Columns of which those are chosen that fit into a width; of more, those in the middle never do.
const MOST_COLUMNS: usize = 400;
/// Names that are listed of the columns that do not fit.
const MOST_NAMES: usize = 100;
/// What a cell takes as a text.
const BYTES_OF_A_TEXT: usize = 40;

/// A column ready to be laid out: heading, unit and the texts of the shown rows.
struct Block {
    name: String,
    unit: Option<String>,
    cells: Vec<String>,
    numeric: bool,
    width: usize,
    /// What is the same in every row, where there are several rows: `50 psi throughout`.
    same: Option<String>,
}

/// A column as texts, for a page.
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnText {
    /// Name of the column.
    pub name: String,
    /// The unit in which the cells show, if they have one.
    pub unit: Option<String>,
    /// One text a row; numbers of a column have their points in line when set to the right.
    pub cells: Vec<String>,
    /// True for a column of numbers, which is set to the right.
    pub numeric: bool,
}

impl Table {
    /// All columns as texts in the units of the system. Errors: none but faults of the table library.
    pub fn texts(&self, system: UnitSystem) -> Result<Vec<ColumnText>, TableError> {
        let text = |block: Block| {
            let unit = block.unit.map(|unit| unit.trim_matches(['(', ')']).to_string());
            ColumnText { name: block.name, unit, cells: block.cells, numeric: block.numeric }
        };
        Ok(self.blocks(system, self.rows(), 0, None)?.into_iter().map(text).collect())
    }

    /// The table for a terminal, units as `system` says, at most `width` characters wide, folded when long.
    pub fn show(&self, system: UnitSystem, width: Option<usize>) -> String {
        self.show_on(&Sheet { system, width, ..Sheet::default() })
    }

    /// The table for a terminal as the sheet asks; every line ends with a newline.
    pub fn show_on(&self, sheet: &Sheet) -> String {
        if limits::ended() {
            return String::new();
        }
        let (first, last) = self.shown_rows(sheet.rows);
        let blocks = match self.blocks(sheet.system, first, last, Some(LONGEST_TEXT)) {
            Ok(blocks) => blocks,
            Err(error) => return format!("{error}\n"),
        };
        let kept = fitting(&blocks, sheet.width);
        let shown: Vec<&Block> = kept.iter().map(|place| &blocks[*place]).collect();
        let shown = shown.as_slice();
        let width = shown.iter().map(|block| block.width).sum::<usize>() + GAP.len() * (shown.len() - 1);
        let mut text = line(shown, |block| &block.name);
        if shown.iter().any(|block| block.unit.is_some()) {
            text += &line(shown, |block| block.unit.as_deref().unwrap_or_default());
        }
        text += &format!("{}\n", "-".repeat(sheet.width.map_or(width, |most| most.max(1).min(width))));
        for row in 0..first + last {
            if limits::ended() {
                break;
            }
            if row == first && first + last < self.rows() {
                let left = self.rows() - first - last;
                let rows_are = if left == 1 { "row is" } else { "rows are" };
                let fold = format!("... {left} {rows_are} not shown; {}", sheet.see_all);
                text += &sentence(&fold, sheet.width.unwrap_or(usize::MAX));
            }
            text += &line(shown, |block| &block.cells[row]);
        }
        if self.rows() == 0 {
            text += "no rows\n";
        } else if first + last == 0 {
            text += &format!("... {} rows are not shown; {}\n", self.rows(), sheet.see_all);
        }
        if kept.len() < blocks.len() {
            let left_out = blocks.iter().enumerate().filter(|(place, _)| !kept.contains(place));
            let mut names: Vec<String> = left_out.map(|(_, block)| block.in_words()).collect();
            let more = names.len().saturating_sub(MOST_NAMES);
            names.truncate(MOST_NAMES);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            let names = format!("columns not shown for lack of width: {}{more}", names.join(", "));
            text += &sentence(&names, sheet.width.unwrap_or(usize::MAX));
        }
        text
    }

    /// All rows as a table of a Markdown report, units in the heading.
    ///
    /// Errors: none but faults of the table library.
    pub fn show_markdown(&self, system: UnitSystem) -> Result<String, TableError> {
        let blocks = self.blocks(system, self.rows(), 0, None)?;
        let row = |of: &dyn Fn(&Block) -> String| {
            let cells: Vec<String> = blocks.iter().map(of).collect();
            format!("| {} |\n", cells.join(" | "))
        };
        let heading = |block: &Block| match &block.unit {
            Some(unit) => format!("{} {}", escaped(&block.name), escaped(unit)),
            None => escaped(&block.name),
        };
        let mut text = row(&heading);
        text += &row(&|block| if block.numeric { "---:" } else { ":---" }.to_string());
        for number in 0..self.rows() {
            limits::go_on()?;
            text += &row(&|block| escaped(block.cells[number].trim()));
        }
        Ok(text)
    }

    /// How many rows are shown from the front and from the end.
    fn shown_rows(&self, limit: Option<usize>) -> (usize, usize) {
        match limit {
            Some(limit) if limit < self.rows() => (limit - limit / 4, limit / 4),
            _ => (self.rows(), 0),
        }
    }

    fn blocks(&self, system: UnitSystem, first: usize, last: usize, longest: Option<usize>) -> Result<Vec<Block>, TableError> {
        let rows: Vec<usize> = (0..first).chain(self.rows() - last..self.rows()).collect();
        let block = |name: &String| {
            let column = self.column(name)?;
            limits::room_for(rows.len().saturating_mul(BYTES_OF_A_TEXT))?;
            Ok(block(&column, system, &rows, longest))
        };
        self.names().iter().map(block).collect()
    }
}

fn block(column: &Column, system: UnitSystem, rows: &[usize], longest: Option<usize>) -> Block {
    let kind = column.kind();
    let name = one_line(&column.name, longest);
    let unit = kind.unit_text(system).map(|unit| format!("({unit})"));
    let cells: Vec<String> = match &column.values {
        Values::Quantities { si, .. } if kind.is_clock() => clocks(rows.iter().map(|row| si[*row])),
        Values::Quantities { si, .. } => {
            let shown: Vec<Option<f64>> = kind.shown_values(si, system);
            let money = kind.shown_unit(system).is_some_and(|unit| unit.dimension.is_amount());
            // All rows have a say in the digits, so that they do not change with the fold.
            let digits = Digits::of(&shown.iter().copied().flatten().collect::<Vec<_>>(), money);
            let text = |row: &usize| shown[*row].map_or(MISSING.to_string(), |value| digits.show(value));
            points_in_line(rows.iter().map(text).collect())
        }
        _ => rows.iter().map(|row| one_line(&column.cell(*row).show(system), longest)).collect(),
    };
    let width = cells.iter().chain([&name]).chain(&unit).map(|text| length(text)).max().unwrap_or(0);
    Block { name, unit, cells, numeric: kind.is_numeric(), width, same: same(column, system) }
}

/// Times of the day, all with seconds where one has them.
fn clocks(seconds: impl Iterator<Item = Option<f64>>) -> Vec<String> {
    let texts: Vec<String> = seconds.map(|time| time.and_then(clock::text).unwrap_or_else(|| MISSING.into())).collect();
    let points = |text: &str| text.matches(':').count();
    let fine = texts.iter().any(|text| points(text) > 1);
    texts.into_iter().map(|text| if fine && points(&text) == 1 { text + ":00" } else { text }).collect()
}

/// What every cell of a column says, where there are several and all say the same.
fn same(column: &Column, system: UnitSystem) -> Option<String> {
    let numbers = match &column.values {
        Values::Quantities { si, .. } => si.windows(2).all(|pair| pair[0] == pair[1]),
        Values::Texts(texts) => texts.windows(2).all(|pair| pair[0] == pair[1]),
        Values::Flags(flags) => flags.windows(2).all(|pair| pair[0] == pair[1]),
        Values::Dates { ms, .. } => ms.windows(2).all(|pair| pair[0] == pair[1]),
    };
    (column.len() > 1 && numbers).then(|| match column.cell(0) {
        Cell::Missing => "no values".to_string(),
        cell => format!("{} throughout", one_line(&cell.show(system), Some(LONGEST_TEXT))),
    })
}

/// Numbers padded at the end so that their decimal points are aligned when set to the right.
fn points_in_line(texts: Vec<String>) -> Vec<String> {
    let decimals = |text: &str| if text.contains('e') { 0 } else { text.find('.').map_or(0, |point| text.len() - point) };
    let most = texts.iter().map(|text| decimals(text)).max().unwrap_or(0);
    let pad = |text: String| match text.as_str() {
        MISSING => text,
        number if number.contains('e') => text,
        number => format!("{text}{}", " ".repeat(most - decimals(number))),
    };
    texts.into_iter().map(pad).collect()
}

/// The places of the blocks that fit into the width, at least one: first go those that say the same in every row, then those
/// in the middle, so that the first and the last stay longest; what a gardener looks for stays longer than either.
fn fitting(blocks: &[Block], width: Option<usize>) -> Vec<usize> {
    let mut kept: Vec<usize> = (0..blocks.len()).collect();
    let Some(most) = width else { return kept };
    if kept.len() > MOST_COLUMNS {
        let middle = kept.len() / 2;
        kept.sort_by_key(|&place| std::cmp::Reverse((blocks[place].rank(), place.abs_diff(middle))));
        kept.truncate(MOST_COLUMNS);
        kept.sort_unstable();
    }
    let too_wide = |kept: &[usize]| kept.iter().map(|place| blocks[*place].width + GAP.len()).sum::<usize>() > most + GAP.len();
    while kept.len() > 1 && too_wide(&kept) {
        let (middle, last) = (kept.len() / 2, kept.len() - 1);
        let same = (1..last).rev().find(|place| blocks[kept[*place]].same.is_some());
        let order = |place: &usize| (blocks[kept[*place]].rank(), *place == last, place.abs_diff(middle));
        kept.remove(same.or_else(|| (1..kept.len()).min_by_key(order)).unwrap_or(last));
    }
    kept
}

impl Block {
    /// How long a column stays where there is little room: pressure, flow and throw longest.
    fn rank(&self) -> usize {
        let last_word = self.name.rsplit(['.', '_', ' ']).next().unwrap_or_default();
        match last_word {
            "pressure" => 3,
            "flow" => 2,
            "throw" | "radius" => 1,
            _ => 0,
        }
    }

    /// The name, with the value where that is the same in every row.
    fn in_words(&self) -> String {
        match &self.same {
            Some(value) => format!("{} ({value})", self.name),
            None => self.name.clone(),
        }
    }
}

fn line<'a>(blocks: &[&'a Block], of: impl Fn(&'a Block) -> &'a str) -> String {
    let cell = |block: &&'a Block| {
        let block: &'a Block = block;
        let text = of(block);
        let space = " ".repeat(block.width.saturating_sub(length(text)));
        if block.numeric { format!("{space}{text}") } else { format!("{text}{space}") }
    };
    let cells: Vec<String> = blocks.iter().map(cell).collect();
    format!("{}\n", cells.join(GAP).trim_end())
}

/// A sentence on as many lines as the width asks.
fn sentence(text: &str, width: usize) -> String {
    broken_between_words(text, width, "  ").join("\n") + "\n"
}

fn length(text: &str) -> usize {
    text.chars().count()
}

/// A text on one line, cut to `longest` characters; line ends and tabs are spaces, and other control characters become visible.
fn one_line(text: &str, longest: Option<usize>) -> String {
    // Of a long text no more is looked at than is shown.
    let end = longest.and_then(|most| text.char_indices().nth(2 * most)).map_or(text.len(), |(at, _)| at);
    let plain = visible(&text[..end].replace("\r\n", " ").replace(['\n', '\t'], " ")).into_owned();
    match longest {
        Some(most) if length(&plain) > most => plain.chars().take(most - 3).chain("...".chars()).collect(),
        _ => plain,
    }
}

/// A text that Markdown shows as it is inside a cell of a table.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in visible(text).chars() {
        match letter {
            '|' | '\\' | '*' | '_' | '`' | '[' | ']' | '<' | '&' | '~' => safe.extend(['\\', letter]),
            letter if letter.is_control() => safe.push(' '),
            letter => safe.push(letter),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Preference, dim};
    use crate::table::samples::{sweep, unit};
    use insta::assert_snapshot;

    fn long() -> Table {
        let flows = (0..100).map(|n| Some(3.8e-4 - 1.234e-6 * f64::from(n)));
        Table::new(vec![
            Column::numbers("case", (0..100).map(f64::from)),
            Column::quantities("far head.flow", flows, dim::FLOW, Preference::Usual),
        ])
        .expect("a table")
    }

    #[test]
    fn units_follow_the_chosen_system() {
        assert_snapshot!("us", sweep().show(UnitSystem::Us, None));
        assert_snapshot!("metric", sweep().show(UnitSystem::Metric, None));
    }

    #[test]
    fn a_narrow_page_leaves_out_columns_and_names_them() {
        let text = sweep().show(UnitSystem::Us, Some(45));
        assert!(text.lines().all(|line| line.len() <= 45), "{text}");
        assert_snapshot!("narrow", text);
        let narrower = sweep().show(UnitSystem::Us, Some(30));
        assert!(narrower.lines().all(|line| line.len() <= 30), "{narrower}");
        assert!(sweep().show(UnitSystem::Us, Some(0)).starts_with("feed.length\n"));
    }

    #[test]
    fn columns_that_say_the_same_in_every_row_go_first_and_then_those_in_the_middle() {
        let column = |name: &str, values: [f64; 2]| Column::numbers(name, values);
        let table = Table::new(vec![
            column("length", [50.0, 100.0]),
            column("bore_of_all", [0.5, 0.5]),
            column("flow", [3.0, 2.0]),
            column("supply", [50.0, 51.0]),
            column("pressure", [40.0, 30.0]),
        ])
        .expect("a table");
        let names = |width: usize| {
            let text = table.show(UnitSystem::Us, Some(width));
            assert!(text.lines().next().is_some_and(|line| line.len() <= width), "{text}");
            text.lines().next().unwrap_or_default().split_whitespace().map(String::from).collect::<Vec<_>>()
        };
        assert_eq!(names(35), ["length", "flow", "supply", "pressure"]);
        assert_eq!(names(25), ["length", "flow", "pressure"]);
        assert_eq!(names(18), ["length", "pressure"]);
        assert_eq!(names(8), ["length"]);
        let text = table.show(UnitSystem::Us, Some(40));
        assert!(text.ends_with("columns not shown for lack of width:\n  bore_of_all (0.5 throughout)\n"), "{text}");
    }

    #[test]
    fn pressure_and_flow_stay_on_a_narrow_page() {
        let number = |name: &str| Column::numbers(name, [40.25, 30.5]);
        let table = Table::new(vec![
            Column::texts("part", ["feed", "berry"]),
            Column::texts("kind", ["hose", "head"]),
            number("flow"),
            number("pressure"),
            number("loss"),
            number("speed"),
            number("reynolds"),
        ])
        .expect("a table");
        for (width, names) in [(40, "part flow pressure reynolds"), (30, "part flow pressure"), (18, "part pressure")] {
            let text = table.show(UnitSystem::Us, Some(width));
            let heads: Vec<&str> = text.lines().next().unwrap_or_default().split_whitespace().collect();
            assert_eq!(heads.join(" "), names, "{text}");
        }
    }

    #[test]
    fn a_table_of_twenty_rows_is_whole() {
        let rows = |n: i32| Table::new(vec![Column::numbers("case", (0..n).map(f64::from))]).expect("a table");
        assert!(!rows(20).show(UnitSystem::Us, None).contains("not shown"));
        assert!(rows(21).show(UnitSystem::Us, None).contains("1 row is not shown"));
    }

    #[test]
    fn a_long_table_is_folded_in_the_middle() {
        assert_snapshot!("long", long().show(UnitSystem::AsWritten, None));
        let all = long().show_on(&Sheet { rows: None, ..Sheet::default() });
        assert_eq!(all.lines().count(), 103);
        let none = long().show_on(&Sheet { rows: Some(0), ..Sheet::default() });
        assert!(none.contains("100 rows are not shown"), "{none}");
    }

    #[test]
    fn many_columns_of_many_kinds_stand_in_line() {
        let table = Table::new(vec![
            Column::written("price", [12.5, 149.0, f64::NAN], unit("USD")),
            Column::quantities("loss", [Some(0.0123), Some(345.678_9), Some(2.0)], dim::NUMBER, Preference::Usual),
            Column::written("water", [12.0, 15.5, 18.25], unit("degC")),
            Column::quantities("odd", [Some(1.5), None, Some(1e12)], dim::LENGTH.times(dim::MASS), Preference::Usual),
            Column::texts("note", ["two\nlines", "", "a text that goes on for far longer than anyone would read in a table"]),
        ])
        .expect("a table");
        assert_snapshot!("kinds", table.show(UnitSystem::AsWritten, None));
    }

    #[test]
    fn an_empty_table_says_so() {
        assert_snapshot!("empty", sweep().head(0).show(UnitSystem::AsWritten, None));
    }

    #[test]
    fn a_report_gets_all_rows_and_safe_texts() {
        assert_snapshot!("markdown", sweep().show_markdown(UnitSystem::Metric).expect("a text"));
        let table = Table::new(vec![Column::texts("a|b", ["*x*\ny"])]).expect("a table");
        assert_eq!(table.show_markdown(UnitSystem::Us).expect("a text"), "| a\\|b |\n| :--- |\n| \\*x\\* y |\n");
    }

    #[test]
    fn words_of_any_script_stand_in_line() {
        let table = Table::new(vec![Column::texts("fl\u{e4}che", ["\u{fc}\u{fc}", "a"]), Column::numbers("n", [1.0, 20.0])])
            .expect("a table");
        assert_eq!(table.show(UnitSystem::Us, None), "fl\u{e4}che    n\n-----------\n\u{fc}\u{fc}        1\na        20\n");
    }
}
