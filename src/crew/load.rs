//! Makes a book of calls, checklists, briefings and operators from files.

use super::book::{Checklist, CrewBook, Item, Lines, Operator};
use super::briefing::BriefingEntry;
use super::said::{Speech, Words};
use super::schema::{File, OperatorFile, WordEntry, WordsEntry};
use super::speaking_up::LadderEntry;
use crate::diagnostic::{self, Diagnostic};
use crate::rules::Phase;
use crate::text::fold;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// Whether a file below a folder `crew` is one of an operator, and its name; none if it lies elsewhere.
fn place(path: &str) -> Option<(bool, &str)> {
    let mut parts = path.rsplit('/');
    let name = parts.next()?.strip_suffix(".toml")?;
    match parts.next()? {
        "crew" => Some((false, name)),
        "operators" if parts.next() == Some("crew") => Some((true, name)),
        _ => None,
    }
}

impl CrewBook {
    /// The book that the binary carries.
    ///
    /// # Errors
    /// What is wrong with a built-in file; a test keeps that from happening.
    pub fn builtin() -> Result<Arc<Self>, String> {
        static BOOK: OnceLock<Result<Arc<CrewBook>, String>> = OnceLock::new();
        let load = || {
            let files = crate::grammar::builtin_files().iter();
            let problem = |found: Vec<Diagnostic>| diagnostic::render(&found, false);
            Self::load(files.map(|f| (f.0, f.1.as_bytes()))).map(Arc::new).map_err(problem)
        };
        BOOK.get_or_init(load).clone()
    }

    /// Takes an operator in under a name of its own, beside the one that its file gives it.
    ///
    /// # Errors
    /// What keeps the file from being read.
    pub fn name_operator(&mut self, name: String, path: &str, bytes: &[u8]) -> Result<(), Box<Diagnostic>> {
        let source = diagnostic::text("C001", path, bytes)?;
        let file: OperatorFile = toml::from_str(&source)
            .map_err(|error| Box::new(diagnostic::from_toml(path, &source, &error, "C002")))?;
        self.operators.insert(name, file.operator());
        Ok(())
    }

    /// A book from files of grammar, of which those below a folder `crew` are taken: calls, checklists, words,
    /// and operators from a folder `operators`. What comes later takes the place of what has the same id.
    ///
    /// # Errors
    /// Everything that is wrong with the files, with its place.
    pub fn load<'a>(given: impl Iterator<Item = (&'a str, &'a [u8])>) -> Result<Self, Vec<Diagnostic>> {
        let mut files = Vec::new();
        let mut operators: BTreeMap<String, Operator> = BTreeMap::new();
        let mut read_operators = Vec::new();
        let mut found = Vec::new();
        for (path, bytes) in given {
            let Some((operator, id)) = place(path) else { continue };
            let source = match diagnostic::text("C001", path, bytes) {
                Ok(source) => source,
                Err(problem) => {
                    found.push(*problem);
                    continue;
                }
            };
            let broken = diagnostic::syntax("C002", path, &source);
            if !broken.is_empty() {
                found.extend(broken);
                continue;
            }
            let told = |error: toml::de::Error| diagnostic::from_toml(path, &source, &error, "C002");
            if operator {
                match toml::from_str::<OperatorFile>(&source).map_err(told) {
                    Ok(file) => {
                        operators.insert(id.to_owned(), file.operator());
                        read_operators.push((path, source.clone(), file));
                    }
                    Err(problem) => found.push(problem),
                }
            } else {
                match toml::from_str::<File>(&source).map_err(told) {
                    Ok(file) => files.push(file),
                    Err(problem) => found.push(problem),
                }
            }
        }
        let calls: Vec<&str> =
            files.iter().flat_map(|file| &file.call).map(|call| call.id.as_str()).collect();
        for (path, source, file) in &read_operators {
            for name in file.says.keys().chain(file.answer.keys()) {
                if !found.is_empty() || calls.contains(&name.get_ref().as_str()) {
                    continue;
                }
                let title = format!("unknown call `{}`", name.get_ref());
                let problem = Diagnostic::new("C003", path, source, name.span(), title);
                found.push(problem.suggest(name.get_ref(), calls.iter().copied()));
            }
        }
        if !found.is_empty() {
            return Err(found);
        }
        let list = |pick: fn(&File) -> &Vec<WordsEntry>| -> Vec<String> {
            files.iter().flat_map(pick).flat_map(|entry| entry.words.clone()).collect()
        };
        let texts = files.iter().flat_map(|file| {
            let calls = file.call.iter().flat_map(|call| {
                let answers = call.answer.iter().flat_map(|answer| &answer.says);
                let other = call.otherwise.iter().flat_map(|o| o.says.iter().chain(&o.answer));
                call.says.iter().chain(&call.weak).chain(answers).chain(other)
            });
            let items = file.checklist.iter().flat_map(|list| &list.item).flat_map(|item| {
                let other = item.otherwise.iter().flat_map(|o| &o.says);
                [&item.challenge].into_iter().chain(&item.says).chain(&item.weak).chain(other)
            });
            calls.chain(items).map(String::as_str)
        });
        let forms: Vec<&WordEntry> = files.iter().flat_map(|file| &file.word).collect();
        let vocabulary = |texts: &mut dyn Iterator<Item = &str>, free: &[String]| {
            Words::new(
                &forms,
                texts,
                free,
                &list(|f| &f.acknowledgement),
                &list(|f| &f.negation),
                &files.iter().flat_map(|f| &f.opposite).map(|o| o.words.clone()).collect::<Vec<_>>(),
            )
        };
        let free = [list(|f| &f.filler), list(|f| &f.unit)].concat();
        let mut texts = texts;
        let words = vocabulary(&mut texts, &[free.clone(), list(|f| &f.address)].concat());
        let one = |f: fn(&File) -> &Vec<WordsEntry>| files.iter().flat_map(f).flat_map(|entry| &entry.words);
        let briefings = files.iter().flat_map(|f| &f.briefing);
        let ladder = files.iter().find_map(|f| f.speaking_up.as_ref());
        let talk = vocabulary(
            &mut briefings
                .clone()
                .flat_map(BriefingEntry::texts)
                .chain(ladder.into_iter().flat_map(LadderEntry::texts))
                .chain(one(|f| &f.same))
                .chain(one(|f| &f.generic))
                .map(String::as_str),
            &free,
        );
        let speeches = |texts: &[String]| -> Vec<Speech> { texts.iter().map(|t| words.speech(t)).collect() };
        let groups = files.iter().flat_map(|f| &f.same);
        let problem = |title: String| {
            vec![Diagnostic::new("C004", "crew/speaking-up.toml", &Arc::from(""), 0..0, title)]
        };
        let ladder = ladder.ok_or_else(|| "nothing about speaking up".to_owned());
        let ladder = ladder.and_then(|entry| entry.ladder(&talk)).map_err(problem)?;
        let mut book = Self {
            values: files.iter().flat_map(|f| f.values.clone()).collect(),
            slips: files.iter().flat_map(|f| f.slip.clone()).collect(),
            watching: files.iter().find_map(|f| f.watching.clone()).unwrap_or_default(),
            words: Words::default(),
            talk: Words::default(),
            same: groups.flat_map(|g| g.words.iter().map(|w| (fold(w), fold(&g.words[0])))).collect(),
            generic: one(|f| &f.generic).map(|w| fold(w)).collect(),
            ladder,
            briefings: briefings.map(|entry| (entry.id.clone(), entry.briefing(&talk))).collect(),
            calls: BTreeMap::new(),
            checklists: BTreeMap::new(),
            phases: BTreeMap::new(),
            operators,
        };
        let known: BTreeMap<&str, Phase> =
            files.iter().flat_map(|f| &f.phase_of).map(|(name, phase)| (name.as_str(), phase.0)).collect();
        for file in &files {
            let calls = file.call.iter().filter_map(|call| Some((&call.id, file.phase.as_deref()?)));
            let lists = file.checklist.iter().map(|list| (&list.id, list.phase.as_str()));
            let phases = calls.chain(lists).filter_map(|(id, name)| Some((id.clone(), *known.get(name)?)));
            book.phases.extend(phases);
        }
        for file in &files {
            for entry in &file.call {
                let mut call = entry.call(None, &speeches);
                let cases = entry.otherwise.iter();
                call.cases = cases.map(|case| entry.call(Some(case), &speeches)).collect();
                book.calls.insert(entry.id.clone(), call);
            }
            for entry in &file.checklist {
                let items = entry.item.iter().map(|item| {
                    // The words of the challenge may stand before its response.
                    let responses = |texts: &[String]| -> Vec<Speech> {
                        let with =
                            texts.iter().map(|text| words.speech(&format!("{}, {text}", item.challenge)));
                        speeches(texts).into_iter().chain(with).collect()
                    };
                    let other = item.otherwise.iter().map(|o| (o.when.clone(), responses(&o.says)));
                    Item {
                        by: item.by,
                        below: item.below_the_line,
                        challenge: Lines { says: vec![words.speech(&item.challenge)], ..Lines::default() },
                        response: Lines {
                            says: responses(&item.says),
                            weak: responses(&item.weak),
                            otherwise: other.collect(),
                        },
                        killer: item.killer,
                    }
                });
                let list = Checklist {
                    id: entry.id.clone(),
                    title: entry.title.clone(),
                    called_by: entry.called_by,
                    read_by: entry.read_by,
                    items: items.collect(),
                    source: entry.source.clone(),
                };
                book.checklists.insert(entry.id.clone(), list);
            }
        }
        book.words = words;
        book.talk = talk;
        Ok(book)
    }
}
