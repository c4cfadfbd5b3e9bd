//! Least change: the fewest pieces handled within eps, and only then the fewest holes.
//!
//! A first search, by holes and with any number of pieces, tells whether anything lies within eps, and how many pieces
//! are enough. Then searches follow that may handle 0, 1, 2, … pieces. Each shows that so few are too few, until one finds
//! a placement: it handles exactly as many as it may, and by the rule of the search it is the first of these.

use alloc::vec::Vec;

use super::answer::{Describing, Placement};
use super::certificate::PlacementProof;
use super::levels::{Search, State};
use super::question::PlacementQuestion;

#[derive(Debug)]
pub(super) struct LeastChange {
    question: PlacementQuestion,
    eps: f64,
    keep: usize,
    whole: (Search, Describing),
    /// The search that may handle `pieces` pieces.
    limited: Option<(Search, Describing)>,
    pieces: u32,
    /// As many pieces are enough, or all that there can be.
    enough: Option<u32>,
    found: Vec<Placement>,
    state: State,
    steps_before: u64,
}

impl LeastChange {
    pub(super) fn new(
        question: PlacementQuestion,
        eps: f64,
        keep: usize,
        whole: (Search, Describing),
    ) -> Self {
        Self {
            question,
            eps,
            keep,
            whole,
            limited: None,
            pieces: 0,
            enough: None,
            found: Vec::new(),
            state: State::Running,
            steps_before: 0,
        }
    }

    pub(super) const fn state(&self) -> State {
        self.state
    }

    pub(super) const fn whole(&self) -> &(Search, Describing) {
        &self.whole
    }

    pub(super) fn steps(&self) -> u64 {
        let limited = self.limited.as_ref().map_or(0, |(search, _)| search.steps());
        self.whole.0.steps().saturating_add(self.steps_before).saturating_add(limited)
    }

    /// What is within eps, in the order of the rule so far.
    pub(super) fn placements(&self) -> Vec<Placement> {
        let mut placements = self.found.clone();
        let rest = Self::within(&self.whole, self.eps);
        Self::fill(&mut placements, rest, self.keep);
        placements
    }

    pub(super) fn proof(&self) -> PlacementProof {
        match (self.state, self.pieces.checked_sub(1)) {
            (State::Proven, _) if self.found.is_empty() => PlacementProof::NoneWithin,
            (State::Proven, _) => PlacementProof::Best,
            (_, Some(pieces)) => PlacementProof::BestInPieces(pieces),
            _ => PlacementProof::Stopped,
        }
    }

    fn within((search, describing): &(Search, Describing), eps: f64) -> Vec<Placement> {
        let ranked = search.incumbent().ranked();
        let kept = ranked.iter().filter(|candidate| candidate.residual <= eps);
        kept.map(|candidate| Placement::of(search, describing, candidate)).collect()
    }

    /// Adds placements on holes that are not there yet, up to so many.
    fn fill(placements: &mut Vec<Placement>, more: Vec<Placement>, keep: usize) {
        for placement in more {
            if placements.len() < keep && !placements.iter().any(|one| one.on_same_holes(&placement)) {
                placements.push(placement);
            }
        }
    }

    pub(super) fn advance(&mut self, steps: u64) -> State {
        let end = self.steps().saturating_add(steps);
        while self.state == State::Running && self.steps() < end {
            let left = end - self.steps();
            if self.whole.0.state() == State::Running {
                if self.whole.0.advance(left) != State::Running {
                    self.judge();
                }
            } else if self.enough.is_none() {
                // It had ended before it began.
                self.judge();
            } else if let Some((search, _)) = &mut self.limited {
                if search.advance(left) != State::Running {
                    self.next();
                }
            } else {
                self.begin();
            }
        }
        self.state
    }

    /// What the first search says.
    fn judge(&mut self) {
        let found = Self::within(&self.whole, self.eps);
        let known = found.len() >= self.keep;
        if !known && self.whole.0.state() == State::Proven {
            // All sets of holes that have a placement are there, each with its fewest pieces.
            self.found = found;
            self.found.sort_by_key(Placement::pieces);
            self.state = State::Proven;
            return;
        }
        let most = found.iter().map(Placement::pieces).max().filter(|_| known);
        let limit = self.question.most_pieces().unwrap_or(u32::MAX);
        self.enough =
            Some(most.and_then(|most| u32::try_from(most).ok()).map_or(limit, |most| most.min(limit)));
    }

    /// Begins the search with the present number of pieces, or ends.
    fn begin(&mut self) {
        let enough = self.enough.unwrap_or(u32::MAX);
        if self.pieces >= enough && self.whole.0.state() == State::Proven {
            let rest = Self::within(&self.whole, self.eps);
            Self::fill(&mut self.found, rest, self.keep);
            self.state = State::Proven;
            return;
        }
        if self.pieces > enough {
            self.state = State::OutOfMemory;
            return;
        }
        match self.question.searched(self.eps, Some(self.pieces)) {
            Ok(limited) => self.limited = Some(limited),
            // A search with fewer pieces lists no more than the first did.
            Err(_) => self.state = State::OutOfMemory,
        }
        if self.limited.as_ref().is_some_and(|(search, _)| search.state() != State::Running) {
            self.next();
        }
    }

    /// Takes what the present search found, and goes on to one piece more.
    fn next(&mut self) {
        let Some(limited) = self.limited.take() else { return };
        self.steps_before = self.steps_before.saturating_add(limited.0.steps()).saturating_add(1);
        if limited.0.state() == State::OutOfMemory {
            self.state = State::OutOfMemory;
            return;
        }
        // Those with fewer pieces were found before.
        let more = Self::within(&limited, self.eps);
        Self::fill(&mut self.found, more, self.keep);
        self.pieces = self.pieces.saturating_add(1);
        if self.found.len() >= self.keep {
            self.state = State::Proven;
        }
    }
}
