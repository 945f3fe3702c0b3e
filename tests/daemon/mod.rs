//! The daemon as a service: started, asked, killed.

mod client;
mod inbox;
mod killed;
mod server;
mod two;
