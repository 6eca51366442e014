//! Marks many result files: in parallel, a few at a time, those of one person together.

use super::exam::plain;
use super::mark::Marker;
use super::marked::{Marked, Notice, Weight};
use super::result::{Event, Taken, read};
use super::seal::Key;
use crate::bar::Progress;
use crate::diagnostic::clean;
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// People who are marked at once; what they wrote is then given away, so memory does not grow with their number.
const AT_ONCE: usize = 32;

/// A file that cannot be read as results.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// The file, as it was named.
    pub file: String,
    /// Why not.
    pub reason: String,
}

/// One file, marked, and what tells it from others.
struct One {
    marked: Marked,
    check: String,
    place: usize,
    /// What was typed and how fast, if it was enough to tell two sittings apart.
    typed: Option<[u8; 32]>,
}

/// Marks files and gives each to `each`, those of one person one after another; people come in the order of their
/// first file. Returns the files that are none.
///
/// Of the sittings of one person the best counts; the same sitting taken twice, or given twice, counts once.
pub fn mark_all(
    marker: Marker<'_>,
    files: &[PathBuf],
    key: Option<&Key>,
    progress: &dyn Progress,
    each: &mut dyn FnMut(Marked),
) -> Vec<Unread> {
    let mut people: Vec<(String, Vec<(usize, &Path)>)> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    let mut sat: HashMap<[u8; 32], (String, String)> = HashMap::new();
    let mut unread = Vec::new();
    for (place, (file, name)) in files.iter().zip(names(files)).enumerate() {
        match name {
            Ok(name) => {
                let at = *known.entry(name.clone()).or_insert_with(|| {
                    people.push((name, Vec::new()));
                    people.len() - 1
                });
                people[at].1.push((place, file));
            }
            Err(reason) => {
                progress.advance(1);
                unread.push(Unread { file: shown(file), reason });
            }
        }
    }
    for chunk in people.chunks(AT_ONCE) {
        let marked: Vec<(Vec<One>, Vec<Unread>)> =
            chunk.par_iter().map(|(_, files)| person(marker, files, key, progress)).collect();
        for (ones, failed) in marked {
            unread.extend(failed);
            for mut one in ones {
                let own = || (plain(&one.marked.name), one.marked.file.clone());
                let first = one.typed.map(|typed| sat.entry(typed).or_insert_with(own).clone());
                if let Some((name, file)) = first
                    && name != plain(&one.marked.name)
                {
                    let text = format!("the same words were typed as fast as in {file}, under another name");
                    refuse(&mut one.marked, Weight::Refused, text);
                }
                each(one.marked);
            }
        }
    }
    unread
}

/// The name of a file for readers.
#[must_use]
pub fn shown(file: &Path) -> String {
    clean(&file.to_string_lossy()).into_owned()
}

/// The names in the first lines of files.
fn names(files: &[PathBuf]) -> Vec<Result<String, String>> {
    files
        .par_iter()
        .map(|file| {
            let taken = super::result::read_header(file)?;
            Ok(plain(&taken.name))
        })
        .collect()
}

/// All files of one person: which of them counts.
fn person(
    marker: Marker<'_>,
    files: &[(usize, &Path)],
    key: Option<&Key>,
    progress: &dyn Progress,
) -> (Vec<One>, Vec<Unread>) {
    let (mut ones, mut unread) = (Vec::new(), Vec::new());
    for (place, file) in files {
        match read(file, key) {
            Ok(taken) => {
                let check = check_of(&taken);
                let typed = typed(&taken);
                ones.push(One { marked: marker.mark(&shown(file), &taken), check, place: *place, typed });
            }
            Err(reason) => unread.push(Unread { file: shown(file), reason }),
        }
        progress.advance(1);
    }
    choose(&mut ones);
    ones.sort_by_key(|one| one.place);
    (ones, unread)
}

/// What was typed with its times, hashed; none for a few words, which two people may well share.
fn typed(taken: &Taken) -> Option<[u8; 32]> {
    let mut sum = Sha256::new();
    let mut timed = 0;
    for line in &taken.lines {
        if let Event::Typed { text, first_key_ms, sent_ms } = &line.event {
            timed += usize::from(sent_ms.is_some());
            sum.update(format!("{text}\n{first_key_ms:?} {sent_ms:?}\n"));
        }
    }
    (timed >= 3).then(|| sum.finalize().into())
}

fn check_of(taken: &Taken) -> String {
    taken.seal.last().to_owned()
}

/// Leaves one sitting that counts.
fn choose(ones: &mut [One]) {
    ones.sort_by_key(|one| (one.marked.started, one.place));
    for at in 1..ones.len() {
        let (before, rest) = ones.split_at_mut(at);
        let Some(one) = rest.first_mut() else { continue };
        let same = |other: &&One| other.marked.sitting == one.marked.sitting && other.marked.counts;
        let Some(other) = before.iter().find(same) else { continue };
        let text = if other.check == one.check {
            format!("it is the same as {}", other.marked.file)
        } else {
            format!(
                "sitting {} is also in {}, begun earlier: it was taken twice",
                one.marked.sitting, other.marked.file
            )
        };
        refuse(&mut one.marked, Weight::Refused, text);
    }
    let best = ones
        .iter()
        .filter(|one| one.marked.counts)
        .max_by(|a, b| a.marked.mark.total_cmp(&b.marked.mark).then(b.marked.started.cmp(&a.marked.started)))
        .map(|one| one.marked.file.clone());
    if let Some(best) = best {
        for one in ones.iter_mut().filter(|one| one.marked.counts && one.marked.file != best) {
            refuse(&mut one.marked, Weight::Note, format!("another sitting counts: {best}"));
        }
    }
}

fn refuse(marked: &mut Marked, weight: Weight, text: String) {
    marked.counts = false;
    marked.notices.push(Notice { weight, text });
}
