//! Punches, dies, ram and bed in section.

use crate::pose::CHORD_MM;
use crate::{Outline, Point, ShapeError};
use units::{Degrees, Length};

/// The tools of one station in section, together with what holds them.
///
/// The outlines are in the brake's coordinates with the punch just touching the shoulders' plane:
/// its tip at (0, 0). [`crate::collision`] and [`crate::svg`] lift punch and ram to the sheet's
/// inside vertex.
#[derive(Clone, Debug, PartialEq)]
pub struct ToolSection {
    /// The punch, tip at (0, 0), body upward.
    pub punch: Outline,
    /// The die, shoulders at y = 0, the groove centred on x = 0.
    pub die: Outline,
    /// The ram, and whatever holder is between it and the punch.
    pub ram: Outline,
    /// The bed, and whatever holder is between it and the die.
    pub bed: Outline,
    /// A stop of the back gauge that stays during the stroke; `None` when it is withdrawn.
    pub gauge: Option<Outline>,
    /// The die's opening.
    pub opening: Length,
    /// The punch's tip radius.
    pub tip_radius: Length,
}

impl ToolSection {
    /// Stacks the tools: the ram's lower edge on the punch's top, the bed's upper edge under the
    /// die. No stop.
    #[must_use]
    pub fn stacked(
        punch: (Outline, Length),
        die: (Outline, Length),
        ram: &Outline,
        bed: &Outline,
    ) -> ToolSection {
        let (punch, tip_radius) = punch;
        let (die, opening) = die;
        let onto_punch = punch.bounds().high.y - ram.bounds().low.y;
        let under_die = die.bounds().low.y - bed.bounds().high.y;
        ToolSection {
            ram: ram.translated(0.0, onto_punch),
            bed: bed.translated(0.0, under_die),
            punch,
            die,
            gauge: None,
            opening,
            tip_radius,
        }
    }
}

/// A punch with straight flanks up to the width of its body.
///
/// `angle` is the angle between the flanks, above 0° and below 180°; the tip radius may be zero;
/// the body is centred on the tip.
///
/// # Errors
/// [`ShapeError::Dimension`] for a dimension out of range, or flanks that do not reach the body's
/// width within the height.
pub fn straight_punch(
    height: Length,
    angle: Degrees,
    tip_radius: Length,
    body_width: Length,
) -> Result<Outline, ShapeError> {
    positive("the punch's height", height)?;
    let nose = Nose::new(angle, tip_radius)?;
    let half = body_width.mm() / 2.0;
    let shoulder = nose.flank_at("the punch's body width", half)?;
    below("the height of the punch's flanks", shoulder.y, height.mm())?;
    let mut points = nose.right_side();
    points.push(shoulder);
    points.push(Point::new(half, height.mm()));
    let left: Vec<Point> = points.iter().rev().map(|p| Point::new(-p.x, p.y)).collect();
    points.extend(left);
    Outline::new(points)
}

/// The dimensions of a punch whose neck stands back, so that a flange already made at the front
/// finds room.
///
/// The throat opens to the front (−x); [`Outline::mirrored_x`] turns the punch round. Below the
/// throat is the nose, above it the upper body, centred on the tip. The ways into and out of the
/// throat are straight: from the nose's front edge back to the neck, and at 45° from the neck
/// forward to the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gooseneck {
    /// Tip to top.
    pub height: Length,
    /// The angle between the flanks of the nose.
    pub angle: Degrees,
    /// The tip radius.
    pub tip_radius: Length,
    /// How high the nose's front flank goes.
    pub nose_height: Length,
    /// How far the neck's front face lies behind the tip; negative before it.
    pub relief: Length,
    /// The neck's width from front to back.
    pub neck_width: Length,
    /// Where the throat has reached its full relief, above the tip.
    pub throat_low: Length,
    /// Where it begins to close again, above the tip.
    pub throat_high: Length,
    /// The width of the upper body.
    pub body_width: Length,
}

/// A gooseneck punch, its throat to the front.
///
/// # Errors
/// [`ShapeError::Dimension`] for a dimension out of range or out of order from tip to top,
/// [`ShapeError::CrossesItself`] when the throat would cut through the back flank.
pub fn gooseneck_punch(shape: &Gooseneck) -> Result<Outline, ShapeError> {
    positive("the punch's height", shape.height)?;
    positive("the neck's width", shape.neck_width)?;
    positive("the punch's body width", shape.body_width)?;
    let nose = Nose::new(shape.angle, shape.tip_radius)?;
    let (front, back) = (shape.relief.mm(), (shape.relief + shape.neck_width).mm());
    let (low, high) = (shape.throat_low.mm(), shape.throat_high.mm());
    let half = shape.body_width.mm() / 2.0;
    let heel = nose.flank_at("the back of the neck", back)?;
    let lip = nose.front_at(shape.nose_height.mm())?;
    below("the nose's height", lip.y, low)?;
    below("the lower end of the throat", low, high)?;
    below("the height of the back flank", heel.y, high)?;
    let (front_rise, back_rise) = ((half + front).abs(), (back - half).abs());
    let closed = high + front_rise.max(back_rise);
    below("the upper end of the throat", closed, shape.height.mm())?;
    let mut points = nose.right_side();
    points.extend([
        heel,
        Point::new(back, high),
        Point::new(half, high + back_rise),
        Point::new(half, shape.height.mm()),
        Point::new(-half, shape.height.mm()),
        Point::new(-half, high + front_rise),
        Point::new(front, high),
        Point::new(front, low),
        lip,
    ]);
    let left = nose.right_side();
    points.extend(left.iter().rev().map(|p| Point::new(-p.x, p.y)));
    Outline::new(points)
}

/// A block with one V groove.
///
/// `v` is the opening where the walls' planes meet the top; shoulders are rounded within it, so
/// they never reach higher or further in than sharp ones.
///
/// # Errors
/// [`ShapeError::Dimension`] for a dimension out of range: a groove deeper than the block, or
/// shoulders that do not fit beside or inside it.
pub fn v_die(
    v: Length,
    angle: Degrees,
    height: Length,
    width: Length,
    shoulder_radius: Length,
) -> Result<Outline, ShapeError> {
    positive("the die's opening", v)?;
    positive("the die's height", height)?;
    let wall = half_angle("the die's angle", angle)?;
    let radius = not_negative("the shoulder radius", shoulder_radius)?;
    let (half, bottom) = (v.mm() / 2.0, height.mm());
    let groove = half / wall.tan();
    below("the depth of the groove", groove, bottom)?;
    // The block's corner at the shoulder measures 90° + half of the groove's angle.
    let set_back = radius / ((std::f64::consts::FRAC_PI_2 + wall) / 2.0).tan();
    below(
        "the opening with its shoulders",
        2.0 * (half + set_back),
        width.mm(),
    )?;
    below(
        "the shoulder's way down the wall",
        set_back,
        half / wall.sin(),
    )?;
    let centre = Point::new(half + set_back, -radius);
    let mut right = vec![
        Point::new(width.mm() / 2.0, -bottom),
        Point::new(width.mm() / 2.0, 0.0),
    ];
    let (from, to) = (std::f64::consts::FRAC_PI_2, std::f64::consts::PI - wall);
    right.extend(arc(centre, radius, from, to));
    let left: Vec<Point> = right.iter().rev().map(|p| Point::new(-p.x, p.y)).collect();
    right.push(Point::new(0.0, -groove));
    right.extend(left);
    Outline::new(right)
}

/// A ram: a block of the given width, centred, its lower edge at y = 0.
///
/// # Errors
/// [`ShapeError::Dimension`] for a width or height not above zero.
pub fn ram(width: Length, height: Length) -> Result<Outline, ShapeError> {
    positive("the ram's width", width)?;
    positive("the ram's height", height)?;
    block(-width.mm() / 2.0, 0.0, width.mm(), height.mm())
}

/// A bed: a block of the given width, centred, its upper edge at y = 0.
///
/// # Errors
/// [`ShapeError::Dimension`] for a width or depth not above zero.
pub fn bed(width: Length, depth: Length) -> Result<Outline, ShapeError> {
    positive("the bed's width", width)?;
    positive("the bed's depth", depth)?;
    block(-width.mm() / 2.0, -depth.mm(), width.mm(), depth.mm())
}

/// A stop: a block of the given height and length whose front face stands `x` behind the bend line
/// with its middle `r` above the die.
///
/// # Errors
/// [`ShapeError::Dimension`] for a height or length not above zero.
pub fn gauge_stop(
    x: Length,
    r: Length,
    height: Length,
    length: Length,
) -> Result<Outline, ShapeError> {
    positive("the stop's height", height)?;
    positive("the stop's length", length)?;
    block(x.mm(), r.mm() - height.mm() / 2.0, length.mm(), height.mm())
}

fn block(x: f64, y: f64, width: f64, height: f64) -> Result<Outline, ShapeError> {
    Outline::new(vec![
        Point::new(x, y),
        Point::new(x + width, y),
        Point::new(x + width, y + height),
        Point::new(x, y + height),
    ])
}

/// The lower end of a punch.
struct Nose {
    /// Half of the angle between the flanks, radians.
    half: f64,
    radius: f64,
}

impl Nose {
    fn new(angle: Degrees, tip_radius: Length) -> Result<Nose, ShapeError> {
        Ok(Nose {
            half: half_angle("the punch's angle", angle)?,
            radius: not_negative("the tip radius", tip_radius)?,
        })
    }

    /// Where the tip's arc ends and the right flank begins.
    fn tangent(&self) -> Point {
        let r = self.radius;
        Point::new(r * self.half.cos(), r * (1.0 - self.half.sin()))
    }

    /// From the tip along the arc to the right flank.
    fn right_side(&self) -> Vec<Point> {
        let centre = Point::new(0.0, self.radius);
        let mut points = vec![Point::default()];
        points.extend(arc(
            centre,
            self.radius,
            -std::f64::consts::FRAC_PI_2,
            -self.half,
        ));
        points
    }

    /// The point of the right flank `x` behind the tip.
    fn flank_at(&self, name: &'static str, x: f64) -> Result<Point, ShapeError> {
        let from = self.tangent();
        if x <= from.x {
            return Err(ShapeError::Dimension {
                name,
                value: x,
                must: "beyond the tip's radius",
            });
        }
        Ok(Point::new(x, from.y + (x - from.x) / self.half.tan()))
    }

    /// The point of the left flank `y` above the tip.
    fn front_at(&self, y: f64) -> Result<Point, ShapeError> {
        let from = self.tangent();
        if y <= from.y {
            return Err(ShapeError::Dimension {
                name: "the nose's height",
                value: y,
                must: "above the tip's radius",
            });
        }
        Ok(Point::new(-from.x - (y - from.y) * self.half.tan(), y))
    }
}

/// Points on an arc from one angle to the next, both ends included.
fn arc(centre: Point, radius: f64, from: f64, to: f64) -> Vec<Point> {
    if radius <= 0.0 {
        return vec![centre];
    }
    let widest = 2.0 * (1.0 - CHORD_MM / radius).clamp(0.0, 1.0).acos();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
    let chords = ((to - from).abs() / widest).ceil().clamp(1.0, 256.0) as u32;
    (0..=chords)
        .map(|chord| {
            let share = f64::from(chord) / f64::from(chords);
            centre.along(from + (to - from) * share, radius)
        })
        .collect()
}

fn positive(name: &'static str, length: Length) -> Result<(), ShapeError> {
    if length > Length::ZERO {
        return Ok(());
    }
    Err(ShapeError::Dimension {
        name,
        value: length.mm(),
        must: "above 0 mm",
    })
}

fn not_negative(name: &'static str, length: Length) -> Result<f64, ShapeError> {
    if length >= Length::ZERO {
        return Ok(length.mm());
    }
    Err(ShapeError::Dimension {
        name,
        value: length.mm(),
        must: "0 mm or more",
    })
}

fn half_angle(name: &'static str, angle: Degrees) -> Result<f64, ShapeError> {
    if angle.get() > 0.0 && angle.get() < 180.0 {
        return Ok((angle.get() / 2.0).to_radians());
    }
    Err(ShapeError::Dimension {
        name,
        value: angle.get(),
        must: "above 0° and below 180°",
    })
}

fn below(name: &'static str, value: f64, limit: f64) -> Result<(), ShapeError> {
    if value < limit {
        return Ok(());
    }
    Err(ShapeError::Dimension {
        name,
        value,
        must: "less: it does not fit what is around it",
    })
}
