//! What each layer of a drawing holds, and the drawing's unit.

use crate::codes::{BAD_MAPPING, LAYER_TWICE, NO_UNIT, Out, shown};
use model::Direction;
use serde::Deserialize;
use units::Finding;

/// The mapping that is used when none is given.
const USUAL: &str = include_str!("../../../config/drawing.toml");

/// Unit of a drawing's lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Unit {
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
    /// Centimetres.
    #[serde(rename = "cm")]
    Centimetre,
    /// Metres.
    #[serde(rename = "m")]
    Metre,
    /// Inches.
    #[serde(rename = "in")]
    Inch,
    /// Feet.
    #[serde(rename = "ft")]
    Foot,
}

impl Unit {
    /// Millimetres in one.
    #[must_use]
    pub fn mm(self) -> f64 {
        match self {
            Unit::Millimetre => 1.0,
            Unit::Centimetre => 10.0,
            Unit::Metre => 1_000.0,
            Unit::Inch => 25.4,
            Unit::Foot => 304.8,
        }
    }

    /// By its sign: mm, cm, m, in, ft.
    #[must_use]
    pub fn named(name: &str) -> Option<Unit> {
        Some(match name {
            "mm" => Unit::Millimetre,
            "cm" => Unit::Centimetre,
            "m" => Unit::Metre,
            "in" => Unit::Inch,
            "ft" => Unit::Foot,
            _ => return None,
        })
    }

    /// Its sign.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Unit::Millimetre => "mm",
            Unit::Centimetre => "cm",
            Unit::Metre => "m",
            Unit::Inch => "in",
            Unit::Foot => "ft",
        }
    }

    /// By the number a drawing's header gives for it.
    fn numbered(number: i64) -> Option<Unit> {
        Some(match number {
            1 => Unit::Inch,
            2 => Unit::Foot,
            4 => Unit::Millimetre,
            5 => Unit::Centimetre,
            6 => Unit::Metre,
            _ => return None,
        })
    }
}

/// A layer of bend lines.
#[derive(Clone, Debug, PartialEq)]
pub struct BendLayer {
    /// Name of the layer; case does not count.
    pub layer: String,
    /// Which way its bends go, seen as drawn.
    pub direction: Direction,
    /// Included angle in degrees, 1 to 179.9; told by the caller when `None`.
    pub angle: Option<f64>,
    /// Inside radius in millimetres, above zero; told by the caller when `None`.
    pub radius_mm: Option<f64>,
}

/// What each layer holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Layers {
    /// Unit of drawings, before the one a file names; the file's own when `None`.
    pub units: Option<Unit>,
    /// Layers of the outline and of cut-outs.
    pub outline: Vec<String>,
    /// Layers of which nothing is read.
    pub ignore: Vec<String>,
    /// Layers of bend lines.
    pub bends: Vec<BendLayer>,
    /// How far ends that belong together may lie apart, in millimetres, 0.0001 to 1.
    pub join_mm: f64,
    /// How far a bend line may end before or behind its edge, in millimetres, 0 to 5.
    pub short_mm: f64,
}

/// What a layer is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Use {
    Outline,
    Ignore,
    /// A bend of the layer at this place of the list.
    Bend(usize),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    units: Option<Unit>,
    outline: Vec<String>,
    #[serde(default)]
    ignore: Vec<String>,
    #[serde(default)]
    bend: Vec<WrittenBend>,
    #[serde(default = "usual_join")]
    join_mm: f64,
    #[serde(default = "usual_short")]
    short_mm: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenBend {
    layer: String,
    direction: Way,
    angle_deg: Option<f64>,
    radius_mm: Option<f64>,
}

#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Way {
    Up,
    Down,
}

fn usual_join() -> f64 {
    0.05
}

fn usual_short() -> f64 {
    0.5
}

impl Layers {
    /// The mapping of config/drawing.toml.
    ///
    /// # Errors
    /// Only if that file, which is part of the program, were broken.
    pub fn usual() -> Result<Layers, Vec<Finding>> {
        Layers::read("config/drawing.toml", USUAL.as_bytes())
    }

    /// Reads a mapping, as config/drawing.toml describes it.
    ///
    /// # Errors
    /// Findings when it is not TOML of that form, names a layer twice, or has a value out of range.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Layers, Vec<Finding>> {
        let mut out = Out::new(file);
        let layers = parse(bytes, &mut out);
        match layers {
            Some(layers) if out.is_empty() => Ok(layers),
            _ => Err(out.finish()),
        }
    }

    pub(crate) fn use_of(&self, layer: &str) -> Option<Use> {
        let is = |name: &String| same(name, layer);
        if self.outline.iter().any(is) {
            return Some(Use::Outline);
        }
        if self.ignore.iter().any(is) {
            return Some(Use::Ignore);
        }
        let bend = self.bends.iter().position(|bend| same(&bend.layer, layer));
        bend.map(Use::Bend)
    }
}

/// Layers are called the same without regard to case.
fn same(one: &str, other: &str) -> bool {
    one.eq_ignore_ascii_case(other) || one.to_lowercase() == other.to_lowercase()
}

fn parse(bytes: &[u8], out: &mut Out) -> Option<Layers> {
    let action = "see config/drawing.toml";
    let expected = "a mapping of layers in TOML, at most 1 MiB";
    let small = Some(bytes).filter(|bytes| bytes.len() <= 1024 * 1024);
    let Some(text) = small.and_then(|bytes| std::str::from_utf8(bytes).ok()) else {
        out.add(
            BAD_MAPPING,
            (0, ""),
            "no text of that size",
            expected,
            action,
        );
        return None;
    };
    let written: Written = match toml::from_str(text.trim_start_matches('\u{feff}')) {
        Ok(written) => written,
        Err(error) => {
            let before = error.span().and_then(|span| text.get(..span.start));
            let line = before.map_or(0, |text| 1 + text.matches('\n').count() as u64);
            let found = shown(error.message());
            out.add(BAD_MAPPING, (line, ""), found, expected, action);
            return None;
        }
    };
    let mut range = |key: &str, value: Option<f64>, least: f64, most: f64| {
        if let Some(value) = value.filter(|value| !(least..=most).contains(value)) {
            let expected = format!("{least} to {most}");
            out.add(BAD_MAPPING, (0, key), value.to_string(), &expected, action);
        }
    };
    range("join_mm", Some(written.join_mm), 0.0001, 1.0);
    range("short_mm", Some(written.short_mm), 0.0, 5.0);
    for bend in &written.bend {
        range("angle_deg", bend.angle_deg, 1.0, 179.9);
        range("radius_mm", bend.radius_mm, 0.001, 1_000.0);
    }
    let layers = Layers {
        units: written.units,
        outline: written.outline,
        ignore: written.ignore,
        bends: written.bend.into_iter().map(bend_layer).collect(),
        join_mm: written.join_mm,
        short_mm: written.short_mm,
    };
    refuse_twice(&layers, out);
    Some(layers)
}

fn bend_layer(written: WrittenBend) -> BendLayer {
    BendLayer {
        layer: written.layer,
        direction: match written.direction {
            Way::Up => Direction::Up,
            Way::Down => Direction::Down,
        },
        angle: written.angle_deg,
        radius_mm: written.radius_mm,
    }
}

fn refuse_twice(layers: &Layers, out: &mut Out) {
    let bends = layers.bends.iter().map(|bend| &bend.layer);
    let all = layers.outline.iter().chain(&layers.ignore).chain(bends);
    let mut names: Vec<String> = all.map(|name| name.to_lowercase()).collect();
    names.sort();
    for pair in names.windows(2) {
        if let [one, other] = pair
            && one == other
        {
            let found = format!("the layer {} twice", shown(one));
            let action = "name each layer once";
            out.add(LAYER_TWICE, (0, ""), found, "one use for a layer", action);
        }
    }
}

/// The unit of a drawing: the one told, or the one its header names.
pub(crate) fn unit_of(
    numbered: Option<i64>,
    told: Option<Unit>,
    notes: &mut Vec<String>,
    out: &mut Out,
) -> Option<Unit> {
    let own = numbered.and_then(Unit::numbered);
    match (told, own) {
        (Some(told), Some(own)) if told != own => {
            notes.push(format!(
                "lengths taken as {}, as told; the file itself says {}",
                told.sign(),
                own.sign()
            ));
            Some(told)
        }
        (Some(unit), _) => Some(unit),
        (None, Some(unit)) => {
            notes.push(format!("lengths in {}, as the file says", unit.sign()));
            Some(unit)
        }
        (None, None) => {
            let found = match numbered {
                None | Some(0) => "no unit in the file".to_owned(),
                Some(number) => format!("the unit number {number}"),
            };
            let expected = "millimetres, centimetres, metres, inches or feet";
            let action = "say the unit with --units, or save the drawing with it";
            out.add(NO_UNIT, (0, "$INSUNITS"), found, expected, action);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_mapping_is_well_formed() {
        let layers = Layers::usual().unwrap();
        assert_eq!(layers.use_of("outline"), Some(Use::Outline));
        assert!(matches!(layers.use_of("Bend-Up"), Some(Use::Bend(_))));
        assert_eq!(layers.use_of("elsewhere"), None);
        assert!((layers.join_mm - usual_join()).abs() < 1e-12);
        assert!((layers.short_mm - usual_short()).abs() < 1e-12);
    }

    #[test]
    fn mappings_that_cannot_be_are_refused() {
        let refused = |text: &str| Layers::read("layers.toml", text.as_bytes()).unwrap_err();
        let code = |text: &str| refused(text)[0].code;
        assert_eq!(code("outline = 3"), "G401");
        assert_eq!(code("outline = []\ncolour = 3"), "G401");
        assert_eq!(code("outline = ['a']\nignore = ['A']"), "G402");
        assert_eq!(code("outline = ['a']\njoin_mm = 20.0"), "G401");
        let angle = "outline = []\n[[bend]]\nlayer = 'b'\ndirection = 'up'\nangle_deg = 180";
        assert_eq!(code(angle), "G401");
        assert_eq!(refused("outline = []\ncolour = 3")[0].place.line, Some(2));
    }
}
