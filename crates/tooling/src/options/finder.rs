//! The search for tools: proven setups as they are, computed ones from every pair of owned tools.

use super::{KEPT, LOOKED_AT, Need, PassedOver, ToolingOption};
use crate::clearance::CrossSection;
use crate::compose::Composer;
use crate::engineer::{BendWork, Job, Miss, describe, engineer};
use crate::hits::{Form, Hit};
use crate::stock::Stock;
use model::{Bend, Die, Limit, ProvenSetup, Punch, Refusal};
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
    /// The part's hits.
    pub(super) hits: Vec<Hit>,
    /// Its cross sections, where they are known.
    pub(super) sections: Vec<CrossSection>,
}

impl Finder<'_, '_> {
    pub(super) fn proven(
        &self,
        composer: &mut Composer,
        setup: &ProvenSetup,
    ) -> Result<ToolingOption, Box<Refusal>> {
        let bends = &self.job.part.bends;
        let mut works = Vec::with_capacity(self.hits.len());
        let mut groups: Vec<(Pair, Vec<usize>, Length)> = Vec::new();
        for station in &setup.stations {
            if let (Some(punch), Some(die)) = (
                self.stock.profile_index(&station.punch),
                self.stock.profile_index(&station.die),
            ) {
                groups.push((Pair { punch, die }, Vec::new(), station.length));
            }
        }
        for (index, hit) in self.hits.iter().enumerate() {
            let bend = &bends[hit.bend];
            let flat = matches!(hit.form, Form::Flatten { .. });
            let named = setup.stations.iter().position(|station| {
                let flattens = self
                    .stock
                    .shop()
                    .punch(&station.punch)
                    .is_some_and(|p| p.flattening);
                station.bends.contains(&bend.number) && flattens == flat
            });
            let group = named.and_then(|station| groups.get_mut(station));
            let tools = group.and_then(|(pair, made, _)| {
                made.push(index);
                Some((self.stock.punch(pair.punch)?, self.stock.die(pair.die)?))
            });
            let Some((punch, die)) = tools else {
                let text = format!(
                    "the proven setup {} does not say where bend {} is made",
                    setup.program, bend.number
                );
                let numbers = (1.0, 0.0, "station");
                return Err(Box::new(self.job.refuse(
                    Limit::Proven,
                    Some(bend),
                    numbers,
                    text,
                )));
            };
            works.push(
                engineer(self.job, hit, punch, die)
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

    /// Computed setups: one pair of tools for all bends where there is one, else few pairs. Of those
    /// looked at, every one that no other beats in stations, sections, seconds, height and force is
    /// kept, and then the ones nearest to what a setter would reach for.
    pub(super) fn computed(&self, composer: &mut Composer) -> Result<Computed, Vec<Refusal>> {
        let table = self.pair_table().map_err(|refusal| vec![*refusal])?;
        let mut sets: Vec<Vec<usize>> = Vec::new();
        let whole = |pair: &usize| table.works.iter().all(|row| row[*pair].is_some());
        sets.extend((0..table.pairs.len()).filter(whole).map(|pair| vec![pair]));
        if sets.is_empty() {
            sets = self.few_pairs(&table);
        }
        sets.sort_by(|a, b| self.badness(&table, a).total_cmp(&self.badness(&table, b)));
        let mut found: Vec<ToolingOption> = Vec::new();
        let mut passed_over = Vec::new();
        for set in sets {
            match self.option_of(composer, &table, &set) {
                Ok(option) => found.push(option),
                Err(refusal) => {
                    let tools = set.iter().map(|&pair| table.pairs[pair]);
                    let tools = tools.map(|pair| (pair.punch, pair.die)).collect();
                    passed_over.push(PassedOver {
                        tools,
                        why: Some(refusal),
                    });
                }
            }
            if found.len() == LOOKED_AT {
                break;
            }
        }
        if found.is_empty() {
            let refusals = passed_over.into_iter().filter_map(|over| over.why).take(2);
            return Err(refusals.map(|refusal| *refusal).collect());
        }
        let best: Vec<bool> = found
            .iter()
            .map(|one| !found.iter().any(|other| other.beats(one)))
            .collect();
        let mut options = Vec::new();
        let (front, rest): (Vec<_>, Vec<_>) =
            found.into_iter().zip(best).partition(|(_, best)| *best);
        for (option, _) in front.into_iter().chain(rest) {
            if options.len() < KEPT {
                options.push(option);
            } else {
                let tools = option
                    .needs
                    .iter()
                    .map(|need| (need.punch, need.die))
                    .collect();
                passed_over.push(PassedOver { tools, why: None });
            }
        }
        Ok(Computed {
            options,
            passed_over,
        })
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
            works: vec![Vec::new(); self.hits.len()],
        };
        let mut nearest: Vec<Option<(Miss, Pair)>> = vec![None; self.hits.len()];
        for &punch in &owned {
            for &die in &owned {
                let (Some(upper), Some(lower)) = (self.stock.punch(punch), self.stock.die(die))
                else {
                    continue;
                };
                let mut row = Vec::with_capacity(self.hits.len());
                for (index, hit) in self.hits.iter().enumerate() {
                    match self.engineer_clear(index, hit, upper, lower) {
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
        for (index, hit) in self.hits.iter().enumerate() {
            let bend = &self.job.part.bends[hit.bend];
            if table.works[index].iter().all(Option::is_none) {
                return Err(Box::new(self.nearest_miss(bend, nearest[index])));
            }
        }
        Ok(table)
    }

    /// One hit at one pair of tools, clearances included, the other folds of its cross section
    /// taken as made with the same tools.
    fn engineer_clear(
        &self,
        index: usize,
        hit: &Hit,
        punch: &Punch,
        die: &Die,
    ) -> Result<BendWork, Miss> {
        let work = engineer(self.job, hit, punch, die)?;
        if let Some(section) = self.sections.iter().find(|section| section.has(index))
            && let Some(chain) = section.chain(self.job, &self.hits, &|_| work.radius)
        {
            section.clear(self.job, &self.hits, &chain, index, punch, die)?;
        }
        Ok(work)
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
                    Some(&self.job.part.bends[self.hits[bend].bend]),
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
        needs.sort_by_key(|need: &Need| need.hits.first().copied());
        self.finish(composer, needs, works)
    }
}

/// Setups found by computing.
pub(super) struct Computed {
    pub(super) options: Vec<ToolingOption>,
    pub(super) passed_over: Vec<PassedOver>,
}

/// Works of each hit (row) with each pair (column).
struct PairTable {
    pairs: Vec<Pair>,
    works: Vec<Vec<Option<BendWork>>>,
}
