//! Remedies as a table: what each costs, what it removes and brings, the weakest head before and after, and the line to write.

use super::given_by;
use crate::garden::Garden;
use crate::quantity::{Preference, dim};
use crate::study::remedy::{Problem, Remedies};
use crate::table::{Column, Table, TableError, Values};

/// One row for each remedy, the best first.
pub fn table(garden: &Garden, found: &Remedies) -> Result<Table, TableError> {
    let rows = &found.remedies;
    let list = |problems: &[Problem]| {
        (!problems.is_empty()).then(|| problems.iter().map(Problem::in_short).collect::<Vec<_>>().join(", "))
    };
    let texts = |name: &str, values: Vec<Option<String>>| Column { name: name.into(), values: Values::Texts(values) };
    let weak = found.weakest.as_ref();
    Table::new(vec![
        Column::texts("remedy", rows.iter().map(|row| row.words.as_str())),
        Column::quantities("cost", rows.iter().map(|row| Some(row.cost)), found.currency, Preference::Usual),
        Column { name: "cures".into(), values: Values::Flags(rows.iter().map(|row| Some(row.cures())).collect()) },
        texts("removes", rows.iter().map(|row| list(&row.removes)).collect()),
        texts("brings", rows.iter().map(|row| list(&row.brings)).collect()),
        Column::quantities("stays", rows.iter().map(|row| Some(row.stays as f64)), dim::NUMBER, Preference::Usual),
        texts("head", rows.iter().map(|_| weak.map(|weak| weak.name.clone())).collect()),
        given_by(garden, "before", rows.iter().map(|_| weak.map(|weak| weak.pressure_pa)), dim::PRESSURE),
        given_by(garden, "after", rows.iter().map(|row| row.there_pa), dim::PRESSURE),
        Column::texts("script", rows.iter().map(|row| row.script.as_str())),
    ])
}

/// What was wrong, and the cheapest cure, in a few sentences.
pub fn in_words(found: &Remedies) -> String {
    let mut lines = vec![match found.problems.as_slice() {
        [] => "nothing is wrong: there is nothing to cure".to_string(),
        problems => format!("to cure: {}", problems.iter().map(Problem::in_short).collect::<Vec<_>>().join(", ")),
    }];
    let cost = |cost: f64| crate::quantity::Quantity::new(cost, found.currency).to_string();
    match found.remedies.first() {
        Some(first) if first.cures() => lines.push(format!("the cheapest cure is {}, for {}", first.words, cost(first.cost))),
        Some(first) => {
            let left = first.stays + first.brings.len();
            lines.push(format!(
                "nothing from this stock cures all; the best leaves {left}: {}, for {}",
                first.words,
                cost(first.cost)
            ));
        }
        None if found.problems.is_empty() => {}
        None => lines.push("nothing from this stock helps".into()),
    }
    lines.extend(found.remedies.first().map(|first| first.script.clone()));
    if found.left_out > 0 {
        lines.push(format!("{} more expensive pairs were not tried", found.left_out));
    }
    lines.join("\n")
}
