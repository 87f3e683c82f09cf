//! What the Tab key completes: functions, variables, units and parameters after a point, and what stands in texts: paths of
//! numbers, columns, files, topics of help.

use crate::files::Folder;
use crate::quantity::all_units;
use crate::script::names::{KEYWORDS, Names, PartName};
use crate::script::parameters;
use crate::script::tokens::{Open, Token, TokenKind, tokenize};
use crate::script::{VOCABULARY, topics};
use crate::visible::stand_in;
use rustyline::completion::Pair;
use std::collections::BTreeSet;

/// Words of the shell itself.
pub const SHELL_WORDS: &[&str] = &["keep(", "load(", "undo", "redo", "variables", "help", "quit"];
/// Words whose text names a file.
const FILE_WORDS: &[&str] = &["import", "load", "keep", "save", "read_table", "read"];
/// Most names shown at a time.
const MOST: usize = 200;

/// Where the word before the cursor begins, and what it can become.
pub fn candidates(names: &Names, folder: &Folder, before: &str) -> (usize, Vec<Pair>) {
    let cut = tokenize(before);
    if cut.open == Some(Open::ShortText) {
        return in_text(names, folder, before, &cut.tokens);
    }
    if cut.open.is_some() || cut.tokens.last().is_some_and(|token| token.kind == TokenKind::LineComment) {
        return (before.len(), Vec::new());
    }
    let start = word_start(before);
    let (left, word) = before.split_at(start);
    match left.strip_suffix('.') {
        Some(owner) => (start, after_point(names, owner, word)),
        None => (start, first_word(names, left, word)),
    }
}

/// A name by itself.
fn first_word(names: &Names, left: &str, word: &str) -> Vec<Pair> {
    if word.is_empty() || word.starts_with(|c: char| c.is_ascii_digit()) {
        return Vec::new();
    }
    let functions = starting(names.functions.iter(), word).map(|name| pair(name, format!("{name}(")));
    let variables = starting(names.variables.iter(), word).map(plain);
    let keywords = KEYWORDS.iter().filter(|name| name.starts_with(word)).map(|name| plain(name));
    let own = SHELL_WORDS.iter().filter(|name| left.trim().is_empty() && name.starts_with(word));
    let own = own.map(|name| pair(name.trim_end_matches('('), name.to_string()));
    sorted(functions.chain(variables).chain(keywords).chain(own))
}

/// Units after a number; parameters and methods after a value.
fn after_point(names: &Names, owner: &str, word: &str) -> Vec<Pair> {
    let units = || all_units().flat_map(|unit| unit.names.iter().copied()).filter(|name| name.starts_with(word)).map(plain);
    let variable = &owner[word_start(owner)..];
    if variable.starts_with(|c: char| c.is_ascii_digit()) {
        let found = sorted(units());
        if !found.is_empty() {
            return found;
        }
    }
    let call = |name: &str| if names.is_called(variable, name) { format!("{name}(") } else { name.to_string() };
    let members = names.members_of(variable);
    if !members.is_empty() {
        let own = members.into_iter().filter(|name| name.starts_with(word) && !names.lacks(variable, name));
        return sorted(own.map(|name| pair(name, call(name))));
    }
    let properties = starting(names.properties.iter(), word).map(plain);
    let functions = starting(names.functions.iter(), word).map(|name| pair(name, call(name)));
    let units = units().filter(|_| owner.ends_with(')'));
    sorted(properties.chain(functions).chain(units))
}

/// Inside an open text.
fn in_text(names: &Names, folder: &Folder, before: &str, tokens: &[Token]) -> (usize, Vec<Pair>) {
    let start = tokens.last().map_or(before.len(), |token| token.range.start + 1);
    let typed = &before[start..];
    let asked = caller(before, tokens);
    if matches!(asked, "help" | "search_help") {
        return (start, sorted(topics(&VOCABULARY).into_iter().filter(|topic| topic.starts_with(typed)).map(plain)));
    }
    if FILE_WORDS.contains(&asked) {
        return (start, files(folder, typed, asked));
    }
    let offered = offered(names, before, tokens, asked);
    (start, sorted(offered.into_iter().filter(|name| name.starts_with(typed)).map(plain)))
}

/// What the text of a call may be, by the parameter that it is for.
fn offered<'n>(names: &'n Names, before: &str, tokens: &[Token], asked: &str) -> Vec<&'n str> {
    let all = |set: &'n BTreeSet<String>| set.iter().map(String::as_str).collect();
    let signatures = names.signatures(asked);
    let takes = |words: &[&str]| signatures.iter().any(|signature| words.iter().any(|word| parameters(signature).contains(word)));
    let table = table_of(names, before, tokens);
    if asked.is_empty() || takes(&["column", "columns"]) {
        if let Some(columns) = table {
            return columns.iter().map(String::as_str).collect();
        }
        if takes(&["column", "columns"]) && !names.columns.is_empty() {
            return names.columns.values().flatten().map(String::as_str).collect();
        }
    }
    let parts = parts_of(names, before, tokens);
    if takes(&["zones", "valve"]) && !names.valves.is_empty() {
        let own = |parts: &'n [PartName]| parts.iter().filter(|part| part.opens).map(|part| part.name.as_str()).collect();
        return parts.map_or_else(|| all(&names.valves), |(_, parts)| own(parts));
    }
    if let (Some((at, parts)), true) = (parts, takes(&["solution"]) && takes(&["name"])) {
        // What the texts after the garden name is open: `plot.run("beds").pressure("`.
        let open: Vec<&str> = tokens[at..]
            .iter()
            .filter(|token| token.kind == TokenKind::Text)
            .map(|token| before[token.range.clone()].trim_matches('"'))
            .collect();
        let fits = |part: &&PartName| match asked {
            "velocity" => part.has_pressure(&open) && part.has_velocity,
            "power" => part.pumps,
            "flow" => true,
            _ => part.has_pressure(&open),
        };
        return parts.iter().filter(fits).map(|part| part.name.as_str()).collect();
    }
    if takes(&["path"]) {
        let is_own = |name: &str| parts.is_none_or(|(_, parts)| parts.iter().any(|part| part.name == name));
        let numbers = names.paths.iter().filter(|path| path.rsplit_once('.').is_some_and(|(part, _)| is_own(part)));
        return numbers.map(String::as_str).collect();
    }
    if takes(&["solution"]) && takes(&["name"]) || takes(&["names"]) {
        return all(&names.parts);
    }
    all(&names.paths)
}

/// The parts of the garden or result that the call is made on, the last one before it in its statement, and where it is named.
fn parts_of<'n>(names: &'n Names, before: &str, tokens: &[Token]) -> Option<(usize, &'n [PartName])> {
    let ended = tokens.iter().rposition(|token| token.kind == TokenKind::Symbol(';')).map_or(0, |at| at + 1);
    let known = |at: usize| Some((at, names.gardens.get(&before[tokens[at].range.clone()])?.as_slice()));
    (ended..tokens.len()).rev().filter(|&at| tokens[at].kind == TokenKind::Word).find_map(known)
}

/// The columns of the table that a chart is made of, or whose column is asked for: the last variable before that holds a table.
fn table_of<'n>(names: &'n Names, before: &str, tokens: &[Token]) -> Option<&'n Vec<String>> {
    let ended = tokens.iter().rposition(|token| token.kind == TokenKind::Symbol(';')).map_or(0, |at| at + 1);
    tokens[ended..].iter().rev().find_map(|token| names.columns.get(&before[token.range.clone()]))
}

/// The word whose argument the last token is: before the open bracket, or `import`.
fn caller<'t>(text: &'t str, tokens: &[Token]) -> &'t str {
    let solid: Vec<&Token> = tokens.iter().filter(|token| token.kind != TokenKind::Space).collect();
    let word = |at: usize| solid.get(at).map_or("", |token| &text[token.range.clone()]);
    let last = solid.len().saturating_sub(1);
    if last >= 1 && word(last - 1) == "import" {
        return "import";
    }
    let mut depth = 0;
    for at in (1..last).rev() {
        match solid[at].kind {
            TokenKind::Symbol(')' | ']' | '}') => depth += 1,
            // A list that is an argument belongs to the call around it.
            TokenKind::Symbol('[') if depth == 0 && matches!(word(at - 1), "(" | "," | "[") => {}
            TokenKind::Symbol('[') if depth == 0 => return "",
            TokenKind::Symbol('(' | '{') if depth == 0 => return word(at - 1),
            TokenKind::Symbol('(' | '[' | '{') => depth -= 1,
            _ => {}
        }
    }
    ""
}

/// Files of the folder whose name begins as typed; scripts only where a script is wanted.
fn files(folder: &Folder, typed: &str, asked: &str) -> Vec<Pair> {
    let (sub, name) = typed.rsplit_once('/').map_or(("", typed), |(sub, name)| (sub, name));
    let path = if sub.is_empty() { Ok(folder.root().to_path_buf()) } else { folder.file(sub) };
    let Ok(entries) = path
        .map(|path| std::fs::read_dir(path).map(|entries| entries.flatten().take(5000).collect::<Vec<_>>()).unwrap_or_default())
    else {
        return Vec::new();
    };
    let full = |name: &str| if sub.is_empty() { name.to_string() } else { format!("{sub}/{name}") };
    let found = entries.into_iter().filter_map(|entry| {
        let file = entry.file_name().into_string().ok().filter(|file| file.starts_with(name) && !file.starts_with('.'))?;
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            return Some(pair(&file, full(&format!("{file}/"))));
        }
        let script = file.strip_suffix(".rhai");
        match asked {
            "import" => script.map(|module| pair(module, full(module))),
            "load" => script.map(|_| pair(&file, full(&file))),
            _ => Some(pair(&file, full(&file))),
        }
    });
    sorted(found)
}

/// Names of a sorted set that begin with a text.
fn starting<'n>(names: impl Iterator<Item = &'n String>, word: &str) -> impl Iterator<Item = &'n str> {
    names.map(String::as_str).filter(move |name| name.starts_with(word))
}

/// Where the word at the end of a text begins.
fn word_start(text: &str) -> usize {
    let other = text.char_indices().rev().find(|(_, c)| !(c.is_alphanumeric() || *c == '_'));
    other.map_or(0, |(at, c)| at + c.len_utf8())
}

fn sorted(candidates: impl Iterator<Item = Pair>) -> Vec<Pair> {
    // A name with control characters cannot be typed and must not be printed.
    let shows = |pair: &Pair| !pair.replacement.chars().any(|sign| stand_in(sign).is_some());
    let mut found: Vec<Pair> = candidates.filter(shows).collect();
    found.sort_by(|a, b| a.display.cmp(&b.display));
    found.dedup_by(|a, b| a.display == b.display);
    found.truncate(MOST);
    found
}

fn plain(name: &str) -> Pair {
    pair(name, name.to_string())
}

fn pair(name: &str, replacement: String) -> Pair {
    Pair { display: name.to_string(), replacement }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn completed(before: &str) -> Vec<String> {
        let mut names = Names::default();
        names.functions.extend(["sqrt", "supply"].map(String::from));
        names.variables.insert("spring".into());
        names.properties.extend(["psi", "length"].map(String::from));
        completed_with(&names, before)
    }

    fn completed_with(names: &Names, before: &str) -> Vec<String> {
        candidates(names, &Folder::new("."), before).1.into_iter().map(|pair| pair.replacement).collect()
    }

    #[test]
    fn completes_words_variables_and_keywords() {
        assert_eq!(completed("let a = s"), ["spring", "sqrt(", "supply(", "switch"]);
    }

    #[test]
    fn completes_units_behind_a_number_and_properties_behind_a_name() {
        assert_eq!(completed("30.ps"), ["psi"]);
        assert_eq!(completed("feed.le"), ["length"]);
    }

    #[test]
    fn completes_only_what_the_value_of_a_variable_has() {
        let mut session = crate::script::Session::new(crate::files::Folder::new("."));
        session.evaluate("let feed = 100.ft; let beds = [1]; let row = #{ width: 3.ft };");
        let names = session.names();
        let completed = |before: &str| completed_with(&names, before);
        assert_eq!(completed("feed.in_u"), ["in_unit("]);
        assert_eq!(completed("feed.pu"), Vec::<String>::new());
        assert_eq!(completed("1 + beds.pu"), ["push("]);
        assert_eq!(completed("row.wi"), ["width"]);
    }

    #[test]
    fn completes_topics_inside_help() {
        assert_eq!(completed("help(\"unit"), ["units"]);
    }

    #[test]
    fn completes_the_numbers_of_this_part_and_paths_in_texts() {
        let mut session = crate::script::Session::new(crate::files::Folder::new("."));
        session.evaluate("let feed = hose(100.ft, (5/8).inch).named(\"feed\"); let tap = supply(50.psi); let plot = tap >> feed >> head(\"berry\", (1/8).inch); let result = plot.run();");
        let names = session.names();
        let completed = |before: &str| completed_with(&names, before);
        assert_eq!(completed("feed.leng"), ["length"]);
        assert_eq!(completed("feed.cut_"), Vec::<String>::new());
        assert_eq!(completed("plot.with(\"feed.len"), ["feed.length"]);
        assert_eq!(completed("tap.pres"), ["pressure_at("]);
        assert_eq!(
            completed("result.pressu"),
            ["pressure(", "pressure_budget(", "pressure_budget_chart(", "pressure_profile(", "pressure_profile_chart("]
        );
        assert_eq!(completed("plot.run().pressure(\"ber"), ["berry"]);
    }

    #[test]
    fn completes_what_the_parameter_of_a_call_can_be() {
        let mut session = crate::script::Session::new(crate::files::Folder::new("."));
        let outcome = session.evaluate(
            "let plot = supply(50.psi) >> hose(9.ft, (5/8).inch).named(\"feed\") >> [valve(\"beds\") >> head(\"berry\", (1/8).inch), \
             valve(\"bank\") >> head(\"bean\", (1/8).inch)]; let t = table([#{ below: 1, on: 2 }]); let u = table([#{ beyond: 1 }]);",
        );
        assert_eq!(outcome.error(), None);
        let names = session.names();
        let completed = |before: &str| completed_with(&names, before);
        assert_eq!(completed("plot.run(\"b"), ["bank", "beds"]);
        assert_eq!(completed("plot.run([\"beds\", \"b"), ["bank", "beds"]);
        assert_eq!(completed("timer(\"t\").zone(\"b"), ["bank", "beds"]);
        assert_eq!(completed("plot.run(\"beds\").pressure(\"b"), ["beds", "berry"]);
        assert_eq!(completed("chart(t).x(\"b"), ["below"]);
        assert_eq!(completed("chart(u).x(\"beyond\").y(\"b"), ["beyond"]);
        assert_eq!(completed("t[\"b"), ["below"]);
        assert_eq!(completed("plot.with(\"berry.noz"), ["berry.nozzle"]);
    }

    #[test]
    fn completes_the_parts_that_have_what_is_asked() {
        let mut session = crate::script::Session::new(crate::files::Folder::new("."));
        let outcome = session.evaluate(
            "let plot = supply(50.psi) >> hose(9.ft, (5/8).inch).named(\"feed\") >> uphill(1.ft).named(\"bank\") >> [valve(\"beds\") \
             >> hose(9.ft, (1/2).inch).named(\"to berry\") >> head(\"berry\", (1/8).inch), valve(\"lawn\") >> head(\"bean\", (1/8).inch)]; \
             let barrel = open_tank(9.ft) >> hose(9.ft, 1.inch) >> booster([[0.gpm, 40.psi], [9.gpm, 20.psi]]).named(\"pump\") \
             >> valve(\"pot\") >> head(\"pot head\", (1/8).inch); let result = plot.run(\"lawn\"); let other = barrel.run(\"pot\");",
        );
        assert_eq!(outcome.error(), None);
        let names = session.names();
        let completed = |before: &str| completed_with(&names, before);
        // Downstream of a closed valve there is no pressure.
        let all = ["bank", "bean", "feed", "lawn", "supply"];
        assert_eq!(completed("result.pressure(\""), all);
        assert_eq!(completed("1.psi; plot.run(\"lawn\").pressure(\""), all);
        assert_eq!(completed("plot.run().pressure(\""), ["bank", "feed", "supply"]);
        assert_eq!(completed("plot.run([\"lawn\", \"beds\"]).pressure(\"be"), ["bean", "beds", "berry"]);
        assert_eq!(completed("result.flow(\"be"), ["bean", "beds", "berry"]);
        assert_eq!(completed("result.velocity(\""), ["feed", "lawn"]);
        assert_eq!(completed("other.power(\""), ["pump"]);
        assert_eq!(completed("other.pressure(\"po"), ["pot", "pot head"]);
        // Valves and paths of the garden that is asked, not of another one.
        assert_eq!(completed("plot.run(\""), ["beds", "lawn"]);
        assert_eq!(completed("barrel.run(\""), ["pot"]);
        assert_eq!(completed("plot.with(\"feed.l"), ["feed.length"]);
        assert_eq!(completed("plot.with(\"feed"), completed("plot.with(\"feed."), "only what can be set");
        assert_eq!(completed("plot.with(\"pump"), Vec::<String>::new());
        assert!(completed("barrel.with(\"pump").contains(&"pump.efficiency".to_string()));
    }

    #[test]
    fn completes_files_where_a_file_is_wanted() {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::create_dir(folder.path().join("tables")).expect("a folder");
        for file in ["stock.rhai", "store.csv", "tables/a.csv"] {
            std::fs::write(folder.path().join(file), "").expect("written");
        }
        let completed = |before: &str| {
            let found = candidates(&Names::default(), &Folder::new(folder.path()), before).1;
            found.into_iter().map(|pair| pair.replacement).collect::<Vec<_>>()
        };
        assert_eq!(completed("import \"st"), ["stock"]);
        assert_eq!(completed("load(\"st"), ["stock.rhai"]);
        assert_eq!(completed("read_table(\"s"), ["stock.rhai", "store.csv"]);
        assert_eq!(completed("read_table(\"ta"), ["tables/"]);
        assert_eq!(completed("read_table(\"tables/"), ["tables/a.csv"]);
        assert_eq!(completed("read_table(\"../"), Vec::<String>::new());
    }

    #[test]
    fn completes_nothing_in_comments_and_in_any_text_without_a_panic() {
        assert_eq!(completed("// s"), Vec::<String>::new());
        for text in ["é.", "\"é", "(\"", ".", "a.b.c.", "\u{1F331}.x", "`", "import \"", ")\""] {
            completed(text);
        }
    }
}
