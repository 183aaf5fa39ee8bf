//! An open session: the hash of its cookie, whose it is, and how long it lasts.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "staff_session")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub token_sha256: Vec<u8>,
    pub staff_id: Uuid,
    pub opened_at: DateTimeUtc,
    pub seen_at: DateTimeUtc,
    pub expires_at: DateTimeUtc,
    pub device: Option<String>,
    #[sea_orm(belongs_to, from = "staff_id", to = "id")]
    pub staff: BelongsTo<super::staff::Entity>,
}

impl ActiveModelBehavior for ActiveModel {}
