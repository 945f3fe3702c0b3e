//! Clearances and gauge heights that the part as bent so far decides.

use super::Need;
use super::finder::{Finder, Pair};
use crate::clearance::{CrossSection, Ways};
use crate::compose::Composer;
use crate::engineer::{BendWork, Miss, describe};
use model::{Bend, Die, Limit, Punch, Refusal};
use units::Length;

/// Nearer than this is the same height.
const SAME_MM: f64 = 0.001;
/// Checks that come before it in [`engineer`](crate::engineer).
const CHECKS_BEFORE: u8 = 9;

impl Finder<'_, '_> {
    /// For every hit of the part, which way round the punch may stand, as far as the hits made with
    /// this pair decide; gauge heights are filled in where they are computed.
    pub(super) fn ways_of(
        &self,
        composer: &mut Composer,
        pair: Pair,
        made: &[usize],
        works: &mut [BendWork],
    ) -> Result<Vec<Ways>, Box<Refusal>> {
        let mut all = vec![
            Ways {
                plain: true,
                reversed: true,
            };
            works.len()
        ];
        let Some(tools) = self.pair(pair) else {
            return Ok(all);
        };
        for &hit in made {
            let ways = Ways::of(tools.0);
            let Some(section) = self.sections.iter().find(|section| section.has(hit)) else {
                all[hit] = ways;
                continue;
            };
            let radius = |other: usize| works[other].radius;
            let r = self.gauge_r(composer, section, hit, tools.1, &radius)?;
            all[hit] = match self.stroke_ways(composer, section, hit, tools, &radius) {
                Some(Ok(clear)) => ways.and(clear),
                Some(Err(miss)) => {
                    let refusal = describe(self.job, self.bend(hit), tools.0, tools.1, &miss);
                    return Err(Box::new(refusal));
                }
                None => return Err(Box::new(self.lines_too_close(hit))),
            };
            works[hit].r = r;
        }
        Ok(all)
    }

    /// Which way round the punch clears the sheet at a hit, or the miss; `None` when the bend lines
    /// are closer than the bends.
    pub(super) fn stroke_ways(
        &self,
        composer: &mut Composer,
        section: &CrossSection,
        hit: usize,
        tools: (&Punch, &Die),
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Option<Result<Ways, Miss>> {
        let known = &mut composer.strokes;
        let part = (self.job, &self.hits[..]);
        let stroke = known.of(part, section, hit, tools.1.v, radius_of)?;
        let allowance = self.job.shop.rules.touch_allowance.mm();
        Some(
            stroke
                .ways(self.job.brake, tools, allowance)
                .map_err(|depth| Miss {
                    passed: CHECKS_BEFORE,
                    limit: Limit::Collision,
                    needed: depth,
                    available: allowance,
                    unit: "mm",
                }),
        )
    }

    /// How high R must stand for the stop to meet the part before a hit; docs/rules.md section 2c.
    fn gauge_r(
        &self,
        composer: &mut Composer,
        section: &CrossSection,
        hit: usize,
        die: &Die,
        radius_of: &dyn Fn(usize) -> Length,
    ) -> Result<Length, Box<Refusal>> {
        let known = &mut composer.strokes;
        let part = (self.job, &self.hits[..]);
        let Some(stroke) = known.of(part, section, hit, die.v, radius_of) else {
            return Err(Box::new(self.lines_too_close(hit)));
        };
        let stop = self.job.shop.rules.stop_height;
        let Some(r) = stroke.view().gauge_r(stop) else {
            let text = "the stop has nothing to meet behind the bend line";
            let bend = Some(self.bend(hit));
            let numbers = (1.0, 0.0, "tool");
            return Err(Box::new(self.job.refuse(
                Limit::GaugeR,
                bend,
                numbers,
                text.to_owned(),
            )));
        };
        if r.mm().abs() > SAME_MM {
            self.r_axis(self.bend(hit), r)?;
        }
        Ok(r)
    }

    /// Whether the R axis reaches a height.
    pub(super) fn r_axis(&self, bend: &Bend, r: Length) -> Result<(), Box<Refusal>> {
        let job = self.job;
        // A hundredth says enough to a person.
        let said = Length::from_mm((r.mm() * 100.0).round() / 100.0);
        let (most, text) = match job.brake.gauge.r.filter(|axis| job.fitted(axis)) {
            Some(axis) if axis.from <= r && r <= axis.to => return Ok(()),
            Some(axis) => (
                axis.to.mm(),
                format!(
                    "gauge R must go to {said} mm; its range is {} to {} mm",
                    axis.from, axis.to
                ),
            ),
            None => (
                0.0,
                format!("the stop must stand at {said} mm over the die; there is no R axis"),
            ),
        };
        let numbers = (r.mm(), most, "mm");
        Err(Box::new(job.refuse(
            Limit::GaugeR,
            Some(bend),
            numbers,
            text,
        )))
    }

    /// The refusal of a part whose bend lines leave no flat between them.
    pub(super) fn lines_too_close(&self, hit: usize) -> Refusal {
        let text = "its bend lines are closer than the bends themselves".to_owned();
        let bend = Some(self.bend(hit));
        self.job
            .refuse(Limit::Collision, bend, (1.0, 0.0, "mm"), text)
    }

    /// The refusal of a station whose punch would have to stand both ways.
    pub(super) fn turned_about(&self, need: &Need) -> Refusal {
        let punch = self.stock.shop().profiles[need.punch].id();
        let text =
            format!("the punch {punch} would have to be turned about between bends of one station");
        let bend = need.hits.first().map(|&hit| self.bend(hit));
        self.job
            .refuse(Limit::Collision, bend, (1.0, 0.0, "tool"), text)
    }

    /// The tools of a pair.
    pub(super) fn pair(&self, pair: Pair) -> Option<(&Punch, &Die)> {
        Some((self.stock.punch(pair.punch)?, self.stock.die(pair.die)?))
    }

    fn bend(&self, hit: usize) -> &Bend {
        &self.job.part.bends[self.hits[hit].bend]
    }
}
