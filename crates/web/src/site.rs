//! Which site a request is for, and what every request leaves behind: a number, a count, a log line.

use crate::app::{App, Site};
use crate::secrets::random_word;
use axum::extract::{MatchedPath, Request, State};
use axum::http::uri::PathAndQuery;
use axum::http::{HeaderName, HeaderValue, Uri};
use axum::middleware::Next;
use axum::response::Response;
use std::time::Instant;

/// The header with a request's number.
const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// Takes the site out of the path: routes know paths without it.
pub(crate) async fn found(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let site = match path.strip_prefix("/api/v1/sites/") {
        Some(rest) => {
            let (name, rest) = rest.split_once('/').unwrap_or((rest, ""));
            let path = format!("/api/v1/{rest}");
            let site = app.site(Some(&decoded(name))).cloned();
            if let Some(uri) = with_path(request.uri(), &path) {
                *request.uri_mut() = uri;
            }
            site
        }
        None if path.starts_with("/api/") => app.site(None).cloned(),
        None => match page_site(&app, path) {
            PageSite::Named(site, path) => {
                if let Some(uri) = with_path(request.uri(), &path) {
                    *request.uri_mut() = uri;
                }
                Some(site)
            }
            PageSite::Unclear(to) => {
                if let Some(uri) = with(request.uri(), &to) {
                    *request.uri_mut() = uri;
                }
                None
            }
            // The counts belong to the first site; what is the same for all has none.
            PageSite::Any => app.sites.first().cloned(),
        },
    };
    if let Some(site) = site {
        request.extensions_mut().insert(site);
    }
    next.run(request).await
}

/// The page on which people choose a site.
pub(crate) const SITES: &str = "/sites";

/// The site of a page.
enum PageSite {
    /// This one, with the page's own path.
    Named(Site, String),
    /// The address names none of ours, or none at all while there are several: this page instead.
    Unclear(String),
    /// It does not matter.
    Any,
}

fn page_site(app: &App, path: &str) -> PageSite {
    if let Some(rest) = path.strip_prefix("/sites/") {
        let (name, rest) = rest.split_once('/').unwrap_or((rest, ""));
        return match app.site(Some(&decoded(name))) {
            Some(site) if !rest.starts_with("api/") => {
                PageSite::Named(site.clone(), format!("/{rest}"))
            }
            // The API has paths of its own for sites.
            Some(_) => PageSite::Any,
            // The page says that there is none of that name.
            _ => PageSite::Unclear(format!("{SITES}?site={name}")),
        };
    }
    let of_a_site =
        matches!(path, "/" | "/wall" | "/quote" | "/sign-in") || path.starts_with("/brakes/");
    if of_a_site && app.sites.len() > 1 {
        PageSite::Unclear(SITES.to_owned())
    } else {
        PageSite::Any
    }
}

fn with_path(uri: &Uri, path: &str) -> Option<Uri> {
    let whole = match uri.query() {
        Some(query) => format!("{path}?{query}"),
        None => path.to_owned(),
    };
    with(uri, &whole)
}

fn with(uri: &Uri, whole: &str) -> Option<Uri> {
    let mut parts = uri.clone().into_parts();
    parts.path_and_query = Some(whole.parse::<PathAndQuery>().ok()?);
    Uri::from_parts(parts).ok()
}

/// A part of a path without its percent signs; what is not well-formed stays as it is and names no
/// site.
fn decoded(part: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = part.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        let hex = after.get(..2).and_then(|hex| std::str::from_utf8(hex).ok());
        let byte = hex.and_then(|hex| u8::from_str_radix(hex, 16).ok());
        match byte.filter(|_| *first == b'%') {
            Some(byte) => {
                bytes.push(byte);
                rest = after.get(2..).unwrap_or_default();
            }
            None => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8(bytes).unwrap_or_else(|_| part.to_owned())
}

/// Numbers, counts and logs a request.
pub(crate) async fn counted(State(app): State<App>, request: Request, next: Next) -> Response {
    let began = Instant::now();
    let id = request_id(&request);
    let method = request.method().to_string();
    let route = request.extensions().get::<MatchedPath>();
    // What no route matches is counted together: paths that are made up must not fill the memory.
    let route = route.map_or_else(|| "none".to_owned(), |path| path.as_str().to_owned());
    let site = request.extensions().get::<Site>();
    let site = site.map_or_else(String::new, |site| site.office.name().to_owned());
    let mut response = next.run(request).await;
    let (status, took) = (response.status().as_u16(), began.elapsed());
    let counted = if is_known(&method) { &method } else { "other" };
    app.metrics.answered(&site, counted, &route, status, took);
    tracing::debug!(method, route, status, ms = took.as_millis(), id, "answered");
    if let Ok(id) = HeaderValue::from_str(&id) {
        response.headers_mut().insert(REQUEST_ID, id);
    }
    response
}

fn is_known(method: &str) -> bool {
    matches!(method, "GET" | "HEAD" | "PUT" | "POST" | "DELETE")
}

/// The number the caller gave it, when that is a plain one; else a new one.
fn request_id(request: &Request) -> String {
    let sent = request
        .headers()
        .get(REQUEST_ID)
        .and_then(|id| id.to_str().ok());
    let plain = |id: &&str| {
        (1..=64).contains(&id.len())
            && id
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric() || b"-_.".contains(&byte))
    };
    match sent.filter(plain) {
        Some(id) => id.to_owned(),
        None => {
            let mut word = random_word().unwrap_or_default();
            word.truncate(16);
            word
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percent_signs_are_taken_out() {
        for (part, read) in [
            ("shop", "shop"),
            ("a%2Fb", "a/b"),
            ("50%", "50%"),
            ("%zz", "%zz"),
            ("%C3%A4", "ä"),
        ] {
            assert_eq!(decoded(part), read);
        }
    }

    #[test]
    fn the_query_stays_when_the_site_goes() {
        let uri: Uri = "/api/v1/sites/shop/orders?limit=5".parse().unwrap();
        let uri = with_path(&uri, "/api/v1/orders").unwrap();
        assert_eq!(uri.to_string(), "/api/v1/orders?limit=5");
    }
}
