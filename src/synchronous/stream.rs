//! The same as the block form, sample by sample, in constant memory and without a heap.

use super::extraction::{Extraction, LEAST_TURNS, offset_of};
use super::gathered::Gathered;
use super::kernel::Sampling;
use super::rotation::{Mark, Stretch, follows, is_in_range};
use super::synchronous_vector::SynchronousVector;
use crate::error::SynchronousError;

/// An extraction while the samples come in. It keeps the samples since the last mark but one, as where the shaft was is
/// known only when its next mark has passed, and sums of those before.
///
/// `BUFFER` is how many samples it can keep: those of a little more than two turns at the lowest speed. The vectors are
/// those of [`Extraction::extract`] on the same samples, bit for bit.
///
/// ```
/// use counterpoise::synchronous::{Extraction, Mark, Rotation};
/// let samples: Vec<f32> = (0..1000_i16).map(|i| libm::cosf(0.125_664 * f32::from(i)) + 0.1 * f32::from(i % 7)).collect();
/// let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
/// let extraction = Extraction::once_per_turn(1000.0)?;
///
/// let mut stream = extraction.stream::<128>();
/// let mut passed = marks.iter().copied().peekable();
/// for (i, &sample) in samples.iter().enumerate() {
///     stream.sample(sample)?;
///     while let Some(mark) = passed.next_if(|mark| mark.seconds <= i as f64 / 1000.0) {
///         stream.mark(mark)?;
///     }
/// }
/// let block = extraction.extract(&samples, &Rotation::through(&marks)?)?;
/// assert_eq!(stream.finish()?, block);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Stream<const ORDERS: usize, const BUFFER: usize> {
    extraction: Extraction<ORDERS>,
    buffer: [f64; BUFFER],
    /// The number of the first sample in the buffer, and how many are in it.
    first: u64,
    kept: usize,
    /// The last three marks, the newest last.
    marks: [Option<Mark>; 3],
    count: usize,
    gathering: Option<Gathering<ORDERS>>,
    /// Why no more is taken: after a lost sample all that follow would be read at the wrong instant.
    refused: Option<SynchronousError>,
}

#[derive(Debug, Clone)]
struct Gathering<const ORDERS: usize> {
    gathered: Gathered<ORDERS>,
    sampling: Sampling<ORDERS>,
}

impl<const ORDERS: usize> Extraction<ORDERS> {
    /// The streaming form, with a buffer of so many samples.
    ///
    /// ```
    /// use counterpoise::synchronous::Extraction;
    /// // 2048 samples at 5000 a second hold two turns down to 293 rpm.
    /// let stream = Extraction::once_per_turn(5000.0)?.stream::<2048>();
    /// assert!((stream.lowest_rpm() - 292.97).abs() < 0.01);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn stream<const BUFFER: usize>(self) -> Stream<ORDERS, BUFFER> {
        Stream {
            extraction: self,
            buffer: [0.0; BUFFER],
            first: 0,
            kept: 0,
            marks: [None; 3],
            count: 0,
            gathering: None,
            refused: None,
        }
    }
}

impl<const ORDERS: usize, const BUFFER: usize> Stream<ORDERS, BUFFER> {
    /// The lowest speed that the buffer holds two turns of, in rpm.
    ///
    /// ```
    /// use counterpoise::synchronous::Extraction;
    /// assert_eq!(Extraction::once_per_turn(1000.0)?.stream::<2000>().lowest_rpm(), 60.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn lowest_rpm(&self) -> f64 {
        #[allow(clippy::cast_precision_loss)] // a buffer is far smaller than 2⁵³
        let buffer = BUFFER as f64;
        120.0 * self.extraction.rate / buffer
    }

    /// The next sample.
    ///
    /// # Errors
    /// [`SynchronousError::SampleNotFinite`]; [`SynchronousError::BufferFull`] where no mark has come for so long that a
    /// sample would be lost. After one lost sample all that follow would be read at the wrong instant, so the stream takes no
    /// more and gives the same error from then on; what was extracted before stays, for [`estimate`](Self::estimate) and
    /// [`finish`](Self::finish).
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark};
    /// let mut stream = Extraction::once_per_turn(1000.0)?.stream::<64>();
    /// stream.mark(Mark { seconds: 0.0, turns: 0.0 })?;
    /// let refused = (0..100).find_map(|_| stream.sample(0.5_f32).err()).map(|error| error.code());
    /// assert_eq!(refused, Some(1310));
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn sample<T: Into<f64>>(&mut self, sample: T) -> Result<(), SynchronousError> {
        self.check_open()?;
        let value: f64 = sample.into();
        // What is beyond the converter's limits is left out later, be it ever so far.
        if !value.is_finite() && !self.extraction.is_saturated(value) {
            let sample = self.first + self.kept as u64;
            return self.refuse(SynchronousError::SampleNotFinite { sample, value });
        }
        if self.kept == BUFFER {
            if self.count > 0 {
                let (rate_hertz, lowest_rpm) = (self.extraction.rate, self.lowest_rpm());
                return self.refuse(SynchronousError::BufferFull { buffer: BUFFER, rate_hertz, lowest_rpm });
            }
            // Before the first mark nothing is used.
            self.drop_first(BUFFER.div_ceil(2));
        }
        if let Some(place) = self.buffer.get_mut(self.kept) {
            *place = value;
            self.kept += 1;
        }
        Ok(())
    }

    /// The next mark, after the samples up to it.
    ///
    /// # Errors
    /// [`SynchronousError::MarkOutOfOrder`] where it does not come after the one before, or before the samples that lie
    /// between them: the mark is not taken. The error of a lost [`sample`](Self::sample), after one.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark};
    /// let mut stream = Extraction::once_per_turn(1000.0)?.stream::<64>();
    /// stream.mark(Mark { seconds: 0.1, turns: 0.0 })?;
    /// assert_eq!(stream.mark(Mark { seconds: 0.1, turns: 1.0 }).unwrap_err().code(), 1302);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn mark(&mut self, mark: Mark) -> Result<(), SynchronousError> {
        self.check_open()?;
        let [before, start, end] = self.marks;
        if let Some(last) = end {
            follows(self.count, last, mark)?;
        } else if !is_in_range(mark) {
            let (seconds, turns) = (mark.seconds, mark.turns);
            return Err(SynchronousError::MarkOutOfOrder { mark: 0, seconds, turns });
        }
        if let (Some(start), Some(end)) = (start, end) {
            self.take(&Stretch::between(before, start, end, Some(mark)))?;
        }
        if end.is_none() {
            // What was taken before the first mark is not used.
            let unused = self.extraction.first_at_or_after(mark.seconds).saturating_sub(self.first);
            self.drop_first(usize::try_from(unused).unwrap_or(usize::MAX));
        }
        self.marks = [start, end, Some(mark)];
        self.count += 1;
        Ok(())
    }

    const fn check_open(&self) -> Result<(), SynchronousError> {
        match self.refused {
            Some(error) => Err(error),
            None => Ok(()),
        }
    }

    fn refuse(&mut self, error: SynchronousError) -> Result<(), SynchronousError> {
        self.refused = Some(error);
        Err(error)
    }

    fn drop_first(&mut self, samples: usize) {
        let samples = samples.min(self.kept);
        self.buffer.copy_within(samples..self.kept, 0);
        self.kept -= samples;
        self.first += samples as u64;
    }

    /// Sums the samples of a stretch, and drops them.
    fn take(&mut self, stretch: &Stretch) -> Result<(), SynchronousError> {
        let step = 1.0 / self.extraction.rate;
        let first = self.extraction.first_at_or_after(stretch.start().seconds);
        let after = self.extraction.first_at_or_after(stretch.end().seconds);
        if after > self.first + self.kept as u64 {
            let Mark { seconds, turns } = stretch.end();
            return Err(SynchronousError::MarkOutOfOrder { mark: self.count, seconds, turns });
        }
        // Only stretches that were sampled from their start to their end.
        if stretch.start().seconds > 0.0 - step && first >= self.first {
            let place = |number: u64| usize::try_from(number - self.first).unwrap_or(usize::MAX);
            let inside = self.buffer.get(place(first)..place(after)).unwrap_or(&[]);
            let extraction = self.extraction;
            let gathering = self.gathering.get_or_insert_with(|| Gathering {
                gathered: Gathered::new(stretch.start(), extraction.turns_per_group()),
                sampling: extraction.sampling(stretch.start().seconds, offset_of(inside)),
            });
            gathering.gathered.add(stretch, &gathering.sampling, first, inside);
        }
        let done = after.saturating_sub(self.first);
        self.drop_first(usize::try_from(done).unwrap_or(usize::MAX));
        Ok(())
    }

    /// What the samples so far say, up to the last mark but one.
    ///
    /// # Errors
    /// As [`Extraction::extract`]: at first, that there are too few turns.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark};
    /// let mut stream = Extraction::once_per_turn(1000.0)?.stream::<128>();
    /// for i in 0..500_u16 {
    ///     stream.sample(f64::from(i % 50))?;
    ///     if i % 50 == 0 {
    ///         stream.mark(Mark { seconds: f64::from(i) / 1000.0, turns: f64::from(i / 50) })?;
    ///     }
    /// }
    /// let vector = stream.estimate()?;
    /// assert_eq!(vector.turns, 8.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn estimate(&self) -> Result<SynchronousVector<ORDERS>, SynchronousError> {
        let Some(Gathering { gathered, sampling }) = &self.gathering else {
            return Err(SynchronousError::TooFewTurns { turns: 0.0, least: LEAST_TURNS });
        };
        self.extraction.estimate(gathered, sampling.offset)
    }

    /// What all samples say, up to the last mark.
    ///
    /// # Errors
    /// As [`Extraction::extract`].
    ///
    /// ```
    /// use counterpoise::synchronous::Extraction;
    /// let stream = Extraction::once_per_turn(1000.0)?.stream::<64>();
    /// assert_eq!(stream.finish().unwrap_err().code(), 1307);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn finish(mut self) -> Result<SynchronousVector<ORDERS>, SynchronousError> {
        if let [before, Some(start), Some(end)] = self.marks {
            let enough = self.extraction.first_at_or_after(end.seconds) <= self.first + self.kept as u64;
            if enough {
                self.take(&Stretch::between(before, start, end, None))?;
            }
        }
        self.estimate()
    }
}
