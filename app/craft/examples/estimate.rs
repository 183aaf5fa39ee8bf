//! Reads one JSON request per line from standard input and writes one answer per line: the stream the command line offers,
//! without its exit codes. `cargo run -p craft --example estimate < knives.jsonl`

use std::io::{BufRead, Write};

fn main() -> std::io::Result<()> {
    let rates = craft::Rates::default();
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut complaints = std::io::stderr().lock();
    for (number, line) in std::io::stdin().lock().lines().enumerate() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        match craft::line(&line, &rates) {
            Ok(answer) => writeln!(out, "{answer}")?,
            Err(no) => {
                let record = serde_json::json!({"error": no.error, "at": no.at, "line": number + 1});
                writeln!(complaints, "{record}")?;
            }
        }
    }
    out.flush()
}
