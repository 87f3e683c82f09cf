//! No circle of files in `src`: whoever reads a file needs only those that it uses, and never comes back to it.
//!
//! Files are read as texts: the paths of `use`, and those in the code that begin with a module. What a file only passes on with
//! `pub use` counts as the file that has it; methods are not seen.

use std::collections::{BTreeMap, HashMap, HashSet, VecDeque};
use std::fs;
use std::path::Path;

type Names = Vec<String>;

/// What a file says of itself and of others.
#[derive(Default)]
struct Source {
    /// What it defines.
    items: HashSet<String>,
    /// Which path stands behind a name that `use` brings in.
    brought: HashMap<String, Names>,
    /// Names that are brought in for others.
    passed_on: HashSet<String>,
    code: String,
}

impl Source {
    fn read(module: &[String], text: &str, modules: &HashSet<Names>) -> Source {
        let text = text.split("\n#[cfg(test)]\nmod tests").next().unwrap_or_default();
        let inline = ["inline".to_string()];
        let mut source = Source::default();
        let mut lines = text.lines().filter(|line| !line.trim_start().starts_with("//"));
        while let Some(line) = lines.next() {
            let (public, rest) = without_visibility(line.trim_start());
            if let Some(first) = rest.strip_prefix("use ") {
                let mut tree = first.to_string();
                while !tree.ends_with(';') {
                    let Some(more) = lines.next() else { break };
                    tree += more.trim();
                }
                // Inside a module of the file `super` is the file.
                let here = [module, if line.starts_with(' ') { &inline[..] } else { &[] }].concat();
                for (path, name) in tree_of(tree.trim_end_matches(';')) {
                    let Some(path) = absolute(&here, &path, modules) else { continue };
                    if public {
                        source.passed_on.insert(name.clone());
                    }
                    source.brought.insert(name, path);
                }
                continue;
            }
            if !line.starts_with(' ') {
                let words: Names = words_of(rest);
                let kinds = ["fn", "struct", "enum", "trait", "type", "const", "static", "macro_rules"];
                let kind = words.iter().rposition(|word| kinds.contains(&word.as_str())).filter(|&at| at < 2);
                source.items.extend(kind.and_then(|at| words.get(at + 1)).cloned());
            }
            source.code += line;
            source.code += "\n";
        }
        source
    }

    /// Every path to elsewhere that the file uses itself.
    fn paths(&self, module: &[String], modules: &HashSet<Names>) -> Vec<Names> {
        let mut found = Vec::new();
        let mut said: HashSet<&str> = HashSet::new();
        for path in self.code.split(|sign: char| !sign.is_alphanumeric() && sign != '_' && sign != ':') {
            let names: Names = path.split("::").map(str::to_string).collect();
            said.insert(path.split("::").next().unwrap_or_default());
            let inner = names.len() == 2 && names[0] == "super" && self.items.contains(&names[1]);
            let through = self.brought.get(&names[0]).map(|first| [first, &names[1..]].concat());
            found.extend(through.or_else(|| absolute(module, &names, modules)).filter(|_| names.len() > 1 && !inner));
        }
        let used = |name: &str| !self.passed_on.contains(name) || said.contains(name);
        found.extend(self.brought.iter().filter(|(name, _)| used(name)).map(|(_, path)| path.clone()));
        found
    }
}

fn without_visibility(line: &str) -> (bool, &str) {
    let Some(rest) = line.strip_prefix("pub") else { return (false, line) };
    let rest = if rest.starts_with('(') { rest.split_once(')').map_or(rest, |(_, rest)| rest) } else { rest };
    (true, rest.trim_start())
}

fn words_of(text: &str) -> Names {
    let words = text.split(|sign: char| !sign.is_alphanumeric() && sign != '_');
    words.filter(|word| !word.is_empty()).map(str::to_string).collect()
}

/// The paths of a `use`, each with the name that it brings in.
fn tree_of(tree: &str) -> Vec<(Names, String)> {
    let Some((before, inside)) = tree.split_once('{') else {
        let (path, name) = tree.split_once(" as ").unwrap_or((tree, ""));
        let mut path: Names = path.trim().split("::").map(|name| name.trim().to_string()).collect();
        if path.last().is_some_and(|last| last == "self") {
            path.pop();
        }
        let name = if name.is_empty() { path.last().cloned().unwrap_or_default() } else { name.trim().to_string() };
        return vec![(path, name)];
    };
    let inside = inside.strip_suffix('}').unwrap_or(inside);
    let (mut deep, mut from, mut found) = (0, 0, Vec::new());
    for (at, sign) in inside.char_indices().chain([(inside.len(), ',')]) {
        match sign {
            '{' => deep += 1,
            '}' => deep -= 1,
            ',' if deep == 0 => {
                let one = inside[from..at].trim();
                if !one.is_empty() {
                    found.extend(tree_of(&format!("{before}{one}")));
                }
                from = at + 1;
            }
            _ => {}
        }
    }
    found
}

/// A path from the root of the crate; nothing for other crates and for names that are no modules.
fn absolute(module: &[String], path: &[String], modules: &HashSet<Names>) -> Option<Names> {
    let ups = path.iter().take_while(|name| *name == "super").count();
    if ups > 0 {
        return Some([&module[..module.len().checked_sub(ups)?], &path[ups..]].concat());
    }
    match path.first()?.as_str() {
        "crate" => Some(path[1..].to_vec()),
        "self" => Some([module, &path[1..]].concat()),
        first => {
            let below = [module, &[first.to_string()]].concat();
            modules.contains(&below).then(|| [module, path].concat())
        }
    }
}

/// The file that has what a path leads to; nothing for a module as a whole.
fn home(path: &[String], sources: &BTreeMap<Names, Source>, steps: usize) -> Option<Names> {
    let length = (0..=path.len()).rev().find(|&length| sources.contains_key(&path[..length]))?;
    let (module, rest) = path.split_at(length);
    let item = rest.first()?;
    let source = &sources[module];
    match source.brought.get(item) {
        Some(further) if !source.items.contains(item) && steps > 0 => home(&[further, &rest[1..]].concat(), sources, steps - 1),
        _ => Some(module.to_vec()),
    }
}

/// The shortest circle of files, if there is one; files are given by the path of their module.
fn circle(files: &[(&str, String)]) -> Option<String> {
    let names = |module: &str| -> Names { module.split("::").filter(|name| !name.is_empty()).map(str::to_string).collect() };
    let modules: HashSet<Names> = files.iter().map(|(module, _)| names(module)).collect();
    let sources: BTreeMap<Names, Source> =
        files.iter().map(|(module, text)| (names(module), Source::read(&names(module), text, &modules))).collect();
    let uses: BTreeMap<&Names, Vec<Names>> = sources
        .iter()
        .map(|(module, source)| {
            let paths = source.paths(module, &modules);
            let homes = paths.iter().filter_map(|path| home(path, &sources, 9));
            (module, homes.filter(|home| home != module).collect())
        })
        .collect();
    let round = |start: &Names| -> Option<Vec<String>> {
        let mut ways = VecDeque::from([vec![start.clone()]]);
        let mut seen: HashSet<&Names> = HashSet::new();
        while let Some(way) = ways.pop_front() {
            for next in &uses[way.last()?] {
                if next == start {
                    return Some(way.iter().map(|file| file.join("::")).collect());
                }
                if seen.insert(next) {
                    ways.push_back([way.clone(), vec![next.clone()]].concat());
                }
            }
        }
        None
    };
    sources.keys().filter_map(round).min_by_key(Vec::len).map(|way| way.join(" -> "))
}

/// All files below a folder, each with the path of its module.
fn files(folder: &Path, module: &str, found: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let stem = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let below = if module.is_empty() { stem.clone() } else { format!("{module}::{stem}") };
        if path.is_dir() {
            files(&path, &below, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") && stem != "tests" && stem != "main" {
            let is_root = stem == "mod" || stem == "lib";
            found.push((if is_root { module.into() } else { below }, fs::read_to_string(&path).expect("a text")));
        }
    }
}

#[test]
fn no_files_use_each_other_in_a_circle() {
    let mut found = Vec::new();
    files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), "", &mut found);
    assert!(found.len() > 300, "{}", found.len());
    let found: Vec<(&str, String)> = found.iter().map(|(module, text)| (module.as_str(), text.clone())).collect();
    assert_eq!(circle(&found), None);
}

#[test]
fn a_circle_is_seen_through_lists_renames_and_what_a_folder_passes_on() {
    let circle = |files: &[(&str, &str)]| {
        let files: Vec<(&str, String)> = files.iter().map(|&(module, text)| (module, text.to_string())).collect();
        circle(&files)
    };
    let passes = ("room", "mod a;\nmod b;\npub use a::Bed;\npub(crate) use b::{Row,\n    Row as Line};\n");
    let a = ("room::a", "use crate::room::Line as Other;\npub struct Bed(Other);\n");
    assert_eq!(circle(&[passes, a, ("room::b", "pub struct Row;\n")]), None);
    for b in ["use super::Bed;", "use super::{b, a::{self, Bed}};", "fn of(bed: crate::room::Bed) {}", "fn f() { super::a::g() }"]
    {
        let b = format!("pub struct Row;\n{b}\n");
        assert_eq!(circle(&[passes, a, ("room::b", &b)]).as_deref(), Some("room::a -> room::b"), "{b}");
    }
    let in_folder = ("room", "mod a;\npub const MOST: usize = 3;\nfn f() { a::g() }\n");
    assert_eq!(circle(&[in_folder, ("room::a", "use super::MOST;\npub fn g() {}\n")]).as_deref(), Some("room -> room::a"));
    let inner = "fn g() {}\nmod words {\n    use super::g as h;\n    fn f() { super::g() }\n}\n#[cfg(test)]\nmod tests {\n    use super::MOST;\n}\n";
    assert_eq!(circle(&[in_folder, ("room::a", inner)]), None);
}
