//! A changeover as a sheet for the brake: what stands there, what goes, what stays, what comes.

use super::clock::Clock;
use super::load::{Load, Loaded, closest_limit};
use super::part_sheet::decimals;
use super::table::{Side, table, wrapped};
use super::{INVENTED, bed_drawing, counted, run_list};
use model::{Brake, BrakePlan, Plan, Run, Shop, Station, StationPiece, Step, Takedown};
use serde_json::{Value, json};
use std::fmt::Write as _;
use units::{Length, Moment};

/// Whose sheets these are.
pub(crate) fn heading(shop: &Shop, invented: bool) -> String {
    let note = if invented { INVENTED } else { "" };
    format!("{}: changeover sheet\n{note}", shop.name)
}

/// The changeover before a run, with any takedown that comes between it and the run before.
pub(crate) fn as_text(shop: &Shop, list: &BrakePlan, run: &Run, width: usize) -> String {
    let Some(brake) = shop.brake(&list.brake) else {
        return String::new();
    };
    let mut out = String::new();
    for takedown in takedowns_before(list, run) {
        out.push_str(&takedown_text(shop, brake, takedown, width));
        out.push('\n');
    }
    let sheet = Sheet {
        shop,
        brake,
        run,
        clock: Clock::new(shop.zone),
    };
    let parts = [
        sheet.head(),
        sheet.drawings(),
        sheet.stations(width),
        sheet.steps(width),
        sheet.bends(width),
        sheet.cautions(),
    ];
    out.push_str(&parts.join(""));
    out
}

/// Takedowns after the run before, and before this one.
fn takedowns_before<'p>(list: &'p BrakePlan, run: &Run) -> impl Iterator<Item = &'p Takedown> {
    let until = run.changeover.start.min(run.start);
    let since: Option<Moment> = list
        .runs
        .iter()
        .map(|other| other.end)
        .filter(|end| *end <= until)
        .max();
    list.takedowns
        .iter()
        .filter(move |down| down.start < until && since.is_none_or(|since| down.start >= since))
}

fn takedown_text(shop: &Shop, brake: &Brake, takedown: &Takedown, width: usize) -> String {
    let clock = Clock::new(shop.zone);
    let setters = run_list::people(&takedown.segments).join(" ");
    let mut out = format!(
        "{}: take down first, {} to {}, {} by {setters}; {} needs the sections\n",
        brake.id,
        clock.short(takedown.start),
        clock.short(takedown.end),
        takedown.work,
        takedown.wanted_by,
    );
    out.push_str(&steps_text(&takedown.steps, width));
    out
}

/// Every sheet of the plan, in the order of their starts on each brake.
pub(crate) fn all(shop: &Shop, plan: &Plan, width: usize) -> String {
    let mut out = String::new();
    let rule = "=".repeat(width.min(100));
    for list in &plan.brakes {
        for run in &list.runs {
            if !run.changeover.steps.is_empty() || takedowns_before(list, run).next().is_some() {
                let _ = writeln!(out, "{rule}");
                out.push_str(&as_text(shop, list, run, width));
                out.push('\n');
            }
        }
        let last = list.runs.iter().map(|run| run.end).max();
        for takedown in &list.takedowns {
            let after_all = last.is_none_or(|last| takedown.start >= last);
            if let Some(brake) = shop.brake(&list.brake).filter(|_| after_all) {
                let _ = writeln!(out, "{rule}");
                out.push_str(&takedown_text(shop, brake, takedown, width));
                out.push('\n');
            }
        }
    }
    out
}

struct Sheet<'a> {
    shop: &'a Shop,
    brake: &'a Brake,
    run: &'a Run,
    clock: Clock,
}

impl Sheet<'_> {
    fn head(&self) -> String {
        let (run, change) = (self.run, &self.run.changeover);
        let part = self.shop.part(&run.part);
        let name = part.map_or("", |part| part.name.as_str());
        let sheet = part.map_or_else(String::new, |part| {
            format!(", {} {} mm", part.material, part.thickness)
        });
        let program = match &run.program {
            Some(program) => format!("program {program}, proven"),
            None => "no proven program".to_owned(),
        };
        let work = if change.steps.is_empty() {
            "no changeover: the bed and the program stay".to_owned()
        } else {
            format!(
                "change {} to {}, {} of work by {}",
                self.clock.long(change.start),
                self.clock
                    .time_seen_from(change.end, self.clock.day(change.start)),
                change.work,
                run_list::people(&change.segments).join(" "),
            )
        };
        format!(
            "{}  {}: before {}, order {}\n{work}\n{} x {} {name}{sheet}; {program}\nbend {} to {} \
             by {}, due {}\n\n",
            self.brake.id,
            self.brake.name,
            run.name,
            run.order,
            run.quantity,
            run.part,
            self.clock.short(run.start),
            self.clock.short(run.end),
            run_list::people(&run.segments).join(" "),
            self.clock.short(run.due),
        )
    }

    fn drawings(&self) -> String {
        let before = bed_before(self.run);
        format!(
            "bed now    {}\nbed after  {}\nbed of {} mm from its left end; stations are numbered \
             from the left\n\n",
            bed_drawing::draw(self.brake.bed, &before),
            bed_drawing::draw(self.brake.bed, &self.run.bed),
            self.brake.bed,
        )
    }

    fn stations(&self, width: usize) -> String {
        let change = &self.run.changeover;
        let before = bed_before(self.run);
        let mut out = String::new();
        let after = &self.run.bed;
        out.push_str(&title("Comes off", change.remove.is_empty()));
        for station in &change.remove {
            out.push_str(&self.station(station, &before, "", width));
        }
        out.push_str(&title("Stays", change.keep.is_empty()));
        for station in &change.keep {
            out.push_str(&self.station(station, after, "", width));
        }
        if !change.turn.is_empty() {
            out.push_str(&title("Is turned", false));
        }
        for turned in &change.turn {
            let was = format!("turned from {}", turned.from);
            out.push_str(&self.station(&turned.station, after, &was, width));
        }
        if !change.slide.is_empty() {
            out.push_str(&title("Is slid", false));
        }
        for slid in &change.slide {
            let was = format!("slid from {} mm", slid.from);
            out.push_str(&self.station(&slid.station, after, &was, width));
        }
        out.push_str(&title("Goes on", change.insert.is_empty()));
        for station in &change.insert {
            out.push_str(&self.station(station, after, "", width));
        }
        out.push('\n');
        out
    }

    /// A station with its number on a bed, its sections, and what it `was` before.
    fn station(&self, station: &Station, bed: &[Station], was: &str, width: usize) -> String {
        let number = bed
            .iter()
            .position(|other| other.left == station.left)
            .map_or_else(String::new, |index| (index + 1).to_string());
        let mut out = format!(
            "  [{number}] {} over {} (V{}), left end at {} mm, {} mm long, closed height {} mm\n",
            station.punch,
            station.die,
            station.v,
            station.left,
            station.length,
            station.closed_height,
        );
        if !was.is_empty() {
            let _ = writeln!(out, "      {was}");
        }
        if let Some(way) = way_round(self.shop, station) {
            let _ = writeln!(out, "      {way}");
        }
        for (kind, sections) in [
            ("punch", &station.punch_sections),
            ("die  ", &station.die_sections),
        ] {
            let line = format!("      {kind} {}", pieces(sections));
            let _ = writeln!(out, "{}", wrapped(&line, 12, width));
        }
        out
    }

    fn steps(&self, width: usize) -> String {
        if self.run.changeover.steps.is_empty() {
            return String::new();
        }
        format!("Steps\n{}\n", steps_text(&self.run.changeover.steps, width))
    }

    fn bends(&self, width: usize) -> String {
        let part = self.shop.part(&self.run.part);
        let rows: Vec<Vec<String>> = self
            .run
            .bends
            .iter()
            .filter_map(|work| {
                let station = self.run.bed.get(work.station)?;
                let bend = part?.bends.iter().find(|bend| bend.number == work.bend)?;
                let load = self.load(work.force, bend.length, station);
                Some(vec![
                    work.bend.to_string(),
                    (work.station + 1).to_string(),
                    station.punch.to_string(),
                    station.die.to_string(),
                    station.v.to_string(),
                    decimals(bend.angle.get(), 2),
                    bend.length.to_string(),
                    format!("{:?}", bend.direction).to_lowercase(),
                    format!("{:?}", bend.edge).to_lowercase(),
                    decimals(work.x.mm(), 2),
                    decimals(work.r.mm(), 2),
                    format!("{:.0}", work.force.get()),
                    load.text(),
                ])
            })
            .collect();
        let columns = [
            ("bend", Side::Right),
            ("station", Side::Right),
            ("punch", Side::Left),
            ("die", Side::Left),
            ("V", Side::Right),
            ("angle °", Side::Right),
            ("length", Side::Right),
            ("way", Side::Left),
            ("edge", Side::Left),
            ("X", Side::Right),
            ("R", Side::Right),
            ("kN", Side::Right),
            ("of limit", Side::Right),
        ];
        format!("Bends\n{}", table(&columns, &rows, width))
    }

    /// The force is carried by the bend's length, or by the punch's where that is shorter.
    fn load(&self, force: units::Kilonewtons, length: Length, station: &Station) -> Load {
        let punch: Length = station
            .punch_sections
            .iter()
            .map(|piece| piece.length)
            .sum();
        let loaded = Loaded {
            force,
            length: length.min(punch),
            punch: &station.punch,
            die: &station.die,
        };
        closest_limit(self.shop, self.brake, loaded)
    }

    fn cautions(&self) -> String {
        let mut out = String::new();
        let part = self.shop.part(&self.run.part);
        for work in &self.run.bends {
            let bend = part.and_then(|part| part.bends.iter().find(|b| b.number == work.bend));
            let (Some(station), Some(bend)) = (self.run.bed.get(work.station), bend) else {
                continue;
            };
            let load = self.load(work.force, bend.length, station);
            if load.is_near() {
                let _ = writeln!(
                    out,
                    "Careful, bend {}: {} of what it bears.",
                    work.bend,
                    load.text()
                );
            }
        }
        let crew = self
            .run
            .segments
            .iter()
            .map(|segment| segment.crew.len())
            .max();
        if crew.is_some_and(|crew| crew > 1) {
            out.push_str("More than one person works here: agree who works the pedal.\n");
        }
        let heavy = self.heavy_sections();
        if heavy > 0 {
            let _ = writeln!(
                out,
                "{} heavier than {} kg: two people or a crane, and nobody under it.",
                counted(heavy, "section is", "sections are"),
                self.shop.rules.heavy_section_mass.get()
            );
        }
        out
    }

    fn heavy_sections(&self) -> usize {
        let change = &self.run.changeover;
        let carried = change.remove.iter().chain(&change.insert);
        let turned = change.turn.iter().map(|turned| &turned.station);
        carried
            .flat_map(|station| station.punch_sections.iter().chain(&station.die_sections))
            .chain(turned.flat_map(|station| &station.die_sections))
            .filter_map(|piece| self.shop.section(&piece.section))
            .filter(|section| section.mass > self.shop.rules.heavy_section_mass)
            .count()
    }
}

/// The head of a list of stations.
fn title(of: &str, empty: bool) -> String {
    let nothing = if empty { ": nothing" } else { "" };
    format!("{of}{nothing}\n")
}

/// What stands on the bed before the changeover, from left to right.
fn bed_before(run: &Run) -> Vec<Station> {
    let change = &run.changeover;
    // A turned die block has another height and V than before, but the same place and length.
    let turned = change.turn.iter().map(|turned| turned.station.clone());
    let slid = change.slide.iter().map(|slid| Station {
        left: slid.from,
        ..slid.station.clone()
    });
    let same = change.remove.iter().chain(&change.keep).cloned();
    let mut before: Vec<Station> = same.chain(turned).chain(slid).collect();
    before.sort_by_key(|station| station.left);
    before
}

/// Which way round a relieved punch stands; a straight one says nothing.
fn way_round(shop: &Shop, station: &Station) -> Option<&'static str> {
    if station.reversed {
        return Some("turned about: relief to the gauge");
    }
    let relieved = shop.punch(&station.punch)?.relief > Length::ZERO;
    relieved.then_some("relief to the operator")
}

/// Length, section and drawer of each, from left to right.
fn pieces(sections: &[StationPiece]) -> String {
    let pieces: Vec<String> = sections
        .iter()
        .map(|piece| {
            format!(
                "{} mm ({}, drawer {})",
                piece.length, piece.section, piece.drawer
            )
        })
        .collect();
    pieces.join(" + ")
}

fn steps_text(steps: &[Step], width: usize) -> String {
    let mut out = String::new();
    for (index, step) in steps.iter().enumerate() {
        let line = format!(
            "  {:>2}  {:>6.1} min  {}",
            index + 1,
            step.time.minutes(),
            step.text
        );
        let _ = writeln!(out, "{}", wrapped(&line, 18, width));
    }
    out
}

/// The sheet for machines: the run as the plan's JSON has it, with the bed before it.
pub(crate) fn as_json(shop: &Shop, plan: &Plan, list: &BrakePlan, run: &Run) -> Value {
    let whole: Value =
        serde_json::from_str(&documents::write_plan(plan, shop)).unwrap_or(Value::Null);
    let brake = whole["brakes"]
        .as_array()
        .and_then(|all| all.iter().find(|one| one["brake"] == list.brake.as_str()));
    let run_json = brake
        .and_then(|brake| brake["runs"].as_array())
        .and_then(|runs| runs.iter().find(|one| one["run"] == run.name.as_str()))
        .cloned()
        .unwrap_or(Value::Null);
    let mut before = bed_before_json(shop, run, &run_json["changeover"]);
    before.sort_by(|a, b| {
        let left = |station: &Value| station["left_mm"].as_f64().unwrap_or_default();
        left(a).total_cmp(&left(b))
    });
    let first: Vec<String> = takedowns_before(list, run)
        .flat_map(|down| &down.steps)
        .map(|step| step.text.clone())
        .collect();
    json!({
        "format": "brakewright.changeover/1",
        "shop": shop.name,
        "brake": list.brake.as_str(),
        "take_down_first": first,
        "bed_before": before,
        "run": run_json,
    })
}

/// The stations before a changeover, those turned and slid as they stood.
fn bed_before_json(shop: &Shop, run: &Run, change: &Value) -> Vec<Value> {
    let list = |key: &str| change[key].as_array().into_iter().flatten();
    let mut before: Vec<Value> = list("remove").chain(list("keep")).cloned().collect();
    for (json, turned) in list("turn").zip(&run.changeover.turn) {
        let mut station = json["station"].clone();
        station["die"] = json["from_die"].clone();
        let (was, is) = (shop.die(&turned.from), shop.die(&turned.station.die));
        if let (Some(was), Some(is)) = (was, is) {
            station["v_mm"] = json!(was.v.mm());
            let closed = turned.station.closed_height - is.height + was.height;
            station["closed_height_mm"] = json!(closed.mm());
        }
        before.push(station);
    }
    for slid in list("slide") {
        let mut station = slid["station"].clone();
        station["left_mm"] = slid["from_mm"].clone();
        before.push(station);
    }
    before
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::ProfileId;

    fn station(punch: &str, reversed: bool) -> Station {
        Station {
            punch: ProfileId::new(punch).unwrap(),
            die: ProfileId::new("V12-88").unwrap(),
            v: Length::from_whole_mm(12),
            left: Length::ZERO,
            length: Length::from_whole_mm(415),
            reversed,
            punch_sections: Vec::new(),
            die_sections: Vec::new(),
            closed_height: Length::from_whole_mm(200),
        }
    }

    /// The demo shop's ST88-R1-120 is straight, its GN88-R1-120 relieved.
    #[test]
    fn a_relieved_punch_says_which_way_round_it_stands_and_a_straight_one_nothing() {
        let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo-shop");
        let mut files = documents::FileSet::new();
        for entry in std::fs::read_dir(demo).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap();
            if path
                .extension()
                .is_some_and(|end| end == "csv" || end == "toml")
            {
                files.insert(name, std::fs::read(&path).unwrap());
            }
        }
        let shop = documents::read_shop(&files).0.unwrap();
        let said = |punch, reversed| way_round(&shop, &station(punch, reversed));
        assert_eq!(said("ST88-R1-120", false), None);
        assert_eq!(said("GN88-R1-120", false), Some("relief to the operator"));
        let about = "turned about: relief to the gauge";
        assert_eq!(said("GN88-R1-120", true), Some(about));
    }
}
