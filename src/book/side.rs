//! What one rule set has of a phrase: words, an example, duties, errors, reason and source.

use super::pattern::Writer;
use crate::callsign::Callsign;
use crate::diagnostic::clean;
use crate::element::{Element, Fault, Severity, Standard, Verdict};
use crate::feedback::label;
use crate::grammar::check::faults;
use crate::grammar::load::chain;
use crate::judge::judgement::Judgement;
use crate::judge::{self, Situation};
use crate::parse::{self, Speaker};
use crate::rules::{Duty, ExampleCase, Phrase, PhraseKind, RuleSet};
use crate::text::speak;
use serde::Serialize;

/// The four rule sets.
pub(crate) type Sets<'r> = [&'r RuleSet; 4];

/// What is said, and what comes back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Exchange {
    /// What the station says; nothing for a pilot's own call.
    pub station: Option<String>,
    /// What the pilot says; nothing where silence is right.
    pub pilot: String,
}

/// A reply that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Wrong {
    /// What is said, and what comes back.
    pub exchange: Exchange,
    /// What is the matter with it.
    pub faults: String,
}

/// Forms that are understood and noted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Avoid {
    /// The forms, readable.
    pub says: Vec<String>,
    /// What to say instead.
    pub better: String,
    /// Why, in one sentence.
    pub why: String,
}

/// A phrase as one rule set has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Side {
    /// Who says it, and what is due.
    pub who: &'static str,
    /// Readable patterns, the usual one first; none if the phrase only names words to avoid.
    pub patterns: Vec<String>,
    /// Of a pilot's call: its parts in order.
    pub parts: String,
    /// An exchange that is right.
    pub example: Option<Exchange>,
    /// The example is the rule set's own, not one of a set that it is built on.
    pub own_example: bool,
    /// How it is read back, readable, if not as it was said.
    pub model: String,
    /// What must come back.
    pub back: String,
    /// Replies that are wrong.
    pub wrong: Vec<Wrong>,
    /// Forms to avoid.
    pub avoid: Vec<Avoid>,
    /// One sentence a trainee understands.
    pub why: String,
    /// Document and paragraph.
    pub source: String,
    /// What the base's example is answered with, without the callsign: tells how the words differ.
    #[serde(skip)]
    pub(crate) answer: String,
}

impl Side {
    /// What `standard` has of the phrase `id`; nothing if it doesn't have it.
    pub(crate) fn of(id: &str, standard: Standard, sets: &Sets<'_>) -> Option<Self> {
        let rules = sets[standard as usize];
        let phrase = rules.phrase(id)?;
        let writer = Writer::new(rules);
        let mut patterns: Vec<String> = Vec::new();
        // A call that is made of values has no pattern but the one it is built by.
        let built = phrase.says.is_empty().then_some(&phrase.model_says).into_iter().flatten();
        for pattern in phrase.says.iter().chain(built).map(|says| writer.write(says)) {
            if !pattern.is_empty() && !patterns.contains(&pattern) {
                patterns.push(pattern);
            }
        }
        let parts: Vec<String> = phrase.parts.iter().map(|&part| part_label(part)).collect();
        let model = phrase.model_says.as_ref().filter(|_| phrase.own_model && is_answered(phrase));
        let model = model.map(|model| writer.write_model(model, &phrase.says)).unwrap_or_default();
        let (example, own_example) = example(phrase, standard, sets);
        Some(Self {
            who: who(phrase),
            parts: parts.join(" · "),
            example,
            own_example,
            model: if patterns.first() == Some(&model) { String::new() } else { model },
            back: back(phrase),
            wrong: wrong(id, standard, sets),
            avoid: avoid(phrase, &writer),
            why: clean(&phrase.why).into_owned(),
            source: clean(&phrase.source).into_owned(),
            answer: answer(id, standard, sets),
            patterns,
        })
    }

    /// True if the words, the parts or the duties are others; sources and reasons don't count.
    #[must_use]
    pub fn differs(&self, other: &Self) -> bool {
        self.who != other.who
            || self.patterns.first() != other.patterns.first()
            || self.parts != other.parts
            || self.model != other.model
            || self.back != other.back
            || self.avoid != other.avoid
            || self.answer != other.answer
    }
}

/// Who says a phrase, and what is due.
pub(crate) fn who(phrase: &Phrase) -> &'static str {
    match (phrase.by_pilot, phrase.kind) {
        (true, PhraseKind::Call) => "Called by the pilot",
        (true, _) => "Said by the pilot",
        (false, PhraseKind::Fragment) => "Said by either side",
        (false, PhraseKind::Information) => "News from the station: nothing to read back",
        (false, PhraseKind::Question) => "A question: answer it",
        (false, PhraseKind::Silence) => "For everybody: keep silent",
        (false, _) => "Said by the station",
    }
}

fn part_label(part: Element) -> String {
    match part {
        Element::Instruction => "request or report".to_owned(),
        other => label(other),
    }
}

/// True if the phrase's own model comes back, not just an acknowledgement.
fn is_answered(phrase: &Phrase) -> bool {
    let owed = Element::ALL.iter().any(|&e| phrase.duty(e) >= Duty::ReadBackOrWilco);
    !phrase.by_pilot && (owed || phrase.kind == PhraseKind::Question)
}

fn owed_label(element: Element, kind: PhraseKind) -> String {
    match element {
        Element::Instruction if kind == PhraseKind::Question => "the answer".to_owned(),
        Element::Instruction => "the instruction".to_owned(),
        other => label(other),
    }
}

/// Forms to avoid, those with the same advice together.
fn avoid(phrase: &Phrase, writer: &Writer<'_>) -> Vec<Avoid> {
    let mut out: Vec<Avoid> = Vec::new();
    for variant in &phrase.variants {
        let says = writer.write(&variant.says);
        let (better, why) = (shown(&variant.better), shown(&variant.why));
        match out.iter_mut().find(|a| a.better == better && a.why == why) {
            Some(avoid) if avoid.says.contains(&says) => {}
            Some(avoid) => avoid.says.push(says),
            None => out.push(Avoid { says: vec![says], better, why }),
        }
    }
    out
}

/// What must come back, in words.
fn back(phrase: &Phrase) -> String {
    let owing = |duty: Duty| -> Vec<String> {
        Element::ALL
            .iter()
            .filter(|&&e| phrase.duty(e) == duty)
            .map(|&e| owed_label(e, phrase.kind))
            .collect()
    };
    let mut out: Vec<String> = Vec::new();
    for (duty, note) in [(Duty::ReadBack, ""), (Duty::ReadBackOrWilco, " (or wilco)")] {
        let owed = owing(duty);
        if !owed.is_empty() {
            out.push(format!("{}{note}", owed.join(", ")));
        }
    }
    let acknowledged = owing(Duty::Acknowledge);
    if out.is_empty() && phrase.kind == PhraseKind::Question {
        return "an answer".to_owned();
    }
    if !acknowledged.is_empty() {
        out.push(match out.is_empty() {
            true => "nothing word for word: acknowledge".to_owned(),
            false => format!("{} need only be acknowledged", acknowledged.join(", ")),
        });
    }
    if !out.is_empty() {
        return out.join("; ");
    }
    match (phrase.by_pilot, phrase.kind) {
        (true, _) => String::new(),
        (_, PhraseKind::Silence) => "nothing: keep silent".to_owned(),
        (_, PhraseKind::Fragment) if owing(Duty::Carried).is_empty() => String::new(),
        (_, PhraseKind::Fragment) => "as the instruction asks that it belongs to".to_owned(),
        (_, PhraseKind::Information) => "nothing: roger is enough".to_owned(),
        _ => "nothing word for word: acknowledge".to_owned(),
    }
}

/// The examples of a phrase that hold in a rule set: its own, else those of the nearest set it is built on.
fn cases<'r>(id: &str, standard: Standard, sets: &Sets<'r>, right: bool) -> (Vec<&'r ExampleCase>, Standard) {
    for &layer in chain(standard).iter().rev() {
        let rules: &'r RuleSet = sets[layer as usize];
        let found: Vec<&ExampleCase> =
            rules.examples.iter().filter(|e| e.id == id && e.right == right).collect();
        if !found.is_empty() {
            return (found, layer);
        }
    }
    (Vec::new(), Standard::Icao)
}

/// Whose reply an example is.
fn situation(rules: &RuleSet, case: &ExampleCase) -> Option<Situation> {
    let example = &case.example;
    let callsign = match (&example.callsign, &example.say) {
        (Some(written), _) => Callsign::parse(written.get_ref()),
        (None, Some(say)) => judge::addressed(rules, say.get_ref()),
        (None, None) => judge::speaker(rules, example.reply.get_ref()),
    };
    callsign.map(|callsign| Situation { callsign, shortened: false })
}

fn shown(text: &str) -> String {
    clean(text).into_owned()
}

/// Speech as it is shown: it begins with a capital letter.
fn speech(text: &str) -> String {
    let text = clean(text);
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

/// A right exchange, and whether it is the rule set's own.
fn example(phrase: &Phrase, standard: Standard, sets: &Sets<'_>) -> (Option<Exchange>, bool) {
    let (found, layer) = cases(&phrase.id, standard, sets, true);
    let Some(case) = found.first() else { return (None, false) };
    let rules = sets[standard as usize];
    let say = case.example.say.as_ref().map(|s| s.get_ref().as_str());
    let reply = case.example.reply.get_ref();
    if layer == standard {
        return (Some(Exchange { station: say.map(speech), pilot: speech(reply) }), true);
    }
    let adopted = situation(sets[layer as usize], case).map(|me| match say {
        Some(say) => {
            let say = adopt(say, Speaker::Controller, sets[layer as usize], rules, &me);
            let reply = adopt(reply, Speaker::Pilot, sets[layer as usize], rules, &me);
            let judged = judge::judge(rules, &me, &say, &reply);
            let pilot = if judged.verdict == Verdict::Correct { &reply } else { &judged.model };
            Exchange { station: Some(speech(&say)), pilot: speech(pilot) }
        }
        None => {
            let said = adopt(reply, Speaker::Pilot, sets[layer as usize], rules, &me);
            let right = judge::judge_call(rules, &me, &phrase.id, &[], &said).verdict == Verdict::Correct;
            Exchange { station: None, pilot: speech(if right { &said } else { reply }) }
        }
    });
    let adopted = adopted.filter(|e| !foreign(e, standard));
    (adopted, false)
}

/// True if the words have no place in the rule set: a setting in hectopascals where there are none.
fn foreign(exchange: &Exchange, standard: Standard) -> bool {
    let qnh = |text: &str| text.to_lowercase().contains("qnh");
    standard == Standard::Us && (qnh(&exchange.pilot) || exchange.station.as_deref().is_some_and(qnh))
}

/// A transmission of one rule set in the numbers and callsigns of another: every value that was said as
/// the first says it is said as the second does.
fn adopt(text: &str, speaker: Speaker, from: &RuleSet, to: &RuleSet, me: &Situation) -> String {
    if from.standard == to.standard {
        return text.to_owned();
    }
    let mut items = parse::read(from, text, speaker).items;
    items.sort_by_key(|i| std::cmp::Reverse(i.span.start));
    let mut out = text.to_owned();
    let mut end = text.len();
    for item in items {
        let (start, stop) = (item.span.start as usize, item.span.end as usize);
        let there = &text[start..stop];
        let said = speak::spoken(from.standard, item.element, &item.value);
        let there = there.strip_prefix("altitude ").unwrap_or(there);
        if stop <= end && there.eq_ignore_ascii_case(&said) {
            out.replace_range(start..stop, &speak::spoken(to.standard, item.element, &item.value));
            end = start;
        }
    }
    out.replace(&me.callsign.spoken(from.standard), &me.callsign.spoken(to.standard))
}

/// Replies that are wrong: the rule set's own, else those of a set it is built on that are wrong here too.
fn wrong(id: &str, standard: Standard, sets: &Sets<'_>) -> Vec<Wrong> {
    let (found, layer) = cases(id, standard, sets, false);
    let rules = sets[standard as usize];
    let mut out = Vec::new();
    for case in found {
        let Some(me) = situation(sets[layer as usize], case) else { continue };
        let from = sets[layer as usize];
        let say =
            case.example.say.as_ref().map(|s| adopt(s.get_ref(), Speaker::Controller, from, rules, &me));
        let reply = adopt(case.example.reply.get_ref(), Speaker::Pilot, from, rules, &me);
        let judged = match &say {
            Some(say) => judge::judge(rules, &me, say, &reply),
            None => judge::judge_call(rules, &me, id, &[], &reply),
        };
        let mut named: Vec<String> = case.example.faults.iter().map(|f| f.get_ref().clone()).collect();
        let mut judged_faults = faults(&judged);
        named.sort();
        judged_faults.sort();
        if named != judged_faults {
            continue;
        }
        let exchange = Exchange { station: say.as_deref().map(speech), pilot: speech(&reply) };
        if layer != standard && foreign(&exchange, standard) {
            continue;
        }
        out.push(Wrong { exchange, faults: fault_words(&judged, rules.phrase(id)) });
    }
    out
}

/// What is the matter, in words: `level wrong; word nonstandard (instead: climb to)`.
fn fault_words(judged: &Judgement, phrase: Option<&Phrase>) -> String {
    let findings = judged.findings.iter().filter(|f| f.severity > Severity::Advice);
    let words = findings.map(|f| {
        let element = match phrase {
            Some(phrase) if f.element == Element::Instruction && phrase.by_pilot => part_label(f.element),
            Some(phrase) if f.element == Element::Instruction && phrase.kind == PhraseKind::Question => {
                "answer".to_owned()
            }
            _ => label(f.element),
        };
        let more = match &f.better {
            Some(better) => format!(" (instead: {better})"),
            // What is nonstandard in it can't be seen from the name.
            None if f.fault == Fault::Nonstandard => format!(" ({})", f.why.trim_end_matches('.')),
            None => String::new(),
        };
        format!("{element} {}{more}", f.fault.name())
    });
    shown(&words.collect::<Vec<_>>().join("; "))
}

/// What the base's example is answered with in a rule set, numbers as the base says them, without the
/// callsign.
fn answer(id: &str, standard: Standard, sets: &Sets<'_>) -> String {
    let base = sets[Standard::Icao as usize];
    let Some(case) = base.examples.iter().find(|e| e.id == id && e.right) else { return String::new() };
    let Some(say) = &case.example.say else { return String::new() };
    let Some(me) = situation(base, case) else { return String::new() };
    // What else is said with it has its own place in the book.
    if parse::phrases(base, say.get_ref(), Speaker::Controller).len() > 1 {
        return String::new();
    }
    let rules = sets[standard as usize];
    let said = adopt(say.get_ref(), Speaker::Controller, base, rules, &me);
    let model = judge::judge(rules, &me, &said, "").model;
    let own = adopt(&model, Speaker::Pilot, rules, base, &me);
    own.to_lowercase().replace(&me.callsign.spoken(Standard::Icao).to_lowercase(), "")
}

/// The elements that a phrase carries: by its duties, its parts, and the slots of its patterns.
pub(crate) fn elements(phrase: &Phrase) -> Vec<Element> {
    let named = |e: Element| {
        phrase
            .says
            .iter()
            .any(|says| says.split('<').skip(1).any(|slot| slot.split([':', '>']).next() == Some(e.name())))
    };
    let carries = |e: Element| phrase.duty(e) != Duty::None || phrase.parts.contains(&e) || named(e);
    Element::ALL.iter().copied().filter(|&e| e != Element::Callsign && carries(e)).collect()
}

/// The first example of a rule of form that is right, or wrong, line by line.
pub(crate) fn rule_example(id: &str, right: bool, rules: &RuleSet) -> Vec<String> {
    let Some(case) = rules.examples.iter().find(|e| e.id == id && e.right == right) else {
        return Vec::new();
    };
    let say = case.example.say.iter().map(|s| format!("station: {}", shown(s.get_ref())));
    let reply = std::iter::once(format!("pilot: {}", shown(case.example.reply.get_ref())));
    let faults: Vec<&str> = case.example.faults.iter().map(|f| f.get_ref().as_str()).collect();
    let faults = (!faults.is_empty()).then(|| format!("→ {}", shown(&faults.join(", "))));
    say.chain(reply).chain(faults).collect()
}
