//! Finds everything that is wrong with a paper's file.

use super::item::{self, Item, Task};
use super::schema::{ItemEntry, PaperFile, PartEntry};
use super::{Conditions, Feedback, Outright, Paper, Part, Source, fingerprint};
use crate::airport::check::{check_format, check_standard};
use crate::airport::schema::{Number, Text};
use crate::airport::value::canonical;
use crate::callsign::Callsign;
use crate::crew::{CrewBook, Operator, Role};
use crate::diagnostic::{self, Diagnostic, Findings};
use crate::drill::session::station;
use crate::drill::skill::Skill;
use crate::element::{Element, Standard, Verdict};
use crate::judge::judgement::Form;
use crate::judge::{Situation, addressed, judge, judge_call};
use crate::parse::{Speaker, read};
use crate::rules::{Phase, RuleSet};
use std::ops::{Range, RangeInclusive};
use std::sync::Arc;

/// Codes of problems in papers, with what each means.
pub const CODES: &[(&str, &str)] = &[
    ("Q001", "the file is empty or not UTF-8 text"),
    ("Q002", "the file is not TOML, or has a key or a type that papers do not have"),
    ("Q003", "the file is written for another version of the program"),
    ("Q004", "a value that is not allowed"),
    ("Q005", "a name that the grammar does not have"),
    ("Q006", "a part or an item that does not say what it is, or says two things"),
    ("Q007", "a transmission, a call or its value that cannot be judged"),
    ("Q008", "the content cannot supply the items"),
    ("Q009", "no items"),
];

/// The most items of a paper.
pub const MOST: i64 = 500;

/// Reads a paper.
///
/// # Errors
/// Everything that is wrong with it, whatever the content can supply.
pub fn read_paper(
    path: &str,
    bytes: &[u8],
    rules: &dyn Fn(Standard) -> Arc<RuleSet>,
    book: &CrewBook,
) -> Result<(Paper, Places), Vec<Diagnostic>> {
    let source = diagnostic::text("Q001", path, bytes).map_err(|problem| vec![*problem])?;
    let broken = diagnostic::syntax("Q002", path, &source);
    if !broken.is_empty() {
        // What is no TOML at all has a mistake in every line.
        return Err(broken.into_iter().take(20).collect());
    }
    let file: PaperFile = toml::from_str(&source)
        .map_err(|error| vec![diagnostic::from_toml(path, &source, &error, "Q002")])?;
    let mut notes = Findings::new(path, &source);
    check_format(&mut notes, "Q003", &file.format);
    let standard = match &file.standard {
        Some(name) => check_standard(&mut notes, "Q005", name).unwrap_or_default(),
        None => Standard::default(),
    };
    let rules = rules(standard);
    let none = Operator::default();
    let name = file.operator.as_ref().map_or("default", |name| name.get_ref());
    let mut check = Check { notes, rules: &rules, book, operator: book.operator(name).unwrap_or(&none) };
    if let Some(operator) = file.operator.as_ref().filter(|_| book.operator(name).is_none()) {
        check.unknown("operator", operator, book.operator_ids());
    }
    let paper = check.paper(path, &file, &source);
    if !check.notes.found.is_empty() {
        return Err(check.notes.found);
    }
    let parts = file.part.iter().map(|part| part.get_ref().items.span()).collect();
    Ok((paper, Places { path: path.to_owned(), source, parts }))
}

/// Where the parts of a paper stand in its file.
#[derive(Debug, Clone)]
pub struct Places {
    path: String,
    source: Arc<str>,
    parts: Vec<Range<usize>>,
}

impl Places {
    /// A problem of what a part is drawn from, counted from 0.
    #[must_use]
    pub fn shortage(&self, part: usize, what: &str) -> Diagnostic {
        let span = self.parts.get(part).cloned().unwrap_or(0..0);
        Diagnostic::new("Q008", &self.path, &self.source, span, what)
    }
}

struct Check<'a> {
    notes: Findings,
    rules: &'a RuleSet,
    book: &'a CrewBook,
    operator: &'a Operator,
}

impl Check<'_> {
    fn paper(&mut self, path: &str, file: &PaperFile, source: &str) -> Paper {
        self.line("title", &file.title, 200);
        if let Some(preface) = &file.preface {
            self.line("preface", preface, 1000);
        }
        let written: Vec<Item> = file.item.iter().filter_map(|i| self.item(i.get_ref(), i.span())).collect();
        let parts: Vec<Part> = file.part.iter().filter_map(|p| self.part(p.get_ref(), p.span())).collect();
        let items = written.len() + parts.iter().map(|part| part.items).sum::<usize>();
        if file.item.is_empty() && file.part.is_empty() {
            let problem = self.notes.problem("Q009", file.title.span(), "the paper has no items");
            self.notes.add(problem.help("write a [[part]] with `items = 10` and `topics = ['line-up']`"));
        } else if items > usize::try_from(MOST).unwrap_or(usize::MAX) {
            let title = format!("the paper has {items} items: {MOST} are the most");
            let problem = self.notes.problem("Q004", file.title.span(), title);
            self.notes.add(problem);
        }
        let fails = file.fails.iter().filter_map(|text| match Outright::parse(text.get_ref()) {
            Ok(fails) => Some(fails),
            Err(what) => {
                let title = format!("`{}` is no finding", text.get_ref());
                let problem = self.notes.problem("Q004", text.span(), title);
                self.notes.add(problem.help(what));
                None
            }
        });
        let fails = fails.collect();
        let number = |check: &mut Self, name: &str, given: &Option<Number>, range| {
            given.as_ref().map(|given| check.within(name, given, range))
        };
        let small =
            |n: Option<i64>, otherwise: u8| n.map_or(otherwise, |n| u8::try_from(n).unwrap_or(u8::MAX));
        let whole = |n: i64| u32::try_from(n).unwrap_or(u32::MAX);
        let once = self.choice("hear", file.hear.as_ref(), [("readable", false), ("once", true)]);
        let own = self.choice("values", file.values.as_ref(), [("same", false), ("own", true)]);
        let conditions = Conditions {
            minutes: number(self, "minutes", &file.minutes, 1..=600).map(whole),
            seconds: number(self, "seconds", &file.seconds, 5..=3600).map(whole),
            once: once.unwrap_or(false),
            hints: file.hints.unwrap_or(false),
            replies: small(number(self, "replies", &file.replies, 1..=3), 1),
            sittings: number(self, "sittings", &file.sittings, 1..=20).map_or(1, whole),
            feedback: self.choice("feedback", file.feedback.as_ref(), Feedback::ALL).unwrap_or(Feedback::End),
        };
        Paper {
            path: path.to_owned(),
            fingerprint: fingerprint(source),
            title: file.title.get_ref().clone(),
            preface: file.preface.as_ref().map(|preface| preface.get_ref().clone()),
            standard: self.rules.standard,
            seed: number(self, "seed", &file.seed, 0..=i64::MAX).unwrap_or(0).unsigned_abs(),
            own_values: own.unwrap_or(false),
            conditions,
            pass_mark: small(number(self, "pass_mark", &file.pass_mark, 0..=100), 75),
            fails,
            form: self.choice("form", file.form.as_ref(), Form::ALL).unwrap_or_default(),
            operator: file.operator.as_ref().map_or("default", |name| name.get_ref()).to_owned(),
            written,
            parts,
        }
    }

    fn line(&mut self, key: &str, text: &Text, most: usize) {
        let words = text.get_ref();
        if words.trim().is_empty() || words.chars().count() > most || words.chars().any(char::is_control) {
            let problem = self.notes.problem("Q004", text.span(), format!("`{key}` is no line of text"));
            self.notes.add(problem.help(format!("write one line of 1 to {most} characters")));
        }
    }

    fn within(&mut self, key: &str, given: &Number, range: RangeInclusive<i64>) -> i64 {
        let n = *given.get_ref();
        if !range.contains(&n) {
            let title = format!("`{key}` cannot be {n}");
            let problem = self.notes.problem("Q004", given.span(), title);
            let (low, high) = (range.start(), range.end());
            let help = if *high == i64::MAX {
                format!("write {low} or more")
            } else {
                format!("write {low} to {high}")
            };
            self.notes.add(problem.help(help));
        }
        n.clamp(*range.start(), *range.end())
    }

    fn choice<T: Copy, const N: usize>(
        &mut self,
        key: &str,
        given: Option<&Text>,
        all: [(&'static str, T); N],
    ) -> Option<T> {
        let given = given?;
        let found = all.iter().find(|(name, _)| name == given.get_ref());
        if found.is_none() {
            let title = format!("`{key}` cannot be `{}`", given.get_ref());
            let problem = self.notes.problem("Q004", given.span(), title);
            self.notes.add(problem.suggest(given.get_ref(), all.map(|(name, _)| name)));
        }
        found.map(|(_, value)| *value)
    }

    fn unknown<'k>(&mut self, what: &str, given: &Text, known: impl Iterator<Item = &'k str>) {
        let problem =
            self.notes.problem("Q005", given.span(), format!("unknown {what} `{}`", given.get_ref()));
        self.notes.add(problem.suggest(given.get_ref(), known));
    }

    fn shape(&mut self, span: Range<usize>, title: &str, help: &str) {
        let problem = self.notes.problem("Q006", span, title);
        self.notes.add(problem.help(help));
    }

    fn part(&mut self, entry: &PartEntry, span: Range<usize>) -> Option<Part> {
        if let Some(title) = &entry.title {
            self.line("title", title, 200);
        }
        let items = usize::try_from(self.within("items", &entry.items, 1..=MOST)).unwrap_or(1);
        let crew = !entry.calls.is_empty() || !entry.checklists.is_empty();
        let radio = !entry.topics.is_empty() || !entry.airports.is_empty() || entry.difficulty.is_some();
        if crew && radio {
            let help = "make two parts of it: `topics`, `airports` and `difficulty` in one, `calls` and `checklists` in the other";
            self.shape(span, "a part is either of the radio or of the crew", help);
            return None;
        }
        let names = |texts: &[Text]| texts.iter().map(|text| text.get_ref().clone()).collect();
        let source = if crew {
            let mut calls = Vec::new();
            for text in &entry.calls {
                let (id, answer) = match text.get_ref().strip_suffix("/answer") {
                    Some(id) => (id, true),
                    None => (text.get_ref().as_str(), false),
                };
                match self.book.call(id) {
                    None => self.unknown("call", text, self.book.calls().map(|call| call.id.as_str())),
                    Some(call) if answer && call.answer.is_none() => {
                        let title = format!("nobody answers `{id}`");
                        let problem = self.notes.problem("Q005", text.span(), title);
                        self.notes.add(problem.help(format!("write `{id}` for the call itself")));
                    }
                    Some(_) => calls.push((id.to_owned(), answer)),
                }
            }
            for text in &entry.checklists {
                if self.book.checklist(text.get_ref()).is_none() {
                    self.unknown("checklist", text, self.book.checklist_ids());
                }
            }
            Source::Crew { calls, checklists: names(&entry.checklists) }
        } else {
            for text in &entry.topics {
                if !self.rules.topics.iter().any(|topic| topic.id == *text.get_ref()) {
                    self.unknown("topic", text, self.rules.topics.iter().map(|topic| topic.id.as_str()));
                }
            }
            let difficulty = entry.difficulty.as_ref().map(|n| self.within("difficulty", n, 1..=5));
            Source::Radio {
                topics: names(&entry.topics),
                airports: names(&entry.airports),
                difficulty: difficulty.and_then(|n| u8::try_from(n).ok()),
            }
        };
        Some(Part { title: entry.title.as_ref().map(|title| title.get_ref().clone()), items, source })
    }

    fn item(&mut self, entry: &ItemEntry, span: Range<usize>) -> Option<Item> {
        let kinds = [&entry.says, &entry.you_call, &entry.call, &entry.answer, &entry.checklist];
        if kinds.iter().filter(|kind| kind.is_some()).count() != 1 {
            let help = "write one of `says`, `you_call`, `call`, `answer` and `checklist`";
            self.shape(span, "an item is one thing", help);
            return None;
        }
        let own = |text: &Option<Text>| text.as_ref().map(|text| text.get_ref().clone());
        let cue = own(&entry.cue);
        let mut item = if let Some(says) = &entry.says {
            self.read_back(entry, says)?
        } else if let Some(phrase) = &entry.you_call {
            self.radio_call(entry, phrase, &span)?
        } else if let Some(list) = &entry.checklist {
            let number = entry.item.as_ref().map_or(0, |n| usize::try_from(*n.get_ref()).unwrap_or(0));
            let made = item::checklist_item(self.book, self.operator, list.get_ref(), number, &entry.values);
            let help = match self.book.checklist(list.get_ref()) {
                Some(known) => format!("`item` is 1 to {}", known.items.len()),
                None => return self.unknown_list(list),
            };
            self.crew(made, list, &help)?
        } else {
            let (text, role) = match (&entry.call, &entry.answer) {
                (Some(call), _) => (call, Role::First),
                (None, Some(answer)) => (answer, Role::Second),
                (None, None) => return None,
            };
            if self.book.call(text.get_ref()).is_none() {
                self.unknown("call", text, self.book.calls().map(|call| call.id.as_str()));
                return None;
            }
            let made = item::crew_call(self.book, self.operator, text.get_ref(), role, &entry.values);
            self.crew(made, text, "nobody answers this call")?
        };
        if cue.is_some() {
            item.cue = cue;
        }
        if let Some(station) = own(&entry.station) {
            item.station = station;
        }
        if let Some(text) = &entry.skill {
            item.skill.clone_from(text.get_ref());
            let known = match &item.task {
                Task::ReadBack { .. } => Skill::parse(text.get_ref()).is_some(),
                _ => text.get_ref().contains('/'),
            };
            if !known {
                let title = format!("`{}` is no skill", text.get_ref());
                let problem = self.notes.problem("Q004", text.span(), title);
                self.notes.add(problem.help("write rule set, topic and element: `icao/line-up/runway`"));
            }
        }
        Some(item)
    }

    fn unknown_list(&mut self, list: &Text) -> Option<Item> {
        self.unknown("checklist", list, self.book.checklist_ids());
        None
    }

    /// A crew item, or a note of what it wants.
    fn crew(&mut self, made: Result<Item, String>, at: &Text, otherwise: &str) -> Option<Item> {
        match made {
            Ok(item) => Some(item),
            Err(name) => {
                let title = match name.as_str() {
                    "" => format!("`{}` cannot be asked for like this", at.get_ref()),
                    name => format!("`{}` wants a value for `{name}`", at.get_ref()),
                };
                let problem = self.notes.problem("Q007", at.span(), title);
                let help = match name.as_str() {
                    "" => otherwise.to_owned(),
                    name => format!("write `values = {{ {name} = '…' }}`"),
                };
                self.notes.add(problem.help(help));
                None
            }
        }
    }

    /// The callsign that an item names, or the one that the station says.
    fn callsign(&mut self, entry: &ItemEntry, says: &str, at: &Range<usize>) -> Option<Callsign> {
        let (found, at) = match &entry.callsign {
            Some(text) => (Callsign::parse(text.get_ref()), text.span()),
            None => (addressed(self.rules, says), at.clone()),
        };
        if found.is_none() {
            let problem = self.notes.problem("Q007", at, "no callsign can be read here");
            self.notes.add(problem.help("write `callsign = 'Whimbrel 214'`, and begin `says` with it"));
        }
        found
    }

    fn read_back(&mut self, entry: &ItemEntry, says: &Text) -> Option<Item> {
        let text = says.get_ref();
        let callsign = self.callsign(entry, text, &says.span())?;
        let me = Situation { callsign: callsign.clone(), shortened: false };
        let unread = read(self.rules, text, Speaker::Controller).unparsed;
        if let Some(span) = unread.first() {
            let place = self.notes.within(says.span(), span.start as usize..span.end as usize);
            let title = format!("`{}` is not understood", span.of(text));
            let problem = self.notes.problem("Q007", place, title);
            let help = "what nobody understands cannot be judged: use words of the phrase book";
            self.notes.add(problem.help(help));
            return None;
        }
        let blank = judge(self.rules, &me, text, "");
        let found = item::skill_of(self.rules, &callsign, text);
        let model = judge(self.rules, &me, text, &blank.model);
        if model.verdict != Verdict::Correct || blank.verdict == Verdict::Correct || found.is_none() {
            let title = "the grammar finds nothing in this that must come back";
            let problem = self.notes.problem("Q007", says.span(), title);
            self.notes
                .add(problem.help("`hearback parse` tells what it understands; is the callsign in it?"));
            return None;
        }
        let skill = found?;
        let topic = self.rules.topics.iter().find(|topic| topic.id == skill.topic);
        let from = station(topic.map_or(Phase::Any, |topic| topic.phase), self.rules.standard);
        Some(Item {
            skill: skill.to_string(),
            callsign: callsign.written(),
            station: from.to_owned(),
            cue: None,
            task: Task::ReadBack { says: text.clone() },
        })
    }

    fn radio_call(&mut self, entry: &ItemEntry, phrase: &Text, span: &Range<usize>) -> Option<Item> {
        let id = phrase.get_ref();
        let calls = || self.rules.phrases().iter().filter(|phrase| phrase.by_pilot).map(|phrase| &*phrase.id);
        if !calls().any(|known| known == id) {
            let known: Vec<&str> = calls().collect();
            self.unknown("call to a station", phrase, known.into_iter());
            return None;
        }
        if entry.callsign.is_none() || entry.cue.is_none() {
            self.shape(
                span.clone(),
                "a call to a station wants `callsign` and `cue`",
                "the cue says what has happened, not what to say",
            );
            return None;
        }
        let callsign = self.callsign(entry, "", span)?;
        let mut wanted = Vec::new();
        for text in &entry.with {
            let (name, value) = text.get_ref().split_once(' ').unwrap_or((text.get_ref(), ""));
            let Some(element) = Element::parse(name) else {
                let problem = self.notes.problem("Q005", text.span(), format!("unknown element `{name}`"));
                self.notes.add(problem.suggest(name, Element::ALL.iter().map(|element| element.name())));
                continue;
            };
            match canonical(element, value.trim()) {
                Ok(value) => wanted.push((element, value)),
                Err(allowed) => {
                    let title = format!("`{}` is no {}", value.trim(), name.replace('_', " "));
                    let problem = self.notes.problem("Q007", text.span(), title);
                    self.notes.add(problem.help(format!("write {allowed}")));
                }
            }
        }
        let me = Situation { callsign: callsign.clone(), shortened: false };
        let blank = judge_call(self.rules, &me, id, &wanted, "");
        let model = judge_call(self.rules, &me, id, &wanted, &blank.model);
        if model.verdict != Verdict::Correct {
            let problem = self.notes.problem(
                "Q007",
                phrase.span(),
                format!("no call `{id}` is right with these values"),
            );
            let parts = self.rules.phrase(id).map(|found| found.parts.clone()).unwrap_or_default();
            let own = |element: &&Element| !matches!(element, Element::Callsign | Element::Instruction);
            let parts: Vec<String> = parts.iter().filter(own).map(|e| format!("'{} …'", e.name())).collect();
            let help = match parts.is_empty() {
                true => "it has no values: leave `with` out".to_owned(),
                false => format!("write its values as `with = [{}]`; some may be left out", parts.join(", ")),
            };
            self.notes.add(problem.help(help));
            return None;
        }
        let topic = self.rules.phrase(id).and_then(|p| self.rules.topics.get(usize::from(p.topic?)));
        Some(Item {
            skill: format!("{}/{}/call", self.rules.standard, topic.map_or(id.as_str(), |topic| &topic.id)),
            callsign: callsign.written(),
            station: String::new(),
            cue: None,
            task: Task::RadioCall { phrase: id.clone(), wanted },
        })
    }
}
