//! The frame of every HTML page: one file, no script, nothing from elsewhere.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The look of pages with figures and charts.
pub(crate) const FIGURES: &str = include_str!("figures.css");

/// A whole page: its title, its looks, and what stands in its body.
pub(crate) fn whole(title: &str, looks: &[&str], body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { @for look in looks { (PreEscaped(look)) } }
            }
            body { (body) }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}
