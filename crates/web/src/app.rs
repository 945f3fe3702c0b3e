//! What every request needs.

use crate::buckets::{Buckets, Rate};
use crate::metrics::Metrics;
use crate::pages::query_word;
use std::net::{IpAddr, SocketAddr};
use std::ops::Deref;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::Duration;
use tokio::sync::Semaphore;
use units::Seconds;
use workshop::{Effort, Office};

/// What is to be served, and to whom.
#[derive(Clone, Debug)]
pub struct Hosting {
    /// The sites. Of one site the paths need not name it.
    pub offices: Vec<Office>,
    /// Host names by which the daemon may be called, besides this machine's own.
    pub hosts: Vec<String>,
    /// Whether only this machine can reach the address that is listened on.
    pub loopback: bool,
    /// Whether TLS is spoken.
    pub encrypted: bool,
    /// How hard to search when somebody asks what orders would cost.
    pub effort: Effort,
    /// How much one caller may ask for.
    pub limits: Limits,
}

/// How much one caller may ask for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Requests of one account, or of one address without an account.
    pub requests: Rate,
    /// Tries to sign in to one account.
    pub sign_ins_of_account: Rate,
    /// Tries to sign in from one address.
    pub sign_ins_of_address: Rate,
    /// Bytes of a request.
    pub body_most: usize,
    /// Bytes of a request with shop data.
    pub files_most: usize,
    /// Longest wait for an answer.
    pub patience: Duration,
    /// Longest wait for an answer that needs a search.
    pub long_patience: Duration,
    /// How long a session in a browser lasts.
    pub session: Seconds,
    /// How long a stream of events lasts before its reader has to come again.
    pub stream: Duration,
}

impl Default for Limits {
    /// Common practice, no source: far above what a shop needs, far below what would hurt it.
    fn default() -> Limits {
        let rate = |at_once, every| Rate { at_once, every };
        Limits {
            requests: rate(5_000, Duration::from_micros(200)),
            sign_ins_of_account: rate(10, Duration::from_secs(30)),
            sign_ins_of_address: rate(30, Duration::from_secs(5)),
            body_most: 1 << 20,
            files_most: 32 << 20,
            patience: Duration::from_secs(30),
            long_patience: Duration::from_secs(180),
            session: Seconds(12 * 3_600),
            stream: Duration::from_secs(15 * 60),
        }
    }
}

/// Shared by all requests. Clones are the same.
#[derive(Clone, Debug)]
pub(crate) struct App(Arc<Inner>);

#[derive(Debug)]
pub(crate) struct Inner {
    pub(crate) sites: Vec<Site>,
    pub(crate) hosts: Vec<String>,
    pub(crate) loopback: bool,
    pub(crate) encrypted: bool,
    pub(crate) effort: Effort,
    pub(crate) limits: Limits,
    pub(crate) metrics: Metrics,
    pub(crate) requests: Buckets,
    pub(crate) sign_ins_of_account: Buckets,
    pub(crate) sign_ins_of_address: Buckets,
    /// Passwords hashed at once: each takes a core and some memory.
    pub(crate) hashing: Semaphore,
    /// Searches for callers at once.
    pub(crate) searching: Semaphore,
    /// The description of the API, as text.
    pub(crate) description: String,
}

/// A site that is served. Clones are the same.
#[derive(Clone, Debug)]
pub(crate) struct Site {
    pub(crate) office: Office,
    /// What stands before the addresses of its pages: nothing when it is the only site.
    pub(crate) head: Arc<str>,
    /// Whether an account has been seen. Accounts are never removed, so that stays true.
    pub(crate) has_accounts: Arc<AtomicBool>,
}

impl Deref for App {
    type Target = Inner;
    fn deref(&self) -> &Inner {
        &self.0
    }
}

impl App {
    pub(crate) fn new(hosting: Hosting, description: String) -> App {
        let limits = hosting.limits;
        let several = hosting.offices.len() > 1;
        let site = |office: Office| Site {
            head: if several {
                format!("/sites/{}", query_word(office.name())).into()
            } else {
                Arc::default()
            },
            office,
            has_accounts: Arc::default(),
        };
        App(Arc::new(Inner {
            sites: hosting.offices.into_iter().map(site).collect(),
            hosts: hosting.hosts,
            loopback: hosting.loopback,
            encrypted: hosting.encrypted,
            effort: hosting.effort,
            limits,
            metrics: Metrics::default(),
            requests: Buckets::new(limits.requests),
            sign_ins_of_account: Buckets::new(limits.sign_ins_of_account),
            sign_ins_of_address: Buckets::new(limits.sign_ins_of_address),
            hashing: Semaphore::new(2),
            searching: Semaphore::new(1),
            description,
        }))
    }

    /// The site of that name; without a name, the only one.
    pub(crate) fn site(&self, name: Option<&str>) -> Option<&Site> {
        match (name, self.sites.as_slice()) {
            (Some(name), sites) => sites.iter().find(|site| site.office.name() == name),
            (None, [only]) => Some(only),
            (None, _) => None,
        }
    }
}

/// The address a request came from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Peer(pub(crate) Option<SocketAddr>);

impl Peer {
    /// Whether it came from this machine.
    pub(crate) fn is_here(self) -> bool {
        self.0
            .is_some_and(|peer| peer.ip().to_canonical().is_loopback())
    }

    /// Its address as a name. An IPv6 caller has a whole network of addresses, so the network counts.
    pub(crate) fn name(self) -> String {
        match self.0.map(|peer| peer.ip().to_canonical()) {
            Some(IpAddr::V4(ip)) => format!("address {ip}"),
            Some(IpAddr::V6(ip)) => {
                let [a, b, c, d, ..] = ip.segments();
                format!("network {a:x}:{b:x}:{c:x}:{d:x}")
            }
            None => "address unknown".to_owned(),
        }
    }
}
