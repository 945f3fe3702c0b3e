//! `db`: looking after the daemon's database.

use super::now;
use crate::args::{DbCommand, DbUrl};
use crate::printer::{Printer, counted};
use crate::trouble::{Ended, Trouble};
use std::collections::BTreeMap;
use store::Store;
use workshop::examine;

/// Carries out one call of `db`.
pub(super) fn run(what: DbCommand, printer: &mut Printer) -> Result<Ended, Trouble> {
    let runtime = tokio::runtime::Runtime::new().map_err(Trouble::System)?;
    runtime.block_on(async {
        match what {
            DbCommand::Backup { db, file } => {
                let store = Store::open_as_is(&db.url).await?;
                let report = store.backup(&file).await?;
                let text = format!(
                    "{}: {}, {} bytes\n",
                    file.display(),
                    told(&report.rows),
                    report.bytes
                );
                printer.data(&text)?;
                store.close().await;
                Ok(Ended::Done)
            }
            DbCommand::Restore { db, file } => {
                let report = Store::restore(&file, &db.url).await?;
                printer.data(&format!("restored {}\n", told(&report.rows)))?;
                Ok(Ended::Done)
            }
            DbCommand::Migrate { db } => {
                let store = Store::open(&db.url).await?;
                printer.data("the database is up to date\n")?;
                store.close().await;
                Ok(Ended::Done)
            }
            DbCommand::Doctor { db } => doctor(&db, printer).await,
        }
    })
}

/// How many rows of how many tables.
fn told(rows: &BTreeMap<&'static str, u64>) -> String {
    let all: u64 = rows.values().sum();
    format!("{all} rows of {}", counted(rows.len(), "table", "tables"))
}

async fn doctor(db: &DbUrl, printer: &mut Printer) -> Result<Ended, Trouble> {
    let store = Store::open_as_is(&db.url).await?;
    let mut troubles = store.examine(now()).await?;
    for name in store.sites().await? {
        let health = examine(&store, &name, now()).await?;
        printer.data(&format!("site {name}: {}\n", health.summary))?;
        troubles.extend(
            health
                .troubles
                .into_iter()
                .map(|trouble| format!("site {name}: {trouble}")),
        );
    }
    store.close().await;
    if troubles.is_empty() {
        printer.data("the database is sound\n")?;
        return Ok(Ended::Done);
    }
    for trouble in &troubles {
        printer.data(&format!("{trouble}\n"))?;
    }
    let count = counted(troubles.len(), "thing is wrong", "things are wrong");
    printer.data(&format!(
        "{count}; restore a backup, or ask for help with this output\n"
    ))?;
    Ok(Ended::NeedsAPerson)
}
