//! setups.csv: what has already made good parts.

use super::bends::BEND_NUMBER;
use super::brakes::{Brakes, FILE as BRAKES};
use super::general::General;
use super::mounts::check_mounts;
use super::parts::{FILE as PARTS, Parts};
use super::setup_bends::check_bends;
use super::tooling::Tooling;
use crate::codes::{DUPLICATE_ID, SETUP_DISAGREES, SETUP_STATIONS, UNKNOWN_BRAKE, UNKNOWN_PART};
use crate::fields::{Fields, Kind, Parse, Raw};
use crate::findings::{Findings, Problem};
use crate::table::{Column, Layout, Row, optional, read_table, required};
use crate::time_value::Day;
use crate::value::{Id, LengthIn, Number, Text, Whole};
use chrono::NaiveDate;
use model::{ProvenSetup, ProvenStation};
use std::collections::BTreeMap;
use units::{BrakeId, LengthUnit, PartId, Place, ProfileId};

pub(super) const FILE: &str = "setups.csv";

pub(super) const COLUMNS: &[Column] = &[
    required("part"),
    required("brake"),
    required("program"),
    required("station"),
    required("punch"),
    required("die"),
    required("length").length(),
    required("bends"),
    optional("seconds_a_piece"),
    optional("last_run"),
];

/// One row: a station of a setup.
pub(super) struct Line {
    number: u32,
    pub(super) station: ProvenStation,
    seconds_a_piece: Option<f64>,
    last_run: Option<NaiveDate>,
    pub(super) place: Place,
}

/// A setup's part, brake and program.
type Key = (PartId, BrakeId, String);

/// Reads setups.csv.
pub(super) fn read_setups(
    bytes: Option<&[u8]>,
    general: &General,
    parts: &Parts,
    brakes: &Brakes,
    tooling: &Tooling,
    out: &mut Findings,
) -> Vec<ProvenSetup> {
    let Some(bytes) = bytes else {
        return Vec::new();
    };
    let mut order: Vec<Key> = Vec::new();
    let mut rows: BTreeMap<Key, Vec<Line>> = BTreeMap::new();
    let layout = Layout {
        file: FILE,
        columns: COLUMNS,
        unit: general.unit,
    };
    let mut good = true;
    let whole = read_table(layout, bytes, out, |row| {
        let key = read_key(row, parts, brakes);
        let line = read_line(row);
        let (Some(key), Some(line)) = (key, line) else {
            good = false;
            return;
        };
        check_mounts(
            row,
            &key.1,
            &line.station.punch,
            &line.station.die,
            brakes,
            tooling,
        );
        let lines = rows.entry(key.clone()).or_default();
        if lines.is_empty() {
            order.push(key);
        }
        lines.push(line);
    });
    let mut setups = Vec::new();
    for key in order {
        let Some(mut lines) = rows.remove(&key) else {
            continue;
        };
        lines.sort_by_key(|line| line.number);
        if whole && good {
            check_stations(&lines, out);
            check_bends(&lines, parts.get(&key.0), tooling, out);
        }
        setups.extend(make_setup(key, lines, out));
    }
    setups
}

fn read_key(row: &mut Row<'_, '_>, parts: &Parts, brakes: &Brakes) -> Option<Key> {
    let part = row.required("part", &Id(PartId::new));
    let brake = row.required("brake", &Id(BrakeId::new));
    let program = row.required("program", &Text);
    if let Some(problem) = part
        .as_ref()
        .and_then(|id| parts.ids.missing(id, UNKNOWN_PART, PARTS))
    {
        row.report("part", problem);
    }
    if let Some(problem) = brake
        .as_ref()
        .and_then(|id| brakes.ids.missing(id, UNKNOWN_BRAKE, BRAKES))
    {
        row.report("brake", problem);
    }
    Some((part?, brake?, program?))
}

fn read_line(row: &mut Row<'_, '_>) -> Option<Line> {
    let number = row.required(
        "station",
        &Whole {
            least: 1,
            most: 99,
            unit: "",
        },
    );
    let punch = row.required("punch", &Id(ProfileId::new));
    let die = row.required("die", &Id(ProfileId::new));
    let length = row.required("length", &LengthIn::above_zero(30_000));
    let bends = row.required("bends", &BendNumbers);
    let seconds = Number::above(0.0, 86_400.0, "seconds");
    let seconds_a_piece = row.optional("seconds_a_piece", &seconds);
    let last_run = row.optional("last_run", &Day);
    let station = ProvenStation {
        punch: punch?,
        die: die?,
        length: length?,
        bends: bends?,
    };
    Some(Line {
        number: number?,
        station,
        seconds_a_piece,
        last_run,
        place: row.place("station"),
    })
}

/// Bend numbers with spaces between them.
struct BendNumbers;

impl Parse for BendNumbers {
    type Out = Vec<u8>;
    const KIND: Kind = Kind::Text;

    fn parse(&self, raw: &Raw) -> Result<Vec<u8>, Problem> {
        let number = |text: &str| {
            let raw = Raw {
                text: text.to_owned(),
                unit: LengthUnit::Millimetre,
            };
            BEND_NUMBER
                .parse(&raw)
                .map(|number| u8::try_from(number).unwrap_or(u8::MAX))
        };
        raw.text.split_whitespace().map(number).collect()
    }
}

fn check_stations(lines: &[Line], out: &mut Findings) {
    let mut before = 0;
    for line in lines {
        let number = line.number;
        let found = format!("station {number} after station {before}");
        let action = "number the stations 1, 2, 3 from left to right";
        if number == before {
            let problem = Problem::new(DUPLICATE_ID, found, "each station once", action);
            out.add(line.place.clone(), problem);
        } else if number > before + 1 {
            let expected = format!("station {}", before + 1);
            let problem = Problem::new(SETUP_STATIONS, found, expected, action);
            out.add(line.place.clone(), problem);
        }
        before = number;
    }
}

fn make_setup(key: Key, lines: Vec<Line>, out: &mut Findings) -> Option<ProvenSetup> {
    let seconds_a_piece = agreed(&lines, "seconds_a_piece", |line| line.seconds_a_piece, out);
    let last_run = agreed(&lines, "last_run", |line| line.last_run, out);
    let (part, brake, program) = key;
    Some(ProvenSetup {
        part,
        brake,
        program,
        stations: lines.into_iter().map(|line| line.station).collect(),
        seconds_a_piece,
        last_run,
    })
}

/// The value that the rows of a setup give, when they do not contradict each other.
fn agreed<T: Copy + PartialEq>(
    lines: &[Line],
    field: &str,
    value: impl Fn(&Line) -> Option<T>,
    out: &mut Findings,
) -> Option<T> {
    let mut given = lines
        .iter()
        .filter_map(|line| value(line).map(|value| (line, value)));
    let (_, first) = given.next()?;
    if let Some((line, _)) = given.find(|(_, other)| *other != first) {
        let place = Place {
            field: Some(field.to_owned()),
            ..line.place.clone()
        };
        let found = format!("another {field} than the setup's rows before");
        let action = "give it once, or the same in every row";
        out.add(
            place,
            Problem::new(SETUP_DISAGREES, found, "one value a setup", action),
        );
    }
    Some(first)
}
