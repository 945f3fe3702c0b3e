//! Where new stations stand: beside what stays, with some of it slid, or in place of what is idle.

use super::draft::{Draft, serves_but_for_place};
use super::fresh::Fresh;
use crate::bed::{Bed, Spot};
use crate::room::{Row, Slides, Staying, make_room};
use units::Length;

/// Places on the bed.
pub(super) struct Layout {
    /// Left ends of the new stations, in their order.
    pub(super) places: Vec<Length>,
    /// Old stations that are slid, and their new left ends.
    pub(super) slid: Vec<(usize, Length)>,
}

impl Draft<'_, '_> {
    /// Places for the new stations and for those that must be slid, at the least cost in seconds:
    /// by sliding what stays, or by taking off idle stations, the one needed latest first.
    pub(super) fn find_places(&mut self, fresh: &[Fresh]) -> Option<Layout> {
        let spots: Vec<Spot> = fresh.iter().map(|station| self.spot(station)).collect();
        let mut best: Option<(i64, usize, Layout)> = None;
        let mut let_go: Vec<usize> = Vec::new();
        let mut spent = 0;
        loop {
            let least = best.as_ref().map(|(cost, _, _)| *cost);
            if let Some(layout) = self.lay_out(&spots, least.map(|least| least - spent)) {
                let slides = layout.slid.len();
                let cost = spent + self.sliding_seconds(slides);
                if least.is_none_or(|least| cost < least) {
                    best = Some((cost, let_go.len(), layout));
                }
                if slides == self.misplaced.len() {
                    break; // taking more off can only cost more
                }
            }
            let latest = self
                .idle()
                .max_by_key(|&stand| (self.next_use(stand), stand));
            let Some(latest) = latest else { break };
            spent += self.loss(latest).0;
            if best.as_ref().is_some_and(|(cost, _, _)| spent >= *cost) {
                break;
            }
            self.off[latest] = true;
            let_go.push(latest);
        }
        let (_, off, layout) = best?;
        for &stand in &let_go[off..] {
            self.off[stand] = false;
        }
        Some(layout)
    }

    fn sliding_seconds(&self, slides: usize) -> i64 {
        let slides = i64::try_from(slides).unwrap_or(i64::MAX);
        self.request
            .brake
            .times
            .station_slide
            .0
            .saturating_mul(slides)
    }

    fn spot(&self, station: &Fresh) -> Spot {
        let sum = |sections: &[usize]| -> Length {
            sections
                .iter()
                .map(|&section| self.stock.section_length(section))
                .sum()
        };
        let punch_length = sum(&station.punch_sections);
        Spot {
            length: punch_length.max(sum(&station.die_sections)),
            punch_length,
            off_centre_most: station.off_centre_most,
        }
    }

    /// Places among the stations that are not off, with as little sliding as will do, and for less
    /// than `limit` seconds of it.
    fn lay_out(&self, spots: &[Spot], limit: Option<i64>) -> Option<Layout> {
        let gap = self.stock.shop().rules.station_gap;
        let bed_length = self.request.brake.bed;
        let staying = || (0..self.bed.stands.len()).filter(|&stand| !self.off[stand]);
        if self.misplaced.is_empty() {
            let kept: Vec<(Length, Length)> = staying()
                .map(|stand| (self.bed.stands[stand].left, self.bed.stands[stand].right()))
                .collect();
            if let Some(places) = Bed::place(&kept, bed_length, gap, spots) {
                return Some(Layout {
                    places,
                    slid: Vec::new(),
                });
            }
        }
        let most = self.slides_within(limit)?;
        let indices: Vec<usize> = staying().collect();
        let row: Vec<Staying> = indices.iter().map(|&stand| self.staying(stand)).collect();
        let row = Row {
            stations: &row,
            bed_length,
            gap,
        };
        let room = make_room(&row, spots, most)?;
        let slid = room.slid.into_iter();
        Some(Layout {
            places: room.places,
            slid: slid.map(|(at, left)| (indices[at], left)).collect(),
        })
    }

    /// How many stations may be slid beside the misplaced ones for less than `limit` seconds.
    fn slides_within(&self, limit: Option<i64>) -> Option<usize> {
        let each = self.request.brake.times.station_slide.0;
        let must = self.misplaced.len();
        let (Some(limit), true) = (limit, each > 0) else {
            return Some(usize::MAX);
        };
        let all = usize::try_from((limit - 1).max(0) / each).unwrap_or(usize::MAX);
        all.checked_sub(must)
    }

    fn staying(&self, index: usize) -> Staying {
        let stand = &self.bed.stands[index];
        let need = self.serving.iter().position(|&s| s == Some(index));
        let need = need.map(|need| &self.request.option.needs[need]);
        let off_centre_most = need.map_or(Length::UNLIMITED, |need| need.off_centre_most);
        let mut off_centre_wished = off_centre_most;
        let slides = if self.misplaced.contains(&index) {
            // Once it is slid, as near the centre as the runs after this one want it too.
            let later = self.made_for().iter().flat_map(|option| &option.needs);
            let later = later.filter(|need| serves_but_for_place(stand, need));
            let later = later.map(|need| need.off_centre_most).min();
            off_centre_wished = off_centre_most.min(later.unwrap_or(off_centre_most));
            Slides::Always
        } else if self.turned.iter().any(|(turned, _)| *turned == index) {
            Slides::Never
        } else {
            Slides::IfNeedBe
        };
        Staying {
            left: stand.left,
            length: stand.length(),
            punch_length: stand.punch_length,
            off_centre_most,
            off_centre_wished,
            slides,
        }
    }
}
