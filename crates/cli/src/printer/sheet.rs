//! A changeover as a sheet for the brake: what stands there, what goes, what stays, what comes.

use super::INVENTED;
use super::bed_drawing;
use super::table::{Side, table, wrapped};
use documents::words::{
    BEND_COLUMNS, Handling, StationWords, bed_before, bed_caption, cautions, head, run_bends,
    sheet_title, stations, takedown_head, takedowns_after_all, takedowns_before,
};
use model::{Brake, BrakePlan, Plan, Run, Shop, Step, Takedown};
use serde_json::{Value, json};
use std::fmt::Write as _;
use study::load_at;

/// Whose sheets these are.
pub(crate) fn heading(shop: &Shop, invented: bool) -> String {
    let note = if invented { INVENTED } else { "" };
    format!("{}\n{note}", sheet_title(shop))
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
    let sheet = Sheet { shop, brake, run };
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

fn takedown_text(shop: &Shop, brake: &Brake, takedown: &Takedown, width: usize) -> String {
    let steps = steps_text(&takedown.steps, width);
    format!("{}\n{steps}", takedown_head(shop, brake, takedown))
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
        for takedown in takedowns_after_all(list) {
            if let Some(brake) = shop.brake(&list.brake) {
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
}

impl Sheet<'_> {
    fn head(&self) -> String {
        let head = head(self.shop, self.brake, self.run);
        format!(
            "{}\n{}\n{}\n{}\n\n",
            head.what, head.change, head.part, head.bend
        )
    }

    fn drawings(&self) -> String {
        let before = bed_before(self.run);
        format!(
            "bed now    {}\nbed after  {}\n{}\n\n",
            bed_drawing::draw(self.brake.bed, &before),
            bed_drawing::draw(self.brake.bed, &self.run.bed),
            bed_caption(self.brake),
        )
    }

    fn stations(&self, width: usize) -> String {
        let mut out = String::new();
        let all = stations(self.shop, self.run);
        for handling in Handling::ALL {
            let mut these = all
                .iter()
                .filter(|words| words.handling == handling)
                .peekable();
            let empty = these.peek().is_none();
            if !(empty && handling.may_be_left_out()) {
                let nothing = if empty { ": nothing" } else { "" };
                let _ = writeln!(out, "{}{nothing}", handling.title());
            }
            for words in these {
                out.push_str(&station_text(words, width));
            }
        }
        out.push('\n');
        out
    }

    fn steps(&self, width: usize) -> String {
        if self.run.changeover.steps.is_empty() {
            return String::new();
        }
        format!("Steps\n{}\n", steps_text(&self.run.changeover.steps, width))
    }

    fn bends(&self, width: usize) -> String {
        let bends = run_bends(self.shop, self.run);
        let rows = bends.iter().map(|bend| {
            let load = load_at(
                self.shop,
                self.brake,
                bend.station,
                bend.work.force,
                bend.bend.length,
            );
            bend.cells(load.text()).to_vec()
        });
        let rows: Vec<Vec<String>> = rows.collect();
        let side = |heading| match heading {
            "punch" | "die" | "way" | "edge" => Side::Left,
            _ => Side::Right,
        };
        let columns = BEND_COLUMNS.map(|heading| (heading, side(heading)));
        format!("Bends\n{}", table(&columns, &rows, width))
    }

    fn cautions(&self) -> String {
        let mut out = String::new();
        for bend in run_bends(self.shop, self.run) {
            let (force, length) = (bend.work.force, bend.bend.length);
            let load = load_at(self.shop, self.brake, bend.station, force, length);
            if load.is_near() {
                let _ = writeln!(out, "{}", bend.careful(&load.text()));
            }
        }
        for caution in cautions(self.shop, self.run) {
            let _ = writeln!(out, "{caution}");
        }
        out
    }
}

/// A station with its number, its sections, and what it was before.
fn station_text(words: &StationWords, width: usize) -> String {
    let number = words.number.map_or_else(String::new, |n| n.to_string());
    let mut out = format!("  [{number}] {}\n", words.station);
    for note in &words.notes {
        let _ = writeln!(out, "      {note}");
    }
    for (kind, sections) in [("punch", &words.punch), ("die  ", &words.die)] {
        let line = format!("      {kind} {sections}");
        let _ = writeln!(out, "{}", wrapped(&line, 12, width));
    }
    out
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
