//! deductions.csv: what the shop has measured of its own bends.

use super::general::General;
use super::materials::{FILE as MATERIALS, Materials};
use crate::codes::{DEDUCTION_TWICE, OUT_OF_RANGE, UNKNOWN_MATERIAL};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::table::{Column, Layout, Row, read_table, required};
use crate::value::{Id, LengthIn, Number};
use model::Deduction;
use std::collections::BTreeMap;
use units::{Degrees, Length, MaterialId, Place};

pub(super) const FILE: &str = "deductions.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("material"),
    required("thickness").length(),
    required("v").length(),
    required("angle_deg"),
    required("deduction").length(),
];

/// A row counts for bends within a hundredth of a degree of its angle, so two rows whose angles are
/// less than two hundredths apart could both count for one bend.
const SAME_ANGLE: i64 = 20_000;

/// Material, thickness, V, and the angle in millionths of a degree.
type Key = (MaterialId, Length, Length, i64);

/// Reads deductions.csv.
pub(super) fn read_deductions(
    bytes: Option<&[u8]>,
    general: &General,
    materials: &Materials,
    out: &mut Findings,
) -> Vec<Deduction> {
    let Some(bytes) = bytes else {
        return Vec::new();
    };
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let mut read = Vec::new();
    let mut places: BTreeMap<Key, Place> = BTreeMap::new();
    read_table(layout, bytes, out, |row| {
        if let Some(deduction) = read_row(row, materials)
            && is_first(row, &deduction, &mut places)
        {
            read.push(deduction);
        }
    });
    read
}

fn read_row(row: &mut Row<'_, '_>, materials: &Materials) -> Option<Deduction> {
    let material = row.required("material", &Id(MaterialId::new));
    let thickness = row.required("thickness", &LengthIn::above_zero(200));
    let v = row.required("v", &LengthIn::above_zero(2_000));
    let angle = row.required("angle_deg", &Number::from(1.0, 179.9, "degrees"));
    let deduction = row.required("deduction", &LengthIn::above_zero(30_000));
    if let Some(material) = &material
        && let Some(problem) = materials.ids.missing(material, UNKNOWN_MATERIAL, MATERIALS)
    {
        row.report("material", problem);
    }
    let read = Deduction {
        material: material?,
        thickness: thickness?,
        v: v?,
        angle: Degrees::of(angle?),
        deduction: deduction?,
    };
    // Ten times thickness and V together is far beyond any bend: a slipped unit or decimal.
    let most = Length::from_nanometres((read.thickness + read.v).nanometres() * 10);
    if read.deduction >= most {
        let found = format!("{} mm", read.deduction);
        let expected = format!("less than {most} mm, ten times thickness and V together");
        let action = "correct the deduction, or its unit";
        row.report(
            "deduction",
            Problem::new(OUT_OF_RANGE, found, expected, action),
        );
    }
    Some(read)
}

/// Whether no earlier row is for the same bends; what is there twice is reported.
fn is_first(
    row: &mut Row<'_, '_>,
    deduction: &Deduction,
    places: &mut BTreeMap<Key, Place>,
) -> bool {
    #[allow(clippy::cast_possible_truncation)] // below 180 degrees, checked when it was read
    let angle = (deduction.angle.get() * 1e6).round() as i64;
    let key = |angle: i64| {
        let material = deduction.material.clone();
        (material, deduction.thickness, deduction.v, angle)
    };
    let alike = places.range(key(angle - SAME_ANGLE)..=key(angle + SAME_ANGLE));
    if let Some((_, first)) = alike.into_iter().next() {
        let found = format!(
            "{} of {} mm in a V of {} mm to {}° is already at {first}",
            deduction.material,
            deduction.thickness,
            deduction.v,
            deduction.angle.get()
        );
        let expected = "one deduction for each material, thickness, V and angle";
        let action = "keep the row that was measured last";
        row.report(
            "deduction",
            Problem::new(DEDUCTION_TWICE, found, expected, action),
        );
        return false;
    }
    places.insert(key(angle), row.place("deduction"));
    true
}
