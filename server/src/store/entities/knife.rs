//! One physical blade.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "knife")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub tag: String,
    pub name: String,
    pub model_id: Option<Uuid>,
    pub owner_id: Option<Uuid>,
    pub latest: Option<Json>,
    pub made_at: DateTimeUtc,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
