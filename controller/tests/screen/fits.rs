//! Nothing is cut off, whatever the view holds; nothing is told by colour alone.

use super::scenes::{at_rest, scenes};
use core::convert::Infallible;
use embedded_graphics::Pixel;
use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::geometry::{OriginDimensions, Point, Size};
use embedded_graphics::pixelcolor::{BinaryColor, Rgb888, RgbColor};
use embedded_graphics::primitives::Rectangle;
use proptest::prelude::*;
use std::collections::BTreeMap;
use strewn_controller::safety::{Observed, Phase, TABLE};
use strewn_controller::screen::{Label, Palette, SIZE, Says, Shade, Tone, draw, labels, lines};
use strewn_controller::units::{LineRate, Mass, Speed, TurnRate};
use strewn_controller::view::View;

const PHASES: [Phase; 7] = [
    Phase::Resting,
    Phase::Testing,
    Phase::Armed,
    Phase::Laying,
    Phase::Paused,
    Phase::Latched,
    Phase::Isolated,
];

/// Any view at all, also those that the controller never gives.
fn views() -> impl Strategy<Value = View> {
    let cause =
        proptest::option::of(0..TABLE.len()).prop_map(|at| at.map(|at| TABLE[at].condition));
    let carrying_on = proptest::collection::vec(0..TABLE.len(), 0..3).prop_map(|all| {
        all.iter().fold(Observed::default(), |set, at| set.with(TABLE[*at].condition, true))
    });
    let bits = proptest::array::uniform6(prop_oneof![any::<i32>(), -2_000_000..2_000_000i32]);
    let flags = any::<(bool, bool)>();
    let phase = proptest::sample::select(&PHASES[..]);
    (phase, cause, carrying_on, bits, flags).prop_map(|(phase, cause, carrying_on, bits, flags)| {
        View {
            phase,
            cause,
            carrying_on,
            target: LineRate::from_bits(bits[0]),
            laid: LineRate::from_bits(bits[1]),
            ground_speed: Speed::from_bits(bits[2]),
            advised_speed: Speed::from_bits(bits[3]),
            left: Mass::from_bits(bits[4]),
            left_deviation: Mass::from_bits(bits[5]),
            roller_speed: TurnRate::from_bits(bits[0].wrapping_add(bits[1])),
            core_near: flags.0,
            holding: flags.1,
            ..View::default()
        }
    })
}

/// What is wrong with how a text stands in its place.
fn misfit(label: &Label<'_>) -> Option<String> {
    let whole: Vec<&str> = lines(label.text, label.columns()).collect();
    let wide = whole.iter().map(|line| label.face.width_of(line)).max().unwrap_or(0);
    let inside = SIZE.width >= 1
        && Rectangle::new(Point::zero(), SIZE).intersection(&label.area) == label.area;
    let words = label.text.split(' ').filter(|word| !word.is_empty()).count();
    let kept: usize = whole.iter().flat_map(|line| line.split(' ')).count();
    let fault = if !label.text.is_ascii() {
        "not ASCII"
    } else if whole.len() > label.rows() {
        "too many lines"
    } else if u32::try_from(wide).is_ok_and(|wide| wide > label.area.size.width) {
        "too wide"
    } else if !inside {
        "off the screen"
    } else if words != kept {
        "a word is broken"
    } else {
        return None;
    };
    Some(format!("{fault}: {:?} in {:?}", label.text, label.area))
}

/// Every text of the view stands in its place, and no two places overlap.
fn check(view: &View) -> Result<(), String> {
    let mut places: Vec<Rectangle> = Vec::new();
    labels(view, |label| {
        if let Some(fault) = misfit(label) {
            return Err(fault);
        }
        if let Some(other) =
            places.iter().find(|area| !area.intersection(&label.area).is_zero_sized())
        {
            return Err(format!("{:?} overlaps {other:?}", label.area));
        }
        places.push(label.area);
        Ok(())
    })
}

#[test]
fn every_message_of_the_table_fits() {
    for row in &TABLE {
        for phase in [Phase::Latched, Phase::Isolated, Phase::Resting] {
            check(&at_rest(phase, Some(row.condition))).unwrap();
        }
        let carrying_on = Observed::default().with(row.condition, true);
        for (core_near, holding) in [(false, false), (true, false), (false, true)] {
            let view = View {
                phase: Phase::Laying,
                carrying_on,
                core_near,
                holding,
                ..at_rest(Phase::Laying, None)
            };
            check(&view).unwrap();
        }
    }
    for (name, view) in scenes() {
        check(&view).unwrap_or_else(|fault| panic!("{name}: {fault}"));
    }
}

#[test]
fn a_text_too_long_is_found() {
    let label = |text: &'static str| {
        let mut found = None;
        labels(&View::default(), |label| {
            found = found.take().or_else(|| misfit(&Label { text, ..*label }));
            Ok::<(), Infallible>(())
        })
        .unwrap();
        found
    };
    assert!(label("A title of so many letters").is_some());
    assert_eq!(label("0.0"), None);
}

/// Takes pixels anywhere and remembers those that were written.
#[derive(Default)]
struct Everywhere(BTreeMap<(i32, i32), BinaryColor>);

impl OriginDimensions for Everywhere {
    fn size(&self) -> Size {
        Size::new(1_000, 1_000)
    }
}

impl DrawTarget for Everywhere {
    type Color = BinaryColor;
    type Error = Infallible;

    fn draw_iter<I: IntoIterator<Item = Pixel<BinaryColor>>>(
        &mut self,
        pixels: I,
    ) -> Result<(), Infallible> {
        self.0.extend(pixels.into_iter().map(|Pixel(at, color)| ((at.x, at.y), color)));
        Ok(())
    }
}

fn drawn(view: &View) -> Everywhere {
    let mut all = Everywhere::default();
    draw(view, &mut all).unwrap();
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn any_view_fits(view in views()) {
        prop_assert_eq!(check(&view), Ok(()));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// No pixel outside, none inside left as it was.
    #[test]
    fn any_view_writes_the_screen_and_nothing_else(view in views()) {
        let all = drawn(&view);
        let (width, height) = (SIZE.width.cast_signed(), SIZE.height.cast_signed());
        prop_assert_eq!(all.0.len(), usize::try_from(width * height).unwrap());
        prop_assert!(all.0.keys().all(|(x, y)| (0..width).contains(x) && (0..height).contains(y)));
    }
}

#[test]
fn states_differ_in_word_and_sign_without_colour() {
    let banners = PHASES.map(|phase| {
        let all = drawn(&at_rest(phase, None));
        let parts = [(0..44, "sign"), (48..252, "word")].map(|(columns, part)| {
            let pixels = all.0.iter().filter(|((x, y), _)| columns.contains(x) && *y < 44);
            // Against the banner's own ground, so that filling alone does not count.
            let ground = all.0[&(46, 1)];
            (part, pixels.map(|(_, color)| *color == ground).collect::<Vec<_>>())
        });
        (Says::of(&at_rest(phase, None)).title, parts)
    });
    for (at, (title, parts)) in banners.iter().enumerate() {
        for (other_title, other_parts) in &banners[..at] {
            for ((part, pixels), (_, others)) in parts.iter().zip(other_parts) {
                let differing = pixels.iter().zip(others).filter(|(a, b)| a != b).count();
                assert!(differing >= 60, "{part} of {title} and {other_title}: {differing} pixels");
            }
        }
    }
}

/// Relative luminance of a colour.
fn luminance(color: Rgb888) -> f64 {
    let linear = [color.r(), color.g(), color.b()].map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
}

/// Contrast of at least 4.5 to 1: W3C, Web Content Accessibility Guidelines 2.1, 2018, criterion
/// 1.4.3 and its definitions of contrast ratio and relative luminance.
#[test]
fn letters_stand_out_from_their_ground() {
    let mut pairs = vec![(Shade::Ink, Shade::Paper)];
    let tones = [Tone::Calm, Tone::Ready, Tone::Going, Tone::Alarm];
    pairs.extend(tones.map(|tone| (Shade::Sign(tone), Shade::Field(tone))));
    for (sign, field) in pairs {
        let [a, b] = [sign, field].map(|shade| luminance(Rgb888::shade(shade)));
        let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
        assert!(contrast >= 4.5, "{sign:?} on {field:?}: {contrast:.2}");
        assert_ne!(BinaryColor::shade(sign), BinaryColor::shade(field), "{sign:?} on {field:?}");
    }
}
