//! A shop's files, read once and kept, so that single orders and beds can be read against them.

use super::defaults::read_defaults;
use super::floor::{self, read_station};
use super::general::General;
use super::grades::read_grades;
use super::orders::{self, Orders};
use super::sequence::{Others, check_sequence};
use super::shares::{
    BLANK_COLUMNS, DELIVERY_COLUMNS, Sums, finish_blanks, finish_deliveries, take_blanks,
    take_delivery,
};
use super::{Read, beds, brakes, check_names, parts, read_all, sections, tooling};
use crate::codes::{NOT_FOR_THIS, UNKNOWN_BRAKE, UNKNOWN_PART};
use crate::file_set::FileSet;
use crate::findings::{Findings, Problem, shown};
use crate::table::{Layout, Spot, lone_row};
use model::{BedStation, Shop, WorkOrder};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use units::{BrakeId, Finding, Place};

/// Texts by column, as one row of a table would have them.
pub type Cells = BTreeMap<String, String>;

/// An order as a table's row would have it, with its deliveries and blanks.
///
/// The columns are those of work-orders.csv, deliveries.csv and blanks.csv. In the rows of the
/// latter two `order` may be left out; when it is there it must be this order's.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderRow {
    /// The line of the file it came from; its number among the rows stands for it when there is none.
    #[serde(default, skip)]
    pub line: Option<u64>,
    /// The row of work-orders.csv.
    pub cells: Cells,
    /// Rows of deliveries.csv.
    #[serde(default)]
    pub deliveries: Vec<Cells>,
    /// Rows of blanks.csv.
    #[serde(default)]
    pub blanks: Vec<Cells>,
}

/// A shop's files, read and checked: the shop, and what further orders and beds are read with.
pub struct Base {
    shop: Shop,
    general: General,
    brakes: brakes::Brakes,
    parts: parts::Parts,
    tooling: tooling::Tooling,
    sections: sections::Sections,
}

impl std::fmt::Debug for Base {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Base({})", self.shop.name)
    }
}

impl Base {
    /// Reads the files of a shop folder, as [`crate::read_shop`] does and with the same findings.
    /// The base is there exactly when none of them is an error.
    #[must_use]
    pub fn read(files: &FileSet) -> (Option<Base>, Vec<Finding>) {
        let mut findings = Findings::default();
        check_names(files, &mut findings);
        let defaults = read_defaults(&mut findings);
        let grades = read_grades(&mut findings);
        let read = defaults.map(|defaults| read_all(files, &defaults, &grades, &mut findings));
        let good = !findings.any_error();
        let base = read.filter(|_| good).and_then(Base::of);
        (base, findings.finish())
    }

    fn of(mut read: Read) -> Option<Base> {
        // Both keep these lists: the shop for plans, the readers for what is referred to.
        let calendars = read.general.calendars.clone();
        let (brakes, parts) = (read.brakes.list.clone(), read.parts.list.clone());
        let (profiles, sections) = (read.tooling.list.clone(), read.sections.list.clone());
        let shop = Shop {
            name: read.general.name.clone()?,
            zone: read.general.zone,
            as_of: read.general.as_of,
            rules: read.general.rules.take()?,
            calendars,
            brakes,
            materials: read.materials.list,
            profiles,
            sections,
            parts,
            deductions: read.deductions,
            setups: read.setups,
            orders: read.orders.list,
            people: read.people,
            floor: read.floor,
        };
        Some(Base {
            shop,
            general: read.general,
            brakes: read.brakes,
            parts: read.parts,
            tooling: read.tooling,
            sections: read.sections,
        })
    }

    /// The shop as the folder describes it, with its orders and its floor.
    #[must_use]
    pub fn shop(&self) -> &Shop {
        &self.shop
    }

    /// Whether shop.toml says that the shop is made up. Nothing depends on it; whoever shows it says so.
    #[must_use]
    pub fn is_invented(&self) -> bool {
        self.general.invented
    }

    fn around(&self) -> orders::Around<'_> {
        orders::Around {
            general: &self.general,
            parts: &self.parts,
            brakes: &self.brakes,
        }
    }

    /// Reads orders as the folder's tables are read: same columns, same findings. `name` stands as
    /// the file in places, the row's number from 1 as the line. `others` finds the orders there are
    /// besides: an order may wait for one of them, and no circle may be closed through them. A row
    /// with an id of theirs stands in its stead.
    ///
    /// # Errors
    /// All findings, when one of them is an error.
    pub fn read_orders(
        &self,
        name: &str,
        rows: &[OrderRow],
        others: Others<'_, '_>,
    ) -> Result<Vec<WorkOrder>, Vec<Finding>> {
        let mut out = Findings::default();
        let mut orders = Orders::none(name);
        let layout = Layout {
            file: orders::FILE,
            columns: orders::COLUMNS,
            unit: self.general.unit,
        };
        for (number, row) in (1..).zip(rows) {
            let line = row.line.unwrap_or(number);
            let spot = Spot {
                file: name,
                line,
                prefix: "",
            };
            lone_row(layout, &row.cells, spot, &mut out, |row| {
                orders.take_row(row, self.around());
            });
        }
        check_sequence(&orders, others, &mut out);
        self.read_shares(name, rows, &mut orders, &mut out);
        if out.any_error() {
            return Err(out.finish());
        }
        Ok(orders.list)
    }

    fn read_shares(&self, name: &str, rows: &[OrderRow], orders: &mut Orders, out: &mut Findings) {
        let general = &self.general;
        let (mut shipped, mut cut) = (Sums::new(), Sums::new());
        let mut whole = true;
        let layout = |columns| Layout {
            file: orders::FILE,
            columns,
            unit: general.unit,
        };
        for (number, row) in (1..).zip(rows) {
            let line = row.line.unwrap_or(number);
            let lists = [
                ("deliveries", &row.deliveries, DELIVERY_COLUMNS),
                ("blanks", &row.blanks, BLANK_COLUMNS),
            ];
            for (list, shares, columns) in lists {
                for (number, cells) in (1..).zip(shares) {
                    let prefix = format!("{list}.{number}.");
                    let spot = Spot {
                        file: name,
                        line,
                        prefix: &prefix,
                    };
                    let Some(cells) = of_order(cells, &row.cells, spot, out) else {
                        whole = false;
                        continue;
                    };
                    lone_row(layout(columns), &cells, spot, out, |row| {
                        if list == "deliveries" {
                            take_delivery(row, general, orders, &mut shipped);
                        } else {
                            whole &= take_blanks(row, general, orders, &mut cut);
                        }
                    });
                }
            }
        }
        finish_deliveries(orders, shipped, out);
        finish_blanks(orders, cut, whole, out);
    }

    /// Reads the stations of one bed, from rows with the station cells of floor.csv: `punch`,
    /// `die`, `left`, `punch_sections`, `die_sections`, `reversed`. `name` stands as the file in
    /// places, the row's number from 1 as the line.
    ///
    /// # Errors
    /// All findings, when one of them is an error.
    pub fn read_bed(
        &self,
        name: &str,
        brake: &BrakeId,
        stations: &[Cells],
    ) -> Result<Vec<BedStation>, Vec<Finding>> {
        let mut out = Findings::default();
        if let Some(problem) = self.missing_brake(brake) {
            out.add(place(name, None, "brake"), problem);
        }
        let nothing = Orders::none(name);
        let around = floor::Around {
            general: &self.general,
            brakes: &self.brakes,
            tooling: &self.tooling,
            sections: &self.sections,
            orders: &nothing,
        };
        let layout = Layout {
            file: floor::FILE,
            columns: floor::BED_COLUMNS,
            unit: self.general.unit,
        };
        let mut beds = beds::Beds::new();
        for (line, cells) in (1..).zip(stations) {
            let spot = Spot {
                file: name,
                line,
                prefix: "",
            };
            lone_row(layout, cells, spot, &mut out, |row| {
                read_station(row, brake.clone(), &around, &mut beds);
            });
        }
        let stations = beds.finish(&self.brakes, &mut out);
        if out.any_error() {
            return Err(out.finish());
        }
        Ok(stations)
    }

    /// What is wrong with a bed that was read with another base: what [`Base::read_bed`] would say.
    #[must_use]
    pub fn check_bed(&self, name: &str, brake: &BrakeId, bed: &[BedStation]) -> Vec<Finding> {
        let rows: Vec<Cells> = bed.iter().map(cells_of).collect();
        self.read_bed(name, brake, &rows).err().unwrap_or_default()
    }

    /// What orders that were read with another base refer to and is not in this one: parts and
    /// brakes. `name` stands as the file in places, the order's number from 1 as the line.
    #[must_use]
    pub fn check_orders<'o>(
        &self,
        name: &str,
        orders: impl Iterator<Item = &'o WorkOrder>,
    ) -> Vec<Finding> {
        let mut out = Findings::default();
        for (line, order) in (1..).zip(orders) {
            let of_order = |problem: Problem| Problem {
                found: format!("{} of open order {}", problem.found, order.id),
                ..problem
            };
            let part = self
                .parts
                .ids
                .missing(&order.part, UNKNOWN_PART, parts::FILE);
            if let Some(problem) = part {
                out.add(place(name, Some(line), "part"), of_order(problem));
            }
            let brake = order.brake.as_ref().and_then(|id| self.missing_brake(id));
            if let Some(problem) = brake {
                out.add(place(name, Some(line), "brake"), of_order(problem));
            }
        }
        out.finish()
    }

    fn missing_brake(&self, id: &BrakeId) -> Option<Problem> {
        self.brakes.ids.missing(id, UNKNOWN_BRAKE, brakes::FILE)
    }
}

fn place(file: &str, line: Option<u64>, field: &str) -> Place {
    Place {
        file: file.to_owned(),
        line,
        field: Some(field.to_owned()),
    }
}

/// A share's cells with its order's id; nothing, with a finding, when it names another order.
fn of_order(share: &Cells, order: &Cells, spot: Spot<'_>, out: &mut Findings) -> Option<Cells> {
    // Without an id of its own the order is reported already.
    let id = order
        .get("order")
        .map(|id| id.trim())
        .filter(|id| !id.is_empty())?;
    let named = share
        .get("order")
        .map(|id| id.trim())
        .filter(|id| !id.is_empty());
    if let Some(other) = named.filter(|other| *other != id) {
        let field = format!("{}order", spot.prefix);
        let problem = Problem::new(
            NOT_FOR_THIS,
            shown(other),
            format!("{id}, the order it stands with"),
            "leave it out, or put the row with its own order",
        );
        out.add(place(spot.file, Some(spot.line), &field), problem);
        return None;
    }
    let mut cells = share.clone();
    cells.insert("order".to_owned(), id.to_owned());
    Some(cells)
}

/// A station as its row would say it.
fn cells_of(station: &BedStation) -> Cells {
    let spaced = |ids: &[units::SectionId]| {
        let ids: Vec<&str> = ids.iter().map(units::SectionId::as_str).collect();
        ids.join(" ")
    };
    let cells = [
        ("punch", station.punch.to_string()),
        ("die", station.die.to_string()),
        ("left", format!("{} mm", station.left)),
        ("punch_sections", spaced(&station.punch_sections)),
        ("die_sections", spaced(&station.die_sections)),
        (
            "reversed",
            if station.reversed { "yes" } else { "no" }.to_owned(),
        ),
    ];
    cells.map(|(column, text)| (column.to_owned(), text)).into()
}
