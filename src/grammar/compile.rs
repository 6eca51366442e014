//! A merged book → a compiled rule set: words folded, slots resolved, patterns in one automaton.

use super::load::{Book, Path, PhraseSource};
use super::notation::{self, Node};
use super::schema::{Example, Text};
use crate::diagnostic::{self, Diagnostic};
use crate::element::{Element, Fault, Severity, Standard};
use crate::parse::automaton::{Accept, Automaton, Builder, Goal};
use crate::parse::marks::Marks;
use crate::parse::slots::Builtin;
use crate::rules::{
    DataSlot, Duty, ExampleCase, FORM_RULES, Phrase, PhraseKind, Resolved, Rule, RuleSet, SlotRef, Symbol,
    Template, VariantRule,
};
use crate::text::lexicon::{Entry, Lexicon};
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
        let marks = Marks::new(&mut self.lexicon);
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
        // `near` and `includes` name instructions of other phrases.
        for (phrase, source) in phrases.iter_mut().zip(&book.phrases) {
            phrase.near = self.others(source.entry.near.as_deref(), source.place("near"));
            phrase.includes = self.others(source.entry.includes.as_deref(), source.place("includes"));
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
        for filler in &book.fillers {
            if !self.lexicon.is_own(filler.get_ref()) {
                self.lexicon.add_filler(&filler.get_ref().to_lowercase());
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
                let lower = word.to_lowercase();
                let hash = crate::text::fold(&lower);
                let entry = self.lexicon.get(hash).unwrap_or_else(|| {
                    let clean: String = lower.chars().filter(|c| !matches!(c, '\'' | '’')).collect();
                    self.lexicon.add_word(&clean);
                    self.lexicon.get(hash).unwrap_or(Entry::Hundred)
                });
                match entry {
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

    fn compile_phrase(&mut self, source: &PhraseSource, index: u16, builder: &mut Builder) -> Phrase {
        let entry = &source.entry;
        let id = entry.id.get_ref().clone();
        let path = source.path.clone();
        let by_pilot = match entry.by.as_ref().map(|b| b.get_ref().as_str()) {
            Some("pilot") => true,
            Some("controller") | None => false,
            Some(other) => {
                let help = allowed(other, &["controller", "pilot"]);
                let span = entry.by.as_ref().map_or(0..0, |b| b.span());
                self.problem("G010", source.place("by"), span, format!("unknown speaker `{other}`"), help);
                false
            }
        };
        if entry.by.is_none() {
            let title = format!("phrase `{id}` does not state who says it");
            let help = Some("add `by = 'controller'` or `by = 'pilot'`".to_owned());
            self.problem("G010", &path, entry.id.span(), title, help);
        }
        self.wordless(source);
        let kind = self.kind(source);
        let family = entry
            .family
            .as_ref()
            .map_or_else(|| id.split('.').next().unwrap_or("").to_owned(), |f| f.get_ref().clone());
        let family = self.families.iter().position(|f| *f == family).unwrap_or_else(|| {
            self.families.push(family);
            self.families.len() - 1
        });
        let mut phrase = Phrase {
            kind,
            by_pilot,
            instruction: entry.instruction.as_ref().map(|i| i.get_ref().clone()),
            instruction_id: entry.instruction.as_ref().map_or(0, |i| self.instruction(i.get_ref())),
            family: u16::try_from(family).unwrap_or(0),
            duties: [Duty::None; 64],
            limit: 0,
            hazard: None,
            near: Vec::new(),
            includes: Vec::new(),
            variants: Vec::new(),
            model: None,
            own_model: entry.model.is_some(),
            parts: Vec::new(),
            says: entry.patterns().map(|s| s.get_ref().clone()).collect(),
            source: entry.source.as_ref().map_or_else(|| "".into(), |s| s.get_ref().as_str().into()),
            why: entry.why.as_ref().map_or_else(|| "".into(), |s| s.get_ref().as_str().into()),
            id: id.into(),
        };
        if phrase.source.is_empty() || phrase.why.is_empty() {
            self.problem(
                "G011",
                &path,
                entry.id.span(),
                format!("phrase `{}` needs a `source` and a `why`", phrase.id),
                None,
            );
        }
        self.duties(source, &mut phrase);
        let goals: &[Goal] = match (kind, by_pilot) {
            (PhraseKind::Fragment, _) => &[Goal::Controller, Goal::Pilot],
            (_, true) => &[Goal::Pilot],
            _ => &[Goal::Controller, Goal::Pilot],
        };
        for says in entry.patterns() {
            if let Some(resolved) = self.pattern(says, source.place("says"), false) {
                for &goal in goals {
                    builder.add(goal, &resolved, Accept { phrase: index, variant: 0, reply: false });
                }
            }
        }
        for reply in entry.reply.iter().flatten() {
            if let Some(resolved) = self.pattern(reply, source.place("reply"), false) {
                builder.add(Goal::Pilot, &resolved, Accept { phrase: index, variant: 0, reply: true });
            }
        }
        for variant in entry.variants.iter().flatten() {
            let place = source.place("variants").clone();
            let fault = variant.fault.get_ref().split_once(' ');
            let Some((element, fault)) =
                fault.and_then(|(e, f)| Some((Element::parse(e)?, Fault::parse(f)?)))
            else {
                self.problem(
                    "G013",
                    &place,
                    variant.fault.span(),
                    format!("`{}` is not `element fault`", variant.fault.get_ref()),
                    Some("for instance `word nonstandard`".into()),
                );
                continue;
            };
            phrase.variants.push(VariantRule {
                element,
                fault,
                better: variant.better.get_ref().clone(),
                why: variant.why.as_ref().map_or_else(|| phrase.why.clone(), |w| w.get_ref().as_str().into()),
                source: variant
                    .source
                    .as_ref()
                    .map_or_else(|| phrase.source.clone(), |s| s.get_ref().as_str().into()),
            });
            // Half of a phrase is understood from a pilot only: a station says all of it.
            let goals = if fault == Fault::Missing { &[Goal::Pilot][..] } else { goals };
            let number = u16::try_from(phrase.variants.len()).unwrap_or(u16::MAX);
            if let Some(resolved) = self.pattern(&variant.says, &place, false) {
                for &goal in goals {
                    builder.add(goal, &resolved, Accept { phrase: index, variant: number, reply: false });
                }
            }
        }
        let model = entry.model.as_ref().or_else(|| entry.patterns().next());
        if let Some(model) = model {
            let text = model.get_ref();
            match notation::parse_template(text) {
                // An empty model: there is nothing to say back.
                _ if text.trim().is_empty() => {}
                Ok(node) => phrase.model = Some(self.template(&node)),
                // A fault in the first of `says` has been told.
                Err(_) if entry.model.is_none() => {}
                Err(e) => {
                    let place = within(model, e.start..e.end);
                    self.problem("G008", source.place("model"), place, e.message, None);
                }
            }
        }
        phrase
    }

    /// Notes what a phrase leaves empty: patterns, or the name of its instruction.
    fn wordless(&mut self, source: &PhraseSource) {
        let entry = &source.entry;
        let id = entry.id.get_ref();
        let help = "write the words between the brackets, for instance `says = ['follow the van']`";
        match &entry.says {
            Some(says) if says.get_ref().is_empty() => {
                let title = format!("nothing says `{id}`");
                self.problem("G009", source.place("says"), says.span(), title, Some(help.to_owned()));
            }
            None if entry.variants.is_none() && entry.parts.is_none() => {
                let title = format!("phrase `{id}` has no `says`");
                self.problem(
                    "G009",
                    &source.path,
                    entry.id.span(),
                    title,
                    Some(help.replace("between the brackets", "down")),
                );
            }
            _ => {}
        }
        if let Some(instruction) = entry.instruction.as_ref().filter(|i| i.get_ref().trim().is_empty()) {
            let help = "name what is to be done, for instance `instruction = 'follow the van'`, or leave the key out";
            let title = format!("the instruction of `{id}` has no name");
            self.problem(
                "G009",
                source.place("instruction"),
                instruction.span(),
                title,
                Some(help.to_owned()),
            );
        }
    }

    fn kind(&mut self, source: &PhraseSource) -> PhraseKind {
        const KINDS: [(&str, PhraseKind); 7] = [
            ("instruction", PhraseKind::Instruction),
            ("information", PhraseKind::Information),
            ("question", PhraseKind::Question),
            ("call", PhraseKind::Call),
            ("move", PhraseKind::Move),
            ("fragment", PhraseKind::Fragment),
            ("silence", PhraseKind::Silence),
        ];
        let Some(kind) = &source.entry.kind else { return PhraseKind::Instruction };
        match KINDS.iter().find(|k| k.0 == kind.get_ref()) {
            Some(found) => found.1,
            None => {
                let help = allowed(kind.get_ref(), &KINDS.map(|k| k.0));
                self.problem(
                    "G010",
                    source.place("kind"),
                    kind.span(),
                    format!("unknown kind `{}`", kind.get_ref()),
                    help,
                );
                PhraseKind::Instruction
            }
        }
    }

    fn duties(&mut self, source: &PhraseSource, phrase: &mut Phrase) {
        const DUTIES: [(&str, Duty); 5] = [
            ("read back", Duty::ReadBack),
            ("read back or wilco", Duty::ReadBackOrWilco),
            ("acknowledge", Duty::Acknowledge),
            ("carried", Duty::Carried),
            ("none", Duty::None),
        ];
        let entry = &source.entry;
        for (key, duty) in entry.duty.iter().flatten() {
            let name = key.get_ref();
            let path = source.duties.get(name).unwrap_or(&source.path);
            let Some(element) = Element::parse(name) else {
                let help = allowed_element(name);
                self.problem("G014", path, key.span(), format!("unknown element `{name}`"), help);
                continue;
            };
            match DUTIES.iter().find(|d| d.0 == duty.get_ref()) {
                Some(found) => phrase.duties[element as usize] = found.1,
                None => {
                    let help = allowed(duty.get_ref(), &DUTIES.map(|d| d.0));
                    self.problem(
                        "G014",
                        path,
                        duty.span(),
                        format!("unknown duty `{}`", duty.get_ref()),
                        help,
                    );
                }
            }
        }
        for limit in entry.limit.iter().flatten() {
            match Element::parse(limit.get_ref()) {
                Some(element) => phrase.limit |= 1 << element as u64,
                None => self.problem(
                    "G014",
                    source.place("limit"),
                    limit.span(),
                    format!("unknown element `{}`", limit.get_ref()),
                    allowed_element(limit.get_ref()),
                ),
            }
        }
        for part in entry.parts.iter().flatten() {
            match Element::parse(part.get_ref()) {
                Some(element) => phrase.parts.push(element),
                None => self.problem(
                    "G014",
                    source.place("parts"),
                    part.span(),
                    format!("unknown element `{}`", part.get_ref()),
                    allowed_element(part.get_ref()),
                ),
            }
        }
        phrase.hazard = match entry.hazard.as_ref().map(|h| h.get_ref().as_str()) {
            None => None,
            Some("critical") => Some(Severity::Critical),
            Some("major") => Some(Severity::Major),
            Some("minor") => Some(Severity::Minor),
            Some(other) => {
                let span = entry.hazard.as_ref().map_or(0..0, |h| h.span());
                self.problem(
                    "G010",
                    source.place("hazard"),
                    span,
                    format!("unknown hazard `{other}`"),
                    allowed(other, &["critical", "major", "minor"]),
                );
                None
            }
        };
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

fn examples(book: &Book) -> Vec<ExampleCase> {
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
fn unproved(book: &Book, phrases: &[Phrase]) -> Vec<Diagnostic> {
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
