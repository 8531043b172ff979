//! Calls readers of other people's files: a panic of theirs is one more way of a file being unreadable.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};

thread_local! {
    static INSIDE: Cell<bool> = const { Cell::new(false) };
}

/// What a library gives, or nothing where it panicked. It must not begin work on other threads.
pub(crate) fn caught<T>(library: impl FnOnce() -> T) -> Option<T> {
    let before = INSIDE.replace(true);
    let done = catch_unwind(AssertUnwindSafe(library));
    INSIDE.set(before);
    done.ok()
}

/// Whether this thread is reading through a library that is watched: a panic then becomes an error, so a panic hook need not report it.
pub fn is_caught() -> bool {
    INSIDE.get()
}
