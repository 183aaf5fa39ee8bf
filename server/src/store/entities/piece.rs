//! One knife within one visit.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "piece")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub visit_id: Uuid,
    pub knife_id: Option<Uuid>,
    pub number: i32,
    pub tag: Option<String>,
    pub name: String,
    pub state: String,
    pub waits_on: Option<String>,
    #[sea_orm(column_type = "Text", nullable)]
    pub waits_for: Option<String>,
    pub booked: Json,
    pub estimate: Json,
    pub inspection: Option<Json>,
    pub verdict: Option<Json>,
    pub agreed_minor: Option<i64>,
    #[sea_orm(column_type = "Text", nullable)]
    pub turned_down: Option<String>,
    pub mishaps: Option<Json>,
    pub due_at: DateTimeUtc,
    pub rush: bool,
    pub home_at: Option<DateTimeUtc>,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
