//! Parts and their bends.

use units::{Degrees, Length, MaterialId, PartId};

/// A part to be bent from one blank.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Part id.
    pub id: PartId,
    /// What people call it.
    pub name: String,
    /// Material.
    pub material: MaterialId,
    /// Sheet thickness.
    pub thickness: Length,
    /// Blank size, the longer side first.
    pub blank: (Length, Length),
    /// V opening the blank was developed for; options with another V must stay within
    /// `length_tolerance`.
    pub developed_for_v: Option<Length>,
    /// How far the sum of all deductions may be off, plus or minus.
    pub length_tolerance: Length,
    /// Angle tolerance, plus or minus; a brake must hold it.
    pub angle_tolerance: Degrees,
    /// Operators needed, when the shop says so; otherwise from the mass.
    pub crew: Option<u8>,
    /// Who approves the first piece.
    pub approval: Approval,
    /// Only brakes with a proven setup may run it.
    pub proven_only: bool,
    /// Which way the grain runs, when it is known.
    pub grain: Option<Grain>,
    /// Bends in the order they are made.
    pub bends: Vec<Bend>,
}

/// Rolling direction of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grain {
    /// Along the blank's longer side: bends on edges A and B run with it.
    Long,
    /// Along the shorter side.
    Short,
}

/// How a bend is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BendKind {
    /// Air bending in a V.
    Air,
    /// A hem in two hits: a sharp air bend, then flattened until the inside faces are this far
    /// apart (zero for a closed hem).
    Hem {
        /// Distance left between the inside faces.
        gap: Length,
    },
    /// A large radius by step bending: many small air bends side by side.
    Stepped,
}

/// Who approves the first piece of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Approval {
    /// The operator, at once.
    Own,
    /// An inspector, in the inspector's hours.
    Inspector,
    /// The customer, in the inspector's hours and longer.
    Customer,
}

/// Which way the flange goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    /// Up, with the good side up.
    Up,
    /// The sheet is flipped first.
    Down,
}

/// The edge of the blank against the gauge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Edge {
    /// First long edge.
    A,
    /// Second long edge.
    B,
    /// First short edge.
    C,
    /// Second short edge.
    D,
}

/// One bend, as the part is when it is made.
#[derive(Clone, Debug, PartialEq)]
pub struct Bend {
    /// Number within the part, from 1.
    pub number: u8,
    /// Included angle of the finished bend: 90 is square, 180 flat.
    pub angle: Degrees,
    /// How it is made. The included angle of a hem is zero.
    pub kind: BendKind,
    /// Length along the bend line.
    pub length: Length,
    /// Where the bend line lies on the flat blank: from edge A for bends on edges A and B, from edge
    /// C for the others. With it, clearances are computed from the part as bent so far.
    pub line: Option<Length>,
    /// Outside leg on the gauge side: edge against the stop to the outer vertex.
    pub leg: Length,
    /// Which way.
    pub direction: Direction,
    /// Edge against the stop.
    pub edge: Edge,
    /// Inside radius asked for; anything the V gives when `None`.
    pub radius: Option<Length>,
    /// Clear length between box sides already bent; the punch must fit between them.
    pub inside: Option<Length>,
    /// Inward return on those sides, which only horn sections clear; zero for none.
    pub side_return: Length,
    /// Depth of an already-bent flange that comes back toward the punch; the punch's relief must
    /// clear it.
    pub return_depth: Length,
    /// Height of the already-bent edge against the stop; needs the R axis when not zero.
    pub lift: Length,
    /// Angle between the bend line and the edge against the stop; needs X1/X2 when not zero.
    pub taper: Degrees,
    /// Deepest flange that must pass between the open tools.
    pub flange_height: Length,
}
