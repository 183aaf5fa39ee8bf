//! The customer's side beyond booking: languages, questions and answers, complaints, all my knives, reminders.

use axum::body::Body;
use chrono::TimeDelta;
use http::{Request, header};

use server::store::{outbox, pieces, visits};
use server::use_cases::{chase, housekeeping, my_knives};
use shop::lang::Lang;
use shop::money::Money;
use shop::piece::PieceState;
use shop::read::Visit;

use crate::desk::{again, book, href, in_hand, measure, notices, open_shop};
use crate::form::between;
use crate::on_both_engines;
use crate::test_shop::{Answer, Engine, TestShop};

async fn get_in(shop: &TestShop, language: &str, path: &str) -> Answer {
    let request = Request::get(path).header(header::ACCEPT_LANGUAGE, language).body(Body::empty()).unwrap();
    shop.ask(request).await
}

/// The path of the newest link of a kind in the newest notice.
async fn mailed(shop: &TestShop, kind: &str) -> String {
    let kept = outbox::list(shop.ctx.store.read(), outbox::Which::All, None, 1).await.unwrap().remove(0);
    let start = format!("http://shop.example.com/{kind}/");
    let from = kept.text.find(&start).unwrap_or_else(|| panic!("no {kind} in {}", kept.text));
    kept.text[from + "http://shop.example.com".len()..].split_whitespace().next().unwrap().to_owned()
}

/// A confirmed visit whose knives went home today.
async fn gone_home(shop: &TestShop, email: &str, names: &[&str]) -> Visit {
    let visit = in_hand(shop, email, names).await;
    for piece in &visit.pieces {
        measure(shop, piece, &[]).await.expect(303);
    }
    let tx = shop.ctx.store.begin_write().await.unwrap();
    for piece in again(shop, &visit).await.pieces {
        let mut piece = piece.clone();
        piece.state = PieceState::Home;
        piece.home_at = Some(shop.ctx.now());
        pieces::save(&tx, &piece).await.unwrap();
    }
    tx.commit().await.unwrap();
    shop.send_post().await;
    again(shop, &visit).await
}

/// The private page by the link in the last notice about a visit.
async fn page_of(shop: &TestShop, visit: &Visit) -> String {
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap();
    let text = kept.iter().rev().find(|k| k.text.contains("/v/")).expect("a link").text.clone();
    let from = text.find("http://shop.example.com/v/").unwrap() + "http://shop.example.com".len();
    text[from..].split_whitespace().next().unwrap().to_owned()
}

/// What a reader sees of a page: no markup, no scripts, no drawings.
fn words(html: &str) -> String {
    let mut out = String::new();
    let mut rest = html;
    while let Some(open) = rest.find('<') {
        out.push_str(&rest[..open]);
        out.push(' ');
        let skipped = ["<script", "<style", "<svg"].iter().find(|tag| rest[open..].starts_with(**tag));
        rest = match skipped {
            Some(tag) => {
                let end = format!("</{}>", &tag[1..]);
                let at = rest[open..].find(&end).map_or(rest.len(), |at| open + at + end.len());
                &rest[at..]
            }
            None => &rest[rest[open..].find('>').map_or(rest.len(), |at| open + at + 1)..],
        };
    }
    out.push_str(rest);
    out
}

/// Words no German page of ours has.
#[track_caller]
fn is_german(page: &Answer) {
    let text = words(&page.body).to_lowercase();
    for english in ["the", "your", "with", "please", "knife", "knives", "this", "about", "when", "we"] {
        let there = text.split(|c: char| !c.is_alphanumeric()).any(|word| word == english);
        assert!(!there, "{english:?} is in:\n{text}");
    }
    assert!(page.body.contains("<html lang=\"de\""));
}

on_both_engines!(a_german_customer_books_and_is_written_to_in_german, async |shop: &TestShop| {
    open_shop(shop).await;
    shop.forget_cookies();
    is_german(&get_in(shop, "de-AT,de;q=0.9,en;q=0.5", "/").await.expect(200));
    is_german(&get_in(shop, "de", "/link").await.expect(200));
    let page = get_in(shop, "de", "/book").await.expect(200).says("Einen Schliff buchen");
    is_german(&page);
    // Chosen by hand it stays, whatever the browser asks for.
    shop.post("/language", &[("lang", "de"), ("back", "/book")]).await.expect(303);
    shop.post("/language", &[("lang", "xx"), ("back", "/book")]).await.expect(400);
    let away = shop.post("/language", &[("lang", "de"), ("back", "//evil.example.org")]).await.expect(303);
    assert_eq!(away.header("location"), "/");
    let key = between(&page.body, "name=\"key\" value=\"", "\"").to_owned();
    let knife = [("knives[0][model]", "other"), ("knives[0][edge]", "wavy"), ("knives[0][dull]", "true")];
    let refused = [("key", key.as_str()), ("knives[0][length]", "zwei"), ("do", "book")];
    let refused: Vec<_> = refused.into_iter().chain(knife).collect();
    let page = shop.post("/book", &refused).await.expect(422);
    is_german(
        &page.says("Bitte die Schneide als Zahl angeben").says("Bitte wählen Sie, wie sie zurückgehen."),
    );
    let estimate = [
        ("key", key.as_str()),
        ("knives[0][length]", "210"),
        ("knives[0][chips]", "true"),
        ("do", "estimate"),
    ];
    let estimate: Vec<_> = estimate.into_iter().chain(knife).collect();
    let page = shop.post("/book", &estimate).await.expect(200);
    is_german(&page.says("Schneidet es wie zuvor?").says("fertig bis"));

    let visit = book(shop, "jana@example.org", &["Säge"]).await;
    assert_eq!(visit.language, Lang::De);
    shop.send_post().await;
    assert!(
        shop.sent().last().unwrap().starts_with("Bitte bestätigen Sie Ihren Auftrag"),
        "{:?}",
        shop.sent()
    );
    let path = page_of(shop, &visit).await;
    let page = shop.get(&path).await.expect(200).says("Meine Buchung bestätigen");
    is_german(&page);
    is_german(&shop.get(&format!("{path}/slip")).await.expect(200).says("Beilegzettel"));
    shop.get(&format!("{path}/visit.ics")).await.expect(200).says("SUMMARY:Messer an");
    // Read in English from now on, and written to in English.
    shop.post("/language", &[("lang", "en-US"), ("back", &path)]).await.expect(303);
    assert_eq!(again(shop, &visit).await.language, Lang::EnUs);
    shop.get(&path).await.expect(200).says("Confirm my booking").says("8.3 in");
    // The shop's own pages stay in its own language.
    shop.forget_cookies();
    shop.sign_in_again().await;
    get_in(shop, "de", "/desk").await.expect(200).says("<html lang=\"en\"").says("Desk");
});

on_both_engines!(questions_go_to_the_desk_and_answers_come_by_mail, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    shop.send_post().await;
    let path = page_of(shop, &visit).await;
    let page = shop.get(&path).await.expect(200);
    let talk = between(&page.body, "/ask\"", "</form>");
    let key = between(talk, "name=\"key\" value=\"", "\"").to_owned();
    shop.post(&format!("{path}/ask"), &[("key", &key), ("body", " ")])
        .await
        .expect(422)
        .says("Please give what");
    for _ in 0..2 {
        let asked = [("key", key.as_str()), ("body", "May I send <b>two</b> more?\r\nThey are small.")];
        shop.post(&format!("{path}/ask"), &asked).await.expect(303);
    }
    shop.get(&path).await.expect(200).says("May I send &lt;b&gt;two&lt;/b&gt; more?");
    shop.get("/desk").await.expect(200).says("To answer").says("a question of the customer");
    let page = shop.get(&href(&visit)).await.expect(200).says("They are small.").says("Your answer");
    assert_eq!(page.body.matches("They are small.").count(), 1, "a double click asks once");
    let form = between(&page.body, "/write\"", "</form>");
    let key = between(form, "name=\"key\" value=\"", "\"").to_owned();
    for _ in 0..2 {
        let answer = [("key", key.as_str()), ("body", "Yes, gladly.")];
        shop.post(&format!("{}/write", href(&visit)), &answer).await.expect(303);
    }
    shop.send_post().await;
    assert_eq!(notices(shop, &visit).await, ["booked", "written"]);
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap().pop().unwrap();
    assert!(kept.text.contains("Yes, gladly."), "{}", kept.text);
    assert!(kept.subject.starts_with("Our answer"));
    assert!(!shop.get("/desk").await.body.contains("a question of the customer"));
    shop.get(&path).await.expect(200).says("Yes, gladly.").says("Ann Example");
    shop.send_post().await;
});

on_both_engines!(
    what_was_not_right_comes_back_under_a_visit_of_its_own_for_nothing,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let first = gone_home(shop, "ines@example.org", &["Slicer", "Petty"]).await;
        let path = page_of(shop, &first).await;
        let page = shop.get(&path).await.expect(200).says("Is something not right?");
        let form = between(&page.body, "/complaint\"", "</form>");
        let key = between(form, "name=\"key\" value=\"", "\"").to_owned();
        let nothing = [("key", key.as_str()), ("what", "dull after a week"), ("arrival", "post")];
        shop.post(&format!("{path}/complaint"), &nothing)
            .await
            .expect(422)
            .says("Please choose which knives");
        let id = first.pieces[1].id.to_string();
        let said: Vec<_> = nothing.into_iter().chain([("pieces[0]", id.as_str())]).collect();
        for _ in 0..2 {
            shop.post(&format!("{path}/complaint"), &said).await.expect(303);
        }
        let second = visits::complaint_of(shop.ctx.store.read(), first.id).await.unwrap().expect("a visit");
        assert_eq!(second.pieces.len(), 1);
        assert_eq!(second.customer, first.customer);
        assert_eq!(second.confirmed_at, Some(shop.ctx.now()), "who says so is known");
        let piece = &second.pieces[0];
        assert_eq!((piece.name.as_str(), piece.knife), ("Petty", first.pieces[1].knife));
        assert_eq!(piece.price().high, Money(0));
        assert!(
            piece.booked.note.contains(&first.reference.to_string())
                && piece.booked.note.contains("dull after")
        );
        shop.send_post().await;
        assert_eq!(notices(shop, &second).await, ["complained"], "a double click complains once");
        shop.get(&path).await.expect(200).says(&second.reference.to_string());
        let page = shop.get(&page_of(shop, &second).await).await.expect(200).says("without charge");
        assert!(!page.body.contains("Confirm my booking"));
        // Measured, it still costs nothing.
        let here = crate::desk::receive(shop, &second, &["here"]).await;
        measure(shop, &here.pieces[0], &[]).await.expect(303);
        let measured = again(shop, &second).await;
        assert_eq!(measured.pieces[0].agreed, Some(Money(0)));
        shop.send_post().await;
    }
);

on_both_engines!(after_two_weeks_a_complaint_is_a_visit_like_any_other, async |shop: &TestShop| {
    open_shop(shop).await;
    let first = gone_home(shop, "ines@example.org", &["Slicer"]).await;
    let path = page_of(shop, &first).await;
    shop.wait(TimeDelta::days(14));
    let page = shop.get(&path).await.expect(200).says("Is something not right?");
    let form = between(&page.body, "/complaint\"", "</form>");
    let key = between(form, "name=\"key\" value=\"", "\"").to_owned();
    shop.wait(TimeDelta::days(1));
    assert!(!shop.get(&path).await.expect(200).body.contains("Is something not right?"));
    let id = first.pieces[0].id.to_string();
    let said = [("key", key.as_str()), ("what", "dull"), ("arrival", "post"), ("pieces[0]", id.as_str())];
    shop.post(&format!("{path}/complaint"), &said).await.expect(404);
});

on_both_engines!(
    all_knives_open_once_by_mail_and_reminders_come_only_when_asked_for,
    async |shop: &TestShop| {
        open_shop(shop).await;
        let visit = gone_home(shop, "ines@example.org", &["Slicer"]).await;
        let strange = gone_home(shop, "other@example.org", &["Petty"]).await;
        shop.forget_cookies();
        shop.post("/link", &[("email", "Ines@example.org")]).await.expect(200).says("Look into your mail");
        shop.send_post().await;
        let once = mailed(shop, "once").await;
        for _ in 0..2 {
            shop.get(&once).await.expect(200).says("Open all my knives");
        }
        let mine = shop.post(&once, &[]).await.expect(303).header("location").to_owned();
        shop.post(&once, &[]).await.expect(410).says("has been used");
        shop.get(&once).await.expect(410);
        let page = shop
            .get(&mine)
            .await
            .expect(200)
            .says("Slicer")
            .says("<svg")
            .says("we learn that with its second");
        assert!(!page.body.contains("Petty"));
        let knife = visit.pieces[0].knife.unwrap().to_string();
        let ledger = shop.post(&format!("{mine}/ledger"), &[("knife", &knife)]).await.expect(303);
        shop.get(ledger.header("location")).await.expect(200).says("Slicer");
        let theirs = strange.pieces[0].knife.unwrap().to_string();
        shop.post(&format!("{mine}/ledger"), &[("knife", &theirs)]).await.expect(404);
        shop.post(&format!("{mine}/remind"), &[("remind", "yes")]).await.expect(303);
        shop.wait(TimeDelta::minutes(61));
        shop.get(&mine).await.expect(410);

        shop.wait(TimeDelta::days(363));
        assert_eq!(my_knives::remind(&shop.ctx).await.unwrap(), 0);
        shop.wait(TimeDelta::days(3));
        assert_eq!(my_knives::remind(&shop.ctx).await.unwrap(), 1, "Ines asked, the other did not");
        assert_eq!(my_knives::remind(&shop.ctx).await.unwrap(), 0, "once between two visits");
        shop.send_post().await;
        let out = shop.mail.out().pop().unwrap();
        let stop = out.notice.unsubscribe_url.clone().unwrap();
        assert!(out.notice.text.contains("Slicer") && out.notice.text.contains(&stop));
        // One click by a mail program: no cookie, no origin (RFC 8058).
        let path = stop.strip_prefix("http://shop.example.com").unwrap();
        shop.get(path).await.expect(200).says("End the reminders?");
        let click = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from("List-Unsubscribe=One-Click"))
            .unwrap();
        shop.ask(click).await.expect(200).says("No more reminders");
        shop.wait(TimeDelta::days(800));
        assert_eq!(my_knives::remind(&shop.ctx).await.unwrap(), 0);
        shop.get("/stop/nothing").await.expect(200).says("No more reminders");
    }
);

on_both_engines!(a_price_nobody_answers_is_asked_twice_more, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer"]).await;
    measure(shop, &visit.pieces[0], &[("chips[0][depth]", "1"), ("chips[0][choice]", "all")])
        .await
        .expect(303);
    shop.wait(TimeDelta::hours(71));
    assert_eq!(chase::chase(&shop.ctx).await.unwrap(), 0);
    for _ in 0..5 {
        shop.wait(TimeDelta::days(3));
        chase::chase(&shop.ctx).await.unwrap();
    }
    assert_eq!(notices(shop, &visit).await, ["booked", "received", "quote", "quote_again", "quote_again"]);
    shop.send_post().await;
});

on_both_engines!(prices_asked_within_minutes_leave_in_one_letter, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = in_hand(shop, "ines@example.org", &["Slicer", "Petty", "Cleaver"]).await;
    shop.send_post().await;
    let chip = [("chips[0][depth]", "1"), ("chips[0][choice]", "all")];
    measure(shop, &visit.pieces[0], &chip).await.expect(303);
    measure(shop, &visit.pieces[1], &chip).await.expect(303);
    assert_eq!(shop.send_post().await, 0, "the third is not measured yet");
    measure(shop, &visit.pieces[2], &[]).await.expect(303);
    assert_eq!(shop.send_post().await, 1);
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap().pop().unwrap();
    assert!(
        kept.kind == "quote" && kept.text.contains("SLICER") && kept.text.contains("PETTY"),
        "{}",
        kept.text
    );
    // When the third lets one wait, the letter leaves by itself.
    let other = in_hand(shop, "jon@example.org", &["Slicer", "Petty"]).await;
    shop.send_post().await;
    measure(shop, &other.pieces[0], &chip).await.expect(303);
    assert_eq!(shop.send_post().await, 0);
    shop.wait(TimeDelta::minutes(15));
    assert_eq!(shop.send_post().await, 1);
});

on_both_engines!(staff_read_notices_without_the_keys_of_private_links, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    shop.send_post().await;
    let path = page_of(shop, &visit).await;
    let token = path.strip_prefix("/v/").unwrap();
    let kept = outbox::about(shop.ctx.store.read(), visit.id.0).await.unwrap().remove(0);
    let own = format!("/desk/post/{}", kept.id);
    for page in [own.clone(), format!("{own}/page"), format!("{own}/calendar")] {
        let page = shop.get(&page).await.expect(200);
        assert!(!page.body.replace("\r\n ", "").contains(token));
        assert!(page.body.contains("(private)"), "{}", page.body);
    }
    // It is forgotten after two years.
    shop.wait(TimeDelta::days(729));
    housekeeping::sweep(&shop.ctx).await.unwrap();
    assert!(outbox::by_id(shop.ctx.store.read(), kept.id).await.unwrap().is_some());
    shop.wait(TimeDelta::days(2));
    housekeeping::sweep(&shop.ctx).await.unwrap();
    assert!(outbox::by_id(shop.ctx.store.read(), kept.id).await.unwrap().is_none());
});

on_both_engines!(every_page_carries_the_shops_own_name, async |shop: &TestShop| {
    shop.get("/").await.says("Whetledger");
    open_shop(shop).await;
    let name = server::use_cases::offer::profile(&shop.ctx).await.unwrap().unwrap().name;
    let page = shop.get("/book").await.expect(200);
    let head = between(&page.body, "<header", "</header>");
    assert!(head.contains(&name) && !head.contains("Whetledger"), "{head}");
});

on_both_engines!(the_owner_words_a_notice_anew_and_sees_it_before_saving, async |shop: &TestShop| {
    open_shop(shop).await;
    let visit = book(shop, "ines@example.org", &["Slicer"]).await;
    shop.send_post().await;
    let page = shop.get("/shop/wording?lang=en&kind=links").await.expect(200).says("{reference}");
    let version = between(&page.body, "name=\"version\" value=\"", "\"").to_owned();
    let subject = "mail-links-subject-one";
    let form = |text: &str, button: &str| -> Vec<(String, String)> {
        [("version", version.as_str()), ("lang", "en"), ("kind", "links"), (subject, text), ("do", button)]
            .map(|(n, v)| (n.to_owned(), v.to_owned()))
            .into()
    };
    let send = async |form: Vec<(String, String)>| {
        let form: Vec<_> = form.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        shop.post("/shop/wording", &form).await
    };
    send(form("For {stranger}", "save")).await.expect(422).says("There is no place {stranger} here");
    let shown = format!("Here you go: {}", visit.reference);
    send(form("Here you go: {reference}", "show"))
        .await
        .expect(200)
        .says(&shown)
        .says("Nothing is saved yet");
    shop.post("/link", &[("email", "ines@example.org")]).await.expect(200);
    shop.send_post().await;
    assert!(!shop.sent().contains(&shown), "only seen");
    send(form("Here you go: {reference}", "save")).await.expect(303);
    shop.post("/link", &[("email", "ines@example.org")]).await.expect(200);
    shop.send_post().await;
    assert_eq!(shop.sent().last(), Some(&shown));
    send(form("Twice", "save")).await.expect(409);
    for (kind, _) in server::use_cases::save_wording::KINDS {
        for lang in ["en", "de"] {
            let page = shop.get(&format!("/shop/wording?lang={lang}&kind={kind}")).await.expect(200);
            let version = between(&page.body, "name=\"version\" value=\"", "\"").to_owned();
            let form = [("version", version.as_str()), ("lang", lang), ("kind", kind), ("do", "show")];
            shop.post("/shop/wording", &form).await.expect(200).says("With real data");
        }
    }
});

// What is compared are figures and words; the engine has no part in them.
#[tokio::test]
async fn the_browser_says_what_the_server_says() {
    let shop = TestShop::open(Engine::Sqlite).await.unwrap();
    open_shop(&shop).await;
    let offer = server::use_cases::offer::load(&shop.ctx).await.unwrap().unwrap();
    let aid = answers::Aid::of(&offer.knows, "EUR", answers::Speech::default());
    let json = serde_json::to_string(&aid).unwrap();
    let there = serde_json::from_str::<answers::Aid>(&json).unwrap().knowledge();
    let mut knives: Vec<_> = offer.knows.models.iter().map(|m| (m.id.to_string(), String::new())).collect();
    knives.extend(["double", "single", "arc", "wavy", "pointed"].map(|e| ("other".to_owned(), e.to_owned())));
    let german = words::phrasebook(Lang::De, &answers::Speech::ROOMS);
    for (model, edge) in knives {
        for trouble in 0..64_u32 {
            let raw = shop::booking::RawKnife {
                model: model.clone(),
                edge: edge.clone(),
                length: "210".into(),
                dull: true,
                chips: trouble & 1 > 0,
                tip: trouble & 2 > 0,
                teeth: trouble & 4 > 0,
                rust: trouble & 8 > 0,
                carbon: trouble & 16 > 0,
                teeth_wish: if trouble & 32 > 0 { "plain".into() } else { "keep".into() },
                steel: if trouble & 3 > 0 { "1.4116".into() } else { String::new() },
                ..shop::booking::RawKnife::default()
            };
            let mut errors = shop::field::FieldErrors::default();
            let knife = shop::booking::check_knife(&raw, 0, &offer.knows.models, &mut errors).unwrap();
            let here = answers::Answer::about(&offer.knows, "EUR", &knife, false, Lang::De);
            assert_eq!(here, answers::Answer::about(&there, "EUR", &knife, false, Lang::De), "{raw:?}");
            // And every sentence of it can be said in German.
            let lines = here.lines.iter().map(|l| &l.what);
            let said = here.looks.iter().chain(&here.cautions).chain(lines).chain([&here.cuts, &here.life]);
            for english in said.chain(&here.refusal).chain((!here.advice.is_empty()).then_some(&here.advice))
            {
                assert!(german.find(english).is_some(), "no German for {english:?}");
            }
            for label in labels(&here.drawing) {
                assert!(is_figure(label) || german.find(label).is_some(), "no German for {label:?}");
            }
        }
    }
    shop.close().await;
}

/// The words of a drawing.
fn labels(svg: &str) -> impl Iterator<Item = &str> {
    svg.split('>').filter_map(|part| part.split('<').next()).map(str::trim).filter(|words| !words.is_empty())
}

/// `5 mm`, `15.5°`, `46`: says the same in every language but for its decimal sign.
fn is_figure(label: &str) -> bool {
    label.trim_end_matches("mm").trim_end_matches('°').trim().parse::<f64>().is_ok()
}

// Every drawing a customer sees: the section, the teeth, the side and the life fan, each with all its words.
#[test]
fn every_word_of_a_drawing_has_its_german() {
    let plain = r#"{"steel": "1.3505",
        "blade": {"edge_length_mm": 210, "height_mm": 46, "original_height_mm": 48, "least_height_mm": 31,
                  "spine_mm": 2.4, "behind_edge_mm": 0.35,
                  "hardness": {"edge_hrc": 64, "spine_hrc": 32, "line_mm": 18, "transition_mm": 4, "least_hrc": 58}},
        "edge": {"kind": "double", "half_angle_deg": 15},
        "wear": {"land_mm": 0.06, "tip_missing_mm": 3, "chips": [{"depth_mm": 0.8, "width_mm": 1.5, "at_mm": 60}]},
        "target": {"allowance_mm": 0.02, "behind_edge_mm": 0.3},
        "typical_recession_mm": {"median": 0.15, "spread": 0.5}}"#;
    let toothed = r#"{"steel": "1.4116",
        "blade": {"edge_length_mm": 250, "height_mm": 32, "spine_mm": 2.0, "behind_edge_mm": 0.4},
        "edge": {"kind": "serrated", "form": "arc", "pitch_mm": 5, "ridge_radius_mm": 6.5, "angle_deg": 20},
        "wear": {"tip_flat_mm": 0.5},
        "target": {"allowance_mm": 0.05, "wheel": {"form": "arc", "pitch_mm": 5.05, "angle_deg": 20, "ridge_radius_mm": 6.5},
                   "mode": "indexed", "ridges": 5},
        "typical_recession_mm": {"median": 0.25, "spread": 0}}"#;
    let german = words::phrasebook(Lang::De, &["section", "drawing", "measure"]);
    for request in [plain, toothed] {
        let request: craft::Request = serde_json::from_str(request).unwrap();
        let mm = craft::drawing::Units::Millimetres;
        let all = [
            craft::drawing::section(&request, mm),
            craft::drawing::blade_side(&request, mm),
            craft::drawing::life_fan(&request, &[47.9], mm),
            craft::drawing::serration(&request, mm),
        ];
        for svg in all.into_iter().flatten() {
            for label in labels(&svg) {
                assert!(is_figure(label) || german.find(label).is_some(), "no German for {label:?}");
            }
            let said = german.say_drawing(&svg);
            let words =
                labels(&said).find(|label| label.contains('.') && label.contains("mm") && label.len() < 12);
            assert_eq!(words, None, "a decimal point is left");
        }
    }
}
