//! A small trial: plots with treatments, in complete blocks or without, into an analysis of variance.

use super::distribution::f_above;

/// A plot: one treatment, in one block where there are any, one value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plot {
    /// Index of its treatment.
    pub treatment: usize,
    /// Index of its block.
    pub block: Option<usize>,
    /// What was measured.
    pub value: f64,
}

/// One thing measured on every plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Its name, with the unit at the end.
    pub name: String,
    /// The plots.
    pub plots: Vec<Plot>,
}

/// A whole trial.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Names of the treatments, in the order first met.
    pub treatments: Vec<String>,
    /// Names of the blocks; none where plots were not blocked.
    pub blocks: Vec<String>,
    /// What was measured.
    pub measures: Vec<Measure>,
}

impl Trial {
    /// Whether the plots make a design that can be analysed.
    ///
    /// # Errors
    /// A sentence: too few treatments, blocks or plots; a treatment that a block lacks or has twice.
    pub fn check_design(&self) -> Result<(), String> {
        if self.treatments.len() < 2 {
            return Err(format!("{} treatment; at least 2 are needed", self.treatments.len()));
        }
        let plots = self.measures.first().map_or(&[][..], |measure| &measure.plots);
        if self.blocks.is_empty() {
            let single = (0..self.treatments.len()).find(|treatment| {
                plots.iter().filter(|plot| plot.treatment == *treatment).count() < 2
            });
            return match single {
                Some(treatment) => Err(format!(
                    "treatment \"{}\" has 1 plot; without blocks each treatment needs at least 2",
                    self.treatments[treatment]
                )),
                None => Ok(()),
            };
        }
        if self.blocks.len() < 2 {
            return Err("1 block; at least 2 are needed, or no column `block`".to_owned());
        }
        for (block, block_name) in self.blocks.iter().enumerate() {
            for (treatment, name) in self.treatments.iter().enumerate() {
                let here = |plot: &&Plot| plot.treatment == treatment && plot.block == Some(block);
                let count = plots.iter().filter(here).count();
                if count != 1 {
                    return Err(format!(
                        "treatment \"{name}\" stands {count} times in block \"{block_name}\"; each \
                         treatment must stand once in each block"
                    ));
                }
            }
        }
        Ok(())
    }
}

/// A line of the analysis of variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Degrees of freedom.
    pub freedom: f64,
    /// Sum of squares.
    pub squares: f64,
}

impl Source {
    /// Mean square.
    #[must_use]
    pub fn mean_square(&self) -> f64 {
        self.squares / self.freedom
    }

    /// F against an error, and the probability of one as large by chance.
    #[must_use]
    pub fn test(&self, error: &Self) -> (f64, f64) {
        let ratio = self.mean_square() / error.mean_square();
        (ratio, f_above(ratio, self.freedom, error.freedom))
    }
}

/// Analysis of one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Analysis {
    /// Between treatments.
    pub treatments: Source,
    /// Between blocks, where there are any.
    pub blocks: Option<Source>,
    /// What is left.
    pub error: Source,
    /// All of it.
    pub total: Source,
    /// Mean of all plots.
    pub mean: f64,
    /// Mean of each treatment.
    pub means: Vec<f64>,
    /// Plots of each treatment.
    pub counts: Vec<f64>,
}

impl Analysis {
    /// Standard error of a treatment's mean, from the error of all plots.
    #[must_use]
    pub fn standard_error(&self, treatment: usize) -> f64 {
        (self.error.mean_square() / self.counts[treatment]).sqrt()
    }

    /// Deviation of the error as a share of the mean.
    #[must_use]
    pub fn variation(&self) -> f64 {
        self.error.mean_square().sqrt() / self.mean.abs()
    }
}

/// Analysis of variance of one measure of a trial whose design was checked.
///
/// Blocks count as additive: with one plot for each treatment and block there is no other way.
#[must_use]
pub fn analyse(trial: &Trial, measure: &Measure) -> Analysis {
    let count = measure.plots.len() as f64;
    let mean = measure.plots.iter().map(|plot| plot.value).sum::<f64>() / count;
    let square = |value: f64| (value - mean) * (value - mean);
    let by_treatment = Groups::of(measure, trial.treatments.len(), |plot| Some(plot.treatment));
    let treatments = by_treatment.between(mean);
    let blocks = (!trial.blocks.is_empty())
        .then(|| Groups::of(measure, trial.blocks.len(), |plot| plot.block).between(mean));
    let total = Source {
        freedom: count - 1.0,
        squares: measure.plots.iter().map(|plot| square(plot.value)).sum(),
    };
    let taken = [Some(treatments), blocks];
    let taken = || taken.iter().flatten();
    let error = Source {
        freedom: total.freedom - taken().map(|source| source.freedom).sum::<f64>(),
        // Rounding must not leave less than nothing.
        squares: (total.squares - taken().map(|source| source.squares).sum::<f64>()).max(0.0),
    };
    Analysis {
        treatments,
        blocks,
        error,
        total,
        mean,
        means: by_treatment.means(),
        counts: by_treatment.counts,
    }
}

/// Sums of plots by one of their marks.
struct Groups {
    sums: Vec<f64>,
    counts: Vec<f64>,
}

impl Groups {
    fn of(measure: &Measure, size: usize, mark: impl Fn(&Plot) -> Option<usize>) -> Self {
        let mut groups = Self { sums: vec![0.0; size], counts: vec![0.0; size] };
        for plot in &measure.plots {
            if let Some(group) = mark(plot) {
                groups.sums[group] += plot.value;
                groups.counts[group] += 1.0;
            }
        }
        groups
    }

    fn means(&self) -> Vec<f64> {
        self.sums.iter().zip(&self.counts).map(|(sum, count)| sum / count).collect()
    }

    fn between(&self, mean: f64) -> Source {
        let squares = self
            .means()
            .iter()
            .zip(&self.counts)
            .map(|(own, count)| count * (own - mean) * (own - mean))
            .sum();
        Source { freedom: self.counts.len() as f64 - 1.0, squares }
    }
}
