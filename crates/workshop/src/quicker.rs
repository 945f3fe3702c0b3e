//! A plan whose changes take less time, everything else at its time.

use model::{Approval, Brake, Changeover, Plan, Segment, Shop, Station, Step, StepKind, ZDrive};
use schedule::calendar::expand;
use units::{Moment, Seconds, SectionId, Window};

/// The plan of a shop in another one that differs in the times of changes alone: every change begins
/// when it did and ends sooner, or ends when it did and begins later where somebody has to come and
/// approve. `None` when a change would take longer. Not judged.
pub(crate) fn quicker(plan: &Plan, with: &Shop) -> Option<Plan> {
    let mut plan = plan.clone();
    let mut saved = Seconds::ZERO;
    let mut overtime_saved = Seconds::ZERO;
    for list in &mut plan.brakes {
        let brake = with.brake(&list.brake)?;
        let overtime = overtime(with, brake, (plan.from, plan.until));
        let mut spared = |old: &[Segment], new: &[Segment]| {
            saved += length(old) - length(new);
            overtime_saved += inside(old, &overtime) - inside(new, &overtime);
        };
        for run in &mut list.runs {
            let approval = with.part(&run.part)?.approval;
            let old = run.changeover.segments.clone();
            if run.changeover.steps.is_empty() {
                continue;
            }
            retime(with, brake, &mut run.changeover)?;
            let change = &mut run.changeover;
            change.segments = cut(&old, change.work, approval == Approval::Own)?;
            (change.start, change.end) = match (change.segments.first(), change.segments.last()) {
                (Some(first), Some(last)) => (first.start, last.end),
                _ => (run.start, run.start),
            };
            spared(&old, &change.segments);
        }
        for takedown in &mut list.takedowns {
            let old = takedown.segments.clone();
            let mut off = takedown.remove.iter();
            for step in &mut takedown.steps {
                step.time = step_time(with, brake, step, &mut off, &mut [].iter(), &mut [].iter())?;
            }
            takedown.work = takedown.steps.iter().map(|step| step.time).sum();
            takedown.segments = cut(&old, takedown.work, true)?;
            (takedown.start, takedown.end) = (
                takedown.segments.first()?.start,
                takedown.segments.last()?.end,
            );
            spared(&old, &takedown.segments);
        }
    }
    let totals = &mut plan.totals;
    totals.changeover = totals.changeover - saved;
    totals.overtime = totals.overtime - overtime_saved;
    let priced = 6 * i64::from(with.rules.overtime_tenths) * overtime_saved.0;
    totals.objective -= 60 * saved.0 + priced;
    Some(plan)
}

/// The steps with the brake's times; docs/rules.md section 4.
fn retime(shop: &Shop, brake: &Brake, change: &mut Changeover) -> Option<()> {
    if brake.gauge.z == ZDrive::Powered {
        change.steps.retain(|step| step.kind != StepKind::Fingers);
    }
    let mut off = change.remove.iter();
    let mut on = change.insert.iter();
    let mut turned = change.turn.iter().map(|one| &one.station);
    for step in &mut change.steps {
        step.time = step_time(shop, brake, step, &mut off, &mut on, &mut turned)?;
    }
    change.work = change.steps.iter().map(|step| step.time).sum();
    Some(())
}

fn step_time<'p>(
    shop: &Shop,
    brake: &Brake,
    step: &Step,
    off: &mut dyn Iterator<Item = &'p Station>,
    on: &mut dyn Iterator<Item = &'p Station>,
    turned: &mut dyn Iterator<Item = &'p Station>,
) -> Option<Seconds> {
    let times = &brake.times;
    let heavy = |id: &SectionId| {
        let section = shop.section(id);
        section.is_some_and(|one| one.mass.get() > shop.rules.heavy_section_mass.get())
    };
    let handled = |station: &Station, punches: bool, each: Seconds| {
        let punches = station.punch_sections.iter().filter(|_| punches);
        let ids = punches.chain(&station.die_sections).map(|one| &one.section);
        let more = |id| {
            if heavy(id) {
                times.heavy_section
            } else {
                Seconds::ZERO
            }
        };
        ids.map(|id| each + more(id)).sum::<Seconds>()
    };
    Some(match step.kind {
        StepKind::Prepare => times.base,
        StepKind::TakeOff => times.station_off + handled(off.next()?, true, times.section_off),
        StepKind::PutOn => times.station_on + handled(on.next()?, true, times.section_on),
        StepKind::Turn => handled(turned.next()?, false, times.section_turn),
        StepKind::Slide => times.station_slide,
        StepKind::Fingers
        | StepKind::Guard
        | StepKind::Program
        | StepKind::Programming
        | StepKind::FirstPiece
        | StepKind::Approval => step.time,
    })
}

fn length(segments: &[Segment]) -> Seconds {
    let lengths = segments.iter().map(|one| one.end - one.start);
    lengths.sum()
}

/// So much of the segments, from their beginning or up to their end. `None` when they are shorter.
fn cut(segments: &[Segment], work: Seconds, from_start: bool) -> Option<Vec<Segment>> {
    let mut drop = length(segments) - work;
    if drop < Seconds::ZERO {
        return None;
    }
    let mut left = segments.to_vec();
    while drop > Seconds::ZERO {
        let at = if from_start {
            left.len().checked_sub(1)?
        } else {
            0
        };
        let segment = left.get_mut(at)?;
        let whole = segment.end - segment.start;
        if whole <= drop {
            drop = drop - whole;
            left.remove(at);
        } else if from_start {
            segment.end = segment.end - drop;
            break;
        } else {
            segment.start = segment.start + drop;
            break;
        }
    }
    Some(left)
}

/// Overtime shifts of the brake's calendar.
fn overtime(shop: &Shop, brake: &Brake, (start, end): (Moment, Moment)) -> Vec<Window> {
    let Some(calendar) = shop.calendar(&brake.calendar) else {
        return Vec::new();
    };
    expand(calendar, shop.zone, Window { start, end })
        .into_iter()
        .filter(|shift| shift.overtime)
        .flat_map(|shift| shift.spans)
        .collect()
}

fn inside(segments: &[Segment], spans: &[Window]) -> Seconds {
    let common = |one: &Segment, span: &Window| {
        (one.end.min(span.end) - one.start.max(span.start)).max(Seconds::ZERO)
    };
    let each = |one| spans.iter().map(move |span| common(one, span));
    segments.iter().flat_map(each).sum()
}
