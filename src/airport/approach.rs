//! Kinds of approach, as the grammar has them, and the ways down to a runway.
//!
//! Source: Doc 8168 Volume I \[memory\] (circling: an instrument approach to one runway, the landing on another).

use super::layout::Runway;
use crate::element::Standard;
use crate::grammar::{builtin_files, load::load};
use std::sync::OnceLock;

/// The kind that is flown by sight from the beginning.
pub const VISUAL: &str = "visual";

/// The kind that is written as `circling_from`, since it needs another runway.
pub(super) const CIRCLING: &str = "circling";

/// A kind of approach.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    /// As it is written, for instance `ILS Z`.
    pub name: String,
    /// As it is said, for instance `ILS Zulu`.
    pub said: String,
}

/// Every kind that the built-in grammar of a rule set understands, in its order.
///
/// ```
/// use hearback::{airport::approach::kinds, element::Standard};
/// let kind = kinds(Standard::Uk).iter().find(|kind| kind.name == "ILS Z");
/// assert_eq!(kind.map(|kind| kind.said.as_str()), Some("ILS Zulu"));
/// ```
#[must_use]
pub fn kinds(standard: Standard) -> &'static [Kind] {
    static KINDS: [OnceLock<Vec<Kind>>; 4] = [const { OnceLock::new() }; 4];
    KINDS[standard as usize].get_or_init(|| {
        let files = builtin_files().iter().map(|(path, text)| (*path, text.as_bytes()));
        let slots = load(files, standard).map(|book| book.slots).unwrap_or_default();
        let forms = slots.into_iter().filter(|(slot, _)| slot.id.get_ref() == "approach");
        let kinds = forms.flat_map(|(slot, _)| slot.forms).filter_map(|form| {
            let said = form.model.as_ref().or(form.says.first())?.get_ref().clone();
            Some(Kind { name: form.value.get_ref().clone(), said })
        });
        kinds.filter(|kind| kind.name != CIRCLING).collect()
    })
}

/// One way down to a runway.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach<'a> {
    /// Its kind, as it is written.
    pub kind: &'a str,
    /// The runway it is flown to; the aircraft circles if that is not the one it lands on.
    pub to: &'a Runway,
    /// The runway it lands on.
    pub landing: &'a Runway,
}

impl Approach<'_> {
    /// True if the aircraft circles before it lands.
    #[must_use]
    pub fn circles(&self) -> bool {
        self.to.designator != self.landing.designator
    }

    /// True if the pilot has to see the airport long before he lands.
    #[must_use]
    pub fn by_sight(&self) -> bool {
        self.kind == VISUAL || self.circles()
    }

    /// Its kind as it is said.
    #[must_use]
    pub fn said(&self, standard: Standard) -> &str {
        kinds(standard).iter().find(|kind| kind.name == self.kind).map_or(self.kind, |kind| &kind.said)
    }
}
