//! The text form of records and fields: a separator between fields, quotation marks around a field that needs them.
//!
//! Knows nothing of columns or units. Source: RFC 4180; also read are other separators and bare line feeds, as files of most tools
//! have them.

use super::TableError;
use crate::limits::Steps;
use std::borrow::Cow;

/// One field as it stands in the file.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Field<'t> {
    pub text: Cow<'t, str>,
    /// True when it stood between quotation marks, so that an empty one is a text and not missing.
    pub quoted: bool,
}

impl Field<'_> {
    /// True when nothing stands there.
    pub(super) fn is_missing(&self) -> bool {
        !self.quoted && self.text.trim().is_empty()
    }
}

/// True for the fields of an empty line.
pub(super) fn is_blank(fields: &[Field]) -> bool {
    matches!(fields, [field] if field.is_missing())
}

/// Goes through the records of a text; the end of the last line may be left out.
#[derive(Clone, Debug)]
pub(super) struct Records<'t> {
    text: &'t str,
    separator: u8,
    at: usize,
    line: usize,
}

impl<'t> Records<'t> {
    /// The separator is an ASCII sign.
    pub(super) fn of(text: &'t str, separator: char) -> Records<'t> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        Records { text, separator: u8::try_from(separator).unwrap_or(b','), at: 0, line: 1 }
    }

    /// The next record, blank lines included, in place of `fields`; the line on which it begins, counted from 1, or nothing at the end.
    ///
    /// Errors: a quotation mark that is never closed; the evaluation is to end.
    pub(super) fn next(&mut self, fields: &mut Vec<Field<'t>>) -> Result<Option<usize>, TableError> {
        fields.clear();
        if self.at >= self.text.len() {
            return Ok(None);
        }
        let line = self.line;
        loop {
            let (field, ended) = self.field()?;
            fields.push(field);
            if ended {
                self.line += 1;
                return Ok(Some(line));
            }
        }
    }

    /// What is still to be read.
    pub(super) fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    /// That many stretches of the rest, of about the same length. No text in quotation marks may hold an end of a line.
    pub(super) fn divided(&self, parts: usize) -> Vec<Records<'t>> {
        let bytes = self.text.as_bytes();
        let (mut stretches, mut at, mut line) = (Vec::new(), self.at.min(bytes.len()), self.line);
        let length = (bytes.len() - at) / parts.max(1);
        while at < bytes.len() {
            let last = stretches.len() + 1 >= parts;
            let near = if last { bytes.len() } else { (at + length).min(bytes.len()) };
            let end = bytes[near..].iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |more| near + more + 1);
            stretches.push(Records { text: &self.text[..end], separator: self.separator, at, line });
            line += ends_of_lines(&bytes[at..end]);
            at = end;
        }
        if stretches.is_empty() { vec![self.clone()] } else { stretches }
    }

    /// The next field, and whether its record ends with it.
    fn field(&mut self) -> Result<(Field<'t>, bool), TableError> {
        let bytes = self.text.as_bytes();
        let is_end = |byte: u8| byte == self.separator || byte == b'\n' || byte == b'\r';
        let start = self.at;
        let end =
            bytes[start..].iter().position(|byte| is_end(*byte) || *byte == b'"').map_or(bytes.len(), |length| start + length);
        if bytes.get(end) == Some(&b'"') && self.text[start..end].trim().is_empty() {
            self.at = end + 1;
            return self.quoted_field();
        }
        let end = bytes[end..].iter().position(|byte| is_end(*byte)).map_or(bytes.len(), |length| end + length);
        let ended = self.pass_end(end);
        Ok((Field { text: Cow::Borrowed(&self.text[start..end]), quoted: false }, ended))
    }

    /// Goes on after the character that ends a field; whether it ends the record.
    fn pass_end(&mut self, end: usize) -> bool {
        let bytes = self.text.as_bytes();
        let is_pair = bytes.get(end) == Some(&b'\r') && bytes.get(end + 1) == Some(&b'\n');
        self.at = end + if is_pair { 2 } else { 1 };
        bytes.get(end) != Some(&self.separator)
    }

    /// A field after its opening quotation mark.
    fn quoted_field(&mut self) -> Result<(Field<'t>, bool), TableError> {
        let bytes = self.text.as_bytes();
        let (opened, mut start) = (self.line, self.at);
        let mut text = Cow::Borrowed("");
        let mut steps = Steps::default();
        let add = |text: &mut Cow<'t, str>, more: &'t str| {
            if text.is_empty() { *text = Cow::Borrowed(more) } else { text.to_mut().push_str(more) }
        };
        let mut at = start;
        loop {
            steps.step()?;
            match bytes.get(at) {
                None => return Err(TableError::OpenQuote { line: opened }),
                Some(b'"') if bytes.get(at + 1) == Some(&b'"') => {
                    at += 1;
                    add(&mut text, &self.text[start..at]);
                    start = at + 1;
                }
                Some(b'"') => break,
                Some(b'\n') => self.line += 1,
                Some(b'\r') if bytes.get(at + 1) != Some(&b'\n') => self.line += 1,
                _ => {}
            }
            at += 1;
        }
        add(&mut text, &self.text[start..at]);
        let rest = at + 1;
        let is_end = |byte: &u8| *byte == self.separator || *byte == b'\n' || *byte == b'\r';
        let end = bytes[rest..].iter().position(is_end).map_or(bytes.len(), |length| rest + length);
        // Blanks between a closing mark and the separator belong to nobody.
        if !self.text[rest..end].trim().is_empty() {
            text.to_mut().extend(self.text[rest..end].chars().filter(|letter| !letter.is_whitespace()));
        }
        let ended = self.pass_end(end);
        Ok((Field { text, quoted: true }, ended))
    }
}

/// How many lines end: by a line feed, a carriage return, or both.
fn ends_of_lines(bytes: &[u8]) -> usize {
    let feeds = bytes.iter().filter(|byte| **byte == b'\n').count();
    if !bytes.contains(&b'\r') {
        return feeds;
    }
    feeds + bytes.windows(2).filter(|pair| pair[0] == b'\r' && pair[1] != b'\n').count()
}

/// A field that reads back as this text, quoted where it must be.
pub(super) fn field_text(text: &str) -> String {
    let needs_marks = text.trim().len() != text.len()
        || text.is_empty()
        || text.starts_with('#')
        || text.contains([',', ';', '\t', '|', '"', '\n', '\r', '\u{feff}']);
    if needs_marks { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn records(text: &str, separator: char) -> Result<Vec<(usize, Vec<String>)>, TableError> {
        let (mut records, mut fields, mut found) = (Records::of(text, separator), Vec::new(), Vec::new());
        while let Some(line) = records.next(&mut fields)? {
            found.push((line, fields.iter().map(|field| field.text.to_string()).collect()));
        }
        Ok(found)
    }

    fn read(text: &str) -> Vec<Vec<String>> {
        records(text, ',').expect("records").into_iter().map(|(_, fields)| fields).collect()
    }

    #[test]
    fn fields_may_hold_commas_marks_and_line_breaks() {
        assert_eq!(read("a,b\r\n1,\"x, \"\"y\"\"\nz\"\n"), [["a", "b"], ["1", "x, \"y\"\nz"]]);
        assert_eq!(read("\u{feff}a, \"b\" ,c"), [["a", "b", "c"]]);
        assert_eq!(read("5\" pipe,x\rb,"), [["5\" pipe", "x"], ["b", ""]]);
        assert_eq!(records("a;\"b;\"\" \"x\n", ';').expect("records"), [(1, vec!["a".to_string(), "b;\" x".into()])]);
        assert!(read("").is_empty());
    }

    #[test]
    fn records_know_their_line() {
        let lines: Vec<usize> = records("a\n\"x\ny\"\r\n\nb", ',').expect("records").iter().map(|(line, _)| *line).collect();
        assert_eq!(lines, [1, 2, 4, 5]);
        assert!(matches!(records("a\nb,\"c", ','), Err(TableError::OpenQuote { line: 2 })));
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
            let _ = records(&text, ',').and_then(|_| records(&text, '\t'));
        }
    }
}
