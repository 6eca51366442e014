//! The taxiways of an airport file, walked along the names that a controller says.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use toml::{Table, Value};

/// Lines between nodes of an airport, read from its file.
pub(crate) struct Ground {
    /// From each node: where to, and the name of the taxiway if the line has one.
    lines: BTreeMap<String, Vec<(String, Option<String>)>>,
    /// Runways by the nodes at which they are crossed.
    crossings: BTreeMap<String, String>,
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

fn list<'a>(table: &'a Value, key: &str) -> &'a [Value] {
    table.get(key).and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

impl Ground {
    /// Reads the network; `None` without one.
    pub(crate) fn read(file: &Table) -> Option<Self> {
        let nodes = file.get("node")?.as_array()?;
        let mut out = Self { lines: BTreeMap::new(), crossings: BTreeMap::new() };
        let mut line = |from: &str, to: &str, name: Option<String>| {
            out.lines.entry(from.to_owned()).or_default().push((to.to_owned(), name));
        };
        for node in nodes {
            let id = text(&node["id"]);
            for other in list(node, "joins") {
                line(&id, &text(other), None);
                line(&text(other), &id, None);
            }
            if node.get("kind").and_then(Value::as_str) == Some("crossing") {
                out.crossings.insert(id, text(&list(node, "runways")[0]));
            }
        }
        for way in file.get("taxiway")?.as_array()? {
            let name = text(&way["name"]);
            let one_way = way.get("one_way").and_then(Value::as_bool).unwrap_or(false);
            for pair in list(way, "nodes").windows(2) {
                line(&text(&pair[0]), &text(&pair[1]), Some(name.clone()));
                if !one_way {
                    line(&text(&pair[1]), &text(&pair[0]), Some(name.clone()));
                }
            }
        }
        Some(out)
    }

    /// The runways that are crossed in order, for every way from one node to another along these taxiways. A way may
    /// begin or end on a taxiway that bears the name of the node there: it has been said.
    pub(crate) fn crossed(&self, from: &str, to: &str, names: &[&str]) -> BTreeSet<Vec<String>> {
        let mut out = BTreeSet::new();
        let mut seen = BTreeSet::new();
        let mut open = VecDeque::from([(from.to_owned(), String::new(), 0_usize, Vec::<String>::new())]);
        while let Some(state) = open.pop_front() {
            if !seen.insert(state.clone()) || state.3.len() > names.len() {
                continue;
            }
            let (node, before, said, crossed) = state;
            if node == to && said == names.len() {
                out.insert(crossed.clone());
                continue;
            }
            // Nobody turns round.
            let ahead = self.lines.get(&node).into_iter().flatten().filter(|(next, _)| *next != before);
            for (next, name) in ahead {
                let name = name.as_deref();
                let mut crossed = crossed.clone();
                crossed.extend(self.crossings.get(next).map(|runway| strip(runway)));
                // On the taxiway that was named last, or on to the one that is named next.
                let same = said > 0 && name == Some(names[said - 1]);
                let free = name.is_none() || name == Some(from) && said == 0 || name == Some(to);
                if same || free {
                    open.push_back((next.clone(), node.clone(), said, crossed.clone()));
                }
                if said < names.len() && name == Some(names[said]) {
                    open.push_back((next.clone(), node.clone(), said + 1, crossed));
                }
            }
        }
        out
    }
}

/// A runway by the lower number of its two ends.
pub(crate) fn strip(designator: &str) -> String {
    let number: u32 = designator[..2].parse().expect("two digits");
    let other = (number + 17) % 36 + 1;
    let turned = match &designator[2..] {
        "L" => "R",
        "R" => "L",
        same => same,
    };
    let both = [designator.to_owned(), format!("{other:02}{turned}")];
    both.into_iter().min().expect("two")
}
