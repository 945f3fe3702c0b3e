//! Where the back gauge stands for one hit.

use crate::lines::stop_mm;
use crate::part::Case;
use model::{Edge, Station, ZDrive};
use tooling::ToolingOption;
use units::{Degrees, Length};

/// Each of the two stops stands this share of the edge's length from an end of it: common practice,
/// no source.
pub const STOP_SHARE: f64 = 0.25;

/// The gauge at one hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeStudy {
    /// The edge against the stops.
    pub edge: Edge,
    /// X, in the middle between the stops.
    pub x: Length,
    /// The same from the bend lines, in mm, where the section is known.
    pub x_by_lines_mm: Option<f64>,
    /// Angle between bend line and edge.
    pub taper: Degrees,
    /// How far X1 and X2 stand apart at the stops; zero without a taper.
    pub x_apart: Length,
    /// R above the die's shoulders.
    pub r: Length,
    /// Whether R was computed from the part as bent so far; declared otherwise.
    pub r_computed: bool,
    /// Z: how far each stop stands from its end of the edge.
    pub from_end: Length,
    /// Z: how far the stops stand apart.
    pub apart: Length,
    /// How the fingers move along the bed.
    pub z: ZDrive,
}

/// Z of the two stops from the bed's left end, for a bend of some length made in the middle of a
/// station's punch: [`STOP_SHARE`] of the length in from its ends.
#[must_use]
pub fn stops_along_bed(station: &Station, bend: Length) -> (Length, Length) {
    let punch: Length = station.punch_sections.iter().map(|one| one.length).sum();
    let centre = station.left + punch.half();
    let out = bend.half() - Length::from_mm(bend.mm() * STOP_SHARE);
    (centre - out, centre + out)
}

pub(crate) fn gauge_study(case: &Case<'_, '_>, option: &ToolingOption, at: usize) -> GaugeStudy {
    let hit = &option.hits[at];
    let work = &option.works[at];
    let bend = &case.job.part.bends[hit.bend];
    // A flange is as long as its bend; where corners are notched the blank's side is longer.
    let from_end = Length::from_mm(bend.length.mm() * STOP_SHARE);
    let apart = bend.length - from_end - from_end;
    let slope = bend.taper.get().abs().to_radians().tan();
    GaugeStudy {
        edge: bend.edge,
        x: work.x,
        x_by_lines_mm: by_lines(case, option, at),
        taper: bend.taper,
        x_apart: Length::from_mm(apart.mm() * slope),
        r: work.r,
        r_computed: case.sections.iter().any(|section| section.has(at)),
        from_end,
        apart,
        z: case.job.brake.gauge.z,
    }
}

fn by_lines(case: &Case<'_, '_>, option: &ToolingOption, at: usize) -> Option<f64> {
    let section = case.sections.iter().find(|section| section.has(at))?;
    let radius = |hit: usize| option.works[hit].radius;
    let placed = section.placed(case.job, &option.hits, at, &radius)?;
    stop_mm(case.job, &placed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::StationPiece;
    use units::{ProfileId, SectionId};

    /// A bend of 400 mm in the middle of 500 mm of punch that begin at 1 000 mm: from 1 050 to 1 450,
    /// stops 100 mm in from its ends.
    #[test]
    fn stops_stand_a_quarter_in_from_the_ends() {
        let piece = |id: &str, mm: i64| StationPiece {
            section: SectionId::new(id).expect("an id"),
            length: Length::from_whole_mm(mm),
            drawer: String::new(),
        };
        let station = Station {
            punch: ProfileId::new("P").expect("an id"),
            die: ProfileId::new("D").expect("an id"),
            v: Length::from_whole_mm(16),
            left: Length::from_whole_mm(1_000),
            length: Length::from_whole_mm(800),
            reversed: false,
            punch_sections: vec![piece("P-1", 300), piece("P-2", 200)],
            die_sections: vec![piece("D-1", 800)],
            closed_height: Length::from_whole_mm(200),
        };
        let (one, two) = stops_along_bed(&station, Length::from_whole_mm(400));
        assert_eq!(one, Length::from_whole_mm(1_150));
        assert_eq!(two, Length::from_whole_mm(1_350));
    }
}
