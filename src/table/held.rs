//! What a table holds: columns in the memory, or columns of a file that are read when somebody asks for them.

use super::column::ColumnKind;
use crate::limits;
use polars::prelude::DataFrame;
use std::ops::{Deref, DerefMut};
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

/// Columns and what they hold.
#[derive(Clone, Debug)]
pub struct Contents {
    /// Float64 (SI, null for missing), String and Boolean columns.
    pub(super) frame: DataFrame,
    /// What each column of the frame holds, in the same order.
    pub(super) kinds: Vec<ColumnKind>,
}

#[derive(Clone, Debug)]
pub(super) enum Held {
    Here(Contents),
    Later(Arc<Later>),
}

/// The table of a file.
#[derive(Debug)]
pub(super) struct Later {
    path: PathBuf,
    pub(super) rows: usize,
    read: OnceLock<Contents>,
}

/// A table whose columns keep their unit.
///
/// It has at least one column; names are unique, not blank, and carry no blanks at their ends. Rows are numbered from 0.
/// Every operation gives a new table and leaves this one as it was.
#[derive(Clone, Debug)]
pub struct Table {
    pub(super) held: Held,
    /// Names of the columns that distinguish its rows, such as the axes of a sweep and what it was sorted by; on a narrow page they stand
    /// beside all others. A name that no column has means nothing.
    pub(super) keys: Vec<String>,
}

impl PartialEq for Table {
    /// Equal when names, kinds, preferences and all values are equal; missing equals missing. What distinguishes rows does not count.
    fn eq(&self, other: &Table) -> bool {
        self.kinds == other.kinds && self.frame.equals_missing(&other.frame)
    }
}

impl Table {
    /// The table of a file with that many rows, which is read when more than their number is asked for. Should it be gone by then, the
    /// evaluation ends.
    pub fn read_later(path: PathBuf, rows: usize) -> Table {
        Table { held: Held::Later(Arc::new(Later { path, rows, read: OnceLock::new() })), keys: Vec::new() }
    }

    /// A table in the memory.
    pub(super) fn made(frame: DataFrame, kinds: Vec<ColumnKind>) -> Table {
        Table { held: Held::Here(Contents { frame, kinds }), keys: Vec::new() }
    }
}

impl Later {
    fn contents(&self) -> &Contents {
        self.read.get_or_init(|| match Table::read(&self.path).map(|table| table.held) {
            Ok(Held::Here(contents)) => contents,
            _ => {
                // Nobody sees what an evaluation gives that is to end.
                limits::lose();
                Contents { frame: DataFrame::empty_with_height(self.rows), kinds: Vec::new() }
            }
        })
    }
}

impl Deref for Table {
    type Target = Contents;

    fn deref(&self) -> &Contents {
        match &self.held {
            Held::Here(contents) => contents,
            Held::Later(later) => later.contents(),
        }
    }
}

impl DerefMut for Table {
    fn deref_mut(&mut self) -> &mut Contents {
        if let Held::Later(later) = &self.held {
            self.held = Held::Here(later.contents().clone());
        }
        match &mut self.held {
            Held::Here(contents) => contents,
            Held::Later(_) => unreachable!("it was read above"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Place;
    use crate::limits::{Budget, Reached};
    use crate::quantity::UnitSystem;
    use crate::table::Origin;
    use crate::table::samples::sweep;

    #[test]
    fn a_file_is_read_once_somebody_asks_for_its_columns() {
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("t.parquet");
        let table = Table::read_later(path.clone(), 6);
        assert_eq!(table.rows(), 6);
        sweep().write(&Place::at(&path).expect("a place"), UnitSystem::AsWritten, &Origin::default()).expect("written");
        assert_eq!(table.names(), sweep().names());
        std::fs::remove_file(&path).expect("removed");
        assert_eq!(table.clone().without(&["remark"]).expect("a table").rows(), 6);
        assert_eq!(table, table.clone());
    }

    #[test]
    fn a_file_that_is_gone_ends_the_evaluation() {
        let budget = Budget::new(Arc::default());
        let _inside = budget.enter();
        let table = Table::read_later("there-is-no-such-file.parquet".into(), 6);
        assert!(table.column("feed.length").is_err() && table.rows() == 6);
        assert_eq!((budget.reached(), limits::ended()), (Reached::Lost, true));
    }
}
