//! Target: a drawing made of bytes, with overrules: read into figures.
#![no_main]

#[path = "../../tests/hostile/mod.rs"]
mod hostile;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let overrules = hostile::holds::overrules(bytes.get(4..).unwrap_or_default());
    hostile::holds::figures(&hostile::draw::drawn(bytes), &overrules);
});
