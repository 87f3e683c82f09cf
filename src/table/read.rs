//! Tables from files; the unit of a column stands in its heading.
//!
//! A text is read in one pass over its fields, whose kinds are those of its first rows; columns that turn out otherwise further down are
//! read once more. The rows of a text without quotation marks are divided between the cores.

use super::csv_text::{Field, Records, is_blank};
use super::guess::{Guess, SENTINEL, Writing, ending, finite};
use super::heading::{CLOCKS, Head, Says, read_heading, unit_of, unlike};
use super::sniff::{Encoding, ReadOptions, Shape, decoded, is_comment};
use super::{ColumnKind, Table, TableError, check_size};
use crate::clock;
use crate::files::read_bytes;
use crate::limits::{self, Ended, Steps};
use crate::moment::DateOrder;
use crate::quantity::{Preference, Unit, dim, nearest_units};
use polars::prelude as pl;
use polars::prelude::{ChunkedBuilder, IntoColumn, IntoSeries};
use std::collections::BTreeSet;
use std::path::Path;

/// Rows by which the kind of a column is guessed.
const SAMPLE_ROWS: usize = 1000;
/// Bytes that are worth a thread.
const BYTES_OF_A_THREAD: usize = 1 << 18;
/// Names of columns that a note lists.
const MOST_LISTED: usize = 4;

impl Table {
    /// Reads a file of the kind its name ends with: `.csv`, `.tsv`, `.txt`, `.parquet` or `.json`.
    ///
    /// Errors: another ending, and those of the three.
    pub fn read(path: &Path) -> Result<Table, TableError> {
        Table::check_ending(path)?;
        Ok(Table::from_bytes(path, read_bytes(path)?, &ReadOptions::default())?.0)
    }

    /// The table that these bytes of a file are, and what was found out about the file, in words, if it is not a plain one.
    ///
    /// Errors: those of [`Table::read`]; options for a file that is no text.
    pub fn from_bytes(path: &Path, bytes: Vec<u8>, options: &ReadOptions) -> Result<(Table, Option<String>), TableError> {
        Table::check_ending(path)?;
        match ending(path).as_str() {
            "json" | "parquet" if *options != ReadOptions::default() => {
                Err(TableError::OptionsOfText { path: path.display().to_string() })
            }
            "json" => Ok((Table::from_json(&crate::files::text_of(bytes, path)?)?, None)),
            "parquet" => {
                let (table, found) = Table::from_parquet(path, bytes)?;
                Ok((table, (!found.is_empty()).then(|| found.join("; "))))
            }
            _ => {
                let (text, encoding) = decoded(bytes, path, options.encoding)?;
                let (table, mut found) = from_text(&text, options)?;
                match encoding {
                    Encoding::Utf8 => {}
                    Encoding::Latin1 => found.insert(0, "Latin-1".into()),
                    Encoding::Utf16 => found.insert(0, "UTF-16".into()),
                }
                Ok((table, (!found.is_empty()).then(|| found.join("; "))))
            }
        }
    }

    /// Errors: a file that is no table by its ending.
    pub fn check_ending(path: &Path) -> Result<(), TableError> {
        let known = matches!(ending(path).as_str(), "csv" | "tsv" | "txt" | "json" | "parquet");
        if known { Ok(()) } else { Err(TableError::UnknownFile { path: path.display().to_string() }) }
    }

    /// Reads separated text: a line of headings, then the rows.
    ///
    /// `pressure [psi]` is a column of pressures; its fields hold a number, a fraction such as `5/8`, or a quantity of that
    /// dimension in another unit. Without a unit, a column of numbers holds plain numbers, one of `true` and `false` flags, one of dates
    /// dates, one of times such as `05:30` times of the day, and any other texts. An empty field is missing, an empty line is passed over unless there is only one column.
    ///
    /// Errors: a bad value below a unit (with column, line and the text found), a line with more or fewer fields than the heading,
    /// no heading.
    pub fn from_csv(text: &str) -> Result<Table, TableError> {
        Ok(from_text(text, &ReadOptions::default())?.0)
    }
}

/// A column to be read.
#[derive(Clone, Debug)]
struct Goal {
    head: Head,
    guess: Guess,
}

/// A column in the making.
enum Building {
    Numbers(pl::PrimitiveChunkedBuilder<pl::Float64Type>),
    Dates(pl::PrimitiveChunkedBuilder<pl::Int64Type>),
    Clocks(pl::PrimitiveChunkedBuilder<pl::Float64Type>),
    Flags(pl::BooleanChunkedBuilder),
    Texts(pl::StringChunkedBuilder),
}

/// What was read of a stretch of the text.
struct Piece {
    rows: usize,
    columns: Vec<pl::Series>,
    /// Whether dates have times of the day, for each column.
    clocks: Vec<bool>,
    /// Marks taken for missing.
    missing: BTreeSet<String>,
    /// Columns that hold something else than was guessed, which are read once more.
    others: BTreeSet<usize>,
}

/// How a text is taken apart.
struct Reader {
    shape: Shape,
    writing: Writing,
    columns: usize,
}

fn from_text(text: &str, options: &ReadOptions) -> Result<(Table, Vec<String>), TableError> {
    limits::room_for(text.len())?;
    let shape = Shape::of(text, options);
    let writing = Writing { decimal: shape.decimal, dates: options.dates, missing: options.missing.clone() };
    let (mut records, mut fields) = (Records::of(text, shape.separator), Vec::new());
    let mut line = records.next(&mut fields)?;
    while line.is_some_and(|line| line < shape.head) || line.is_some() && is_blank(&fields) {
        line = records.next(&mut fields)?;
    }
    let head_line = line.ok_or(TableError::NoHeading)?;
    let mut heads = heads(&fields)?;
    let units = given_units(&mut heads, options)?;
    let mut reader = Reader { shape, writing, columns: heads.len() };
    let sample = reader.sample(records.clone())?;
    let dates = if options.dates.is_none() { reader.find_order_of_dates(&heads, &sample) } else { None };
    let goals = heads.into_iter().enumerate().map(|(place, head)| {
        let guess = reader.writing.guess(sample.iter().map(|fields| fields[place].text.as_ref()));
        reader.goal(head, guess)
    });
    let mut goals: Vec<Goal> = goals.collect();
    unlike(goals.iter_mut().map(|goal| &mut goal.head).collect())?;
    let all: BTreeSet<usize> = (0..goals.len()).collect();
    let mut pieces = reader.pieces(&records, &goals, &all)?;
    let others: BTreeSet<usize> = pieces.iter().flat_map(|piece| piece.others.iter().copied()).collect();
    if !others.is_empty() {
        let guesses = reader.guesses(records.clone(), &others)?;
        for (place, guess) in others.iter().zip(guesses) {
            goals[*place] = reader.goal(goals[*place].head.clone(), guess);
        }
        unlike(goals.iter_mut().map(|goal| &mut goal.head).collect())?;
        for (piece, again) in pieces.iter_mut().zip(reader.pieces(&records, &goals, &others)?) {
            piece.missing.extend(again.missing);
            for ((place, column), clock) in others.iter().zip(again.columns).zip(again.clocks) {
                piece.columns[*place] = column;
                piece.clocks[*place] = clock;
            }
        }
    }
    let mut found = reader.found(&goals, &pieces, head_line, units);
    found.extend(dates);
    Ok((table_of(goals, pieces)?, found))
}

/// The headings. Errors: an empty one.
fn heads(fields: &[Field]) -> Result<Vec<Head>, TableError> {
    let one = |(place, field): (usize, &Field)| {
        let text = field.text.trim();
        let bare = text.strip_prefix('#').map(str::trim).filter(|bare| place == 0 && !field.quoted && !bare.is_empty());
        read_heading(bare.unwrap_or(text), place + 1)
    };
    fields.iter().enumerate().map(one).collect()
}

/// Gives columns the units that were asked for; the number of columns that have one. Errors: no such column, an unknown unit.
fn given_units(heads: &mut [Head], options: &ReadOptions) -> Result<usize, TableError> {
    for (name, unit) in &options.units {
        let known = heads.iter().map(|head| head.loose.as_ref().unwrap_or(&head.name).clone()).collect();
        let is_meant = |head: &&mut Head| head.name == *name || head.loose.as_ref() == Some(name);
        let Some(head) = heads.iter_mut().find(is_meant) else {
            return Err(TableError::UnknownColumn { name: name.clone(), known });
        };
        let plain = head.loose.take().unwrap_or_else(|| head.name.clone());
        let says = match unit.trim() {
            "" => Says::Nothing,
            text => Says::Unit(unit_of(text).ok_or_else(|| TableError::UnknownUnit {
                column: name.clone(),
                unit: text.to_string(),
                nearest: nearest_units(text),
            })?),
        };
        *head = Head { name: if head.name == *name { name.clone() } else { plain }, says, loose: None, unknown: None };
    }
    Ok(options.units.len())
}

fn table_of(goals: Vec<Goal>, pieces: Vec<Piece>) -> Result<Table, TableError> {
    let clocks: Vec<bool> = (0..goals.len()).map(|place| pieces.iter().any(|piece| piece.clocks[place])).collect();
    let mut frame: Option<pl::DataFrame> = None;
    for piece in pieces {
        let columns = piece.columns.into_iter().map(IntoColumn::into_column).collect();
        let next = pl::DataFrame::new(piece.rows, columns)?;
        match &mut frame {
            Some(frame) => {
                frame.vstack_mut(&next)?;
            }
            None => frame = Some(next),
        }
    }
    let kinds = goals.iter().zip(clocks).map(|(goal, clock)| goal.kind(clock)).collect();
    Ok(Table::made(frame.ok_or(TableError::NoHeading)?, kinds))
}

impl Goal {
    fn kind(&self, clock: bool) -> ColumnKind {
        match (self.head.says.kind(), self.guess) {
            (Some(kind), _) => kind,
            (None, Guess::Numbers) => ColumnKind::Quantity { dimension: dim::NUMBER, preference: Preference::Usual },
            (None, Guess::Flags) => ColumnKind::Flag,
            (None, Guess::Dates { .. }) => ColumnKind::Date { clock },
            (None, Guess::Clocks) => CLOCKS,
            (None, Guess::Texts | Guess::Fractions | Guess::Quantities(_)) => ColumnKind::Text,
        }
    }

    fn unit(&self) -> Option<&'static Unit> {
        if let Says::Unit(unit) = self.head.says { Some(unit) } else { None }
    }
}

impl Reader {
    /// What is read below a heading whose fields look so.
    fn goal(&self, head: Head, guess: Guess) -> Goal {
        let guess = match head.says {
            Says::Unit(_) | Says::BaseUnits(_) if head.loose.is_none() => Guess::Numbers,
            Says::Text => Guess::Texts,
            Says::Flag => Guess::Flags,
            Says::Date { clock } => Guess::Dates { clock },
            Says::Clock => Guess::Clocks,
            _ => guess,
        };
        if let (Guess::Quantities(unit), Says::Nothing) = (guess, head.says) {
            let loose = Some(head.name.clone());
            return Goal { head: Head { says: Says::Unit(unit), loose, ..head }, guess: Guess::Numbers };
        }
        let guess = match (guess, head.says) {
            (Guess::Fractions, Says::Unit(_)) => Guess::Numbers,
            (Guess::Fractions | Guess::Quantities(_), _) => Guess::Texts,
            _ => guess,
        };
        match head.loose.clone() {
            // The end of the name is no unit then.
            Some(_) if guess != Guess::Numbers => Goal { head: head.without_unit(), guess },
            _ => Goal { head, guess },
        }
    }

    /// The next row, without blank lines and comments. Errors: a line with more or fewer fields than the heading.
    fn row<'a>(&self, records: &mut Records<'a>, fields: &mut Vec<Field<'a>>) -> Result<Option<usize>, TableError> {
        while let Some(line) = records.next(fields)? {
            if fields.len() == self.columns && (self.columns == 1 || !is_blank(fields)) {
                return Ok(Some(line));
            }
            if !is_blank(fields) && !is_comment(fields, self.columns) {
                return Err(TableError::RaggedLine { line, found: fields.len(), expected: self.columns });
            }
        }
        Ok(None)
    }

    fn sample<'a>(&self, mut records: Records<'a>) -> Result<Vec<Vec<Field<'a>>>, TableError> {
        let (mut rows, mut fields) = (Vec::new(), Vec::new());
        while rows.len() < SAMPLE_ROWS && self.row(&mut records, &mut fields)?.is_some() {
            rows.push(fields.clone());
        }
        Ok(rows)
    }

    /// Takes over the order of day and month where only one fits all columns that look like dates; says what was found about it.
    fn find_order_of_dates(&mut self, heads: &[Head], sample: &[Vec<Field>]) -> Option<String> {
        let texts = |place: usize| sample.iter().map(move |fields| fields[place].text.trim());
        let are_dates = |place: usize, order: Option<DateOrder>| {
            let writing = Writing { dates: order, ..self.writing.clone() };
            matches!(writing.guess(texts(place)), Guess::Dates { .. })
        };
        let (mut name, mut month_first, mut day_first) = (None, true, true);
        for (place, head) in heads.iter().enumerate().filter(|(_, head)| head.says == Says::Nothing) {
            let begins = texts(place)
                .find(|text| !text.is_empty())
                .is_some_and(|text| text.starts_with(|sign: char| sign.is_ascii_digit()));
            if !begins || are_dates(place, None) {
                continue;
            }
            // With points the day comes first.
            let points = texts(place).any(|text| text.contains('.'));
            let month = !points && are_dates(place, Some(DateOrder::MonthDayYear));
            let day = are_dates(place, Some(DateOrder::DayMonthYear));
            if month || day {
                name = name.or(Some(&head.name));
                (month_first, day_first) = (month_first && month, day_first && day);
            }
        }
        let name = name?;
        match (month_first, day_first) {
            (true, false) => self.writing.dates = Some(DateOrder::MonthDayYear),
            (false, true) => self.writing.dates = Some(DateOrder::DayMonthYear),
            _ => {
                let example = "#{ dates: \"month/day/year\" }";
                return Some(format!("{name} may have the month or the day first, and stays text: give {example} to read dates"));
            }
        }
        Some(format!("dates with the {} first", if month_first { "month" } else { "day" }))
    }

    /// What whole columns look like.
    fn guesses(&self, mut records: Records, places: &BTreeSet<usize>) -> Result<Vec<Guess>, TableError> {
        let mut texts: Vec<Vec<String>> = vec![Vec::new(); places.len()];
        let (mut fields, mut steps) = (Vec::new(), Steps::default());
        while self.row(&mut records, &mut fields)?.is_some() {
            for (texts, place) in texts.iter_mut().zip(places) {
                steps.weigh(fields[*place].text.len())?;
                texts.push(fields[*place].text.to_string());
            }
        }
        Ok(texts.iter().map(|texts| self.writing.guess(texts.iter().map(String::as_str))).collect())
    }

    /// Reads these columns, each stretch of the text in a thread.
    fn pieces(&self, records: &Records, goals: &[Goal], places: &BTreeSet<usize>) -> Result<Vec<Piece>, TableError> {
        let rest = records.rest();
        let threads = std::thread::available_parallelism().map_or(1, usize::from).min(rest.len() / BYTES_OF_A_THREAD + 1);
        let stretches = if rest.contains('"') { vec![records.clone()] } else { records.divided(threads) };
        check_size(rest.bytes().filter(|byte| *byte == b'\n').count().saturating_sub(1), 1)?;
        let [first, others @ ..] = stretches.as_slice() else { return Ok(Vec::new()) };
        let budget = limits::current();
        std::thread::scope(|scope| {
            let work = |stretch: &Records| self.piece(stretch.clone(), goals, places);
            let threads: Vec<_> = others
                .iter()
                .map(|stretch| {
                    let budget = budget.clone();
                    scope.spawn(move || {
                        let _entered = budget.as_ref().map(|budget| budget.enter());
                        work(stretch)
                    })
                })
                .collect();
            let mut pieces = vec![work(first)];
            pieces.extend(threads.into_iter().map(|thread| thread.join().unwrap_or(Err(Ended.into()))));
            // The first of several errors is that of the first line.
            pieces.into_iter().collect()
        })
    }

    fn piece(&self, mut records: Records, goals: &[Goal], places: &BTreeSet<usize>) -> Result<Piece, TableError> {
        let lines = records.rest().bytes().filter(|byte| *byte == b'\n').count() + 1;
        limits::room_for(lines.saturating_mul(places.len()).saturating_mul(size_of::<f64>()))?;
        let mut columns: Vec<(usize, Building)> =
            places.iter().map(|place| (*place, Building::of(&goals[*place], lines))).collect();
        let mut piece = Piece {
            rows: 0,
            columns: Vec::new(),
            clocks: vec![false; columns.len()],
            missing: BTreeSet::new(),
            others: BTreeSet::new(),
        };
        let (mut fields, mut steps) = (Vec::new(), Steps::default());
        while let Some(line) = self.row(&mut records, &mut fields)? {
            steps.step()?;
            piece.rows += 1;
            for (column, (place, building)) in columns.iter_mut().enumerate() {
                let (goal, field) = (&goals[*place], &fields[*place]);
                if building.add(self, goal, field, &mut piece.missing, &mut piece.clocks[column])? {
                    continue;
                }
                if goal.head.says != Says::Nothing && goal.head.loose.is_none() {
                    return Err(goal.bad_value(line, field));
                }
                piece.others.insert(*place);
                building.add_missing();
            }
        }
        check_size(piece.rows, goals.len())?;
        piece.columns = columns.into_iter().map(|(place, building)| building.finish(&goals[place].head.name)).collect();
        Ok(piece)
    }

    /// What was found out about the file, in words.
    fn found(&self, goals: &[Goal], pieces: &[Piece], head_line: usize, units: usize) -> Vec<String> {
        let mut found = Vec::new();
        if self.shape.separator != ',' {
            found.push(self.shape.separator_in_words());
        }
        if self.shape.decimal == ',' {
            found.push("decimal comma".into());
        }
        if head_line > 1 {
            found.push(format!("heading in line {head_line}"));
        }
        if pieces.iter().all(|piece| piece.rows == 0) {
            found.push("no rows".into());
        }
        let missing: BTreeSet<&str> = pieces.iter().flat_map(|piece| &piece.missing).map(String::as_str).collect();
        if !missing.is_empty() {
            found.push(format!("{} for missing", listed(missing.into_iter())));
        }
        let loose = goals.iter().filter_map(|goal| {
            let whole = goal.head.loose.as_ref()?;
            Some(format!("{} of '{whole}'", goal.unit()?.symbol))
        });
        let loose: Vec<String> = loose.collect();
        if !loose.is_empty() && units == 0 {
            found.push(format!("unit {}", listed(loose.iter().map(String::as_str))));
        }
        let unknown: Vec<&str> = goals.iter().filter_map(|goal| goal.head.unknown.as_deref()).collect();
        if !unknown.is_empty() {
            found.push(format!("unknown unit kept in the name: {}", listed(unknown.into_iter())));
        }
        found
    }
}

/// The first of some names.
fn listed<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.collect();
    let more = names.len().saturating_sub(MOST_LISTED);
    let first = names[..names.len() - more].join(", ");
    if more == 0 { first } else { format!("{first} and {more} more") }
}

impl Goal {
    fn bad_value(&self, line: usize, field: &Field) -> TableError {
        let expected = match self.head.says {
            Says::Unit(unit) => format!("a number of {}", unit.symbol),
            Says::Flag => "true or false".into(),
            Says::Date { .. } => "a date".into(),
            Says::Clock => "a time of day".into(),
            _ => "a number".into(),
        };
        TableError::BadValue { column: self.head.name.clone(), line, expected, found: field.text.to_string() }
    }
}

impl Building {
    fn of(goal: &Goal, rows: usize) -> Building {
        let name = pl::PlSmallStr::from_str(&goal.head.name);
        match goal.guess {
            Guess::Numbers => Building::Numbers(pl::PrimitiveChunkedBuilder::new(name, rows)),
            Guess::Dates { .. } => Building::Dates(pl::PrimitiveChunkedBuilder::new(name, rows)),
            Guess::Clocks => Building::Clocks(pl::PrimitiveChunkedBuilder::new(name, rows)),
            Guess::Flags => Building::Flags(pl::BooleanChunkedBuilder::new(name, rows)),
            Guess::Texts | Guess::Fractions | Guess::Quantities(_) => Building::Texts(pl::StringChunkedBuilder::new(name, rows)),
        }
    }

    fn add_missing(&mut self) {
        match self {
            Building::Numbers(column) => column.append_null(),
            Building::Dates(column) => column.append_null(),
            Building::Clocks(column) => column.append_null(),
            Building::Flags(column) => column.append_null(),
            Building::Texts(column) => column.append_null(),
        }
    }

    /// Adds a field; false where it is not of the kind of the column.
    fn add(
        &mut self,
        reader: &Reader,
        goal: &Goal,
        field: &Field,
        missing: &mut BTreeSet<String>,
        clock: &mut bool,
    ) -> Result<bool, Ended> {
        let text = field.text.trim();
        let writing = &reader.writing;
        if let Building::Numbers(column) = self
            && let Some(value) = writing.number(text)
        {
            // A logger that has no value writes this one.
            if value == SENTINEL && writing.missing.is_none() {
                if !missing.contains(text) {
                    missing.insert(text.to_string());
                }
                column.append_null();
                return Ok(true);
            }
            let si = finite(goal.head.says.to_si(value));
            if let Some(si) = si.filter(|_| writing.missing.as_ref().is_none_or(|_| !writing.is_missing(text, goal.guess))) {
                column.append_value(si);
                return Ok(true);
            }
        }
        let is_empty = if matches!(self, Building::Texts(_)) { field.is_missing() } else { text.is_empty() };
        if is_empty {
            self.add_missing();
            return Ok(true);
        }
        if writing.is_missing(text, goal.guess) {
            if writing.missing.is_none() && !missing.contains(text) {
                missing.insert(text.to_string());
            }
            self.add_missing();
            return Ok(true);
        }
        match self {
            Building::Numbers(column) => match number_in(text, goal.head.says, writing) {
                Some(si) => column.append_value(si),
                None => return Ok(false),
            },
            Building::Dates(column) => match writing.date(text) {
                Some(date) => {
                    *clock |= date.has_clock();
                    column.append_value(date.ms());
                }
                None => return Ok(false),
            },
            Building::Clocks(column) => match clock_in(text, goal.head.says) {
                Some(si) => column.append_value(si),
                None => return Ok(false),
            },
            Building::Flags(column) => match text.to_lowercase().as_str() {
                "true" => column.append_value(true),
                "false" => column.append_value(false),
                "yes" if goal.head.says == Says::Flag => column.append_value(true),
                "no" if goal.head.says == Says::Flag => column.append_value(false),
                _ => return Ok(false),
            },
            Building::Texts(column) => column.append_value(field.text.as_ref()),
        }
        Ok(true)
    }

    fn finish(self, name: &str) -> pl::Series {
        let series = match self {
            Building::Numbers(column) => column.finish().into_series(),
            Building::Dates(column) => column.finish().into_series(),
            Building::Clocks(column) => column.finish().into_series(),
            Building::Flags(column) => column.finish().into_series(),
            Building::Texts(column) => column.finish().into_series(),
        };
        series.with_name(name.into())
    }
}

/// The seconds of a time of day; below a heading that says so also of one before or after the day.
pub(super) fn clock_in(text: &str, says: Says) -> Option<f64> {
    if says == Says::Clock { clock::read_any_ns(text) } else { clock::read_ns(text) }.map(clock::seconds_of)
}

/// The SI value of a field below a heading: a number, or a text such as `5/8` or `12 ft` of the dimension of the heading.
pub(super) fn number_in(text: &str, says: Says, writing: &Writing) -> Option<f64> {
    if let Some(value) = writing.number(text) {
        return finite(says.to_si(value));
    }
    let Says::Unit(unit) = says else { return None };
    let quantity = writing.quantity(text)?;
    if quantity.dimension.is_number() {
        return finite(unit.to_si(quantity.si));
    }
    (quantity.dimension == unit.dimension).then_some(quantity.si)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Cell;
    use crate::table::samples::{psi, q};

    fn message(text: &str) -> String {
        Table::from_csv(text).unwrap_err().to_string()
    }

    #[test]
    fn headings_give_units_and_values_give_the_rest() {
        let table = Table::from_csv("zone, p [psi] ,n,ok,mixed\r\nbeds,30,1,true,1\r\n\r\n,,,,x\r\n").expect("a table");
        assert_eq!(table.names(), ["zone", "p", "n", "ok", "mixed"]);
        let row = |row| table.row(row).expect("a row").into_iter().map(|(_, cell)| cell).collect::<Vec<_>>();
        assert_eq!(row(0), ["beds".into(), psi(30.0), Cell::number(1.0), true.into(), "1".into()]);
        assert_eq!(row(1), [Cell::Missing, Cell::Missing, Cell::Missing, Cell::Missing, "x".into()]);
    }

    #[test]
    fn a_unit_column_takes_fractions_and_quantities_of_its_dimension() {
        let table = Table::from_csv("diameter [in]\n5/8\n1 1/2\n2 cm\n").expect("a table");
        let cells: Vec<Cell> = table.column("diameter").expect("a column").cells().collect();
        assert_eq!(cells, [q(0.625, "inch"), q(1.5, "inch"), q(2.0, "cm")]);
        assert!(Table::from_csv("diameter [in]\n2 psi\n").is_err());
    }

    #[test]
    fn bad_files_are_refused_with_place_and_found_text() {
        assert_eq!(message("a,p [psi]\nx,30\ny,low\n"), "line 3: column 'p' expects a number of psi, found 'low'");
        assert_eq!(message("p [psi]\ninf\n"), "line 2: column 'p' expects a number of psi, found 'inf'");
        assert_eq!(message("p [psi]\n1e999\n"), "line 2: column 'p' expects a number of psi, found '1e999'");
        assert_eq!(message("a [yes/no]\nmaybe\n"), "line 2: column 'a' expects true or false, found 'maybe'");
        assert_eq!(message("a [date]\n1.7.2026\n"), "line 2: column 'a' expects a date, found '1.7.2026'");
        assert_eq!(message("a,b\n1,2\n1,2,3\n"), "line 3 has 3 fields, but the heading has 2");
        assert_eq!(message("a,\"b\n1,2"), "the quotation mark opened in line 1 is never closed");
        assert_eq!(message("\n\n"), "the file holds no table: it has no line of column names");
        assert_eq!(message("a,,b\n"), "column 2 of the table has no name");
        assert_eq!(message("a,a\n"), "two columns are named 'a'");
        let many = format!("a,p [psi]\n{}x,low\n", "x,1\n".repeat(150_000));
        assert_eq!(message(&many), "line 150002: column 'p' expects a number of psi, found 'low'");
    }

    fn read(text: &str, options: &ReadOptions) -> (Table, String) {
        let (table, found) = Table::from_bytes(Path::new("t.csv"), text.as_bytes().to_vec(), options).expect("a table");
        (table, found.unwrap_or_default())
    }

    fn shown(table: &Table, name: &str) -> Vec<String> {
        table.column(name).expect("a column").cells().map(|cell| cell.show(Default::default())).collect()
    }

    #[test]
    fn money_thousands_and_dates_of_a_spreadsheet_are_read() {
        let text = "Date,Price,Pulses\n7/1/2026,\"$1,234.50\",\"12,345\"\n7/15/2026,$8,7\n";
        let (table, found) = read(text, &ReadOptions::default());
        assert_eq!(shown(&table, "Date"), ["2026-07-01", "2026-07-15"]);
        assert_eq!(shown(&table, "Price"), ["$1234.50", "$8.00"]);
        assert_eq!(table.cell(0, "Pulses").expect("a cell"), Cell::number(12_345.0));
        assert_eq!(found, "unit $ of 'Price'; dates with the month first");
        let (table, found) = read("Date,n\n7/1/2026,1\n7/5/2026,2\n", &ReadOptions::default());
        assert_eq!(shown(&table, "Date")[0], "7/1/2026");
        assert!(found.starts_with("Date may have the month or the day first"), "{found}");
        let (table, found) = read("Date,n\n1.7.2026,1\n5.7.2026,2\n", &ReadOptions::default());
        assert_eq!(shown(&table, "Date")[0], "2026-07-01");
        assert_eq!(found, "dates with the day first");
        // A row far down that is no amount makes a column of texts again.
        let many = format!("p\n{}free\n", "$3\n".repeat(2000));
        assert_eq!(shown(&read(&many, &ReadOptions::default()).0, "p")[2000], "free");
    }

    #[test]
    fn files_of_loggers_are_read_without_help() {
        let text = "Logger: orchard\nSerial;12\n\n# from the gauge at the tap\nzeit;Druck (bar);flow_L/min;note\n\
                    2026-07-01 05:30;2,5;-9999;a,b\n# restarted\n2026-07-01 05:45;NA;12,25;\n";
        let (table, found) = read(text, &ReadOptions::default());
        assert_eq!(table.names(), ["zeit", "Druck", "flow", "note"]);
        assert_eq!(shown(&table, "Druck"), ["2.5 bar", "-"]);
        assert_eq!(shown(&table, "flow"), ["-", "12.25 L/min"]);
        assert_eq!(shown(&table, "note"), ["a,b", "-"]);
        assert_eq!(table.kind("zeit").expect("a kind"), ColumnKind::Date { clock: true });
        assert_eq!(
            found,
            "semicolons; decimal comma; heading in line 5; -9999, NA for missing; unit bar of 'Druck (bar)', L/min of 'flow_L/min'"
        );
        assert_eq!(read("a,b\n1,2\n", &ReadOptions::default()).1, "");
        assert_eq!(read("a\tb\n1\t2\n", &ReadOptions::default()).1, "tabs");
        assert_eq!(shown(&read("#day;p\n2026-07-01;1,5\n", &ReadOptions::default()).0, "day"), ["2026-07-01"]);
    }

    #[test]
    fn what_is_given_is_not_guessed() {
        let options = ReadOptions {
            separator: Some(';'),
            decimal: Some(','),
            missing: Some(vec!["x".into()]),
            skip: Some(1),
            dates: Some(DateOrder::DayMonthYear),
            units: vec![("p".into(), "bar".into())],
            encoding: None,
        };
        let (table, _) = read("a;b;c\nday;p;q\n1.7.2026;1,5;x\n2.7.2026;x;-9999\n", &options);
        assert_eq!(shown(&table, "day"), ["2026-07-01", "2026-07-02"]);
        assert_eq!(shown(&table, "p"), ["1.5 bar", "-"]);
        assert_eq!(shown(&table, "q"), ["-", "-9999"]);
        let unit = |name: &str, unit: &str| ReadOptions { units: vec![(name.into(), unit.into())], ..ReadOptions::default() };
        let error = |options: &ReadOptions| Table::from_bytes(Path::new("t.csv"), b"p,q\n1,2\n".to_vec(), options).unwrap_err();
        assert!(matches!(error(&unit("r", "bar")), TableError::UnknownColumn { .. }));
        assert!(matches!(error(&unit("p", "gmp")), TableError::UnknownUnit { .. }));
        let plain = read("t_s,u_s\n1,2\n", &unit("t_s", "")).0;
        assert_eq!(plain.names(), ["t_s", "u"]);
        assert!(Table::from_bytes(Path::new("t.json"), b"[]".to_vec(), &options).is_err());
    }

    #[test]
    fn units_that_nobody_knows_stay_in_the_name() {
        let (table, found) = read("p [pis],l_ft,l_m,zone_m\n1,2,3,beds\n", &ReadOptions::default());
        assert_eq!(table.names(), ["p [pis]", "l_ft", "l_m", "zone_m"]);
        assert_eq!(shown(&table, "l_m"), ["3 m"]);
        assert_eq!(found, "unit ft of 'l_ft', m of 'l_m'; unknown unit kept in the name: pis");
    }

    #[test]
    fn letters_of_other_encodings_are_read() {
        let of = |bytes: &[u8]| Table::from_bytes(Path::new("t.csv"), bytes.to_vec(), &ReadOptions::default());
        let (table, found) = of(b"zone,p\nk\xfcche \x80,1\n").expect("a table");
        assert_eq!((shown(&table, "zone"), found.as_deref()), (vec!["küche €".to_string()], Some("Latin-1")));
        let wide: Vec<u8> = "\u{feff}zone\tp\nküche\t1\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let (table, found) = of(&wide).expect("a table");
        assert_eq!((shown(&table, "zone"), found.as_deref()), (vec!["küche".to_string()], Some("UTF-16; tabs")));
        assert!(of(b"\xff\x00\xfe,1\n").is_err());
    }

    #[test]
    fn a_column_that_turns_out_otherwise_far_down_is_read_again() {
        let rows = |n: usize, last: &str| format!("a,b\n{}{last},7\n", "12,7\n".repeat(n));
        let (table, _) = read(&rows(120_000, "x"), &ReadOptions::default());
        assert_eq!(table.rows(), 120_001);
        assert_eq!(table.cell(0, "a").expect("a cell"), "12".into());
        assert_eq!(table.cell(120_000, "a").expect("a cell"), "x".into());
        assert_eq!(table.cell(120_000, "b").expect("a cell"), Cell::number(7.0));
        let late = format!("a,b\n{}2026-07-01,7\n", ",7\n".repeat(2000));
        assert_eq!(read(&late, &ReadOptions::default()).0.kind("a").expect("a kind"), ColumnKind::Date { clock: false });
    }

    #[test]
    fn files_that_are_missing_damaged_or_of_another_kind_are_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let path = |name: &str| home.path().join(name);
        assert!(matches!(Table::read(&path("no.csv")), Err(TableError::File(_))));
        assert!(matches!(Table::read(&path("no.parquet")), Err(TableError::File(_))));
        assert!(matches!(Table::read(&path("no.xyz")), Err(TableError::UnknownFile { .. })));
        std::fs::write(path("bad.parquet"), b"PAR1 is not enough PAR1").expect("written");
        assert!(matches!(Table::read(&path("bad.parquet")), Err(TableError::Unreadable { .. })));
        std::fs::write(path("bad.parquet"), b"a,b").expect("written");
        assert!(matches!(Table::read(&path("bad.parquet")), Err(TableError::Unreadable { .. })));
    }
}
