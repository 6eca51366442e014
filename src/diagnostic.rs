//! A complaint about a data file: where it is, what is wrong, what would help; shown with carets.

use crate::span::Span;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// One problem in a file that somebody wrote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Stable code: `G` grammar, `A` airports, `S` scenarios; never reused.
    pub code: &'static str,
    /// The file, as the reader named it.
    pub path: String,
    /// The whole text of the file.
    pub source: Arc<str>,
    /// The place; an empty span points between two characters.
    pub span: Span,
    /// What is wrong, lower case, no full stop.
    pub title: String,
    /// A few words beside the caret; may be empty.
    pub label: String,
    /// What to do next, if there is something to say.
    pub help: Option<String>,
}

impl Diagnostic {
    /// A problem without label and help.
    #[must_use]
    pub fn new(
        code: &'static str,
        path: &str,
        source: &Arc<str>,
        span: Range<usize>,
        title: impl Into<String>,
    ) -> Self {
        Self {
            code,
            path: path.to_owned(),
            source: Arc::clone(source),
            span: Span::new(span.start, span.end),
            title: title.into(),
            label: String::new(),
            help: None,
        }
    }

    /// Line and column of the place, from 1, the column in characters.
    #[must_use]
    pub fn at(&self) -> (usize, usize) {
        let before = &self.source[..place(self).start];
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
        (line, column)
    }

    /// The same with words beside the caret.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// The same with a next step.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The same with "did you mean" if a name is near, else with the list of what is allowed.
    #[must_use]
    pub fn suggest<'a>(self, name: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        let known: Vec<&str> = known.into_iter().collect();
        Self { help: suggestion(name, &known).or(self.help), ..self }
    }
}

/// "Did you mean" if a name is near, else what is allowed; nothing if nothing is.
#[must_use]
pub fn suggestion(name: &str, known: &[&str]) -> Option<String> {
    match nearest(name, known.iter().copied()) {
        Some(near) => Some(format!("did you mean `{near}`?")),
        None if known.is_empty() => None,
        None => Some(format!("known here: {}", shortlist(name, known))),
    }
}

/// The most characters that a list of allowed names takes.
const LISTED: usize = 180;

/// All names, or as many as fit on two lines, those that look most like `name` first.
fn shortlist(name: &str, known: &[&str]) -> String {
    let all = list(&quoted(known));
    if all.chars().count() <= LISTED {
        return all;
    }
    let mut ranked = known.to_vec();
    let likeness = |known: &str| strsim::jaro_winkler(&name.to_lowercase(), &known.to_lowercase());
    ranked.sort_by(|a, b| likeness(b).total_cmp(&likeness(a)));
    let mut out = String::new();
    for (shown, known) in ranked.iter().enumerate() {
        if out.chars().count() + known.chars().count() + 4 > LISTED {
            return format!("{out} and {} more", ranked.len() - shown);
        }
        if shown > 0 {
            out.push_str(", ");
        }
        out.push_str(&format!("`{}`", known.chars().take(40).collect::<String>()));
    }
    out
}

/// The problems of one file while it is being checked.
#[derive(Debug)]
pub struct Findings {
    path: String,
    source: Arc<str>,
    /// What was found so far.
    pub found: Vec<Diagnostic>,
}

impl Findings {
    /// Nothing found yet in the file of that name and text.
    #[must_use]
    pub fn new(path: &str, source: &Arc<str>) -> Self {
        Self { path: path.to_owned(), source: Arc::clone(source), found: Vec::new() }
    }

    /// A problem in this file that is not yet noted.
    #[must_use]
    pub fn problem(&self, code: &'static str, span: Range<usize>, title: impl Into<String>) -> Diagnostic {
        Diagnostic::new(code, &self.path, &self.source, span, title)
    }

    /// Notes a problem.
    pub fn add(&mut self, problem: Diagnostic) {
        self.found.push(problem);
    }

    /// The place of bytes `inside` of a text value whose place in the file is `value`: exact for a
    /// literal string on one line, the whole value where escapes may shift the text.
    #[must_use]
    pub fn within(&self, value: Range<usize>, inside: Range<usize>) -> Range<usize> {
        let literal = self.source.get(value.clone()).is_some_and(|raw| {
            raw.starts_with('\'') && !raw.starts_with("\'\'\'")
                || raw.starts_with('"') && !raw.starts_with("\"\"\"") && !raw.contains('\\')
        });
        if literal { value.start + 1 + inside.start..value.start + 1 + inside.end } else { value }
    }
}

/// Problems by file and place, each once.
#[must_use]
pub fn ordered(problems: &[Diagnostic]) -> Vec<&Diagnostic> {
    let mut sorted: Vec<&Diagnostic> = problems.iter().collect();
    sorted.sort_by(|a, b| {
        (&a.path, a.span.start, a.span.end, a.code, &a.title).cmp(&(
            &b.path,
            b.span.start,
            b.span.end,
            b.code,
            &b.title,
        ))
    });
    sorted.dedup();
    sorted
}

/// All problems, sorted by file and place, with carets, then one line that counts them; empty if there are none.
#[must_use]
pub fn render(problems: &[Diagnostic], styled: bool) -> String {
    if problems.is_empty() {
        return String::new();
    }
    let sorted = ordered(problems);
    let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
    let mut out = String::new();
    for problem in &sorted {
        out.push_str(renderer.render(&[group(problem)]).trim_end());
        out.push_str("\n\n");
    }
    let mut files: Vec<&str> = sorted.iter().map(|d| d.path.as_str()).collect();
    files.dedup();
    out.push_str(&format!("{} in {}\n", count(sorted.len(), "error"), count(files.len(), "file")));
    out
}

fn group(problem: &Diagnostic) -> Group<'_> {
    let range = place(problem);
    let snippet = Snippet::source(&*problem.source)
        .path(clean(&problem.path))
        .annotation(AnnotationKind::Primary.span(range).label(clean(&problem.label)));
    let group = Level::ERROR.primary_title(clean(&problem.title)).id(problem.code).element(snippet);
    match &problem.help {
        Some(help) => group.element(Level::HELP.message(clean(help))),
        None => group,
    }
}

/// The span as a range that lies inside the source, between characters.
fn place(problem: &Diagnostic) -> Range<usize> {
    let text = &problem.source;
    let fit = |at: u32| {
        let mut at = (at as usize).min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let (start, end) = (fit(problem.span.start), fit(problem.span.end));
    start..end.max(start)
}

/// Turns the bytes of a file into text.
///
/// # Errors
/// A problem with `code` when the bytes are not UTF-8 or there is nothing but blanks in them.
pub fn text(code: &'static str, path: &str, bytes: &[u8]) -> Result<Arc<str>, Box<Diagnostic>> {
    match std::str::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => {
            let source: Arc<str> = Arc::from(text);
            Err(Box::new(
                Diagnostic::new(code, path, &source, 0..0, "the file is empty")
                    .help("a data file begins with `format = 1`"),
            ))
        }
        Ok(text) => Ok(Arc::from(text.strip_prefix('\u{feff}').unwrap_or(text))),
        Err(error) => {
            let at = error.valid_up_to();
            let source: Arc<str> = Arc::from(&*String::from_utf8_lossy(bytes));
            let problem = Diagnostic::new(
                code,
                path,
                &source,
                at..at + '\u{fffd}'.len_utf8(),
                "the file is not UTF-8 text",
            );
            Err(Box::new(problem.label("this byte belongs to no character").help("save the file as UTF-8")))
        }
    }
}

/// Every place where the text is not TOML at all, the first on each line; empty if it is TOML.
#[must_use]
pub fn syntax(code: &'static str, path: &str, source: &Arc<str>) -> Vec<Diagnostic> {
    let (_, errors) = toml::de::DeTable::parse_recoverable(source);
    let mut found: Vec<Diagnostic> = errors.iter().map(|e| from_toml(path, source, e, code)).collect();
    let line = |d: &Diagnostic| {
        source.as_bytes()[..(d.span.start as usize).min(source.len())].iter().filter(|b| **b == b'\n').count()
    };
    found.sort_by_key(|d| d.span.start);
    found.dedup_by_key(|d| line(d));
    found
}

/// The problem behind an error of the TOML reader, with its place and, for an unknown key, the nearest known one.
#[must_use]
pub fn from_toml(path: &str, source: &Arc<str>, error: &toml::de::Error, code: &'static str) -> Diagnostic {
    let span = error.span().unwrap_or(0..0);
    let message = error.message().trim();
    let message = message.lines().next().unwrap_or("not valid");
    if let Some((what, known)) = message.split_once(", expected ")
        && let Some(name) = ticked(what).next()
        && what.starts_with("unknown")
    {
        let label = if what.starts_with("unknown field") { "no such key here" } else { "no such value here" };
        let title = what.replace("unknown field", "unknown key").replace("unknown variant", "unknown value");
        return Diagnostic::new(code, path, source, span, title).label(label).suggest(name, ticked(known));
    }
    if let Some((what, wanted)) = message.split_once(", expected ")
        && let Some(found) = what.strip_prefix("invalid type: ").or(what.strip_prefix("invalid value: "))
    {
        let name = match key_of(source, &span) {
            Some(key) => format!("`{key}`"),
            None => "this".to_owned(),
        };
        let wanted = match key_of(source, &span) {
            Some(key) if wanted == "a sequence" && TABLES.contains(&&*key) => format!("tables `[[{key}]]`"),
            _ => plain_type(wanted).to_owned(),
        };
        let title = format!("{name} wants {wanted}");
        return Diagnostic::new(code, path, source, span, title).label(format!("this is {}", kind_of(found)));
    }
    let problem = Diagnostic::new(code, path, source, span, message);
    match message.strip_prefix("missing field ").and_then(|name| ticked(name).next()) {
        Some(name) => Diagnostic { title: format!("`{name}` is missing"), ..problem }
            .label("in this table")
            .help(format!("add `{name} = …`")),
        None => problem,
    }
}

/// Keys of a file that are lists of tables.
const TABLES: [&str; 12] = [
    "apron",
    "departure",
    "exchange",
    "filler",
    "phrase",
    "rule",
    "runway",
    "slot",
    "squawk",
    "station",
    "taxi",
    "word",
];

/// A type of the TOML reader in plain words; what the shape of a file says of itself stays as it is.
fn plain_type(wanted: &str) -> &str {
    match wanted {
        "a string" | "string" | "str" => "text in quotes",
        "a sequence" | "sequence" => "a list: `[…, …]`",
        "a map" | "map" => "a table",
        "a boolean" | "boolean" | "bool" => "`true` or `false`",
        "i64" | "i32" | "isize" => "a whole number",
        "u64" | "u32" | "usize" => "a whole number that is not below zero",
        _ => wanted.strip_prefix("struct ").map_or(wanted, |_| "a table"),
    }
}

/// What the TOML reader found instead, in plain words.
fn kind_of(found: &str) -> &'static str {
    match found.split(' ').next().unwrap_or("") {
        "string" => "text",
        "integer" => "a number",
        "floating" => "a number with a decimal point",
        "boolean" => "`true` or `false`",
        "sequence" => "a list",
        "map" => "a table",
        _ => "something else",
    }
}

/// The key whose value stands at `span`, or in whose list it stands.
fn key_of(source: &str, span: &Range<usize>) -> Option<String> {
    use toml::de::DeValue;
    fn within(value: &toml::Spanned<DeValue<'_>>, key: &str, span: &Range<usize>) -> Option<String> {
        if value.span() == *span {
            return Some(key.to_owned());
        }
        match value.get_ref() {
            DeValue::Table(table) => table.iter().find_map(|(key, value)| within(value, key.get_ref(), span)),
            DeValue::Array(items) => items.iter().find_map(|item| within(item, key, span)),
            _ => None,
        }
    }
    let (table, _) = toml::de::DeTable::parse_recoverable(source);
    table.get_ref().iter().find_map(|(key, value)| within(value, key.get_ref(), span))
}

/// The words between backticks.
fn ticked(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2)
}

/// The candidate that `name` most likely stands for, if one is near enough: a slip or two away, or cut
/// short to some of its letters.
///
/// ```
/// use hearback::diagnostic::nearest;
/// assert_eq!(nearest("runwy", ["stand", "runway"]), Some("runway"));
/// assert_eq!(nearest("lvl", ["stand", "level"]), Some("level"));
/// assert_eq!(nearest("qqqq", ["stand", "runway"]), None);
/// ```
#[must_use]
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let short: String = name.to_lowercase().chars().take(80).collect();
    let limit = (short.chars().count() / 3).max(1);
    let ranked = candidates.into_iter().filter_map(|c| {
        let full = c.to_lowercase();
        let distance = strsim::osa_distance(&short, &full);
        // A name that is only cut short comes after every slip.
        let rank = if distance <= limit { distance } else { limit + full.chars().count() };
        (distance <= limit || cut_short(&short, &full)).then_some((rank, c))
    });
    ranked.min_by_key(|(rank, _)| *rank).map(|(_, c)| c)
}

/// True if `short` is made of three or more letters of `full`, in order, from the first, and of no fewer
/// than two in five.
fn cut_short(short: &str, full: &str) -> bool {
    let mut rest = full.chars();
    let length = short.chars().count();
    length > 2
        && length * 5 >= full.chars().count() * 2
        && short.chars().next() == full.chars().next()
        && short.chars().all(|c| rest.any(|f| f == c))
}

/// `a, b or c`.
///
/// ```
/// assert_eq!(hearback::diagnostic::list(&["a", "b", "c"]), "a, b or c");
/// ```
#[must_use]
pub fn list<S: AsRef<str>>(items: &[S]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} or {}", first.join(", "), last.as_ref())
        }
    }
}

/// `1 error`, `2 errors`.
///
/// ```
/// assert_eq!(hearback::diagnostic::count(2, "file"), "2 files");
/// ```
#[must_use]
pub fn count(number: usize, noun: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{number} {noun}{s}")
}

/// The text with control characters, escapes and direction marks replaced by visible stand-ins, one for each.
#[must_use]
pub fn clean(text: &str) -> Cow<'_, str> {
    if text.chars().all(|c| visible(c) == c) {
        Cow::Borrowed(text)
    } else {
        text.chars().map(visible).collect::<String>().into()
    }
}

/// The character, or what stands for it on screen if it could steer a terminal.
#[must_use]
pub fn visible(c: char) -> char {
    match c {
        '\t' | '\n' | '\r' | '\u{a0}' | '\u{2028}' | '\u{2029}' => ' ',
        '\u{0}'..='\u{1f}' => char::from_u32(0x2400 + c as u32).unwrap_or('\u{fffd}'),
        '\u{7f}' => '\u{2421}',
        '\u{80}'..='\u{9f}'
        | '\u{61c}'
        | '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{2069}'
        | '\u{feff}' => '\u{fffd}',
        _ => c,
    }
}

fn quoted(names: &[&str]) -> Vec<String> {
    names.iter().map(|n| format!("`{n}`")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source() -> Arc<str> {
        Arc::from("format = 1\nsays = 'taxi to {runwy}'\n")
    }

    #[test]
    fn a_problem_shows_its_place_its_cause_and_the_next_step() {
        let problem = Diagnostic::new("S012", "a.toml", &source(), 27..34, "unknown slot `runwy`")
            .label("nothing of this name is drawn")
            .suggest("runwy", ["runway", "stand"]);
        let expected = "\
error[S012]: unknown slot `runwy`
 --> a.toml:2:17
  |
2 | says = 'taxi to {runwy}'
  |                 ^^^^^^^ nothing of this name is drawn
  |
  = help: did you mean `runway`?

1 error in 1 file
";
        assert_eq!(render(&[problem], false), expected);
    }

    #[test]
    fn problems_are_sorted_and_counted_over_files() {
        let make = |path: &str, at: usize| Diagnostic::new("S001", path, &source(), at..at + 1, "x");
        let shown = render(&[make("b.toml", 3), make("a.toml", 13), make("a.toml", 0)], false);
        let places: Vec<&str> = shown.lines().filter(|l| l.contains("-->")).map(str::trim).collect();
        assert_eq!(places, ["--> a.toml:1:1", "--> a.toml:2:3", "--> b.toml:1:4"]);
        assert!(shown.ends_with("3 errors in 2 files\n"));
    }

    #[test]
    fn escapes_in_files_are_shown_and_not_obeyed() {
        let bad: Arc<str> = Arc::from("title = '\u{1b}[2J\u{7}'\n");
        let shown =
            render(&[Diagnostic::new("S002", "\u{1b}[1m.toml", &bad, 8..14, "bad \u{1b}]0;x\u{7}")], false);
        assert!(!shown.contains('\u{1b}') && !shown.contains('\u{7}'), "{shown:?}");
    }

    #[test]
    fn every_broken_line_is_told_once() {
        let text: Arc<str> = Arc::from("a = \nb = 'x\nc = 1\nd = ]\n");
        let found = syntax("S002", "x.toml", &text);
        assert!(found.len() >= 2, "{found:?}");
    }

    #[test]
    fn bytes_that_are_no_text_are_pointed_at() {
        let problem = text("S001", "x.toml", b"title = '\xff'").unwrap_err();
        assert_eq!((problem.span.start, problem.title.as_str()), (9, "the file is not UTF-8 text"));
        assert_eq!(text("S001", "x.toml", b" \n").unwrap_err().title, "the file is empty");
    }

    #[test]
    fn an_unknown_key_names_its_neighbour() {
        #[derive(serde::Deserialize, Debug)]
        #[serde(deny_unknown_fields)]
        struct Shape {
            #[expect(dead_code, reason = "only its name matters")]
            title: String,
        }
        let text: Arc<str> = Arc::from("titel = 'x'\n");
        let error = toml::from_str::<Shape>(&text).unwrap_err();
        let problem = from_toml("x.toml", &text, &error, "S002");
        assert_eq!(
            (problem.title.as_str(), problem.help.as_deref()),
            ("unknown key `titel`", Some("did you mean `title`?"))
        );
        let text: Arc<str> = Arc::from("\n");
        let problem = from_toml("x.toml", &text, &toml::from_str::<Shape>(&text).unwrap_err(), "S002");
        assert_eq!(problem.title, "`title` is missing");
    }

    #[test]
    fn a_span_outside_the_file_does_no_harm() {
        let problem = Diagnostic::new("S001", "x.toml", &Arc::from("é"), 1..99, "x");
        assert!(render(&[problem], false).contains("x.toml:1:1"));
    }
}
