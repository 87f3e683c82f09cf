//! Columns of texts: asked for parts, written another way; and whether cells are among given ones.

use super::group::value_numbers;
use super::{Column, ColumnKind, TableColumn, TableError, Values};
use crate::limits::Steps;
use std::collections::HashSet;

impl TableColumn {
    /// What a law makes of each text. Errors: no texts.
    pub fn each_text(&self, law: impl Fn(&str) -> String) -> Result<TableColumn, TableError> {
        let texts = self.texts(|text| law(text))?;
        TableColumn::of_column(&Column { name: self.name().into(), values: Values::Texts(texts) })
    }

    /// The answer to a question about each text. Errors: no texts.
    pub fn ask_texts(&self, question: impl Fn(&str) -> bool) -> Result<TableColumn, TableError> {
        let flags = self.texts(question)?;
        TableColumn::of_column(&Column { name: self.name().into(), values: Values::Flags(flags) })
    }

    fn texts<T>(&self, law: impl Fn(&str) -> T) -> Result<Vec<Option<T>>, TableError> {
        if self.kind() != ColumnKind::Text {
            if self.cells().all(|cell| cell.is_missing()) {
                return Ok(self.cells().map(|_| None).collect());
            }
            return Err(TableError::NoTexts { found: self.described() });
        }
        let mut steps = Steps::default();
        let one = |text: Option<&str>| {
            steps.weigh(text.map_or(0, str::len))?;
            Ok(text.map(&law))
        };
        self.values().str()?.iter().map(one).collect()
    }

    /// Which cells are among those of another column; missing where a cell is. Errors: columns of two kinds.
    pub fn is_among(&self, others: &TableColumn) -> Result<TableColumn, TableError> {
        let numbers = value_numbers(&[self.clone(), others.clone()])?;
        let (own, theirs) = numbers.split_at(self.len());
        let theirs: HashSet<u32> = theirs.iter().copied().filter(|number| *number > 0).collect();
        let flags = own.iter().map(|number| (*number > 0).then(|| theirs.contains(number)));
        TableColumn::of_column(&Column { name: self.name().into(), values: Values::Flags(flags.collect()) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::Cell;

    fn zones() -> TableColumn {
        TableColumn::of_cells("zone", [Cell::from("Beds"), Cell::Missing, Cell::from("lawn")]).expect("a column")
    }

    fn flags(column: &TableColumn) -> Vec<Cell> {
        column.cells().collect()
    }

    #[test]
    fn texts_are_asked_and_missing_stays_missing() {
        let has_e = zones().ask_texts(|text| text.contains('e')).expect("flags");
        assert_eq!(flags(&has_e), [Cell::Flag(true), Cell::Missing, Cell::Flag(false)]);
        assert_eq!(zones().each_text(str::to_lowercase).expect("texts").cell(0), Cell::from("beds"));
        let numbers = TableColumn::of_cells("n", [Cell::number(1.0)]).expect("a column");
        assert!(numbers.each_text(str::to_lowercase).is_err());
    }

    #[test]
    fn cells_are_looked_for_among_others() {
        let others = TableColumn::of_cells("list", [Cell::from("lawn"), Cell::from("hedge")]).expect("a column");
        assert_eq!(flags(&zones().is_among(&others).expect("flags")), [Cell::Flag(false), Cell::Missing, Cell::Flag(true)]);
        let numbers = TableColumn::of_cells("n", [Cell::number(1.0)]).expect("a column");
        assert!(zones().is_among(&numbers).is_err());
    }
}
