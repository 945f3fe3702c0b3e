//! The words in which plan JSON says limits, steps and units.

use model::{Limit, StepKind};

/// Every unit a refusal's numbers may carry. A plan whose refusals use another can be written but
/// not read, so whoever states a refusal takes its unit from here; the empty one is for a reason
/// without a number.
pub const REFUSAL_UNITS: &[&str] = &[
    "",
    "mm",
    "m",
    "kN",
    "kN/m",
    "MPa",
    "°",
    "kg",
    "%",
    "s",
    "min",
    "h",
    "days",
    "pieces",
    "blanks",
    "people",
    "fingers",
    "station",
    "stations",
    "sections",
    "tool",
    "tools",
    "pair of flattening tools",
    "way round",
    "V",
    "set of sections",
    "brake",
    "proven setup",
    "order finished",
];

const LIMITS: &[(Limit, &str)] = &[
    (Limit::Pinned, "pinned"),
    (Limit::Proven, "proven"),
    (Limit::Force, "force"),
    (Limit::LineLoad, "line-load"),
    (Limit::OffCentre, "off-centre"),
    (Limit::BedLength, "bed-length"),
    (Limit::Throat, "throat"),
    (Limit::Stroke, "stroke"),
    (Limit::Daylight, "daylight"),
    (Limit::GaugeX, "gauge-x"),
    (Limit::GaugeX1X2, "gauge-x1-x2"),
    (Limit::GaugeR, "gauge-r"),
    (Limit::Fingers, "fingers"),
    (Limit::VOpening, "v-opening"),
    (Limit::Flange, "flange"),
    (Limit::Radius, "radius"),
    (Limit::ToolAngle, "tool-angle"),
    (Limit::Relief, "relief"),
    (Limit::Collision, "collision"),
    (Limit::Flattening, "flattening"),
    (Limit::Developed, "developed"),
    (Limit::Sections, "sections"),
    (Limit::Mount, "mount"),
    (Limit::AngleAccuracy, "angle-accuracy"),
    (Limit::Mass, "mass"),
    (Limit::Crew, "crew"),
    (Limit::Blanks, "blanks"),
    (Limit::Predecessor, "predecessor"),
    (Limit::Horizon, "horizon"),
];

const STEPS: &[(StepKind, &str)] = &[
    (StepKind::Prepare, "prepare"),
    (StepKind::TakeOff, "take-off"),
    (StepKind::Turn, "turn"),
    (StepKind::Slide, "slide"),
    (StepKind::PutOn, "put-on"),
    (StepKind::Fingers, "fingers"),
    (StepKind::Guard, "guard"),
    (StepKind::Program, "program"),
    (StepKind::Programming, "programming"),
    (StepKind::FirstPiece, "first-piece"),
    (StepKind::Approval, "approval"),
];

/// A limit's word.
pub fn limit_name(limit: Limit) -> &'static str {
    LIMITS
        .iter()
        .find(|(known, _)| *known == limit)
        .map_or("", |(_, name)| name)
}

/// The limit a word stands for.
pub(super) fn limit_named(name: &str) -> Option<Limit> {
    LIMITS
        .iter()
        .find(|(_, known)| *known == name)
        .map(|(limit, _)| *limit)
}

/// A step's word.
pub fn step_name(kind: StepKind) -> &'static str {
    STEPS
        .iter()
        .find(|(known, _)| *known == kind)
        .map_or("", |(_, name)| name)
}

/// The step a word stands for.
#[must_use]
pub fn step_named(name: &str) -> Option<StepKind> {
    STEPS
        .iter()
        .find(|(_, known)| *known == name)
        .map(|(kind, _)| *kind)
}

/// The unit a text stands for.
pub(super) fn unit_named(name: &str) -> Option<&'static str> {
    REFUSAL_UNITS.iter().find(|unit| **unit == name).copied()
}
