//! One setup of a part on a brake.

use crate::flat::{FlatSection, flat_sections};
use crate::hit::{HitStudy, study_hit};
use crate::openings::{OpeningStudy, openings};
use crate::part::Case;
use crate::warning::{Warning, warnings};
use bending::force::ForceForm;
use model::StepKind;
use std::sync::Arc;
use tooling::{
    Bed, BedChange, Composer, Custody, Cycle, Request, Stand, ToolingOption, Ways, change,
    change_steps, cycle, part_mass,
};
use units::{Length, ProfileId, Seconds};

/// A setup that makes all bends of a part on a brake.
#[derive(Clone, Debug)]
pub struct OptionStudy {
    /// Program at the brake, when the setup is proven.
    pub program: Option<String>,
    /// The form the shop reckons forces with.
    pub force_form: ForceForm,
    /// Hits in the order they are made.
    pub hits: Vec<HitStudy>,
    /// Stations, in the order in which they are first used.
    pub stations: Vec<StationStudy>,
    /// Holders and the tallest punch and die: ram seat to bed seat with the tools closed.
    pub shut_height: Length,
    /// Operators.
    pub crew: u8,
    /// Milliseconds a piece, as a plan reckons.
    pub cycle_ms: i64,
    /// Whether `cycle_ms` was measured in a proven setup; the phases are computed all the same.
    pub measured: bool,
    /// Where the time of a piece goes.
    pub cycle: Cycle,
    /// Setting up from an empty bed with every section free; `None` when that cannot be done.
    pub setup: Option<Setup>,
    /// The blank along each known cross section.
    pub flat: Vec<FlatSection>,
    /// This setup's V openings, then every other one owned that this brake takes.
    pub openings: Vec<OpeningStudy>,
    /// What a person should know before bending.
    pub warnings: Vec<Warning>,
}

/// A station of the setup.
#[derive(Clone, Debug, PartialEq)]
pub struct StationStudy {
    /// Punch.
    pub punch: ProfileId,
    /// Die.
    pub die: ProfileId,
    /// Its V; `None` for flattening tools.
    pub v: Option<Length>,
    /// Bends made here.
    pub bends: Vec<u8>,
    /// Least and greatest punch length that serves.
    pub punch_span: (Length, Length),
    /// Whether horn sections must stand at the ends.
    pub horns: bool,
    /// Which way round the punch may stand.
    pub ways: Ways,
    /// Farthest that force and bed let its punch's centre stand from the bed's.
    pub off_centre_most: Length,
    /// The station as it is put on an empty bed; `None` when it cannot be.
    pub stand: Option<Arc<Stand>>,
    /// Its punch sections from left to right.
    pub punch_sections: Vec<Length>,
    /// Its die sections from left to right.
    pub die_sections: Vec<Length>,
}

/// What setting up from an empty bed costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setup {
    /// Its steps, equal kinds added up, in the order in which they are done.
    pub steps: Vec<(StepKind, Seconds)>,
    /// Their sum.
    pub work: Seconds,
}

/// Every section lies in its drawer.
struct AllFree;

impl Custody for AllFree {
    fn on_this_bed(&self, _: usize) -> bool {
        false
    }
    fn wait(&self, _: usize) -> Option<i64> {
        Some(0)
    }
    fn wanted_elsewhere(&self, _: &Stand) -> bool {
        false
    }
}

/// Puts one setup's numbers side by side; `None` when a tool of it is not known.
pub(crate) fn study_option(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    option: &ToolingOption,
    drawn: bool,
) -> Option<OptionStudy> {
    let job = case.job;
    let request = Request {
        brake: job.brake,
        option,
        later: &[],
    };
    let laid = change(case.stock, composer, &Bed::default(), &request, &AllFree);
    let stations: Vec<StationStudy> = (0..option.needs.len())
        .map(|need| station(case, option, need, laid.as_ref()))
        .collect::<Option<_>>()?;
    let hits: Vec<HitStudy> = (0..option.hits.len())
        .map(|hit| study_hit(case, option, hit, &stations, drawn))
        .collect::<Option<_>>()?;
    let (shop, mass) = (case.stock.shop(), part_mass(job.part, job.material));
    let rules = &shop.rules;
    let phases = cycle(
        job.part,
        &option.hits,
        &option.works,
        job.brake,
        rules,
        mass,
        option.crew,
    );
    let mut study = OptionStudy {
        program: option.program.clone(),
        force_form: ForceForm::from_name(&rules.force_form).unwrap_or(ForceForm::Oehler),
        flat: flat_sections(case, &option.works),
        openings: openings(case, option),
        hits,
        stations,
        shut_height: option.holders + option.tallest,
        crew: option.crew,
        cycle_ms: option.cycle_ms,
        measured: option.cycle_ms != phases.whole_ms,
        cycle: phases,
        setup: laid.map(|laid| setup(case, option, &laid)),
        warnings: Vec::new(),
    };
    study.warnings = warnings(case, &study);
    Some(study)
}

fn station(
    case: &Case<'_, '_>,
    option: &ToolingOption,
    at: usize,
    laid: Option<&BedChange>,
) -> Option<StationStudy> {
    let need = option.needs.get(at)?;
    let (punch, die) = (case.stock.punch(need.punch)?, case.stock.die(need.die)?);
    let stand = laid.and_then(|laid| {
        let place = laid.stand_of_need.get(at)?;
        laid.bed.stands.get(*place).cloned()
    });
    let lengths = |sections: &[usize]| {
        let lengths = sections.iter().map(|&at| case.stock.section_length(at));
        lengths.collect::<Vec<_>>()
    };
    let punch_length = stand
        .as_ref()
        .map_or(need.punch_span.least, |stand| stand.punch_length);
    let room = (case.job.brake.bed - punch_length).half().max(Length::ZERO);
    let mut bends: Vec<u8> = need
        .hits
        .iter()
        .map(|&hit| case.job.part.bends[option.hits[hit].bend].number)
        .collect();
    bends.dedup();
    Some(StationStudy {
        punch: punch.id.clone(),
        die: die.id.clone(),
        v: (!die.flattening).then_some(die.v),
        bends,
        punch_span: (need.punch_span.least, need.punch_span.most),
        horns: need.punch_span.horns,
        ways: need.ways,
        off_centre_most: need.off_centre_most.min(room),
        punch_sections: stand
            .as_ref()
            .map_or_else(Vec::new, |stand| lengths(&stand.punch_sections)),
        die_sections: stand
            .as_ref()
            .map_or_else(Vec::new, |stand| lengths(&stand.die_sections)),
        stand,
    })
}

fn setup(case: &Case<'_, '_>, option: &ToolingOption, laid: &BedChange) -> Setup {
    let all = change_steps(case.stock, case.job.brake, option, laid, None, false);
    let mut steps: Vec<(StepKind, Seconds)> = Vec::new();
    let mut work = Seconds::ZERO;
    for step in all {
        work = Seconds(work.0 + step.time.0);
        match steps.iter_mut().find(|(kind, _)| *kind == step.kind) {
            Some((_, time)) => *time = Seconds(time.0 + step.time.0),
            None => steps.push((step.kind, step.time)),
        }
    }
    Setup { steps, work }
}
