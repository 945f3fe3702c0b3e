//! Sections between their tools as pictures: one file per hit of each brake's best setup.

use super::drawing::verdict;
use model::Part;
use shape::{Picture, svg};
use std::fmt::Write as _;
use study::{HitStudy, PartStudy, SectionStudy};

/// The file that says what the pictures are.
pub(crate) const INDEX: &str = "sections.txt";
/// How it begins; a folder whose index begins otherwise is not ours.
pub(crate) const INDEX_BEGINS: &str = "Sections drawn by brakewright";

const WIDTH_PX: u32 = 640;
const HEIGHT_PX: u32 = 640;

/// Names and contents of the pictures, and of the index, which comes first.
pub(crate) fn files(part: &Part, study: &PartStudy, caution: &str) -> Vec<(String, Vec<u8>)> {
    let mut index = format!(
        "{INDEX_BEGINS}: {}, {}, blank {} x {} x {} mm\n\n",
        part.id, part.name, part.blank.0, part.blank.1, part.thickness
    );
    let mut out = Vec::new();
    for brake in &study.brakes {
        let best = brake.options.first();
        for hit in best.into_iter().flat_map(|best| &best.hits) {
            let Some(section) = &hit.section else {
                continue;
            };
            let name = format!("{}-bend-{}.svg", plain(brake.brake.as_str()), hit.bend);
            let title = title(part, brake.brake.as_str(), hit);
            let _ = writeln!(index, "{name}  {title}: {}", verdict(section));
            out.push((name, drawn(section, &title).into_bytes()));
        }
    }
    if out.is_empty() {
        index.push_str(without_pictures(study));
    }
    let _ = write!(index, "\n{caution}");
    out.insert(0, (INDEX.to_owned(), index.into_bytes()));
    out
}

/// Why there is no picture.
fn without_pictures(study: &PartStudy) -> &'static str {
    if study.brakes.iter().all(|brake| brake.options.is_empty()) {
        "No picture: no brake asked about can bend the part.\n"
    } else {
        "No picture: no cross section is known; the bends carry no lines, or hold a hem or steps.\n"
    }
}

fn title(part: &Part, brake: &str, hit: &HitStudy) -> String {
    format!(
        "{}, bend {} on {brake}, {} over {}",
        part.id, hit.bend, hit.punch, hit.die
    )
}

fn drawn(section: &SectionStudy, title: &str) -> String {
    let picture = Picture {
        title,
        width_px: WIDTH_PX,
        height_px: HEIGHT_PX,
    };
    let poses = [section.lying.clone(), section.finished.clone()];
    svg(&poses, Some(&section.tools), &picture)
}

/// An id as part of a file's name.
fn plain(id: &str) -> String {
    let tame = |c: char| {
        if c.is_alphanumeric() || c == '-' {
            c
        } else {
            '_'
        }
    };
    id.chars().map(tame).collect()
}
