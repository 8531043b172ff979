//! Writes the files of the newest result while nothing is saved, on a thread of its own and one processor.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::session::Good;
use crate::cli::check::{self, CheckArguments, Wanted, outputs};
use crate::error::{Error, Result};

/// From a result on it is waited so long for a newer one: writing would slow its check.
const IDLE: Duration = Duration::from_millis(300);

#[derive(Default)]
struct Slot {
    newest: Option<(Arc<Good>, Instant)>,
    ending: bool,
}

/// Writes results.
pub(super) struct Writer {
    shared: Arc<(Mutex<Slot>, Condvar)>,
    thread: JoinHandle<Result<()>>,
}

fn locked(slot: &Mutex<Slot>) -> MutexGuard<'_, Slot> {
    // A slot holds what it holds, whatever happened to who held it.
    slot.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Writer {
    /// `failed` is told what cannot be written.
    pub(super) fn start(arguments: &CheckArguments, failed: impl Fn(Error) + Send + 'static) -> Result<Self> {
        let no = |e: &dyn std::fmt::Display| Error::new(format!("no thread is left to write with ({e})"));
        let one = rayon::ThreadPoolBuilder::new()
            .num_threads(1)
            .thread_name(|_| "writer".to_string())
            .start_handler(|_| give_way())
            .build()
            .map_err(|e| no(&e))?;
        let arguments = arguments.clone();
        let shared = Arc::new((Mutex::new(Slot::default()), Condvar::new()));
        let own = shared.clone();
        let thread = std::thread::Builder::new()
            .name("files".to_string())
            .spawn(move || {
                loop {
                    let (good, ending) = next(&own);
                    let Some(good) = good else {
                        return Ok(());
                    };
                    match one.install(|| write(&good, &arguments)) {
                        Err(e) if ending => return Err(e),
                        Err(e) => failed(e),
                        Ok(()) => {}
                    }
                }
            })
            .map_err(|e| no(&e))?;
        Ok(Self { shared, thread })
    }

    /// This result is the one to be written.
    pub(super) fn write(&self, good: Arc<Good>) {
        locked(&self.shared.0).newest = Some((good, Instant::now()));
        self.shared.1.notify_one();
    }

    /// Writes what is left and ends.
    pub(super) fn finish(self) -> Result<()> {
        locked(&self.shared.0).ending = true;
        self.shared.1.notify_one();
        self.thread
            .join()
            .unwrap_or_else(|_| Err(Error::new("the last result could not be written")))
    }
}

/// The next check comes first, where the system has an order for threads: on Linux each has its own. What is refused
/// changes nothing but who waits.
fn give_way() {
    #[cfg(target_os = "linux")]
    {
        /// Half of what there is to give.
        const WAY: i32 = 10;
        let _ = rustix::process::nice(WAY);
    }
}

/// The newest result, once nothing newer came for a while; and whether this is the end.
fn next((slot, changed): &(Mutex<Slot>, Condvar)) -> (Option<Arc<Good>>, bool) {
    let mut held = locked(slot);
    loop {
        let wait = match &held.newest {
            Some((_, at)) if !held.ending => IDLE.saturating_sub(at.elapsed()),
            None if !held.ending => Duration::MAX,
            _ => Duration::ZERO,
        };
        if wait.is_zero() {
            return (held.newest.take().map(|n| n.0), held.ending);
        }
        held = if wait == Duration::MAX {
            changed.wait(held).unwrap_or_else(PoisonError::into_inner)
        } else {
            changed
                .wait_timeout(held, wait)
                .unwrap_or_else(PoisonError::into_inner)
                .0
        };
    }
}

fn write(good: &Good, arguments: &CheckArguments) -> Result<()> {
    let outputs = outputs(
        &good.checked,
        &good.sheets.pictures,
        &good.sheets.images,
        arguments,
        Wanted::default(),
    )?;
    let inputs: Vec<_> = good.inputs.iter().map(std::path::PathBuf::as_path).collect();
    check::write(arguments, &outputs, &inputs).map(drop)
}
