//! What outlasts power-off: read back as it was written, refused when it is not wholly to be believed,
//! and whatever is taken leaves a controller that works.

use crc::{CRC_32_ISO_HDLC, Crc};
use proptest::prelude::*;
use strewn_controller::learned::{LEARNED_BYTES, Learned, LearnedError, settings_digest};
use strewn_controller::metering::MOST_LEARNED;
use strewn_controller::settings::*;
use strewn_controller::step::{State, step};
use strewn_controller::units::{Bite, Instant, Mass, Ratio};
use strewn_controller::wires::*;

const BODY: usize = LEARNED_BYTES - 4;

fn config() -> Config {
    let ticket =
        TicketConfig { mass_g: 450_000, diameter_mm: 1_524, bite_g: 6_500, core: Core::Even };
    Config {
        signals: SignalConfig::default(),
        estimate: EstimateConfig::default(),
        metering: MeteringConfig::default(),
        safety: SafetyConfig::default(),
        tickets: [ticket].into_iter().collect(),
    }
}

/// Words of a record with the checksum that they need.
fn record(words: &[i32]) -> Vec<u8> {
    let mut bytes: Vec<u8> = words.iter().flat_map(|word| word.to_le_bytes()).collect();
    let checksum = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(&bytes);
    bytes.extend(checksum.to_le_bytes());
    bytes
}

/// A word that is often near the ends of what is allowed.
fn word() -> impl Strategy<Value = i32> {
    prop_oneof![
        any::<i32>(),
        -2..4i32,
        Just(Ratio::ONE.to_bits()),
        (0..30u32).prop_map(|bits| 1 << bits),
        (0..1i32 << 18),
    ]
}

fn power_on() -> (Config, Settings, u32) {
    let config = config();
    let (settings, digest) = (config.build().unwrap(), settings_digest(&config));
    (config, settings, digest)
}

/// One tick with nothing on the wires but a clock and some switches.
fn tick_with(settings: &Settings, state: &mut State, number: u64, switches: u16) -> Outputs {
    let now = Instant::from_micros(1_000_000 + number * 10_000);
    step(settings, state, &Inputs { now, switches: SwitchBits(switches), ..Inputs::default() })
}

fn tick(settings: &Settings, state: &mut State, number: u64) -> Outputs {
    tick_with(settings, state, number, 0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn any_bytes_are_refused(bytes: Vec<u8>, settings: u32) {
        // By chance they pass once in 2^96.
        prop_assert!(Learned::from_bytes(&bytes, settings).is_err());
    }

    #[test]
    fn any_words_are_refused_or_within_range(words in proptest::collection::vec(word(), 18)) {
        let (_, settings, digest) = power_on();
        let head = [1, digest.cast_signed()];
        let bytes = record(&[&head[..], &words].concat());
        if let Ok(learned) = Learned::from_bytes(&bytes, digest) {
            prop_assert_eq!(&learned.to_bytes(digest)[..], &bytes[..], "one record, two ways to write it");
            prop_assert!(learned.valve.magnitude() <= MOST_LEARNED);
            for ticket in 0..4 {
                let factor = learned.hay.factor(ticket);
                prop_assert!(factor >= Ratio::from_milli(250) && factor <= Ratio::from_milli(4_000));
            }
            let mut state = State::with_learned(&settings, &learned);
            for number in 0..3 {
                let view = tick(&settings, &mut state, number).view;
                prop_assert!(view.left >= Mass::ZERO && view.bite > Bite::ZERO, "{view:?}");
            }
            let again = state.learned();
            prop_assert_eq!(Learned::from_bytes(&again.to_bytes(digest), digest), Ok(again));
        }
    }

    #[test]
    fn words_within_range_are_taken(
        lots in proptest::array::uniform4((16_384..=262_144i32, 0..=255i32)),
        ticket in 0..4i32,
        bale in (0..=i32::MAX, 16_384..=262_144i32, 0..=22_500i32 << 16),
        doubt in (-(150i32 << 20)..=150 << 20, 0..=1i32 << 24),
        lesson in (0..=i32::MAX, 0..=i32::MAX, 0..=i32::MAX),
        valve in -MOST_LEARNED.to_bits()..=MOST_LEARNED.to_bits(),
        settings: u32,
    ) {
        let mut words = vec![1, settings.cast_signed()];
        words.extend(lots.iter().flat_map(|(factor, bales)| [*factor, *bales]));
        words.extend([ticket, bale.0, bale.1, bale.2, doubt.0, doubt.1]);
        words.extend([lesson.0, lesson.1, lesson.2, valve]);
        let bytes = record(&words);
        let learned = Learned::from_bytes(&bytes, settings).unwrap();
        prop_assert_eq!(&learned.to_bytes(settings)[..], &bytes[..]);
        prop_assert_eq!(learned.hay.left(), Some(Mass::from_bits(bale.0)));
        prop_assert_eq!(learned.valve.to_bits(), valve);
    }

    #[test]
    fn harm_to_any_bit_is_noticed(at in 0..LEARNED_BYTES, bit in 0..8u32) {
        let (_, settings, digest) = power_on();
        let mut bytes = State::new(&settings).learned().to_bytes(digest);
        bytes[at] ^= 1 << bit;
        prop_assert_eq!(Learned::from_bytes(&bytes, digest), Err(LearnedError::Damaged));
    }
}

#[test]
fn what_is_of_another_version_or_of_other_settings_is_refused() {
    let (config, settings, digest) = power_on();
    let mut state = State::new(&settings);
    let _ = tick(&settings, &mut state, 0);
    let learned = state.learned();
    let bytes = learned.to_bytes(digest);
    assert_eq!(Learned::from_bytes(&bytes, digest), Ok(learned));
    assert_eq!(Learned::from_bytes(&bytes[..BODY], digest), Err(LearnedError::Damaged));

    let words: Vec<i32> =
        bytes[..BODY].as_chunks().0.iter().map(|word| i32::from_le_bytes(*word)).collect();
    let newer = record(&[&[2], &words[1..]].concat());
    assert_eq!(Learned::from_bytes(&newer, digest), Err(LearnedError::Version));

    let mut heavier = config.clone();
    heavier.tickets[0].mass_g += 1;
    let other = settings_digest(&heavier);
    assert_eq!(Learned::from_bytes(&bytes, other), Err(LearnedError::Settings));
    let mut valve = config.clone();
    valve.metering.dead_band_permille += 1;
    assert_ne!(settings_digest(&valve), digest);
}

#[test]
fn another_rate_forgets_nothing() {
    let mut thicker = config();
    thicker.metering.target_g_per_m += 1_000;
    thicker.safety.pressure_limit_kpa += 100;
    assert_eq!(settings_digest(&thicker), settings_digest(&config()));
}

/// A controller after power-on, its bale used up to a share of its full mass.
fn with_left(settings: &Settings, digest: u32, halvings: u32) -> (State, Mass) {
    let mut state = State::new(settings);
    let left = tick(settings, &mut state, 0).view.left.halved(halvings);
    let mut words: Vec<i32> = state.learned().to_bytes(digest)[..BODY]
        .as_chunks()
        .0
        .iter()
        .map(|word| i32::from_le_bytes(*word))
        .collect();
    words[11] = left.to_bits();
    let learned = Learned::from_bytes(&record(&words), digest).unwrap();
    let state = State::with_learned(settings, &learned);
    assert_eq!(state.learned(), learned);
    (state, left)
}

/// The account goes on where it was, and a state from it keeps the same again.
#[test]
fn a_bale_in_hand_is_gone_on_with() {
    let (_, settings, digest) = power_on();
    let nothing = State::new(&settings).learned();
    assert_eq!(nothing.hay.left(), None);
    assert_eq!(Learned::from_bytes(&nothing.to_bytes(digest), digest), Ok(nothing));
    let (mut state, half) = with_left(&settings, digest, 1);
    for number in 1..20 {
        let arm = if number > 10 { SwitchBits::ARM } else { 0 };
        assert_eq!(tick_with(&settings, &mut state, number, arm).view.left, half);
    }
}

/// A bale that may be over is taken for a new one by whoever arms, once, and not before.
#[test]
fn a_bale_that_may_be_over_is_a_new_one_when_somebody_arms() {
    let (_, settings, digest) = power_on();
    let (mut state, little) = with_left(&settings, digest, 4);
    for number in 1..30 {
        assert_eq!(tick(&settings, &mut state, number).view.left, little);
    }
    let full = little.to_milli() * 16;
    let mut arm = |number| tick_with(&settings, &mut state, number, SwitchBits::ARM).view.left;
    let left = (30..60).map(&mut arm).last().unwrap().to_milli();
    assert!((left - full).abs() < 20, "{left} of {full}");
}
