//! The search behind the least mass: an ascent along the lines of the dual problem.
//!
//! The least mass `min Σ mᵢ` with `Σ mᵢ aᵢ = u` and `0 ≤ mᵢ ≤ cᵢ`, `aᵢ = rᵢ eᵢ`, is a linear programme with two
//! equations. Its dual has two unknowns, the price `y` of unbalance in mass:
//!
//! `max g(y) = y·u − Σ cᵢ max(0, y·aᵢ − 1)`
//!
//! `g` is concave and flat between the lines `y·aᵢ = 1`. A place is empty while `y·aᵢ < 1` and full while `y·aᵢ > 1`;
//! the corner at which two lines meet is a basis of the programme. From a corner the search leaves along one of its two
//! lines, always uphill, straight to the highest point of that line, which is a corner again: the bounded dual simplex
//! method with its long step. Where no line leads uphill the corner is the optimum, and `y` its proof.
//!
//! `g` grows with every step of any length, so no corner comes twice. A step of no length (more than two lines through
//! one corner) is followed by the rule of least indices, under which a corner is left after finitely many changes of
//! basis (R. G. Bland, Mathematics of Operations Research 2, 1977; from memory).

use alloc::vec::Vec;
use num_complex::Complex64;

use crate::math;

use super::geometry::{VectorSum, cross, dot};

/// Slopes below this part of the unbalances that make them up are rounding.
pub(super) const SLACK: f64 = 16.0 * f64::EPSILON;
/// Gaps to a line below this part of their terms are rounding, and rates of approach, too.
const TOUCH: f64 = 8.0 * f64::EPSILON;

/// What a place carries while the search goes on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum State {
    Empty,
    Full,
    /// Its line runs through the present corner: its mass follows from the equations.
    Basic,
}

/// A place as the search sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    /// Unbalance per mass, `a = r e`, in mm.
    pub(super) a: Complex64,
    /// The most mass, in g; infinite without a cap.
    pub(super) cap: f64,
    pub(super) state: State,
}

/// How the search ended.
pub(super) enum Verdict {
    /// At a corner, with the masses of its lines and the price.
    Optimum { basic: [Option<(usize, f64)>; 2], price: Complex64 },
    /// The price grows without end: the unbalance is out of reach.
    OutOfReach,
    /// Not within so many moves.
    NotSettled { moves: usize },
}

/// A line through the present corner: the index, and a copy of its numbers.
#[derive(Clone, Copy)]
struct Basic {
    index: usize,
    a: Complex64,
    cap: f64,
}

/// A way uphill from the present point.
struct Uphill {
    direction: Complex64,
    slope: f64,
    /// The places whose lines are left, with what they carry from then on.
    leaving: [Option<(usize, State)>; 2],
    /// The line along which the search goes; none where it goes across, as it does away from the origin.
    along: Option<Basic>,
}

/// The least mass of places for an unbalance other than zero; the states of the lines are left as they were found best.
pub(super) fn settle(u: Complex64, lines: &mut [Line]) -> Verdict {
    let limit = 1000 + 20 * lines.len();
    let size = math::modulus(u);
    let mut ascent = Ascent { price: Complex64::ZERO, candidates: Vec::new(), cautious: false };
    let mut uphill = Uphill { direction: u / size, slope: size, leaving: [None, None], along: None };
    let mut tolerance = SLACK * size;
    for _ in 0..limit {
        let Some(entered) = ascent.climb(lines, &uphill, tolerance) else { return Verdict::OutOfReach };
        let (rest, scale) = remainder(u, lines);
        tolerance = SLACK * scale;
        let along_a_line = match uphill.along {
            Some(second) => choose(rest, tolerance, entered, second, ascent.cautious),
            None => either_way(rest, tolerance, entered),
        };
        uphill = match along_a_line {
            Some(next) => next,
            None => match masses(rest, tolerance, entered, uphill.along) {
                Masses::Made(basic) => {
                    let price = least_price(&basic, lines).unwrap_or(ascent.price);
                    return Verdict::Optimum { basic, price };
                }
                Masses::Missed(next) => next,
            },
        };
    }
    Verdict::NotSettled { moves: limit }
}

/// What the full places leave to be made, `u − Σ cᵢ aᵢ`, and the sum of the amounts that went into it.
fn remainder(u: Complex64, lines: &[Line]) -> (Complex64, f64) {
    let mut rest = VectorSum::default();
    let mut scale = math::modulus(u);
    rest.add(u);
    for line in lines.iter().filter(|line| line.state == State::Full) {
        let full = line.a * line.cap;
        rest.add(-full);
        scale += math::modulus(full);
    }
    (rest.value(), scale)
}

/// The way uphill along the only line so far, to one side or the other.
fn either_way(rest: Complex64, tolerance: f64, line: Basic) -> Option<Uphill> {
    let direction = square_to(line.a);
    let slope = dot(rest, direction);
    let (direction, slope) = if slope < 0.0 { (-direction, -slope) } else { (direction, slope) };
    (slope > tolerance).then_some(Uphill { direction, slope, leaving: [None, None], along: Some(line) })
}

/// The way uphill to take from a corner along one of its lines: the steepest or, when cautious, that which leaves the
/// line of least index.
fn choose(rest: Complex64, tolerance: f64, first: Basic, second: Basic, cautious: bool) -> Option<Uphill> {
    let mut best = None::<Uphill>;
    for (leaving, along) in [(first, second), (second, first)] {
        let direction = square_to(along.a);
        let direction = if dot(leaving.a, direction) < 0.0 { -direction } else { direction };
        // Forwards the line that is left has its place full, backwards empty:
        // g' = (ρ − c a)·d  and  g' = −ρ·d
        let backwards = -dot(rest, direction);
        let forwards = if leaving.cap < f64::INFINITY {
            dot(rest - leaving.a * leaving.cap, direction)
        } else {
            f64::NEG_INFINITY
        };
        // What the full place itself adds to the sums adds to their rounding.
        let (direction, slope, state, tolerance) = if forwards > backwards {
            (direction, forwards, State::Full, tolerance + SLACK * leaving.cap * math::modulus(leaving.a))
        } else {
            (-direction, backwards, State::Empty, tolerance)
        };
        if slope <= tolerance {
            continue;
        }
        let better = match &best {
            None => true,
            Some(Uphill { leaving: [Some((index, _)), _], .. }) if cautious => leaving.index < *index,
            Some(best) => slope > best.slope || (slope == best.slope && leaving.index < along.index),
        };
        if better {
            best = Some(Uphill {
                direction,
                slope,
                leaving: [Some((leaving.index, state)), None],
                along: Some(along),
            });
        }
    }
    best
}

/// A quarter turn further with rotation.
pub(super) fn quarter_turn(a: Complex64) -> Complex64 {
    Complex64 { re: 0.0 - a.im, im: a.re }
}

/// The unit vector square to a line's normal.
fn square_to(a: Complex64) -> Complex64 {
    quarter_turn(a / math::modulus(a))
}

/// What the places at the present point make of what is left to be made.
enum Masses {
    /// All of it, with these masses.
    Made([Option<(usize, f64)>; 2]),
    /// Not all of it: what they miss points uphill.
    Missed(Uphill),
}

/// The masses of the lines through the present point, within their caps and zero where they are rounding.
///
/// Where rounding hides a slope (two lines nearly coincide, or the search came nearly along its only line) the masses may
/// come to lie beside their bounds although no line leads uphill. What the bounded masses then miss is the steepest way
/// up: across a line whose place is at a bound, along one whose place is not. (It is no way to go in general: the
/// steepest way can zigzag for ever where the ways along the lines come to an end.)
fn masses(rest: Complex64, tolerance: f64, first: Basic, second: Option<Basic>) -> Masses {
    let within = |basic: Basic, mass: f64| {
        if mass * math::modulus(basic.a) <= tolerance { 0.0 } else { mass.min(basic.cap) }
    };
    let foot = |rest: Complex64, basic: Basic| dot(rest, basic.a) / dot(basic.a, basic.a);
    let (mass, other) = match second {
        None => (within(first, foot(rest, first)), None),
        Some(second) => {
            // The second mass is found from what the first leaves, so that both equations hold even where the two lines
            // nearly coincide: m₁ = (ρ × a₂)/(a₁ × a₂),  m₂ = (ρ − m₁ a₁)·a₂/|a₂|²
            let mass = within(first, cross(rest, second.a) / cross(first.a, second.a));
            let free = foot(rest - first.a * mass, second);
            let other = within(second, free);
            // Where rounding left the second mass beside its bounds the first makes up for it.
            let mass = if other == free { mass } else { within(first, foot(rest - second.a * other, first)) };
            (mass, Some((second, other)))
        }
    };
    let parts = [Some((first, mass)), other];
    let (mut missed, mut scale) = (rest, tolerance);
    for (basic, mass) in parts.into_iter().flatten() {
        missed -= basic.a * mass;
        scale += SLACK * mass * math::modulus(basic.a);
    }
    let size = math::modulus(missed);
    if size <= 2.0 * scale {
        return Masses::Made(parts.map(|part| part.map(|(basic, mass)| (basic.index, mass))));
    }
    let free = parts.into_iter().flatten().find(|(basic, mass)| *mass > 0.0 && *mass < basic.cap);
    let along = free.map(|(basic, _)| basic);
    let direction = match along {
        None => missed / size,
        Some(along) if dot(missed, square_to(along.a)) < 0.0 => -square_to(along.a),
        Some(along) => square_to(along.a),
    };
    let leaving = parts.map(|part| {
        let (basic, mass) = part.filter(|(basic, _)| along.is_none_or(|along| along.index != basic.index))?;
        Some((basic.index, if mass > 0.0 { State::Full } else { State::Empty }))
    });
    Masses::Missed(Uphill { direction, slope: dot(missed, direction), leaving, along })
}

/// The least price that proves the masses best, where it is not the corner of two places within their bounds.
///
/// With an unbalance at the edge of the reach, or at a place, many prices do, up to endless ones; near the least of them
/// the bound that follows keeps its digits.
fn least_price(basic: &[Option<(usize, f64)>; 2], lines: &mut [Line]) -> Option<Complex64> {
    let mut free = None;
    for &(index, mass) in basic.iter().flatten() {
        let line = lines.get_mut(index)?;
        if mass > 0.0 && mass < line.cap {
            if free.is_some() {
                return None;
            }
            free = Some(index);
        } else {
            line.state = if mass > 0.0 { State::Full } else { State::Empty };
        }
    }
    // With no place within its bounds the line of either will do: it runs along the prices that prove it.
    let index = free.or(basic.first()?.map(|(index, _)| index))?;
    let along = lines.get(index)?.a;
    let (foot, direction) = (along / dot(along, along), square_to(along));
    let (mut lowest, mut highest) = (f64::NEG_INFINITY, f64::INFINITY);
    for line in lines.iter() {
        let rate = dot(line.a, direction);
        if rate.abs() <= TOUCH * (line.a.re.abs() + line.a.im.abs()) || line.state == State::Basic {
            continue;
        }
        // Full: y·a ≥ 1, empty: y·a ≤ 1, with y = foot + s d
        let crossing = (1.0 - dot(foot, line.a)) / rate;
        if (line.state == State::Full) == (rate > 0.0) {
            lowest = lowest.max(crossing);
        } else {
            highest = highest.min(crossing);
        }
    }
    Some(foot + direction * 0.0_f64.max(lowest).min(highest))
}

/// Where a climb meets a line.
struct Crossing {
    step: f64,
    index: usize,
    /// What the slope loses there.
    loss: f64,
}

/// The state of the search between climbs.
struct Ascent {
    price: Complex64,
    candidates: Vec<Crossing>,
    /// After a step of no length: the least indices decide, and no line is passed over.
    cautious: bool,
}

impl Ascent {
    /// Goes uphill to the highest point in this direction, which lies on a line; `None` where there is no highest point.
    fn climb(&mut self, lines: &mut [Line], uphill: &Uphill, mut tolerance: f64) -> Option<Basic> {
        for (index, state) in uphill.leaving.into_iter().flatten() {
            if let Some(line) = lines.get_mut(index) {
                line.state = state;
            }
        }
        self.candidates.clear();
        for (index, line) in lines.iter().enumerate() {
            let rate = dot(line.a, uphill.direction);
            let reach = line.a.re.abs() + line.a.im.abs();
            let approaching = match line.state {
                State::Empty => rate > TOUCH * reach,
                State::Full => rate < -(TOUCH * reach),
                State::Basic => false,
            };
            if approaching {
                // y·a = 1 after a step of (1 − y·a)/(d·a); one that rounding put behind is at hand.
                let gap = 1.0 - dot(self.price, line.a);
                let terms = 1.0 + (self.price.re * line.a.re).abs() + (self.price.im * line.a.im).abs();
                let step = if gap.abs() <= TOUCH * terms { 0.0 } else { (gap / rate).max(0.0) };
                self.candidates.push(Crossing { step, index, loss: line.cap * rate.abs() });
            }
        }
        self.candidates
            .sort_unstable_by(|one, other| one.step.total_cmp(&other.step).then(one.index.cmp(&other.index)));
        let mut slope = uphill.slope;
        let mut entering = None;
        for crossing in &self.candidates {
            slope -= crossing.loss;
            let line = lines.get_mut(crossing.index)?;
            tolerance += SLACK * line.cap * math::modulus(line.a);
            if slope <= tolerance || self.cautious {
                line.state = State::Basic;
                entering = Some((crossing.step, Basic { index: crossing.index, a: line.a, cap: line.cap }));
                break;
            }
            // The line is passed: its place turns from empty to full or back.
            line.state = if line.state == State::Empty { State::Full } else { State::Empty };
        }
        let (step, entered) = entering?;
        self.cautious = step == 0.0;
        self.price = match uphill.along {
            None => {
                let gap = 1.0 - dot(self.price, entered.a);
                self.price + uphill.direction * (gap / dot(uphill.direction, entered.a))
            }
            // The corner afresh, so that no error adds up: from the foot of the line along it to the one entered.
            Some(along) => {
                let foot = along.a / dot(along.a, along.a);
                foot + uphill.direction * ((1.0 - dot(foot, entered.a)) / dot(uphill.direction, entered.a))
            }
        };
        Some(entered)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_is_left_where_a_mass_lies_beside_its_bounds() {
        // Two places a quarter turn apart, so that what is left to be made is their two masses.
        let first = Basic { index: 0, a: Complex64 { re: 1.0, im: 0.0 }, cap: 5.0 };
        let second = Basic { index: 1, a: Complex64 { re: 0.0, im: 1.0 }, cap: f64::INFINITY };
        let way = |m: f64, n: f64| choose(Complex64 { re: m, im: n }, 1e-14, first, second, false);
        assert!(way(2.0, 3.0).is_none());
        assert!(way(0.0, 3.0).is_none());
        assert!(way(5.0, 1e9).is_none());
        for (m, n, leaving, state, slope, direction) in [
            (7.0, 3.0, 0, State::Full, 2.0, (1.0, 0.0)),
            (-1.0, 3.0, 0, State::Empty, 1.0, (-1.0, 0.0)),
            (2.0, -4.0, 1, State::Empty, 4.0, (0.0, -1.0)),
            (-3.0, -4.0, 1, State::Empty, 4.0, (0.0, -1.0)),
        ] {
            let uphill = way(m, n).unwrap();
            assert_eq!(uphill.leaving, [Some((leaving, state)), None]);
            assert_eq!(
                (uphill.slope, uphill.direction.re, uphill.direction.im),
                (slope, direction.0, direction.1)
            );
        }
        // When cautious the least index decides, not the slope.
        for (one, other) in [(first, second), (second, first)] {
            let cautious = choose(Complex64 { re: -3.0, im: -4.0 }, 1e-14, one, other, true).unwrap();
            assert_eq!(cautious.leaving, [Some((0, State::Empty)), None]);
        }
    }
}
