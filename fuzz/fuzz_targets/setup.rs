//! Target: a setup file: parsed, tried on a drawing, written again.
#![no_main]

#[path = "../../tests/hostile/mod.rs"]
mod hostile;

use std::sync::LazyLock;

use drawntrue::sheet::picture::Picture;
use libfuzzer_sys::fuzz_target;

static PICTURE: LazyLock<Picture> = LazyLock::new(hostile::seeds::side_view);

fuzz_target!(|bytes: &[u8]| {
    hostile::holds::setup(bytes, &PICTURE);
});
