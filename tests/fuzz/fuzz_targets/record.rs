//! Any text is a record, or coefficients, or an error with its place; what was read comes back from its own text.
#![no_main]

use counterpoise::json;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(stored) = json::coefficients_from_text(text) {
        let again = json::coefficients_to_text(&stored).expect("what was read can be written");
        assert_eq!(json::coefficients_from_text(&again).expect("what was written can be read"), stored);
    }
    if let Ok(record) = json::record_from_text(text) {
        let again = json::to_text(&record).expect("what was read can be written");
        assert_eq!(json::record_from_text(&again).expect("what was written can be read"), record);
        let state = record.state();
        let _ = state.estimator(record.machine()).map(|estimator| estimator.fit());
        let _ = state.examination(record.machine());
    }
});
