//! Checks that nothing taxies across a runway unseen: where a taxiway meets one, a crossing says so.

use super::Check;
use crate::airport::bearing::reciprocal;
use crate::airport::layout::Runway;
use crate::airport::network::{Network, Node, NodeKind};
use crate::airport::schema::AirportFile;

impl Check {
    /// Notes the parts of taxiways that cross a runway between two nodes of which neither is a crossing. Only runways
    /// with a threshold are looked at.
    pub(super) fn unseen(&mut self, file: &AirportFile, runways: &[Runway], network: &Network) {
        let strips: Vec<(&str, [(f64, f64); 2])> = runways
            .iter()
            .filter_map(|runway| {
                let other = reciprocal(&runway.designator)?;
                let end = runways.iter().find(|end| end.designator == other)?.threshold?;
                Some((&*runway.designator, [runway.threshold?, end]))
            })
            .collect();
        for taxiway in &file.taxiway {
            for pair in taxiway.nodes.windows(2) {
                let [from, to] = pair else { continue };
                let (Some(a), Some(b)) = (network.node(from.get_ref()), network.node(to.get_ref())) else {
                    continue;
                };
                let seen = [a, b].iter().any(|node| node.kind == NodeKind::Crossing);
                let met = strips.iter().find(|(_, strip)| !seen && meets(strip, a, b));
                let Some((designator, _)) = met else { continue };
                let title = format!(
                    "taxiway {} crosses a runway between `{}` and `{}`",
                    taxiway.name.get_ref(),
                    a.id,
                    b.id
                );
                let problem = self.0.problem("A022", to.span(), title);
                self.0.add(problem.label("nobody is told to hold short of it").help(format!(
                    "put a node with `kind = 'crossing'` and `runways = ['{designator}']` between them, and holding points to both sides"
                )));
            }
        }
    }
}

/// True if the line from one node to the other crosses the centre line of a runway.
fn meets([from, to]: &[(f64, f64); 2], a: &Node, b: &Node) -> bool {
    let side =
        |p: (f64, f64), q: (f64, f64), r: (f64, f64)| (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
    let (a, b) = ((a.x, a.y), (b.x, b.y));
    side(*from, *to, a) * side(*from, *to, b) < 0.0 && side(a, b, *from) * side(a, b, *to) < 0.0
}
