//! The text form of records and fields: commas between fields, quotation marks around a field that needs them.
//!
//! Knows nothing of columns or units. Source: RFC 4180; also read are bare line feeds, as files of most tools have them.

use super::TableError;
use crate::limits::{self, Steps};

/// What a field weighs beside its text.
const BYTES_OF_A_FIELD: usize = 64;

/// One field as it stands in the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Field {
    pub text: String,
    /// True when it stood between quotation marks, so that an empty one is a text and not missing.
    pub quoted: bool,
}

impl Field {
    /// True when nothing stands there.
    pub(super) fn is_missing(&self) -> bool {
        !self.quoted && self.text.trim().is_empty()
    }
}

/// A record with the number of the line on which it begins, counted from 1.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Record {
    pub line: usize,
    pub fields: Vec<Field>,
}

impl Record {
    /// True for an empty line.
    pub(super) fn is_blank(&self) -> bool {
        self.fields.len() == 1 && self.fields[0].is_missing()
    }
}

/// Splits a text into records, blank lines included; the end of the last line may be left out.
///
/// Errors: a quotation mark that is never closed; the evaluation is to end.
pub(super) fn read_records(text: &str) -> Result<Vec<Record>, TableError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut letters = text.chars().peekable();
    let (mut records, mut line, mut steps) = (Vec::new(), 1, Steps::default());
    while letters.peek().is_some() {
        let mut record = Record { line, fields: vec![Field::default()] };
        let mut opened: Option<usize> = None;
        while let Some(letter) = letters.next() {
            steps.step()?;
            let end_of_line = letter == '\n' || (letter == '\r' && letters.peek() != Some(&'\n'));
            line += usize::from(end_of_line);
            let count = record.fields.len();
            let is_full = count == record.fields.capacity();
            let field = &mut record.fields[count - 1];
            match letter {
                '"' if opened.is_some() && letters.next_if_eq(&'"').is_some() => field.text.push('"'),
                '"' if opened.is_some() => opened = None,
                _ if opened.is_some() => field.text.push(letter),
                '"' if !field.quoted && field.text.trim().is_empty() => {
                    *field = Field { text: String::new(), quoted: true };
                    opened = Some(line);
                }
                ',' if is_full => {
                    limits::room_for(count.saturating_mul(2 * size_of::<Field>()))?;
                    record.fields.push(Field::default());
                }
                ',' => record.fields.push(Field::default()),
                _ if end_of_line => break,
                '\r' => {}
                // Blanks between a closing mark and the comma belong to nobody.
                letter if field.quoted && letter.is_whitespace() => {}
                letter => field.text.push(letter),
            }
        }
        if let Some(line) = opened {
            return Err(TableError::OpenQuote { line });
        }
        steps.weigh(record.fields.len().saturating_mul(BYTES_OF_A_FIELD))?;
        records.push(record);
    }
    Ok(records)
}

/// A field that reads back as this text, quoted where it must be.
pub(super) fn field_text(text: &str) -> String {
    let needs_marks =
        text.trim().len() != text.len() || text.is_empty() || text.contains([',', ';', '\t', '"', '\n', '\r', '\u{feff}']);
    if needs_marks { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Vec<Vec<String>> {
        let records = read_records(text).expect("records");
        records.into_iter().map(|record| record.fields.into_iter().map(|field| field.text).collect()).collect()
    }

    #[test]
    fn fields_may_hold_commas_marks_and_line_breaks() {
        assert_eq!(read("a,b\r\n1,\"x, \"\"y\"\"\nz\"\n"), [["a", "b"], ["1", "x, \"y\"\nz"]]);
        assert_eq!(read("\u{feff}a, \"b\" ,c"), [["a", "b", "c"]]);
        assert_eq!(read("5\" pipe,x\rb,"), [["5\" pipe", "x"], ["b", ""]]);
        assert!(read("").is_empty());
    }

    #[test]
    fn records_know_their_line() {
        let lines: Vec<usize> = read_records("a\n\"x\ny\"\r\n\nb").expect("records").iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 2, 4, 5]);
        assert!(matches!(read_records("a\nb,\"c"), Err(TableError::OpenQuote { line: 2 })));
    }

    proptest! {
        #[test]
        fn what_is_written_reads_back(fields in proptest::collection::vec("[a-c,\"\r\n \u{e9}]{0,6}", 1..5)) {
            let written: Vec<String> = fields.iter().map(|field| field_text(field)).collect();
            prop_assert_eq!(read(&written.join(",")), vec![fields.clone()]);
            // The csv crate reads the same.
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(std::io::Cursor::new(written.join(",")));
            let record = reader.records().next().expect("a record").expect("a good record");
            prop_assert_eq!(record.iter().map(str::to_string).collect::<Vec<_>>(), fields);
        }

        #[test]
        fn no_text_makes_the_reader_panic(text in "[a,\"\r\n\\PC]*") {
            let _ = read_records(&text);
        }
    }
}
