//! Self-correction: "correction", "disregard", "I say again" — the last word counts.

use crate::element::Element;
use crate::parse::slots::{View, form};
use crate::parse::{Heard, Parsed};
use crate::rules::{PhraseKind, RuleSet, SlotRef};

/// Drops what the speaker took back.
pub(crate) fn repair(rules: &RuleSet, parsed: &mut Parsed) {
    let marks = &rules.marks;
    let mut i = 0;
    while i < parsed.s.atoms.len() {
        let word = parsed.s.atoms[i].word;
        if word != 0 && word == marks.correction {
            let again = i + 3 < parsed.s.atoms.len()
                && parsed.s.atoms[i + 2].word == marks.say
                && parsed.s.atoms[i + 3].word == marks.again;
            correct(rules, parsed, i, again);
        } else if word != 0 && word == marks.disregard {
            parsed.heard.retain(|h| h.at as usize > i);
        } else if word != 0
            && word == marks.say
            && i > 1
            && parsed.s.atoms.get(i + 1).is_some_and(|a| a.word == marks.again)
            && parsed.s.atoms[i - 1].value == b'I'
        {
            replace(rules, parsed, i, false);
        }
        i += 1;
    }
}

/// What stands after the correction at atom `i` replaces what it corrects.
fn correct(rules: &RuleSet, parsed: &mut Parsed, i: usize, all: bool) {
    if all {
        parsed.heard.retain(|h| h.at as usize > i);
        return;
    }
    let bare = i + 1;
    let owned = parsed.heard.iter().any(|h| h.at as usize <= bare && bare < end_of(h) && h.at as usize > i);
    if !owned && bare < parsed.s.atoms.len() {
        // A bare value takes the kind of the value before it.
        let before: Vec<Heard> =
            parsed.heard.iter().rev().filter(|h| (h.at as usize) < i && h.slot.is_some()).copied().collect();
        for old in before {
            let Some((slot @ SlotRef::Builtin(builtin), _)) = old.slot else { continue };
            let mut found = Vec::new();
            View::new(&parsed.s.atoms, &rules.marks).read(builtin, bare, &mut found);
            let Some(found) = found.into_iter().min_by_key(|m| (m.cost, std::cmp::Reverse(m.end))) else {
                continue;
            };
            let span = parsed.s.atoms[bare].span.to(parsed.s.atoms[found.end as usize - 1].span);
            let at = u16::try_from(bare).unwrap_or(u16::MAX);
            let heard = Heard { slot: Some((slot, found)), span, value_span: span, at, ..old };
            let place = parsed.heard.iter().position(|h| h.at as usize > bare).unwrap_or(parsed.heard.len());
            parsed.heard.insert(place, heard);
            break;
        }
    }
    replace(rules, parsed, i, true);
}

fn end_of(heard: &Heard) -> usize {
    heard.slot.map_or(heard.at as usize + 1, |s| s.1.end as usize)
}

/// The first element of each kind after atom `i` takes the place of the last of its kind before it.
fn replace(rules: &RuleSet, parsed: &mut Parsed, i: usize, instructions: bool) {
    // Wilco or roger behind a correction is no other instruction.
    let is_move = |h: &Heard| h.phrase.is_some_and(|p| rules.phrases[p as usize].kind == PhraseKind::Move);
    let behind = parsed.heard.iter().filter(|h| h.at as usize > i && !is_move(h));
    let mut after: Vec<(Element, u16)> = behind.map(|h| (h.element, h.clause)).collect();
    after.dedup();
    for (element, _) in after {
        if element == Element::Instruction && !instructions {
            continue;
        }
        if let Some(old) = parsed.heard.iter().rposition(|h| (h.at as usize) < i && h.element == element) {
            let old = parsed.heard.remove(old);
            // The words of the value corrected need not be said again.
            let said = form::MARK | form::CLEAR | form::UNIT | form::ALTITUDE;
            let words = old.slot.map_or(0, |s| s.1.form & said);
            let new = parsed.heard.iter_mut().find(|h| h.at as usize > i && h.element == element);
            if let Some(new) = new {
                // Said alone, it belongs to the instruction whose value it corrects.
                let alone = new.phrase.is_none_or(|p| rules.phrases[p as usize].kind == PhraseKind::Fragment);
                if alone && old.slot.is_some() {
                    (new.clause, new.phrase) = (old.clause, old.phrase);
                }
                if let Some((_, found)) = new.slot.as_mut() {
                    found.form |= words;
                }
            }
        }
    }
}
