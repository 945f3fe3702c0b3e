//! Other ways of finding batches in a graph of setups, to hold ours against.

use similarity::{Beds, SetupGraph};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// Most parts in a batch, as in ours.
const MOST: usize = 24;

/// Edges by part: the other part and the seconds saved.
type Near = BTreeMap<usize, Vec<(usize, i64)>>;

/// Parts that hang together by any chain of edges.
#[must_use]
pub fn components(graph: &SetupGraph) -> Vec<Vec<usize>> {
    let near = near(graph);
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    for &part in near.keys() {
        let group = from_strongest(&near, part, |other| !seen.contains(&other));
        if group.is_empty() {
            continue;
        }
        seen.extend(group.iter().copied());
        all.push(group);
    }
    all
}

/// Greedy modularity: two communities become one where that adds most to the weight inside above
/// what chance would put there, until nothing adds.
#[must_use]
pub fn by_modularity(graph: &SetupGraph) -> Vec<Vec<usize>> {
    let near = near(graph);
    let parts: Vec<usize> = near.keys().copied().collect();
    let place: BTreeMap<usize, usize> = parts.iter().enumerate().map(|(at, &p)| (p, at)).collect();
    let mut between: Vec<BTreeMap<usize, i128>> = vec![BTreeMap::new(); parts.len()];
    let mut strength: Vec<i128> = vec![0; parts.len()];
    let mut members: Vec<Vec<usize>> = parts.iter().map(|&part| vec![part]).collect();
    for (one, two, saving) in graph.edges() {
        let (Some(&a), Some(&b)) = (place.get(&one), place.get(&two)) else {
            continue;
        };
        let weight = i128::from(saving.saved.0);
        between[a].insert(b, weight);
        between[b].insert(a, weight);
        strength[a] += weight;
        strength[b] += weight;
    }
    let twice_all: i128 = strength.iter().sum();
    while let Some((a, b)) = best_merge(&between, &strength, twice_all) {
        strength[a] += std::mem::take(&mut strength[b]);
        let moved = std::mem::take(&mut members[b]);
        members[a].extend(moved);
        for (other, weight) in std::mem::take(&mut between[b]) {
            between[other].remove(&b);
            if other != a {
                *between[a].entry(other).or_default() += weight;
                *between[other].entry(a).or_default() += weight;
            }
        }
    }
    members.retain(|group| !group.is_empty());
    let ordered = members.iter().flat_map(|group| {
        let inside: BTreeSet<usize> = group.iter().copied().collect();
        let mut left = inside.clone();
        let mut orders = Vec::new();
        // A community hangs together, so one round takes all of it.
        while let Some(&first) = left.iter().next() {
            let found = from_strongest(&near, first, |other| left.contains(&other));
            for part in &found {
                left.remove(part);
            }
            orders.push(found);
        }
        orders
    });
    ordered.collect()
}

/// The pair whose union adds most, as lower and higher index: twice the weight between them times
/// all weight, less the product of their strengths.
fn best_merge(
    between: &[BTreeMap<usize, i128>],
    strength: &[i128],
    twice_all: i128,
) -> Option<(usize, usize)> {
    let pairs = between.iter().enumerate().flat_map(|(a, others)| {
        let higher = others.iter().filter(move |(b, _)| a < **b);
        higher.map(move |(&b, &weight)| (a, b, weight))
    });
    let gain = |(a, b, weight): (usize, usize, i128)| {
        (weight * twice_all - strength[a] * strength[b], (a, b))
    };
    let best = pairs
        .map(gain)
        .max_by_key(|&(gain, pair)| (gain, Reverse(pair)));
    best.filter(|(gain, _)| *gain > 0).map(|(_, pair)| pair)
}

/// Every part by itself.
#[must_use]
pub fn none(graph: &SetupGraph) -> Vec<Vec<usize>> {
    graph.parts().into_iter().map(|part| vec![part]).collect()
}

/// Cuts groups until each piece stands on one bed: every part joins the first piece of its group it
/// stands beside, else begins one.
#[must_use]
pub fn cut(beds: &mut Beds<'_, '_>, groups: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut all = Vec::new();
    for group in groups {
        let mut pieces: Vec<Vec<usize>> = Vec::new();
        for &part in group {
            let joined = pieces.iter_mut().any(|piece| {
                if piece.len() == MOST {
                    return false;
                }
                piece.push(part);
                let stands = beds.of(piece).is_some();
                if !stands {
                    piece.pop();
                }
                stands
            });
            if !joined {
                pieces.push(vec![part]);
            }
        }
        all.extend(pieces);
    }
    all
}

fn near(graph: &SetupGraph) -> Near {
    let of = |part: usize| {
        let others = graph.neighbours(part).into_iter();
        let others = others.map(|(other, saving)| (other, saving.saved.0));
        (part, others.collect())
    };
    graph.parts().into_iter().map(of).collect()
}

/// Parts reached from one, always over the greatest saving that leads outside, as far as `open`
/// lets them be taken.
fn from_strongest(near: &Near, first: usize, open: impl Fn(usize) -> bool) -> Vec<usize> {
    if !open(first) {
        return Vec::new();
    }
    let mut taken = vec![first];
    let mut front: BTreeSet<(Reverse<i64>, usize)> = BTreeSet::new();
    let mut last = Some(first);
    while let Some(part) = last {
        for &(other, saved) in near.get(&part).into_iter().flatten() {
            front.insert((Reverse(saved), other));
        }
        last = None;
        while let Some((_, other)) = front.pop_first() {
            if open(other) && !taken.contains(&other) {
                taken.push(other);
                last = Some(other);
                break;
            }
        }
    }
    taken
}
