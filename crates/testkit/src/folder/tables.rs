//! The tables.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::{
    Approval, Bend, BendKind, Direction, Edge, Grain, Horn, Part, Role, SectionStatus, Shop,
    WorkOrder,
};
use std::fmt::Display;
use units::Moment;

/// A moment with its offset.
pub(super) fn rfc3339(moment: Moment, zone: Tz) -> String {
    DateTime::<Utc>::from_timestamp(moment.0, 0)
        .map(|utc| {
            utc.with_timezone(&zone)
                .format("%Y-%m-%dT%H:%M:%S%:z")
                .to_string()
        })
        .unwrap_or_default()
}

/// A table of cells.
struct Table(String);

impl Table {
    fn new(header: &str) -> Table {
        Table(format!("{header}\n"))
    }

    fn row(&mut self, cells: &[String]) {
        let cells: Vec<String> = cells.iter().map(|cell| written(cell)).collect();
        self.0.push_str(&cells.join(","));
        self.0.push('\n');
    }
}

/// Quoted where a comma, a quote or a space at an end would be lost, or a line would begin like a
/// comment.
fn written(cell: &str) -> String {
    let plain = !cell.contains([',', '"']) && cell.trim() == cell && !cell.starts_with('#');
    if plain {
        cell.to_owned()
    } else {
        format!("\"{}\"", cell.replace('"', "\"\""))
    }
}

fn or_empty(value: Option<impl Display>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

fn yes_no(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

fn spaced<T: Display>(items: &[T]) -> String {
    items.iter().map(T::to_string).collect::<Vec<_>>().join(" ")
}

pub(super) fn sections(shop: &Shop) -> String {
    let mut table = Table::new("profile,length_mm,id,set,horn,drawer,mass_kg,status");
    for section in &shop.sections {
        let horn = match section.horn {
            Horn::None => "none",
            Horn::Left => "left",
            Horn::Right => "right",
        };
        let status = if section.status == SectionStatus::Good {
            "good"
        } else {
            "out"
        };
        table.row(&[
            section.profile.to_string(),
            section.length.to_string(),
            section.id.to_string(),
            section.set.clone(),
            horn.to_owned(),
            section.drawer.clone(),
            section.mass.get().to_string(),
            status.to_owned(),
        ]);
    }
    table.0
}

pub(super) fn parts(shop: &Shop) -> String {
    let mut table = Table::new(
        "part,name,material,thickness,blank_length,blank_width,developed_for_v,length_tolerance,\
         angle_tolerance_deg,crew,approval,proven_only,grain",
    );
    for part in &shop.parts {
        table.row(&part_cells(part));
    }
    table.0
}

fn part_cells(part: &Part) -> [String; 13] {
    let approval = match part.approval {
        Approval::Own => "own",
        Approval::Inspector => "inspector",
        Approval::Customer => "customer",
    };
    let grain = part.grain.map(|grain| match grain {
        Grain::Long => "long",
        Grain::Short => "short",
    });
    [
        part.id.to_string(),
        part.name.clone(),
        part.material.to_string(),
        part.thickness.to_string(),
        part.blank.0.to_string(),
        part.blank.1.to_string(),
        or_empty(part.developed_for_v),
        part.length_tolerance.to_string(),
        part.angle_tolerance.get().to_string(),
        or_empty(part.crew),
        approval.to_owned(),
        yes_no(part.proven_only),
        or_empty(grain),
    ]
}

pub(super) fn bends(shop: &Shop) -> String {
    let mut table = Table::new(
        "part,bend,angle_deg,length,leg,direction,edge,radius,inside,side_return,return_depth,\
         lift,taper_deg,flange_height,kind,gap,line",
    );
    for part in &shop.parts {
        for bend in &part.bends {
            table.row(&bend_cells(part, bend));
        }
    }
    table.0
}

fn bend_cells(part: &Part, bend: &Bend) -> [String; 17] {
    let edge = match bend.edge {
        Edge::A => "a",
        Edge::B => "b",
        Edge::C => "c",
        Edge::D => "d",
    };
    let (kind, gap) = match bend.kind {
        BendKind::Air => ("air", None),
        BendKind::Hem { gap } => ("hem", Some(gap)),
        BendKind::Stepped => ("stepped", None),
    };
    [
        part.id.to_string(),
        bend.number.to_string(),
        bend.angle.get().to_string(),
        bend.length.to_string(),
        bend.leg.to_string(),
        if bend.direction == Direction::Up {
            "up"
        } else {
            "down"
        }
        .to_owned(),
        edge.to_owned(),
        or_empty(bend.radius),
        or_empty(bend.inside),
        bend.side_return.to_string(),
        bend.return_depth.to_string(),
        bend.lift.to_string(),
        bend.taper.get().to_string(),
        bend.flange_height.to_string(),
        kind.to_owned(),
        or_empty(gap),
        or_empty(bend.line),
    ]
}

pub(super) fn deductions(shop: &Shop) -> String {
    let mut table = Table::new("material,thickness,v,angle_deg,deduction");
    for row in &shop.deductions {
        table.row(&[
            row.material.to_string(),
            row.thickness.to_string(),
            row.v.to_string(),
            row.angle.get().to_string(),
            row.deduction.to_string(),
        ]);
    }
    table.0
}

pub(super) fn setups(shop: &Shop) -> String {
    let header = "part,brake,program,station,punch,die,length,bends,seconds_a_piece,last_run";
    let mut table = Table::new(header);
    for setup in &shop.setups {
        for (at, station) in setup.stations.iter().enumerate() {
            table.row(&[
                setup.part.to_string(),
                setup.brake.to_string(),
                setup.program.clone(),
                (at + 1).to_string(),
                station.punch.to_string(),
                station.die.to_string(),
                station.length.to_string(),
                spaced(&station.bends),
                or_empty(setup.seconds_a_piece),
                or_empty(setup.last_run),
            ]);
        }
    }
    table.0
}

pub(super) fn orders(shop: &Shop) -> String {
    let mut table = Table::new(
        "order,part,quantity,ready,due,weight,kit,after,brake,place,run_pieces,certificate_mpa,heat,reference",
    );
    for order in &shop.orders {
        table.row(&order_cells(order, shop.zone));
    }
    table.0
}

fn order_cells(order: &WorkOrder, zone: Tz) -> [String; 14] {
    [
        order.id.to_string(),
        order.part.to_string(),
        order.quantity.to_string(),
        rfc3339(order.ready, zone),
        rfc3339(order.due, zone),
        order.weight.to_string(),
        or_empty(order.kit.as_ref()),
        or_empty(order.after.as_ref()),
        or_empty(order.brake.as_ref()),
        or_empty(order.place),
        or_empty(order.run_pieces),
        or_empty(order.certificate.map(units::Megapascals::get)),
        order.heat.clone(),
        order.reference.clone(),
    ]
}

pub(super) fn deliveries(shop: &Shop) -> String {
    let mut table = Table::new("order,quantity,due");
    for order in &shop.orders {
        for delivery in &order.deliveries {
            let quantity = delivery.quantity.to_string();
            table.row(&[
                order.id.to_string(),
                quantity,
                rfc3339(delivery.due, shop.zone),
            ]);
        }
    }
    table.0
}

pub(super) fn blanks(shop: &Shop) -> String {
    let mut table = Table::new("order,quantity,available");
    for order in &shop.orders {
        for lot in &order.blanks {
            let quantity = lot.quantity.to_string();
            table.row(&[
                order.id.to_string(),
                quantity,
                rfc3339(lot.available, shop.zone),
            ]);
        }
    }
    table.0
}

pub(super) fn crew(shop: &Shop) -> String {
    let mut table = Table::new("person,role,calendar,brakes");
    for person in &shop.people {
        let role = match person.role {
            Role::Operator => "operator",
            Role::Setter => "setter",
            Role::Both => "both",
        };
        let calendar = person.calendar.to_string();
        table.row(&[
            person.id.to_string(),
            role.to_owned(),
            calendar,
            spaced(&person.brakes),
        ]);
    }
    table.0
}

pub(super) fn floor(shop: &Shop) -> String {
    let mut table = Table::new(
        "what,brake,punch,die,left,punch_sections,die_sections,reversed,order,pieces_done,from,until,\
         reason",
    );
    let none = String::new;
    for station in &shop.floor.stations {
        let mut cells = vec![
            "station".to_owned(),
            station.brake.to_string(),
            station.punch.to_string(),
            station.die.to_string(),
            station.left.to_string(),
            spaced(&station.punch_sections),
            spaced(&station.die_sections),
            yes_no(station.reversed),
        ];
        cells.resize_with(13, none);
        table.row(&cells);
    }
    for running in &shop.floor.running {
        let mut cells = vec!["running".to_owned(), running.brake.to_string()];
        cells.resize_with(8, none);
        cells.extend([running.order.to_string(), running.pieces_done.to_string()]);
        cells.resize_with(13, none);
        table.row(&cells);
    }
    for down in &shop.floor.down {
        let mut cells = vec!["down".to_owned(), down.brake.to_string()];
        cells.resize_with(10, none);
        cells.extend([
            rfc3339(down.window.start, shop.zone),
            rfc3339(down.window.end, shop.zone),
            down.reason.clone(),
        ]);
        table.row(&cells);
    }
    table.0
}
