//! Any pulses are read as marks that follow one another, or refused; nothing is lost.
#![no_main]

use counterpoise::synchronous::{MarkPattern, PulseGate, PulseTrain};
use counterpoise::{Speed, SpeedWindow};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: (u8, u8, Vec<u16>, Option<f64>)| {
    let (places, missing, steps, odd) = data;
    // Mostly rising times; now and then any number at all.
    let mut now = 0.0;
    let mut seconds: Vec<f64> = steps
        .iter()
        .map(|&step| {
            now += f64::from(step) * 1e-4;
            now
        })
        .collect();
    if let (Some(odd), Some(last)) = (odd, seconds.last_mut()) {
        *last = odd;
    }
    let Ok(pattern) = MarkPattern::toothed(u32::from(places), u32::from(missing)) else { return };
    if let Ok(train) = PulseTrain::read(&seconds, pattern) {
        assert_eq!(train.marks().len() + train.spurious().len(), seconds.len());
        let rotation = train.rotation().expect("marks that were read make a rotation");
        assert!(rotation.speed().mean.rpm().is_finite());
    }
    let window = Speed::from_rpm(1000.0).and_then(|speed| Ok(SpeedWindow::around_percent(speed, 50.0)));
    let Ok(Ok(window)) = window else { return };
    let Ok(mut gate) = PulseGate::new(u32::from(places), window) else { return };
    let mut last = f64::NEG_INFINITY;
    for &at in &seconds {
        if let Ok(Some(mark)) = gate.pulse(at) {
            assert!(mark.turns > last || last == f64::NEG_INFINITY);
            last = mark.turns;
        }
    }
});
