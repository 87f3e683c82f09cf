//! Tables as people see them: on a terminal and in a report.
//!
//! The layout: names on the first line, units in parentheses on the second, a thin rule, then the rows. Numbers stand to
//! the right with their decimal points in line, texts to the left. A missing value is a lone `-`. Only plain ASCII is added
//! to what the table holds, so that a table looks the same in every terminal, file and font.

use super::digits::Digits;
use super::panels::{Block, GAP, Layout, beyond, line, sentence, throughout};
use super::{Cell, Column, ColumnKind, Table, TableError, Values};
use crate::clock;
use crate::limits;
use crate::lines::{cut_to, width_of};
use crate::quantity::{DAY_S, Unit, UnitSystem};
use crate::visible::visible;

/// How a table is laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Which units are shown. Default: as written.
    pub system: UnitSystem,
    /// Width in columns of a terminal: columns that do not fit beside each other stand in panels under each other. Default: no limit.
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

/// Longer texts are cut on a terminal.
const LONGEST_TEXT: usize = 40;
const MISSING: &str = "-";
/// Ends a text that was cut.
const CUT: &str = "...";
/// Texts are cut to no less than this, in columns of a terminal.
const LEAST_TEXT: usize = 10;
/// Last words of the names of columns whose inches are sizes as they are sold, and no depths of water.
const SIZES: &[&str] = &["diameter", "bore", "nozzle", "size"];
/// What a cell takes as a text.
const BYTES_OF_A_TEXT: usize = 40;

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
        let shown = self.shown_rows(sheet.rows);
        // Where the page has no edge, texts are whole.
        let longest = sheet.width.map(|width| (width * 2 / 3).clamp(LEAST_TEXT, LONGEST_TEXT));
        let mut blocks = match self.blocks(sheet.system, shown.0, shown.1, longest) {
            Ok(blocks) => blocks,
            Err(error) => return format!("{error}\n"),
        };
        cut_beside_the_key(&mut blocks, sheet.width);
        let layout = Layout::of(&blocks, sheet.width);
        let mut text = throughout(&blocks, &layout.folded, sheet.width);
        for (number, places) in layout.panels.iter().enumerate() {
            let panel: Vec<&Block> = places.iter().map(|&place| &blocks[place]).collect();
            if !text.is_empty() {
                text.push('\n');
            }
            text += &self.panel(&panel, shown, sheet, number == 0);
        }
        text + beyond(&blocks, &layout.beyond, sheet.width).as_str()
    }

    /// Columns side by side; the first panel says how to see the rows that are left out.
    fn panel(&self, shown: &[&Block], (first, last): (usize, usize), sheet: &Sheet, is_first: bool) -> String {
        let width = shown.iter().map(|block| block.width).sum::<usize>() + GAP.len() * shown.len().saturating_sub(1);
        let mut text = line(shown, |block| &block.name);
        if shown.iter().any(|block| block.unit.is_some()) {
            text += &line(shown, |block| block.unit.as_deref().unwrap_or_default());
        }
        text += &format!("{}\n", "-".repeat(sheet.width.map_or(width, |most| most.max(1).min(width))));
        let left = self.rows() - first - last;
        let see_all = if is_first { format!("; {}", sheet.see_all) } else { String::new() };
        let fold = sentence(&format!("... {left} rows are not shown{see_all}"), sheet.width);
        for row in 0..first + last {
            if limits::ended() {
                break;
            }
            if row == first && left > 0 {
                text += &fold;
            }
            text += &line(shown, |block| &block.cells[row]);
        }
        if self.rows() == 0 {
            text += "no rows\n";
        } else if first + last == 0 {
            text += &fold;
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

    /// How many rows are shown from the front and from the end. A row takes no more room than the line that would say it is left out.
    fn shown_rows(&self, limit: Option<usize>) -> (usize, usize) {
        match limit {
            Some(limit) if limit.saturating_add(1) < self.rows() => (limit - limit / 4, limit / 4),
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
        let mut blocks: Vec<Block> = self.names().iter().map(block).collect::<Result<_, TableError>>()?;
        for block in &mut blocks {
            block.is_key = self.keys.contains(&block.name);
        }
        if let Some(first) = blocks.first_mut().filter(|_| !self.keys.iter().any(|key| self.place(key).is_ok())) {
            first.is_key = true;
        }
        Ok(blocks)
    }
}

fn block(column: &Column, system: UnitSystem, rows: &[usize], longest: Option<usize>) -> Block {
    let kind = column.kind();
    let name = one_line(&column.name, longest);
    let kind = match &column.values {
        Values::Quantities { si, .. } => kind.fitting(si, system),
        _ => kind,
    };
    let unit = kind.unit_text(system).map(|unit| format!("({unit})"));
    let cells: Vec<String> = match &column.values {
        Values::Quantities { si, .. } if kind.is_clock() => clocks(rows.iter().map(|row| si[*row])),
        Values::Quantities { si, .. } => {
            let shown: Vec<Option<f64>> = kind.shown_values(si, system);
            // All rows have a say in the digits, so that they do not change with the fold.
            let digits = digits(
                &column.name,
                column.kind(),
                &shown.iter().copied().flatten().collect::<Vec<_>>(),
                kind.shown_unit(system),
            );
            let text = |row: &usize| shown[*row].map_or(MISSING.to_string(), |value| digits.show(value));
            points_in_line(rows.iter().map(text).collect())
        }
        _ => rows.iter().map(|row| one_line(&column.cell(*row).show(system), longest)).collect(),
    };
    let width = cells.iter().chain([&name]).chain(&unit).map(|text| width_of(text)).max().unwrap_or(0);
    Block { name, unit, cells, numeric: kind.is_numeric(), width, same: same(column, system), is_key: false }
}

/// Cuts texts to what the first key leaves of a line, since each panel begins with it.
fn cut_beside_the_key(blocks: &mut [Block], width: Option<usize>) {
    let Some((width, key)) = width.zip(blocks.iter().find(|block| block.is_key).map(|key| key.width)) else { return };
    let room = width.saturating_sub(key + GAP.len()).max(LEAST_TEXT);
    for block in blocks.iter_mut().filter(|block| !block.is_key && !block.numeric && block.width > room) {
        for text in block.cells.iter_mut().chain([&mut block.name]) {
            *text = one_line(text, Some(room));
        }
        block.width = room;
    }
}

/// The digits of a column: fractions for sizes in inches, and else by its numbers and their unit.
fn digits(name: &str, kind: ColumnKind, shown: &[f64], unit: Option<&'static Unit>) -> Digits {
    let given = match kind {
        ColumnKind::Quantity { preference, .. } => preference.unit().is_none_or(|own| Some(own) == unit),
        _ => true,
    };
    let last_word = name.rsplit(['.', '_', ' ']).next().unwrap_or_default();
    let in_inches = unit.is_some_and(|unit| unit.symbol == "in");
    let sizes = if in_inches && SIZES.contains(&last_word) { Digits::of_sizes(shown) } else { None };
    sizes.unwrap_or_else(|| Digits::of(shown, unit, given))
}

/// Times of the day, all with seconds where one has them, and with their day, counted from 1, where one is of a later day. Parts of a second
/// show where neighbors would else look alike.
fn clocks(seconds: impl Iterator<Item = Option<f64>>) -> Vec<String> {
    let seconds: Vec<Option<f64>> = seconds.collect();
    let known: Vec<f64> = seconds.iter().flatten().copied().collect();
    let are_told_apart = known.windows(2).all(|pair| (pair[0] - pair[1]).abs() < 0.005 || pair[0].round() != pair[1].round());
    let several = known.len() > 1 && are_told_apart;
    let seconds: Vec<Option<f64>> = seconds.into_iter().map(|time| if several { time.map(f64::round) } else { time }).collect();
    let several_days = seconds.iter().flatten().any(|time| *time >= DAY_S);
    let text = |time: f64| match clock::text_with_day(time) {
        Some(text) if several_days && (0.0..DAY_S).contains(&time) => Some(format!("day 1, {text}")),
        text => text,
    };
    let texts: Vec<String> = seconds.into_iter().map(|time| time.and_then(text).unwrap_or_else(|| MISSING.into())).collect();
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
        Cell::Missing => MISSING.to_string(),
        cell => one_line(&cell.show(system), Some(LONGEST_TEXT)),
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

/// A text on one line, cut to `longest` columns of a terminal; line ends and tabs are spaces, and other control characters become visible.
fn one_line(text: &str, longest: Option<usize>) -> String {
    // Of a long text no more is looked at than is shown.
    let end = longest.and_then(|most| text.char_indices().nth(2 * most)).map_or(text.len(), |(at, _)| at);
    let plain = visible(&text[..end].replace("\r\n", " ").replace(['\n', '\t'], " ")).into_owned();
    match longest {
        Some(most) if width_of(&plain) > most => cut_to(&plain, most - CUT.len()) + CUT,
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

    /// The names in the heads of all panels, a list each, of a text whose lines all fit.
    fn heads(table: &Table, width: usize) -> Vec<String> {
        let text = table.show(UnitSystem::Us, Some(width));
        assert!(text.lines().all(|line| width_of(line) <= width), "{text}");
        let lines: Vec<&str> = text.lines().collect();
        let rule = |at: usize| lines[at].starts_with("---");
        let head = |at: usize| if lines[at - 1].contains('(') { lines[at - 2] } else { lines[at - 1] };
        (0..lines.len()).filter(|at| rule(*at)).map(|at| head(at).split_whitespace().collect::<Vec<_>>().join(" ")).collect()
    }

    #[test]
    fn a_narrow_page_has_all_columns_in_panels_with_the_axes_in_each() {
        let sweep = sweep().with_keys(["feed.length", "feed.diameter"]);
        assert_eq!(heads(&sweep, 100), ["feed.length feed.diameter berry.pressure remark enough"]);
        assert_eq!(heads(&sweep, 45), ["feed.length feed.diameter berry.pressure", "feed.length feed.diameter remark enough"]);
        assert_snapshot!("narrow", sweep.show(UnitSystem::Us, Some(45)));
        // Where the axes leave no room, the first of them tells the rows apart.
        assert_eq!(heads(&sweep, 30), ["feed.length feed.diameter", "feed.length berry.pressure", "feed.length remark enough"]);
        let text = sweep.show(UnitSystem::Us, Some(0));
        assert!(text.starts_with("feed.le...\n"), "{text}");
    }

    #[test]
    fn texts_are_cut_to_what_the_key_leaves_of_a_line() {
        let texts = ["square or mitred elbow, 90 degrees", "tee, straight through"];
        let table = Table::new(vec![Column::texts("fitting", ["elbow_90_square", "tee_run"]), Column::texts("what", texts)]);
        let text = table.expect("a table").show(UnitSystem::Us, Some(40));
        assert_eq!(text.lines().nth(2), Some("elbow_90_square   square or mitred el..."), "{text}");
        assert!(text.lines().all(|line| width_of(line) <= 40), "{text}");
    }

    #[test]
    fn what_it_was_sorted_by_stands_in_each_panel() {
        let sorted = sweep().sort_by("berry.pressure", crate::table::Order::Rising).expect("a table");
        let panels = ["feed.length berry.pressure feed.diameter", "feed.length berry.pressure remark enough"];
        assert_eq!(heads(&sorted, 50), panels);
    }

    #[test]
    fn columns_that_say_the_same_in_every_row_are_told_above_where_room_is_short() {
        let column = |name: &str, values: [f64; 2]| Column::numbers(name, values);
        let table = Table::new(vec![
            column("length", [50.0, 100.0]),
            Column::written("bore_of_all", [0.625, 0.625], unit("in")),
            column("flow", [3.0, 2.0]),
            column("supply", [50.0, 51.0]),
            column("pressure", [40.0, 30.0]),
        ])
        .expect("a table");
        assert!(!table.show(UnitSystem::Us, Some(60)).contains("throughout"));
        let text = table.show(UnitSystem::Us, Some(40));
        assert!(text.starts_with("bore_of_all 5/8 in throughout\n\nlength   flow   supply   pressure\n"), "{text}");
        assert_eq!(heads(&table, 25), ["length flow supply", "length pressure"]);
        let kept = table.with_keys(["bore_of_all", "length"]);
        assert!(!kept.show(UnitSystem::Us, Some(40)).contains("throughout"), "a key stays a column");
    }

    #[test]
    fn a_table_of_very_many_columns_names_those_beyond() {
        let table =
            Table::new((0..500).map(|n| Column::numbers(format!("c{n}"), [f64::from(n), 1.5])).collect()).expect("a table");
        let text = table.show(UnitSystem::Us, Some(80));
        assert!(text.contains("c399") && text.contains("\nfurther columns, which select shows: c400, c401"), "{text}");
    }

    #[test]
    fn a_table_of_twenty_rows_is_whole_and_one_of_one_more_too() {
        let rows = |n: i32| Table::new(vec![Column::numbers("case", (0..n).map(f64::from))]).expect("a table");
        assert!(!rows(21).show(UnitSystem::Us, None).contains("not shown"));
        assert!(rows(22).show(UnitSystem::Us, None).contains("2 rows are not shown"));
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

    #[test]
    fn wide_signs_stand_in_line_and_are_cut_by_their_columns() {
        let table = Table::new(vec![Column::texts("\u{5e84}\u{5712}", ["\u{6c34}", "ab"]), Column::numbers("n", [1.0, 2.0])]);
        let text = table.expect("a table").show(UnitSystem::Us, None);
        assert_eq!(text, "\u{5e84}\u{5712}   n\n--------\n\u{6c34}     1\nab     2\n");
        let long = Table::new(vec![Column::texts("a", ["\u{6c34}".repeat(40)])]).expect("a table");
        let cut = long.show(UnitSystem::Us, Some(30));
        assert!(cut.lines().all(|line| width_of(line) <= 30) && cut.ends_with("...\n"), "{cut}");
    }
}
