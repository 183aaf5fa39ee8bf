//! Requests, links, settings and the outbox: what holds when two come at once.

use chrono::TimeDelta;
use sea_orm::ConnectionTrait as _;
use serde::{Deserialize, Serialize};
use server::context::Ctx;
use server::post::transport::SendError;
use server::post::worker::{self, Done};
use server::store::links::{self, Found, Purpose};
use server::store::outbox::{self, Standing, Which};
use server::store::requests::{self, Claim, RequestKey};
use server::store::settings::{self, Document};
use server::store::{self, StoreError};
use server::use_cases::housekeeping;
use shop::ledger::{Fact, Who};
use uuid::Uuid;

use crate::on_both_engines;
use crate::test_shop::{Engine, TestShop};

/// Does a piece of work once, as a use case does: claim, work, settle, commit.
async fn book(ctx: Ctx, key: RequestKey) -> store::Result<(Uuid, bool)> {
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(outcome) = requests::claim(&tx, &key, ctx.now()).await? {
        return Ok((outcome, false));
    }
    let outcome = ctx.new_id();
    requests::settle(&tx, &key, outcome).await?;
    tx.commit().await?;
    Ok((outcome, true))
}

on_both_engines!(ten_posts_with_one_key_book_once, async |shop: &TestShop| {
    let key = RequestKey::parse("book", &RequestKey::fresh()).unwrap();
    let posts: Vec<_> = (0..10).map(|_| tokio::spawn(book(shop.ctx.clone(), key.clone()))).collect();
    let mut outcomes = Vec::new();
    for post in posts {
        outcomes.push(post.await.unwrap().unwrap());
    }
    assert_eq!(outcomes.iter().filter(|(_, made)| *made).count(), 1, "{outcomes:?}");
    assert!(outcomes.iter().all(|(id, _)| *id == outcomes[0].0), "{outcomes:?}");
    assert_eq!(requests::outcome(shop.ctx.store.read(), &key).await.unwrap(), Some(outcomes[0].0));
});

on_both_engines!(work_that_failed_leaves_its_key_free, async |shop: &TestShop| {
    let key = RequestKey::parse("book", &RequestKey::fresh()).unwrap();
    let tx = shop.ctx.store.begin_write().await.unwrap();
    assert_eq!(requests::claim(&tx, &key, shop.ctx.now()).await.unwrap(), Claim::New);
    drop(tx);
    let (_, made) = book(shop.ctx.clone(), key.clone()).await.unwrap();
    assert!(made, "the first try left nothing behind");
    let same_key = RequestKey::parse("cancel", "0123456789abcdef").unwrap();
    let other_kind = RequestKey::parse("book", "0123456789abcdef").unwrap();
    assert!(book(shop.ctx.clone(), same_key).await.unwrap().1);
    assert!(
        book(shop.ctx.clone(), other_kind).await.unwrap().1,
        "a key never answers for another kind of form"
    );
});

on_both_engines!(the_database_itself_refuses_to_change_the_ledger, async |shop: &TestShop| {
    crate::workshop::furnish(shop).await;
    let id = crate::workshop::agreed(shop, &[crate::workshop::plain_route()]).await;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    store::ledger::add(&tx, id, Who::Program, &Fact::Confirmed, None, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    for statement in ["UPDATE ledger SET visit_id = visit_id", "DELETE FROM ledger"] {
        let tx = shop.ctx.store.begin_write().await.unwrap();
        let refused = tx.execute_unprepared(statement).await.expect_err(statement);
        assert!(refused.to_string().contains("ledger"), "{statement}: {refused}");
    }
    let entries = store::ledger::of_visit(shop.ctx.store.read(), id).await.unwrap();
    assert_eq!(entries.len(), 1);
});

#[test]
fn a_request_key_is_short_and_plain() {
    assert!(RequestKey::parse("book", &RequestKey::fresh()).is_some());
    for bad in ["", "short", "with spaces in between", "0123456789abcdef'; --", &"a".repeat(65)] {
        assert_eq!(RequestKey::parse("book", bad), None, "{bad}");
    }
}

on_both_engines!(two_hundred_writers_at_once_all_succeed, async |shop: &TestShop| {
    let writers: Vec<_> = (0..200)
        .map(|n| {
            let key = RequestKey::parse("book", &format!("writer-number-{n:04}")).unwrap();
            tokio::spawn(book(shop.ctx.clone(), key))
        })
        .collect();
    for writer in writers {
        assert!(writer.await.unwrap().unwrap().1);
    }
});

on_both_engines!(a_link_opens_for_its_purpose_until_its_day, async |shop: &TestShop| {
    let (ctx, about) = (&shop.ctx, shop.ctx.new_id());
    let tx = ctx.store.begin_write().await.unwrap();
    let end = ctx.now() + TimeDelta::days(30);
    let token = links::make(&tx, ctx.new_id(), Purpose::Visit, about, Some(end), ctx.now()).await.unwrap();
    let knife = links::make(&tx, ctx.new_id(), Purpose::Knife, about, None, ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    let find =
        async |purpose, token: &str| links::find(ctx.store.read(), purpose, token, ctx.now()).await.unwrap();

    let shown = token.to_string();
    assert_eq!(find(Purpose::Visit, &shown).await, Found::Open(about));
    assert_eq!(find(Purpose::Knife, &shown).await, Found::Unknown, "not what it was made for");
    assert_eq!(find(Purpose::Visit, "not a token").await, Found::Unknown);
    assert_eq!(find(Purpose::Visit, &"A".repeat(43)).await, Found::Unknown);

    shop.wait(TimeDelta::days(30));
    assert_eq!(find(Purpose::Visit, &shown).await, Found::Stale(about));
    let knife = knife.to_string();
    assert_eq!(find(Purpose::Knife, &knife).await, Found::Open(about), "this one has no end");

    let tx = ctx.store.begin_write().await.unwrap();
    assert_eq!(links::revoke(&tx, Purpose::Knife, about, ctx.now()).await.unwrap(), 1);
    tx.commit().await.unwrap();
    assert_eq!(find(Purpose::Knife, &knife).await, Found::Stale(about));
});

#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
struct Hours {
    opens: String,
}

impl Document for Hours {
    const NAME: &'static str = "test-hours";
}

on_both_engines!(two_people_cannot_overwrite_each_others_settings, async |shop: &TestShop| {
    let (ctx, who) = (&shop.ctx, shop.ctx.new_id());
    let put = async |hours: &str, version| {
        let tx = ctx.store.begin_write().await.unwrap();
        let hours = Hours { opens: hours.to_owned() };
        let version = settings::put(&tx, &hours, version, Some(who), ctx.now()).await?;
        tx.commit().await?;
        Ok::<_, StoreError>(version)
    };
    let first = settings::get_or_default::<Hours>(ctx.store.read()).await.unwrap();
    assert_eq!((first.value, first.version), (Hours::default(), 0));
    assert_eq!(put("8:00", 0).await.unwrap(), 1);
    assert!(matches!(put("9:00", 0).await, Err(StoreError::Stale { .. })), "both began from nothing");
    assert_eq!(put("7:00", 1).await.unwrap(), 2);
    assert!(matches!(put("9:00", 1).await, Err(StoreError::Stale { .. })));
    let now = settings::get::<Hours>(ctx.store.read()).await.unwrap().unwrap();
    assert_eq!((now.value.opens.as_str(), now.version), ("7:00", 2));
});

on_both_engines!(two_workers_send_one_notice_once, async |shop: &TestShop| {
    for n in 0..12 {
        shop.queue(None, &format!("notice {n}")).await;
    }
    let workers: Vec<_> = (0..4)
        .map(|_| {
            let (ctx, transport) = (shop.ctx.clone(), shop.transport.clone());
            tokio::spawn(async move { worker::work_through(&ctx, &transport).await.unwrap() })
        })
        .collect();
    for worker in workers {
        worker.await.unwrap();
    }
    shop.send_post().await;
    let mut sent = shop.sent();
    sent.sort();
    sent.dedup();
    assert_eq!(sent.len(), 12, "every notice");
    assert_eq!(shop.mail.out().len(), 12, "and none of them twice");
});

on_both_engines!(a_dead_workers_notice_is_taken_up_when_its_lease_is_over, async |shop: &TestShop| {
    let id = shop.queue(None, "kept back").await;
    let lease = TimeDelta::minutes(3);
    let now = shop.ctx.now();
    let taken = outbox::claim(&shop.ctx.store, now, now + lease, 9).await.unwrap();
    assert_eq!(taken.iter().map(|kept| (kept.id, kept.attempts)).collect::<Vec<_>>(), [(id, 1)]);
    assert_eq!(shop.send_post().await, 0, "it is somebody else's for now");
    shop.wait(lease);
    assert_eq!(shop.send_post().await, 0, "up to the very end");
    shop.wait(TimeDelta::seconds(1));
    assert_eq!(shop.send_post().await, 1);
    let out = shop.mail.out();
    assert_eq!(out[0].notice.attempts, 2);
    let message_id = format!("Message-ID: <{id}@shop.example.com>");
    assert!(out[0].mail.contains(&message_id), "a repeat looks like a repeat: {}", out[0].mail);
});

on_both_engines!(what_was_claimed_and_not_tried_can_be_given_back, async |shop: &TestShop| {
    let visit = Some(shop.ctx.new_id());
    shop.queue(visit, "booked").await;
    shop.queue(visit, "ready").await;
    shop.queue(None, "another").await;
    let now = shop.ctx.now();
    let until = now + TimeDelta::minutes(3);
    let taken = outbox::claim(&shop.ctx.store, now, until, 9).await.unwrap();
    assert_eq!(taken.iter().map(|kept| kept.subject.as_str()).collect::<Vec<_>>(), ["booked", "another"]);
    assert_eq!(shop.send_post().await, 0, "one is taken, the other waits for it");
    let ids: Vec<_> = taken.iter().map(|kept| kept.id).collect();
    for whose in [until + TimeDelta::seconds(1), until] {
        let tx = shop.ctx.store.begin_write().await.unwrap();
        outbox::give_back(&tx, &ids, whose).await.unwrap();
        tx.commit().await.unwrap();
        assert_eq!(shop.send_post().await, if whose == until { 3 } else { 0 }, "only its own lease");
    }
    assert!(shop.mail.out().iter().all(|out| out.notice.attempts == 1), "taking it was no try");
});

on_both_engines!(notices_about_one_visit_keep_their_order, async |shop: &TestShop| {
    let visit = Some(shop.ctx.new_id());
    shop.queue(visit, "booked").await;
    // A clock that is set back must not turn the order round.
    shop.wait(TimeDelta::hours(-2));
    shop.queue(visit, "ready").await;
    shop.wait(TimeDelta::hours(2));
    shop.mail.fail_next(SendError::Later("busy".to_owned()));
    let done = worker::work_through(&shop.ctx, &shop.transport).await.unwrap();
    assert_eq!(done, Done { failed: 1, ..Done::default() }, "the second waits for the first");
    shop.queue(None, "another").await;
    assert_eq!(shop.send_post().await, 1);
    assert_eq!(shop.sent(), ["another"], "what is about something else does not wait");
    shop.wait(TimeDelta::minutes(1));
    shop.send_post().await;
    let about: Vec<_> = shop.sent().into_iter().filter(|subject| subject != "another").collect();
    assert_eq!(about, ["booked", "ready"]);
});

on_both_engines!(
    a_busy_mail_host_is_tried_again_later_and_a_refused_address_is_given_up,
    async |shop: &TestShop| {
        let id = shop.queue(None, "hello").await;
        let standing = async || outbox::by_id(shop.ctx.store.read(), id).await.unwrap().unwrap().standing;
        shop.mail.fail_next(SendError::Later("451 busy".to_owned()));
        let done = worker::work_through(&shop.ctx, &shop.transport).await.unwrap();
        assert_eq!(done, Done { failed: 1, ..Done::default() });
        let Standing::Waiting { due_at, failed } = standing().await else { panic!("not waiting") };
        let pause = (due_at - shop.ctx.now()).num_milliseconds();
        assert!((24_000..=36_000).contains(&pause), "half a minute with some jitter: {pause} ms");
        assert_eq!(failed.as_deref(), Some("451 busy"));
        assert_eq!(shop.send_post().await, 0, "not before its time");

        shop.wait(TimeDelta::minutes(1));
        shop.mail.fail_next(SendError::Never("550 no such mailbox".to_owned()));
        let done = worker::work_through(&shop.ctx, &shop.transport).await.unwrap();
        assert_eq!(done, Done { given_up: 1, ..Done::default() });
        let now = shop.ctx.now();
        assert_eq!(standing().await, Standing::GivenUp { at: now, why: "550 no such mailbox".to_owned() });
        shop.wait(TimeDelta::days(1));
        assert_eq!(shop.send_post().await, 0);

        let tx = shop.ctx.store.begin_write().await.unwrap();
        assert!(outbox::revive(&tx, id, shop.ctx.now()).await.unwrap());
        assert!(!outbox::revive(&tx, id, shop.ctx.now()).await.unwrap(), "it is no longer given up");
        tx.commit().await.unwrap();
        assert_eq!(shop.send_post().await, 1);
        assert_eq!(standing().await, Standing::Sent { at: shop.ctx.now() });
    }
);

on_both_engines!(a_mail_host_that_stays_away_is_given_up_after_three_days, async |shop: &TestShop| {
    let id = shop.queue(None, "hello").await;
    let began = shop.ctx.now();
    for _ in 0..200 {
        shop.mail.fail_next(SendError::Later("no route".to_owned()));
    }
    while let Standing::Waiting { due_at, .. } =
        outbox::by_id(shop.ctx.store.read(), id).await.unwrap().unwrap().standing
    {
        shop.ctx.clock.set(due_at.max(shop.ctx.now()));
        shop.send_post().await;
    }
    let days = (shop.ctx.now() - began).num_hours() as f64 / 24.0;
    assert!((2.3..3.7).contains(&days), "{days} days");
});

on_both_engines!(nothing_is_queued_by_a_transaction_that_is_dropped, async |shop: &TestShop| {
    let letter = server::post::notice::Notice::Trial { by: "Ann".to_owned() }.letter("ann@example.com", "");
    let tx = shop.ctx.store.begin_write().await.unwrap();
    outbox::queue(&tx, shop.ctx.new_id(), letter, shop.ctx.now()).await.unwrap();
    drop(tx);
    assert_eq!(shop.send_post().await, 0);
    assert_eq!(outbox::count(shop.ctx.store.read(), Which::All).await.unwrap(), 0);
});

on_both_engines!(what_has_run_out_is_swept_out_and_nothing_else, async |shop: &TestShop| {
    let key = |name: &str| RequestKey::parse("book", name).unwrap();
    book(shop.ctx.clone(), key("an-old-request-key")).await.unwrap();
    shop.sign_in_as(store::staff::Roles::OWNER).await;
    shop.wait(TimeDelta::days(29));
    book(shop.ctx.clone(), key("a-new-request-key")).await.unwrap();
    assert_eq!(housekeeping::sweep(&shop.ctx).await.unwrap(), 0);
    shop.wait(TimeDelta::days(1) + TimeDelta::seconds(1));
    assert_eq!(housekeeping::sweep(&shop.ctx).await.unwrap(), 2, "a key and a session");
    let outcome = async |name: &str| requests::outcome(shop.ctx.store.read(), &key(name)).await.unwrap();
    assert_eq!(outcome("an-old-request-key").await, None);
    assert!(outcome("a-new-request-key").await.is_some());
});

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn after_a_commit_that_failed_what_is_committed_is_there() {
    let shop = TestShop::open(Engine::Sqlite).await.unwrap();
    // It fails and leaves its transaction open, because a row refers to nothing. (A disk that is really full is `make soak`'s.)
    let tx = shop.ctx.store.begin_write().await.unwrap();
    tx.execute_unprepared("PRAGMA defer_foreign_keys = ON").await.unwrap();
    let orphan = "INSERT INTO message (id, visit_id, body, at) \
                  VALUES (x'00112233445566778899aabbccddeeff', x'00112233445566778899aabbccddee00', 'x', '2026-03-02 08:00:00')";
    tx.execute_unprepared(orphan).await.unwrap();
    assert!(tx.commit().await.is_err());
    for n in 0..5 {
        let subject = format!("letter {n}");
        shop.queue(None, &subject).await;
        let seen = outbox::list(shop.ctx.store.read(), Which::Waiting, None, 300).await.unwrap();
        assert!(seen.iter().any(|kept| kept.subject == subject), "{subject} was committed and is not there");
    }
    shop.send_post().await;
    shop.close().await;
}
