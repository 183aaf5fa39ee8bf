//! `whetledger certificate`: a certificate for the shop's own network, for tablets at the bench.

use std::path::PathBuf;

use super::open;
use crate::authority;
use crate::clock::Clock;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Host names and addresses by which tablets reach this machine, such as bench.local or 192.168.1.20
    #[arg(required = true)]
    names: Vec<String>,
    /// Where the files go [default: <data>/tls]
    #[arg(long)]
    folder: Option<PathBuf>,
}

pub(super) fn run(args: Args) -> anyhow::Result<()> {
    let config = open::config()?;
    let folder = args.folder.unwrap_or_else(|| config.data.join("tls"));
    let made = authority::make(&folder, &args.names, Clock::System.now())?;
    println!("A certificate for {}, good until {}.", made.names.join(", "), made.until.format("%-d %B %Y"));
    println!();
    println!("1. Start the shop with these settings (a running one takes a renewed certificate by itself):");
    println!("   WHETLEDGER_TLS_CERTIFICATE={}", made.certificate.display());
    println!("   WHETLEDGER_TLS_KEY={}", made.key.display());
    println!("   WHETLEDGER_BIND=0.0.0.0:3000");
    println!("   WHETLEDGER_PUBLIC_URL=https://{}:3000", made.names[0]);
    if made.authority_is_new {
        println!(
            "2. Bring {} onto each tablet, by cable, stick or mail, and install it there as a",
            made.authority.display()
        );
        println!("   certificate authority (CA). It can vouch for the names above and for nothing else.");
    } else {
        println!("2. Nothing to do on the tablets: the authority they know has made it.");
    }
    println!(
        "3. Keep {} where nobody else reads it: it makes further certificates.",
        made.authority_key.display()
    );
    Ok(())
}
