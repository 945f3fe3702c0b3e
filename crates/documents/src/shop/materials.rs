//! materials.toml: the sheet materials.

use super::general::General;
use crate::codes::{REVERSED, WRONG_TYPE};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::known::Known;
use crate::settings::{Settings, read_settings};
use crate::value::{Choice, Id, Number, Text};
use model::{Family, Material};
use units::{Degrees, MaterialId, Megapascals};

pub(super) const FILE: &str = "materials.toml";

/// Tensile strengths from soft lead to the hardest sheet anybody bends.
pub(super) const STRENGTH: Number = Number::from(10.0, 3_000.0, "MPa");
const FAMILIES: Choice<Family> = Choice(&[
    ("steel", Family::Steel),
    ("stainless", Family::Stainless),
    ("aluminium", Family::Aluminium),
    ("copper", Family::Copper),
]);

/// The materials and their ids.
pub(super) struct Materials {
    pub(super) list: Vec<Material>,
    pub(super) ids: Known<MaterialId>,
}

/// Reads materials.toml.
pub(super) fn read_materials(
    bytes: Option<&[u8]>,
    general: &General,
    out: &mut Findings,
) -> Materials {
    let mut materials = Materials {
        list: Vec::new(),
        ids: Known::new(),
    };
    let whole = bytes.is_some_and(|bytes| {
        read_settings(FILE, bytes, out, |file| {
            file.unit = general.unit;
            file.each("material", |material| {
                let id = material.required("id", &Id(MaterialId::new));
                let fresh = match &id {
                    Some(id) => materials.ids.add(id, material.place("id"), material.out),
                    None => {
                        materials.ids.mark_incomplete();
                        false
                    }
                };
                let read = read_material(material, id);
                materials.list.extend(read.filter(|_| fresh));
            });
        })
    });
    if !whole {
        materials.ids.mark_incomplete();
    }
    materials
}

fn read_material(material: &mut Settings<'_, '_>, id: Option<MaterialId>) -> Option<Material> {
    let name = material.required("name", &Text);
    let family = material.required("family", &FAMILIES);
    let typical = material.required("strength_mpa", &STRENGTH);
    let highest = material.required("strength_highest_mpa", &STRENGTH);
    let yield_strength = material.required("yield_mpa", &Number::from(1.0, 3_000.0, "MPa"));
    let modulus = material.required("modulus_mpa", &Number::from(10_000.0, 500_000.0, "MPa"));
    let density = material.required("density_kg_m3", &Number::from(500.0, 25_000.0, "kg/m3"));
    let share = material.required("radius_share_of_v", &Number::from(0.05, 0.5, "of the V"));
    let springback = material.required("springback_deg", &Number::from(0.0, 45.0, "degrees"));
    let v_over_t = read_v_over_t(material);
    let source = material.required("source", &Text);
    let (typical, highest, yield_strength) = (typical?, highest?, yield_strength?);
    rising(
        material,
        "strength_highest_mpa",
        typical,
        highest,
        "the typical strength",
    );
    rising(
        material,
        "strength_mpa",
        yield_strength,
        typical,
        "the yield strength",
    );
    Some(Material {
        id: id?,
        name: name?,
        family: family?,
        strength_typical: Megapascals::of(typical),
        strength_highest: Megapascals::of(highest),
        yield_strength: Megapascals::of(yield_strength),
        modulus: Megapascals::of(modulus?),
        density: density?,
        radius_share_of_v: share?,
        springback: Degrees::of(springback?),
        v_over_t,
        source: source?,
    })
}

fn rising(material: &mut Settings<'_, '_>, key: &'static str, least: f64, value: f64, what: &str) {
    if value < least {
        let found = format!("{value} MPa, below {what} of {least} MPa");
        let expected = format!("at least {what}");
        material.report(
            key,
            Problem::new(REVERSED, found, expected, "correct one of the two"),
        );
    }
}

fn read_v_over_t(material: &mut Settings<'_, '_>) -> Option<(f64, f64)> {
    let limits = material.list(
        "v_over_t",
        &Number::above(0.0, 100.0, "times the thickness"),
    )?;
    match limits.as_slice() {
        [least, most] if least <= most => Some((*least, *most)),
        [least, most] => {
            let found = format!("from {least} to {most}");
            let problem = Problem::new(REVERSED, found, "a range that rises", "swap the two");
            material.report("v_over_t", problem);
            None
        }
        other => {
            let found = format!("a list of {}", other.len());
            let problem = Problem::new(WRONG_TYPE, found, "two numbers", "write [least, most]");
            material.report("v_over_t", problem);
            None
        }
    }
}
