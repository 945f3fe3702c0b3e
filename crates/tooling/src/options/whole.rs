//! Checks of a setup as a whole: developed length, fingers, sections, bed, clearances; then its
//! cycle.

use super::finder::Finder;
use super::{Need, ToolingOption};
use crate::bed::{Bed, Spot, Stand, free_depth};
use crate::change::{Custody, Request, change};
use crate::compose::{Composer, Span};
use crate::cycle::{crew_for, cycle_ms, part_mass};
use crate::engineer::{BendWork, describe};
use crate::hits::Form;
use model::{Limit, Refusal, ZDrive};
use units::Length;

impl Finder<'_, '_> {
    /// Checks of the setup as a whole, then its cycle.
    pub(super) fn finish(
        &self,
        composer: &mut Composer,
        needs: Vec<Need>,
        mut works: Vec<BendWork>,
    ) -> Result<ToolingOption, Box<Refusal>> {
        let (job, shop) = (self.job, self.stock.shop());
        self.developed(&works)?;
        for index in 1..works.len() {
            if matches!(self.hits[index].form, Form::Flatten { .. }) {
                works[index].x = works[index - 1].x;
            }
        }
        for need in &needs {
            self.clear_one_way_round(need, &works)?;
        }
        let fingers = usize::from(job.brake.gauge.fingers);
        if job.brake.gauge.z == ZDrive::Hand && 2 * needs.len() > fingers {
            #[allow(clippy::cast_precision_loss)]
            let numbers = (2.0 * needs.len() as f64, fingers as f64, "fingers");
            let text = format!(
                "{} stations need two fingers each; there are {fingers}, slid by hand",
                needs.len()
            );
            return Err(Box::new(job.refuse(Limit::Fingers, None, numbers, text)));
        }
        let pieces = self.can_stand(composer, &needs)?;
        let mass = part_mass(job.part, job.material);
        let crew = crew_for(job.part, mass, &shop.rules);
        let mut need_of_hit = vec![0; works.len()];
        for (index, need) in needs.iter().enumerate() {
            for &hit in &need.hits {
                need_of_hit[hit] = index;
            }
        }
        let closed = |need: &Need| self.tools(need).map_or(Length::ZERO, |(closed, _)| closed);
        let option = ToolingOption {
            part: self.part,
            brake: self.brake,
            need_of_hit,
            hits: self.hits.clone(),
            cycle_ms: cycle_ms(
                job.part,
                &self.hits,
                &works,
                job.brake,
                &shop.rules,
                mass,
                crew,
            ),
            crew,
            program: None,
            tallest: needs.iter().map(closed).max().unwrap_or(Length::ZERO),
            pieces,
            holders: job.brake.upper_holder + job.brake.lower_holder,
            approval: job.part.approval,
            works,
            needs,
        };
        self.no_crash(&option)?;
        self.can_be_laid(composer, &option)?;
        Ok(option)
    }

    /// All hits of a station with the punch the same way round.
    fn clear_one_way_round(&self, need: &Need, works: &[BendWork]) -> Result<(), Box<Refusal>> {
        let (Some(punch), Some(die)) = (self.stock.punch(need.punch), self.stock.die(need.die))
        else {
            return Ok(());
        };
        let (mut plain, mut turned) = (true, true);
        for &hit in &need.hits {
            let Some(section) = self.sections.iter().find(|section| section.has(hit)) else {
                continue;
            };
            let bend = &self.job.part.bends[self.hits[hit].bend];
            let Some(chain) = section.chain(self.job, &self.hits, &|hit| works[hit].radius) else {
                let text = "its bend lines are closer than the bends themselves".to_owned();
                let numbers = (1.0, 0.0, "mm");
                return Err(Box::new(self.job.refuse(
                    Limit::Collision,
                    Some(bend),
                    numbers,
                    text,
                )));
            };
            let ways = section
                .clear(self.job, &self.hits, &chain, hit, punch, die)
                .map_err(|miss| Box::new(describe(self.job, bend, punch, die, &miss)))?;
            plain &= ways.plain;
            turned &= ways.turned;
            if !plain && !turned {
                let text = format!(
                    "the punch {} would have to be turned about between the bends of one station",
                    punch.id
                );
                let numbers = (1.0, 0.0, "way round");
                return Err(Box::new(self.job.refuse(
                    Limit::Collision,
                    Some(bend),
                    numbers,
                    text,
                )));
            }
        }
        Ok(())
    }

    /// Whether all stations can be made up at once: two may want the same sections.
    fn can_be_laid(
        &self,
        composer: &mut Composer,
        option: &ToolingOption,
    ) -> Result<(), Box<Refusal>> {
        let request = Request {
            brake: self.job.brake,
            option,
            later: &[],
        };
        if change(self.stock, composer, &Bed::default(), &request, &AllFree).is_some() {
            return Ok(());
        }
        let text = "the sections owned do not make up all its stations at once".to_owned();
        let numbers = (1.0, 0.0, "set of sections");
        Err(Box::new(self.job.refuse(
            Limit::Sections,
            None,
            numbers,
            text,
        )))
    }

    fn tools(&self, need: &Need) -> Option<(Length, Length)> {
        let (punch, die) = (self.stock.punch(need.punch)?, self.stock.die(need.die)?);
        Some((punch.height + die.height, free_depth(punch, die)))
    }

    fn developed(&self, works: &[BendWork]) -> Result<(), Box<Refusal>> {
        let error: f64 = works
            .iter()
            .filter_map(|work| work.developed_mm.map(|blank| work.deduction_mm - blank))
            .sum();
        let allowed = self.job.part.length_tolerance.mm();
        if error.abs() <= allowed * (1.0 + 1e-9) {
            return Ok(());
        }
        let v = self.job.part.developed_for_v.unwrap_or(Length::ZERO);
        let text = format!(
            "blanks are cut for V{v}; with these tools the sum of deductions is {error:+.2} mm off, ±{allowed} mm is allowed"
        );
        Err(Box::new(self.job.refuse(
            Limit::Developed,
            None,
            (error.abs(), allowed, "mm"),
            text,
        )))
    }

    /// Whether the sections owned make up every station, and all fit on an empty bed.
    /// Returns the fewest sections that do.
    fn can_stand(&self, composer: &mut Composer, needs: &[Need]) -> Result<usize, Box<Refusal>> {
        let mut pieces = 0;
        let (job, rules) = (self.job, &self.stock.shop().rules);
        let mut spots = Vec::new();
        for need in needs {
            let punch_span = need.punch_span.within(rules.station_overhang);
            let die_span = Span {
                least: need.die_least,
                most: Length::UNLIMITED,
                horns: false,
            };
            let mut half = |profile: usize, span: Span| {
                let found = composer.compositions(self.stock, profile, span);
                pieces += found
                    .first()
                    .map_or(0, |composition| composition.classes.len());
                found
                    .iter()
                    .map(|composition| composition.length)
                    .min()
                    .ok_or_else(|| Box::new(self.no_sections(profile, span)))
            };
            let punch_length = half(need.punch, punch_span)?;
            let die_length = half(need.die, die_span.within(rules.station_overhang))?;
            spots.push(Spot {
                length: punch_length.max(die_length),
                punch_length,
                off_centre_most: need.off_centre_most,
            });
        }
        if Bed::place(&[], job.brake.bed, rules.station_gap, &spots).is_some() {
            return Ok(pieces);
        }
        let gaps = i64::try_from(spots.len().saturating_sub(1)).unwrap_or(i64::MAX);
        let whole = spots.iter().map(|spot| spot.length).sum::<Length>()
            + Length::from_nanometres(rules.station_gap.nanometres() * gaps);
        let off_centre = whole <= job.brake.bed;
        let (limit, text) = if off_centre {
            (
                Limit::OffCentre,
                format!(
                    "{} stations fit the bed, but not all of them near enough to its centre for their force",
                    spots.len()
                ),
            )
        } else {
            (
                Limit::BedLength,
                format!(
                    "the stations take {:.0} mm of bed; there are {:.0} mm",
                    whole.mm(),
                    job.brake.bed.mm()
                ),
            )
        };
        Err(Box::new(job.refuse(
            limit,
            None,
            (whole.mm(), job.brake.bed.mm(), "mm"),
            text,
        )))
    }

    fn no_sections(&self, profile: usize, span: Span) -> Refusal {
        let plain_only =
            |class: usize| span.horns || self.stock.class(class).horn == model::Horn::None;
        let owned: Length = self
            .stock
            .classes_of(profile)
            .iter()
            .filter(|&&class| plain_only(class))
            .flat_map(|&class| self.stock.class(class).members.iter())
            .map(|&section| self.stock.section_length(section))
            .sum();
        let id = self.stock.shop().profiles[profile].id();
        let horns = if span.horns {
            " with a horn at each end"
        } else {
            ""
        };
        let text = format!(
            "sections of {id} do not make up {} to {} mm{horns}; {:.0} mm are owned in all",
            span.least,
            span.most,
            owned.mm()
        );
        self.job.refuse(
            Limit::Sections,
            None,
            (span.least.mm(), owned.mm(), "mm"),
            text,
        )
    }

    fn no_crash(&self, option: &ToolingOption) -> Result<(), Box<Refusal>> {
        let clearance = self.stock.shop().rules.crash_clearance;
        for (index, need) in option.needs.iter().enumerate() {
            let Some((closed, depth)) = self.tools(need) else {
                continue;
            };
            if !option.clears(Some(index), closed, depth, clearance) {
                let text = "the stations' heights differ so much that one would be crushed while another bends".to_owned();
                let numbers = ((option.tallest - closed).abs().mm(), depth.mm(), "mm");
                return Err(Box::new(self.job.refuse(
                    Limit::Sections,
                    None,
                    numbers,
                    text,
                )));
            }
        }
        Ok(())
    }
}

/// Every section lies free.
struct AllFree;

impl Custody for AllFree {
    fn on_this_bed(&self, _section: usize) -> bool {
        false
    }
    fn wait(&self, _section: usize) -> Option<i64> {
        Some(0)
    }
    fn wanted_elsewhere(&self, _stand: &Stand) -> bool {
        false
    }
}
