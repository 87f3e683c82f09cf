//! What the columns of a parquet file of any program mean, and how they are read by a library that knows few kinds of numbers.
//!
//! Small whole numbers are stored as larger ones and read so; categories are read as the texts they stand for, spans of time as numbers of
//! their unit. Source: Apache Parquet format, LogicalTypes.md.

use polars::prelude::{ArrowDataType, ArrowTimeUnit};
use polars_parquet::parquet::metadata::{FileMetadata, SchemaDescriptor};
use polars_parquet::parquet::schema::Repetition;
use polars_parquet::parquet::schema::types::{PhysicalType, PrimitiveConvertedType, PrimitiveLogicalType, PrimitiveType};
use polars_parquet::read::{ParquetType, infer_schema};

/// What a column holds beyond what the library reads.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Meaning {
    /// What is read.
    AsRead,
    /// Spans of time, in units of that length.
    Spans { seconds: f64 },
    /// Moments of all the world, which are local times of this zone.
    Zone(String),
    /// Numbers of two bytes.
    HalfFloats,
    /// Something that no table holds, in words.
    Unknown(&'static str),
}

/// The description of a file by which it is read, and what its columns mean.
pub(super) fn as_read(metadata: &FileMetadata) -> (FileMetadata, Vec<Meaning>) {
    // Of a description that cannot be read the types of the format are left.
    let stored = infer_schema(metadata).ok();
    let fields = metadata.schema_descr.fields();
    let stored = |field: &ParquetType| stored.as_ref()?.get(field.name()).map(|field| field.dtype().clone());
    let meanings = fields.iter().map(|field| meaning(field, stored(field))).collect();
    let mut plain = metadata.clone();
    plain.key_value_metadata = None;
    plain.schema_descr = SchemaDescriptor::new(metadata.schema_descr.name().into(), fields.iter().map(without_size).collect());
    (plain, meanings)
}

fn meaning(field: &ParquetType, stored: Option<ArrowDataType>) -> Meaning {
    let ParquetType::PrimitiveType(primitive) = field else { return Meaning::Unknown("lists or structures") };
    if primitive.field_info.repetition == Repetition::Repeated {
        return Meaning::Unknown("lists");
    }
    match (primitive.physical_type, primitive.logical_type, primitive.converted_type) {
        (_, Some(PrimitiveLogicalType::Decimal(digits, _)), _) | (_, _, Some(PrimitiveConvertedType::Decimal(digits, _)))
            if digits > MOST_DIGITS =>
        {
            Meaning::Unknown("decimals of more than 38 digits")
        }
        (PhysicalType::FixedLenByteArray(_), _, Some(PrimitiveConvertedType::Interval)) => {
            Meaning::Unknown("spans of months and days")
        }
        (PhysicalType::FixedLenByteArray(2), Some(PrimitiveLogicalType::Float16), _) => Meaning::HalfFloats,
        _ => match stored {
            Some(ArrowDataType::Duration(unit)) => Meaning::Spans { seconds: seconds_of(unit) },
            Some(ArrowDataType::Timestamp(_, Some(zone))) => Meaning::Zone(zone.to_string()),
            _ => Meaning::AsRead,
        },
    }
}

/// Digits of a decimal that the library reads.
const MOST_DIGITS: usize = 38;

fn seconds_of(unit: ArrowTimeUnit) -> f64 {
    match unit {
        ArrowTimeUnit::Second => 1.0,
        ArrowTimeUnit::Millisecond => 1e-3,
        ArrowTimeUnit::Microsecond => 1e-6,
        ArrowTimeUnit::Nanosecond => 1e-9,
    }
}

/// The same field, a small whole number as the larger one as which it is stored.
fn without_size(field: &ParquetType) -> ParquetType {
    use PrimitiveConvertedType::{Int8, Int16, Uint8, Uint16};
    use polars_parquet::parquet::schema::types::IntegerType;
    let ParquetType::PrimitiveType(primitive) = field else { return field.clone() };
    let is_small = match (primitive.logical_type, primitive.converted_type) {
        (Some(PrimitiveLogicalType::Integer(kind)), _) => {
            matches!(kind, IntegerType::Int8 | IntegerType::Int16 | IntegerType::UInt8 | IntegerType::UInt16)
        }
        (_, converted) => matches!(converted, Some(Int8 | Int16 | Uint8 | Uint16)),
    };
    if primitive.physical_type != PhysicalType::Int32 || !is_small {
        return field.clone();
    }
    ParquetType::PrimitiveType(PrimitiveType { logical_type: None, converted_type: None, ..primitive.clone() })
}

/// A number of two bytes. Source: IEEE 754, binary16.
pub(super) fn half(bytes: [u8; 2]) -> f64 {
    let bits = u16::from_le_bytes(bytes);
    let (exponent, fraction) = (i32::from(bits >> 10 & 0x1F), f64::from(bits & 0x3FF) / 1024.0);
    let size = match exponent {
        0 => fraction * 2f64.powi(-14),
        31 if fraction == 0.0 => f64::INFINITY,
        31 => f64::NAN,
        _ => (1.0 + fraction) * 2f64.powi(exponent - 15),
    };
    if bits >> 15 == 1 { -size } else { size }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_two_bytes_are_those_of_the_standard() {
        for (bits, value) in [
            (0x3C00u16, 1.0),
            (0xC000, -2.0),
            (0x7BFF, 65_504.0),
            (0x0001, 2f64.powi(-24)),
            (0x3555, 0.333_251_953_125),
            (0, 0.0),
        ] {
            assert_eq!(half(bits.to_le_bytes()), value);
        }
        assert_eq!(half(0x7C00u16.to_le_bytes()), f64::INFINITY);
        assert!(half(0x7E00u16.to_le_bytes()).is_nan());
    }
}
