//! Text and tokens: typed and spoken forms of words, digits and letters become one thing.

pub mod lexicon;
pub mod speak;
pub mod token;

/// 64-bit FNV-1a over the lower-cased letters of a word: the identity of a word outside the vocabulary.
///
/// ```
/// use hearback::text::fold;
/// assert_eq!(fold("TARNO"), fold("tarno"));
/// assert_ne!(fold("TARNO"), fold("tarna"));
/// ```
#[must_use]
pub fn fold(word: &str) -> u64 {
    let mut hash = FOLD_START;
    if word.is_ascii() {
        for byte in word.bytes() {
            if byte != b'\'' {
                hash = fold_byte(hash, byte.to_ascii_lowercase());
            }
        }
    } else {
        let mut buffer = [0u8; 4];
        for c in word.chars().flat_map(char::to_lowercase).filter(|c| !matches!(c, '\'' | '’')) {
            for &byte in c.encode_utf8(&mut buffer).as_bytes() {
                hash = fold_byte(hash, byte);
            }
        }
    }
    hash
}

pub(crate) const FOLD_START: u64 = 0xcbf2_9ce4_8422_2325;

#[inline]
pub(crate) fn fold_byte(hash: u64, byte: u8) -> u64 {
    (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
}
