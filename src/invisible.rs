//! Signs of a text that cannot be seen, or that turn the direction of writing: two names that look alike may differ by them.
//!
//! Knows nothing of what the text stands for.

/// The first such sign: a control sign, one without width, or one that turns the direction.
///
/// Source: The Unicode Standard, general categories Cc and Cf, and the default-ignorable code points of DerivedCoreProperties
/// (from memory).
pub fn first_in(text: &str) -> Option<char> {
    text.chars().find(|sign| is_invisible(*sign))
}

fn is_invisible(sign: char) -> bool {
    sign.is_control()
        || matches!(sign,
            '\u{ad}' | '\u{34f}' | '\u{600}'..='\u{605}' | '\u{61c}' | '\u{6dd}' | '\u{70f}' | '\u{115f}'..='\u{1160}'
            | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}'
            | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

/// A text with its invisible signs written out, as in `a\u{200b}b`.
pub fn made_visible(text: &str) -> String {
    text.chars().map(|sign| if is_invisible(sign) { sign.escape_unicode().to_string() } else { sign.to_string() }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_seen_is_found_and_written_out() {
        for sign in ['\u{200b}', '\u{202e}', '\u{feff}', '\u{7}', '\n', '\u{ad}', '\u{2066}'] {
            assert_eq!(first_in(&format!("a{sign}b")), Some(sign));
        }
        assert_eq!(made_visible("a\u{200b}b"), "a\\u{200b}b");
    }

    #[test]
    fn letters_of_all_scripts_spaces_and_signs_are_seen() {
        for name in ["north bed", "Gemüse 2", "水", "сад", "α-β", "n°3 (left)", "bed\u{a0}3", "🌱"] {
            assert_eq!(first_in(name), None, "{name}");
        }
    }
}
