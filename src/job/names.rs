//! How a sentence calls channels and planes: by their numbers, or by the machine's names.

use alloc::format;
use alloc::string::String;

use super::machine::Machine;

/// Of a machine, where there is one.
pub(super) struct Names<'a>(pub Option<&'a Machine>);

impl Names<'_> {
    pub(super) fn channel(&self, channel: usize) -> String {
        self.0.map_or_else(|| format!("channel {channel}"), |machine| machine.channel_words(channel))
    }

    pub(super) fn plane(&self, plane: usize) -> String {
        self.0.map_or_else(
            || format!("plane {plane}"),
            |machine| format!("plane \u{201c}{}\u{201d}", machine.plane_words(plane)),
        )
    }

    pub(super) fn amplitude(&self, channel: usize, amplitude: f64) -> String {
        self.0
            .map_or_else(|| format!("{amplitude:.3}"), |machine| machine.amplitude_words(channel, amplitude))
    }
}
