//! Lists that are built item by item; they belong to the topic of lists.
//!
//! The engine measures a list whenever it was changed, so that each item added to a long one takes as long as the list. It does not look into
//! values of ours.

use crate::script::language::calling::context_of;
use crate::script::language::error::Answer;
use crate::script::language::sizes::MAX_LIST_ITEMS;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT, NativeCallContext, Position};

/// Items of a list beyond which a note says that there is a faster way; adding more takes over a tenth of a second.
const MANY_ITEMS: usize = 20_000;

/// A list that is being built.
#[derive(Clone, Debug, Default)]
pub struct GrowingList {
    items: Array,
    /// The items with those of the lists among them.
    n_in_all: usize,
}

/// Registers the functions of this file.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<GrowingList>("a growing list");
    let shown = |list: &GrowingList| format!("a growing list of {} items", list.items.len());
    engine
        .register_fn("to_string", move |list: GrowingList| shown(&list))
        .register_fn("to_debug", move |list: GrowingList| shown(&list));
    engine.register_get("len", |list: &mut GrowingList| list.items.len() as INT);
    engine.register_global_module(exported_module!(functions).into());
}

impl GrowingList {
    /// Errors: more items than a list may have.
    fn add(&mut self, item: Dynamic) -> Answer<()> {
        self.n_in_all += 1 + item.read_lock::<Array>().map_or(0, |inner| inner.len());
        if self.n_in_all > MAX_LIST_ITEMS {
            return Err(EvalAltResult::ErrorDataTooLarge("array".into(), Position::NONE).into());
        }
        self.items.push(item);
        Ok(())
    }
}

#[export_module]
mod functions {
    /// A list that is built item by item in a loop: `push(value)` adds an item, `len` counts them, and `list()` gives the list. It takes
    /// hundreds of thousands of items in the time that a plain list takes thousands.
    ///
    /// ```hw
    /// let lengths = growing_list();
    /// for number in 1..=50000 {
    ///     lengths.push(number * 1.ft);
    /// }
    /// lengths.list().len()    // => 50000
    /// lengths.list()[49999]   // => 50000 ft
    /// ```
    pub fn growing_list() -> GrowingList {
        GrowingList::default()
    }

    /// The items of a growing list as a list.
    ///
    /// ```hw
    /// let found = growing_list();
    /// found.push(30.psi);
    /// found.list()   // => [30 psi]
    /// ```
    pub fn list(items: &mut GrowingList) -> Array {
        items.items.clone()
    }

    /// Adds an item to the end of a list, or of a growing list.
    ///
    /// ```hw
    /// let zones = ["beds"];
    /// zones.push("berries");
    /// zones   // => ["beds", "berries"]
    /// ```
    #[rhai_fn(name = "push", return_raw)]
    pub fn push_to_growing_list(items: &mut GrowingList, item: Dynamic) -> Result<(), Box<EvalAltResult>> {
        items.add(item)
    }

    #[rhai_fn(name = "push", return_raw)]
    pub fn push_to_list(call: NativeCallContext, items: &mut Array, item: Dynamic) -> Result<(), Box<EvalAltResult>> {
        items.push(item);
        if items.len() == MANY_ITEMS {
            context_of(&call)?
                .note("push: a long list is measured at each push; growing_list() takes items without that".to_string());
        }
        Ok(())
    }

    /// How many items a list or a growing list has.
    ///
    /// ```hw
    /// ["beds", "berries"].len()   // => 2
    /// ```
    #[rhai_fn(name = "len")]
    pub fn length_of_growing_list(items: &mut GrowingList) -> INT {
        items.items.len() as INT
    }
}
