//! A message as the map that `catch` gets, and back where a script throws that again.

use super::diagnostic::{Diagnostic, Trouble};
use rhai::{Dynamic, Map};

/// The map of a message; `place` is empty where it is not known.
pub fn map_of(diagnostic: &Diagnostic, place: &str) -> Map {
    let text = |text: &str| Dynamic::from(text.to_string());
    [
        ("kind", text(diagnostic.kind.word())),
        ("message", text(&diagnostic.message)),
        ("hint", text(diagnostic.hint.as_deref().unwrap_or_default())),
        ("where", text(place)),
    ]
    .into_iter()
    .map(|(name, value)| (name.into(), value))
    .collect()
}

/// The message of a caught error that a script throws again; nothing for other maps.
pub fn thrown_again(map: &Map) -> Option<Diagnostic> {
    let text = |name: &str| map.get(name)?.as_immutable_string_ref().ok().map(|text| text.to_string());
    let kind = Trouble::of_word(&text("kind")?)?;
    let hint = text("hint").filter(|hint| !hint.is_empty());
    Some(Diagnostic { hint, ..Diagnostic::new(kind, text("message")?) })
}
