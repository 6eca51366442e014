//! Speaking up in steps: which step the moment asks for, which one was heard, and the parts of the sentence.

use super::book::CrewBook;
use super::context::SpeakingUp;
use super::judge::{conclude, filled};
use super::said::{TokKind, Values, Words};
use super::scan::{Heard, Phrase, Told};
use crate::element::{Element, Fault, Severity};
use crate::judge::judgement::{Finding, Judgement};
use crate::span::Span;
use schemars::JsonSchema;
use serde::Deserialize;
use std::sync::Arc;

/// The steps, the parts of a whole sentence, and how each is heard.
#[derive(Debug)]
pub(super) struct Ladder {
    source: String,
    pub(super) steps: Vec<Step>,
    parts: Vec<Part>,
    model: String,
    facts: Vec<String>,
    says: Vec<Phrase>,
    aside: Vec<Phrase>,
    anywhere: Vec<Phrase>,
    first: Vec<Phrase>,
    orders: Vec<Phrase>,
    suggests: Vec<Phrase>,
    not_after: Vec<Phrase>,
    last_word: Vec<Phrase>,
    softeners: Vec<Phrase>,
    vague: Vec<Phrase>,
    softened: String,
}

/// One step.
#[derive(Debug)]
pub(super) struct Step {
    pub(super) id: String,
    pub(super) title: String,
    /// Less than so many seconds are left; any number if none.
    pub(super) within: Option<f64>,
    /// Each must be there; of several, one of them.
    needs: Vec<Vec<Element>>,
    /// Words that it may have.
    longest: Option<usize>,
    why: String,
    model: String,
}

#[derive(Debug)]
struct Part {
    element: Element,
    title: String,
    source: String,
    why: String,
    marks: Vec<Phrase>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LadderEntry {
    source: String,
    model: String,
    facts: Vec<String>,
    /// Numbers that belong to no value of the moment.
    aside: Vec<String>,
    anywhere: Vec<String>,
    first: Vec<String>,
    orders: Vec<String>,
    suggests: Vec<String>,
    not_after: Vec<String>,
    last_word: Vec<String>,
    softeners: Vec<String>,
    softened: String,
    vague: Vec<String>,
    step: Vec<StepEntry>,
    part: Vec<PartEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StepEntry {
    id: String,
    title: String,
    within: Option<f64>,
    needs: Vec<String>,
    longest: Option<usize>,
    why: String,
    model: String,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "SpeakingUpPart")]
struct PartEntry {
    element: String,
    title: String,
    source: String,
    why: String,
    #[serde(default)]
    marks: Vec<String>,
}

impl LadderEntry {
    /// Every text whose words must be known.
    pub(super) fn texts(&self) -> impl Iterator<Item = &String> {
        let lists = [
            &self.facts,
            &self.aside,
            &self.anywhere,
            &self.first,
            &self.orders,
            &self.suggests,
            &self.not_after,
            &self.last_word,
            &self.softeners,
            &self.vague,
        ];
        let marks = self.part.iter().flat_map(|part| &part.marks);
        let models = self.step.iter().flat_map(|step| [&step.model, &step.id]).chain([&self.model]);
        lists.into_iter().flatten().chain(marks).chain(models)
    }

    pub(super) fn ladder(&self, words: &Words) -> Result<Ladder, String> {
        let element = |name: &str| Element::parse(name).ok_or_else(|| format!("no element `{name}`"));
        let step = |step: &StepEntry| -> Result<Step, String> {
            let needs = step.needs.iter().map(|need| need.split(" or ").map(element).collect());
            Ok(Step {
                id: step.id.clone(),
                title: step.title.clone(),
                within: step.within,
                needs: needs.collect::<Result<_, _>>()?,
                longest: step.longest,
                why: step.why.clone(),
                model: step.model.clone(),
            })
        };
        let part = |part: &PartEntry| -> Result<Part, String> {
            Ok(Part {
                element: element(&part.element)?,
                title: part.title.clone(),
                source: part.source.clone(),
                why: part.why.clone(),
                marks: words.phrases(&part.marks),
            })
        };
        Ok(Ladder {
            source: self.source.clone(),
            steps: self.step.iter().map(step).collect::<Result<_, _>>()?,
            parts: self.part.iter().map(part).collect::<Result<_, _>>()?,
            model: self.model.clone(),
            facts: self.facts.clone(),
            says: words.phrases(&self.facts),
            aside: words.phrases(&self.aside),
            anywhere: words.phrases(&self.anywhere),
            first: words.phrases(&self.first),
            orders: words.phrases(&self.orders),
            suggests: words.phrases(&self.suggests),
            not_after: words.phrases(&self.not_after),
            last_word: words.phrases(&self.last_word),
            softeners: words.phrases(&self.softeners),
            vague: words.phrases(&self.vague),
            softened: self.softened.clone(),
        })
    }
}

impl Ladder {
    /// Values that a text tells where a fact says them.
    pub(super) fn told_in(&self, text: &Heard<'_>, values: &mut Values) {
        text.fill(&self.says, values);
    }

    fn part(&self, element: Element) -> Option<&Part> {
        self.parts.iter().find(|part| part.element == element)
    }

    /// A right sentence for a step, or one with every part.
    fn model(&self, step: Option<usize>, values: &Values) -> String {
        let known = |fact: &&String| {
            let gaps = fact.split('<').skip(1).filter_map(|gap| gap.split_once('>'));
            gaps.map(|gap| gap.0).all(|name| values.contains_key(name))
        };
        let fact = self.facts.iter().find(known).map_or_else(String::new, |fact| filled(fact, values));
        let mut all = values.clone();
        all.insert("fact".to_owned(), fact);
        for (name, text) in [("role", "Captain"), ("action", "go around")] {
            all.entry(name.to_owned()).or_insert_with(|| text.to_owned());
        }
        filled(step.map_or(&self.model, |step| &self.steps[step].model), &all)
    }
}

/// What a sentence has.
#[derive(Debug, Default)]
struct Sentence {
    there: Vec<Element>,
    /// The step it comes to; none if it says nothing.
    step: Option<usize>,
    /// A word that takes the edge off.
    soft: Option<Span>,
    /// A value that is not the one of the moment: value and place.
    wrong: Option<(String, Span)>,
}

/// A proposal: an order, or a suggestion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Force {
    Suggests,
    Orders,
}

/// Judges a sentence by which one pilot stops the other.
#[must_use]
pub fn judge_speaking_up(book: &CrewBook, situation: &SpeakingUp, reply: &str) -> Judgement {
    let ladder = &book.ladder;
    let asked = situation.step(book);
    let said = listen(book, situation, reply);
    let mut findings = Vec::new();
    let source: Arc<str> = Arc::from(ladder.source.as_str());
    let mut add =
        |element: Element, fault, severity, expected: Option<String>, span: Option<Span>, why: &str| {
            findings.push(Finding {
                element,
                fault,
                severity,
                expected,
                given: span.map(|s| s.of(reply).to_owned()),
                span,
                rule: ladder
                    .part(element)
                    .map_or_else(|| Arc::clone(&source), |part| Arc::from(part.source.as_str())),
                why: Arc::from(why),
                better: None,
                id: Arc::from("escalation"),
            });
        };
    let five = [Element::Address, Element::Concern, Element::Evidence, Element::Proposal, Element::Agreement];
    let due: Vec<Vec<Element>> = match asked {
        None => five.map(|element| vec![element]).to_vec(),
        Some(asked) => ladder.steps[said.step.unwrap_or(asked).max(asked)].needs.clone(),
    };
    for needs in due.iter().filter(|needs| !needs.iter().any(|need| said.there.contains(need))) {
        let titles = needs.iter().filter_map(|&e| ladder.part(e)).map(|part| part.title.as_str());
        let part = ladder.part(needs[0]);
        let severity = needs[0].severity(Fault::Missing);
        let expected = titles.collect::<Vec<_>>().join(", or ");
        add(needs[0], Fault::Missing, severity, Some(expected), None, part.map_or("", |p| &p.why));
    }
    if let Some((value, span)) = &said.wrong {
        let why = ladder.part(Element::Evidence).map_or("", |part| &part.why);
        add(Element::Evidence, Fault::Wrong, Severity::Major, Some(value.clone()), Some(*span), why);
    }
    let model = ladder.model(asked, &situation.values);
    let Some(asked) = asked else {
        if said.soft.is_some() {
            add(Element::Word, Fault::Nonstandard, Severity::Advice, None, said.soft, &ladder.softened);
        }
        return conclude(findings, model);
    };
    let wanted = &ladder.steps[asked];
    let all = Heard::new(&book.talk, reply);
    let whole = all.span(0, all.toks.len());
    match said.step {
        _ if whole.is_none() => {
            add(
                Element::Call,
                Fault::Missing,
                Severity::Critical,
                Some(wanted.title.clone()),
                None,
                &wanted.why,
            );
        }
        Some(step) if step > asked => {
            let short = wanted.within.is_some_and(|seconds| seconds <= SHORT);
            if !short {
                let why = "There is time: a step so high is poor teamwork, not an error.";
                let title = Some(wanted.title.clone());
                add(Element::Call, Fault::Nonstandard, Severity::Advice, title, whole, why);
            }
        }
        Some(step) if step == asked => {}
        other => {
            let soft = said.soft.map(|_| ladder.softened.as_str());
            let why = soft.unwrap_or(&wanted.why);
            add(Element::Call, Fault::Wrong, Severity::Critical, Some(wanted.title.clone()), whole, why);
            if let Some(last) = findings.last_mut() {
                last.given = Some(
                    other.map_or("less than a question or a fact", |s| &ladder.steps[s].title).to_owned(),
                );
            }
            return conclude(findings, model);
        }
    }
    let spoken = said.step.unwrap_or(asked).max(asked);
    let long = ladder.steps[spoken].longest.filter(|&most| reply.split_whitespace().count() > most);
    if let Some(most) = long {
        let why = "Few words: what is explained now is heard too late.";
        add(
            Element::Call,
            Fault::Nonstandard,
            Severity::Minor,
            Some(format!("at most {most} words")),
            whole,
            why,
        );
    }
    conclude(findings, model)
}

/// With so few seconds left, no step is too high.
const SHORT: f64 = 15.0;

/// Hears the parts of a sentence and the step it comes to.
fn listen(book: &CrewBook, situation: &SpeakingUp, reply: &str) -> Sentence {
    let ladder = &book.ladder;
    let mut heard = Heard::new(&book.talk, reply);
    let mut out = Sentence::default();
    let marked =
        |heard: &Heard<'_>, element| ladder.part(element).is_some_and(|p| heard.first(&p.marks).is_some());
    let named = ["role", "name"].iter().filter_map(|key| situation.values.get(*key));
    let names: Vec<Phrase> = named.map(|name| book.talk.phrase(name)).collect();
    if marked(&heard, Element::Address) || heard.first(&names).is_some() {
        out.there.push(Element::Address);
    }
    if marked(&heard, Element::Agreement) || reply.trim_end().ends_with('?') {
        out.there.push(Element::Agreement);
    }
    let vague = heard.first(&ladder.vague).is_some();
    heard.hide(&ladder.vague);
    let last = heard.first(&ladder.last_word).is_some();
    let proposal = proposal(ladder, &heard);
    if proposal.is_some() {
        out.there.push(Element::Proposal);
    }
    if marked(&heard, Element::Concern) {
        out.there.push(Element::Concern);
    }
    out.soft = heard.first(&ladder.softeners).and_then(|hit| heard.span(hit.from, hit.to));
    // What belongs to the proposal is no evidence for it.
    for phrases in [&ladder.last_word, &ladder.anywhere] {
        heard.hide(phrases);
    }
    if let Some(part) = ladder.part(Element::Agreement) {
        heard.hide(&part.marks);
    }
    let number = (0..heard.toks.len()).any(|k| heard.toks[k].kind != TokKind::Word && !heard.hidden[k]);
    if number || marked(&heard, Element::Evidence) {
        out.there.push(Element::Evidence);
    }
    heard.hide(&ladder.aside);
    for (name, value) in &situation.values {
        if let Told::Wrong(span) = heard.told(&ladder.says, &[], name, &situation.values)
            && out.wrong.is_none()
        {
            out.wrong = Some((value.clone(), span));
        }
    }
    let asks = reply.trim_end().ends_with('?') && !vague;
    let has = |element: Element| out.there.contains(&element);
    let full = match proposal {
        _ if last => Some(3),
        Some(Force::Orders) => Some(2),
        Some(Force::Suggests) => Some(1),
        None if has(Element::Concern) => Some(1),
        None if has(Element::Evidence) || asks => Some(0),
        None => None,
    };
    let lowered = out.soft.is_some() && !last;
    out.step = if lowered { full.and_then(|step: usize| step.checked_sub(1)) } else { full };
    out
}

/// The strongest proposal of a sentence.
fn proposal(ladder: &Ladder, heard: &Heard<'_>) -> Option<Force> {
    let suggests = heard.find(&ladder.suggests);
    let orders = heard.find(&ladder.orders);
    let blocked = heard.find(&ladder.not_after);
    let mut best: Option<Force> = None;
    let mut offer = |force: Force| {
        if best.is_none_or(|known| known < force) {
            best = Some(force);
        }
    };
    let inside = |from: usize, hit: usize| heard.clause(hit) == heard.clause(from) && hit < from;
    for hit in &orders {
        // Something must follow.
        if heard.clause_end(hit.from) > hit.to && !suggests.iter().any(|s| inside(hit.from, s.from)) {
            offer(Force::Orders);
        }
    }
    for hit in &suggests {
        if heard.clause_end(hit.from) > hit.to {
            offer(Force::Suggests);
        }
    }
    // In front of the first verb of a clause: nothing, whom one speaks to, "do not".
    let passed = |k: usize| {
        heard.toks[k].free || heard.is(k, "do") || heard.is(k, "not") && k > 0 && heard.is(k - 1, "do")
    };
    let leads = |at: usize| (heard.clause(at)..at).all(passed) || address_ends(ladder, heard, at);
    let first = heard.find(&ladder.first).into_iter().filter(|hit| leads(hit.from));
    let anywhere = heard.find(&ladder.anywhere).into_iter();
    let anywhere = anywhere.filter(|hit| !blocked.iter().any(|b| b.to == hit.from));
    for hit in first.chain(anywhere) {
        if suggests.iter().any(|s| inside(hit.from, s.from) || s.from == hit.from) {
            offer(Force::Suggests);
            continue;
        }
        let end = heard.clause_end(hit.from);
        let after = heard.span(hit.from, end).and_then(|s| heard.text.get(s.end as usize..));
        let question = after.is_some_and(|rest| rest.trim_start().starts_with('?'));
        let agreed = ladder.part(Element::Agreement).is_some_and(|part| {
            heard.find(&part.marks).iter().any(|a| heard.clause(a.from) == heard.clause(hit.from))
        });
        offer(if question && !agreed { Force::Suggests } else { Force::Orders });
    }
    best
}

/// True if an address ends just before the word at `at`, and begins its clause.
fn address_ends(ladder: &Ladder, heard: &Heard<'_>, at: usize) -> bool {
    let Some(part) = ladder.part(Element::Address) else { return false };
    let begin = heard.clause(at);
    heard.find(&part.marks).iter().any(|hit| {
        (begin..hit.from).all(|k| heard.toks[k].free)
            && hit.to <= at
            && (hit.to..at).all(|k| heard.toks[k].free)
    })
}
