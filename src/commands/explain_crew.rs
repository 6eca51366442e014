//! `explain` for words of the crew: a call, a checklist or a briefing, as a learner would want to read it.

use crate::crew::{Briefing, Call, Checklist, CrewBook, Lines};
use crate::error::Result;
use crate::wrap::paragraph;
use std::io::Write;

/// Writes the page of what has this id in the book; false if nothing has.
pub(super) fn by_id(what: &str, book: &CrewBook, out: &mut dyn Write) -> Result<bool> {
    let what = what.trim();
    if let Some(call) = book.call(what) {
        call_page(call, out)?;
    } else if let Some(list) = book.checklist(what) {
        checklist_page(list, out)?;
    } else if let Some(briefing) = book.briefing(what.split('.').next().unwrap_or(what)) {
        briefing_page(briefing, out)?;
    } else {
        return Ok(false);
    }
    Ok(true)
}

/// Writes the page of the first call that is made in just these words, and names the others; false if none is.
pub(super) fn by_words(what: &str, book: &CrewBook, out: &mut dyn Write) -> Result<bool> {
    let same = |text: &str| text.trim_end_matches(['.', '?']).eq_ignore_ascii_case(what.trim());
    let mut found = book.calls().filter(|call| {
        let answer = call.answer.iter().flat_map(Lines::right);
        call.call.right().chain(answer).any(same)
    });
    let Some(first) = found.next() else { return Ok(false) };
    call_page(first, out)?;
    let rest: Vec<&str> = found.map(|call| call.id.as_str()).collect();
    if !rest.is_empty() {
        paragraph(out, "See also", &rest.join(", "))?;
    }
    Ok(true)
}

fn call_page(call: &Call, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "{}   [call]", call.id)?;
    paragraph(out, "When", &call.cue)?;
    paragraph(out, "Who, where", &format!("{}, {}", call.by.words(), call.channel.name()))?;
    let optional = if call.optional { "; many crews do without it" } else { "" };
    paragraph(out, "In time", &format!("within {} s{optional}", call.window))?;
    forms("Says", &call.call, out)?;
    if let (Some(answer), Some((by, _))) = (&call.answer, call.answered) {
        forms(&format!("Answer of the {}", by.words()), answer, out)?;
    }
    paragraph(out, "If it is missed", &call.why)?;
    paragraph(out, "Source", &call.source)?;
    Ok(())
}

fn forms(title: &str, lines: &Lines, out: &mut dyn Write) -> Result<()> {
    paragraph(out, title, &lines.right().collect::<Vec<_>>().join(" · "))?;
    let weak: Vec<&str> = lines.weak().collect();
    if !weak.is_empty() {
        paragraph(out, "Understood, but not the words", &weak.join(" · "))?;
    }
    for (when, texts) in lines.cases() {
        paragraph(out, &format!("Only when {when}"), &texts.collect::<Vec<_>>().join(" · "))?;
    }
    Ok(())
}

fn checklist_page(list: &Checklist, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "{}   [checklist]", list.id)?;
    paragraph(out, "Called by, read by", &format!("{}, {}", list.called_by.words(), list.read_by.words()))?;
    let mut below = false;
    writeln!(out)?;
    for (n, item) in list.items.iter().enumerate() {
        if item.below && !std::mem::replace(&mut below, true) {
            writeln!(out, "      --- the line ---")?;
        }
        let (challenge, response) = (item.challenge.taught(), item.response.taught());
        writeln!(out, "  {:>2}  {challenge}: {response}   ({})", n + 1, item.by.words())?;
    }
    paragraph(out, "Source", &list.source)?;
    Ok(())
}

fn briefing_page(briefing: &Briefing, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "{}   [briefing]", briefing.id)?;
    paragraph(out, "Who, where", &format!("{}, {}", briefing.by.words(), briefing.channel.name()))?;
    for part in &briefing.parts {
        paragraph(out, &part.title, &format!("{} [{}]", part.model, part.source))?;
    }
    paragraph(out, "Why", &briefing.why)?;
    Ok(())
}
