//! Signing in, sessions and passwords, as a browser sees them.

use argon2::password_hash::{PasswordHasher as _, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};
use axum::body::Body;
use chrono::TimeDelta;
use http::Request;
use server::passwords;
use server::store::staff::{self, Roles};
use server::use_cases::add_person::{self, AddError};
use server::use_cases::save_crew;

use crate::form::Form;
use crate::on_both_engines;
use crate::test_shop::{Engine, TestShop};

const DESK: Roles = Roles { desk: true, bench: false, owner: false };

on_both_engines!(a_one_time_password_opens_nothing_but_the_change_of_it, async |shop: &TestShop| {
    let added = add_person::add_person(&shop.ctx, "Ann", "Ann Example", Roles::OWNER).await.unwrap();
    let one_time = added.one_time_password.as_str();
    shop.get("/desk/post").await.expect(303);
    let wrong = shop.post("/sign-in", &[("name", "ann"), ("password", "wrong")]).await.expect(422);
    assert!(!wrong.body.contains("value=\"wrong\""), "a password is never shown again");
    wrong.says("The name, the password or the code is not right").says("value=\"ann\"");
    assert!(shop.cookies().is_empty());

    let answer =
        shop.post("/sign-in", &[("name", " ANN "), ("password", one_time), ("next", "/desk/post")]).await;
    assert_eq!(answer.expect(303).header("location"), "/desk/post");
    assert_eq!(shop.get("/desk/post").await.expect(303).header("location"), "/account");
    shop.get("/account").await.expect(200).says("You signed in with a one-time password");

    let change = async |present: &str, new: &str, again: &str| {
        shop.post("/account", &[("present", present), ("new", new), ("again", again)]).await
    };
    change(one_time, "four unrelated words", "four unrelated word").await.expect(422).says("not the same");
    change("wrong", "four unrelated words", "four unrelated words")
        .await
        .expect(422)
        .says("not your present");
    change(one_time, "short", "short").await.expect(422).says("at least 12");
    change(one_time, "i am ann example", "i am ann example").await.expect(422).says("easy to guess");
    change(one_time, "aaaaaaaaaaaaaaa", "aaaaaaaaaaaaaaa").await.expect(422).says("easy to guess");
    change(one_time, one_time, one_time).await.expect(422).says("the password you have now");
    change(one_time, "four unrelated words", "four unrelated words").await.expect(303);
    shop.get("/desk/post").await.expect(200).says("Ann Example");
});

on_both_engines!(a_change_of_password_ends_the_other_sessions, async |shop: &TestShop| {
    shop.sign_in_as(DESK).await;
    let other = shop.cookies();
    shop.forget_cookies();
    let own = [("name", "ann"), ("password", "four unrelated words")];
    shop.post("/sign-in", &own).await.expect(303);
    let fields = [
        ("present", "four unrelated words"),
        ("new", "five unrelated words"),
        ("again", "five unrelated words"),
    ];
    shop.post("/account", &fields).await.expect(303);
    shop.get("/desk/post").await.expect(200);
    shop.set_cookies(other);
    shop.get("/desk/post").await.expect(303);
});

on_both_engines!(a_session_ends_by_signing_out_by_rest_and_by_age, async |shop: &TestShop| {
    shop.sign_in_as(DESK).await;
    let before = shop.cookies();
    shop.post("/sign-out", &[]).await.expect(303);
    assert!(shop.cookies().is_empty());
    shop.set_cookies(before);
    shop.get("/desk/post").await.expect(303);

    let own = [("name", "ann"), ("password", "four unrelated words")];
    shop.post("/sign-in", &own).await.expect(303);
    shop.wait(TimeDelta::days(6));
    shop.get("/desk/post").await.expect(200);
    shop.wait(TimeDelta::days(6));
    shop.get("/desk/post").await.expect(200);
    shop.wait(TimeDelta::days(7));
    shop.get("/desk/post").await.expect(303);

    shop.post("/sign-in", &own).await.expect(303);
    for _ in 0..9 {
        shop.wait(TimeDelta::days(3));
        shop.get("/desk/post").await.expect(200);
    }
    shop.wait(TimeDelta::days(3));
    shop.get("/desk/post").await.expect(303);
});

on_both_engines!(whoever_guesses_passwords_is_slowed_down, async |shop: &TestShop| {
    add_person::add_person(&shop.ctx, "ann", "Ann Example", DESK).await.unwrap();
    for _ in 0..10 {
        shop.post("/sign-in", &[("name", "ann"), ("password", "wrong")]).await.expect(422);
    }
    let answer = shop.post("/sign-in", &[("name", "ann"), ("password", "wrong")]).await.expect(429);
    assert_eq!(answer.header("retry-after"), "30");
    answer.says("Wait a little");
    shop.wait(TimeDelta::seconds(30));
    shop.post("/sign-in", &[("name", "ann"), ("password", "wrong")]).await.expect(422);
});

on_both_engines!(a_sign_in_name_is_plain_and_belongs_to_one_person, async |shop: &TestShop| {
    let add =
        async |name: &str, full: &str, roles| add_person::add_person(&shop.ctx, name, full, roles).await;
    add("ann", "Ann", DESK).await.unwrap();
    assert!(matches!(add("ANN", "Another Ann", DESK).await, Err(AddError::Taken)));
    for bad in ["", "a", "1ann", "ann example", "ann@example.com", "änn", &"a".repeat(41)] {
        assert!(matches!(add(bad, "Ann", DESK).await, Err(AddError::BadName)), "{bad}");
    }
    assert!(matches!(add("bob", " ", DESK).await, Err(AddError::BadFullName)));
    assert!(matches!(add("bob", "Bob", Roles::default()).await, Err(AddError::NoRole)));
});

#[tokio::test]
async fn the_session_cookie_is_out_of_reach_for_scripts_other_sites_and_plain_http() {
    for (url, expected) in [
        ("http://shop.example.com", "Path=/; Max-Age=2592000; HttpOnly; SameSite=Lax"),
        ("https://shop.example.com", "Path=/; Max-Age=2592000; HttpOnly; SameSite=Lax; Secure"),
    ] {
        let shop = TestShop::open_with(Engine::Sqlite, &[("WHETLEDGER_PUBLIC_URL", url)]).await.unwrap();
        let added = add_person::add_person(&shop.ctx, "ann", "Ann", DESK).await.unwrap();
        let fields = [("name", "ann"), ("password", added.one_time_password.as_str())];
        let answer = shop.post("/sign-in", &fields).await.expect(303);
        let cookie = answer.header("set-cookie");
        let (pair, rest) = cookie.split_once("; ").unwrap();
        assert_eq!(rest, expected);
        assert_eq!(pair.starts_with("__Host-"), url.starts_with("https"), "{pair}");
        let hsts = answer.header("strict-transport-security");
        assert_eq!(hsts, if url.starts_with("https") { "max-age=63072000" } else { "" });
    }
    let settings =
        [("WHETLEDGER_PUBLIC_URL", "https://shop.example.com"), ("WHETLEDGER_HSTS_SUBDOMAINS", "yes")];
    let shop = TestShop::open_with(Engine::Sqlite, &settings).await.unwrap();
    let answer = shop.get("/sign-in").await.expect(200);
    assert_eq!(answer.header("strict-transport-security"), "max-age=63072000; includeSubDomains");
}

on_both_engines!(an_old_hash_is_renewed_when_its_password_is_typed, async |shop: &TestShop| {
    const PASSWORD: &str = "four unrelated words";
    shop.sign_in_as(DESK).await;
    let (ann, _) = staff::by_name(shop.ctx.store.read(), "ann").await.unwrap().unwrap();
    // 8 MiB and one pass: what somebody might have thought enough once.
    let params = Params::new(8_192, 1, 1, None).unwrap();
    let weak = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let salt = SaltString::encode_b64(b"sixteen bytes ok").unwrap();
    let weak = weak.hash_password(PASSWORD.as_bytes(), &salt).unwrap().to_string();
    let stored = async || staff::by_name(shop.ctx.store.read(), "ann").await.unwrap().unwrap();
    let tx = shop.ctx.store.begin_write().await.unwrap();
    staff::set_password(&tx, ann.id, weak.clone(), None).await.unwrap();
    tx.commit().await.unwrap();
    shop.forget_cookies();
    shop.post("/sign-in", &[("name", "ann"), ("password", "wrong")]).await.expect(422);
    assert_eq!(stored().await.1, weak, "a wrong password renews nothing");
    for _ in 0..2 {
        shop.forget_cookies();
        shop.post("/sign-in", &[("name", "ann"), ("password", PASSWORD)]).await.expect(303);
        let (person, hash) = stored().await;
        assert!(!passwords::is_outdated(&hash) && !person.must_change_password, "{hash}");
    }
});

on_both_engines!(the_owner_signs_everybody_out, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let tablet = shop.cookies();
    let bob = add_person::add_person(&shop.ctx, "bob", "Bob Example", DESK).await.unwrap();
    shop.forget_cookies();
    shop.post("/sign-in", &[("name", "bob"), ("password", &bob.one_time_password)]).await.expect(303);
    let bobs = shop.cookies();
    shop.post("/shop/crew/sessions", &[]).await.expect(303);
    shop.get("/account").await.expect(200);
    sign_in_on(shop, "Mozilla/5.0 (X11; Linux x86_64)").await;
    let page = shop.get("/shop/crew").await.expect(200);
    let done = Form::of(&page, "/shop/crew/sessions").send(shop).await.expect(303);
    shop.get(done.header("location")).await.expect(200).says("Everybody else is signed out");
    shop.get("/shop").await.expect(200).says("everybody signed out; sessions ended: 2");
    for theirs in [tablet, bobs] {
        shop.set_cookies(theirs);
        shop.get("/account").await.expect(303);
    }
});

on_both_engines!(a_one_time_password_runs_out, async |shop: &TestShop| {
    let added = add_person::add_person(&shop.ctx, "ann", "Ann Example", Roles::OWNER).await.unwrap();
    let try_with = async |password: &str| {
        shop.forget_cookies();
        shop.post("/sign-in", &[("name", "ann"), ("password", password)]).await
    };
    shop.wait(TimeDelta::hours(71));
    try_with(&added.one_time_password).await.expect(303);
    shop.wait(TimeDelta::hours(1));
    try_with(&added.one_time_password).await.expect(422).says("has run out");
    assert!(shop.cookies().is_empty());
    let wrong = try_with("wrong").await.expect(422);
    assert!(!wrong.body.contains("run out"), "only whoever has it is told: {}", wrong.body);

    // The owner, or the command line, gives a new one; a password of one's own does not run out.
    let again = save_crew::new_password(&shop.ctx, None, added.person.id).await.unwrap();
    try_with(&again).await.expect(303);
    let own = "four unrelated words";
    shop.post("/account", &[("present", &again), ("new", own), ("again", own)]).await.expect(303);
    shop.wait(TimeDelta::days(400));
    try_with(own).await.expect(303);
    shop.get("/desk/post").await.expect(200);
});

/// Signs Ann in from another browser, which says what it runs on.
async fn sign_in_on(shop: &TestShop, agent: &str) {
    shop.forget_cookies();
    let request = Request::post("/sign-in")
        .header("content-type", "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "same-origin")
        .header("user-agent", agent)
        .body(Body::from("name=ann&password=four+unrelated+words"))
        .unwrap();
    shop.ask(request).await.expect(303);
}

on_both_engines!(one_sees_where_one_is_signed_in_and_ends_it, async |shop: &TestShop| {
    shop.sign_in_as(DESK).await;
    let first = shop.cookies();
    shop.wait(TimeDelta::hours(1));
    sign_in_on(shop, "Mozilla/5.0 (Linux; Android 14; SM-X200)").await;
    let tablet = shop.cookies();
    sign_in_on(shop, "Mozilla/5.0 (X11; Linux x86_64)").await;
    let page = shop.get("/account").await.expect(200);
    let page = page.says("Android").says("Linux").says("A browser").says("2 Mar 2026, 09:00");
    assert_eq!(page.body.matches("action=\"/account/sessions/end\"").count(), 2, "all but the one at hand");

    let form = Form::of(&page, "/account/sessions/end");
    let other = form.get("session").to_owned();
    form.send(shop).await.expect(303);
    let page = shop.get("/account?said=ended").await.expect(200).says("That session has ended.");
    assert_eq!(page.body.matches("action=\"/account/sessions/end\"").count(), 1);
    let here = shop.cookies();
    let mut n_open = 0;
    for cookies in [&first, &tablet] {
        shop.set_cookies(cookies.clone());
        n_open += usize::from(shop.get("/desk/post").await.status == 200);
    }
    assert_eq!(n_open, 1, "exactly the named one has ended");
    shop.set_cookies(here);
    // Ended already, unreadable, or somebody else's: nothing happens to anybody.
    shop.post("/account/sessions/end", &[("session", &other)]).await.expect(303);
    shop.post("/account/sessions/end", &[("session", "é")]).await.expect(404);
    let bob = add_person::add_person(&shop.ctx, "bob", "Bob Example", DESK).await.unwrap();
    let here = shop.cookies();
    shop.forget_cookies();
    shop.post("/sign-in", &[("name", "bob"), ("password", &bob.one_time_password)]).await.expect(303);
    let bobs = shop.cookies();
    let idle = TimeDelta::days(7);
    let open = staff::sessions_of(shop.ctx.store.read(), bob.person.id, shop.ctx.now(), idle).await.unwrap();
    let name: String = open[0].sha256.iter().map(|byte| format!("{byte:02x}")).collect();
    shop.set_cookies(here);
    shop.post("/account/sessions/end", &[("session", &name)]).await.expect(303);
    shop.post("/account/sessions/end-others", &[]).await.expect(303);
    let page = shop.get("/account").await.expect(200);
    assert_eq!(page.body.matches("action=\"/account/sessions/end").count(), 0, "{}", page.body);
    for cookies in [first, tablet] {
        shop.set_cookies(cookies);
        shop.get("/desk/post").await.expect(303);
    }
    shop.set_cookies(bobs);
    shop.get("/account").await.expect(200).says("Bob Example");
});

#[tokio::test]
async fn the_language_is_kept_in_a_cookie_of_ours_alone() {
    for url in ["http://shop.example.com", "https://shop.example.com"] {
        let shop = TestShop::open_with(Engine::Sqlite, &[("WHETLEDGER_PUBLIC_URL", url)]).await.unwrap();
        let answer = shop.post("/language", &[("lang", "de"), ("back", "/privacy")]).await.expect(303);
        let https = url.starts_with("https");
        assert_eq!(answer.header("set-cookie").starts_with("__Host-"), https, "{answer:?}");
        assert_eq!(answer.header("set-cookie").ends_with("; Secure"), https, "{answer:?}");
        assert!(shop.get("/sign-in").await.status.is_success());
        shop.get("/link").await.expect(200).says("lang=\"de\"");
    }
}
