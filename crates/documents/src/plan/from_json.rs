//! From the JSON twins to the model, collecting every value that cannot stand where it does.

use super::json::{
    BendJson, BrakeJson, ChangeoverJson, PlanJson, ReasonJson, RunJson, SectionJson, SegmentJson,
    SlidJson, StationJson, StepJson, TakedownJson, ToldJson, TotalsJson, TurnedJson, UnplacedJson,
};
use super::names::{REFUSAL_UNITS, limit_named, step_named, unit_named};
use crate::moment::read_rfc3339;
use model::{
    Baselines, BendUse, Bound, BrakePlan, Changeover, Plan, Refusal, Run, Segment, Slid, Station,
    StationPiece, Step, Takedown, Told, Totals, Turned, Unplaced,
};
use std::fmt::Display;
use units::{
    BrakeId, IdError, Kilonewtons, Length, Moment, OrderId, PartId, PersonId, ProfileId, Seconds,
    SectionId,
};

/// A field's path and what is wrong with its value.
pub(super) type Problem = (String, String);

/// Builds the plan, or hands back every problem.
pub(super) fn plan_from(json: PlanJson) -> Result<Plan, Vec<Problem>> {
    let mut reader = Reader {
        problems: Vec::new(),
        path: Vec::new(),
    };
    let plan = reader.plan(json);
    match plan {
        Some(plan) if reader.problems.is_empty() => Ok(plan),
        _ => Err(reader.problems),
    }
}

struct Reader {
    problems: Vec<Problem>,
    path: Vec<String>,
}

impl Reader {
    fn bad(&mut self, field: &str, problem: String) {
        // A long plan with one systematic fault needs no list of thousands.
        if self.problems.len() < crate::limits::MOST_FINDINGS {
            let parts = self
                .path
                .iter()
                .map(String::as_str)
                .chain(std::iter::once(field));
            let path = parts.collect::<Vec<_>>().join(".");
            self.problems.push((path, problem));
        }
    }

    fn within<T>(&mut self, step: String, read: impl FnOnce(&mut Reader) -> T) -> T {
        self.path.push(step);
        let value = read(self);
        self.path.pop();
        value
    }

    /// Reads every element, also after one that is bad.
    fn list<J, T>(
        &mut self,
        field: &str,
        items: Vec<J>,
        mut read: impl FnMut(&mut Reader, J) -> Option<T>,
    ) -> Option<Vec<T>> {
        let each = items.into_iter().enumerate();
        let read: Vec<Option<T>> = each
            .map(|(i, item)| self.within(format!("{field}[{i}]"), |r| read(r, item)))
            .collect();
        read.into_iter().collect()
    }

    fn id<T>(
        &mut self,
        field: &str,
        text: &str,
        make: impl FnOnce(&str) -> Result<T, IdError>,
    ) -> Option<T> {
        match make(text) {
            Ok(id) => Some(id),
            Err(error) => {
                self.bad(field, format!("{text:?} is not an id: {error}"));
                None
            }
        }
    }

    fn time(&mut self, field: &str, text: &str) -> Option<Moment> {
        let moment = read_rfc3339(text);
        if moment.is_none() {
            self.bad(
                field,
                format!("{text:?} is not a time such as 2027-03-22T06:00:00+01:00"),
            );
        }
        moment
    }

    fn length(&mut self, field: &str, mm: f64) -> Option<Length> {
        // Beyond this, whole nanometres are no longer exact in a JSON number.
        self.bounded(field, mm, 9.0e9, "mm").map(Length::from_mm)
    }

    fn bounded(&mut self, field: &str, value: f64, most: f64, unit: &str) -> Option<f64> {
        if value.is_finite() && value.abs() <= most {
            return Some(value);
        }
        self.bad(field, format!("{value} {unit} is out of all bounds"));
        None
    }

    fn named<T>(&mut self, field: &str, text: &str, found: Option<T>, what: &str) -> Option<T> {
        if found.is_none() {
            self.bad(field, format!("{text:?} is not {what}"));
        }
        found
    }

    fn plan(&mut self, json: PlanJson) -> Option<Plan> {
        let from = self.time("from", &json.from);
        let until = self.time("until", &json.until);
        let brakes = self.list("brakes", json.brakes, Reader::brake);
        let unplaced = self.list("unplaced", json.unplaced, Reader::unplaced);
        let told = self.list("told", json.told, Reader::told);
        Some(Plan {
            shop: json.shop,
            from: from?,
            until: until?,
            seed: json.seed,
            iterations: json.iterations,
            seconds: json.seconds,
            brakes: brakes?,
            unplaced: unplaced?,
            told: told?,
            totals: totals(&json.totals),
            baselines: Baselines {
                due_date_order: totals(&json.baselines.due_date_order),
                grouped_by_die: totals(&json.baselines.grouped_by_die),
            },
            bound: Bound {
                objective: json.bound.objective,
            },
            verified: json.verified,
        })
    }

    fn told(&mut self, json: ToldJson) -> Option<Told> {
        let order = self.id("order", &json.order, OrderId::new);
        let start = self.time("start", &json.start);
        let brakes = json.brakes.into_iter();
        let brakes: Vec<Option<BrakeId>> = brakes
            .map(|brake| self.id("brakes", &brake, BrakeId::new))
            .collect();
        Some(Told {
            order: order?,
            start: start?,
            brakes: brakes.into_iter().collect::<Option<_>>()?,
        })
    }

    fn brake(&mut self, json: BrakeJson) -> Option<BrakePlan> {
        let brake = self.id("brake", &json.brake, BrakeId::new);
        let runs = self.list("runs", json.runs, Reader::run);
        let takedowns = self.list("takedowns", json.takedowns, Reader::takedown);
        Some(BrakePlan {
            brake: brake?,
            runs: runs?,
            takedowns: takedowns?,
        })
    }

    fn run(&mut self, json: RunJson) -> Option<Run> {
        let order = self.id("order", &json.order, OrderId::new);
        let part = self.id("part", &json.part, PartId::new);
        let changeover = self.within("changeover".to_owned(), |r| r.changeover(json.changeover));
        let start = self.time("start", &json.start);
        let end = self.time("end", &json.end);
        let segments = self.list("segments", json.segments, Reader::segment);
        let cycle_ms = self.milliseconds("cycle_seconds", json.cycle_seconds);
        let bends = self.list("bends", json.bends, Reader::bend);
        let bed = self.list("bed", json.bed, Reader::station);
        let ready = self.time("ready", &json.ready);
        let due = self.time("due", &json.due);
        Some(Run {
            name: json.run,
            order: order?,
            part: part?,
            quantity: json.quantity,
            batch: json.batch,
            changeover: changeover?,
            start: start?,
            end: end?,
            segments: segments?,
            run_time: Seconds(json.run_seconds),
            cycle_ms: cycle_ms?,
            bends: bends?,
            bed: bed?,
            program: json.program,
            ready: ready?,
            due: due?,
            late: Seconds(json.late_seconds),
            pinned: json.pinned,
            reasons: json.reasons,
        })
    }

    #[allow(clippy::cast_possible_truncation)] // bounded just before
    fn milliseconds(&mut self, field: &str, seconds: f64) -> Option<i64> {
        let ms = self.bounded(field, seconds * 1_000.0, 9.0e15, "ms")?;
        if (ms - ms.round()).abs() > 1e-3 {
            self.bad(field, format!("{seconds} has more than three decimals"));
            return None;
        }
        Some(ms.round() as i64)
    }

    fn segment(&mut self, json: SegmentJson) -> Option<Segment> {
        let start = self.time("start", &json.start);
        let end = self.time("end", &json.end);
        let crew = self.list("crew", json.crew, |r, id| {
            r.id("person", &id, PersonId::new)
        });
        Some(Segment {
            start: start?,
            end: end?,
            crew: crew?,
        })
    }

    #[allow(clippy::needless_pass_by_value)] // the shape `list` takes
    fn bend(&mut self, json: BendJson) -> Option<BendUse> {
        if json.hit == 0 {
            self.bad("hit", "hits count from 1".to_owned());
        }
        let force = self
            .bounded("force_kn", json.force_kn, f64::MAX, "kN")
            .map(Kilonewtons::of);
        let x = self.length("x_mm", json.x_mm);
        let r = self.length("r_mm", json.r_mm);
        let radius = self.length("radius_mm", json.radius_mm);
        Some(BendUse {
            bend: json.bend,
            hit: json.hit,
            station: json.station,
            force: force?,
            x: x?,
            r: r?,
            radius: radius?,
        })
    }

    fn changeover(&mut self, json: ChangeoverJson) -> Option<Changeover> {
        let start = self.time("start", &json.start);
        let end = self.time("end", &json.end);
        let segments = self.list("segments", json.segments, Reader::segment);
        let remove = self.list("remove", json.remove, Reader::station);
        let keep = self.list("keep", json.keep, Reader::station);
        let turn = self.list("turn", json.turn, Reader::turned);
        let slide = self.list("slide", json.slide, Reader::slid);
        let insert = self.list("insert", json.insert, Reader::station);
        let steps = self.list("steps", json.steps, Reader::step);
        Some(Changeover {
            start: start?,
            end: end?,
            work: Seconds(json.work_seconds),
            segments: segments?,
            remove: remove?,
            keep: keep?,
            turn: turn?,
            slide: slide?,
            insert: insert?,
            steps: steps?,
        })
    }

    fn turned(&mut self, json: TurnedJson) -> Option<Turned> {
        let from = self.id("from_die", &json.from_die, ProfileId::new);
        let station = self.station(json.station);
        Some(Turned {
            from: from?,
            station: station?,
        })
    }

    fn slid(&mut self, json: SlidJson) -> Option<Slid> {
        let from = self.length("from_mm", json.from_mm);
        let station = self.station(json.station);
        Some(Slid {
            from: from?,
            station: station?,
        })
    }

    fn takedown(&mut self, json: TakedownJson) -> Option<Takedown> {
        let start = self.time("start", &json.start);
        let end = self.time("end", &json.end);
        let segments = self.list("segments", json.segments, Reader::segment);
        let remove = self.list("remove", json.remove, Reader::station);
        let wanted_by = self.id("wanted_by", &json.wanted_by, BrakeId::new);
        let steps = self.list("steps", json.steps, Reader::step);
        Some(Takedown {
            start: start?,
            end: end?,
            work: Seconds(json.work_seconds),
            segments: segments?,
            remove: remove?,
            wanted_by: wanted_by?,
            steps: steps?,
        })
    }

    fn step(&mut self, json: StepJson) -> Option<Step> {
        let kind = self.named(
            "action",
            &json.action,
            step_named(&json.action),
            "a step's action",
        );
        Some(Step {
            kind: kind?,
            time: Seconds(json.seconds),
            text: json.text,
        })
    }

    fn station(&mut self, json: StationJson) -> Option<Station> {
        let punch = self.id("punch", &json.punch, ProfileId::new);
        let die = self.id("die", &json.die, ProfileId::new);
        let v = self.length("v_mm", json.v_mm);
        let left = self.length("left_mm", json.left_mm);
        let length = self.length("length_mm", json.length_mm);
        let punch_sections = self.list("punch_sections", json.punch_sections, Reader::piece);
        let die_sections = self.list("die_sections", json.die_sections, Reader::piece);
        let closed_height = self.length("closed_height_mm", json.closed_height_mm);
        Some(Station {
            punch: punch?,
            die: die?,
            v: v?,
            left: left?,
            length: length?,
            reversed: json.reversed,
            punch_sections: punch_sections?,
            die_sections: die_sections?,
            closed_height: closed_height?,
        })
    }

    fn piece(&mut self, json: SectionJson) -> Option<StationPiece> {
        let section = self.id("id", &json.id, SectionId::new);
        let length = self.length("length_mm", json.length_mm);
        Some(StationPiece {
            section: section?,
            length: length?,
            drawer: json.drawer,
        })
    }

    fn unplaced(&mut self, json: UnplacedJson) -> Option<Unplaced> {
        let order = self.id("order", &json.order, OrderId::new);
        let refusals = self.list("reasons", json.reasons, Reader::refusal);
        Some(Unplaced {
            order: order?,
            quantity: json.quantity,
            refusals: refusals?,
        })
    }

    fn refusal(&mut self, json: ReasonJson) -> Option<Refusal> {
        let brake = self.id("brake", &json.brake, BrakeId::new);
        let limit = self.named(
            "code",
            &json.code,
            limit_named(&json.code),
            "a limit's code",
        );
        let units = one_of(REFUSAL_UNITS);
        let unit = self.named("unit", &json.unit, unit_named(&json.unit), &units);
        Some(Refusal {
            brake: brake?,
            limit: limit?,
            bend: json.bend,
            needed: json.needed.unwrap_or(f64::INFINITY),
            available: json.limit.unwrap_or(f64::INFINITY),
            unit: unit?,
            text: json.text,
        })
    }
}

fn totals(json: &TotalsJson) -> Totals {
    Totals {
        runs: json.runs,
        changeovers: json.changeovers,
        changeover: Seconds(json.changeover_seconds),
        run: Seconds(json.run_seconds),
        late_orders: json.late_orders,
        weighted_late: Seconds(json.weighted_late_seconds),
        overtime: Seconds(json.overtime_seconds),
        unplaced_orders: json.unplaced_orders,
        moved: Seconds(json.moved_seconds),
        other_brakes: json.other_brakes,
        objective: json.objective,
    }
}

fn one_of<T: Display>(words: &[T]) -> String {
    let words: Vec<String> = words
        .iter()
        .map(|word| format!("{word:?}", word = word.to_string()))
        .collect();
    format!("one of {}", words.join(", "))
}
