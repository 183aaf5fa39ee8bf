//! One wheel, stone or belt.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "wheel")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub mark: String,
    pub station: String,
    pub setup: String,
    pub body: Json,
    pub retired_at: Option<DateTimeUtc>,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
