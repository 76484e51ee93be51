//! All cells, each drawn many times, into counts that can be saved and resumed.
//!
//! A row of the grid is one fault in one moment of the job, or, for pairs, all kinds of faults on two
//! wires at once in all moments in turn. A row depends on nothing but its name, the seed and the number
//! of draws, so that threads and interruptions change no result.

use super::crew;
use super::hay::Hay;
use super::machine::Machine;
use super::moment::Moment;
use super::trial::Finding;
use super::worlds::{DrawError, Drawn};
use crate::faults::{Kind, Wire};
use crate::random::Stream;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use strewn_controller::safety::{Condition, TABLE};

/// Drawn machines that the trials are spread over.
pub(super) const MACHINES: u64 = 8;
/// How often a trial is drawn at most. One whose fault changed nothing - spikes that fell between the
/// messages, a loose contact that held while the button was pressed - shows nothing and is drawn again.
const ATTEMPTS: u64 = 12;

/// What is to be tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Draws of each cell.
    pub draws: u32,
    /// Two faults at a time instead of one.
    pub pairs: bool,
    /// Everything drawn follows from it.
    pub seed: u64,
}

/// One row before it is run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Row {
    /// One fault in one moment.
    Single(Wire, Kind, Moment),
    /// All kinds on two wires.
    Pair(Wire, Wire),
}

impl Plan {
    /// All rows in order.
    #[must_use]
    pub fn rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for (place, first) in Wire::ALL.iter().enumerate() {
            if self.pairs {
                rows.extend(
                    Wire::ALL.iter().skip(place + 1).map(|second| Row::Pair(*first, *second)),
                );
                continue;
            }
            for kind in Kind::ALL {
                rows.extend(Moment::ALL.map(|moment| Row::Single(*first, *kind, moment)));
            }
        }
        rows
    }

    /// Trials in all rows.
    #[must_use]
    pub fn trials(&self) -> u64 {
        let each = if self.pairs { Kind::ALL.len() * Kind::ALL.len() } else { 1 };
        u64::from(self.draws) * (each * self.rows().len()) as u64
    }

    /// The first line of a file of results: what they are results of.
    #[must_use]
    pub fn header(&self) -> String {
        let what = if self.pairs { "pairs" } else { "single" };
        format!("# strewn stops: {what}, {} draws, seed {}", self.draws, self.seed)
    }
}

impl Row {
    /// Whether both contacts of one switch are at fault. They are there to watch each other; where both tell
    /// the same lie no program can see it.
    #[must_use]
    pub fn is_one_switch(&self) -> bool {
        let pairs = [(Wire::RunA, Wire::RunB), (Wire::StopA, Wire::StopB)];
        matches!(self, Self::Pair(first, second) if pairs.contains(&(*first, *second)))
    }

    /// Its name in a file of results.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Single(wire, kind, moment) => format!("{wire}:{kind}:{}", moment.word()),
            Self::Pair(first, second) => format!("{first}+{second}"),
        }
    }
}

/// What came of a row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Count {
    /// Trials run.
    pub trials: u64,
    /// Trials in which every fault changed something.
    pub altered: u64,
    /// Trials in which something was unsafe.
    pub breaches: u64,
    /// Of these, stops that came too late.
    pub late: u64,
    /// Trials in which the controller stopped laying by itself within 2.5 s.
    pub stopped: u64,
    /// Longest time from onset to command zero, s.
    pub zero_s: f64,
    /// Longest time from command zero to rollers still, s.
    pub still_s: f64,
    /// Hay that landed after the stops.
    pub hay: Hay,
    /// Longest way from command zero to the last hay, m.
    pub after_m: f64,
    /// How often each condition was named, and the longest time from the onset of a fault that is
    /// there at once (off, stuck) to command zero, s.
    pub causes: BTreeMap<Condition, (u64, f64)>,
    /// The first breach: its word and its draw.
    pub example: Option<String>,
}

impl Count {
    fn add(&mut self, finding: &Finding, abrupt: bool, told: impl FnOnce() -> String) {
        self.trials += 1;
        self.altered += u64::from(finding.altered);
        self.stopped += u64::from(finding.zero_s.is_some());
        self.zero_s = self.zero_s.max(finding.zero_s.unwrap_or(0.0));
        self.still_s = self.still_s.max(finding.still_s);
        finding.stops.iter().for_each(|stop| self.hay.add(stop));
        self.after_m = self.after_m.max(finding.after_m);
        if let Some(cause) = finding.cause {
            let (count, zero_s) = self.causes.entry(cause).or_default();
            *count += 1;
            *zero_s = zero_s.max(finding.zero_s.filter(|_| abrupt).unwrap_or(0.0));
        }
        if let Some(breach) = finding.breach {
            self.breaches += 1;
            self.late += u64::from(breach.is_late());
            self.example.get_or_insert_with(|| format!("{} in {}", breach.word(), told()));
        }
    }

    /// Sums up two counts.
    pub fn merge(&mut self, other: &Self) {
        self.trials += other.trials;
        self.altered += other.altered;
        self.breaches += other.breaches;
        self.late += other.late;
        self.stopped += other.stopped;
        self.zero_s = self.zero_s.max(other.zero_s);
        self.still_s = self.still_s.max(other.still_s);
        self.hay.merge(&other.hay);
        self.after_m = self.after_m.max(other.after_m);
        for (cause, (count, zero_s)) in &other.causes {
            let own = self.causes.entry(*cause).or_default();
            *own = (own.0 + count, own.1.max(*zero_s));
        }
        if self.example.is_none() {
            self.example.clone_from(&other.example);
        }
    }
}

/// Results by the names of their rows.
pub type Results = BTreeMap<String, Count>;

/// Unsafe injections with both contacts of one switch at fault, and all others.
#[must_use]
pub fn breaches(plan: &Plan, results: &Results) -> (u64, u64) {
    let (mut one_switch, mut others) = (0, 0);
    for row in plan.rows() {
        let breaches = results.get(&row.name()).map_or(0, |count| count.breaches);
        *if row.is_one_switch() { &mut one_switch } else { &mut others } += breaches;
    }
    (one_switch, others)
}

/// Runs the rows that have no result yet, on all processors. `done` sees the results after each row
/// and says whether to go on.
///
/// # Errors
/// A machine that cannot be drawn; nothing was run then.
pub fn run(
    plan: &Plan,
    mut results: Results,
    done: &mut dyn FnMut(&Results) -> bool,
) -> Result<Results, DrawError> {
    let drawn: Vec<Drawn> =
        (0..MACHINES).map(|number| Drawn::new(plan.seed, number)).collect::<Result<_, _>>()?;
    let machines: Vec<_> = drawn.iter().map(|drawn| Machine::new(drawn).moments()).collect();
    let rows: Vec<Row> =
        plan.rows().into_iter().filter(|row| !results.contains_key(&row.name())).collect();
    crew::each(
        &rows,
        |row| row_count(plan, *row, &machines),
        |row, count| {
            results.insert(row.name(), count);
            done(&results)
        },
    );
    Ok(results)
}

/// Draws until the faults change something, or something is unsafe, which counts whatever changed.
fn first_with_effect(mut draw: impl FnMut(u64) -> Finding) -> Finding {
    let mut finding = draw(0);
    for attempt in 1..ATTEMPTS {
        if finding.altered || finding.breach.is_some() {
            break;
        }
        finding = draw(attempt);
    }
    finding
}

fn row_count(plan: &Plan, row: Row, machines: &[Vec<(Moment, Machine<'_>)>]) -> Count {
    let random = Stream::root(plan.seed).named("trial").named(&row.name());
    let mut count = Count::default();
    let mut trial = |draw: u64, wanted: Moment, faults: &[(Wire, Kind)]| {
        let number = (draw % MACHINES) as usize;
        let start = machines
            .get(number)
            .and_then(|moments| moments.iter().find(|(moment, _)| *moment == wanted));
        if let Some((moment, machine)) = start {
            let finding = first_with_effect(|attempt| {
                machine.clone().trial(*moment, faults, random.numbered(draw).numbered(attempt))
            });
            let abrupt = |(_, kind): &(Wire, Kind)| matches!(kind, Kind::Off | Kind::Stuck);
            count.add(&finding, faults.iter().all(abrupt), || {
                let faults: Vec<_> =
                    faults.iter().map(|(wire, kind)| format!("{wire}:{kind}")).collect();
                format!("{} with {}, draw {draw}", moment.word(), faults.join(" and "))
            });
        }
    };
    match row {
        Row::Single(wire, kind, moment) => {
            for draw in 0..u64::from(plan.draws) {
                trial(draw, moment, &[(wire, kind)]);
            }
        }
        Row::Pair(first, second) => {
            let mut draw = 0;
            for _ in 0..plan.draws {
                for one in Kind::ALL {
                    for other in Kind::ALL {
                        let moment = Moment::ALL[(random.bits(draw) % 9) as usize];
                        trial(draw, moment, &[(first, *one), (second, *other)]);
                        draw += 1;
                    }
                }
            }
        }
    }
    count
}

const COLUMNS: &str =
    "row,trials,altered,stopped,breaches,late,zero_s,still_s,after_m,hay,causes,example";

/// Results as a file.
#[must_use]
pub fn write(plan: &Plan, results: &Results) -> String {
    let mut text = format!("{}\n{COLUMNS}\n", plan.header());
    for (name, count) in results {
        let causes: Vec<_> = count
            .causes
            .iter()
            .map(|(cause, (times, zero_s))| format!("{cause:?}={times}/{zero_s:.2}"))
            .collect();
        // Writing into a String cannot fail.
        let _ = writeln!(
            text,
            "{name},{},{},{},{},{},{:.2},{:.2},{:.2},{},{},{}",
            count.trials,
            count.altered,
            count.stopped,
            count.breaches,
            count.late,
            count.zero_s,
            count.still_s,
            count.after_m,
            count.hay.write(),
            causes.join(" "),
            count.example.as_deref().unwrap_or("").replace(',', ";"),
        );
    }
    text
}

/// Results from a file of the same plan.
///
/// # Errors
/// A sentence: another plan, or the number of the line that cannot be read.
pub fn read(plan: &Plan, text: &str) -> Result<Results, String> {
    let mut lines = text.lines();
    let header = lines.next().unwrap_or_default();
    if header != plan.header() {
        return Err(format!("it holds \"{header}\", asked is \"{}\"", plan.header()));
    }
    let known: BTreeSet<String> = plan.rows().iter().map(Row::name).collect();
    let mut results = Results::new();
    for (number, line) in (3..).zip(lines.skip(1)) {
        let (name, count) = read_line(line)
            .filter(|(name, _)| known.contains(name))
            .ok_or_else(|| format!("line {number} is no row of results"))?;
        results.insert(name, count);
    }
    Ok(results)
}

fn read_line(line: &str) -> Option<(String, Count)> {
    let parts: Vec<&str> = line.split(',').collect();
    let [
        name,
        trials,
        altered,
        stopped,
        breaches,
        late,
        zero_s,
        still_s,
        after_m,
        hay,
        causes,
        example,
    ] = parts[..]
    else {
        return None;
    };
    let mut count = Count {
        trials: trials.parse().ok()?,
        altered: altered.parse().ok()?,
        stopped: stopped.parse().ok()?,
        breaches: breaches.parse().ok()?,
        late: late.parse().ok()?,
        zero_s: zero_s.parse().ok()?,
        still_s: still_s.parse().ok()?,
        after_m: after_m.parse().ok()?,
        hay: Hay::read(hay)?,
        example: (!example.is_empty()).then(|| example.to_owned()),
        ..Count::default()
    };
    for cause in causes.split_whitespace() {
        let (word, numbers) = cause.split_once('=')?;
        let (times, zero_s) = numbers.split_once('/')?;
        let row = TABLE.iter().find(|row| format!("{:?}", row.condition) == word)?;
        count.causes.insert(row.condition, (times.parse().ok()?, zero_s.parse().ok()?));
    }
    Some((name.to_owned(), count))
}
