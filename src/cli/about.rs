//! What tells of the program itself, made from the same definitions as its command line: `drawntrue completions`,
//! `drawntrue manual`, and `drawntrue schema`, made from the types that write its results.

use std::path::PathBuf;

use clap::{Args, Command, CommandFactory as _, ValueEnum};
use clap_complete::Shell;
use clap_mangen::Man;

use super::{Arguments, EXIT_WITHIN};
use crate::error::{Error, Result};
use crate::report::{files, schema};

/// The program's name.
const NAME: &str = "drawntrue";
/// The manual's section: commands (man-pages(7)).
const SECTION: &str = "1";

/// Arguments of `drawntrue completions`.
#[derive(Debug, Args)]
pub(super) struct CompletionsArguments {
    /// The shell that is to complete commands, options and file names
    shell: Shell,
}

/// Arguments of `drawntrue manual`.
#[derive(Debug, Args)]
pub(super) struct ManualArguments {
    /// The command whose page is printed [default: that of the program, which lists them]
    command: Option<String>,
    /// Write the pages of the program and of all its commands into a folder instead
    #[arg(long, value_name = "DIR", conflicts_with = "command")]
    out: Option<PathBuf>,
}

/// A result that has a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Described {
    /// report.json
    Report,
    /// A line of history.jsonl
    History,
    /// A line that `check --cast` prints with --json-lines
    Cast,
}

/// Arguments of `drawntrue schema`.
#[derive(Debug, Args)]
pub(super) struct SchemaArguments {
    /// Which result is described
    #[arg(value_enum, default_value = "report")]
    of: Described,
}

pub(super) fn completions(arguments: &CompletionsArguments) -> Result<u8> {
    let mut out = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), NAME, &mut out);
    super::print(&String::from_utf8_lossy(&out))?;
    Ok(EXIT_WITHIN)
}

pub(super) fn manual(arguments: &ManualArguments) -> Result<u8> {
    let mut all = Arguments::command();
    all.build();
    let named = all.get_subcommands().filter(|c| c.get_name() != "help");
    if let Some(folder) = &arguments.out {
        let pages = std::iter::once(&all)
            .chain(named)
            .map(|c| {
                let name = c.get_display_name().unwrap_or(NAME);
                Ok((format!("{name}.{SECTION}"), page(c)?))
            })
            .collect::<Result<Vec<_>>>()?;
        files::write_plain(folder, &pages, &[])?;
        return Ok(EXIT_WITHIN);
    }
    let command = match &arguments.command {
        None => &all,
        Some(name) => all
            .get_subcommands()
            .find(|c| c.get_name() == name)
            .ok_or_else(|| {
                let names: Vec<&str> = named.map(Command::get_name).collect();
                Error::new(format!("there is no command {name}"))
                    .advise(format!("use one of {}", names.join(", ")))
            })?,
    };
    super::print(&String::from_utf8_lossy(&page(command)?))?;
    Ok(EXIT_WITHIN)
}

/// The page of a command in the language of manual pages (groff_man(7)).
fn page(command: &Command) -> Result<Vec<u8>> {
    let mut out = Vec::new();
    Man::new(command.clone())
        .section(SECTION)
        .source(concat!("drawntrue ", env!("CARGO_PKG_VERSION")))
        .render(&mut out)
        .map_err(|e| Error::new(format!("the manual cannot be made ({e})")))?;
    Ok(out)
}

pub(super) fn schema(arguments: &SchemaArguments) -> Result<u8> {
    let schema = match arguments.of {
        Described::Report => schema::report(),
        Described::History => schema::history(),
        Described::Cast => schema::cast(),
    };
    super::print(&format!("{schema:#}\n"))?;
    Ok(EXIT_WITHIN)
}
