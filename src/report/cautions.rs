//! Cautions as a table.

use crate::findings::{Caution, CautionSet};
use crate::table::{Column, Table, TableError};

/// One row a caution.
pub fn table(set: CautionSet) -> Result<Table, TableError> {
    let texts = |name: &str, text: &dyn Fn(&Caution) -> String| Column::texts(name, set.iter().map(text));
    Table::new(vec![
        texts("id", &|caution| caution.id.into()),
        texts("subject", &|caution| caution.subject.words().into()),
        texts("text", &|caution| caution.text.into()),
        texts("source", &|caution| caution.source.words()),
    ])
}
