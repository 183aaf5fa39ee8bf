//! One picture; the bytes lie in the photo store.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "photo")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub piece_id: Option<Uuid>,
    pub draft_key: Option<String>,
    pub draft_place: Option<i32>,
    pub kind: String,
    pub width: i32,
    pub height: i32,
    pub n_bytes: i64,
    pub made_at: DateTimeUtc,
}

impl ActiveModelBehavior for ActiveModel {}
