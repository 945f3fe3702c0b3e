//! People, tokens and sessions of a site, read; `people` changes them. Secrets never come here: hashes
//! only.

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

    /// All tokens, without their secrets.
    ///
    /// # Errors
    /// [`OfficeError`] when the store cannot be read.
    pub async fn tokens(&self) -> Result<Vec<Token>, OfficeError> {
        Ok(self.site().tokens().await?)
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
}
