//! The order in which a closure writes the names of its map, since a map itself keeps them by the alphabet.
//!
//! It reads the script as compiled; it evaluates nothing.

use super::tokens::{TokenKind as Kind, depth_change, tokenize};
use rhai::{AST, ASTNode, Expr, FnPtr, GlobalRuntimeState, Module, ScriptFuncDef, Stmt};
use std::collections::HashSet;
use std::sync::Arc;

/// Names in the order in which a script writes them.
#[derive(Clone, Debug, Default)]
pub struct Written {
    names: Vec<String>,
}

/// Parameters that a function may have, captured variables included.
const MOST_PARAMETERS: usize = 32;

impl Written {
    /// Names of the maps in a closure, and in the functions that it calls.
    pub fn in_closure(closure: &FnPtr, state: &GlobalRuntimeState) -> Written {
        let mut written = Written::default();
        written.look_into(closure.fn_name(), state, &mut HashSet::new());
        written
    }

    /// The names of a map as one of the texts writes them, the last text first; by the alphabet where none has a map of these names.
    pub fn in_texts(names: &[&str], texts: &[Arc<str>]) -> Written {
        let same =
            |written: &Vec<String>| written.len() == names.len() && names.iter().all(|name| written.iter().any(|w| w == name));
        let found = texts.iter().rev().find_map(|text| maps_in(text).into_iter().rev().find(same));
        Written { names: found.unwrap_or_default() }
    }

    /// Sorts what has names: as they are written, those that are nowhere written last, as they stand.
    pub fn sort<T>(&self, things: &mut [T], name: impl Fn(&T) -> &str) {
        let place = |thing: &T| self.names.iter().position(|known| known == name(thing)).unwrap_or(usize::MAX);
        things.sort_by_key(place);
    }

    fn look_into(&mut self, function: &str, state: &GlobalRuntimeState, seen: &mut HashSet<String>) {
        if !seen.insert(function.to_string()) {
            return;
        }
        for definition in definitions(function, state) {
            let mut called = Vec::new();
            alone(definition).walk(&mut |path| {
                self.note(path.last(), &mut called);
                true
            });
            called.iter().for_each(|name| self.look_into(name, state, seen));
        }
    }

    /// Notes the names that a node writes, and the functions it calls.
    fn note(&mut self, node: Option<&ASTNode>, called: &mut Vec<String>) {
        match node {
            Some(ASTNode::Expr(Expr::Map(map, _))) => map.0.iter().for_each(|(name, _)| self.add(name.name.as_str())),
            Some(ASTNode::Expr(Expr::FnCall(call, _))) => called.push(call.name.to_string()),
            // `answer.flow = ..` and `answer["flow"] = ..`
            Some(ASTNode::Stmt(Stmt::Assignment(assignment))) => match &assignment.1.lhs {
                Expr::Dot(pair, ..) | Expr::Index(pair, ..) => match &pair.rhs {
                    Expr::Property(property, _) => self.add(property.2.as_str()),
                    Expr::StringConstant(name, _) => self.add(name.as_str()),
                    _ => {}
                },
                _ => {}
            },
            _ => {}
        }
    }

    fn add(&mut self, name: &str) {
        let name = name.trim();
        if !self.names.iter().any(|known| known == name) {
            self.names.push(name.to_string());
        }
    }
}

/// The names of all maps that a text writes out, each in its order.
fn maps_in(text: &str) -> Vec<Vec<String>> {
    let pieces = tokenize(text).tokens;
    let pieces: Vec<_> =
        pieces.iter().filter(|piece| !matches!(piece.kind, Kind::Space | Kind::LineComment | Kind::BlockComment)).collect();
    // For each open bracket the map that it begins, if it begins one.
    let (mut maps, mut open): (Vec<Vec<String>>, Vec<Option<usize>>) = (Vec::new(), Vec::new());
    for (at, piece) in pieces.iter().enumerate() {
        match (piece.kind, depth_change(piece.kind)) {
            (Kind::Symbol('{'), _) if at > 0 && pieces[at - 1].kind == Kind::Symbol('#') => {
                open.push(Some(maps.len()));
                maps.push(Vec::new());
            }
            (_, 1) => open.push(None),
            (_, -1) => drop(open.pop()),
            (Kind::Word | Kind::Text, _) => {
                let begins = at > 0 && matches!(pieces[at - 1].kind, Kind::Symbol('{' | ','));
                let names = pieces.get(at + 1).is_some_and(|next| next.kind == Kind::Symbol(':'));
                if let (Some(Some(map)), true) = (open.last(), begins && names) {
                    maps[*map].push(text[piece.range.clone()].trim_matches(['"', '`']).to_string());
                }
            }
            _ => {}
        }
    }
    maps
}

/// The functions of that name, whatever their parameters.
fn definitions(name: &str, state: &GlobalRuntimeState) -> Vec<Arc<ScriptFuncDef>> {
    let with = |n: usize| state.lib.iter().rev().find_map(|module| module.get_script_fn(name, n)).cloned();
    (0..=MOST_PARAMETERS).filter_map(with).collect()
}

/// A script of that function alone, to look into its body.
fn alone(definition: Arc<ScriptFuncDef>) -> AST {
    let mut module = Module::new();
    module.set_script_fn(definition);
    AST::new_from_module(module)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_a_map_come_in_the_order_of_the_text() {
        let text: Arc<str> = "let a = #{ now: g, \"wide feed\": f(#{ x: 1 }), // one\n \"no pump\": [k, l] }; compare(a)".into();
        let mut names = vec!["no pump", "now", "wide feed"];
        Written::in_texts(&names.clone(), std::slice::from_ref(&text)).sort(&mut names, |name| name);
        assert_eq!(names, ["now", "wide feed", "no pump"]);
        let mut others = vec!["a", "b"];
        Written::in_texts(&others.clone(), &[text]).sort(&mut others, |name| name);
        assert_eq!(others, ["a", "b"]);
    }
}
