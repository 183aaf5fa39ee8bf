//! Rows of small numbers, 64 columns at a time.

use std::ops::{Add, Sub};

use wide::i16x16;

/// Columns looked at together: as many as a word has bits.
pub(crate) const WORD: usize = 64;
/// A word may begin so many columns late.
const LATE: usize = 8;

/// How long a row of `n + 1` columns is kept, so that whole words of it can be read.
pub(crate) fn row_length(n: usize) -> usize {
    (n + 1).next_multiple_of(WORD) + LATE
}

/// A word of columns.
#[derive(Clone, Copy)]
pub(crate) struct Lanes([i16x16; 4]);

impl Lanes {
    /// The columns of a row from `at` on.
    #[inline]
    pub(crate) fn of(row: &[i16], at: usize) -> Self {
        let word: &[i16; WORD] = row[at..].first_chunk().unwrap_or(&[0; WORD]);
        let (quarters, _) = word.as_chunks::<16>();
        Self([0, 1, 2, 3].map(|k| i16x16::from(quarters[k])))
    }

    /// A bit for each that is no more than `most`, the first one lowest.
    #[inline]
    pub(crate) fn at_most(self, most: i16) -> u64 {
        let most = i16x16::splat(most);
        let [a, b, c, d] = self.0.map(|v| u64::from(!v.simd_gt(most).to_bitmask() as u16));
        a | b << 16 | c << 32 | d << 48
    }
}

impl Add for Lanes {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self([0, 1, 2, 3].map(|k| self.0[k] + other.0[k]))
    }
}

impl Sub for Lanes {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        Self([0, 1, 2, 3].map(|k| self.0[k] - other.0[k]))
    }
}

/// A bit for every column before `column`, of the word that begins at the column `word`.
#[inline]
pub(crate) fn before(column: usize, word: usize) -> u64 {
    let bits = column.saturating_sub(word);
    if bits < WORD { (1 << bits) - 1 } else { u64::MAX }
}

/// The columns whose bits are set in the word that begins at the column `word`.
#[inline]
pub(crate) fn columns(mut bits: u64, word: usize) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let column = (bits > 0).then(|| word + bits.trailing_zeros() as usize);
        bits &= bits.wrapping_sub(1);
        column
    })
}
