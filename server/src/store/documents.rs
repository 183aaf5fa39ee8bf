//! Which of the shop's types are kept as settings documents, and the one only planning needs.

use assess::{Knowledge, Typical};
use sea_orm::{ConnectionTrait, Statement};
use serde::{Deserialize, Serialize};
use shop::bench::Bench;
use shop::hours::Hours;
use shop::ids::StaffId;
use shop::price::PriceList;
use shop::profile::Profile;

use super::settings::{self, Document};
use super::staff::{Role, Roles};
use super::{Result, StoreError, knives, wheels};

impl Document for Profile {
    const NAME: &'static str = "shop";
}

impl Document for Bench {
    const NAME: &'static str = "bench";
}

impl Document for PriceList {
    const NAME: &'static str = "prices";
}

/// Somebody at the bench, as the plan sees them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hand {
    /// Who.
    pub staff: StaffId,
    /// What they may do that not everybody may: `serrate`.
    pub skills: Vec<String>,
    /// Their own hours; `None`: the bench's.
    pub hours: Option<Hours>,
}

/// Everybody who works at the bench.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Crew {
    /// One entry per person.
    pub hands: Vec<Hand>,
}

impl Document for Crew {
    const NAME: &'static str = "crew";
}

/// Of which roles a second step is asked when they sign in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SecondStepFor(pub Roles);

impl SecondStepFor {
    /// Whether it is asked of somebody who has these roles; the owner has all of them.
    pub fn is_asked_of(self, roles: Roles) -> bool {
        let asked = [(self.0.desk, Role::Desk), (self.0.bench, Role::Bench), (self.0.owner, Role::Owner)];
        asked.into_iter().any(|(asked, role)| asked && roles.include(role))
    }
}

impl Document for SecondStepFor {
    const NAME: &'static str = "second-step";
}

impl Document for craft::Rates {
    const NAME: &'static str = "rates";
}

impl Document for Typical {
    const NAME: &'static str = "typical";
}

/// A document the shop cannot do without.
async fn needed<T: Document>(db: &impl ConnectionTrait) -> Result<T> {
    let found = settings::get::<T>(db).await?;
    Ok(found.ok_or(StoreError::NotSetUp { missing: T::NAME })?.value)
}

/// The shop's name, hours and rules.
pub async fn profile(db: &impl ConnectionTrait) -> Result<Profile> {
    needed(db).await
}

/// A number that grows with every change to a document, a model or a wheel, and with nothing else: all their versions
/// together. What was read at one stamp is true for as long as the stamp is the same.
pub async fn stamp(db: &impl ConnectionTrait) -> Result<i64> {
    let versions = Statement::from_string(
        db.get_database_backend(),
        "SELECT CAST((SELECT COALESCE(SUM(version), 0) FROM setting) + (SELECT COALESCE(SUM(version), 0) FROM model) \
         + (SELECT COALESCE(SUM(version), 0) FROM wheel) AS BIGINT)",
    );
    let row = db.query_one_raw(versions).await?;
    Ok(row.map(|row| row.try_get_by_index(0)).transpose()?.unwrap_or(0))
}

/// Everything an assessment of a knife needs.
pub async fn knowledge(db: &impl ConnectionTrait) -> Result<Knowledge> {
    let rates = settings::get::<craft::Rates>(db).await?.map(|found| found.value).unwrap_or_default();
    Ok(Knowledge {
        models: knives::models(db).await?,
        prices: needed(db).await?,
        rates: craft::Rates { abrasives: Vec::new(), ..rates },
        bench: needed(db).await?,
        wheels: wheels::in_use(db).await?.into_iter().map(|known| known.wheel).collect(),
        typical: needed(db).await?,
        per_year: None,
    })
}
