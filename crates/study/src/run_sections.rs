//! The cross section after each bend of a planned run, between the tools the plan puts up.

use crate::section::STOP_LENGTH;
use model::{Brake, Run, Shop};
use shape::{Pose, ToolSection, gauge_stop};
use tooling::{CrossSection, Hit, Job, StrokeView, hits_of, tool_section};
use units::Length;

/// The section after one bend of a run.
#[derive(Clone, Debug)]
pub struct RunSection {
    /// Index of the bend in the run's `bends`.
    pub at: usize,
    /// The sheet between the tools at the finished angle.
    pub finished: Pose,
    /// Punch, die, ram, bed and, where it stands, the stop.
    pub tools: ToolSection,
}

/// The sections that are known, in the order of the run's bends: those of air bends whose lines the
/// shop gives, with the V, the radius and the way round of the plan. Empty when the shop does not
/// know the part or its material.
#[must_use]
pub fn run_sections(shop: &Shop, brake: &Brake, run: &Run) -> Vec<RunSection> {
    let Some(part) = shop.part(&run.part) else {
        return Vec::new();
    };
    let Some(material) = shop.material(&part.material) else {
        return Vec::new();
    };
    let job = Job {
        shop,
        brake,
        part,
        material,
        strength: material.strength_typical,
        at: run.start,
    };
    let hits = hits_of(part, &shop.rules);
    let sections = CrossSection::of_part(part, &hits);
    let bends = 0..run.bends.len();
    bends
        .filter_map(|at| section_at(&job, run, &hits, &sections, at))
        .collect()
}

fn section_at(
    job: &Job<'_>,
    run: &Run,
    hits: &[Hit],
    sections: &[CrossSection],
    at: usize,
) -> Option<RunSection> {
    let work = run.bends.get(at)?;
    let station = run.bed.get(work.station)?;
    let number = |hit: &Hit| job.part.bends.get(hit.bend).map(|bend| bend.number);
    let same = |hit: &Hit| number(hit) == Some(work.bend) && hit.number == work.hit;
    let index = hits.iter().position(same)?;
    let section = sections.iter().find(|section| section.has(index))?;
    let radius_of = |other: usize| {
        let made = hits.get(other).and_then(|hit| {
            let planned = run.bends.iter();
            planned
                .filter(|planned| number(hit) == Some(planned.bend) && planned.hit == hit.number)
                .map(|planned| planned.radius)
                .next()
        });
        made.unwrap_or(work.radius)
    };
    let (punch, die) = (job.shop.punch(&station.punch)?, job.shop.die(&station.die)?);
    let view = StrokeView::of((job, hits), section, index, die.v, &radius_of)?;
    let mut tools = tool_section(job.brake, (punch, die), station.reversed)?;
    let stop = job.shop.rules.stop_height;
    tools.gauge = view.gauge.and_then(|gauge| {
        let x = Length::from_mm(gauge.x_mm);
        gauge_stop(x, work.r + stop.half(), stop, STOP_LENGTH).ok()
    });
    Some(RunSection {
        at,
        finished: view.poses.last()?.clone(),
        tools,
    })
}
