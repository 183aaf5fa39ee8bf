//! How often one address may knock at a door: a bucket of tokens per address, refilled steadily.
//!
//! Kept in memory, per server: several servers behind a balancer allow that many times more, which still stops
//! a guesser.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

use chrono::{DateTime, Utc};

/// A place where knocking is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Door {
    /// Trying a password.
    SignIn,
    /// Booking, or anything else that makes a stranger's words into a row.
    Booking,
    /// Opening a private link, where somebody might guess.
    Link,
}

impl Door {
    /// Burst, and seconds until one more is allowed.
    const fn allowance(self) -> (f64, f64) {
        match self {
            // Ten wrong passwords, then one every half minute: no hindrance to a person, useless to a guesser.
            Self::SignIn => (10.0, 30.0),
            // A kitchen's staff behind one address may book at the same time.
            Self::Booking => (30.0, 20.0),
            Self::Link => (120.0, 1.0),
        }
    }
}

/// The buckets.
#[derive(Debug, Default)]
pub struct Limits(Mutex<HashMap<(Door, Who), Bucket>>);

/// Whose bucket.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Who {
    Address(IpAddr),
    Name(String),
}

#[derive(Debug, Clone, Copy)]
struct Bucket {
    tokens: f64,
    at: DateTime<Utc>,
}

/// Beyond this many buckets the full ones are thrown out, so that a stream of addresses cannot eat the memory.
const MOST_BUCKETS: usize = 20_000;

impl Limits {
    /// Takes a token from an address's bucket. `Err`: seconds until there is one.
    pub fn knock(&self, door: Door, address: IpAddr, now: DateTime<Utc>) -> Result<(), u64> {
        self.take((door, Who::Address(household(address))), now)
    }

    /// Takes a token from an account's bucket, so that a guesser with many addresses is slowed as well.
    pub fn knock_as(&self, door: Door, name: &str, now: DateTime<Utc>) -> Result<(), u64> {
        self.take((door, Who::Name(name.to_owned())), now)
    }

    fn take(&self, key: (Door, Who), now: DateTime<Utc>) -> Result<(), u64> {
        let (burst, refill_s) = key.0.allowance();
        let mut buckets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if buckets.len() >= MOST_BUCKETS {
            buckets.retain(|(door, _), bucket| bucket.filled(*door, now) < door.allowance().0);
            if buckets.len() >= MOST_BUCKETS {
                // Everybody is knocking at once. Starting afresh lets some through; refusing would lock all out.
                buckets.clear();
            }
        }
        let bucket = buckets.entry(key.clone()).or_insert(Bucket { tokens: burst, at: now });
        let tokens = bucket.filled(key.0, now);
        *bucket = Bucket { tokens, at: now };
        if tokens < 1.0 {
            return Err(((1.0 - tokens) * refill_s).ceil() as u64);
        }
        bucket.tokens = tokens - 1.0;
        Ok(())
    }
}

impl Bucket {
    /// How full it is by now. A clock that was set back adds nothing.
    fn filled(&self, door: Door, now: DateTime<Utc>) -> f64 {
        let (burst, refill_s) = door.allowance();
        let seconds = (now - self.at).num_milliseconds().max(0) as f64 / 1000.0;
        (self.tokens + seconds / refill_s).min(burst)
    }
}

/// An IPv6 household has a whole /64 and would otherwise have endless buckets.
fn household(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V4(_) => address,
        IpAddr::V6(v6) => {
            let mut segments = v6.segments();
            segments[4..].fill(0);
            IpAddr::V6(segments.into())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeDelta;

    #[test]
    fn ten_passwords_may_be_tried_at_once_and_then_one_every_half_minute() {
        let limits = Limits::default();
        let guesser: IpAddr = "203.0.113.9".parse().unwrap();
        let mut now = DateTime::from_timestamp(1_800_000_000, 0).unwrap();
        for _ in 0..10 {
            assert_eq!(limits.knock(Door::SignIn, guesser, now), Ok(()));
        }
        assert_eq!(limits.knock(Door::SignIn, guesser, now), Err(30));
        now += TimeDelta::seconds(29);
        assert_eq!(limits.knock(Door::SignIn, guesser, now), Err(1));
        now += TimeDelta::seconds(2);
        assert_eq!(limits.knock(Door::SignIn, guesser, now), Ok(()));
        assert!(limits.knock(Door::SignIn, guesser, now).is_err());
        assert_eq!(limits.knock(Door::SignIn, "203.0.113.10".parse().unwrap(), now), Ok(()), "a neighbour");
        assert_eq!(limits.knock(Door::Booking, guesser, now), Ok(()), "another door");
    }

    #[test]
    fn a_household_shares_one_bucket_and_a_clock_set_back_gives_nothing() {
        let limits = Limits::default();
        let now = DateTime::from_timestamp(1_800_000_000, 0).unwrap();
        for n in 0..10 {
            let address = format!("2001:db8:1:2::{n}").parse().unwrap();
            assert_eq!(limits.knock(Door::SignIn, address, now), Ok(()));
        }
        let tenth = "2001:db8:1:2:ffff::1".parse().unwrap();
        assert!(limits.knock(Door::SignIn, tenth, now - TimeDelta::days(1)).is_err());
    }
}
