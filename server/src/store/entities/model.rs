//! One design of ours.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "model")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub mark: String,
    pub name: String,
    pub current: bool,
    pub drawing: Json,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
