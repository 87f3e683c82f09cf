//! What a text file of a table does not say of itself: its encoding, what separates its fields, where its heading is, how it writes
//! decimals, dates and what is missing. What is not given is found out from the file.

use super::TableError;
use super::csv_text::{Field, Records, is_blank};
use super::guess::{grouped, plain_number};
use crate::files::FileError;
use crate::moment::DateOrder;
use std::path::Path;

/// How a file of a table is to be read; what is not given is found out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadOptions {
    /// The sign between two fields.
    pub separator: Option<char>,
    /// The decimal sign: a point or a comma.
    pub decimal: Option<char>,
    /// What stands for a missing value, besides nothing at all.
    pub missing: Option<Vec<String>>,
    /// Lines before the heading.
    pub skip: Option<usize>,
    /// How dates are written that do not begin with the year.
    pub dates: Option<DateOrder>,
    /// Units of columns, by their names.
    pub units: Vec<(String, String)>,
    /// How letters are stored.
    pub encoding: Option<Encoding>,
}

/// How the letters of a text are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8.
    Utf8,
    /// Latin-1, with the further characters of Windows 1252.
    Latin1,
    /// UTF-16 with a mark of its order.
    Utf16,
}

/// Records looked at to find out how a file is written.
const SAMPLE: usize = 200;
/// Bytes of a file looked at for that.
const SAMPLE_BYTES: usize = 1 << 20;

/// The separators that are looked for, with their names.
const SEPARATORS: [(char, &str); 4] = [(',', "commas"), (';', "semicolons"), ('\t', "tabs"), ('|', "vertical bars")];

/// The bytes 0x80 to 0x9F of Windows 1252; those that stand for nothing are kept as control characters.
/// Source: WHATWG Encoding Standard, index windows-1252 (from memory).
const WINDOWS_1252: [char; 32] = [
    '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}', '‘', '’', '“', '”',
    '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
];

/// The text of a file, and how its letters are stored.
///
/// Errors: no text in that encoding.
pub(super) fn decoded(bytes: Vec<u8>, path: &Path, asked: Option<Encoding>) -> Result<(String, Encoding), TableError> {
    let no_text = || TableError::File(FileError::NotText { path: path.display().to_string() });
    let encoding = asked.unwrap_or_else(|| match bytes.as_slice() {
        [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => Encoding::Utf16,
        bytes if bytes.contains(&0) || std::str::from_utf8(bytes).is_ok() => Encoding::Utf8,
        _ => Encoding::Latin1,
    });
    let text = match encoding {
        Encoding::Utf8 => String::from_utf8(bytes).map_err(|_| no_text())?,
        Encoding::Latin1 => bytes
            .iter()
            .map(|byte| match byte {
                0x80..=0x9F => WINDOWS_1252[usize::from(byte - 0x80)],
                byte => char::from(*byte),
            })
            .collect(),
        Encoding::Utf16 => {
            let big = bytes.starts_with(&[0xFE, 0xFF]);
            let units = bytes
                .chunks_exact(2)
                .map(|pair| if big { [pair[0], pair[1]] } else { [pair[1], pair[0]] })
                .map(u16::from_be_bytes);
            char::decode_utf16(units).collect::<Result<String, _>>().map_err(|_| no_text())?
        }
    };
    Ok((text, encoding))
}

/// How the lines of a file are built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Shape {
    pub separator: char,
    /// The line before which there is no heading, counted from 1.
    pub head: usize,
    pub decimal: char,
}

impl Shape {
    /// The name of the separator.
    pub(super) fn separator_in_words(self) -> String {
        let known = SEPARATORS.iter().find(|(separator, _)| *separator == self.separator);
        known.map_or_else(|| format!("'{}' between fields", self.separator), |(_, name)| name.to_string())
    }

    pub(super) fn of(text: &str, options: &ReadOptions) -> Shape {
        let mut end = text.len().min(SAMPLE_BYTES);
        while !text.is_char_boundary(end) {
            end -= 1;
        }
        // A quotation mark may be open at the end of the sample.
        let sample = if end < text.len() { &text[..text[..end].rfind('\n').map_or(end, |line| line + 1)] } else { text };
        let candidates = SEPARATORS
            .iter()
            .map(|(separator, _)| *separator)
            .filter(|separator| options.separator.is_none_or(|asked| asked == *separator));
        let layouts = candidates.chain(options.separator).filter_map(|separator| Layout::of(sample, separator, options.skip));
        let best = layouts.reduce(|best, next| if next.share() > best.share() { next } else { best });
        let alone = || (options.separator.unwrap_or(','), options.skip.map_or_else(|| first_line(sample), |skip| skip + 1));
        let (separator, head) = best.map_or_else(alone, |best| (best.separator, best.head));
        let decimal = options.decimal.unwrap_or_else(|| decimal(sample, separator, head));
        Shape { separator, head, decimal }
    }
}

/// The first line that is neither blank nor a comment; in a file of one column it is the heading.
fn first_line(sample: &str) -> usize {
    let fine = |line: &str| !line.trim().is_empty() && !line.trim_start().starts_with('#');
    sample.lines().position(fine).map_or(1, |place| place + 1)
}

/// What a separator would make of a file.
struct Layout {
    separator: char,
    /// The line that looks like a heading.
    head: usize,
    records: usize,
    /// Records with as many fields as the heading, itself among them.
    alike: usize,
}

/// What a line holds.
struct Row {
    line: usize,
    fields: usize,
    /// Fields that are no numbers.
    names: usize,
    /// Whether it begins like a comment.
    commented: bool,
}

impl Layout {
    /// Nothing where no line has two fields with this separator.
    fn of(sample: &str, separator: char, skip: Option<usize>) -> Option<Layout> {
        let (mut records, mut fields) = (Records::of(sample, separator), Vec::new());
        let mut rows: Vec<Row> = Vec::new();
        while rows.len() < SAMPLE {
            let Ok(Some(line)) = records.next(&mut fields) else { break };
            if !is_blank(&fields) && skip.is_none_or(|skip| line > skip) {
                let is_name = |field: &Field| plain_number(&field.text).is_none() && !field.is_missing();
                let names = fields.iter().filter(|field| is_name(field)).count();
                rows.push(Row { line, fields: fields.len(), names, commented: is_comment(&fields, 0) });
            }
        }
        let plain = || rows.iter().filter(|row| !row.commented);
        let usual =
            plain().map(|row| row.fields).max_by_key(|fields| (plain().filter(|row| row.fields == *fields).count(), *fields))?;
        // With the place of the heading given, it is there; else it is the first row of names with as many fields as most have.
        let head = match skip {
            Some(_) => rows.first(),
            None => plain()
                .find(|row| row.fields == usual && row.names == usual)
                .or_else(|| plain().find(|row| row.fields > 1 && row.names > 0)),
        };
        // Some loggers write their heading as a comment.
        let first = plain().next().map_or(usize::MAX, |row| row.line);
        let commented = rows.iter().rfind(|row| row.commented && row.line < first && row.fields == usual && skip.is_none());
        let head = commented.or(head).filter(|row| row.fields > 1)?;
        let after = || plain().filter(|row| row.line > head.line);
        Some(Layout {
            separator,
            head: head.line,
            records: rows.len(),
            alike: 1 + after().filter(|row| row.fields == head.fields).count(),
        })
    }

    fn share(&self) -> f64 {
        self.alike as f64 / self.records.max(1) as f64
    }
}

/// A comma where numbers are written with one and none with a point; a point in doubt, and where commas separate the fields.
fn decimal(sample: &str, separator: char, head: usize) -> char {
    if separator == ',' {
        return '.';
    }
    let (mut records, mut fields) = (Records::of(sample, separator), Vec::new());
    let (mut commas, mut points) = (0usize, 0usize);
    for _ in 0..SAMPLE {
        let Ok(Some(line)) = records.next(&mut fields) else { break };
        for field in fields.iter().filter(|_| line > head) {
            let text = field.text.trim();
            commas += usize::from(text.contains(',') && grouped(text, ',').is_some());
            points += usize::from(text.contains('.') && !text.contains(',') && plain_number(text).is_some());
        }
    }
    if commas > points { ',' } else { '.' }
}

/// True for a line that is a comment: it begins with `#` and has not as many fields as the heading.
pub(super) fn is_comment(fields: &[Field], columns: usize) -> bool {
    fields.len() != columns && fields.first().is_some_and(|field| !field.quoted && field.text.trim_start().starts_with('#'))
}
