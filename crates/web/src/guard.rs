//! By which name the daemon may be called, and what a browser may do with an answer.

use crate::app::App;
use crate::problem::Problem;
use axum::extract::{Request, State};
use axum::http::uri::Authority;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::IpAddr;

/// Nothing but our own stylesheet: no script, no frames, no forms to elsewhere.
const CONTENT_POLICY: &str =
    "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// Refuses requests that name a host this daemon is not called by. A foreign page whose name has been
/// pointed at this machine still sends its own name here. A request without a name is no browser's.
pub(crate) async fn known_host(State(app): State<App>, request: Request, next: Next) -> Response {
    match named_host(&request) {
        Some(host) if !is_ours(&app, &host) => {
            let detail = "The daemon is not called by this name. Use localhost, 127.0.0.1 or [::1], \
                          or a name from `hosts` in its settings.";
            let status = StatusCode::MISDIRECTED_REQUEST;
            Problem::new(status, "wrong-host", "Wrong host", detail).into_response()
        }
        _ => next.run(request).await,
    }
}

/// The name a request calls us by; unreadable counts as some foreign name.
fn named_host(request: &Request) -> Option<String> {
    let header = request.headers().get(header::HOST);
    let named = header.map(|host| host.to_str().unwrap_or("").to_owned());
    // HTTP/2 has it in the address of the request.
    named.or_else(|| request.uri().authority().map(ToString::to_string))
}

/// Whether `authority`, a name with or without a port, means this daemon.
fn is_ours(app: &App, authority: &str) -> bool {
    let Ok(authority) = authority.parse::<Authority>() else {
        return false;
    };
    if authority.as_str().contains('@') {
        return false;
    }
    let host = authority.host();
    if host.eq_ignore_ascii_case("localhost")
        || app.hosts.iter().any(|one| one.eq_ignore_ascii_case(host))
    {
        return true;
    }
    let ip = host
        .trim_start_matches('[')
        .trim_end_matches(']')
        .parse::<IpAddr>();
    // Nobody can point a number elsewhere, so other machines may use ours when they can reach us.
    ip.is_ok_and(|ip| ip.is_loopback() || !app.loopback)
}

/// Whether the request comes from a page of another origin. Browsers say where a write comes from;
/// other programs say nothing.
pub(crate) fn is_foreign(app: &App, headers: &HeaderMap) -> bool {
    // A page cannot write this header; it goes before Origin, which a form may send as `null`.
    match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
        Some(b"cross-site" | b"same-site") => return true,
        Some(b"same-origin") => return false,
        _ => {}
    }
    let Some(origin) = headers.get(header::ORIGIN) else {
        return false;
    };
    let Ok(origin) = origin.to_str() else {
        return true;
    };
    let scheme = if app.encrypted { "https://" } else { "http://" };
    let Some(authority) = origin.strip_prefix(scheme) else {
        return true;
    };
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok());
    match host {
        Some(host) => !host.eq_ignore_ascii_case(authority),
        None => !is_ours(app, authority),
    }
}

/// Answers are not compressed for pages of another origin. The length of a compressed answer tells
/// whether something the asker chose stands in it twice; whoever can make a browser ask again and again
/// could so guess what a page holds, letter by letter.
pub(crate) async fn plain_for_others(
    State(app): State<App>,
    mut request: Request,
    next: Next,
) -> Response {
    if is_foreign(&app, request.headers()) {
        request.headers_mut().remove(header::ACCEPT_ENCODING);
    }
    next.run(request).await
}

/// Whether a method changes nothing.
pub(crate) fn is_reading(method: &Method) -> bool {
    matches!(*method, Method::GET | Method::HEAD)
}

/// Adds to every response what keeps a browser from doing more with it than showing it.
pub(crate) async fn headers(mut response: Response) -> Response {
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CONTENT_POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // Other hosts hear nothing; our own forms say truly where they come from.
        (header::REFERRER_POLICY, "same-origin"),
        // A plan from yesterday's cache must not be taken for today's.
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}
