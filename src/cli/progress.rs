//! One line on standard error while a step takes longer than half a second; nothing when it does not.

use std::io::{IsTerminal as _, Write as _};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

/// A step that is over sooner is not announced.
const PATIENCE: Duration = Duration::from_millis(500);

/// Announces steps from a thread of its own, on a terminal only.
pub(super) struct Progress {
    steps: Option<Sender<&'static str>>,
    thread: Option<JoinHandle<()>>,
}

impl Progress {
    /// Silent unless `wanted` and standard error is a terminal.
    pub(super) fn new(wanted: bool) -> Self {
        if !wanted || !std::io::stderr().is_terminal() {
            return Self {
                steps: None,
                thread: None,
            };
        }
        let (steps, heard) = channel::<&'static str>();
        let thread = std::thread::spawn(move || {
            let mut current: Option<&'static str> = None;
            let mut shown = false;
            loop {
                let next = match current.filter(|_| !shown) {
                    Some(_) => heard.recv_timeout(PATIENCE),
                    None => heard.recv().map_err(|_| RecvTimeoutError::Disconnected),
                };
                match next {
                    Ok(step) => (current, shown) = (Some(step), false),
                    Err(RecvTimeoutError::Timeout) => {
                        shown = true;
                        // Progress that cannot be shown is no failure.
                        let _ = writeln!(std::io::stderr(), "{} …", current.unwrap_or_default());
                    }
                    Err(RecvTimeoutError::Disconnected) => return,
                }
            }
        });
        Self {
            steps: Some(steps),
            thread: Some(thread),
        }
    }

    /// Begins a step.
    pub(super) fn step(&self, name: &'static str) {
        if let Some(steps) = &self.steps {
            let _ = steps.send(name);
        }
    }

    /// Ends the announcements.
    pub(super) fn done(mut self) {
        self.steps = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
