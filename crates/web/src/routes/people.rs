//! Accounts and their tokens.

use crate::access::{By, Who};
use crate::app::{App, Site};
use crate::input::{Body, Id, Line, Named, Whole};
use crate::problem::Problem;
use crate::roles::Role;
use crate::secrets;
use crate::wire::When;
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use std::sync::atomic::Ordering;
use tokio::task::spawn_blocking;
use units::{Moment, Seconds};
use utoipa::ToSchema;
use workshop::{Account, PLANNER, TokenId};

/// Names that events carry and no person may have.
const TAKEN: [&str; 5] = [crate::access::LOCAL, PLANNER, "folder", "inbox", "nobody"];

/// A password: long enough that guessing does not pay; common practice, no source.
pub(crate) type Password = Line<12, 256>;

/// An account.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct AccountView {
    account: String,
    /// Nothing when another program gave it a role this one does not know; it may do nothing then.
    role: Option<Role>,
    /// Whether it can sign in with a password.
    has_password: bool,
    /// Whether it is refused.
    disabled: bool,
}

/// Accounts.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Accounts {
    accounts: Vec<AccountView>,
}

fn view(account: &Account) -> AccountView {
    AccountView {
        account: account.name.clone(),
        role: Role::of(&account.role),
        has_password: account.password.is_some(),
        disabled: account.disabled,
    }
}

/// List the accounts.
#[utoipa::path(get, path = "/api/v1/accounts", tag = "people",
    responses((status = 200, body = Accounts)))]
pub(crate) async fn list(site: Site) -> Result<Json<Accounts>, Problem> {
    let accounts = site.office.accounts().await?;
    Ok(Json(Accounts {
        accounts: accounts.iter().map(view).collect(),
    }))
}

/// Names an account.
#[derive(Debug, Deserialize)]
pub(crate) struct AccountPath {
    account: Id,
}

/// What an account is to be.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct NewAccount {
    role: Role,
    /// A new password; the one there is stays when it is left out.
    #[schema(value_type = Option<Line<12, 256>>, examples("nine cold chisels"))]
    password: Option<Password>,
    /// Whether it is refused from now on.
    #[serde(default)]
    disabled: bool,
}

/// Add an account, or change it. The first one must be a manager with a password, and ends that
/// everybody on this machine is a manager.
#[utoipa::path(put, path = "/api/v1/accounts/{account}", tag = "people",
    params(("account" = inline(Id), Path, description = "Account; a code rather than a person's name", example = "V-1")),
    request_body = NewAccount, responses((status = 200, body = AccountView)))]
pub(crate) async fn put(
    State(app): State<App>,
    site: Site,
    who: Who,
    Named(path): Named<AccountPath>,
    Body(body): Body<NewAccount>,
) -> Result<Json<AccountView>, Problem> {
    let name = path.account.0;
    if TAKEN.contains(&name.as_str()) {
        return Err(Problem::invalid(format!(
            "{name} stands for the daemon itself; take another."
        )));
    }
    if name == who.name && (body.role != who.role || body.disabled) {
        let detail = "You cannot take your own role away; another manager can.";
        return Err(Problem::conflict(detail));
    }
    let before = site.office.account(&name).await?;
    let first = site.office.accounts().await?.is_empty();
    if first && (body.role != Role::Manager || body.password.is_none() || body.disabled) {
        let detail = "The first account must be a manager with a password: without one nobody could \
                      add another.";
        return Err(Problem::conflict(detail));
    }
    let new_password = body.password.is_some();
    let password = match body.password {
        Some(password) => Some(hashed(&app, password.0).await?),
        None => before.and_then(|before| before.password),
    };
    let account = Account {
        name,
        role: body.role.word().to_owned(),
        password,
        disabled: body.disabled,
    };
    site.office.put_account(&account).await?;
    if new_password {
        // Whoever knew the old one is out.
        site.office.end_sessions_of(&account.name).await?;
    }
    site.has_accounts.store(true, Ordering::Relaxed);
    tracing::info!(
        by = who.name,
        account = account.name,
        role = account.role,
        "account kept"
    );
    Ok(Json(view(&account)))
}

async fn hashed(app: &App, password: String) -> Result<String, Problem> {
    let _turn = app
        .hashing
        .acquire()
        .await
        .map_err(|error| Problem::fault(&error))?;
    let hashed = spawn_blocking(move || secrets::hash_password(&password)).await;
    hashed
        .map_err(|error| Problem::fault(&error))?
        .map_err(|error| Problem::fault(&error))
}

/// A token, without its secret.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TokenView {
    token: i64,
    account: String,
    label: String,
    created_at: When,
    /// From when on it is refused.
    #[serde(skip_serializing_if = "Option::is_none")]
    expires: Option<When>,
    /// When it was revoked.
    #[serde(skip_serializing_if = "Option::is_none")]
    revoked_at: Option<When>,
}

/// Tokens.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Tokens {
    tokens: Vec<TokenView>,
}

/// List all tokens, without their secrets.
#[utoipa::path(get, path = "/api/v1/tokens", tag = "people",
    responses((status = 200, body = Tokens)))]
pub(crate) async fn tokens(site: Site) -> Result<Json<Tokens>, Problem> {
    let tokens = site.office.tokens().await?;
    let tokens = tokens.into_iter().map(|token| TokenView {
        token: token.id.0,
        account: token.account,
        label: token.label,
        created_at: When(token.created_at),
        expires: token.expires.map(When),
        revoked_at: token.revoked_at.map(When),
    });
    Ok(Json(Tokens {
        tokens: tokens.collect(),
    }))
}

/// What a token is for.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct NewToken {
    /// What it is for.
    #[schema(value_type = Line<1, 100>, examples("terminal at brake B2"))]
    label: Line<1, 100>,
    /// Days until it is refused; never when left out.
    days: Option<Whole<1, 3650>>,
}

/// A new token.
#[derive(Serialize, ToSchema)]
pub(crate) struct TokenMade {
    token: i64,
    /// The secret. It is shown this once.
    secret: String,
    /// From when on it is refused.
    #[serde(skip_serializing_if = "Option::is_none")]
    expires: Option<When>,
}

/// Make a token for an account. It may do what the account may; its secret is shown this once.
#[utoipa::path(post, path = "/api/v1/accounts/{account}/tokens", tag = "people",
    params(("account" = inline(Id), Path, description = "Account", example = "V-1")), request_body = NewToken,
    responses((status = 201, body = TokenMade)))]
pub(crate) async fn add_token(
    site: Site,
    who: Who,
    Named(path): Named<AccountPath>,
    Body(body): Body<NewToken>,
) -> Result<Response, Problem> {
    let name = path.account.0;
    if site.office.account(&name).await?.is_none() {
        return Err(Problem::missing(format!("There is no account {name}.")));
    }
    let day = |days: Whole<1, 3650>| Seconds(i64::try_from(days.0).unwrap_or(0) * 86_400);
    let expires: Option<Moment> = body.days.map(|days| site.office.now() + day(days));
    let secret = secrets::new_token().map_err(|error| Problem::fault(&error))?;
    let hash = secrets::hash(&secret);
    let made = site
        .office
        .add_token(&hash, &name, &body.label.0, expires)
        .await?;
    tracing::info!(by = who.name, account = name, token = made.0, "token made");
    let answer = TokenMade {
        token: made.0,
        secret,
        expires: expires.map(When),
    };
    Ok((StatusCode::CREATED, Json(answer)).into_response())
}

/// Names a token.
#[derive(Debug, Deserialize)]
pub(crate) struct TokenPath {
    token: Whole<1, 9_007_199_254_740_991>,
}

/// Revoke a token for good.
#[utoipa::path(delete, path = "/api/v1/tokens/{token}", tag = "people",
    params(("token" = inline(Whole<1, 9_007_199_254_740_991>), Path, description = "Its number")),
    responses((status = 204)))]
pub(crate) async fn revoke(
    site: Site,
    who: Who,
    Named(path): Named<TokenPath>,
) -> Result<StatusCode, Problem> {
    let number = i64::try_from(path.token.0).unwrap_or(i64::MAX);
    let tokens = site.office.tokens().await?;
    let in_force = |token: &&workshop::Token| token.id.0 == number && token.revoked_at.is_none();
    let Some(token) = tokens.iter().find(in_force) else {
        return Err(Problem::missing(format!(
            "There is no token {number} in force."
        )));
    };
    if matches!(who.by, By::Token) && token.account == who.name {
        let detail = "A token cannot revoke those of its own account: it might be the last way in. \
                      Sign in, or ask another manager.";
        return Err(Problem::conflict(detail));
    }
    site.office.revoke_token(TokenId(number)).await?;
    tracing::info!(by = who.name, token = number, "token revoked");
    Ok(StatusCode::NO_CONTENT)
}
