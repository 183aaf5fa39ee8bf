//! Signing in with a code from a telephone.

use chrono::TimeDelta;
use server::store::staff::Roles;
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
    off.set("password", PASSWORD).send(shop).await.expect(303);
    assert_eq!(sign_in(shop, "").await, 303, "the password is enough again");
});
