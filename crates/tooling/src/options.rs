//! The setups that make all bends of a part on a brake, or why there are none.

use crate::compose::{Composer, Span};
use crate::cycle::{crew_for, cycle_ms, part_mass};
use crate::engineer::{BendWork, Job, Miss, describe, engineer};
use crate::stock::Stock;
use model::{Approval, Bend, Limit, ProvenSetup, Refusal, ZDrive};
use units::Length;

/// Options kept per part and brake. An option that is worse alone may share a bed with its
/// neighbours, so a few different tool sets are kept beside the best.
const KEPT: usize = 5;

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
    /// Indices of the part's bends made here.
    pub bends: Vec<usize>,
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
    /// For each bend of the part, its numbers.
    pub bends: Vec<BendWork>,
    /// For each bend of the part, the need that makes it.
    pub need_of_bend: Vec<usize>,
    /// Milliseconds a piece.
    pub cycle_ms: i64,
    /// Operators.
    pub crew: u8,
    /// Program at the brake, when the setup is proven.
    pub program: Option<String>,
    /// Tallest punch plus die used.
    pub tallest: Length,
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
        (punch_span.least <= punch_span.most).then(|| Need {
            punch_span,
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
        let tools = |option: &ToolingOption, bend: usize| {
            let need = &option.needs[option.need_of_bend[bend]];
            (need.punch, need.die)
        };
        (0..self.need_of_bend.len()).all(|bend| tools(self, bend) == tools(other, bend))
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
    let finder = Finder {
        stock,
        job,
        part,
        brake,
    };
    let refusals = finder.brake_limits();
    if !refusals.is_empty() {
        return Options {
            options: Vec::new(),
            refusals,
        };
    }
    let mut refusals = Vec::new();
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
                // Tools that are proven here are run as proven.
                let proven: Vec<ToolingOption> = options.clone();
                let same_tools = |option: &ToolingOption| {
                    proven
                        .iter()
                        .any(|other| other.makes_each_bend_like(option))
                };
                options.extend(computed.into_iter().filter(|option| !same_tools(option)));
            }
            Err(more) => refusals.extend(more),
        }
    } else if options.is_empty() && refusals.is_empty() {
        let text = "part may only run where it is proven, and it is not proven here".to_owned();
        refusals.push(job.refuse(Limit::Proven, None, (1.0, 0.0, "proven setup"), text));
    }
    if options.is_empty() {
        Options { options, refusals }
    } else {
        Options {
            options,
            refusals: Vec::new(),
        }
    }
}

/// One punch and die that make a bend.
#[derive(Clone, Copy)]
struct Pair {
    punch: usize,
    die: usize,
}

pub(crate) struct Finder<'a, 's> {
    pub(crate) stock: &'a Stock<'s>,
    pub(crate) job: &'a Job<'a>,
    part: usize,
    brake: usize,
}

impl Finder<'_, '_> {
    /// Limits that no tool can change.
    fn brake_limits(&self) -> Vec<Refusal> {
        let (job, brake, part) = (self.job, self.job.brake, self.job.part);
        let rules = &self.stock.shop().rules;
        let mut out = Vec::new();
        let mass = part_mass(part, job.material);
        if mass > rules.two_person_mass {
            let text = format!(
                "a blank of {:.1} kg is not bent by hand; the shop's limit is {:.1} kg",
                mass.get(),
                rules.two_person_mass.get()
            );
            out.push(job.refuse(
                Limit::Mass,
                None,
                (mass.get(), rules.two_person_mass.get(), "kg"),
                text,
            ));
        }
        if brake.angle_accuracy > part.angle_tolerance {
            let numbers = (part.angle_tolerance.get(), brake.angle_accuracy.get(), "°");
            let text = format!(
                "angles must hold ±{}°; this brake holds ±{}°",
                numbers.0, numbers.1
            );
            out.push(job.refuse(Limit::AngleAccuracy, None, numbers, text));
        }
        for bend in &part.bends {
            out.extend(self.bend_limits(bend));
        }
        out
    }

    fn bend_limits(&self, bend: &Bend) -> Vec<Refusal> {
        let (job, brake) = (self.job, self.job.brake);
        let mut out = Vec::new();
        let short = if bend.inside.is_some() {
            self.stock.shop().rules.box_short
        } else {
            Length::ZERO
        };
        if bend.length - short > brake.bed {
            let numbers = ((bend.length - short).mm(), brake.bed.mm(), "mm");
            let text = format!(
                "bend of {} mm; the bed is {} mm long",
                bend.length, brake.bed
            );
            out.push(job.refuse(Limit::BedLength, Some(bend), numbers, text));
        }
        if bend.length > brake.between_frames && bend.leg > brake.throat {
            let text = format!(
                "longer than the {} mm between frames, with a leg of {} mm behind the bend line; the throat is {} mm deep",
                brake.between_frames, bend.leg, brake.throat
            );
            out.push(job.refuse(
                Limit::Throat,
                Some(bend),
                (bend.leg.mm(), brake.throat.mm(), "mm"),
                text,
            ));
        }
        if bend.lift != Length::ZERO {
            match brake.gauge.r.filter(|axis| job.fitted(axis)) {
                Some(axis) if axis.from <= bend.lift && bend.lift <= axis.to => {}
                Some(axis) => {
                    let text = format!(
                        "gauge R must go to {} mm; its range is {} to {} mm",
                        bend.lift, axis.from, axis.to
                    );
                    out.push(job.refuse(
                        Limit::GaugeR,
                        Some(bend),
                        (bend.lift.mm(), axis.to.mm(), "mm"),
                        text,
                    ));
                }
                None => {
                    let text = format!(
                        "the edge against the stop is {} mm high; there is no R axis",
                        bend.lift
                    );
                    out.push(job.refuse(
                        Limit::GaugeR,
                        Some(bend),
                        (bend.lift.mm(), 0.0, "mm"),
                        text,
                    ));
                }
            }
        }
        if bend.taper.get().abs() > 0.0 {
            let needed = bend.length.mm() * bend.taper.get().abs().to_radians().tan();
            let there = brake.gauge.x_difference.filter(|axis| job.fitted(axis));
            let most = there.map_or(0.0, |axis| axis.to.mm());
            if needed > most * (1.0 + 1e-9) {
                let text = match there {
                    Some(_) => format!(
                        "a taper of {}° needs X1 and X2 {needed:.1} mm apart; {most:.0} mm is the most",
                        bend.taper.get()
                    ),
                    None => format!(
                        "a taper of {}° needs X1 and X2 {needed:.1} mm apart; both fingers move together here",
                        bend.taper.get()
                    ),
                };
                out.push(job.refuse(Limit::GaugeX1X2, Some(bend), (needed, most, "mm"), text));
            }
        }
        out
    }

    fn proven(
        &self,
        composer: &mut Composer,
        setup: &ProvenSetup,
    ) -> Result<ToolingOption, Box<Refusal>> {
        let bends = &self.job.part.bends;
        let mut works = Vec::with_capacity(bends.len());
        let mut groups: Vec<(Pair, Vec<usize>, Length)> = Vec::new();
        for station in &setup.stations {
            let indices =
                (0..bends.len()).filter(|&index| station.bends.contains(&bends[index].number));
            if let (Some(punch), Some(die)) = (
                self.stock.profile_index(&station.punch),
                self.stock.profile_index(&station.die),
            ) {
                groups.push((Pair { punch, die }, indices.collect(), station.length));
            }
        }
        for (index, bend) in bends.iter().enumerate() {
            let pair = groups
                .iter()
                .find(|(_, made, _)| made.contains(&index))
                .map(|(pair, _, _)| *pair);
            let tools = pair
                .and_then(|pair| Some((self.stock.punch(pair.punch)?, self.stock.die(pair.die)?)));
            let Some((punch, die)) = tools else {
                let text = format!(
                    "the proven setup {} does not say where bend {} is made",
                    setup.program, bend.number
                );
                return Err(Box::new(self.job.refuse(
                    Limit::Proven,
                    Some(bend),
                    (1.0, 0.0, "station"),
                    text,
                )));
            };
            works.push(
                engineer(self.job, bend, punch, die)
                    .map_err(|miss| Box::new(describe(self.job, bend, punch, die, &miss)))?,
            );
        }
        let needs = groups
            .into_iter()
            .filter(|(_, made, _)| !made.is_empty())
            .map(|(pair, made, length)| {
                let mut need = self.need(pair, made, &works);
                need.punch_span.least = need.punch_span.least.max(length);
                need.die_least = need.die_least.max(length);
                need
            })
            .collect();
        let mut option = self.finish(composer, needs, works)?;
        option.program = Some(setup.program.clone());
        if let Some(seconds) = setup.seconds_a_piece {
            option.cycle_ms = units::Seconds::from_estimate(seconds * 1000.0).0;
        }
        Ok(option)
    }

    /// Computed setups: one pair of tools for all bends where there is one, else few pairs.
    fn computed(&self, composer: &mut Composer) -> Result<Vec<ToolingOption>, Vec<Refusal>> {
        let table = self.pair_table().map_err(|refusal| vec![*refusal])?;
        let mut sets: Vec<Vec<usize>> = Vec::new();
        let whole = |pair: &usize| table.works.iter().all(|row| row[*pair].is_some());
        sets.extend((0..table.pairs.len()).filter(whole).map(|pair| vec![pair]));
        if sets.is_empty() {
            sets = self.few_pairs(&table);
        }
        sets.sort_by(|a, b| self.badness(&table, a).total_cmp(&self.badness(&table, b)));
        let mut options: Vec<ToolingOption> = Vec::new();
        let mut refused = Vec::new();
        for set in sets {
            match self.option_of(composer, &table, &set) {
                Ok(option) => options.push(option),
                Err(refusal) => refused.push(*refusal),
            }
            if options.len() == KEPT {
                break;
            }
        }
        if options.is_empty() {
            refused.truncate(2);
            return Err(refused);
        }
        Ok(options)
    }

    /// Every pair of owned tools that makes some bend, and what it makes of each. When a bend has
    /// none, the nearest miss is the refusal.
    fn pair_table(&self) -> Result<PairTable, Box<Refusal>> {
        let profiles = self.stock.shop().profiles.len();
        let owned: Vec<usize> = (0..profiles)
            .filter(|&p| !self.stock.classes_of(p).is_empty())
            .collect();
        let mut table = PairTable {
            pairs: Vec::new(),
            works: vec![Vec::new(); self.job.part.bends.len()],
        };
        let mut nearest: Vec<Option<(Miss, Pair)>> = vec![None; self.job.part.bends.len()];
        for &punch in &owned {
            for &die in &owned {
                let (Some(upper), Some(lower)) = (self.stock.punch(punch), self.stock.die(die))
                else {
                    continue;
                };
                let mut row = Vec::with_capacity(self.job.part.bends.len());
                for (index, bend) in self.job.part.bends.iter().enumerate() {
                    match engineer(self.job, bend, upper, lower) {
                        Ok(work) => row.push(Some(work)),
                        Err(miss) => {
                            row.push(None);
                            let nearer =
                                nearest[index].is_none_or(|(best, _)| miss.nearer_than(&best));
                            if nearer {
                                nearest[index] = Some((miss, Pair { punch, die }));
                            }
                        }
                    }
                }
                if row.iter().any(Option::is_some) {
                    table.pairs.push(Pair { punch, die });
                    for (index, work) in row.into_iter().enumerate() {
                        table.works[index].push(work);
                    }
                }
            }
        }
        for (index, bend) in self.job.part.bends.iter().enumerate() {
            if table.works[index].iter().all(Option::is_none) {
                return Err(Box::new(self.nearest_miss(bend, nearest[index])));
            }
        }
        Ok(table)
    }

    fn nearest_miss(&self, bend: &Bend, nearest: Option<(Miss, Pair)>) -> Refusal {
        let told = nearest.and_then(|(miss, pair)| {
            let (punch, die) = (self.stock.punch(pair.punch)?, self.stock.die(pair.die)?);
            Some(describe(self.job, bend, punch, die, &miss))
        });
        told.unwrap_or_else(|| {
            let text = "no punch and die are owned".to_owned();
            self.job
                .refuse(Limit::Sections, Some(bend), (1.0, 0.0, "tool"), text)
        })
    }

    /// Two pairs that together make all bends; failing that, pairs taken greedily.
    fn few_pairs(&self, table: &PairTable) -> Vec<Vec<usize>> {
        let makes = |pair: usize, bend: usize| table.works[bend][pair].is_some();
        let bends = 0..table.works.len();
        let mut sets = Vec::new();
        for first in 0..table.pairs.len() {
            for second in first + 1..table.pairs.len() {
                if bends
                    .clone()
                    .all(|bend| makes(first, bend) || makes(second, bend))
                {
                    sets.push(vec![first, second]);
                }
            }
        }
        if sets.is_empty() {
            let mut left: Vec<usize> = bends.collect();
            let mut chosen = Vec::new();
            while !left.is_empty() {
                let gain = |pair: &usize| left.iter().filter(|&&bend| makes(*pair, bend)).count();
                let Some(best) = (0..table.pairs.len()).max_by_key(gain) else {
                    break;
                };
                if gain(&best) == 0 {
                    break;
                }
                left.retain(|&bend| !makes(best, bend));
                chosen.push(best);
            }
            sets.push(chosen);
        }
        sets
    }

    /// How far a set of pairs is from what a setter would reach for: the preferred V, no more
    /// relief than is needed.
    fn badness(&self, table: &PairTable, set: &[usize]) -> f64 {
        let t = self.job.part.thickness.mm();
        let (_, preferred, _) = self.job.v_over_t();
        set.iter()
            .map(|&index| {
                let pair = table.pairs[index];
                let v = self.stock.die(pair.die).map_or(0.0, |die| die.v.mm());
                let relief = self
                    .stock
                    .punch(pair.punch)
                    .map_or(0.0, |punch| punch.relief.mm());
                10.0 + (v / t - preferred).abs() + relief / 100.0
            })
            .sum()
    }

    fn option_of(
        &self,
        composer: &mut Composer,
        table: &PairTable,
        set: &[usize],
    ) -> Result<ToolingOption, Box<Refusal>> {
        let mut made: Vec<Vec<usize>> = vec![Vec::new(); set.len()];
        let mut works = Vec::with_capacity(table.works.len());
        for (bend, row) in table.works.iter().enumerate() {
            let chosen = set
                .iter()
                .enumerate()
                .find_map(|(at, &pair)| row[pair].map(|work| (at, work)));
            let Some((at, work)) = chosen else {
                let text = "no set of owned tools makes every bend".to_owned();
                return Err(Box::new(self.job.refuse(
                    Limit::Sections,
                    Some(&self.job.part.bends[bend]),
                    (1.0, 0.0, "tool"),
                    text,
                )));
            };
            made[at].push(bend);
            works.push(work);
        }
        let mut needs = Vec::new();
        for (at, bends) in made
            .into_iter()
            .enumerate()
            .filter(|(_, bends)| !bends.is_empty())
        {
            for group in self.stations(&bends) {
                needs.push(self.need(table.pairs[set[at]], group, &works));
            }
        }
        needs.sort_by_key(|need: &Need| need.bends.first().copied());
        self.finish(composer, needs, works)
    }

    /// Bends of one pair of tools into as few stations as their length limits allow: sorted by
    /// their greatest length, a station takes every bend that fits under the first one's.
    fn stations(&self, bends: &[usize]) -> Vec<Vec<usize>> {
        let span = |bend: usize| self.span(&self.job.part.bends[bend]);
        let mut left: Vec<usize> = bends.to_vec();
        left.sort_by_key(|&bend| (span(bend).most, bend));
        let mut groups = Vec::new();
        while let Some(&first) = left.first() {
            let most = span(first).most;
            let (mut group, rest): (Vec<usize>, Vec<usize>) =
                left.iter().partition(|&&bend| span(bend).least <= most);
            group.sort_unstable();
            groups.push(group);
            left = rest;
        }
        groups
    }

    /// Punch lengths that will do for one bend.
    fn span(&self, bend: &Bend) -> Span {
        let horns = bend.side_return > Length::ZERO;
        match bend.inside {
            Some(inside) => {
                let least =
                    (bend.length - self.stock.shop().rules.box_short).max(bend.length.half());
                Span {
                    least: least.min(inside),
                    most: inside,
                    horns,
                }
            }
            None => Span {
                least: bend.length,
                most: Length::UNLIMITED,
                horns,
            },
        }
    }

    fn need(&self, pair: Pair, bends: Vec<usize>, works: &[BendWork]) -> Need {
        let mut need = Need {
            punch: pair.punch,
            die: pair.die,
            punch_span: Span {
                least: Length::ZERO,
                most: Length::UNLIMITED,
                horns: false,
            },
            die_least: Length::ZERO,
            off_centre_most: Length::UNLIMITED,
            ram_lowest: Length::UNLIMITED,
            bends: Vec::new(),
        };
        for &index in &bends {
            let span = self.span(&self.job.part.bends[index]);
            need.punch_span.least = need.punch_span.least.max(span.least);
            need.punch_span.most = need.punch_span.most.min(span.most);
            need.punch_span.horns |= span.horns;
            need.die_least = need.die_least.max(span.least);
            need.off_centre_most = need.off_centre_most.min(works[index].off_centre_most);
            need.ram_lowest = need.ram_lowest.min(works[index].ram_to_bed);
        }
        need.bends = bends;
        need
    }

    /// Checks of the setup as a whole, then its cycle.
    fn finish(
        &self,
        composer: &mut Composer,
        needs: Vec<Need>,
        works: Vec<BendWork>,
    ) -> Result<ToolingOption, Box<Refusal>> {
        let (job, shop) = (self.job, self.stock.shop());
        self.developed(&works)?;
        let fingers = usize::from(job.brake.gauge.fingers);
        if job.brake.gauge.z == ZDrive::Hand && 2 * needs.len() > fingers {
            #[allow(clippy::cast_precision_loss)]
            let numbers = (2.0 * needs.len() as f64, fingers as f64, "fingers");
            let text = format!(
                "{} stations need two fingers each; there are {fingers}, slid by hand",
                needs.len()
            );
            return Err(Box::new(job.refuse(Limit::Fingers, None, numbers, text)));
        }
        self.can_stand(composer, &needs)?;
        let mass = part_mass(job.part, job.material);
        let crew = crew_for(job.part, mass, &shop.rules);
        let mut need_of_bend = vec![0; works.len()];
        for (index, need) in needs.iter().enumerate() {
            for &bend in &need.bends {
                need_of_bend[bend] = index;
            }
        }
        let closed = |need: &Need| self.tools(need).map_or(Length::ZERO, |(closed, _)| closed);
        let option = ToolingOption {
            part: self.part,
            brake: self.brake,
            need_of_bend,
            cycle_ms: cycle_ms(job.part, &works, job.brake, &shop.rules, mass, crew),
            crew,
            program: None,
            tallest: needs.iter().map(closed).max().unwrap_or(Length::ZERO),
            holders: job.brake.upper_holder + job.brake.lower_holder,
            approval: job.part.approval,
            bends: works,
            needs,
        };
        self.no_crash(&option)?;
        self.can_be_laid(composer, &option)?;
        Ok(option)
    }

    fn developed(&self, works: &[BendWork]) -> Result<(), Box<Refusal>> {
        let error: f64 = works
            .iter()
            .filter_map(|work| work.developed_mm.map(|blank| work.deduction_mm - blank))
            .sum();
        let allowed = self.job.part.length_tolerance.mm();
        if error.abs() <= allowed * (1.0 + 1e-9) {
            return Ok(());
        }
        let v = self.job.part.developed_for_v.unwrap_or(Length::ZERO);
        let text = format!(
            "blanks are cut for V{v}; with these tools the sum of deductions is {error:+.2} mm off, ±{allowed} mm is allowed"
        );
        Err(Box::new(self.job.refuse(
            Limit::Developed,
            None,
            (error.abs(), allowed, "mm"),
            text,
        )))
    }
}

/// Works of each bend (row) with each pair (column).
struct PairTable {
    pairs: Vec<Pair>,
    works: Vec<Vec<Option<BendWork>>>,
}
