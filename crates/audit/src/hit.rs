//! The hits a bend is made in.

use model::{Bend, BendKind, Part};

/// Included angle, in degrees, of a hem after its first hit.
pub(crate) const SHARP: f64 = 30.0;

/// What one hit of a bend does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Hit {
    /// An air bend to its angle.
    Air,
    /// A hem's first hit: an air bend to a sharp angle.
    Sharp,
    /// A hem's second hit, which leaves this many millimetres between its inside faces.
    Flatten {
        /// Distance left.
        gap: f64,
    },
    /// Many small air bends side by side.
    Stepped,
}

impl Hit {
    /// What the bend's hit of this number, from 1, does; `None` when the bend has no such hit.
    pub(crate) fn of(bend: &Bend, number: u8) -> Option<Hit> {
        match (bend.kind, number) {
            (BendKind::Air, 1) => Some(Hit::Air),
            (BendKind::Stepped, 1) => Some(Hit::Stepped),
            (BendKind::Hem { .. }, 1) => Some(Hit::Sharp),
            (BendKind::Hem { gap }, 2) => Some(Hit::Flatten { gap: gap.mm() }),
            _ => None,
        }
    }

    /// Whether it takes tools that flatten.
    pub(crate) fn flattens(self) -> bool {
        matches!(self, Hit::Flatten { .. })
    }
}

/// Bend and hit numbers of everything a part needs, in its order.
pub(crate) fn hits_of(part: &Part) -> Vec<(u8, u8)> {
    let mut hits = Vec::new();
    for bend in &part.bends {
        hits.push((bend.number, 1));
        if matches!(bend.kind, BendKind::Hem { .. }) {
            hits.push((bend.number, 2));
        }
    }
    hits
}
