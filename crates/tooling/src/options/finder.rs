//! The search for tools: proven setups as they are, computed ones from every pair of owned tools.

use super::{KEPT, LOOKED_AT, Need, PassedOver, TRIED, ToolingOption};
use crate::clearance::CrossSection;
use crate::compose::Composer;
use crate::engineer::{BendWork, Job, Miss, describe, engineer};
use crate::hits::{Form, Hit};
use crate::stock::Stock;
use model::{Bend, Limit, ProvenSetup, Refusal};
use units::Length;

/// Tools so much sharper than the bend are usual: they leave room to overbend.
const SPRINGBACK_DEGREES: f64 = 5.0;

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
        self.developed(&works)?;
        let mut needs = Vec::with_capacity(groups.len());
        for (pair, made, length) in groups.into_iter().filter(|(_, made, _)| !made.is_empty()) {
            let ways = self.ways_of(composer, pair, &made, &mut works)?;
            let mut need = self.need(pair, made, &works, &ways);
            if !need.ways.any() {
                return Err(Box::new(self.turned_about(&need)));
            }
            need.punch_span.least = need.punch_span.least.max(length);
            need.die_least = need.die_least.max(length);
            needs.push(need);
        }
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
        let mut table = self.pair_table().map_err(|refusal| vec![*refusal])?;
        let (mut found, mut passed_over) = self.look_at(composer, &table, table.whole());
        if found.is_empty() {
            // Whether the part as bent so far clears the tools is asked of every pair only here,
            // where it decides: it takes longer than all other limits together.
            self.strike_collisions(composer, &mut table)
                .map_err(|refusal| vec![*refusal])?;
            let few = self.few_pairs(&table);
            let (with_few, over) = self.look_at(composer, &table, few);
            found = with_few;
            passed_over.extend(over);
        }
        if found.is_empty() {
            let refusals = passed_over.into_iter().filter_map(|over| over.why).take(2);
            return Err(refusals.map(|refusal| *refusal).collect());
        }
        Ok(keep_the_best(found, passed_over))
    }

    /// The setups that sets of pairs make, the sets nearest to a setter's habit first, and the sets
    /// that make none.
    fn look_at(
        &self,
        composer: &mut Composer,
        table: &PairTable,
        mut sets: Vec<Vec<usize>>,
    ) -> (Vec<ToolingOption>, Vec<PassedOver>) {
        sets.sort_by(|a, b| self.badness(table, a).total_cmp(&self.badness(table, b)));
        let (mut found, mut passed_over) = (Vec::new(), Vec::new());
        for set in sets.into_iter().take(TRIED) {
            match self.option_of(composer, table, &set) {
                Ok(option) => found.push(option),
                Err(refusal) => {
                    let tools = set.iter().map(|&pair| table.pairs[pair]);
                    let tools = tools.map(|pair| (pair.punch, pair.die)).collect();
                    let why = Some(refusal);
                    passed_over.push(PassedOver { tools, why });
                }
            }
            if found.len() == LOOKED_AT {
                break;
            }
        }
        (found, passed_over)
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
        let mut nearest = vec![Nearest(None); self.hits.len()];
        for &punch in &owned {
            for &die in &owned {
                let (Some(upper), Some(lower)) = (self.stock.punch(punch), self.stock.die(die))
                else {
                    continue;
                };
                let mut row = Vec::with_capacity(self.hits.len());
                for (index, hit) in self.hits.iter().enumerate() {
                    match engineer(self.job, hit, upper, lower) {
                        Ok(work) => row.push(Some(work)),
                        Err(miss) => {
                            row.push(None);
                            nearest[index].hear(miss, Pair { punch, die });
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
        self.each_is_made(&table, &nearest)?;
        Ok(table)
    }

    /// Strikes out the pairs whose tools a hit collides with, the other folds of its cross section
    /// taken as made with the same tools.
    fn strike_collisions(
        &self,
        composer: &mut Composer,
        table: &mut PairTable,
    ) -> Result<(), Box<Refusal>> {
        let mut nearest = vec![Nearest(None); self.hits.len()];
        for (hit, row) in table.works.iter_mut().enumerate() {
            let Some(section) = self.sections.iter().find(|section| section.has(hit)) else {
                continue;
            };
            for (&pair, work) in table.pairs.iter().zip(row) {
                let (Some(made), Some(tools)) = (*work, self.pair(pair)) else {
                    continue;
                };
                let radius = |_| made.radius;
                match self.stroke_ways(composer, section, hit, tools, &radius) {
                    Some(Err(miss)) => {
                        *work = None;
                        nearest[hit].hear(miss, pair);
                    }
                    Some(Ok(_)) => {}
                    None => return Err(Box::new(self.lines_too_close(hit))),
                }
            }
        }
        self.each_is_made(table, &nearest)
    }

    /// Every hit has a pair; the first that has none is refused by its nearest miss.
    fn each_is_made(&self, table: &PairTable, nearest: &[Nearest]) -> Result<(), Box<Refusal>> {
        for (index, hit) in self.hits.iter().enumerate() {
            if table.works[index].iter().all(Option::is_none) {
                let bend = &self.job.part.bends[hit.bend];
                return Err(Box::new(self.nearest_miss(bend, nearest[index].0)));
            }
        }
        Ok(())
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

    /// How far a set of pairs is from what a setter would reach for: the preferred V, no sharper
    /// tools and no more relief than are needed.
    fn badness(&self, table: &PairTable, set: &[usize]) -> f64 {
        let t = self.job.part.thickness.mm();
        let (_, preferred, _) = self.job.v_over_t();
        // A die of 30° makes a square bend as well, but it is the one to keep for what needs it.
        let sharpest = |pair: usize| {
            let rows = self.hits.iter().zip(&table.works);
            rows.filter(|(_, row)| row[pair].is_some())
                .map(|(hit, _)| hit.stroke_angle.get())
                .fold(180.0, f64::min)
        };
        set.iter()
            .map(|&index| {
                let pair = table.pairs[index];
                let v = self.stock.die(pair.die).map_or(0.0, |die| die.v.mm());
                let relief = self
                    .stock
                    .punch(pair.punch)
                    .map_or(0.0, |punch| punch.relief.mm());
                let die_angle = self.stock.die(pair.die).map_or(0.0, |die| die.angle.get());
                let sharper = (sharpest(index) - die_angle - SPRINGBACK_DEGREES).max(0.0);
                10.0 + (v / t - preferred).abs() + relief / 100.0 + sharper / 10.0
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
        self.developed(&works)?;
        let mut needs = Vec::new();
        for (at, bends) in made
            .into_iter()
            .enumerate()
            .filter(|(_, bends)| !bends.is_empty())
        {
            let pair = table.pairs[set[at]];
            let ways = self.ways_of(composer, pair, &bends, &mut works)?;
            for group in self.stations(&bends, &ways) {
                let need = self.need(pair, group, &works, &ways);
                if !need.ways.any() {
                    return Err(Box::new(self.turned_about(&need)));
                }
                needs.push(need);
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

/// Of the setups found, those no other beats, then as many others as are kept.
fn keep_the_best(found: Vec<ToolingOption>, mut passed_over: Vec<PassedOver>) -> Computed {
    let unbeaten = |one: &ToolingOption| !found.iter().any(|other| other.beats(one));
    let best: Vec<bool> = found.iter().map(unbeaten).collect();
    let (front, rest): (Vec<_>, Vec<_>) = found.into_iter().zip(best).partition(|(_, best)| *best);
    let mut options = Vec::new();
    for (option, _) in front.into_iter().chain(rest) {
        if options.len() < KEPT {
            options.push(option);
        } else {
            let tools = option.needs.iter().map(|need| (need.punch, need.die));
            let tools = tools.collect();
            passed_over.push(PassedOver { tools, why: None });
        }
    }
    Computed {
        options,
        passed_over,
    }
}

/// Works of each hit (row) with each pair (column).
struct PairTable {
    pairs: Vec<Pair>,
    works: Vec<Vec<Option<BendWork>>>,
}

impl PairTable {
    /// The pairs that make every hit, each a set of its own.
    fn whole(&self) -> Vec<Vec<usize>> {
        let makes_all = |pair: &usize| self.works.iter().all(|row| row[*pair].is_some());
        let pairs = (0..self.pairs.len()).filter(makes_all);
        pairs.map(|pair| vec![pair]).collect()
    }
}

/// The tools that came nearest to making a hit.
#[derive(Clone, Copy)]
struct Nearest(Option<(Miss, Pair)>);

impl Nearest {
    fn hear(&mut self, miss: Miss, pair: Pair) {
        if self.0.is_none_or(|(best, _)| miss.nearer_than(&best)) {
            self.0 = Some((miss, pair));
        }
    }
}
