//! A transmission for a skill, made from the grammar with values by chance: no two showings are alike.

use super::skill::{Skill, teaches};
use super::values::{Values, begins_with_number, ends_in_number, is_number};
use crate::callsign::Callsign;
use crate::element::{Element, Standard, Verdict};
use crate::grammar::notation::{self, Node};
use crate::judge::{Situation, judge};
use crate::parse::cover::Piece;
use crate::parse::{self, Speaker};
use crate::rules::{Phrase, RuleSet, SlotRef, Template};
use crate::value::Value as Stored;
use sha2::{Digest, Sha256};

/// Draws before a skill is given up; one in a few fits.
const DRAWS: u32 = 400;

/// Words that can be kept in mind after hearing them once.
const LONGEST: usize = 30;

/// Callsigns that a session is drawn from; all are invented.
const CALLSIGNS: [&str; 5] =
    ["Whimbrel 214", "Larkspur 7 Delta", "Harebell 52", "Fernway 1004", "Marlpit 365"];

/// One showing of a skill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// What is tried.
    pub skill: Skill,
    /// Id of the phrase it was made from.
    pub phrase: String,
    /// What the station says.
    pub say: String,
    /// A right reply.
    pub model: String,
}

/// The callsign of a session.
#[must_use]
pub fn callsign(standard: Standard, seed: u64) -> Option<Callsign> {
    let mut values = chance(standard, &format!("drill callsign {seed}"));
    Callsign::parse(values.pick(&CALLSIGNS))
}

/// A transmission for the skill that the grammar understands completely, whose model reply is right, and in which
/// the element of the skill must come back. The same seed and showing give the same item.
///
/// `None` if the rule set has no phrase for the skill.
#[must_use]
pub fn item(rules: &RuleSet, skill: &Skill, callsign: &Callsign, seed: u64, showing: u64) -> Option<Item> {
    let phrases: Vec<&Phrase> = rules.phrases().iter().filter(|p| teaches(rules, p, skill)).collect();
    if phrases.is_empty() {
        return None;
    }
    let me = Situation { callsign: callsign.clone(), shortened: false };
    let shapes: Vec<Vec<&str>> = phrases.iter().map(|phrase| shapes(rules, skill, &phrase.id)).collect();
    let mut maker =
        Maker { rules, values: chance(rules.standard, &format!("drill {skill} {seed} {showing}")) };
    (0..DRAWS).find_map(|draw| {
        let k = maker.values.below(phrases.len());
        let phrase = phrases[k];
        let clause = match maker.values.pick(&shapes[k]) {
            // A shape that does not fit gives way to the patterns in the end.
            shape if !shape.is_empty() && draw < DRAWS / 2 => maker.filled(shape)?,
            _ => maker.alone(phrase, skill.element)?,
        };
        let say = format!("{}, {clause}", callsign.spoken(rules.standard));
        let model = check(rules, &me, skill, &phrase.id, &say)?;
        Some(Item { skill: skill.clone(), phrase: phrase.id.to_string(), say, model })
    })
}

/// The same words with other values, of the same difficulty: the same phrases, and the same elements that must come
/// back. The same purpose gives the same values; `None` if the words have no value, or no draw fits.
#[must_use]
pub fn other_values(rules: &RuleSet, callsign: &Callsign, item: &Item, purpose: &str) -> Option<Item> {
    let me = Situation { callsign: callsign.clone(), shortened: false };
    let mut maker = Maker { rules, values: chance(rules.standard, purpose) };
    let wanted = Demand::of(rules, &me, &item.say);
    (0..DRAWS / 10).find_map(|_| {
        let say = format!("{}, {}", callsign.spoken(rules.standard), maker.filled(&item.say)?);
        let fits = say != item.say && Demand::of(rules, &me, &say) == wanted;
        let model = fits.then(|| check(rules, &me, &item.skill, &item.phrase, &say))??;
        Some(Item { say, model, ..item.clone() })
    })
}

/// Two items said in one breath; `None` if that cannot be told apart, or is too long.
#[must_use]
pub fn joined(rules: &RuleSet, callsign: &Callsign, first: &Item, second: &Item) -> Option<Item> {
    let me = Situation { callsign: callsign.clone(), shortened: false };
    let (_, clause) = second.say.split_once(", ")?;
    let say = format!("{}, {clause}", first.say);
    let of = |say: &str| Demand::of(rules, &me, say);
    let (one, two, both) = (of(&first.say), of(&second.say), of(&say));
    let whole = both.phrases.len() == one.phrases.len() + two.phrases.len()
        && both.elements.len() == one.elements.len() + two.elements.len();
    let model = whole.then(|| check(rules, &me, &first.skill, &first.phrase, &say))??;
    Some(Item { say, model, ..first.clone() })
}

/// What a transmission demands of whoever reads it back: how hard it is, whatever its values are.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Demand {
    /// Ids of its phrases, in order.
    pub phrases: Vec<String>,
    /// Elements that must come back, the callsign besides; instructions with their words.
    pub elements: Vec<(Element, Option<String>)>,
}

impl Demand {
    /// That of a transmission to this callsign.
    #[must_use]
    pub fn of(rules: &RuleSet, me: &Situation, say: &str) -> Self {
        let required = judge(rules, me, say, "").said.into_iter();
        let required = required.filter(|item| item.required && item.element != Element::Callsign);
        let name = |item: crate::judge::judgement::Item| {
            (item.element, (item.element == Element::Instruction).then_some(item.value))
        };
        let mut elements: Vec<_> = required.map(name).collect();
        elements.sort();
        let phrases = parse::phrases(rules, say, Speaker::Controller);
        Self { phrases, elements }
    }
}

/// Transmissions of the grammar's own examples of a phrase in which the element of the skill must come back: they
/// are worded as stations speak.
fn shapes<'r>(rules: &'r RuleSet, skill: &Skill, phrase: &str) -> Vec<&'r str> {
    let mut out: Vec<&str> = Vec::new();
    for case in rules.examples.iter().filter(|case| case.id == phrase) {
        let Some(say) = case.example.say.as_ref().map(|say| say.get_ref().as_str()) else { continue };
        let Some(callsign) = crate::judge::addressed(rules, say).filter(|_| !say.contains('…')) else {
            continue;
        };
        let owed = |said: Vec<crate::judge::judgement::Item>| {
            said.iter().any(|item| item.required && item.element == skill.element)
        };
        let me = Situation { callsign, shortened: false };
        if !out.contains(&say) && owed(judge(rules, &me, say, "").said) {
            out.push(say);
        }
    }
    out
}

/// The model reply, if the transmission is one for the skill.
fn check(rules: &RuleSet, me: &Situation, skill: &Skill, phrase: &str, say: &str) -> Option<String> {
    if say.split(' ').count() > LONGEST {
        return None;
    }
    let reading = parse::read(rules, say, Speaker::Controller);
    let own = reading.callsign.as_deref() == Some(&me.callsign.written());
    if !own || !reading.unparsed.is_empty() {
        return None;
    }
    if !parse::phrases(rules, say, Speaker::Controller).iter().any(|id| id == phrase) {
        return None;
    }
    let blank = judge(rules, me, say, "");
    if !blank.said.iter().any(|item| item.required && item.element == skill.element) {
        return None;
    }
    let judged = judge(rules, me, say, &blank.model);
    (judged.verdict == Verdict::Correct && judged.findings.is_empty()).then_some(blank.model)
}

/// Chance of a purpose.
fn chance(standard: Standard, purpose: &str) -> Values {
    Values::from_seed(standard, Sha256::digest(purpose).into())
}

/// True if a pattern has a slot for the element.
pub(super) fn mentions(says: &str, element: Element) -> bool {
    notation::parse(says).is_ok_and(|node| has(&node, Some(element)))
}

/// True if there is a slot for the element in it, or any slot.
fn has(node: &Node, wanted: Option<Element>) -> bool {
    match node {
        Node::Sequence(items) | Node::Either(items) => items.iter().any(|n| has(n, wanted)),
        Node::Optional(item) => has(item, wanted),
        Node::Word(_) => false,
        Node::Slot(element, _) => wanted.is_none_or(|wanted| Element::parse(element) == Some(wanted)),
    }
}

/// Words with, for each piece, whether it is a value.
type Pieces = Vec<(String, bool)>;

struct Maker<'a> {
    rules: &'a RuleSet,
    values: Values,
}

impl Maker<'_> {
    /// An example without its callsign, with other values; `None` if it does not begin with the callsign.
    fn filled(&mut self, example: &str) -> Option<String> {
        let (mut begin, mut places, mut others) = (None, Vec::new(), 0);
        parse::with_parsed(|parsed| {
            parsed.read(self.rules, example, Speaker::Controller, None, &[], (&[], 0));
            let first = parsed.s.covers.first();
            if let Some(cover) = first.filter(|cover| matches!(cover.piece, Piece::Other(_))) {
                begin = Some(parsed.cover_span(cover).end as usize);
            }
            others = parsed.s.covers.iter().filter(|cover| matches!(cover.piece, Piece::Other(_))).count();
            let heard = parsed.heard.iter();
            places.extend(heard.filter_map(|heard| {
                let (slot, found) = heard.slot?;
                Some((heard.span, slot, found.value))
            }));
        });
        // Another callsign in it would be somebody else's.
        if others > 1 {
            return None;
        }
        places.sort_by_key(|(span, ..)| span.start);
        let mut at = begin?;
        let mut out = String::new();
        for (span, slot, said) in places {
            let (start, end) = (span.start as usize, span.end as usize);
            // What lies within another value was drawn with it.
            if start < at {
                continue;
            }
            out.push_str(example.get(at..start)?);
            let value = self.like(slot, &said)?;
            // A word that is said with the value may stand before it already.
            let (first, rest) = value.split_once(' ').unwrap_or((&value, ""));
            let again =
                out.trim_end().rsplit(' ').next().is_some_and(|last| last.eq_ignore_ascii_case(first));
            out.push_str(if again && !rest.is_empty() && !is_number(first) { rest } else { &value });
            at = end;
        }
        out.push_str(example.get(at..)?);
        let clause = out.trim_start_matches([',', ' ']).to_owned();
        (!clause.is_empty()).then_some(clause)
    }

    /// A clause of the phrase, with the instruction it stands beside if it is no more than a limit.
    fn alone(&mut self, phrase: &Phrase, element: Element) -> Option<String> {
        let clause = self.clause(phrase, element)?;
        // Nobody says a limit alone.
        if phrase.limits_only { Some(format!("{}, {clause}", self.base(phrase)?)) } else { Some(clause) }
    }

    /// A clause of the phrase that has the element in it: the first pattern that can is the usual one.
    fn clause(&mut self, phrase: &Phrase, element: Element) -> Option<String> {
        let wanted = (element != Element::Instruction).then_some(element);
        let says = phrase.says.iter().find(|says| wanted.is_none_or(|wanted| mentions(says, wanted)))?;
        let node = notation::parse(says).ok()?;
        let mut pieces = Vec::new();
        self.expand(&node, wanted, &mut pieces)?;
        let runs_on = pieces.windows(2).any(|pair| match pair {
            [(a, true), (b, true)] => ends_in_number(a) && begins_with_number(b),
            _ => false,
        });
        let words: Vec<String> = pieces.into_iter().map(|(text, _)| text).collect();
        (!runs_on && !words.is_empty()).then(|| words.join(" "))
    }

    /// A clause for a limit to stand beside, from the topic of its phrase.
    fn base(&mut self, limit: &Phrase) -> Option<String> {
        let fits: Vec<&Phrase> = self
            .rules
            .phrases()
            .iter()
            .filter(|p| p.topic == limit.topic && !p.limits_only && !p.by_pilot && !p.says.is_empty())
            .collect();
        let k = self.values.below(fits.len());
        let phrase = fits.get(k)?;
        self.clause(phrase, Element::Instruction)
    }

    /// Makes the choices of a pattern: what leads to the wanted element is taken, of words the usual ones.
    fn expand(&mut self, node: &Node, wanted: Option<Element>, out: &mut Pieces) -> Option<()> {
        let leads = |node: &Node| wanted.is_some() && has(node, wanted);
        match node {
            Node::Sequence(items) => items.iter().try_for_each(|n| self.expand(n, wanted, out))?,
            Node::Either(items) => {
                let ways: Vec<&Node> = items.iter().filter(|n| leads(n)).collect();
                let ways = if ways.is_empty() { items.iter().collect() } else { ways };
                let slots = ways.iter().any(|n| has(n, None));
                let k = if slots { self.values.below(ways.len()) } else { 0 };
                self.expand(ways.get(k)?, wanted, out)?;
            }
            Node::Optional(item) => {
                // Of words that can be left out, few go with any choice of the others.
                if leads(item) || has(item, None) && self.values.below(4) == 0 {
                    self.expand(item, wanted, out)?;
                }
            }
            Node::Word(word) => out.push((word.clone(), false)),
            Node::Slot(_, slot) => {
                let value = self.value(slot)?;
                out.push((value, true));
            }
        }
        Some(())
    }

    fn name(&self, slot: SlotRef) -> Option<String> {
        Some(match slot {
            SlotRef::Builtin(builtin) => builtin.name().to_owned(),
            SlotRef::Data(n) => self.rules.slots.get(n as usize)?.name.clone(),
        })
    }

    /// A value for the place of another: a form with values in it stays, one without gives way to another such.
    fn like(&mut self, slot: SlotRef, said: &Stored) -> Option<String> {
        if let (SlotRef::Data(n), Stored::Form(_, form, _)) = (slot, said) {
            let form = usize::from(*form);
            let data = self.rules.slots.get(n as usize)?;
            let plain = |form: &usize| data.counted.get(*form).is_some_and(Vec::is_empty);
            let forms: Vec<usize> =
                if plain(&form) { (0..data.models.len()).filter(plain).collect() } else { vec![form] };
            let k = self.values.below(forms.len());
            return self.said(data.models.get(*forms.get(k)?)?);
        }
        if let Some(value) = self.values.like(said) {
            return Some(value.spoken);
        }
        let name = self.name(slot)?;
        self.value(&name)
    }

    /// A form of a slot in words.
    fn said(&mut self, form: &Template) -> Option<String> {
        let mut words = Vec::new();
        self.form(form, &mut words)?;
        Some(words.join(" "))
    }

    /// A value of a slot, as it is said.
    fn value(&mut self, slot: &str) -> Option<String> {
        if let Some(value) = self.values.value(slot) {
            return Some(value.spoken);
        }
        let data = self.rules.slots.iter().find(|data| data.name == slot)?;
        let k = self.values.below(data.models.len());
        self.said(data.models.get(k)?)
    }

    /// A form of a slot of the grammar: the shortest way of saying it.
    fn form(&mut self, template: &Template, out: &mut Vec<String>) -> Option<()> {
        match template {
            Template::Sequence(items) => items.iter().try_for_each(|t| self.form(t, out)),
            Template::Either(items) => self.form(items.first()?, out),
            Template::Optional(_) => Some(()),
            Template::Word(word, _) => {
                out.push(word.to_string());
                Some(())
            }
            Template::Slot(_, slot) => {
                let name = self.name((*slot)?)?;
                // Between altitudes and flight levels lies a low one.
                let transition = name == "level" && out.first().is_some_and(|word| word == "transition");
                let value = if transition {
                    self.values.like(&Stored::FlightLevel(60))?.spoken
                } else {
                    self.value(&name)?
                };
                out.push(value);
                Some(())
            }
        }
    }
}
