//! Whole-program tests: the executable on the demo shop, the tiny shop, and what people break.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are not tests to the lint

mod broken_plans;
mod daemon;
mod demo_shop;
mod documented;
mod engineering;
mod malformed_folders;
mod moved_tools;
mod output_folder;
mod paper;
mod program;
mod quoting;
mod repeatable;
mod screen;
mod serving;
mod ten_parts;
mod tiny_shop;
mod whatif;
