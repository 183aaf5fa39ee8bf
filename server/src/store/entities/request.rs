//! A form that was sent once and must not act twice.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "request")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub what: String,
    #[sea_orm(primary_key, auto_increment = false)]
    pub key: String,
    pub claimed_at: DateTimeUtc,
    pub outcome: Option<Uuid>,
}

impl ActiveModelBehavior for ActiveModel {}
