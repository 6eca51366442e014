//! Whole sessions: golden transcripts, flights flown by the model replies, and the state machine behind them.

mod golden;

use golden::{data, golden};
use hearback::crew::CrewBook;
use hearback::diagnostic::render;
use hearback::element::{Standard, Verdict};
use hearback::error::Error;
use hearback::rules::RuleSet;
use hearback::scenario::draw::{Exchange, Flight, RadioExchange, Turn, draw};
use hearback::scenario::load::{Library, builtin_ids};
use hearback::scenario::play::{Action, Attempt, Detection, Event, Play};
use hearback::scenario::{EntryTurn, Scenario};
use hearback::session::console::{Input, Script, Timing};
use hearback::session::{Ending, Look, Session};
use std::sync::Arc;
use std::time::Duration;

fn rules(standard: Standard) -> Arc<RuleSet> {
    RuleSet::builtin(standard)
}

#[track_caller]
fn open(name: &str) -> Scenario {
    match Library::new(&rules, CrewBook::builtin().expect("the book is in order")).open(name) {
        Ok(scenario) => scenario,
        Err(Error::Data(problems)) => panic!("{name}:\n{}", render(&problems, false)),
        Err(error) => panic!("{name}: {error}"),
    }
}

fn flight(name: &str, seed: u64) -> Flight {
    let scenario = open(name);
    draw(&scenario, scenario.standard, seed).expect("a checked scenario can be drawn")
}

fn play(flight: Flight) -> Play {
    Play::new(rules(flight.standard), flight, CrewBook::builtin().expect("the book is in order"))
}

#[test]
fn blocked_words_come_when_they_are_asked_for() {
    let text = "format = 1\ntitle = 'Blocked'\nbriefing = '{callsign}'\nairport = 'skerrow'\n\
        callsign = { telephony = 'Whimbrel', flight = '214' }\n[[exchange]]\nfrom = 'departure'\n\
        says = '{callsign}, turn left heading two one five, climb to flight level one one zero'\n\
        blocked = 'climb to flight level one one zero'\n";
    let scenario = Library::new(&rules, CrewBook::builtin().expect("the book is in order"))
        .scenario("blocked.toml", text.as_bytes(), None)
        .expect("no problems");
    for (first, verdict) in [
        ("left heading 215, say again, whimbrel 214", Verdict::Correct),
        ("left heading 225, say again, whimbrel 214", Verdict::Incorrect),
        ("left heading 215, whimbrel 214", Verdict::Incomplete),
    ] {
        let mut play = play(draw(&scenario, scenario.standard, 1).expect("a flight"));
        let said = |actions: &[Action]| {
            actions.iter().find_map(|a| match a {
                Action::Transmit { text, .. } => Some(text.clone()),
                _ => None,
            })
        };
        let heard = said(&play.begin()).expect("the station speaks");
        assert_eq!(heard, "Whimbrel two one four, turn left heading two one five, …");
        let actions = play.step(Event::Reply(first.to_owned()));
        let judged = actions.iter().find_map(|a| match a {
            Action::Judged(attempt) => Some(attempt.judgement.verdict),
            _ => None,
        });
        assert_eq!(judged, Some(verdict), "{first}");
        let again = said(&actions).expect("it comes again");
        assert!(again.ends_with("climb to flight level one one zero"), "{again}");
        let rest = play.step(Event::Reply("left heading 215, climb fl110, whimbrel 214".to_owned()));
        assert!(rest.iter().any(|a| matches!(a, Action::Finished)), "{first}: {rest:?}");
    }
}

/// Flies a session from a script and gives what was on the screen.
fn fly(flight: Flight, quiet: bool, script: &mut Script) -> (Ending, String) {
    let look = Look {
        styled: false,
        quiet,
        pace: 0.0,
        repeat: format!("hearback practise {} --seed {}", flight.scenario, flight.seed),
    };
    let mut out = Vec::new();
    let ending = Session::new(play(flight), script, &mut out, look).run().expect("a script never fails");
    (ending, String::from_utf8(out).expect("the screen is text"))
}

/// A script from a text: `^C` drops a line, every other line is typed.
fn script(text: &str, width: usize) -> Script {
    let inputs = text.lines().enumerate().map(|(n, line)| {
        let tenths = 31 + n as u64 * 7 % 40;
        let timing = Timing {
            first_key: Some(Duration::from_millis(800 + tenths * 10)),
            sent: Some(Duration::from_millis(tenths * 100)),
        };
        if line == "^C" { Input::Interrupt } else { Input::Line(line.to_owned(), timing) }
    });
    Script::new(width, inputs.collect::<Vec<_>>())
}

#[track_caller]
fn transcript(name: &str, scenario: &str, seed: u64, width: usize, quiet: bool, ending: Ending) {
    let typed =
        std::fs::read_to_string(data(&format!("transcripts/{name}.in"))).expect("the script is there");
    let (ended, shown) = fly(flight(scenario, seed), quiet, &mut script(&typed, width));
    assert_eq!(ended, ending, "{shown}");
    assert!(
        shown.lines().filter(|l| !l.contains("> ")).all(|l| hearback::session::screen::columns(l) <= width),
        "too wide:\n{shown}"
    );
    golden(&data(&format!("transcripts/{name}.out")), &shown);
}

#[test]
fn transcript_of_a_flight_with_right_replies() {
    transcript("right", "skerrow-departure", 4173, 100, false, Ending::Finished);
}

#[test]
fn transcript_of_wrong_values_and_their_correction() {
    transcript("wrong", "skerrow-departure", 4173, 100, false, Ending::Left);
}

#[test]
fn transcript_of_silence() {
    transcript("silence", "skerrow-departure", 4173, 80, false, Ending::Left);
}

#[test]
fn transcript_of_questions_to_the_other_voice() {
    transcript("moves", "skerrow-departure", 4173, 80, false, Ending::Left);
}

#[test]
fn transcript_of_commands_and_of_quitting_half_way() {
    transcript("commands", "skerrow-departure", 4173, 80, false, Ending::Left);
}

#[test]
fn transcript_of_a_flight_without_feedback_before_the_end() {
    transcript("quiet", "skerrow-departure", 4173, 80, true, Ending::Left);
}

#[test]
fn transcript_on_forty_columns() {
    transcript("narrow", "skerrow-departure", 4173, 40, false, Ending::Left);
}

#[test]
fn transcript_of_two_interrupts() {
    transcript("interrupted", "skerrow-departure", 4173, 80, false, Ending::Interrupted);
}

#[test]
fn transcript_by_american_rules() {
    transcript("us", "brackwater-departure", 1004, 100, false, Ending::Left);
}

#[test]
fn transcript_by_british_rules() {
    transcript("uk", "holmfell-departure", 77, 100, false, Ending::Left);
}

#[test]
fn transcript_of_calls_in_time() {
    transcript("crew-in-time", "take-off-roll", 4, 80, false, Ending::Finished);
}

#[test]
fn transcript_of_calls_that_are_late_early_missed_or_on_the_wrong_channel() {
    transcript("crew-late-early-missed", "take-off-roll", 4, 80, false, Ending::Left);
}

#[test]
fn transcript_of_a_checklist_that_is_interrupted() {
    transcript("crew-checklist", "checklist-interrupted", 3, 80, false, Ending::Finished);
}

#[test]
fn transcript_of_slips_caught_missed_and_of_a_false_alarm() {
    transcript("crew-watching", "catch-the-slip", 6, 80, false, Ending::Left);
}

#[test]
fn transcript_of_speaking_up() {
    transcript("crew-speaking-up", "speaking-up", 2, 80, false, Ending::Finished);
}

#[test]
fn transcript_of_briefing_the_cabin() {
    transcript("crew-cabin", "cabin-briefing", 2, 80, false, Ending::Finished);
}

/// Flies with the model reply to everything; gives the judged replies.
fn fly_by_model(flight: Flight) -> Vec<Attempt> {
    let mut play = play(flight);
    let mut actions = play.begin();
    let mut attempts = Vec::new();
    for _ in 0..600 {
        for action in actions {
            match action {
                Action::Judged(attempt) => attempts.push(*attempt),
                Action::Finished => return attempts,
                _ => {}
            }
        }
        let frequency = play.station().map(|station| station.frequency.clone());
        if let Some(frequency) =
            frequency.filter(|frequency| play.tuned().is_some_and(|tuned| tuned != frequency))
        {
            actions = play.step(Event::Tune(frequency));
            continue;
        }
        actions = match play.due() {
            Some(due) => play.step(Event::Reply(due.model)),
            None => play.step(Event::Time(play.wake().expect("the flight goes on"))),
        };
    }
    panic!("the flight does not end: {:?}", attempts.last());
}

/// True for short flights: fewer than twenty exchanges in the file.
fn is_short(name: &str) -> bool {
    open(name).exchanges.len() < 20
}

#[test]
fn model_replies_fly_every_scenario_to_its_end_without_a_finding() {
    let mut faults = std::collections::BTreeMap::new();
    for name in builtin_ids() {
        let mut scenario = open(name);
        for seed in 1..=25 {
            scenario.difficulty = u8::try_from(seed % 5).expect("small") + 1;
            // A flight of the crew is flown from each seat in turn.
            if scenario.exchanges.iter().any(|e| matches!(e.turn, EntryTurn::Crew(_))) {
                scenario.change_seat();
            }
            let flight = draw(&scenario, scenario.standard, seed).expect("it can be drawn");
            let exchanges = flight.exchanges.len();
            assert!(
                flight.has_crew() || seed % 5 != 0 || exchanges >= if is_short(name) { 8 } else { 14 },
                "{name} has {exchanges} exchanges"
            );
            for Attempt { exchange, judgement, accepted, asked, reply, .. } in fly_by_model(flight) {
                if judgement.verdict != Verdict::Correct || !accepted {
                    let text = format!(
                        "{:?} to {asked:?}, seed {seed}: {reply:?}\n{:#?}",
                        judgement.verdict, judgement.findings
                    );
                    faults.entry((name, exchange)).or_insert(text);
                }
            }
        }
    }
    let texts: Vec<String> =
        faults.into_iter().map(|((name, n), text)| format!("{name} {n}: {text}")).collect();
    assert!(texts.is_empty(), "{}", texts.join("\n"));
}

#[test]
fn flights_begin_with_the_trainee_and_with_the_station() {
    for name in builtin_ids() {
        let flight = flight(name, 3);
        if flight.has_crew() {
            continue;
        }
        let radio: Vec<&RadioExchange> = flight.exchanges.iter().filter_map(Exchange::radio).collect();
        let calls = radio.iter().filter(|e| matches!(e.turn, Turn::Call { .. })).count();
        let (least_calls, least_spoken) = if is_short(name) { (2, 5) } else { (5, 8) };
        assert!(calls >= least_calls && radio.len() - calls >= least_spoken, "{name}");
        for RadioExchange { cue, turn, .. } in radio {
            let Turn::Call { .. } = turn else { continue };
            let cue = cue.as_deref().unwrap_or_default().to_lowercase();
            assert!(
                !cue.contains("request") && !cue.contains("ready for"),
                "{name} gives the words away: {cue}"
            );
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_flight() {
    let text = |seed| format!("{:?}", flight("skerrow-departure", seed).exchanges);
    assert_eq!(text(4173), text(4173));
    let different = (1..=40).map(text).collect::<std::collections::BTreeSet<_>>();
    assert_eq!(different.len(), 40);
}

/// Values of one seed, written down once: they must come out like this on every machine.
#[test]
fn a_known_seed_gives_known_values() {
    let flight = flight("skerrow-departure", 4173);
    let clearance = flight.exchanges[1].radio().map(|radio| &radio.turn);
    let Some(Turn::Station { says, .. }) = clearance else { panic!("the clearance comes second") };
    let expected = "Whimbrel two one four, cleared to Tarnmoor, BIRLA one Bravo departure, climb via SID to five thousand feet, squawk six three four five";
    assert_eq!(says, expected);
}

#[test]
fn three_failures_end_an_exchange_and_silence_is_one_of_them() {
    let mut play = play(flight("skerrow-departure", 4173));
    play.begin();
    play.step(Event::Skip);
    for n in 1..=3 {
        let reply = if n == 2 { String::new() } else { "roger, Whimbrel 214".to_owned() };
        let actions = play.step(Event::Reply(reply));
        let gone = actions.iter().any(|a| matches!(a, Action::GoesOn { .. }));
        assert_eq!(gone, n == 3, "{actions:#?}");
    }
}

#[test]
fn a_wrong_value_comes_back_with_the_right_one_and_must_be_read_back() {
    let mut play = play(flight("skerrow-departure", 4173));
    play.begin();
    play.step(Event::Skip);
    let right = play.due().expect("a clearance").model;
    let wrong = right.replace("six three four five", "six three five four");
    let said = |actions: &[Action]| -> Vec<String> {
        actions
            .iter()
            .filter_map(|a| match a {
                Action::Transmit { text, .. } => Some(text.clone()),
                _ => None,
            })
            .collect()
    };
    let actions = play.step(Event::Reply(wrong));
    assert_eq!(said(&actions), ["Whimbrel two one four, negative, I say again, squawk six three four five"]);
    let actions = play.step(Event::Reply("roger, Whimbrel 214".to_owned()));
    assert!(
        !said(&actions).is_empty() && !actions.iter().any(|a| matches!(a, Action::Begin { .. })),
        "{actions:#?}"
    );
    let actions = play.step(Event::Reply("squawk 6345, Whimbrel 214".to_owned()));
    assert!(actions.iter().any(|a| matches!(a, Action::Begin { number: 3 })), "{actions:#?}");
    assert_eq!(said(&actions)[0], "Whimbrel two one four, correct");
}

#[test]
fn a_question_never_names_the_value() {
    let mut play = play(flight("skerrow-departure", 4173));
    play.begin();
    play.step(Event::Skip);
    let right = play.due().expect("a clearance").model;
    let actions = play.step(Event::Reply(right.replace(", squawk six three four five", "")));
    let asked = actions.iter().find_map(|a| match a {
        Action::Transmit { text, .. } => Some(text.as_str()),
        _ => None,
    });
    assert_eq!(asked, Some("Whimbrel two one four, confirm squawk"));
    let actions = play.step(Event::Reply("squawk 6345, Whimbrel 214".to_owned()));
    assert!(actions.iter().any(|a| matches!(a, Action::Begin { number: 3 })), "{actions:#?}");
}

#[test]
fn moves_of_the_conversation_are_not_judged() {
    for reply in [
        "say again, Whimbrel 214",
        "say again all after departure, Whimbrel 214",
        "say again the squawk, Whimbrel 214",
        "confirm squawk 6345, Whimbrel 214",
        "confirm squawk 6354, Whimbrel 214",
        "stand by, Whimbrel 214",
        "speak slower, Whimbrel 214",
        "unable, Whimbrel 214",
    ] {
        let mut play = play(flight("skerrow-departure", 4173));
        play.begin();
        play.step(Event::Skip);
        let actions = play.step(Event::Reply(reply.to_owned()));
        assert!(!actions.iter().any(|a| matches!(a, Action::Judged(_))), "{reply}: {actions:#?}");
        assert!(!actions.is_empty());
    }
}

#[test]
fn strange_replies_do_no_harm() {
    let long = "squawk 6345 ".repeat(9000);
    let lines = [
        "\u{1b}[2J\u{7}\u{0}squawk\t6345",
        &long,
        "☃ 漢字 🛩 \u{202e}x",
        "/",
        "?why",
        "/\u{1b}[31m",
        "''''\"\"\\",
    ];
    let mut script = Script::of_lines(60, lines);
    let (ending, shown) = fly(flight("skerrow-departure", 5), false, &mut script);
    assert_eq!(ending, Ending::Left);
    assert!(!shown.chars().any(|c| c.is_control() && c != '\n'), "an escape reached the screen");
}

/// A challenge that is not the one of its item must not be answered as if it were.
#[test]
fn a_wrong_challenge_of_a_checklist_is_to_be_caught() {
    let text = "format = 1\ntitle = 'List'\nbriefing = '{callsign}'\nairport = 'skerrow'\nseat = 'flying'\nslips = 1\n\
        callsign = { telephony = 'Whimbrel', flight = '214' }\n[[exchange]]\nchecklist = 'before-takeoff'\n\
        items = [4, 5]\nslip = { item = 4, says = 'Cabin', heard = 'take-off briefing' }\n";
    let book = CrewBook::builtin().expect("the book is in order");
    let scenario =
        Library::new(&rules, book).scenario("list.toml", text.as_bytes(), None).expect("no problems");
    for (reply, detection) in [
        ("take-off briefing is next", Detection::Hit),
        ("check", Detection::Miss),
        ("", Detection::Miss),
        ("ready", Detection::Miss),
    ] {
        let mut play = play(draw(&scenario, scenario.standard, 1).expect("a flight"));
        let heard = play.begin();
        assert!(
            heard.iter().any(|a| matches!(a, Action::Voice { text, .. } if text == "Cabin")),
            "{heard:?}"
        );
        let actions = play.step(Event::Reply(reply.to_owned()));
        let judged = actions.iter().find_map(|a| match a {
            Action::Judged(attempt) => attempt.detection,
            _ => None,
        });
        assert_eq!(judged, Some(detection), "{reply}");
        assert!(
            actions.iter().any(|a| matches!(a, Action::Voice { text, .. } if text == "Take-off briefing"))
        );
        let rest = play.step(Event::Reply("confirmed, first action reviewed".to_owned()));
        let right = |a: &Action| matches!(a, Action::Judged(j) if j.judgement.verdict == Verdict::Correct);
        assert!(rest.iter().any(right), "{rest:?}");
    }
}

/// Of the taxi clearance with a limit, the other pilot may lose the limit; the words "hold short" catch that.
#[test]
fn a_lost_hold_short_is_a_slip_of_its_own() {
    let text = "format = 1\ntitle = 'Taxi'\nbriefing = '{callsign}'\nairport = 'skerrow'\nseat = 'flying'\nslips = 1\n\
        callsign = { telephony = 'Whimbrel', flight = '214' }\n[[exchange]]\nfrom = 'ground'\n\
        says = '{callsign}, taxi via Bravo, hold short of runway 15'\n";
    let book = CrewBook::builtin().expect("the book is in order");
    let scenario =
        Library::new(&rules, book).scenario("taxi.toml", text.as_bytes(), None).expect("no problems");
    let mut lost = 0;
    for seed in 1..=60 {
        let mut play = play(draw(&scenario, scenario.standard, seed).expect("a flight"));
        let begun = play.begin();
        let read_back = begun.iter().find_map(|action| match action {
            Action::Voice { text, .. } => Some(text.clone()),
            _ => None,
        });
        if read_back.is_some_and(|text| text == "Taxi via Bravo, Whimbrel two one four") {
            lost += 1;
            let actions = play.step(Event::Reply("hold short as well".to_owned()));
            let caught = |a: &Action| matches!(a, Action::Judged(j) if j.detection == Some(Detection::Hit));
            assert!(actions.iter().any(caught), "{actions:?}");
        }
    }
    assert!(lost > 0, "in sixty flights the limit is lost now and then");
}
