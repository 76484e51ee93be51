//! Stand-ins for bales that cost nothing, so that there can be many of them.

use strewn::bench::scenario::Heed;
use strewn::random::Stream;
use strewn::rivals::Law;
use strewn::study::campaign::{CampaignError, Plan};
use strewn::study::population::Population;
use strewn::study::results::{BaleResult, CoreKind, Facts, Outcome};

pub(crate) fn plan_of(text: &str, seed: u64, bales: u32) -> Plan {
    let population = Population::parse(text).expect("the population is allowed");
    Plan::new(population, text, seed, bales).expect("the plan is allowed")
}

/// A lot of results drawn from seed and number alone.
pub(crate) fn stand_in(plan: &Plan, lot: u32) -> Result<Vec<BaleResult>, CampaignError> {
    let first = lot * plan.population.bales_per_lot + 1;
    let bale = |bale: u32| {
        let random = Stream::root(plan.seed).numbered(u64::from(bale));
        let draw = |name: &str, count: u64| random.named(name).uniform(count) as f32;
        let outcome = |law: u64| Outcome {
            unevenness_3_ft: draw("short", law),
            unevenness_10_ft: draw("long", law),
            clumps: (draw("clumps", law) * 1.3) as u32,
            heaviest_lb_ft: draw("heaviest", law),
            laid_lb: 1_000.0,
            left_lb: 0.0,
            row_ft: 300.0,
            time_s: 100.0 * draw("time", law),
        };
        BaleResult {
            bale,
            lot: lot + 1,
            facts: Facts {
                core: CoreKind::ALL[(draw("core", 0) * 3.0) as usize],
                core_ratio: 1.0,
                wrapped: draw("wrapped", 0) < 0.25,
                moisture_percent: 15.0,
                diameter_ft: 5.0,
                width_ft: 4.0,
                weight_lb: 1_000.0,
                ticket_weight_lb: 1_000.0,
                target_lb_ft: 3.0,
                speed_mph: 3.0,
                speed_wander_percent: 4.0,
                heed: Heed::Late,
                weigh: true,
                pressure: false,
                gauge: true,
            },
            outcomes: (0..Law::ALL.len() as u64).map(outcome).collect(),
        }
    };
    Ok((first..first + plan.population.bales_per_lot).map(bale).collect())
}
