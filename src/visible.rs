//! Invisible characters of a text: one list of them, names that hold any, and texts from elsewhere made fit to be shown.
//!
//! Two names that look alike may differ by such characters. And a table, a file name or a message can hold those that move the cursor,
//! color or overwrite what stands there, rename the window or turn the direction of writing. Whoever writes to a terminal or a
//! report for people does it by way of this. Knows nothing of what the texts stand for.

use std::borrow::Cow;
use std::ops::RangeInclusive;

/// What an invisible character does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Effect {
    /// A terminal or a page obeys it: control characters, turns of the writing direction, separators of lines, tags.
    Obeyed,
    /// It has no shape, but may join or part the letters beside it, as texts of many scripts need.
    Hidden,
}

/// All invisible characters, in the order of their numbers.
///
/// Source: The Unicode Standard, general categories Cc and Cf, and the default-ignorable code points of DerivedCoreProperties
/// (from memory).
const UNSEEN: &[(RangeInclusive<char>, Effect)] = &[
    ('\0'..='\x1f', Effect::Obeyed),
    ('\x7f'..='\u{9f}', Effect::Obeyed),
    ('\u{ad}'..='\u{ad}', Effect::Hidden),
    ('\u{34f}'..='\u{34f}', Effect::Hidden),
    ('\u{600}'..='\u{605}', Effect::Hidden),
    ('\u{61c}'..='\u{61c}', Effect::Hidden),
    ('\u{6dd}'..='\u{6dd}', Effect::Hidden),
    ('\u{70f}'..='\u{70f}', Effect::Hidden),
    ('\u{115f}'..='\u{1160}', Effect::Hidden),
    ('\u{17b4}'..='\u{17b5}', Effect::Hidden),
    ('\u{180b}'..='\u{180f}', Effect::Hidden),
    ('\u{200b}'..='\u{200f}', Effect::Hidden),
    ('\u{2028}'..='\u{202e}', Effect::Obeyed),
    ('\u{2060}'..='\u{2065}', Effect::Hidden),
    ('\u{2066}'..='\u{206f}', Effect::Obeyed),
    ('\u{3164}'..='\u{3164}', Effect::Hidden),
    ('\u{fe00}'..='\u{fe0f}', Effect::Hidden),
    ('\u{feff}'..='\u{feff}', Effect::Hidden),
    ('\u{ffa0}'..='\u{ffa0}', Effect::Hidden),
    ('\u{fff0}'..='\u{fff8}', Effect::Hidden),
    ('\u{fff9}'..='\u{fffb}', Effect::Obeyed),
    ('\u{1bca0}'..='\u{1bca3}', Effect::Hidden),
    ('\u{1d173}'..='\u{1d17a}', Effect::Hidden),
    ('\u{e0000}'..='\u{e007f}', Effect::Obeyed),
    ('\u{e0080}'..='\u{e0fff}', Effect::Hidden),
];

/// What the character does, where it is invisible.
fn effect(sign: char) -> Option<Effect> {
    // Nearly all characters are such letters.
    if matches!(sign, ' '..='~') {
        return None;
    }
    let place = UNSEEN.partition_point(|(signs, _)| *signs.end() < sign);
    UNSEEN.get(place).filter(|(signs, _)| signs.contains(&sign)).map(|(_, effect)| *effect)
}

/// The first invisible character of a name.
pub fn first_unseen(name: &str) -> Option<char> {
    name.chars().find(|sign| effect(*sign).is_some())
}

/// A name with its invisible characters written out, as in `a\u{200b}b`.
pub fn written_out(name: &str) -> String {
    name.chars().map(|sign| if effect(sign).is_some() { sign.escape_unicode().to_string() } else { sign.to_string() }).collect()
}

/// A text of several lines; line ends and tabs stay.
pub fn visible(text: &str) -> Cow<'_, str> {
    rewritten(text, |sign| if matches!(sign, '\n' | '\t') { None } else { stand_in(sign) })
}

/// A text of one line, such as a cell of a table: line ends and tabs become visible too.
pub fn visible_line(text: &str) -> Cow<'_, str> {
    rewritten(text, stand_in)
}

/// A text in JSON, in which such characters stand inside of strings only: there they are written as escapes, which mean the same.
pub fn visible_json(json: &str) -> Cow<'_, str> {
    let escape = |unit: &u16| format!("\\u{unit:04x}");
    let escaped = |sign: char| sign.encode_utf16(&mut [0; 2]).iter().map(escape).collect();
    rewritten(json, |sign| if sign == '\n' { None } else { stand_in(sign).map(|_| escaped(sign)) })
}

/// What is shown for a sign that must not reach a terminal; none for all others.
///
/// Control characters have pictures of their own (Unicode, block Control Pictures); others are written as their number.
pub fn stand_in(sign: char) -> Option<String> {
    match sign {
        '\0'..='\x1f' => char::from_u32(0x2400 + sign as u32).map(String::from),
        '\x7f' => Some("\u{2421}".into()),
        _ => (effect(sign) == Some(Effect::Obeyed)).then(|| format!("<{:X}>", sign as u32)),
    }
}

fn rewritten(text: &str, stand_in: impl Fn(char) -> Option<String>) -> Cow<'_, str> {
    // Nearly all texts stay as they are, most of them letters that are always shown.
    if text.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
        return Cow::Borrowed(text);
    }
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
    fn the_list_is_in_order_and_holds_all_control_characters() {
        assert!(UNSEEN.is_sorted_by(|(before, _), (next, _)| before.end() < next.start()));
        for sign in ('\0'..=char::MAX).filter(|sign| sign.is_control()) {
            assert_eq!(effect(sign), Some(Effect::Obeyed), "{sign:?}");
        }
    }

    #[test]
    fn what_cannot_be_seen_in_a_name_is_found_and_written_out() {
        for sign in ['\u{200b}', '\u{202e}', '\u{feff}', '\u{7}', '\n', '\u{ad}', '\u{2066}', '\u{e0fff}', '\u{fff0}'] {
            assert_eq!(first_unseen(&format!("a{sign}b")), Some(sign));
        }
        assert_eq!(written_out("a\u{200b}b"), "a\\u{200b}b");
    }

    #[test]
    fn letters_of_all_scripts_spaces_and_signs_are_seen() {
        for name in ["north bed", "Gemüse 2", "水", "сад", "α-β", "n°3 (left)", "bed\u{a0}3", "🌱", "\u{200a}\u{2010}\u{2070}"]
        {
            assert_eq!(first_unseen(name), None, "{name}");
        }
    }

    #[cfg(feature = "app")]
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
