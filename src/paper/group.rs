//! The papers of a group, taken in one by one: what is kept of each is small, however long its replies are.

use super::competency::{GroupGrade, Observed, Watch};
use super::loss::{Counts, pieces, tidy};
use super::marked::{Marked, MarkedItem};
use super::report::{
    Apart, Cell, Figures, GroupReport, ItemReport, Options, PaperInfo, Person, TakenBack, Ways,
};
use super::stats::{Figure, Scores, items_for};
use super::wrong::Wrongs;
use crate::element::Verdict;
use crate::progress::stats::{Z, quantile, wilson};
use sha2::{Digest, Sha256};

/// Characters of a name, of a file, and of a reason that are kept.
const NAME: usize = 60;
const REASON: usize = 300;

/// Notices of a file that are kept.
const NOTICES: usize = 20;

/// Strengths and dangers of a person that are named.
const NAMED: usize = 3;

/// Needs of the group that are named.
const NEEDS: usize = 10;

/// Different wrong replies and values of an item that are shown.
const SHOWN: usize = 20;

/// Reliability that a paper is compared with: what is usual for a decision about a person `[common practice]`.
const WANTED: f64 = 0.80;

/// What is known of one item.
#[derive(Debug, Clone, Default)]
struct Fold {
    right: usize,
    wrongs: Wrongs,
    times: Vec<u32>,
    again: usize,
    again_people: usize,
}

/// A group's papers, as far as they have been taken in.
#[derive(Debug, Clone)]
pub struct Group {
    paper: PaperInfo,
    people: Vec<(Person, [u8; 32])>,
    apart: Vec<(Apart, [u8; 32])>,
    items: Vec<Fold>,
    right: Scores,
    points: Scores,
    needs: Counts,
    /// With the place of its person in `people`.
    overruled: Vec<(usize, TakenBack)>,
}

impl Group {
    /// Nobody's paper yet.
    #[must_use]
    pub fn new(mut paper: PaperInfo) -> Self {
        paper.title = tidy(&paper.title, 120);
        for item in &mut paper.items {
            item.title = tidy(&item.title, 80);
            item.skill = tidy(&item.skill, 80);
        }
        let number = paper.items.len();
        Self {
            people: Vec::new(),
            apart: Vec::new(),
            items: vec![Fold::default(); number],
            right: Scores::new(number, 1),
            points: Scores::new(number, 100),
            needs: Counts::default(),
            overruled: Vec::new(),
            paper,
        }
    }

    /// Takes one more paper in. One that does not count is kept by name and reason alone.
    pub fn add(&mut self, marked: &Marked) {
        let notices = marked.notices.iter().take(NOTICES).map(|notice| tidy(&notice.text, REASON));
        let (name, file) = (tidy(&marked.name, NAME), tidy(&marked.file, NAME));
        let name = if name.is_empty() { "(no name)".to_owned() } else { name };
        if !marked.counts {
            self.apart.push((Apart { file, name, why: notices.collect() }, mixed(marked)));
            return;
        }
        let mut own = Counts::default();
        let mut watch = Watch::default();
        let (mut cells, mut right, mut points) = (Vec::new(), Vec::new(), Vec::new());
        for (info, fold) in self.paper.items.iter().zip(&mut self.items) {
            let Some(item) = marked.items.iter().find(|item| item.number == info.number) else {
                fold.wrongs.silent += 1;
                cells.push(Cell { score: 0, verdict: None });
                right.push(0);
                points.push(0);
                continue;
            };
            let pieces = pieces(item, self.paper.standard);
            pieces.iter().for_each(|piece| own.add(piece));
            watch.add(item, &pieces);
            fold.add(item);
            cells.push(cell(item));
            right.push(u8::from(item.is_right()));
            points.push(cell(item).score);
            self.overruled.extend(item.overruled.iter().map(|o| {
                let taken = TakenBack {
                    item: item.number,
                    person: String::new(),
                    element: o.element,
                    fault: o.fault,
                    reason: tidy(&o.reason, REASON),
                    by: tidy(&o.by, NAME),
                    at: o.at,
                };
                (self.people.len(), taken)
            }));
        }
        self.right.add(&right);
        self.points.add(&points);
        self.needs.take(&own);
        let person = Person {
            name,
            file,
            place: None,
            sitting: marked.sitting,
            started: Some(marked.started),
            seconds: marked.seconds,
            mark: if marked.mark.is_finite() { marked.mark.clamp(0.0, 100.0) } else { 0.0 },
            passed: marked.passed,
            outright: marked.outright.clone(),
            strengths: own.strengths(NAMED),
            dangers: own.needs(NAMED),
            notices: notices.collect(),
            cells,
            grades: watch.observed(),
        };
        self.people.push((person, mixed(marked)));
    }

    /// Notes a file that could not be read as a result.
    pub fn leave_out(&mut self, file: &str, reason: &str) {
        let mix = Sha256::digest(file).into();
        let apart =
            Apart { file: tidy(file, NAME), name: "(unread)".to_owned(), why: vec![tidy(reason, REASON)] };
        self.apart.push((apart, mix));
    }

    /// How many papers count so far.
    #[must_use]
    pub fn people(&self) -> usize {
        self.people.len()
    }

    /// All that is shown.
    #[must_use]
    pub fn report(mut self, options: Options, ways: Ways<'_>) -> GroupReport {
        let figures = self.figures();
        let items = self.item_reports();
        let needs = self.needs.needs(NEEDS);
        let commands = commands(&self.paper, &needs, ways);
        let grades: Vec<&[Observed]> =
            self.people.iter().map(|(person, _)| person.grades.as_slice()).collect();
        let grades = GroupGrade::of(&grades);
        if options.pseudonyms {
            number(self.people.iter_mut().map(|(p, mix)| (&mut p.name, &mut p.file, *mix)).collect(), "P");
            number(self.apart.iter_mut().map(|(p, mix)| (&mut p.name, &mut p.file, *mix)).collect(), "X");
            for (person, _) in &mut self.people {
                // The clock would tell who it was.
                person.started = None;
            }
            for apart in &mut self.apart {
                // A reason may quote a name.
                apart.0.why = vec!["does not count".to_owned()];
            }
            for (person, _) in &mut self.people {
                person.notices = match person.notices.len() {
                    0 => Vec::new(),
                    n => vec![crate::diagnostic::count(n, "notice")],
                };
            }
        }
        let mut overruled: Vec<TakenBack> = Vec::new();
        for (at, mut taken) in self.overruled {
            taken.person = self.people.get(at).map(|(person, _)| person.name.clone()).unwrap_or_default();
            overruled.push(taken);
        }
        overruled.sort_by(|a, b| (a.item, &a.person, a.element).cmp(&(b.item, &b.person, b.element)));
        let mut people: Vec<Person> = self.people.into_iter().map(|(person, _)| person).collect();
        people.sort_by(|a, b| {
            (a.name.to_lowercase(), &a.name, &a.file).cmp(&(b.name.to_lowercase(), &b.name, &b.file))
        });
        if options.ranking {
            rank(&mut people);
        }
        let mut apart: Vec<Apart> = self.apart.into_iter().map(|(apart, _)| apart).collect();
        apart.sort_by(|a, b| (&a.name, &a.file).cmp(&(&b.name, &b.file)));
        GroupReport {
            paper: self.paper,
            options,
            people,
            apart,
            items,
            figures,
            needs,
            commands,
            overruled,
            grades,
        }
    }

    fn figures(&self) -> Figures {
        let marks: Vec<f64> = self.people.iter().map(|(person, _)| person.mark).collect();
        let mut hundredths: Vec<u32> = marks.iter().map(|mark| (mark * 100.0).round() as u32).collect();
        let mut bins = [0; 10];
        for mark in &marks {
            bins[((mark / 10.0) as usize).min(9)] += 1;
        }
        let passed = self.people.iter().filter(|(person, _)| person.passed).count();
        let quartiles = [0.25, 0.5, 0.75].map(|q| quantile(&mut hundredths, q).map(|h| h / 100.0));
        let quartiles = match quartiles {
            [Some(lower), Some(middle), Some(upper)] => Some([lower, middle, upper]),
            _ => None,
        };
        // Points of all items; a mark is their mean.
        let items = self.paper.items.len().max(1) as f64;
        let of_marks = |figure: Figure| figure.map(|points| points / items);
        let alpha = self.points.alpha();
        Figures {
            passed,
            pass_interval: wilson(passed, marks.len(), Z),
            mean: of_marks(self.points.mean()),
            deviation: of_marks(self.points.deviation()),
            quartiles,
            range: marks.iter().copied().reduce(f64::min).zip(marks.iter().copied().reduce(f64::max)),
            bins,
            kr20: self.right.kr20(),
            alpha,
            error: of_marks(self.points.error()),
            items_for_80: alpha.ok().and_then(|alpha| items_for(alpha, self.paper.items.len(), WANTED)),
        }
    }

    fn item_reports(&mut self) -> Vec<ItemReport> {
        let people = self.people.len();
        let mut out = Vec::new();
        for (at, (info, fold)) in self.paper.items.iter().zip(&mut self.items).enumerate() {
            let mut replies = fold.wrongs.replies();
            let cut: usize = replies.iter().skip(SHOWN).map(|reply| reply.count).sum();
            replies.truncate(SHOWN);
            let mut slips = fold.wrongs.slips();
            slips.iter_mut().for_each(|slip| slip.values.truncate(SHOWN));
            out.push(ItemReport {
                info: info.clone(),
                right: fold.right,
                people,
                difficulty: self.right.difficulty(at),
                interval: wilson(fold.right, people, Z),
                score: self.points.difficulty(at).map(|share| share * 100.0),
                discrimination: self.right.corrected(at),
                item_total: self.right.item_total(at),
                without: self.right.alpha_without(at),
                median_ms: quantile(&mut fold.times, 0.5),
                again: fold.again,
                again_people: fold.again_people,
                silent: fold.wrongs.silent,
                replies,
                other_replies: fold.wrongs.others + cut,
                slips,
            });
        }
        out
    }
}

impl Fold {
    fn add(&mut self, item: &MarkedItem) {
        self.right += usize::from(item.is_right());
        self.wrongs.add(item);
        self.times.extend(item.ms);
        self.again += item.again as usize;
        self.again_people += usize::from(item.again > 0);
    }
}

fn cell(item: &MarkedItem) -> Cell {
    let verdict: Option<Verdict> = item.reply.is_some().then_some(item.verdict);
    Cell { score: if verdict.is_some() { item.score.min(100) } else { 0 }, verdict }
}

/// Something that stays the same for a file, and tells nothing of whose it is to those who do not have it.
fn mixed(marked: &Marked) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(marked.started.as_millisecond().to_le_bytes());
    hash.update(marked.seconds.to_le_bytes());
    for item in &marked.items {
        hash.update([item.score]);
        hash.update(item.ms.unwrap_or_default().to_le_bytes());
        hash.update(item.reply.as_deref().unwrap_or_default().as_bytes());
        hash.update([0]);
    }
    hash.update(marked.name.as_bytes());
    hash.finalize().into()
}

/// Numbers in the place of names.
fn number(mut all: Vec<(&mut String, &mut String, [u8; 32])>, letter: &str) {
    all.sort_by_key(|person| person.2);
    let digits = all.len().to_string().len().max(2);
    for (number, (name, file, _)) in (1..).zip(all) {
        *name = format!("{letter}{number:0digits$}");
        file.clear();
    }
}

/// By mark, the best first; those of one mark share a place, and the next place is as many further on.
fn rank(people: &mut [Person]) {
    people.sort_by(|a, b| b.mark.total_cmp(&a.mark));
    let mut place = 0;
    let mut before = None;
    for (at, person) in people.iter_mut().enumerate() {
        // Means of whole points: what differs by less is the same mark.
        if before.is_none_or(|mark: f64| (mark - person.mark).abs() > 1e-9) {
            place = at + 1;
            before = Some(person.mark);
        }
        person.place = Some(place);
    }
}

/// Commands that train the needs, each once.
fn commands(paper: &PaperInfo, needs: &[super::loss::Need], ways: Ways<'_>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut put = |command: String| {
        if !out.contains(&command) {
            out.push(command);
        }
    };
    // A name that a shell takes as it stands.
    let plain = |name: &str| {
        !name.is_empty()
            && !name.starts_with('-')
            && name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/'))
    };
    for need in needs {
        let Some(topic) = need.subject.topic.as_deref().filter(|topic| plain(topic)) else { continue };
        let standard = paper.standard;
        if need.subject.crew {
            put(format!("hearback explain {topic}"));
        } else if (ways.drilled)(topic) {
            put(format!("hearback drill --topic {topic} --standard {standard}"));
        } else {
            put(format!("hearback phrasebook --topic {topic} --standard {standard}"));
        }
        for name in (ways.scenarios)(topic).iter().filter(|name| plain(name)) {
            put(format!("hearback practise {name}"));
        }
    }
    out
}
