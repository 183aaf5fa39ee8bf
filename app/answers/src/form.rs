//! Reads the booking form from the text a browser makes of it (`application/x-www-form-urlencoded`). The server reads forms with
//! a library; here it would be a tenth of the program, and a test compares the two.

use shop::booking::{MOST_KNIVES, RawBooking, RawKnife};

/// The form as it stands. What cannot be a field of it is left out.
pub(crate) fn read(query: &str) -> RawBooking {
    let mut raw = RawBooking::default();
    for pair in query.split('&') {
        let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
        let (name, value) = (decoded(name), decoded(value));
        match name.strip_prefix("knives[").and_then(|rest| rest.split_once("][")) {
            Some((place, field)) => {
                let Some(place) = place.parse::<usize>().ok().filter(|n| *n < MOST_KNIVES) else { continue };
                if raw.knives.len() <= place {
                    raw.knives.resize_with(place + 1, RawKnife::default);
                }
                of_knife(&mut raw.knives[place], field.trim_end_matches(']'), value);
            }
            None => of_booking(&mut raw, &name, value),
        }
    }
    raw
}

fn of_booking(raw: &mut RawBooking, name: &str, value: String) {
    let field = match name {
        "key" => &mut raw.key,
        "arrival" => &mut raw.arrival,
        "slot" => &mut raw.slot,
        "back" => &mut raw.back,
        "name" => &mut raw.name,
        "email" => &mut raw.email,
        "phone" => &mut raw.phone,
        "street" => &mut raw.street,
        "postcode" => &mut raw.postcode,
        "town" => &mut raw.town,
        "country" => &mut raw.country,
        "declared" => &mut raw.declared,
        "refused" => &mut raw.refused,
        _ => {
            let tick = match name {
                "rush" => &mut raw.rush,
                "begin_early" => &mut raw.begin_early,
                "packing" => &mut raw.packing,
                _ => return,
            };
            *tick = value == "true";
            return;
        }
    };
    *field = value;
}

fn of_knife(raw: &mut RawKnife, name: &str, value: String) {
    let field = match name {
        "place" => &mut raw.place,
        "model" => &mut raw.model,
        "tag" => &mut raw.tag,
        "make" => &mut raw.make,
        "edge" => &mut raw.edge,
        "length" => &mut raw.length,
        "steel" => &mut raw.steel,
        "chip_depth" => &mut raw.chip_depth,
        "tip_length" => &mut raw.tip_length,
        "teeth_wish" => &mut raw.teeth_wish,
        "note" => &mut raw.note,
        _ => {
            let tick = match name {
                "carbon" => &mut raw.carbon,
                "dull" => &mut raw.dull,
                "chips" => &mut raw.chips,
                "tip" => &mut raw.tip,
                "teeth" => &mut raw.teeth,
                "bent" => &mut raw.bent,
                "rust" => &mut raw.rust,
                "handle" => &mut raw.handle,
                "crack" => &mut raw.crack,
                "ceramic" => &mut raw.ceramic,
                _ => return,
            };
            *tick = value == "true";
            return;
        }
    };
    *field = value;
}

/// A name or value with its escapes undone (URL standard, form encoding).
fn decoded(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut i = 0;
    while i < bytes.len() {
        let hex = |at: usize| bytes.get(at).and_then(|b| char::from(*b).to_digit(16));
        match (bytes[i], hex(i + 1), hex(i + 2)) {
            (b'+', ..) => out.push(b' '),
            (b'%', Some(high), Some(low)) => {
                out.push((high * 16 + low) as u8);
                i += 2;
            }
            (byte, ..) => out.push(byte),
        }
        i += 1;
    }
    String::from_utf8_lossy(&out).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every field filled, so that one that is forgotten here shows.
    #[test]
    fn the_form_reads_here_as_it_reads_on_the_server() {
        let mut text = serde_json::to_value(RawBooking {
            knives: vec![RawKnife::default(), RawKnife::default()],
            ..RawBooking::default()
        })
        .unwrap();
        let mut n = 0;
        let mut fill = |value: &mut serde_json::Value| {
            n += 1;
            match value {
                serde_json::Value::Bool(tick) => *tick = true,
                serde_json::Value::String(text) => *text = format!("ö {n} & [x]=50 %+"),
                _ => {}
            }
        };
        for (_, value) in text.as_object_mut().unwrap() {
            match value {
                serde_json::Value::Array(knives) => {
                    knives
                        .iter_mut()
                        .flat_map(|k| k.as_object_mut().unwrap().values_mut())
                        .for_each(&mut fill);
                }
                other => fill(other),
            }
        }
        let whole: RawBooking = serde_json::from_value(text).unwrap();
        let query = serde_qs::to_string(&whole).unwrap();
        let by_library: RawBooking = serde_qs::Config::new(5, false).deserialize_str(&query).unwrap();
        assert_eq!(by_library, whole);
        assert_eq!(read(&query), whole);
        assert_eq!(read(&query.replace("%20", "+")), whole);
    }

    #[test]
    fn nonsense_is_left_out() {
        for query in ["", "&&", "knives[99999999][dull]=true", "knives[x][dull]=true", "knives[0=1", "%zz=%"]
        {
            assert_eq!(read(query), RawBooking::default(), "{query}");
        }
        assert!(read("knives[1][dull]=true").knives[1].dull);
    }
}
