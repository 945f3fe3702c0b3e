//! Work spread over threads, with results that do not depend on how many there are.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// The results of so many pieces of work, in their order, whatever thread did which.
pub(crate) fn side_by_side<T: Send>(
    threads: usize,
    count: usize,
    work: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    if threads.min(count) <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(count));
    let go_on = || {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            if index >= count {
                return;
            }
            let result = work(index);
            // A thread that panics takes the scope, and so this call, with it: what is here is whole.
            let mut done = done
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            done.push((index, result));
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..threads.min(count) {
            scope.spawn(go_on);
        }
        go_on();
    });
    let mut results = done
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    results.sort_unstable_by_key(|&(index, _)| index);
    results.into_iter().map(|(_, result)| result).collect()
}

/// The results of two pieces of work, at the same time where there is more than one thread.
pub(crate) fn both<A: Send, B>(
    threads: usize,
    aside: impl FnOnce() -> A + Send,
    here: impl FnOnce() -> B,
) -> (A, B) {
    if threads <= 1 {
        return (aside(), here());
    }
    std::thread::scope(|scope| {
        let aside = scope.spawn(aside);
        let here = here();
        match aside.join() {
            Ok(aside) => (aside, here),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_the_order_of_the_work_whatever_the_threads() {
        for threads in [0, 1, 2, 5, 200] {
            let squares = side_by_side(threads, 100, |index| index * index);
            assert!(squares.into_iter().eq((0..100).map(|index| index * index)));
        }
        assert_eq!(side_by_side(3, 0, |index| index), Vec::<usize>::new());
        for threads in [0, 1, 2] {
            assert_eq!(both(threads, || "one", || "other"), ("one", "other"));
        }
    }
}
