//! A table of speeds: comma-separated, column names in the first line, no quotes.

use super::{Lines, Moment, Problem, Recording, RecordingError};

/// Name of the column of times.
pub(super) const TIME: &str = "t_s";
/// Names of the column of speeds, the best first.
const SPEEDS: [&str; 3] = ["gnss_speed_m_s", "speed_m_s", "wheel_speed_m_s"];
const ENGINE: &str = "engine_rpm";
/// Fastest engine, turns a minute.
const FASTEST_RPM: f64 = 4_000.0;

pub(super) fn read(mut lines: Lines<'_>) -> Result<Recording, RecordingError> {
    let mut recording = Recording::default();
    let Some((number, names)) = lines.next() else { return Ok(recording) };
    let names: Vec<_> = names.split(',').map(str::trim).collect();
    let column = |name: &str| names.iter().position(|other| *other == name);
    let missing = |name| RecordingError::at(number, Problem::NoColumn(name));
    let time = column(TIME).ok_or_else(|| missing(TIME))?;
    let speed = SPEEDS.iter().find_map(|name| column(name)).ok_or_else(|| missing("speed_m_s"))?;
    let engine = column(ENGINE);
    let (mut start_s, mut last_s) = (None, None);
    for (line, row) in lines {
        let row = Row { line, names: &names, cells: row.split(',').map(str::trim).collect() };
        if row.cells.len() != names.len() {
            let problem = Problem::Cells { found: row.cells.len(), named: names.len() };
            return Err(RecordingError::at(line, problem));
        }
        let now_s = row.number(time)?.ok_or_else(|| row.not_a_number(time))?;
        if let Some(last_s) = last_s.filter(|last_s| *last_s >= now_s) {
            return Err(RecordingError::backwards(line, last_s, now_s));
        }
        last_s = Some(now_s);
        let time_s = now_s - *start_s.get_or_insert(now_s);
        let engine_rpm = engine.map_or(Ok(None), |engine| row.engine_rpm(engine))?;
        if let Some(speed_m_s) = row.number(speed)? {
            let engine_turns_s = engine_rpm.map(|rpm| rpm / 60.0);
            recording.add(line, Moment { time_s, speed_m_s, engine_turns_s })?;
        }
    }
    Ok(recording)
}

struct Row<'a> {
    line: usize,
    names: &'a [&'a str],
    cells: Vec<&'a str>,
}

impl Row<'_> {
    /// The number in a column; `None` if the cell is blank.
    fn number(&self, column: usize) -> Result<Option<f64>, RecordingError> {
        match self.cells[column] {
            "" => Ok(None),
            cell => match cell.parse().ok().filter(|number: &f64| number.is_finite()) {
                Some(number) => Ok(Some(number)),
                None => Err(self.not_a_number(column)),
            },
        }
    }

    fn engine_rpm(&self, column: usize) -> Result<Option<f64>, RecordingError> {
        match self.number(column)? {
            Some(rpm) if !(0.0..=FASTEST_RPM).contains(&rpm) => {
                let (given, allowed) = (rpm.to_string(), format!("0 to {FASTEST_RPM} rpm"));
                let problem = Problem::NotAllowed { what: "engine speed", given, allowed };
                Err(RecordingError::at(self.line, problem))
            }
            other => Ok(other),
        }
    }

    fn not_a_number(&self, column: usize) -> RecordingError {
        let what = format!("column {} (`{}`)", column + 1, self.names[column]);
        RecordingError::text(self.line, what, self.cells[column], "a number such as 1.34")
    }
}
