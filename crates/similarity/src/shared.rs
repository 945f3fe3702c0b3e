//! Which parts share tools, found without comparing every part with every other.

use std::collections::{BTreeMap, BTreeSet};
use tooling::ToolingOption;

/// Options by part and brake, and parts by brake and tools.
pub(crate) struct Shared {
    /// By part and brake, the indices of its options, the best first.
    options: BTreeMap<(usize, usize), Vec<usize>>,
    /// By part: the tools it can be made with.
    tools: BTreeMap<usize, BTreeSet<Tools>>,
    /// By tools: the parts that can be made with them.
    parts: BTreeMap<Tools, Vec<usize>>,
}

/// Brake, punch profile and die profile.
type Tools = (usize, usize, usize);

impl Shared {
    pub(crate) fn of(options: &[&ToolingOption]) -> Shared {
        let mut shared = Shared {
            options: BTreeMap::new(),
            tools: BTreeMap::new(),
            parts: BTreeMap::new(),
        };
        for (index, option) in options.iter().enumerate() {
            let at = (option.part, option.brake);
            shared.options.entry(at).or_default().push(index);
            let tools = shared.tools.entry(option.part).or_default();
            tools.extend(
                option
                    .needs
                    .iter()
                    .map(|need| (option.brake, need.punch, need.die)),
            );
        }
        for (&part, tools) in &shared.tools {
            for &tool in tools {
                shared.parts.entry(tool).or_default().push(part);
            }
        }
        shared
    }

    /// Indices of a part's options on a brake, the best first.
    pub(crate) fn options_of(&self, part: usize, brake: usize) -> &[usize] {
        self.options.get(&(part, brake)).map_or(&[], Vec::as_slice)
    }

    /// Pairs of parts that share tools, the lower index first: each part with the `most` others with
    /// which it shares the greatest number.
    pub(crate) fn pairs(&self, parts: &[usize], most: usize) -> BTreeSet<(usize, usize)> {
        let mut pairs = BTreeSet::new();
        for &part in parts {
            let mut common: BTreeMap<usize, usize> = BTreeMap::new();
            for tool in self.tools.get(&part).into_iter().flatten() {
                for &other in self.parts.get(tool).into_iter().flatten() {
                    *common.entry(other).or_default() += 1;
                }
            }
            common.remove(&part);
            let mut others: Vec<(usize, usize)> = common.into_iter().collect();
            others.sort_by_key(|&(other, count)| (std::cmp::Reverse(count), other));
            let nearest = others.into_iter().take(most);
            pairs.extend(nearest.map(|(other, _)| (part.min(other), part.max(other))));
        }
        pairs
    }
}
