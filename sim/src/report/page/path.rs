//! Rows of points into SVG path data, thinned to what a picture can show and rounded to 0.1 px.

use std::fmt::Write;

/// A point in pixels. A coordinate that is not finite breaks the line there.
pub(super) type Point = (f64, f64);

/// An open line through the points.
pub(super) fn line(points: &[Point]) -> String {
    let mut data = String::new();
    for run in unbroken(points) {
        append(&mut data, &thin(run));
    }
    data
}

/// The area between two lines that have the same abscissas; it is broken where either of them is.
pub(super) fn area(low: &[Point], high: &[Point]) -> String {
    let broken = |(low, high): (&Point, &Point)| if high.1.is_finite() { *low } else { *high };
    let low: Vec<Point> = low.iter().zip(high).map(broken).collect();
    let mut data = String::new();
    let mut start = 0;
    for run in unbroken(&low) {
        // Where this run of `low` begins tells where its twin in `high` does.
        start += low[start..].iter().take_while(|point| !is_drawn(point)).count();
        let mut outline = thin(run);
        let mut back = thin(&high[start..start + run.len()]);
        back.reverse();
        outline.append(&mut back);
        append(&mut data, &outline);
        data.push('z');
        start += run.len();
    }
    data
}

fn is_drawn(point: &Point) -> bool {
    point.0.is_finite() && point.1.is_finite()
}

fn unbroken(points: &[Point]) -> impl Iterator<Item = &[Point]> {
    points.split(|point| !is_drawn(point)).filter(|run| !run.is_empty())
}

/// Keeps the lowest and the highest point of each pixel column, in their order.
fn thin(points: &[Point]) -> Vec<Point> {
    let column = |point: &Point| point.0.floor();
    let mut kept = Vec::new();
    for group in points.chunk_by(|a, b| column(a) == column(b)) {
        let mut low = 0;
        let mut high = 0;
        for (index, point) in group.iter().enumerate() {
            if point.1 < group[low].1 {
                low = index;
            }
            if point.1 > group[high].1 {
                high = index;
            }
        }
        kept.push(group[low.min(high)]);
        if low != high {
            kept.push(group[low.max(high)]);
        }
    }
    kept
}

fn append(data: &mut String, points: &[Point]) {
    for (index, (x, y)) in points.iter().enumerate() {
        let command = if index == 0 { 'M' } else { 'L' };
        // Writing into a String cannot fail.
        let _ = write!(data, "{command}{} {}", pixel(*x), pixel(*y));
    }
}

/// A coordinate rounded to 0.1 px, without a needless `.0`.
pub(super) fn pixel(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::{area, line, thin};
    use proptest::prelude::*;

    #[test]
    fn a_break_starts_a_new_line() {
        let points = [(0.0, 1.0), (2.0, 3.25), (3.0, f64::NAN), (4.0, 1.0), (6.0, 2.0)];
        assert_eq!(line(&points), "M0 1L2 3.2M4 1L6 2");
    }

    #[test]
    fn an_area_is_broken_where_either_edge_is() {
        let low = [(0.0, 9.0), (2.0, 9.0), (4.0, f64::NAN), (6.0, 9.0), (8.0, 9.0), (10.0, 9.0)];
        let high = [(0.0, 1.0), (2.0, 2.0), (4.0, 3.0), (6.0, 4.0), (8.0, f64::NAN), (10.0, 6.0)];
        assert_eq!(area(&low, &high), "M0 9L2 9L2 2L0 1zM6 9L6 4zM10 9L10 6z");
    }

    proptest! {
        #[test]
        fn thinning_keeps_every_extreme(values in proptest::collection::vec(-50.0..50.0f64, 1..400)) {
            let points: Vec<_> =
                values.iter().enumerate().map(|(index, y)| (index as f64 * 0.07, *y)).collect();
            let kept = thin(&points);
            let extremes = |points: &[(f64, f64)]| {
                points.iter().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p.1), high.max(p.1)))
            };
            prop_assert_eq!(extremes(&kept), extremes(&points));
            prop_assert!(kept.len() <= 2 * (values.len() as f64 * 0.07 + 1.0) as usize);
            prop_assert!(kept.windows(2).all(|pair| pair[0].0 <= pair[1].0));
        }
    }
}
