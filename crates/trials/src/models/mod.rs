//! The published problems as the search sees them.
//!
//! Every model evaluates only what a move touched: the machines named, from the first changed slot
//! to where the rest is sure to go on as before.

mod makespan;
mod pipes;
mod setups;
mod sized;
mod tools;

pub use setups::SetupModel;
pub use sized::{Keep, SizedModel};
pub use tools::ToolModel;
