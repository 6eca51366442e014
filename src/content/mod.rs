//! Content of one's own: folders and packs, searched before what is built in.

pub mod folder;
pub mod guard;
pub mod manifest;
pub mod pack;
pub mod zip;

use crate::diagnostic::{clean, list};
use crate::error::{Error, Result};
use etcetera::BaseStrategy;
use manifest::{BUILTIN, MANIFEST};
use pack::Pack;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// A file of a pack.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Its name in the pack, parted by `/`.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// What a data file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// A scenario.
    Scenario,
    /// An airport.
    Airport,
    /// The choices of an operator.
    Operator,
    /// Phrases, rules, calls and checklists: `icao/club`.
    Grammar,
}

impl Item {
    /// Every kind.
    pub const ALL: [Item; 4] = [Self::Scenario, Self::Airport, Self::Operator, Self::Grammar];

    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Scenario => "scenario",
            Self::Airport => "airport",
            Self::Operator => "operator",
            Self::Grammar => "grammar file",
        }
    }

    /// The code of a file that is no TOML.
    fn syntax_code(self) -> &'static str {
        match self {
            Self::Scenario => "S002",
            Self::Airport => "A002",
            Self::Operator => "C002",
            Self::Grammar => "G001",
        }
    }

    /// The built-in file of that name, as path and text.
    #[must_use]
    pub fn builtin(self, id: &str) -> Option<(&'static str, &'static str)> {
        let grammar =
            |path: String| crate::grammar::builtin_files().iter().copied().find(|(name, _)| *name == path);
        match self {
            Self::Scenario => crate::scenario::load::builtin(id),
            Self::Airport => crate::airport::load::builtin(id),
            Self::Operator => grammar(format!("grammar/crew/operators/{id}.toml")),
            Self::Grammar => grammar(format!("grammar/{id}.toml")),
        }
    }
}

/// A file that a name stands for.
#[derive(Debug, Clone, Copy)]
pub enum Found<'a> {
    /// It is built in: path and text.
    Builtin(&'static str, &'static str),
    /// It is in a pack.
    Own(&'a Pack, &'a File),
}

/// Folders and packs in the order in which they were named.
#[derive(Debug, Default)]
pub struct Content {
    packs: Vec<Pack>,
}

impl Content {
    /// Nothing of one's own.
    #[must_use]
    pub fn none() -> &'static Content {
        static NONE: Content = Content { packs: Vec::new() };
        &NONE
    }

    /// Reads folders and zips.
    ///
    /// # Errors
    /// What [`Pack::open`] says of the first that is not in order, or [`Error::Clash`] if two have one id.
    pub fn open(places: &[PathBuf]) -> Result<Self> {
        let mut packs = Vec::new();
        for (place, skip) in spread(places) {
            packs.push(Pack::open(&place, &skip)?);
        }
        Self::of(packs)
    }

    /// Reads folders and zips as [`Content::open`], but leaves out what lies in the user's own folder and is not in
    /// order: nobody has asked for it by name. What was left out comes back, with why.
    ///
    /// # Errors
    /// As for [`Content::open`], of the other places.
    pub fn open_found(places: &[PathBuf]) -> Result<(Self, Vec<(PathBuf, Error)>)> {
        let user = user_folder();
        let found = |place: &Path| user.as_ref().is_some_and(|user| place.starts_with(user));
        let (mut packs, mut left_out) = (Vec::new(), Vec::new());
        for (place, skip) in spread(places) {
            match Pack::open(&place, &skip) {
                Ok(pack) => packs.push(pack),
                Err(error) if found(&place) => left_out.push((place, error)),
                Err(error) => return Err(error),
            }
        }
        Ok((Self::of(packs)?, left_out))
    }

    /// Puts packs together.
    ///
    /// # Errors
    /// [`Error::Clash`] if two have one id.
    pub fn of(packs: Vec<Pack>) -> Result<Self> {
        for (at, pack) in packs.iter().enumerate() {
            let same = |other: &&Pack| other.id().is_some() && other.id() == pack.id();
            if let Some(other) = packs[..at].iter().find(same) {
                let id = pack.id().unwrap_or_default();
                let message = format!("two packs have the id `{id}`: {} and {}", named(other), named(pack));
                return Err(Error::Clash(format!("{message}; leave one out")));
            }
        }
        Ok(Self { packs })
    }

    /// The packs, in order.
    #[must_use]
    pub fn packs(&self) -> &[Pack] {
        &self.packs
    }

    /// True if a pack has that id.
    #[must_use]
    pub fn has(&self, id: &str) -> bool {
        id == BUILTIN || self.packs.iter().any(|p| p.id() == Some(id))
    }

    /// True if some pack adds to the grammar.
    #[must_use]
    pub fn has_grammar(&self) -> bool {
        self.packs.iter().any(|p| p.count(Item::Grammar) + p.count(Item::Operator) > 0)
    }

    /// What a name stands for: `name`, `packid/name` or `builtin/name`. A scenario of `from` means the airports of
    /// its own pack before those of others.
    ///
    /// # Errors
    /// [`Error::Clash`] if it stands for several things, with the places of all.
    pub fn find(&self, kind: Item, name: &str, from: Option<&Pack>) -> Result<Option<Found<'_>>> {
        if let Some((id, rest)) = name.split_once('/')
            && kind != Item::Grammar
        {
            if id == BUILTIN {
                return Ok(kind.builtin(rest).map(|(path, text)| Found::Builtin(path, text)));
            }
            let pack = self.packs.iter().find(|p| p.id() == Some(id));
            return Ok(pack.and_then(|pack| own(pack, kind, rest)));
        }
        let builtin = kind.builtin(name).map(|(path, text)| Found::Builtin(path, text));
        let owners: Vec<(&Pack, Found<'_>)> =
            self.packs.iter().filter_map(|p| Some((p, own(p, kind, name)?))).collect();
        let here = owners.iter().find(|(pack, _)| from.is_some_and(|from| std::ptr::eq(*pack, from)));
        if let Some((pack, found)) = here
            && (builtin.is_none() || pack.replaces(name))
        {
            return Ok(Some(*found));
        }
        let first: Vec<_> = owners.iter().filter(|(pack, _)| pack.replaces(name)).collect();
        match (&first[..], &owners[..], builtin) {
            ([(_, found)], _, _) | ([], [(_, found)], None) => Ok(Some(*found)),
            ([], [], builtin) => Ok(builtin),
            // Files of grammar with one name add to one another; only what is built in is replaced.
            ([], [(_, found), ..], None) if kind == Item::Grammar => Ok(Some(*found)),
            _ => Err(clash(kind, name, owners.iter().map(|(pack, _)| *pack), builtin.is_some())),
        }
    }

    /// Names that a kind of content has, each once; those in packs with their pack's id as well.
    #[must_use]
    pub fn names(&self, kind: Item) -> BTreeSet<String> {
        let mut out = BTreeSet::new();
        for pack in &self.packs {
            for (_, name, _) in pack.items().filter(|item| item.0 == kind) {
                out.extend(pack.id().map(|id| format!("{id}/{name}")));
                out.insert(name);
            }
        }
        out
    }

    /// Every name that stands for several things.
    #[must_use]
    pub fn clashes(&self) -> Vec<Error> {
        let mut seen = BTreeSet::new();
        let all = self.packs.iter().flat_map(|p| p.items());
        all.filter(|(kind, name, _)| seen.insert((*kind, name.clone())))
            .filter_map(|(kind, name, _)| self.find(kind, &name, None).err())
            .collect()
    }

    /// The other places that have a name of this pack.
    #[must_use]
    pub fn shadowed(&self, pack: &Pack, kind: Item, name: &str) -> Vec<String> {
        let others = self.packs.iter().filter(|p| !std::ptr::eq(*p, pack) && own(p, kind, name).is_some());
        let mut out: Vec<String> = others.map(named).collect();
        if kind.builtin(name).is_some() {
            out.push("the built-in one".to_owned());
        }
        out
    }
}

/// An item of a pack.
fn own<'a>(pack: &'a Pack, kind: Item, name: &str) -> Option<Found<'a>> {
    pack.items()
        .find(|(other, id, _)| *other == kind && id == name)
        .map(|(_, _, file)| Found::Own(pack, file))
}

/// A pack as it is named in messages.
#[must_use]
pub fn named(pack: &Pack) -> String {
    format!("`{}`", clean(&pack.place.to_string_lossy()))
}

/// Several things have one name.
fn clash<'a>(kind: Item, name: &str, owners: impl Iterator<Item = &'a Pack>, builtin: bool) -> Error {
    let owners: Vec<&Pack> = owners.collect();
    let mut places: Vec<String> = owners.iter().map(|pack| named(pack)).collect();
    let mut long: Vec<String> = owners.iter().filter_map(|p| Some(format!("`{}/{name}`", p.id()?))).collect();
    if builtin {
        places.push("what is built in".to_owned());
        long.push(format!("`{BUILTIN}/{name}`"));
    }
    let last = places.pop().unwrap_or_default();
    let clean = clean(name);
    let mut message = format!("{} `{clean}` is in {} and in {last}", kind.name(), places.join(", "));
    if matches!(kind, Item::Scenario | Item::Airport) {
        message.push_str(&format!("; say {}", list(&long)));
    }
    message.push_str(&format!("; or let one `{MANIFEST}` say replaces = ['{clean}']"));
    Error::Clash(message)
}

/// The places to look in, each once: those that were named, and the user's own folder, if it is there.
#[must_use]
pub fn places(named: &[PathBuf]) -> Vec<PathBuf> {
    let mut all = named.to_vec();
    all.extend(user_folder().filter(|folder| folder.is_dir()));
    let mut seen = BTreeSet::new();
    all.retain(|place| seen.insert(fs::canonicalize(place).unwrap_or_else(|_| place.clone())));
    all
}

/// `$XDG_DATA_HOME/hearback/content`, or the platform's place for such files.
#[must_use]
pub fn user_folder() -> Option<PathBuf> {
    let folders = etcetera::choose_base_strategy().ok()?;
    Some(folders.data_dir().join("hearback").join("content"))
}

/// Each place with what is no part of it: in the user's own folder zips, and folders with a manifest, are packs
/// of their own.
#[must_use]
pub fn spread(places: &[PathBuf]) -> Vec<(PathBuf, Vec<PathBuf>)> {
    let user = user_folder();
    let mut out = Vec::new();
    for place in places {
        let mut inside: Vec<PathBuf> = Vec::new();
        if user.as_ref() == Some(place) {
            let entries = fs::read_dir(place).into_iter().flatten().flatten().map(|e| e.path());
            inside.extend(entries.filter(|path| is_pack(path)));
            inside.sort();
        }
        out.push((place.clone(), inside.clone()));
        out.extend(inside.into_iter().map(|path| (path, Vec::new())));
    }
    out
}

fn is_pack(path: &Path) -> bool {
    let zip = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("zip"));
    let link = path.symlink_metadata().is_ok_and(|m| m.is_symlink());
    !link && (zip && path.is_file() || path.join(MANIFEST).is_file())
}
