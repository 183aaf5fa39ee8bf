//! A private link: the hash of its token, what it is for and what it is about.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "link")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub token_sha256: Vec<u8>,
    pub purpose: String,
    pub about: Uuid,
    pub made_at: DateTimeUtc,
    pub expires_at: Option<DateTimeUtc>,
    pub revoked_at: Option<DateTimeUtc>,
}

impl ActiveModelBehavior for ActiveModel {}
