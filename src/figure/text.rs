//! Texts: made safe to print, measured, and broken into lines.

use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};
use std::sync::Once;

/// The font of the pictures, and the first choice of the SVG texts.
pub(super) const FONT: &str = "Noto Sans";

/// Em size to the size that plotters asks for, which is ascent plus descent: 1.069 + 0.293 em in Noto Sans.
pub(super) const FONT_HEIGHT: f64 = 1.362;

/// Other fonts than ours may be a little wider.
const SLACK: f64 = 1.05;

/// Longer texts are cut off when they are tidied.
const MOST_CHARACTERS: usize = 300;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// The file of a weight of the font.
pub(super) fn data_of(weight: Weight) -> &'static [u8] {
    if weight == Weight::Bold { notosans::BOLD_TTF } else { notosans::REGULAR_TTF }
}

/// The font at a size in pixels an em.
pub(super) fn font(size: f64, weight: Weight) -> FontDesc<'static> {
    static REGISTERED: Once = Once::new();
    REGISTERED.call_once(|| {
        // A font that cannot be read leaves the texts unmeasured; `width` then falls back to an estimate.
        let _ = register_font(FONT, FontStyle::Normal, data_of(Weight::Regular));
        let _ = register_font(FONT, FontStyle::Bold, data_of(Weight::Bold));
    });
    let style = if weight == Weight::Bold { FontStyle::Bold } else { FontStyle::Normal };
    FontDesc::new(FontFamily::Name(FONT), size * FONT_HEIGHT, style)
}

/// Width in pixels to be kept free for a text; a little more than it takes in our font.
pub(super) fn width(text: &str, size: f64, weight: Weight) -> f64 {
    SLACK * width_in_our_font(text, size, weight)
}

/// Width of a text in pixels when it is drawn in our font.
pub(super) fn width_in_our_font(text: &str, size: f64, weight: Weight) -> f64 {
    // Measured large, since the answer comes in whole pixels.
    let measured = font(size * 16.0, weight).box_size(text).map(|(width, _)| f64::from(width) / 16.0);
    measured.unwrap_or(0.6 * size * text.chars().count() as f64)
}

/// The widest of several texts.
pub(super) fn widest<T: AsRef<str>>(texts: &[T], size: f64, weight: Weight) -> f64 {
    texts.iter().map(|text| width(text.as_ref(), size, weight)).fold(0.0, f64::max)
}

/// One line without control characters, runs of spaces or the marks that reverse the direction of writing.
pub(super) fn tidy(text: &str) -> String {
    let visible = |c: &char| {
        !c.is_control()
            && !matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}' | '\u{fffe}' | '\u{ffff}')
    };
    let spaced = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c });
    let line: String = spaced.filter(visible).take(20 * MOST_CHARACTERS).collect();
    let joined = line.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ");
    if joined.chars().count() <= MOST_CHARACTERS {
        return joined;
    }
    joined.chars().take(MOST_CHARACTERS - 1).chain(['…']).collect()
}

/// A path such as `feed.length` or `head_1` as words; dots in numbers stay.
pub(super) fn words(text: &str) -> String {
    let line: Vec<char> = tidy(text).chars().collect();
    let between_letters = |index: usize| {
        let letter = |at: Option<&char>| at.is_some_and(|c| c.is_alphabetic() || *c == '_');
        index > 0 && (letter(line.get(index - 1)) || line[index - 1].is_numeric()) && letter(line.get(index + 1))
    };
    let spaced = line.iter().enumerate().map(|(index, c)| match c {
        '.' if between_letters(index) => ' ',
        '_' => ' ',
        other => *other,
    });
    spaced.collect::<String>().trim().to_string()
}

/// A tidy text in at most `most_lines` lines of at most `most_width` pixels; what does not fit ends in `…`.
pub(super) fn wrap(text: &str, size: f64, weight: Weight, most_width: f64, most_lines: usize) -> Vec<String> {
    let fits = |line: &str| width(line, size, weight) <= most_width;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            if !line.is_empty() && !fits(&format!("{line}{c}")) {
                lines.push(std::mem::take(&mut line));
            }
            line.push(c);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    if lines.len() > most_lines.max(1) {
        lines.truncate(most_lines.max(1));
        if let Some(last) = lines.last_mut() {
            while !last.is_empty() && !fits(&format!("{last}…")) {
                last.pop();
            }
            *last = format!("{}…", last.trim_end());
        }
    }
    lines
}

/// Whether all words of a text fit into a width, so that wrapping breaks none.
pub(super) fn words_fit(text: &str, size: f64, most_width: f64) -> bool {
    text.split(' ').all(|word| width(word, size, Weight::Regular) <= most_width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_font_is_there() {
        assert!(font(10.0, Weight::Regular).box_size("feed").is_ok());
        assert!(width("mmmm", 14.0, Weight::Bold) > width("mmmm", 14.0, Weight::Regular));
        assert!(width("iiii", 14.0, Weight::Regular) < 0.5 * width("mmmm", 14.0, Weight::Regular));
    }

    #[test]
    fn paths_become_words_and_numbers_stay() {
        assert_eq!(words("feed.length"), "feed length");
        assert_eq!(words("head_1.pressure"), "head 1 pressure");
        assert_eq!(words("pressure at 2.5 bar"), "pressure at 2.5 bar");
        assert_eq!(words(" two\nlines\t\u{7}here. "), "two lines here.");
    }

    #[test]
    fn long_texts_wrap_and_end_in_an_ellipsis() {
        let lines = wrap("the long hose along the fence to the berries", 14.0, Weight::Regular, 120.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].ends_with('…'));
        assert!(lines.iter().all(|line| width(line, 14.0, Weight::Regular) <= 120.0));
        let broken = wrap(&"x".repeat(60), 14.0, Weight::Regular, 100.0, 9);
        assert!(broken.len() > 3);
        assert_eq!(broken.concat().len(), 60);
    }
}
