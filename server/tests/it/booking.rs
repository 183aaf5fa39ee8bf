//! Booking a visit and the customer's private page, as a browser without JavaScript sees them.

use axum::body::Body;
use axum::http::{Request, header};
use chrono::TimeDelta;
use image::{ImageFormat, Rgb, RgbImage};
use server::store::{knives, ledger, operations, outbox, photos, pieces, settings, visits};
use server::use_cases::confirm_visit;
use shop::ids::KnifeId;
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{PieceState, Waiting, WaitsOn};
use shop::profile::Profile;
use shop::read::Visit;
use shop::tag::Tag;

use crate::form::between;
use crate::on_both_engines;
use crate::plain_booking;
use crate::test_shop::{Answer, TestShop};
use crate::workshop::furnish;

/// A form as a browser sends it.
#[derive(Debug, Clone)]
pub(crate) struct Form(Vec<(String, String)>);

impl Form {
    /// The form of an open booking page, filled for one knife of another make, by post.
    async fn open(shop: &TestShop) -> Self {
        let page = shop.get("/book").await.expect(200);
        let key = between(&page.body, "name=\"key\" value=\"", "\"").to_owned();
        let fields = [("key", key.as_str())].into_iter().chain(plain_booking::FIELDS.iter().copied());
        Self(fields.map(|(n, v)| (n.to_owned(), v.to_owned())).collect())
    }

    fn set(mut self, name: &str, value: &str) -> Self {
        self.0.retain(|(n, _)| n != name);
        self.0.push((name.to_owned(), value.to_owned()));
        self
    }

    fn without(mut self, name: &str) -> Self {
        self.0.retain(|(n, _)| n != name);
        self
    }

    fn key(&self) -> &str {
        &self.0[0].1
    }

    async fn send(&self, shop: &TestShop) -> Answer {
        let fields: Vec<_> = self.0.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        shop.post("/book", &fields).await
    }

    /// Sends it with files, as `multipart/form-data` (RFC 7578).
    async fn send_with(&self, shop: &TestShop, files: &[(&str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (name, value) in &self.0 {
            body.extend(
                format!("--B\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes(),
            );
        }
        for (name, bytes) in files {
            let head = format!(
                "--B\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"a.jpg\"\r\nContent-Type: image/jpeg\r\n\r\n"
            );
            body.extend(head.bytes());
            body.extend(*bytes);
            body.extend(b"\r\n");
        }
        body.extend(b"--B--\r\n");
        let request = Request::post("/book")
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=B")
            .header("sec-fetch-site", "same-origin")
            .body(Body::from(body))
            .unwrap();
        shop.ask(request).await
    }
}

async fn open_shop(shop: &TestShop) {
    furnish(shop).await;
}

on_both_engines!(a_form_that_was_drawn_for_somebody_else_is_still_ones_own, async |shop: &TestShop| {
    open_shop(shop).await;
    let (first, second) = (shop.get("/book").await.expect(200), shop.get("/book").await.expect(200));
    let key = |page: &Answer| between(&page.body, "name=\"key\" value=\"", "\"").to_owned();
    let nonce = |page: &Answer| between(page.header("content-security-policy"), "'nonce-", "'").to_owned();
    assert_ne!(key(&first), key(&second));
    assert_ne!(nonce(&first), nonce(&second));
    assert!(!second.body.contains(&key(&first)) && !second.body.contains(&nonce(&first)));
    let run = |page: &Answer| page.body.matches(&format!("nonce=\"{}\"", nonce(page))).count();
    assert!(run(&first) > 0);
    assert_eq!(run(&first), run(&second));
    // But for those two it is the same page, with the same headers.
    let plain = |page: &Answer| page.body.replace(&key(page), "KEY").replace(&nonce(page), "NONCE");
    assert_eq!(plain(&first), plain(&second));
    for name in ["content-type", "cache-control", "content-security-policy"] {
        let value = |page: &Answer| page.header(name).replace(&nonce(page), "NONCE");
        assert_eq!(value(&first), value(&second), "{name}");
    }
    // What the shop changes shows at once, and every reader has their own language.
    let now = shop.ctx.now();
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut profile = settings::get::<Profile>(&tx).await.unwrap().unwrap();
    profile.value.currency = "CHF".into();
    settings::put(&tx, &profile.value, profile.version, None, now).await.unwrap();
    tx.commit().await.unwrap();
    let changed = shop.get("/book").await.expect(200).says("CHF");
    assert!(!first.body.contains("CHF"));
    let german = Request::get("/book").header(header::ACCEPT_LANGUAGE, "de");
    let german = shop.ask(german.body(Body::empty()).unwrap()).await.expect(200).says("lang=\"de\"");
    assert_ne!(plain(&german), plain(&changed));
    shop.get("/book").await.expect(200).says("lang=\"en\"");
});

/// Books one knife and gives the path of the private page in the browser that booked.
async fn book(shop: &TestShop, form: &Form) -> String {
    let answer = form.send(shop).await.expect(303);
    answer.header("location").split('?').next().unwrap().to_owned()
}

/// All visits there are.
async fn all_visits(shop: &TestShop) -> Vec<Visit> {
    visits::open(shop.ctx.store.read()).await.unwrap()
}

/// The path of the private page in the newest notice.
async fn mailed_path(shop: &TestShop) -> String {
    let kept = outbox::list(shop.ctx.store.read(), outbox::Which::All, None, 1).await.unwrap();
    let from =
        kept[0].text.find("http://shop.example.com/v/").expect("a link") + "http://shop.example.com".len();
    kept[0].text[from..].split_whitespace().next().unwrap().to_owned()
}

fn jpeg(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    RgbImage::from_pixel(width, height, Rgb([200, 120, 40]))
        .write_to(&mut std::io::Cursor::new(&mut bytes), ImageFormat::Jpeg)
        .unwrap();
    bytes
}

on_both_engines!(a_booking_is_made_whole_and_counts_once_it_is_confirmed, async |shop: &TestShop| {
    open_shop(shop).await;
    let form = Form::open(shop).await;
    let path = book(shop, &form).await;
    let visit = all_visits(shop).await.remove(0);
    assert_eq!(visit.contact.email, "ines@example.org");
    assert_eq!(visit.declared, Money(18_000));
    assert_eq!(visit.confirmed_at, None);
    assert!(visit.promise_at > shop.ctx.now() + TimeDelta::days(3), "{}", visit.promise_at);
    let piece = &visit.pieces[0];
    assert_eq!((piece.state, piece.name.as_str()), (PieceState::Expected, "Coastline Cutlery"));
    let db = shop.ctx.store.read();
    let ops = operations::of_piece(db, piece.id).await.unwrap();
    assert!(!ops.is_empty() && ops.iter().all(|op| op.estimated), "{ops:?}");
    let facts = ledger::of_visit(db, visit.id).await.unwrap();
    assert!(matches!(facts[0].fact, Fact::Booked { .. }));

    // The browser that booked sees it but cannot confirm: the mail address may be a stranger's.
    let page =
        shop.get(&path).await.expect(200).says(&visit.reference.to_string()).says("Look into your mail");
    assert!(!page.body.contains("Confirm my booking"));
    shop.post(&format!("{path}/confirm"), &[]).await.expect(403);

    assert_eq!(shop.send_post().await, 1);
    let mailed = mailed_path(shop).await;
    assert_ne!(mailed, path);
    // Looking changes nothing: mail scanners follow links.
    shop.get(&mailed).await.expect(200).says("Confirm my booking");
    assert_eq!(all_visits(shop).await[0].confirmed_at, None);
    for _ in 0..2 {
        shop.post(&format!("{mailed}/confirm"), &[]).await.expect(303);
    }
    let visit = all_visits(shop).await.remove(0);
    assert_eq!(visit.confirmed_at, Some(shop.ctx.now()));
    let n_confirmed =
        ledger::of_visit(db, visit.id).await.unwrap().iter().filter(|e| e.fact == Fact::Confirmed).count();
    assert_eq!(n_confirmed, 1);
    let page = shop.get(&mailed).await.expect(200);
    assert!(!page.body.contains("Confirm my booking"));
});

on_both_engines!(a_double_click_books_once, async |shop: &TestShop| {
    open_shop(shop).await;
    let form = Form::open(shop).await;
    let (one, two) = tokio::join!(form.send(shop), form.send(shop));
    let again = form.send(shop).await.expect(303);
    for answer in [one.expect(303), two.expect(303), again] {
        let path = answer.header("location").to_owned();
        shop.get(&path).await.expect(200).says("Coastline Cutlery");
    }
    assert_eq!(all_visits(shop).await.len(), 1);
    assert_eq!(shop.send_post().await, 1, "one booking, one notice");
});

on_both_engines!(a_refused_form_keeps_what_was_typed_and_says_what_is_wrong, async |shop: &TestShop| {
    open_shop(shop).await;
    let form = Form::open(shop)
        .await
        .set("knives[0][length]", "7 <b>feet</b>")
        .set("knives[0][note]", "a \"wavy\" </textarea><b>line")
        .set("email", "ines@nowhere")
        .without("packing");
    let page = form.send(shop).await.expect(422);
    let page = page
        .says("value=\"7 &lt;b&gt;feet&lt;/b&gt;\"")
        .says("&lt;/textarea>&lt;b>line")
        .says("value=\"ines@nowhere\"")
        .says("value=\"Ines Example\"")
        .says("Please give the edge as a number")
        .says("That does not look like a mail address")
        .says("Please confirm that you have read how to pack")
        .says("href=\"#knives-0-length\"");
    assert_eq!(
        between(&page.body, "name=\"key\" value=\"", "\""),
        form.key(),
        "the key stays the form’s own"
    );
    assert!(all_visits(shop).await.is_empty());
    // Put right, the same form books.
    form.set("knives[0][length]", "210")
        .set("email", "ines@example.org")
        .set("packing", "true")
        .send(shop)
        .await
        .expect(303);
    shop.send_post().await;
});

on_both_engines!(the_buttons_of_the_form_work_without_a_program, async |shop: &TestShop| {
    open_shop(shop).await;
    let form = Form::open(shop).await;
    let page = form.clone().set("do", "more").send(shop).await.expect(200);
    let page = page.says("Knife 2").says("value=\"Coastline Cutlery\"").says("name=\"knives[1][length]\"");
    assert!(!page.body.contains("Knife 3"));
    let page = form.clone().set("do", "again-0").send(shop).await.expect(200);
    assert_eq!(page.body.matches("value=\"Coastline Cutlery\"").count(), 2);
    let page = form.clone().set("do", "remove-0").send(shop).await.expect(200);
    assert!(!page.body.contains("Coastline Cutlery"));
    // The estimate answers what people ask, and asks for no address yet.
    let page = form.clone().set("name", "").set("do", "estimate").send(shop).await.expect(200);
    page.says("Will it cut as before?")
        .says("<span class=\"number\">19.00</span>")
        .says("How many more times?")
        .says("ready by");
    form.clone().set("do", "sell").send(shop).await.expect(400);
    assert!(all_visits(shop).await.is_empty());
});

on_both_engines!(we_say_no_where_no_is_right, async |shop: &TestShop| {
    open_shop(shop).await;
    for (trouble, why) in [("crack", "cracked blade"), ("ceramic", "Ceramic")] {
        let form = Form::open(shop).await.set(&format!("knives[0][{trouble}]"), "true");
        form.clone().set("do", "estimate").send(shop).await.says("We cannot do this one").says(why);
        form.send(shop).await.expect(422).says("take this knife out");
    }
    assert!(all_visits(shop).await.is_empty());
});

on_both_engines!(one_of_our_models_is_booked_by_its_mark, async |shop: &TestShop| {
    open_shop(shop).await;
    let models = knives::models(shop.ctx.store.read()).await.unwrap();
    let model = models.iter().find(|m| m.drawing.edge.is_serrated()).unwrap();
    shop.get("/book").await.expect(200).says(&model.mark);
    let form = Form::open(shop)
        .await
        .set("knives[0][model]", &model.id.to_string())
        .set("knives[0][edge]", "")
        .set("knives[0][length]", "");
    let page = form.clone().set("do", "estimate").send(shop).await.expect(200);
    page.says("same pitch and shape").says("<svg");
    book(shop, &form).await;
    let visit = all_visits(shop).await.remove(0);
    assert_eq!(visit.pieces[0].booked.model, Some(model.id));
    assert!((visit.pieces[0].booked.length_mm - model.drawing.length_mm).abs() < 1e-9);
    shop.send_post().await;
});

on_both_engines!(
    photos_come_with_the_form_are_encoded_anew_and_hang_on_their_knife,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let form = Form::open(shop).await;
        let mut sent = jpeg(60, 30);
        // A comment segment (ITU-T T.81) as cameras leave them.
        sent.splice(2..2, [0xFF, 0xFE, 0, 14].into_iter().chain(*b"Secret Place"));
        // The form is refused, the photo is kept.
        let page = form.clone().set("email", "").send_with(shop, &[("photo-1", &sent)]).await.expect(422);
        let src = between(&page.body, "src=\"/book/photo/", "\"").to_owned();
        let stranger = format!("/book/photo/{}/{}", uuid::Uuid::new_v4(), src.split('/').nth(1).unwrap());
        shop.get(&stranger).await.expect(404);
        let shown = shop.get(&format!("/book/photo/{src}")).await.expect(200);
        assert_eq!(shown.header("content-type"), "image/jpeg");
        assert!(!shown.body.contains("Secret Place"));
        let other = jpeg(10, 10);
        let again = form.send_with(shop, &[("photo-1", &other), ("photo-9", &other)]).await.expect(303);
        let path = again.header("location").split('?').next().unwrap().to_owned();
        let visit = all_visits(shop).await.remove(0);
        assert_eq!(visit.pieces[0].photos.len(), 2);
        let photo = format!("{path}/photo/{}", visit.pieces[0].photos[0]);
        shop.get(&photo).await.expect(200);
        shop.get(&format!("/book/photo/{src}")).await.expect(404);
        // Another visit’s link does not open it.
        let elsewhere = book(shop, &Form::open(shop).await).await;
        shop.get(&format!("{elsewhere}/photo/{}", visit.pieces[0].photos[0])).await.expect(404);
        shop.send_post().await;
    }
);

on_both_engines!(what_is_no_photo_is_named_and_nothing_is_lost, async |shop: &TestShop| {
    open_shop(shop).await;
    let form = Form::open(shop).await;
    let page = form.send_with(shop, &[("photo-1", b"#!/bin/sh\necho hello")]).await.expect(422);
    page.says("This is not a picture we can read").says("value=\"Ines Example\"");
    let huge = vec![0xFF; 12 * 1024 * 1024 + 1];
    form.send_with(shop, &[("photo-1", &huge)]).await.expect(422).says("larger than 12 MB");
    let five: Vec<_> = (0..5).map(|_| jpeg(8, 8)).collect();
    let files: Vec<_> = five.iter().map(|f| ("photo-1", f.as_slice())).collect();
    form.send_with(shop, &files).await.expect(422).says("Up to 4 photos");
    assert!(all_visits(shop).await.is_empty());
    let kept = photos::of_draft(shop.ctx.store.read(), form.key()).await.unwrap();
    assert_eq!(kept.len(), 4);
    // More than the whole form may weigh.
    let files: Vec<_> = (0..5).map(|_| ("photo-1", huge.as_slice())).collect();
    form.send_with(shop, &files).await.expect(413);
});

on_both_engines!(the_last_place_of_a_slot_goes_to_one, async |shop: &TestShop| {
    open_shop(shop).await;
    let page = shop.get("/book").await.expect(200);
    let slot = between(&page.body, "<option value=\"2026", "\"").to_owned();
    let slot = format!("2026{slot}");
    let mut forms = Vec::new();
    for _ in 0..4 {
        forms.push(Form::open(shop).await.set("arrival", "counter").set("slot", &slot));
    }
    // The demo shop has two places in a slot.
    let (a, b, c, d) =
        tokio::join!(forms[0].send(shop), forms[1].send(shop), forms[2].send(shop), forms[3].send(shop));
    let booked = [&a, &b, &c, &d].iter().filter(|answer| answer.status.as_u16() == 303).count();
    assert_eq!(booked, 2);
    for refused in [a, b, c, d].into_iter().filter(|answer| answer.status.as_u16() != 303) {
        refused.expect(422).says("please choose another");
    }
    assert_eq!(all_visits(shop).await.len(), 2);
    shop.send_post().await;
});

on_both_engines!(a_visit_can_be_called_off_until_something_arrives, async |shop: &TestShop| {
    open_shop(shop).await;
    let path = book(shop, &Form::open(shop).await).await;
    let piece = all_visits(shop).await[0].pieces[0].id;
    for _ in 0..2 {
        shop.post(&format!("{path}/cancel"), &[]).await.expect(303);
    }
    assert!(all_visits(shop).await.is_empty());
    let db = shop.ctx.store.read();
    assert_eq!(pieces::get(db, piece).await.unwrap().unwrap().state, PieceState::Withdrawn);
    assert!(operations::of_piece(db, piece).await.unwrap().is_empty());
    shop.get(&path).await.expect(200).says("called off");
    // Nobody had confirmed, so nobody gets a second mail.
    assert_eq!(shop.send_post().await, 1);
    let mailed = mailed_path(shop).await;
    shop.post(&format!("{mailed}/confirm"), &[]).await.expect(409);
});

/// Books, confirms and measures one knife, so that its price waits for an answer.
async fn asked(shop: &TestShop, total: i64) -> (String, Visit) {
    open_shop(shop).await;
    book(shop, &Form::open(shop).await).await;
    shop.send_post().await;
    let path = mailed_path(shop).await;
    let visit = all_visits(shop).await.remove(0);
    confirm_visit::confirm_visit(&shop.ctx, visit.id).await.unwrap();
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let mut piece = visit.pieces[0].clone();
    piece.state = PieceState::Measured;
    let mut verdict = piece.estimate.clone();
    verdict.quote.total = Money(total);
    verdict.services_after = Some((5, 8));
    piece.verdict = Some(verdict);
    piece.waiting = Some(Waiting { on: WaitsOn::Customer, what: "an answer".into() });
    pieces::save(&tx, &piece).await.unwrap();
    tx.commit().await.unwrap();
    (path, all_visits(shop).await.remove(0))
}

on_both_engines!(a_price_is_agreed_as_it_was_shown_or_not_at_all, async |shop: &TestShop| {
    let (path, visit) = asked(shop, 6400).await;
    let piece = visit.pieces[0].id.to_string();
    shop.get(&path)
        .await
        .expect(200)
        .says("Yes, do it for 64.00 EUR")
        .says("about 5 to 8 more at your habit");
    let answer = async |total: &str, answer: &str| {
        let fields = [("piece", piece.as_str()), ("total", total), ("answer", answer)];
        shop.post(&format!("{path}/answer"), &fields).await
    };
    answer("6300", "agree").await.expect(409).says("The price has changed");
    answer("6400", "perhaps").await.expect(400);
    for _ in 0..2 {
        answer("6400", "agree").await.expect(303);
    }
    let now = all_visits(shop).await.remove(0).pieces.remove(0);
    assert_eq!((now.state, now.agreed, now.waiting), (PieceState::Agreed, Some(Money(6400)), None));
    answer("6400", "decline").await.expect(409);
    assert_eq!(shop.send_post().await, 1);
    let kept = outbox::list(shop.ctx.store.read(), outbox::Which::All, None, 1).await.unwrap();
    assert!(kept[0].text.contains("agreed at 64.00 EUR"), "{}", kept[0].text);
});

on_both_engines!(a_declined_knife_goes_back_as_it_is, async |shop: &TestShop| {
    let (path, visit) = asked(shop, 6400).await;
    let piece = visit.pieces[0].id;
    let fields = [("piece", piece.to_string()), ("total", "6400".into()), ("answer", "decline".into())];
    let fields: Vec<_> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    shop.post(&format!("{path}/answer"), &fields).await.expect(303);
    let db = shop.ctx.store.read();
    assert_eq!(pieces::get(db, piece).await.unwrap().unwrap().state, PieceState::Withdrawn);
    assert!(operations::of_piece(db, piece).await.unwrap().is_empty());
    shop.send_post().await;
});

on_both_engines!(the_way_back_can_be_changed_until_something_has_left, async |shop: &TestShop| {
    open_shop(shop).await;
    let browser = book(shop, &Form::open(shop).await).await;
    shop.send_post().await;
    let path = mailed_path(shop).await;
    let moved = [
        ("back", "post"),
        ("street", "New Road 9"),
        ("postcode", "2000"),
        ("town", "Elsewhere"),
        ("country", "Nowhere"),
    ];
    shop.post(&format!("{browser}/back"), &moved).await.expect(403);
    let half = [("back", "post"), ("street", "New Road 9")];
    shop.post(&format!("{path}/back"), &half)
        .await
        .expect(422)
        .says("Please give the postal code")
        .says("value=\"New Road 9\"");
    shop.post(&format!("{path}/back"), &moved).await.expect(303);
    let visit = all_visits(shop).await.remove(0);
    assert_eq!(visit.contact.address.as_ref().unwrap().street, "New Road 9");
    shop.post(&format!("{path}/back"), &[("back", "counter")]).await.expect(303);
    let mut visit = all_visits(shop).await.remove(0);
    assert!(!visit.back_by_post);
    visit.parcel = Some(("The carrier".into(), "1Z".into()));
    let tx = shop.ctx.store.begin_write().await.unwrap();
    visits::save(&tx, &visit, shop.ctx.now()).await.unwrap();
    tx.commit().await.unwrap();
    shop.post(&format!("{path}/back"), &moved).await.expect(409);
});

on_both_engines!(links_that_do_not_open_lead_to_new_ones_and_tell_nothing, async |shop: &TestShop| {
    open_shop(shop).await;
    let path = book(shop, &Form::open(shop).await).await;
    shop.send_post().await;
    let mailed = mailed_path(shop).await;
    shop.get("/v/abc").await.expect(404).says("This link opens nothing").says("href=\"/link\"");
    let unknown = format!("/v/{}", "A".repeat(43));
    shop.get(&unknown).await.expect(404);

    shop.wait(TimeDelta::days(4));
    shop.get(&path).await.expect(410).says("past its day");
    shop.get(&mailed).await.expect(200);
    shop.wait(TimeDelta::days(180));
    shop.get(&mailed).await.expect(410).says("Send me a new link");
    shop.post(&format!("{mailed}/renew"), &[]).await.expect(200).says("If we know this address");
    assert_eq!(shop.send_post().await, 1);
    let renewed = mailed_path(shop).await;
    assert_ne!(renewed, mailed);
    shop.get(&renewed).await.expect(200);

    // Known or not, the page says the same.
    let known = shop.post("/link", &[("email", "Ines@Example.org")]).await.expect(200);
    let stranger = shop.post("/link", &[("email", "nobody@example.org")]).await.expect(200);
    let bare = |page: &Answer| between(&page.body, "<main", "</main>").to_owned();
    assert_eq!(bare(&known), bare(&stranger));
    assert_eq!(shop.send_post().await, 1);
    shop.post("/link", &[("email", "nobody")]).await.expect(422).says("value=\"nobody\"");
});

on_both_engines!(
    a_stranger_cannot_read_or_change_a_customer_by_typing_their_address,
    async |shop: &TestShop| {
        open_shop(shop).await;
        book(shop, &Form::open(shop).await).await;
        let first = all_visits(shop).await.remove(0);
        confirm_visit::confirm_visit(&shop.ctx, first.id).await.unwrap();
        let form = Form::open(shop).await.set("name", "Mallory").set("street", "Elsewhere 1");
        let path = book(shop, &form).await;
        let page = shop.get(&path).await.expect(200);
        assert!(!page.body.contains("Quay 4"));
        let db = shop.ctx.store.read();
        let kept = visits::get(db, first.id).await.unwrap().unwrap();
        assert_eq!(kept.contact.name, "Ines Example");
        // Whoever confirms reads that mail, so is that person: from then on it is one customer.
        let second = all_visits(shop).await.into_iter().find(|v| v.id != first.id).unwrap();
        assert_ne!(second.customer, first.customer);
        confirm_visit::confirm_visit(&shop.ctx, second.id).await.unwrap();
        let second = visits::get(db, second.id).await.unwrap().unwrap();
        assert_eq!(second.customer, first.customer);
        shop.send_post().await;
    }
);

on_both_engines!(the_slip_and_the_calendar_file_go_with_the_visit, async |shop: &TestShop| {
    open_shop(shop).await;
    let path = book(shop, &Form::open(shop).await).await;
    let visit = all_visits(shop).await.remove(0);
    let slip = shop.get(&format!("{path}/slip")).await.expect(200);
    slip.says(&visit.reference.to_string()).says("aria-label=\"QR code\"").says("7 Ropewalk");
    let file = shop.get(&format!("{path}/visit.ics")).await.expect(200);
    assert_eq!(file.header("content-type"), "text/calendar; charset=utf-8");
    for line in ["BEGIN:VCALENDAR\r\n", "VERSION:2.0\r\n", "BEGIN:VEVENT\r\n", "END:VCALENDAR\r\n"] {
        assert!(file.body.contains(line), "{line:?} is not in {}", file.body);
    }
    // Monday; posted by the next working day.
    assert!(file.body.contains("DTSTART;VALUE=DATE:20260303\r\n"), "{}", file.body);
    shop.send_post().await;
});

on_both_engines!(the_ledger_of_a_knife_opens_from_its_visit_once_it_was_in_hand, async |shop: &TestShop| {
    open_shop(shop).await;
    let browser = book(shop, &Form::open(shop).await).await;
    shop.send_post().await;
    let path = mailed_path(shop).await;
    let visit = all_visits(shop).await.remove(0);
    let mut piece = visit.pieces[0].clone();
    let id = piece.id.to_string();
    let ask = async |path: &str| shop.post(&format!("{path}/ledger"), &[("piece", id.as_str())]).await;
    ask(&path).await.expect(404);
    let tx = shop.ctx.store.begin_write().await.unwrap();
    let knife = knives::NewKnife {
        id: KnifeId(shop.ctx.new_id()),
        tag: Tag::from_serial(77),
        name: piece.name.clone(),
        model: None,
        owner: Some(visit.customer),
    };
    piece.knife = Some(knife.id);
    knives::insert(&tx, knife, shop.ctx.now()).await.unwrap();
    pieces::save(&tx, &piece).await.unwrap();
    tx.commit().await.unwrap();
    let ledger = ask(&path).await.expect(303).header("location").to_owned();
    assert!(ledger.starts_with("/k/"), "{ledger}");
    shop.get(&ledger).await.expect(200).says("Coastline Cutlery");
    // Not for the browser that booked, whose mail address may be a stranger's.
    ask(&browser).await.expect(403);
});

on_both_engines!(a_shop_that_is_not_set_up_says_so, async |shop: &TestShop| {
    shop.get("/").await.expect(200).says("not set up yet");
    shop.get("/book").await.expect(404).says("not set up yet");
});

on_both_engines!(only_pages_for_everybody_may_be_found_by_searching, async |shop: &TestShop| {
    open_shop(shop).await;
    for path in ["/", "/book", "/privacy"] {
        let page =
            shop.get(path).await.expect(200).says("<meta name=\"description\" content=\"We take knives back");
        assert!(!page.body.contains("noindex"), "{path}");
    }
    for path in ["/link", "/sign-in", "/v/0123456789012345678901234567890123456789012"] {
        shop.get(path).await.says("<meta name=\"robots\" content=\"noindex\">");
    }
});

on_both_engines!(the_front_page_names_the_shop_and_a_day, async |shop: &TestShop| {
    open_shop(shop).await;
    shop.get("/").await.expect(200).says("Marram Bladeworks").says("href=\"/book\"").says("2026");
});
