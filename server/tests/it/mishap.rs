//! Lost and damaged while with us: in the ledger, out of the plan, told to the customer once, and set right by another entry.

use chrono::TimeDelta;
use server::store::{ledger, operations, outbox, pieces};
use server::use_cases::hands::Refused;
use server::use_cases::{confirm_setup, mishap, start_operation, stop_operation};
use shop::ids::PieceId;
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Amends, Harm, PieceState};
use shop::read::{OperationState, Piece, Visit};

use crate::desk::{again, href, in_hand, open_shop};
use crate::on_both_engines;
use crate::test_shop::TestShop;
use crate::workshop::{agreed, all_ticks, furnish, key, pieces_of, plain_route, plan, route_of, somebody};

const WORDS: &str = "It slipped from the rack and the last 3 mm of the tip are off.";

async fn now(shop: &TestShop, id: PieceId) -> Piece {
    pieces::get(shop.ctx.store.read(), id).await.unwrap().unwrap()
}

async fn facts(shop: &TestShop, id: PieceId) -> Vec<Fact> {
    ledger::of_piece(shop.ctx.store.read(), id).await.unwrap().into_iter().map(|e| e.fact).collect()
}

async fn kinds(shop: &TestShop, visit: &Visit) -> Vec<String> {
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    kept.into_iter().map(|n| n.kind).collect()
}

/// Presses a button of a piece's harm forms.
async fn press(shop: &TestShop, piece: &Piece, fields: &[(&str, &str)]) -> crate::test_shop::Answer {
    let version = piece.version.to_string();
    let mut all = vec![("version", version.as_str())];
    all.extend_from_slice(fields);
    shop.post(&format!("/desk/piece/{}/harm", piece.id), &all).await
}

on_both_engines!(a_lost_knife_leaves_the_plan_is_told_and_is_found_again, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer", "Paring knife"]).await;
    shop.send_post().await;
    let slicer = now(shop, visit.pieces[0].id).await;
    let lost = [("do", "tell"), ("harm[1][what]", "lost"), ("harm[1][words]", WORDS)];
    press(shop, &slicer, &[("do", "tell"), ("harm[1][words]", WORDS)])
        .await
        .expect(422)
        .says("Please choose what happened")
        .says(WORDS);
    press(shop, &slicer, &[("do", "tell"), ("harm[1][what]", "lost"), ("harm[1][words]", "gone")])
        .await
        .expect(422)
        .says("a sentence or two");
    press(shop, &slicer, &lost).await.expect(303);
    let gone = now(shop, slicer.id).await;
    assert_eq!((gone.state, gone.mishaps.len()), (PieceState::Lost, 1));
    let stood = PieceState::InHand;
    assert!(facts(shop, slicer.id).await.contains(&Fact::Harmed { harm: Harm::Lost, stood }));
    press(shop, &slicer, &lost).await.expect(422).says("Somebody changed this piece");
    let before = again(shop, &visit).await.price().low;
    assert_eq!(before, now(shop, visit.pieces[1].id).await.price().low, "nothing is asked for what is lost");
    shop.get(&href(&visit)).await.expect(200).says("Lost here").says(WORDS).says("It is found");
    shop.get("/desk").await.expect(200).says("lost here");
    // Not yet told: the notice leaves after a while.
    assert_eq!(shop.send_post().await, 0);
    shop.wait(mishap::GRACE);
    assert_eq!(shop.send_post().await, 1);
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    let told = kept.last().unwrap();
    assert_eq!(told.kind, "lost");
    assert!(told.subject.chars().count() < 60, "{}", told.subject);
    assert!(told.text.replace('\n', " ").contains(WORDS) && told.html.contains("last 3 mm"), "{}", told.text);
    // It turns up: it stands where it stood, and the customer who was told hears of it.
    let entry = gone.mishaps[0].entry.to_string();
    press(shop, &gone, &[("do", "right"), ("entry", &entry)]).await.expect(303);
    let found = now(shop, slicer.id).await;
    assert_eq!((found.state, found.mishaps.len()), (PieceState::InHand, 0));
    let last = facts(shop, slicer.id).await.pop().unwrap();
    assert_eq!(last, Fact::SetRight { entry: gone.mishaps[0].entry, harm: Harm::Lost });
    assert_eq!(kinds(shop, &visit).await.last().unwrap(), "righted");
    press(shop, &found, &[("do", "right"), ("entry", &entry)]).await.expect(404);
    shop.send_post().await;
});

on_both_engines!(a_wrong_press_is_taken_back_without_a_word, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer", "Paring knife"]).await;
    shop.send_post().await;
    for (i, what) in ["lost", "damaged"].into_iter().enumerate() {
        let piece = now(shop, visit.pieces[i].id).await;
        let fields =
            [("do", "tell"), (&*format!("harm[{i}][what]"), what), (&*format!("harm[{i}][words]"), WORDS)];
        press(shop, &piece, &fields).await.expect(303);
    }
    // One is taken back; the other's notice still leaves.
    let damaged = now(shop, visit.pieces[1].id).await;
    let entry = damaged.mishaps[0].entry.to_string();
    press(shop, &damaged, &[("do", "right"), ("entry", &entry)]).await.expect(303);
    let sound = now(shop, damaged.id).await;
    assert_eq!((sound.state, sound.waiting), (PieceState::InHand, None));
    shop.wait(mishap::GRACE);
    shop.send_post().await;
    assert_eq!(kinds(shop, &visit).await, ["booked", "received", "lost"]);
});

on_both_engines!(damage_at_the_bench_waits_for_the_maker, async |shop: &TestShop| {
    furnish(shop).await;
    let ann = somebody(shop, "ann").await;
    let id = agreed(shop, &[plain_route()]).await;
    let piece = pieces_of(shop, id).await.remove(0);
    let bevel = route_of(shop, piece.id).await.remove(0);
    confirm_setup::confirm_setup(&shop.ctx, &ann, &key("setup"), "bevel", "d15", &all_ticks(), "")
        .await
        .unwrap();
    start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await.unwrap();
    let stop = async |key, words: &str| {
        stop_operation::stop_operation(&shop.ctx, &ann, key, bevel.id, "damaged", words).await
    };
    let first = key("stop");
    let short = stop(&first, "oh").await;
    assert!(matches!(&short, Err(Refused::Fields(e)) if e.of("note").is_some()), "{short:?}");
    let same = key("stop");
    stop(&same, WORDS).await.unwrap();
    stop(&same, WORDS).await.unwrap();
    let held = now(shop, piece.id).await;
    assert!(held.awaits_decision() && held.mishaps.len() == 1, "a second press writes nothing: {held:?}");
    assert_eq!(
        operations::get(shop.ctx.store.read(), bevel.id).await.unwrap().unwrap().state,
        OperationState::Open
    );
    let again = start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await;
    assert!(matches!(again, Err(Refused::First(_))), "{again:?}");
    // The work goes on; what happened stays on the piece until it goes home.
    stop_operation::goes_on(&shop.ctx, &ann, &key("go"), piece.id, "", "The tip is redrawn.").await.unwrap();
    let on = now(shop, piece.id).await;
    assert!(on.waiting.is_none() && on.mishaps.len() == 1);
    start_operation::start_operation(&shop.ctx, &ann, &key("start"), bevel.id).await.unwrap();
    shop.wait(mishap::GRACE + TimeDelta::seconds(1));
    shop.send_post().await;
    // Lost in mid-work: the begun step is put down and it is out of the plan; found, it is back in it.
    let planned = async || plan(shop).await.jobs.values().any(|job| job.piece == piece.id);
    assert!(planned().await);
    stop_operation::stop_operation(&shop.ctx, &ann, &key("stop"), bevel.id, "lost", WORDS).await.unwrap();
    assert!(!planned().await);
    let lost = now(shop, piece.id).await;
    mishap::set_right(&shop.ctx, &ann, piece.id, lost.version, lost.mishaps[1].entry).await.unwrap();
    assert!(planned().await);
    assert_eq!(now(shop, piece.id).await.state, PieceState::AtBench);
    shop.send_post().await;
});

on_both_engines!(
    a_damaged_finished_knife_is_not_ready_until_decided_and_may_be_stopped,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let ann = somebody(shop, "bea").await;
        let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
        let tx = shop.ctx.store.begin_write().await.unwrap();
        let mut piece = pieces::get(&tx, visit.pieces[0].id).await.unwrap().unwrap();
        piece.state = PieceState::Finished;
        pieces::save(&tx, &piece).await.unwrap();
        tx.commit().await.unwrap();
        let piece = now(shop, piece.id).await;
        mishap::report(&shop.ctx, &ann, piece.id, piece.version, Harm::Damaged, WORDS).await.unwrap();
        let held = now(shop, piece.id).await;
        assert_eq!(held.state, PieceState::Finished);
        let why = "The blade is bent and would not be safe to use any more.";
        press(shop, &held, &[("do", "stop"), ("stop[1][words]", "no")]).await.expect(422).says("a sentence");
        press(shop, &held, &[("do", "stop"), ("stop[1][words]", why)]).await.expect(303);
        let stopped = now(shop, piece.id).await;
        assert_eq!((stopped.state, stopped.turned_down.as_deref()), (PieceState::TurnedDown, Some(why)));
        shop.get(&format!("{}/hand-back", href(&visit)))
            .await
            .expect(200)
            .says("Damaged here, not settled: It slipped");
        // What was stopped for it stays stopped.
        let entry = stopped.mishaps[0].entry.to_string();
        press(shop, &stopped, &[("do", "right"), ("entry", &entry)])
            .await
            .expect(422)
            .says("goes home as it is");
        let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
        let text = kept.last().unwrap().text.replace('\n', " ");
        assert!(text.contains("as it is now") && text.contains(why), "{text}");
        shop.wait(mishap::GRACE);
        shop.send_post().await;
    }
);

on_both_engines!(a_lost_knife_is_settled_told_once_and_its_visit_is_over, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    shop.send_post().await;
    let slicer = now(shop, visit.pieces[0].id).await;
    press(shop, &slicer, &[("do", "tell"), ("harm[1][what]", "lost"), ("harm[1][words]", WORDS)])
        .await
        .expect(303);
    shop.wait(mishap::GRACE);
    assert_eq!(shop.send_post().await, 1);
    let lost = now(shop, slicer.id).await;
    shop.get("/desk").await.expect(200).says("settle it with the customer");
    let words = "We have paid you what it was worth to you, as we agreed by telephone.";
    let form = |what, amount, words| {
        [
            ("do", "settle"),
            ("settle[1][what]", what),
            ("settle[1][amount]", amount),
            ("settle[1][words]", words),
        ]
    };
    press(shop, &lost, &form("", "8o", "paid"))
        .await
        .expect(422)
        .says("Please choose how it was settled.")
        .says("as a number")
        .says("a sentence or two")
        .says("8o");
    press(shop, &lost, &form("paid", "", words)).await.expect(422).says("how much is paid").says(words);
    press(shop, &lost, &form("paid", "80", words)).await.expect(303);
    press(shop, &lost, &form("paid", "80", words)).await.expect(422).says("Somebody changed this piece");
    let settled = now(shop, slicer.id).await;
    assert_eq!(settled.state, PieceState::Settled);
    let harm = settled.mishaps[0].entry;
    let paid = |amount| Fact::Settled { harm, amends: Amends::Paid, amount: Some(Money(amount)) };
    assert_eq!(facts(shop, slicer.id).await.pop().unwrap(), paid(8_000));
    assert!(!shop.get("/desk").await.expect(200).body.contains(&visit.reference.to_string()), "it is over");
    shop.get(&href(&visit)).await.expect(200).says("Settled: paid, 80.00").says(words);
    // Nothing brings it back into the plan by a press.
    let entry = harm.to_string();
    press(shop, &settled, &[("do", "right"), ("entry", &entry)])
        .await
        .expect(422)
        .says("settled with the customer");
    // Something else was agreed before the customer was told: they hear the last word only, the ledger has both.
    press(shop, &settled, &form("paid", "95,50", words)).await.expect(303);
    assert_eq!(facts(shop, slicer.id).await.pop().unwrap(), paid(9_550));
    assert_eq!(shop.send_post().await, 0, "not told yet");
    shop.wait(mishap::GRACE);
    assert_eq!(shop.send_post().await, 1);
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    assert_eq!(kept.iter().filter(|n| n.kind == "settled").count(), 1);
    let told = kept.last().unwrap();
    assert!(told.subject.chars().count() < 60, "{}", told.subject);
    let text = told.text.replace('\n', " ");
    assert!(text.contains(words) && text.contains("95.50") && !text.contains("80.00"), "{text}");
    assert_eq!(again(shop, &visit).await.price().high, Money(0), "nothing is asked for it");
});

on_both_engines!(a_spoilt_knife_is_settled_and_goes_home_or_not_at_all, async |shop: &TestShop| {
    open_shop(shop).await;
    let bea = somebody(shop, "bea").await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer", "Paring knife"]).await;
    let settle = |amends| mishap::Agreed {
        amends,
        amount: None,
        words: "A new one of the same kind is on its way to you.".to_owned(),
        stays: amends == Amends::Replaced,
    };
    for (piece, amends) in visit.pieces.iter().zip([Amends::Replaced, Amends::Other]) {
        let version = now(shop, piece.id).await.version;
        let none = mishap::settle(&shop.ctx, &bea, piece.id, version, settle(amends)).await;
        assert!(matches!(none, Err(Refused::Gone)), "nothing came to it: {none:?}");
        mishap::report(&shop.ctx, &bea, piece.id, version, Harm::Damaged, WORDS).await.unwrap();
        let held = now(shop, piece.id).await;
        let early = mishap::settle(&shop.ctx, &bea, piece.id, held.version, settle(amends)).await;
        assert!(matches!(early, Err(Refused::First(_))), "{early:?}");
        press(shop, &held, &[("do", "stop"), (&*format!("stop[{}][words]", held.number), WORDS)])
            .await
            .expect(303);
    }
    shop.get(&format!("{}/hand-back", href(&visit))).await.expect(200).says("not settled");
    for (piece, amends) in visit.pieces.iter().zip([Amends::Replaced, Amends::Other]) {
        let version = now(shop, piece.id).await.version;
        mishap::settle(&shop.ctx, &bea, piece.id, version, settle(amends)).await.unwrap();
    }
    let stand = [now(shop, visit.pieces[0].id).await.state, now(shop, visit.pieces[1].id).await.state];
    assert_eq!(stand, [PieceState::Settled, PieceState::TurnedDown], "one stays here, one goes home");
    shop.wait(mishap::GRACE);
    shop.send_post().await;
    assert_eq!(kinds(shop, &visit).await.iter().filter(|kind| *kind == "settled").count(), 2);
    shop.get(&format!("{}/hand-back", href(&visit))).await.expect(200).says("Settled: A new one");
});
