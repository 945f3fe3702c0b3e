//! The section on the die, with one fold being made.

use crate::chain::{bend_radians, check_included};
use crate::{Chain, FoldState, Outline, Point, ShapeError};
use units::{Degrees, Length};

/// How far a chord may stay inside its arc, in mm. A fifth of the collision tolerance, so that the
/// arcs' approximation can never decide between touching and colliding.
pub const CHORD_MM: f64 = 0.01;

/// The most chords in one arc: reached only where the radius is many metres.
const CHORDS_MAX: f64 = 512.0;

/// How far any point of the sheet may move between two poses of [`swept_finely`], in mm: less than
/// tools are wide, so that nothing is jumped over, and what a corner grazes in between is slight.
const STEP_MM: f64 = 4.0;

/// The section placed in the brake's coordinates at one moment of a stroke.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// The sheet.
    pub outline: Outline,
    /// The included angle of the fold being made.
    pub included: Degrees,
    /// The inside vertex of the fold being made, where the punch's tip is.
    pub tip: Point,
}

impl Pose {
    /// The piece turned front to back; the fold itself stays where it is.
    #[must_use]
    pub fn turned(&self) -> Pose {
        Pose {
            outline: self.outline.mirrored_x(),
            included: self.included,
            tip: Point::new(-self.tip.x, self.tip.y),
        }
    }
}

/// Places the section on a V of opening `v` with fold `at` bent to `included_now`.
///
/// The inside vertex of fold `at` lies on x = 0 and both legs beside it rise by half of the bend
/// angle. The chain runs from front to back (+x); a fold with `up == false` is made upward too, the
/// piece being flipped onto its other face, end for end, so that the same flat stays at the back.
/// `at`'s own entry in `state` is not used.
///
/// **Formula** with A = 180° − included and R = inside radius + thickness, the centre of the fold's
/// arc is at height R/cos(A/2) − (V/2)·tan(A/2) where the legs rest on the shoulders, or
/// √(R² − V²/4) where the arc itself does (R·sin(A/2) ≥ V/2).
///
/// **Source** geometry of a sheet on two sharp shoulders `[computed]`. Rounded shoulders let the
/// sheet sink a little further; the legs are taken as long enough to reach both shoulders.
///
/// Until the fold is finished its arc has the final inside radius and grows from the middle of its
/// strip, the rest of which is still straight. Bent beyond its own angle, to allow for springback,
/// the strip keeps its length and the radius becomes less, as it does under load. Arcs are drawn in
/// chords that keep within [`CHORD_MM`].
///
/// # Errors
/// [`ShapeError`] for a fold the chain has not, a number of states other than the number of folds,
/// an angle outside 0° (excluded) to 180°, or an opening not above zero.
pub fn pose(
    chain: &Chain,
    state: &[FoldState],
    at: usize,
    included_now: Degrees,
    v: Length,
) -> Result<Pose, ShapeError> {
    let fold = chain.fold(at)?;
    chain.check_states(state)?;
    check_included(included_now)?;
    if v <= Length::ZERO {
        return Err(ShapeError::Dimension {
            name: "the die's opening",
            value: v.mm(),
            must: "above 0 mm",
        });
    }
    let mut trace = Trace::new(chain.thickness().mm());
    let mut vertex = Stand::default();
    let mut radius = 0.0;
    let walk = chain.flats().iter().zip(chain.folds().iter().zip(state));
    for (index, (flat, (other, state))) in walk.enumerate() {
        trace.straight(flat.mm());
        let upward = other.up == fold.up;
        let strip = chain.strip_mm(other);
        if index == at {
            let part = Partial::of(chain, at, included_now)?;
            trace.straight(part.straight_mm);
            vertex = trace.middle_of_arc(part.bend / 2.0, part.radius_mm);
            trace.arc(part.bend, part.radius_mm, true);
            trace.straight(part.straight_mm);
            radius = part.radius_mm;
        } else if *state == FoldState::Made {
            trace.arc(
                bend_radians(other.included),
                other.inside_radius.mm(),
                upward,
            );
        } else {
            trace.straight(strip);
        }
    }
    trace.straight(chain.flats().last().map_or(0.0, |flat| flat.mm()));
    let tip = tip_height(
        bend_radians(included_now),
        radius,
        chain.thickness().mm(),
        v.mm(),
    );
    Ok(Pose {
        outline: trace.placed(vertex, tip - chain.thickness().mm() / 2.0),
        included: included_now,
        tip: Point::new(0.0, tip),
    })
}

/// The section from flat to `target` in `steps` equal steps of angle: `steps` + 1 poses.
///
/// # Errors
/// As [`pose`], and [`ShapeError::NoSteps`] for no step at all.
pub fn swept(
    chain: &Chain,
    state: &[FoldState],
    at: usize,
    target: Degrees,
    v: Length,
    steps: usize,
) -> Result<Vec<Pose>, ShapeError> {
    if steps == 0 {
        return Err(ShapeError::NoSteps);
    }
    check_included(target)?;
    let bend = 180.0 - target.get();
    (0..=steps)
        .map(|step| {
            #[allow(clippy::cast_precision_loss)] // a number of steps is far below 2^52
            let share = step as f64 / steps as f64;
            let included = Degrees::of(180.0 - bend * share);
            // The last step is the target itself, not the target as rounding leaves it.
            let included = if step == steps { target } else { included };
            pose(chain, state, at, included, v)
        })
        .collect()
}

/// [`swept`] to the fold's own angle, in as many steps as it takes that no point of the sheet moves
/// more than 4 mm in one (at least 12 steps, at most 240).
///
/// # Errors
/// As [`pose`].
pub fn swept_finely(
    chain: &Chain,
    state: &[FoldState],
    at: usize,
    v: Length,
) -> Result<Vec<Pose>, ShapeError> {
    let target = chain.fold(at)?.included;
    let flat = pose(chain, state, at, Degrees::of(180.0), v)?;
    let reach = flat
        .outline
        .points()
        .iter()
        .map(|point| point.distance(flat.tip))
        .fold(0.0, f64::max);
    // Each leg turns by half of the bend angle; the sinking of the vertex is less than V.
    let path = reach * bend_radians(target) / 2.0 + v.mm();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
    let steps = (path / STEP_MM).ceil().clamp(12.0, 240.0) as usize;
    swept(chain, state, at, target, v, steps)
}

/// The fold being made: how much of its strip is arc already.
struct Partial {
    bend: f64,
    radius_mm: f64,
    /// The straight rest of the strip on each side.
    straight_mm: f64,
}

impl Partial {
    fn of(chain: &Chain, at: usize, included_now: Degrees) -> Result<Partial, ShapeError> {
        let fold = chain.fold(at)?;
        let half = chain.thickness().mm() / 2.0;
        let strip = chain.strip_mm(fold);
        let bend = bend_radians(included_now);
        let own = fold.inside_radius.mm();
        let radius_mm = if bend > 0.0 {
            own.min((strip / bend - half).max(0.0))
        } else {
            own
        };
        // Beyond its own angle with no radius left, the arc takes more than the strip has; the
        // angle is kept, because it is what clearances hang on.
        let straight_mm = ((strip - bend * (radius_mm + half)) / 2.0).max(0.0);
        Ok(Partial {
            bend,
            radius_mm,
            straight_mm,
        })
    }
}

/// The height of the inside vertex over the die's shoulders, in mm; see [`pose`] for the formula.
fn tip_height(bend: f64, radius: f64, thickness: f64, v: f64) -> f64 {
    let outer = radius + thickness;
    let half = bend / 2.0;
    let centre = if outer * half.sin() >= v / 2.0 {
        (outer * outer - v * v / 4.0).max(0.0).sqrt()
    } else {
        outer / half.cos() - v / 2.0 * half.tan()
    };
    centre - radius
}

/// A place on the sheet's middle and the direction onwards, in radians.
#[derive(Clone, Copy, Debug, Default)]
struct Stand {
    place: Point,
    heading: f64,
}

/// Both faces of a sheet, traced along its middle.
struct Trace {
    half: f64,
    now: Stand,
    upper: Vec<Point>,
    lower: Vec<Point>,
}

impl Trace {
    fn new(thickness: f64) -> Trace {
        let mut trace = Trace {
            half: thickness / 2.0,
            now: Stand::default(),
            upper: Vec::new(),
            lower: Vec::new(),
        };
        trace.mark();
        trace
    }

    fn mark(&mut self) {
        let across = self.now.heading + std::f64::consts::FRAC_PI_2;
        self.upper.push(self.now.place.along(across, self.half));
        self.lower.push(self.now.place.along(across, -self.half));
    }

    fn straight(&mut self, length: f64) {
        self.now.place = self.now.place.along(self.now.heading, length);
        self.mark();
    }

    /// Where an arc that begins here stands after `turn` radians upward.
    fn middle_of_arc(&self, turn: f64, radius: f64) -> Stand {
        after_arc(self.now, turn, radius + self.half, true)
    }

    /// An arc of `bend` radians around an inside radius, with an even number of chords so that its
    /// middle is a corner.
    fn arc(&mut self, bend: f64, radius: f64, upward: bool) {
        let outer = radius + 2.0 * self.half;
        let widest = 2.0 * (1.0 - CHORD_MM / outer).clamp(0.0, 1.0).acos();
        let chords = (bend / widest / 2.0).ceil().clamp(1.0, CHORDS_MAX / 2.0) * 2.0;
        let start = self.now;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
        let count = chords as u32;
        for chord in 1..=count {
            let turn = bend * f64::from(chord) / chords;
            self.now = after_arc(start, turn, radius + self.half, upward);
            self.mark();
        }
    }

    /// The closed outline, moved so that `vertex` lies at (0, `height`) and heads along +x.
    fn placed(self, vertex: Stand, height: f64) -> Outline {
        let (sin, cos) = (-vertex.heading).sin_cos();
        let placed = |p: Point| {
            let (x, y) = (p.x - vertex.place.x, p.y - vertex.place.y);
            Point::new(x * cos - y * sin, x * sin + y * cos + height)
        };
        let back = self.upper.into_iter().rev();
        Outline::traced(self.lower.into_iter().chain(back).map(placed).collect())
    }
}

/// Where one stands after turning by `turn` radians on a circle of `radius`.
fn after_arc(start: Stand, turn: f64, radius: f64, upward: bool) -> Stand {
    let side = if upward { 1.0 } else { -1.0 };
    let across = start.heading + side * std::f64::consts::FRAC_PI_2;
    let centre = start.place.along(across, radius);
    let heading = start.heading + side * turn;
    Stand {
        place: centre.along(heading - side * std::f64::consts::FRAC_PI_2, radius),
        heading,
    }
}
