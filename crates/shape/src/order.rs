//! An order of folds in which nothing runs into anything.

use crate::pose::swept_finely;
use crate::{
    Chain, Collision, Facing, FoldState, Outline, Pose, ShapeError, ToolSection, collision,
};
use std::collections::{BTreeMap, BTreeSet};

/// Up to this many folds another order is looked for; a longer chain is only checked as preferred.
const FOLDS_MAX: usize = 16;

/// How many strokes are examined before the search gives up: some five seconds of work for a part
/// of sixteen folds. A box of four folds has 32 strokes in all.
const STROKES_MAX: usize = 1_500;

/// An order of folds, and whether it is the preferred one.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The folds in an order that clears; empty when none was found.
    pub order: Vec<usize>,
    /// For each fold of `order`, which way round the piece lies; as drawn where that clears.
    pub facing: Vec<Facing>,
    /// Whether `order` is the preferred one.
    pub kept: bool,
    /// The first collision of the preferred order, with its fold; `None` when it was kept.
    pub why: Option<(usize, Collision)>,
    /// How the answer was found.
    pub search: Search,
}

/// How an order was found, or why none was.
#[derive(Clone, Debug, PartialEq)]
pub enum Search {
    /// The preferred order clears.
    NotNeeded,
    /// Another order clears; of all that do, the one that follows the preference longest.
    Found,
    /// Every order collides somewhere.
    NoneClears(Stuck),
    /// The chain has more than 16 folds, so only the preferred order was checked.
    TooManyFolds,
    /// None was found among the first 1 500 strokes examined; there may be one.
    StoppedAtBound,
}

/// The furthest the search came before every remaining fold collided.
#[derive(Clone, Debug, PartialEq)]
pub struct Stuck {
    /// The folds that could be made, in order.
    pub made: Vec<usize>,
    /// What each remaining fold would run into then.
    pub blocked: Vec<(usize, Collision)>,
}

/// Keeps the preferred order if every stroke clears, else looks for one that does.
///
/// `tools_for` gives the tools for each fold (asked once a fold); `prefer` names each fold once.
/// The piece may lie either way round for every stroke. The search goes depth first, always trying
/// the remaining folds in the order of preference, so the first order found is, position by
/// position, nearest to the preferred one. Which folds are made decides whether the next clears,
/// not the order they were made in; so each set of folds is left for good once it is known to lead
/// nowhere.
///
/// # Errors
/// [`ShapeError::NotAnOrder`] when `prefer` does not name each fold once, and what
/// [`crate::pose`] refuses (a die's opening not above zero).
pub fn clear_order(
    chain: &Chain,
    tools_for: &dyn Fn(usize) -> ToolSection,
    prefer: &[usize],
) -> Result<Order, ShapeError> {
    let folds = chain.folds().len();
    let mut named = prefer.to_vec();
    named.sort_unstable();
    if !named.into_iter().eq(0..folds) {
        return Err(ShapeError::NotAnOrder);
    }
    let mut strokes = Strokes {
        chain,
        tools: (0..folds).map(tools_for).map(Station::new).collect(),
        known: BTreeMap::new(),
        examined: 0,
    };
    let mut state = vec![FoldState::Flat; folds];
    let mut facing = Vec::with_capacity(folds);
    for &fold in prefer {
        let Some(way) = strokes.examine(&state, fold)? else {
            return other_order(&mut strokes, prefer, (state, fold));
        };
        facing.push(way);
        make(&mut state, fold, FoldState::Made);
    }
    Ok(Order {
        order: prefer.to_vec(),
        facing,
        kept: true,
        why: None,
        search: Search::NotNeeded,
    })
}

fn other_order(
    strokes: &mut Strokes<'_>,
    prefer: &[usize],
    (state, fold): (Vec<FoldState>, usize),
) -> Result<Order, ShapeError> {
    let mut order = Order {
        order: Vec::new(),
        facing: Vec::new(),
        kept: false,
        why: Some((fold, strokes.collision(&state, fold)?)),
        search: Search::TooManyFolds,
    };
    if prefer.len() > FOLDS_MAX {
        return Ok(order);
    }
    let mut path = Path {
        prefer,
        state: vec![FoldState::Flat; prefer.len()],
        made: Vec::new(),
        hopeless: BTreeSet::new(),
        furthest: Vec::new(),
    };
    order.search = match path.extend(strokes)? {
        Ending::Complete => {
            order.order = path.made.iter().map(|&(fold, _)| fold).collect();
            order.facing = path.made.iter().map(|&(_, way)| way).collect();
            Search::Found
        }
        Ending::DeadEnd => Search::NoneClears(strokes.stuck(path.furthest)?),
        Ending::Bound => Search::StoppedAtBound,
    };
    Ok(order)
}

/// The tools of one fold.
struct Station {
    tools: ToolSection,
    /// Whether turning the piece round makes no difference to them.
    symmetric: bool,
}

impl Station {
    fn new(tools: ToolSection) -> Station {
        let standing = [&tools.punch, &tools.die, &tools.ram, &tools.bed];
        let symmetric = standing.into_iter().all(Outline::is_symmetric)
            && tools.gauge.as_ref().is_none_or(Outline::is_symmetric);
        Station { tools, symmetric }
    }
}

/// Strokes examined so far, by the folds made and the fold being made.
struct Strokes<'a> {
    chain: &'a Chain,
    tools: Vec<Station>,
    /// Which way round each clears; `None` when neither does.
    known: BTreeMap<(Vec<bool>, usize), Option<Facing>>,
    examined: usize,
}

impl Strokes<'_> {
    fn station(&self, fold: usize) -> Result<&Station, ShapeError> {
        self.tools.get(fold).ok_or(ShapeError::NoSuchFold {
            fold,
            folds: self.tools.len(),
        })
    }

    /// Which way round the stroke clears, as drawn if it can be.
    fn examine(&mut self, state: &[FoldState], fold: usize) -> Result<Option<Facing>, ShapeError> {
        let key = (made_of(state), fold);
        if let Some(known) = self.known.get(&key) {
            return Ok(*known);
        }
        let station = self.station(fold)?;
        let mut poses = swept_finely(self.chain, state, fold, station.tools.opening)?;
        // Most collisions are there at the beginning or at the end: whether there is one is known
        // soonest by looking there first.
        let last = poses.len().saturating_sub(1);
        poses.swap(0, last);
        if last > 1 {
            poses.swap(1, last);
        }
        let clears = |poses: &[Pose]| collision(poses, &station.tools).is_none();
        let way = if clears(&poses) {
            Some(Facing::AsDrawn)
        } else if station.symmetric {
            None
        } else {
            let turned: Vec<Pose> = poses.iter().map(Pose::turned).collect();
            clears(&turned).then_some(Facing::Turned)
        };
        self.examined += 1;
        self.known.insert(key, way);
        Ok(way)
    }

    /// The collision of a stroke that clears neither way round: of the way that gets further.
    fn collision(&self, state: &[FoldState], fold: usize) -> Result<Collision, ShapeError> {
        let station = self.station(fold)?;
        let poses = swept_finely(self.chain, state, fold, station.tools.opening)?;
        let turned: Vec<Pose> = poses.iter().map(Pose::turned).collect();
        let ways = [&poses, &turned].map(|poses| collision(poses, &station.tools));
        let further = ways.into_iter().flatten().reduce(|first, second| {
            if second.included < first.included {
                second
            } else {
                first
            }
        });
        // Only asked of strokes that were found to collide both ways round.
        further.ok_or(ShapeError::NoSuchFold {
            fold,
            folds: self.tools.len(),
        })
    }

    /// What blocks every fold that is left after `made`.
    fn stuck(&self, made: Vec<usize>) -> Result<Stuck, ShapeError> {
        let mut state = vec![FoldState::Flat; self.tools.len()];
        for &fold in &made {
            make(&mut state, fold, FoldState::Made);
        }
        let left = (0..state.len()).filter(|fold| !made.contains(fold));
        let blocked = left.map(|fold| Ok((fold, self.collision(&state, fold)?)));
        Ok(Stuck {
            blocked: blocked.collect::<Result<_, ShapeError>>()?,
            made,
        })
    }
}

/// How looking for the rest of an order ended.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ending {
    Complete,
    DeadEnd,
    Bound,
}

/// The order being built.
struct Path<'a> {
    prefer: &'a [usize],
    state: Vec<FoldState>,
    made: Vec<(usize, Facing)>,
    /// Sets of made folds that lead nowhere.
    hopeless: BTreeSet<Vec<bool>>,
    /// The longest row of folds after which every other collided.
    furthest: Vec<usize>,
}

impl Path<'_> {
    fn extend(&mut self, strokes: &mut Strokes<'_>) -> Result<Ending, ShapeError> {
        if self.made.len() == self.prefer.len() {
            return Ok(Ending::Complete);
        }
        if self.hopeless.contains(&made_of(&self.state)) {
            return Ok(Ending::DeadEnd);
        }
        let mut blocked = true;
        for &fold in self.prefer {
            if self.state.get(fold) == Some(&FoldState::Made) {
                continue;
            }
            if strokes.examined >= STROKES_MAX {
                return Ok(Ending::Bound);
            }
            let Some(way) = strokes.examine(&self.state, fold)? else {
                continue;
            };
            blocked = false;
            make(&mut self.state, fold, FoldState::Made);
            self.made.push((fold, way));
            let ending = self.extend(strokes)?;
            if ending != Ending::DeadEnd {
                return Ok(ending);
            }
            self.made.pop();
            make(&mut self.state, fold, FoldState::Flat);
        }
        self.hopeless.insert(made_of(&self.state));
        if blocked && self.made.len() >= self.furthest.len() {
            self.furthest = self.made.iter().map(|&(fold, _)| fold).collect();
        }
        Ok(Ending::DeadEnd)
    }
}

fn made_of(state: &[FoldState]) -> Vec<bool> {
    state
        .iter()
        .map(|&state| state == FoldState::Made)
        .collect()
}

fn make(state: &mut [FoldState], fold: usize, now: FoldState) {
    if let Some(entry) = state.get_mut(fold) {
        *entry = now;
    }
}
