//! From the end of saving a mesh to its result in the page's hands, as a distribution: the program watches, a page listens,
//! and a mesh of 50,000 quads is saved again and again, in place and by renaming, each time with another content.
//!
//! `cargo bench --bench watch` makes 200 saves; `-- N` others, `-- N QUADS` of other meshes. What a browser needs to paint
//! the result comes on top; the browser's test prints it. Milliseconds of a shared machine mean little: the same saves
//! are made by nobody else.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

#[path = "whole_check/loads.rs"]
#[allow(dead_code, reason = "one load is made")]
mod loads;

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use loads::{Load, files};

/// Between two saves: the files of the one before are written meanwhile.
const APART: Duration = Duration::from_millis(900);
/// Width of a bar of the distribution, milliseconds.
const BAR: usize = 25;

/// Ends the program whatever happens.
struct Watching(Child);

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A page's stream of events.
struct Listening {
    stream: TcpStream,
    buffer: Vec<u8>,
}

impl Listening {
    fn new(address: &str) -> Self {
        let mut stream = TcpStream::connect(address).expect("the page");
        write!(stream, "GET /events HTTP/1.1\r\nHost: {address}\r\n\r\n").expect("asked");
        Self {
            stream,
            buffer: Vec::new(),
        }
    }

    /// Waits for the whole of the next result.
    fn result(&mut self) {
        let (mut begun, mut part) = (false, vec![0; 1 << 20]);
        loop {
            let find = |what: &[u8], of: &[u8]| of.windows(what.len()).position(|w| w == what);
            begun = begun || find(b"event: check", &self.buffer).is_some();
            // What follows it in the same breath.
            if begun && find(b"event: state", &self.buffer).is_some() {
                self.buffer.clear();
                return;
            }
            if begun {
                let keep = self.buffer.len().saturating_sub(64);
                self.buffer.drain(..keep);
            }
            let n = self.stream.read(&mut part).expect("an event");
            assert!(n > 0, "the stream ended");
            self.buffer.extend_from_slice(&part[..n]);
        }
    }
}

/// The mesh with every vertex moved sideways by a little.
fn moved(obj: &str, save: usize) -> String {
    let by = 1.0 + 0.0004 * (save % 97) as f64;
    let mut out = String::with_capacity(obj.len() + 64);
    for line in obj.lines() {
        if let Some((x, rest)) = line.strip_prefix("v ").and_then(|l| l.split_once(' ')) {
            let x: f64 = x.parse().expect("a number");
            out.push_str(&format!("v {:.6} {rest}\n", x * by));
        } else {
            out.push_str(line);
            out.push('\n');
        }
    }
    out
}

fn save(path: &Path, text: &str, by_renaming: bool) -> Instant {
    if by_renaming {
        let new = path.with_extension("new");
        fs::write(&new, text).expect("written");
        fs::rename(&new, path).expect("renamed");
    } else {
        fs::write(path, text).expect("written");
    }
    Instant::now()
}

fn told(name: &str, mut all: Vec<f64>) {
    all.sort_by(f64::total_cmp);
    let at = |share: f64| all[((all.len() - 1) as f64 * share).round() as usize];
    println!(
        "{name}: {} saves, median {:.0} ms, 90 % within {:.0}, 95 % within {:.0}, 99 % within {:.0}, least {:.0}, most {:.0}",
        all.len(),
        at(0.5),
        at(0.9),
        at(0.95),
        at(0.99),
        at(0.0),
        at(1.0)
    );
    let mut bars = std::collections::BTreeMap::new();
    for v in &all {
        *bars.entry(*v as usize / BAR).or_insert(0usize) += 1;
    }
    for (bar, n) in bars {
        println!(
            "  {:>4} to {:>4} ms {n:>4} {}",
            bar * BAR,
            (bar + 1) * BAR,
            "#".repeat((60 * n).div_ceil(all.len()))
        );
    }
}

fn main() {
    let mut numbers = std::env::args().skip(1).filter_map(|a| a.parse::<usize>().ok());
    let (saves, quads) = (numbers.next().unwrap_or(200), numbers.next().unwrap_or(50_000));
    let folder = std::env::temp_dir().join(format!("drawntrue-watch-{}", std::process::id()));
    fs::create_dir_all(&folder).expect("a folder");
    let load = Load {
        name: "watched",
        quads,
        sheet_px: 2_000,
    };
    let made = files(&load, &folder);
    let obj = fs::read_to_string(&made.mesh).expect("the mesh");
    let mut program = Watching(
        Command::new(env!("CARGO_BIN_EXE_drawntrue"))
            .arg("watch")
            .arg(&made.mesh)
            .arg("--sheet")
            .arg(&made.sheet)
            .arg("--out")
            .arg(folder.join("out"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program"),
    );
    let mut lines = BufReader::new(program.0.stdout.take().expect("its words")).lines();
    let first = lines.next().expect("a line").expect("text");
    let address = first
        .split_once("http://")
        .expect("an address")
        .1
        .trim_end_matches('/')
        .to_string();
    // Nobody may wait for us to read.
    let rest = std::thread::spawn(move || lines.map_while(Result::ok).collect::<Vec<String>>());
    let mut page = Listening::new(&address);
    page.result();
    std::thread::sleep(2 * APART);
    let mut took: [Vec<f64>; 2] = Default::default();
    for n in 0..saves {
        let text = moved(&obj, n + 1);
        let since = save(&made.mesh, &text, n % 2 == 1);
        page.result();
        took[n % 2].push(1000.0 * since.elapsed().as_secs_f64());
        std::thread::sleep(APART);
    }
    let faces = obj.lines().filter(|l| l.starts_with("f ")).count();
    println!(
        "{faces} quads, {:.1} MB, sheet of {} rows",
        obj.len() as f64 / 1e6,
        load.sheet_px
    );
    let all = took.concat();
    told("in place", took[0].clone());
    told("by renaming", took[1].clone());
    told("all", all);
    drop(program);
    let own: Vec<f64> = rest
        .join()
        .expect("its lines")
        .iter()
        .filter_map(|l| l.rsplit_once("| ")?.1.strip_suffix(" ms")?.parse().ok())
        .skip(1)
        .collect();
    if !own.is_empty() {
        told(
            "as the program says: from the sign of saving to the compared result",
            own,
        );
    }
    let _ = fs::remove_dir_all(&folder);
}
