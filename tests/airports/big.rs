//! The text of an airport file with 5,000 nodes: a grid of taxiways, stands along its lines, a runway on either side.

use std::fmt::Write as _;

/// Lines from west to east, and from south to north.
const ROWS: usize = 45;
const COLUMNS: usize = 100;
/// Stands along the lines.
const STANDS: usize = 496;

/// Names of taxiways: letters without I, O and X, with numbers.
fn name(n: usize) -> String {
    let letters = "ABCDEFGHJKLMNPQRSTUVWYZ";
    let letter = letters.as_bytes()[n % letters.len()];
    format!("{}{}", char::from(letter), n / letters.len() + 1)
}

/// The file: 4,500 junctions, 496 stands, two holding points, two exits.
pub(crate) fn airport() -> String {
    let mut out = String::from(
        "format = 1\nname = 'Tarnmoor'\nelevation = 200\ntransition_altitude = 5000\nstandard = 'icao'\n\
         information = 'ABC'\nvariation = 2.0\nnode = [\n",
    );
    for row in 0..ROWS {
        for column in 0..COLUMNS {
            let _ = writeln!(out, "  {{ id = 'n{row}.{column}', x = {}, y = {} }},", column * 60, row * 80);
        }
    }
    for stand in 0..STANDS {
        let (row, column) = (1 + stand / 12, 4 + stand % 12 * 8);
        let (x, y) = (column * 60 + 20, row * 80 + 40);
        let _ = writeln!(
            out,
            "  {{ id = '{}', x = {x}, y = {y}, kind = 'stand', joins = ['n{row}.{column}'], code = 'C' }},",
            stand + 1
        );
    }
    let ends = [
        ("A1", -60, 0, "holding_point', runways = ['09']", "n0.0"),
        ("B1", 6000, 0, "holding_point', runways = ['27']", "n0.99"),
        ("A2", 5000, -80, "exit', exits = ['09']", "n0.80"),
        ("B2", 1000, -80, "exit', exits = ['27']", "n0.20"),
    ];
    for (id, x, y, kind, joins) in ends {
        let _ = writeln!(out, "  {{ id = '{id}', x = {x}, y = {y}, kind = '{kind}, joins = ['{joins}'] }},");
    }
    out.push_str("]\n\ntaxiway = [\n");
    for row in 0..ROWS {
        let nodes: Vec<String> = (0..COLUMNS).map(|column| format!("'n{row}.{column}'")).collect();
        let _ = writeln!(out, "  {{ name = '{}', nodes = [{}], code = 'E' }},", name(row), nodes.join(", "));
    }
    for column in 0..COLUMNS {
        let nodes: Vec<String> = (0..ROWS).map(|row| format!("'n{row}.{column}'")).collect();
        let way = if column % 3 == 1 { ", one_way = true" } else { "" };
        let _ =
            writeln!(out, "  {{ name = '{}', nodes = [{}]{way} }},", name(ROWS + column), nodes.join(", "));
    }
    out.push_str(
        "]\n\n[[station]]\nid = 'tower'\nname = 'Tarnmoor Tower'\nfrequency = '118.705'\n\n\
         [[runway]]\ndesignator = '09'\nbearing = 90.0\nlength = 6000\n\n\
         [[runway]]\ndesignator = '27'\nbearing = 270.0\nlength = 6000\n\n",
    );
    let stands: Vec<String> = (1..=STANDS).map(|stand| format!("'{stand}'")).collect();
    let _ = writeln!(out, "[[apron]]\nid = 'main'\nface = ['north']\nstands = [{}]\n", stands.join(", "));
    out.push_str(
        "[[departure]]\nname = 'BIRLA 1A'\nrunways = ['09', '27']\npoints = ['BIRLA']\ninitial = '4000ft'\n\
         destinations = ['Skerrow']\n\n[weather]\nqnh = { from = 984, to = 1034 }\nwind = { from = 4, to = 22 }\n\
         temperature = { from = -6, to = 24 }\n\n[[squawk]]\nfrom = '4401'\nto = '4477'\n",
    );
    out
}
