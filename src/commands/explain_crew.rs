//! `explain` for words of the crew: a call, a checklist or a briefing, as a learner would want to read it.

use crate::crew::{Briefing, Call, Checklist, CrewBook, Lines};
use crate::error::Result;
use crate::wrap::paragraph;
use serde::Serialize;
use std::io::Write;

/// What is told of words of the crew.
#[derive(Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(super) enum CrewPage<'r> {
    Call(CallPage<'r>),
    Checklist(ChecklistPage<'r>),
    Briefing(BriefingPage<'r>),
}

impl CrewPage<'_> {
    /// Writes the page.
    pub(super) fn text(&self, out: &mut dyn Write) -> Result<()> {
        match self {
            Self::Call(page) => page.text(out),
            Self::Checklist(page) => page.text(out),
            Self::Briefing(page) => page.text(out),
        }
    }
}

/// What has this id in the book.
pub(super) fn by_id<'r>(what: &str, book: &'r CrewBook) -> Option<CrewPage<'r>> {
    let what = what.trim();
    let briefing = || book.briefing(what.split('.').next().unwrap_or(what));
    let list = || book.checklist(what).map(|list| CrewPage::Checklist(ChecklistPage::of(list)));
    book.call(what)
        .map(|call| CrewPage::Call(CallPage::of(call)))
        .or_else(list)
        .or_else(|| briefing().map(|briefing| CrewPage::Briefing(BriefingPage::of(briefing))))
}

/// The first call that is made in just these words, and the ids of the others.
pub(super) fn by_words<'r>(what: &str, book: &'r CrewBook) -> Option<(CrewPage<'r>, Vec<&'r str>)> {
    let same = |text: &str| text.trim_end_matches(['.', '?']).eq_ignore_ascii_case(what.trim());
    let mut found = book.calls().filter(|call| {
        let answer = call.answer.iter().flat_map(Lines::right);
        call.call.right().chain(answer).any(same)
    });
    let first = found.next()?;
    Some((CrewPage::Call(CallPage::of(first)), found.map(|call| call.id.as_str()).collect()))
}

/// Forms of words.
#[derive(Serialize)]
struct Forms<'r> {
    right: Vec<&'r str>,
    weak: Vec<&'r str>,
    only_when: Vec<Case<'r>>,
}

/// Forms that are right in another situation only.
#[derive(Serialize)]
struct Case<'r> {
    when: &'r str,
    right: Vec<&'r str>,
}

impl<'r> Forms<'r> {
    fn of(lines: &'r Lines) -> Self {
        let case = |(when, texts): (&'r str, _)| Case { when, right: Iterator::collect(texts) };
        Self {
            right: lines.right().collect(),
            weak: lines.weak().collect(),
            only_when: lines.cases().map(case).collect(),
        }
    }

    fn text(&self, title: &str, out: &mut dyn Write) -> Result<()> {
        paragraph(out, title, &self.right.join(" · "))?;
        paragraph(out, "Understood, but not the words", &self.weak.join(" · "))?;
        for case in &self.only_when {
            paragraph(out, &format!("Only when {}", case.when), &case.right.join(" · "))?;
        }
        Ok(())
    }
}

#[derive(Serialize)]
pub(super) struct CallPage<'r> {
    id: &'r str,
    cue: &'r str,
    by: &'r str,
    channel: &'static str,
    window_seconds: f64,
    optional: bool,
    says: Forms<'r>,
    answer: Option<Answer<'r>>,
    why: &'r str,
    source: &'r str,
}

#[derive(Serialize)]
struct Answer<'r> {
    by: &'r str,
    #[serde(flatten)]
    forms: Forms<'r>,
}

impl<'r> CallPage<'r> {
    fn of(call: &'r Call) -> Self {
        let answer = call.answer.as_ref().zip(call.answered.as_ref());
        Self {
            id: &call.id,
            cue: &call.cue,
            by: call.by.words(),
            channel: call.channel.name(),
            window_seconds: call.window,
            optional: call.optional,
            says: Forms::of(&call.call),
            answer: answer.map(|(lines, (by, _))| Answer { by: by.words(), forms: Forms::of(lines) }),
            why: &call.why,
            source: &call.source,
        }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "{}   [call]", self.id)?;
        paragraph(out, "When", self.cue)?;
        paragraph(out, "Who, where", &format!("{}, {}", self.by, self.channel))?;
        let optional = if self.optional { "; many crews do without it" } else { "" };
        paragraph(out, "In time", &format!("within {} s{optional}", self.window_seconds))?;
        self.says.text("Says", out)?;
        if let Some(answer) = &self.answer {
            answer.forms.text(&format!("Answer of the {}", answer.by), out)?;
        }
        paragraph(out, "If it is missed", self.why)?;
        paragraph(out, "Source", self.source)?;
        Ok(())
    }
}

#[derive(Serialize)]
pub(super) struct ChecklistPage<'r> {
    id: &'r str,
    called_by: &'r str,
    read_by: &'r str,
    items: Vec<Item<'r>>,
    source: &'r str,
}

#[derive(Serialize)]
struct Item<'r> {
    item: usize,
    challenge: &'r str,
    response: &'r str,
    by: &'r str,
    below_the_line: bool,
}

impl<'r> ChecklistPage<'r> {
    fn of(list: &'r Checklist) -> Self {
        let mut below = false;
        let items = list.items.iter().zip(1..).map(|(item, number)| {
            below |= item.below;
            Item {
                item: number,
                challenge: item.challenge.taught(),
                response: item.response.taught(),
                by: item.by.words(),
                below_the_line: below,
            }
        });
        Self {
            items: items.collect(),
            id: &list.id,
            called_by: list.called_by.words(),
            read_by: list.read_by.words(),
            source: &list.source,
        }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "{}   [checklist]", self.id)?;
        paragraph(out, "Called by, read by", &format!("{}, {}", self.called_by, self.read_by))?;
        let mut below = false;
        writeln!(out)?;
        for Item { item, challenge, response, by, below_the_line } in &self.items {
            if *below_the_line && !std::mem::replace(&mut below, true) {
                writeln!(out, "      --- the line ---")?;
            }
            writeln!(out, "  {item:>2}  {challenge}: {response}   ({by})")?;
        }
        paragraph(out, "Source", self.source)?;
        Ok(())
    }
}

#[derive(Serialize)]
pub(super) struct BriefingPage<'r> {
    id: &'r str,
    by: &'r str,
    channel: &'static str,
    parts: Vec<BriefingPart<'r>>,
    why: &'r str,
}

#[derive(Serialize)]
struct BriefingPart<'r> {
    title: &'r str,
    model: &'r str,
    source: &'r str,
}

impl<'r> BriefingPage<'r> {
    fn of(briefing: &'r Briefing) -> Self {
        let part = |title, model, source| BriefingPart { title, model, source };
        Self {
            id: &briefing.id,
            by: briefing.by.words(),
            channel: briefing.channel.name(),
            parts: briefing.parts.iter().map(|p| part(&p.title, &p.model, &p.source)).collect(),
            why: &briefing.why,
        }
    }

    fn text(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "{}   [briefing]", self.id)?;
        paragraph(out, "Who, where", &format!("{}, {}", self.by, self.channel))?;
        for BriefingPart { title, model, source } in &self.parts {
            paragraph(out, title, &format!("{model} [{source}]"))?;
        }
        paragraph(out, "Why", self.why)?;
        Ok(())
    }
}
