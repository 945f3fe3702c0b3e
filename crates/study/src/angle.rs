//! Springback, and whether the tools close far enough.

use bending::springback;
use model::{BendKind, Die, Punch};
use tooling::{Hit, Job};
use units::{Degrees, Length};

/// Angles of one stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AngleStudy {
    /// How far the bend is expected to open, by the material's own figure.
    pub springback: Degrees,
    /// A lower estimate from radius, yield strength and modulus.
    pub springback_least: Degrees,
    /// Included angle to press to.
    pub under_load: Degrees,
    /// Included angle of the punch.
    pub punch: Degrees,
    /// Included angle of the die.
    pub die: Degrees,
}

impl AngleStudy {
    /// The blunter of the two tools: it must be no blunter than the angle under load.
    #[must_use]
    pub fn bluntest(&self) -> Degrees {
        Degrees::of(self.punch.get().max(self.die.get()))
    }
}

pub(crate) fn angle_study(
    job: &Job<'_>,
    hit: &Hit,
    punch: &Punch,
    die: &Die,
    natural: Length,
) -> AngleStudy {
    let bend = &job.part.bends[hit.bend];
    let material = job.material;
    // The sharp bend of a hem is folded on: how far it opens does not matter.
    let springback = match bend.kind {
        BendKind::Hem { .. } => 0.0,
        _ => material.springback.get() * (180.0 - hit.stroke_angle.get()) / 90.0,
    };
    let springback = Degrees::of(springback);
    let (ri, t) = (natural, job.part.thickness);
    let free = springback::free_radius(ri, material.yield_strength, material.modulus, t).value;
    AngleStudy {
        springback,
        springback_least: springback::opening(hit.stroke_angle, ri, free, t),
        under_load: springback::angle_under_load(hit.stroke_angle, springback),
        punch: punch.angle,
        die: die.angle,
    }
}
