//! One phrase of the book → its compiled form: speaker, kind, duties, patterns, variants, model.

use super::{Compiler, allowed, allowed_element, within};
use crate::element::{Element, Fault, Severity};
use crate::grammar::load::PhraseSource;
use crate::grammar::notation;
use crate::grammar::schema::Text;
use crate::parse::automaton::{Accept, Builder, Goal};
use crate::rules::{Duty, Phrase, PhraseKind, VariantRule};

impl Compiler {
    pub(super) fn compile_phrase(
        &mut self,
        source: &PhraseSource,
        index: u16,
        builder: &mut Builder,
    ) -> Phrase {
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
        let topic = self.topic_of(source);
        let mut phrase = Phrase {
            kind,
            topic,
            by_pilot,
            instruction: entry.instruction.as_ref().map(|i| i.get_ref().clone()),
            instruction_id: entry.instruction.as_ref().map_or(0, |i| self.instruction(i.get_ref())),
            family: u16::try_from(family).unwrap_or(0),
            duties: [Duty::None; 64],
            limit: 0,
            hazard: None,
            near: Vec::new(),
            includes: Vec::new(),
            announces: Vec::new(),
            unsigned: entry.unsigned,
            safe: entry.safe,
            limits_only: false,
            opens: entry.opens,
            variants: Vec::new(),
            model: None,
            own_model: entry.model.is_some(),
            parts: Vec::new(),
            says: entry.patterns().map(|s| s.get_ref().clone()).collect(),
            model_says: entry.model.as_ref().or_else(|| entry.patterns().next()).map(|m| m.get_ref().clone()),
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
        let owed = |e: &Element| phrase.duty(*e) != Duty::None;
        phrase.limits_only = Element::ALL.iter().filter(|e| owed(e)).eq([&Element::Restriction]);
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
                says: variant.says.get_ref().clone(),
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

    /// Number of the phrase's topic.
    fn topic_of(&mut self, source: &PhraseSource) -> Option<u16> {
        let topic = source.entry.topic.as_ref()?;
        let at = self.topics.iter().position(|t| t.id == *topic.get_ref());
        if at.is_none() {
            let known: Vec<&str> = self.topics.iter().map(|t| t.id.as_str()).collect();
            let help = allowed(topic.get_ref(), &known);
            let title = format!("unknown topic `{}`", topic.get_ref());
            self.problem("G017", source.place("topic"), topic.span(), title, help);
        }
        at.and_then(|at| u16::try_from(at).ok())
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
        let Some(kind) = &source.entry.kind else { return PhraseKind::Instruction };
        match PhraseKind::ALL.iter().find(|k| k.0 == kind.get_ref()) {
            Some(found) => found.1,
            None => {
                let help = allowed(kind.get_ref(), &PhraseKind::ALL.map(|k| k.0));
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

    /// The element of that name.
    fn element(&mut self, name: &Text, path: &str) -> Option<Element> {
        let element = Element::parse(name.get_ref());
        if element.is_none() {
            let title = format!("unknown element `{}`", name.get_ref());
            self.problem("G014", path, name.span(), title, allowed_element(name.get_ref()));
        }
        element
    }

    fn duties(&mut self, source: &PhraseSource, phrase: &mut Phrase) {
        let entry = &source.entry;
        for (key, duty) in entry.duty.iter().flatten() {
            let name = key.get_ref();
            let path = source.duties.get(name).unwrap_or(&source.path);
            let Some(element) = self.element(key, path) else { continue };
            match Duty::ALL.iter().find(|d| d.0 == duty.get_ref()) {
                Some(found) => phrase.duties[element as usize] = found.1,
                None => {
                    let help = allowed(duty.get_ref(), &Duty::ALL.map(|d| d.0));
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
            let element = self.element(limit, source.place("limit"));
            phrase.limit |= element.map_or(0, |e| 1 << e as u64);
        }
        for part in entry.parts.iter().flatten() {
            phrase.parts.extend(self.element(part, source.place("parts")));
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
}
