//! `part`: a part out of a flat pattern.

use super::{load, read_up_to};
use crate::args::exchange::{DrawingArgs, PartArgs};
use crate::out;
use crate::printer::{Printer, drawn_part};
use crate::trouble::{Ended, Trouble};
use drawing::{Asked, Drawn, Flat, LARGEST_FILE, Layers, Unit};
use model::Shop;
use std::path::Path;
use units::{Degrees, Length, LengthUnit, MaterialId, PartId, parse_length};

/// Shows the part, or writes its rows.
pub(super) fn run(args: &PartArgs, printer: &mut Printer) -> Result<Ended, Trouble> {
    if let Some(folder) = &args.out {
        out::rows_may_be_written(folder)?;
    }
    let loaded = load(&args.folder, printer)?;
    let shop = &loaded.shop;
    let id = PartId::new(&args.id).map_err(|problem| usage("--id", &problem))?;
    if shop.part(&id).is_some() {
        return Err(Trouble::Usage(format!(
            "the shop has a part {id} already; name another with --id"
        )));
    }
    let stem = args.dxf.file_stem().map(|stem| stem.display().to_string());
    let what = Described {
        id,
        name: args.name.clone().or(stem).unwrap_or_default(),
        thickness: &args.thickness,
        material: &args.material,
    };
    let (flat, drawn) = drawn(shop, &args.dxf, &args.drawing, what)?;
    if shop.material(&drawn.part.material).is_none() {
        let known: Vec<&str> = shop.materials.iter().map(|m| m.id.as_str()).collect();
        return Err(Trouble::Usage(format!(
            "no material {} in this shop; there are {}",
            drawn.part.material,
            known.join(", ")
        )));
    }
    if let Some(folder) = &args.out {
        let (parts, bends) = documents::part_rows(&drawn.part);
        printer.message(&out::write_rows(folder, parts, bends)?);
    }
    if args.json {
        printer.json(&drawn_part::as_json(&flat, &drawn))?;
    } else {
        printer.data(&drawn_part::as_text(&flat, &drawn, printer.width()))?;
    }
    Ok(Ended::Done)
}

/// What the call says of the part.
pub(super) struct Described<'a> {
    pub(super) id: PartId,
    pub(super) name: String,
    pub(super) thickness: &'a str,
    pub(super) material: &'a str,
}

/// Reads a flat pattern and makes a part of it.
pub(super) fn drawn(
    shop: &Shop,
    path: &Path,
    args: &DrawingArgs,
    what: Described<'_>,
) -> Result<(Flat, Drawn), Trouble> {
    let length = |option: &str, text: &str| -> Result<Length, Trouble> {
        let length = parse_length(text, LengthUnit::Millimetre);
        let length = length.map_err(|problem| usage(option, &problem))?;
        // What a sheet can be; the readers of a shop's files hold to the same.
        let most = Length::from_whole_mm(if option == "--thickness" { 200 } else { 30_000 });
        if length <= Length::ZERO || length > most {
            let expected = format!("above 0 to {most} mm");
            return Err(Trouble::Usage(format!("{option}: expected {expected}")));
        }
        Ok(length)
    };
    let angle = args.angle.filter(|angle| (1.0..=179.9).contains(angle));
    if args.angle.is_some() && angle.is_none() {
        return Err(Trouble::Usage(
            "--angle: expected an included angle, 1 to 179.9 degrees".to_owned(),
        ));
    }
    let asked = Asked {
        id: what.id,
        name: what.name,
        material: MaterialId::new(what.material)
            .map_err(|problem| usage("--material", &problem))?,
        thickness: length("--thickness", what.thickness)?,
        angle: angle.map(Degrees::of),
        radius: match &args.radius {
            Some(text) => Some(length("--radius", text)?),
            None => None,
        },
        k_factor: shop.rules.k_factor,
    };
    let told = match &args.units {
        None => None,
        Some(name) => Some(Unit::named(name).ok_or_else(|| {
            Trouble::Usage(format!("--units: {name:?} is none of mm, cm, m, in, ft"))
        })?),
    };
    let layers = match &args.layers {
        Some(path) => {
            let bytes = read_up_to(path, LARGEST_FILE)?;
            Layers::read(&path.display().to_string(), &bytes)
        }
        None => Layers::usual(),
    }
    .map_err(Trouble::Findings)?;
    let bytes = read_up_to(path, LARGEST_FILE)?;
    let file = path.display().to_string();
    let flat = drawing::read_flat(&file, &bytes, &layers, told).map_err(Trouble::Findings)?;
    let drawn = drawing::part_from(&file, &flat, &asked).map_err(Trouble::Findings)?;
    Ok((flat, drawn))
}

fn usage(option: &str, problem: &dyn std::fmt::Display) -> Trouble {
    Trouble::Usage(format!("{option}: {problem}"))
}
