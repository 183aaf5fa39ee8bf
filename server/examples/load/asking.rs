//! As little of a browser as asks and waits: HTTP/1.1 by one connection that stays open.

use std::net::SocketAddr;

use anyhow::{Context as _, bail};
use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::TcpStream;

/// One connection.
pub(crate) struct Browser {
    line: BufReader<TcpStream>,
}

/// What came back.
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) body: String,
}

impl Browser {
    pub(crate) async fn open(address: SocketAddr) -> anyhow::Result<Self> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        Ok(Self { line: BufReader::new(stream) })
    }

    pub(crate) async fn get(&mut self, path: &str, cookie: &str) -> anyhow::Result<Answer> {
        let cookie = if cookie.is_empty() { String::new() } else { format!("Cookie: {cookie}\r\n") };
        self.ask(&format!("GET {path} HTTP/1.1\r\nHost: localhost\r\n{cookie}\r\n")).await
    }

    pub(crate) async fn post(&mut self, path: &str, from: &str, body: &str) -> anyhow::Result<Answer> {
        self.ask(&format!(
            "POST {path} HTTP/1.1\r\nHost: localhost\r\nX-Forwarded-For: {from}\r\nSec-Fetch-Site: same-origin\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        ))
        .await
    }

    async fn ask(&mut self, request: &str) -> anyhow::Result<Answer> {
        self.line.write_all(request.as_bytes()).await?;
        let status = self.head().await?;
        let status = status.split(' ').nth(1).and_then(|code| code.parse().ok()).context("no status")?;
        let (mut length, mut in_chunks) = (0_usize, false);
        loop {
            let line = self.head().await?;
            if line.is_empty() {
                break;
            }
            let (name, value) = line.split_once(": ").context("no header")?;
            match name.to_lowercase().as_str() {
                "content-length" => length = value.parse()?,
                "transfer-encoding" => in_chunks = value == "chunked",
                _ => {}
            }
        }
        let mut body = Vec::new();
        if in_chunks {
            loop {
                let size = usize::from_str_radix(&self.head().await?, 16)?;
                self.read(size, &mut body).await?;
                self.head().await?;
                if size == 0 {
                    break;
                }
            }
        } else {
            self.read(length, &mut body).await?;
        }
        Ok(Answer { status, body: String::from_utf8_lossy(&body).into_owned() })
    }

    async fn head(&mut self) -> anyhow::Result<String> {
        let mut line = String::new();
        if self.line.read_line(&mut line).await? == 0 {
            bail!("the line was cut");
        }
        Ok(line.trim_end().to_owned())
    }

    async fn read(&mut self, n: usize, into: &mut Vec<u8>) -> anyhow::Result<()> {
        let from = into.len();
        into.resize(from + n, 0);
        self.line.read_exact(&mut into[from..]).await?;
        Ok(())
    }
}

/// A form's body (`application/x-www-form-urlencoded`).
pub(crate) fn form(fields: &[(&str, &str)]) -> String {
    let plain = |byte: &u8| byte.is_ascii_alphanumeric() || b"-_.".contains(byte);
    let encode = |text: &str| -> String {
        text.bytes()
            .map(|byte| if plain(&byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
            .collect()
    };
    let pairs: Vec<_> =
        fields.iter().map(|(name, value)| format!("{}={}", encode(name), encode(value))).collect();
    pairs.join("&")
}
