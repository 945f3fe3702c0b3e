//! Limits of a brake that no choice of tools can change.

use super::finder::Finder;
use crate::cycle::part_mass;
use model::{Bend, Limit, Refusal};
use units::Length;

impl Finder<'_, '_> {
    /// Limits that no tool can change.
    pub(super) fn brake_limits(&self) -> Vec<Refusal> {
        let (job, brake, part) = (self.job, self.job.brake, self.job.part);
        let rules = &self.stock.shop().rules;
        let mut out = Vec::new();
        let mass = part_mass(part, job.material);
        if mass > rules.two_person_mass {
            let text = format!(
                "a blank of {:.1} kg is not bent by hand; the shop's limit is {:.1} kg",
                mass.get(),
                rules.two_person_mass.get()
            );
            out.push(job.refuse(
                Limit::Mass,
                None,
                (mass.get(), rules.two_person_mass.get(), "kg"),
                text,
            ));
        }
        if brake.angle_accuracy > part.angle_tolerance {
            let numbers = (part.angle_tolerance.get(), brake.angle_accuracy.get(), "°");
            let text = format!(
                "angles must hold ±{}°; this brake holds ±{}°",
                numbers.0, numbers.1
            );
            out.push(job.refuse(Limit::AngleAccuracy, None, numbers, text));
        }
        for bend in &part.bends {
            out.extend(self.bend_limits(bend));
        }
        out
    }

    fn bend_limits(&self, bend: &Bend) -> Vec<Refusal> {
        let (job, brake) = (self.job, self.job.brake);
        let mut out = Vec::new();
        let short = if bend.inside.is_some() {
            self.stock.shop().rules.box_short
        } else {
            Length::ZERO
        };
        if bend.length - short > brake.bed {
            let numbers = ((bend.length - short).mm(), brake.bed.mm(), "mm");
            let text = format!(
                "bend of {} mm; the bed is {} mm long",
                bend.length, brake.bed
            );
            out.push(job.refuse(Limit::BedLength, Some(bend), numbers, text));
        }
        if bend.length > brake.between_frames && bend.leg > brake.throat {
            let text = format!(
                "longer than the {} mm between frames, with a leg of {} mm behind the bend line; the throat is {} mm deep",
                brake.between_frames, bend.leg, brake.throat
            );
            out.push(job.refuse(
                Limit::Throat,
                Some(bend),
                (bend.leg.mm(), brake.throat.mm(), "mm"),
                text,
            ));
        }
        if bend.lift != Length::ZERO && !job.section_known(bend) {
            out.extend(self.r_axis(bend, bend.lift).err().map(|refusal| *refusal));
        }
        if bend.taper.get().abs() > 0.0 {
            let needed = bend.length.mm() * bend.taper.get().abs().to_radians().tan();
            let there = brake.gauge.x_difference.filter(|axis| job.fitted(axis));
            let most = there.map_or(0.0, |axis| axis.to.mm());
            if needed > most * (1.0 + 1e-9) {
                let text = match there {
                    Some(_) => format!(
                        "a taper of {}° needs X1 and X2 {needed:.1} mm apart; {most:.0} mm is the most",
                        bend.taper.get()
                    ),
                    None => format!(
                        "a taper of {}° needs X1 and X2 {needed:.1} mm apart; both fingers move together here",
                        bend.taper.get()
                    ),
                };
                out.push(job.refuse(Limit::GaugeX1X2, Some(bend), (needed, most, "mm"), text));
            }
        }
        out
    }
}
