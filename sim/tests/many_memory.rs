//! A campaign's memory: what is held at once does not grow with the number of bales.

mod stand_in;

use stand_in::{plan_of, stand_in};
use std::alloc::{GlobalAlloc, Layout, System};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use strewn::study::campaign::{Manner, run};
use strewn::study::join::join;

/// The usual memory, which counts what is held of it.
struct Counted;

static HELD: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

/// Hands everything on to the system's memory.
unsafe impl GlobalAlloc for Counted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let held = HELD.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        MOST.fetch_max(held, Ordering::Relaxed);
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        HELD.fetch_sub(layout.size(), Ordering::Relaxed);
        unsafe { System.dealloc(memory, layout) }
    }
}

#[global_allocator]
static COUNTED: Counted = Counted;

/// Most bytes that were held at once while so many bales were fed and put together.
fn most_held(bales: u32) -> usize {
    let plan = plan_of("bales_per_lot = 25\n", 1, bales);
    let folder = tempfile::tempdir().expect("a folder");
    let before = HELD.load(Ordering::Relaxed);
    MOST.store(before, Ordering::Relaxed);
    let manner = Manner {
        feed: &stand_in,
        folder: folder.path(),
        chunks: &plan.shard(1, 1),
        threads: 2,
        resume: false,
        stop: &AtomicBool::new(false),
    };
    assert!(run(&plan, &manner, &mut |_, _| {}).expect("the stand-ins feed"));
    let file = std::fs::File::create(folder.path().join("all")).expect("a file");
    let summary = join(&plan, &[folder.path()], file).expect("everything is there");
    assert_eq!(summary.groups[0].bales, u64::from(bales));
    MOST.load(Ordering::Relaxed) - before
}

/// Twenty times as many bales, or so many as `STREWN_CAMPAIGN_BALES` says.
#[test]
fn many_times_the_bales_are_held_in_the_same_memory() {
    let asked = std::env::var("STREWN_CAMPAIGN_BALES").ok();
    let bales = asked.map_or(20_000, |bales| bales.parse().expect("a number of bales"));
    let (few, many) = (most_held(1_000), most_held(bales));
    println!("{few} bytes for 1,000 bales, {many} for {bales}");
    // The file's directory of row groups grows by some 20 bytes a bale; a result of a bale has 400.
    let directory = 30 * bales as usize;
    assert!(many < few + directory, "{few} bytes for 1,000 bales, {many} for {bales}");
    assert!(many < 100_000_000, "{many} bytes");
}
