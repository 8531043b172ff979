//! Mutates real files for as long as asked and gives each to its reader: no panic, no endless loop, no memory beyond the
//! limit. Needs the stable compiler only; the targets in `fuzz/` need nightly and see which code was reached.
//!
//! `cargo run --release --example fuzz_readers -- READER SECONDS SEED FOLDER`, READER: mesh, format, picture, figures, setup;
//! `fuzz_readers seeds FOLDER` writes the real files for `cargo fuzz`. An input that breaks a reader is written to FOLDER.
//! What to do with one: put it into `tests/hostile_files.rs` as a test with a name, then mend the reader.

#[path = "../tests/hostile/mod.rs"]
mod hostile;

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use hostile::{draw, holds, mutate, seeds};

/// An input that takes more time of the processor is taken as an endless loop. The slowest sound one takes a tenth.
const MOST_TIME: Duration = Duration::from_secs(10);
/// Memory that the process may take: what the limits of `holds` allow is a tenth.
const MOST_MEMORY: u64 = 1 << 30;
/// How often time and memory are looked at.
const LOOK: Duration = Duration::from_millis(50);
const USAGE: &str = "fuzz_readers READER SECONDS SEED FOLDER | fuzz_readers seeds FOLDER";

/// What is being read now, and what the process had taken of the processor before. A clock on the wall would blame the
/// input for what other programs do.
type Now = Arc<Mutex<(Vec<u8>, Duration)>>;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let parts: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let done = match parts.as_slice() {
        ["seeds", folder] => write_seeds(Path::new(folder)),
        [reader, seconds, seed, folder] => match (seconds.parse(), seed.parse()) {
            (Ok(seconds), Ok(seed)) => run(reader, Duration::from_secs(seconds), seed, Path::new(folder)),
            _ => Err(USAGE.to_string()),
        },
        _ => Err(USAGE.to_string()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(what) => {
            eprintln!("{what}");
            ExitCode::FAILURE
        }
    }
}

/// Real files, and what reads them.
type Reader = (Vec<Vec<u8>>, fn(&[u8]));

/// The seeds and the function of a reader.
fn reader(name: &str) -> Option<Reader> {
    let files = |all: &[seeds::Seed]| all.iter().map(|(_, b)| b.to_vec()).collect();
    Some(match name {
        "mesh" => (files(seeds::MESHES), holds::mesh),
        "format" => (files(seeds::FORMATS), holds::format),
        "picture" => (files(seeds::PICTURES), holds::picture),
        "figures" => (seeds::drawings(), |bytes| {
            let overrules = holds::overrules(bytes.get(4..).unwrap_or_default());
            holds::figures(&draw::drawn(bytes), &overrules);
        }),
        "setup" => (files(seeds::SETUPS), |bytes| {
            holds::setup(bytes, &seeds::side_view());
        }),
        _ => return None,
    })
}

fn write_seeds(folder: &Path) -> Result<(), String> {
    for name in ["mesh", "format", "picture", "figures", "setup"] {
        let (all, _) = reader(name).ok_or(USAGE)?;
        let to = folder.join(name);
        std::fs::create_dir_all(&to).map_err(|e| e.to_string())?;
        for (i, bytes) in all.iter().enumerate() {
            std::fs::write(to.join(format!("seed-{i}")), bytes).map_err(|e| e.to_string())?;
        }
    }
    Ok(())
}

fn run(name: &str, time: Duration, seed: u64, folder: &Path) -> Result<(), String> {
    let (files, read) = reader(name).ok_or(USAGE)?;
    let files: Vec<&[u8]> = files.iter().map(Vec::as_slice).collect();
    std::fs::create_dir_all(folder).map_err(|e| e.to_string())?;
    let now: Now = Arc::new(Mutex::new((Vec::new(), processor())));
    watch(&now, name, folder);
    let (begun, mut count, mut broken, mut slowest) = (Instant::now(), 0u64, 0u64, Duration::ZERO);
    while begun.elapsed() < time {
        let number = seed.wrapping_add(count);
        let bytes = mutate::mutate(&files, &mut mutate::Rng::new(number));
        let since = processor();
        *now.lock().map_err(|e| e.to_string())? = (bytes.clone(), since);
        if std::panic::catch_unwind(|| read(&bytes)).is_err() {
            broken += 1;
            let to = save(folder, name, "panic", number, &bytes);
            eprintln!("{name}: a panic, input in {}", to.display());
        }
        slowest = slowest.max(processor().saturating_sub(since));
        count += 1;
    }
    eprintln!(
        "{name}: {count} inputs in {:?}, {broken} panics, slowest {slowest:?}",
        begun.elapsed()
    );
    if broken > 0 {
        Err(format!("{name}: {broken} panics"))
    } else {
        Ok(())
    }
}

fn save(folder: &Path, name: &str, what: &str, number: u64, bytes: &[u8]) -> PathBuf {
    let to = folder.join(format!("{name}-{what}-{number}"));
    if let Err(e) = std::fs::write(&to, bytes) {
        eprintln!("{}: {e}", to.display());
    }
    to
}

/// Ends the process, its input saved, where an input takes too long or too much memory.
fn watch(now: &Now, name: &str, folder: &Path) {
    let (now, name, folder) = (Arc::clone(now), name.to_string(), folder.to_path_buf());
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(LOOK);
            let Ok(reading) = now.lock() else { return };
            let what = if processor().saturating_sub(reading.1) > MOST_TIME && !reading.0.is_empty() {
                "slow"
            } else if memory() > MOST_MEMORY {
                "memory"
            } else {
                continue;
            };
            let to = save(&folder, &name, what, 0, &reading.0);
            eprintln!("{name}: {what}, input in {}", to.display());
            std::process::exit(2);
        }
    });
}

/// Time that this process has taken of the processor; 0 where the system does not say.
fn processor() -> Duration {
    /// Ticks of a second on the systems that have this file.
    const TICKS: u64 = 100;
    /// Fields behind the name in brackets before the time in the program and in the system (proc(5): fields 14, 15).
    const BEFORE: usize = 11;
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = text.rsplit(") ").next().unwrap_or_default().split(' ');
    let ticks: u64 = fields
        .skip(BEFORE)
        .take(2)
        .filter_map(|t| t.parse::<u64>().ok())
        .sum();
    Duration::from_millis(ticks * 1000 / TICKS)
}

/// Memory of this process in bytes; 0 where the system does not say.
fn memory() -> u64 {
    /// Bytes of a page on the machines that have this file.
    const PAGE: u64 = 4096;
    std::fs::read_to_string("/proc/self/statm")
        .ok()
        .and_then(|t| t.split(' ').nth(1)?.parse::<u64>().ok())
        .map_or(0, |pages| pages * PAGE)
}
