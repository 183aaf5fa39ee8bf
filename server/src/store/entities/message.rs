//! One letter of a visit's questions and answers.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "message")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub visit_id: Uuid,
    pub by_staff: Option<Uuid>,
    #[sea_orm(column_type = "Text")]
    pub body: String,
    pub at: DateTimeUtc,
}

impl ActiveModelBehavior for ActiveModel {}
