//! Who may ask, and what a browser may do with an answer.

use crate::problem::problem;
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use std::net::{IpAddr, SocketAddr};

/// Nothing but our own stylesheet: no script, no frames, no forms to elsewhere.
const CONTENT_POLICY: &str =
    "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// Refuses requests that name another host than this machine. A foreign page whose name has been
/// pointed at 127.0.0.1 still sends its own name here. A request without a name is no browser's.
pub(crate) async fn loopback_only(request: Request, next: Next) -> Response {
    let named = request.headers().get(header::HOST);
    let allowed = named.is_none_or(|host| host.to_str().is_ok_and(is_loopback));
    if allowed {
        return next.run(request).await;
    }
    let detail = "This board answers only to localhost, 127.0.0.1 or [::1].";
    problem(StatusCode::MISDIRECTED_REQUEST, "Wrong host", detail)
}

fn is_loopback(host: &str) -> bool {
    let ip = |text: &str| text.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback());
    if let Ok(address) = host.parse::<SocketAddr>() {
        return address.ip().is_loopback();
    }
    if let Some(inside) = host
        .strip_prefix('[')
        .and_then(|rest| rest.strip_suffix(']'))
    {
        return ip(inside);
    }
    let name = host.rsplit_once(':').map_or(host, |(name, _port)| name);
    name.eq_ignore_ascii_case("localhost") || ip(name)
}

/// Adds to every response what keeps a browser from doing more with it than showing it.
pub(crate) async fn headers(mut response: Response) -> Response {
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, CONTENT_POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        // A plan from yesterday's cache must not be taken for today's.
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_this_machine_is_this_machine() {
        for host in [
            "localhost",
            "LOCALHOST:8080",
            "127.0.0.1",
            "127.0.0.1:9",
            "127.8.8.8:80",
            "[::1]",
            "[::1]:80",
        ] {
            assert!(is_loopback(host), "{host}");
        }
        for host in [
            "",
            "board.example",
            "localhost.example:80",
            "127.0.0.1.example",
            "10.0.0.1:80",
            "[fe80::1]:80",
            "localhost:80:evil.example",
        ] {
            assert!(!is_loopback(host), "{host}");
        }
    }
}
