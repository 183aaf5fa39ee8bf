//! Moves everything the shop remembers from one database to another, and proves that it arrived.
//!
//! Rows travel as the program's own types, so that each engine keeps them in its own way. A table is proven by its
//! number of rows and by a sum over all of them that does not depend on their order.

use sea_orm::{
    ActiveModelTrait, EntityTrait, IntoActiveModel, Iterable as _, ModelTrait, PaginatorTrait,
    PrimaryKeyToColumn as _, QueryOrder,
};
use sha2::{Digest as _, Sha256};

use super::entities::{
    bill, customer, knife, lease, ledger, link, message, model, note, operation, outbox, photo, piece, plan,
    request, setting, setup_check, shop_change, staff, staff_session, visit, wheel,
};
use super::{ConnectionTrait, Engine, Result, Statement, Store, StoreError, WriteTx};

/// Rows per statement: PostgreSQL allows 65,535 parameters in one, and the widest table has about thirty columns.
const ROWS: u64 = 500;

/// One table as it is: how many rows, and a sum over their contents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableSum {
    /// The table.
    pub table: String,
    /// How many rows it has.
    pub rows: u64,
    /// The sum of the first 128 bits of the SHA-256 of each row, modulo 2¹²⁸.
    pub sum: u128,
}

/// Calls a macro with every table, those first that others refer to.
macro_rules! every_table {
    ($each:ident) => {
        $each!(
            setting,
            request,
            customer,
            model,
            wheel,
            staff,
            staff_session,
            knife,
            visit,
            piece,
            photo,
            bill,
            operation,
            note,
            message,
            plan,
            lease,
            ledger,
            link,
            outbox,
            setup_check,
            shop_change
        )
    };
}

/// Sums up every table. Two databases that hold the same have the same sums, whichever engine they are on.
pub async fn sums(db: &impl ConnectionTrait) -> Result<Vec<TableSum>> {
    let mut sums = Vec::new();
    macro_rules! sum {
        ($($table:ident),*) => { $( sums.push(sum_of::<$table::Entity, _>(db).await?); )* };
    }
    every_table!(sum);
    Ok(sums)
}

/// Copies every table from `from` into `to`, which must be migrated and empty, and compares. All or nothing: an error
/// or a difference leaves `to` empty.
///
/// # Errors
/// [`StoreError::Address`] when `to` holds something already or when the copy differs, naming the table.
pub async fn copy(from: &Store, to: &Store) -> Result<Vec<TableSum>> {
    let tx = to.begin_write().await?;
    let held = sums(&tx).await?;
    if let Some(held) = held.iter().find(|held| held.rows > 0) {
        return Err(StoreError::Address(format!(
            "the database to move into is not empty: its table {} has {} rows",
            held.table, held.rows
        )));
    }
    // Read in one transaction: what is written meanwhile is seen by all tables or by none.
    let source = from.begin_write().await?;
    macro_rules! copy_all {
        ($($table:ident),*) => { $( copy_table::<$table::Entity, $table::ActiveModel>(&source, &tx).await?; )* };
    }
    every_table!(copy_all);
    if to.engine() == Engine::Postgres {
        for table in ["ledger", "outbox"] {
            // The next number goes on after the highest one that was copied.
            let next = format!(
                "SELECT setval(pg_get_serial_sequence('{table}', 'seq'), COALESCE(MAX(seq), 0) + 1, false) FROM {table}"
            );
            tx.query_one_raw(Statement::from_string(tx.get_database_backend(), next)).await?;
        }
    }
    let (there, here) = (sums(&source).await?, sums(&tx).await?);
    for (there, here) in there.iter().zip(&here) {
        if there != here {
            return Err(StoreError::Address(format!(
                "the table {} did not arrive as it was ({} rows of {}); nothing was moved",
                there.table, here.rows, there.rows
            )));
        }
    }
    tx.commit().await?;
    Ok(here)
}

async fn copy_table<E, A>(from: &WriteTx, to: &WriteTx) -> Result<()>
where
    E: EntityTrait,
    A: ActiveModelTrait<Entity = E> + Send,
    E::Model: IntoActiveModel<A> + ModelTrait<Entity = E> + Sync,
{
    let mut pages = ordered::<E>().paginate(from, ROWS);
    while let Some(rows) = pages.fetch_and_next().await? {
        if !rows.is_empty() {
            E::insert_many(rows.into_iter().map(IntoActiveModel::into_active_model))
                .exec_without_returning(to)
                .await?;
        }
    }
    Ok(())
}

async fn sum_of<E, C>(db: &C) -> Result<TableSum>
where
    E: EntityTrait,
    C: ConnectionTrait,
    E::Model: Sync,
{
    let table = E::default().table_name().to_owned();
    let (mut rows, mut sum) = (0, 0_u128);
    let mut pages = ordered::<E>().paginate(db, ROWS);
    while let Some(page) = pages.fetch_and_next().await? {
        for row in &page {
            let hash = Sha256::digest(format!("{row:?}"));
            let mut first = [0; 16];
            first.copy_from_slice(&hash[..16]);
            sum = sum.wrapping_add(u128::from_be_bytes(first));
            rows += 1;
        }
    }
    Ok(TableSum { table, rows, sum })
}

/// All rows by primary key, so that pages neither overlap nor leave gaps.
fn ordered<E: EntityTrait>() -> sea_orm::Select<E> {
    E::PrimaryKey::iter().fold(E::find(), |select, key| select.order_by_asc(key.into_column()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::migrate;

    #[tokio::test]
    async fn no_table_of_the_database_is_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let store =
            Store::open(&format!("sqlite:{}", folder.path().join("w.db").display()), 1).await.unwrap();
        migrate::up(&store).await.unwrap();
        let tables = Statement::from_string(
            store.read().get_database_backend(),
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'seaql_migrations' ORDER BY name",
        );
        let rows = store.read().query_all_raw(tables).await.unwrap();
        let present: Vec<String> = rows.iter().map(|row| row.try_get_by_index(0).unwrap()).collect();
        let mut copied: Vec<String> =
            sums(store.read()).await.unwrap().into_iter().map(|sum| sum.table).collect();
        copied.sort();
        assert_eq!(copied, present);
        store.close().await.unwrap();
    }
}
