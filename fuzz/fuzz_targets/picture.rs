//! Target: a picture file: decoded and read.
#![no_main]

#[path = "../../tests/hostile/mod.rs"]
mod hostile;

use drawntrue::sheet::decode::is_decoding;
use libfuzzer_sys::fuzz_target;

fuzz_target!(
    init: {
        // libFuzzer ends at any panic; a decoder's own is caught by the reader and no fault of it.
        let end = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            if !is_decoding() {
                end(panic);
            }
        }));
    },
    |bytes: &[u8]| {
        hostile::holds::picture(bytes);
    }
);
