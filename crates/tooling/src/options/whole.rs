//! Checks of a setup as a whole: developed length, fingers, sections, bed, clearances; then its
//! cycle.

use super::finder::Finder;
use super::{Need, ToolingOption};
use crate::compose::Composer;
use crate::cycle::{crew_for, cycle, part_mass};
use crate::engineer::BendWork;
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
        for index in 1..works.len() {
            if matches!(self.hits[index].form, Form::Flatten { .. }) {
                works[index].x = works[index - 1].x;
            }
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
            cycle_ms: cycle(
                job.part,
                &self.hits,
                &works,
                job.brake,
                &shop.rules,
                mass,
                crew,
            )
            .whole_ms,
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

    pub(super) fn developed(&self, works: &[BendWork]) -> Result<(), Box<Refusal>> {
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
}
