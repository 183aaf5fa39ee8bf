//! Headers, posts from other sites, and bodies of the wrong kind or size.

use axum::body::Body;
use http::Request;
use server::store::staff::Roles;

use crate::on_both_engines;
use crate::test_shop::TestShop;

on_both_engines!(every_answer_carries_the_strict_headers, async |shop: &TestShop| {
    for path in ["/sign-in", "/nowhere", "/healthz", "/pkg/nothing.js"] {
        let answer = shop.get(path).await;
        let policy = answer.header("content-security-policy");
        for part in [
            "default-src 'none'",
            "script-src 'self' 'nonce-",
            "style-src 'self'",
            "img-src 'self' blob: data:",
            "font-src 'self'",
            "manifest-src 'self'",
            "worker-src 'self'",
            "base-uri 'none'",
            "object-src 'none'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        ] {
            assert!(policy.contains(part), "{path}: {part} is not in {policy}");
        }
        assert!(!policy.contains("unsafe-inline") && !policy.contains("'unsafe-eval'"), "{path}: {policy}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff");
        assert_eq!(answer.header("referrer-policy"), "same-origin");
        assert_eq!(answer.header("x-frame-options"), "DENY");
        assert_eq!(answer.header("x-request-id").len(), 8);
        assert_eq!(answer.header("cache-control"), "no-store");
    }
});

on_both_engines!(a_nonce_is_used_once_and_stands_on_every_script, async |shop: &TestShop| {
    let nonce_of =
        |policy: &str| policy.split_once("'nonce-").unwrap().1.split_once('\'').unwrap().0.to_owned();
    let (one, two) = (shop.get("/sign-in").await, shop.get("/sign-in").await);
    let nonces = [&one, &two].map(|answer| nonce_of(answer.header("content-security-policy")));
    assert_ne!(nonces[0], nonces[1]);
    assert!(nonces[0].len() >= 20, "{}", nonces[0]);
    for script in one.body.split("<script").skip(1) {
        let tag = script.split_once('>').unwrap().0;
        assert!(tag.contains(&nonces[0]), "a script without its nonce: {tag}");
    }
    assert!(!one.body.contains("style=\""), "a style attribute would be blocked");
});

on_both_engines!(a_post_from_another_site_changes_nothing, async |shop: &TestShop| {
    shop.sign_in_as(Roles::OWNER).await;
    let send = async |headers: &[(&str, &str)]| {
        let mut request =
            Request::post("/desk/post/trial").header("content-type", "application/x-www-form-urlencoded");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        shop.ask(request.body(Body::from("to=ann%40example.com")).unwrap()).await.status.as_u16()
    };
    assert_eq!(send(&[("sec-fetch-site", "cross-site")]).await, 400);
    assert_eq!(send(&[("sec-fetch-site", "same-site")]).await, 400);
    assert_eq!(send(&[("origin", "https://evil.example.org")]).await, 400);
    assert_eq!(send(&[("origin", "null")]).await, 400);
    assert_eq!(send(&[]).await, 400, "with a session but without a word where it comes from");
    assert_eq!(shop.send_post().await, 0);
    assert_eq!(send(&[("origin", "http://shop.example.com")]).await, 303);
    assert_eq!(shop.send_post().await, 1);
});

on_both_engines!(a_body_of_the_wrong_kind_or_size_is_refused_calmly, async |shop: &TestShop| {
    let send = async |kind: &str, body: Vec<u8>| {
        let request =
            Request::post("/sign-in").header("content-type", kind).header("sec-fetch-site", "same-origin");
        shop.ask(request.body(Body::from(body)).unwrap()).await
    };
    let form = "application/x-www-form-urlencoded";
    send("application/json", b"{}".to_vec()).await.expect(400).says("That could not be read");
    send(form, vec![b'a'; 300 * 1024]).await.expect(413).says("That was too large");
    send(form, b"name=%FF%FE&password=x".to_vec()).await.expect(422);
    send(form, b"name[a][b][c][d][e][f][g]=x".to_vec()).await.expect(400);
    send(form, b"name[]=a&name[]=b".to_vec()).await.expect(400);
    send(form, Vec::new()).await.expect(422).says("not right");
});

on_both_engines!(long_pages_are_compressed, async |shop: &TestShop| {
    let request = Request::get("/sign-in").header("accept-encoding", "br").body(Body::empty()).unwrap();
    let answer = shop.ask(request).await.expect(200);
    assert_eq!(answer.header("content-encoding"), "br");
});

on_both_engines!(built_texts_say_their_character_set, async |shop: &TestShop| {
    let folder = shop.ctx.config.site.join("pkg");
    std::fs::create_dir_all(&folder).unwrap();
    for (file, kind) in [
        ("shop.css", "text/css; charset=utf-8"),
        ("shop.js", "text/javascript; charset=utf-8"),
        ("shop.wasm", "application/wasm"),
    ] {
        std::fs::write(folder.join(file), "x").unwrap();
        let answer = shop.get(&format!("/pkg/{file}")).await.expect(200);
        assert_eq!(answer.header("content-type"), kind);
        assert!(answer.header("cache-control").contains("immutable"));
        assert_eq!(answer.header("content-security-policy"), "default-src 'none'", "a file loads nothing");
    }
});
