//! One plan, as it was published.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "plan")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub made_at: DateTimeUtc,
    pub origin: DateTimeUtc,
    pub body: Json,
}

impl ActiveModelBehavior for ActiveModel {}
