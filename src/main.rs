//! The command `hearback`: parses arguments, calls one command, turns the outcome into an exit status.
use std::io::Write;
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let sets = hearback::contract::Builtin;
    let mut input = std::io::stdin().lock();
    let mut output = std::io::BufWriter::new(std::io::stdout().lock());
    match args[1].as_str() {
        "grade" => { let _ = hearback::batch::run(&mut input, &mut output, |l, n, o| hearback::contract::grade_line(&sets, l, n, o)); }
        "parse" => { let _ = hearback::batch::run(&mut input, &mut output, |l, n, o| hearback::contract::parse_line(&sets, l, n, o)); }
        "check" => {
            let mut bad = 0; let mut all = 0;
            for standard in hearback::element::Standard::ALL {
                let files = hearback::grammar::builtin_files().iter().copied();
                let root = std::env::var("HEARBACK_GRAMMAR").ok();
                let texts: Vec<(String, String)> = if let Some(root) = root {
                    let mut v = vec![];
                    for f in ["icao","eu","uk","us"] { if let Ok(d) = std::fs::read_dir(format!("{root}/{f}")) { let mut names: Vec<_> = d.flatten().map(|e| e.path()).filter(|p| p.extension().is_some_and(|e| e == "toml")).collect(); names.sort(); for p in names { v.push((p.display().to_string(), std::fs::read_to_string(&p).unwrap())); } } }
                    v
                } else { files.map(|(a,b)| (a.to_owned(), b.to_owned())).collect() };
                let r = hearback::grammar::load::load(texts.iter().map(|(a,b)| (a.as_str(), b.as_str())), standard).and_then(hearback::rules::RuleSet::compile);
                let rules = match r { Ok(r) => r, Err(problems) => { for p in problems { let text = texts.iter().find(|t| t.0 == p.path).map_or("", |t| t.1.as_str()); let (l,c) = hearback::span::line_column(text, p.span.start); let _ = writeln!(output, "{}:{l}:{c}: {} [{}] {}", p.path, p.title, text.get(p.span.clone()).unwrap_or(""), p.help.unwrap_or_default()); bad += 1; } continue; } };
                for case in &rules.examples {
                    all += 1;
                    let e = &case.example;
                    let say = e.say.as_ref().map_or("", |s| s.get_ref());
                    let callsign = e.callsign.as_ref().and_then(|c| hearback::callsign::Callsign::parse(c.get_ref())).or_else(|| hearback::judge::addressed(&rules, say)).or_else(|| hearback::callsign::Callsign::parse("Whimbrel 214")).unwrap();
                    let sit = hearback::judge::Situation { callsign, shortened: false };
                    let j = if e.say.is_some() { hearback::judge::judge(&rules, &sit, say, e.reply.get_ref()) } else { hearback::judge::judge_call(&rules, &sit, &case.id, &[], e.reply.get_ref()) };
                    let mut got: Vec<String> = j.findings.iter().filter(|f| f.severity > hearback::element::Severity::Advice).map(|f| format!("{} {}", f.element.name(), f.fault.name())).collect();
                    let mut want: Vec<String> = e.faults.iter().map(|f| f.get_ref().clone()).collect();
                    got.sort(); want.sort();
                    if got != want { bad += 1; let _ = writeln!(output, "{}: {} [{}]\n   say   {say}\n   reply {}\n   want  {want:?}\n   got   {got:?}", case.path, case.id, standard, e.reply.get_ref()); }
                    if e.say.is_some() && !j.model.is_empty() {
                        let m = hearback::judge::judge(&rules, &sit, say, &j.model);
                        if m.verdict != hearback::element::Verdict::Correct { bad += 1; let _ = writeln!(output, "{}: {} [{}] model not correct\n   say   {say}\n   model {}\n   got   {:?}", case.path, case.id, standard, j.model, m.findings.iter().map(|f| format!("{} {} {:?} {:?}", f.element, f.fault.name(), f.expected, f.given)).collect::<Vec<_>>()); }
                    }
                }
            }
            let _ = writeln!(output, "{bad} problems, {all} examples");
        }
        _ => {}
    }
}
