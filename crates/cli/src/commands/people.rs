//! `people`: who may use the daemon.
