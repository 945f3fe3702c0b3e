//! Brakes: what each is doing, its bed, and whether it can be used.

use crate::access::Who;
use crate::app::Site;
use crate::input::{Body, Expected, Id, Key, Line, Named, Why};
use crate::problem::Problem;
use crate::routes::orders::{Columns, Reason};
use crate::wire::{When, Written, submit, tagged, written};
use axum::Json;
use axum::response::Response;
use daybook::{Command, Doing, Expectation, State, StationEntry};
use documents::Cells;
use model::{Changeover, Station, Step, StepKind};
use serde::{Deserialize, Serialize};
use units::BrakeId;
use utoipa::ToSchema;

/// Names a brake.
#[derive(Debug, Deserialize)]
pub(crate) struct BrakePath {
    pub(crate) brake: Id,
}

impl BrakePath {
    pub(crate) fn id(&self) -> Result<BrakeId, Problem> {
        BrakeId::new(&self.brake.0).map_err(|error| Problem::missing(error.to_string()))
    }
}

/// What a brake is doing.
#[derive(Debug, Serialize, ToSchema)]
#[serde(tag = "doing", rename_all = "kebab-case")]
pub(crate) enum DoingView {
    /// Nothing.
    Idle,
    /// Tools are being changed.
    ChangingOver {
        /// Plan.
        plan: u64,
        /// Run it prepares.
        run: String,
        /// Order of that run.
        order: String,
    },
    /// An order is being bent.
    Running(RunView),
    /// Its run stands still.
    Paused {
        /// The run.
        #[serde(flatten)]
        run: RunView,
        /// Since when.
        paused_since: When,
        /// Why.
        why: String,
    },
}

/// A run under way.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RunView {
    /// Plan and run, when it was started from a plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<u64>,
    /// Its name in that plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    run: Option<String>,
    /// Order.
    order: String,
    /// Pieces to bend.
    quantity: u32,
    /// Good pieces so far.
    good: u32,
    /// Spoiled pieces so far.
    scrap: u32,
    /// When it began.
    started: When,
    /// End in the plan, when one said.
    #[serde(skip_serializing_if = "Option::is_none")]
    planned_end: Option<When>,
}

/// A span in which a brake cannot be used.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DownView {
    /// From when.
    from: When,
    /// Until when.
    until: When,
    /// Why.
    why: String,
}

/// A brake as it is now.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct BrakeView {
    /// Brake.
    #[schema(examples("B1"))]
    brake: String,
    /// Its name.
    name: String,
    /// Number of the event that last changed it; its ETag.
    version: u64,
    /// What it is doing.
    work: DoingView,
    /// Since when; nothing when it was never heard of.
    #[serde(skip_serializing_if = "Option::is_none")]
    since: Option<When>,
    /// When it cannot be used.
    down: Vec<DownView>,
    /// Stations on its bed.
    #[schema(value_type = Vec<Object>)]
    bed: Vec<StationEntry>,
}

fn doing(state: &State, brake: &BrakeId) -> DoingView {
    match state.doing(brake) {
        Doing::Idle => DoingView::Idle,
        Doing::ChangingOver(change) => DoingView::ChangingOver {
            plan: change.plan,
            run: change.run.clone(),
            order: change.order.to_string(),
        },
        Doing::Running(on) => {
            let run = RunView {
                plan: on.of.as_ref().map(|(plan, _)| *plan),
                run: on.of.as_ref().map(|(_, run)| run.clone()),
                order: on.order.to_string(),
                quantity: on.quantity,
                good: on.good,
                scrap: on.scrap,
                started: When(on.started),
                planned_end: on.planned_end.map(When),
            };
            match &on.paused {
                None => DoingView::Running(run),
                Some(pause) => DoingView::Paused {
                    run,
                    paused_since: When(pause.since),
                    why: pause.why.clone(),
                },
            }
        }
    }
}

fn view(state: &State, brake: &model::Brake) -> BrakeView {
    let id = &brake.id;
    let downs = state.downs.iter().filter(|down| down.brake == *id);
    let stations = state.beds.get(id).into_iter().flatten();
    BrakeView {
        brake: id.to_string(),
        name: brake.name.clone(),
        version: state.brake_version(id),
        work: doing(state, id),
        since: state.on_brake.get(id).map(|on| When(on.since)),
        down: downs
            .map(|down| DownView {
                from: When(down.window.start),
                until: When(down.window.end),
                why: down.reason.clone(),
            })
            .collect(),
        bed: stations.map(StationEntry::from).collect(),
    }
}

/// All brakes.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Brakes {
    /// In the shop's order.
    brakes: Vec<BrakeView>,
}

/// Show every brake as it is now.
#[utoipa::path(get, path = "/api/v1/brakes", tag = "floor",
    responses((status = 200, body = Brakes)))]
pub(crate) async fn list(site: Site) -> Json<Brakes> {
    let state = site.office.state();
    let brakes = state.base().map_or(&[][..], |base| &base.shop().brakes);
    let brakes = brakes.iter().map(|brake| view(&state, brake)).collect();
    Json(Brakes { brakes })
}

/// Show one brake as it is now.
#[utoipa::path(get, path = "/api/v1/brakes/{brake}", tag = "floor",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")),
    responses((status = 200, body = BrakeView, headers(("ETag" = String)))))]
pub(crate) async fn one(site: Site, Named(path): Named<BrakePath>) -> Result<Response, Problem> {
    let state = site.office.state();
    let id = path.id()?;
    let found = state.base().and_then(|base| base.shop().brake(&id));
    let brake = found.ok_or_else(|| Problem::missing(format!("There is no brake {id}.")))?;
    let view = view(&state, brake);
    Ok(tagged(view.version, Json(view)))
}

/// A station of a plan.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct StationView {
    punch: String,
    die: String,
    /// Left end, mm from the bed's left end.
    left_mm: String,
    /// Bed length taken, mm.
    length_mm: String,
    /// Whether the punch stands turned about.
    reversed: bool,
    /// Punch sections from left to right, each with its drawer.
    punch_sections: Vec<PieceView>,
    /// Die sections from left to right, each with its drawer.
    die_sections: Vec<PieceView>,
}

/// A section of a station.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PieceView {
    section: String,
    drawer: String,
}

/// A step of a changeover.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct StepView {
    /// Kind.
    kind: &'static str,
    /// Seconds of work.
    seconds: i64,
    /// In words.
    text: String,
}

/// The sheet of a changeover. Bending can maim: it advises, and a trained person sets the machine up
/// by its manual, the tool maker's ratings and local codes.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Sheet {
    /// Shown before anything else.
    caution: &'static str,
    plan: u64,
    brake: String,
    run: String,
    order: String,
    part: String,
    quantity: u32,
    start: When,
    end: When,
    /// Seconds of work.
    seconds: i64,
    remove: Vec<StationView>,
    keep: Vec<StationView>,
    turn: Vec<StationView>,
    slide: Vec<StationView>,
    insert: Vec<StationView>,
    /// What is done, in order.
    steps: Vec<StepView>,
    /// The bed afterwards, from left to right.
    bed: Vec<StationView>,
}

fn station(station: &Station) -> StationView {
    let pieces = |pieces: &[model::StationPiece]| {
        let piece = |piece: &model::StationPiece| PieceView {
            section: piece.section.to_string(),
            drawer: piece.drawer.clone(),
        };
        pieces.iter().map(piece).collect()
    };
    StationView {
        punch: station.punch.to_string(),
        die: station.die.to_string(),
        left_mm: station.left.to_string(),
        length_mm: station.length.to_string(),
        reversed: station.reversed,
        punch_sections: pieces(&station.punch_sections),
        die_sections: pieces(&station.die_sections),
    }
}

pub(crate) fn step_word(kind: StepKind) -> &'static str {
    match kind {
        StepKind::Prepare => "prepare",
        StepKind::TakeOff => "take-off",
        StepKind::Turn => "turn",
        StepKind::Slide => "slide",
        StepKind::PutOn => "put-on",
        StepKind::Fingers => "fingers",
        StepKind::Guard => "guard",
        StepKind::Program => "program",
        StepKind::Programming => "programming",
        StepKind::FirstPiece => "first-piece",
        StepKind::Approval => "approval",
    }
}

fn sheet(plan: u64, brake: &BrakeId, run: &model::Run) -> Sheet {
    let change: &Changeover = &run.changeover;
    let all = |stations: &[Station]| stations.iter().map(station).collect();
    let step = |step: &Step| StepView {
        kind: step_word(step.kind),
        seconds: step.time.0,
        text: step.text.clone(),
    };
    Sheet {
        caution: crate::page::CAUTION,
        plan,
        brake: brake.to_string(),
        run: run.name.clone(),
        order: run.order.to_string(),
        part: run.part.to_string(),
        quantity: run.quantity,
        start: When(change.start),
        end: When(change.end),
        seconds: change.work.0,
        remove: all(&change.remove),
        keep: all(&change.keep),
        turn: change
            .turn
            .iter()
            .map(|turned| station(&turned.station))
            .collect(),
        slide: change
            .slide
            .iter()
            .map(|slid| station(&slid.station))
            .collect(),
        insert: all(&change.insert),
        steps: change.steps.iter().map(step).collect(),
        bed: all(&run.bed),
    }
}

/// Names a run on a brake.
#[derive(Debug, Deserialize)]
pub(crate) struct RunPath {
    brake: Id,
    run: Line<1, 64>,
}

/// Show the changeover before a run of the published plan: what comes off, stays and goes on.
#[utoipa::path(get, path = "/api/v1/brakes/{brake}/changeovers/{run}", tag = "floor",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1"),
        ("run" = inline(Line<1, 64>), Path, description = "The run's name in the plan, such as B2-04", example = "B1-01")),
    responses((status = 200, body = Sheet)))]
pub(crate) async fn changeover(
    site: Site,
    Named(path): Named<RunPath>,
) -> Result<Json<Sheet>, Problem> {
    let published = site.office.published().await?;
    let kept = published.ok_or_else(|| Problem::missing("No plan is published."))?;
    let lines = kept.plan.brakes.iter();
    let mut lines = lines.filter(|line| line.brake.as_str() == path.brake.0);
    let found = lines.find_map(|line| {
        let run = line.runs.iter().find(|run| run.name == path.run.0)?;
        Some(sheet(kept.number, &line.brake, run))
    });
    found.map(Json).ok_or_else(|| {
        Problem::missing("The published plan has no such run on this brake; look it up there.")
    })
}

/// Sends a report about a brake.
pub(crate) async fn report(
    site: &Site,
    who: &Who,
    key: Key,
    expected: Expected,
    brake: &BrakeId,
    command: Command,
) -> Result<Response, Problem> {
    let expect = expected
        .version()
        .map(|version| Expectation::Brake(brake.clone(), version));
    let done = submit(site, who, key, expect, command).await?;
    Ok(written(site, &done, |state| state.brake_version(brake)))
}

/// What stands on a bed.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Bed {
    /// Rows with the station cells of floor.csv: `punch`, `die`, `left`, `punch_sections`,
    /// `die_sections`, `reversed`.
    #[schema(value_type = Vec<BTreeMap<String, Line<0, 500>>>, max_items = 100)]
    stations: Vec<Columns>,
}

/// Say what stands on a brake's bed.
#[utoipa::path(put, path = "/api/v1/brakes/{brake}/bed", tag = "floor",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = Bed,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn bed(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<Bed>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let cells = |columns: &Columns| -> Cells {
        let pairs = columns.iter();
        pairs
            .map(|(column, text)| (column.0.clone(), text.0.clone()))
            .collect()
    };
    let command = Command::DescribeBed {
        brake: brake.clone(),
        stations: body.stations.iter().map(cells).collect(),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// When a brake cannot be used.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Down {
    /// From when; now when left out.
    from: Option<When>,
    /// Until when.
    until: When,
    /// Why, for people.
    #[serde(default)]
    why: Why,
}

/// Report a brake down, or that it stays down until another moment.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/down", tag = "floor",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")), request_body = Down,
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn down(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
    Body(body): Body<Down>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::BrakeDown {
        brake: brake.clone(),
        from: body.from.map(|from| from.0),
        until: body.until.0,
        why: body.why.0,
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Report that a brake can be used again.
#[utoipa::path(post, path = "/api/v1/brakes/{brake}/up", tag = "floor",
    params(("brake" = inline(Id), Path, description = "Brake", example = "B1")),
    responses((status = 200, body = Written, headers(("ETag" = String)))))]
pub(crate) async fn up(
    site: Site,
    who: Who,
    key: Key,
    expected: Expected,
    Named(path): Named<BrakePath>,
) -> Result<Response, Problem> {
    let brake = path.id()?;
    let command = Command::BrakeUp {
        brake: brake.clone(),
    };
    report(&site, &who, key, expected, &brake, command).await
}

/// Kept with the others that take a reason.
pub(crate) type Paused = Reason;
