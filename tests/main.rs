//! Whole-program tests.
