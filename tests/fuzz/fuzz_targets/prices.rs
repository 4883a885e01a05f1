//! See `studbay_fuzz::prices`.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| studbay_fuzz::prices(data));
