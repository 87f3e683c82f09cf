//! Tables as scripts see them: rows as maps, columns with units, filters and groups by closures, files beside the script.
//!
//! The table itself is in `crate::table`.

mod cells; // cells and rows as values of a script
mod columns; // functions that make other columns
mod files; // a table shown, saved and read
mod numbers; // best rows, spreads and chances
mod rows; // functions that choose and join rows

pub use cells::{WholeTable, map_row, no_map, value_cell};

use crate::report::Saved;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, raise};
use crate::table::{Sheet, Table};
use cells::cell_value;
use rhai::{Array, Dynamic, Engine, INT, NativeCallContext};

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
