//! Zones in the words of cards, findings and remedies.

/// Zones that run together.
pub(super) fn zones_in_words(zones: &[String]) -> String {
    if zones.is_empty() {
        return "all open".into();
    }
    zones.iter().map(|zone| format!("'{zone}'")).collect::<Vec<_>>().join(" and ")
}
