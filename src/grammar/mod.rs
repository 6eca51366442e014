//! The phrase book as data: files, merged rule sets, and their soundness.

pub mod check;
pub(crate) mod compile;
pub mod load;
pub mod notation;
pub mod schema;
pub mod sets;

mod embedded {
    include!(concat!(env!("OUT_DIR"), "/embedded.rs"));
}

/// Every grammar file that the binary carries: path below the repository, and text.
#[must_use]
pub fn builtin_files() -> &'static [(&'static str, &'static str)] {
    embedded::GRAMMAR
}

/// The fingerprint of grammar files, in whatever order they come: SHA-256 of names, lengths and texts.
#[must_use]
pub fn fingerprint<'a>(files: impl Iterator<Item = (&'a str, &'a [u8])>) -> String {
    use sha2::{Digest, Sha256};
    let mut files: Vec<_> = files.collect();
    files.sort_unstable();
    let mut hash = Sha256::new();
    for (name, text) in files {
        for part in [name.as_bytes(), text] {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part);
        }
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Every scenario and airport file that the binary carries.
#[must_use]
pub fn builtin_scenarios() -> &'static [(&'static str, &'static str)] {
    embedded::SCENARIOS
}
