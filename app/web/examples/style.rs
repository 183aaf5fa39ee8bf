//! Writes the design language as files to look at without a server: `style.html` and `bench.html` in the given folder, with
//! links to the style sheets of this checkout.
//!
//! `cargo run -p web --features ssr --example style -- /tmp/look`

use std::path::{Path, PathBuf};

use leptos::prelude::*;
use web::pages::style::{StyleBenchPage, StylePage};
use web::shell::{Frame, Shell, SignedIn};

fn main() -> std::io::Result<()> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "target/look".into()));
    std::fs::create_dir_all(&folder)?;
    let style = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../style").canonicalize()?;
    let links = links(&style)?;
    let write = |name: &str, html: String| {
        std::fs::write(folder.join(name), html.replace("</head>", &format!("{links}</head>")))
    };
    let owner = Owner::new();
    owner.with(|| {
        write("style.html", view! { <Shell frame=frame("/style")><StylePage /></Shell> }.to_html())?;
        write("bench.html", view! { <Shell frame=frame("/bench")><StyleBenchPage /></Shell> }.to_html())
    })
}

fn frame(path: &str) -> Frame {
    Frame {
        title: "How it looks".into(),
        shop_name: "Brook Street Cutlers".into(),
        path: path.into(),
        signed_in: Some(SignedIn {
            id: String::new(),
            full_name: "Ida Holm".into(),
            desk: true,
            bench: true,
            owner: true,
        }),
        ..Frame::default()
    }
}

/// One link per sheet, in the order of the build: `layers.css`, then the rest by name.
fn links(style: &Path) -> std::io::Result<String> {
    let mut sheets: Vec<_> = std::fs::read_dir(style)?
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .filter(|path| path.extension().is_some_and(|ending| ending == "css"))
        .collect();
    sheets.sort_by_key(|path| (!path.ends_with("layers.css"), path.clone()));
    Ok(sheets
        .iter()
        .map(|path| format!(r#"<link rel="stylesheet" href="file://{}">"#, path.display()))
        .collect())
}
