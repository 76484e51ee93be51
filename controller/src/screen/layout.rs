//! Where everything stands, and what stands there.

use super::SIZE;
use super::figures::{line_rate_tenths_lb_ft, mass_lb, pounds, speed_tenths_mph, tenths};
use super::letters::Face;
use super::shade::{Shade, Tone};
use super::words::Says;
use crate::units::{LineRate, Ratio, Speed};
use crate::view::View;
use embedded_graphics::geometry::{Point, Size};
use embedded_graphics::primitives::Rectangle;
use heapless::String;

const fn area(x: i32, y: i32, width: u32, height: u32) -> Rectangle {
    Rectangle::new(Point::new(x, y), Size::new(width, height))
}

pub(super) const ALL: Rectangle = Rectangle::new(Point::zero(), SIZE);
pub(super) const BANNER: Rectangle = area(0, 0, 320, 44);
pub(super) const BANNER_END: Rectangle = area(264, 0, 56, 44);
pub(super) const SIGN: Rectangle = area(8, 6, 32, 32);
/// Lines between the fields.
pub(super) const RULES: [Rectangle; 4] =
    [area(0, 44, 320, 2), area(159, 44, 2, 108), area(0, 151, 320, 2), area(0, 170, 320, 2)];
pub(super) const RATE_BAR: Rectangle = area(6, 122, 147, 8);
pub(super) const SPEED_BAR: Rectangle = area(167, 122, 147, 8);

const TITLE: Rectangle = area(48, 2, 204, 40);
const RATE_NAME: Rectangle = area(6, 47, 150, 15);
const RATE: Rectangle = area(6, 62, 150, 60);
const ASKED: Rectangle = area(6, 131, 150, 20);
const SPEED_NAME: Rectangle = area(167, 47, 150, 15);
const SPEED: Rectangle = area(167, 62, 150, 60);
const ADVISED: Rectangle = area(167, 131, 150, 20);
const LEFT: Rectangle = area(6, 154, 308, 15);
const HEADLINE: Rectangle = area(6, 173, 308, 20);
const ADVICE: Rectangle = area(6, 194, 308, 45);
const ADVICE_SHORT: Rectangle = area(6, 194, 308, 30);
const ALSO: Rectangle = area(6, 224, 308, 15);

/// Longest text put together here.
type Text = String<100>;

/// A text and where it stands.
#[derive(Clone, Copy, Debug)]
pub struct Label<'a> {
    /// The place that it must keep to.
    pub area: Rectangle,
    /// Size of its letters.
    pub face: Face,
    /// The ground under it.
    pub field: Shade,
    /// Its letters.
    pub sign: Shade,
    /// The text; plain ASCII, broken into lines at its spaces.
    pub text: &'a str,
}

impl Label<'_> {
    /// Letters that one line holds. A figure is one word whose width is bounded by its digits.
    #[must_use]
    pub fn columns(&self) -> usize {
        if self.face == Face::Figure {
            return usize::MAX;
        }
        let columns = self.area.size.width.checked_div(self.face.width().unsigned_abs());
        usize::try_from(columns.unwrap_or(0)).unwrap_or(0)
    }

    /// Lines that the area holds.
    #[must_use]
    pub fn rows(&self) -> usize {
        let rows = self.area.size.height.checked_div(self.face.height().unsigned_abs());
        usize::try_from(rows.unwrap_or(0)).unwrap_or(0)
    }
}

/// Hands every text of the screen to `put`, in reading order. Areas of texts never overlap.
///
/// This is what [`super::draw`] writes; a reader aloud may take it as it stands.
///
/// # Errors
/// The first error of `put`; the texts after it are not handed over.
pub fn labels<E>(view: &View, mut put: impl FnMut(&Label<'_>) -> Result<(), E>) -> Result<(), E> {
    let says = Says::of(view);
    let (field, sign) = (Shade::Field(says.tone), Shade::Sign(says.tone));
    put(&Label { area: TITLE, face: Face::Title, field, sign, text: says.title })?;
    let mut plain = |area, face, text: &str| {
        put(&Label { area, face, field: Shade::Paper, sign: Shade::Ink, text })
    };
    plain(RATE_NAME, Face::Small, "Laid, lb/ft")?;
    plain(RATE, Face::Figure, &tenths(line_rate_tenths_lb_ft(view.laid)))?;
    plain(ASKED, Face::Plain, &asked(view.target))?;
    plain(SPEED_NAME, Face::Small, "Speed, mph")?;
    plain(SPEED, Face::Figure, &tenths(speed_tenths_mph(view.ground_speed)))?;
    plain(HEADLINE, Face::Plain, &sentence(says.headline))?;
    let advice_area = if says.also.is_some() { ADVICE_SHORT } else { ADVICE };
    plain(advice_area, Face::Small, &sentence(says.advice))?;
    if let Some(also) = says.also {
        plain(ALSO, Face::Small, &joined(&["Also: ", also]))?;
    }
    let urgent = |area, face, urgent: bool, text: &str| {
        let (field, sign) = if urgent {
            (Shade::Field(Tone::Alarm), Shade::Sign(Tone::Alarm))
        } else {
            (Shade::Paper, Shade::Ink)
        };
        put(&Label { area, face, field, sign, text })
    };
    remaining(view, &says, urgent)
}

/// The two texts that call for attention by their ground.
fn remaining<E>(
    view: &View,
    says: &Says,
    mut urgent: impl FnMut(Rectangle, Face, bool, &str) -> Result<(), E>,
) -> Result<(), E> {
    urgent(ADVISED, Face::Plain, says.too_fast, &advised(view.advised_speed, says.too_fast))?;
    if says.still_turning {
        return urgent(LEFT, Face::Small, true, "Rollers still turn: keep away");
    }
    let (left, doubt) = (pounds(mass_lb(view.left)), pounds(mass_lb(view.left_deviation)));
    urgent(LEFT, Face::Small, false, &joined(&[&left, " lb left, give or take ", &doubt]))
}

fn asked(target: LineRate) -> Text {
    joined(&["asked for ", &tenths(line_rate_tenths_lb_ft(target))])
}

/// The advised speed, rounded down: the driver must not be told more than can be held.
fn advised(speed: Speed, too_fast: bool) -> Text {
    let nearest = speed_tenths_mph(speed);
    if nearest >= 1_000 {
        return joined(&["any speed"]);
    }
    let over = speed_from_tenths_mph(nearest) > speed;
    let figure = tenths(if over { nearest.saturating_sub(1) } else { nearest });
    joined(&[if too_fast { "slow to " } else { "at most " }, &figure])
}

fn speed_from_tenths_mph(tenths: i32) -> Speed {
    // 0.044_704 m/s for each tenth of a mile an hour.
    Speed::from_micro(tenths.saturating_mul(44_704))
}

/// With a capital letter at its begin.
fn sentence(words: &str) -> Text {
    let mut text = Text::new();
    let mut letters = words.chars();
    if let Some(first) = letters.next() {
        add(&mut text, first.to_ascii_uppercase().encode_utf8(&mut [0; 4]));
    }
    add(&mut text, letters.as_str());
    text
}

fn joined(parts: &[&str]) -> Text {
    let mut text = Text::new();
    for part in parts {
        add(&mut text, part);
    }
    text
}

/// No text is longer than the room for it; were one, its end would be missing.
fn add(text: &mut Text, part: &str) {
    let _ = text.push_str(part);
}

/// The area less a margin on every side.
pub(super) fn cut(area: Rectangle, margin: i32) -> Rectangle {
    let both = margin.saturating_mul(2).unsigned_abs();
    Rectangle::new(
        Point::new(area.top_left.x.saturating_add(margin), area.top_left.y.saturating_add(margin)),
        Size::new(area.size.width.saturating_sub(both), area.size.height.saturating_sub(both)),
    )
}

/// Pixels within a bar's frame.
const BAR: i32 = 143;
/// Half of them: the room to either side of the middle.
const HALF_BAR: i32 = 71;
/// Ground speed at the end of the bar, in tenths of a mile an hour.
const FULL_SPEED: i32 = 80;

/// Deviation in pixels from the middle: half as much or as little again fills a side.
pub(super) fn deviation_px(laid: LineRate, target: LineRate) -> i32 {
    let share = laid.saturating_sub(target).share_of(target);
    let doubled = share.saturating_add(share).held_within(Ratio::ONE.negated(), Ratio::ONE);
    doubled.to_milli().saturating_mul(HALF_BAR).checked_div(1_000).unwrap_or(0)
}

/// Pixels of the bar that a speed fills; none in reverse.
pub(super) fn speed_px(speed: Speed) -> i32 {
    let tenths = speed_tenths_mph(speed).clamp(0, FULL_SPEED);
    tenths.saturating_mul(BAR).checked_div(FULL_SPEED).unwrap_or(0)
}

/// A stretch of the inside of a bar, from and to so many pixels from its left end.
fn stretch(bar: Rectangle, from: i32, to: i32) -> Rectangle {
    let inside = cut(bar, 2);
    let (from, to) = (from.clamp(0, BAR), to.clamp(0, BAR));
    let corner = Point::new(inside.top_left.x.saturating_add(from), inside.top_left.y);
    let width = to.saturating_sub(from).max(0).unsigned_abs();
    Rectangle::new(corner, Size::new(width, inside.size.height))
}

pub(super) fn up_to(bar: Rectangle, pixels: i32) -> Rectangle {
    stretch(bar, 0, pixels)
}

pub(super) fn beyond(bar: Rectangle, pixels: i32) -> Rectangle {
    stretch(bar, pixels, BAR)
}

pub(super) fn from_middle(bar: Rectangle, pixels: i32) -> Rectangle {
    let end = HALF_BAR.saturating_add(pixels);
    stretch(bar, end.min(HALF_BAR), end.max(HALF_BAR))
}

/// The mark in the middle of a bar, standing out above and below.
pub(super) fn middle_mark(bar: Rectangle) -> Rectangle {
    let x = bar.top_left.x.saturating_add(72);
    let y = bar.top_left.y.saturating_sub(1);
    Rectangle::new(Point::new(x, y), Size::new(3, bar.size.height.saturating_add(2)))
}
