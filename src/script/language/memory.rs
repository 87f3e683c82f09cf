//! The state of a session, to go back to: variables, functions, imports, constants, units and thresholds of findings.
//!
//! Files that were written stay as they are.

use super::session::Session;
use crate::garden::Thresholds;
use crate::quantity::UnitSystem;
use rhai::{AST, Dynamic, ImmutableString, Module, Scope, Shared};
use std::collections::BTreeMap;

/// How a session stood.
pub struct Memory {
    scope: Scope<'static>,
    /// What variables held that closures share; these are changed in place.
    shared: Vec<(String, Dynamic)>,
    functions: AST,
    imports: Vec<(ImmutableString, Shared<Module>)>,
    constants: Option<BTreeMap<ImmutableString, Dynamic>>,
    units: UnitSystem,
    thresholds: Thresholds,
}

impl Session {
    /// How the session stands now.
    pub fn remember(&self) -> Memory {
        let scope = self.scope().clone();
        let shared = scope
            .iter_raw()
            .filter(|(_, _, value)| value.is_shared())
            .map(|(name, _, value)| (name.to_string(), value.flatten_clone()));
        let constants = self.global().constants.as_ref().and_then(|constants| constants.read().ok().map(|map| map.clone()));
        Memory {
            shared: shared.collect(),
            functions: self.functions().clone(),
            imports: self.global().scan_imports_raw().map(|(name, module)| (name.clone(), module.clone())).collect(),
            constants,
            units: self.context().units(),
            thresholds: self.context().thresholds(),
            scope,
        }
    }

    /// Goes back to how the session stood, and keeps the memory: what is given is the same again.
    pub fn rewind(&mut self, memory: Memory) -> Memory {
        self.go_back(memory);
        self.remember()
    }

    /// Goes back to how the session stood.
    pub fn go_back(&mut self, memory: Memory) {
        let mut global = self.engine_mut().new_global_runtime_state();
        for (name, module) in memory.imports {
            global.push_import(name, module);
        }
        global.constants = memory.constants.map(|constants| Shared::new(std::sync::RwLock::new(constants)));
        global.lib.push(memory.functions.shared_lib().clone());
        self.set_global(global);
        self.set_functions(memory.functions);
        *self.scope_mut() = memory.scope;
        for (name, value) in memory.shared {
            let shared = self.scope().get(&name).cloned();
            if let Some(mut shared) = shared
                && let Some(mut lock) = shared.write_lock::<Dynamic>()
            {
                *lock = value;
            }
        }
        self.context().set_units(memory.units);
        self.context().set_thresholds(memory.thresholds);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;

    #[test]
    fn going_back_brings_variables_functions_constants_and_units_back() {
        let mut session = Session::new(Folder::new("."));
        session.evaluate("let a = 1; const C = 5; fn f() { 1 } let b = 10; let add = |x| x + b;");
        let memory = session.remember();
        session.evaluate("a = 2; let n = 3; fn f() { 2 } b = 20; units(\"metric\"); const C = 6;");
        session.go_back(memory);
        assert_eq!(session.evaluate("a; f(); b; add.call(1); global::C; 100.ft").shown(), ["1", "1", "10", "11", "5", "100 ft"]);
        assert!(session.evaluate("n").error().is_some());
    }
}
