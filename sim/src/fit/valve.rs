//! Valve and rollers: dead band, play, lag, gain, leakage, the flow that the tractor gives.
//!
//! The command goes through the play of the pilot and the lag of the valve; the roller speed is then
//! a straight line in what comes out, less what leaks past the motors under pressure. Lag and play
//! are found on a grid, line and leakage by least squares at each point of it.

use super::Finding;
use super::gather::DriveTick;
use super::sums::{PARTS, Parts, jackknife};

/// Slower rollers may be about to stand, turns/s.
const TURNING: f64 = 0.15;
/// After the valve gets current, its state is not known for so long, s.
const UNKNOWN_S: f64 = 0.3;
/// Less than this of turning rollers is too little, s.
const LEAST_S: f64 = 10.0;
/// A command this near its end is at its end.
const FULL: f64 = 0.985;
/// Ticks that are taken together.
const WINDOW: usize = 6;
/// How long it must be there before the rollers show what the flow gives, s.
const SETTLED_S: f64 = 0.6;
/// Rollers this near to the limit say nothing of the line.
const NEAR_LIMIT: f64 = 0.93;
/// Ends of the grid of lags, s.
const LAGS_S: (f64, f64) = (0.01, 1.0);

/// What the straight line leaves out - oil that the lines take up, inertia, the spool's own speed -
/// shifts its figures by about this much, found by fitting modelled machines. Each standard error
/// holds it: dead band, play, lag (as a share), full speed (as a share), leakage (as a share).
const LEFT_OUT: [f64; 5] = [0.004, 0.004, 0.08, 0.015, 0.12];

/// What is known of the drive.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveFit {
    /// Share of the command before oil flows.
    pub dead_band: Finding,
    /// Play of the valve: width of its hysteresis as a share of full command.
    pub play: Finding,
    /// Lag of valve and rollers, s.
    pub lag_s: Finding,
    /// Roller speed that a full command gives, without load, turns/s.
    pub full_turns_s: Finding,
    /// Roller speed lost to leakage, turns/s for each MPa. Without it, the other figures hold at the
    /// pressure at which was fed.
    pub leak_turns_s_mpa: Finding,
    /// Roller speed beyond which the tractor gave no flow, turns/s.
    pub limit_turns_s: Finding,
}

/// Fits the drive to the ticks of several logs.
pub(super) fn fit(logs: &[&[DriveTick]]) -> DriveFit {
    let limit_turns_s = limit(logs);
    let most = limit_turns_s.value().map_or(f64::INFINITY, |limit| NEAR_LIMIT * limit);
    let usable = Usable::find(logs, most);
    let line = usable.why_not().map_or_else(|| usable.line(), Err);
    let part = |index: usize, most: f64, share: bool, what: &str| {
        let line = match &line {
            Ok(line) => line,
            Err(why) => return Finding::CannotSay(why.clone()),
        };
        let (value, deviation) = (line.0[index], line.1[index]);
        let left_out = LEFT_OUT[index] * if index < 2 { 1.0 } else { value.abs() };
        let deviation = deviation.hypot(left_out);
        let allowed = if share { most * value.abs() } else { most };
        if deviation.is_finite() && deviation <= allowed {
            Finding::Found { value, deviation }
        } else {
            let words = format!("{what} varied too little to tell: {value:.3} +/- {deviation:.3}");
            Finding::CannotSay(words)
        }
    };
    let leak_turns_s_mpa = if usable.has_pressure || line.is_err() {
        part(4, 0.5, true, "the pressure")
    } else {
        Finding::CannotSay("no pressure sensor is fitted".to_owned())
    };
    DriveFit {
        dead_band: part(0, 0.04, false, "the valve command"),
        play: part(1, 0.02, false, "the direction of the valve command"),
        lag_s: part(2, 0.3, true, "the valve command"),
        full_turns_s: part(3, 0.12, true, "the valve command"),
        leak_turns_s_mpa,
        limit_turns_s,
    }
}

/// Mean roller speed at full command, once it has settled; stretches of two seconds count as one.
fn limit(logs: &[&[DriveTick]]) -> Finding {
    const STRETCH_S: f64 = 2.0;
    let mut means = Vec::new();
    for ticks in logs {
        let (mut full_s, mut sum, mut summed_s) = (0.0, 0.0, 0.0);
        for tick in *ticks {
            if full_s > SETTLED_S {
                sum += tick.turns_s * tick.elapsed_s;
                summed_s += tick.elapsed_s;
            }
            if summed_s >= STRETCH_S {
                means.push(sum / summed_s);
                (sum, summed_s) = (0.0, 0.0);
            }
            let is_full = tick.duty.is_some_and(|duty| duty >= FULL);
            full_s = if is_full { full_s + tick.elapsed_s } else { 0.0 };
        }
    }
    let count = means.len() as f64;
    if means.len() < 3 {
        return Finding::CannotSay(format!(
            "the valve was at its end for less than {} s",
            3.0 * STRETCH_S
        ));
    }
    let value = means.iter().sum::<f64>() / count;
    let squares: f64 = means.iter().map(|mean| (mean - value) * (mean - value)).sum();
    Finding::Found { value, deviation: (squares / (count - 1.0) / count).sqrt() }
}

/// Which ticks tell something of the line.
struct Usable<'a> {
    logs: &'a [&'a [DriveTick]],
    /// For each tick of each log.
    marks: Vec<Vec<bool>>,
    count: usize,
    time_s: f64,
    has_pressure: bool,
}

/// Line and leakage at one point of the grid.
struct Node {
    lag_s: f64,
    play: f64,
    /// Rows of lagged command, 1, pressure; roller speed.
    parts: Parts<3>,
}

/// A few ticks in a row. Teeth are never quite even, and the inverse of an uneven time is too fast in
/// the mean; the time of several edges is nearly even.
#[derive(Default)]
struct Window {
    ticks: f64,
    opening: f64,
    pressure_mpa: f64,
    turns: f64,
    span_s: f64,
}

impl Window {
    fn add(&mut self, tick: &DriveTick, opening: f64) {
        self.ticks += 1.0;
        self.opening += opening;
        self.pressure_mpa += tick.pressure_mpa.unwrap_or(0.0);
        self.turns += tick.turned.0;
        self.span_s += tick.turned.1;
    }

    /// Means of opening and pressure, and roller speed, turns/s.
    fn row(&self) -> Option<([f64; 3], f64)> {
        let row = [self.opening / self.ticks, 1.0, self.pressure_mpa / self.ticks];
        (self.span_s > 0.0).then(|| (row, self.turns / self.span_s))
    }
}

/// Dead band, play, lag, full speed and leakage, and their standard errors.
type Line = ([f64; 5], [f64; 5]);

impl<'a> Usable<'a> {
    fn find(logs: &'a [&'a [DriveTick]], most: f64) -> Self {
        let ticks = || logs.iter().flat_map(|ticks| ticks.iter());
        let turning = ticks().filter(|tick| tick.turns_s > TURNING).count();
        let pressures = ticks().filter(|t| t.turns_s > TURNING && t.pressure_mpa.is_some()).count();
        let has_pressure = pressures * 10 > turning * 9;
        let mut found = Self { logs, marks: Vec::new(), count: 0, time_s: 0.0, has_pressure };
        for ticks in logs {
            let mut current_s = 0.0;
            let mut marks = Vec::with_capacity(ticks.len());
            for tick in *ticks {
                let good = current_s > UNKNOWN_S
                    && (TURNING..most).contains(&tick.turns_s)
                    && (!has_pressure || tick.pressure_mpa.is_some());
                marks.push(good);
                found.count += usize::from(good);
                found.time_s += if good { tick.elapsed_s } else { 0.0 };
                current_s = if tick.duty.is_some() { current_s + tick.elapsed_s } else { 0.0 };
            }
            found.marks.push(marks);
        }
        found
    }

    fn why_not(&self) -> Option<String> {
        let time_s = self.time_s;
        (time_s < LEAST_S).then(|| {
            format!("the rollers turned under command for {time_s:.1} s; at least {LEAST_S} s are wanted")
        })
    }

    /// First a coarse grid over all lags and plays, then a fine one around the best point of it.
    fn line(&self) -> Result<Line, String> {
        let lags = ladder(LAGS_S.0, LAGS_S.1, 1.3);
        let coarse = self.grid(&lags, &[0.0, 0.03, 0.06, 0.1, 0.15]);
        let (best, _) =
            best(&coarse, None).ok_or("the wires do not tell valve and pressure apart")?;
        let Node { lag_s, play, .. } = coarse[best];
        let lags = ladder(lag_s / 1.6, lag_s * 1.6, 1.06);
        let plays: Vec<f64> = (-8..=8)
            .map(|step| play + 0.005 * f64::from(step))
            .filter(|play| *play >= 0.0)
            .collect();
        let fine = self.grid(&lags, &plays);
        let figure = |without| {
            let (index, [slope, offset, leak]) = best_between(&fine, plays.len(), without)?;
            Some([-offset / slope, index.1, index.0, slope + offset, leak])
        };
        jackknife(figure).ok_or_else(|| "the valve command hardly varied".to_owned())
    }

    fn grid(&self, lags_s: &[f64], plays: &[f64]) -> Vec<Node> {
        let at = |lag_s| plays.iter().map(move |play| self.node(lag_s, *play));
        lags_s.iter().flat_map(|lag_s| at(*lag_s)).collect()
    }

    fn node(&self, lag_s: f64, play: f64) -> Node {
        let mut node = Node { lag_s, play, parts: Parts::default() };
        let mut place = 0;
        for (ticks, marks) in self.logs.iter().zip(&self.marks) {
            let (mut pilot, mut spool, mut last_before) = (0.0_f64, 0.0, 0.0);
            for (ticks, marks) in ticks.chunks(WINDOW).zip(marks.chunks(WINDOW)) {
                let mut window = Window::default();
                for tick in ticks {
                    let before = spool;
                    match tick.duty {
                        Some(duty) => {
                            pilot = pilot.clamp(duty - play / 2.0, duty + play / 2.0);
                            let share = 1.0 - libm::exp(-tick.elapsed_s / lag_s);
                            spool += share * (pilot - spool);
                        }
                        None => (pilot, spool) = (0.0, 0.0),
                    }
                    window.add(tick, (before + last_before) / 2.0);
                    last_before = before;
                }
                if marks.iter().all(|good| *good)
                    && let Some((row, turns_s)) = window.row()
                {
                    node.parts.add(place, self.count, row, turns_s);
                    place += ticks.len();
                }
            }
        }
        if !self.has_pressure {
            // A column of zeros says nothing; these rows make its coefficient zero.
            (0..PARTS).for_each(|part| node.parts.add(part, PARTS, [0.0, 0.0, 1.0], 0.0));
        }
        node
    }
}

/// From `low` to `high` in equal ratios.
fn ladder(low: f64, high: f64, ratio: f64) -> Vec<f64> {
    let mut rungs = vec![low];
    while let Some(last) = rungs.last().filter(|last| **last < high) {
        rungs.push(last * ratio);
    }
    rungs
}

/// The node that leaves the least, and its coefficients.
fn best(nodes: &[Node], without: Option<usize>) -> Option<(usize, [f64; 3])> {
    let left = |(index, node): (usize, &Node)| {
        let sums = node.parts.without(without);
        let solution = sums.solve()?;
        Some((index, solution, sums.left_by(&solution)))
    };
    let found = nodes.iter().enumerate().filter_map(left);
    let least = found.min_by(|a, b| a.2.total_cmp(&b.2))?;
    Some((least.0, least.1))
}

/// Lag and play between the nodes, where parabolas through what the neighbours leave have their
/// bottom, and the coefficients of the best node. `plays` nodes share a lag.
fn best_between(
    nodes: &[Node],
    plays: usize,
    without: Option<usize>,
) -> Option<((f64, f64), [f64; 3])> {
    let (index, solution) = best(nodes, without)?;
    let left = |index: usize| {
        let sums = nodes.get(index)?.parts.without(without);
        Some(sums.left_by(&sums.solve()?))
    };
    let (row, column) = (index / plays, index % plays);
    let here = left(index)?;
    let bottom = |before: Option<usize>, after: Option<usize>| {
        let (before, after) = (left(before?)?, left(after?)?);
        let bend = before - 2.0 * here + after;
        (bend > 0.0).then(|| 0.5 * (before - after) / bend)
    };
    let by_lag = bottom((row > 0).then(|| index - plays), Some(index + plays)).unwrap_or(0.0);
    let within_row = column + 1 < plays;
    let by_play =
        bottom((column > 0).then(|| index - 1), within_row.then_some(index + 1)).unwrap_or(0.0);
    let next = |step: f64, other: Option<&Node>, value: fn(&Node) -> f64| {
        other.map_or(0.0, |other| step * (value(other) - value(&nodes[index])).abs())
    };
    let beside = |forward: usize, back: usize| {
        nodes.get(index + forward).or(nodes.get(index.wrapping_sub(back)))
    };
    let lag_s = nodes[index].lag_s + next(by_lag, beside(plays, plays), |node| node.lag_s);
    let play = nodes[index].play + next(by_play, beside(1, 1), |node| node.play);
    Some(((lag_s, play.max(0.0)), solution))
}
