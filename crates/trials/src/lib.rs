//! Measures the search on published scheduling instances, against known values and plain rivals.
//!
//! [`read`] takes the published texts, [`models`] shows them to the search, [`judge`] evaluates
//! every answer anew before it counts, [`rivals`] are what a search must beat, [`sets`] knows the
//! folder of instances and [`measure`] runs them. docs/concepts/benchmarks.md has the results. [`beds`]
//! holds the search against the same rivals on invented shops, [`scale`] tells how it grows, and
//! [`peer`] asks another solver; docs/concepts/beds-benchmarks.md. [`batches`] holds ways of finding
//! batches against one another; docs/concepts/batches.md. [`load`] asks a running daemon, many callers at
//! once. [`odds`] counts how often promised dates are kept; docs/concepts/odds.md.
//!
//! Invariant: the instances are third-party data, read from a folder that is named; none is part of
//! the project. Nothing of the shop's depends on this crate.

pub mod batches;
pub mod beds;
pub mod clock;
pub mod communities;
pub mod instance;
pub mod judge;
pub mod load;
pub mod measure;
pub mod models;
pub mod odds;
pub mod peer;
pub mod read;
pub mod replan;
pub mod rivals;
pub mod scale;
pub mod sets;
pub mod start;
pub mod tasks;
pub mod unequal;
pub mod variants;
