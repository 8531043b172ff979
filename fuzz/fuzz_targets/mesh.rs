//! Target: a mesh file: read, prepared, projected, repaired.
#![no_main]

#[path = "../../tests/hostile/mod.rs"]
mod hostile;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    hostile::holds::mesh(bytes);
});
