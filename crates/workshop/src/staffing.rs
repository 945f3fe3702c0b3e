//! When a brake is staffed, for those who show it.

use model::{Brake, Shop};
use schedule::calendar::expand;
use units::Window;

/// Spans within `range` in which a brake's calendar has people at work and the brake is not down, in
/// time order and apart from one another. Empty when the brake's calendar is not in the shop.
#[must_use]
pub fn staffed(shop: &Shop, brake: &Brake, range: Window) -> Vec<Window> {
    let Some(calendar) = shop.calendar(&brake.calendar) else {
        return Vec::new();
    };
    let shifts = expand(calendar, shop.zone, range);
    let mut spans: Vec<Window> = shifts
        .iter()
        .flat_map(|shift| shift.spans.iter().copied())
        .map(|span| Window {
            start: span.start.max(range.start),
            end: span.end.min(range.end),
        })
        .collect();
    for down in shop.floor.down.iter().filter(|down| down.brake == brake.id) {
        spans = spans
            .into_iter()
            .flat_map(|span| without(span, down.window))
            .collect();
    }
    spans.retain(|span| span.start < span.end);
    spans.sort_unstable();
    joined(spans)
}

fn without(span: Window, hole: Window) -> [Window; 2] {
    [
        Window {
            start: span.start,
            end: span.end.min(hole.start),
        },
        Window {
            start: span.start.max(hole.end),
            end: span.end,
        },
    ]
}

/// Spans that overlap, as those of two shifts may, counted once.
fn joined(sorted: Vec<Window>) -> Vec<Window> {
    let mut out: Vec<Window> = Vec::with_capacity(sorted.len());
    for span in sorted {
        match out.last_mut() {
            Some(last) if span.start < last.end => last.end = last.end.max(span.end),
            _ => out.push(span),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::Moment;

    fn span(start: i64, end: i64) -> Window {
        Window {
            start: Moment(start),
            end: Moment(end),
        }
    }

    #[test]
    fn a_hole_leaves_what_is_before_and_after_it() {
        let left = |hole| {
            let parts = without(span(10, 20), hole).into_iter();
            parts
                .filter(|part| part.start < part.end)
                .collect::<Vec<_>>()
        };
        assert_eq!(left(span(12, 15)), [span(10, 12), span(15, 20)]);
        assert_eq!(left(span(0, 15)), [span(15, 20)]);
        assert_eq!(left(span(0, 30)), []);
        assert_eq!(left(span(20, 30)), [span(10, 20)]);
    }

    #[test]
    fn what_overlaps_counts_once() {
        let joined = joined(vec![span(0, 10), span(5, 12), span(12, 20)]);
        assert_eq!(joined, [span(0, 12), span(12, 20)]);
    }
}
