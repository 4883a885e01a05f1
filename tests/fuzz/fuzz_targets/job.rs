//! See `studbay_fuzz::job`.
#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| studbay_fuzz::within_a_second(|| studbay_fuzz::job(data)));

libfuzzer_sys::fuzz_mutator!(|data: &mut [u8], size: usize, most: usize, random: u32| {
    let change = |data: &mut [u8], size, most| libfuzzer_sys::fuzzer_mutate(data, size, most);
    studbay_fuzz::words::mutate(data, size, most, random, change)
});
