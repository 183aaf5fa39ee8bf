//! One numbered bill.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "bill")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub number: i64,
    pub visit_id: Uuid,
    pub issued_at: DateTimeUtc,
    pub lines: Json,
    pub total_minor: i64,
    pub tax_minor: i64,
    pub cancels: Option<Uuid>,
}

impl ActiveModelBehavior for ActiveModel {}
