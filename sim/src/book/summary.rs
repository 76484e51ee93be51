//! Entries into totals, stock and entries into days of hay left.

use super::{Day, Entry, Stock};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// What totals are made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// Each day.
    Day,
    /// Each herd.
    Herd,
    /// Each lot of hay.
    Lot,
    /// Each place.
    Place,
}

/// Everything of one day, herd, lot or place.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Total {
    /// The day or name.
    pub name: String,
    /// Entries.
    pub feedings: usize,
    /// Bales and parts of bales.
    pub bales: f64,
    /// Hay as fed, lb.
    pub fed_lb: f64,
    /// Animals times days on which they were fed; a herd fed twice a day counts once. `None` if the
    /// number of animals is not known throughout.
    pub head_days: Option<f64>,
    /// Minutes at the place, of the entries that tell.
    pub minutes: Option<f64>,
    /// Hay fed in the entries that were looked at, lb.
    pub looked_lb: f64,
    /// Refused there, lb.
    pub refusal_lb: f64,
    /// Residue there, lb.
    pub residue_lb: f64,
}

impl Total {
    /// Hay as fed for an animal and day, lb.
    #[must_use]
    pub fn per_head_day_lb(&self) -> Option<f64> {
        Some(self.fed_lb / self.head_days.filter(|days| *days > 0.0)?)
    }

    /// Share of hay refused or lost, of the entries that were looked at.
    #[must_use]
    pub fn wasted(&self) -> Option<f64> {
        (self.looked_lb > 0.0).then(|| (self.refusal_lb + self.residue_lb) / self.looked_lb)
    }

    /// The total as JSON; what is not known is null.
    #[must_use]
    pub fn json(&self) -> Value {
        json!({
            "name": self.name, "feedings": self.feedings, "bales": self.bales,
            "fed_lb": self.fed_lb, "head_days": self.head_days, "minutes": self.minutes,
            "per_head_day_lb": self.per_head_day_lb(), "looked_lb": self.looked_lb,
            "refusal_lb": self.refusal_lb, "residue_lb": self.residue_lb,
        })
    }
}

/// Totals by name or day, and the total of all at the end.
#[must_use]
pub fn totals(entries: &[Entry], by: By) -> Vec<Total> {
    let mut groups: BTreeMap<String, Vec<&Entry>> = BTreeMap::new();
    for entry in entries {
        let feeding = &entry.feeding;
        let name = match by {
            By::Day => feeding.day.to_string(),
            By::Herd => feeding.herd.clone(),
            By::Lot => feeding.lot.clone(),
            By::Place => feeding.place.clone(),
        };
        groups.entry(name).or_default().push(entry);
    }
    let mut totals: Vec<_> = groups.iter().map(|(name, group)| total(name, group)).collect();
    totals.push(total("all", &entries.iter().collect::<Vec<_>>()));
    totals
}

fn total(name: &str, entries: &[&Entry]) -> Total {
    let mut total = Total { name: name.to_owned(), ..Total::default() };
    let mut heads: BTreeMap<(Day, &str), Option<u32>> = BTreeMap::new();
    for Entry { feeding, look, .. } in entries {
        total.feedings += 1;
        total.bales += feeding.bales;
        total.fed_lb += feeding.fed_lb;
        let head = heads.entry((feeding.day, &feeding.herd)).or_default();
        *head = (*head).max(feeding.head);
        if let Some(minutes) = feeding.minutes() {
            *total.minutes.get_or_insert(0.0) += minutes;
        }
        if let Some(look) = look {
            total.looked_lb += feeding.fed_lb;
            total.refusal_lb += look.refusal_lb;
            total.residue_lb += look.residue_lb;
        }
    }
    total.head_days = heads.values().map(|head| head.map(f64::from)).sum();
    total
}

/// Hay left, as far as it was counted.
#[derive(Clone, Debug, PartialEq)]
pub struct HayLeft {
    /// The last day of the book: left when it was over.
    pub day: Day,
    /// Each lot that was counted.
    pub lots: Vec<LotLeft>,
    /// Hay fed a day of late, lb.
    pub a_day_lb: f64,
    /// Days over which that was taken.
    pub days: i64,
    /// Lots that were fed and never counted.
    pub uncounted: Vec<String>,
}

/// Hay left of one lot.
#[derive(Clone, Debug, PartialEq)]
pub struct LotLeft {
    /// The last count.
    pub counted: Stock,
    /// Fed since, lb.
    pub fed_lb: f64,
    /// Left, lb; below zero if more was fed than was counted.
    pub left_lb: f64,
}

impl HayLeft {
    /// Hay left of all lots counted, lb.
    #[must_use]
    pub fn left_lb(&self) -> f64 {
        self.lots.iter().map(|lot| lot.left_lb.max(0.0)).sum()
    }

    /// Days that it lasts if fed as of late; `None` if nothing was fed of late.
    #[must_use]
    pub fn days_left(&self) -> Option<f64> {
        (self.a_day_lb > 0.0).then(|| self.left_lb() / self.a_day_lb)
    }
}

/// Hay left when the last day of the book was over, and how fast it went over the last `window` days
/// of it, fewer at the beginning of a book. `None` for a book without entries and counts.
#[must_use]
pub fn days_left(entries: &[Entry], stock: &[Stock], window: u32) -> Option<HayLeft> {
    let fed_days = || entries.iter().map(|entry| entry.feeding.day);
    let day = fed_days().chain(stock.iter().map(|stock| stock.day)).max()?;
    let last_fed = fed_days().max().unwrap_or(day);
    let since_first = fed_days().min().map_or(0, |first| last_fed.since(first)) + 1;
    let days = since_first.min(i64::from(window.max(1)));
    let of_late = entries.iter().filter(|entry| last_fed.since(entry.feeding.day) < days);
    let a_day_lb = of_late.map(|entry| entry.feeding.fed_lb).sum::<f64>() / days as f64;
    let lots = stock.iter().map(|counted| {
        let since = entries
            .iter()
            .filter(|entry| entry.feeding.lot == counted.lot && entry.feeding.day >= counted.day);
        let fed_lb = since.map(|entry| entry.feeding.fed_lb).sum();
        LotLeft { counted: counted.clone(), fed_lb, left_lb: counted.weight_lb - fed_lb }
    });
    let mut uncounted: Vec<String> =
        entries.iter().map(|entry| entry.feeding.lot.clone()).collect();
    uncounted.retain(|lot| !stock.iter().any(|stock| stock.lot == *lot));
    uncounted.sort();
    uncounted.dedup();
    Some(HayLeft { day, lots: lots.collect(), a_day_lb, days, uncounted })
}
