//! Flows that no resistance decides: ways side by side without loss, supplies without a measured fall of pressure.

use super::catalog::water as say;
use super::finding::Book;
use super::phrase::Value;
use crate::hydraulics::Solution;

pub(super) fn look(book: &mut Book, solution: &Solution) {
    for ways in &solution.undetermined {
        let [first, .., last] = ways[..] else { continue };
        let items: Vec<Value> = ways[..ways.len() - 1].iter().map(|&place| book.title(place).into()).collect();
        let finding = book.about(&say::SPLIT_UNDETERMINED, first).with("ways", Value::List { items, between: ", " });
        book.add(finding.with("last", book.title(last)));
    }
}
