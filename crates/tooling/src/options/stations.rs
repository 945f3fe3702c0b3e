//! Which bends share a station, and which lengths serve it.

use super::finder::Pair;
use super::{Finder, Need};
use crate::compose::Span;
use crate::engineer::BendWork;
use model::Bend;
use units::Length;

impl Finder<'_, '_> {
    /// Bends of one pair of tools into as few stations as their length limits allow: sorted by
    /// their greatest length, a station takes every bend that fits under the first one's.
    pub(super) fn stations(&self, bends: &[usize]) -> Vec<Vec<usize>> {
        let span = |bend: usize| self.span(&self.job.part.bends[bend]);
        let mut left: Vec<usize> = bends.to_vec();
        left.sort_by_key(|&bend| (span(bend).most, bend));
        let mut groups = Vec::new();
        while let Some(&first) = left.first() {
            let most = span(first).most;
            let (mut group, rest): (Vec<usize>, Vec<usize>) =
                left.iter().partition(|&&bend| span(bend).least <= most);
            group.sort_unstable();
            groups.push(group);
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

    pub(super) fn need(&self, pair: Pair, bends: Vec<usize>, works: &[BendWork]) -> Need {
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
            bends: Vec::new(),
        };
        for &index in &bends {
            let span = self.span(&self.job.part.bends[index]);
            need.punch_span.least = need.punch_span.least.max(span.least);
            need.punch_span.most = need.punch_span.most.min(span.most);
            need.punch_span.horns |= span.horns;
            need.die_least = need.die_least.max(span.least);
            need.off_centre_most = need.off_centre_most.min(works[index].off_centre_most);
            need.ram_lowest = need.ram_lowest.min(works[index].ram_to_bed);
        }
        need.bends = bends;
        need
    }
}
