//! A part as rows of parts.csv and bends.csv.

use model::{Approval, Bend, BendKind, Direction, Edge, Grain, Part};
use units::Length;

/// How each of the two tables begins.
pub const PART_ROWS_BEGIN: &str = "# Rows written by brakewright";

/// The tables parts.csv and bends.csv with this part alone. Lengths are in millimetres, and the
/// headers say so; they may be read in a shop of any unit. Nothing is rounded.
#[must_use]
pub fn part_rows(part: &Part) -> (String, String) {
    let id = part.id.to_string();
    let mut parts = format!(
        "{PART_ROWS_BEGIN}; check them before they are used.\n\
         part,name,material,thickness_mm,blank_length_mm,blank_width_mm,developed_for_v_mm,\
         length_tolerance_mm,angle_tolerance_deg,crew,approval,proven_only,grain\n"
    );
    let approval = match part.approval {
        Approval::Own => "own",
        Approval::Inspector => "inspector",
        Approval::Customer => "customer",
    };
    let grain = match part.grain {
        None => "",
        Some(Grain::Long) => "long",
        Some(Grain::Short) => "short",
    };
    push(
        &mut parts,
        &[
            id.clone(),
            part.name.clone(),
            part.material.to_string(),
            part.thickness.to_string(),
            part.blank.0.to_string(),
            part.blank.1.to_string(),
            optional(part.developed_for_v),
            part.length_tolerance.to_string(),
            part.angle_tolerance.get().to_string(),
            part.crew.map_or_else(String::new, |crew| crew.to_string()),
            approval.to_owned(),
            if part.proven_only { "yes" } else { "no" }.to_owned(),
            grain.to_owned(),
        ],
    );
    let mut bends = format!(
        "{PART_ROWS_BEGIN}; check them before they are used.\n\
         part,bend,angle_deg,length_mm,leg_mm,direction,edge,radius_mm,inside_mm,side_return_mm,\
         return_depth_mm,lift_mm,taper_deg,flange_height_mm,kind,gap_mm,line_mm\n"
    );
    for bend in &part.bends {
        push(&mut bends, &bend_row(&id, bend));
    }
    (parts, bends)
}

fn bend_row(part: &str, bend: &Bend) -> Vec<String> {
    let (kind, gap) = match bend.kind {
        BendKind::Air => ("air", None),
        BendKind::Hem { gap } => ("hem", Some(gap)),
        BendKind::Stepped => ("stepped", None),
    };
    let edge = match bend.edge {
        Edge::A => "a",
        Edge::B => "b",
        Edge::C => "c",
        Edge::D => "d",
    };
    let hem = matches!(bend.kind, BendKind::Hem { .. });
    vec![
        part.to_owned(),
        bend.number.to_string(),
        if hem {
            String::new()
        } else {
            bend.angle.get().to_string()
        },
        bend.length.to_string(),
        bend.leg.to_string(),
        match bend.direction {
            Direction::Up => "up",
            Direction::Down => "down",
        }
        .to_owned(),
        edge.to_owned(),
        optional(bend.radius.filter(|_| !hem)),
        optional(bend.inside),
        bend.side_return.to_string(),
        bend.return_depth.to_string(),
        bend.lift.to_string(),
        bend.taper.get().to_string(),
        bend.flange_height.to_string(),
        kind.to_owned(),
        optional(gap),
        optional(bend.line),
    ]
}

fn optional(length: Option<Length>) -> String {
    length.map_or_else(String::new, |length| length.to_string())
}

/// One line of a table. A cell stays on one line there, so line breaks become spaces.
fn push(table: &mut String, cells: &[String]) {
    for (at, cell) in cells.iter().enumerate() {
        if at > 0 {
            table.push(',');
        }
        let cell: String = cell
            .chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        // At a line's beginning a # would make a comment of it.
        if cell.contains([',', '"']) || cell.starts_with('#') {
            table.push('"');
            table.push_str(&cell.replace('"', "\"\""));
            table.push('"');
        } else {
            table.push_str(&cell);
        }
    }
    table.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_with_commas_and_quotes_come_back() {
        let mut row = String::new();
        push(&mut row, &["a,b".to_owned(), "3\" \n".to_owned()]);
        assert_eq!(row, "\"a,b\",\"3\"\"  \"\n");
    }
}
