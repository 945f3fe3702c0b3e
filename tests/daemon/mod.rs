//! The daemon as a service: started, asked, killed.

mod client;
mod killed;
mod server;
