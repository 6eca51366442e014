//! JSON Schemas of the data files, derived from the types that read them: for editors, and for tests.

use crate::airport::schema::AirportFile;
use crate::crew::{crew_schema, operator_schema};
use crate::element::{Element, Severity, Standard};
use crate::grammar::schema::GrammarFile;
use crate::judge::judgement::Form;
use crate::paper::{Feedback, schema::PaperFile};
use crate::rules::{Duty, Phase, PhraseKind};
use crate::scenario::load::Kind;
use crate::scenario::schema::ScenarioFile;
use crate::scenario::{Rank, Seat};
use schemars::generate::SchemaSettings;
use serde_json::{Value, json};

/// The folder in which the schemas are kept in the repository.
pub const FOLDER: &str = "scenarios/schemas";

/// The name of a kind on the command line, and before `.schema.json`.
#[must_use]
pub fn name(kind: Kind) -> &'static str {
    Kind::ALL.iter().find(|(_, known)| *known == kind).map_or("", |(name, _)| name)
}

/// The JSON Schema (draft 7) of the files of a kind. Keys and types come from the types that read the
/// files, the names that are allowed from the program's registries.
///
/// ```
/// use hearback::{scenario::load::Kind, schema::schema};
/// let of = schema(Kind::Scenario);
/// assert_eq!(of["properties"]["seat"]["enum"], serde_json::json!(["monitoring", "flying"]));
/// ```
#[must_use]
pub fn schema(kind: Kind) -> Value {
    let settings = SchemaSettings::draft07();
    let root = match kind {
        Kind::Scenario => settings.into_generator().into_root_schema_for::<ScenarioFile>(),
        Kind::Airport => settings.into_generator().into_root_schema_for::<AirportFile>(),
        Kind::Grammar => settings.into_generator().into_root_schema_for::<GrammarFile>(),
        Kind::Crew => crew_schema(settings),
        Kind::Operator => operator_schema(settings),
        Kind::Paper => settings.into_generator().into_root_schema_for::<PaperFile>(),
    };
    let mut root = root.to_value();
    without_null(&mut root);
    root["title"] = json!(format!("hearback {}", name(kind)));
    root["properties"]["format"]["const"] = json!(1);
    let standards = Standard::ALL.map(Standard::name);
    let elements: Vec<&str> = Element::ALL.iter().map(|element| element.name()).collect();
    match kind {
        Kind::Scenario => {
            one_of(&mut root, "/properties/standard", &standards);
            one_of(&mut root, "/properties/form", &Form::ALL.map(|(name, _)| name));
            one_of(&mut root, "/properties/seat", &Seat::ALL.map(|(name, _)| name));
            one_of(&mut root, "/properties/rank", &Rank::ALL.map(|(name, _)| name));
            one_of(&mut root, "/definitions/ExchangeEntry/properties/seat", &Seat::ALL.map(|(name, _)| name));
            one_of(&mut root, "/definitions/ExchangeEntry/properties/radio", &["you", "other"]);
            one_of(&mut root, "/definitions/ValueEntry/properties/element", &elements);
        }
        Kind::Airport => one_of(&mut root, "/properties/standard", &standards),
        Kind::Grammar => {
            let phrase = |key: &str| format!("/definitions/PhraseEntry/properties/{key}");
            one_of(&mut root, &phrase("by"), &["controller", "pilot"]);
            one_of(&mut root, &phrase("kind"), &PhraseKind::ALL.map(|(name, _)| name));
            one_of(&mut root, &phrase("limit/items"), &elements);
            one_of(&mut root, &phrase("parts/items"), &elements);
            one_of(&mut root, &phrase("duty/additionalProperties"), &Duty::ALL.map(|(name, _)| name));
            if let Some(duty) = root.pointer_mut(&phrase("duty")) {
                duty["propertyNames"] = json!({ "enum": elements });
            }
            let hazards = [Severity::Critical, Severity::Major, Severity::Minor].map(Severity::name);
            one_of(&mut root, &phrase("hazard"), &hazards);
            one_of(&mut root, "/definitions/TopicEntry/properties/phase", &Phase::ALL.map(Phase::name));
        }
        Kind::Paper => {
            one_of(&mut root, "/properties/standard", &standards);
            one_of(&mut root, "/properties/form", &Form::ALL.map(|(name, _)| name));
            one_of(&mut root, "/properties/feedback", &Feedback::ALL.map(|(name, _)| name));
            one_of(&mut root, "/properties/values", &["same", "own"]);
            one_of(&mut root, "/properties/hear", &["readable", "once"]);
        }
        Kind::Crew | Kind::Operator => {}
    }
    root
}

/// The schema as it is printed and kept.
#[must_use]
pub fn text(kind: Kind) -> String {
    format!("{:#}\n", schema(kind))
}

/// Allows only these texts at a place of a schema.
fn one_of(root: &mut Value, place: &str, names: &[&str]) {
    let found = root.pointer_mut(place).and_then(Value::as_object_mut);
    debug_assert!(found.is_some(), "no {place} in the schema");
    if let Some(found) = found {
        found.insert("enum".to_owned(), json!(names));
    }
}

/// TOML has no null: what may be left out has just its own type.
fn without_null(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(without_null),
        Value::Object(fields) => {
            if fields.get("default").is_some_and(Value::is_null) {
                fields.remove("default");
            }
            if let Some(Value::Array(types)) = fields.get_mut("type") {
                types.retain(|name| name != "null");
                if let [one] = types.as_slice() {
                    let one = one.clone();
                    fields.insert("type".to_owned(), one);
                }
            }
            if let Some(Value::Array(choices)) = fields.get_mut("anyOf") {
                choices.retain(|choice| choice.get("type").is_none_or(|name| name != "null"));
                if let [one] = choices.as_slice() {
                    let one = one.clone();
                    fields.remove("anyOf");
                    fields.insert("allOf".to_owned(), json!([one]));
                }
            }
            fields.values_mut().for_each(without_null);
        }
        _ => {}
    }
}
