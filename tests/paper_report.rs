//! The report of a group: three invented people with different weaknesses, golden pages, figures that add up, and what
//! hostile, lonely, perfect, empty and absent people make of it.

mod golden;
#[path = "paper/people.rs"]
mod people;

use golden::{data, golden};
use hearback::element::{Element, Fault, Verdict};
use hearback::paper::competency::{Cap, Competency};
use hearback::paper::group::Group;
use hearback::paper::marked::{Marked, Notice, Weight};
use hearback::paper::report::{GroupReport, Options, Ways};
use hearback::paper::show::{csv, html, json, text};
use hearback::paper::stats::Absent;
use hearback::paper::wrong::KEPT;
use people::{answer, paper, person, three};
use scraper::{Html, Selector};

const WAYS: Ways<'_> = Ways {
    drilled: &|topic| topic == "line-up" || topic == "frequency-change",
    scenarios: &|topic| if topic == "to-v1" { vec!["take-off-roll".to_owned()] } else { Vec::new() },
};

fn report(all: &[Marked], options: Options) -> GroupReport {
    let mut group = Group::new(paper());
    all.iter().for_each(|marked| group.add(marked));
    group.report(options, WAYS)
}

fn everything(report: &GroupReport) -> Vec<String> {
    let mut out = vec![html::page(report), json::object(report).to_string()];
    for width in [32, 60, 80, 200] {
        let plain = text::page(report, width, true, false);
        let styled = text::page(report, width, true, true);
        assert_eq!(
            anstream::adapter::strip_str(&styled).to_string(),
            plain,
            "colour adds nothing but colour"
        );
        for line in plain.lines() {
            assert!(hearback::session::screen::columns(line) <= width, "{width}: {line}");
        }
        out.push(plain);
    }
    out.extend(csv::tables(report).expect("tables").into_iter().map(|(_, text)| text));
    for text in &out {
        for bad in ["NaN", "nan ", "inf ", "infinity", "-0.00", "-0 "] {
            assert!(!text.contains(bad), "{bad} in {text}");
        }
    }
    out
}

#[test]
fn three_people_and_a_file_that_does_not_count() {
    let report = report(&three(), Options { ranking: true, pseudonyms: false });
    everything(&report);
    golden(&data("paper/group.txt"), &text::page(&report, 78, true, false));
    golden(&data("paper/group.html"), &html::page(&report));
    golden(&data("paper/group.json"), &format!("{:#}\n", json::object(&report)));
    for (name, table) in csv::tables(&report).expect("tables") {
        golden(&data("paper").join(name), &table);
    }
    assert!(text::page(&report, 78, true, false).is_ascii());
    let places: Vec<_> = report.people.iter().map(|p| (p.name.as_str(), p.place)).collect();
    assert_eq!(places, [("Aino Vesk", Some(1)), ("Bram Tolleff", Some(2)), ("Cleo Marrin", Some(3))]);
    assert_eq!(report.apart[0].why, ["The file was altered after the paper was sat."]);
    // The runway: wrong by two of three, one of whom said 27 and meant it.
    let runway = &report.items[0];
    assert_eq!((runway.right, runway.people), (1, 3));
    let slip = &runway.slips[0];
    assert_eq!((slip.element, slip.fault, slip.count), (Element::Runway, Fault::Wrong, 2));
    assert_eq!(slip.values, [(Some("09".to_owned()), Some("27".to_owned()), 2)]);
    assert_eq!(
        (runway.replies[0].count, runway.replies.len()),
        (2, 1),
        "capitals and blanks make no other reply"
    );
    assert_eq!(report.needs[0].subject.key, "icao/line-up/runway");
    assert_eq!(
        report.commands[..2],
        ["hearback drill --topic line-up --standard icao", "hearback explain to-v1"]
    );
    assert!(report.commands.contains(&"hearback practise take-off-roll".to_owned()));
    assert_eq!(report.overruled.len(), 1);
    assert_eq!(report.overruled[0].person, "Aino Vesk");
}

#[test]
fn figures_add_up() {
    let report = report(&three(), Options::default());
    let object = json::object(&report);
    let number = |value: &serde_json::Value| value.as_f64().expect("a number");
    let people = object["people"].as_array().expect("a list");
    let bins: f64 = object["figures"]["bins_of_10"].as_array().expect("bins").iter().map(number).sum();
    assert_eq!(bins, people.len() as f64);
    let mean: f64 = people.iter().map(|p| number(&p["mark"])).sum::<f64>() / people.len() as f64;
    assert!((mean - number(&object["figures"]["mean"]["value"])).abs() < 1e-9);
    for item in &report.items {
        let wrong: usize = item.replies.iter().map(|reply| reply.count).sum();
        assert_eq!(item.right + wrong + item.other_replies + item.silent, item.people, "{}", item.info.title);
        for slip in &item.slips {
            assert!(slip.values.iter().map(|value| value.2).sum::<usize>() <= slip.count);
        }
    }
    for grade in &report.grades {
        assert_eq!(grade.grades.iter().sum::<usize>() + grade.not_observed, people.len());
        let own = report.people.iter().flat_map(|p| &p.grades).filter(|o| o.competency == grade.competency);
        assert_eq!(own.map(|o| o.required).sum::<usize>(), grade.required);
    }
    let turned: Vec<Marked> = three().into_iter().rev().collect();
    let again = self::report(&turned, Options::default());
    assert!(json::object(&again) == object, "the order of the files changes nothing");
}

#[test]
fn practice_grades_are_capped_and_told_with_their_counts() {
    let report = report(&three(), Options::default());
    let of = |name: &str, competency: Competency| {
        let person = report.people.iter().find(|p| p.name == name).expect("there");
        person.grades.iter().find(|o| o.competency == competency).expect("there").clone()
    };
    // Nothing wrong: what was overruled is not lost.
    assert_eq!(of("Aino Vesk", Competency::Communication).grade(), Some(5));
    // The runway was wrong and stood.
    let bram = of("Bram Tolleff", Competency::Communication);
    assert_eq!((bram.grade(), bram.cap(), bram.unsafe_items.clone()), (Some(1), Some(Cap::Unsafe), vec![1]));
    assert!(bram.shown * 2 > bram.required, "without the cap it would be more");
    // Cleo's call never came.
    let cleo = of("Cleo Marrin", Competency::Procedures);
    assert_eq!((cleo.grade(), cleo.shown, cleo.required), (Some(1), 0, 1));
    assert!(cleo.words().contains("only 1 opportunity, a hint"), "{}", cleo.words());
    assert_eq!(of("Aino Vesk", Competency::Teamwork).grade(), None);
    let page = text::page(&report, 78, true, false);
    let caution = page.find("Practice grade, not a competency assessment").expect("said");
    assert!(caution < page.find("practice grade 1 of 5").expect("given"));
    assert!(page.contains("not observed") && page.contains("does not hear tone"));
}

#[test]
fn numbers_stand_for_names_everywhere() {
    let report = report(&three(), Options { ranking: false, pseudonyms: true });
    for text in everything(&report) {
        for name in ["Aino", "Bram", "Cleo", "Dorit", "aino.toml", "2026-03-14T08"] {
            assert!(!text.contains(name), "{name} in {text}");
        }
    }
    assert_eq!(report.people.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(), ["P01", "P02", "P03"]);
}

#[test]
fn nobody_one_person_all_right_and_all_wrong_have_reasons_instead_of_figures() {
    let none = report(&[], Options::default());
    everything(&none);
    assert!(text::page(&none, 78, true, false).contains("Nobody's paper counts."));
    let right =
        |name: &str| person(name, [answer(1, true), answer(2, true), answer(3, true), answer(4, true)]);
    let wrong =
        |name: &str| person(name, [answer(1, false), answer(2, false), answer(3, false), answer(4, false)]);
    let one = report(&[right("Aino Vesk")], Options { ranking: true, pseudonyms: false });
    assert_eq!(one.figures.kr20, Err(Absent::OnePerson));
    assert!(everything(&one).iter().any(|text| text.contains("one person alone has no spread")));
    for (marked, share) in [(right as fn(&str) -> Marked, 1.0), (wrong, 0.0)] {
        let all: Vec<Marked> = ["Aino Vesk", "Bram Tolleff", "Cleo Marrin"].into_iter().map(marked).collect();
        let report = report(&all, Options { ranking: true, pseudonyms: false });
        everything(&report);
        assert!(report.items.iter().all(|item| item.difficulty == Ok(share)));
        assert!(report.items.iter().all(|item| item.discrimination == Err(Absent::ItemAlike)));
        assert_eq!(report.figures.alpha, Err(Absent::TotalAlike));
        assert!(report.people.iter().all(|p| p.place == Some(1)), "ties share a place");
        assert_eq!(report.needs.is_empty(), share == 1.0);
        assert_eq!(report.items[0].remark().is_some(), share == 0.0);
    }
}

#[test]
fn hostile_names_and_replies_stay_text() {
    let evil = "</style><script>alert(1)</script>\u{1b}[2J\u{202e}\u{61c}\u{7}";
    let long = format!("=cmd|' /C calc'!A0{}", "x".repeat(10_000));
    let mut all = three();
    all[1].name = evil.to_owned();
    all[2].name = long;
    all[0].file = evil.to_owned();
    for marked in &mut all {
        marked.notices.push(Notice { weight: Weight::Note, text: evil.to_owned() });
        for item in &mut marked.items {
            item.reply = item.reply.as_ref().map(|_| evil.repeat(400));
            item.asked = evil.to_owned();
            item.verdict = Verdict::Incorrect;
            for found in &mut item.findings {
                found.given = Some(evil.to_owned());
                found.expected = Some(evil.to_owned());
            }
            for part in &mut item.owed {
                part.topic = Some("x; rm -rf ~".to_owned());
                part.right = false;
            }
            for overruled in &mut item.overruled {
                overruled.reason = evil.to_owned();
                overruled.by = "@SUM(1)".to_owned();
            }
        }
    }
    let mut info = paper();
    info.title = evil.to_owned();
    let mut group = Group::new(info);
    all.iter().for_each(|marked| group.add(marked));
    let report = group.report(Options { ranking: true, pseudonyms: false }, WAYS);
    assert!(report.commands.iter().all(|command| !command.contains(';')), "{:?}", report.commands);
    let texts = everything(&report);
    for text in &texts {
        assert!(!text.contains(['\u{1b}', '\u{7}', '\u{202e}', '\u{61c}']));
        assert!(text.len() < 120_000, "{}", text.len());
    }
    let page = Html::parse_document(&texts[0]);
    let count = |selector: &str| page.select(&Selector::parse(selector).expect("a selector")).count();
    assert_eq!(count("script") + count("img") + count("link") + count("[src]") + count("iframe"), 0);
    for (_, table) in csv::tables(&report).expect("tables") {
        let mut reader = ::csv::Reader::from_reader(table.as_bytes());
        for cell in
            reader.records().flat_map(|row| row.expect("a row").iter().map(str::to_owned).collect::<Vec<_>>())
        {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t']) && cell.parse::<f64>().is_err();
            assert!(!formula, "{cell}");
        }
    }
}

#[test]
fn cells_of_tables_are_no_formulas() {
    for risky in ["=1+1", "+49", "@SUM(A1)", "-2+3", "\tx", " =1", "'x"] {
        assert!(csv::guarded(risky).starts_with('\'') || risky == "+49", "{risky}");
    }
    assert_eq!(csv::guarded("-0.25"), "-0.25");
    assert_eq!(csv::guarded("Aino = Vesk"), "Aino = Vesk");
}

#[test]
fn the_page_stands_alone_and_every_chart_has_its_words() {
    let report = report(&three(), Options::default());
    let text = html::page(&report);
    assert!(!text.contains("http://") && !text.contains("https://"));
    let page = Html::parse_document(&text);
    let count = |selector: &str| page.select(&Selector::parse(selector).expect("a selector")).count();
    assert_eq!(count("svg:not([aria-label])"), 0);
    assert_eq!((count("svg.marks"), count("svg.scatter")), (1, 1));
    assert_eq!(count("svg.bar"), report.items.len());
    assert_eq!(count("table.by-item td"), report.items.len() * report.people.len());
    assert_eq!(count("line.pass"), 1);
    for svg in page.select(&Selector::parse("svg").expect("a selector")) {
        // Numbers of drawings are numbers.
        let drawn = svg.html();
        roxmltree::Document::parse(&drawn.replace("viewbox", "viewBox")).expect("XML");
    }
}

#[test]
fn five_hundred_people_with_endless_replies_stay_small() {
    let mut group = Group::new(paper());
    for n in 0..500 {
        let mut marked = three()[1].clone();
        marked.name = format!("Trainee {n}");
        for item in &mut marked.items {
            item.verdict = Verdict::Incorrect;
            item.reply = Some(format!("reply {n} {}", "word ".repeat(500)));
        }
        group.add(&marked);
    }
    let report = group.report(Options::default(), WAYS);
    let item = &report.items[0];
    assert_eq!(item.replies.iter().map(|r| r.count).sum::<usize>() + item.other_replies, 500);
    assert!(item.replies.len() <= KEPT && item.replies.iter().all(|reply| reply.text.chars().count() <= 160));
    assert!(json::object(&report).to_string().len() < 2_000_000);
}
