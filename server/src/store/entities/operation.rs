//! One step of a piece's route.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "operation")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub piece_id: Uuid,
    pub position: i32,
    pub kind: String,
    pub station: String,
    pub setup: String,
    pub step: Json,
    pub estimated: bool,
    pub state: String,
    pub started_at: Option<DateTimeUtc>,
    pub done_at: Option<DateTimeUtc>,
    pub by_staff: Option<Uuid>,
    pub pin: Option<Json>,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
