//! Categories of three-point hitches: pins, spans and the tractors they are made for.
//!
//! All of it was read second-hand, in summaries and implement manuals after ISO 730 whose editions
//! differ; no conformity is claimed. Measure the pins before buying anything.

/// One category of hitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Category {
    /// Its number, 1 to 4.
    pub number: i32,
    /// Diameter of the lower pins, m.
    pub lower_pin_m: f64,
    /// The same in inches, as the trade writes it.
    pub lower_pin_in: &'static str,
    /// Diameter of the top pin, m.
    pub top_pin_m: f64,
    /// Distance between the lower points, m; none was read for 1.
    pub span_m: Option<f64>,
    /// The same of the category's narrow variant, m, where there is one.
    pub narrow_span_m: Option<f64>,
    /// Power of the tractors, W, for which it is made: the widest of two printings; none was read for 1.
    pub power_w: Option<(f64, f64)>,
}

/// Who says so.
pub const SOURCE: &str =
    "summaries and implement manuals after ISO 730, read second-hand; editions differ";

/// All categories, in their order.
pub const CATEGORIES: [Category; 4] = [
    Category {
        number: 1,
        lower_pin_m: 22.4e-3,
        lower_pin_in: "7/8",
        top_pin_m: 19e-3,
        span_m: None,
        narrow_span_m: None,
        power_w: None,
    },
    Category {
        number: 2,
        lower_pin_m: 28.7e-3,
        lower_pin_in: "1-1/8",
        top_pin_m: 25.5e-3,
        span_m: Some(0.825),
        narrow_span_m: None,
        power_w: Some((0.0, 92e3)),
    },
    Category {
        number: 3,
        lower_pin_m: 37.4e-3,
        lower_pin_in: "1-7/16",
        top_pin_m: 31.75e-3,
        span_m: Some(0.965),
        narrow_span_m: Some(0.825),
        power_w: Some((60e3, 185e3)),
    },
    Category {
        number: 4,
        lower_pin_m: 51e-3,
        lower_pin_in: "2",
        top_pin_m: 45e-3,
        span_m: Some(1.166),
        narrow_span_m: Some(0.965),
        power_w: Some((110e3, 350e3)),
    },
];

/// The category of a number; `None` for a number that is none.
#[must_use]
pub fn category(number: i32) -> Option<&'static Category> {
    CATEGORIES.iter().find(|category| category.number == number)
}

/// The categories made for tractors of a power, W. They overlap: there may be two.
pub fn made_for(power_w: f64) -> impl Iterator<Item = &'static Category> {
    let holds = move |(low, high): (f64, f64)| (low..=high).contains(&power_w);
    CATEGORIES.iter().filter(move |category| category.power_w.is_some_and(holds))
}
