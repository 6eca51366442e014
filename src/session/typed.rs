//! Commands that are typed at a prompt: which one is meant, and the list of them.

use super::screen::{Row, Tone, hang};
use crate::diagnostic::{list, nearest};

/// Commands with what they do.
pub type Commands = [(&'static str, &'static str)];

/// The command that a word stands for, typed without its slash: it is not said, and not carried out either.
#[must_use]
pub fn bare(line: &str, commands: &Commands) -> Option<&'static str> {
    match line.trim().to_lowercase().as_str() {
        "exit" => Some("quit"),
        word => commands.iter().map(|(command, _)| *command).find(|command| *command == word),
    }
}

/// The command that is meant: by its beginning, if no other begins so; `help` by nothing at all.
///
/// # Errors
/// What to say of it: there is none, or there are several.
///
/// ```
/// use hearback::session::typed::meant;
/// let commands = [("help", "this list"), ("hint", "what is due")];
/// assert_eq!(meant("/hi", &commands), Ok("hint"));
/// assert_eq!(meant("/", &commands), Ok("help"));
/// assert_eq!(meant("/h", &commands), Err("/h can be /help or /hint".to_owned()));
/// assert_eq!(meant("/hnit", &commands), Err("There is no command /hnit; did you mean /hint?".to_owned()));
/// ```
pub fn meant(typed: &str, commands: &Commands) -> Result<&'static str, String> {
    let name = typed.trim_start_matches(['/', '?']).trim().to_lowercase();
    let name = if name.is_empty() { "help".to_owned() } else { name };
    let names = commands.iter().map(|(command, _)| *command);
    let fits: Vec<&'static str> = names.clone().filter(|command| command.starts_with(&name)).collect();
    match fits.as_slice() {
        [one] => Ok(one),
        [] => {
            let short: String = name.chars().take(20).collect();
            let help = match nearest(&short, names) {
                Some(near) => format!("did you mean /{near}?"),
                None => "/help lists the commands".to_owned(),
            };
            Err(format!("There is no command /{short}; {help}"))
        }
        several => {
            let names: Vec<String> = several.iter().map(|command| format!("/{command}")).collect();
            Err(format!("/{name} can be {}", list(&names)))
        }
    }
}

/// The list of commands.
#[must_use]
pub fn help_rows(commands: &Commands, width: usize) -> Vec<Row> {
    let row = |(command, what): &(&str, &str)| {
        hang((Tone::Label, &format!("    /{command}")), 12, Tone::Plain, what, width)
    };
    commands.iter().flat_map(row).collect()
}
