//! What people probably meant who write as in another language, in another unit, or without quotes: hints for slips that an error does
//! not show by itself.
//!
//! Knows the script by its outer form, and functions by their signatures.

use super::arguments::{Written, parameters};
use super::names::Names;
use super::place::Place;
use super::tokens::{Token, TokenKind, depth_change, tokenize};
use crate::parts::{Id, Kind};
use crate::quantity::{Unit, find_unit};

/// Words of other languages and of conversation, and what is written here.
const ELSEWHERE: &[(&str, &str)] = &[
    ("None", "no value is written ()"),
    ("NULL", "no value is written ()"),
    ("Null", "no value is written ()"),
    ("null", "no value is written ()"),
    ("nil", "no value is written ()"),
    ("undefined", "no value is written ()"),
    ("NaN", "a missing value is written ()"),
    ("True", "write true"),
    ("TRUE", "write true"),
    ("False", "write false"),
    ("FALSE", "write false"),
    ("lambda", "a closure is written |x| x * 2"),
    ("function", "a function is written fn name(a, b) { ... }"),
    ("def", "a function is written fn name(a, b) { ... }"),
    ("var", "define a variable with let, as in let x = 3"),
    ("not", "write ! before what is not so, as in !(a && b)"),
    ("and", "write && for and"),
    ("or", "write || for or"),
    ("AND", "write && for and; columns are combined with &"),
    ("OR", "write || for or; columns are combined with |"),
    ("NOT", "write ! before what is not so, as in !(a && b)"),
    ("IF", "write if a > b { 1 } else { 2 }"),
    ("do", "write while x { ... }"),
    ("pi", "write PI()"),
    ("today", "a study names its day, as in date(\"2026-07-01\"), so that it gives the same result next year"),
    ("now", "a study names its day, as in date(\"2026-07-01 05:30\"), so that it gives the same result next year"),
    ("read_csv", "write read_table(\"meter.csv\")"),
    ("open", "read_table(\"meter.csv\") reads a file; run(\"lawn\") opens a valve"),
    ("to_float", "parse_float(\"52\") reads a number from a string, q(\"52 psi\") a value with its unit"),
    ("elif", "write else if"),
    ("elseif", "write else if"),
    ("then", "write if x { ... } else { ... }"),
    ("math", "sqrt, log, PI() and others are there without an import; a script is imported by its file name in quotes"),
    ("range", "whole numbers in a row are written 0..10; values with a unit are steps(10.ft, 50.ft, 10.ft)"),
    ("quit", "exit() leaves the shell"),
    ("print", "write print(value)"),
    ("debug", "write debug(value)"),
    ("upper", "write to_upper()"),
    ("lower", "write to_lower()"),
    ("str", "write to_string()"),
    ("float", "write to_float() for a number, parse_float() for a string"),
    ("convert", "a value is converted by to, as in 30.psi.to(\"bar\")"),
    ("sprinkler", "a sprinkler is a head(name, nozzle)"),
    ("pump", "a pump is a booster(points); booster_from(shut_off, duty_point, max_flow) takes three values of its label"),
    ("tap", "a tap is a supply(static_pressure).measured(pressure, flow)"),
    ("faucet", "a tap is a supply(static_pressure).measured(pressure, flow)"),
    ("spigot", "a tap is a supply(static_pressure).measured(pressure, flow)"),
    ("hydrant", "a hydrant is a supply(static_pressure).measured(pressure, flow)"),
    ("tube", "write hose(length, diameter) or pipe(length, diameter)"),
    ("tubing", "write hose(length, diameter) or pipe(length, diameter)"),
    ("dripper", "write emitter(name, flow, pressure)"),
    ("tee", "branches are a list: line >> [one, other]"),
    ("manifold", "branches are a list: line >> [one, other]"),
    ("splitter", "branches are a list: line >> [one, other]"),
    ("solenoid", "write valve(name)"),
    ("controller", "write timer(name)"),
    ("prv", "write regulator(pressure)"),
    ("tank", "write pressure_tank(volume, precharge) or open_tank(...)"),
    ("solve", "a garden is solved by run(), as in garden.run(\"lawn\").pressure(\"bed\")"),
    ("simulate", "one state is solved by run(), a schedule over time by operate(schedule, 1.days)"),
    ("magnitude", "in_unit gives the plain number, as in 30.psi.in_unit(\"bar\")"),
];

/// Functions of tables that people try on lists, and what is written there.
const ON_LISTS: &[(&str, &str)] = &[("append", "push(value) adds one item to a list")];

/// Units as people write them that are not units here, and what is written instead.
const UNITS_ELSEWHERE: &[(&str, &str)] = &[
    ("percent", "a percentage is written as a share, as in 0.1 for 10%"),
    ("pct", "a percentage is written as a share, as in 0.1 for 10%"),
    ("C", "write 20.degC"),
    ("celsius", "write 20.degC"),
    ("Celsius", "write 20.degC"),
    ("F", "write 68.degF"),
    ("fahrenheit", "write 68.degF"),
    ("Fahrenheit", "write 68.degF"),
    ("degrees", "an angle is a plain number, as in arc(90); a temperature is 20.degC or 68.degF"),
    ("deg", "an angle is a plain number, as in arc(90); a temperature is 20.degC or 68.degF"),
    ("V", "volts and amperes are given together, as in amps(8, 115)"),
    ("volts", "volts and amperes are given together, as in amps(8, 115)"),
    ("A", "volts and amperes are given together, as in amps(8, 115)"),
    ("psig", "pressures are gauge pressures: write 30.psi"),
    ("psia", "pressures are gauge pressures: subtract 14.7.psi from an absolute one"),
    ("barg", "pressures are gauge pressures: write 2.bar"),
    ("lbs", "write 30.psi for a pressure, 5.lb for a mass"),
    ("liters_per_minute", "write 24.lpm"),
    ("litres_per_minute", "write 24.lpm"),
    ("gallons_per_minute", "write 6.gpm"),
    ("l_per_min", "write 24.lpm"),
    ("l_per_h", "write 2.lph"),
    ("gpd", "write 100.gal_per_day"),
    ("cubic_meters", "write 2.m3"),
    ("m3h", "write 2.m3_per_h"),
    ("cmh", "write 2.m3_per_h"),
    ("m3ph", "write 2.m3_per_h"),
    ("lps", "write 2.L_per_s"),
    ("l_per_s", "write 2.L_per_s"),
    ("cfs", "write 2.ft3 / 1.s for cubic feet a second"),
    ("cfm", "write 2.ft3 / 1.min for cubic feet a minute"),
    ("kmh", "write 10.km_per_h"),
    ("kph", "write 10.km_per_h"),
    ("kmph", "write 10.km_per_h"),
    ("mps", "write 3.m_per_s"),
    ("fps", "write 5.ft_per_s"),
    ("ha", "write 2.hectare"),
    ("sqm", "write 50.m2"),
    ("sq_m", "write 50.m2"),
    ("sq_ft", "write 50.ft2"),
    ("ft_2", "write 50.ft2"),
    ("m_2", "write 50.m2"),
    ("cuft", "write 50.ft3"),
    ("cu_ft", "write 50.ft3"),
    ("cubic_ft", "write 50.ft3"),
    ("cubic_feet", "write 50.ft3"),
    ("mins", "write 20.min"),
    ("hr", "write 2.h"),
    ("hrs", "write 2.h"),
    ("kilowatt", "write 2.kW"),
    ("kilowatts", "write 2.kW"),
    ("cents", "write 0.15.USD"),
    ("value", "in_unit gives the plain number, as in 30.psi.in_unit(\"bar\")"),
    ("number", "in_unit gives the plain number, as in 30.psi.in_unit(\"bar\")"),
];

/// Parameters that take a name, a path or another text in quotes.
const TEXTS: &[&str] = &[
    "name", "names", "system", "zones", "zone", "valve", "path", "at", "column", "columns", "unit", "file", "text", "clock",
    "what", "a", "b", "code",
];

/// What is written here for a function of tables of other languages and of spreadsheets.
pub fn on_table(name: &str) -> Option<&'static str> {
    Some(match name {
        "head" | "first" => "select rows with first_rows(3)",
        "tail" | "last" => "select rows with last_rows(3)",
        "sample" => "select rows with sample_rows(3)",
        "sort" | "order_by" | "sorted" => "sort the rows with sort_by(\"column\") or sort_by(\"column\", \"falling\")",
        "count" => "write .rows for the number of rows; a column has count()",
        "save_as" | "export" | "to_csv" => "write save(\"name.csv\")",
        _ => return None,
    })
}

/// What is written here for a name of other languages.
pub fn elsewhere(word: &str) -> Option<&'static str> {
    ELSEWHERE.iter().chain(ON_LISTS).find(|(other, _)| *other == word).map(|(_, hint)| *hint)
}

/// The endings of files that scripts read and write.
const FILES: [&str; 9] = ["csv", "tsv", "txt", "parquet", "json", "md", "svg", "png", "rhai"];

/// What is written here for a unit, or a property of a quantity, of elsewhere.
pub fn unit_elsewhere(word: &str) -> Option<&'static str> {
    UNITS_ELSEWHERE.iter().find(|(other, _)| *other == word).map(|(_, hint)| *hint)
}

/// The hint for a name that is no variable, by what is written around it.
pub fn around_variable(name: &str, place: &Place, names: &Names) -> Option<String> {
    let before = place.text[..place.range.start].trim_end();
    let behind = place.text.get(place.range.end..)?;
    if let Some(rest) = before.strip_suffix('/')
        && let Some(hint) = rate(rest.trim_end(), name)
    {
        return Some(hint);
    }
    if before.ends_with("import") {
        return Some(format!("write the name of the file in quotes, as in import \"{name}\" as {name};"));
    }
    let kind = behind.strip_prefix('.').unwrap_or_default();
    if let Some(kind) = FILES.iter().find(|known| kind.strip_prefix(**known).is_some_and(|rest| rest.starts_with([')', ',']))) {
        return Some(format!("write the name of a file in quotes: \"{name}.{kind}\""));
    }
    if behind.starts_with('.') && place.text.contains(&format!(" as {name};")) {
        let member = &behind[1..behind[1..].find(|c: char| !(c.is_alphanumeric() || c == '_')).map_or(behind.len(), |at| at + 1)];
        return Some(format!("what a script offers is written {name}::{member}"));
    }
    if name == "f" && behind.starts_with('"') {
        return Some("a string in backticks takes values, as in `pressure ${p}`".into());
    }
    if name == "help" && !behind.trim_start().starts_with('(') {
        let word = behind.split_whitespace().next().unwrap_or("hose");
        return Some(format!("write help() or help(\"{word}\")"));
    }
    if find_unit(name).is_some() && before.ends_with(" in") {
        return Some(format!("convert with to, as in 30.psi.to(\"{name}\")"));
    }
    if before.ends_with('{') && behind.starts_with(':') {
        return Some(format!("a map is written #{{ {name}: 1 }}"));
    }
    let call = Enclosing::of(place)?;
    let behind = behind.trim_start();
    if behind.starts_with("=>") {
        return Some(format!("a closure is written |{name}| ..."));
    }
    if call.begins && (behind.starts_with(':') || behind.starts_with('=') && !behind.starts_with("==")) {
        return Some(format!("values are given by their order, without names: {}", call.form(names)?));
    }
    let is_whole = call.begins && (behind.starts_with(',') || behind.starts_with(')') || behind.starts_with(']'));
    let takes_text = call.takes(names).iter().any(|parameter| TEXTS.contains(&parameter.as_str()));
    if is_whole && takes_text {
        return Some(format!("write a name in quotes: \"{name}\""));
    }
    let member = behind
        .strip_prefix('.')
        .map(|rest| &rest[..rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len())]);
    let is_path = |member: &&str| Id::of(member).is_some();
    let member = member.filter(is_path).filter(|_| call.begins && takes_text)?;
    Some(format!("write a path in quotes: \"{name}.{member}\""))
}

/// The hint for a call whose decimal comma makes two values of one: digits on both sides of it, and a unit after it.
pub fn decimal_comma(place: &Place) -> Option<String> {
    let call = place.text.get(place.range.end..)?;
    let call = &call[..call.find(')').unwrap_or(call.len())];
    call.match_indices(',').find_map(|(at, _)| {
        let whole = &call[call[..at].trim_end_matches(|c: char| c.is_ascii_digit()).len()..at];
        let digits = call[at + 1..].bytes().take_while(u8::is_ascii_digit).count();
        let (decimals, unit) = call[at + 1..].split_at(digits);
        let has_unit = unit.strip_prefix('.').is_some_and(|unit| unit.starts_with(|c: char| c.is_ascii_alphabetic()));
        let is_one = !whole.is_empty() && !decimals.is_empty() && has_unit;
        is_one.then(|| format!("write a decimal point: {whole}.{decimals}, not {whole},{decimals}"))
    })
}

/// How to call a function whose surplus argument is given after it: a name, or the reading of a tap.
pub fn behind_it(name: &str, signatures: &[String], found: &str) -> Option<String> {
    let found: Vec<&str> = found.split(", ").collect();
    let takes_name = |parameters: &[&str]| parameters.contains(&"name");
    signatures.iter().find_map(|signature| {
        let parameters = parameters(signature);
        let form = Written::Plain.call(name, &parameters);
        let one_more = found.len() == parameters.len() + 1 && found.contains(&"a string");
        match name {
            "supply" if found.len() > 1 && !found.contains(&"a string") => Some(format!("{form}.measured(pressure, flow)")),
            "supply" | "hose" | "pipe" | "booster" | "fitting" | "uphill" | "downhill" | "regulator" | "relief"
            | "check_valve"
                if one_more && !takes_name(&parameters) =>
            {
                Some(format!("{form}.named(\"feed\")"))
            }
            _ => None,
        }
    })
}

/// The hint for a call of a known function by what its values are.
pub fn by_values(name: &str, signatures: &[String], found: &str, written: Written) -> Option<String> {
    let kinds: Vec<&str> = found.split(", ").collect();
    if kinds.contains(&"a character") {
        return Some(format!("write strings in double quotes, as in \"a\"; help(\"{name}\") explains it"));
    }
    let makes = Kind::ALL.iter().any(|kind| kind.spec().word == name);
    let takes_garden = signatures.iter().any(|signature| parameters(signature).first() == Some(&"garden"));
    if kinds[0] == "a garden" && written == Written::AfterPoint && makes && !takes_garden {
        return Some(format!(
            "garden.part(\"name\") gives a part of a garden; a new one is connected with >>, as in garden >> {name}(..)"
        ));
    }
    Some(match (name, kinds.as_slice()) {
        ("booster", kinds) if kinds.iter().all(|kind| *kind == "a quantity") => {
            "give points of its curve, flow and pressure, as in booster([[0.gpm, 45.psi], [10.gpm, 20.psi]])".into()
        }
        ("with", ["a table", "a column"]) => "name the new column, as in t.with(\"margin\", t[\"p\"] * 2)".into(),
        ("chart", ["a table", ..]) => "name the columns after it, as in chart(t).x(\"length\").y(\"pressure\")".into(),
        ("compare", ["a garden", ..]) => "put gardens into a map, as in compare(#{ now: garden, new: other }, \"lawn\")".into(),
        ("compare", ["a list"]) => {
            "give a closure, as in compare(list, |item| #{ value: item }), or gardens in a map, as in compare(#{ now: garden, new: other }, \"lawn\")".into()
        }
        ("sweep", ["a garden", "a string", ..]) => "the values are in vary, as in sweep(garden, vary(\"feed.length\", [50.ft, 100.ft]))".into(),
        ("vary", ["a string", "a quantity", "a quantity", "a quantity"]) => {
            "values in steps are steps(from, to, by), as in vary(\"feed.length\", steps(50.ft, 100.ft, 10.ft))".into()
        }
        ("calibrate", ["a garden", "a map", ..]) => {
            "put the readings into a list, as in calibrate([ #{ at: \"gauge\", pressure: 38.psi } ], \"feed.roughness\")".into()
        }
        ("save", ["a result", "a string"]) => "write result.table().save(\"name.csv\"), or plan(result).save(\"name.svg\")".into(),
        ("filter", ["a table", "a string"]) => "compare a column, as in t.filter(t[\"p\"] > 30.psi)".into(),
        _ => return None,
    })
}

/// One unit for a quotient of two, such as `24.l/min`.
fn rate(before: &str, name: &str) -> Option<String> {
    let upper = before.rsplit('.').next().filter(|word| super::types::is_name(word))?;
    let (top, bottom) = (find_unit(upper)?, find_unit(name));
    if upper == "lb" && matches!(name, "in2" | "sqin") {
        return Some("write pounds per square inch as 30.psi".into());
    }
    let bottom = bottom?;
    let number = before.strip_suffix(upper)?.trim_end_matches('.');
    let digits = number.len() - number.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.').len();
    let number = &number[number.len() - digits..];
    let number = if number.contains('.') { format!("({number})") } else { number.to_string() };
    let joined =
        |top: &str, bottom: &str| find_unit(&format!("{top}/{bottom}")).or_else(|| find_unit(&format!("{top}_per_{bottom}")));
    Some(match joined(top.symbol, bottom.symbol) {
        Some(Unit { names: [word, ..], symbol, .. }) if !number.is_empty() => {
            format!("write {symbol} as one unit: {number}.{word}")
        }
        _ => format!("divide by a quantity: {number}.{upper} / 1.{name}"),
    })
}

/// The call in whose parentheses a place is, not deeper than in a list.
struct Enclosing<'p> {
    name: &'p str,
    written: Written,
    /// Which of the values between the parentheses the place is in, counted from 0.
    index: usize,
    /// True where the place is at the beginning of that value.
    begins: bool,
}

impl<'p> Enclosing<'p> {
    fn of(place: &'p Place) -> Option<Enclosing<'p>> {
        let text = &place.text[..place.range.start];
        let mut pieces: Vec<Token> = tokenize(text).tokens;
        pieces.retain(|piece| !matches!(piece.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment));
        let begins = matches!(pieces.last()?.kind, TokenKind::Symbol('(' | ',' | '['));
        let (mut depth, mut index) = (0, 0);
        for at in (0..pieces.len()).rev() {
            let kind = pieces[at].kind;
            depth -= depth_change(kind);
            match kind {
                // A list among the values stands for one of them.
                TokenKind::Symbol('[') if depth < 0 => (depth, index) = (0, 0),
                TokenKind::Symbol('(') if depth < 0 => {
                    let word = pieces.get(at.checked_sub(1)?)?;
                    let name = &text[word.range.clone()];
                    let behind_point = at >= 2 && pieces[at - 2].kind == TokenKind::Symbol('.');
                    let written = if behind_point { Written::AfterPoint } else { Written::Plain };
                    return (word.kind == TokenKind::Word).then_some(Enclosing { name, written, index, begins });
                }
                _ if depth < 0 => return None,
                TokenKind::Symbol(',') if depth == 0 => index += 1,
                _ => {}
            }
        }
        None
    }

    /// The parameters that the value may be for.
    fn takes(&self, names: &Names) -> Vec<String> {
        let at = self.index + usize::from(self.written == Written::AfterPoint);
        let signatures = names.signatures(self.name);
        signatures.iter().filter_map(|signature| parameters(signature).get(at).map(ToString::to_string)).collect()
    }

    /// How it is called; nothing for what is no function of ours.
    fn form(&self, names: &Names) -> Option<String> {
        let signatures = names.signatures(self.name);
        let longest = signatures.iter().max_by_key(|signature| parameters(signature).len())?;
        Some(self.written.call(self.name, &parameters(longest)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::VOCABULARY;

    #[test]
    fn what_is_said_to_be_written_here_exists() {
        let known: Vec<&str> = VOCABULARY.functions().iter().map(|word| word.name.as_str()).collect();
        let engine = ["push", "to_upper", "to_lower", "to_string", "to_float", "exit", "print", "debug", "name", "fn", "PI"];
        for (word, hint) in ELSEWHERE.iter().chain(UNITS_ELSEWHERE) {
            assert!(!known.contains(word), "{word} is a function");
            for (at, _) in hint.match_indices('(') {
                let before = &hint[..at];
                let called = &before[before.rfind(|c: char| !(c.is_alphanumeric() || c == '_')).map_or(0, |at| at + 1)..];
                assert!(called.is_empty() || known.contains(&called) || engine.contains(&called), "{word}: {called}");
            }
        }
    }
}
