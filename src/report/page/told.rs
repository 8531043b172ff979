//! JSON that may stand inside a page: compact, without the rows, and without a character that could end the block it
//! stands in.
//!
//! Inside a script element only `<` can begin anything that ends it or starts a comment (HTML, "Restrictions for contents
//! of script elements"). In JSON it occurs in strings only and has an escape there; `>` and `&` are escaped as well, so
//! that a reader who searches the page for markup finds none.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};

use crate::error::{Error, Result};

/// The array that the data has in another form, and the one whose elements have it: it is written empty.
const LEFT_OUT: &[u8] = b"rows";
const LEFT_OUT_IN: &[u8] = b"views";

/// Appends a value.
///
/// # Errors
/// The value cannot be written as JSON.
pub(super) fn tell(value: &impl Serialize, out: &mut Vec<u8>) -> Result<()> {
    value
        .serialize(&mut Serializer::with_formatter(out, Told::default()))
        .map_err(|e| Error::new(format!("report.html cannot be made ({e})")))
}

/// Compact JSON; nothing is written inside [`LEFT_OUT`].
#[derive(Default)]
struct Told {
    /// The key that was written last.
    key: Vec<u8>,
    in_key: bool,
    /// For each open array whether it is [`LEFT_OUT_IN`].
    open: Vec<bool>,
    /// Open brackets of an array that is left out, 0 outside.
    silent: usize,
}

impl Told {
    fn put<W: ?Sized + Write>(&self, writer: &mut W, bytes: &[u8]) -> io::Result<()> {
        if self.silent == 0 {
            writer.write_all(bytes)
        } else {
            Ok(())
        }
    }

    fn comma<W: ?Sized + Write>(&self, writer: &mut W, first: bool) -> io::Result<()> {
        if first { Ok(()) } else { self.put(writer, b",") }
    }
}

impl Formatter for Told {
    fn write_null<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.put(writer, b"null")
    }

    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        if self.silent > 0 {
            return Ok(());
        }
        serde_json::ser::CompactFormatter.write_f64(writer, value)
    }

    fn write_u8<W: ?Sized + Write>(&mut self, writer: &mut W, value: u8) -> io::Result<()> {
        self.write_u64(writer, u64::from(value))
    }

    fn write_u64<W: ?Sized + Write>(&mut self, writer: &mut W, value: u64) -> io::Result<()> {
        if self.silent > 0 {
            return Ok(());
        }
        serde_json::ser::CompactFormatter.write_u64(writer, value)
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.silent > 0 {
            self.silent += 1;
            return Ok(());
        }
        writer.write_all(b"[")?;
        let within = self.open.last().copied().unwrap_or(false);
        self.silent = usize::from(within && self.key == LEFT_OUT);
        self.open.push(self.key == LEFT_OUT_IN);
        Ok(())
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.silent = self.silent.saturating_sub(1);
        if self.silent == 0 {
            self.open.pop();
        }
        self.put(writer, b"]")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.comma(writer, first)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.key.clear();
        self.put(writer, b"{")
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.put(writer, b"}")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.key.clear();
        self.in_key = true;
        self.comma(writer, first)
    }

    fn end_object_key<W: ?Sized + Write>(&mut self, _writer: &mut W) -> io::Result<()> {
        self.in_key = false;
        Ok(())
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.put(writer, b":")
    }

    fn begin_string<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.put(writer, b"\"")
    }

    fn end_string<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.put(writer, b"\"")
    }

    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        if self.silent > 0 {
            return Ok(());
        }
        if self.in_key {
            self.key.extend_from_slice(fragment.as_bytes());
        }
        let mut rest = fragment;
        while let Some(at) = rest.find(['<', '>', '&']) {
            writer.write_all(&rest.as_bytes()[..at])?;
            write!(writer, "\\u{:04x}", rest.as_bytes()[at])?;
            rest = &rest[at + 1..];
        }
        writer.write_all(rest.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::tell;
    use crate::report::sample;

    fn told(value: &impl serde::Serialize) -> String {
        let mut out = Vec::new();
        tell(value, &mut out).expect("JSON");
        String::from_utf8(out).expect("UTF-8")
    }

    /// What is read back is what was told, and no markup is in between.
    #[test]
    fn nothing_can_end_the_block() {
        let value = json!({"</script><script>": ["<!--", "a & b > c", {"x": null, "n": [1, -2, 0.5, true]}]});
        let text = told(&value);
        assert!(!text.contains(['<', '>', '&']), "{text}");
        assert_eq!(serde_json::from_str::<Value>(&text).expect("JSON"), value);
    }

    #[test]
    fn only_the_rows_of_views_are_left_out() {
        let value = json!({"views": [{"rows": [[1, [2]], {"rows": [3]}], "n": [4]}], "canon": {"rows": [5]}});
        let expected = json!({"views": [{"rows": [], "n": [4]}], "canon": {"rows": [5]}});
        assert_eq!(
            serde_json::from_str::<Value>(&told(&value)).expect("JSON"),
            expected
        );
    }

    #[test]
    fn the_report_is_whole_but_for_its_rows() {
        let report = sample::report();
        let mut whole = serde_json::to_value(&report).expect("JSON");
        for view in whole["views"].as_array_mut().expect("views") {
            assert!(!view["rows"].as_array().expect("rows").is_empty());
            view["rows"] = json!([]);
        }
        assert_eq!(
            serde_json::from_str::<Value>(&told(&report)).expect("JSON"),
            whole
        );
    }
}
