//! Marking trusts nothing that a result file says of itself, and no file can stop it.

use super::*;

#[test]
fn no_byte_of_a_sealed_file_can_be_changed_without_a_notice() {
    let exam = week();
    let key = Key::of(b"a key for this test only").expect("a key");
    let text = sat(&exam, &Person { key: Some(key.clone()), ..person("Anna Holm", &says_model) }, &grammar());
    assert!(marked(&exam, &text, Some(&key)).counts);
    for at in (0..text.len()).step_by(13) {
        let mut bytes = text.clone().into_bytes();
        bytes[at] = if bytes[at] == b'1' { b'2' } else { b'1' };
        if bytes == text.as_bytes() {
            continue;
        }
        let Ok(taken) = read_from(&bytes[..], Some(&key)) else { continue };
        let marked = Marker { exam: &exam, grammar: &grammar(), keyed: true }.mark("a.jsonl", &taken);
        assert!(!marked.counts, "byte {at} changed and not noticed");
    }
    let other = Key::of(b"the key of another group").expect("a key");
    assert!(!marked(&exam, &text, Some(&other)).counts);
    let open = sat(&exam, &person("Anna Holm", &says_model), &grammar());
    assert!(
        !marked(&exam, &open, Some(&key)).counts,
        "a file without the seal does not count where one is wanted"
    );
    let unknown = marked(&exam, &text, None);
    assert!(!unknown.counts && refused(&unknown)[0].contains("the key was not given"));
    // Who writes into an open file that it is sealed gains nothing.
    let claimed = open.replace("\"sealed\":false", "\"sealed\":true");
    assert!(!marked(&exam, &claimed, None).counts && !marked(&exam, &claimed, Some(&key)).counts);
}

/// A file whose lines were changed by somebody who knows how the checks are made, and has no key.
fn forged(exam: &Exam, change: impl Fn(&mut Vec<Line>)) -> Marked {
    let roger = |_: usize, item: &Item, _: &str| vec![format!("roger, {}", item.callsign)];
    let mut all = lines(exam, &person("Ben Roe", &roger), &grammar());
    change(&mut all);
    marked(exam, &file(&all, None), None)
}

#[test]
fn forgeries_are_told_by_what_they_differ_in() {
    let exam = week();
    let honest = forged(&exam, |_| {});
    assert!(honest.counts && honest.mark < 40.0, "{:?}", honest.notices);
    // A better score, said and not earned.
    let score = forged(&exam, |lines| {
        for line in lines {
            if let Event::Closed { verdict, score } = &mut line.event {
                (*verdict, *score) = (Verdict::Correct, 100);
            }
        }
    });
    assert_eq!(score.mark, honest.mark, "the score of a file is never taken");
    assert!(refused(&score)[0].contains("item 1: the file says correct"), "{:?}", score.notices);
    // An easier item.
    let item = forged(&exam, |lines| {
        for line in lines {
            if let Event::Item { number: 2, drawn } = &mut line.event {
                drawn.task = Task::ReadBack { says: format!("{}, hold position", drawn.callsign) };
            }
        }
    });
    assert!(
        refused(&item)[0]
            .starts_with("its items are not those of this paper and person: item 2: the paper has")
    );
    // Somebody else's name over it.
    let name = forged(&exam, |lines| {
        if let Event::Begin(header) = &mut lines[0].event {
            header.name = "Carla Lund".to_owned();
        }
    });
    assert!(
        refused(&name)[0].starts_with("its items are not those of this paper and person"),
        "{:?}",
        name.notices
    );
    // Of another paper.
    let paper = forged(&exam, |lines| {
        if let Event::Begin(header) = &mut lines[0].event {
            header.paper = "0".repeat(64);
        }
    });
    assert!(refused(&paper)[0].starts_with("it is of another paper"), "{:?}", paper.notices);
    // One more reply after the end, one more sitting, an item left out.
    let late = forged(&exam, |lines| {
        let typed = Event::Typed { text: "roger".to_owned(), first_key_ms: None, sent_ms: None };
        let at = lines[0].at;
        lines.push(Line { at, event: typed });
    });
    assert!(refused(&late).iter().any(|text| text.starts_with("lines stand where none can be")));
    let third = forged(&exam, |lines| {
        if let Event::Begin(header) = &mut lines[0].event {
            header.sitting = 3;
        }
    });
    assert!(refused(&third)[0].starts_with("it is sitting 3: the paper allows 1 sitting"));
    let short =
        forged(&exam, |lines| lines.retain(|line| !matches!(line.event, Event::Item { number: 3, .. })));
    assert!(!short.counts);
    // Half an hour for a paper of a quarter.
    let slow = forged(&exam, |lines| {
        for line in lines.iter_mut().skip(8) {
            line.at = moment::parse("2026-03-14T09:31:00.000Z").expect("a moment");
        }
    });
    assert!(
        slow.notices.iter().any(|notice| notice.text.starts_with("typed after the time, and not counted"))
    );
    assert!(slow.items.iter().filter(|item| item.reply.is_none()).count() > 5);
}

#[test]
fn another_version_is_named_and_its_items_are_judged_as_drawn() {
    let exam = week();
    let mut all = lines(&exam, &person("Anna Holm", &says_model), "of another grammar");
    let marked_as = |all: &[Line]| marked(&exam, &file(all, None), None);
    let same = marked_as(&all);
    assert!(same.counts && same.notices.iter().any(|notice| notice.text.contains("with another grammar")));
    let callsign = exam.slots[0].forms[0].callsign.clone();
    let spoken = model(&exam, &exam.slots[0].forms[0]);
    let own = spoken.rsplit(", ").next().unwrap_or_default().to_owned();
    for line in &mut all {
        match &mut line.event {
            Event::Item { number: 1, drawn } => {
                drawn.task =
                    Task::ReadBack { says: format!("{callsign}, line up and wait runway three five") };
            }
            Event::Typed { text, .. } if *text == model(&exam, exam.items("Anna Holm", 1)[0]) => {
                *text = format!("line up and wait runway three five, {own}");
            }
            _ => {}
        }
    }
    let other = marked_as(&all);
    assert!(other.counts, "{:?}", other.notices);
    assert!(other.notices.iter().any(|notice| notice.text.starts_with("another grammar drew other items")));
    assert_eq!(other.items[0].verdict, Verdict::Correct);
}

#[test]
fn of_several_sittings_the_best_counts_and_doubles_are_refused() {
    let exam = exam(&ALL.replace("seed = 3", "seed = 3\nsittings = 2"));
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, text: String| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path
    };
    let half = |number: usize, _: &Item, model: &str| {
        if number.is_multiple_of(2) { vec![model.to_owned()] } else { vec![] }
    };
    let first = sat(&exam, &person("Anna Holm", &half), &grammar());
    let second = sat(
        &exam,
        &Person { sitting: 2, begin: "2026-03-15T09:00:00.000Z", ..person("Anna Holm", &says_model) },
        &grammar(),
    );
    let again = sat(
        &exam,
        &Person { begin: "2026-03-16T09:00:00.000Z", ..person("ANNA HOLM", &says_model) },
        &grammar(),
    );
    let files = vec![
        put("1.jsonl", first.clone()),
        put("copy.jsonl", first),
        put("2.jsonl", second),
        put("again.jsonl", again),
        put("ben.jsonl", sat(&exam, &person("Ben Roe", &half), &grammar())),
        put("dora.jsonl", {
            // What Ben typed, as fast as he did, by somebody else.
            let theirs = sat(&exam, &person("Ben Roe", &half), &grammar());
            let taken = read_from(theirs.as_bytes(), None).expect("a result file");
            let mut all = lines(&exam, &person("Dora Finch", &half), &grammar());
            let typed: Vec<Event> = taken
                .lines
                .iter()
                .filter(|line| matches!(line.event, Event::Typed { .. }))
                .map(|line| line.event.clone())
                .collect();
            let mut theirs = typed.into_iter();
            for line in &mut all {
                if matches!(line.event, Event::Typed { .. }) {
                    line.event = theirs.next().expect("as many lines");
                }
            }
            file(&all, None)
        }),
        folder.path().join("missing.jsonl"),
    ];
    let grammar = grammar();
    let marker = Marker { exam: &exam, grammar: &grammar, keyed: false };
    let mut all = Vec::new();
    let unread = mark_all(marker, &files, None, &(), &mut |marked| all.push(marked));
    let names: Vec<(String, bool)> =
        all.iter().map(|m| (m.file.rsplit('/').next().unwrap_or_default().to_owned(), m.counts)).collect();
    let expected = [
        ("1.jsonl", false),
        ("copy.jsonl", false),
        ("2.jsonl", true),
        ("again.jsonl", false),
        ("ben.jsonl", true),
        ("dora.jsonl", false),
    ];
    assert_eq!(names, expected.map(|(name, counts)| (name.to_owned(), counts)));
    assert!(refused(&all[1])[0].starts_with("it is the same as"));
    assert!(refused(&all[3])[0].contains("it was taken twice"));
    assert!(refused(&all[5]).last().expect("a reason").contains("under another name"));
    assert!(refused(&all[0]).is_empty(), "the poorer sitting is no offence");
    assert_eq!(unread.len(), 1);
}

#[test]
fn what_is_overruled_is_taken_back_and_travels_with_the_file() {
    let exam = week();
    let key = Key::of(b"a key for this test only").expect("a key");
    let first = |_: usize, item: &Item, model: &str| match item.task {
        Task::ReadBack { .. } => {
            let body = model.rsplit_once(", ").map_or(model, |(body, _)| body);
            vec![format!("{}, {body}", item.callsign)]
        }
        _ => vec![model.to_owned()],
    };
    let text = sat(&exam, &Person { key: Some(key.clone()), ..person("Anna Holm", &first) }, &grammar());
    let before = marked(&exam, &text, Some(&key));
    let item = before.items[0].clone();
    assert_eq!((item.findings[0].element, item.findings[0].fault), (Element::Callsign, Fault::Misplaced));
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.jsonl");
    std::fs::write(&path, &text).expect("written");
    let taken = read(&path, Some(&key)).expect("a result file");
    let mut writer = Writer::go_on(&path, taken.seal.clone(), taken.whole).expect("it opens");
    let ruling = Event::Overruled {
        number: 1,
        element: Element::Callsign,
        fault: Fault::Misplaced,
        reason: "our operator says it first".to_owned(),
        by: "M. Brandt".to_owned(),
    };
    writer.write(moment::parse("2026-03-20T09:00:00.000Z").expect("a moment"), ruling).expect("written");
    let text = std::fs::read_to_string(&path).expect("it is there");
    let after = marked(&exam, &text, Some(&key));
    assert!(after.counts, "{:?}", after.notices);
    assert_eq!(after.items[0].findings, []);
    assert_eq!((after.items[0].verdict, after.items[0].score), (Verdict::Correct, 100));
    assert_eq!(after.items[0].overruled[0].reason, "our operator says it first");
    assert!(after.mark > before.mark && after.items[1] == before.items[1]);
    // Nobody without the key can do it.
    let without = text.replace("our operator says it first", "because I want it");
    assert!(!marked(&exam, &without, Some(&key)).counts);
}

/// What a stranger may send instead of a result file.
fn strange(text: &str) -> Vec<(&'static str, Vec<u8>)> {
    let first = text.split_inclusive('\n').next().expect("a line");
    let begin = first.find("Anna Holm").expect("a name");
    let named = |name: &str| {
        let mut seal = hearback::paper::seal::Seal::new(None);
        let line: serde_json::Value =
            serde_json::from_str(&(first[..first.rfind(",\"check\"").expect("a check")].to_owned() + "}"))
                .expect("JSON");
        let mut line = line;
        line["event"]["begin"]["name"] = serde_json::Value::String(name.to_owned());
        let own = seal.add(&line.to_string()) + "\n";
        let rest: Vec<String> = text
            .lines()
            .skip(1)
            .map(|line| {
                seal.add(&format!("{}}}", &line[..line.rfind(",\"check\"").expect("a check")])) + "\n"
            })
            .collect();
        (own + &rest.concat()).into_bytes()
    };
    assert!(begin > 0);
    vec![
        ("empty", vec![]),
        ("noise", (0..4096u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect()),
        ("half a line", first.as_bytes()[..60].to_vec()),
        ("zeros", vec![0; 100_000]),
        ("one long line", vec![b'a'; 300_000]),
        ("nested", format!("{}{}", "[".repeat(20_000), "]".repeat(20_000)).into_bytes()),
        ("huge", vec![b'\n'; 9 * 1024 * 1024]),
        ("another type", first.replace("\"items\":11", "\"items\":\"many\"").into_bytes()),
        ("another format", first.replace("\"format\":1", "\"format\":9").into_bytes()),
        ("an unknown key", first.replace("\"sitting\"", "\"siting\"").into_bytes()),
        ("not a number", first.replace("\"sitting\":1", "\"sitting\":1e999").into_bytes()),
        ("control characters", named("Anna\u{1b}[31m\u{7}\u{202e}\nHolm")),
        ("html", named("<script>alert('x')</script><b>&amp;")),
        ("formula", named("=HYPERLINK(\"http://x\",\"y\")")),
        ("a long name", named(&"Anna ".repeat(2000))),
        ("no name", named("")),
        ("a path", named("../../etc/passwd")),
    ]
}

#[test]
fn hostile_files_are_named_and_the_rest_is_marked() {
    let folder = tempfile::tempdir().expect("a folder");
    let results = folder.path().join("results");
    std::fs::create_dir(&results).expect("a folder");
    let paper = folder.path().join("week-3.toml");
    std::fs::copy(data("paper/week-3.toml"), &paper).expect("copied");
    let exam = week();
    let good = sat(&exam, &person("Anna Holm", &says_model), &grammar());
    let all = strange(&good);
    for (n, (_, bytes)) in all.iter().enumerate() {
        std::fs::write(results.join(format!("{n:02}.jsonl")), bytes).expect("written");
    }
    std::fs::write(results.join("good.jsonl"), &good).expect("written");
    std::fs::create_dir(results.join("folder.jsonl")).expect("a folder");
    let run = |words: &[&str]| {
        let output = snapbox::cmd::Command::new(snapbox::cmd::cargo_bin!("hearback"))
            .env("HEARBACK_RECORD", "")
            .env("XDG_CONFIG_HOME", folder.path())
            .current_dir(folder.path())
            .args(words)
            .output()
            .expect("it runs");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
        (output.status.code(), text(output.stdout), text(output.stderr))
    };
    let (code, out, err) = run(&["paper", "mark", "week-3.toml", "results"]);
    assert_eq!(code, Some(1), "{err}");
    assert!(out.contains("Anna Holm") && out.contains("  100 %"), "{out}");
    for (n, (what, _)) in all.iter().enumerate() {
        let file = format!("{n:02}.jsonl");
        assert!(out.contains(&file) || err.contains(&file), "{what} is not named\n{out}\n{err}");
    }
    for (code, shown) in [
        run(&["paper", "report", "week-3.toml", "results"]),
        run(&["paper", "mark", "week-3.toml", "results", "--json"]),
    ]
    .map(|(code, out, err)| (code, out + &err))
    .into_iter()
    .chain([(Some(1), out + &err)])
    {
        assert_eq!(code, Some(1));
        let bad = |c: char| {
            (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        };
        assert!(!shown.contains(bad), "{shown:?}");
    }
    let (code, ..) =
        run(&["paper", "report", "week-3.toml", "results", "--html", "page.html", "--csv", "tables"]);
    assert_eq!(code, Some(1));
    let page = std::fs::read_to_string(folder.path().join("page.html")).expect("it is there");
    assert!(!page.contains("<script") && !page.contains("<b>&amp;<"), "a name is no markup");
    let people = std::fs::read_to_string(folder.path().join("tables/people.csv")).expect("it is there");
    assert!(!people.lines().any(|line| line.starts_with('=') || line.contains(",=")), "{people}");
}
