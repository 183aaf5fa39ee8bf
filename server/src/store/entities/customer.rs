//! One person who brings or sends knives.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "customer")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub name: String,
    pub email: String,
    pub phone: String,
    pub address: Option<Json>,
    pub made_at: DateTimeUtc,
    pub erased_at: Option<DateTimeUtc>,
    pub language: String,
    pub remind_since: Option<DateTimeUtc>,
    pub reminded_at: Option<DateTimeUtc>,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
