//! Tables as scripts see them: rows as maps, columns with units, filters and groups by closures, files beside the script.
//!
//! The table itself is in `crate::table`.

mod calculated; // columns as values: arithmetic, comparisons, aggregates
mod cells; // cells and rows as values of a script
mod columns; // functions that make other columns
mod files; // a table shown, saved and read
mod numbers; // best rows, spreads and chances
mod rows; // functions that choose and join rows
mod words; // columns of texts, cells among others, one value or another

pub use calculated::operand;
pub use cells::{WholeTable, as_written, map_row, no_map, value_cell};
pub use columns::{as_wanted, wishes_in, wishes_of};

use crate::report::Saved;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, raise};
use crate::table::{Sheet, Table, TableColumn};
use cells::row_map;
use rhai::{Array, Dynamic, Engine, INT, Module, NativeCallContext};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A table has named columns; columns of quantities keep their unit. All functions give a new table.
`table.rows` is the number of rows, `table.names` the list of columns, `for row in table` goes through the rows as maps of their cells.

`table["loss"]` is a column. `+ - * /` calculate with a column and another column, a list or one value, row by row; `< <= > >= == !=` give
a column of true and false, `&`, `|` and `!` combine such columns. A missing cell gives a missing result, and so does a division by zero;
`filter` leaves out rows in which the comparison is missing. `sum`, `mean`, `min`, `max`, `median`, `quantile`, `sd` and `count` pass over
missing cells; of true and false `sum` is the number of true, `mean` their share. `all` and `some` ask whether all cells or some are true.
A column goes wherever a list goes; `column[0]` is its first cell, `column[-1]` its last.

A closure may take the place of a calculation with columns; it gets a row as a map. Columns are far faster for many rows.

```hw
let t = table(#{ hose: ["half", "five eighths"], loss: [9.psi, 3.psi], flow: [4.gpm, 4.gpm] });
t.rows                                             // => 2
t["loss"]                                          // => [9 psi, 3 psi]
t["loss"] + 1.psi                                  // => [10 psi, 4 psi]
t["loss"].max()                                    // => 9 psi
t.filter(t["loss"] < 5.psi)["hose"]                // => ["five eighths"]
t.filter(t["loss"] < 5.psi & t["flow"] > 5.gpm).rows   // => 0
t.filter(|row| row.loss < 5.psi).rows              // => 1
let hoses = [];
for row in t { hoses.push(row.hose); }
hoses                                              // => ["half", "five eighths"]
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Table>("a table");
    engine.register_get("rows", |table: &mut Table| table.rows() as INT);
    engine.register_get("names", |table: &mut Table| table.names().into_iter().map(Dynamic::from).collect::<Array>());
    engine.register_indexer_get(|table: &mut Table, name: &str| -> Answer<TableColumn> { table.series(name).map_err(raise) });
    let mut iterators = Module::new();
    iterators.set_iter_result(std::any::TypeId::of::<Table>(), |table| {
        let table = table.cast::<Table>();
        Box::new((0..table.rows()).map(move |row| Ok(Dynamic::from_map(row_map(table.row(row).map_err(raise)?)?))))
    });
    engine.register_global_module(iterators.into());
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
    calculated::register(engine);
    rows::register(engine);
    columns::register(engine);
    numbers::register(engine);
    files::register(engine);
    words::register(engine);
}
