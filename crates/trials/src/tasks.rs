//! Runs that are independent of one another, some at the same time.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// Does every task, so many at the same time, each in a thread of its own; results in the order of
/// the tasks. `None` when a thread was lost.
pub fn each<T: Sync, R: Send>(
    tasks: &[T],
    threads: usize,
    work: impl Fn(&T) -> R + Sync,
) -> Option<Vec<R>> {
    let next = AtomicUsize::new(0);
    let done: Vec<Mutex<Option<R>>> = tasks.iter().map(|_| Mutex::new(None)).collect();
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let (Some(task), Some(place)) = (tasks.get(index), done.get(index)) else {
                        break;
                    };
                    let result = work(task);
                    *place.lock().unwrap_or_else(PoisonError::into_inner) = Some(result);
                }
            });
        }
    });
    done.into_iter()
        .map(|place| place.into_inner().unwrap_or_else(PoisonError::into_inner))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::each;

    #[test]
    fn results_stand_in_the_order_of_the_tasks() {
        let tasks: Vec<u64> = (0..50).collect();
        for threads in [0, 1, 3] {
            let squares = each(&tasks, threads, |number| number * number).unwrap();
            assert_eq!(squares, tasks.iter().map(|n| n * n).collect::<Vec<_>>());
        }
    }
}
