//! All results into figures: each contender on each kind of core and hay, with intervals.
//!
//! What is kept are counts: about 15 MB however many bales there are.

use super::results::{BaleResult, CoreKind, Outcome};
use super::statistics::share_interval;
use super::tally::{Ranks, Tally};
use crate::rivals::Law;

/// Confidence of every interval.
pub const CONFIDENCE: f64 = 0.95;
/// Bales listed as the worst.
const WORST: usize = 10;

/// What has been seen of one contender on one kind of bale.
#[derive(Clone, Debug, Default)]
struct Cell {
    bales: u64,
    unevenness_3_ft: Tally,
    unevenness_10_ft: Tally,
    time_s: Tally,
    clumps: u64,
    with_clump: u64,
    /// Bales that the controller laid more evenly than this contender.
    beaten: u64,
    weight_lb: f64,
    left_lb: f64,
}

impl Cell {
    fn add(&mut self, outcome: &Outcome, controller: &Outcome, weight_lb: f32) {
        self.bales += 1;
        self.unevenness_3_ft.add(outcome.unevenness_3_ft);
        self.unevenness_10_ft.add(outcome.unevenness_10_ft);
        self.time_s.add(outcome.time_s);
        self.clumps += u64::from(outcome.clumps);
        self.with_clump += u64::from(outcome.clumps > 0);
        self.beaten += u64::from(controller.unevenness_3_ft < outcome.unevenness_3_ft);
        self.weight_lb += f64::from(weight_lb);
        self.left_lb += f64::from(outcome.left_lb);
    }

    fn merge(&mut self, other: &Self) {
        self.bales += other.bales;
        self.unevenness_3_ft.merge(&other.unevenness_3_ft);
        self.unevenness_10_ft.merge(&other.unevenness_10_ft);
        self.time_s.merge(&other.time_s);
        self.clumps += other.clumps;
        self.with_clump += other.with_clump;
        self.beaten += other.beaten;
        self.weight_lb += other.weight_lb;
        self.left_lb += other.left_lb;
    }
}

/// Kinds of bales, dry and wrapped for each core.
const KINDS: usize = 2 * CoreKind::ALL.len();

/// Takes results and becomes a [`Summary`].
#[derive(Clone, Debug, Default)]
pub struct Gathering {
    cells: [[Cell; Law::ALL.len()]; KINDS],
    worst: Vec<Worst>,
}

/// A bale that the controller laid badly.
#[derive(Clone, Debug, PartialEq)]
pub struct Worst {
    /// Number of the bale, counted from 1.
    pub bale: u32,
    /// Words for it.
    pub kind: String,
    /// What the controller made of it.
    pub controller: Outcome,
    /// The unevenness over 3 ft of the bound that knows everything.
    pub bound: f32,
}

/// A number and the interval that it lies in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// Best guess.
    pub value: f64,
    /// Both ends of the interval at [`CONFIDENCE`]; `None` when there are too few bales for one.
    pub interval: Option<(f64, f64)>,
}

/// A contender on one kind of bale.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Who.
    pub law: Law,
    /// 10, 50 and 90 % of the bales are laid with no more unevenness than this over 3 ft.
    pub unevenness_3_ft: [Figure; 3],
    /// The same over 10 ft.
    pub unevenness_10_ft: [Figure; 3],
    /// Clumps for 1,000 bales.
    pub clumps: f64,
    /// Bales with a clump at least, of 1,000.
    pub with_clump: Figure,
    /// Share of the bales that the controller laid more evenly over 3 ft.
    pub beaten: Figure,
    /// Median time of laying a bale, s.
    pub time_s: Figure,
    /// Share of the hay left on the machine.
    pub left: f64,
    /// Unevenness over 3 ft at even steps of the share of bales, 0 to 1: for a picture.
    pub distribution: Vec<f64>,
}

/// All contenders on one kind of bale.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Words for it: "all bales", "dry, even core".
    pub name: String,
    /// Number of bales.
    pub bales: u64,
    /// In the order of the laws.
    pub lines: Vec<Line>,
}

/// Everything that is reported of a campaign.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// All bales, then each kind that occurred.
    pub groups: Vec<Group>,
    /// The bales that the controller laid worst, the worst first.
    pub worst: Vec<Worst>,
}

impl Gathering {
    /// Takes some results.
    pub fn add(&mut self, results: &[BaleResult]) {
        for result in results {
            let facts = &result.facts;
            let Some((controller, _)) = result.outcomes.split_first() else { continue };
            let cells = &mut self.cells[kind(facts.core, facts.wrapped)];
            for (cell, outcome) in cells.iter_mut().zip(&result.outcomes) {
                cell.add(outcome, controller, facts.weight_lb);
            }
            self.worst.push(Worst {
                bale: result.bale,
                kind: name(facts.core, facts.wrapped),
                controller: controller.clone(),
                bound: result.outcomes.last().map_or(f32::NAN, |last| last.unevenness_3_ft),
            });
        }
        let unevenness = |worst: &Worst| worst.controller.unevenness_3_ft;
        self.worst
            .sort_by(|a, b| unevenness(b).total_cmp(&unevenness(a)).then(a.bale.cmp(&b.bale)));
        self.worst.truncate(WORST);
    }

    /// The figures.
    #[must_use]
    pub fn finish(self) -> Summary {
        let mut all: [Cell; Law::ALL.len()] = Default::default();
        for cells in &self.cells {
            all.iter_mut().zip(cells).for_each(|(all, cell)| all.merge(cell));
        }
        let mut groups = vec![group("all bales".to_owned(), all)];
        let kinds = CoreKind::ALL.into_iter().flat_map(|core| [(core, false), (core, true)]);
        for ((core, wrapped), cells) in kinds.zip(self.cells) {
            let group = group(name(core, wrapped), cells);
            if group.bales > 0 {
                groups.push(group);
            }
        }
        Summary { groups, worst: self.worst }
    }
}

/// Place of a kind among the cells.
fn kind(core: CoreKind, wrapped: bool) -> usize {
    2 * core as usize + usize::from(wrapped)
}

fn name(core: CoreKind, wrapped: bool) -> String {
    format!("{}, {} core", if wrapped { "wrapped" } else { "dry" }, core.word())
}

fn group(name: String, cells: [Cell; Law::ALL.len()]) -> Group {
    let bales = cells[0].bales;
    let lines = Law::ALL.into_iter().zip(cells).filter(|_| bales > 0);
    Group { name, bales, lines: lines.map(|(law, cell)| line(law, cell)).collect() }
}

fn line(law: Law, cell: Cell) -> Line {
    let bales = cell.bales;
    let (short, long) = (cell.unevenness_3_ft.ranks(), cell.unevenness_10_ft.ranks());
    let spread = |ranks: &Ranks| [0.1, 0.5, 0.9].map(|share| quantile_figure(ranks, share));
    let per_thousand = |figure: Figure| Figure {
        value: 1000.0 * figure.value,
        interval: figure.interval.map(|(low, high)| (1000.0 * low, 1000.0 * high)),
    };
    Line {
        law,
        unevenness_3_ft: spread(&short),
        unevenness_10_ft: spread(&long),
        clumps: 1000.0 * cell.clumps as f64 / bales as f64,
        with_clump: per_thousand(share_figure(cell.with_clump, bales)),
        beaten: share_figure(cell.beaten, bales),
        time_s: quantile_figure(&cell.time_s.ranks(), 0.5),
        left: cell.left_lb / cell.weight_lb,
        distribution: distribution(&short),
    }
}

fn quantile_figure(ranks: &Ranks, share: f64) -> Figure {
    Figure {
        value: ranks.quantile(share).unwrap_or(f64::NAN),
        interval: ranks.quantile_interval(share, CONFIDENCE),
    }
}

fn share_figure(passed: u64, tried: u64) -> Figure {
    Figure {
        value: passed as f64 / tried as f64,
        interval: Some(share_interval(passed, tried, CONFIDENCE)),
    }
}

/// Quantiles at so many even steps of the share.
const STEPS: u32 = 200;

fn distribution(ranks: &Ranks) -> Vec<f64> {
    let share = |step: u32| f64::from(step) / f64::from(STEPS);
    (0..=STEPS).map(|step| ranks.quantile(share(step)).unwrap_or(f64::NAN)).collect()
}
