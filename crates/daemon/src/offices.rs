//! The offices of a daemon: its own site's, and those whose plan jobs it has taken.

use std::collections::BTreeMap;
use std::sync::Arc;
use store::{Site, Store};
use tokio::sync::Mutex;
use workshop::{Clock, Office, OfficeError};

/// Offices by site. Clones are the same.
#[derive(Clone)]
pub(crate) struct Offices {
    own: Arc<Vec<Office>>,
    others: Arc<Mutex<BTreeMap<String, Office>>>,
    clock: Clock,
}

impl Offices {
    /// Opens the sites this daemon serves; one that is not there yet is made.
    pub(crate) async fn open(
        store: &Store,
        names: &[String],
        clock: Clock,
    ) -> Result<Offices, OfficeError> {
        let mut own = Vec::new();
        for name in names {
            let site = store.site(name, clock()).await?;
            own.push(Office::open(site, Clock::clone(&clock)).await?);
        }
        Ok(Offices {
            own: Arc::new(own),
            others: Arc::default(),
            clock,
        })
    }

    /// The sites this daemon serves.
    pub(crate) fn own(&self) -> Vec<Office> {
        self.own.to_vec()
    }

    /// The office of any site of the database, as it is now.
    pub(crate) async fn of(&self, site: &Site) -> Result<Office, OfficeError> {
        let office = match self.own.iter().find(|office| office.name() == site.name()) {
            Some(office) => office.clone(),
            None => {
                let mut others = self.others.lock().await;
                match others.get(site.name()) {
                    Some(office) => office.clone(),
                    None => {
                        let office = Office::open(site.clone(), Clock::clone(&self.clock)).await?;
                        others.insert(site.name().to_owned(), office.clone());
                        office
                    }
                }
            }
        };
        office.catch_up().await?;
        Ok(office)
    }
}
