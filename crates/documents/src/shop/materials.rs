//! materials.toml: the sheet materials.

use super::general::General;
use super::grades::{Grade, Grades};
use crate::codes::{BELOW_GRADE, REVERSED, WRONG_TYPE};
use crate::fields::{Fields, Parse};
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
    grades: &Grades,
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
                let read = read_material(material, id, grades);
                materials.list.extend(read.filter(|_| fresh));
            });
        })
    });
    if !whole {
        materials.ids.mark_incomplete();
    }
    materials
}

fn read_material(
    material: &mut Settings<'_, '_>,
    id: Option<MaterialId>,
    grades: &Grades,
) -> Option<Material> {
    let base = read_base(material, grades);
    let figures = read_figures(material, &base)?;
    if let Base::Grade(grade) = base {
        not_below(material, grade, figures.typical);
    }
    Some(Material {
        id: id?,
        name: figures.name,
        family: figures.family,
        strength_typical: Megapascals::of(figures.typical),
        strength_highest: Megapascals::of(figures.highest),
        yield_strength: Megapascals::of(figures.yield_strength),
        modulus: Megapascals::of(figures.modulus),
        density: figures.density,
        radius_share_of_v: figures.share,
        springback: Degrees::of(figures.springback),
        v_over_t: figures.v_over_t,
        source: figures.source,
    })
}

/// What stands where a material says nothing.
pub(super) enum Base<'g> {
    /// Nothing: every figure is required.
    Nothing,
    /// The figures of its grade.
    Grade(&'g Grade),
    /// The figures of a grade that nobody knows. That is reported; that they are missing is not.
    Unknown,
}

fn read_base<'g>(material: &mut Settings<'_, '_>, grades: &'g Grades) -> Base<'g> {
    let Some(designation) = material.optional("grade", &Text) else {
        // Something unreadable may stand there.
        return if material.has("grade") {
            Base::Unknown
        } else {
            Base::Nothing
        };
    };
    match grades.find(&designation) {
        Ok(grade) => Base::Grade(grade),
        Err(problem) => {
            material.report("grade", problem);
            Base::Unknown
        }
    }
}

/// All there is to know of a sheet but a shop's id for it; MPa, kg/m³, degrees.
pub(super) struct Figures {
    name: String,
    family: Family,
    pub(super) typical: f64,
    highest: f64,
    yield_strength: f64,
    modulus: f64,
    density: f64,
    share: f64,
    springback: f64,
    v_over_t: Option<(f64, f64)>,
    source: String,
}

/// Reads figures over those of a base; without one every figure is required.
pub(super) fn read_figures(material: &mut Settings<'_, '_>, base: &Base<'_>) -> Option<Figures> {
    let mut from = Over { material, base };
    let name = from.read("name", &Text, |grade| grade.name.clone());
    let family = from.read("family", &FAMILIES, |grade| grade.family);
    let typical = from.read("strength_mpa", &STRENGTH, |grade| grade.typical);
    let highest = from.read("strength_highest_mpa", &STRENGTH, |grade| grade.highest);
    let range = Number::from(1.0, 3_000.0, "MPa");
    let yield_strength = from.read("yield_mpa", &range, |grade| grade.yield_strength);
    let range = Number::from(10_000.0, 500_000.0, "MPa");
    let modulus = from.read("modulus_mpa", &range, |grade| grade.modulus);
    let range = Number::from(500.0, 25_000.0, "kg/m3");
    let density = from.read("density_kg_m3", &range, |grade| grade.density);
    let range = Number::from(0.05, 0.5, "of the V");
    let share = from.read("radius_share_of_v", &range, |grade| grade.share);
    let range = Number::from(0.0, 45.0, "degrees");
    let springback = from.read("springback_deg", &range, |grade| grade.springback);
    let v_over_t = from.v_over_t();
    let source = from.source();
    let (typical, highest, yield_strength) = (typical?, highest?, yield_strength?);
    let (typical_at, highest_at) = (("strength_mpa", typical), ("strength_highest_mpa", highest));
    rising(material, typical_at, highest_at, "the typical strength");
    let yield_at = ("yield_mpa", yield_strength);
    rising(material, yield_at, typical_at, "the yield strength");
    Some(Figures {
        name: name?,
        family: family?,
        typical,
        highest,
        yield_strength,
        modulus: modulus?,
        density: density?,
        share: share?,
        springback: springback?,
        v_over_t,
        source: source?,
    })
}

/// A material's own figures over those of its base.
struct Over<'m, 't, 'f, 'g> {
    material: &'m mut Settings<'t, 'f>,
    base: &'m Base<'g>,
}

impl Over<'_, '_, '_, '_> {
    fn read<P: Parse>(
        &mut self,
        key: &'static str,
        parse: &P,
        of: impl FnOnce(&Figures) -> P::Out,
    ) -> Option<P::Out> {
        match self.base {
            Base::Nothing => self.material.required(key, parse),
            Base::Unknown => self.material.optional(key, parse),
            Base::Grade(grade) => {
                let own = self.material.optional(key, parse);
                // A bad value is no reason to take another one instead.
                own.or_else(|| (!self.material.has(key)).then(|| of(&grade.figures)))
            }
        }
    }

    fn v_over_t(&mut self) -> Option<(f64, f64)> {
        let own = read_v_over_t(self.material);
        match self.base {
            Base::Grade(grade) if !self.material.has("v_over_t") => grade.figures.v_over_t,
            _ => own,
        }
    }

    /// Where the figures come from; of a grade's figures, with the names of those that are not.
    fn source(&mut self) -> Option<String> {
        let own: Vec<&str> = OWN
            .iter()
            .copied()
            .filter(|key| self.material.has(key))
            .collect();
        self.read("source", &Text, |grade| {
            if own.is_empty() {
                grade.source.clone()
            } else {
                format!("{}; the shop's own: {}", grade.source, own.join(", "))
            }
        })
    }
}

/// The figures that a grade's source no longer speaks for once a shop gives its own.
const OWN: &[&str] = &[
    "family",
    "strength_mpa",
    "strength_highest_mpa",
    "yield_mpa",
    "modulus_mpa",
    "density_kg_m3",
    "radius_share_of_v",
    "springback_deg",
    "v_over_t",
];

/// Reports the greater of two figures, or the lesser where only that is written, when they are the
/// other way about.
pub(super) fn rising(
    material: &mut Settings<'_, '_>,
    (lesser_key, lesser): (&'static str, f64),
    (greater_key, greater): (&'static str, f64),
    what: &str,
) {
    if greater >= lesser {
        return;
    }
    let key = if material.has(greater_key) || !material.has(lesser_key) {
        greater_key
    } else {
        lesser_key
    };
    let found = format!("{greater_key} of {greater} MPa, below {what} of {lesser} MPa");
    let expected = format!("at least {what}");
    let action = "correct one of the two";
    material.report(key, Problem::new(REVERSED, found, expected, action));
}

/// Force reckoned with less strength than the standard allows reads low.
fn not_below(material: &mut Settings<'_, '_>, grade: &Grade, typical: f64) {
    if typical < grade.lowest {
        let found = format!("{typical} MPa");
        let expected = format!("at least the {} MPa of {}", grade.lowest, grade.designation);
        let action = "reckon force with the strength on the certificate, or name another grade";
        let problem = Problem::new(BELOW_GRADE, found, expected, action);
        material.report("strength_mpa", problem);
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
