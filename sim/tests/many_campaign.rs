//! The same bytes however the work is split, broken off or put together. Most of these feed a stand-in
//! for bales that costs nothing, so that there are many chunks of them.

mod stand_in;

use stand_in::{plan_of, stand_in};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use strewn::rivals::Law;
use strewn::study::campaign::{CampaignError, Manner, Plan, run};
use strewn::study::feed_lot;
use strewn::study::join::{JoinError, join};
use strewn::study::summary::Summary;
use tempfile::TempDir;

/// 1,250 bales in lots of 25: three chunks, the last one half full.
const BALES: u32 = 1_250;
const POPULATION: &str = "bales_per_lot = 25\n";

fn plan() -> Plan {
    plan_of(POPULATION, 1, BALES)
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("a folder")
}

/// Feeds chunks and stops after `most` lots; gives whether all was done.
fn feed(
    plan: &Plan,
    folder: &Path,
    chunks: &[u32],
    (threads, resume, most): (usize, bool, usize),
) -> bool {
    let stop = AtomicBool::new(false);
    let manner = Manner { feed: &stand_in, folder, chunks, threads, resume, stop: &stop };
    let mut progress = |done, _| stop.store(done >= most, Ordering::Relaxed);
    run(plan, &manner, &mut progress).expect("the stand-ins feed")
}

/// The file of results and the summary.
fn joined(plan: &Plan, folders: &[&Path]) -> Result<(Vec<u8>, Summary), JoinError> {
    let mut bytes = Vec::new();
    let summary = join(plan, folders, &mut bytes)?;
    Ok((bytes, summary))
}

fn single(plan: &Plan) -> (Vec<u8>, Summary) {
    let folder = folder();
    assert!(feed(plan, folder.path(), &plan.shard(1, 1), (1, false, usize::MAX)));
    joined(plan, &[folder.path()]).expect("everything is there")
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let plan = plan();
    let one = single(&plan);
    for threads in [2, 8] {
        let folder = folder();
        assert!(feed(&plan, folder.path(), &plan.shard(1, 1), (threads, false, usize::MAX)));
        assert!(joined(&plan, &[folder.path()]).expect("everything is there") == one, "{threads}");
    }
    assert!(single(&plan_of(POPULATION, 2, BALES)).0 != one.0, "another seed gives other bytes");
}

#[test]
fn shards_merged_in_any_order_give_the_same_bytes() {
    let plan = plan();
    let folders = [folder(), folder()];
    for (shard, folder) in (1..).zip(&folders) {
        assert!(feed(&plan, folder.path(), &plan.shard(shard, 2), (2, false, usize::MAX)));
    }
    let one = single(&plan);
    let [a, b] = folders.each_ref().map(TempDir::path);
    assert!(joined(&plan, &[a, b]).expect("both shards are there") == one);
    assert!(joined(&plan, &[b, a]).expect("both shards are there") == one);
    let missing = joined(&plan, &[a]).expect_err("a shard is missing").to_string();
    assert!(missing.contains("bales 501 to 1000"), "{missing}");
}

#[test]
fn a_run_broken_off_again_and_again_gives_the_same_bytes() {
    let plan = plan();
    let folder = folder();
    let mut runs = 1;
    while !feed(&plan, folder.path(), &plan.shard(1, 1), (2, true, 7)) {
        runs += 1;
        assert!(runs < 50, "nothing is kept of what is done");
    }
    assert!(runs > 1, "it was never broken off");
    assert!(joined(&plan, &[folder.path()]).expect("everything is there") == single(&plan));
}

#[test]
fn what_is_done_is_not_fed_again() {
    let plan = plan();
    let folder = folder();
    feed(&plan, folder.path(), &plan.shard(1, 1), (2, false, usize::MAX));
    let never = |_: &Plan, lot: u32| panic!("lot {lot} is fed again");
    let stop = AtomicBool::new(false);
    let chunks = plan.shard(1, 1);
    let manner = Manner {
        feed: &never,
        folder: folder.path(),
        chunks: &chunks,
        threads: 2,
        resume: true,
        stop: &stop,
    };
    assert!(run(&plan, &manner, &mut |_, _| {}).expect("nothing is left to do"));
}

#[test]
fn a_campaign_can_be_made_longer() {
    let (short, long) = (plan_of(POPULATION, 1, 700), plan());
    let folder = folder();
    feed(&short, folder.path(), &short.shard(1, 1), (2, false, usize::MAX));
    feed(&long, folder.path(), &long.shard(1, 1), (2, true, usize::MAX));
    assert!(joined(&long, &[folder.path()]).expect("everything is there") == single(&long));
}

#[test]
fn parts_of_another_campaign_and_damaged_ones_are_refused() {
    let plan = plan();
    let folder = folder();
    feed(&plan, folder.path(), &plan.shard(1, 1), (2, false, usize::MAX));
    let other = plan_of(POPULATION, 2, BALES);
    let told = joined(&other, &[folder.path()]).expect_err("another seed").to_string();
    assert!(told.contains("another campaign"), "{told}");
    let part = strewn::study::parts::path(folder.path(), 1);
    let mut bytes = std::fs::read(&part).expect("a part");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&part, bytes).expect("written");
    let told = joined(&plan, &[folder.path()]).expect_err("a changed bit").to_string();
    assert!(told.contains("part-000001 is damaged"), "{told}");
}

#[test]
fn a_lot_that_cannot_be_fed_ends_the_run_and_keeps_the_rest() {
    let plan = plan();
    let folder = folder();
    let fails = |plan: &Plan, lot: u32| match lot {
        9 => Err(CampaignError::Lot { lot: 10, cause: "no hay".to_owned() }),
        _ => stand_in(plan, lot),
    };
    let stop = AtomicBool::new(false);
    let chunks = plan.shard(1, 1);
    let manner = Manner {
        feed: &fails,
        folder: folder.path(),
        chunks: &chunks,
        threads: 8,
        resume: false,
        stop: &stop,
    };
    let told = run(&plan, &manner, &mut |_, _| {}).expect_err("lot 10 fails").to_string();
    assert_eq!(told, "lot 10 cannot be fed: no hay");
    assert!(strewn::study::parts::path(folder.path(), 0).exists(), "what was done is kept");
}

#[test]
fn a_bale_depends_on_its_number_alone() {
    let text = "least_target_lb_per_ft = 20\nmost_target_lb_per_ft = 30\nbales_per_lot = 2\n\
                [size]\nleast_diameter_ft = 3\nmost_diameter_ft = 3\n\
                least_width_ft = 3\nmost_width_ft = 3\n";
    let (short, long) = (plan_of(text, 5, 4), plan_of(text, 5, 400));
    let lot = feed_lot(&short, 1).expect("the lot feeds");
    assert_eq!(lot.iter().map(|bale| (bale.bale, bale.lot)).collect::<Vec<_>>(), [(3, 2), (4, 2)]);
    assert!(lot == feed_lot(&long, 1).expect("the lot feeds"));
    assert!(lot[0].outcomes.len() == Law::ALL.len() && lot[0].outcomes != lot[1].outcomes);
    assert!(lot.iter().all(|bale| bale.outcomes[0].laid_lb > 0.9 * bale.facts.weight_lb));
}
