//! Messages for calls of known functions with the wrong values: which one is missing, or that there are too many.
//!
//! Knows the functions by their signatures alone, such as `operating_range(part, low, high)`.

use super::diagnostic::{Diagnostic, Trouble};
use super::place::Place;

/// How a call stands in the script.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// `operating_range(head, 20.psi)`
    Plain,
    /// `head.operating_range(20.psi)`: the first value stands before the point.
    AfterPoint,
}

impl Written {
    /// How the name at a place is called.
    pub fn at(place: Option<&Place>) -> Written {
        let after = place.is_some_and(|place| place.text[..place.range.start].trim_end().ends_with('.'));
        if after { Written::AfterPoint } else { Written::Plain }
    }

    pub(super) fn call(self, name: &str, parameters: &[&str]) -> String {
        match self {
            Written::AfterPoint if !parameters.is_empty() => format!(".{name}({})", parameters[1..].join(", ")),
            _ => format!("{name}({})", parameters.join(", ")),
        }
    }
}

/// What is to be given to functions whose parameters do not say it by their names.
const GIVEN: &[(&str, &str)] = &[(
    "remedies",
    "give the parts that you could buy, each with a price, as in garden.remedies([hose(100.ft, (3/4).inch).price(45.USD)]); \
     with [] settings alone are tried",
)];

/// The message for a call of `name` with values of these types (in words, joined by commas); `signatures` are all it has, `example` is
/// a line that shows one. The hint never repeats the form of the call that failed.
pub fn mismatch(name: &str, signatures: &[String], found: &str, written: Written, example: Option<String>) -> Diagnostic {
    let found: Vec<&str> = found.split(", ").filter(|kind| !kind.is_empty()).collect();
    let all: Vec<Vec<&str>> = signatures.iter().map(|signature| parameters(signature)).collect();
    let fits = all.iter().any(|parameters| parameters.len() == found.len());
    // A form that works on what it was called on is no question of where that comes from.
    let works = |parameters: &Vec<&str>| parameters.first().is_some_and(|owner| owns(owner, &found));
    let own: Vec<&Vec<&str>> = all.iter().filter(|parameters| works(parameters)).collect();
    let of_it = if own.is_empty() { all.iter().collect() } else { own };
    let mut calls: Vec<String> = of_it.into_iter().map(|parameters| written.call(name, parameters)).collect();
    calls.dedup();
    let from = all.iter().find_map(|parameters| elsewhere_of(parameters.first()?, found.first()?));
    let from = from.filter(|_| !all.iter().any(works));
    if let Some(list) = as_one_list(name, &all, &found, written) {
        let hint = Some(format!("put these values into one list, as in {list}; help(\"{name}\") explains it"));
        return Diagnostic { hint, ..Diagnostic::new(Trouble::Value, message(name, &all, &found)) };
    }
    let given = GIVEN.iter().find(|(function, _)| *function == name && found == ["a garden"]);
    let hint = match (from, example) {
        _ if all.is_empty() => None,
        _ if given.is_some() => given.map(|(_, given)| format!("{given}; help(\"{name}\") explains it")),
        (Some(from), _) => Some(format!("write {from}{}; help(\"{name}\") explains it", Written::AfterPoint.call(name, &all[0]))),
        (None, Some(example)) if fits => Some(format!("write it as in {example}; help(\"{name}\") explains it")),
        (None, None) if fits => Some(format!("help(\"{name}\") explains it")),
        _ => Some(format!("call it as {}; help(\"{name}\") explains it", calls.join(" or "))),
    };
    Diagnostic { hint, ..Diagnostic::new(Trouble::Value, message(name, &all, &found)) }
}

/// True where the first value is of the type that a parameter of that name takes.
fn owns(owner: &str, found: &[&str]) -> bool {
    found
        .first()
        .and_then(|first| first.split_once(' '))
        .is_some_and(|(_, first)| first.replace(' ', "_") == owner || (owner, first) == ("solution", "result"))
}

/// Parameters that take a list of values.
const LISTS: [&str; 7] = ["zones", "names", "columns", "values", "points", "beds", "timers"];

/// How to call a function that takes its values as a list, where they were given one by one.
fn as_one_list(name: &str, all: &[Vec<&str>], found: &[&str], written: Written) -> Option<String> {
    if all.iter().any(|parameters| parameters.len() >= found.len()) {
        return None;
    }
    let fitting = all.iter().find(|parameters| parameters.last().is_some_and(|last| LISTS.contains(last)))?;
    let listed = found.get(fitting.len() - 1..)?;
    let (first, sign) = (listed.first()?, if listed.first() == Some(&"a string") { "\"" } else { "" });
    let takes = matches!(*first, "a string" | "a whole number" | "a decimal number" | "a number" | "a quantity" | "a list");
    if !takes || listed.len() > 5 || listed.iter().any(|other| other != first) {
        return None;
    }
    let letters: Vec<String> = "abcde".chars().take(listed.len()).map(|letter| format!("{sign}{letter}{sign}")).collect();
    let list = format!("[{}]", letters.join(", "));
    let mut parameters = fitting.clone();
    *parameters.last_mut()? = &list;
    Some(written.call(name, &parameters))
}

/// Where what a function works on comes from, if it was called on what that is made of.
fn elsewhere_of(owner: &str, found: &str) -> Option<&'static str> {
    match (owner, found) {
        ("solution", "a garden" | "a part") => Some("garden.run(\"zone\")"),
        ("log", "a garden" | "a part") => Some("garden.operate(schedule, 1.days)"),
        ("rain", "a garden" | "a part") => Some("garden.run(\"zone\").coverage()"),
        ("rain", "a result") => Some("result.coverage()"),
        ("window", "a garden") => Some("garden.switch_window()"),
        ("water_hammer", "a garden") => Some("garden.water_hammer(\"valve\")"),
        ("chart", "a table") => Some("chart(table)"),
        ("plan", "a garden") => Some("plan(garden)"),
        ("values" | "list", "a table") => Some("table[\"column\"]"),
        _ => None,
    }
}

fn message(name: &str, all: &[Vec<&str>], found: &[&str]) -> String {
    let fits = all.iter().any(|parameters| parameters.len() == found.len());
    let longer = all.iter().filter(|parameters| parameters.len() > found.len());
    let longer = longer.min_by_key(|parameters| (!parameters.first().is_some_and(|owner| owns(owner, found)), parameters.len()));
    let values = if found.is_empty() { "without arguments".into() } else { format!("with ({})", found.join(", ")) };
    match (fits, longer) {
        (false, Some(parameters)) => {
            let missing = missing(parameters, found);
            let are = if missing.len() == 1 { "is" } else { "are" };
            format!("'{name}' cannot be called {values}: '{}' {are} missing", missing.join("' and '"))
        }
        (false, None) if !all.is_empty() => {
            let most = all.iter().map(Vec::len).max().unwrap_or(0);
            let more = found.len() - most;
            let values_too_many = if more == 1 { "one value is".to_string() } else { format!("{more} values are") };
            format!("'{name}' cannot be called {values}: {values_too_many} too many")
        }
        _ => format!("'{name}' cannot be called {values}"),
    }
}

/// The parameters that got no value. A first one that names its type, such as `part`, is missing when the first value is
/// of another type; otherwise the last ones are.
fn missing<'p>(parameters: &[&'p str], found: &[&str]) -> Vec<&'p str> {
    let types = ["part", "garden", "table", "chart", "result", "timer", "schedule", "log", "figure"];
    let owner = parameters[0];
    let lacks_owner = types.contains(&owner)
        && found.first().is_some_and(|first| first.rsplit(' ').next() != Some(owner) && *first != "any value");
    // A part is a garden of one.
    let lacks_owner = lacks_owner && !(owner == "garden" && found[0] == "a part");
    if lacks_owner {
        return std::iter::once(owner).chain(parameters[1 + found.len()..].iter().copied()).collect();
    }
    parameters[found.len()..].to_vec()
}

/// `operating_range(part, low, high)` to its parameters.
pub fn parameters(signature: &str) -> Vec<&str> {
    let inside = signature.split_once('(').map_or("", |(_, rest)| rest.trim_end_matches(')'));
    inside.split(", ").filter(|name| !name.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(signatures: &[&str], found: &str, written: Written) -> String {
        let signatures: Vec<String> = signatures.iter().map(ToString::to_string).collect();
        let told = mismatch("operating_range", &signatures, found, written, None);
        format!("{} | {}", told.message, told.hint.unwrap_or_default())
    }

    #[test]
    fn the_value_that_is_missing_is_named() {
        let one = ["operating_range(part, low, high)"];
        assert_eq!(
            told(&one, "a part, a quantity", Written::AfterPoint),
            "'operating_range' cannot be called with (a part, a quantity): 'high' is missing | call it as .operating_range(low, high); help(\"operating_range\") explains it"
        );
        assert!(
            told(&one, "a quantity", Written::Plain)
                .contains("'part' and 'high' are missing | call it as operating_range(part, low, high);")
        );
        assert!(told(&one, "a quantity, a quantity", Written::Plain).contains(": 'part' is missing |"));
        assert!(told(&one, "", Written::Plain).contains("without arguments: 'part' and 'low' and 'high' are missing |"));
    }

    #[test]
    fn too_many_values_are_told_and_a_wrong_type_is_not_called_missing() {
        let two = ["operating_range(part)", "operating_range(part, low)"];
        assert!(told(&two, "a part, a quantity, a text", Written::Plain).contains(": one value is too many |"));
        assert!(
            told(&two, "a part, a text", Written::Plain)
                .starts_with("'operating_range' cannot be called with (a part, a text) | help(")
        );
        assert_eq!(told(&[], "a part", Written::Plain), "'operating_range' cannot be called with (a part) | ");
    }
}
