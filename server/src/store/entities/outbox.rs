//! One notice, as it was written, and what became of it.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "outbox")]
pub struct Model {
    #[sea_orm(primary_key)]
    pub seq: i64,
    #[sea_orm(unique)]
    pub id: Uuid,
    pub kind: String,
    pub about: Option<Uuid>,
    pub to_address: String,
    pub to_name: String,
    pub subject: String,
    pub text: String,
    pub html: String,
    pub calendar: Option<String>,
    pub unsubscribe_url: Option<String>,
    pub queued_at: DateTimeUtc,
    pub due_at: DateTimeUtc,
    pub leased_until: Option<DateTimeUtc>,
    pub attempts: i32,
    pub sent_at: Option<DateTimeUtc>,
    pub dead_at: Option<DateTimeUtc>,
    pub last_error: Option<String>,
}

impl ActiveModelBehavior for ActiveModel {}
