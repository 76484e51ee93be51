//! The page of a weighed row, and that of a trial.

use super::axis::Axis;
use super::bars::{Bar, Bars};
use super::chart::{Chart, Layer};
use super::{document, figures_in_large, text_table};
use crate::report::row::{design, footnote, means, row_sentences, variance, verdict};
use crate::report::words::{number, percent};
use crate::row::comparison::Finding;
use crate::row::laid::Laid;
use crate::row::trial::Trial;
use crate::row::weighed::{Evenness, Interval, Length};
use crate::units::{KG_M_PER_LB_FT, M_PER_FT};
use maud::{Markup, html};

/// The page of a weighed row; `command` repeats it.
#[must_use]
pub fn row_page(row: &Evenness, pieces: &[Length], laid: Option<&Laid>, command: &str) -> String {
    let sentences = row_sentences(row, laid);
    let content = html! {
        section {
            h2 { "Was it even?" }
            (figures_in_large(&[
                (
                    percent(Some(row.variation.value), 1),
                    format!("coefficient of variation{} %", interval(row, &row.variation, 0.01, 1)),
                ),
                (
                    number(row.unevenness.value, 3),
                    format!("unevenness; 0 is perfect{}", interval(row, &row.unevenness, 1.0, 3)),
                ),
                (
                    number(row.rate_kg_m.value / KG_M_PER_LB_FT, 2),
                    format!("lb/ft on average{}", interval(row, &row.rate_kg_m, KG_M_PER_LB_FT, 2)),
                ),
                (percent(Some(row.within_tenth), 0), "of the pieces within 10 %".to_owned()),
            ]))
            (picture(row, pieces))
            @for sentence in &sentences { p { (sentence) } }
        }
    };
    document("What was laid on the ground", "Weighed lengths of a row.", &content, &foot(command))
}

/// An interval in a unit, as the end of a sentence.
fn interval(row: &Evenness, of: &Interval, unit: f64, decimals: usize) -> String {
    let end = |value: f64| number(value / unit, decimals);
    format!(
        "; {} % interval {} to {}",
        number(100.0 * row.confidence, 0),
        end(of.low),
        end(of.high)
    )
}

fn picture(row: &Evenness, pieces: &[Length]) -> Markup {
    let from_ft = pieces.first().map_or(0.0, |piece| piece.from_m) / M_PER_FT;
    let to_ft = pieces.last().map_or(0.0, |piece| piece.to_m) / M_PER_FT;
    // Each piece as a step from its beginning to its end.
    let steps = pieces.iter().flat_map(|piece| {
        let rate = piece.rate_kg_m() / KG_M_PER_LB_FT;
        [(piece.from_m / M_PER_FT, rate), (piece.to_m / M_PER_FT, rate)]
    });
    let level = |rate_kg_m: f64| {
        let rate = rate_kg_m / KG_M_PER_LB_FT;
        vec![(from_ft, rate), (to_ft, rate)]
    };
    let mut layers = vec![
        Layer::Band {
            class: "own",
            label: format!("{} % interval of the mean", number(100.0 * row.confidence, 0)),
            low: level(row.rate_kg_m.low),
            high: level(row.rate_kg_m.high),
        },
        Layer::Line { class: "own", label: "weighed".to_owned(), points: steps.collect() },
    ];
    if let Some(target_kg_m) = row.target_kg_m {
        let points = level(target_kg_m);
        layers.insert(1, Layer::Line { class: "target", label: "target".to_owned(), points });
    }
    let highest = row.heaviest.rate_kg_m().max(row.target_kg_m.unwrap_or(0.0)) / KG_M_PER_LB_FT;
    Chart {
        id: "weighed",
        title: "Weighed rate along the row",
        description: "Pounds a foot on every piece, in the order they lie.".to_owned(),
        height: 230.0,
        x: Axis::exact(from_ft, to_ft, 10),
        x_label: "along the row, ft",
        y: Axis::rounded(0.0, highest * 1.05, 6),
        y_unit: "lb/ft",
        beside: Some(("kg/m", KG_M_PER_LB_FT)),
        layers,
        marks: Vec::new(),
    }
    .figure()
}

/// The page of a trial; `command` repeats it.
#[must_use]
pub fn trial_page(trial: &Trial, findings: &[Finding<'_>], command: &str) -> String {
    let content = html! {
        p { (design(trial)) }
        @for (place, finding) in findings.iter().enumerate() {
            section {
                h2 { (finding.measure.name) }
                p.verdict { (verdict(finding)) }
                (table("Means", &means(trial, finding)))
                p.note { (footnote(finding)) }
                (intervals(trial, finding, place))
                (table("Analysis of variance", &variance(finding)))
            }
        }
    };
    document("A trial and what it says", "Measured plots.", &content, &foot(command))
}

fn table(caption: &str, rows: &[Vec<String>]) -> Markup {
    let Some((heads, rows)) = rows.split_first() else { return html! {} };
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    text_table(caption, &heads, rows, 1)
}

/// Means as bars with a standard error to either side.
fn intervals(trial: &Trial, finding: &Finding<'_>, place: usize) -> Markup {
    let analysis = &finding.analysis;
    let ends = |treatment: usize| {
        let (mean, error) = (analysis.means[treatment], analysis.standard_error(treatment));
        (mean - error, mean + error)
    };
    let all = || (0..trial.treatments.len()).map(ends);
    let (low, high) =
        (all().fold(0.0, |low, end| end.0.min(low)), all().fold(0.0, |high, end| end.1.max(high)));
    let bar = |(treatment, name): (usize, &String)| Bar {
        name: name.clone(),
        value: finding
            .comparison
            .as_ref()
            .map_or(String::new(), |all| all.letters[treatment].clone()),
        parts: vec![(0.0, analysis.means[treatment], "part0")],
        whisker: Some(ends(treatment)),
    };
    Bars {
        id: &format!("means{place}"),
        title: "Means",
        description: "Mean of each treatment with a standard error to either side; at the right the letters.",
        x: Axis::rounded(low, high, 8),
        x_label: &finding.measure.name,
        legend: &[],
        marks: &[],
        rows: trial.treatments.iter().enumerate().map(bar).collect(),
    }
    .figure()
}

fn foot(command: &str) -> Markup {
    html! {
        footer {
            h2 { "Repeat it" }
            pre { code { (command) } }
            h2 { "Methods" }
            ul {
                li { "Mean: Student's interval. Coefficient of variation: modified McKay interval (Vangel, The \
                      American Statistician, 1996). Unevenness: 2,000 resamples of the pieces." }
                li { "Trials: analysis of variance with additive blocks; Tukey's comparison in Kramer's form, or \
                      the least significant difference." }
                li { "Evenness has a meaning only with the length of the pieces. No figure here claims conformity \
                      with a standard." }
            }
        }
    }
}
