//! A digest of any record of integers - of what was commanded, of the whole state, of the settings -
//! cheap enough to be taken in every step.
//!
//! Each number, flag and choice is mixed in as words of 32 bits in the order in which the record
//! serialises: nothing depends on layout, alignment or the size of a pointer. Every mixing step can be
//! undone, so that two runs that differ in a single word differ in the digest right after it; further
//! differences could hide it again with a chance of 1 in 4 thousand million. No protection against
//! intent.

use serde::Serialize;
use serde::ser::{
    Impossible, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
    SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

/// Digest of a record, given the digest of what came before (0 before the first).
#[must_use]
pub fn digest(before: u32, record: &impl Serialize) -> u32 {
    let mut mixer = Mixer(before);
    // Maps and texts of unknown length are in no record here; they alone are refused.
    match record.serialize(&mut mixer) {
        Ok(()) => mixer.0,
        Err(_) => !before,
    }
}

/// The running digest.
struct Mixer(u32);

/// Why a record cannot be mixed: it holds something that is no record of integers.
#[derive(Debug)]
struct NoInteger;

impl core::fmt::Display for NoInteger {
    fn fmt(&self, out: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        out.write_str("only records of integers can be digested")
    }
}

impl core::error::Error for NoInteger {}

impl serde::ser::Error for NoInteger {
    fn custom<T: core::fmt::Display>(_: T) -> Self {
        Self
    }
}

impl Mixer {
    /// The odd factor is 2^32 over the golden ratio: it spreads every bit over the upper half.
    fn word(&mut self, word: u32) -> Result<(), NoInteger> {
        self.0 = (self.0.rotate_left(5) ^ word).wrapping_mul(0x9E37_79B9);
        Ok(())
    }

    fn long(&mut self, bytes: [u8; 8]) -> Result<(), NoInteger> {
        let [a, b, c, d, e, f, g, h] = bytes;
        self.word(u32::from_le_bytes([a, b, c, d]))?;
        self.word(u32::from_le_bytes([e, f, g, h]))
    }
}

impl<'a> Serializer for &'a mut Mixer {
    type Ok = ();
    type Error = NoInteger;
    type SerializeSeq = &'a mut Mixer;
    type SerializeTuple = &'a mut Mixer;
    type SerializeTupleStruct = &'a mut Mixer;
    type SerializeTupleVariant = &'a mut Mixer;
    type SerializeMap = Impossible<(), NoInteger>;
    type SerializeStruct = &'a mut Mixer;
    type SerializeStructVariant = &'a mut Mixer;

    fn serialize_bool(self, value: bool) -> Result<(), NoInteger> {
        self.word(u32::from(value))
    }

    fn serialize_i8(self, value: i8) -> Result<(), NoInteger> {
        self.word(i32::from(value).cast_unsigned())
    }

    fn serialize_i16(self, value: i16) -> Result<(), NoInteger> {
        self.word(i32::from(value).cast_unsigned())
    }

    fn serialize_i32(self, value: i32) -> Result<(), NoInteger> {
        self.word(value.cast_unsigned())
    }

    fn serialize_i64(self, value: i64) -> Result<(), NoInteger> {
        self.long(value.to_le_bytes())
    }

    fn serialize_u8(self, value: u8) -> Result<(), NoInteger> {
        self.word(u32::from(value))
    }

    fn serialize_u16(self, value: u16) -> Result<(), NoInteger> {
        self.word(u32::from(value))
    }

    fn serialize_u32(self, value: u32) -> Result<(), NoInteger> {
        self.word(value)
    }

    fn serialize_u64(self, value: u64) -> Result<(), NoInteger> {
        self.long(value.to_le_bytes())
    }

    fn serialize_f32(self, _: f32) -> Result<(), NoInteger> {
        Err(NoInteger)
    }

    fn serialize_f64(self, _: f64) -> Result<(), NoInteger> {
        Err(NoInteger)
    }

    fn serialize_char(self, value: char) -> Result<(), NoInteger> {
        self.word(u32::from(value))
    }

    fn serialize_str(self, _: &str) -> Result<(), NoInteger> {
        Err(NoInteger)
    }

    fn serialize_bytes(self, value: &[u8]) -> Result<(), NoInteger> {
        value.iter().try_for_each(|byte| self.word(u32::from(*byte)))
    }

    fn serialize_none(self) -> Result<(), NoInteger> {
        self.word(0)
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), NoInteger> {
        self.word(1)?;
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), NoInteger> {
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), NoInteger> {
        Ok(())
    }

    fn serialize_unit_variant(
        self,
        _: &'static str,
        index: u32,
        _: &'static str,
    ) -> Result<(), NoInteger> {
        self.word(index)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), NoInteger> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        index: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), NoInteger> {
        self.word(index)?;
        value.serialize(self)
    }

    fn serialize_seq(self, length: Option<usize>) -> Result<Self, NoInteger> {
        self.word(length.and_then(|length| u32::try_from(length).ok()).ok_or(NoInteger)?)?;
        Ok(self)
    }

    fn serialize_tuple(self, _: usize) -> Result<Self, NoInteger> {
        Ok(self)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self, NoInteger> {
        Ok(self)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        index: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, NoInteger> {
        self.word(index)?;
        Ok(self)
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Self::SerializeMap, NoInteger> {
        Err(NoInteger)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, NoInteger> {
        Ok(self)
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        index: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, NoInteger> {
        self.word(index)?;
        Ok(self)
    }

    fn collect_str<T: core::fmt::Display + ?Sized>(self, _: &T) -> Result<(), NoInteger> {
        Err(NoInteger)
    }

    fn is_human_readable(&self) -> bool {
        false
    }
}

/// The parts of a record in a row, each by its own method.
macro_rules! parts {
    ($($kind:ident: $method:ident($($name:ty)?);)+) => {$(
        impl $kind for &mut Mixer {
            type Ok = ();
            type Error = NoInteger;

            fn $method<T: Serialize + ?Sized>(
                &mut self,
                $(_: $name,)?
                value: &T,
            ) -> Result<(), NoInteger> {
                value.serialize(&mut **self)
            }

            fn end(self) -> Result<(), NoInteger> {
                Ok(())
            }
        }
    )+};
}

parts! {
    SerializeSeq: serialize_element();
    SerializeTuple: serialize_element();
    SerializeTupleStruct: serialize_field();
    SerializeTupleVariant: serialize_field();
    SerializeStruct: serialize_field(&'static str);
    SerializeStructVariant: serialize_field(&'static str);
}
