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
            /// What each word is: bits.
            kinds: Vec<u8>,
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
                let (telephony, small) = (all(Role::Telephony), all(Role::Small));
                let lists = [
                    (&stands, STAND), (&functions, FUNCTION), (&makers, MAKER), (&vehicles, VEHICLE),
                    (&telephony, DESIGNATOR), (&small, LITTLE),
                ];
                let mut kinds = vec![0; lexicon.len()];
                for (words, kind) in lists {
                    for &word in words.iter().filter(|&&w| w != 0) {
                        kinds[word as usize] |= kind;
                    }
                }
                Self { $($field: lexicon.id($word),)* stands, functions, makers, vehicles, kinds }
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

const STAND: u8 = 1;
const FUNCTION: u8 = 1 << 1;
const MAKER: u8 = 1 << 2;
const VEHICLE: u8 = 1 << 3;
const DESIGNATOR: u8 = 1 << 4;
const LITTLE: u8 = 1 << 5;

impl Marks {
    #[inline]
    fn is_kind(&self, word: WordId, kind: u8) -> bool {
        self.kinds.get(word as usize).is_some_and(|k| k & kind != 0)
    }

    /// True for the words that turn what follows into its opposite.
    pub(crate) fn is_negation(&self, word: WordId) -> bool {
        word != 0 && [self.not, self.never, self.dont].contains(&word)
    }
    /// True for *to*, *at*, *the* and the like.
    pub(crate) fn is_small(&self, word: WordId) -> bool {
        self.is_kind(word, LITTLE)
    }
    pub(crate) fn is_stand(&self, word: WordId) -> bool {
        self.is_kind(word, STAND)
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
        self.is_kind(word, FUNCTION)
    }
    pub(crate) fn is_maker(&self, word: WordId) -> bool {
        self.is_kind(word, MAKER)
    }
    pub(crate) fn is_telephony(&self, word: WordId) -> bool {
        self.is_kind(word, DESIGNATOR)
    }
    pub(crate) fn is_vehicle(&self, word: WordId) -> bool {
        self.is_kind(word, VEHICLE)
    }
}
