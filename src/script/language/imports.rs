//! Modules from the script's own folder, and nowhere else.
//!
//! `import "beds" as beds` reads `beds.rhai` beside the script.

use super::chains::grouped;
use super::context::Context;
use super::error::{Answer, ScriptError, raise};
use super::modules::{ENDING, file_name};
use super::tokens::{crowded, tokenize};
use crate::files::text_of;
use crate::nearest::did_you_mean;
use rhai::{Engine, EvalAltResult, Module, ModuleResolver, Position, Scope, Shared};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// Modules that import each other in a row, each of which takes its part of the stack.
const MOST_IN_EACH_OTHER: usize = 32;

/// Loads modules from the folder of the context.
pub struct OwnFolder {
    context: Arc<Context>,
    /// Modules being loaded, to find those that import themselves.
    loading: Mutex<Vec<PathBuf>>,
}

impl OwnFolder {
    pub fn new(context: Arc<Context>) -> OwnFolder {
        OwnFolder { context, loading: Mutex::new(Vec::new()) }
    }

    fn load(&self, engine: &Engine, name: &str, path: &Path) -> Answer<Shared<Module>> {
        let failed = |error| if path.exists() { raise(error) } else { missing(&self.context, name) };
        let bytes = self.context.folder.read(&file_name(name)).map_err(failed)?;
        self.context.note_input(&file_name(name), &bytes).map_err(raise)?;
        let text = text_of(bytes, path).map_err(raise)?;
        let at_name = |inner| Box::new(EvalAltResult::ErrorInModule(name.to_string(), inner, Position::NONE));
        if crowded(&text, &tokenize(&text)).is_some() {
            return Err(at_name(EvalAltResult::ErrorTooManyVariables(Position::NONE).into()));
        }
        let mut ast = engine.compile(&*grouped(&text)).map_err(|error| at_name(error.into()))?;
        ast.set_source(name);
        Ok(Module::eval_ast_as_new(Scope::new(), &ast, engine).map_err(at_name)?.into())
    }
}

impl ModuleResolver for OwnFolder {
    fn resolve(&self, engine: &Engine, _source: Option<&str>, name: &str, at: Position) -> Answer<Shared<Module>> {
        let path = self.context.folder.file(&file_name(name)).map_err(|error| placed(raise(error), at))?;
        {
            let mut loading = self.loading.lock().unwrap_or_else(PoisonError::into_inner);
            if loading.contains(&path) {
                return Err(placed(ScriptError::new(format!("the module \"{name}\" imports itself")).into(), at));
            }
            if loading.len() >= MOST_IN_EACH_OTHER {
                let error = ScriptError::new(format!("imports are nested more than {MOST_IN_EACH_OTHER} levels deep"));
                return Err(placed(error.with_hint("import them side by side").into(), at));
            }
            loading.push(path.clone());
        }
        let loaded = self.load(engine, name, &path);
        self.loading.lock().unwrap_or_else(PoisonError::into_inner).retain(|other| *other != path);
        loaded.map_err(|error| placed(error, at))
    }
}

fn placed(mut error: Box<EvalAltResult>, at: Position) -> Box<EvalAltResult> {
    if error.position().is_none() {
        error.set_position(at);
    }
    error
}

fn missing(context: &Context, name: &str) -> Box<EvalAltResult> {
    let error = ScriptError::new(format!("there is no script \"{}\" in the folder of this one", file_name(name)));
    let names = modules_in(context.folder.root());
    error.with_hint(did_you_mean(name, names.iter().map(String::as_str)).unwrap_or_default()).into()
}

fn modules_in(folder: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let scripts = paths.filter(|path| path.extension().is_some_and(|ending| ending == ENDING));
    scripts.filter_map(|path| Some(path.file_stem()?.to_string_lossy().into_owned())).collect()
}
