//! Texts from elsewhere, made fit to be shown: what a terminal would obey instead of showing becomes visible.
//!
//! A table, a file name or a message can hold signs that move the cursor, colour or overwrite what stands there, rename the
//! window or turn the direction of writing. Whoever writes to a terminal or a report for people does it by way of this.

use std::borrow::Cow;

/// A text of several lines; line ends and tabs stay.
pub fn visible(text: &str) -> Cow<'_, str> {
    rewritten(text, |sign| if matches!(sign, '\n' | '\t') { None } else { stand_in(sign) })
}

/// A text of one line, such as a cell of a table: line ends and tabs become visible too.
pub fn visible_line(text: &str) -> Cow<'_, str> {
    rewritten(text, stand_in)
}

/// A text in JSON, in which such signs stand inside of strings only: there they are written as escapes, which mean the same.
pub fn visible_json(json: &str) -> Cow<'_, str> {
    let escape = |unit: &u16| format!("\\u{unit:04x}");
    let escaped = |sign: char| sign.encode_utf16(&mut [0; 2]).iter().map(escape).collect();
    rewritten(json, |sign| if sign == '\n' { None } else { stand_in(sign).map(|_| escaped(sign)) })
}

/// What is shown for a sign that must not reach a terminal; nothing for all others.
///
/// Control characters have pictures of their own (Unicode, block Control Pictures); others are written as their number.
pub fn stand_in(sign: char) -> Option<String> {
    match sign {
        '\0'..='\x1f' => char::from_u32(0x2400 + sign as u32).map(String::from),
        '\x7f' => Some("\u{2421}".into()),
        // Control characters of a second set, turns of the writing direction, separators of lines, and signs without a shape.
        '\u{80}'..='\u{9f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{206f}'
        | '\u{2028}'
        | '\u{2029}'
        | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}' => Some(format!("<{:X}>", sign as u32)),
        _ => None,
    }
}

fn rewritten(text: &str, stand_in: impl Fn(char) -> Option<String>) -> Cow<'_, str> {
    // Nearly all texts stay as they are.
    let Some(first) = text.char_indices().find_map(|(at, sign)| stand_in(sign).map(|_| at)) else { return Cow::Borrowed(text) };
    let mut shown = text[..first].to_string();
    for sign in text[first..].chars() {
        match stand_in(sign) {
            Some(other) => shown.push_str(&other),
            None => shown.push(sign),
        }
    }
    Cow::Owned(shown)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_a_terminal_obeys_becomes_visible() {
        assert_eq!(visible("a\x1b[31mred\x07\r\n\tb"), "a\u{241b}[31mred\u{2407}\u{240d}\n\tb");
        assert_eq!(visible_line("a\nb\tc\x7f"), "a\u{240a}b\u{2409}c\u{2421}");
        assert_eq!(visible("\u{9b}2J \u{202e}abc"), "<9B>2J <202E>abc");
        assert!(matches!(visible("für 5 °C, 水\u{301}\u{200d}"), Cow::Borrowed(_)));
    }

    #[test]
    fn in_json_nothing_changes_its_meaning() {
        let text = "a\u{1b}[2J\u{9b}\u{202e}\u{e0041}\"\\é";
        let json = serde_json::json!({ "text": text }).to_string();
        let shown = visible_json(&json);
        assert!(shown.contains("\\u009b\\u202e\\udb40\\udc41") && !shown.contains(|sign| stand_in(sign).is_some()), "{shown}");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&shown).expect("JSON")["text"], text);
    }

    proptest! {
        #[test]
        fn nothing_that_a_terminal_obeys_is_left_and_a_second_time_changes_nothing(text in any::<String>()) {
            let shown = visible_line(&text);
            prop_assert!(!shown.contains(char::is_control));
            prop_assert_eq!(visible_line(&shown), shown.clone());
        }
    }
}
