//! Target: a mesh file of another format than OBJ: glTF, PLY, STL.
#![no_main]

#[path = "../../tests/hostile/mod.rs"]
mod hostile;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    hostile::holds::format(bytes);
});
