//! parts.csv and bends.csv: the parts.

use super::bends::read_bends;
use super::general::General;
use super::materials::{FILE as MATERIALS, Materials};
use crate::codes::{SIDES_SWAPPED, UNKNOWN_MATERIAL};
use crate::fields::Fields;
use crate::findings::{Findings, Problem};
use crate::known::Known;
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::value::{Choice, Id, LengthIn, Number, Text, YesNo};
use model::{Approval, Grain, Part};
use std::collections::BTreeMap;
use units::{Degrees, Length, MaterialId, PartId};

pub(super) const FILE: &str = "parts.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("part"),
    required("name"),
    required("material"),
    required("thickness").length(),
    required("blank_length").length(),
    required("blank_width").length(),
    optional("developed_for_v").length(),
    optional("length_tolerance").length(),
    optional("angle_tolerance_deg"),
    optional("crew"),
    optional("approval"),
    optional("proven_only"),
    optional("grain"),
];
const APPROVAL: Choice<Approval> = Choice(&[
    ("own", Approval::Own),
    ("inspector", Approval::Inspector),
    ("customer", Approval::Customer),
]);
const GRAIN: Choice<Grain> = Choice(&[("long", Grain::Long), ("short", Grain::Short)]);
const CREW: Choice<u8> = Choice(&[("1", 1), ("2", 2)]);
const BLANK: LengthIn = LengthIn::above_zero(30_000);

/// The parts and their ids.
pub(super) struct Parts {
    pub(super) list: Vec<Part>,
    pub(super) ids: Known<PartId>,
    index: BTreeMap<PartId, usize>,
}

impl Parts {
    pub(super) fn get(&self, id: &PartId) -> Option<&Part> {
        self.list.get(*self.index.get(id)?)
    }

    pub(super) fn get_mut(&mut self, id: &PartId) -> Option<&mut Part> {
        self.list.get_mut(*self.index.get(id)?)
    }
}

/// Reads parts.csv and bends.csv.
pub(super) fn read_parts(
    parts: Option<&[u8]>,
    bends: Option<&[u8]>,
    general: &General,
    materials: &Materials,
    out: &mut Findings,
) -> Parts {
    let mut read = Parts {
        list: Vec::new(),
        ids: Known::new(),
        index: BTreeMap::new(),
    };
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let whole = parts.is_some_and(|bytes| {
        read_table(layout, bytes, out, |row| {
            let id = row.required("part", &Id(PartId::new));
            let Some(id) = id else {
                read.ids.mark_incomplete();
                read_part(row, None, materials);
                return;
            };
            let fresh = read.ids.add(&id, row.place("part"), row.out);
            if let Some(part) = read_part(row, Some(id.clone()), materials).filter(|_| fresh) {
                read.index.insert(id, read.list.len());
                read.list.push(part);
            }
        })
    });
    if !whole {
        read.ids.mark_incomplete();
    }
    read_bends(bends, general, &mut read, out);
    read
}

fn read_part(row: &mut Row<'_, '_>, id: Option<PartId>, materials: &Materials) -> Option<Part> {
    let name = row.required("name", &Text);
    let material = row.required("material", &Id(MaterialId::new));
    let thickness = row.required("thickness", &LengthIn::above_zero(200));
    let length = row.required("blank_length", &BLANK);
    let width = row.required("blank_width", &BLANK);
    let developed_for_v = row.optional("developed_for_v", &LengthIn::above_zero(2_000));
    let half_mm = Length::from_nanometres(500_000);
    let length_tolerance = row.or("length_tolerance", &LengthIn::above_zero(100), half_mm);
    let angle = Number::above(0.0, 45.0, "degrees");
    let angle_tolerance = row.or("angle_tolerance_deg", &angle, 1.0);
    let crew = row.optional("crew", &CREW);
    let approval = row.or("approval", &APPROVAL, Approval::Own);
    let proven_only = row.or("proven_only", &YesNo, false);
    let grain = row.optional("grain", &GRAIN);
    if let Some(material) = &material
        && let Some(problem) = materials.ids.missing(material, UNKNOWN_MATERIAL, MATERIALS)
    {
        row.report("material", problem);
    }
    let blank = longer_first(row, length?, width?);
    Some(Part {
        id: id?,
        name: name?,
        material: material?,
        thickness: thickness?,
        blank,
        developed_for_v,
        length_tolerance,
        angle_tolerance: Degrees::of(angle_tolerance),
        crew,
        approval,
        proven_only,
        grain,
        bends: Vec::new(),
    })
}

fn longer_first(row: &mut Row<'_, '_>, length: Length, width: Length) -> (Length, Length) {
    if length >= width {
        return (length, width);
    }
    let found = format!("length {length} mm, width {width} mm");
    let action = "edges a and b are the longer ones all the same";
    row.report(
        "blank_length",
        Problem::new(SIDES_SWAPPED, found, "the longer side", action),
    );
    (width, length)
}
