//! The setup-similarity graph.
//!
//! Nodes are parts; an edge joins two parts that some brake can bend on one bed, and weighs the
//! changeover seconds saved when one follows the other there instead of starting from a bare bed.
//! Parts that hang together and still fit one bed are batches. Edges steer the search's moves.
//!
//! Invariant: pure; edges and batches do not depend on the order of hash maps.

mod batches;
mod graph;
mod layout;
mod shared;

pub use batches::batches;
pub use graph::{Saving, SetupGraph};
pub use layout::{Beds, Layout, Setup};
