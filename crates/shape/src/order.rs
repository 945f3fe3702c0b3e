//! An order of folds in which nothing runs into anything.

use crate::pose::swept_finely;
use crate::{Chain, Collision, Facing, FoldState, ShapeError, ToolSection, collision};
use std::collections::{BTreeMap, BTreeSet};

/// Up to this many folds another order is looked for; a longer chain is only checked as preferred.
const FOLDS_MAX: usize = 16;

/// How many strokes are examined before the search gives up: seconds of work, and some hundred
/// times what ordinary parts need.
const STROKES_MAX: usize = 4_000;

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
    /// None was found among the first 4 000 strokes examined; there may be one.
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
        tools: (0..folds).map(tools_for).collect(),
        known: BTreeMap::new(),
        examined: 0,
    };
    let mut state = vec![FoldState::Flat; folds];
    let mut facing = Vec::with_capacity(folds);
    for &fold in prefer {
        match strokes.examine(&state, fold)? {
            Stroke::Clears(way) => facing.push(way),
            Stroke::Collides(collision) => {
                return other_order(&mut strokes, prefer, (fold, collision));
            }
        }
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
    why: (usize, Collision),
) -> Result<Order, ShapeError> {
    let mut order = Order {
        order: Vec::new(),
        facing: Vec::new(),
        kept: false,
        why: Some(why),
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
        furthest: Stuck {
            made: Vec::new(),
            blocked: Vec::new(),
        },
    };
    order.search = match path.extend(strokes)? {
        Ending::Complete => {
            order.order = path.made.iter().map(|&(fold, _)| fold).collect();
            order.facing = path.made.iter().map(|&(_, way)| way).collect();
            Search::Found
        }
        Ending::DeadEnd => Search::NoneClears(path.furthest),
        Ending::Bound => Search::StoppedAtBound,
    };
    Ok(order)
}

/// What examining one stroke says.
#[derive(Clone, Copy)]
enum Stroke {
    Clears(Facing),
    Collides(Collision),
}

/// Strokes examined so far, by the folds made and the fold being made.
struct Strokes<'a> {
    chain: &'a Chain,
    tools: Vec<ToolSection>,
    known: BTreeMap<(Vec<bool>, usize), Stroke>,
    examined: usize,
}

impl Strokes<'_> {
    fn examine(&mut self, state: &[FoldState], fold: usize) -> Result<Stroke, ShapeError> {
        let key = (made_of(state), fold);
        if let Some(known) = self.known.get(&key) {
            return Ok(*known);
        }
        let Some(tools) = self.tools.get(fold) else {
            return Err(ShapeError::NotAnOrder);
        };
        self.examined += 1;
        let poses = swept_finely(self.chain, state, fold, tools.opening)?;
        let stroke = match collision(&poses, tools) {
            None => Stroke::Clears(Facing::AsDrawn),
            Some(first) => {
                let turned: Vec<_> = poses.iter().map(crate::Pose::turned).collect();
                match collision(&turned, tools) {
                    None => Stroke::Clears(Facing::Turned),
                    // Tell of the way round that gets further.
                    Some(second) if second.included < first.included => Stroke::Collides(second),
                    Some(_) => Stroke::Collides(first),
                }
            }
        };
        self.known.insert(key, stroke);
        Ok(stroke)
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
    furthest: Stuck,
}

impl Path<'_> {
    fn extend(&mut self, strokes: &mut Strokes<'_>) -> Result<Ending, ShapeError> {
        if self.made.len() == self.prefer.len() {
            return Ok(Ending::Complete);
        }
        if self.hopeless.contains(&made_of(&self.state)) {
            return Ok(Ending::DeadEnd);
        }
        let mut blocked = Vec::new();
        for &fold in self.prefer {
            if self.state.get(fold) == Some(&FoldState::Made) {
                continue;
            }
            if strokes.examined >= STROKES_MAX {
                return Ok(Ending::Bound);
            }
            match strokes.examine(&self.state, fold)? {
                Stroke::Collides(collision) => blocked.push((fold, collision)),
                Stroke::Clears(way) => {
                    make(&mut self.state, fold, FoldState::Made);
                    self.made.push((fold, way));
                    let ending = self.extend(strokes)?;
                    if ending != Ending::DeadEnd {
                        return Ok(ending);
                    }
                    self.made.pop();
                    make(&mut self.state, fold, FoldState::Flat);
                }
            }
        }
        self.hopeless.insert(made_of(&self.state));
        let all_blocked = self.made.len() + blocked.len() == self.prefer.len();
        let further =
            self.furthest.blocked.is_empty() || self.made.len() > self.furthest.made.len();
        if all_blocked && further {
            self.furthest = Stuck {
                made: self.made.iter().map(|&(fold, _)| fold).collect(),
                blocked,
            };
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
