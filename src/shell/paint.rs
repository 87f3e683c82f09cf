//! Colors for what is printed: heads of tables and headings stand out, dangers and warnings have the colors of the terminal's theme.
//!
//! It knows the look of tables and findings as text, and only the sixteen colors that every theme sets. Without color a text stays as it is.

use crate::findings::Level;
use crate::lines::width_of;
use anstyle::{AnsiColor, Effects, Style};
use std::io::stdout;

/// What is said of a head that has too little or too much.
const AMISS: [&str; 3] = ["below range", "above range", "no flow"];

/// A text painted, or left as it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Paint {
    colors: bool,
}

impl Paint {
    /// For the standard output: colors where it is a terminal and nobody forbade them (`NO_COLOR`).
    pub fn of_output() -> Paint {
        Paint { colors: anstream::AutoStream::choice(&stdout()) != anstream::ColorChoice::Never }
    }

    /// Never any color.
    pub const NONE: Paint = Paint { colors: false };

    /// Values as they are shown: heads of tables bold, levels of findings colored.
    pub fn values(self, text: &str) -> String {
        if !self.colors {
            return text.to_string();
        }
        let lines: Vec<&str> = text.lines().collect();
        let heads: Vec<usize> = (1..lines.len()).filter(|at| is_rule(lines[*at])).map(|at| head_above(&lines, at)).collect();
        let in_table = |at: usize| heads.iter().any(|head| *head < at);
        let paint = |(at, line): (usize, &&str)| match () {
            () if heads.contains(&at) => styled(line, Style::new().bold()),
            () if in_table(at) => marked(line),
            () => leveled(line),
        };
        lines.iter().enumerate().map(paint).collect::<Vec<_>>().join("\n")
    }

    /// The prose of a study: headings bold.
    pub fn prose(self, text: &str) -> String {
        let paint = |line: &str| if line.starts_with('#') { styled(line, Style::new().bold()) } else { line.to_string() };
        if self.colors { text.lines().map(paint).collect::<Vec<_>>().join("\n") } else { text.to_string() }
    }

    /// What stands beside something and is read second.
    pub fn aside(self, text: &str) -> String {
        if self.colors { styled(text, Style::new().effects(Effects::DIMMED)) } else { text.to_string() }
    }

    /// A line that begins, after a place, with the level of a finding.
    pub fn finding(self, line: &str) -> String {
        if self.colors { leveled(line) } else { line.to_string() }
    }
}

/// The line under the heads of a table.
fn is_rule(line: &str) -> bool {
    let line = line.trim();
    line.len() >= 3 && line.bytes().all(|byte| byte == b'-')
}

/// The line with the names of the columns: above the rule, and above the units where there are some.
fn head_above(lines: &[&str], rule: usize) -> usize {
    let units = lines[rule - 1].split_whitespace().all(|word| word.starts_with('(') || word.ends_with(')'));
    if units && rule > 1 && width_of(lines[rule - 2]) > 0 { rule - 2 } else { rule - 1 }
}

fn styled(text: &str, style: Style) -> String {
    format!("{style}{text}{style:#}")
}

fn warning() -> Style {
    AnsiColor::Yellow.on_default().bold()
}

/// A line of a table, with what is amiss in color.
fn marked(line: &str) -> String {
    let leveled = leveled(line);
    AMISS.iter().fold(leveled, |line, amiss| line.replace(amiss, &styled(amiss, warning())))
}

/// A line with the level of a finding in color, where it has one.
fn leveled(line: &str) -> String {
    let levels = [(Level::Danger, AnsiColor::Red.on_default().bold()), (Level::Warning, warning())];
    for (level, style) in levels {
        let word = level.word();
        for mark in [format!("{word}:"), format!("{word} ")] {
            let found =
                line.find(&mark).filter(|at| line[..*at].chars().all(|c| c.is_whitespace()) || line[..*at].ends_with(": "));
            if let Some(at) = found {
                return format!("{}{}{}", &line[..at], styled(word, style), &line[at + word.len()..]);
            }
        }
    }
    line.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLORS: Paint = Paint { colors: true };

    fn plain(text: &str) -> String {
        anstream::adapter::strip_str(text).to_string()
    }

    #[test]
    fn heads_of_tables_are_bold_and_nothing_changes_but_color() {
        let table = "head    pressure\n           (psi)\n----------------\nberry       28.0\n";
        let painted = COLORS.values(table);
        assert!(painted.starts_with("\u{1b}[1mhead    pressure\u{1b}[0m\n           (psi)\n"), "{painted:?}");
        assert_eq!(plain(&painted), table.trim_end());
        assert_eq!(Paint::NONE.values(table), table);
    }

    #[test]
    fn dangers_and_warnings_have_colors_of_the_sixteen() {
        let painted = COLORS.values("Danger: hose bursts.\nplot: Warning: low\nno Warning here: 1");
        let lines: Vec<&str> = painted.lines().collect();
        assert!(lines[0].contains("\u{1b}[31mDanger") && lines[1].contains("\u{1b}[33mWarning"), "{painted:?}");
        assert_eq!(lines[2], "no Warning here: 1");
        let row = COLORS.values("head    state\n-------------\nberry   below range");
        assert!(row.contains("below range\u{1b}[0m"), "{row:?}");
        assert_eq!(COLORS.prose("# Title\ntext"), "\u{1b}[1m# Title\u{1b}[0m\ntext");
    }
}
