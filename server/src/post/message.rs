//! Makes a mail out of a stored notice (RFC 5322, RFC 2045).

use chrono::{DateTime, Utc};
use lettre::message::header::{ContentType, Header, HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, MultiPart, SinglePart};
use lettre::{Address, Message};

use crate::store::outbox::Kept;

/// A notice cannot be made into a mail: its address is none. No second try will change that.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct NoMail(String);

/// Builds the mail. `from` is our mailbox, `host` the right half of the Message-ID.
///
/// The Message-ID is made from the notice's id, so a repeat after a crash carries the same one and is seen as a
/// repeat by whoever sorts the receiver's mail.
pub fn build(kept: &Kept, from: &Mailbox, host: &str) -> Result<Message, NoMail> {
    let address: Address =
        kept.to_address.parse().map_err(|error| NoMail(format!("no mail address: {error}")))?;
    let name = (!kept.to_name.is_empty()).then(|| kept.to_name.clone());
    let mut message = Message::builder()
        .from(from.clone())
        .to(Mailbox::new(name, address))
        .subject(kept.subject.clone())
        .date(to_system_time(kept.queued_at))
        .message_id(Some(format!("<{}@{host}>", kept.id)))
        .header(AutoSubmitted);
    if let Some(url) = &kept.unsubscribe_url {
        message = message.header(ListUnsubscribe(format!("<{url}>"))).header(ListUnsubscribePost);
    }
    let body = MultiPart::alternative_plain_html(kept.text.clone(), kept.html.clone());
    let built = match &kept.calendar {
        None => message.multipart(body),
        Some(calendar) => {
            message.multipart(MultiPart::mixed().multipart(body).singlepart(calendar_part(calendar.clone())?))
        }
    };
    built.map_err(|error| NoMail(format!("the mail could not be put together: {error}")))
}

fn calendar_part(calendar: String) -> Result<SinglePart, NoMail> {
    let kind = ContentType::parse("text/calendar; charset=utf-8; method=PUBLISH")
        .map_err(|error| NoMail(format!("the calendar file could not be attached: {error}")))?;
    Ok(Attachment::new("visit.ics".to_owned()).body(calendar, kind))
}

fn to_system_time(instant: DateTime<Utc>) -> std::time::SystemTime {
    instant.into()
}

/// `Auto-Submitted: auto-generated` (RFC 3834): keeps holiday answers from coming back.
#[derive(Clone)]
struct AutoSubmitted;

impl Header for AutoSubmitted {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("Auto-Submitted")
    }

    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self)
    }

    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "auto-generated".to_owned())
    }
}

/// Where one click stops this kind of notice (RFC 8058).
#[derive(Clone)]
struct ListUnsubscribe(String);

impl Header for ListUnsubscribe {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("List-Unsubscribe")
    }

    fn parse(text: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self(text.to_owned()))
    }

    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), self.0.clone())
    }
}

/// The click needs no page (RFC 8058).
#[derive(Clone)]
struct ListUnsubscribePost;

impl Header for ListUnsubscribePost {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("List-Unsubscribe-Post")
    }

    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self)
    }

    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "List-Unsubscribe=One-Click".to_owned())
    }
}
