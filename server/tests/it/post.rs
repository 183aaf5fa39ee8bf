//! The shop's post as staff see it.

use server::post::transport::SendError;
use server::store::outbox;
use server::store::staff::Roles;

use crate::on_both_engines;
use crate::test_shop::TestShop;

on_both_engines!(a_trial_notice_is_written_sent_and_shown, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    shop.get("/desk/post").await.expect(200).says("Nothing here").says("No post leaves the house");
    shop.post("/desk/post/trial", &[("to", "nobody")]).await.expect(422).says("value=\"nobody\"");
    shop.post("/desk/post/trial", &[("to", "bob@example.org")]).await.expect(303);
    shop.get("/desk/post?which=waiting").await.expect(200).says("A trial notice from Whetledger");
    assert_eq!(shop.send_post().await, 1);
    shop.get("/desk/post?which=waiting").await.expect(200).says("Nothing here");
    shop.get("/desk/post?which=sent").await.expect(200).says("bob@example.org");

    let notice = &outbox::list(shop.ctx.store.read(), outbox::Which::Sent, None, 1).await.unwrap()[0];
    let page = format!("/desk/post/{}", notice.id);
    shop.get(&page).await.expect(200).says("Ann Example sent this to see whether").says("sandbox");
    let html = shop.get(&format!("{page}/page")).await.expect(200).says("<style>");
    let policy = html.header("content-security-policy");
    assert!(policy.contains("style-src 'sha256-") && policy.contains("sandbox"), "{policy}");
    assert!(!policy.contains("unsafe-inline") && !policy.contains("script-src"), "{policy}");
    assert_eq!(html.header("x-frame-options"), "SAMEORIGIN");
    shop.get(&format!("{page}/calendar")).await.expect(404);
    shop.get("/desk/post/not-an-id").await.expect(404);
});

on_both_engines!(what_left_the_house_is_what_was_written, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    shop.post("/desk/post/trial", &[("to", "bob@example.org")]).await.expect(303);
    shop.send_post().await;
    let out = shop.mail.out();
    let mail = &out[0].mail;
    for header in [
        "From: \"The shop\" <shop@example.com>\r\n",
        "To: bob@example.org\r\n",
        "Subject: A trial notice from Whetledger\r\n",
        "Auto-Submitted: auto-generated\r\n",
        "Date: Mon, 02 Mar 2026 08:00:00 +0000\r\n",
        "Content-Type: multipart/alternative;",
    ] {
        assert!(mail.contains(header), "{header:?} is not in:\n{mail}");
    }
    assert!(out[0].notice.subject.chars().count() < 60);
});

on_both_engines!(a_notice_that_was_given_up_can_be_tried_again, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let id = shop.queue(None, "your knives are ready").await;
    shop.mail.fail_next(SendError::Never("550 no such mailbox".to_owned()));
    shop.send_post().await;
    shop.get("/desk/post?which=given-up").await.expect(200).says("550 no such mailbox");
    shop.get(&format!("/desk/post/{id}")).await.expect(200).says("Try it again");
    shop.post(&format!("/desk/post/{id}/again"), &[]).await.expect(303);
    assert_eq!(shop.send_post().await, 1);
    shop.get("/desk/post?which=given-up").await.expect(200).says("Nothing here");
    assert_eq!(shop.sent(), ["your knives are ready"]);
});

on_both_engines!(what_a_stranger_wrote_into_a_name_is_never_markup, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let id = shop.queue(None, "<script>alert(1)</script>").await;
    let page = shop.get(&format!("/desk/post/{id}")).await.expect(200);
    assert!(!page.body.contains("<script>alert"), "{}", page.body);
    shop.send_post().await;
});

on_both_engines!(the_list_goes_back_page_by_page, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    for n in 0..51 {
        shop.queue(None, &format!("notice number {n:03}")).await;
    }
    let first = shop.get("/desk/post").await.expect(200).says("notice number 050").says("Older ones");
    assert!(!first.body.contains("notice number 000"));
    let older = first.body.split_once("before=").unwrap().1.split_once('"').unwrap().0.to_owned();
    shop.get(&format!("/desk/post?which=all&before={older}")).await.expect(200).says("notice number 000");
    assert_eq!(shop.send_post().await, 51);
});
