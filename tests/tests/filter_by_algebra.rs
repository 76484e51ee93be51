//! The fixed-point filter of hay left and bite against the textbook's equations in f64, as the crate
//! `nalgebra` multiplies them, and what the fixed-point numbers cost of the error budget.

use nalgebra::{Matrix1x2, Matrix2, Vector2};
use proptest::prelude::*;
use strewn::random::Stream;
use strewn_controller::estimate::BaleFilter;
use strewn_controller::settings::{Core, EstimateConfig, EstimateSettings, Ticket, TicketConfig};
use strewn_controller::units::{FactorVariance, Length, Mass, Ratio, Turns};

const CONFIG: EstimateConfig = EstimateConfig::TYPICAL;

fn settings(core: Core) -> EstimateSettings {
    let ticket = TicketConfig { mass_g: 450_000, diameter_mm: 1_500, bite_g: 2_600, core };
    CONFIG.build(&[ticket]).expect("settings")
}

fn kilograms(mass: Mass) -> f64 {
    f64::from(mass.to_bits()) / f64::from(1u32 << Mass::FRACTION)
}

fn share(ratio: Ratio) -> f64 {
    f64::from(ratio.to_bits()) / f64::from(1u32 << Ratio::FRACTION)
}

/// The textbook's filter: state and covariance, the correction in Joseph's form, which keeps the
/// covariance symmetric and positive whatever the rounding.
///
/// Source: Simon, Optimal State Estimation, 2006, section 5.1 (from memory).
struct Reference {
    state: Vector2<f64>,
    covariance: Matrix2<f64>,
}

impl Reference {
    fn loaded(mass_kg: f64) -> Self {
        let deviation = |permille: i32| f64::from(permille) * 1e-3;
        let mass = mass_kg * deviation(CONFIG.ticket_mass_permille);
        let factor = deviation(CONFIG.bale_bite_permille);
        let covariance = Matrix2::new(mass * mass, 0.0, 0.0, factor * factor);
        Self { state: Vector2::new(mass_kg, 1.0), covariance }
    }

    /// The rollers turn: `expected_kg` is what a factor of one would take off.
    fn turn(&mut self, expected_kg: f64, turns: f64) {
        let transition = Matrix2::new(1.0, -expected_kg, 0.0, 1.0);
        let wander = f64::from(CONFIG.bite_wander_permille) * 1e-3;
        let noise = Matrix2::new(0.0, 0.0, 0.0, wander * wander * turns);
        self.state = transition * self.state;
        self.covariance = transition * self.covariance * transition.transpose() + noise;
    }

    fn weighed(&mut self, measured_kg: f64, variance_kg2: f64) {
        let sees = Matrix1x2::new(1.0, 0.0);
        let total = (sees * self.covariance * sees.transpose())[0] + variance_kg2;
        let gain = self.covariance * sees.transpose() / total;
        self.state += gain * (measured_kg - self.state[0]);
        let rest = Matrix2::identity() - gain * sees;
        self.covariance =
            rest * self.covariance * rest.transpose() + gain * variance_kg2 * gain.transpose();
    }

    fn deviations(&self) -> (f64, f64) {
        (self.covariance[(0, 0)].sqrt(), self.covariance[(1, 1)].sqrt())
    }
}

/// The controller's filter takes one turn of the rollers; gives what a factor of one would have taken.
fn turn(
    filter: &mut BaleFilter,
    settings: &EstimateSettings,
    ticket: &Ticket,
    turned: Turns,
) -> f64 {
    let bite = ticket.expected_bite(filter.left());
    let _ = filter.turn(settings, bite, turned, false);
    let expected = bite.over(turned);
    kilograms(expected)
}

/// How far the fixed-point filter strayed at worst: in deviations of mass and of factor.
struct Strayed {
    mass: f64,
    factor: f64,
    /// Largest relative difference of a deviation.
    deviation: f64,
}

/// A bale of which a tenth is left at the end, weighed with noise in some ticks.
fn strayed(seed: u64, core: Core, weighed_every: u64, noise_kg: f64) -> Strayed {
    let settings = settings(core);
    let ticket = *settings.ticket(0);
    let mut filter = BaleFilter::loaded(&settings, &ticket, Ratio::ONE);
    let mut reference = Reference::loaded(450.0);
    let random = Stream::root(seed);
    let truth = 1.0 + 0.2 * random.named("factor").normal(0);
    let mut true_kg = 450.0 * (1.0 + 0.05 * random.named("mass").normal(0));
    let mut worst = Strayed { mass: 0.0, factor: 0.0, deviation: 0.0 };
    let measured_variance = Mass::from_milli((noise_kg * 1e3) as i32);
    let variance = measured_variance.times(measured_variance);
    for tick in 0..12_000 {
        let rate = 1.0 + 0.8 * (tick as f64 / 700.0).sin();
        let turned = Turns::from_micro((rate * 1e4) as i32);
        let turns = f64::from(turned.to_bits()) / f64::from(1u32 << Turns::FRACTION);
        let expected_kg = turn(&mut filter, &settings, &ticket, turned);
        reference.turn(expected_kg, turns);
        true_kg -= expected_kg * truth;
        if tick % weighed_every == 0 {
            let reading_kg = true_kg + noise_kg * random.named("noise").normal(tick);
            let measured = Mass::from_milli((reading_kg * 1e3).round() as i32);
            filter.weighed(measured, variance);
            reference.weighed(
                kilograms(measured),
                f64::from(variance.to_bits()) / f64::from(1u32 << 16),
            );
        }
        let (mass, factor) = reference.deviations();
        let apart = |own: f64, other: f64, unit: f64| (own - other).abs() / unit;
        worst.mass = worst.mass.max(apart(kilograms(filter.left()), reference.state[0], mass));
        worst.factor = worst.factor.max(apart(share(filter.factor()), reference.state[1], factor));
        worst.deviation =
            worst.deviation.max(apart(kilograms(filter.left_deviation()), mass, mass)).max(apart(
                share(filter.factor_deviation(FactorVariance::ZERO)),
                factor.hypot(RIPPLE),
                factor,
            ));
        if true_kg < 45.0 {
            break;
        }
    }
    worst
}

/// What the bite ripples within less than the filter can follow is added to its own doubt.
const RIPPLE: f64 = 0.042_427;

const CORES: [Core; 2] = [Core::Even, Core::Soft { centre_permille: 500 }];

/// Two errors that are independent add as squares: an extra error of a twentieth of a deviation makes the
/// whole larger by 0.125 %. What rounding costs must be less than 0.1 % of the error budget, that is
/// 0.0447 deviations.
const BUDGET_DEVIATIONS: f64 = 0.0447;

#[test]
fn the_filter_follows_the_textbook_and_rounding_costs_a_thousandth_of_the_budget_at_most() {
    for (seed, core) in (0..6).flat_map(|seed| CORES.map(|core| (seed, core))) {
        for (every, noise_kg) in [(1, 20.0), (1, 60.0), (10, 5.0), (1_000, 8.0)] {
            let Strayed { mass, factor, deviation } = strayed(seed, core, every, noise_kg);
            println!("{core:?} {every} {noise_kg}: {mass:.4} {factor:.4} {deviation:.4}");
            assert!(mass < BUDGET_DEVIATIONS, "mass by {mass} deviations: {core:?} {every}");
            assert!(factor < BUDGET_DEVIATIONS, "factor by {factor} deviations: {core:?} {every}");
            assert!(deviation < 0.02, "a deviation by {deviation}: {core:?} {every}");
        }
    }
}

/// Hay left at a radius, as the solid of revolution has it in closed form.
fn exact_share(core: Core, radius: f64) -> f64 {
    let mass = |radius: f64| match core {
        Core::Even => radius * radius,
        Core::Soft { centre_permille } => {
            let centre = f64::from(centre_permille) * 1e-3;
            radius * radius * (centre + (1.0 - centre) * radius * 2.0 / 3.0)
        }
        Core::Dense { ratio_permille, radius_permille } => {
            let (ratio, edge) =
                (f64::from(ratio_permille) * 1e-3, f64::from(radius_permille) * 1e-3);
            let inner = radius.min(edge);
            ratio * inner * inner + radius * radius - inner * inner
        }
    };
    mass(radius) / mass(1.0)
}

fn any_core() -> impl Strategy<Value = Core> {
    prop_oneof![
        Just(Core::Even),
        (100..=1_000i32).prop_map(|centre_permille| Core::Soft { centre_permille }),
        (1_000..=4_000i32, 50..=800i32).prop_map(|(ratio_permille, radius_permille)| Core::Dense {
            ratio_permille,
            radius_permille
        }),
    ]
}

proptest! {
    /// What the gauge's radius says is left, against exact geometry: to a ten-thousandth of the bale.
    #[test]
    fn hay_left_at_a_radius_is_that_of_the_solid(core in any_core(), radius_mm in 0..=750i32) {
        let settings = settings(core);
        let left = settings.ticket(0).left_at_radius(Length::from_milli(radius_mm));
        let exact = exact_share(core, f64::from(radius_mm) / 750.0);
        prop_assert!((kilograms(left) / 450.0 - exact).abs() < 1e-4, "{left:?} for {exact}");
    }
}
