//! The search for tools: proven setups as they are, computed ones from every pair of owned tools.

use super::{KEPT, Need, ToolingOption};
use crate::compose::Composer;
use crate::engineer::{BendWork, Job, Miss, describe, engineer};
use crate::stock::Stock;
use model::{Bend, Limit, ProvenSetup, Refusal};
use units::Length;

/// One punch and die that make a bend.
#[derive(Clone, Copy)]
pub(super) struct Pair {
    pub(super) punch: usize,
    pub(super) die: usize,
}

/// Looks for the setups of one part on one brake.
pub(crate) struct Finder<'a, 's> {
    pub(crate) stock: &'a Stock<'s>,
    pub(crate) job: &'a Job<'a>,
    pub(super) part: usize,
    pub(super) brake: usize,
}

impl Finder<'_, '_> {
    pub(super) fn proven(
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
    pub(super) fn computed(
        &self,
        composer: &mut Composer,
    ) -> Result<Vec<ToolingOption>, Vec<Refusal>> {
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
}

/// Works of each bend (row) with each pair (column).
struct PairTable {
    pairs: Vec<Pair>,
    works: Vec<Vec<Option<BendWork>>>,
}
