//! A piece that was damaged with us waits for a decision by a word of its own, no longer by the sentence staff read.

use sea_orm_migration::prelude::*;

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

const SENTENCE: &str = "damaged while with us; we decide whether the work goes on";

async fn reword(manager: &SchemaManager<'_>, from: &str, to: &str) -> Result<(), DbErr> {
    let reworded = Query::update()
        .table("piece")
        .value("waits_on", to)
        .and_where(Expr::col("waits_on").eq(from))
        .and_where(Expr::col("waits_for").eq(SENTENCE))
        .to_owned();
    manager.exec_stmt(reworded).await
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        reword(manager, "shop", "decision").await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        reword(manager, "decision", "shop").await
    }
}
