//! Flat patterns: an ASCII DXF file in, the blank and its bends out, and a part made of them.
//!
//! [`Layers`] says what each layer holds. [`read_flat`] reads a file: `groups` takes it apart into
//! group codes and values, `entities` finds what is drawn, `place` puts inserted blocks where they
//! stand, `chain` joins the outline and `bends` holds the bend lines against it. [`part_from`] turns
//! the [`Flat`] into a [`model::Part`]; the catalogue of findings is [`CODES`].
//!
//! Nothing is guessed. What a layer, a unit or an angle means is said by the mapping or the caller, or
//! the file is refused.
//!
//! Invariant: no I/O, no clock, no randomness; bytes in, values out. No input makes it panic, and what
//! a file may ask for is bounded.

mod bends;
mod chain;
mod codes;
mod entities;
mod flatten;
mod groups;
mod layers;
mod order;
mod part;
mod place;
mod point;

pub use bends::{Flat, FlatBend};
pub use codes::{CODES, Code};
pub use layers::{BendLayer, Layers, Unit};
pub use part::{Asked, Drawn, part_from};

use codes::Out;
use units::Finding;

/// Largest file read, in bytes.
pub const LARGEST_FILE: usize = 16 * 1024 * 1024;

/// Reads a flat pattern. `file` is what findings call it. `told` is the unit of the drawing's
/// lengths, which goes before the one the file names.
///
/// # Errors
/// Findings for everything that keeps the file from being used, at most 50: no text, no ASCII DXF,
/// larger than 16 MiB, unknown units or layers, an outline that is open or not one, bend lines that
/// do not run from edge to edge.
pub fn read_flat(
    file: &str,
    bytes: &[u8],
    layers: &Layers,
    told: Option<Unit>,
) -> Result<Flat, Vec<Finding>> {
    let mut out = Out::new(file);
    let flat = read(bytes, layers, told, &mut out);
    match flat {
        Some(flat) if out.is_empty() => Ok(flat),
        _ => Err(out.finish()),
    }
}

fn read(bytes: &[u8], layers: &Layers, told: Option<Unit>, out: &mut Out) -> Option<Flat> {
    let text = groups::text_of(bytes, out)?;
    let read = entities::read(text, out)?;
    let mut notes = Vec::new();
    let unit = layers::unit_of(read.units, told.or(layers.units), &mut notes, out)?;
    let lines = place::place(&read, layers, unit.mm(), &mut notes, out)?;
    let outline = chain::outline(lines.outline, layers.join_mm, &mut notes, out)?;
    bends::flat(&outline, &lines.bends, layers, notes, out)
}
