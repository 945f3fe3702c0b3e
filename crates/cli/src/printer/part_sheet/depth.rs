//! Everything of one setup, in tables by what they are about.

use super::{Page, decimals, mm, name};
use crate::printer::counted;
use crate::printer::table::{Column, Side, table, wrapped};
use model::{Direction, Edge, ZDrive};
use std::fmt::Write as _;
use study::{
    DeductionFrom, FlatPiece, FlatSection, HitStudy, OpeningStudy, OptionStudy, RadiusBy, letter,
};
use tooling::Cycle;
use units::Length;

/// The tables and lines of one setup.
pub(super) fn as_text(page: &Page<'_>, option: &OptionStudy) -> String {
    let width = page.width;
    let mut out = String::new();
    let parts = [
        ("Loads", loads(option, width)),
        ("Sheet", sheet(option, width)),
        ("Springback and depth", angles(option, width)),
        ("Back gauge", gauge(option, width)),
        ("Flat blank", flat(option, width)),
        ("V openings", openings(page, option)),
        ("Time of a piece", cycle(option, width)),
    ];
    for (title, text) in parts.into_iter().filter(|(_, text)| !text.is_empty()) {
        let _ = write!(out, "\n{title}\n{text}");
    }
    out
}

/// One row a hit; hits that differ in nothing share a row.
fn rows(
    option: &OptionStudy,
    columns: &[Column],
    width: usize,
    row: fn(&HitStudy) -> Vec<String>,
) -> String {
    let mut groups: Vec<(Vec<&HitStudy>, Vec<String>)> = Vec::new();
    for hit in &option.hits {
        let cells = row(hit);
        match groups.iter_mut().find(|(_, other)| *other == cells) {
            Some((hits, _)) => hits.push(hit),
            None => groups.push((vec![hit], cells)),
        }
    }
    let rows: Vec<Vec<String>> = groups
        .into_iter()
        .map(|(hits, cells)| {
            let mut row = vec![names(&hits)];
            row.extend(cells);
            row
        })
        .collect();
    let mut all = vec![("bends", Side::Left)];
    all.extend(columns);
    table(&all, &rows, width)
}

/// `1-4 7`: three and more in a row are a range.
fn names(hits: &[&HitStudy]) -> String {
    let follows = |pair: &[&HitStudy]| {
        let plain = pair.iter().all(|hit| hit.hit == 1);
        plain && pair[0].bend + 1 == pair[1].bend
    };
    let mut out: Vec<String> = Vec::new();
    let mut rest = hits;
    while let Some(first) = rest.first() {
        let run = 1 + rest.windows(2).take_while(|pair| follows(pair)).count();
        let (these, others) = rest.split_at(run);
        match these.last() {
            Some(last) if run > 2 => out.push(format!("{}-{}", name(first), name(last))),
            _ => out.extend(these.iter().map(|hit| name(hit))),
        }
        rest = others;
    }
    out.join(" ")
}

fn or_dash(value: Option<String>) -> String {
    value.unwrap_or_else(|| "-".to_owned())
}

/// A length, or a word where nothing limits it.
fn limit(length: Length) -> String {
    if length.is_unlimited() {
        "no limit".to_owned()
    } else {
        format!("{:.0}", length.mm())
    }
}

fn loads(option: &OptionStudy, width: usize) -> String {
    let columns = [
        ("kN", Side::Right),
        ("C", Side::Right),
        ("at most", Side::Right),
        ("J", Side::Right),
        ("kN/m", Side::Right),
        ("weakest link", Side::Left),
        ("bears", Side::Right),
        ("used", Side::Right),
        ("off centre", Side::Right),
        ("drives kN", Side::Right),
    ];
    let text = rows(option, &columns, width, |hit| {
        let force = &hit.force;
        let share = force.line_load.get() / force.weakest.1.get() * 100.0;
        vec![
            decimals(force.force.get(), 1),
            format!("{:.2}", force.factor),
            decimals(force.highest.get(), 1),
            format!("{:.0}", force.work_j),
            format!("{:.0}", force.line_load.get()),
            force.weakest.0.to_owned(),
            format!("{:.0}", force.weakest.1.get()),
            format!("{share:.0} %"),
            format!("±{}", limit(force.off_centre_most)),
            format!(
                "{} and {}",
                decimals(force.drives.0.get(), 0),
                decimals(force.drives.1.get(), 0)
            ),
        ]
    });
    let form = option.force_form;
    let each = option
        .hits
        .first()
        .map_or(0.0, |hit| hit.force.drive_most.get());
    let note = format!(
        "Force by {} {}: {}. At most: Oehler at the upper end of the strength, a warning. Off centre: how \
         far the station may stand from the bed's centre, with what the drives then carry; each is \
         rated {each:.0} kN.\n",
        form.name(),
        form.mark(),
        form.source(),
    );
    text + &wrapped(&note, 0, width)
}

fn sheet(option: &OptionStudy, width: usize) -> String {
    let steps = option.hits.iter().filter_map(|hit| {
        let steps = hit.steps?;
        // The strip lies about the X of the whole bend, the strokes evenly in it.
        let half = steps.pitch.mm() * f64::from(steps.count.saturating_sub(1)) / 2.0;
        let x = hit.gauge.x.mm();
        let line = format!(
            "Bend {}: {} strokes of {}°, {:.2} mm apart; facets within {:.2} mm of the arc. From X {} \
             down to X {}: what lies against the stop then stays flat.\n",
            hit.bend,
            steps.count,
            decimals(steps.each.get(), 2),
            steps.pitch.mm(),
            steps.facet_depth.mm(),
            decimals(x + half, 2),
            decimals(x - half, 2),
        );
        Some(wrapped(&line, 2, width))
    });
    sheet_table(option, width) + &steps.collect::<String>()
}

fn sheet_table(option: &OptionStudy, width: usize) -> String {
    let columns = [
        ("radius", Side::Right),
        ("by", Side::Left),
        ("natural", Side::Right),
        ("tip", Side::Right),
        ("asked", Side::Right),
        ("smallest", Side::Right),
        ("grain", Side::Left),
        ("leg", Side::Right),
        ("least leg", Side::Right),
        ("deduct", Side::Right),
        ("K", Side::Right),
    ];
    rows(option, &columns, width, |hit| {
        let radius = &hit.radius;
        let by = match radius.by {
            RadiusBy::Natural => "V",
            RadiusBy::Tip => "tip",
            RadiusBy::Steps => "steps",
            RadiusBy::Gap => "gap",
        };
        let grain = match radius.along_grain {
            Some(true) => "along",
            Some(false) => "across",
            None => "-",
        };
        let k = match hit.deduction_from {
            DeductionFrom::Measured => "measured".to_owned(),
            DeductionFrom::KFactor(k) => format!("{k:.3}"),
            DeductionFrom::Din6935(k) => format!("{k:.3} DIN"),
            DeductionFrom::Nothing => "-".to_owned(),
        };
        vec![
            mm(radius.inside),
            by.to_owned(),
            or_dash(radius.natural.map(mm)),
            mm(radius.tip),
            or_dash(radius.asked.map(mm)),
            or_dash(radius.smallest.map(mm)),
            grain.to_owned(),
            mm(hit.leg),
            or_dash(hit.smallest_leg.map(mm)),
            decimals(hit.deduction_mm, 3),
            k,
        ]
    })
}

fn angles(option: &OptionStudy, width: usize) -> String {
    let columns = [
        ("opens °", Side::Right),
        ("at least °", Side::Right),
        ("press to °", Side::Right),
        ("punch °", Side::Right),
        ("die °", Side::Right),
        ("travel", Side::Right),
        ("ram to bed", Side::Right),
        ("bow °/0.01", Side::Right),
        ("bow mm", Side::Right),
    ];
    let text = rows(option, &columns, width, |hit| {
        let opening = hit.opening;
        vec![
            or_dash(opening.map(|o| decimals(o.springback.get(), 2))),
            or_dash(opening.map(|o| decimals(o.springback_least.get(), 2))),
            or_dash(opening.map(|o| decimals(o.under_load.get(), 2))),
            or_dash(opening.map(|o| decimals(o.punch.get(), 1))),
            or_dash(opening.map(|o| decimals(o.die.get(), 1))),
            mm(hit.travel),
            mm(hit.ram_to_bed),
            or_dash(
                hit.crowning
                    .map(|c| format!("{:.3}", c.degrees_per_hundredth)),
            ),
            or_dash(
                hit.crowning
                    .map(|c| format!("{:.3}", c.bow_within_tolerance_mm)),
            ),
        ]
    });
    let note = "Punch and die must be no blunter than the angle pressed to. Bow: what a hundredth of a \
                millimetre of bow of ram and bed opens the middle by, and the bow that uses up the angle \
                tolerance; the bow itself is measured on the machine.\n";
    text + &wrapped(note, 0, width)
}

fn gauge(option: &OptionStudy, width: usize) -> String {
    let columns = [
        ("way", Side::Left),
        ("edge", Side::Left),
        ("X", Side::Right),
        ("by lines", Side::Right),
        ("X1, X2 apart", Side::Right),
        ("R", Side::Right),
        ("R is", Side::Left),
        ("stops from ends", Side::Right),
        ("stops apart", Side::Right),
        ("Z", Side::Left),
    ];
    let text = rows(option, &columns, width, |hit| {
        let gauge = &hit.gauge;
        let tapered = gauge.taper.get().abs() > 0.0;
        vec![
            match hit.direction {
                Direction::Up => "up",
                Direction::Down => "down",
            }
            .to_owned(),
            letter(gauge.edge).to_string(),
            mm(gauge.x),
            or_dash(gauge.x_by_lines_mm.map(|x| decimals(x, 2))),
            or_dash(tapered.then(|| mm(gauge.x_apart))),
            mm(gauge.r),
            if gauge.r_computed {
                "computed"
            } else {
                "declared"
            }
            .to_owned(),
            decimals(gauge.from_end.mm(), 1),
            decimals(gauge.apart.mm(), 1),
            match gauge.z {
                ZDrive::Hand => "by hand",
                ZDrive::Powered => "powered",
            }
            .to_owned(),
        ]
    });
    let mut note =
        "Two stops, each a quarter of the edge's length from an end of it: common practice, no source."
            .to_owned();
    if option
        .hits
        .iter()
        .any(|hit| hit.gauge.taper.get().abs() > 0.0)
    {
        note.push_str(
            " With a taper X is that of its middle; whether a brake can set it is judged with stops at \
             both ends of the bend.",
        );
    }
    note.push('\n');
    text + &wrapped(&note, 0, width)
}

fn flat(option: &OptionStudy, width: usize) -> String {
    let mut out = String::new();
    for section in &option.flat {
        out.push_str(&wrapped(&flat_line(section), 2, width));
    }
    out
}

/// `From edge a: 23.4 + (1) 1.72 + … = 53 mm of blank 53; …`.
fn flat_line(section: &FlatSection) -> String {
    let pieces: Vec<String> = section
        .pieces
        .iter()
        .map(|piece| match piece {
            FlatPiece::Flat { mm } => decimals(*mm, 2),
            FlatPiece::Strip { bend, mm, .. } => format!("({bend}) {}", decimals(*mm, 2)),
        })
        .collect();
    let blank = match section.first {
        Edge::A | Edge::B => "width",
        Edge::C | Edge::D => "length",
    };
    let outside = section.outside_mm.map_or_else(String::new, |outside| {
        format!(
            "; outside {} less deductions {} is {}",
            decimals(outside, 2),
            decimals(section.deductions_mm, 2),
            decimals(outside - section.deductions_mm, 2)
        )
    });
    format!(
        "From edge {}: {} = {} of the blank's {blank} {} mm{outside}. In brackets the bend before its strip.\n",
        letter(section.first),
        pieces.join(" + "),
        decimals(section.sum_mm, 2),
        section.blank,
    )
}

fn openings(page: &Page<'_>, option: &OptionStudy) -> String {
    let tolerance = page.part.length_tolerance;
    let row = |(at, opening): (usize, &OpeningStudy)| {
        let verdict = match opening.within {
            Some(true) => "within",
            Some(false) => "beyond",
            None => "not measured",
        };
        let v = or_dash(opening.v.map(|v| v.to_string()));
        let dies: Vec<&str> = opening.dies.iter().map(|die| die.as_str()).collect();
        vec![
            if at == 0 { format!("{v} here") } else { v },
            decimals(opening.over_t, 1),
            mm(opening.radius),
            or_dash(opening.error_mm.map(|error| format!("{error:+.2}"))),
            verdict.to_owned(),
            if opening.allowed { "yes" } else { "no" }.to_owned(),
            dies.join(" "),
        ]
    };
    let rows: Vec<Vec<String>> = option.openings.iter().enumerate().map(row).collect();
    let columns = [
        ("V", Side::Left),
        ("V/t", Side::Right),
        ("radius", Side::Right),
        ("size error", Side::Right),
        ("tolerance", Side::Left),
        ("V rule", Side::Left),
        ("dies", Side::Left),
    ];
    let against = match page.part.developed_for_v {
        Some(v) => format!("the blank is developed for V{v}"),
        None => "the part names no V for its blank, so against this setup".to_owned(),
    };
    let note = format!(
        "Size error: how much the legs grow in all; ±{tolerance} mm is allowed; {against}.\n"
    );
    table(&columns, &rows, page.width) + &wrapped(&note, 0, page.width)
}

fn cycle(option: &OptionStudy, width: usize) -> String {
    let Cycle {
        load,
        place,
        stroke,
        gauge_wait,
        flip,
        turn,
        flips,
        turns,
        whole_ms,
    } = option.cycle;
    let times = |number: u32, one, many| counted(number as usize, one, many);
    let phases = [
        ("load".to_owned(), load),
        ("place".to_owned(), place),
        ("strokes".to_owned(), stroke),
        ("wait for the gauge".to_owned(), gauge_wait),
        (times(flips, "flip", "flips"), flip),
        (times(turns, "turn", "turns"), turn),
    ];
    let phases: Vec<String> = phases
        .into_iter()
        .filter(|(_, seconds)| *seconds >= 0.05)
        .map(|(what, seconds)| format!("{what} {seconds:.1}"))
        .collect();
    let mut line = format!(
        "Computed {} s: {}.",
        super::seconds_of(whole_ms),
        phases.join(", ")
    );
    if option.measured {
        let _ = write!(
            line,
            " Measured in the proven setup and planned with: {} s.",
            super::seconds_of(option.cycle_ms)
        );
    }
    line.push('\n');
    wrapped(&line, 2, width)
}
