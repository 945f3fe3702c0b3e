//! The table of routes: each with who may use it and how, and the guard that sees to it.
//!
//! The router and the description of the API are both built from this one table, so there is no route
//! without a rule.

use crate::access::{self, no_site};
use crate::app::{App, Peer, Site};
use crate::guard::{is_foreign, is_reading};
use crate::input::{Expected, Key};
use crate::problem::Problem;
use crate::roles::Role;
use crate::secrets;
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::{FromRequestParts, Request, State};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::MethodRouter;
use std::time::Instant;
use utoipa_axum::router::{OpenApiRouter, UtoipaMethodRouter};
use workshop::IdempotencyKey;

/// The header with the caller's key.
pub(crate) const KEY_HEADER: &str = "idempotency-key";

/// Longest key of a caller's, characters.
pub(crate) const KEY_LONGEST: usize = 128;

/// Whether a caller must say what it takes for so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Matching {
    /// It means nothing here.
    Never,
    /// It may.
    May,
    /// It must: two people may change the same thing.
    Must,
}

/// What goes for a route.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rule {
    /// Who may; `None`: everybody, known or not.
    pub(crate) roles: Option<&'static [Role]>,
    /// Whether the caller's key counts.
    pub(crate) keyed: bool,
    /// Whether versions count.
    pub(crate) matching: Matching,
    /// Whether shop data come with it.
    pub(crate) files: bool,
    /// Whether a search is part of the answer.
    pub(crate) long: bool,
    /// Whether the body may hold a password. Its hash is then no part of the caller's key: what is
    /// kept must not help anybody to guess one.
    pub(crate) secret: bool,
}

impl Rule {
    pub(crate) const fn open() -> Rule {
        Rule {
            roles: None,
            keyed: false,
            matching: Matching::Never,
            files: false,
            long: false,
            secret: false,
        }
    }

    /// Reads, or asks, without changing anything in the daybook.
    pub(crate) const fn of(roles: &'static [Role]) -> Rule {
        let roles = Some(roles);
        Rule {
            roles,
            ..Rule::open()
        }
    }

    /// May be sent again with the same key.
    pub(crate) const fn keyed(self) -> Rule {
        Rule {
            keyed: true,
            ..self
        }
    }

    pub(crate) const fn with_secret(self) -> Rule {
        Rule {
            secret: true,
            ..self
        }
    }

    /// Changes the daybook.
    pub(crate) const fn writing(roles: &'static [Role]) -> Rule {
        Rule::of(roles).keyed()
    }

    pub(crate) const fn may_match(self) -> Rule {
        Rule {
            matching: Matching::May,
            ..self
        }
    }

    pub(crate) const fn must_match(self) -> Rule {
        Rule {
            matching: Matching::Must,
            ..self
        }
    }

    pub(crate) const fn with_files(self) -> Rule {
        Rule {
            files: true,
            ..self
        }
    }

    pub(crate) const fn long(self) -> Rule {
        Rule { long: true, ..self }
    }
}

/// One route.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) method: Method,
    pub(crate) path: String,
    pub(crate) rule: Rule,
    /// Whether the description lists it.
    pub(crate) described: bool,
}

/// All routes.
pub(crate) struct Table {
    pub(crate) rows: Vec<Row>,
    described: OpenApiRouter<App>,
    pages: Router<App>,
    app: Option<App>,
}

impl Table {
    /// A table of routes that are guarded for `app`; without one it can only be read.
    pub(crate) fn new(app: Option<App>) -> Table {
        Table {
            rows: Vec::new(),
            described: OpenApiRouter::new(),
            pages: Router::new(),
            app,
        }
    }

    /// Adds a route of the API.
    pub(crate) fn add(mut self, rule: Rule, routes: UtoipaMethodRouter<App>) -> Table {
        let (schemas, paths, router) = routes;
        for (path, item) in &paths.paths {
            let methods = [
                (Method::GET, item.get.is_some()),
                (Method::PUT, item.put.is_some()),
                (Method::POST, item.post.is_some()),
                (Method::DELETE, item.delete.is_some()),
            ];
            for (method, _) in methods.into_iter().filter(|(_, is_there)| *is_there) {
                self.rows.push(Row {
                    method,
                    path: path.clone(),
                    rule,
                    described: true,
                });
            }
        }
        let router = self.guard(rule, router);
        self.described = self.described.routes((schemas, paths, router));
        self
    }

    /// Adds a page for people, or what belongs to one.
    pub(crate) fn page(
        mut self,
        rule: Rule,
        method: Method,
        path: &str,
        router: MethodRouter<App>,
    ) -> Table {
        self.rows.push(Row {
            method,
            path: path.to_owned(),
            rule,
            described: false,
        });
        let router = self.guard(rule, router);
        self.pages = self.pages.route(path, router);
        self
    }

    fn guard(&self, rule: Rule, router: MethodRouter<App>) -> MethodRouter<App> {
        match &self.app {
            Some(app) => {
                let gate = Gate {
                    app: app.clone(),
                    rule,
                };
                router.route_layer(from_fn_with_state(gate, guarded))
            }
            None => router,
        }
    }

    /// The routes, the description of those that are described, and the rows.
    pub(crate) fn finish(self) -> (Router<App>, utoipa::openapi::OpenApi, Vec<Row>) {
        let (router, description) = self.described.split_for_parts();
        (router.merge(self.pages), description, self.rows)
    }
}

#[derive(Clone)]
struct Gate {
    app: App,
    rule: Rule,
}

/// Lets a request through that keeps its route's rule.
async fn guarded(State(gate): State<Gate>, request: Request, next: Next) -> Response {
    match admit(&gate, request).await {
        Ok(request) => answer(&gate, request, next).await,
        Err(problem) => problem.into_response(),
    }
}

async fn answer(gate: &Gate, request: Request, next: Next) -> Response {
    let limits = &gate.app.limits;
    let patience = if gate.rule.long {
        limits.long_patience
    } else {
        limits.patience
    };
    match tokio::time::timeout(patience, next.run(request)).await {
        Ok(response) => response,
        Err(_) => {
            let detail = "The answer took too long. A write may have been done all the same: send \
                          it again with the same Idempotency-Key to find out.";
            Problem::unavailable("too-slow", detail).into_response()
        }
    }
}

async fn admit(gate: &Gate, request: Request) -> Result<Request, Problem> {
    let (app, rule) = (&gate.app, &gate.rule);
    let (mut parts, body) = request.into_parts();
    // A peer can always be had; it may be unknown.
    let Ok(peer) = Peer::from_request_parts(&mut parts, &()).await;
    let reading = is_reading(&parts.method);
    let who = match rule.roles {
        None => {
            count(app, &peer.name())?;
            None
        }
        Some(roles) => {
            let site = parts.extensions.get::<Site>().ok_or_else(no_site)?;
            let who = access::identify(app, site, &parts.headers, peer).await?;
            let caller = who.as_ref().map(|who| format!("account {}", who.name));
            count(app, &caller.unwrap_or_else(|| peer.name()))?;
            let who = who.ok_or_else(Problem::unknown_caller)?;
            if !roles.contains(&who.role) {
                return Err(not_with_this_role(&who.name, who.role, roles));
            }
            Some(who)
        }
    };
    if !reading {
        if is_foreign(app, &parts.headers) {
            let detail = "A page of another site sent this; the daemon takes writes from its own \
                          pages and from programs.";
            return Err(Problem::forbidden(detail));
        }
        if who
            .as_ref()
            .is_some_and(|who| !who.means_it(&parts.headers))
        {
            let detail = "A write in a session carries the header X-CSRF-Token with the word that \
                          signing in, or GET /api/v1/me, hands out.";
            return Err(Problem::forbidden(detail));
        }
    }
    let expected = Expected::of(&parts.headers);
    if rule.matching == Matching::Must && expected? == Expected::Anything {
        return Err(no_condition());
    }
    let bytes = read_body(gate, body).await?;
    if let Some(who) = who {
        if rule.keyed {
            let address = parts.uri.to_string();
            let request = [parts.method.as_str(), &address];
            let said: &[u8] = if rule.secret { &[] } else { &bytes };
            parts
                .extensions
                .insert(key(&parts.headers, &who.name, request, said)?);
        }
        parts.extensions.insert(who);
    }
    Ok(Request::from_parts(parts, Body::from(bytes)))
}

fn count(app: &App, caller: &str) -> Result<(), Problem> {
    app.requests
        .take(caller, Instant::now())
        .map_err(|seconds| {
            let detail =
                format!("More requests than one caller may send; the next in {seconds} s.");
            Problem::too_many(detail, seconds)
        })
}

fn not_with_this_role(name: &str, role: Role, roles: &[Role]) -> Problem {
    let words: Vec<&str> = roles.iter().map(|role| role.word()).collect();
    let (role, words) = (role.word(), words.join(" or "));
    Problem::forbidden(format!("{name} is {role}; this takes {words}."))
}

fn no_condition() -> Problem {
    let detail = "Say which version this is decided on: If-Match with the ETag that was read, or \
                  If-None-Match: * for a thing that is not there yet.";
    let status = StatusCode::PRECONDITION_REQUIRED;
    Problem::new(status, "no-condition", "Which version?", detail)
}

async fn read_body(gate: &Gate, body: Body) -> Result<axum::body::Bytes, Problem> {
    let limits = &gate.app.limits;
    let most = if gate.rule.files {
        limits.files_most
    } else {
        limits.body_most
    };
    let read = tokio::time::timeout(limits.patience, to_bytes(body, most)).await;
    match read {
        Ok(Ok(bytes)) => Ok(bytes),
        Ok(Err(_)) => {
            let detail = format!("The request has more than {most} bytes, or it broke off.");
            let status = StatusCode::PAYLOAD_TOO_LARGE;
            Err(Problem::new(status, "too-large", "Too large", detail))
        }
        Err(_) => {
            let detail = "The request did not arrive in time.";
            let status = StatusCode::REQUEST_TIMEOUT;
            Err(Problem::new(status, "too-slow", "Too slow", detail))
        }
    }
}

/// The caller's key, tied to the caller and to all that the request says.
fn key(
    headers: &HeaderMap,
    who: &str,
    [method, address]: [&str; 2],
    body: &[u8],
) -> Result<Key, Problem> {
    let Some(sent) = headers.get(KEY_HEADER) else {
        return Ok(Key(None));
    };
    let sent = sent.to_str().ok().filter(|key| {
        let length = key.len();
        (1..=KEY_LONGEST).contains(&length) && key.bytes().all(|byte| byte.is_ascii_graphic())
    });
    let Some(sent) = sent else {
        let detail = format!(
            "Idempotency-Key takes 1 to {KEY_LONGEST} visible ASCII characters without spaces."
        );
        return Err(Problem::malformed(detail));
    };
    let condition = |name: &str| headers.get(name).map_or(&b""[..], |value| value.as_bytes());
    let parts = [
        method.as_bytes(),
        address.as_bytes(),
        condition("if-match"),
        condition("if-none-match"),
        body,
    ];
    Ok(Key(Some(IdempotencyKey {
        // An account's name has no line end, so two callers never share a key.
        key: format!("{who}\n{sent}"),
        request: secrets::hash_parts(&parts),
    })))
}
