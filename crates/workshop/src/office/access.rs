//! People, tokens and sessions of a site. Secrets never come here: hashes only.

use super::Office;
use super::error::OfficeError;
use units::Moment;

pub use store::{Account, Session, Token, TokenId};

/// What identifies a token or a session: the hash of its secret.
type Hash = [u8; 32];

impl Office {
    /// Everybody who has an account, by name.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn accounts(&self) -> Result<Vec<Account>, OfficeError> {
        Ok(self.site().accounts().await?)
    }

    /// One account.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn account(&self, name: &str) -> Result<Option<Account>, OfficeError> {
        Ok(self.site().account(name).await?)
    }

    /// Adds an account, or changes the one of that name. The sessions of one that is disabled end.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be written.
    pub async fn put_account(&self, account: &Account) -> Result<(), OfficeError> {
        self.site().put_account(account, self.now()).await?;
        if account.disabled {
            self.site().end_sessions_of(&account.name).await?;
        }
        Ok(())
    }

    /// Adds a token that acts for an account.
    ///
    /// # Errors
    /// [`OfficeError`] when there is no such account or the store cannot be written.
    pub async fn add_token(
        &self,
        hash: &Hash,
        account: &str,
        label: &str,
        expires: Option<Moment>,
    ) -> Result<TokenId, OfficeError> {
        let now = self.now();
        Ok(self
            .site()
            .add_token(hash, account, label, now, expires)
            .await?)
    }

    /// All tokens, without their secrets.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn tokens(&self) -> Result<Vec<Token>, OfficeError> {
        Ok(self.site().tokens().await?)
    }

    /// Revokes a token; whether there was one to revoke.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be written.
    pub async fn revoke_token(&self, token: TokenId) -> Result<bool, OfficeError> {
        Ok(self.site().revoke_token(token, self.now()).await?)
    }

    /// Whose token it is, when it is in force and its account is not disabled.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn account_of_token(&self, hash: &Hash) -> Result<Option<Account>, OfficeError> {
        Ok(self.site().account_of_token(hash, self.now()).await?)
    }

    /// Begins a session in a browser.
    ///
    /// # Errors
    /// [`OfficeError`] when there is no such account or the store cannot be written.
    pub async fn add_session(
        &self,
        hash: &Hash,
        account: &str,
        csrf: &Hash,
        expires: Moment,
    ) -> Result<(), OfficeError> {
        let now = self.now();
        Ok(self
            .site()
            .add_session(hash, account, csrf, now, expires)
            .await?)
    }

    /// A session that has not ended.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn session(&self, hash: &Hash) -> Result<Option<Session>, OfficeError> {
        Ok(self.site().session(hash, self.now()).await?)
    }

    /// Ends a session; whether there was one.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be written.
    pub async fn end_session(&self, hash: &Hash) -> Result<bool, OfficeError> {
        Ok(self.site().end_session(hash).await?)
    }

    /// Ends all sessions of an account; how many there were.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be written.
    pub async fn end_sessions_of(&self, account: &str) -> Result<u64, OfficeError> {
        Ok(self.site().end_sessions_of(account).await?)
    }
}
