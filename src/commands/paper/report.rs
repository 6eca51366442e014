//! `paper report`: what a group knows, on a page, in tables, as JSON or as HTML.

use super::Look;
use super::mark::Given;
use crate::cli::paper::PaperCommand;
use crate::content::Content;
use crate::contract::RuleSets;
use crate::drill::skill::catalogue;
use crate::element::Standard;
use crate::error::{Error, Result, exit};
use crate::grammar::sets::Sets;
use crate::paper::batch::{Unread, shown};
use crate::paper::exam::Exam;
use crate::paper::group::Group;
use crate::paper::report::{ItemInfo, Options, PaperInfo, Ways};
use crate::paper::show;
use crate::rules::RuleSet;
use crate::scenario::load::Library;
use crate::scenario::trains::trains;
use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Marks all files and shows what they tell of the group.
pub(super) fn report(
    exam: &Exam,
    command: &PaperCommand,
    sets: &Sets,
    content: &Content,
    look: Look,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<u8> {
    let PaperCommand::Report { marking, html, csv, force, json, ranking, pseudonyms } = command else {
        return Err(Error::Internal("a report was asked for".to_owned()));
    };
    if let Some(path) = html.as_ref().filter(|path| path.exists() && !force) {
        return Err(Error::Taken { path: path.clone() });
    }
    let given = Given::of(marking)?;
    let mut group = Group::new(info(exam));
    let unread = given.mark(exam, &sets.fingerprint(), &mut |marked| group.add(&marked));
    for Unread { file, reason } in &unread {
        group.leave_out(file, reason);
    }
    let rules = |standard: Standard| -> Arc<RuleSet> { sets.get(standard) };
    let library = Library::new(&rules, Arc::clone(&exam.book)).with_content(content);
    let trained = trains(&library, content, exam.paper.standard);
    let topics: BTreeSet<String> = catalogue(&exam.rules).into_iter().map(|skill| skill.topic).collect();
    let drilled = |topic: &str| topics.contains(topic);
    let scenarios = |topic: &str| trained.get(topic).cloned().unwrap_or_default();
    let options = Options { ranking: *ranking, pseudonyms: *pseudonyms };
    let report = group.report(options, Ways { drilled: &drilled, scenarios: &scenarios });
    let mut written = Vec::new();
    if let Some(path) = html {
        fs::write(path, show::html::page(&report))
            .map_err(|cause| Error::Create { path: path.clone(), cause })?;
        written.push(path.clone());
    }
    if let Some(folder) = csv {
        let tables = show::csv::tables(&report).map_err(|error| Error::Internal(error.to_string()))?;
        written.extend(write_tables(folder, &tables, *force)?);
    }
    if *json {
        writeln!(out, "{}", show::json::object(&report))?;
    } else if written.is_empty() {
        let width =
            terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0).clamp(40, 100));
        write!(out, "{}", show::text::page(&report, width, look.ascii, look.styled))?;
    } else {
        for path in &written {
            writeln!(out, "written: {}", shown(path))?;
        }
    }
    out.flush()?;
    if report.apart.is_empty() {
        return Ok(exit::DONE);
    }
    let n = report.apart.len();
    let files = crate::diagnostic::count(n, "file");
    writeln!(
        err,
        "hearback: {files} {} not count; `hearback paper mark` says why",
        if n == 1 { "does" } else { "do" }
    )?;
    Ok(exit::PROBLEMS)
}

/// What figures need of a paper.
fn info(exam: &Exam) -> PaperInfo {
    let item = |(number, slot): (u32, &crate::paper::exam::Slot)| {
        let form = slot.forms.first()?;
        Some(ItemInfo { number, skill: form.skill.clone(), title: form.title(&exam.rules, &exam.book) })
    };
    PaperInfo {
        title: exam.paper.title.clone(),
        standard: exam.paper.standard,
        pass_mark: f64::from(exam.paper.pass_mark),
        fingerprint: exam.paper.fingerprint.clone(),
        items: (1u32..).zip(&exam.slots).filter_map(item).collect(),
    }
}

/// Writes tables into a folder, all or, if one is there, none.
fn write_tables(folder: &Path, tables: &[(&'static str, String)], force: bool) -> Result<Vec<PathBuf>> {
    fs::create_dir_all(folder).map_err(|cause| Error::Create { path: folder.to_owned(), cause })?;
    let paths: Vec<PathBuf> = tables.iter().map(|(name, _)| folder.join(name)).collect();
    if let Some(path) = paths.iter().find(|path| path.exists() && !force) {
        return Err(Error::Taken { path: path.clone() });
    }
    for (path, (_, text)) in paths.iter().zip(tables) {
        fs::write(path, text).map_err(|cause| Error::Create { path: path.clone(), cause })?;
    }
    Ok(paths)
}
