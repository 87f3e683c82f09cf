//! How the columns of a table are laid out on a page: side by side where they fit, else in panels under each other, each with the
//! columns that distinguish the rows. No column is dropped.
//!
//! Knows texts and their widths, and nothing of what they say.

use crate::lines::{broken_between_words, width_of};

/// Between two columns.
pub(super) const GAP: &str = "   ";
/// Columns of a table that stand on a page; of more, the rest is named.
const MOST_COLUMNS: usize = 400;
/// Names that are listed of the columns beyond.
const MOST_NAMES: usize = 100;

/// A column ready to be laid out: heading, unit and the texts of the shown rows.
pub(super) struct Block {
    pub name: String,
    pub unit: Option<String>,
    pub cells: Vec<String>,
    pub numeric: bool,
    pub width: usize,
    /// What is the same in every row, where there are several rows: `50 psi`.
    pub same: Option<String>,
    /// Whether it distinguishes the rows, as the axes of a sweep do.
    pub is_key: bool,
}

/// Which columns stand where.
pub(super) struct Layout {
    /// Columns that say the same in every row, and are named above.
    pub folded: Vec<usize>,
    /// The columns of each panel.
    pub panels: Vec<Vec<usize>>,
    /// Columns of which only the names are shown.
    pub beyond: Vec<usize>,
}

impl Layout {
    /// All columns side by side where they fit. Else those that say the same in every row are named above; where that is not enough, the
    /// others stand in panels, each with the keys in front.
    pub fn of(blocks: &[Block], width: Option<usize>) -> Layout {
        let all: Vec<usize> = (0..blocks.len()).collect();
        let wide = |places: &[usize]| {
            places.iter().map(|&place| blocks[place].width).sum::<usize>() + GAP.len() * places.len().saturating_sub(1)
        };
        let Some(most) = width.filter(|most| wide(&all) > *most) else {
            return Layout { folded: Vec::new(), panels: vec![all], beyond: Vec::new() };
        };
        let (folded, rest): (Vec<usize>, Vec<usize>) =
            all.into_iter().partition(|&place| blocks[place].same.is_some() && !blocks[place].is_key);
        let (folded, mut rest) = if rest.is_empty() { (rest, folded) } else { (folded, rest) };
        let beyond = rest.split_off(rest.len().min(MOST_COLUMNS));
        if wide(&rest) <= most {
            return Layout { folded, panels: vec![rest], beyond };
        }
        let (mut keys, others): (Vec<usize>, Vec<usize>) = rest.into_iter().partition(|&place| blocks[place].is_key);
        // Keys that leave no room for another column are a panel of their own, of which only the first comes again.
        let widest = others.iter().map(|&place| blocks[place].width).max().unwrap_or(0);
        let mut panels = Vec::new();
        if wide(&keys) + GAP.len() + widest > most && keys.len() > 1 {
            panels.extend(filled(&[], &keys, most, &wide));
            keys.truncate(1);
        }
        panels.extend(filled(&keys, &others, most, &wide));
        Layout { folded, panels, beyond }
    }
}

/// Panels that begin with the keys and take as many of the others as fit, at least one.
fn filled(keys: &[usize], others: &[usize], most: usize, wide: &dyn Fn(&[usize]) -> usize) -> Vec<Vec<usize>> {
    let mut panels: Vec<Vec<usize>> = Vec::new();
    for &place in others {
        match panels.last_mut() {
            Some(panel) if wide(&[panel.as_slice(), &[place]].concat()) <= most => panel.push(place),
            _ => panels.push([keys, &[place]].concat()),
        }
    }
    if panels.is_empty() { vec![keys.to_vec()] } else { panels }
}

/// What the folded columns say: `feed.bore 5/8 in, supply 58 psi throughout`; nothing where none is folded.
pub(super) fn throughout(blocks: &[Block], folded: &[usize], width: Option<usize>) -> String {
    let told = |place: &usize| format!("{} {}", blocks[*place].name, blocks[*place].same.as_deref().unwrap_or_default());
    match folded {
        [] => String::new(),
        _ => sentence(&format!("{} throughout", folded.iter().map(told).collect::<Vec<_>>().join(", ")), width),
    }
}

/// The names of the columns beyond those that stand on a page; nothing where there are none.
pub(super) fn beyond(blocks: &[Block], places: &[usize], width: Option<usize>) -> String {
    if places.is_empty() {
        return String::new();
    }
    let names: Vec<&str> = places.iter().take(MOST_NAMES).map(|place| blocks[*place].name.as_str()).collect();
    let more = places.len() - names.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    sentence(&format!("further columns, which select shows: {}{more}", names.join(", ")), width)
}

/// One line of a panel.
pub(super) fn line<'a>(blocks: &[&'a Block], of: impl Fn(&'a Block) -> &'a str) -> String {
    let cell = |block: &&'a Block| {
        let block: &'a Block = block;
        let text = of(block);
        let space = " ".repeat(block.width.saturating_sub(width_of(text)));
        if block.numeric { format!("{space}{text}") } else { format!("{text}{space}") }
    };
    let cells: Vec<String> = blocks.iter().map(cell).collect();
    format!("{}\n", cells.join(GAP).trim_end())
}

/// A sentence on as many lines as the width asks.
pub(super) fn sentence(text: &str, width: Option<usize>) -> String {
    broken_between_words(text, width.unwrap_or(usize::MAX), "  ").join("\n") + "\n"
}
