//! What a person should know before bending: nothing here refuses anything.

use crate::flat::FlatSection;
use crate::hit::HitStudy;
use crate::option::OptionStudy;
use crate::part::Case;

/// From this share of a limit on, a person is told.
const NEAR: f64 = 0.9;

/// One thing to know, about some bends or about the part.
#[derive(Clone, Debug, PartialEq)]
pub struct Warning {
    /// Bends it is about; none when it is about the part.
    pub bends: Vec<u8>,
    /// In words, without a full stop.
    pub text: String,
}

impl Warning {
    /// `bends 1, 2 and 4: …`.
    #[must_use]
    pub fn sentence(&self) -> String {
        let numbers: Vec<String> = self.bends.iter().map(u8::to_string).collect();
        match numbers.split_last() {
            None => self.text.clone(),
            Some((only, [])) => format!("bend {only}: {}", self.text),
            Some((last, before)) => {
                format!("bends {} and {last}: {}", before.join(", "), self.text)
            }
        }
    }
}

/// Every warning of a setup; the same words about several bends are one.
pub(crate) fn warnings(case: &Case<'_, '_>, study: &OptionStudy) -> Vec<Warning> {
    let mut out = Gathered(Vec::new());
    for hit in &study.hits {
        near(&mut out, hit);
        upper_bound(&mut out, hit);
    }
    for hit in &study.hits {
        sheet(&mut out, hit);
        ranges(&mut out, hit);
    }
    for section in &study.flat {
        legs(&mut out, case, section);
    }
    out.0
}

struct Gathered(Vec<Warning>);

impl Gathered {
    fn tell(&mut self, bend: u8, text: String) {
        match self.0.iter_mut().find(|warning| warning.text == text) {
            Some(warning) if warning.bends.contains(&bend) => {}
            Some(warning) => warning.bends.push(bend),
            None => self.0.push(Warning {
                bends: vec![bend],
                text,
            }),
        }
    }
}

fn near(out: &mut Gathered, hit: &HitStudy) {
    let closest = hit.force.closest;
    if closest.share >= NEAR {
        let of = match closest.link {
            "force" => "the brake's rated force".to_owned(),
            link => format!("what the {link} bears"),
        };
        out.tell(hit.bend, format!("{:.0} % of {of}", closest.share * 100.0));
    }
}

fn upper_bound(out: &mut Gathered, hit: &HitStudy) {
    for over in &hit.force.exceeded {
        let of = match over.link {
            "brake" => format!("this brake is rated {:.0} {}", over.most, over.unit),
            link => format!("the {link} bears {:.0} {}", over.most, over.unit),
        };
        out.tell(
            hit.bend,
            format!(
                "sheet at the upper end of its strength would take {:.0} {}; {of}",
                over.needed, over.unit
            ),
        );
    }
}

fn sheet(out: &mut Gathered, hit: &HitStudy) {
    let radius = &hit.radius;
    if let Some(text) = radius.warning {
        let text = match radius.smallest {
            Some(least) if radius.inside < least => format!(
                "an inside radius of {:.2} mm is below the {:.1} mm that the table of smallest radii \
                 recommends: try a test bend and look for cracks",
                radius.inside.mm(),
                least.mm()
            ),
            _ => text.to_owned(),
        };
        out.tell(hit.bend, text);
    }
    if radius.creases {
        out.tell(
            hit.bend,
            format!(
                "a tip radius of {} mm creases this sheet: the bend varies from piece to piece",
                radius.tip
            ),
        );
    }
}

fn ranges(out: &mut Gathered, hit: &HitStudy) {
    if let Some(range) = hit.force.range_left {
        out.tell(
            hit.bend,
            format!("the force formula is outside its stated range ({range})"),
        );
    }
    if let Some(range) = hit.travel_range_left {
        out.tell(
            hit.bend,
            format!("the travel formula is outside its range ({range})"),
        );
    }
}

/// Legs that contradict the bend lines by more than the part may be off.
fn legs(out: &mut Gathered, case: &Case<'_, '_>, section: &FlatSection) {
    let allowed = case.job.part.length_tolerance.mm();
    for leg in &section.legs {
        if (leg.entered.mm() - leg.by_lines_mm).abs() > allowed {
            out.tell(
                leg.bend,
                format!(
                    "the leg is entered as {} mm, the bend lines give {:.2} mm",
                    leg.entered, leg.by_lines_mm
                ),
            );
        }
    }
}
