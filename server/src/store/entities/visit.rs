//! One booking.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "visit")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub reference: String,
    pub customer_id: Uuid,
    pub arrival: String,
    pub slot: Option<String>,
    pub back_by_post: bool,
    pub declared_minor: i64,
    pub rush: bool,
    pub recycle_refused: bool,
    pub begin_early: bool,
    pub promise_at: DateTimeUtc,
    pub booked_at: DateTimeUtc,
    pub confirmed_at: Option<DateTimeUtc>,
    pub cancelled_at: Option<DateTimeUtc>,
    pub received_at: Option<DateTimeUtc>,
    pub ready_at: Option<DateTimeUtc>,
    pub carrier: Option<String>,
    pub parcel_number: Option<String>,
    pub paid_minor: Option<i64>,
    pub paid_how: Option<String>,
    pub paid_at: Option<DateTimeUtc>,
    pub language: String,
    pub complaint_of: Option<Uuid>,
    pub version: i64,
}

impl ActiveModelBehavior for ActiveModel {}
