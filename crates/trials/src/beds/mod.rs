//! The search on invented shops, beds and all, against what else could plan them.
//!
//! [`shops`] says which shops, [`contest`] who plans them, [`judged`] lets the audit judge every
//! plan before its cost counts, [`report`] makes the tables, [`bounds`] measures the bound.

pub mod ablation;
pub mod bounds;
pub mod contest;
pub mod judged;
pub mod report;
pub mod shops;
