//! One checklist that was ticked before work began in a setup.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "setup_check")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub station: String,
    pub setup: String,
    pub wheel_id: Option<Uuid>,
    pub by_staff: Uuid,
    pub at: DateTimeUtc,
    pub ticks: Json,
}

impl ActiveModelBehavior for ActiveModel {}
