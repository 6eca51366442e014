//! What there is to fly: every scenario with what a list tells of it, read without looking into its exchanges.

use super::load::builtin_paths;
use super::schema::ScenarioFile;
use crate::content::{Content, Item};
use crate::element::Standard;
use std::path::Path;

/// A scenario in a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// What `practise` calls it.
    pub name: String,
    /// Its folder, or the pack it is in.
    pub group: String,
    /// One line.
    pub title: String,
    /// Id of the airport.
    pub airport: String,
    /// Its rule set, if the airport tells it.
    pub standard: Option<Standard>,
    /// `monitoring` or `flying`.
    pub seat: String,
    /// From 1 to 5.
    pub difficulty: u8,
    /// Exchanges in the file: a measure of its length.
    pub exchanges: usize,
}

/// Every scenario, those of one's own first, then the built-in ones by folder. Files that cannot be read are left
/// to `check`.
#[must_use]
pub fn catalogue(content: &Content) -> Vec<Listed> {
    let mut out: Vec<Listed> = Vec::new();
    for pack in content.packs() {
        let group = pack.id().map_or_else(|| pack.place.to_string_lossy().into_owned(), str::to_owned);
        for (_, name, file) in pack.items().filter(|item| item.0 == Item::Scenario) {
            let name = if content.find(Item::Scenario, &name, None).is_ok() {
                name
            } else {
                format!("{group}/{name}")
            };
            out.extend(
                std::str::from_utf8(&file.bytes)
                    .ok()
                    .and_then(|text| listed(name, group.clone(), text, content)),
            );
        }
    }
    let own = content.names(Item::Scenario);
    let mut builtin: Vec<Listed> = builtin_paths()
        .filter_map(|(path, text)| {
            let path = Path::new(path);
            let name = path.file_stem()?.to_str()?.to_owned();
            let group = path.parent()?.file_name()?.to_str()?.to_owned();
            listed(name, group, text, content)
        })
        .filter(|listed| !own.contains(&listed.name))
        .collect();
    let order = |group: &str| GROUPS.iter().position(|known| *known == group).unwrap_or(GROUPS.len());
    builtin.sort_by(|a, b| {
        (order(&a.group), a.difficulty, a.exchanges, &a.name).cmp(&(
            order(&b.group),
            b.difficulty,
            b.exchanges,
            &b.name,
        ))
    });
    out.extend(builtin);
    out
}

/// Folders of the built-in scenarios, from what is learned first to what is learned last.
const GROUPS: [&str; 7] =
    ["ground", "departure", "arrival", "flight-deck", "gate-to-gate", "abnormal", "emergency"];

fn listed(name: String, group: String, text: &str, content: &Content) -> Option<Listed> {
    let file: ScenarioFile = toml::from_str(text).ok()?;
    let airport = file.airport.get_ref().clone();
    let written =
        |key: &Option<crate::airport::schema::Text>| key.as_ref().map(|text| text.get_ref().clone());
    let standard = match written(&file.standard) {
        Some(name) => Standard::parse(&name),
        None => standard(&airport, content),
    };
    Some(Listed {
        name,
        group,
        title: file.title.get_ref().clone(),
        airport,
        standard,
        seat: written(&file.seat).unwrap_or_else(|| "monitoring".to_owned()),
        difficulty: file.difficulty.as_ref().and_then(|n| u8::try_from(*n.get_ref()).ok()).unwrap_or(1),
        exchanges: file.exchange.len(),
    })
}

/// The rule set that an airport's file names.
fn standard(airport: &str, content: &Content) -> Option<Standard> {
    use crate::content::Found;
    let text = match content.find(Item::Airport, airport, None).ok()?? {
        Found::Builtin(_, text) => text.to_owned(),
        Found::Own(_, file) => String::from_utf8(file.bytes.clone()).ok()?,
    };
    let table: toml::Table = toml::from_str(&text).ok()?;
    Standard::parse(table.get("standard")?.as_str()?)
}
