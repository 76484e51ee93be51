//! The store of settings under power cuts at every operation: always the old set or the new one, never
//! a mixture, never one out of range.
//!
//! `STREWN_CUT_WRITES=10000` and `STREWN_RANDOM_WRITES=100000000` make the two runs as long as that.

use super::flash::{ERASE, Flash, Noise, PIECES, PowerCut};
use crc::{CRC_32_ISO_HDLC, Crc};
use strewn_controller::drivers::store::{MOST, Store, StoreError};
use strewn_controller::learned::{Learned, settings_digest};
use strewn_controller::settings::{
    Config, Core, Field, MeteringConfig, SafetyConfig, TicketConfig,
};
use strewn_controller::step::{State, step};
use strewn_controller::wires::Inputs;

const START: u32 = 1_024;
const SLOT: u32 = 1_024;

fn open<const WRITE: usize>(flash: Flash<WRITE>) -> Store<Flash<WRITE>> {
    Store::open(flash, START, SLOT).expect("reading needs no power here")
}

fn load<const WRITE: usize>(store: &mut Store<Flash<WRITE>>) -> Option<Vec<u8>> {
    store.load().expect("reading needs no power here").map(<[u8]>::to_vec)
}

fn times(variable: &str, ordinary: u64) -> u64 {
    std::env::var(variable).map_or(ordinary, |text| text.parse().expect("a number"))
}

/// A value of a setting within its range.
fn within(fields: &[Field], name: &str, noise: &mut Noise) -> i32 {
    let field = fields.iter().find(|field| field.name == name).expect(name);
    let width = u64::try_from(i64::from(field.high) - i64::from(field.low) + 1).unwrap();
    field.low + i32::try_from(noise.below(width)).unwrap()
}

/// Some settings that a person could make, as bytes.
fn settings(noise: &mut Noise) -> Vec<u8> {
    let ticket = |noise: &mut Noise| TicketConfig {
        mass_g: 400_000 + i32::try_from(noise.below(200_000)).unwrap(),
        diameter_mm: 1_524,
        bite_g: 6_500,
        core: Core::Even,
    };
    let config = Config {
        signals: Default::default(),
        estimate: Default::default(),
        metering: MeteringConfig {
            target_g_per_m: within(MeteringConfig::FIELDS, "target_g_per_m", noise),
            ..MeteringConfig::TYPICAL
        },
        safety: SafetyConfig {
            above_patience_ms: within(SafetyConfig::FIELDS, "above_patience_ms", noise),
            ..SafetyConfig::TYPICAL
        },
        tickets: (0..=noise.below(2)).map(|_| ticket(noise)).collect(),
    };
    let mut room = [0; MOST];
    postcard::to_slice(&config, &mut room).expect("settings fit").to_vec()
}

/// Settings read back are such that the controller takes them.
fn assert_in_range(bytes: &[u8]) {
    let config: Config = postcard::from_bytes(bytes).expect("settings as they were written");
    config.build().expect("settings in their ranges");
}

/// Every write is tried with the power cut at each of its operations in turn, then done.
fn cut_everywhere<const WRITE: usize>(writes: u64) -> u64 {
    let mut noise = Noise(0x5EED);
    let mut store = open(Flash::<WRITE>::new(1));
    let mut old: Option<Vec<u8>> = None;
    let mut cuts = 0;
    for _ in 0..writes {
        let new = settings(&mut noise);
        let before = store.release();
        let mut after = open(Flash { done: 0, ..before.clone() });
        after.save(&new).expect("the power holds");
        let after = after.release();
        for left in 0..after.done {
            let mut cut =
                open(Flash { left: Some(left), noise: Noise(noise.next() | 1), ..before.clone() });
            assert_eq!(cut.save(&new), Err(StoreError::Flash(PowerCut)));
            let mut again = open(Flash { left: None, ..cut.release() });
            let found = load(&mut again);
            assert!(found == old || found.as_ref() == Some(&new), "mixed, cut {left}");
            if let Some(found) = &found {
                assert_in_range(found);
            }
            again.save(&new).expect("a store that lost its power once works on");
            assert_eq!(load(&mut again).as_ref(), Some(&new));
            cuts += 1;
        }
        assert_eq!(&after.bytes[..ERASE], &[0xFF; ERASE], "the neighbour before");
        assert_eq!(&after.bytes[ERASE * (PIECES - 1)..], &[0xFF; ERASE], "the neighbour after");
        store = open(after);
        assert_eq!(load(&mut store).as_ref(), Some(&new));
        old = Some(new);
    }
    cuts
}

#[test]
fn a_cut_at_any_operation_leaves_the_old_settings_or_the_new() {
    let writes = times("STREWN_CUT_WRITES", 60);
    let cuts = cut_everywhere::<4>(writes) + cut_everywhere::<16>(writes);
    println!("{writes} writes of settings in pieces of 4 and of 16 bytes, {cuts} cuts");
    assert!(cuts > writes * 10);
}

#[test]
fn random_writes_and_cuts_never_mix() {
    let writes = times("STREWN_RANDOM_WRITES", 20_000);
    let mut noise = Noise(0xFEED);
    let mut flash = Flash::<8>::new(3);
    let (mut old, mut cuts) = (None, 0u64);
    let mut new = Vec::new();
    for _ in 0..writes {
        let length = usize::try_from(noise.below(40)).unwrap();
        new.clear();
        new.extend((0..length).map(|_| noise.next().to_le_bytes()[0]));
        // Some cuts lie behind the last operation and cut nothing.
        flash.left = (noise.below(2) == 0).then(|| noise.below(12));
        let mut store = open(flash);
        let saved = store.save(&new);
        flash = store.release();
        flash.left = None;
        let mut store = open(flash);
        let found = store.load().expect("reading needs no power here");
        let is_new = found == Some(&new[..]);
        assert!(is_new || (saved.is_err() && found == old.as_deref()), "mixed");
        cuts += u64::from(saved.is_err());
        if is_new {
            old = Some(new.clone());
        }
        flash = store.release();
    }
    println!("{writes} random writes, {cuts} of them cut");
    assert!(cuts > writes / 10);
}

#[test]
fn what_does_not_fit_is_refused_and_changes_nothing() {
    let mut store = open(Flash::<4>::new(1));
    assert_eq!(store.load(), Ok(None));
    store.save(&[7; MOST]).unwrap();
    assert_eq!(store.save(&[8; MOST + 1]), Err(StoreError::TooLong));
    assert_eq!(store.load(), Ok(Some(&[7; MOST][..])));
    store.save(&[]).unwrap();
    assert_eq!(store.load(), Ok(Some(&[][..])));
    for (start, slot) in
        [(100, SLOT), (START, 512), (START, 1_500), (3_072, SLOT), (u32::MAX, SLOT)]
    {
        let refused = Store::open(Flash::<4>::new(1), start, slot).err();
        assert_eq!(refused, Some(StoreError::Layout), "{start} {slot}");
    }
    assert!(Store::open(Flash::<5>::new(1), START, SLOT).is_err(), "a piece that divides no mark");
}

/// Check values of the polynomials used: Greg Cook, Catalogue of parametrised CRC algorithms, 2023,
/// entry CRC-32/ISO-HDLC.
#[test]
fn the_checksum_is_the_one_named() {
    assert_eq!(Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(b"123456789"), 0xCBF4_3926);
}

/// What was learned is kept as settings are: after a cut at any operation that of this bale or of the
/// last one is there, and wholly to be believed.
#[test]
fn what_was_learned_outlasts_a_cut_at_any_operation() {
    let ticket =
        TicketConfig { mass_g: 450_000, diameter_mm: 1_524, bite_g: 6_500, core: Core::Even };
    let config = Config {
        signals: Default::default(),
        estimate: Default::default(),
        metering: MeteringConfig::TYPICAL,
        safety: SafetyConfig::TYPICAL,
        tickets: [ticket].into_iter().collect(),
    };
    let (settings, digest) = (config.build().unwrap(), settings_digest(&config));
    let mut state = State::new(&settings);
    let old = state.learned();
    let _ = step(&settings, &mut state, &Inputs::default());
    let new = state.learned();
    assert_ne!(old, new);
    let mut store = open(Flash::<8>::new(1));
    store.save(&old.to_bytes(digest)).expect("the power holds");
    let before = store.release();
    for left in 0..40 {
        let mut cut = open(Flash { left: Some(left), ..before.clone() });
        let saved = cut.save(&new.to_bytes(digest)).is_ok();
        let found = load(&mut open(Flash { left: None, ..cut.release() })).expect("one of the two");
        let learned = Learned::from_bytes(&found, digest);
        assert!(learned == Ok(new) || (!saved && learned == Ok(old)), "cut {left}");
    }
}
