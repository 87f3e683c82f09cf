//! Tables as scripts see them: rows as maps, columns with units, filters and groups by closures, files beside the script.
//!
//! The table itself is in `crate::table`.

mod cells; // cells and rows as values of a script
mod columns; // words that make other columns
mod files; // a table shown, saved and read
mod numbers; // best rows, spreads and chances
mod rows; // words that choose and join rows

pub use cells::{map_row, no_map, value_cell};

use crate::report::Saved;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, raise};
use crate::script::language::parallel_calls::Job;
use crate::table::{Column, Sheet, Table};
use cells::cell_value;
use rhai::{Array, Dynamic, Engine, FnPtr, INT, Map, NativeCallContext};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A table has named columns; columns of quantities keep their unit. A closure gets a row as a map of its cells. All functions give a new table.
`table.rows` is the number of rows, `table.names` the list of columns, `table["length"]` the values of a column.

```hw
let t = table([#{ hose: "half", loss: 9.psi }, #{ hose: "five eighths", loss: 3.psi }]);
t.rows                                  // => 2
t["loss"]                               // => [9 psi, 3 psi]
t.filter(|r| r.loss < 5.psi).rows       // => 1
```
"#;

/// A table that shows all its rows.
#[derive(Clone, Debug)]
pub struct WholeTable(pub Table);

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Table>("a table");
    engine.register_get("rows", |table: &mut Table| table.rows() as INT);
    engine.register_get("names", |table: &mut Table| table.names().into_iter().map(Dynamic::from).collect::<Array>());
    engine.register_indexer_get(|table: &mut Table, name: &str| -> Answer<Array> {
        table.column(name).map_err(raise)?.cells().map(|cell| cell_value(&cell)).collect()
    });
    engine.register_fn("to_debug", |call: NativeCallContext, table: Table| -> Answer<String> {
        Ok(table.show_on(&Sheet { see_all: "show(table) shows all".into(), ..look_of(&call)?.sheet() }))
    });
    engine.register_type_with_name::<WholeTable>("a table shown whole");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, table: WholeTable| -> Answer<String> {
            Ok(table.0.show_on(&Sheet { rows: None, ..look_of(&call)?.sheet() }))
        });
    }
    engine.register_type_with_name::<Saved>("a saved file");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |saved: Saved| saved.to_string());
    }
    engine.register_fn("to_string", |table: Table| format!("a table of {} rows", table.rows()));
    rows::register(engine);
    columns::register(engine);
    numbers::register(engine);
    files::register(engine);
}

/// What a closure says to each row, on all cores where it takes a while; `read` reads its answers.
fn for_each_row<T: Send>(
    call: &NativeCallContext,
    word: &'static str,
    table: &Table,
    closure: &FnPtr,
    read: impl Fn(&Dynamic) -> Answer<T> + Sync,
) -> Answer<Vec<T>> {
    let columns = table.columns().map_err(raise)?;
    let make = || {
        let columns = &columns;
        move |row: usize| {
            let cell = |column: &Column| Ok((column.name.as_str().into(), cell_value(&column.cell(row))?));
            Ok(Dynamic::from_map(columns.iter().map(cell).collect::<Answer<Map>>()?))
        }
    };
    let job = Job { call, closure, word, range: 0..table.rows() };
    job.answers(make, read, |row| format!("row {row} of the table"))
}

fn names_of(value: &Dynamic, word: &str) -> Answer<Vec<String>> {
    crate::script::language::values::as_names(value, word)
}
