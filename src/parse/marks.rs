//! The vocabulary words that mark a value: runway, heading, feet.

use crate::grammar::schema::{Role, Text};
use crate::text::lexicon::{Lexicon, WordId};

macro_rules! marks {
    ($($field:ident $word:literal;)*) => {
        /// Numbers of the words that the matcher's own slots look for.
        #[derive(Debug, Clone, Default)]
        pub(crate) struct Marks {
            $(pub(crate) $field: WordId,)*
            stands: Vec<WordId>,
            functions: Vec<WordId>,
            makers: Vec<WordId>,
            vehicles: Vec<WordId>,
            telephony: Vec<WordId>,
            small: Vec<bool>,
        }

        impl Marks {
            pub(crate) fn new(lexicon: &mut Lexicon, roles: &[(Text, Role)]) -> Self {
                $(lexicon.add_word($word);)*
                let mut all = |of: Role| -> Vec<WordId> {
                    let words = roles.iter().filter(|r| r.1 == of).map(|r| r.0.get_ref());
                    words.map(|w| { lexicon.add_word(w); lexicon.id(w) }).collect()
                };
                let stands = all(Role::Stand);
                let functions = all(Role::Function);
                let makers = all(Role::Maker);
                let vehicles = all(Role::Vehicle);
                let telephony = all(Role::Telephony);
                let ids = all(Role::Small);
                let most = ids.iter().max().map_or(0, |&w| w as usize + 1);
                let mut small = vec![false; most];
                for id in ids {
                    small[id as usize] = true;
                }
                Self { $($field: lexicon.id($word),)* stands, functions, makers, vehicles, telephony, small }
            }
        }
    };
}

marks! {
    runway "runway"; left "left"; right "right"; centre "centre"; flight "flight"; level "level";
    altitude "altitude"; height "height"; feet "feet"; knots "knots"; degrees "degrees"; heading "heading";
    mile "mile"; oclock "oclock"; mach "mach"; speed "speed"; per "per"; minute "minute"; qnh "qnh"; qfe "qfe";
    altimeter "altimeter"; hectopascals "hectopascals"; time "time"; information "information"; hold "hold";
    point "point"; position "position"; intersection "intersection"; and "and"; then "then"; via "via";
    taxiway "taxiway"; upper "upper"; kopter "kopter"; surface "surface"; wind "wind"; calm "calm"; at "at";
    gust "gust"; minus "minus"; plus "plus"; to "to"; break_ "break"; correction "correction";
    disregard "disregard"; say "say"; again "again"; heavy "heavy"; super_ "super"; departure "departure"; arrival "arrival"; clearance "clearance"; not "not"; never "never"; dont "dont"; or "or";
    persons "persons";
}

impl Marks {
    /// True for the words that turn what follows into its opposite.
    pub(crate) fn is_negation(&self, word: WordId) -> bool {
        word != 0 && [self.not, self.never, self.dont].contains(&word)
    }
    /// True for *to*, *at*, *the* and the like.
    pub(crate) fn is_small(&self, word: WordId) -> bool {
        self.small.get(word as usize).copied().unwrap_or(false)
    }
    pub(crate) fn is_stand(&self, word: WordId) -> bool {
        word != 0 && self.stands.contains(&word)
    }
    pub(crate) fn stands(&self) -> &[WordId] {
        &self.stands
    }
    pub(crate) fn functions(&self) -> &[WordId] {
        &self.functions
    }
    pub(crate) fn makers(&self) -> &[WordId] {
        &self.makers
    }
    pub(crate) fn vehicles(&self) -> &[WordId] {
        &self.vehicles
    }
    pub(crate) fn is_function(&self, word: WordId) -> bool {
        word != 0 && self.functions.contains(&word)
    }
    pub(crate) fn is_maker(&self, word: WordId) -> bool {
        word != 0 && self.makers.contains(&word)
    }
    pub(crate) fn is_telephony(&self, word: WordId) -> bool {
        word != 0 && self.telephony.contains(&word)
    }
    pub(crate) fn is_vehicle(&self, word: WordId) -> bool {
        word != 0 && self.vehicles.contains(&word)
    }
}
