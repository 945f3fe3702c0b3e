//! What an order's pieces left must become: shares, cut at blank lots and deliveries, and so that no
//! run is longer than it may be.

use model::WorkOrder;
use units::Moment;

/// Pieces that come from one blank lot and go into one delivery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Share {
    /// Pieces.
    pub(crate) quantity: u32,
    /// Blanks and order are there from this moment.
    pub(crate) ready: Moment,
    /// Due at bending.
    pub(crate) due: Moment,
}

/// An order's pieces left.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(crate) struct Shares {
    /// Those with blanks, from the front.
    pub(crate) placeable: Vec<Share>,
    /// Pieces without blanks, on hand or announced.
    pub(crate) without_blanks: u64,
}

/// Pieces up to and including `last` have `value`.
struct Cover {
    last: u64,
    value: Moment,
}

/// Cuts the pieces after the first `done` ones.
pub(crate) fn cut(order: &WorkOrder, done: u32) -> Shares {
    let total = u64::from(order.quantity);
    let lots = covers(order.blanks.iter().map(|lot| (lot.quantity, lot.available)));
    let deliveries = covers(
        order
            .deliveries
            .iter()
            .map(|part| (part.quantity, part.due)),
    );
    let blanks_to = if lots.is_empty() {
        total
    } else {
        lots.last().map_or(0, |lot| lot.last).min(total)
    };

    let mut placeable = Vec::new();
    let mut first = u64::from(done) + 1;
    while first <= blanks_to {
        let lot = lots.iter().find(|lot| first <= lot.last);
        let delivery = deliveries.iter().find(|delivery| first <= delivery.last);
        let run_end = match order.run_pieces.map(u64::from) {
            Some(pieces) if pieces > 0 => first.div_ceil(pieces) * pieces,
            _ => u64::MAX,
        };
        let last = blanks_to
            .min(run_end)
            .min(lot.map_or(u64::MAX, |lot| lot.last))
            .min(delivery.map_or(u64::MAX, |delivery| delivery.last));
        placeable.push(Share {
            quantity: u32::try_from(last - first + 1).unwrap_or(u32::MAX),
            ready: lot.map_or(order.ready, |lot| lot.value.max(order.ready)),
            due: delivery.map_or(order.due, |delivery| delivery.value),
        });
        first = last + 1;
    }
    let without_blanks = total.saturating_sub(blanks_to.max(u64::from(done)));
    Shares {
        placeable,
        without_blanks,
    }
}

/// Which pieces each lot or delivery covers, the earliest first.
fn covers(shares: impl Iterator<Item = (u32, Moment)>) -> Vec<Cover> {
    let mut shares: Vec<_> = shares.collect();
    shares.sort_by_key(|(_, moment)| *moment);
    let mut last = 0;
    let cover = |(quantity, value)| {
        last += u64::from(quantity);
        Cover { last, value }
    };
    shares.into_iter().map(cover).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::{BlankLot, Delivery};
    use units::{OrderId, PartId};

    fn order(quantity: u32, blanks: &[(u32, i64)], deliveries: &[(u32, i64)]) -> WorkOrder {
        WorkOrder {
            id: OrderId::new("O").unwrap(),
            part: PartId::new("P").unwrap(),
            quantity,
            ready: Moment(10),
            due: Moment(900),
            weight: 1,
            kit: None,
            after: None,
            brake: None,
            place: None,
            run_pieces: None,
            certificate: None,
            heat: String::new(),
            reference: String::new(),
            deliveries: deliveries
                .iter()
                .map(|(quantity, due)| Delivery {
                    quantity: *quantity,
                    due: Moment(*due),
                })
                .collect(),
            blanks: blanks
                .iter()
                .map(|(quantity, at)| BlankLot {
                    quantity: *quantity,
                    available: Moment(*at),
                })
                .collect(),
        }
    }

    fn shares(of: &WorkOrder, done: u32) -> Vec<(u32, i64, i64)> {
        cut(of, done)
            .placeable
            .iter()
            .map(|s| (s.quantity, s.ready.0, s.due.0))
            .collect()
    }

    #[test]
    fn one_share_when_nothing_cuts_it() {
        assert_eq!(shares(&order(100, &[], &[]), 0), [(100, 10, 900)]);
        assert_eq!(shares(&order(100, &[], &[]), 40), [(60, 10, 900)]);
        assert_eq!(shares(&order(100, &[], &[]), 100), []);
    }

    #[test]
    fn lots_and_deliveries_cut_where_they_meet() {
        // Lots 1-60 at 5 (before the order's own ready) and 61-100 at 50; deliveries 1-30 and
        // 31-80; the rest at the order's due. The lots are written latest first on purpose.
        let order = order(100, &[(40, 50), (60, 5)], &[(30, 200), (50, 300)]);
        let expected = [(30, 10, 200), (30, 10, 300), (20, 50, 300), (20, 50, 900)];
        assert_eq!(shares(&order, 0), expected);
        assert_eq!(shares(&order, 70), [(10, 50, 300), (20, 50, 900)]);
    }

    #[test]
    fn no_share_is_longer_than_a_run_may_be() {
        let mut order = order(100, &[(50, 5), (50, 50)], &[]);
        order.run_pieces = Some(40);
        let expected = [(40, 10, 900), (10, 10, 900), (30, 50, 900), (20, 50, 900)];
        assert_eq!(shares(&order, 0), expected);
        // Counted from the order's first piece, not from the first one left.
        assert_eq!(shares(&order, 75), [(5, 50, 900), (20, 50, 900)]);
        order.run_pieces = Some(100);
        assert_eq!(shares(&order, 60), [(40, 50, 900)]);
        order.run_pieces = Some(0);
        assert_eq!(shares(&order, 60), [(40, 50, 900)]);
    }

    #[test]
    fn pieces_beyond_the_lots_have_no_blanks() {
        let order = order(100, &[(60, 5)], &[]);
        assert_eq!(shares(&order, 0), [(60, 10, 900)]);
        assert_eq!(cut(&order, 0).without_blanks, 40);
        assert_eq!(cut(&order, 80).without_blanks, 20);
        assert_eq!(shares(&order, 80), []);
    }

    #[test]
    fn lots_of_none_and_lots_of_too_many_do_no_harm() {
        let order = order(10, &[(0, 1), (u32::MAX, 2), (u32::MAX, 3)], &[(0, 7)]);
        assert_eq!(shares(&order, 0), [(10, 10, 900)]);
    }
}
