//! `whetledger estimate`: one request per line in, one answer per line out, for as long as there are lines.
//!
//! Good lines are answered in order; a bad one is named on stderr and the rest goes on. Memory stays constant: lines are
//! answered in batches of what has arrived, a batch is spread over the processors, and a line that is longer than any
//! request could be is passed over without being kept.

use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use craft::{Impossible, Rates};

use super::{BadRecord, Done};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The requests; standard input when left out
    file: Option<PathBuf>,
    /// Rates, prices and stones of a shop; else the built-in ones
    #[arg(long)]
    shop: Option<PathBuf>,
}

/// The longest line that is read: a request with a thousand chips has a tenth of it.
const MOST_LINE_BYTES: usize = 1 << 20;

/// The most lines answered at once, so that a batch of long lines stays small beside the machine's memory.
const MOST_BATCH_BYTES: usize = 4 << 20;

/// How much is read at once.
const BUFFER_BYTES: usize = 256 << 10;

pub(super) fn run(args: &Args) -> anyhow::Result<Done> {
    let rates = match &args.shop {
        None => Rates::default(),
        Some(file) => match read_shop(file)? {
            Ok(rates) => rates,
            Err(bad) => {
                let record = BadRecord { error: &bad.0.error, at: &bad.0.at, line: bad.1 };
                record.write(&mut std::io::stderr().lock())?;
                return Ok(Done::BadInput);
            }
        },
    };
    let input: Box<dyn Read> = match &args.file {
        Some(file) => Box::new(File::open(file).with_context(|| format!("cannot read {}", file.display()))?),
        None => Box::new(std::io::stdin()),
    };
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let bad = answer_all(
        BufReader::with_capacity(BUFFER_BYTES, input),
        &mut BufWriter::new(std::io::stdout().lock()),
        &mut std::io::stderr().lock(),
        threads,
        |line| craft::line(line, &rates),
    )?;
    Ok(if bad == 0 { Done::Well } else { Done::BadInput })
}

/// A shop file that cannot be used: why, and on which line.
struct BadShop(Impossible, usize);

fn read_shop(file: &Path) -> anyhow::Result<Result<Rates, BadShop>> {
    let bytes = std::fs::read(file).with_context(|| format!("cannot read {}", file.display()))?;
    let mut reader = serde_json::Deserializer::from_slice(&bytes);
    let read: Result<Rates, _> = serde_path_to_error::deserialize(&mut reader);
    let rates = read.map_err(|error| {
        let (at, inner) = (error.path().to_string(), error.into_inner());
        BadShop(Impossible::new(if at == "." { "" } else { &at }, inner.to_string()), inner.line())
    });
    Ok(rates.and_then(|rates| {
        reader.end().map_err(|error| BadShop(Impossible::new("", error.to_string()), error.line()))?;
        Ok(rates)
    }))
}

/// Answers every line of `input`. Gives the number of bad ones; `Err` only when reading or writing fails.
fn answer_all(
    mut input: BufReader<impl Read>,
    out: &mut impl Write,
    err: &mut impl Write,
    threads: usize,
    answer: impl Fn(&str) -> Result<String, Impossible> + Sync,
) -> anyhow::Result<u64> {
    let mut n_bad = 0;
    let mut n_lines = 0;
    loop {
        let batch = read_batch(&mut input, &mut n_lines)?;
        if batch.is_empty() {
            return Ok(n_bad);
        }
        for (line, answered) in batch.iter().zip(answer_batch(&batch, threads, &answer)) {
            match answered {
                None => {}
                Some(Ok(answer)) => {
                    out.write_all(answer.as_bytes())?;
                    out.write_all(b"\n")?;
                }
                Some(Err(impossible)) => {
                    n_bad += 1;
                    BadRecord { error: &impossible.error, at: &impossible.at, line: line.number }
                        .write(err)?;
                }
            }
        }
        // Whoever writes one line and waits for its answer gets it.
        out.flush()?;
    }
}

struct Line {
    number: usize,
    bytes: Vec<u8>,
    too_long: bool,
}

/// Waits for one line and takes every further one that has already arrived whole. Empty at the end of the input.
fn read_batch(input: &mut BufReader<impl Read>, n_lines: &mut usize) -> std::io::Result<Vec<Line>> {
    let mut batch = Vec::new();
    let mut bytes = 0;
    while let Some(line) = read_line(input, n_lines)? {
        bytes += line.bytes.len();
        batch.push(line);
        if bytes >= MOST_BATCH_BYTES || !input.buffer().contains(&b'\n') {
            break;
        }
    }
    Ok(batch)
}

/// One line without its end; `None` at the end of the input.
fn read_line(input: &mut BufReader<impl Read>, n_lines: &mut usize) -> std::io::Result<Option<Line>> {
    let mut bytes = Vec::new();
    let limit = MOST_LINE_BYTES as u64 + 1;
    if input.by_ref().take(limit).read_until(b'\n', &mut bytes)? == 0 {
        return Ok(None);
    }
    *n_lines += 1;
    let whole = bytes.last() == Some(&b'\n');
    if whole {
        bytes.pop();
    }
    let too_long = bytes.len() > MOST_LINE_BYTES;
    if too_long {
        bytes = Vec::new();
        if !whole {
            skip_line(input)?;
        }
    }
    if *n_lines == 1 && bytes.starts_with("\u{feff}".as_bytes()) {
        bytes.drain(..3);
    }
    Ok(Some(Line { number: *n_lines, bytes, too_long }))
}

/// Reads to the end of the line and keeps nothing.
fn skip_line(input: &mut impl BufRead) -> std::io::Result<()> {
    loop {
        let buffer = input.fill_buf()?;
        if buffer.is_empty() {
            return Ok(());
        }
        if let Some(end) = buffer.iter().position(|byte| *byte == b'\n') {
            input.consume(end + 1);
            return Ok(());
        }
        let n = buffer.len();
        input.consume(n);
    }
}

/// The answers to a batch, in its order; `None` for a blank line.
fn answer_batch(
    batch: &[Line],
    threads: usize,
    answer: &(impl Fn(&str) -> Result<String, Impossible> + Sync),
) -> Vec<Option<Result<String, Impossible>>> {
    let one = |line: &Line| answer_line(line, answer);
    // Below this a thread costs more than it saves.
    let share = batch.len().div_ceil(threads).max(16);
    if batch.len() <= share {
        return batch.iter().map(one).collect();
    }
    std::thread::scope(|scope| {
        let workers: Vec<_> = batch
            .chunks(share)
            .map(|chunk| scope.spawn(move || chunk.iter().map(one).collect::<Vec<_>>()))
            .collect();
        workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            .collect()
    })
}

fn answer_line(
    line: &Line,
    answer: &(impl Fn(&str) -> Result<String, Impossible> + Sync),
) -> Option<Result<String, Impossible>> {
    if line.too_long {
        let why = format!("the line is longer than {MOST_LINE_BYTES} bytes");
        return Some(Err(Impossible::new("", why)));
    }
    match std::str::from_utf8(&line.bytes) {
        Err(_) => Some(Err(Impossible::new("", "the line is not UTF-8"))),
        Ok(text) if text.trim().is_empty() => None,
        Ok(text) => Some(answer(text)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Answers a line with itself in capitals; refuses one that says no.
    fn echo(line: &str) -> Result<String, Impossible> {
        if line.contains("no") {
            Err(Impossible::new("blade.height_mm", "no"))
        } else {
            Ok(line.trim().to_uppercase())
        }
    }

    #[track_caller]
    fn check(input: &[u8], out: &str, err: &str) {
        for capacity in [1, 7, BUFFER_BYTES] {
            let (mut written, mut complained) = (Vec::new(), Vec::new());
            let reader = BufReader::with_capacity(capacity, input);
            let n_bad = answer_all(reader, &mut written, &mut complained, 4, echo).unwrap();
            assert_eq!(String::from_utf8(written).unwrap(), out, "buffer of {capacity}");
            assert_eq!(String::from_utf8(complained).unwrap(), err, "buffer of {capacity}");
            assert_eq!(n_bad as usize, err.lines().count());
        }
    }

    #[test]
    fn good_lines_are_answered_in_order_and_bad_ones_named_by_their_line() {
        check(
            b"a\n\n  \r\nno\nb\r\nno\nlast",
            "A\nB\nLAST\n",
            "{\"error\":\"no\",\"at\":\"blade.height_mm\",\"line\":4}\n\
             {\"error\":\"no\",\"at\":\"blade.height_mm\",\"line\":6}\n",
        );
        check(b"", "", "");
        check("\u{feff}a\n".as_bytes(), "A\n", "");
    }

    #[test]
    fn a_line_that_is_no_text_spoils_nothing_around_it() {
        check(
            b"a\n\xff\xfe\nb\n",
            "A\nB\n",
            "{\"error\":\"the line is not UTF-8\",\"at\":\"\",\"line\":2}\n",
        );
    }

    #[test]
    fn an_endless_line_is_passed_over_without_being_kept() {
        let long = vec![b'x'; 3 * MOST_LINE_BYTES];
        let input = [b"a\n".as_slice(), &long, b"\nb\n"].concat();
        let err = "{\"error\":\"the line is longer than 1048576 bytes\",\"at\":\"\",\"line\":2}\n";
        check(&input, "A\nB\n", err);
        let just_fits = [&vec![b'x'; MOST_LINE_BYTES], b"\nb\n".as_slice()].concat();
        check(&just_fits, &format!("{}\nB\n", "X".repeat(MOST_LINE_BYTES)), "");
    }

    #[test]
    fn many_lines_keep_their_order_over_threads() {
        let input: String = (0..1000).map(|n| n.to_string() + "\n").collect();
        check(input.as_bytes(), &input.to_uppercase(), "");
    }

    #[test]
    fn a_line_is_answered_before_the_next_one_arrives() {
        struct OneAtATime(Vec<&'static [u8]>);
        impl Read for OneAtATime {
            fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
                let Some(next) = self.0.pop() else { return Ok(0) };
                to[..next.len()].copy_from_slice(next);
                Ok(next.len())
            }
        }
        let mut input = BufReader::new(OneAtATime(vec![b"b\n", b"a\n"]));
        let mut n_lines = 0;
        let first = read_batch(&mut input, &mut n_lines).unwrap();
        assert_eq!(first.len(), 1, "the second line had not arrived");
        assert_eq!(first[0].bytes, b"a");
    }
}
