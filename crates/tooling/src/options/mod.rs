//! The setups that make all bends of a part on a brake, or why there are none.

mod brake_limits;
mod finder;
mod geometry;
mod stations;
mod whole;

use crate::clearance::{CrossSection, Ways};
use crate::compose::{Composer, Span};
use crate::engineer::{BendWork, Job};
use crate::hits::{Hit, hits_of};
use crate::stock::Stock;
pub(crate) use finder::Finder;
use model::{Approval, Limit, Refusal};
use units::Length;

/// Options kept per part and brake. An option that is worse alone may share a bed with its
/// neighbours, so a few different tool sets are kept beside the best.
const KEPT: usize = 5;
/// Setups looked at as a whole per part and brake, the ones nearest to a setter's habit first.
const LOOKED_AT: usize = 14;
/// Sets of tools tried at most: the ones after these are far from any setter's habit.
const TRIED: usize = 60;

/// A station a part needs: any punch and die of these profiles whose lengths will do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// Punch profile.
    pub punch: usize,
    /// Die profile.
    pub die: usize,
    /// Punch lengths that will do.
    pub punch_span: Span,
    /// Least die length.
    pub die_least: Length,
    /// Farthest the punch's centre may be from the bed's.
    pub off_centre_most: Length,
    /// Lowest ram-to-bed distance of the bends made here.
    pub ram_lowest: Length,
    /// Which way round the punch may stand.
    pub ways: Ways,
    /// Indices of the part's hits made here.
    pub hits: Vec<usize>,
}

/// One feasible setup of a part on a brake.
#[derive(Clone, Debug)]
pub struct ToolingOption {
    /// Index of the part in the shop.
    pub part: usize,
    /// Index of the brake in the shop.
    pub brake: usize,
    /// Stations needed, left to right in bend order.
    pub needs: Vec<Need>,
    /// The part's hits.
    pub hits: Vec<Hit>,
    /// For each hit, its numbers.
    pub works: Vec<BendWork>,
    /// For each hit, the need that makes it.
    pub need_of_hit: Vec<usize>,
    /// Milliseconds a piece.
    pub cycle_ms: i64,
    /// Operators.
    pub crew: u8,
    /// Program at the brake, when the setup is proven.
    pub program: Option<String>,
    /// Tallest punch plus die used.
    pub tallest: Length,
    /// Sections it takes at least.
    pub pieces: usize,
    /// Holders' height on this brake.
    pub holders: Length,
    /// Who approves the first piece.
    pub approval: Approval,
}

/// What a brake offers a part.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Feasible setups, the best alone first.
    pub options: Vec<ToolingOption>,
    /// When there are none: the limits that stand in the way.
    pub refusals: Vec<Refusal>,
    /// Other tools that make every bend, and why they are not among the options.
    pub passed_over: Vec<PassedOver>,
}

/// Tools that make every bend and still are no option.
#[derive(Clone, Debug)]
pub struct PassedOver {
    /// Punch and die profiles.
    pub tools: Vec<(usize, usize)>,
    /// The limit broken by the setup as a whole; `None` when it is merely no better than the
    /// options kept.
    pub why: Option<Box<Refusal>>,
}

impl Need {
    /// The need that serves both, when one station can: same tools are the caller's business.
    #[must_use]
    pub fn shared_with(&self, other: &Need) -> Option<Need> {
        let punch_span = Span {
            least: self.punch_span.least.max(other.punch_span.least),
            most: self.punch_span.most.min(other.punch_span.most),
            horns: self.punch_span.horns || other.punch_span.horns,
        };
        let ways = self.ways.and(other.ways);
        (punch_span.least <= punch_span.most && ways.any()).then(|| Need {
            punch_span,
            ways,
            die_least: self.die_least.max(other.die_least),
            off_centre_most: self.off_centre_most.min(other.off_centre_most),
            ..self.clone()
        })
    }
}

impl Span {
    /// The span with at most `overhang` more than its least length.
    #[must_use]
    pub fn within(self, overhang: Length) -> Span {
        Span {
            most: self.most.min(self.least + overhang),
            ..self
        }
    }
}

impl ToolingOption {
    /// Whether every bend is made with the same punch and die in both.
    #[must_use]
    pub fn makes_each_bend_like(&self, other: &ToolingOption) -> bool {
        let tools = |option: &ToolingOption, hit: usize| {
            let need = &option.needs[option.need_of_hit[hit]];
            (need.punch, need.die)
        };
        (0..self.need_of_hit.len()).all(|hit| tools(self, hit) == tools(other, hit))
    }

    /// Whether this setup is nowhere worse than another and somewhere better: stations, sections,
    /// seconds a piece, height, peak force.
    #[must_use]
    pub fn beats(&self, other: &ToolingOption) -> bool {
        let force = |option: &ToolingOption| {
            option
                .works
                .iter()
                .map(|work| work.force.get())
                .fold(0.0, f64::max)
        };
        let ours = (self.needs.len(), self.pieces, self.cycle_ms, self.tallest);
        let theirs = (
            other.needs.len(),
            other.pieces,
            other.cycle_ms,
            other.tallest,
        );
        let no_worse = ours.0 <= theirs.0
            && ours.1 <= theirs.1
            && ours.2 <= theirs.2
            && ours.3 <= theirs.3
            && force(self) <= force(other);
        no_worse && (ours != theirs || force(self) < force(other))
    }

    /// Whether a station stays open by the clearance at this setup's deepest ram position; bends
    /// made at `need`, its own, do not count.
    #[must_use]
    pub fn clears(
        &self,
        need: Option<usize>,
        closed: Length,
        free_depth: Length,
        clearance: Length,
    ) -> bool {
        let lowest = self
            .needs
            .iter()
            .enumerate()
            .filter(|(index, _)| Some(*index) != need)
            .map(|(_, other)| other.ram_lowest)
            .min();
        lowest.is_none_or(|lowest| self.holders + closed - lowest <= free_depth - clearance)
    }
}

/// Every setup worth keeping for a part on a brake, or the limits in the way.
#[must_use]
pub fn options_for(
    stock: &Stock<'_>,
    composer: &mut Composer,
    job: &Job<'_>,
    part: usize,
    brake: usize,
) -> Options {
    composer.strokes.begin(part);
    let hits = hits_of(job.part, &stock.shop().rules);
    let sections = CrossSection::of_part(job.part, &hits);
    let finder = Finder {
        stock,
        job,
        part,
        brake,
        hits,
        sections,
    };
    let refusals = finder.brake_limits();
    if !refusals.is_empty() {
        return Options {
            refusals,
            ..Options::default()
        };
    }
    let mut refusals = Vec::new();
    let mut passed_over = Vec::new();
    let mut options = Vec::new();
    for setup in stock.shop().setups_of(&job.part.id, &job.brake.id) {
        match finder.proven(composer, setup) {
            Ok(option) => options.push(option),
            Err(refusal) => refusals.push(*refusal),
        }
    }
    if !job.part.proven_only {
        match finder.computed(composer) {
            Ok(computed) => {
                passed_over = computed.passed_over;
                // Tools that are proven here are run as proven.
                let proven: Vec<ToolingOption> = options.clone();
                let same_tools = |option: &ToolingOption| {
                    proven
                        .iter()
                        .any(|other| other.makes_each_bend_like(option))
                };
                let others = computed.options.into_iter();
                options.extend(others.filter(|option| !same_tools(option)));
            }
            Err(more) => refusals.extend(more),
        }
    } else if options.is_empty() && refusals.is_empty() {
        let text = "part may only run where it is proven, and it is not proven here".to_owned();
        refusals.push(job.refuse(Limit::Proven, None, (1.0, 0.0, "proven setup"), text));
    }
    if !options.is_empty() {
        refusals.clear();
    }
    Options {
        options,
        refusals,
        passed_over,
    }
}
