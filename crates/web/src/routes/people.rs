//! Accounts and their tokens.

use crate::access::{By, Who};
use crate::app::{App, Site};
use crate::input::{Body, Id, Key, Line, Named, Whole};
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
use workshop::{Account, OfficeError, PeopleWish, RESERVED_NAMES, TokenId};

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
    key: Key,
    Named(path): Named<AccountPath>,
    Body(body): Body<NewAccount>,
) -> Result<Json<AccountView>, Problem> {
    let name = path.account.0;
    if RESERVED_NAMES.contains(&name.as_str()) {
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
    let sent = body.password.map(|password| password.0);
    let password = match &sent {
        Some(password) => Some(hashed(&app, password.clone()).await?),
        None => before.and_then(|before| before.password),
    };
    let new_password = sent.is_some();
    let said = [body.disabled, new_password].map(u8::from);
    let key = key.tied_to(&[body.role.word().as_bytes(), &said]);
    let account = Account {
        name,
        role: body.role.word().to_owned(),
        password,
        disabled: body.disabled,
    };
    let wish = PeopleWish::Put {
        account: &account,
        new_password,
    };
    let done = site
        .office
        .change_people(&who.name, wish, key.0.as_ref())
        .await?;
    if done.repeated {
        return put_before(&app, &site, &account.name, sent).await;
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

/// The answer to a request sent again: the account as it is now. The password is no part of the
/// caller's key, so another one is noticed here.
async fn put_before(
    app: &App,
    site: &Site,
    name: &str,
    sent: Option<String>,
) -> Result<Json<AccountView>, Problem> {
    let account = site.office.account(name).await?;
    let account = account.ok_or_else(|| OfficeError::Nobody(format!("There is no {name}.")))?;
    if let Some(sent) = sent
        && !fits(app, sent, account.password.clone()).await?
    {
        return Err(OfficeError::KeyUsed.into());
    }
    Ok(Json(view(&account)))
}

async fn fits(app: &App, password: String, hashed: Option<String>) -> Result<bool, Problem> {
    let _turn = app
        .hashing
        .acquire()
        .await
        .map_err(|error| Problem::fault(&error))?;
    let checked = spawn_blocking(move || secrets::check_password(&password, hashed.as_deref()));
    checked.await.map_err(|error| Problem::fault(&error))
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

/// Make a token for an account. It may do what the account may; its secret is shown this once. Sent
/// again with the same key, nothing is made and 409 names the token that was.
#[utoipa::path(post, path = "/api/v1/accounts/{account}/tokens", tag = "people",
    params(("account" = inline(Id), Path, description = "Account", example = "V-1")), request_body = NewToken,
    responses((status = 201, body = TokenMade)))]
pub(crate) async fn add_token(
    site: Site,
    who: Who,
    key: Key,
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
    let wish = PeopleWish::MakeToken {
        hash: &hash,
        account: &name,
        label: &body.label.0,
        expires,
    };
    let done = site
        .office
        .change_people(&who.name, wish, key.0.as_ref())
        .await?;
    let token = done.token.map_or(0, |token| token.0);
    if done.repeated {
        return Err(Problem::made_before(format!(
            "This request has made token {token} before. Its secret was shown then and is not kept; \
             revoke it and make another when it is lost."
        )));
    }
    tracing::info!(by = who.name, account = name, token, "token made");
    let answer = TokenMade {
        token,
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
    key: Key,
    Named(path): Named<TokenPath>,
) -> Result<StatusCode, Problem> {
    let number = i64::try_from(path.token.0).unwrap_or(i64::MAX);
    let tokens = site.office.tokens().await?;
    let Some(token) = tokens.iter().find(|token| token.id.0 == number) else {
        return Err(Problem::missing(format!(
            "There is no token {number} in force."
        )));
    };
    if matches!(who.by, By::Token) && token.account == who.name {
        let detail = "A token cannot revoke those of its own account: it might be the last way in. \
                      Sign in, or ask another manager.";
        return Err(Problem::conflict(detail));
    }
    let wish = PeopleWish::EndToken(TokenId(number));
    let done = site
        .office
        .change_people(&who.name, wish, key.0.as_ref())
        .await?;
    if !done.repeated {
        tracing::info!(by = who.name, token = number, "token revoked");
    }
    Ok(StatusCode::NO_CONTENT)
}
