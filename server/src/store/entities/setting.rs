//! One document of the shop's settings.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "setting")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub name: String,
    pub doc: Json,
    pub version: i64,
    pub changed_at: DateTimeUtc,
    pub changed_by: Option<Uuid>,
}

impl ActiveModelBehavior for ActiveModel {}
