//! The tools in section, by the outlines of docs/rules.md section 2b.

use model::{Brake, Die, Punch};
use shape::{Outline, Point, ToolSection};
use units::Length;

/// How far ram and bed reach beyond the tools.
const BEAM_MM: f64 = 300.0;

/// A punch and a die of a station in section on a brake, the punch turned about when `reversed`.
/// `None` when the measures of one of them make no area, as those of flattening tools.
#[must_use]
pub fn tool_section(
    brake: &Brake,
    (punch, die): (&Punch, &Die),
    reversed: bool,
) -> Option<ToolSection> {
    let ram = ToolShape::Ram {
        width: brake.ram_thickness,
        above: punch.height,
    };
    let bed = ToolShape::Bed {
        width: brake.bed_thickness,
        below: die.height,
    };
    Some(ToolSection {
        punch: ToolShape::punch(punch, reversed).outline()?,
        die: ToolShape::die(die).outline()?,
        ram: ram.outline()?,
        bed: bed.outline()?,
        gauge: None,
        opening: die.v,
        tip_radius: punch.tip_radius,
    })
}

/// A tool's section in its own measures: tools of different names and mounts may share one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum ToolShape {
    Punch {
        body: Length,
        height: Length,
        relief: Length,
        relief_height: Length,
        /// Bits of the angle in degrees.
        angle: u64,
        /// Turned about.
        reversed: bool,
    },
    Ram {
        width: Length,
        /// Height of the punch below it.
        above: Length,
    },
    Die {
        width: Length,
        height: Length,
        v: Length,
        /// Bits of the angle in degrees.
        angle: u64,
    },
    Bed {
        width: Length,
        /// Height of the die above it.
        below: Length,
    },
}

impl ToolShape {
    pub(crate) fn punch(punch: &Punch, reversed: bool) -> ToolShape {
        ToolShape::Punch {
            body: punch.body,
            height: punch.height,
            relief: punch.relief,
            relief_height: punch.relief_height,
            angle: punch.angle.get().to_bits(),
            reversed,
        }
    }

    pub(crate) fn die(die: &Die) -> ToolShape {
        ToolShape::Die {
            width: die.width,
            height: die.height,
            v: die.v,
            angle: die.angle.get().to_bits(),
        }
    }

    /// Whether it goes down with the ram.
    pub(crate) fn follows_the_ram(self) -> bool {
        matches!(self, ToolShape::Punch { .. } | ToolShape::Ram { .. })
    }

    /// Its outline: a punch's tip and a die's shoulders at height 0. `None` when the measures make
    /// no area.
    pub(crate) fn outline(self) -> Option<Outline> {
        match self {
            ToolShape::Punch {
                body,
                height,
                relief,
                relief_height,
                angle,
                reversed,
            } => {
                let (half, height) = (body.mm() / 2.0, height.mm());
                let drawn = if relief > Length::ZERO {
                    relieved(half, height, relief.mm(), relief_height.mm())
                } else {
                    straight(half, height, f64::from_bits(angle))
                }?;
                Some(if reversed { drawn.mirrored_x() } else { drawn })
            }
            ToolShape::Ram { width, above } => block(width, above.mm(), above.mm() + BEAM_MM),
            ToolShape::Die {
                width,
                height,
                v,
                angle,
            } => grooved(
                width.mm() / 2.0,
                height.mm(),
                v.mm() / 2.0,
                f64::from_bits(angle),
            ),
            ToolShape::Bed { width, below } => block(width, -below.mm() - BEAM_MM, -below.mm()),
        }
    }
}

fn block(width: Length, low: f64, high: f64) -> Option<Outline> {
    let half = width.mm() / 2.0;
    outline(&[(-half, low), (half, low), (half, high), (-half, high)])
}

fn relieved(half: f64, height: f64, relief: f64, closing: f64) -> Option<Outline> {
    outline(&[
        (0.0, 0.0),
        (relief + half, closing / 2.0),
        (half, closing),
        (half, height),
        (-half, height),
        (-half, closing),
        (relief, closing / 2.0),
    ])
}

fn straight(half: f64, height: f64, angle: f64) -> Option<Outline> {
    let slope = (angle / 2.0).to_radians().tan();
    let corner = half / slope;
    if corner >= height {
        let wide = height * slope;
        return outline(&[(0.0, 0.0), (wide, height), (-wide, height)]);
    }
    outline(&[
        (0.0, 0.0),
        (half, corner),
        (half, height),
        (-half, height),
        (-half, corner),
    ])
}

fn grooved(half: f64, depth: f64, v: f64, angle: f64) -> Option<Outline> {
    let apex = v / (angle / 2.0).to_radians().tan();
    outline(&[
        (-half, 0.0),
        (-half, -depth),
        (half, -depth),
        (half, 0.0),
        (v, 0.0),
        (0.0, -apex.min(depth - 1.0)),
        (-v, 0.0),
    ])
}

fn outline(corners: &[(f64, f64)]) -> Option<Outline> {
    Outline::new(corners.iter().map(|&(x, y)| Point::new(x, y)).collect()).ok()
}
