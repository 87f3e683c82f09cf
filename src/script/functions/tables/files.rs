//! Words that show, save and read a table.
//!
//! The formats are the work of `crate::table`.

use super::cells::WholeTable;
use crate::moment::DateOrder;
use crate::nearest::did_you_mean;
use crate::report::Saved;
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::describe;
use crate::table::{Encoding, ReadOptions, Table};
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Shows a table with all its rows and columns.
    ///
    /// ```hw
    /// show(table([#{ p: 40.psi }]))   // =>     p
    /// // => (psi)
    /// // => -----
    /// // =>    40
    /// ```
    #[rhai_fn(name = "show")]
    pub fn show_whole(table: Table) -> WholeTable {
        WholeTable(table)
    }

    /// A table in Markdown with all its rows, for a report.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).markdown()   // => | p (psi) |
    /// // => | ---: |
    /// // => | 40 |
    /// ```
    #[rhai_fn(return_raw)]
    pub fn markdown(call: NativeCallContext, table: Table) -> Result<String, Box<EvalAltResult>> {
        table.show_markdown(context_of(&call)?.units()).map_err(raise)
    }

    /// Saves a table in the folder of the script as .csv, .parquet, .json or .md, with the units in the column names.
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).save("pressures.csv")   // => saved pressures.csv
    /// ```
    #[rhai_fn(return_raw)]
    pub fn save(call: NativeCallContext, table: Table, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        if let Some(left_out) = context.leaves_out(file) {
            return Ok(left_out);
        }
        let place = context.place_to_save(file)?;
        table.write(&place, context.units(), &context.origin()).map_err(raise)?;
        Ok(Saved::File(file.into()))
    }

    /// Reads a table from a .csv, .tsv, .txt, .parquet or .json file in the folder of the script. A column name such as `length [ft]`,
    /// `length (ft)` or `length_ft` gives the unit; what is no unit stays in the name.
    ///
    /// Of a text file it finds out what separates the fields, the decimal point or comma, the encoding, the line of the heading, comments that begin
    /// with `#`, dates, and marks of missing values such as NA and -9999, and shows in one line what is unusual. A map gives what it should
    /// not find out: `separator`, `decimal`, `missing` (one mark or a list), `skip` (lines before the heading), `dates` (such as
    /// "day.month.year"), `units` (a map by column, "" for a plain number), `encoding` ("utf-8", "latin-1" or "utf-16").
    ///
    /// ```hw
    /// table([#{ p: 40.psi }]).save("pressures.csv");
    /// read_table("pressures.csv")["p"]   // => [40 psi]
    /// read_table("pressures.csv", #{ missing: "40" })["p"].count()   // => 0
    /// ```
    #[rhai_fn(return_raw)]
    pub fn read_table(call: NativeCallContext, file: &str) -> Result<Table, Box<EvalAltResult>> {
        read(&call, file, &ReadOptions::default())
    }

    #[rhai_fn(name = "read_table", return_raw)]
    pub fn read_table_with(call: NativeCallContext, file: &str, options: Map) -> Result<Table, Box<EvalAltResult>> {
        read(&call, file, &read_options(&options)?)
    }
}

fn read(call: &NativeCallContext, file: &str, options: &ReadOptions) -> Answer<Table> {
    let context = context_of(call)?;
    let path = context.folder.file(file).map_err(raise)?;
    Table::check_ending(&path).map_err(raise)?;
    let bytes = context.folder.read(file).map_err(raise)?;
    context.note_input(file, &bytes).map_err(raise)?;
    let (table, found) = Table::from_bytes(&path, bytes, options).map_err(raise)?;
    if let Some(found) = found {
        context.note(format!("{file}: {found}"));
    }
    Ok(table)
}

const KEYS: [&str; 7] = ["separator", "decimal", "missing", "skip", "dates", "units", "encoding"];

/// How a file is to be read. Errors: an unknown key, a value of another kind.
fn read_options(map: &Map) -> Answer<ReadOptions> {
    let mut options = ReadOptions::default();
    for (key, value) in map {
        let wrong = |what: &str| {
            ScriptError::new(format!("read_table: {key} must be {what}, found {}", describe(value))).about("options")
        };
        let text = |what| value.as_immutable_string_ref().map(|text| text.to_string()).map_err(|_| wrong(what));
        match key.as_str() {
            "separator" => {
                let what = "one sign such as \";\", or \"tab\"";
                let given = text(what)?;
                let sign = if given == "tab" { Some('\t') } else { given.chars().next().filter(|_| given.chars().count() == 1) };
                options.separator =
                    Some(sign.filter(|sign| sign.is_ascii() && !matches!(sign, '"' | '\n' | '\r')).ok_or_else(|| wrong(what))?);
            }
            "decimal" => {
                let what = "\".\" or \",\"";
                let known = [(".", '.'), (",", ',')];
                let given = text(what)?;
                options.decimal = Some(known.iter().find(|(name, _)| *name == given).ok_or_else(|| wrong(what))?.1);
            }
            "missing" => {
                let one = |value: &Dynamic| value.to_string();
                let list = value.read_lock::<Array>().map(|list| list.iter().map(one).collect());
                options.missing = Some(list.unwrap_or_else(|| vec![one(value)]));
            }
            "skip" => {
                let lines = value.as_int().ok().and_then(|lines| usize::try_from(lines).ok());
                options.skip = Some(lines.ok_or_else(|| wrong("a number of lines"))?);
            }
            "dates" => {
                let what = "\"year-month-day\", \"day.month.year\" or \"month/day/year\"";
                let given = text(what)?;
                let words: Vec<&str> = given.split(['-', '.', '/', ' ']).collect();
                options.dates = Some(match words.as_slice() {
                    ["year", "month", "day"] => DateOrder::YearMonthDay,
                    ["day", "month", "year"] => DateOrder::DayMonthYear,
                    ["month", "day", "year"] => DateOrder::MonthDayYear,
                    _ => return Err(wrong(what).into()),
                });
            }
            "units" => {
                let what = "a map such as #{ flow: \"gpm\" }";
                let units = value.read_lock::<Map>().ok_or_else(|| wrong(what))?;
                let one = |(name, unit): (&rhai::Identifier, &Dynamic)| {
                    let unit = unit.as_immutable_string_ref().map_err(|_| wrong(what))?;
                    Ok((name.to_string(), unit.to_string()))
                };
                options.units = units.iter().map(one).collect::<Answer<_>>()?;
            }
            "encoding" => {
                let what = "\"utf-8\", \"latin-1\" or \"utf-16\"";
                options.encoding = Some(match text(what)?.to_lowercase().as_str() {
                    "utf-8" => Encoding::Utf8,
                    "latin-1" => Encoding::Latin1,
                    "utf-16" => Encoding::Utf16,
                    _ => return Err(wrong(what).into()),
                });
            }
            _ => {
                let error = ScriptError::new(format!("read_table: there is no option '{key}'"));
                let all = || format!("the options are {}", KEYS.join(", "));
                return Err(error.with_hint(did_you_mean(key, KEYS).unwrap_or_else(all)).about("options").into());
            }
        }
    }
    Ok(options)
}
