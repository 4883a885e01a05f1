//! See `studbay_fuzz::typed`.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| studbay_fuzz::within_a_second(|| studbay_fuzz::typed(data)));
