//! Free text the ledger refers to.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "note")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub visit_id: Option<Uuid>,
    #[sea_orm(column_type = "Text")]
    pub body: String,
    pub by_staff: Option<Uuid>,
    pub made_at: DateTimeUtc,
}

impl ActiveModelBehavior for ActiveModel {}
