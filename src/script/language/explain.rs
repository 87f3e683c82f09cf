//! From the engine's errors to messages in the terms of the garden.
//!
//! Messages for scripts that do not parse are in `syntax.rs`.

use super::arguments::{Written, mismatch, parameters};
use super::diagnostic::{Call, Diagnostic, Trouble};
use super::error::ScriptError;
use super::fault::{value_at_fault, values_after};
use super::names::{Names, suggest};
use super::place::Place;
use super::problem::thrown_again;
use super::slips;
use super::syntax::{
    assigned_without_let, at_open_bracket, common_slip, explain_parse_error, keyword_as_name, move_to_gap, unknown_variable,
};
use super::types::type_in_words;
use super::values;
use crate::quantity::{UnitSystem, find_unit};
use rhai::{EvalAltResult, ParseErrorType, Position};

/// What is needed to explain an error: the names of the session, and where a position is.
pub struct Explainer<'a> {
    pub names: &'a Names,
    /// Names that the text defines.
    pub names_in_text: &'a [&'a str],
    /// The place of a position in the named source; nothing names the session itself.
    pub place: &'a dyn Fn(Option<&str>, Position) -> Option<Place>,
    /// The units of messages and hints.
    pub units: UnitSystem,
}

impl Explainer<'_> {
    /// The message for an error.
    pub fn explain(&self, error: &EvalAltResult) -> Diagnostic {
        let mut calls = Vec::new();
        let (inner, source) = self.innermost(error, None, &mut calls);
        let place = (self.place)(source.as_deref(), inner.position());
        let mut diagnostic = self.message(inner, Written::at(place.as_ref()));
        if let (EvalAltResult::ErrorFunctionNotFound(..), Some(place)) = (inner, &place) {
            diagnostic.hint = slips::decimal_comma(place).or(diagnostic.hint);
        }
        diagnostic.place = place.map(|place| match at_fault(inner, &place, self.names) {
            Some(range) => place.moved_to(range),
            None => place,
        });
        if let (EvalAltResult::ErrorParsing(kind, _), Some(place)) = (inner, &mut diagnostic.place) {
            if let Some(open) = at_open_bracket(place) {
                (diagnostic.message, diagnostic.hint) = open;
            } else if let Some(slip) = common_slip(kind, place) {
                (diagnostic.message, diagnostic.hint) = slip;
            } else if let Some(word) = keyword_as_name(kind, place) {
                (diagnostic.message, diagnostic.hint) = word;
            } else {
                move_to_gap(kind, place);
            }
        }
        if let (Some(ours), Some(place)) = (ScriptError::inside(inner), &diagnostic.place)
            && let Some(hint) = self.uncalled(&ours, place)
        {
            diagnostic.hint = Some(hint);
        }
        let undefined = match inner {
            EvalAltResult::ErrorParsing(ParseErrorType::VariableUndefined(name), _) => Some(name.as_str()),
            EvalAltResult::ErrorVariableNotFound(name, _) => Some(name.as_str()),
            _ => None,
        };
        if let (Some(name), Some(place)) = (undefined, &diagnostic.place)
            && let Some(hint) = slips::around_variable(name, place, self.names).or_else(|| assigned_without_let(name, place))
        {
            diagnostic.hint = Some(hint);
        }
        if let (EvalAltResult::ErrorFunctionNotFound(signature, _), Some(place)) = (inner, &diagnostic.place)
            && let Some(hint) =
                self.line_without_parentheses(signature, place).or_else(|| self.import_without_a_name(signature, place))
        {
            diagnostic.hint = Some(hint);
        }
        if diagnostic.place.is_none() {
            diagnostic.place = calls.iter_mut().find_map(|call| call.place.take());
        }
        diagnostic.calls = calls;
        diagnostic
    }

    /// What to write where a function of gardens is called on a part, as in `a >> b.run()`, where the dot binds to `b` alone.
    fn line_without_parentheses(&self, signature: &str, place: &Place) -> Option<String> {
        let (name, types) = signature.split_once(" (")?;
        let found = self.types(types.trim_end_matches(')'));
        let first = found.split(", ").next()?;
        let takes_a_garden = || self.names.signatures(name).iter().any(|all| parameters(all).first() == Some(&"garden"));
        if !matches!(first, "a part" | "a list") || !takes_a_garden() {
            return None;
        }
        let before = place.text.get(..place.range.start)?;
        let statement = before.rsplit(';').next().unwrap_or(before);
        if before.trim_end().ends_with('.') && statement.contains(">>") {
            return Some(format!(
                "put the line in parentheses, as in (supply(..) >> hose(..) >> head(..)).{name}(..): the dot binds to the last part alone"
            ));
        }
        (first == "a part")
            .then(|| format!("connect it to a supply first, as in (supply(..) >> hose(..) >> head(..)).{name}(..)"))
    }

    /// What to write where a script is imported without a name, so that nothing of it can be called.
    fn import_without_a_name(&self, signature: &str, place: &Place) -> Option<String> {
        let name = signature.split(" (").next()?;
        if self.names.functions.contains(name) {
            return None;
        }
        let nameless = |line: &&str| line.trim_start().starts_with("import \"") && !line.contains(" as ");
        let file = place.text.lines().find(nameless)?.split('"').nth(1)?;
        let own = file.rsplit('/').next()?.trim_end_matches(".rhai").replace(|sign: char| !sign.is_alphanumeric(), "_");
        Some(format!("give the script a name, as in import \"{file}\" as {own}; and write {own}::{name}(..)"))
    }

    /// The error inside all calls, and the source it is in.
    fn innermost<'e>(
        &self,
        error: &'e EvalAltResult,
        source: Option<String>,
        calls: &mut Vec<Call>,
    ) -> (&'e EvalAltResult, Option<String>) {
        match error {
            EvalAltResult::ErrorInFunctionCall(name, inside, inner, at) => {
                let what = if name.starts_with("anon$") { "in a closure called".into() } else { format!("in '{name}' called") };
                let place = (self.place)(source.as_deref(), *at);
                let inside = if inside.is_empty() { source } else { Some(inside.clone()) };
                let found = self.innermost(inner, inside, calls);
                calls.push(Call { what, place });
                found
            }
            EvalAltResult::ErrorInModule(name, inner, at) => {
                let place = (self.place)(source.as_deref(), *at);
                let found = self.innermost(inner, Some(name.clone()), calls);
                calls.push(Call { what: format!("in \"{name}\" imported"), place });
                found
            }
            other => (other, source),
        }
    }

    /// The message for an error without the calls around it; nothing is said of its place.
    pub(super) fn message(&self, error: &EvalAltResult, written: Written) -> Diagnostic {
        use EvalAltResult as E;
        if let Some(ours) = ScriptError::inside(error) {
            let (what, hint) = ours.told(self.units);
            let of_string = what.contains("quantity, found the string ");
            let hint = hint.or_else(|| of_string.then(|| self.units.pick(VALUE_US, VALUE_METRIC).to_string()));
            return Diagnostic { hint, ..Diagnostic::new(Trouble::Value, what) };
        }
        match error {
            E::ErrorParsing(kind, _) => explain_parse_error(kind, self.names, self.names_in_text),
            E::ErrorVariableNotFound(name, _) => unknown_variable(name, self.names, self.names_in_text),
            E::ErrorFunctionNotFound(signature, _) => self.unknown_function(signature, written),
            E::ErrorDotExpr(text, _) => self.unknown_property(text),
            E::ErrorPropertyNotFound(name, _) => name_error(
                format!("the map has no '{name}'"),
                suggest(name, self.names.map_names.iter().map(String::as_str)).or_else(|| Some("keys() lists its names".into())),
            ),
            E::ErrorModuleNotFound(name, _) => name_error(format!("there is no module '{name}'"), None),
            E::ErrorArrayBounds(length, index, _) => {
                value_error(format!("there is no item {index} in a list of {length}"), "items count from 0")
            }
            E::ErrorStringBounds(length, index, _) => {
                value_error(format!("there is no character {index} in a string of {length}"), "characters count from 0")
            }
            E::ErrorIndexNotFound(index, _) => value_error(format!("there is no value at {index}"), ""),
            E::ErrorIndexingType(kind, _) => self.unknown_index(kind),
            E::ErrorFor(_) => value_error(
                "this cannot be used in a for loop".into(),
                "use a list, a map or a range of whole numbers, as in 0..10",
            ),
            E::ErrorMismatchDataType(wanted, found, _) | E::ErrorMismatchOutputType(wanted, found, _) => {
                let found = type_in_words(found);
                let hint = if found == "a column" {
                    "columns are combined with & and |; a choice for each row is t.with(\"x\", |row| if row[\"p\"] > 3 { 1 } else { 2 }); all() and some() ask whether all rows or some are true"
                } else {
                    ""
                };
                value_error(format!("expected {}, found {found}", type_in_words(wanted)), hint)
            }
            E::ErrorAssignmentToConstant(name, _) => {
                value_error(format!("the constant '{name}' cannot be changed"), "define it with let")
            }
            E::ErrorNonPureMethodCallOnConstant(name, _) => {
                value_error(format!("'{}' would change a constant", bare(name)), "copy it with let first")
            }
            E::ErrorArithmetic(text, _) => arithmetic(text),
            E::ErrorUnboundThis(_) => value_error("'this' exists only inside a method".into(), ""),
            E::ErrorRuntime(value, _) if value.is_unit() => value_error("the script stopped itself with throw".into(), ""),
            E::ErrorRuntime(value, _) => thrown(value),
            E::ErrorTerminated(..) => Diagnostic::new(Trouble::Stopped, "the evaluation was stopped"),
            E::ErrorStackOverflow(_) => {
                limit("functions call each other too deeply", "check for a function that calls itself endlessly")
            }
            E::ErrorTooManyOperations(_) => limit("the script takes too many steps", "check for an endless loop"),
            E::ErrorDataTooLarge(what, _) => {
                limit(&format!("{} grows too large", type_of_size(what)), "check for an endless loop that adds to it")
            }
            E::ErrorTooManyVariables(_) => limit("there are too many variables", ""),
            E::ErrorTooManyModules(_) => limit("there are too many imports", ""),
            E::ErrorDataRace(_, _) => value_error("a value is changed while it is in use".into(), "copy it with let first"),
            other => value_error(lower(&other.to_string()), ""),
        }
    }

    /// The signature is `name (type, type)`; for a method the first type is that of the value.
    fn unknown_function(&self, signature: &str, written: Written) -> Diagnostic {
        let (name, types) = signature.split_once(" (").unwrap_or((signature, ""));
        let types = types.strip_suffix(')').unwrap_or(types);
        let found = self.types(types);
        if !super::types::is_name(name.rsplit("::").next().unwrap_or(name)) {
            return operator_mismatch(name, &found);
        }
        if let Some(hint) = found.starts_with("a table").then(|| slips::on_table(name)).flatten() {
            return name_error(format!("a table has no function '{name}'"), Some(hint.into()));
        }
        let taking = if found.is_empty() { "without arguments".to_string() } else { format!("that takes ({found})") };
        if self.names.functions.contains(name) {
            let signatures = self.names.signatures(name);
            if (signatures.is_empty() || found.starts_with("a list"))
                && let Some(hint) = slips::elsewhere(name)
            {
                return value_error(format!("'{name}' cannot be called {}", with(&found)), hint);
            }
            let mut told = mismatch(name, &signatures, &found, written, self.names.example(name, &found));
            if let Some(hint) = slips::by_values(name, &signatures, &found, written) {
                told.hint = Some(hint);
            }
            if let Some(form) = slips::behind_it(name, &signatures, &found) {
                told.hint = Some(format!("write {form}; help(\"{name}\") explains it"));
            }
            if written == Written::Plain && self.names.variables.contains(name) {
                let own = format!("the variable '{name}' is called as {name}.call(...) and read as {name}[0]");
                told.hint = Some(told.hint.map_or(own.clone(), |hint| format!("{hint}; {own}")));
            }
            return told;
        }
        if self.names.variables.contains(name) || self.names_in_text.contains(&name) {
            return name_error(
                format!("'{name}' is a variable, not a function"),
                Some(format!("call a closure in a variable with {name}.call(...)")),
            );
        }
        if find_unit(name).is_some() {
            return name_error(
                format!("there is no function '{name}'"),
                Some(format!("write a unit without parentheses, as in 10.{name}")),
            );
        }
        if self.names.properties.contains(name) && written == Written::AfterPoint {
            let about_it = |function: &&str| function.split('_').any(|word| word == name);
            let related: Vec<&str> =
                self.names.functions.iter().map(String::as_str).filter(about_it).take(MOST_RELATED).collect();
            // With something in the parentheses more than the value was meant.
            let hint = match types.contains(',') && !related.is_empty() {
                true => format!(
                    "functions with that word: {}; the property is written .{name} without parentheses",
                    related.join(", ")
                ),
                false => format!("write .{name} without parentheses"),
            };
            return name_error(format!("'{name}' is a property, not a function"), Some(hint));
        }
        if let Some((script, _)) = name.split_once("::") {
            let hint = format!("look for its name in the script '{script}'; a private function is not offered");
            return name_error(format!("there is no function '{name}' {taking}"), Some(hint));
        }
        let known = self.names.functions.iter().map(String::as_str);
        let hint = slips::elsewhere(name).map(String::from).or_else(|| suggest(name, known));
        name_error(format!("there is no function '{name}' {taking}"), hint)
    }

    /// For the name of a function that a garden takes for that of a part, since it is not called: the hint.
    fn uncalled(&self, error: &ScriptError, place: &Place) -> Option<String> {
        let behind = place.text.get(place.range.start..)?.strip_prefix('.')?;
        let end = behind.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(behind.len());
        let (word, rest) = behind.split_at(end);
        let is_taken = error.to_string().starts_with(&format!("'{word}' is not the path")) && !rest.starts_with('(');
        let member = rest
            .strip_prefix('.')
            .map(|rest| &rest[..rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len())]);
        let is_part = is_taken && !self.names.functions.contains(word);
        if let (true, Some(member)) = (is_part, member.filter(|member| crate::parts::Id::of(member).is_some())) {
            return Some(format!(
                "garden[\"{word}.{member}\"] reads it; garden.with(\"{word}.{member}\", value) gives a new garden with another"
            ));
        }
        (is_taken && self.names.functions.contains(word)).then(|| format!("'{word}' is a function: write .{word}()"))
    }

    /// The types are those of the value and of what stands in its brackets, with ` = ` and a third where that is set.
    fn unknown_index(&self, kind: &str) -> Diagnostic {
        let (owner, rest) = kind.split_once(" [").unwrap_or((kind, ""));
        let owner = type_in_words(owner);
        let hint = match owner {
            "a garden" | "a part" if rest.contains('=') => {
                "a garden is not changed: garden.with(\"feed.length\", 50.ft) gives a new one"
            }
            "a table" if rest.contains('=') => "a table is not changed: table.with(\"column\", |row| ...) gives a new one",
            "a table" => "table[\"column\"] gives a column, table.row(0) a row",
            "a result" => "results are read by name, as in result.pressure(\"bed\")",
            _ => "",
        };
        let (verb, what) = if rest.contains('=') { ("set", "what is in it") } else { ("indexed", "") };
        let message = if what.is_empty() {
            format!("{owner} cannot be {verb} with [ ]")
        } else {
            format!("{owner} does not let {what} be {verb} with [ ]")
        };
        value_error(message, hint)
    }

    /// `Unknown property 'x' - a getter is not registered for type 'T'`, or the same for a setter.
    fn unknown_property(&self, text: &str) -> Diagnostic {
        let mut quoted = text.split('\'').skip(1).step_by(2);
        let (Some(property), Some(kind)) = (quoted.next(), quoted.next()) else { return value_error(lower(text), "") };
        let owner = type_in_words(kind);
        if text.starts_with("No writable") {
            let known = self.names.properties.contains(property);
            let message = match quoted.next() {
                Some(value) if known => format!("the property '{property}' of {owner} cannot be set to {}", type_in_words(value)),
                _ => format!("{owner} has no property '{property}' that can be set"),
            };
            return name_error(message, self.other(property, kind));
        }
        if kind == "Quantity" && find_unit(property).is_some() {
            return value_error(
                format!("this already has a unit and cannot take the unit {property} as well"),
                &format!("convert it with .to(\"{property}\")"),
            );
        }
        if kind != "Quantity" && !matches!(kind, "i64" | "f64") && find_unit(property).is_some() {
            let hint = if owner == "a string" {
                "read a string with q(\"5/8 in\")"
            } else {
                self.units.pick("write a unit after a number, as in 30.psi", "write a unit after a number, as in 2.bar")
            };
            return value_error(format!("{owner} cannot take the unit {property}"), hint);
        }
        let is_number = matches!(kind, "i64" | "f64");
        let said = slips::unit_elsewhere(property).filter(|_| is_number || kind == "Quantity").map(String::from);
        if !is_number {
            return name_error(format!("{owner} has no property '{property}'"), said.or_else(|| self.other(property, kind)));
        }
        let by_letters = || {
            let is_same = |unit: &str| unit.eq_ignore_ascii_case(property);
            let all = crate::quantity::nearest_unit_names(property, |unit| super::types::is_name(unit) && property.len() > 1);
            let same: Vec<&str> = all.iter().copied().filter(|unit| is_same(unit)).collect();
            let units = if same.is_empty() { all } else { same };
            (!units.is_empty()).then(|| format!("did you mean {}?", units.join(" or ")))
        };
        let hint = said.or_else(by_letters).or_else(|| Some("help(\"units\") lists all units".into()));
        name_error(format!("there is no unit or property '{property}' for a number"), hint)
    }

    /// What to write for a property that a value does not have: the call of a function of that name, or one that looks like it.
    fn other(&self, property: &str, kind: &str) -> Option<String> {
        let signatures = self.names.signatures(property);
        if let Some(signature) = signatures.first() {
            let owner = type_in_words(kind);
            let call = mismatch(property, &signatures, owner, Written::AfterPoint, None);
            let form = Written::AfterPoint.call(property, &parameters(signature));
            let made = call.hint.filter(|hint| hint.starts_with("write "));
            return made.or_else(|| Some(format!("'{property}' is a function: write {form}")));
        }
        if self.names.functions.contains(property) {
            return Some(format!("'{property}' is a function: write .{property}()"));
        }
        let known =
            self.names.properties.iter().map(String::as_str).filter(|name| find_unit(name).is_none() && *name != property);
        suggest(property, known.chain(self.names.functions.iter().map(String::as_str)))
    }

    /// A list of types in words.
    fn types(&self, types: &str) -> String {
        let words = types.replace("&str | ImmutableString | String", "string");
        let words: Vec<&str> = words.split(", ").filter(|word| !word.is_empty()).map(type_in_words).collect();
        words.join(", ")
    }
}

/// The bytes of the value that an error in the call at a place is about; nothing where it is the call as a whole.
fn at_fault(error: &EvalAltResult, place: &Place, names: &Names) -> Option<std::ops::Range<usize>> {
    if let Some(ours) = ScriptError::inside(error) {
        return value_at_fault(place, &ours, names);
    }
    let EvalAltResult::ErrorFunctionNotFound(signature, _) = error else { return None };
    let (name, _) = signature.split_once(" (")?;
    let most = names.signatures(name).iter().map(|signature| parameters(signature).len()).max()?;
    values_after(place, most)
}

/// Most functions that an error names besides a property.
const MOST_RELATED: usize = 4;
/// What to write instead of a string.
const VALUE_US: &str = "write a value with a unit, as in 30.psi; q(\"30 psi\") reads a string";
const VALUE_METRIC: &str = "write a value with a unit, as in 2.bar; q(\"2 bar\") reads a string";

/// The values of a call in words.
fn with(found: &str) -> String {
    if found.is_empty() { "without arguments".into() } else { format!("with ({found})") }
}

fn operator_mismatch(operator: &str, found: &str) -> Diagnostic {
    let operands: Vec<&str> = found.split(", ").collect();
    let message = match operands.as_slice() {
        [one] => format!("'{operator}' cannot be used on {one}"),
        [left, right, ..] => format!("'{operator}' cannot be used between {left} and {right}"),
        [] => format!("'{operator}' cannot be used here"),
    };
    let is_part = |operand: &&str| matches!(*operand, "a part" | "a garden");
    let joins = matches!(operator, ">" | ">=" | "|" | "+" | "-" | "&" | "<<") && operands.iter().all(is_part);
    let hint = match operator {
        "^" | "^=" => "write a power with **, as in 3 ** 2",
        "+" | "-" if operands.contains(&"a date") => "a time is added or subtracted, as in 7.days",
        "&" if operands.contains(&"a string") => "join strings with +",
        "+" | "-" | "*" | "/" if operands.contains(&"a list") => {
            "a column calculates as a whole, as in table(#{ p: list })[\"p\"] * 2; a list by each item, as in list.map(|x| x * 2)"
        }
        "-" | "*" | "/" if operands.contains(&"a string") => {
            "parse_float(\"52\") reads a number from a string, q(\"52 psi\") a value with its unit"
        }
        _ if joins => "connect parts with >>",
        _ => "",
    };
    value_error(message, hint)
}

/// The engine says `Addition overflow: 1 + 2` and `Modulo division by zero or overflow: 5 % 0`.
fn arithmetic(text: &str) -> Diagnostic {
    let Some((kind, what)) = text.split_once(": ") else { return value_error(lower(text), "") };
    match what.split_once(' ') {
        Some((left, right)) if kind.contains("by zero") && right.ends_with(" 0") => {
            value_error(format!("cannot divide {left} by zero"), "check the value on the right of the / or %")
        }
        _ if kind.contains("overflow") => {
            let hint = "write a number with a decimal point, as in 2.0, to calculate with decimals";
            value_error(format!("{what} is too large for a whole number"), hint)
        }
        _ => value_error(lower(text), ""),
    }
}

fn thrown(value: &rhai::Dynamic) -> Diagnostic {
    if let Some(again) = value.read_lock::<rhai::Map>().and_then(|map| thrown_again(&map)) {
        return again;
    }
    let message = match value.as_immutable_string_ref() {
        Ok(text) => text.to_string(),
        Err(_) => format!("the script threw {}", values::describe(value)),
    };
    value_error(message, "")
}

fn name_error(message: String, hint: Option<String>) -> Diagnostic {
    Diagnostic { hint, ..Diagnostic::new(Trouble::Name, message) }
}

fn value_error(message: String, hint: &str) -> Diagnostic {
    Diagnostic { hint: (!hint.is_empty()).then(|| hint.to_string()), ..Diagnostic::new(Trouble::Value, message) }
}

fn limit(message: &str, hint: &str) -> Diagnostic {
    Diagnostic { hint: (!hint.is_empty()).then(|| hint.to_string()), ..Diagnostic::new(Trouble::Limit, message) }
}

fn type_of_size(what: &str) -> &'static str {
    match what {
        text if text.contains("string") => "a string",
        text if text.contains("array") => "a list",
        text if text.contains("map") => "a map",
        _ => "a value",
    }
}

/// The name of a function without the marks of getters and setters.
fn bare(name: &str) -> &str {
    name.trim_start_matches("get$").trim_start_matches("set$")
}

/// The engine's words as a message of ours: lower case, without the position at the end.
fn lower(text: &str) -> String {
    let text = text.split(" (line ").next().unwrap_or(text);
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().chain(chars).collect())
}
