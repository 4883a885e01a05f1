//! See `studbay_fuzz::keys`.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| studbay_fuzz::keys(data));
