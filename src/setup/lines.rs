//! A TOML text whose complaints name the line, and the nearest known key.

use std::ops::Range;

use toml_edit::{Document, Item, Table, Value};

use super::keys::nearest;
use crate::error::{Error, Result};

/// The text, for lines of complaints.
pub(crate) struct Text<'a>(pub(crate) &'a str);

impl Text<'_> {
    /// The line of a place.
    pub(crate) fn line(&self, span: Option<Range<usize>>) -> String {
        let start = span.map_or(0, |s| s.start).min(self.0.len());
        let before = &self.0.as_bytes()[..start];
        format!("line {}", 1 + before.iter().filter(|b| **b == b'\n').count())
    }

    /// Reads it as TOML.
    pub(crate) fn document(&self, advice: &str) -> Result<Document<&str>> {
        Document::parse(self.0).map_err(|e| {
            let matter = e.message().lines().next().unwrap_or("this is no TOML");
            Error::new(matter).at(self.line(e.span())).advise(advice)
        })
    }

    /// Complains of keys that are not known.
    pub(crate) fn known(&self, table: &Table, keys: &[&str]) -> Result<()> {
        for (key, item) in table {
            if !keys.contains(&key) {
                let span = table.key(key).and_then(toml_edit::Key::span).or(item.span());
                let advice = nearest(key, keys).map_or_else(String::new, |k| format!("did you mean {k}?"));
                return Err(Error::new(format!("there is no key {key}"))
                    .at(self.line(span))
                    .advise(advice));
            }
        }
        Ok(())
    }

    /// A complaint of a value.
    pub(crate) fn wrong(&self, key: &str, item: &Item, wanted: &str) -> Error {
        Error::new(format!("{key} needs {wanted}, this is {}", article(item))).at(self.line(item.span()))
    }

    /// The value of a key, if it is there, made by `make`, or a complaint that it needs `wanted`.
    pub(crate) fn get<T>(
        &self,
        table: &Table,
        key: &str,
        wanted: &str,
        make: impl Fn(&Item) -> Option<T>,
    ) -> Result<Option<T>> {
        table
            .get(key)
            .map(|item| make(item).ok_or_else(|| self.wrong(key, item, wanted)))
            .transpose()
    }

    /// As [`Self::get`], for a key that must be there.
    pub(crate) fn must<T>(
        &self,
        table: &Table,
        key: &str,
        wanted: &str,
        make: impl Fn(&Item) -> Option<T>,
    ) -> Result<T> {
        self.get(table, key, wanted, make)?.ok_or_else(|| {
            Error::new(format!("{key} is missing here"))
                .at(self.line(table.span()))
                .advise(format!("give it {wanted}"))
        })
    }

    /// The tables of an array of tables.
    pub(crate) fn tables<T>(
        &self,
        table: &Table,
        key: &str,
        make: impl Fn(&Table) -> Result<T>,
    ) -> Result<Vec<T>> {
        match table.get(key) {
            None => Ok(Vec::new()),
            Some(Item::ArrayOfTables(all)) => all.iter().map(make).collect(),
            Some(other) => Err(self.wrong(key, other, &format!("a heading of its own, [[{key}]]"))),
        }
    }
}

/// What an item is, in words.
fn article(item: &Item) -> &'static str {
    match item {
        Item::Value(Value::String(_)) => "a text",
        Item::Value(Value::Integer(_) | Value::Float(_)) => "a number that does not fit",
        Item::Value(Value::Boolean(_)) => "true or false",
        Item::Value(Value::Datetime(_)) => "a date",
        Item::Value(Value::Array(_)) => "a list that does not fit",
        _ => "a table",
    }
}
