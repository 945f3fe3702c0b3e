//! Another order of the bends in which the part clears the tools.
//!
//! Within one known cross section the bends change places among themselves, each with either of its
//! two edges against the stop; all others stay where they are, because what was entered for them
//! (room between box sides, returns) holds for their place in the order. What a stroke clears depends
//! on which folds are made, not on the order they were made in, so each set of folds is looked at
//! once, against the tools' outlines and the reach of the stop. A candidate counts only when the search for tools, asked afresh with the bends in that order,
//! finds a setup.

use crate::lines::stop_mm;
use crate::part::Case;
use crate::section::{deepest, fold_state, makers, ways};
use bending::radius;
use model::{Bend, Die, Edge, Part, Punch};
use shape::{Chain, FoldState};
use std::collections::{BTreeMap, BTreeSet};
use tooling::{Composer, CrossSection, Job, Placed, StrokeView, options_for, tool_section};
use units::{Length, ProfileId};

/// Strokes looked at before the search gives up.
const STROKES_MOST: usize = 300;
/// Orders asked about before the search gives up.
const ORDERS_MOST: usize = 12;
/// Pairs of tools each stroke is tried with.
const PAIRS_MOST: usize = 8;
/// Nearer than this to the shoulders is their height.
const SAME_MM: f64 = 0.001;
/// The most folds of one section whose order is searched.
const FOLDS_MOST: usize = 10;

/// An order of the bends that works on a brake.
#[derive(Clone, Debug, PartialEq)]
pub struct OrderAdvice {
    /// Bend numbers in the order that works.
    pub order: Vec<u8>,
    /// Bends that go to the stop with another edge, or with another leg than they now have.
    pub changed: Vec<ChangedBend>,
    /// Punches and dies of the setup that then works best.
    pub tools: Vec<(ProfileId, ProfileId)>,
}

/// A bend as it has to be entered for the other order.
#[derive(Clone, Debug, PartialEq)]
pub struct ChangedBend {
    /// Bend number.
    pub bend: u8,
    /// Edge against the stop.
    pub edge: Edge,
    /// Whether that is another edge.
    pub turned: bool,
    /// Outside leg on the gauge side.
    pub leg: Length,
}

impl OrderAdvice {
    /// In words.
    #[must_use]
    pub fn text(&self) -> String {
        let order: Vec<String> = self.order.iter().map(u8::to_string).collect();
        let mut tools: Vec<String> = Vec::new();
        for (punch, die) in &self.tools {
            let pair = format!("{punch} over {die}");
            if !tools.contains(&pair) {
                tools.push(pair);
            }
        }
        let changed = self.changed.iter().map(|bend| {
            let edge = if bend.turned {
                format!("edge {} against the stop and ", letter(bend.edge))
            } else {
                String::new()
            };
            format!(
                "bend {} has {edge}a leg of {:.1} mm",
                bend.bend,
                bend.leg.mm()
            )
        });
        let changed: Vec<String> = changed.collect();
        let then = if changed.is_empty() {
            String::new()
        } else {
            format!("; {}", changed.join(", "))
        };
        format!(
            "bends in the order {} clear with {}{then}",
            order.join(", "),
            tools.join(" and ")
        )
    }
}

/// The letter of an edge in the shop's files.
#[must_use]
pub fn letter(edge: Edge) -> char {
    match edge {
        Edge::A => 'a',
        Edge::B => 'b',
        Edge::C => 'c',
        Edge::D => 'd',
    }
}

/// Looks for an order in which the section of a bend clears, the user's own coming first.
pub(crate) fn advise(
    case: &Case<'_, '_>,
    composer: &mut Composer,
    brake_index: usize,
    number: u8,
) -> Option<OrderAdvice> {
    let of_bend = |hit: &tooling::Hit| case.job.part.bends[hit.bend].number == number;
    let at = case.hits.iter().position(of_bend)?;
    let section = case.sections.iter().find(|section| section.has(at))?;
    if section.hits().len() > FOLDS_MOST {
        return None;
    }
    let mut walk = Walk::new(case, section, at)?;
    let mut asked = 0;
    let mut found = None;
    let mut path = Vec::new();
    walk.extend(&mut path, &mut |path: &[Step], walk: &Walk<'_, '_>| {
        if walk.is_the_users_own(path) {
            return false;
        }
        asked += 1;
        let part = walk.reordered(path);
        // A number that no part of the shop has: strokes known of the part itself do not hold.
        let index = usize::MAX - asked;
        let job = Job {
            part: &part,
            ..*case.job
        };
        let options = options_for(case.stock, composer, &job, index, brake_index);
        found = options.options.first().map(|option| {
            let id = |at: usize| case.stock.shop().profiles[at].id().clone();
            let tools = option
                .needs
                .iter()
                .map(|need| (id(need.punch), id(need.die)));
            advice(&case.job.part.bends, &part.bends, tools.collect())
        });
        found.is_some() || asked >= ORDERS_MOST
    });
    found
}

/// Whether two punches clear the same.
fn same_outline(one: &Punch, other: &Punch) -> bool {
    let key = |punch: &Punch| {
        let measures = [punch.height, punch.body, punch.relief, punch.relief_height];
        (measures, punch.angle.get().to_bits())
    };
    key(one) == key(other)
}

fn advice(before: &[Bend], after: &[Bend], tools: Vec<(ProfileId, ProfileId)>) -> OrderAdvice {
    let changed = after.iter().filter_map(|bend| {
        let old = before.iter().find(|old| old.number == bend.number)?;
        let turned = old.edge != bend.edge;
        // Less than a hundredth is the computation's, not the part's.
        let same_leg = (old.leg - bend.leg).abs() < Length::from_mm(0.01);
        (turned || !same_leg).then_some(ChangedBend {
            bend: bend.number,
            edge: bend.edge,
            turned,
            leg: bend.leg,
        })
    });
    OrderAdvice {
        order: after.iter().map(|bend| bend.number).collect(),
        changed: changed.collect(),
        tools,
    }
}

/// One fold of an order: its place in the section and whether the section's first edge is at the
/// gauge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Step {
    fold: usize,
    first_edge: bool,
}

/// Told of every order that clears; ends the search by answering `true`.
type Asker<'f> = dyn FnMut(&[Step], &Walk<'_, '_>) -> bool + 'f;

/// How the search from a set of made folds ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Ending {
    /// No order leads on from it.
    Nowhere,
    /// Some did, and none was taken.
    Asked,
    /// The search is over.
    Over,
}

/// The folds of one section in search of an order.
struct Walk<'a, 's> {
    case: &'a Case<'a, 's>,
    section: &'a CrossSection,
    chain: Chain,
    v: Length,
    pairs: Vec<(&'a Punch, &'a Die)>,
    /// Folds in the order of the user's bends.
    prefer: Vec<usize>,
    known: BTreeMap<(Vec<bool>, Step), bool>,
    /// Sets of made folds that lead nowhere.
    hopeless: BTreeSet<Vec<bool>>,
}

impl<'a, 's> Walk<'a, 's> {
    fn new(case: &'a Case<'a, 's>, section: &'a CrossSection, at: usize) -> Option<Walk<'a, 's>> {
        let (_, preferred, _) = case.job.v_over_t();
        let usual = case.job.part.thickness.mm() * preferred;
        let v = case.job.part.developed_for_v;
        let v = v.unwrap_or_else(|| Length::from_mm(usual));
        let inside = radius::natural(v, case.job.material.radius_share_of_v);
        let mut pairs = makers(case, at);
        // Of each punch the V nearest to the usual one; the least relieved punches come first.
        pairs.sort_by_key(|(punch, die)| ((die.v - v).abs(), punch.relief));
        let mut punches: Vec<&Punch> = Vec::new();
        pairs.retain(|(punch, _)| {
            let fresh = punches.iter().all(|other| !same_outline(other, punch));
            if fresh {
                punches.push(punch);
            }
            fresh
        });
        pairs.truncate(PAIRS_MOST);
        let mut prefer: Vec<usize> = (0..section.hits().len()).collect();
        prefer.sort_by_key(|&fold| section.hits()[fold]);
        Some(Walk {
            case,
            section,
            chain: section.chain(case.job, &case.hits, &|_| inside)?,
            v,
            pairs,
            prefer,
            known: BTreeMap::new(),
            hopeless: BTreeSet::new(),
        })
    }

    fn bend(&self, fold: usize) -> &'a Bend {
        let hit = &self.case.hits[self.section.hits()[fold]];
        &self.case.job.part.bends[hit.bend]
    }

    /// The way a bend goes to the stop now.
    fn own_way(&self, fold: usize) -> bool {
        self.bend(fold).edge == self.section.first()
    }

    fn is_the_users_own(&self, path: &[Step]) -> bool {
        let own = |step: &Step| step.first_edge == self.own_way(step.fold);
        path.iter()
            .map(|step| step.fold)
            .eq(self.prefer.iter().copied())
            && path.iter().all(own)
    }

    /// Depth first, nearest to the user's order; `ask` ends the search by saying so.
    fn extend(&mut self, path: &mut Vec<Step>, ask: &mut Asker<'_>) -> Ending {
        if path.len() == self.prefer.len() {
            return if ask(path, self) {
                Ending::Over
            } else {
                Ending::Asked
            };
        }
        let made: Vec<bool> = (0..self.prefer.len())
            .map(|fold| path.iter().any(|step| step.fold == fold))
            .collect();
        if self.hopeless.contains(&made) {
            return Ending::Nowhere;
        }
        let mut ending = Ending::Nowhere;
        for fold in self.prefer.clone() {
            let own = self.own_way(fold);
            for first_edge in [own, !own] {
                let step = Step { fold, first_edge };
                if made[fold] || !self.clears(&made, step) {
                    continue;
                }
                path.push(step);
                let deeper = self.extend(path, ask);
                path.pop();
                if deeper == Ending::Over || self.known.len() >= STROKES_MOST {
                    return Ending::Over;
                }
                ending = ending.max(deeper);
            }
        }
        if ending == Ending::Nowhere {
            self.hopeless.insert(made);
        }
        ending
    }

    fn clears(&mut self, made: &[bool], step: Step) -> bool {
        let key = (made.to_vec(), step);
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let clear = self.strokes_clear(made, step);
        self.known.insert(key, clear);
        clear
    }

    /// Whether the stop meets the part and one of the pairs clears it.
    fn strokes_clear(&self, made: &[bool], step: Step) -> bool {
        let placed = self.placed(made, step);
        let included = self.bend(step.fold).angle;
        let view = StrokeView::of_placed(placed, included, self.v);
        if !self.stop_reaches(&view) {
            return false;
        }
        let allowance = self.case.job.shop.rules.touch_allowance.mm();
        self.pairs.iter().any(|&(punch, die)| {
            let view = StrokeView::of_placed(view.placed.clone(), included, die.v);
            ways(punch).into_iter().any(|reversed| {
                let tools = tool_section(self.case.job.brake, (punch, die), reversed);
                tools.is_some_and(|tools| deepest(&view, &tools, allowance).is_none())
            })
        })
    }

    /// Whether the stop has something to meet, at a height the brake's gauge can stand at.
    fn stop_reaches(&self, view: &StrokeView) -> bool {
        let (job, brake) = (self.case.job, self.case.job.brake);
        let stop = job.shop.rules.stop_height;
        let Some(r) = view.gauge_r(stop) else {
            return false;
        };
        let axis = brake.gauge.r.filter(|axis| job.fitted(axis));
        r.mm().abs() <= SAME_MM || axis.is_some_and(|axis| axis.from <= r && r <= axis.to)
    }

    fn placed(&self, made: &[bool], step: Step) -> Placed {
        let mut state: Vec<FoldState> = made.iter().map(|&made| fold_state(made)).collect();
        if !step.first_edge {
            return Placed {
                chain: self.chain.clone(),
                state,
                at: step.fold,
            };
        }
        state.reverse();
        Placed {
            chain: self.chain.reversed(),
            state,
            at: made.len() - 1 - step.fold,
        }
    }

    /// How far behind the bend line the stop meets the part, in mm.
    fn x_mm(&self, made: &[bool], step: Step) -> f64 {
        stop_mm(self.case.job, &self.placed(made, step)).unwrap_or(0.0)
    }

    /// The part with the section's bends in an order: legs follow from what the stop then meets, and
    /// each has the deepest flange of them all to pass.
    fn reordered(&self, path: &[Step]) -> Part {
        let mut part = self.case.job.part.clone();
        let mut places: Vec<usize> = self
            .section
            .hits()
            .iter()
            .map(|&hit| self.case.hits[hit].bend)
            .collect();
        places.sort_unstable();
        let deepest = places.iter().map(|&place| part.bends[place].flange_height);
        let deepest = deepest.max().unwrap_or(Length::ZERO);
        let opposite = match self.section.first() {
            Edge::A => Edge::B,
            _ => Edge::D,
        };
        let folds = self.prefer.len();
        let (mut now, mut then) = (vec![false; folds], vec![false; folds]);
        let mut old_x = vec![0.0; folds];
        for &fold in &self.prefer {
            let first_edge = self.own_way(fold);
            old_x[fold] = self.x_mm(&then, Step { fold, first_edge });
            then[fold] = true;
        }
        for (&place, step) in places.iter().zip(path) {
            let mut bend = self.bend(step.fold).clone();
            let moved = self.x_mm(&now, *step) - old_x[step.fold];
            bend.leg += Length::from_mm(moved);
            bend.edge = if step.first_edge {
                self.section.first()
            } else {
                opposite
            };
            bend.flange_height = deepest;
            part.bends[place] = bend;
            now[step.fold] = true;
        }
        part
    }
}
