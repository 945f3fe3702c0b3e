//! Who asks: by a token, by a session in a browser, or because this machine is still open.
//!
//! While a site has no account, whoever asks from this machine is its manager under the name `local`,
//! as long as the daemon listens to this machine alone. The first account ends that.

use crate::app::{App, Peer, Site};
use crate::problem::Problem;
use crate::roles::Role;
use crate::secrets::{self, Hash};
use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use sha2::{Digest, Sha256};
use std::net::SocketAddr;
use std::sync::atomic::Ordering;
use units::Moment;
use workshop::{Account, Office};

/// The name of whoever asks from a machine that is still open.
pub(crate) const LOCAL: &str = "local";

/// The header in which a session's writes carry their word.
pub(crate) const WORD_HEADER: &str = "x-csrf-token";

/// Somebody who is known.
#[derive(Clone, Debug)]
pub(crate) struct Who {
    pub(crate) name: String,
    pub(crate) role: Role,
    pub(crate) by: By,
}

/// How somebody is known.
#[derive(Clone, Debug)]
pub(crate) enum By {
    /// The machine is open.
    OpenMachine,
    /// A token.
    Token,
    /// A session in a browser.
    Session(Signed),
}

/// A session in a browser.
#[derive(Clone, Debug)]
pub(crate) struct Signed {
    pub(crate) hash: Hash,
    /// The word writes must carry.
    pub(crate) word: String,
    pub(crate) expires: Moment,
    kept_word: Hash,
}

impl Who {
    /// Whether a write may go ahead: a browser sends a session's cookie along by itself, the word it
    /// does not.
    pub(crate) fn means_it(&self, headers: &HeaderMap) -> bool {
        let By::Session(signed) = &self.by else {
            return true;
        };
        let sent = headers.get(WORD_HEADER).and_then(|word| word.to_str().ok());
        let word = sent.and_then(secrets::unmasked);
        word.is_some_and(|word| secrets::same(&secrets::hash(&word), &signed.kept_word))
    }
}

/// Who sends this request; nobody when it carries nothing that is known.
pub(crate) async fn identify(
    app: &App,
    site: &Site,
    headers: &HeaderMap,
    peer: Peer,
) -> Result<Option<Who>, Problem> {
    if let Some(sent) = headers.get(header::AUTHORIZATION) {
        return match sent.to_str().ok().and_then(bearer) {
            Some(token) => by_token(&site.office, token).await,
            None => Ok(None),
        };
    }
    if let Some(session) = session_cookie(app, site, headers) {
        // A session that has ended leaves its cookie behind; that is like none.
        if let Some(who) = by_session(&site.office, &session).await? {
            return Ok(Some(who));
        }
    }
    let open = app.loopback && peer.is_here() && is_open(site).await?;
    Ok(open.then(|| Who {
        name: LOCAL.to_owned(),
        role: Role::Manager,
        by: By::OpenMachine,
    }))
}

fn bearer(sent: &str) -> Option<&str> {
    let (scheme, token) = sent.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}

async fn by_token(office: &Office, token: &str) -> Result<Option<Who>, Problem> {
    let hash = secrets::hash(token);
    let account = office.account_of_token(&hash).await?;
    Ok(account.and_then(|account| known(&account, By::Token)))
}

async fn by_session(office: &Office, session: &str) -> Result<Option<Who>, Problem> {
    let hash = secrets::hash(session);
    let Some(found) = office.session(&hash).await? else {
        return Ok(None);
    };
    let signed = Signed {
        hash,
        word: secrets::session_word(session),
        expires: found.expires,
        kept_word: found.csrf,
    };
    let account = office.account(&found.account).await?;
    Ok(account.and_then(|account| known(&account, By::Session(signed))))
}

fn known(account: &Account, by: By) -> Option<Who> {
    // A role this program does not know may do nothing.
    let role = Role::of(&account.role).filter(|_| !account.disabled)?;
    Some(Who {
        name: account.name.clone(),
        role,
        by,
    })
}

/// Whether nobody has an account yet.
pub(crate) async fn is_open(site: &Site) -> Result<bool, Problem> {
    if site.has_accounts.load(Ordering::Relaxed) {
        return Ok(false);
    }
    let some = !site.office.accounts().await?.is_empty();
    if some {
        site.has_accounts.store(true, Ordering::Relaxed);
    }
    Ok(!some)
}

/// The name of a site's cookie. With TLS the browser itself sees to it that only this host sets it.
pub(crate) fn cookie_name(app: &App, site: &Site) -> String {
    let head = if app.encrypted { "__Host-" } else { "" };
    let hash = Sha256::digest(site.office.name().as_bytes());
    let [a, b, c, d, ..] = <[u8; 32]>::from(hash);
    format!("{head}brakewright-{a:02x}{b:02x}{c:02x}{d:02x}")
}

fn session_cookie(app: &App, site: &Site, headers: &HeaderMap) -> Option<String> {
    cookie(headers, &cookie_name(app, site))
}

/// The value of a cookie.
pub(crate) fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    let cookies = headers.get_all(header::COOKIE).into_iter();
    let pairs = cookies
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(';'));
    let mut pairs = pairs.filter_map(|pair| pair.trim().split_once('='));
    let (_, session) = pairs.find(|(named, _)| *named == name)?;
    Some(session.to_owned())
}

/// The cookie of a session that lasts so many seconds; with 0 it goes at once.
pub(crate) fn session_cookie_line(app: &App, site: &Site, session: &str, seconds: i64) -> String {
    let name = cookie_name(app, site);
    let secure = if app.encrypted { "; Secure" } else { "" };
    format!("{name}={session}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}{secure}")
}

impl<S: Send + Sync> FromRequestParts<S> for Peer {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Peer, Self::Rejection> {
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>();
        Ok(Peer(peer.map(|ConnectInfo(address)| *address)))
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Who {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Who, Problem> {
        let who = parts.extensions.get::<Who>().cloned();
        who.ok_or_else(Problem::unknown_caller)
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Site {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Site, Problem> {
        parts.extensions.get::<Site>().cloned().ok_or_else(no_site)
    }
}

/// The path does not say which site is meant, or names none of ours.
pub(crate) fn no_site() -> Problem {
    Problem::missing(
        "No such site; paths are /api/v1/sites/SITE/..., with a site this daemon serves.",
    )
}
