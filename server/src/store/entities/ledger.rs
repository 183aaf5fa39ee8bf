//! One entry of the ledger.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "ledger")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub seq: i64,
    #[sea_orm(unique)]
    pub id: Uuid,
    pub visit_id: Uuid,
    pub piece_id: Option<Uuid>,
    pub knife_id: Option<Uuid>,
    pub at: DateTimeUtc,
    pub who: Json,
    pub fact: Json,
    pub why: Option<Uuid>,
}

impl ActiveModelBehavior for ActiveModel {}
