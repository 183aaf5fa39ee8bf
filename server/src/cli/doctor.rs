//! `whetledger doctor`: looks a live set-up over and says what is wrong and what to do.

use super::{Done, open};
use crate::config::{Config, Post};
use crate::store::{Engine, Store, migrate, outbox, staff};

/// Says what was looked at and counts what is wrong.
#[derive(Default)]
struct Findings {
    n_good: usize,
    n_bad: usize,
}

impl Findings {
    fn good(&mut self, what: &str) {
        self.n_good += 1;
        println!("  good   {what}");
    }

    fn bad(&mut self, what: &str, todo: &str) {
        self.n_bad += 1;
        println!("  WRONG  {what}\n         {todo}");
    }
}

/// Exit code 0 when everything is good, 1 when something is wrong.
pub(super) async fn run() -> anyhow::Result<Done> {
    let config = open::config()?;
    let mut findings = Findings::default();
    findings.good("settings are understood");
    folders(&config, &mut findings);
    database(&config, &mut findings).await;
    post(&config, &mut findings);
    match findings.n_bad {
        0 => println!("All {} things looked at are good.", findings.n_good),
        1 => anyhow::bail!("one thing is to be put right"),
        n => anyhow::bail!("{n} things are to be put right"),
    }
    Ok(Done::Well)
}

fn folders(config: &Config, findings: &mut Findings) {
    let probe = config.data.join(".doctor.tmp");
    let tried = std::fs::create_dir_all(&config.data)
        .and_then(|()| std::fs::write(&probe, b"probe"))
        .and_then(|()| std::fs::remove_file(&probe));
    match tried {
        Ok(()) => findings.good(&format!("data folder {} can be written", config.data.display())),
        Err(error) => findings.bad(
            &format!("data folder {} cannot be written: {error}", config.data.display()),
            "Give the user that runs Whetledger this folder, or set WHETLEDGER_DATA to another one.",
        ),
    }
    if config.site.join("manifest.json").is_file() {
        findings.good(&format!("built assets are in {}", config.site.display()));
    } else {
        findings.bad(
            &format!("no built assets in {}", config.site.display()),
            "Run `make run` once, or set WHETLEDGER_SITE to the folder with manifest.json.",
        );
    }
}

async fn database(config: &Config, findings: &mut Findings) {
    let store = match Store::open(config.database_url.reveal(), 2).await {
        Ok(store) => store,
        Err(error) => {
            findings.bad(
                &format!("the database cannot be opened: {error}"),
                "Check WHETLEDGER_DATABASE_URL, and that the server behind it runs.",
            );
            return;
        }
    };
    let engine = match store.engine() {
        Engine::Sqlite => "SQLite",
        Engine::Postgres => "PostgreSQL",
    };
    match migrate::pending(&store).await {
        Ok(pending) if pending.is_empty() => findings.good(&format!("{engine} answers and is up to date")),
        Ok(pending) => findings.bad(
            &format!("{engine} answers; {} schema changes are missing", pending.len()),
            "Run `whetledger migrate`, or start the server, which does it too.",
        ),
        Err(error) => findings.bad(&format!("{engine} cannot be read: {error}"), "Restore a backup."),
    }
    if let Ok(people) = staff::count(store.read()).await {
        if people == 0 {
            findings.bad("nobody can sign in", "Run `whetledger person add NAME \"FULL NAME\" --owner`.");
        } else {
            findings
                .good(&format!("{people} {} sign in", if people == 1 { "person can" } else { "people can" }));
        }
    }
    if let Ok(n @ 1..) = outbox::count(store.read(), outbox::Which::GivenUp).await {
        findings.bad(&format!("{n} notices were given up"), "Look at /desk/post and put them back in line.");
    }
    let _ = store.close().await;
}

fn post(config: &Config, findings: &mut Findings) {
    match &config.post {
        Post::Hold => findings.bad(
            "no post leaves the house",
            "Set WHETLEDGER_POST=smtp and WHETLEDGER_SMTP_HOST, or WHETLEDGER_POST=folder to try things out.",
        ),
        Post::Folder(folder) => {
            findings.good(&format!("notices go into {} and to nobody else", folder.display()));
        }
        Post::Smtp(smtp) => findings.good(&format!("notices go out through {}:{}", smtp.host, smtp.port)),
    }
    if !config.is_https() && !config.bind.ip().is_loopback() {
        findings.bad(
            "the shop is reached over the network without HTTPS",
            "Put a proxy with a certificate in front and set WHETLEDGER_PUBLIC_URL to https://...",
        );
    }
}
