//! What one server does for all, and until when it has said it would.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "lease")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub name: String,
    pub holder: Uuid,
    pub held_until: DateTimeUtc,
}

impl ActiveModelBehavior for ActiveModel {}
