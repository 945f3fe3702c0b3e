//! A part, bend by bend, on every brake: what `bends` shows, and the bends of a planned run.

use model::{Brake, Run, Shop};
use shape::{Picture, svg};
use units::PartId;

pub use study::{Ask, PartStudy, stops_along_bed};

/// Engineers a part on every brake of the shop, as deep as is asked. `None` when the shop has no such
/// part.
#[must_use]
pub fn part_sheet(shop: &Shop, part: &PartId, ask: Ask) -> Option<PartStudy> {
    study::part_study(shop, part, ask)
}

/// One bend of a planned run, as the brake's operator wants to see it.
#[derive(Clone, Debug, PartialEq)]
pub struct RunBend {
    /// Bend number within the part.
    pub bend: u8,
    /// Hit within the bend, from 1.
    pub hit: u8,
    /// The limit that force and line load come closest to.
    pub link: &'static str,
    /// Share of that limit, 1 at the limit.
    pub share: f64,
    /// The section between its tools after the bend, as an `svg` element in mm; `None` when no
    /// section is known.
    pub picture: Option<String>,
}

/// Engineers the bends of a planned run again, to show them. Empty when the shop has no such part, or
/// none of the brake's setups for it bends at the tools the plan took.
#[must_use]
pub fn run_bends(shop: &Shop, brake: &Brake, run: &Run) -> Vec<RunBend> {
    // Engineering looks at every brake of a shop; one is enough here.
    let alone = Shop {
        brakes: vec![brake.clone()],
        orders: Vec::new(),
        ..shop.clone()
    };
    let ask = Ask {
        at: run.start,
        sections: true,
        orders: false,
    };
    let Some(study) = part_sheet(&alone, &run.part, ask) else {
        return Vec::new();
    };
    let options = study.brakes.iter().flat_map(|brake| &brake.options);
    let planned = |option: &&study::OptionStudy| {
        option.hits.len() == run.bends.len()
            && option.hits.iter().zip(&run.bends).all(|(hit, bend)| {
                let station = run.bed.get(bend.station);
                (hit.bend, hit.hit) == (bend.bend, bend.hit)
                    && station.is_some_and(|at| at.punch == hit.punch && at.die == hit.die)
            })
    };
    let Some(option) = options.into_iter().find(planned) else {
        return Vec::new();
    };
    let bends = option.hits.iter().map(|hit| {
        let title = format!("Section after bend {}", hit.bend);
        let picture = Picture {
            title: &title,
            width_px: 240,
            height_px: 240,
        };
        RunBend {
            bend: hit.bend,
            hit: hit.hit,
            link: hit.force.closest.link,
            share: hit.force.closest.share,
            picture: hit.section.as_ref().map(|section| {
                let poses = [section.lying.clone(), section.finished.clone()];
                svg(&poses, Some(&section.tools), &picture)
            }),
        }
    });
    bends.collect()
}
