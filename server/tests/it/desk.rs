//! Receiving, and the desk's list and its one field, as a browser without JavaScript sees them; and short ways to knives that other
//! tests begin with.

use chrono::TimeDelta;
use server::store::staff::Roles;
use server::store::{knives, ledger, operations, outbox, pieces, visits};
use shop::ledger::Fact;
use shop::piece::{PieceState, WaitsOn};
use shop::read::{Piece, Visit};
use shop::tag::Tag;

use crate::form::between;
use crate::on_both_engines;
use crate::test_shop::{Answer, TestShop};
use crate::workshop::furnish;

/// Opens the demo shop and signs in somebody of the desk.
pub(crate) async fn open_shop(shop: &TestShop) {
    furnish(shop).await;
    shop.sign_in_as(Roles::OWNER).await;
}

/// Books dull plain knives of 210 mm, fetched at the counter, for somebody with this mail address.
pub(crate) async fn book(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    send_booking(shop, email, names).await.expect(303);
    let newest = visits::open(shop.ctx.store.read()).await.unwrap();
    newest.into_iter().max_by_key(|v| v.id).expect("a visit")
}

/// The same, and what is answered to it.
pub(crate) async fn send_booking(shop: &TestShop, email: &str, names: &[&str]) -> Answer {
    let page = shop.get("/book").await.expect(200);
    let key = between(&page.body, "name=\"key\" value=\"", "\"").to_owned();
    let mut fields: Vec<(String, String)> = [
        ("key", key.as_str()),
        ("arrival", "post"),
        ("packing", "true"),
        ("back", "counter"),
        ("name", "Ines Example"),
        ("email", email),
        ("declared", ""),
        ("refused", "back"),
        ("do", "book"),
    ]
    .iter()
    .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()))
    .collect();
    for (i, name) in names.iter().enumerate() {
        let knife = [
            ("place", (i + 1).to_string()),
            ("model", "other".to_owned()),
            ("make", (*name).to_owned()),
            ("edge", "double".to_owned()),
            ("length", "210".to_owned()),
            ("dull", "true".to_owned()),
        ];
        fields.extend(knife.into_iter().map(|(n, v)| (format!("knives[{i}][{n}]"), v)));
    }
    send(shop, "/book", &fields).await
}

pub(crate) async fn send(shop: &TestShop, path: &str, fields: &[(String, String)]) -> Answer {
    let fields: Vec<_> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    shop.post(path, &fields).await
}

pub(crate) fn href(visit: &Visit) -> String {
    format!("/desk/visit/{}", visit.reference.plain())
}

pub(crate) async fn again(shop: &TestShop, visit: &Visit) -> Visit {
    visits::get(shop.ctx.store.read(), visit.id).await.unwrap().unwrap()
}

/// The receiving form as the page gives it, every piece as in `came`.
async fn receiving(shop: &TestShop, visit: &Visit, came: &[&str]) -> Vec<(String, String)> {
    let page = shop.get(&href(visit)).await.expect(200);
    let form = between(&page.body, "/receive\"", "</form>");
    let mut fields = vec![
        ("key".to_owned(), between(form, "name=\"key\" value=\"", "\"").to_owned()),
        ("version".to_owned(), between(form, "name=\"version\" value=\"", "\"").to_owned()),
        ("do".to_owned(), "receive".to_owned()),
    ];
    for (i, (piece, came)) in visit.pieces.iter().zip(came).enumerate() {
        fields.push((format!("pieces[{i}][id]"), piece.id.to_string()));
        fields.push((format!("pieces[{i}][came]"), (*came).to_owned()));
    }
    fields
}

pub(crate) async fn receive(shop: &TestShop, visit: &Visit, came: &[&str]) -> Visit {
    let form = receiving(shop, visit, came).await;
    send(shop, &format!("{}/receive", href(visit)), &form).await.expect(303);
    again(shop, visit).await
}

/// Books and receives.
pub(crate) async fn in_hand(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    let visit = book(shop, email, names).await;
    receive(shop, &visit, &vec!["here"; names.len()]).await
}

/// A sheet for a sound, dull blade.
pub(crate) fn sheet(piece: &Piece) -> Vec<(String, String)> {
    [
        ("version", piece.version.to_string().as_str()),
        ("edge", "double"),
        ("length", "210"),
        ("height", "46"),
        ("spine", "2,4"),
        ("behind_edge", "0.35"),
        ("angle", "15"),
        ("land", "0.03"),
        ("do", "save"),
    ]
    .iter()
    .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()))
    .collect()
}

pub(crate) fn with(mut form: Vec<(String, String)>, more: &[(&str, &str)]) -> Vec<(String, String)> {
    for (name, value) in more {
        if !name.ends_with("[]") {
            form.retain(|(n, _)| n != name);
        }
        form.push(((*name).to_owned(), (*value).to_owned()));
    }
    form
}

pub(crate) async fn measure(shop: &TestShop, piece: &Piece, more: &[(&str, &str)]) -> Answer {
    send(shop, &format!("/desk/piece/{}/inspect", piece.id), &with(sheet(piece), more)).await
}

pub(crate) async fn piece_now(shop: &TestShop, piece: &Piece) -> Piece {
    pieces::get(shop.ctx.store.read(), piece.id).await.unwrap().unwrap()
}

/// Puts pieces where the bench would have brought them.
pub(crate) async fn put_in(shop: &TestShop, visit: &Visit, state: PieceState) -> Visit {
    let tx = shop.ctx.store.begin_write().await.unwrap();
    for mut piece in visits::get(&tx, visit.id).await.unwrap().unwrap().pieces {
        piece.state = state;
        pieces::save(&tx, &piece).await.unwrap();
    }
    tx.commit().await.unwrap();
    again(shop, visit).await
}

pub(crate) async fn facts(shop: &TestShop, piece: &Piece) -> Vec<Fact> {
    let entries = ledger::of_piece(shop.ctx.store.read(), piece.id).await.unwrap();
    entries.into_iter().map(|e| e.fact).collect()
}

pub(crate) async fn notices(shop: &TestShop, visit: &Visit) -> Vec<String> {
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    kept.into_iter().map(|n| n.kind).collect()
}

/// Measured, agreed and ready.
pub(crate) async fn ready(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    let visit = in_hand(shop, email, names).await;
    for piece in &visit.pieces {
        measure(shop, piece, &[]).await.expect(303);
    }
    put_in(shop, &visit, PieceState::Ready).await
}

on_both_engines!(a_partial_parcel_is_received_piece_by_piece, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer", "Petty", "Boner"]).await;
    let visit = receive(shop, &visit, &["here", "missing", "later"]).await;
    let states: Vec<_> = visit.pieces.iter().map(|p| p.state).collect();
    assert_eq!(states, [PieceState::InHand, PieceState::Missing, PieceState::Expected]);
    assert!(visit.confirmed_at.is_some(), "whoever sends the knives has meant the booking");
    let (tag, knife) = (visit.pieces[0].tag.unwrap(), visit.pieces[0].knife.unwrap());
    let known = knives::by_tag(shop.ctx.store.read(), tag).await.unwrap().unwrap();
    assert_eq!((known.id, known.owner), (knife, Some(visit.customer)));
    assert!(
        facts(shop, &visit.pieces[0])
            .await
            .iter()
            .any(|f| matches!(f, Fact::Received { tag: t, unbooked: false } if *t == tag.plain()))
    );
    assert_eq!(facts(shop, &visit.pieces[1]).await.last(), Some(&Fact::Missing));
    assert_eq!(notices(shop, &visit).await, ["booked", "received"]);
    // The page offers the tag, and still the one that has not come; the missing one may turn up yet.
    let page = shop.get(&href(&visit)).await.expect(200).says(&tag.to_string()).says("Receive");
    assert!(!page.body.contains(&visit.pieces[0].id.to_string().repeat(2)));
    shop.get(&format!("{}/tags", href(&visit))).await.expect(200).says(&tag.to_string()).says("<svg");
    // It turned up.
    let visit = {
        let form = receiving(shop, &visit, &["", "here", "here"]).await;
        send(shop, &format!("{}/receive", href(&visit)), &form).await.expect(303);
        again(shop, &visit).await
    };
    assert!(visit.pieces.iter().all(|p| p.state == PieceState::InHand && p.tag.is_some()));
    shop.send_post().await;
});

on_both_engines!(a_double_click_receives_once, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    let form = receiving(shop, &visit, &["here"]).await;
    let path = format!("{}/receive", href(&visit));
    let (one, two) = tokio::join!(send(shop, &path, &form), send(shop, &path, &form));
    one.expect(303);
    two.expect(303);
    send(shop, &path, &form).await.expect(303);
    assert_eq!(knives::count(shop.ctx.store.read()).await.unwrap(), 1);
    assert_eq!(notices(shop, &visit).await, ["booked", "received"]);
    shop.send_post().await;
});

on_both_engines!(whoever_was_slower_receives_nothing_and_loses_nothing_typed, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer", "Petty"]).await;
    let slow = receiving(shop, &visit, &["missing", "missing"]).await;
    receive(shop, &visit, &["here", "later"]).await;
    let slow = with(slow, &[("note", "The box was wet & torn")]);
    send(shop, &format!("{}/receive", href(&visit)), &slow)
        .await
        .expect(422)
        .says("Somebody changed this visit")
        .says("The box was wet &amp; torn");
    let visit = again(shop, &visit).await;
    assert_eq!(visit.pieces[0].state, PieceState::InHand);
    assert_eq!(visit.pieces[1].state, PieceState::Expected);
    shop.send_post().await;
});

on_both_engines!(the_price_of_an_unbooked_knife_is_always_asked_for, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    let form = receiving(shop, &visit, &["here"]).await;
    let path = format!("{}/receive", href(&visit));
    // One more row, without losing what was decided.
    let more = send(shop, &path, &with(form.clone(), &[("do", "more")])).await.expect(200);
    assert!(
        more.body.contains("knives[0][model]") && more.body.contains("value=\"here\" checked"),
        "{}",
        more.body
    );
    let unbooked = [
        ("knives[0][model]", "other"),
        ("knives[0][make]", "Found one"),
        ("knives[0][edge]", "double"),
        ("knives[0][length]", "8 in"),
        ("knives[0][dull]", "true"),
    ];
    send(
        shop,
        &path,
        &with(form.clone(), &[("knives[0][model]", "other"), ("knives[0][make]", "Found one")]),
    )
    .await
    .expect(422)
    .says("Please choose the drawing that looks like the edge.");
    send(shop, &path, &with(form, &unbooked)).await.expect(303);
    let visit = again(shop, &visit).await;
    let extra = &visit.pieces[1];
    assert_eq!((extra.number, extra.state), (2, PieceState::InHand));
    assert!((extra.booked.length_mm - 203.2).abs() < 1e-9);
    assert!(!operations::of_piece(shop.ctx.store.read(), extra.id).await.unwrap().is_empty());
    // Sound and dull: the booked knife is agreed by itself, the unbooked one is not.
    measure(shop, &visit.pieces[0], &[]).await.expect(303);
    measure(shop, extra, &[]).await.expect(303);
    assert_eq!(piece_now(shop, &visit.pieces[0]).await.state, PieceState::Agreed);
    let extra = piece_now(shop, extra).await;
    assert_eq!(extra.state, PieceState::Measured);
    assert_eq!(extra.waiting.unwrap().on, WaitsOn::Customer);
    shop.send_post().await;
});

on_both_engines!(a_piece_whose_tag_is_gone_is_held_and_never_guessed, async |shop: &TestShop| {
    open_shop(shop).await;
    let first = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let old_tag = first.pieces[0].tag.unwrap();
    put_in(shop, &first, PieceState::Home).await;
    // Somebody else sends a knife that wears that tag, and one whose tag is gone.
    let visit = book(shop, "jo@example.org", &["Slicer", "Slicer"]).await;
    let form = receiving(shop, &visit, &["here", "here"]).await;
    let wrong = with(form.clone(), &[("pieces[0][tag]", "7KM2Q0")]);
    let path = format!("{}/receive", href(&visit));
    send(shop, &path, &wrong).await.expect(422).says("This tag cannot be right");
    let form = with(form, &[("pieces[0][tag]", &old_tag.to_string()), ("pieces[1][lost]", "true")]);
    send(shop, &path, &form).await.expect(303);
    let visit = again(shop, &visit).await;
    for piece in &visit.pieces {
        assert_eq!((piece.state, piece.tag, piece.knife), (PieceState::InHand, None, None));
        assert_eq!(piece.waiting.as_ref().unwrap().on, WaitsOn::Shop);
    }
    measure(shop, &visit.pieces[0], &[]).await.expect(422).says("This piece has no tag");
    // The first changed hands; that has to be said expressly.
    let tell = |piece: &Piece, more: &[(&str, &str)]| {
        let n = piece.number;
        let mut fields = vec![("version".to_owned(), piece.version.to_string())];
        fields.extend(more.iter().map(|(name, v)| (format!("which[{n}][{name}]"), (*v).to_owned())));
        (format!("/desk/piece/{}/tag", piece.id), fields)
    };
    let code = old_tag.plain();
    let (path, fields) = tell(&visit.pieces[0], &[("tag", &code)]);
    send(shop, &path, &fields).await.expect(422).says("somebody else");
    let (path, fields) =
        tell(&visit.pieces[0], &[("tag", &code), ("sold_on", "true"), ("note", "showed the bill")]);
    send(shop, &path, &fields).await.expect(303);
    let (path, fields) = tell(&visit.pieces[1], &[("tag", &code)]);
    send(shop, &path, &fields).await.expect(422).says("already");
    let (path, fields) = tell(&visit.pieces[1], &[("tag", "")]);
    send(shop, &path, &fields).await.expect(303);
    let visit = again(shop, &visit).await;
    assert_eq!(visit.pieces[0].tag, Some(old_tag));
    assert_eq!(visit.pieces[0].knife, first.pieces[0].knife);
    assert!(visit.pieces[1].tag.is_some_and(|t| t != old_tag));
    assert!(visit.pieces.iter().all(|p| p.waiting.is_none()));
    let knife = knives::by_tag(shop.ctx.store.read(), old_tag).await.unwrap().unwrap();
    assert_eq!(knife.owner, Some(visit.customer));
    shop.send_post().await;
});

on_both_engines!(the_one_field_finds_every_code_and_catches_slips, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let piece = &visit.pieces[0];
    let tag = piece.tag.unwrap().plain();
    let inspect = format!("/desk/piece/{}/inspect", piece.id);
    assert_eq!(shop.get(&format!("/desk?code={tag}")).await.expect(303).header("location"), inspect);
    let sloppy = format!("{}-{}", &tag[..4], &tag[4..]).to_lowercase();
    assert_eq!(shop.get(&format!("/desk?code={sloppy}")).await.expect(303).header("location"), inspect);
    let reference = visit.reference.plain();
    assert_eq!(
        shop.get(&format!("/desk?code={reference}")).await.expect(303).header("location"),
        href(&visit)
    );
    // One character misread: the check character catches it.
    let other = if tag.starts_with('7') { '8' } else { '7' };
    shop.get(&format!("/desk?code={other}{}", &tag[1..])).await.expect(200).says("misread");
    shop.get("/desk?code=ABC").await.expect(200).says("A tag has 6 characters");
    shop.get(&format!("/desk?code={}", Tag::from_serial(4711).plain()))
        .await
        .expect(200)
        .says("Nothing of ours");
    put_in(shop, &visit, PieceState::Home).await;
    let knife = format!("/desk/knife/{tag}");
    assert_eq!(shop.get(&format!("/desk?code={tag}")).await.expect(303).header("location"), knife);
    shop.get(&knife).await.expect(200).says("Slicer").says("Ann Example");
    shop.get("/knives?q=slic").await.expect(200).says(&piece.tag.unwrap().to_string());
    shop.send_post().await;
});

on_both_engines!(the_desk_lists_what_needs_a_hand_by_urgency, async |shop: &TestShop| {
    open_shop(shop).await;
    shop.get("/desk").await.expect(200).says("Nothing needs a hand");
    let expected = book(shop, "late@example.org", &["Late one"]).await;
    shop.get("/desk").await.expect(200).says("Expected later");
    in_hand(shop, "ines@example.org", &["Slicer"]).await;
    let asked = in_hand(shop, "jo@example.org", &["Petty"]).await;
    measure(shop, &asked.pieces[0], &[("ask", "true")]).await.expect(303);
    let page = shop.get("/desk").await.expect(200).says("To measure").says("Waiting for customers");
    assert!(!page.body.contains("To receive"), "the post takes two days");
    shop.wait(TimeDelta::days(6));
    let page = shop.get("/desk").await.expect(200).says("To receive").says("should have come");
    let at = |words: &str| page.body.find(words).unwrap_or_else(|| panic!("{words}: {}", page.body));
    assert!(at("id=\"receive\"") < at("id=\"inspect\"") && at("id=\"inspect\"") < at("id=\"customer\""));
    page.says(&expected.reference.to_string());
    shop.send_post().await;
});

on_both_engines!(the_desk_is_closed_to_strangers, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    shop.forget_cookies();
    for path in [
        "/desk".to_owned(),
        href(&visit),
        format!("/desk/piece/{}/inspect", visit.pieces[0].id),
        "/knives".into(),
    ] {
        assert!(shop.get(&path).await.expect(303).header("location").starts_with("/sign-in"), "{path}");
    }
    shop.send_post().await;
});
