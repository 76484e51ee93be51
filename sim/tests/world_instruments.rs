//! Instruments, actuators and tractor against the truth that they show.

use strewn::instruments::analog::{
    COUNTS_LOW, COUNTS_REFERENCE, GAUGE_HIGH_M, GAUGE_TO_AXIS_M, PRESSURE_HIGH_PA,
};
use strewn::instruments::speed::{BusSpeed, frame};
use strewn::instruments::weigh::{COUNTS_AT_ZERO, COUNTS_PER_KG};
use strewn::instruments::{InstrumentSpec, Instruments, Panel};
use strewn::random::Stream;
use strewn::units::M_S_PER_MPH;
use strewn::world::World;
use strewn::world::spec::{
    BaleSpec, Command, Condition, Hay, MachineSpec, Motion, Profile, TractorSpec,
};
use strewn::world::terrain::{Terrain, TerrainSpec};
use strewn::world::tractor::{Recorded, Tractor};
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

const DRIVING: Motion = Motion { speed_m_s: 1.34, engine_turns_s: 20.0 };

/// Runs a laden machine and shows each tick to `look`.
fn run(spec: &InstrumentSpec, seconds: u32, mut look: impl FnMut(&World, &Inputs)) {
    let mut world = World::new(&MachineSpec::default(), Stream::root(1));
    let profile = Profile::Even;
    let (diameter_m, width_m) = (1.5, 1.35);
    world.load(
        &BaleSpec {
            diameter_m,
            width_m,
            mass_kg: 500.0,
            moisture: 0.15,
            hay: Hay::Dry,
            profile,
            condition: Condition::SOUND,
        },
        0,
    );
    let mut instruments = Instruments::new(spec, Stream::root(2));
    let mut inputs = Inputs::default();
    let panel = Panel { switches: SwitchBits(SwitchBits::PRESENT), ticket: 3 };
    for step in 1..=seconds * 1000 {
        world.step(Command { duty: 0.34, enable: true }, DRIVING);
        instruments.watch(&world);
        if step % 10 == 0 {
            instruments.read(&world, panel, &mut inputs);
            look(&world, &inputs);
        }
    }
}

fn all() -> InstrumentSpec {
    InstrumentSpec {
        ground_pulses_per_m: Some(100.0),
        nmea_hz: Some(5.0),
        ..InstrumentSpec::default()
    }
}

#[test]
fn roller_edges_tell_angle_and_speed() {
    let mut before: Option<(u32, u32, f64)> = None;
    let mut worst: f64 = 0.0;
    run(&all(), 20, |world, inputs| {
        for wire in inputs.rollers {
            let pitches = world.roller_turns() * 60.0;
            assert!((f64::from(wire.count) - pitches).abs() < 1.1, "{} of {pitches}", wire.count);
        }
        let wire = inputs.rollers[0];
        assert!(u64::from(wire.last_edge_us) <= world.steps() * 1000);
        if world.steps() % 1000 == 0 {
            if let Some((count, edge_us, turns)) = before {
                let edges = f64::from(wire.count - count) / 60.0;
                let seconds = f64::from(wire.last_edge_us - edge_us) / 1e6;
                if world.time_s() > 2.0 {
                    worst =
                        worst.max((edges / seconds / (world.roller_turns() - turns) - 1.0).abs());
                }
            }
            before = Some((wire.count, wire.last_edge_us, world.roller_turns()));
        }
    });
    assert!(worst < 0.02, "speed by edge times is off by {worst}");
}

#[test]
fn counts_show_mass_pressure_and_radius() {
    let (mut weigh_kg, mut pressure_pa, mut gauge_m, mut ticks) = (0.0, 0.0, 0.0, 0.0);
    let mut sequences = 0;
    let mut last = 0;
    run(&all(), 20, |world, inputs| {
        let share = |counts: u16| (f64::from(counts) - f64::from(COUNTS_LOW)) / 3276.0;
        weigh_kg +=
            f64::from(inputs.weigh.counts - COUNTS_AT_ZERO) / COUNTS_PER_KG - world.left_kg();
        pressure_pa += share(inputs.analog.pressure) * PRESSURE_HIGH_PA - world.pressure_pa();
        let distance_m = share(inputs.analog.gauge) * GAUGE_HIGH_M;
        gauge_m += GAUGE_TO_AXIS_M - distance_m - world.bale_radius_m();
        sequences += u32::from(inputs.weigh.sequence.wrapping_sub(last));
        last = inputs.weigh.sequence;
        ticks += 1.0;
        assert!(inputs.analog.reference.abs_diff(COUNTS_REFERENCE) <= 6);
        assert_eq!((inputs.switches.0, inputs.ticket), (SwitchBits::PRESENT, 3));
        assert_eq!(inputs.now.to_micros(), world.steps() * 1000);
    });
    assert_eq!(sequences, 1600, "80 conversions a second");
    assert!((weigh_kg / ticks).abs() < 4.0, "weigh cells off by {} kg", weigh_kg / ticks);
    assert!((pressure_pa / ticks).abs() < 20_000.0, "pressure off by {} Pa", pressure_pa / ticks);
    assert!((gauge_m / ticks).abs() < 0.001, "gauge off by {} m", gauge_m / ticks);
}

#[test]
fn what_is_not_fitted_is_silent() {
    let bare = InstrumentSpec {
        roller_pulses_per_turn: 0,
        bus_speed: None,
        weigh: false,
        pressure: false,
        gauge: false,
        valve_feedback: false,
        ..InstrumentSpec::default()
    };
    run(&bare, 5, |world, inputs| {
        let mut silent = Inputs { now: inputs.now, ticket: 3, ..Inputs::default() };
        silent.switches.0 = SwitchBits::PRESENT;
        silent.analog.reference = inputs.analog.reference;
        assert_eq!(*inputs, silent, "at {} s", world.time_s());
    });
}

#[test]
fn frames_come_ten_times_a_second_in_the_standard_layout() {
    // Layout: ISO 11783-7 as coded and tested in AgIsoStack++, 2026.
    let ground = frame(BusSpeed::Ground, 9_999, 80_000);
    assert_eq!(ground.id, 0x0CFE_4945);
    assert_eq!(ground.data, [0x0F, 0x27, 0x80, 0x38, 0x01, 0x00, 0xFF, 0xFD]);
    let wheel = frame(BusSpeed::Wheel, 9_876, 5_000);
    assert_eq!((wheel.id, &wheel.data[..6]), (0x0CFE_4845, &[0x94, 0x26, 0x88, 0x13, 0, 0][..]));
    let selected = frame(BusSpeed::Selected, 1_000, 123_456);
    assert_eq!((selected.id, &selected.data[..6]), (0x0CF0_2245, &[0xE8, 3, 0x40, 0xE2, 1, 0][..]));
    // 65.5 m/s cannot be said; the highest valid speed is.
    assert_eq!(frame(BusSpeed::Ground, 65_534, 0).data[..2], [0xFF, 0xFA]);

    let mut frames = 0;
    run(&all(), 5, |_, inputs| {
        for frame in &inputs.frames {
            let speed = f64::from(u16::from_le_bytes([frame.data[0], frame.data[1]])) / 1000.0;
            assert!((speed / 1.34 - 1.0).abs() < 0.05, "{speed} m/s");
            frames += 1;
        }
    });
    assert_eq!(frames, 50);
}

#[test]
fn sentences_carry_checksum_and_speed() {
    let (mut sentences, mut last) = (0, String::new());
    run(&all(), 10, |_, inputs| {
        for sentence in &inputs.sentences {
            let text = core::str::from_utf8(sentence).expect("NMEA is ASCII").to_owned();
            let (body, sum) = text[1..].split_once('*').expect("a checksum");
            let check = body.bytes().fold(0u8, |sum, byte| sum ^ byte);
            assert_eq!(u8::from_str_radix(sum, 16), Ok(check), "{text}");
            sentences += 1;
            last = text;
        }
    });
    assert_eq!(sentences, 100, "five pairs a second");
    // One knot is 1852 m an hour by definition; 1.34 m/s are 2.60 knots.
    let knots: f64 = last.split(',').nth(5).expect("VTG field 5").parse().expect("a number");
    assert!(last.starts_with("$GNVTG") && (knots - 2.605).abs() < 0.25, "{last}");
}

#[test]
fn full_duty_is_one() {
    let command = |valve| {
        let outputs = Outputs { valve, enable: true, ..Outputs::default() };
        strewn::actuators::command(&outputs)
    };
    assert_eq!(command(i16::MAX).duty, 1.0);
    assert_eq!(command(-i16::MAX).duty, -1.0);
    assert_eq!(command(i16::MIN).duty, -1.0);
    assert_eq!(command(0), Command { duty: 0.0, enable: true });
    assert!(!strewn::actuators::command(&Outputs::default()).enable);
}

/// Whatever the enable wire says, and until it is fed again.
#[test]
fn a_watchdog_that_is_not_fed_for_50_ms_takes_the_supply_away() {
    let mut watchdog = strewn::actuators::Watchdog::default();
    let mut supplied = |feed_watchdog| {
        let outputs = Outputs { valve: 9_000, enable: true, feed_watchdog, ..Outputs::default() };
        watchdog.pass(&outputs, 0.01).enable
    };
    assert!(supplied(true));
    let unfed: Vec<bool> = (0..8).map(|_| supplied(false)).collect();
    assert_eq!(unfed, [true, true, true, true, false, false, false, false]);
    assert!(supplied(true));
}

#[test]
fn a_tractor_gains_and_loses_speed_within_its_limits_and_wanders() {
    let spec = TractorSpec::default();
    let mut tractor = Tractor::new(&spec, Stream::root(4));
    let (mut last, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for step in 0..620_000 {
        let wanted_m_s = if step < 610_000 { 1.5 } else { 0.0 };
        let motion = tractor.step(wanted_m_s);
        let gain = motion.speed_m_s - last;
        assert!(gain <= spec.acceleration_m_s2 * 1e-3 + 1e-12);
        assert!(gain >= -spec.braking_m_s2 * 1e-3 - 1e-12 && motion.speed_m_s >= 0.0);
        last = motion.speed_m_s;
        if (10_000..610_000).contains(&step) {
            sum += last / 1.5;
            squares += (last / 1.5).powi(2);
        }
    }
    let mean = sum / 600_000.0;
    let deviation = (squares / 600_000.0 - mean * mean).sqrt();
    assert_eq!(last, 0.0, "it stands in the end");
    assert!((mean - 1.0).abs() < 0.02 && (0.04..0.08).contains(&deviation), "{mean} {deviation}");
}

#[test]
fn a_recording_runs_in_straight_lines_and_ends_standing() {
    let at = |speed_m_s: f64| Motion { speed_m_s, engine_turns_s: 20.0 };
    let mut recorded =
        Recorded::new(vec![(1.0, at(1.0)), (3.0, at(2.0)), (3.0, at(4.0)), (4.0, at(0.0))]);
    for (time_s, speed_m_s) in
        [(0.0, 1.0), (1.0, 1.0), (2.0, 1.5), (3.5, 2.0), (9.0, 0.0), (2.0, 1.5)]
    {
        assert_eq!(recorded.at(time_s), at(speed_m_s), "at {time_s} s");
    }
    assert_eq!(Recorded::new(Vec::new()).at(1.0), Motion::default());
}

const HILLY: TerrainSpec = TerrainSpec { slope: 0.08, hill_m: 60.0, mud_share: 0.0, mud_slip: 0.0 };
const MUDDY: TerrainSpec = TerrainSpec { slope: 0.0, hill_m: 60.0, mud_share: 0.3, mud_slip: 0.2 };

#[test]
fn hills_and_mud_are_as_frequent_as_asked_for() {
    let (mut hilly, mut muddy) =
        (Terrain::new(&HILLY, Stream::root(1)), Terrain::new(&MUDDY, Stream::root(1)));
    let places = (0..400_000).map(|place| f64::from(place) * 0.5);
    let (mut squares, mut slipping) = (0.0, 0.0);
    let mut last = hilly.at(0.0).slope;
    for place_m in places {
        let slope = hilly.at(place_m).slope;
        assert!((slope - last).abs() < 0.01, "a hill has no steps");
        last = slope;
        squares += slope * slope / 400_000.0;
        slipping += muddy.at(place_m).slip / 0.2 / 400_000.0;
    }
    assert!((squares.sqrt() / 0.08 - 1.0).abs() < 0.05, "deviation {}", squares.sqrt());
    assert!((slipping - 0.3).abs() < 0.02, "{slipping} of the way is muddy");
    assert_eq!(Terrain::new(&TerrainSpec::default(), Stream::root(1)).at(7.0), Default::default());
}

#[test]
fn in_gear_the_throttle_sets_speed_and_oil_flow_together() {
    // 1,900 turns a minute at 3 mph; at half of that the engine makes half the turns, but idles above.
    let spec = TractorSpec {
        engine_turns_s: 1_900.0 / 60.0,
        gear_m: Some(3.0 * M_S_PER_MPH / (1_900.0 / 60.0)),
        engine_wander: 0.0,
        wander: 0.0,
        ..TractorSpec::default()
    };
    let settled = |mph: f64, terrain: &TerrainSpec| {
        let ground = Terrain::new(terrain, Stream::root(3));
        let mut tractor = Tractor::new(&spec, Stream::root(4)).over(ground);
        (0..20_000).map(|_| tractor.step(mph * M_S_PER_MPH)).last().expect("it drives")
    };
    let firm = TerrainSpec::default();
    for (mph, turns_s) in [(3.0, 1_900.0 / 60.0), (2.0, 1_900.0 / 90.0), (0.5, spec.idle_turns_s)] {
        let motion = settled(mph, &firm);
        assert!((motion.engine_turns_s / turns_s - 1.0).abs() < 1e-9, "{mph} mph: {motion:?}");
    }
    // Wheels that slip turn as fast as the engine drives them.
    let motion = settled(3.0, &TerrainSpec { mud_share: 1.0, ..MUDDY });
    assert!((motion.engine_turns_s * 60.0 / 1_900.0 - 1.0).abs() < 1e-9, "{motion:?}");
    assert!((motion.speed_m_s / (3.0 * M_S_PER_MPH) - 0.8).abs() < 1e-9, "{motion:?}");
}

#[test]
fn a_tractor_is_slower_uphill_and_in_mud() {
    let spec = TractorSpec { wander: 0.0, ..TractorSpec::default() };
    for terrain in [HILLY, MUDDY] {
        let ground = Terrain::new(&terrain, Stream::root(3));
        let mut tractor = Tractor::new(&spec, Stream::root(4)).over(ground.clone());
        let (mut ground, mut odometer_m, mut hindered) = (ground, 0.0, 0);
        for step in 0..200_000 {
            let speed_m_s = tractor.step(1.5).speed_m_s;
            odometer_m += speed_m_s * 1e-3;
            let spot = ground.at(odometer_m);
            if step > 5_000 && (spot.slope > 0.05 || spot.slip > 0.0) {
                hindered += 1;
                assert!(spot.slope == 0.0 || speed_m_s < 1.5, "{speed_m_s} m/s on {spot:?}");
            }
        }
        assert!(hindered > 10_000 && odometer_m < 1.6 * 200.0);
    }
}

#[test]
fn weigh_cells_on_a_slope_bear_the_upright_part_of_the_weight() {
    // Exact: the part square to a slope s is 1 / sqrt(1 + s^2) of the weight.
    let exact = InstrumentSpec {
        weigh_zero_kg: 0.0,
        weigh_noise_kg: 0.0,
        weigh_bounce: 0.0,
        weigh_drift_kg: 0.0,
        weigh_creep: 0.0,
        ..InstrumentSpec::default()
    };
    let steep = TerrainSpec { slope: 0.2, ..HILLY };
    let mut world = World::new(&MachineSpec::default(), Stream::root(1))
        .over(Terrain::new(&steep, Stream::root(5)));
    let mut instruments = Instruments::new(&exact, Stream::root(2));
    let mut inputs = Inputs::default();
    let mut steepest: f64 = 0.0;
    for step in 1..=60_000 {
        world.step(Command::default(), DRIVING);
        instruments.watch(&world);
        if step % 25 == 0 {
            instruments.read(&world, Panel::default(), &mut inputs);
            let slope = world.spot().slope;
            let expected_kg = 250.0 * (1.0 / (1.0 + slope * slope).sqrt() - 1.0);
            let kg = f64::from(inputs.weigh.counts - COUNTS_AT_ZERO) / COUNTS_PER_KG;
            assert!((kg - expected_kg).abs() < 0.01, "{kg} instead of {expected_kg} kg");
            steepest = steepest.max(slope.abs());
        }
    }
    assert!(steepest > 0.1);
}

#[test]
fn slipping_wheels_claim_more_than_the_ground_and_a_radar_does_not() {
    let wet = TerrainSpec { mud_share: 1.0, ..MUDDY };
    for (kind, expected) in [(BusSpeed::Wheel, 1.34 / 0.8), (BusSpeed::Ground, 1.34)] {
        let spec =
            InstrumentSpec { bus_speed: Some(kind), slip_error: 0.0, ..InstrumentSpec::default() };
        let mut world = World::new(&MachineSpec::default(), Stream::root(1))
            .over(Terrain::new(&wet, Stream::root(5)));
        let mut instruments = Instruments::new(&spec, Stream::root(2));
        let mut inputs = Inputs::default();
        for _ in 0..100 {
            world.step(Command::default(), DRIVING);
            instruments.watch(&world);
        }
        instruments.read(&world, Panel::default(), &mut inputs);
        let data = inputs.frames[0].data;
        let speed = f64::from(u16::from_le_bytes([data[0], data[1]])) / 1000.0;
        assert!((speed - expected).abs() < 2e-3, "{kind:?}: {speed} m/s");
    }
}

#[test]
fn a_receiver_without_a_fix_says_so_as_often_as_asked_for() {
    let spec = InstrumentSpec { nmea_dropouts: 0.25, ..all() };
    let (mut void, mut told) = (0.0, 0.0);
    run(&spec, 400, |_, inputs| {
        for sentence in &inputs.sentences {
            let text = core::str::from_utf8(sentence).expect("NMEA is ASCII");
            if text.starts_with("$GNRMC") {
                told += 1.0;
                let lost = text.starts_with("$GNRMC,,V,");
                void += f64::from(u8::from(lost));
            }
        }
    });
    let share = void / told;
    assert!((0.15..0.35).contains(&share), "{share} without a fix");
}

#[test]
fn dust_comes_in_short_clouds_and_the_converter_has_one_offset() {
    let spec = InstrumentSpec { gauge_dust_s: 0.5, gauge_noise_m: 0.0, ..all() };
    let (mut clouds, mut dusty) = (0, false);
    let mut references = std::collections::BTreeSet::new();
    run(&spec, 100, |world, inputs| {
        let share = (f64::from(inputs.analog.gauge) - f64::from(COUNTS_LOW)) / 3276.0;
        let near_m = GAUGE_TO_AXIS_M - world.bale_radius_m() - share * GAUGE_HIGH_M;
        assert!(near_m.abs() < 0.01 || (near_m - 0.3).abs() < 0.01, "{near_m} m");
        clouds += usize::from(near_m > 0.1 && !dusty);
        dusty = near_m > 0.1;
        references.insert(inputs.analog.reference);
    });
    assert!((25..=75).contains(&clouds), "{clouds} clouds in 100 s");
    assert_eq!(references.len(), 1);
    let offset = i32::from(*references.first().expect("one")) - i32::from(COUNTS_REFERENCE);
    assert!(offset.abs() <= 6, "{offset} counts");
}
