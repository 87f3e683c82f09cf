//! Messages for scripts that do not parse, for people who do not know the parser.

use super::diagnostic::{Diagnostic, Trouble};
use super::names::{KEYWORDS, Names, suggest};
use super::place::Place;
use super::span::Lines;
use super::tokens::{TokenKind, tokenize};
use super::types::{is_name, type_in_words};
use rhai::{LexError, ParseErrorType};

/// The message for an error of the parser; its place is filled in elsewhere.
pub fn explain_parse_error(error: &ParseErrorType, names: &Names, names_in_text: &[&str]) -> Diagnostic {
    use ParseErrorType as E;
    let syntax = |message: String, hint: &str| Diagnostic {
        hint: (!hint.is_empty()).then(|| hint.to_string()),
        ..Diagnostic::new(Trouble::Syntax, message)
    };
    match error {
        E::UnexpectedEOF => syntax("the script ends too early".into(), "close the open bracket or quotation mark"),
        E::BadInput(inner) => bad_input(inner),
        E::MissingToken(token, purpose) => missing_token(token, purpose),
        E::VariableUndefined(name) => unknown_variable(name, names, names_in_text),
        E::ModuleUndefined(name) => Diagnostic {
            hint: Some(format!("import it first, as in: import \"{name}\" as {name};")),
            ..Diagnostic::new(Trouble::Name, format!("there is no module '{name}'"))
        },
        E::Reserved(word) if switched_off(word).is_some() => {
            syntax(format!("'{word}' is switched off"), switched_off(word).unwrap_or_default())
        }
        E::Reserved(word) if word == "?" || word == "$" => {
            let hint = if word == "$" { "write money as (3.50).USD" } else { operator_hint(word) };
            syntax(format!("'{word}' has no meaning here"), hint)
        }
        E::Reserved(word) if !operator_hint(word).is_empty() => {
            syntax(format!("'{word}' has no meaning here"), operator_hint(word))
        }
        E::Reserved(word) => syntax(format!("'{word}' is a keyword of the script language, not a name"), "choose another name"),
        E::UnknownOperator(operator) => syntax(format!("there is no operator '{operator}'"), operator_hint(operator)),
        E::ExprExpected(what) => syntax(format!("expected {}", expression(what)), ""),
        E::PropertyExpected => {
            syntax("expected the name of a property or unit after the dot".into(), "write 100.ft or feed.length")
        }
        E::VariableExpected => {
            syntax("expected the name of a variable".into(), "a name begins with a letter, as in: let feed = ...")
        }
        E::AssignmentToConstant(name) => {
            syntax(format!("the constant '{name}' cannot be changed"), "define it with let instead of const")
        }
        E::AssignmentToInvalidLHS(_) => {
            syntax("the left side of the = cannot be assigned to".into(), "use == to compare two values")
        }
        E::DuplicatedProperty(name) => syntax(format!("the name '{name}' is twice in this map"), "remove one of them"),
        E::DuplicatedVariable(name) | E::VariableExists(name) => syntax(format!("the variable '{name}' exists already"), ""),
        E::FnDuplicatedDefinition(name, count) => {
            syntax(format!("the function '{name}' with {count} arguments is defined twice"), "give one of them another name")
        }
        E::FnDuplicatedParam(function, name) => syntax(format!("the function '{function}' has two parameters '{name}'"), ""),
        E::FnMissingName => syntax("expected the name of the function after fn".into(), "write fn name(a, b) { ... }"),
        E::FnMissingParams(name) => syntax(format!("the parameters of '{name}' are missing"), "write fn name(a, b) { ... }"),
        E::FnMissingBody(name) => syntax(format!("the body of '{name}' is missing"), "write fn name(a, b) { ... }"),
        E::WrongFnDefinition => {
            syntax("a function is defined inside a block".into(), "define functions outside of blocks and functions")
        }
        E::WrongDocComment => syntax("a comment with /// must be before a function".into(), "use // for a plain comment"),
        E::LoopBreak => syntax("break and continue need a loop around them".into(), ""),
        E::MalformedIndexExpr(text) => syntax(sentence(text, "the index in brackets cannot be read"), ""),
        E::MismatchedType(wanted, found) => {
            syntax(format!("expected {}, found {}", type_in_words(wanted), type_in_words(found)), "")
        }
        E::ExprTooDeep => too_much(
            "this is nested too deeply: too many brackets, or operators in a row",
            "assign parts of it to variables with let",
        ),
        E::LiteralTooLarge(what, most) => too_much(&format!("{} is too large (at most {most})", what.to_lowercase()), ""),
        E::TooManyFunctions => too_much("there are too many functions", ""),
        other => syntax(sentence(&other.to_string(), "this cannot be read"), ""),
    }
}

/// For an error at the end of a text in which a bracket is still open: moves the place there and gives the message.
pub fn at_open_bracket(place: &mut Place) -> Option<(String, Option<String>)> {
    if place.range.start < place.text.trim_end().len() {
        return None;
    }
    let mut open: Vec<(char, usize)> = Vec::new();
    for token in tokenize(&place.text).tokens {
        match token.kind {
            TokenKind::Symbol(symbol @ ('(' | '[' | '{')) => open.push((symbol, token.range.start)),
            TokenKind::Symbol(')' | ']' | '}') => drop(open.pop()),
            _ => {}
        }
    }
    let (symbol, at) = open.pop()?;
    (place.line, place.column) = Lines::of(&place.text).line_and_column(at);
    (place.column_end, place.range) = (place.column + 1, at..at + 1);
    let closing = match symbol {
        '(' => ')',
        '[' => ']',
        _ => '}',
    };
    Some((format!("this {symbol} is never closed"), Some(format!("close it with {closing}"))))
}

/// The message for a keyword that is switched off, and for a keyword where a name is wanted.
pub fn keyword_as_name(error: &ParseErrorType, place: &Place) -> Option<(String, Option<String>)> {
    let word = place.text.get(place.range.clone())?;
    if let Some(hint) = switched_off(word) {
        return Some((format!("'{word}' is switched off"), Some(hint.into())));
    }
    let wants_name =
        matches!(error, ParseErrorType::VariableExpected | ParseErrorType::FnMissingName | ParseErrorType::Reserved(_));
    let taken = wants_name && is_name(word);
    taken.then(|| {
        (format!("'{word}' is a keyword of the script language and cannot be a name"), Some("choose another name".into()))
    })
}

/// For mistakes of people who do not write scripts every day, and of those who write in other languages.
pub fn common_slip(error: &ParseErrorType, place: &Place) -> Option<(String, Option<String>)> {
    let word = place.text.get(place.range.clone())?;
    let before = place.text[..place.range.start].trim_end();
    let number = &before[before.trim_end_matches(|sign: char| sign.is_ascii_digit() || sign == '.').len()..];
    let unit = if word == "in" { "inch" } else { word };
    let has_unit = !number.is_empty() && (crate::quantity::find_unit(unit).is_some());
    let told = |message: &str, hint: String| Some((message.to_string(), Some(hint)));
    let is_loop = matches!(error, ParseErrorType::MissingToken(_, purpose) if purpose.contains("iteration variable"));
    let is_index = matches!(error, ParseErrorType::MissingToken(_, purpose) if purpose.contains("index"));
    let lacks = |token: &str| matches!(error, ParseErrorType::MissingToken(missing, _) if missing == token);
    match error {
        ParseErrorType::MissingToken(..) | ParseErrorType::PropertyExpected if has_unit && is_unit_slip(error, number, word) => {
            let number = with_fraction(before, number.trim_end_matches('.'));
            let message = if word == "in" && matches!(error, ParseErrorType::PropertyExpected) {
                "in is a keyword of the script language, not a unit".to_string()
            } else {
                format!("a unit needs a dot before it, and '{word}' has none")
            };
            told(&message, format!("write {number}.{unit}"))
        }
        _ if lacks(";") && word == "," && before.ends_with(|c: char| c.is_ascii_digit()) => {
            let decimals = place.text[place.range.end..].split(|c: char| !c.is_ascii_digit()).next().unwrap_or("");
            told("a comma does not belong here", format!("write a decimal point, as in {number}.{decimals}"))
        }
        _ if word == "=" && before.ends_with('=') => told(
            "'=' has no meaning here",
            "a value is named with let and used by its name; t[\"p\"][0] is a cell of a table".into(),
        ),
        _ if word == "=" && !is_loop && (lacks(",") || lacks("{") || is_condition(before)) => {
            told("'=' gives a variable its value", "write == to compare".into())
        }
        _ if word == ">" && before.ends_with('<') => told("'<>' has no meaning here", "use != for not equal".into()),
        _ if !word.is_empty()
            && before.ends_with('%')
            && before.trim_end_matches('%').ends_with(|c: char| c.is_ascii_digit()) =>
        {
            told(&format!("'{word}' has no meaning here"), "a percentage is written as a share, as in 0.1 for 10%".into())
        }
        _ if lacks(")") && word == "," && in_parentheses_of(before) == Some("if") => {
            told("a choice has braces, not commas", "write if a > b { 1 } else { 2 }".into())
        }
        _ if lacks("]") && is_index && matches!(word, "," | ":") => told(
            "only one name or number can be in these brackets",
            "t[\"p\"] is a column of a table, t[\"p\"][0] a cell of it".into(),
        ),
        _ if lacks(",") && word == ";" => {
            told("';' has no meaning inside of parentheses", "put a comma between values, and ) before the ;".into())
        }
        ParseErrorType::BadInput(LexError::UnterminatedString) if word.starts_with('\'') && begins_line(before) => {
            told("the string in quotes does not end", "a comment begins with //".into())
        }
        _ if before.rsplit([';', '\n']).next().is_some_and(|line| line.trim_start().starts_with("export")) => {
            let hint = if word == "fn" { "functions need no export" } else { "write export let name = ..." };
            told("export stands before let or a variable", hint.into())
        }
        _ if lacks(";") && matches!(word, "," | "=" | "=>") => {
            told(&format!("'{word}' has no meaning here"), "connect parts with >>; end each statement with ;".into())
        }
        _ if lacks(";") && crate::quantity::find_unit(unit).is_some() && before.ends_with(')') => {
            told(&format!("a unit needs a dot before it, and '{word}' has none"), format!("write (5/8).{unit}"))
        }
        _ if lacks(";") && has_unit => told("a blank splits the number from its unit", format!("write {number}{unit}")),
        _ if lacks(";") && is_name(word) && after_let(before) => {
            let first = before.rsplit(char::is_whitespace).next().unwrap_or("");
            told("a name is one word", format!("write {first}_{word}"))
        }
        _ if lacks(";") && word == "==" && after_let(before) => {
            told("'==' compares", "write = to give a variable its value".into())
        }
        _ if lacks(":") && word == "=" => told("a map has a colon between name and value", "write #{ name: value }".into()),
        _ if lacks(";") && word == "to" => {
            told("expected ; after this statement", "convert with to, as in 30.psi.to(\"bar\")".into())
        }
        _ if lacks(";") && word == "if" => {
            told("expected ; after this statement", "write let x = if a > b { 1 } else { 2 };".into())
        }
        _ if lacks(";") && matches!(word, ")" | "]" | "}") => {
            told(&format!("this {word} has no opening bracket"), "remove it, or add the opening bracket".into())
        }
        _ if lacks(")") && word == "," => {
            told("a list in parentheses has no meaning", "write branches and other lists as [one, other]".into())
        }
        ParseErrorType::MissingToken(_, purpose) if purpose.contains("iteration variable") => {
            told("a loop has no parentheses", "write for i in 0..10 { ... }".into())
        }
        ParseErrorType::UnexpectedEOF if place.text.trim_end().ends_with('%') => {
            told("the script ends too early", "a percentage is written as a share, as in 0.1 for 10%".into())
        }
        ParseErrorType::BadInput(LexError::UnterminatedString) if before.ends_with(|c: char| c.is_ascii_digit()) => {
            told("a quotation mark after a number has no meaning", "write feet and inches as 50.ft and (5/8).inch".into())
        }
        ParseErrorType::MissingToken(..) | ParseErrorType::Reserved(_) | ParseErrorType::VariableExpected => {
            let hint = super::slips::elsewhere(word)?;
            Some((format!("'{word}' has no meaning here"), Some(hint.into())))
        }
        _ => None,
    }
}

/// True where nothing but blanks stands before in the line.
fn begins_line(before: &str) -> bool {
    before.is_empty() || before.rsplit('\n').next().is_some_and(|line| line.trim().is_empty())
}

/// True after the `if` or `while` of an unfinished condition.
fn is_condition(before: &str) -> bool {
    let statement = before.rsplit([';', '{', '}']).next().unwrap_or(before).trim_start();
    ["if ", "while ", "if(", "while("].iter().any(|word| statement.starts_with(word) || statement.contains(&format!(" {word}")))
}

/// The word before the innermost parenthesis that is still open.
fn in_parentheses_of(before: &str) -> Option<&str> {
    let mut depth = 0;
    let at = before.char_indices().rev().find_map(|(at, sign)| {
        depth += match sign {
            ')' => 1,
            '(' => -1,
            _ => 0,
        };
        (depth < 0).then_some(at)
    })?;
    let before = before[..at].trim_end();
    let word = &before[before.trim_end_matches(|c: char| c.is_alphanumeric() || c == '_').len()..];
    (!word.is_empty()).then_some(word)
}

/// True after `let` and a name.
fn after_let(before: &str) -> bool {
    let mut words = before.rsplit(|c: char| c.is_whitespace());
    words.next().is_some_and(is_name) && words.next() == Some("let")
}

fn is_unit_slip(error: &ParseErrorType, number: &str, word: &str) -> bool {
    match error {
        ParseErrorType::PropertyExpected => word == "in",
        _ => !number.ends_with('.'),
    }
}

/// The number before a unit as it takes one: a fraction or a decimal in parentheses.
fn with_fraction(before: &str, number: &str) -> String {
    let top = before.strip_suffix(number).and_then(|rest| rest.trim_end().strip_suffix('/')).map(str::trim_end);
    let digits = top.map_or("", |rest| &rest[rest.trim_end_matches(|c: char| c.is_ascii_digit()).len()..]);
    match digits {
        "" if number.contains('.') => format!("({number})"),
        "" => number.to_string(),
        top => format!("({top}/{number})"),
    }
}

/// For a name that is given a value without `let`: the hint.
pub fn assigned_without_let(name: &str, place: &Place) -> Option<String> {
    let after = place.text.get(place.range.end..)?.trim_start();
    let assigns = after.starts_with('=') && !after.starts_with("==");
    assigns.then(|| format!("to define a variable write let {name} = ..."))
}

/// Moves the place of a missing mark from the word that follows to the end of the word before, when that is on another line.
pub fn move_to_gap(error: &ParseErrorType, place: &mut Place) {
    if !matches!(error, ParseErrorType::MissingToken(..)) {
        return;
    }
    let before = tokenize(&place.text[..place.range.start]).tokens;
    let significant = |kind: TokenKind| !matches!(kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment);
    let Some(last) = before.iter().rev().find(|token| significant(token.kind)) else { return };
    let gap = place.moved_to(last.range.clone());
    if gap.line != place.line {
        *place = gap;
    }
}

/// Characters of a name that is rather meant as a variable than as the function of that name.
const SHORT: usize = 2;

/// The message for an unknown variable, with names that look like it.
pub fn unknown_variable(name: &str, names: &Names, names_in_text: &[&str]) -> Diagnostic {
    let message = format!("there is no variable '{name}'");
    let hint = if let Some((script, own)) = name.rsplit_once("::") {
        Some(format!(
            "the script '{script}' offers its functions and what it marks with export let, as in export let {own} = ..."
        ))
    } else if let Some(hint) = super::slips::elsewhere(name) {
        Some(hint.to_string())
    } else if names.variables.contains(name) || names_in_text.contains(&name) {
        Some("a function cannot use variables defined outside it, and a variable exists only after its let".into())
    } else if names.functions.contains(name) && name.len() <= SHORT {
        Some(format!("define it first, as in let {name} = ..."))
    } else if names.functions.contains(name) {
        Some(format!("'{name}' is a function: call it with parentheses, as in {name}(...)"))
    } else if crate::quantity::find_unit(name).is_some() {
        Some(format!("write a unit after a number, as in 10.{name}"))
    } else {
        let variables = names.variables.iter().map(String::as_str).chain(names_in_text.iter().copied());
        let all = variables.chain(names.functions.iter().map(String::as_str)).chain(KEYWORDS.iter().copied());
        suggest(name, all)
    };
    Diagnostic { hint, ..Diagnostic::new(Trouble::Name, message) }
}

fn too_much(message: &str, hint: &str) -> Diagnostic {
    Diagnostic { hint: (!hint.is_empty()).then(|| hint.to_string()), ..Diagnostic::new(Trouble::Limit, message) }
}

fn bad_input(error: &LexError) -> Diagnostic {
    let (message, hint) = match error {
        LexError::UnterminatedString => ("the string in quotes does not end".to_string(), "add the closing quotation mark"),
        LexError::MalformedNumber(text) if text.parse::<f64>().is_ok_and(f64::is_infinite) => {
            (format!("{text} is too large to calculate with"), "numbers go up to 1.797e308")
        }
        LexError::MalformedNumber(text) => {
            (format!("'{text}' is not a number"), "write 100, 0.625 or 1e-3; write a unit after a dot")
        }
        LexError::MalformedEscapeSequence(text) => (format!("'{text}' has no meaning in a string"), "write \\\\ for a backslash"),
        LexError::MalformedChar(text) => (format!("'{text}' is not a single character"), "write strings in double quotes"),
        LexError::MalformedIdentifier(text) => (format!("'{text}' cannot be a name"), "a name begins with a letter"),
        LexError::ImproperSymbol(symbol, _) if switched_off(symbol).is_some() => {
            (format!("'{symbol}' is switched off"), switched_off(symbol).unwrap_or_default())
        }
        LexError::UnexpectedInput(text) => (format!("'{text}' has no meaning here"), symbol_hint(text)),
        LexError::ImproperSymbol(symbol, _) => (format!("'{symbol}' has no meaning here"), operator_hint(symbol)),
        other => (sentence(&other.to_string(), "this cannot be read"), ""),
    };
    Diagnostic { hint: (!hint.is_empty()).then(|| hint.to_string()), ..Diagnostic::new(Trouble::Syntax, message) }
}

/// What to do instead of a keyword of the script language that studies may not use.
fn switched_off(word: &str) -> Option<&'static str> {
    match word {
        "eval" => Some("write the statements directly"),
        "curry" => Some("write a closure that calls the function, as in |x| f(1, x)"),
        "sleep" => Some("leave it out; a study does not wait"),
        _ => None,
    }
}

fn symbol_hint(text: &str) -> &'static str {
    match text {
        "\u{201c}" | "\u{201d}" | "\u{201e}" => "use plain double quotes: \"",
        "\u{2212}" | "\u{2013}" => "use the plain minus: -",
        ">>" | "." => "it needs a value before it; in the shell, an entry continues if the previous line ends with it",
        _ => "",
    }
}

fn operator_hint(operator: &str) -> &'static str {
    match operator {
        "===" => "use == to compare",
        "!==" => "use != to compare",
        "<>" => "use != for not equal",
        "++" => "write += 1",
        "--" => "a comment begins with //; a number is lowered with -= 1",
        "->" | "=>" => "connect parts with >>; a closure is written |x| ...",
        "?" => "write if x { a } else { b } for a choice",
        ":=" => "use = to assign",
        "#" => "comments begin with //, maps with #{",
        _ => "",
    }
}

fn missing_token(token: &str, purpose: &str) -> Diagnostic {
    let message = match token {
        ";" => "expected ; after this statement".to_string(),
        _ if purpose.is_empty() => format!("expected {token}"),
        _ => format!("expected {token} {}", purpose_in_words(purpose)),
    };
    let hint = match token {
        ";" => Some("end each statement with ; or look for a missing operator or comma".to_string()),
        ")" | "]" | "}" => Some("close the bracket, or look for a missing comma".to_string()),
        _ => None,
    };
    Diagnostic { hint, ..Diagnostic::new(Trouble::Syntax, message) }
}

fn purpose_in_words(purpose: &str) -> String {
    purpose.replace("object map", "map").replace("array", "list").replace("statement block", "block")
}

fn expression(what: &str) -> String {
    if what.is_empty() { "a value".into() } else { format!("a value: {what}") }
}

/// The parser's own words as a sentence of ours: lower case, no full stop.
fn sentence(text: &str, otherwise: &str) -> String {
    let mut chars = text.trim().trim_end_matches('.').chars();
    chars.next().map_or_else(|| otherwise.to_string(), |first| first.to_lowercase().chain(chars).collect())
}
