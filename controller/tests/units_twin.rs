//! Quantities against a twin in 128-bit integers, over the whole range and its ends.
//!
//! Outside: the twin uses the language's own division and no rounding but the one stated.

use proptest::prelude::*;
use strewn_controller::units::arith::{divide_wide, narrow, product, quotient, root, shift_round};
use strewn_controller::units::*;

/// Any 32-bit number, with the ends, small ones and powers of two as often as all others.
fn bits() -> impl Strategy<Value = i32> {
    prop_oneof![
        any::<i32>(),
        -1_000..1_000i32,
        (0..31u32, -1..=1i32, any::<bool>()).prop_map(|(power, aside, negative)| {
            let near = (1i32 << power).saturating_add(aside);
            if negative { -near } else { near }
        }),
        prop_oneof![Just(i32::MIN), Just(i32::MIN + 1), Just(i32::MAX), Just(0)],
    ]
}

fn clamped(exact: i128) -> i32 {
    exact.clamp(i32::MIN.into(), i32::MAX.into()).try_into().expect("clamped")
}

/// The nearest multiple of 2^shift, halves up.
fn rounded(exact: i128, shift: u32) -> i128 {
    let unit = 1i128 << shift;
    (exact * 2 + unit).div_euclid(unit * 2)
}

fn product_twin(a: i32, b: i32, shift: u32) -> i32 {
    clamped(rounded(i128::from(a) * i128::from(b), shift))
}

fn quotient_twin(a: i32, b: i32, shift: u32) -> i32 {
    match (i128::from(a) << shift, i128::from(b)) {
        (wide, 0) => clamped(wide.signum() << 40),
        (wide, divisor) => clamped(wide / divisor),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn narrowing_keeps_what_fits_and_saturates_the_rest(wide: i64) {
        prop_assert_eq!(narrow(wide), clamped(wide.into()));
    }

    #[test]
    fn shifting_rounds_to_nearest_over_the_whole_range(
        wide in prop_oneof![any::<i64>(), i64::MAX - 9..=i64::MAX, i64::MIN..=i64::MIN + 9],
        shift in 0..=62u32,
    ) {
        prop_assert_eq!(i128::from(shift_round(wide, shift)), rounded(wide.into(), shift));
    }

    #[test]
    fn a_product_is_within_half_a_last_place(a in bits(), b in bits(), shift in 0..=62u32) {
        prop_assert_eq!(product(a, b, shift), product_twin(a, b, shift));
    }

    #[test]
    fn a_quotient_is_the_truncated_one(a in bits(), b in bits(), shift in 0..=32u32) {
        prop_assert_eq!(quotient(a, b, shift), quotient_twin(a, b, shift));
    }

    #[test]
    fn long_division_agrees_with_the_language(
        numerator in any::<u64>(), denominator: u32, shift in 0..64u32,
    ) {
        let numerator = numerator >> shift;
        let twin = numerator.checked_div(denominator.into()).unwrap_or(numerator.min(1) * u64::MAX);
        prop_assert_eq!(u64::from(divide_wide(numerator, denominator)), twin.min(u32::MAX.into()));
    }

    #[test]
    fn long_division_undoes_a_product(
        quotient in prop_oneof![any::<u32>(), u32::MAX - 9..=u32::MAX, 0xFFF0..0x1_000Fu32],
        denominator in prop_oneof![1..=u32::MAX, 0x7FFF_0000..0x8001_0000u32, 1..0x2_0000u32],
        rest: u32,
    ) {
        // Reaches the second correction of a digit, which random numerators seldom do.
        let numerator = u64::from(quotient) * u64::from(denominator) + u64::from(rest % denominator);
        prop_assert_eq!(divide_wide(numerator, denominator), quotient);
    }

    #[test]
    fn a_root_is_the_largest_whose_square_fits(
        number in prop_oneof![
            any::<u32>(),
            (any::<u16>(), -1..=1i32).prop_map(|(root, aside)| {
                (u32::from(root) * u32::from(root)).saturating_add_signed(aside)
            }),
        ],
        shift in 0..32u32,
        half_places in 0..=16u32,
    ) {
        let (number, places) = (number >> shift, 2 * half_places);
        let (square, found) = (u128::from(number) << places, u128::from(root(number, places)));
        prop_assert!(found * found <= square && (found + 1) * (found + 1) > square);
    }

    #[test]
    fn a_ratio_has_a_root_and_a_complement(ratio in bits()) {
        let square = i128::from(ratio.max(0)) << Ratio::FRACTION;
        let found = i128::from(Ratio::from_bits(ratio).square_root().to_bits());
        prop_assert!(found * found <= square && (found + 1) * (found + 1) > square);
        let complement = clamped(i128::from(Ratio::ONE.to_bits()) - i128::from(ratio));
        prop_assert_eq!(Ratio::from_bits(ratio).complement().to_bits(), complement);
    }

    #[test]
    fn time_saturates_and_never_runs_backwards(at: u64, span: u32, other: u32, millis: u32) {
        let (start, passed) = (Instant::from_micros(at), Span::from_micros(span));
        let later = start.later_by(passed);
        prop_assert_eq!(later.to_micros(), at.saturating_add(span.into()));
        prop_assert_eq!(start.since(later), Span::ZERO);
        prop_assert_eq!(u64::from(later.since(start).to_micros()), later.to_micros() - at);
        let twin = |exact: i64| exact.clamp(0, u32::MAX.into());
        let (wide, other_wide) = (i64::from(span), i64::from(other));
        let other = Span::from_micros(other);
        prop_assert_eq!(i64::from(passed.saturating_add(other).to_micros()), twin(wide + other_wide));
        prop_assert_eq!(i64::from(passed.saturating_sub(other).to_micros()), twin(wide - other_wide));
        let long = Span::from_millis(millis).to_micros();
        prop_assert_eq!(i64::from(long), twin(i64::from(millis) * 1_000));
    }

    #[test]
    fn the_time_since_a_capture_is_told_across_its_wraps(
        now in 1u64 << 32..1 << 60, aside in 1 - (1i64 << 31)..=1 << 31,
    ) {
        let captured = now.checked_add_signed(aside).expect("far from the ends");
        let low = u32::try_from(captured & 0xFFFF_FFFF).expect("32 bits");
        prop_assert_eq!(i64::from(Instant::from_micros(now).since_low(low)), -aside);
    }

    #[test]
    fn microseconds_become_seconds_to_the_last_place(
        micros in prop_oneof![any::<u32>(), 0..200_000u32, 127_000_000..129_000_000u32],
    ) {
        let found = Seconds::from_micros(micros);
        let error = i64::from(found.to_bits()) * 1_000_000 - (i64::from(micros) << 24);
        // Half a last place, and what the factor is short by.
        prop_assert!(error.abs() <= 503_000 || micros >= 127_999_999 && found == Seconds::MAX);
        prop_assert_eq!(Span::from_micros(micros).seconds(), found);
    }
}

/// Every quantity against the twin, method by method.
macro_rules! quantities {
    ($($name:ident)*) => {
        const QUANTITIES: &[&str] = &[$(stringify!($name)),*];

        proptest! {
            #![proptest_config(ProptestConfig::with_cases(1_000))]

            #[test]
            fn every_quantity_adds_scales_and_compares_as_its_twin(
                a in bits(), b in bits(), low in bits(), times in 0..=31u32,
            ) {
                let (wide_a, wide_b) = (i128::from(a), i128::from(b));
                $({
                    let (left, right) = ($name::from_bits(a), $name::from_bits(b));
                    prop_assert_eq!($name::ONE.to_bits(), 1 << $name::FRACTION);
                    prop_assert_eq!(left.saturating_add(right).to_bits(), clamped(wide_a + wide_b));
                    prop_assert_eq!(left.saturating_sub(right).to_bits(), clamped(wide_a - wide_b));
                    prop_assert_eq!(left.negated().to_bits(), clamped(-wide_a));
                    prop_assert_eq!(left.magnitude().to_bits(), clamped(wide_a.abs()));
                    let scaled = product_twin(a, b, Ratio::FRACTION);
                    prop_assert_eq!(left.scaled(Ratio::from_bits(b)).to_bits(), scaled);
                    let share = quotient_twin(a, b, Ratio::FRACTION);
                    prop_assert_eq!(left.share_of(right).to_bits(), share);
                    prop_assert_eq!(left.halved(times).to_bits(), clamped(rounded(wide_a, times)));
                    let held = left.held_within($name::from_bits(low), right).to_bits();
                    prop_assert_eq!(held, a.max(low).min(b));
                })*
            }

            #[test]
            fn every_quantity_counts_in_thousandths(a in bits()) {
                $({
                    let exact = i128::from(a) << $name::FRACTION;
                    let found = i128::from($name::from_milli(a).to_bits());
                    let end = clamped(exact / 1_000);
                    let near = (found * 1_000 - exact).abs() <= 550;
                    let saturated = (end == i32::MAX || end == i32::MIN) && found == i128::from(end);
                    prop_assert!(near || saturated, "{} {a} gives {found}", stringify!($name));
                    let found = i128::from($name::from_micro(a).to_bits());
                    // Half a last place, and what the factor is off by at the end of the range.
                    let near = (found * 1_000_000 - exact).abs() <= 1_300_000;
                    let end = clamped(exact / 1_000_000);
                    let saturated = (end == i32::MAX || end == i32::MIN) && found == i128::from(end);
                    prop_assert!(near || saturated, "{} {a} millionths", stringify!($name));
                    prop_assert_eq!($name::from_whole(a).to_bits(), clamped(exact));
                    let milli = product_twin(a, 1_000, $name::FRACTION);
                    prop_assert_eq!($name::from_bits(a).to_milli(), milli);
                })*
            }
        }
    };
}

/// Every relation against the twin.
macro_rules! relations {
    (
        products { $($pa:ident . $pn:ident ( $pb:ident ) -> $pc:ident;)* }
        quotients { $($qa:ident . $qn:ident ( $qb:ident ) -> $qc:ident;)* }
    ) => {
        const RELATIONS: &[[&str; 4]] = &[
            $([stringify!($pa), stringify!($pn), stringify!($pb), stringify!($pc)],)*
            $([stringify!($qa), stringify!($qn), stringify!($qb), stringify!($qc)],)*
        ];

        proptest! {
            #![proptest_config(ProptestConfig::with_cases(2_000))]

            #[test]
            fn every_relation_is_the_product_or_quotient_it_claims(a in bits(), b in bits()) {
                $({
                    let found = $pa::from_bits(a).$pn($pb::from_bits(b)).to_bits();
                    let shift = $pa::FRACTION + $pb::FRACTION - $pc::FRACTION;
                    prop_assert_eq!(found, product_twin(a, b, shift), "{}", stringify!($pa $pn));
                })*
                $({
                    let found = $qa::from_bits(a).$qn($qb::from_bits(b)).to_bits();
                    let shift = $qc::FRACTION + $qb::FRACTION - $qa::FRACTION;
                    prop_assert!(shift <= 32);
                    prop_assert_eq!(found, quotient_twin(a, b, shift), "{}", stringify!($qa $qn));
                })*
            }
        }
    };
}

quantities! {
    Ratio Seconds Length Speed Acceleration Mass MassFlow LineRate Turns TurnRate Bite Pressure Duty
    Frequency ValveGain PressurePerMass MassVariance MassFactorCovariance FactorVariance PerMass
}

relations! {
    products {
        Speed.over(Seconds) -> Length;
        Acceleration.over(Seconds) -> Speed;
        LineRate.flow_at(Speed) -> MassFlow;
        LineRate.over(Length) -> Mass;
        MassFlow.over(Seconds) -> Mass;
        TurnRate.over(Seconds) -> Turns;
        Bite.flow_at(TurnRate) -> MassFlow;
        Bite.over(Turns) -> Mass;
        Mass.times(Mass) -> MassVariance;
        Frequency.over(Seconds) -> Ratio;
        ValveGain.duty_for(TurnRate) -> Duty;
        PressurePerMass.of(Mass) -> Pressure;
        FactorVariance.times_mass(Mass) -> MassFactorCovariance;
        FactorVariance.over(Turns) -> FactorVariance;
        MassFactorCovariance.times_mass(Mass) -> MassVariance;
        Mass.paced(Frequency) -> MassFlow;
        PerMass.of(Mass) -> Ratio;
        PerMass.of_covariance(MassFactorCovariance) -> FactorVariance;
    }
    quotients {
        MassFlow.turn_rate_with(Bite) -> TurnRate;
        MassFlow.speed_for(LineRate) -> Speed;
        MassFlow.rate_at(Speed) -> LineRate;
        Length.within(Seconds) -> Speed;
        Speed.gained_within(Seconds) -> Acceleration;
        Ratio.per(Mass) -> PerMass;
        MassFactorCovariance.per(MassVariance) -> PerMass;
    }
}

#[test]
fn every_quantity_and_relation_of_the_sources_is_proved_here() {
    let source = include_str!("../src/units/relations.rs");
    let mut stated: Vec<String> = source
        .lines()
        .map(str::trim)
        .filter(|line| !line.starts_with("//") && line.contains(") -> ") && line.ends_with(';'))
        .map(str::to_owned)
        .collect();
    let mut proved: Vec<_> =
        RELATIONS.iter().map(|[a, name, b, c]| format!("{a}.{name}({b}) -> {c};")).collect();
    stated.sort_unstable();
    proved.sort_unstable();
    assert_eq!(proved, stated);

    let source = include_str!("../src/units/quantity.rs");
    let storage = ["I8F24", "I12F20", "I13F19", "I16F16"];
    let mut stated: Vec<_> = source
        .lines()
        .filter_map(|line| line.trim().split_once(": "))
        .filter(|(_, kind)| storage.contains(kind))
        .map(|(name, _)| name)
        .collect();
    let mut proved = QUANTITIES.to_vec();
    stated.sort_unstable();
    proved.sort_unstable();
    assert_eq!(proved, stated);
}
