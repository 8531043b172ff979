//! The one display of progress of a cast, on standard error: how many are done, which are being checked, what failed.

use std::sync::Mutex;
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::held;
use crate::report::cast::Character;

/// The display is drawn anew so often while nothing ends.
const TICK: Duration = Duration::from_millis(250);
/// Names that are shown at once.
const MOST_NAMES: usize = 3;

/// A bar that hides itself where standard error is no terminal; failures are said there in any case.
pub(super) struct Bar {
    bar: ProgressBar,
    now: Mutex<Vec<String>>,
}

impl Bar {
    pub(super) fn new(count: usize, wanted: bool) -> Self {
        let target = if wanted {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(Some(count as u64), target);
        if let Ok(style) =
            ProgressStyle::with_template("{bar:30} {pos} of {len} characters, {elapsed}; {wide_msg}")
        {
            bar.set_style(style);
        }
        if !bar.is_hidden() {
            bar.enable_steady_tick(TICK);
        }
        Self {
            bar,
            now: Mutex::default(),
        }
    }

    pub(super) fn begins(&self, name: &str) {
        let mut now = held(&self.now);
        now.push(name.to_string());
        self.bar.set_message(told(&now));
    }

    pub(super) fn ended(&self, character: &Character) {
        let mut now = held(&self.now);
        now.retain(|n| *n != character.name);
        self.bar.set_message(told(&now));
        if let Some(error) = &character.error {
            self.bar
                .suspend(|| anstream::eprintln!("drawntrue: {}: {error}", character.name));
        }
        self.bar.inc(1);
    }

    pub(super) fn over(&self) {
        self.bar.finish_and_clear();
    }
}

fn told(names: &[String]) -> String {
    let shown = names
        .iter()
        .take(MOST_NAMES)
        .cloned()
        .collect::<Vec<_>>()
        .join(", ");
    match names.len().saturating_sub(MOST_NAMES) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
