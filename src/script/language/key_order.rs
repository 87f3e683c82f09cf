//! The order in which a closure writes the names of its map, since a map itself keeps them by the alphabet.
//!
//! It reads the script as compiled; it evaluates nothing.

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
