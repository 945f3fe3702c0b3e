//! The use cases, in the shop's own words: read a folder, check it, plan it, judge a plan.
//!
//! The path from a folder to a printed day is one direction: [`read_folder`], [`check`],
//! [`make_plan`] (compile, search, lift, judge). A plan the judge rejects never leaves this crate
//! as one that can be shown.

mod batches;
mod engineering;
mod folder;
mod planning;
mod quote;

pub use batches::{
    Alone, Batch, BatchPart, BatchReport, BatchStation, PairSaving, WhyAlone, batches,
};
pub use engineering::{Ask, PartStudy, part_sheet};
pub use folder::{Checked, FolderError, check, check_files, read_folder};
pub use planning::{Budget, Made, PlanAsk, Rejected, Watch, default_from, make_plan, verify};
pub use quote::{Quote, QuoteAsk, QuoteError, quote};
