//! The audit as JSON: indented, lists of numbers on one line.
//!
//! A number that is not finite is refused: JSON has none.

use std::io::{self, Write};

use serde::Serialize as _;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};

use crate::audit::model::Audit;
use crate::error::{Error, Result};

/// Writes an audit, ended by a line feed.
///
/// # Errors
/// A number is not finite.
pub fn write(audit: &Audit) -> Result<Vec<u8>> {
    let mut out = Vec::new();
    let layout = Layout {
        pretty: PrettyFormatter::with_indent(b" "),
        compact: 0,
        key: Vec::new(),
        in_key: false,
    };
    audit
        .serialize(&mut Serializer::with_formatter(&mut out, layout))
        .map_err(|e| {
            Error::new(format!("the audit cannot be written ({e})"))
                .advise("check the mesh for extreme coordinates")
        })?;
    out.push(b'\n');
    Ok(out)
}

/// Arrays of objects take a line an element; all others stay on the line of their name.
const LISTS: [&[u8]; 5] = [b"checks", b"joints", b"rings", b"sections", b"places"];

struct Layout {
    pretty: PrettyFormatter<'static>,
    /// Open brackets of the compact part, 0 outside.
    compact: usize,
    key: Vec<u8>,
    in_key: bool,
}

impl Formatter for Layout {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        CompactFormatter.write_f64(writer, value)
    }

    fn write_null<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"null")
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 || !LISTS.contains(&self.key.as_slice()) {
            self.compact += 1;
            return writer.write_all(b"[");
        }
        self.pretty.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 {
            self.compact -= 1;
            return writer.write_all(b"]");
        }
        self.pretty.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        match (self.compact > 0, first) {
            (true, true) => Ok(()),
            (true, false) => writer.write_all(b", "),
            (false, _) => self.pretty.begin_array_value(writer, first),
        }
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 {
            Ok(())
        } else {
            self.pretty.end_array_value(writer)
        }
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.key.clear();
        self.pretty.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.key.clear();
        self.in_key = true;
        self.pretty.begin_object_key(writer, first)
    }

    fn end_object_key<W: ?Sized + Write>(&mut self, _writer: &mut W) -> io::Result<()> {
        self.in_key = false;
        Ok(())
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.pretty.end_object_value(writer)
    }

    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        if self.in_key {
            self.key.extend_from_slice(fragment.as_bytes());
        }
        writer.write_all(fragment.as_bytes())
    }
}
