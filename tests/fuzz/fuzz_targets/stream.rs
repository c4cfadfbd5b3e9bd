//! Samples and marks as they come give what the whole record gives, bit for bit, or an error; never a panic.
#![no_main]

use counterpoise::synchronous::{Extraction, Mark, Order, Rotation};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: (u16, u16, Vec<i16>, Vec<u8>)| {
    let (rate, order, samples, steps) = data;
    let rate = f64::from(rate) + 1.0;
    let Ok(other) = Order::of_rotor(f64::from(order) / 256.0) else { return };
    let Ok(extraction) = Extraction::new([Order::ONCE_PER_TURN, other], rate) else { return };
    let mut now = 0.0;
    let marks: Vec<Mark> = steps
        .iter()
        .zip(0_u32..)
        .map(|(&step, turn)| {
            now += (f64::from(step) + 1.0) / rate;
            Mark { seconds: now, turns: f64::from(turn) }
        })
        .collect();
    let mut stream = extraction.stream::<1024>();
    let mut coming = marks.iter().copied().peekable();
    let mut whole = true;
    for (i, &sample) in samples.iter().enumerate() {
        whole &= stream.sample(sample).is_ok();
        while let Some(mark) = coming.next_if(|mark| mark.seconds <= i as f64 / rate) {
            whole &= stream.mark(mark).is_ok();
        }
    }
    let seen: Vec<Mark> = marks.iter().copied().filter(|mark| mark.seconds <= (samples.len() as f64 - 1.0) / rate).collect();
    let streamed = stream.finish();
    let Ok(rotation) = Rotation::through(&seen) else { return };
    let block = extraction.extract(&samples, &rotation);
    if whole {
        assert_eq!(format!("{streamed:?}"), format!("{block:?}"));
    }
    if let Ok(vector) = block {
        assert!(vector.once_per_turn().is_finite());
    }
});
