//! Looking for what is wrong with a database.

use crate::engine::{Engine, values};
use crate::{Store, StoreError};
use units::Moment;

/// A question whose every answer, one text per row, is something wrong. The words are the same for
/// both engines.
const QUESTIONS: [(&str, &str); 8] = [
    (
        "check the numbers of events",
        "SELECT 'site ' || site.name || ': the last event is said to be ' || site.last_event
             || ', but there are ' || count(event.event) || ' up to '
             || coalesce(max(event.event), 0)
         FROM site LEFT JOIN event ON event.site = site.site
         GROUP BY site.site, site.name, site.last_event
         HAVING count(event.event) <> site.last_event
             OR coalesce(max(event.event), 0) <> site.last_event",
    ),
    (
        "check the numbers of plans",
        "SELECT 'site ' || site.name || ': the last plan is said to be ' || site.last_plan
             || ', but there are ' || count(plan.plan) || ' up to ' || coalesce(max(plan.plan), 0)
         FROM site LEFT JOIN plan ON plan.site = site.site
         GROUP BY site.site, site.name, site.last_plan
         HAVING coalesce(max(plan.plan), 0) <> site.last_plan",
    ),
    (
        "check the numbers of revisions",
        "SELECT 'site ' || site.name || ': the last revision is said to be ' || site.last_revision
             || ', but there are ' || count(shop_revision.revision) || ' up to '
             || coalesce(max(shop_revision.revision), 0)
         FROM site LEFT JOIN shop_revision ON shop_revision.site = site.site
         GROUP BY site.site, site.name, site.last_revision
         HAVING coalesce(max(shop_revision.revision), 0) <> site.last_revision",
    ),
    (
        "check the plans",
        "SELECT 'site ' || site.name || ': plan ' || plan.plan || ' is not verified'
         FROM plan JOIN site ON site.site = plan.site WHERE NOT plan.verified",
    ),
    (
        "check what plans were made from",
        "SELECT 'site ' || site.name || ': plan ' || plan.plan || ' was made from event '
             || plan.made_from || ', which is not there'
         FROM plan JOIN site ON site.site = plan.site WHERE plan.made_from > site.last_event",
    ),
    (
        "check the revisions of plans",
        "SELECT 'site ' || site.name || ': plan ' || plan.plan || ' was made from revision '
             || plan.revision || ', which is not there'
         FROM plan JOIN site ON site.site = plan.site
         WHERE NOT EXISTS (SELECT 1 FROM shop_revision
             WHERE shop_revision.site = plan.site AND shop_revision.revision = plan.revision)",
    ),
    (
        "check the files of revisions",
        "SELECT 'site ' || site.name || ': file ' || shop_file.name || ' of revision '
             || shop_file.revision || ' has lost its content'
         FROM shop_file JOIN site ON site.site = shop_file.site
         WHERE NOT EXISTS (SELECT 1 FROM file_content
             WHERE file_content.site = shop_file.site
               AND file_content.content = shop_file.content)",
    ),
    (
        "check the tokens",
        "SELECT 'site ' || site.name || ': token ' || token.token || ' is of the account '
             || token.account || ', which is not there'
         FROM token JOIN site ON site.site = token.site
         WHERE NOT EXISTS (SELECT 1 FROM account
             WHERE account.site = token.site AND account.name = token.account)",
    ),
];

impl Store {
    /// What is wrong with the database, in words; nothing when it is sound. Reads all of it, which
    /// takes a while when it is large.
    ///
    /// # Errors
    /// [`StoreError::Database`] when it is so damaged that it cannot be read.
    pub async fn examine(&self, now: Moment) -> Result<Vec<String>, StoreError> {
        let mut wrong = match self.engine() {
            Engine::Sqlite => self.examine_file().await?,
            Engine::Postgres => self.examine_server().await?,
        };
        let (found, known) = (self.schema().await?, self.known_schema());
        if found != known {
            // The questions below are about the tables as this program knows them.
            wrong.push(format!(
                "the tables are of version {found}, this program's are of version {known}"
            ));
            return Ok(wrong);
        }
        for (doing, question) in QUESTIONS {
            let rows: Vec<(String,)> = self.rows(doing, question, &[]).await?;
            wrong.extend(rows.into_iter().map(|(text,)| text));
        }
        let rows: Vec<(String,)> = self
            .rows(
                "check the jobs",
                "SELECT 'site ' || site.name || ': job ' || job.job || ' is still ' || job.worker
                     || '''s, whose time ran out ' || ($1 - job.lease_until) || ' s ago'
                 FROM job JOIN site ON site.site = job.site
                 WHERE job.state = 'taken' AND job.lease_until <= $1",
                values![now.0],
            )
            .await?;
        wrong.extend(rows.into_iter().map(|(text,)| text));
        Ok(wrong)
    }

    /// The newest migration the database has; 0 when it has none of this program's tables.
    async fn schema(&self) -> Result<i64, StoreError> {
        let there = match self.engine() {
            Engine::Sqlite => "SELECT count(*) FROM sqlite_schema WHERE name = '_sqlx_migrations'",
            Engine::Postgres => {
                "SELECT count(*) FROM pg_catalog.pg_class
                 WHERE oid = to_regclass('_sqlx_migrations')"
            }
        };
        let row: Option<(i64,)> = self.row("find the tables' version", there, &[]).await?;
        if row != Some((1,)) {
            return Ok(0);
        }
        let newest = "SELECT coalesce(max(version), 0) FROM _sqlx_migrations WHERE success";
        let row: Option<(i64,)> = self.row("find the tables' version", newest, &[]).await?;
        Ok(row.map_or(0, |(version,)| version))
    }

    async fn examine_file(&self) -> Result<Vec<String>, StoreError> {
        let rows: Vec<(String,)> = self
            .rows("check the file", "PRAGMA integrity_check", &[])
            .await?;
        let mut wrong: Vec<String> = rows
            .into_iter()
            .map(|(text,)| text)
            .filter(|text| text != "ok")
            .collect();
        let sql = "SELECT \"table\", parent, count(*) FROM pragma_foreign_key_check
                   GROUP BY \"table\", parent";
        let rows: Vec<(String, String, i64)> = self.rows("check the keys", sql, &[]).await?;
        wrong.extend(rows.into_iter().map(|(table, parent, count)| {
            format!(
                "rows of the table {table} that refer to nothing in the table {parent}: {count}"
            )
        }));
        Ok(wrong)
    }

    async fn examine_server(&self) -> Result<Vec<String>, StoreError> {
        let sql = "SELECT 'the server''s setting ' || name
                       || ' is off: a power cut may lose what was acknowledged'
                   FROM pg_catalog.pg_settings
                   WHERE name IN ('fsync', 'full_page_writes', 'synchronous_commit')
                     AND setting = 'off'
                   ORDER BY name";
        let mut rows: Vec<(String,)> = self.rows("read the server's settings", sql, &[]).await?;
        let sql = "SELECT 'the database''s encoding is ' || setting
                       || ', which cannot hold every text; it should be UTF8'
                   FROM pg_catalog.pg_settings
                   WHERE name = 'server_encoding' AND setting <> 'UTF8'";
        rows.extend(
            self.rows::<(String,)>("read the database's encoding", sql, &[])
                .await?,
        );
        Ok(rows.into_iter().map(|(text,)| text).collect())
    }
}
