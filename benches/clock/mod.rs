//! The shortest of some runs: elapsed, and what the processors worked on it; and the process's peak of memory.
#![allow(dead_code, reason = "every benchmark uses another part of it")]

use std::fmt;
use std::time::Instant;

/// Runs of each thing that is timed, fewer of what takes long.
const RUNS: usize = 15;
/// Milliseconds after which no further run is begun.
const LONG: f64 = 10_000.0;

/// Milliseconds, the least of all runs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Took {
    elapsed: f64,
    worked: f64,
}

impl fmt::Display for Took {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} / {:.1}", self.elapsed, self.worked)
    }
}

/// Milliseconds that all threads of this process have worked; not a number where the system does not tell.
fn worked() -> f64 {
    let Ok(tasks) = std::fs::read_dir("/proc/self/task") else {
        return f64::NAN;
    };
    let nanoseconds = tasks.filter_map(|task| {
        let text = std::fs::read_to_string(task.ok()?.path().join("schedstat")).ok()?;
        text.split(' ').next()?.parse::<f64>().ok()
    });
    nanoseconds.sum::<f64>() / 1e6
}

/// Runs it some times.
pub(crate) fn shortest(mut run: impl FnMut()) -> Took {
    let mut took = Took {
        elapsed: f64::INFINITY,
        worked: f64::INFINITY,
    };
    let begin = Instant::now();
    for _ in 0..RUNS {
        if 1000.0 * begin.elapsed().as_secs_f64() > LONG {
            break;
        }
        let (start, before) = (Instant::now(), worked());
        run();
        took.elapsed = took.elapsed.min(1000.0 * start.elapsed().as_secs_f64());
        took.worked = took.worked.min(worked() - before);
    }
    took
}

/// Bytes of memory that this process has held at most; 0 where the system does not tell.
pub(crate) fn peak() -> u64 {
    let text = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = text.lines().find(|l| l.starts_with("VmHWM:")).unwrap_or_default();
    let kib = line.split_whitespace().nth(1).and_then(|n| n.parse::<u64>().ok());
    1024 * kib.unwrap_or(0)
}
