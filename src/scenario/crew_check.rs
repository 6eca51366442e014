//! Finds what is wrong with an exchange of the crew: names the book does not have, values that nothing fills.

use super::check::Check;
use super::draw::{Values, crew_values};
use super::schema::ExchangeEntry;
use super::{CrewEntry, Rank, Seat, Slip, Talk};
use crate::crew::{Call, Channel, Operator, names};
use std::ops::Range;

impl Check<'_> {
    /// The exchange as one of the crew; none if it has problems, or is none.
    pub(super) fn crew_exchange(&mut self, entry: &ExchangeEntry, span: Range<usize>) -> Option<CrewEntry> {
        let book = self.book.clone();
        let talk = if let Some(id) = &entry.call {
            if book.call(id.get_ref()).is_none() {
                let known = book.calls().map(|call| call.id.as_str());
                let problem =
                    self.notes.problem("S020", id.span(), format!("unknown call `{}`", id.get_ref()));
                self.notes.add(problem.suggest(id.get_ref(), known));
                return None;
            }
            let known = || book.call(id.get_ref()).into_iter().flat_map(|call| &call.cases);
            let known: Vec<&str> = known().filter_map(|call| call.case.as_deref()).collect();
            if let Some(case) = entry.case.as_ref().filter(|case| !known.contains(&case.get_ref().as_str())) {
                let title = format!("`{}` knows no such situation", id.get_ref());
                let problem = self.notes.problem("S020", case.span(), title);
                self.notes.add(match known.is_empty() {
                    true => problem.help("it is made in one way only: take `case` out"),
                    false => problem.suggest(case.get_ref(), known),
                });
                return None;
            }
            Talk::Call { id: id.get_ref().clone(), case: entry.case.as_ref().map(|c| c.get_ref().clone()) }
        } else if let Some(id) = &entry.checklist {
            let Some(list) = book.checklist(id.get_ref()) else {
                let title = format!("unknown checklist `{}`", id.get_ref());
                let problem = self.notes.problem("S020", id.span(), title);
                self.notes.add(problem.suggest(id.get_ref(), book.checklist_ids()));
                return None;
            };
            let count = list.items.len();
            let [first, last] = entry.items.as_ref().map_or([1, count], |items| *items.get_ref());
            if first < 1 || last > count || first > last {
                let place = entry.items.as_ref().map_or(id.span(), |items| items.span());
                let problem = self.notes.problem("S020", place, "items that the checklist does not have");
                self.notes.add(problem.help(format!("it has items 1 to {count}")));
                return None;
            }
            Talk::Checklist { list: id.get_ref().clone(), first, last }
        } else if let Some(id) = &entry.brief {
            if book.briefing(id.get_ref()).is_none() {
                let title = format!("unknown briefing `{}`", id.get_ref());
                let problem = self.notes.problem("S020", id.span(), title);
                self.notes.add(problem.suggest(id.get_ref(), book.briefings().map(|b| b.id.as_str())));
                return None;
            }
            Talk::Brief(id.get_ref().clone())
        } else if let Some(left) = &entry.speak_up {
            Talk::SpeakUp { seconds: left.get_ref().seconds, unanswered: left.get_ref().unanswered }
        } else {
            let (Some(by), Some(says)) = (entry.by, &entry.says) else {
                let problem = self.notes.problem("S011", span, "who speaks, or what is said, is missing");
                self.notes.add(problem.help("write `by` and `says` for a voice that is no station"));
                return None;
            };
            Talk::Voice { by, channel: entry.channel.unwrap_or(Channel::Deck), says: self.template(says)? }
        };
        let set = entry.set.iter().filter_map(|(name, text)| Some((name.clone(), self.template(text)?)));
        let set = set.collect();
        let slip = match &entry.slip {
            None => None,
            Some(slip) => {
                let inside = slip.get_ref();
                let item = inside.item.as_ref().map_or(0, |n| usize::try_from(*n.get_ref()).unwrap_or(0));
                let fits = match &talk {
                    Talk::Checklist { first, last, .. } => (*first..=*last).contains(&item),
                    Talk::Voice { .. } => item == 0,
                    _ => false,
                };
                if !fits {
                    let title = "this exchange cannot have that slip";
                    let problem = self.notes.problem("S022", slip.span(), title);
                    self.notes.add(problem.help(
                        "a slip stands with `checklist` and names its `item`, or with `by` and `says` and names none",
                    ));
                    return None;
                }
                Some(Slip { item, says: self.template(&inside.says)?, heard: self.template(&inside.heard)? })
            }
        };
        if let Some(after) = entry.after.as_ref().filter(|a| !(0.0..=3600.0).contains(a.get_ref())) {
            let problem = self.notes.problem("S022", after.span(), "seconds from 0 to 3600");
            self.notes.add(problem);
            return None;
        }
        Some(CrewEntry { talk, set, slip, after: entry.after.as_ref().map(|a| *a.get_ref()) })
    }

    /// Notes slots that nothing fills, and values of the words of the crew that nobody gave.
    pub(super) fn crew_values(
        &mut self,
        source: &crate::span::Spanned<ExchangeEntry>,
        entry: &CrewEntry,
        operator: &Operator,
        met: &[&Values],
    ) {
        let book = self.book.clone();
        let mut wanted: Vec<String> = Vec::new();
        let taught = |call: &Call, wanted: &mut Vec<String>| {
            let says = operator.says.get(&call.id).map_or_else(|| call.call.taught(), String::as_str);
            wanted.extend(names(says).map(str::to_owned));
            if let Some(answer) = &call.answer {
                let says = operator.answer.get(&call.id).map_or_else(|| answer.taught(), String::as_str);
                wanted.extend(names(says).map(str::to_owned));
            }
        };
        match &entry.talk {
            Talk::Call { id, case } => {
                if let Some(call) = book.call_when(id, case.as_deref()) {
                    taught(call, &mut wanted);
                }
            }
            Talk::Checklist { list, first, last } => {
                let items = book.checklist(list).into_iter().flat_map(|list| &list.items);
                for item in items.skip(first - 1).take(last + 1 - first) {
                    wanted.extend(names(item.challenge.taught()).map(str::to_owned));
                    wanted.extend(names(item.response.taught()).map(str::to_owned));
                }
            }
            Talk::Brief(_) | Talk::SpeakUp { .. } | Talk::Voice { .. } => {}
        }
        wanted.sort();
        wanted.dedup();
        for name in wanted {
            let given = |values: &&Values| {
                operator.value.contains_key(&name) || crew_values(entry, values).contains_key(&name)
            };
            if !met.iter().all(given) {
                let title = format!("nothing gives the value `{name}`");
                let problem = self.notes.problem("S021", source.span(), title);
                let problem = problem.label(format!("its words have a place for <{name}>"));
                self.notes
                    .add(problem.help(format!("add `set = {{ {name} = '…' }}`, or draw `[value.{name}]`")));
            }
        }
    }

    /// The operator of the scenario.
    pub(super) fn operator(&mut self, name: Option<&crate::airport::schema::Text>) -> String {
        let Some(name) = name else { return "default".to_owned() };
        if self.book.operator(name.get_ref()).is_none() {
            let title = format!("unknown operator `{}`", name.get_ref());
            let problem = self.notes.problem("S020", name.span(), title);
            let book = self.book.clone();
            self.notes.add(problem.suggest(name.get_ref(), book.operator_ids()));
        }
        name.get_ref().clone()
    }

    /// The share of slips.
    pub(super) fn slips(&mut self, share: Option<&crate::span::Spanned<f64>>) -> f64 {
        let Some(share) = share else { return self.book.watching.share };
        if !(0.0..=1.0).contains(share.get_ref()) {
            let problem = self.notes.problem("S022", share.span(), "a share is a number from 0 to 1");
            self.notes.add(problem);
        }
        *share.get_ref()
    }

    /// Seat and radio from this exchange on.
    pub(super) fn duty(&mut self, entry: &ExchangeEntry) -> (Option<Seat>, Option<bool>) {
        let seat = entry.seat.as_ref().map(|name| self.choice("seat", Some(name), Seat::ALL));
        let radio = [("you", true), ("other", false)];
        let radio = entry.radio.as_ref().map(|name| self.choice("radio", Some(name), radio));
        (seat, radio)
    }

    /// The rank of the trainee.
    pub(super) fn rank(&mut self, name: Option<&crate::airport::schema::Text>) -> Rank {
        self.choice("rank", name, Rank::ALL)
    }
}
