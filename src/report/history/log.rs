//! The file: lines appended one by one, read back in their order.

use std::fs::{File, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::Path;

use serde::de::IgnoredAny;

use super::{Entry, HISTORY_SCHEMA};
use crate::error::{Error, Result};
use crate::report::files::unwritable;

/// Bytes that are read at once from the end to find where the last line begins.
const PIECE: u64 = 64 << 10;
/// Most bytes of a log that is read: at ten thousand a check those of some fifty thousand checks.
const LONGEST: u64 = 512 << 20;

/// The lines of a log.
#[derive(Debug, Clone, Default)]
pub struct Log {
    /// In the order in which they were written.
    pub entries: Vec<Entry>,
    /// Numbers of lines, from 1, that cannot be read: torn, or another program's.
    pub unread: Vec<usize>,
    /// The last line was left unfinished.
    pub torn: bool,
}

/// Appends a line, with one write, while no other program of this kind writes or reads. What a killed program left of a
/// line is removed first.
///
/// # Errors
/// The file cannot be written to; it is then as it was.
pub fn append(path: &Path, entry: &Entry) -> Result<()> {
    let no = |e: &std::io::Error| unwritable(path, e);
    let mut line = serde_json::to_vec(entry)
        .map_err(|e| Error::new(format!("the history's line cannot be made ({e})")))?;
    line.push(b'\n');
    let mut file = OpenOptions::new()
        .read(true)
        .append(true)
        .create(true)
        .open(path)
        .map_err(|e| no(&e))?;
    locked(file.lock()).map_err(|e| no(&e))?;
    // The lock goes with the file, which is closed at the end of this.
    let length = mend(&mut file).map_err(|e| no(&e))?;
    file.write_all(&line).map_err(|e| {
        // A full disk takes a part of it.
        let _ = file.set_len(length);
        no(&e)
    })
}

/// A file system without locks leaves it to single writes.
fn locked(result: std::io::Result<()>) -> std::io::Result<()> {
    match result {
        Err(e) if e.kind() == std::io::ErrorKind::Unsupported => Ok(()),
        other => other,
    }
}

/// Makes the file end with a whole line; its length then. A last line that only lacks its end gets it.
fn mend(file: &mut File) -> std::io::Result<u64> {
    let length = file.metadata()?.len();
    let mut tail: Vec<u8> = Vec::new();
    let mut from = length;
    while from > 0 && !tail.contains(&b'\n') {
        let piece = PIECE.min(from);
        from -= piece;
        file.seek(SeekFrom::Start(from))?;
        let mut more = vec![0; piece as usize];
        file.read_exact(&mut more)?;
        more.append(&mut tail);
        tail = more;
    }
    let begins = tail.iter().rposition(|b| *b == b'\n').map_or(0, |k| k + 1);
    let last = &tail[begins..];
    if last.is_empty() {
        return Ok(length);
    }
    if serde_json::from_slice::<IgnoredAny>(last).is_ok() {
        file.write_all(b"\n")?;
        return Ok(length + 1);
    }
    let whole = length - last.len() as u64;
    file.set_len(whole)?;
    Ok(whole)
}

/// Reads a log; one that is not there has no lines.
///
/// # Errors
/// The file cannot be read, or is longer than any log.
pub fn read(path: &Path) -> Result<Log> {
    let no = |e: std::io::Error| {
        Error::new(format!("the history cannot be read ({e})"))
            .in_file(path)
            .advise("check the path")
    };
    let file = match File::open(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Log::default()),
        other => other.map_err(no)?,
    };
    locked(file.lock_shared()).map_err(no)?;
    let mut text = Vec::new();
    (&file).take(LONGEST + 1).read_to_end(&mut text).map_err(no)?;
    if text.len() as u64 > LONGEST {
        return Err(Error::new(format!("the history has more than {LONGEST} bytes"))
            .in_file(path)
            .advise("move it away, a new one is begun"));
    }
    let mut log = Log::default();
    for (i, line) in text.split(|b| *b == b'\n').enumerate() {
        if line.trim_ascii().is_empty() {
            continue;
        }
        match serde_json::from_slice::<Entry>(line) {
            Ok(entry) if entry.schema == HISTORY_SCHEMA => log.entries.push(entry),
            _ => {
                log.unread.push(i + 1);
                log.torn = !text.ends_with(b"\n");
            }
        }
    }
    Ok(log)
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, SystemTime};

    use super::*;
    use crate::report::{json, sample};

    fn entry(name: &str) -> Entry {
        let report = json::write(&sample::report()).expect("a report");
        let time = SystemTime::UNIX_EPOCH + Duration::from_secs(951_782_400);
        Entry::new(&report, Some(name), time).expect("a line")
    }

    fn names(log: &Log) -> Vec<&str> {
        log.entries.iter().filter_map(|e| e.name.as_deref()).collect()
    }

    /// 951,782,400 seconds after 1970 is the leap day of 2000 (29 February, counted by the calendar).
    #[test]
    fn a_line_is_the_report_in_short() {
        let one = entry("week 9");
        assert_eq!(one.time, "2000-02-29T00:00:00Z");
        let report = sample::report();
        assert_eq!(one.short.views.len(), report.views.len());
        for (short, view) in one.short.views.iter().zip(&report.views) {
            assert_eq!(short.findings.len(), view.findings.len());
            assert!((short.summary.iou - view.summary.iou).abs() < 1e-12);
        }
        let text = serde_json::to_string(&one).expect("JSON");
        assert!(!text.contains("rows\":[") && !text.contains('\n'), "{text}");
        assert_eq!(serde_json::from_str::<Entry>(&text).expect("read"), one);
    }

    #[test]
    fn lines_come_back_in_their_order() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("history.jsonl");
        assert!(read(&path).expect("none yet").entries.is_empty());
        for name in ["a", "b", "c"] {
            append(&path, &entry(name)).expect("written");
        }
        let log = read(&path).expect("read");
        assert_eq!(names(&log), ["a", "b", "c"]);
        assert!(log.unread.is_empty());
    }

    /// Cut anywhere in its last line, the log keeps all the others, and the next line is whole.
    #[test]
    fn a_torn_line_is_passed_over_and_mended() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("history.jsonl");
        append(&path, &entry("a")).expect("written");
        let first = std::fs::read(&path).expect("there");
        append(&path, &entry("b")).expect("written");
        let both = std::fs::read(&path).expect("there");
        for cut in (first.len()..both.len()).step_by(97).chain([both.len() - 1]) {
            std::fs::write(&path, &both[..cut]).expect("cut");
            let log = read(&path).expect("read");
            let whole = cut == both.len() - 1;
            let torn = cut > first.len() && !whole;
            assert_eq!(
                names(&log),
                if whole { vec!["a", "b"] } else { vec!["a"] },
                "{cut}"
            );
            assert_eq!(&log.unread[..], if torn { &[2][..] } else { &[] }, "{cut}");
            append(&path, &entry("c")).expect("written");
            let log = read(&path).expect("read");
            let kept: &[&str] = if whole { &["a", "b", "c"] } else { &["a", "c"] };
            assert_eq!((names(&log).as_slice(), log.unread.len()), (kept, 0), "{cut}");
        }
    }

    /// A last line longer than what is read at once.
    #[test]
    fn a_long_torn_line_goes_whole() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("history.jsonl");
        append(&path, &entry("a")).expect("written");
        let mut text = std::fs::read(&path).expect("there");
        let first = text.len();
        text.extend(std::iter::repeat_n(b'{', 3 * PIECE as usize));
        std::fs::write(&path, &text).expect("written");
        append(&path, &entry("b")).expect("written");
        let found = std::fs::read(&path).expect("there");
        assert_eq!(found[..first], text[..first]);
        assert_eq!(names(&read(&path).expect("read")), ["a", "b"]);
    }

    #[test]
    fn many_writers_at_once_lose_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("history.jsonl");
        std::thread::scope(|s| {
            for writer in 0..8 {
                let path = &path;
                s.spawn(move || {
                    for k in 0..25 {
                        append(path, &entry(&format!("{writer} {k}"))).expect("written");
                    }
                });
            }
        });
        let log = read(&path).expect("read");
        assert!(log.unread.is_empty());
        for writer in 0..8 {
            let own: Vec<&str> = names(&log)
                .into_iter()
                .filter(|n| n.starts_with(&format!("{writer} ")))
                .collect();
            let expected: Vec<String> = (0..25).map(|k| format!("{writer} {k}")).collect();
            assert_eq!(own, expected);
        }
    }
}
