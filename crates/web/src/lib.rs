//! The daemon over HTTP: the API under `/api/v1`, the board, and who may use them.
//!
//! Every write is a command of the daybook, sent through a [`workshop::Office`]. The routes stand in
//! one table, each with the roles that may use it; the [`router`] and the description of the API
//! (`/api/v1/openapi.json`) are both built from it. docs/reference/api.md and docs/reference/access.md
//! are for people.
//!
//! Errors are answered as `application/problem+json` (RFC 9457).
//!
//! Invariants: decides nothing about the shop; no files, no SQL, no time of day. No secret is kept
//! other than as a hash. Pages hold no inline script, and every text from elsewhere is escaped.

mod access;
mod app;
mod buckets;
mod guard;
mod input;
mod metrics;
mod openapi;
mod page;
mod pages;
mod problem;
mod roles;
mod routes;
mod secrets;
mod site;
mod table;
mod wire;

pub use app::{Hosting, Limits};
pub use buckets::Rate;
pub use roles::Role;
pub use secrets::{
    Hash, SecretError, check_password, hash as secret_hash, hash_password, new_token,
};

use app::App;
use axum::Router;
use axum::middleware::{from_fn_with_state, map_response};
use tower::Layer;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{
    DefaultPredicate, NotForContentType, Predicate, SizeAbove,
};

/// Everything that is served. Whoever hosts it hands the caller's address over as
/// `ConnectInfo<SocketAddr>`; without it nobody counts as being on this machine.
pub fn router(hosting: Hosting) -> Router {
    let several = hosting.offices.len() > 1;
    let (_, described, rows) = routes::table(None).finish();
    let app = App::new(hosting, openapi::describe(described, &rows, several));
    let (routes, _, _) = routes::table(Some(app.clone())).finish();
    let routes = routes
        .fallback(problem::not_found)
        .method_not_allowed_fallback(problem::other_method)
        .with_state(app.clone())
        .layer(from_fn_with_state(app.clone(), guard::known_host))
        .layer(map_response(guard::headers))
        .layer(compression())
        .layer(from_fn_with_state(app.clone(), guard::plain_for_others))
        .layer(from_fn_with_state(app.clone(), site::counted));
    // Before a route is looked for, the site is taken out of the path.
    Router::new().fallback_service(from_fn_with_state(app, site::found).layer(routes))
}

/// What shrinks: pages and JSON of more than a few hundred bytes. Not the stream of events, which would
/// wait for more, and not PDF, which is compressed within.
fn compression() -> CompressionLayer<impl Predicate> {
    let what = DefaultPredicate::new()
        .and(SizeAbove::new(512))
        .and(NotForContentType::const_new("application/pdf"));
    CompressionLayer::new().compress_when(what)
}

/// One route, for whoever wants to know them all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Route {
    /// Method.
    pub method: String,
    /// Path, with `{...}` for what varies.
    pub path: String,
    /// Who may use it; `None`: everybody.
    pub roles: Option<Vec<Role>>,
    /// Whether the description of the API lists it.
    pub described: bool,
}

/// Every route.
#[must_use]
pub fn routes() -> Vec<Route> {
    let (_, _, rows) = routes::table(None).finish();
    let route = |row: table::Row| Route {
        method: row.method.to_string(),
        path: row.path,
        roles: row.rule.roles.map(<[Role]>::to_vec),
        described: row.described,
    };
    rows.into_iter().map(route).collect()
}
