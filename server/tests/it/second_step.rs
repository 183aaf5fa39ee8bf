//! Signing in with a code from a telephone.

use chrono::TimeDelta;
use server::store::staff::Roles;
use server::use_cases::add_person;
use totp_rs::{Builder, Secret};

use crate::form::Form;
use crate::on_both_engines;
use crate::test_shop::TestShop;

const PASSWORD: &str = "four unrelated words";

/// What the telephone shows now.
fn telephone(shop: &TestShop, key: &str) -> String {
    let key = Secret::try_from_base32(key).unwrap();
    let now = u64::try_from(shop.ctx.now().timestamp()).unwrap();
    let app = Builder::new().with_secret(key).build().unwrap();
    app.generate(now).to_string()
}

async fn sign_in(shop: &TestShop, code: &str) -> u16 {
    shop.forget_cookies();
    let fields = [("name", "ann"), ("password", PASSWORD), ("code", code)];
    shop.post("/sign-in", &fields).await.status.as_u16()
}

on_both_engines!(with_a_second_step_the_password_alone_opens_nothing, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let form = Form::of(&shop.get("/account/second-step").await.expect(200), "/account/second-step");
    let key = form.get("key").to_owned();
    let form = form.set("code", &telephone(shop, &key)).set("password", PASSWORD);
    let here = shop.cookies();
    assert_eq!(sign_in(shop, "").await, 303);
    let other = shop.cookies();
    shop.set_cookies(here.clone());
    form.clone()
        .set("password", "not mine at all")
        .send(shop)
        .await
        .expect(422)
        .says("not your present password");
    form.clone()
        .set("code", "12")
        .send(shop)
        .await
        .expect(422)
        .says("not the code of this minute")
        .says(&key);
    let done = form.send(shop).await.expect(303);
    shop.get(done.header("location")).await.expect(200).says("takes a code from your telephone");
    let now = shop.cookies();
    assert_ne!(now, here, "this browser has a new session");
    for ended in [here, other] {
        shop.set_cookies(ended);
        shop.get("/account").await.expect(303);
    }

    let used = telephone(shop, &key);
    shop.wait(TimeDelta::seconds(60));
    assert_eq!(sign_in(shop, "").await, 422);
    assert_eq!(sign_in(shop, "123456").await, 422);
    assert_eq!(sign_in(shop, &used).await, 422, "the code that proved the key is used up");
    let code = telephone(shop, &key);
    assert_eq!(sign_in(shop, &code).await, 303);
    shop.get("/shop").await.expect(200);
    assert_eq!(sign_in(shop, &code).await, 422, "seen over a shoulder, it opens nothing");

    shop.wait(TimeDelta::seconds(30));
    assert_eq!(sign_in(shop, &telephone(shop, &key)).await, 303);
    let off = Form::of(&shop.get("/account").await, "/account/second-step/off");
    off.clone().set("password", "wrong").send(shop).await.expect(422).says("not your present password");
    // Ten tries in a row were enough for a while.
    shop.wait(TimeDelta::minutes(10));
    let here = shop.cookies();
    shop.wait(TimeDelta::seconds(30));
    assert_eq!(sign_in(shop, &telephone(shop, &key)).await, 303);
    let other = shop.cookies();
    shop.set_cookies(here);
    off.set("password", PASSWORD).send(shop).await.expect(303);
    shop.get("/account").await.expect(200);
    shop.set_cookies(other);
    shop.get("/account").await.expect(303);
    assert_eq!(sign_in(shop, "").await, 303, "the password is enough again");
});

on_both_engines!(the_owner_asks_a_second_step_of_roles, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let page = shop.get("/shop/crew").await.expect(200);
    let form = Form::of(&page, "/shop/crew/second-step").tick("second-step-bench", "true");
    let done = form.clone().send(shop).await.expect(303);
    // It holds from the next page on, for the owner too, who may do all that the bench may.
    assert_eq!(
        shop.get(done.header("location")).await.expect(303).header("location"),
        "/account/second-step"
    );
    let desk = Roles { desk: true, bench: false, owner: false };
    let bob = add_person::add_person(&shop.ctx, "bob", "Bob Example", desk).await.unwrap();
    let ann = shop.cookies();
    shop.forget_cookies();
    shop.post("/sign-in", &[("name", "bob"), ("password", &bob.one_time_password)]).await.expect(303);
    let own = "seven quiet wet stones";
    let fields = [("present", bob.one_time_password.as_str()), ("new", own), ("again", own)];
    shop.post("/account", &fields).await.expect(303);
    shop.get("/desk/post").await.expect(200);

    shop.set_cookies(ann);
    for path in ["/desk/post", "/bench", "/shop", "/knives"] {
        assert_eq!(shop.get(path).await.expect(303).header("location"), "/account/second-step", "{path}");
    }
    let page = shop.get("/account/second-step").await.expect(200).says("your work asks for a second step");
    let form_of_step = Form::of(&page, "/account/second-step");
    let key = form_of_step.get("key").to_owned();
    form_of_step.set("code", &telephone(shop, &key)).set("password", PASSWORD).send(shop).await.expect(303);
    let page = shop.get("/shop/crew").await.expect(200).says(">set up<");
    let again = Form::of(&page, "/shop/crew/second-step");
    assert_eq!(again.get("second-step-bench"), "true");
    // A form that was read before somebody else saved it changes nothing.
    form.send(shop).await.expect(409);
});
