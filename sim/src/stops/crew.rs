//! Work on all processors, its results in whatever order they are done.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

/// Does `work` on each item; `done` is told each item and its result and says whether to go on.
pub(super) fn each<T: Sync, R: Send>(
    items: &[T],
    work: impl Fn(&T) -> R + Sync,
    mut done: impl FnMut(&T, R) -> bool,
) {
    let (next, stopped) = (AtomicUsize::new(0), AtomicBool::new(false));
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        let (sender, receiver) = mpsc::channel();
        for _ in 0..threads {
            let (sender, next, stopped, work) = (sender.clone(), &next, &stopped, &work);
            scope.spawn(move || {
                while !stopped.load(Ordering::Relaxed)
                    && let Some(item) = items.get(next.fetch_add(1, Ordering::Relaxed))
                {
                    // Nobody listens any more once the work is to end.
                    let _ = sender.send((item, work(item)));
                }
            });
        }
        drop(sender);
        for (item, result) in receiver {
            if !done(item, result) {
                stopped.store(true, Ordering::Relaxed);
            }
        }
    });
}
