//! Everything that is served, called without a socket, on the tiny shop.

// The settings for tests reach functions marked as tests, not the helpers they share.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod access;
mod board;
mod calendar;
mod packed;
mod pages;
mod people;
mod pin_page;
mod pins;
mod quote_page;
mod quotes;
mod sites;
mod stream;
mod support;
mod table;
mod writes;
