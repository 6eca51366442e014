//! Grammar files → one rule set's book: base first, overlays state their differences.

use super::schema::{GrammarFile, PhraseEntry, Role, RuleEntry, SlotEntry, Text, TopicEntry, WordEntry};
use crate::diagnostic::{self, Diagnostic};
use crate::element::Standard;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// A file that a thing came from.
pub type Path = Arc<str>;

/// A phrase after merging; `at` is the file and place of the entry that last changed it.
#[derive(Debug, Clone)]
pub struct PhraseSource {
    /// The merged entry.
    pub entry: PhraseEntry,
    /// File of the first mention.
    pub path: Path,
    /// Keys that an overlay replaced, with its file.
    pub replaced: Vec<(&'static str, Path)>,
    /// File that each element of `duty` was last stated in.
    pub duties: BTreeMap<String, Path>,
    /// First stated by this rule set, not by one it is built on.
    pub own: bool,
    /// Right and wrong examples belong to this rule set.
    pub own_examples: bool,
    /// File of the examples.
    pub example_path: Path,
}

/// Everything one rule set consists of.
#[derive(Debug, Clone, Default)]
pub struct Book {
    /// Which rule set.
    pub standard: Standard,
    /// Word and its forms, with the file.
    pub words: Vec<(WordEntry, Path)>,
    /// Fillers, and whether they greet.
    pub fillers: Vec<(Text, bool)>,
    /// Words with what they do.
    pub roles: Vec<(Text, Role)>,
    /// Slots.
    pub slots: Vec<(SlotEntry, Path)>,
    /// Topics, in the order of the files, with the file.
    pub topics: Vec<(TopicEntry, Path)>,
    /// Phrases, in the order of the files.
    pub phrases: Vec<PhraseSource>,
    /// Rules of form.
    pub rules: Vec<(RuleEntry, Path)>,
    /// Text of every file read, by path.
    pub sources: HashMap<Path, Arc<str>>,
}

/// The folders a rule set is made of, base first.
#[must_use]
pub fn chain(standard: Standard) -> &'static [Standard] {
    match standard {
        Standard::Icao => &[Standard::Icao],
        Standard::Eu => &[Standard::Icao, Standard::Eu],
        Standard::Uk => &[Standard::Icao, Standard::Eu, Standard::Uk],
        Standard::Us => &[Standard::Icao, Standard::Us],
    }
}

fn folder(path: &str) -> Option<Standard> {
    let mut parts = path.rsplit('/');
    parts.next()?;
    parts.next().and_then(Standard::parse)
}

/// Reads and merges the files of one rule set. Files are (path, bytes); the folder that a file lies in
/// names its rule set.
///
/// # Errors
/// Every file that is not UTF-8, not TOML, has unknown keys or a newer format: all problems at once.
pub fn load<'a>(
    files: impl Iterator<Item = (&'a str, &'a [u8])> + Clone,
    standard: Standard,
) -> Result<Book, Vec<Diagnostic>> {
    let mut book = Book { standard, ..Book::default() };
    let mut problems = Vec::new();
    let mut inputs = Vec::new();
    for &layer in chain(standard) {
        let of_layer = files.clone().filter(|f| folder(f.0) == Some(layer));
        inputs.extend(of_layer.map(|(path, bytes)| (path, bytes, layer)));
    }
    for ((path, _, layer), read) in inputs.iter().zip(read_all(&inputs)) {
        let path = Path::from(*path);
        match read {
            Ok((file, source)) => {
                book.sources.insert(path.clone(), source);
                book.add(file, &path, *layer, &mut problems);
            }
            Err(found) => problems.extend(found),
        }
    }
    book.phrases.retain(|p| !p.entry.absent);
    if problems.is_empty() { Ok(book) } else { Err(problems) }
}

/// A file with its text, or what is wrong with it.
type Read = Result<(GrammarFile, Arc<str>), Vec<Diagnostic>>;

/// Reads the files, half of their bytes on a thread of its own; the results are in the order of the files.
fn read_all(inputs: &[(&str, &[u8], Standard)]) -> Vec<Read> {
    let all: usize = inputs.iter().map(|f| f.1.len()).sum();
    let mut before = 0;
    let half = inputs.iter().position(|f| {
        before += f.1.len();
        before * 2 > all
    });
    let (first, second) = inputs.split_at(half.unwrap_or(0));
    let work = |part: &[(&str, &[u8], Standard)]| part.iter().map(|f| read(f.0, f.1)).collect::<Vec<_>>();
    std::thread::scope(|scope| {
        let Ok(beside) = std::thread::Builder::new().spawn_scoped(scope, || work(first)) else {
            return work(inputs);
        };
        let rest = work(second);
        let mut out = beside.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        out.extend(rest);
        out
    })
}

/// Reads one grammar file.
fn read(path: &str, bytes: &[u8]) -> Read {
    let source = diagnostic::text("G001", path, bytes).map_err(|d| vec![*d])?;
    let file: GrammarFile = toml::from_str(&source).map_err(|e| {
        let syntax = diagnostic::syntax("G001", path, &source);
        if syntax.is_empty() { vec![diagnostic::from_toml(path, &source, &e, "G002")] } else { syntax }
    })?;
    let problem = |span, title: String| Diagnostic::new("G003", path, &source, span, title);
    match &file.format {
        None => {
            Err(vec![problem(0..0, "`format` is missing".into()).help("begin the file with `format = 1`")])
        }
        Some(format) if *format.get_ref() != 1 => Err(vec![
            problem(
                format.span(),
                format!("this program reads format 1, the file is in format {}", format.get_ref()),
            )
            .help("get a newer hearback, or write the file in format 1"),
        ]),
        Some(_) => Ok((file, source)),
    }
}

impl Book {
    fn add(&mut self, file: GrammarFile, path: &Path, layer: Standard, problems: &mut Vec<Diagnostic>) {
        self.words.extend(file.word.into_iter().map(|w| (w, path.clone())));
        self.roles.extend(file.role.into_iter().flat_map(|r| r.words.into_iter().map(move |w| (w, r.of))));
        self.fillers
            .extend(file.filler.into_iter().flat_map(|f| f.words.into_iter().map(move |w| (w, f.greeting))));
        self.topics.extend(file.topic.into_iter().map(|t| (t, path.clone())));
        for slot in file.slot {
            match self.slots.iter_mut().find(|s| s.0.id.get_ref() == slot.id.get_ref()) {
                Some(old) if layer != Standard::Icao => *old = (slot, path.clone()),
                Some(_) => problems.push(
                    Diagnostic::new(
                        "G004",
                        path,
                        &self.sources[path],
                        slot.id.span(),
                        format!("slot `{}` stands twice", slot.id.get_ref()),
                    )
                    .label("second one")
                    .help("one slot, one place"),
                ),
                None => self.slots.push((slot, path.clone())),
            }
        }
        for rule in file.rule {
            match self.rules.iter_mut().find(|r| r.0.id.get_ref() == rule.id.get_ref()) {
                Some((old, place)) => {
                    old.on = rule.on.or(old.on);
                    old.source = rule.source.or(old.source.take());
                    old.why = rule.why.or(old.why.take());
                    old.right = rule.right;
                    old.wrong = rule.wrong;
                    *place = path.clone();
                }
                None => self.rules.push((rule, path.clone())),
            }
        }
        let own = layer == self.standard;
        for entry in file.phrase {
            match self.phrases.iter_mut().find(|p| p.entry.id.get_ref() == entry.id.get_ref()) {
                Some(_) if layer == Standard::Icao => {
                    problems.push(
                        Diagnostic::new(
                            "G004",
                            path,
                            &self.sources[path],
                            entry.id.span(),
                            format!("phrase `{}` stands twice", entry.id.get_ref()),
                        )
                        .label("second one")
                        .help("one phrase, one place; a rule set states its differences in its own folder"),
                    );
                }
                Some(old) => {
                    old.own_examples = own && (entry.right.is_some() || entry.wrong.is_some());
                    old.example_path = path.clone();
                    merge(old, entry, path);
                }
                None => self.phrases.push(PhraseSource {
                    duties: duties(&entry, path),
                    entry,
                    path: path.clone(),
                    replaced: Vec::new(),
                    own,
                    own_examples: own,
                    example_path: path.clone(),
                }),
            }
        }
        // Examples of a rule of a lower layer are not this rule set's.
        if !own {
            for rule in &mut self.rules {
                rule.0.right = None;
                rule.0.wrong = None;
            }
            for phrase in &mut self.phrases {
                phrase.own_examples = false;
            }
        }
    }
}

impl PhraseSource {
    /// The file that `key` was last stated in.
    #[must_use]
    pub fn place(&self, key: &str) -> &Path {
        self.replaced.iter().rev().find(|r| r.0 == key).map_or(&self.path, |r| &r.1)
    }
}

/// The file of each element that the entry states a duty for.
fn duties(entry: &PhraseEntry, path: &Path) -> BTreeMap<String, Path> {
    entry.duty.iter().flatten().map(|(element, _)| (element.get_ref().clone(), path.clone())).collect()
}

fn merge(source: &mut PhraseSource, new: PhraseEntry, path: &Path) {
    source.duties.extend(duties(&new, path));
    let old = &mut source.entry;
    macro_rules! replace {
        ($($key:ident)*) => { $(if new.$key.is_some() {
            old.$key = new.$key;
            source.replaced.push((stringify!($key), path.clone()));
        })* };
    }
    replace!(topic by kind instruction family says reply model limit hazard near includes announces variants parts source why);
    old.right = new.right;
    old.wrong = new.wrong;
    old.absent = new.absent;
    old.opens |= new.opens;
    old.unsigned |= new.unsigned;
    old.safe |= new.safe;
    if let Some(duty) = new.duty {
        // A key keeps the place where it was first written: this one is newer.
        for key in duty.keys() {
            old.duty.get_or_insert_default().remove(key);
        }
        old.duty.get_or_insert_default().extend(duty);
        source.replaced.push(("duty", path.clone()));
    }
}
