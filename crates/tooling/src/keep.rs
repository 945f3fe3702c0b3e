//! What is left on a bed, and the rules it is compared with.

/// Which idle stations a bed keeps, and whom new ones are made for. Plans are always made by
/// [`Keep::Serving`]; the others are there to measure what it is worth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Keep {
    /// A station stays the longer the sooner it serves a later run where it stands; new ones are
    /// made long enough for later runs too; what no later run needs is left to other brakes.
    #[default]
    Serving,
    /// Keep tool needed soonest, the rule of tool switching (C. S. Tang and E. V. Denardo, Operations
    /// Research 36, 1988 \[memory\]): of the idle stations in the way the one whose tools are needed
    /// latest comes off, whether or not it could serve there; each station is made for its run alone,
    /// and none comes off before it is in the way.
    NeededSoonest,
    /// Nothing is known of later runs: stations stay until they are in the way.
    Blind,
}
