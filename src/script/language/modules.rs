//! The files of modules: `import "beds" as beds` reads `beds.rhai`.

use std::path::Path;

/// Ending of script files.
pub const ENDING: &str = "rhai";

/// The file of a module.
pub fn file_name(module: &str) -> String {
    if Path::new(module).extension().is_some_and(|ending| ending == ENDING) {
        module.to_string()
    } else {
        format!("{module}.{ENDING}")
    }
}
