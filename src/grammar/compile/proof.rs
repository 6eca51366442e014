//! The examples of a book, and phrases that lack one.

use crate::diagnostic::Diagnostic;
use crate::grammar::load::{Book, Path};
use crate::grammar::schema::Example;
use crate::rules::{ExampleCase, Phrase, PhraseKind};

pub(super) fn examples(book: &Book) -> Vec<ExampleCase> {
    let mut out = Vec::new();
    let mut push = |id: &str, path: &Path, right: bool, list: &Option<Vec<Example>>| {
        for example in list.iter().flatten() {
            let source = book.sources.get(path).cloned().unwrap_or_else(|| "".into());
            out.push(ExampleCase {
                id: id.to_owned(),
                example: example.clone(),
                path: path.clone(),
                source,
                right,
            });
        }
    };
    for source in book.phrases.iter().filter(|p| p.own_examples) {
        push(source.entry.id.get_ref(), &source.example_path, true, &source.entry.right);
        push(source.entry.id.get_ref(), &source.example_path, false, &source.entry.wrong);
    }
    for (rule, path) in &book.rules {
        push(rule.id.get_ref(), path, true, &rule.right);
        push(rule.id.get_ref(), path, false, &rule.wrong);
    }
    out
}

/// Phrases of this rule set's own that lack an example. What is done or answered for needs a right and a
/// wrong reply; what a station says beside that needs a right one.
pub(super) fn unproved(book: &Book, phrases: &[Phrase]) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    for (source, phrase) in book.phrases.iter().zip(phrases).filter(|(source, _)| source.own) {
        let wanted: &[&str] = match (phrase.kind, phrase.by_pilot) {
            (PhraseKind::Instruction | PhraseKind::Call, _) => &["right", "wrong"],
            (PhraseKind::Information | PhraseKind::Question | PhraseKind::Silence, false) => &["right"],
            _ => continue,
        };
        for &key in wanted {
            let list = if key == "right" { &source.entry.right } else { &source.entry.wrong };
            if list.as_ref().is_some_and(|list| !list.is_empty()) {
                continue;
            }
            let text = book.sources.get(&source.example_path).cloned().unwrap_or_else(|| "".into());
            let title = format!("phrase `{}` has no {key} example", phrase.id);
            let help = match (key, phrase.kind) {
                ("right", PhraseKind::Call) => {
                    "add `right = [{ reply = '…' }]`: what a pilot says who does it well"
                }
                (_, PhraseKind::Call) => {
                    "add `wrong = [{ reply = '…', faults = ['…'] }]`: a call, and the faults in it"
                }
                ("right", _) => {
                    "add `right = [{ say = '…', reply = '…' }]`: what is said, and an answer without a fault"
                }
                _ => {
                    "add `wrong = [{ say = '…', reply = '…', faults = ['…'] }]`: an answer, and the faults in it"
                }
            };
            out.push(
                Diagnostic::new("G024", &source.example_path, &text, source.entry.id.span(), title)
                    .help(help),
            );
        }
    }
    out
}
