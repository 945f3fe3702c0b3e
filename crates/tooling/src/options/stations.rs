//! Which hits share a station, and which lengths serve it.

use super::Need;
use super::finder::{Finder, Pair};
use crate::clearance::Ways;
use crate::compose::Span;
use crate::engineer::BendWork;
use model::Bend;
use units::Length;

impl Finder<'_, '_> {
    /// Bends of one pair of tools into as few stations as their length limits allow: sorted by
    /// their greatest length, a station takes every bend that fits under the first one's.
    /// A punch that would have to stand one way for some bends and the other way for others takes
    /// two stations.
    pub(super) fn stations(&self, bends: &[usize], ways: &[Ways]) -> Vec<Vec<usize>> {
        let span = |hit: usize| self.span(&self.job.part.bends[self.hits[hit].bend]);
        let mut left: Vec<usize> = bends.to_vec();
        left.sort_by_key(|&bend| (span(bend).most, bend));
        let mut groups = Vec::new();
        while let Some(&first) = left.first() {
            let most = span(first).most;
            let (mut group, rest): (Vec<usize>, Vec<usize>) =
                left.iter().partition(|&&bend| span(bend).least <= most);
            group.sort_unstable();
            groups.extend(one_way_each(group, ways));
            left = rest;
        }
        groups
    }

    /// Punch lengths that will do for one bend.
    fn span(&self, bend: &Bend) -> Span {
        let horns = bend.side_return > Length::ZERO;
        match bend.inside {
            Some(inside) => {
                let least =
                    (bend.length - self.stock.shop().rules.box_short).max(bend.length.half());
                Span {
                    least: least.min(inside),
                    most: inside,
                    horns,
                }
            }
            None => Span {
                least: bend.length,
                most: Length::UNLIMITED,
                horns,
            },
        }
    }

    pub(super) fn need(
        &self,
        pair: Pair,
        bends: Vec<usize>,
        works: &[BendWork],
        ways: &[Ways],
    ) -> Need {
        let mut need = Need {
            punch: pair.punch,
            die: pair.die,
            punch_span: Span {
                least: Length::ZERO,
                most: Length::UNLIMITED,
                horns: false,
            },
            die_least: Length::ZERO,
            off_centre_most: Length::UNLIMITED,
            ram_lowest: Length::UNLIMITED,
            ways: Ways {
                plain: true,
                reversed: true,
            },
            hits: Vec::new(),
        };
        for &index in &bends {
            let span = self.span(&self.job.part.bends[self.hits[index].bend]);
            need.punch_span.least = need.punch_span.least.max(span.least);
            need.punch_span.most = need.punch_span.most.min(span.most);
            need.punch_span.horns |= span.horns;
            need.die_least = need.die_least.max(span.least);
            need.off_centre_most = need.off_centre_most.min(works[index].off_centre_most);
            need.ways = need.ways.and(ways[index]);
            need.ram_lowest = need.ram_lowest.min(works[index].ram_to_bed);
        }
        need.hits = bends;
        need
    }
}

/// The group itself when the punch can stand one way for all of it, else the bends for which it
/// can stand as drawn and the others.
fn one_way_each(group: Vec<usize>, ways: &[Ways]) -> Vec<Vec<usize>> {
    let one = |way: &dyn Fn(Ways) -> bool| group.iter().all(|&hit| way(ways[hit]));
    if one(&|ways| ways.plain) || one(&|ways| ways.reversed) {
        return vec![group];
    }
    let (plain, reversed) = group.into_iter().partition(|&hit| ways[hit].plain);
    vec![plain, reversed]
}
