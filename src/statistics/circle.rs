//! How much of a plane normal or t distribution lies inside a circle.
//!
//! A vibration with a 2x2 covariance has a chance to lie within a limit of amplitude; a limit is found that holds it with
//! a given chance. Known covariances make a normal distribution, estimated ones a t distribution.

use core::f64::consts::PI;

use super::beta::student_lower;
use super::gamma::log_gamma_ratio;
use super::normal::{normal_density, normal_lower};
use super::root::reached;
use crate::math;

/// The principal standard deviations of a 2x2 covariance, and the direction of the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ellipse {
    /// The larger standard deviation.
    pub(crate) major: f64,
    /// The smaller.
    pub(crate) minor: f64,
    /// Cosine and sine of the direction of the larger.
    pub(crate) direction: [f64; 2],
}

impl Ellipse {
    /// The principal axes of `[[a, b], [b, c]]`; what is negative by rounding is zero. Without end where an entry is not
    /// finite.
    pub(crate) fn of(covariance: [[f64; 2]; 2]) -> Self {
        let [[a, b], [_, c]] = covariance;
        if !(a.is_finite() && b.is_finite() && c.is_finite()) {
            // An overflow says nothing of the scatter, and least of all that there is none.
            return Self { major: f64::INFINITY, minor: f64::INFINITY, direction: [1.0, 0.0] };
        }
        // λ = (a+c)/2 ± √(((a−c)/2)² + b²), and the smaller one without cancellation: (ac − b²)/λ₁
        let half = 0.5 * (a - c);
        let root = math::hypot(half, b);
        let larger = 0.5 * (a + c) + root;
        let scaled = if larger > 0.0 { ((a / larger) * c - (b / larger) * b).max(0.0) } else { 0.0 };
        // (half + root, b) and (b, root − half) are both along the major axis; the longer one has its digits.
        let [x, y] = if half >= 0.0 { [half + root, b] } else { [b, root - half] };
        let length = math::hypot(x, y);
        let direction = if length > 0.0 { [x / length, y / length] } else { [1.0, 0.0] };
        Self { major: math::sqrt(larger.max(0.0)), minor: math::sqrt(scaled.min(larger.max(0.0))), direction }
    }
}

/// `zᵀ C⁻¹ z`; infinite where z lies where C has no scatter.
pub(crate) fn mahalanobis_squared(z: [f64; 2], covariance: [[f64; 2]; 2]) -> f64 {
    let ellipse = Ellipse::of(covariance);
    let [cosine, sine] = ellipse.direction;
    let along = [cosine * z[0] + sine * z[1], cosine * z[1] - sine * z[0]];
    let part = |length: f64, deviation: f64| {
        if length == 0.0 {
            0.0
        } else {
            let ratio = length / deviation;
            ratio * ratio
        }
    };
    part(along[0], ellipse.major) + part(along[1], ellipse.minor)
}

/// The chance that a point scattered about `centre` lies within `radius` of the origin. `degrees_of_freedom` infinite:
/// normal; else the plane t distribution whose scale matrix is the covariance.
pub(crate) fn share_inside(radius: f64, centre: [f64; 2], ellipse: Ellipse, degrees_of_freedom: f64) -> f64 {
    if radius <= 0.0 {
        return 0.0;
    }
    let known = [centre[0], centre[1], ellipse.major, ellipse.minor];
    if radius.is_nan() || known.iter().any(|value| !value.is_finite()) {
        return f64::NAN;
    }
    if radius == f64::INFINITY {
        return 1.0;
    }
    let [cosine, sine] = ellipse.direction;
    // Along the minor axis x, along the major axis y.
    let along_minor = cosine * centre[1] - sine * centre[0];
    let along_major = cosine * centre[0] + sine * centre[1];
    let distance = math::hypot(along_minor, along_major);
    if ellipse.major <= 1e-14 * distance.max(radius) {
        return if distance <= radius { 1.0 } else { 0.0 };
    }
    if distance == 0.0 {
        return 1.0 - share_outside_centred(radius, ellipse, degrees_of_freedom);
    }
    // A hair of width, so that one formula serves all: it moves nothing that can be seen.
    let minor = ellipse.minor.max(1e-9 * ellipse.major);
    let shape = Shape {
        radius,
        centre: [along_minor, along_major],
        deviation: [minor, ellipse.major],
        degrees_of_freedom,
    };
    shape.integrated().clamp(0.0, 1.0)
}

/// The radius about the origin that holds a point scattered about `centre` with a given chance.
pub(crate) fn radius_holding(share: f64, centre: [f64; 2], ellipse: Ellipse, degrees_of_freedom: f64) -> f64 {
    let distance = math::hypot(centre[0], centre[1]);
    if ellipse.major == 0.0 {
        return distance;
    }
    if distance == 0.0 {
        let wanted = libm::log(1.0 - share);
        return reached(0.0, ellipse.major, |radius| {
            let outside = share_outside_centred(radius, ellipse, degrees_of_freedom);
            if outside > 0.0 { wanted - libm::log(outside) } else { 1.0 }
        });
    }
    reached(0.0, distance + ellipse.major, |radius| {
        share_inside(radius, centre, ellipse, degrees_of_freedom) - share
    })
}

/// How far from the origin the centre of a circular standard normal must lie for the point to fall outside `radius` with a
/// given chance: the root of the noncentrality of a chi-squared with 2 degrees of freedom. Rises from the chance at 0.
pub(crate) fn centre_seen_outside(radius: f64, share: f64) -> f64 {
    let circle = Ellipse { major: 1.0, minor: 1.0, direction: [1.0, 0.0] };
    reached(0.0, radius, |centre| 1.0 - share_inside(radius, [centre, 0.0], circle, f64::INFINITY) - share)
}

/// An ellipse thinner than this needs more points of a quarter turn than are worth taking.
const THIN: f64 = 0.05;

/// `P(|z| > L) = (1/2π) ∫ P(χ₂ > L/√(a² cos² θ + b² sin² θ)) dθ`, by the rectangle rule, which converges faster than any
/// power on a period; of a thin ellipse, whose points crowd about θ = 90°, with `tan θ = eᵘ`, so that crowded and wide places
/// take equal room.
fn share_outside_centred(radius: f64, ellipse: Ellipse, degrees_of_freedom: f64) -> f64 {
    let tail = |square: f64| {
        if square <= 0.0 {
            return 0.0;
        }
        let ratio = radius * radius / square;
        if degrees_of_freedom.is_finite() {
            // (1 + r²/ν)^(−ν/2)
            libm::exp(-0.5 * degrees_of_freedom * libm::log1p(ratio / degrees_of_freedom))
        } else {
            libm::exp(-0.5 * ratio)
        }
    };
    let (a, b) = (ellipse.major * ellipse.major, ellipse.minor * ellipse.minor);
    if a == b {
        return tail(a);
    }
    if ellipse.minor < THIN * ellipse.major {
        // (2/π) ∫ P(…) du/(2 cosh u): analytic for |Im u| < π/4 and bounded by its values at u = −∞, so that the rule with
        // step h is right to e^(−π²/2h), e^(−39) here; beyond ±40 less than e^(−40) is left.
        const STEP: f64 = 0.125;
        let sum: f64 = (-320..=320_i32)
            .map(|step| {
                let u = STEP * f64::from(step);
                // cos² θ = 1/(1 + e^(2u)), and sin² θ the same of −u
                let (near, far) = (libm::exp(-u.abs()), libm::exp(-2.0 * u.abs()));
                let (more, less) = (1.0 / (1.0 + far), far / (1.0 + far));
                let [cosine, sine] = if u > 0.0 { [less, more] } else { [more, less] };
                tail(a * cosine + b * sine) * near / (1.0 + far)
            })
            .sum();
        return sum * STEP * (2.0 / PI);
    }
    let mut before = f64::NAN;
    let mut points = 32_u32;
    loop {
        // A quarter turn holds the whole; its two ends count half each.
        let mut sum = 0.5 * (tail(a) + tail(b));
        for step in 1..points {
            let (sine, cosine) = math::sin_cos_degrees(90.0 * f64::from(step) / f64::from(points));
            sum += tail(a * cosine * cosine + b * sine * sine);
        }
        let share = sum / f64::from(points);
        if (share - before).abs() <= 1e-15 * share || points >= 1 << 14 {
            return share;
        }
        before = share;
        points *= 2;
    }
}

/// The integral over x of the density along x times the share of y inside the circle, given x.
struct Shape {
    radius: f64,
    centre: [f64; 2],
    deviation: [f64; 2],
    degrees_of_freedom: f64,
}

/// Places, in standard deviations, between which the integrand is smooth.
const NORMAL_PLACES: [f64; 6] = [0.0, 1.5, 3.0, 5.0, 7.0, 9.0];
/// The same for a t distribution, whose tails are long.
const STUDENT_PLACES: [f64; 12] = [0.0, 1.5, 3.0, 6.0, 12.0, 30.0, 100.0, 300.0, 1e3, 1e4, 1e6, 1e8];
/// How often a piece is halved at most.
const DEEPEST: u32 = 12;
/// The most places: two signs along x, two signs and two ends along y on both sides, and the ends.
const MOST_PLACES: usize = 2 * STUDENT_PLACES.len() + 4 * STUDENT_PLACES.len() + 2;

impl Shape {
    fn integrated(&self) -> f64 {
        let mut places = [0.0; MOST_PLACES];
        let mut count = 0;
        let quarter = 0.5 * PI;
        let mut put = |angle: f64| {
            if let Some(place) = places.get_mut(count) {
                *place = angle.clamp(-quarter, quarter);
                count += 1;
            }
        };
        put(-quarter);
        put(quarter);
        let steps: &[f64] =
            if self.degrees_of_freedom.is_finite() { &STUDENT_PLACES } else { &NORMAL_PLACES };
        for &step in steps {
            for sign in [-1.0, 1.0] {
                // x = L sin t
                put(libm::asin(
                    ((self.centre[0] + sign * step * self.deviation[0]) / self.radius).clamp(-1.0, 1.0),
                ));
                // y = ±L cos t meets the same place from both sides.
                let height = (self.centre[1].abs() + sign * step * self.deviation[1]) / self.radius;
                let angle = libm::acos(height.clamp(0.0, 1.0));
                put(angle);
                put(-angle);
            }
        }
        let places = places.get_mut(..count).unwrap_or_default();
        places.sort_unstable_by(f64::total_cmp);
        let mut sum = 0.0;
        for pair in places.windows(2) {
            if let [from, to] = *pair {
                if to > from {
                    sum += self.adaptive(from, to, self.panel(from, to), 0);
                }
            }
        }
        sum
    }

    fn adaptive(&self, from: f64, to: f64, whole: f64, depth: u32) -> f64 {
        let middle = 0.5 * (from + to);
        let (left, right) = (self.panel(from, middle), self.panel(middle, to));
        // The rule gains many digits with each halving: the finer sum is far nearer than the two differ.
        let differs = (left + right - whole).abs() > 1e-13;
        if !differs || depth >= DEEPEST {
            return left + right;
        }
        self.adaptive(from, middle, left, depth + 1) + self.adaptive(middle, to, right, depth + 1)
    }

    /// Gauss-Legendre with ten points.
    fn panel(&self, from: f64, to: f64) -> f64 {
        // Abramowitz and Stegun, table 25.4, n = 10.
        const POINTS: [(f64, f64); 5] = [
            (0.148_874_338_981_631_21, 0.295_524_224_714_752_87),
            (0.433_395_394_129_247_2, 0.269_266_719_309_996_35),
            (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
            (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
            (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
        ];
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        let mut sum = 0.0;
        for (place, weight) in POINTS {
            sum += weight * (self.integrand(middle - half * place) + self.integrand(middle + half * place));
        }
        sum * half
    }

    fn integrand(&self, angle: f64) -> f64 {
        let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
        let (x, height) = (self.radius * sine, self.radius * cosine);
        let standard = (x - self.centre[0]) / self.deviation[0];
        let ends = |spread: f64, lower: fn(f64, f64) -> f64, nu: f64| {
            let upper_end = (height - self.centre[1]) / spread;
            let lower_end = (-height - self.centre[1]) / spread;
            // On the far side of the centre both are near 1: the mirrored pair keeps the digits.
            if lower_end > 0.0 {
                lower(-lower_end, nu) - lower(-upper_end, nu)
            } else {
                lower(upper_end, nu) - lower(lower_end, nu)
            }
        };
        let nu = self.degrees_of_freedom;
        // dx = L cos t dt
        if nu.is_finite() {
            // f(x) of t with ν; y given x is t with ν + 1 and the scale √((ν + x²)/(ν + 1)).
            let density = libm::exp(
                log_gamma_ratio(0.5 * nu, 0.5)
                    - 0.5 * libm::log(nu * PI)
                    - 0.5 * (nu + 1.0) * libm::log1p(standard * standard / nu),
            );
            let spread = self.deviation[1] * math::sqrt((nu + standard * standard) / (nu + 1.0));
            density / self.deviation[0] * height * ends(spread, student_lower, nu + 1.0)
        } else {
            let normal = |value: f64, _: f64| normal_lower(value);
            normal_density(standard) / self.deviation[0] * height * ends(self.deviation[1], normal, nu)
        }
    }
}
