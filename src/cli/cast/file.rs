//! The cast's file: a list of characters, each with its files and any options of `check`.
//!
//! Its keys are the options of `check` themselves, read by the same definitions: what an option takes, a key takes. What
//! the command line says wins over a character's keys, and those over the file's own.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use clap::builder::ValueHint;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::parser::ValueSource;
use clap::{Arg, ArgAction, ArgMatches, Args as _, Command, FromArgMatches as _};
use toml_edit::{Item, Table, Value};

use crate::cli::check::CheckArguments;
use crate::compare::canons::Canon;
use crate::error::{Error, Result};
use crate::setup::lines::Text;

/// Longest cast file that is read, bytes: hundreds of characters take some ten thousand.
const LONGEST: u64 = 16 << 20;
/// Longest name of a character, characters.
const LONGEST_NAME: usize = 80;
/// What says which files a character is made of: a character's own, never all characters'.
const OWN: [&str; 6] = ["mesh", "sheet", "front", "side", "back", "top"];
/// Options that are the command line's alone.
const NOT_HERE: [&str; 2] = ["out", "quiet"];
/// Names that no folder can have on some systems (Microsoft, "Naming Files, Paths, and Namespaces").
const DEVICES: [&str; 22] = [
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8", "com9",
    "lpt1", "lpt2", "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9",
];

/// A character, ready to be checked.
pub(super) struct Character {
    pub(super) name: String,
    pub(super) arguments: CheckArguments,
}

/// An option and what it is given.
#[derive(Debug, Clone)]
struct Given {
    /// Where it stands, in words; empty for the command line.
    place: String,
    /// Its values; none for a switch that is on.
    values: Vec<OsString>,
    /// A switch that is off.
    off: bool,
}

/// Options by their long names.
type Options = BTreeMap<String, Given>;

/// The options of `check`, as a command of their own.
fn definitions() -> Command {
    CheckArguments::augment_args(Command::new("character").no_binary_name(true))
}

/// What a key is called: the option's long name, or `mesh`.
fn key(argument: &Arg) -> &str {
    argument.get_long().unwrap_or(argument.get_id().as_str())
}

/// What the command line says to every character.
#[derive(Debug, Default)]
pub(in crate::cli) struct Typed(Options);

impl Typed {
    pub(in crate::cli) fn new(matches: &ArgMatches) -> Self {
        let said = definitions()
            .get_arguments()
            .filter(|a| !NOT_HERE.contains(&key(a)) && !OWN.contains(&key(a)))
            .filter(|a| matches.value_source(a.get_id().as_str()) == Some(ValueSource::CommandLine))
            .map(|a| {
                let raw = matches.get_raw(a.get_id().as_str()).into_iter().flatten();
                let given = Given {
                    place: String::new(),
                    values: if takes_value(a) {
                        raw.map(ToOwned::to_owned).collect()
                    } else {
                        Vec::new()
                    },
                    off: false,
                };
                (key(a).to_string(), given)
            })
            .collect();
        Self(said)
    }
}

fn takes_value(argument: &Arg) -> bool {
    matches!(argument.get_action(), ArgAction::Set | ArgAction::Append)
}

/// Reads a cast; results of each character go into a folder of its name in `out`. Paths are relative to the file.
pub(super) fn read(path: &Path, typed: &Typed, out: &Path) -> Result<Vec<Character>> {
    let mut text = String::new();
    std::fs::File::open(path)
        .and_then(|f| f.take(LONGEST + 1).read_to_string(&mut text))
        .map_err(|e| {
            Error::new(format!("the cast cannot be read ({e})"))
                .in_file(path)
                .advise("check the path")
        })?;
    if text.len() as u64 > LONGEST {
        return Err(Error::new(format!("the cast has more than {LONGEST} bytes")).in_file(path));
    }
    let folder = path.parent().unwrap_or(Path::new(""));
    parse(&text, folder, typed, out).map_err(|e| e.in_file(path))
}

fn parse(source: &str, folder: &Path, typed: &Typed, out: &Path) -> Result<Vec<Character>> {
    let text = Text(source);
    let document = text.document("the cast is TOML: [[character]] with key = value, texts in quotes")?;
    let all = definitions();
    let arguments: Vec<&Arg> = all
        .get_arguments()
        .filter(|a| !NOT_HERE.contains(&key(a)) && !matches!(key(a), "help" | "version"))
        .collect();
    let names: Vec<&str> = arguments.iter().map(|a| key(a)).collect();
    let top = document.as_table();
    let shared: Vec<&str> = names
        .iter()
        .filter(|n| !OWN.contains(n))
        .copied()
        .chain(["character"])
        .collect();
    text.known(top, &shared)?;
    let common = options(&text, top, &arguments, folder)?;
    let own: Vec<&str> = names.iter().copied().chain(["name"]).collect();
    let mut taken: Vec<(String, String)> = Vec::new();
    let characters = text.tables(top, "character", |table| {
        text.known(table, &own)?;
        let name = text.must(
            table,
            "name",
            "the character's name, which its folder gets",
            |i| i.as_str().map(str::to_string),
        )?;
        let place = text.line(table.get("name").and_then(Item::span));
        fit_for_folder(&name).map_err(|e| e.at(&place))?;
        let options = options(&text, table, &arguments, folder)?;
        let here = text.line(table.span());
        Ok((name, place, here, options))
    })?;
    if characters.is_empty() {
        return Err(Error::new("the cast has no characters")
            .advise("give each a [[character]] with name, mesh and sheet"));
    }
    characters
        .into_iter()
        .map(|(name, place, here, options)| {
            let folded = name.to_lowercase();
            if let Some((_, before)) = taken.iter().find(|(n, _)| *n == folded) {
                return Err(Error::new(format!(
                    "two characters are called {name}, the other one in {before}"
                ))
                .at(place)
                .advise("give each a name of its own; capitals do not tell folders apart everywhere"));
            }
            taken.push((folded, place));
            let mut said = common.clone();
            said.extend(options);
            said.extend(typed.0.iter().map(|(k, v)| (k.clone(), v.clone())));
            let arguments = arguments_of(&said, &name, &here, out)?;
            Ok(Character { name, arguments })
        })
        .collect()
}

/// Refuses a name that is no folder's on every system, or that would leave the folder of results.
fn fit_for_folder(name: &str) -> Result<()> {
    let stem = name
        .split('.')
        .next()
        .unwrap_or_default()
        .trim_end()
        .to_lowercase();
    let why = if name.is_empty() {
        "it is empty"
    } else if name.chars().count() > LONGEST_NAME {
        "it is too long"
    } else if name.contains(|c: char| c.is_control() || "<>:\"/\\|?*".contains(c)) {
        "it has one of < > : \" / \\ | ? * or a sign that cannot be seen in it"
    } else if name.starts_with(['.', ' ', '-']) || name.ends_with(['.', ' ']) {
        "it begins with a point, a blank or a dash, or ends with a point or a blank"
    } else if DEVICES.contains(&stem.as_str()) {
        "some systems keep that name for a device"
    } else if super::RESULTS.contains(&name.to_lowercase().as_str()) {
        "a result of the whole cast has that name"
    } else {
        return Ok(());
    };
    Err(Error::new(format!("{name:?} cannot be a folder's name: {why}"))
        .advise("give the character a plain name"))
}

/// The options of a table.
fn options(text: &Text<'_>, table: &Table, arguments: &[&Arg], folder: &Path) -> Result<Options> {
    let mut out = Options::new();
    for argument in arguments {
        let key = key(argument);
        let Some(item) = table.get(key) else { continue };
        let place = text.line(item.span());
        let given = if takes_value(argument) {
            let many = argument.get_value_delimiter().is_some();
            let wanted = if many {
                "a text, a number or a list of texts"
            } else {
                "a text or a number"
            };
            let values = values(item, many).ok_or_else(|| text.wrong(key, item, wanted))?;
            let is_path = argument.get_value_hint() == ValueHint::AnyPath
                || (key == "canon" && item.as_str().is_some_and(|c| Canon::named(c).is_none()));
            let placed = |v: String| {
                if is_path {
                    folder.join(v).into_os_string()
                } else {
                    v.into()
                }
            };
            Given {
                place,
                values: values.into_iter().map(placed).collect(),
                off: false,
            }
        } else {
            let on = item
                .as_bool()
                .ok_or_else(|| text.wrong(key, item, "true or false"))?;
            Given {
                place,
                values: Vec::new(),
                off: !on,
            }
        };
        out.insert(key.to_string(), given);
    }
    Ok(out)
}

/// The values of a key as they would be typed.
fn values(item: &Item, many: bool) -> Option<Vec<String>> {
    let one = |v: &Value| match v {
        Value::String(s) => Some(s.value().clone()),
        Value::Integer(n) => Some(n.value().to_string()),
        Value::Float(n) => Some(n.value().to_string()),
        _ => None,
    };
    match item.as_value()? {
        Value::Array(list) if many => list.iter().map(one).collect(),
        value => Some(vec![one(value)?]),
    }
}

/// Arguments from options, by the definitions of the command line.
fn arguments_of(options: &Options, name: &str, here: &str, out: &Path) -> Result<CheckArguments> {
    let mut argv: Vec<OsString> = vec!["--quiet".into(), joined("out", out.join(name).as_os_str())];
    let mut mesh = None;
    for (key, given) in options.iter().filter(|(_, g)| !g.off) {
        if key == "mesh" {
            mesh = given.values.first().cloned();
        } else if given.values.is_empty() {
            argv.push(format!("--{key}").into());
        } else {
            argv.extend(given.values.iter().map(|v| joined(key, v)));
        }
    }
    let mesh = mesh.ok_or_else(|| {
        Error::new(format!("{name} has no mesh"))
            .at(here)
            .advise("give it mesh = \"FILE\"")
    })?;
    argv.extend(["--".into(), mesh]);
    let matches = definitions().try_get_matches_from(argv);
    let parsed = matches.and_then(|m| CheckArguments::from_arg_matches(&m));
    parsed.map_err(|e| complaint(&e, options, name, here))
}

fn joined(key: &str, value: &std::ffi::OsStr) -> OsString {
    let mut one = OsString::from(format!("--{key}="));
    one.push(value);
    one
}

/// The definitions' complaint in one line that names the key's own.
fn complaint(error: &clap::Error, options: &Options, name: &str, here: &str) -> Error {
    if error.kind() == ErrorKind::MissingRequiredArgument {
        return Error::new(format!("{name} has no drawing"))
            .at(here)
            .advise("give it sheet = \"IMAGE\", or front, side and back, or a setup that names images");
    }
    let about = match error.get(ContextKind::InvalidArg) {
        Some(ContextValue::String(argument)) => options.iter().find(|(key, _)| {
            let typed = argument.strip_prefix("--").unwrap_or(argument);
            typed.split([' ', '=']).next() == Some(key.as_str())
        }),
        _ => None,
    };
    let text = error.to_string();
    let first = text.lines().next().unwrap_or_default();
    let matter = first.strip_prefix("error: ").unwrap_or(first);
    let place = about.map(|(_, g)| g.place.as_str()).filter(|p| !p.is_empty());
    Error::new(format!("{name}: {matter}")).at(place.unwrap_or(here))
}

/// Where the results of a character are.
pub(super) fn folder(character: &Character) -> PathBuf {
    character.arguments.out.clone()
}

#[cfg(test)]
mod tests;
