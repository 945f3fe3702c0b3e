//! Who may do what: accounts, their tokens and sessions.
//!
//! Passwords, tokens and sessions come here as hashes the caller has worked out. What is kept here
//! lets nobody in.

use crate::engine::{Change, values};
use crate::error::hash;
use crate::{Answer, EventNumber, NewEvent, Site, StoreError};
use units::Moment;

/// Someone, or some program, that may use a site.
#[derive(Clone, PartialEq, Eq)]
pub struct Account {
    /// Its name; not empty.
    pub name: String,
    /// What it may do; not empty. What a role means is for the caller to say.
    pub role: String,
    /// The password's hash as a PHC string; `None` when it cannot sign in with a password.
    pub password: Option<String>,
    /// A disabled account is there for its name's sake only: its tokens and sessions are refused.
    pub disabled: bool,
}

impl std::fmt::Debug for Account {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Account")
            .field("name", &self.name)
            .field("role", &self.role)
            .field("has_password", &self.password.is_some())
            .field("disabled", &self.disabled)
            .finish()
    }
}

/// The number of a token in its site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TokenId(pub i64);

/// A token, without its hash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// Its number.
    pub id: TokenId,
    /// Whose it is.
    pub account: String,
    /// What it is for.
    pub label: String,
    /// When it was made.
    pub created_at: Moment,
    /// From when on it is refused; `None`: never.
    pub expires: Option<Moment>,
    /// When it was revoked, if it was.
    pub revoked_at: Option<Moment>,
}

/// A token to be added.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewToken<'a> {
    /// Its number: the next after [`Site::last_token`].
    pub token: TokenId,
    /// The hash of its secret.
    pub hash: &'a [u8; 32],
    /// Whose it is.
    pub account: &'a str,
    /// What it is for.
    pub label: &'a str,
    /// From when on it is refused; `None`: never.
    pub expires: Option<Moment>,
}

/// A change of who may do what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PeopleChange<'a> {
    /// Adds an account, or changes the one of that name.
    PutAccount {
        /// The account as it is to be.
        account: &'a Account,
        /// Whether whoever is signed in with it is signed out.
        sessions_end: bool,
    },
    /// Adds a token.
    AddToken(NewToken<'a>),
    /// Revokes a token for good.
    RevokeToken(TokenId),
}

/// Someone signed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// Who.
    pub account: String,
    /// The hash of the word its forms must carry.
    pub csrf: [u8; 32],
    /// From when on it is refused.
    pub expires: Moment,
}

type AccountRow = (String, String, Option<String>, bool);

fn account((name, role, password, disabled): AccountRow) -> Account {
    Account {
        name,
        role,
        password,
        disabled,
    }
}

impl Site {
    /// Changes who may do what, and writes `events` and `answers` with it if `expected_last` is the
    /// number of the last event, as [`Site::append`] does. All is written or nothing is.
    ///
    /// # Errors
    /// As [`Site::append`]. [`StoreError::Behind`] also when a token's number is not the next one,
    /// [`StoreError::NoSuchAccount`] and [`StoreError::NoSuchToken`] when there is none,
    /// [`StoreError::Database`] when a name or role is empty or the site has a token of that hash.
    pub async fn change_people(
        &self,
        expected_last: EventNumber,
        events: &[NewEvent],
        answers: &[Answer],
        what: &PeopleChange<'_>,
        now: Moment,
    ) -> Result<EventNumber, StoreError> {
        let mut change = self.store.change().await?;
        // It holds the site's row, so that changes of people come one after the other.
        let appended = self.append_in(&mut change, expected_last, events, answers);
        let changed = match appended.await {
            Ok(last) => {
                let changed = self.change_in(&mut change, expected_last, what, now);
                changed.await.map(|()| last)
            }
            Err(error) => Err(error),
        };
        match changed {
            Ok(last) => {
                self.commit_with_news(change).await?;
                Ok(last)
            }
            Err(error) => {
                // What went wrong matters more than how it was taken back.
                let _ = change.undo().await;
                Err(error)
            }
        }
    }

    async fn change_in(
        &self,
        change: &mut Change,
        before: EventNumber,
        what: &PeopleChange<'_>,
        now: Moment,
    ) -> Result<(), StoreError> {
        match what {
            PeopleChange::PutAccount {
                account,
                sessions_end,
            } => {
                self.put_account_in(change, account, now).await?;
                if *sessions_end {
                    self.end_sessions_in(change, &account.name).await?;
                }
                Ok(())
            }
            PeopleChange::AddToken(token) => self.add_token_in(change, before, token, now).await,
            PeopleChange::RevokeToken(token) => {
                let revoked = change
                    .run(
                        "revoke a token",
                        "UPDATE token SET revoked_at = $3
                         WHERE site = $1 AND token = $2 AND revoked_at IS NULL",
                        values![self.id.0, token.0, now.0],
                    )
                    .await?;
                match revoked {
                    0 => Err(StoreError::NoSuchToken(token.0)),
                    _ => Ok(()),
                }
            }
        }
    }

    async fn put_account_in(
        &self,
        change: &mut Change,
        account: &Account,
        now: Moment,
    ) -> Result<(), StoreError> {
        change
            .run(
                "keep an account",
                "INSERT INTO account
                     (site, name, role, password, disabled, created_at, changed_at)
                 VALUES ($1, $2, $3, $4, $5, $6, $6)
                 ON CONFLICT (site, name) DO UPDATE
                 SET role = excluded.role, password = excluded.password,
                     disabled = excluded.disabled, changed_at = excluded.changed_at",
                values![
                    self.id.0,
                    &account.name,
                    &account.role,
                    account.password.as_deref(),
                    account.disabled,
                    now.0
                ],
            )
            .await?;
        Ok(())
    }

    async fn add_token_in(
        &self,
        change: &mut Change,
        before: EventNumber,
        new: &NewToken<'_>,
        now: Moment,
    ) -> Result<(), StoreError> {
        let there: Option<(String,)> = change
            .row(
                "find an account",
                "SELECT name FROM account WHERE site = $1 AND name = $2",
                values![self.id.0, new.account],
            )
            .await?;
        if there.is_none() {
            return Err(StoreError::NoSuchAccount(new.account.to_owned()));
        }
        let numbered = change
            .run(
                "number a token",
                "UPDATE site SET last_token = $2 WHERE site = $1 AND last_token = $2 - 1",
                values![self.id.0, new.token.0],
            )
            .await?;
        if numbered == 0 {
            return Err(StoreError::Behind { latest: before });
        }
        change
            .run(
                "add a token",
                "INSERT INTO token (site, token, hash, account, label, created_at, expires)
                 VALUES ($1, $2, $3, $4, $5, $6, $7)",
                values![
                    self.id.0,
                    new.token.0,
                    new.hash,
                    new.account,
                    new.label,
                    now.0,
                    new.expires.map(|moment| moment.0)
                ],
            )
            .await?;
        Ok(())
    }

    /// Every account, by name.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn accounts(&self) -> Result<Vec<Account>, StoreError> {
        let mut rows: Vec<AccountRow> = self
            .store
            .rows(
                "list the accounts",
                "SELECT name, role, password, disabled FROM account WHERE site = $1",
                values![self.id.0],
            )
            .await?;
        // Here, because the engines do not order text alike.
        rows.sort_by(|a, b| a.0.cmp(&b.0));
        Ok(rows.into_iter().map(account).collect())
    }

    /// The account of that name, if there is one.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn account(&self, name: &str) -> Result<Option<Account>, StoreError> {
        let row = self
            .store
            .row(
                "find an account",
                "SELECT name, role, password, disabled FROM account
                 WHERE site = $1 AND name = $2",
                values![self.id.0, name],
            )
            .await?;
        Ok(row.map(account))
    }

    /// The number of the token made last; 0 before the first.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn last_token(&self) -> Result<TokenId, StoreError> {
        let sql = "SELECT last_token FROM site WHERE site = $1";
        let row: Option<(i64,)> = self
            .store
            .row("find the last token", sql, values![self.id.0])
            .await?;
        Ok(TokenId(row.map_or(0, |(last,)| last)))
    }

    /// Every token, the revoked and the expired too, in order of their making.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn tokens(&self) -> Result<Vec<Token>, StoreError> {
        type TokenRow = (i64, String, String, i64, Option<i64>, Option<i64>);
        let rows: Vec<TokenRow> = self
            .store
            .rows(
                "list the tokens",
                "SELECT token, account, label, created_at, expires, revoked_at
                 FROM token WHERE site = $1 ORDER BY token",
                values![self.id.0],
            )
            .await?;
        let token = |(id, account, label, created_at, expires, revoked_at): TokenRow| Token {
            id: TokenId(id),
            account,
            label,
            created_at: Moment(created_at),
            expires: expires.map(Moment),
            revoked_at: revoked_at.map(Moment),
        };
        Ok(rows.into_iter().map(token).collect())
    }

    /// Whose token it is; `None` when it is nobody's, has expired or been revoked, or its account
    /// is disabled.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn account_of_token(
        &self,
        token: &[u8; 32],
        now: Moment,
    ) -> Result<Option<Account>, StoreError> {
        let row = self
            .store
            .row(
                "find a token",
                "SELECT account.name, account.role, account.password, account.disabled
                 FROM token JOIN account
                   ON account.site = token.site AND account.name = token.account
                 WHERE token.site = $1 AND token.hash = $2
                   AND token.revoked_at IS NULL
                   AND (token.expires IS NULL OR token.expires > $3)
                   AND NOT account.disabled",
                values![self.id.0, token, now.0],
            )
            .await?;
        Ok(row.map(account))
    }

    /// Begins a session of an account.
    ///
    /// # Errors
    /// [`StoreError::NoSuchAccount`] when there is no such account, [`StoreError::Database`] when
    /// the database cannot be written or the site has a session of that hash.
    pub async fn add_session(
        &self,
        session: &[u8; 32],
        account: &str,
        csrf: &[u8; 32],
        now: Moment,
        expires: Moment,
    ) -> Result<(), StoreError> {
        let mut change = self.store.change().await?;
        let added = change
            .run(
                "begin a session",
                "INSERT INTO session (site, hash, account, csrf, created_at, expires)
                 SELECT site, $2, name, $4, $5, $6 FROM account WHERE site = $1 AND name = $3",
                values![self.id.0, session, account, csrf, now.0, expires.0],
            )
            .await?;
        if added == 0 {
            return Err(StoreError::NoSuchAccount(account.to_owned()));
        }
        // They are refused by now, and nobody will ask for them again.
        change
            .run(
                "end sessions",
                "DELETE FROM session WHERE site = $1 AND expires <= $2",
                values![self.id.0, now.0],
            )
            .await?;
        change.commit().await
    }

    /// The session of that hash; `None` when there is none, it has expired, or its account is
    /// disabled.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be read.
    pub async fn session(
        &self,
        session: &[u8; 32],
        now: Moment,
    ) -> Result<Option<Session>, StoreError> {
        let row: Option<(String, Vec<u8>, i64)> = self
            .store
            .row(
                "find a session",
                "SELECT session.account, session.csrf, session.expires
                 FROM session JOIN account
                   ON account.site = session.site AND account.name = session.account
                 WHERE session.site = $1 AND session.hash = $2 AND session.expires > $3
                   AND NOT account.disabled",
                values![self.id.0, session, now.0],
            )
            .await?;
        row.map(|(account, csrf, expires)| {
            Ok(Session {
                account,
                csrf: hash(csrf)?,
                expires: Moment(expires),
            })
        })
        .transpose()
    }

    /// Ends a session. `false`: there was none.
    ///
    /// # Errors
    /// [`StoreError::Database`] when the database cannot be written.
    pub async fn end_session(&self, session: &[u8; 32]) -> Result<bool, StoreError> {
        let mut change = self.store.change().await?;
        let sql = "DELETE FROM session WHERE site = $1 AND hash = $2";
        let values = values![self.id.0, session];
        let ended = change.run("end a session", sql, values).await?;
        change.commit().await?;
        Ok(ended == 1)
    }

    async fn end_sessions_in(&self, change: &mut Change, account: &str) -> Result<(), StoreError> {
        let sql = "DELETE FROM session WHERE site = $1 AND account = $2";
        let values = values![self.id.0, account];
        change.run("end sessions", sql, values).await?;
        Ok(())
    }
}
