//! One change of the shop's set-up.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "shop_change")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub subject: String,
    pub about: Option<Uuid>,
    pub lines: Json,
    pub by_staff: Option<Uuid>,
    pub at: DateTimeUtc,
}

impl ActiveModelBehavior for ActiveModel {}
