//! Reads the compact form in which parquet files write their headers, into plain values, within bounds.
//!
//! Knows nothing of what the values mean. Source: Apache Thrift, compact protocol encoding (structs, lists, zigzag integers
//! of variable length).

/// Structs and lists lie at most so deep in each other; a parquet header needs six.
const DEEPEST: usize = 16;

/// A value of a header.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Value {
    Whole(i64),
    /// A text, a fraction or a flag: nothing that anybody here asks for.
    Other,
    List(Vec<Value>),
    /// Numbers of fields with their values, in the order of the file.
    Struct(Vec<(i64, Value)>),
}

impl Value {
    /// A field of a struct.
    pub(super) fn field(&self, number: i64) -> Option<&Value> {
        let Value::Struct(fields) = self else { return None };
        fields.iter().find(|(own, _)| *own == number).map(|(_, value)| value)
    }

    /// A whole number in a field of a struct.
    pub(super) fn whole(&self, number: i64) -> Option<i64> {
        let Some(Value::Whole(whole)) = self.field(number) else { return None };
        Some(*whole)
    }

    /// The items of a list in a field of a struct; none where there is no list.
    pub(super) fn items(&self, number: i64) -> &[Value] {
        let Some(Value::List(items)) = self.field(number) else { return &[] };
        items
    }
}

/// The struct at the start of the bytes, and how many bytes it takes; nothing where there is none.
pub(super) fn read_struct(bytes: &[u8]) -> Option<(Value, usize)> {
    let mut reader = Reader { bytes, at: 0 };
    let value = reader.read_fields(DEEPEST)?;
    Some((value, reader.at))
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn byte(&mut self) -> Option<u8> {
        let byte = *self.bytes.get(self.at)?;
        self.at += 1;
        Some(byte)
    }

    fn skip(&mut self, n: usize) -> Option<()> {
        self.at = self.at.checked_add(n).filter(|at| *at <= self.bytes.len())?;
        Some(())
    }

    /// A number in groups of seven bits, the lowest first.
    fn natural(&mut self) -> Option<u64> {
        let mut value = 0u64;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Some(value);
            }
        }
        None
    }

    /// A number whose sign stands in the lowest bit.
    fn whole(&mut self) -> Option<i64> {
        let value = self.natural()?;
        Some((value >> 1) as i64 ^ -((value & 1) as i64))
    }

    fn read_fields(&mut self, deeper: usize) -> Option<Value> {
        let deeper = deeper.checked_sub(1)?;
        let mut fields = Vec::new();
        let mut number = 0i64;
        loop {
            let head = self.byte()?;
            if head == 0 {
                return Some(Value::Struct(fields));
            }
            number = match head >> 4 {
                0 => self.whole()?,
                further => number.checked_add(i64::from(further))?,
            };
            fields.push((number, self.read(head & 0x0f, false, deeper)?));
        }
    }

    fn read(&mut self, kind: u8, in_list: bool, deeper: usize) -> Option<Value> {
        Some(match kind {
            // The value of a flag stands in the head of its field, but in a list it takes a byte.
            1 | 2 => {
                self.skip(usize::from(in_list))?;
                Value::Other
            }
            3 => {
                self.skip(1)?;
                Value::Other
            }
            4..=6 => Value::Whole(self.whole()?),
            7 => {
                self.skip(8)?;
                Value::Other
            }
            8 => {
                let length = self.natural()?;
                self.skip(usize::try_from(length).ok()?)?;
                Value::Other
            }
            9 | 10 => self.read_list(deeper.checked_sub(1)?)?,
            12 => self.read_fields(deeper)?,
            _ => return None,
        })
    }

    fn read_list(&mut self, deeper: usize) -> Option<Value> {
        let head = self.byte()?;
        let length = match head >> 4 {
            15 => usize::try_from(self.natural()?).ok()?,
            few => usize::from(few),
        };
        // Each item takes a byte or more, so a length beyond the bytes is a damaged one.
        if length > self.bytes.len() - self.at {
            return None;
        }
        let items = (0..length).map(|_| self.read(head & 0x0f, true, deeper));
        Some(Value::List(items.collect::<Option<_>>()?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_struct_worked_by_hand_is_read() {
        // Field 1: -3 (zigzag 5); field 3: "ab"; field 4: a list of 1 and 300; field 20: a struct with nothing in it.
        let bytes = [0x15, 0x05, 0x28, 2, b'a', b'b', 0x19, 0x25, 0x02, 0xd8, 0x04, 0x0c, 0x28, 0x00, 0x00, 99];
        let (value, length) = read_struct(&bytes).expect("a struct");
        assert_eq!((value.whole(1), length), (Some(-3), 15));
        assert_eq!(value.field(3), Some(&Value::Other));
        assert_eq!(value.items(4), [Value::Whole(1), Value::Whole(300)]);
        assert_eq!(value.field(20), Some(&Value::Struct(vec![])));
    }

    #[test]
    fn what_is_cut_too_deep_or_too_long_is_nothing() {
        assert_eq!(read_struct(&[0x15]), None);
        assert_eq!(read_struct(&[0x1c; 1000]), None);
        assert_eq!(read_struct(&[0x19, 0xf5, 0xff, 0xff, 0xff, 0xff, 0x0f, 0]), None);
        assert_eq!(read_struct(&[]), None);
    }
}
