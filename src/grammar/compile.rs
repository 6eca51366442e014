//! A merged book → a compiled rule set: words folded, slots resolved, patterns in one automaton.

mod phrase;
mod proof;

use super::load::{Book, Path};
use super::notation::{self, Node};
use super::schema::Text;
use crate::diagnostic::{self, Diagnostic};
use crate::element::{Element, Standard};
use crate::parse::automaton::{Accept, Automaton, Builder, Goal};
use crate::parse::marks::Marks;
use crate::parse::slots::Builtin;
use crate::rules::{
    DataSlot, FORM_RULES, Phase, Phrase, Resolved, Rule, RuleSet, SlotRef, Symbol, Template, Topic,
};
use crate::text::lexicon::{Entry, Lexicon};
use proof::{examples, unproved};
use rustc_hash::FxHashMap;
use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Number of the next rule set.
static SERIAL: AtomicU64 = AtomicU64::new(0);

/// Compiles a book.
///
/// # Errors
/// Every problem of the data at once: bad patterns, unknown slots, elements, duties, missing keys.
pub(crate) fn compile(book: Book) -> Result<RuleSet, Vec<Diagnostic>> {
    Compiler::new(&book).run(book)
}

struct Compiler {
    standard: Standard,
    /// Topics of the phrase book.
    topics: Vec<Topic>,
    problems: Vec<Diagnostic>,
    lexicon: Lexicon,
    symbols: Vec<Symbol>,
    symbol_ids: FxHashMap<Symbol, u16>,
    slot_ids: FxHashMap<String, SlotRef>,
    instructions: Vec<String>,
    families: Vec<String>,
    sources: std::collections::HashMap<Path, Arc<str>>,
}

impl Compiler {
    fn new(book: &Book) -> Self {
        Self {
            standard: book.standard,
            topics: Vec::new(),
            problems: Vec::new(),
            lexicon: Lexicon::new(),
            symbols: Vec::new(),
            symbol_ids: FxHashMap::default(),
            slot_ids: Builtin::ALL.iter().map(|&b| (b.name().to_owned(), SlotRef::Builtin(b))).collect(),
            instructions: vec![String::new()],
            families: Vec::new(),
            sources: book.sources.clone(),
        }
    }

    fn problem(
        &mut self,
        code: &'static str,
        path: &str,
        span: Range<usize>,
        title: impl Into<String>,
        help: Option<String>,
    ) {
        let source = self.sources.get(path).cloned().unwrap_or_else(|| "".into());
        self.problems.push(Diagnostic { help, ..Diagnostic::new(code, path, &source, span, title) });
    }

    fn run(mut self, book: Book) -> Result<RuleSet, Vec<Diagnostic>> {
        self.vocabulary(&book);
        self.topics(&book);
        let marks = Marks::new(&mut self.lexicon, &book.roles);
        if book.slots.len() + Builtin::ALL.len() > 128
            && let Some((slot, path)) = book.slots.last()
        {
            self.problem(
                "G016",
                path,
                slot.id.span(),
                "there are more slots than the program can hold",
                None,
            );
            return Err(self.problems);
        }
        for (i, (slot, path)) in book.slots.iter().enumerate() {
            let id = u16::try_from(i).unwrap_or(u16::MAX);
            if self.slot_ids.insert(slot.id.get_ref().clone(), SlotRef::Data(id)).is_some() {
                self.problem(
                    "G005",
                    path,
                    slot.id.span(),
                    format!("`{}` is a slot of the program's own", slot.id.get_ref()),
                    None,
                );
            }
        }
        // All pattern words must be known before any pattern is folded.
        let mut builder = Builder::new();
        let slots = self.compile_slots(&book, &mut builder);
        let mut phrases: Vec<Phrase> = Vec::with_capacity(book.phrases.len());
        for source in &book.phrases {
            let index = u16::try_from(phrases.len()).unwrap_or(u16::MAX);
            let phrase = self.compile_phrase(source, index, &mut builder);
            phrases.push(phrase);
        }
        // `near`, `includes` and `announces` name instructions of other phrases.
        for (phrase, source) in phrases.iter_mut().zip(&book.phrases) {
            phrase.near = self.others(source.entry.near.as_deref(), source.place("near"));
            phrase.includes = self.others(source.entry.includes.as_deref(), source.place("includes"));
            phrase.announces = self.others(source.entry.announces.as_deref(), source.place("announces"));
        }
        let form_rules = self.compile_rules(&book);
        let examples = examples(&book);
        let unproved = unproved(&book, &phrases);
        self.lexicon.finish();
        if !self.problems.is_empty() {
            return Err(self.problems);
        }
        let automaton = Automaton::new(builder.build(), &self.symbols, &marks, self.lexicon.len());
        let by_id = phrases.iter().zip(0u16..).map(|(p, i)| (p.id.to_string(), i)).collect();
        Ok(RuleSet {
            standard: self.standard,
            marks,
            automaton,
            symbols: self.symbols,
            slots,
            serial: SERIAL.fetch_add(1, Ordering::Relaxed),
            siblings: siblings(&phrases),
            kinds: phrases.iter().map(|p| p.kind).collect(),
            phrases,
            topics: self.topics,
            form_rules,
            examples,
            unproved,
            by_id,
            lexicon: self.lexicon,
        })
    }

    /// Numbers of instructions named in a phrase.
    fn others(&mut self, names: Option<&[Text]>, path: &str) -> Vec<u16> {
        let mut out = Vec::new();
        for name in names.into_iter().flatten() {
            match self.instructions.iter().position(|i| i == name.get_ref()) {
                Some(id) => out.push(u16::try_from(id).unwrap_or(0)),
                None => {
                    let known: Vec<&str> = self.instructions.iter().skip(1).map(String::as_str).collect();
                    let help = allowed(name.get_ref(), &known);
                    self.problem(
                        "G006",
                        path,
                        name.span(),
                        format!("no phrase has the instruction `{}`", name.get_ref()),
                        help,
                    );
                }
            }
        }
        out
    }

    fn topics(&mut self, book: &Book) {
        for (entry, path) in &book.topics {
            let id = entry.id.get_ref();
            if self.topics.iter().any(|t| t.id == *id) {
                let title = format!("topic `{id}` stands twice");
                self.problem("G004", path, entry.id.span(), title, Some("one topic, one place".into()));
                continue;
            }
            let name = entry.phase.get_ref();
            let Some(phase) = Phase::parse(name) else {
                let help = allowed(name, &Phase::ALL.map(Phase::name));
                self.problem("G017", path, entry.phase.span(), format!("unknown phase `{name}`"), help);
                continue;
            };
            self.topics.push(Topic { id: id.clone(), title: entry.title.get_ref().clone(), phase });
        }
        // A school's own topics take their place in the flight.
        self.topics.sort_by_key(|t| t.phase);
    }

    fn vocabulary(&mut self, book: &Book) {
        for (entry, path) in &book.words {
            for form in &entry.forms {
                if self.lexicon.is_own(form.get_ref()) {
                    self.problem(
                        "G007",
                        path,
                        form.span(),
                        format!("`{}` is a numeral or letter of the program's own", form.get_ref()),
                        None,
                    );
                } else if !self.lexicon.add_form(form.get_ref(), &entry.word.get_ref().to_lowercase()) {
                    self.problem(
                        "G007",
                        path,
                        form.span(),
                        format!("`{}` already stands for another word", form.get_ref()),
                        None,
                    );
                }
            }
        }
        for (filler, greeting) in &book.fillers {
            if !self.lexicon.is_own(filler.get_ref()) {
                self.lexicon.add_filler(&filler.get_ref().to_lowercase(), *greeting);
            }
        }
    }

    fn symbol(&mut self, element: Option<Element>, slot: SlotRef) -> u16 {
        let symbol = Symbol { element, slot };
        if let Some(&id) = self.symbol_ids.get(&symbol) {
            return id;
        }
        let id = u16::try_from(self.symbols.len()).unwrap_or(u16::MAX);
        self.symbols.push(symbol);
        self.symbol_ids.insert(symbol, id);
        id
    }

    /// Parses a pattern and resolves its words and slots.
    fn pattern(&mut self, text: &Text, path: &str, inner: bool) -> Option<Resolved> {
        let place = |start: usize, end: usize| within(text, start..end);
        let node = match notation::parse(text.get_ref()) {
            Ok(node) => node,
            Err(error) => {
                self.problem("G008", path, place(error.start, error.end), error.message, None);
                return None;
            }
        };
        let mut complaints = Vec::new();
        let resolved = self.resolve(&node, inner, &mut complaints);
        for (needle, title, help) in complaints {
            let at = text.get_ref().find(&needle).map_or(0..text.get_ref().len(), |i| i..i + needle.len());
            self.problem("G012", path, place(at.start, at.end), title, help);
        }
        resolved
    }

    fn resolve(
        &mut self,
        node: &Node,
        inner: bool,
        complaints: &mut Vec<(String, String, Option<String>)>,
    ) -> Option<Resolved> {
        Some(match node {
            Node::Sequence(items) => Resolved::Sequence(
                items.iter().map(|n| self.resolve(n, inner, complaints)).collect::<Option<_>>()?,
            ),
            Node::Either(items) => Resolved::Either(
                items.iter().map(|n| self.resolve(n, inner, complaints)).collect::<Option<_>>()?,
            ),
            Node::Optional(item) => Resolved::Optional(Box::new(self.resolve(item, inner, complaints)?)),
            Node::Word(word) if word.contains('-') => {
                let parts = word.split('-').filter(|w| !w.is_empty()).map(|w| Node::Word(w.to_owned()));
                let parts: Vec<Node> = parts.collect();
                return self.resolve(&Node::Sequence(parts), inner, complaints);
            }
            Node::Word(word) => {
                let entry = self.lexicon.get(crate::text::fold(word)).unwrap_or_else(|| {
                    let clean = word.to_lowercase().replace(['\'', '’'], "");
                    self.lexicon.add_word(&clean);
                    self.lexicon.get(crate::text::fold(&clean)).unwrap_or(Entry::Hundred)
                });
                match entry {
                    Entry::Words([id, ..], 1) => Resolved::Word(id),
                    Entry::Words(ids, n) => {
                        Resolved::Sequence(ids[..n as usize].iter().map(|&id| Resolved::Word(id)).collect())
                    }
                    Entry::Letter(_, id) | Entry::Decimal(id) => Resolved::Word(id),
                    Entry::Digit(digit, _) => Resolved::Word(self.lexicon.digits[usize::from(digit)]),
                    Entry::Hundred => Resolved::Word(self.lexicon.hundred),
                    Entry::Thousand => Resolved::Word(self.lexicon.thousand),
                    Entry::Multiple(n) => Resolved::Word(self.lexicon.multiple[usize::from(n == 3)]),
                    Entry::Teen(_) | Entry::Tens(_) | Entry::Oh => {
                        complaints.push((
                            word.clone(),
                            format!("`{word}` is a numeral: numbers belong in slots"),
                            Some("use a slot such as `<number>`".into()),
                        ));
                        return None;
                    }
                }
            }
            Node::Slot(element, slot) => {
                let Some(&reference) = self.slot_ids.get(slot) else {
                    let mut known: Vec<&str> = self.slot_ids.keys().map(String::as_str).collect();
                    known.sort_unstable();
                    let help = allowed(slot, &known);
                    complaints.push((slot.clone(), format!("unknown slot `{slot}`"), help));
                    return None;
                };
                let found = Element::parse(element);
                if found.is_none() && element != "_" && !inner && element != slot {
                    let help = allowed_element(element);
                    complaints.push((element.clone(), format!("unknown element `{element}`"), help));
                    return None;
                }
                Resolved::Slot(self.symbol(if inner { None } else { found }, reference))
            }
        })
    }

    /// A template whose words and slots are resolved once.
    fn template(&mut self, node: &Node) -> Template {
        match node {
            Node::Sequence(items) => Template::Sequence(items.iter().map(|n| self.template(n)).collect()),
            Node::Either(items) => Template::Either(items.iter().map(|n| self.template(n)).collect()),
            Node::Optional(item) => Template::Optional(Box::new(self.template(item))),
            Node::Word(word) => {
                let first = word.split('-').next().unwrap_or(word);
                let id = match self.lexicon.get(crate::text::fold(first)) {
                    Some(Entry::Words([id, ..], _)) => id,
                    _ => 0,
                };
                Template::Word(word.as_str().into(), id)
            }
            Node::Slot(element, slot) => {
                Template::Slot(Element::parse(element), self.slot_ids.get(slot).copied())
            }
        }
    }

    fn compile_slots(&mut self, book: &Book, builder: &mut Builder) -> Vec<DataSlot> {
        let mut out = Vec::new();
        for (i, (slot, path)) in book.slots.iter().enumerate() {
            let id = u16::try_from(i).unwrap_or(u16::MAX);
            let mut data = DataSlot {
                name: slot.id.get_ref().clone(),
                title: slot
                    .title
                    .as_ref()
                    .map_or_else(|| slot.id.get_ref().replace('_', " "), |t| t.get_ref().clone()),
                values: Vec::new(),
                models: Vec::new(),
                counted: Vec::new(),
            };
            for (f, form) in slot.forms.iter().enumerate() {
                data.values.push(form.value.get_ref().clone());
                for says in &form.says {
                    if let Some(resolved) = self.pattern(says, path, true) {
                        let accept =
                            Accept { phrase: u16::try_from(f).unwrap_or(0), variant: 0, reply: false };
                        builder.add(Goal::Slot(id), &resolved, accept);
                    }
                }
                let model = form.model.as_ref().or(form.says.first()).and_then(|text| {
                    match notation::parse_template(text.get_ref()) {
                        Ok(node) => Some(node),
                        // A fault in the first of `says` has been told.
                        Err(error) if form.model.is_some() => {
                            let place = within(text, error.start..error.end);
                            self.problem("G008", path, place, error.message, None);
                            None
                        }
                        Err(_) => None,
                    }
                });
                let model = model.unwrap_or(Node::Sequence(vec![]));
                data.models.push(self.template(&model));
                let named = form.value.get_ref().split('{').skip(1).filter_map(|part| part.split_once('}'));
                data.counted.push(named.filter_map(|(name, _)| self.slot_ids.get(name).copied()).collect());
                if form.says.is_empty() {
                    self.problem(
                        "G009",
                        path,
                        form.value.span(),
                        format!("nothing says `{}`", form.value.get_ref()),
                        None,
                    );
                }
            }
            out.push(data);
        }
        out
    }

    fn instruction(&mut self, name: &str) -> u16 {
        let at = self.instructions.iter().position(|i| i == name).unwrap_or_else(|| {
            self.instructions.push(name.to_owned());
            self.instructions.len() - 1
        });
        u16::try_from(at).unwrap_or(0)
    }

    fn compile_rules(&mut self, book: &Book) -> [Rule; FORM_RULES.len()] {
        let mut out: [Rule; FORM_RULES.len()] =
            std::array::from_fn(|i| Rule { id: FORM_RULES[i].into(), ..Rule::default() });
        for (entry, path) in &book.rules {
            match out.iter_mut().find(|r| *r.id == **entry.id.get_ref()) {
                Some(rule) => {
                    rule.on = entry.on.unwrap_or(false);
                    rule.source =
                        entry.source.as_ref().map_or_else(|| "".into(), |s| s.get_ref().as_str().into());
                    rule.why = entry.why.as_ref().map_or_else(|| "".into(), |s| s.get_ref().as_str().into());
                }
                None => {
                    let help = allowed(entry.id.get_ref(), FORM_RULES);
                    self.problem(
                        "G015",
                        path,
                        entry.id.span(),
                        format!("the judge knows no rule `{}`", entry.id.get_ref()),
                        help,
                    );
                }
            }
        }
        out
    }
}

/// For each phrase the others with the same instruction in the same family.
fn siblings(phrases: &[Phrase]) -> Vec<Vec<u16>> {
    let kin = |a: &Phrase, b: &Phrase| {
        a.instruction_id != 0 && a.id != b.id && (a.instruction_id, a.family) == (b.instruction_id, b.family)
    };
    let of = |p: &Phrase| phrases.iter().zip(0u16..).filter(|(o, _)| kin(p, o)).map(|(_, i)| i).collect();
    phrases.iter().map(of).collect()
}

/// The place of bytes of a text in its file: exact in a string on one line without escapes, else the whole value.
fn within(text: &Text, inside: Range<usize>) -> Range<usize> {
    let span = text.span();
    let exact = span.len() == text.get_ref().len() + 2;
    if exact { span.start + 1 + inside.start..span.start + 1 + inside.end } else { span }
}

/// The nearest name, or all that are allowed.
fn allowed(name: &str, known: &[&str]) -> Option<String> {
    diagnostic::suggestion(name, known)
}

fn allowed_element(name: &str) -> Option<String> {
    let known: Vec<&str> = Element::ALL.iter().map(|e| e.name()).collect();
    allowed(name, &known)
}
