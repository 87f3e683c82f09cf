//! The shell's own commands: keeping entries as a script, loading one, undoing and redoing.
//!
//! Everything else that is typed is the script language.

/// What an entry asks of the shell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Command {
    Quit,
    /// Help on a topic, or the list of topics.
    Help(Option<String>),
    /// Help on a topic, or the functions that a search for it finds.
    Search(String),
    /// Saves the entries that worked as a script.
    Keep(String),
    /// Evaluates a script of the folder.
    Load(String),
    Undo,
    Redo,
    /// The variables and what they hold.
    Variables,
    /// An entry of the script language.
    Evaluate,
}

/// Reads an entry.
pub fn command(entry: &str) -> Command {
    let entry = entry.trim().trim_end_matches(';').trim_end();
    match entry {
        "quit" | "exit" => return Command::Quit,
        "help" => return Command::Help(None),
        "undo" | "undo()" => return Command::Undo,
        "redo" | "redo()" => return Command::Redo,
        "variables" | "variables()" => return Command::Variables,
        "keep" | "keep()" => return Command::Keep(String::new()),
        "load" | "load()" => return Command::Load(String::new()),
        _ => {}
    }
    if let Some(text) = entry.strip_prefix('?').map(str::trim) {
        return if text.is_empty() { Command::Help(None) } else { Command::Search(text.trim_matches('"').to_string()) };
    }
    if let Some(topic) = entry.strip_prefix("help ").map(str::trim).filter(|topic| !topic.contains(['(', '=', '.', '\n'])) {
        return Command::Help(Some(topic.trim_matches('"').to_string()));
    }
    if let Some(file) = argument(entry, "keep") {
        return Command::Keep(file);
    }
    if let Some(file) = argument(entry, "load") {
        return Command::Load(file);
    }
    Command::Evaluate
}

/// The file in `command("file")` or `command file`.
fn argument(entry: &str, word: &str) -> Option<String> {
    let rest = entry.strip_prefix(word)?;
    let inside = rest.trim().strip_prefix('(').and_then(|rest| rest.strip_suffix(')')).map(str::trim);
    if let Some(inside) = inside {
        let quoted = inside.strip_prefix('"')?.strip_suffix('"')?;
        return (!quoted.contains(['"', '\n'])).then(|| quoted.to_string());
    }
    let plain = rest.strip_prefix(' ')?.trim().trim_matches('"');
    let is_file = !plain.is_empty() && plain.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | '/'));
    is_file.then(|| plain.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commands_of_the_shell_are_read_and_all_else_is_left() {
        assert_eq!(command("keep(\"study.rhai\")"), Command::Keep("study.rhai".into()));
        assert_eq!(command(" load study.rhai ;"), Command::Load("study.rhai".into()));
        assert_eq!(command("undo"), Command::Undo);
        assert_eq!(command("variables"), Command::Variables);
        assert_eq!(command("help hose"), Command::Help(Some("hose".into())));
        assert_eq!(command("?"), Command::Help(None));
        assert_eq!(command("?hose"), Command::Search("hose".into()));
        assert_eq!(command("? friction loss"), Command::Search("friction loss".into()));
        for entry in ["keep = 3", "let keep = 1", "load + 1", "keep(file)", "undo + 1", "help(\"hose\")", "keep(\"a\", \"b\")"] {
            assert_eq!(command(entry), Command::Evaluate, "{entry}");
        }
    }
}
