//! Letters: the small ones as they are, the large ones enlarged with their corners smoothed.

use embedded_graphics::geometry::{OriginDimensions, Point, Size};
use embedded_graphics::image::GetPixel;
use embedded_graphics::mono_font::MonoFont;
use embedded_graphics::mono_font::ascii::{FONT_9X15_BOLD, FONT_10X20};
use embedded_graphics::pixelcolor::BinaryColor;
use embedded_graphics::primitives::{PointsIter, Rectangle};

/// The sizes of letters.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Face {
    /// Advice: 9 by 15 pixels.
    Small,
    /// What is the matter: 10 by 20 pixels.
    Plain,
    /// The state: 20 by 40 pixels.
    Title,
    /// The two figures: 30 by 60 pixels.
    Figure,
}

impl Face {
    fn font(self) -> &'static MonoFont<'static> {
        match self {
            Self::Small => &FONT_9X15_BOLD,
            Self::Plain | Self::Title | Self::Figure => &FONT_10X20,
        }
    }

    /// Pixels on the screen for one of the font.
    const fn times(self) -> i32 {
        match self {
            Self::Small | Self::Plain => 1,
            Self::Title => 2,
            Self::Figure => 3,
        }
    }

    /// How far to the right every letter is struck a second time, for strokes that stand the sun.
    const fn second_strike(self) -> i32 {
        match self {
            Self::Small => 0,
            Self::Plain | Self::Title => 1,
            Self::Figure => 2,
        }
    }

    /// Height of a line in pixels.
    #[must_use]
    pub fn height(self) -> i32 {
        side(self.font().character_size.height).saturating_mul(self.times())
    }

    /// Width of a letter in pixels.
    #[must_use]
    pub fn width(self) -> i32 {
        side(self.font().character_size.width).saturating_mul(self.times())
    }

    /// How far the next letter stands from this one. A point in a figure takes half of a digit.
    fn advance(self, letter: char) -> i32 {
        let width = self.width();
        if self.is_narrow(letter) { width.checked_div(2).unwrap_or(width) } else { width }
    }

    fn is_narrow(self, letter: char) -> bool {
        self == Self::Figure && letter == '.'
    }

    /// Width of a line of text in pixels.
    #[must_use]
    pub fn width_of(self, line: &str) -> i32 {
        line.chars().fold(0, |width, letter| width.saturating_add(self.advance(letter)))
    }

    /// The inked points of a line of text that begins at the origin.
    pub(super) fn points(self, line: &str) -> impl Iterator<Item = Point> {
        let mut x = 0i32;
        line.chars().flat_map(move |letter| {
            let advance = self.advance(letter);
            // A narrow letter keeps to the middle of its place.
            let middle = self.width().saturating_sub(advance).checked_div(2).unwrap_or(0);
            let left = x.saturating_sub(middle);
            x = x.saturating_add(advance);
            let cell = Rectangle::new(
                Point::zero(),
                Size::new(self.width().unsigned_abs(), self.height().unsigned_abs()),
            );
            let glyph = Glyph::of(self.font(), letter);
            let covers = move |at: Point| glyph.covers(at, self.times());
            let struck = self.second_strike();
            let again = move |at: Point| {
                struck > 0 && covers(Point::new(at.x.saturating_sub(struck), at.y))
            };
            cell.points()
                .filter(move |at| covers(*at) || again(*at))
                .map(move |point| Point::new(point.x.saturating_add(left), point.y))
        })
    }
}

fn side(length: u32) -> i32 {
    i32::try_from(length).unwrap_or(0)
}

/// One letter of a font.
#[derive(Clone, Copy)]
struct Glyph {
    font: &'static MonoFont<'static>,
    column: i32,
    row: i32,
}

impl Glyph {
    /// The letter, or the font's sign for letters that it lacks.
    fn of(font: &'static MonoFont<'static>, letter: char) -> Self {
        let Size { width, height } = font.character_size;
        let index = u32::try_from(font.glyph_mapping.index(letter)).unwrap_or(0);
        let per_row = font.image.size().width.checked_div(width).unwrap_or(1);
        let column = index.checked_rem(per_row).unwrap_or(0).saturating_mul(width);
        let row = index.checked_div(per_row).unwrap_or(0).saturating_mul(height);
        Self { font, column: side(column), row: side(row) }
    }

    /// Whether the font inks a pixel of the letter; outside of it there is none.
    fn inks(self, x: i32, y: i32) -> bool {
        let Size { width, height } = self.font.character_size;
        if !(0..side(width)).contains(&x) || !(0..side(height)).contains(&y) {
            return false;
        }
        let point = Point::new(self.column.saturating_add(x), self.row.saturating_add(y));
        self.font.image.pixel(point) == Some(BinaryColor::On)
    }

    /// Whether the letter, enlarged, covers a point.
    ///
    /// The corners of an enlarged pixel follow its neighbours where two of them that touch the corner
    /// agree and the two across do not: steps become slopes, straight edges stay straight.
    fn covers(self, point: Point, times: i32) -> bool {
        let (x, y) = (point.x.checked_div(times), point.y.checked_div(times));
        let (x, y) = (x.unwrap_or(0), y.unwrap_or(0));
        let own = self.inks(x, y);
        let (Some(across), Some(down)) =
            (step(point.x.checked_rem(times), times), step(point.y.checked_rem(times), times))
        else {
            return own;
        };
        let beside = self.inks(x.saturating_add(across), y);
        let above = self.inks(x, y.saturating_add(down));
        let far_side = self.inks(x.saturating_sub(across), y);
        let below = self.inks(x, y.saturating_sub(down));
        if beside == above && beside != far_side && above != below { beside } else { own }
    }
}

/// Towards which neighbour a part of an enlarged pixel lies; `None` for its middle and if nothing is
/// enlarged.
fn step(part: Option<i32>, times: i32) -> Option<i32> {
    match part {
        _ if times == 1 => None,
        Some(0) => Some(-1),
        Some(last) if last == times.saturating_sub(1) => Some(1),
        _ => None,
    }
}

/// The text in lines of at most `columns` letters, broken at spaces; a longer word is broken hard.
pub fn lines(text: &str, columns: usize) -> impl Iterator<Item = &str> {
    let mut rest = text.trim();
    core::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let end = rest.char_indices().nth(columns.max(1)).map_or(rest.len(), |(at, _)| at);
        let (head, tail) = rest.split_at_checked(end)?;
        let at_space = tail.is_empty() || tail.starts_with(' ');
        let cut = if at_space { end } else { head.rfind(' ').unwrap_or(end) };
        let (line, left) = rest.split_at_checked(cut)?;
        rest = left.trim_start();
        Some(line.trim_end())
    })
}
