//! Pieces of work on several threads, their results in order.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

/// Does `count` pieces of work, each counted from 0, on `threads` threads (at least one); `progress` is
/// told how many are done. What a piece gives must depend on its number alone: then so does the whole.
///
/// `None` if `stop` was set before all was done.
pub fn map<T: Send>(
    count: usize,
    threads: usize,
    stop: &AtomicBool,
    work: &(dyn Fn(usize) -> T + Sync),
    progress: &mut dyn FnMut(usize),
) -> Option<Vec<T>> {
    let next = AtomicUsize::new(0);
    let (send, receive) = mpsc::sync_channel(2 * threads.max(1));
    let mut results: Vec<Option<T>> = (0..count).map(|_| None).collect();
    thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            let (send, next) = (send.clone(), &next);
            scope.spawn(move || {
                while !stop.load(Ordering::Relaxed)
                    && let piece = next.fetch_add(1, Ordering::Relaxed)
                    && piece < count
                    && send.send((piece, work(piece))).is_ok()
                {}
            });
        }
        drop(send);
        for (done, (piece, result)) in (1..).zip(receive) {
            results[piece] = Some(result);
            progress(done);
        }
    });
    results.into_iter().collect()
}
