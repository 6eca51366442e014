//! Reads a zip into memory, trusting nothing that it says of itself; writes one that is always the same.

use super::File;
use super::guard::{ALL_BYTES, FILE_BYTES, FILES, Reason, Tally, bytes};
use crate::diagnostic::clean;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::{TINFLStatus, decompress_to_vec_with_limit};
use rawzip::time::UtcDateTime;
use rawzip::{CompressionMethod, ErrorKind, ZipArchive, ZipArchiveWriter};
use std::io::Write;

/// Text of this kind is never packed so much tighter.
const RATIO: u64 = 200;
/// Files below this size may be packed as tight as they like.
const SMALL: u64 = 64 << 10;

/// Why a zip is refused, and at which entry.
#[derive(Debug, PartialEq, Eq)]
pub struct Refusal {
    /// Name of the entry, made harmless; none if it is the zip as a whole.
    pub entry: Option<String>,
    /// What is wrong with it.
    pub reason: Reason,
}

/// The zip as a whole is refused.
fn whole(reason: impl Into<Reason>) -> Refusal {
    Refusal { entry: None, reason: reason.into() }
}

/// An entry is refused.
fn at(name: &[u8], reason: impl Into<Reason>) -> Refusal {
    let name: String = clean(&String::from_utf8_lossy(name)).chars().take(120).collect();
    Refusal { entry: Some(name), reason: reason.into() }
}

/// What the reader of zips says, in words for who made the file.
fn told(data: &[u8], error: &rawzip::Error) -> Refusal {
    match error.kind() {
        ErrorKind::MissingEndOfCentralDirectory if !data.starts_with(b"PK") => whole("is not a zip"),
        ErrorKind::MissingEndOfCentralDirectory | ErrorKind::Eof => whole("is cut off: its end is missing"),
        _ => whole("is damaged: its list of entries cannot be read"),
    }
}

/// All files of a zip.
///
/// # Errors
/// The first reason to refuse it; nothing of it is used then.
pub fn read(data: &[u8]) -> Result<Vec<File>, Refusal> {
    let archive = ZipArchive::from_slice(data).map_err(|e| told(data, &e))?;
    if !data.starts_with(b"PK") {
        return Err(whole("is not a zip: something stands before its first entry"));
    }
    if archive.end_offset() != data.len() as u64 {
        return Err(whole("is not only a zip: something stands behind its end"));
    }
    if archive.entries_hint() > FILES as u64 {
        return Err(whole(format!("a pack holds {FILES} files at most, this says it has more")));
    }
    let mut tally = Tally::default();
    let mut ranges: Vec<(u64, u64, Vec<u8>)> = Vec::new();
    let mut files = Vec::new();
    let mut seen = 0;
    for entry in archive.entries() {
        let entry = entry.map_err(|e| told(data, &e))?;
        seen += 1;
        let path = entry.file_path();
        let raw = path.as_bytes();
        let refuse = |reason: Reason| at(raw, reason);
        let Ok(written) = std::str::from_utf8(raw) else {
            return Err(at(raw, "has a name that is not UTF-8 text"));
        };
        let is_folder = written.ends_with('/');
        let name = written.strip_suffix('/').unwrap_or(written);
        tally.name(name, is_folder).map_err(refuse)?;
        let mode = entry.external_attributes() >> 16 & 0o170_000;
        if entry.mode().is_symlink() || mode == 0o120_000 {
            return Err(at(raw, "is a symbolic link"));
        }
        if !matches!(mode, 0 | 0o100_000 | 0o040_000) {
            return Err(at(raw, "is neither a file nor a folder"));
        }
        if entry.flags().is_encrypted() {
            return Err(at(raw, "is encrypted"));
        }
        let declared = entry.uncompressed_size_hint();
        let local = archive.get_entry(entry.wayfinder()).map_err(|_| at(raw, "is cut off"))?;
        let header = local.local_header();
        if header.file_path().as_bytes() != raw {
            return Err(at(raw, "has another name in front of its data"));
        }
        if header.flags().is_encrypted() {
            return Err(at(raw, "is encrypted"));
        }
        ranges.push((entry.local_header_offset(), local.compressed_data_range().1, raw.to_vec()));
        if is_folder {
            if declared > 0 || !local.data().is_empty() {
                return Err(at(raw, "is a folder with data of its own"));
            }
            continue;
        }
        if declared > FILE_BYTES {
            return Err(at(raw, format!("is larger than {} MiB", FILE_BYTES >> 20)));
        }
        let content = inflate(entry.compression_method(), local.data(), declared).map_err(refuse)?;
        tally.size(content.len() as u64).map_err(refuse)?;
        if rawzip::crc32(&content) != entry.crc32() {
            return Err(at(raw, "is damaged: its checksum differs"));
        }
        bytes(name, &content).map_err(refuse)?;
        files.push(File { name: name.to_owned(), bytes: content });
    }
    if seen != archive.entries_hint() {
        return Err(whole(format!("says it has {} entries, and has {seen}", archive.entries_hint())));
    }
    ranges.sort();
    for pair in ranges.windows(2) {
        if pair[0].1 > pair[1].0 {
            return Err(at(&pair[1].2, "shares its data with another entry"));
        }
    }
    files.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(files)
}

/// The data of an entry; what really comes out is counted, not what the entry says.
fn inflate(method: CompressionMethod, data: &[u8], declared: u64) -> Result<Vec<u8>, Reason> {
    let content = if method == CompressionMethod::STORE {
        data.to_vec()
    } else if method == CompressionMethod::DEFLATE {
        // One more than it says: a size that is too small is seen, and no more than that is written.
        let limit = usize::try_from(declared.min(FILE_BYTES)).unwrap_or(usize::MAX).saturating_add(1);
        decompress_to_vec_with_limit(data, limit).map_err(|error| {
            if error.status == TINFLStatus::HasMoreOutput {
                "inflates to more than it says".to_owned()
            } else {
                "is damaged: its data cannot be inflated".to_owned()
            }
        })?
    } else {
        return Err("is packed in a way other than deflate".to_owned());
    };
    let size = content.len() as u64;
    if size > declared {
        return Err("inflates to more than it says".to_owned());
    }
    if size < declared {
        return Err("inflates to less than it says".to_owned());
    }
    if size > SMALL && size / RATIO > data.len() as u64 {
        return Err(format!("inflates to more than {RATIO} times its size"));
    }
    Ok(content)
}

/// A zip of the files: sorted by name, all of the same time, the same bytes whenever it is made.
///
/// # Errors
/// What the writer of zips says.
pub fn write(files: &[File]) -> Result<Vec<u8>, String> {
    let mut sorted: Vec<&File> = files.iter().collect();
    sorted.sort_by(|a, b| a.name.cmp(&b.name));
    let mut out = Vec::new();
    let says = |error: rawzip::Error| error.to_string();
    let mut archive = ZipArchiveWriter::new(&mut out);
    for file in sorted {
        let packed = compress_to_vec(&file.bytes, 9);
        let builder = archive.new_file(file.name.as_str()).unix_permissions(0o644);
        let builder = match UtcDateTime::from_components(1980, 1, 1, 0, 0, 0, 0) {
            Some(time) => builder.last_modified(time),
            None => builder,
        };
        let (mut entry, config) =
            builder.compression_method(CompressionMethod::DEFLATE).start().map_err(says)?;
        entry.write_all(&packed).map_err(|e| e.to_string())?;
        let mut counted = config.wrap(std::io::sink());
        counted.write_all(&file.bytes).map_err(|e| e.to_string())?;
        let (_, descriptor) = counted.finish().map_err(says)?;
        entry.finish(descriptor).map_err(says)?;
    }
    archive.finish().map_err(says)?;
    if out.len() as u64 > ALL_BYTES {
        return Err(format!("the zip would be larger than {} MiB", ALL_BYTES >> 20));
    }
    Ok(out)
}
