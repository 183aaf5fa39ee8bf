//! Somebody who works in the shop.

use sea_orm::entity::prelude::*;

#[sea_orm::model]
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "staff")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    #[sea_orm(unique)]
    pub sign_in_name: String,
    pub full_name: String,
    pub desk: bool,
    pub bench: bool,
    pub owner: bool,
    pub password_hash: String,
    pub must_change_password: bool,
    pub added_at: DateTimeUtc,
    pub left_at: Option<DateTimeUtc>,
    pub version: i64,
    pub second_step_key: Option<Vec<u8>>,
    pub second_step_used: Option<i64>,
    pub one_time_until: Option<DateTimeUtc>,
    #[sea_orm(has_many)]
    pub sessions: HasMany<super::staff_session::Entity>,
}

impl ActiveModelBehavior for ActiveModel {}
