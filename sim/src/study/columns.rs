//! Results as a file for other programs: Parquet, one row a bale and contender, in order of bales.
//!
//! Every chunk of bales is a row group of its own, so that memory does not grow with their number and
//! the file does not depend on how the work was split.

use super::results::{BaleResult, Outcome};
use crate::bench::scenario::Heed;
use crate::rivals::Law;
use parquet::basic::Compression;
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, FloatType, Int32Type};
use parquet::errors::Result;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::parser::parse_message_type;
use std::io::Write;
use std::sync::Arc;

/// Columns in the order of the file; units are in the names.
const SCHEMA: &str = "
    message bales {
        REQUIRED INT32 bale;
        REQUIRED INT32 lot;
        REQUIRED BYTE_ARRAY contender (UTF8);
        REQUIRED BYTE_ARRAY core (UTF8);
        REQUIRED FLOAT core_ratio;
        REQUIRED BYTE_ARRAY hay (UTF8);
        REQUIRED FLOAT moisture_percent;
        REQUIRED FLOAT diameter_ft;
        REQUIRED FLOAT width_ft;
        REQUIRED FLOAT weight_lb;
        REQUIRED FLOAT ticket_weight_lb;
        REQUIRED FLOAT target_lb_per_ft;
        REQUIRED FLOAT speed_mph;
        REQUIRED FLOAT speed_wander_percent;
        REQUIRED BYTE_ARRAY heed (UTF8);
        REQUIRED BOOLEAN weigh;
        REQUIRED BOOLEAN pressure;
        REQUIRED BOOLEAN gauge;
        REQUIRED FLOAT unevenness_3_ft;
        REQUIRED FLOAT unevenness_10_ft;
        REQUIRED INT32 clumps;
        REQUIRED FLOAT heaviest_3_ft_lb_per_ft;
        REQUIRED FLOAT laid_lb;
        REQUIRED FLOAT left_lb;
        REQUIRED FLOAT row_ft;
        REQUIRED FLOAT time_s;
    }";

/// A file of results in the making.
pub struct Columns<W: Write + Send> {
    writer: SerializedFileWriter<W>,
}

impl<W: Write + Send> Columns<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// Whatever keeps it from being written.
    pub fn new(file: W) -> Result<Self> {
        let schema = Arc::new(parse_message_type(SCHEMA)?);
        let properties = WriterProperties::builder()
            .set_created_by("strewn".to_owned())
            .set_compression(Compression::SNAPPY)
            .set_statistics_enabled(EnabledStatistics::Chunk)
            .build();
        let writer = SerializedFileWriter::new(file, schema, Arc::new(properties))?;
        Ok(Self { writer })
    }

    /// Adds a chunk of bales as a row group; their contenders are those of [`Law::ALL`].
    ///
    /// # Errors
    /// Whatever keeps it from being written.
    pub fn add(&mut self, chunk: &[BaleResult]) -> Result<()> {
        let mut group = Group { writer: self.writer.next_row_group()?, chunk };
        group.write()?;
        group.writer.close()?;
        Ok(())
    }

    /// Ends the file.
    ///
    /// # Errors
    /// Whatever keeps it from being written.
    pub fn finish(self) -> Result<()> {
        self.writer.close().map(drop)
    }
}

fn heed_word(heed: Heed) -> &'static str {
    match heed {
        Heed::Promptly => "promptly",
        Heed::Late => "late",
        Heed::Never => "never",
    }
}

/// One row of the file.
type Row<'a> = (&'a BaleResult, &'static str, &'a Outcome);

/// A row group in the making. Columns are written in the order of the schema.
struct Group<'a, 'b, W: Write + Send> {
    writer: SerializedRowGroupWriter<'a, W>,
    chunk: &'b [BaleResult],
}

impl<W: Write + Send> Group<'_, '_, W> {
    fn write(&mut self) -> Result<()> {
        self.whole(|(bale, ..)| bale.bale as i32)?;
        self.whole(|(bale, ..)| bale.lot as i32)?;
        self.words(|(_, contender, _)| contender)?;
        self.words(|(bale, ..)| bale.facts.core.word())?;
        self.numbers(|(bale, ..)| bale.facts.core_ratio)?;
        self.words(|(bale, ..)| if bale.facts.wrapped { "wrapped" } else { "dry" })?;
        self.numbers(|(bale, ..)| bale.facts.moisture_percent)?;
        self.numbers(|(bale, ..)| bale.facts.diameter_ft)?;
        self.numbers(|(bale, ..)| bale.facts.width_ft)?;
        self.numbers(|(bale, ..)| bale.facts.weight_lb)?;
        self.numbers(|(bale, ..)| bale.facts.ticket_weight_lb)?;
        self.numbers(|(bale, ..)| bale.facts.target_lb_ft)?;
        self.numbers(|(bale, ..)| bale.facts.speed_mph)?;
        self.numbers(|(bale, ..)| bale.facts.speed_wander_percent)?;
        self.words(|(bale, ..)| heed_word(bale.facts.heed))?;
        self.flags(|(bale, ..)| bale.facts.weigh)?;
        self.flags(|(bale, ..)| bale.facts.pressure)?;
        self.flags(|(bale, ..)| bale.facts.gauge)?;
        self.numbers(|(.., outcome)| outcome.unevenness_3_ft)?;
        self.numbers(|(.., outcome)| outcome.unevenness_10_ft)?;
        self.whole(|(.., outcome)| outcome.clumps as i32)?;
        self.numbers(|(.., outcome)| outcome.heaviest_lb_ft)?;
        self.numbers(|(.., outcome)| outcome.laid_lb)?;
        self.numbers(|(.., outcome)| outcome.left_lb)?;
        self.numbers(|(.., outcome)| outcome.row_ft)?;
        self.numbers(|(.., outcome)| outcome.time_s)
    }

    fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        let row = |bale| move |(law, outcome): (Law, _)| (bale, law.name(), outcome);
        self.chunk
            .iter()
            .flat_map(move |bale| Law::ALL.into_iter().zip(&bale.outcomes).map(row(bale)))
    }

    fn column<T: parquet::data_type::DataType>(&mut self, values: &[T::T]) -> Result<()> {
        if let Some(mut column) = self.writer.next_column()? {
            column.typed::<T>().write_batch(values, None, None)?;
            column.close()?;
        }
        Ok(())
    }

    fn whole(&mut self, value: impl Fn(Row<'_>) -> i32) -> Result<()> {
        let values: Vec<_> = self.rows().map(value).collect();
        self.column::<Int32Type>(&values)
    }

    fn numbers(&mut self, value: impl Fn(Row<'_>) -> f32) -> Result<()> {
        let values: Vec<_> = self.rows().map(value).collect();
        self.column::<FloatType>(&values)
    }

    fn flags(&mut self, value: impl Fn(Row<'_>) -> bool) -> Result<()> {
        let values: Vec<_> = self.rows().map(value).collect();
        self.column::<BoolType>(&values)
    }

    fn words(&mut self, value: impl Fn(Row<'_>) -> &'static str) -> Result<()> {
        let values: Vec<_> = self.rows().map(|row| ByteArray::from(value(row))).collect();
        self.column::<ByteArrayType>(&values)
    }
}
