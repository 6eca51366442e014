//! `completions` and `manual`: both come from the declarations of the command line.

use crate::cli::Cli;
use crate::diagnostic::{clean, list, nearest};
use crate::error::{Error, Result, exit};
use clap::CommandFactory;
use clap_complete::Shell;
use std::io::Write;

/// Prints completions for a shell.
///
/// # Errors
/// The output can't be written.
pub fn completions(shell: Shell, out: &mut dyn Write) -> Result<u8> {
    // The generator panics where its writer fails, as at a closed pipe.
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "hearback", &mut text);
    out.write_all(&text)?;
    out.flush()?;
    Ok(exit::DONE)
}

/// Prints the manual page of the program, or of one command.
///
/// # Errors
/// There is no such command, or the output can't be written.
pub fn manual(name: Option<&str>, out: &mut dyn Write) -> Result<u8> {
    let mut program = Cli::command();
    program.build();
    let page = match name {
        None => program,
        Some(name) => {
            let known: Vec<&str> = program.get_subcommands().map(clap::Command::get_name).collect();
            let Some(found) = program.find_subcommand(name) else {
                let help = match nearest(name, known.iter().copied()) {
                    Some(near) => format!("; did you mean `{near}`?"),
                    None => format!("; there are {}", list(&known)),
                };
                return Err(Error::Unknown { what: "command", name: clean(name).into_owned(), help });
            };
            found.clone()
        }
    };
    let source = concat!("hearback ", env!("CARGO_PKG_VERSION"));
    clap_mangen::Man::new(page).source(source).render(out)?;
    writeln!(out, ".SH \"EXIT STATUS\"")?;
    for (status, meaning) in exit::MEANINGS {
        writeln!(out, ".TP\n\\fB{status}\\fR\n{meaning}")?;
    }
    out.flush()?;
    Ok(exit::DONE)
}
