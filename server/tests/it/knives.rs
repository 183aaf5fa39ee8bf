//! The list of knives: page after page by the database, and looked through by name, model and tag.

use std::collections::BTreeSet;

use server::store::knives::{self, NewKnife};
use shop::ids::KnifeId;
use shop::tag::Tag;

use crate::desk::open_shop;
use crate::on_both_engines;
use crate::test_shop::{Answer, TestShop};

/// Not every serial makes a tag; so far apart they make different ones.
const APART: u64 = 8;

/// Adds knives with these names, the first one first.
async fn add(shop: &TestShop, names: impl IntoIterator<Item = String>, first_tag: u64) {
    let model = knives::models(shop.ctx.store.read()).await.unwrap().remove(0).id;
    let tx = shop.ctx.store.begin_write().await.unwrap();
    for (n, name) in names.into_iter().enumerate() {
        let new = NewKnife {
            id: KnifeId(shop.ctx.new_id()),
            tag: Tag::from_serial(first_tag + APART * n as u64),
            model: name.starts_with("Ours").then_some(model),
            name,
            owner: None,
        };
        knives::insert(&tx, new, shop.ctx.now()).await.unwrap();
    }
    tx.commit().await.unwrap();
}

/// The knives a page of the list shows, and where the next one is.
fn read(page: &Answer) -> (Vec<String>, Option<String>) {
    let tags = page.body.split("href=\"/desk/knife/").skip(1);
    let tags = tags.map(|rest| rest.split('"').next().unwrap().to_owned()).collect();
    let link = page
        .body
        .split("href=\"/knives?")
        .skip(1)
        .find(|rest| rest.split("</a>").next().is_some_and(|link| link.contains("Older")));
    let older = link.map(|rest| format!("/knives?{}", rest.split('"').next().unwrap().replace("&amp;", "&")));
    (tags, older)
}

on_both_engines!(every_knife_is_on_exactly_one_page_of_the_list, async |shop: &TestShop| {
    open_shop(shop).await;
    add(shop, (0..120).map(|n| format!("Bread knife {n}")), 1000).await;
    let mut next = Some("/knives?q=bread".to_owned());
    let (mut seen, mut lengths) = (Vec::new(), Vec::new());
    while let Some(path) = next {
        let page = shop.get(&path).await.expect(200);
        let (tags, older) = read(&page);
        lengths.push(tags.len());
        seen.extend(tags);
        next = older;
        if lengths.len() == 1 {
            // One that comes in meanwhile moves nothing.
            add(shop, ["Bread knife in between".to_owned()], 3000).await;
        } else {
            assert!(
                page.body.contains("href=\"/knives?q=bread&amp;before=\""),
                "back to the newest: {}",
                page.body
            );
        }
    }
    assert_eq!(lengths, [50, 50, 20]);
    assert_eq!(seen.iter().collect::<BTreeSet<_>>().len(), 120, "none twice and none left out");
    assert_eq!(seen[0], Tag::from_serial(1000 + APART * 119).plain(), "the newest first");
});

on_both_engines!(knives_are_found_by_name_model_and_tag, async |shop: &TestShop| {
    open_shop(shop).await;
    let names = ["Ours one", "Käsemesser Ölzweig", "100% steel", "1000 steel", "back\\slash", "a_b", "axb"];
    add(shop, names.map(str::to_owned), 500).await;
    let mark = knives::models(shop.ctx.store.read()).await.unwrap().remove(0).mark;
    let found = async |word: &str| {
        let page = shop.get(&format!("/knives?q={word}")).await.expect(200);
        let shown = names.iter().filter(|name| page.body.contains(&format!(">{name}<")));
        shown.copied().collect::<Vec<_>>()
    };
    assert_eq!(found(&mark.to_lowercase().replace(' ', "+")).await, ["Ours one"]);
    for word in ["k%C3%A4se", "K%C3%84SE", "%C3%B6lzweig", "%C3%96LZWEIG", "zWEIG"] {
        assert_eq!(found(word).await, ["Käsemesser Ölzweig"], "{word}");
    }
    assert_eq!(found("100%25").await, ["100% steel"], "a percent sign is itself");
    assert_eq!(found("a_b").await, ["a_b"], "and so is a low line");
    assert_eq!(found("k%5Cs").await, ["back\\slash"]);
    assert_eq!(found("nothing+of+ours").await, [""; 0]);
    let tag = Tag::from_serial(500 + APART);
    let part = &tag.plain()[..tag.plain().len() - 1];
    assert!(found(&part.to_lowercase()).await.contains(&"Käsemesser Ölzweig"), "by the beginning of its tag");
    let whole = shop.get(&format!("/knives?q={tag}")).await.expect(303);
    assert_eq!(whole.header("location"), format!("/desk/knife/{}", tag.plain()));
    // An address somebody cut short is no failure.
    shop.get("/knives?before=0192").await.expect(200).says("Ours one");
});
