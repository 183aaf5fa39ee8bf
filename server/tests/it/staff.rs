//! Signing in, sessions and passwords, as a browser sees them.

use chrono::TimeDelta;
use server::store::staff::Roles;
use server::use_cases::add_person::{self, AddError};

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
        assert_eq!(!hsts.is_empty(), url.starts_with("https"));
    }
}
