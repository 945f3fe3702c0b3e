//! The strokes a part takes: most bends are one hit, a hem is two, a stepped radius many in one
//! place. docs/rules.md sections 2 and 2a.

use bending::{hem, step};
use model::{Bend, BendKind, Part, Rules};
use units::{Degrees, Length};

/// How a hit forms the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    /// Air bending in a V.
    Air,
    /// Many small air bends side by side, this many.
    Stepped {
        /// Strokes.
        count: u32,
    },
    /// Flattening of a hem until the inside faces are this far apart.
    Flatten {
        /// Distance left.
        gap: Length,
    },
}

/// One hit of a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Index of the bend in the part.
    pub bend: usize,
    /// Hit within the bend, from 1.
    pub number: u8,
    /// How it forms the sheet.
    pub form: Form,
    /// Included angle it leaves, for the developed length.
    pub angle: Degrees,
    /// Included angle of one stroke, for flange, tool angle and travel.
    pub stroke_angle: Degrees,
}

impl Hit {
    /// Strokes of the ram.
    #[must_use]
    pub fn strokes(&self) -> u32 {
        match self.form {
            Form::Stepped { count } => count,
            Form::Air | Form::Flatten { .. } => 1,
        }
    }
}

/// The hits of a part in the order they are made.
#[must_use]
pub fn hits_of(part: &Part, rules: &Rules) -> Vec<Hit> {
    let mut hits = Vec::with_capacity(part.bends.len() + 1);
    for (index, bend) in part.bends.iter().enumerate() {
        let hit = |number, form, angle| Hit {
            bend: index,
            number,
            form,
            angle,
            stroke_angle: angle,
        };
        match bend.kind {
            BendKind::Air => hits.push(hit(1, Form::Air, bend.angle)),
            BendKind::Hem { gap } => {
                let sharp = Degrees::of(hem::FIRST_BEND_DEGREES);
                hits.push(hit(1, Form::Air, sharp));
                hits.push(hit(2, Form::Flatten { gap }, sharp));
            }
            BendKind::Stepped => hits.push(stepped(part, index, bend, rules)),
        }
    }
    hits
}

/// A radius in steps. One that cannot be stepped (no radius, too many hits) counts as one stroke; it
/// then fails on its radius, with the numbers.
fn stepped(part: &Part, index: usize, bend: &Bend, rules: &Rules) -> Hit {
    let whole = Degrees::of(180.0 - bend.angle.get());
    let radius = bend.radius.unwrap_or(Length::ZERO);
    let steps = step::steps(whole, radius, part.thickness, rules.step_depth);
    let (count, each) = steps.map_or((1, whole), |steps| (steps.count, steps.each));
    Hit {
        bend: index,
        number: 1,
        form: Form::Stepped { count },
        angle: bend.angle,
        stroke_angle: Degrees::of(180.0 - each.get()),
    }
}
