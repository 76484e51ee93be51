//! Hay losses against published feeding trials and worked money examples.

use strewn::compare::defaults::{WAYS, farm, stored, ways};
use strewn::compare::practice::{HERD_WITHIN, TIME_WITHIN, checks};
use strewn::compare::{Answer, Question};
use strewn::loss::{Store, before_loss, compound_loss};
use strewn::plan::{Farm, make};
use strewn::units::KG_PER_LB;

#[track_caller]
fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected}");
}

/// Usual loss of a way: lowest, likeliest, highest, per cent.
fn loss(name: &str) -> [f64; 3] {
    let index = WAYS.iter().position(|way| *way == name).unwrap();
    let loss = ways()[index].loss;
    [loss.low, loss.mode, loss.high].map(|share| 100.0 * share)
}

#[test]
fn feeders_in_a_trial() {
    // Buskirk et al., J. Anim. Sci., 2003 (abstract; table by University of Illinois Extension): hay that
    // disappeared and that was wasted, lb a head and day; printed waste % and intake.
    for (gone, wasted, percent, eaten) in [
        (26.4, 0.9, 3.5, 25.3),
        (26.6, 1.5, 6.1, 25.1),
        (30.5, 3.5, 11.4, 27.0),
        (28.3, 4.2, 14.6, 24.2),
    ] {
        near(100.0 * wasted / gone, percent, 0.6);
        near(gone - wasted, eaten, 0.25);
        // What must be fed follows from what is eaten and the share lost.
        near(before_loss(gone - wasted, wasted / gone), gone, 1e-9);
    }
    near(loss("ring with a cone")[1], 3.5, 1e-9);
    near(loss("open ring")[1], 6.1, 1e-9);
    near(loss("wagon")[1], 11.4, 1e-9);
}

#[test]
fn usual_losses_hold_what_was_published() {
    let holds = |name, percent: f64| {
        let [low, _, high] = loss(name);
        assert!(low - 1e-9 <= percent && percent <= high + 1e-9, "{name}: {percent} %");
    };
    // Lalman, Oklahoma State University, tabled by University of Illinois Extension.
    holds("ring with a cone", 5.3);
    holds("open ring", 20.5);
    // Bell and Martz, University of Missouri, 1973, as tabled by Boyles, Ohio State University: with and
    // without a rack.
    holds("open ring", 9.0);
    holds("whole bale on open ground", 45.0);
    // Boyles, Ohio State University: no restriction.
    holds("whole bale on open ground", 25.0);
    // Lakeland study told by Yaremcio, Canadian Cattlemen: about 20 % of grazed bales is not eaten.
    holds("whole bale on open ground", 20.0);
    // Cash, Montana State Extension: ranches lose 25 % on average and can near 50.
    holds("whole bale on open ground", 25.0);
    let worst = WAYS.iter().map(|way| loss(way)[2]).fold(0.0, f64::max);
    assert!((40.0..=50.0).contains(&worst), "{worst} %");
    // Schnakenberg, University of Missouri Extension, 2011: row on the ground, a day's supply, several
    // days'; ring about 5.
    holds("unrolled on the ground", 12.0);
    holds("unrolled on the ground", 40.0);
    holds("open ring", 5.0);
    // Thesis, University of Tennessee (Bledsoe, adviser): behind a panel, roofed and unroofed bunk.
    holds("open ring", 17.0);
    holds("roller feed-out into a bunk", 7.0);
    holds("roller feed-out into a bunk", 9.0);
}

#[test]
fn hay_wasted_in_pounds_and_dollars() {
    // Lalman, Oklahoma State University, tabled by University of Illinois Extension: 1,200-lb bales at
    // 70 USD, 180 of them.
    for (percent, pounds, a_bale, a_season) in [
        (5.3, 63.6, 3.71, 667.80),
        (13.0, 156.0, 9.10, 1_638.0),
        (20.5, 246.0, 14.35, 2_583.0),
        (21.0, 252.0, 14.70, 2_646.0),
    ] {
        let share = percent / 100.0;
        near(share * 1_200.0, pounds, 1e-9);
        near(share * 70.0, a_bale, 0.005);
        near(share * 70.0 * 180.0, a_season, 0.005);
    }
}

#[test]
fn losses_divide() {
    // West Virginia Farm Bureau magazine, 2014: 48.5 tons needed, 15 % lost.
    near(before_loss(48.5, 0.15), 57.06, 0.005);
    // Levels from Hersom, University of Florida; exact.
    near(compound_loss(0.10, 0.05), 0.145, 1e-12);
    // Progressive Forage, after Huhnke, Oklahoma State University: 80 USD a ton, 20 % lost.
    near(80.0 * 0.20, 16.0, 1e-12);
    // One article (Undersander, Progressive Forage) multiplies by one plus the loss and prints 124 and
    // 161.50 USD for hay of 95; dividing is right, and that is what the program does.
    near(before_loss(95.0, 0.30), 135.71, 0.005);
    near(before_loss(95.0, 0.70), 316.67, 0.005);
    assert!((before_loss(95.0, 0.30) - 124.0).abs() > 10.0);
    // Humphrey, University of Missouri: 303 bales fall to 242 at 55 USD.
    near((303.0 - 242.0) * 55.0, 3_355.0, 1e-9);
}

#[test]
fn stored_hay_in_a_wet_winter() {
    // Lane, University of Tennessee, told by Selk: dry matter lost from June to January, %.
    for (store, percent) in [
        (Store::Ground, 37.0),
        (Store::Raised, 29.0),
        (Store::Covered, 29.0),
        (Store::CoveredRaised, 8.0),
        (Store::GroundInNet, 19.0),
        (Store::Barn, 6.0),
    ] {
        near(100.0 * store.wet_winter_loss().unwrap(), percent, 1e-9);
    }
    assert_eq!(Store::Roof.wet_winter_loss(), None);
}

#[test]
fn stored_hay_by_time_in_store() {
    // Huhnke, Oklahoma State University BAE-1716, quoted by Selk: dry matter lost in up to 9 and in 12 to
    // 18 months, %. A barn loses less than 2.
    for (store, short, long) in [
        (Store::Ground, (5.0, 20.0), (15.0, 50.0)),
        (Store::Raised, (3.0, 15.0), (12.0, 35.0)),
        (Store::Covered, (5.0, 10.0), (10.0, 15.0)),
        (Store::CoveredRaised, (2.0, 4.0), (5.0, 10.0)),
        (Store::Roof, (2.0, 5.0), (3.0, 10.0)),
        (Store::Barn, (0.0, 2.0), (2.0, 5.0)),
    ] {
        for (months, (low, high)) in [(1.0, short), (9.0, short), (12.0, long), (18.0, long)] {
            let loss = store.loss(months);
            near(100.0 * loss.low, low, 1e-9);
            near(100.0 * loss.high, high, 1e-9);
            assert!(loss.low <= loss.middle() && loss.middle() <= loss.high);
        }
        // Between the two: with the longer, a choice of this program.
        assert_eq!(store.loss(10.0), store.loss(12.0));
    }
}

#[test]
fn stored_hay_in_other_trials() {
    let holds = |store, percent: f64| {
        let span = stored(store, 7.0);
        let [low, high] = [span.low, span.high].map(|share| 100.0 * share);
        assert!(low - 1e-9 <= percent && percent <= high + 1e-9, "{store:?}: {percent} %");
    };
    // Shinners et al., Transactions of the ASABE 52(2):409-418, 2009, Wisconsin: alfalfa outdoors in sisal,
    // in plastic twine (two figures are printed), in net wrap (two), and inside.
    for percent in [19.5, 11.3, 10.6] {
        holds(Store::Ground, percent);
    }
    holds(Store::GroundInNet, 7.3);
    holds(Store::GroundInNet, 7.2);
    holds(Store::Barn, 1.9);
    // The same: covers 4.5, between covered bales that are raised and those on the ground; pallets cut the
    // loss by about 4 points.
    assert!((0.02..=0.10).contains(&0.045));
    assert!(
        Store::CoveredRaised.loss(7.0).high < 0.045 && 0.045 < Store::Covered.loss(7.0).middle()
    );
    near(100.0 * (Store::Ground.loss(7.0).middle() - Store::Raised.loss(7.0).middle()), 4.0, 1.0);
    // Harrigan and Rotz, Applied Engineering in Agriculture 10(2):188-194, 1994, Michigan, 6 to 9 months:
    // twine inside, plastic, net and twine outside.
    holds(Store::Barn, 6.0);
    holds(Store::Covered, 9.6);
    holds(Store::GroundInNet, 16.3);
    holds(Store::Ground, 16.5);
}

#[test]
fn storage_and_feeding_compound_in_a_plan() {
    // Levels from Hersom, University of Florida: 10 % in store and 5 % at feeding are 14.5 %; exact.
    let text = "loss_percent = 5\nwinter_days = 100\n[[herd]]\nhead = 100\nweight_lb = 1000\nintake_percent = 2\n\
                [storage]\nloss_percent = 10\n[[bales]]\nmoisture_percent = 20\n";
    let winter = make(Farm::parse(text).unwrap()).unwrap().winter;
    near(winter.lost, 0.145, 1e-12);
    // 100 head eat 20 lb of dry matter on 100 days: 250,000 lb as fed at 80 % of dry matter.
    near(winter.put_up_kg / KG_PER_LB, 250_000.0 / (1.0 - 0.145), 1e-6);
    near(winter.fed_kg / KG_PER_LB, 250_000.0 / 0.95, 1e-6);
    // Nothing said of the store: nothing reckoned.
    let silent = text.replace("[storage]\nloss_percent = 10\n", "");
    let winter = make(Farm::parse(&silent).unwrap()).unwrap().winter;
    near(winter.put_up_kg, winter.fed_kg, 1e-9);
    near(winter.lost, 0.05, 1e-12);
}

#[test]
fn hay_lost_in_the_comparison_is_that_share_of_what_is_fed() {
    let answer = Answer::of(Question::default(), 1);
    for (outcome, way) in answer.outcomes.iter().zip(ways()) {
        near(outcome.lost_kg / outcome.fed_kg, way.loss.mode, 1e-12);
        let stored = farm().stored_loss.mode;
        near(outcome.lost, 1.0 - (1.0 - stored) * (1.0 - way.loss.mode), 1e-12);
    }
}

#[test]
fn daily_feeding_against_several_days() {
    // University of Nebraska Extension (Cedar County): daily-fed cattle needed 25 % less than those fed
    // every four days. The usual losses give a ratio within a tenth of it.
    use strewn::plan::ration::usual_loss;
    let ratio = before_loss(1.0, usual_loss(1.0)) / before_loss(1.0, usual_loss(4.0));
    near(ratio, 0.75, 0.1);
}

/// Common practice, no source. Where the comparison differs, its page says why; it must differ nowhere
/// else.
#[test]
fn common_practice_is_met_or_explained() {
    let differ: Vec<String> = checks(&Question::default())
        .into_iter()
        .filter(|check| !check.agrees)
        .inspect(|check| assert!(check.why.len() > 40, "{}", check.what))
        .map(|check| check.what)
        .collect();
    assert_eq!(
        differ,
        [
            "hay lost, unrolled on the ground",
            "hay lost, roller feed-out with chains",
            "hay lost, roller feed-out without chains",
            "herd from which roller feed-out without chains pays, against whole bale on open ground",
        ]
    );
    const { assert!(TIME_WITHIN <= 0.25 && HERD_WITHIN <= 3.0) }
}

/// Common practice, no source: most mess with the wagon, then ring and bare bale; unrolled and rollers
/// spread it.
#[test]
fn mess_is_ordered_as_in_practice() {
    let answer = Answer::of(Question::default(), 1);
    let nitrogen = |name: &str| {
        let index = WAYS.iter().position(|way| *way == name).unwrap();
        answer.outcomes[index].nitrogen_kg_m2
    };
    let order = [
        "wagon",
        "open ring",
        "whole bale on open ground",
        "unrolled on the ground",
        "roller feed-out without chains",
    ];
    for pair in order.windows(2) {
        assert!(nitrogen(pair[0]) > nitrogen(pair[1]), "{pair:?}");
    }
    assert!(nitrogen("whole bale on open ground") > 3.0 * nitrogen("unrolled on the ground"));
}
