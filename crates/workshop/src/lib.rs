//! The use cases, in the shop's own words: read a folder, check it, plan it, judge a plan.
//!
//! The path from a folder to a printed day is one direction: [`read_folder`], [`check`],
//! [`make_plan`] (compile, search, lift, judge). A plan the judge rejects never leaves this crate
//! as one that can be shown.
//!
//! The daemon's use cases are those of an [`Office`]: one site, its state, and what may be asked of it.

mod aside;
mod batches;
mod engineering;
mod folder;
mod loads;
mod office;
mod planning;
mod quicker;
mod quote;
mod quote_json;
mod staffing;
mod whatif;

pub use batches::{
    Alone, Batch, BatchPart, BatchReport, BatchStation, PairSaving, WhyAlone, batches,
};
pub use daybook::{Command, Expectation, Refusal, RefusalKind, Source};
pub use documents::Base;
pub use engineering::{Ask, PartStudy, RunBend, part_sheet, run_bends, stops_along_bed};
pub use folder::{Checked, FolderError, check, check_files, read_folder};
pub use loads::{Load, loads};
pub use office::{
    Account, CLASSES, CONSOLE, Clock, Counted, Done, Effort, Enquiry, FilesTaken, Health,
    IdempotencyKey, JobEnd, KeptPlan, Office, OfficeError, PLANNER, PeopleDone, PeopleWish, Quoted,
    RESERVED_NAMES, Rush, Session, Standing, Terms, Times, Token, TokenId, examine,
};
pub use planning::{Budget, Made, PlanAsk, Rejected, Watch, default_from, make_plan, verify};
pub use quote::{Quote, QuoteAsk, QuoteError, quote};
pub use quote_json::{PROMISED_ODDS, QuoteSheet, quote_json};
pub use quoting::{Breaks, Job, JobError, Odds, Rough, Wanted};
pub use schedule::Earlier;
pub use staffing::staffed;
pub use whatif::{Progressed, Tried, WhatIf, WhatIfAsk, WhatIfError, what_if};
