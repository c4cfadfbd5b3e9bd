//! How far a study is, on the standard error.

use std::io::{IsTerminal, Write, stderr};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

/// Jobs done of so many; drawn anew a hundred times at most, and only where somebody watches.
pub(crate) struct Progress<'a> {
    title: &'a str,
    jobs: u64,
    done: AtomicU64,
    start: Instant,
    watched: bool,
}

impl<'a> Progress<'a> {
    pub(crate) fn new(title: &'a str, jobs: u64) -> Self {
        let watched = stderr().is_terminal();
        Self { title, jobs, done: AtomicU64::new(0), start: Instant::now(), watched }
    }

    pub(crate) fn one_more(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        let percent = |done: u64| 100 * done / self.jobs.max(1);
        if self.watched && percent(done) > percent(done - 1) {
            let tenths = usize::try_from(percent(done) / 5).unwrap_or(20).min(20);
            let bar = format!("{}{}", "#".repeat(tenths), ".".repeat(20 - tenths));
            // A bar that cannot be drawn is not worth an error.
            let _ = write!(
                stderr().lock(),
                "\r{} [{bar}] {done} of {} jobs, {:.0} a second ",
                self.title,
                self.jobs,
                self.each_second(done)
            );
        }
    }

    pub(crate) fn end(&self) {
        let done = self.done.load(Ordering::Relaxed);
        let line = format!(
            "{}: {done} jobs in {:.1} s, {:.0} a second on {} threads",
            self.title,
            self.start.elapsed().as_secs_f64(),
            self.each_second(done),
            rayon::current_num_threads()
        );
        let blank = if self.watched { "\r\x1b[K" } else { "" };
        let _ = writeln!(stderr().lock(), "{blank}{line}");
    }

    fn each_second(&self, done: u64) -> f64 {
        #[allow(clippy::cast_precision_loss)] // a count of jobs
        let done = done as f64;
        done / self.start.elapsed().as_secs_f64()
    }
}
