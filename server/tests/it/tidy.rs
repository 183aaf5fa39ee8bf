//! The arrows between the rooms of the server, read from its `use` lines and paths.

use std::path::{Path, PathBuf};

/// A room, and the rooms it must not name.
const FORBIDDEN: &[(&str, &[&str])] = &[
    ("store", &["cli", "http", "use_cases", "post", "planning"]),
    ("post", &["cli", "http", "use_cases"]),
    ("planning", &["cli", "http", "post"]),
    ("use_cases", &["cli", "http"]),
    ("http", &["cli"]),
];

/// Files and folders may name these words, nobody else.
const ONLY: &[(&str, &[&str])] = &[
    ("sea_orm", &["store/"]),
    ("Utc::now", &["clock.rs"]),
    ("SystemTime::now", &["clock.rs"]),
    ("Instant::now", &["clock.rs"]),
];

fn sources() -> Vec<(String, String)> {
    under("src")
}

/// Every Rust file under a folder of this crate, by its path there.
fn under(folder: &str) -> Vec<(String, String)> {
    fn walk(folder: &Path, into: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, into);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                into.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths = Vec::new();
    walk(&root, &mut paths);
    paths
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(&root).unwrap().to_str().unwrap().replace('\\', "/");
            (name, std::fs::read_to_string(&path).unwrap())
        })
        .collect()
}

/// The lines that are code, with their numbers: comments may name anything.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .map(|(n, line)| (n + 1, line))
        .filter(|(_, line)| !line.trim_start().starts_with("//"))
}

#[test]
fn the_arrows_point_one_way() {
    let sources = sources();
    for (room, others) in FORBIDDEN {
        let inside = |name: &str| name.starts_with(&format!("{room}/")) || name == format!("{room}.rs");
        for (name, text) in sources.iter().filter(|(name, _)| inside(name)) {
            for (n, line) in code(text) {
                for other in *others {
                    let wrong = line.contains(&format!("crate::{other}"))
                        || (line.contains("super::super::") && line.contains(other));
                    assert!(!wrong, "server/src/{name}:{n}: {room} must not name {other}: {line}");
                }
            }
        }
    }
    for room in ["store", "post", "use_cases", "http", "cli"] {
        let there = sources.iter().any(|(name, _)| name.starts_with(&format!("{room}/")));
        assert!(there, "there is no room {room}; put this test right");
    }
}

#[test]
fn the_database_library_and_the_time_are_named_in_one_place_each() {
    for (word, places) in ONLY {
        let mut seen = false;
        for (name, text) in sources() {
            for (n, line) in code(&text).filter(|(_, line)| line.contains(word)) {
                let here = places.iter().any(|place| name.starts_with(place));
                assert!(here, "server/src/{name}:{n} names {word}: {line}");
                seen = true;
            }
        }
        assert!(seen || *word == "SystemTime::now", "nobody names {word}; put this test right");
    }
}

#[test]
fn every_setting_is_explained_to_whoever_operates_the_shop() {
    let page = include_str!("../../OPERATING.md");
    for setting in server::config::SETTINGS {
        let name = format!("`{}`", setting.variable);
        assert!(page.contains(&name), "server/OPERATING.md says nothing about {name}");
    }
}

#[test]
fn the_security_checklist_points_to_tests_that_are_there() {
    let page = include_str!("../../SECURITY.md");
    let code: String =
        ["src", "tests/it", "../app"].into_iter().flat_map(under).map(|(_, text)| text).collect();
    let is_sentence = |word: &str| {
        word.matches('_').count() >= 3 && word.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_')
    };
    let mut n = 0;
    for name in page.split('`').skip(1).step_by(2).filter(|word| is_sentence(word)) {
        assert!(code.contains(name), "server/SECURITY.md points to {name}, which is nowhere");
        n += 1;
    }
    assert!(n > 30, "only {n} tests are named; put this test right");
}
