//! Each distribution against another way to the same number: finite sums, closed forms, plain grids.

use super::beta::student_lower;
use super::normal::{normal_density, normal_lower};
use super::*;
use crate::math;

fn near(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "got {got:e}, want {want:e}");
}

/// `e^(−y) Σ_{k<n} yᵏ/k!`, the tail of chi-squared with 2n degrees of freedom at 2y.
fn poisson_tail(n: u32, y: f64) -> f64 {
    let (mut term, mut sum) = (libm::exp(-y), 0.0);
    for k in 0..n {
        sum += term;
        term *= y / f64::from(k + 1);
    }
    sum
}

#[test]
fn chi_squared_with_even_degrees_is_a_poisson_sum() {
    for n in [1_u32, 2, 3, 5, 12, 40] {
        for y in [1e-3, 0.1, 1.0, 3.0, 10.0, 45.0, 120.0] {
            near(chi_squared_upper(2.0 * y, f64::from(2 * n)), poisson_tail(n, y), 3e-13);
        }
    }
    // One degree of freedom is the square of a normal number.
    for x in [0.1, 1.0, 2.5, 5.0] {
        near(chi_squared_upper(x * x, 1.0), 2.0 * normal_lower(-x), 1e-13);
    }
}

#[test]
fn f_with_even_degrees_is_a_binomial_sum() {
    // I_x(a, b) = Σ_{j≥a} C(a+b−1, j) xʲ (1−x)^(a+b−1−j): Abramowitz and Stegun 26.5.24
    for (a, b) in [(1_u32, 1_u32), (2, 3), (5, 2), (8, 8), (20, 3)] {
        for f in [0.05, 0.5, 1.0, 2.0, 7.0] {
            let (numerator, denominator) = (f64::from(2 * b), f64::from(2 * a));
            let x = denominator / (denominator + numerator * f);
            let n = a + b - 1;
            let mut sum = 0.0;
            for j in a..=n {
                let mut term = 1.0;
                for k in 0..j {
                    term *= f64::from(n - k) / f64::from(k + 1);
                }
                sum += term * math::power(x, j.cast_signed()) * math::power(1.0 - x, (n - j).cast_signed());
            }
            near(f_upper(f, numerator, denominator), sum, 1e-12);
        }
    }
}

#[test]
fn student_is_closed_for_one_and_two_degrees() {
    for t in [-30.0, -2.0, -0.3, 0.0, 0.7, 4.0] {
        near(student_lower(t, 1.0), 0.5 + libm::atan(t) / core::f64::consts::PI, 1e-12);
        near(student_lower(t, 2.0), 0.5 + 0.5 * t / math::sqrt(2.0 + t * t), 1e-12);
    }
}

#[test]
fn student_with_many_degrees_is_continuous_with_the_fraction() {
    for t in [-40.0, -5.0, -1.0, 0.3, 2.0, 6.0] {
        near(student_lower(t, 1e6), student_lower(t, 999_999.999), 1e-8);
    }
}

#[test]
fn quantiles_undo_tails() {
    for chance in [0.5, 0.1, 0.05, 0.01, 1e-6, 1e-12] {
        for nu in [1.0, 2.0, 3.0, 4.0, 7.5, 48.0] {
            near(chi_squared_upper(chi_squared_quantile(chance, nu), nu), chance, 1e-11);
            for d in [1.0, 2.0, 4.0, 6.0] {
                near(f_upper(f_quantile(chance, d, nu), d, nu), chance, 1e-11);
            }
        }
    }
    // From memory: the 95 % points of chi-squared with 1 and 2 degrees of freedom, and the normal 97.5 % point.
    near(chi_squared_quantile(0.05, 1.0), 3.841_458_820_694_124, 1e-12);
    near(chi_squared_quantile(0.05, 2.0), 5.991_464_547_107_979, 1e-14);
    near(normal_lower(-1.959_963_984_540_054), 0.025, 1e-12);
}

fn grid(radius: f64, centre: [f64; 2], covariance: [[f64; 2]; 2], density: impl Fn(f64) -> f64) -> f64 {
    // Polar midpoints inside the circle; q = zᵀ Σ⁻¹ z
    let [[a, b], [_, c]] = covariance;
    let determinant = a * c - b * b;
    let (rings, spokes) = (600, 600);
    let mut sum = 0.0;
    for ring in 0..rings {
        let r = radius * (f64::from(ring) + 0.5) / f64::from(rings);
        for spoke in 0..spokes {
            let (sine, cosine) = math::sin_cos_degrees(360.0 * f64::from(spoke) / f64::from(spokes));
            let (x, y) = (r * cosine - centre[0], r * sine - centre[1]);
            let q = (c * x * x - 2.0 * b * x * y + a * y * y) / determinant;
            sum += density(q) * r;
        }
    }
    let area = radius / f64::from(rings) * 2.0 * core::f64::consts::PI / f64::from(spokes);
    sum * area / (2.0 * core::f64::consts::PI * math::sqrt(determinant))
}

#[test]
fn the_share_inside_a_circle_agrees_with_a_plain_grid() {
    let covariances = [[[1.0, 0.0], [0.0, 1.0]], [[1.0, 0.3], [0.3, 0.25]], [[0.04, -0.05], [-0.05, 2.0]]];
    for covariance in covariances {
        let ellipse = Ellipse::of(covariance);
        for centre in [[0.0, 0.0], [1.0, 0.5], [-2.0, 1.0]] {
            for radius in [0.7, 2.0, 4.0] {
                let normal = grid(radius, centre, covariance, |q| libm::exp(-0.5 * q));
                let got = share_inside(radius, centre, ellipse, f64::INFINITY);
                assert!((got - normal).abs() < 2e-5, "{covariance:?} {centre:?} {radius}: {got} {normal}");
                for nu in [3.0, 8.0] {
                    // (1 + q/ν)^(−(ν+2)/2)
                    let student = grid(radius, centre, covariance, |q| {
                        libm::exp(-0.5 * (nu + 2.0) * libm::log1p(q / nu))
                    });
                    let got = share_inside(radius, centre, ellipse, nu);
                    assert!(
                        (got - student).abs() < 2e-5,
                        "{covariance:?} {centre:?} {radius} {nu}: {got} {student}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_circular_normal_is_a_rice_distribution() {
    // P = 1 − Q₁(a, b) = e^(−(a²+b²)/2) Σ_{k≥1} (b/a)ᵏ I_k(ab): Marcum, RAND RM-753, 1948; the modified Bessel functions by their series.
    let bessel = |k: u32, x: f64| {
        let half = 0.5 * x;
        let mut term = 1.0;
        for j in 1..=k {
            term *= half / f64::from(j);
        }
        let (mut sum, mut m) = (0.0, 0_u32);
        while term > sum * 1e-18 {
            sum += term;
            m += 1;
            term *= half * half / (f64::from(m) * f64::from(m + k));
        }
        sum
    };
    let ellipse = Ellipse::of([[0.25, 0.0], [0.0, 0.25]]);
    for (a, b) in [(0.5, 1.0), (2.0, 1.0), (3.0, 4.0), (1.0, 6.0)] {
        let mut sum = 0.0;
        let mut ratio = 1.0;
        for k in 1..120 {
            ratio *= b / a;
            sum += ratio * bessel(k, a * b);
        }
        let want = sum * libm::exp(-0.5 * (a * a + b * b));
        let got = share_inside(0.5 * b, [0.3 * a, -0.4 * a], ellipse, f64::INFINITY);
        near(got, want, 1e-11);
    }
}

#[test]
fn the_radius_undoes_the_share() {
    let ellipse = Ellipse::of([[1.0, 0.3], [0.3, 0.25]]);
    for nu in [4.0, f64::INFINITY] {
        for centre in [[0.0, 0.0], [0.5, 0.1], [20.0, -3.0]] {
            for share in [0.5, 0.95, 0.999] {
                let radius = radius_holding(share, centre, ellipse, nu);
                near(share_inside(radius, centre, ellipse, nu), share, 1e-10);
            }
        }
    }
    // A circular one in closed form: r = s √(−2 ln(1 − p)).
    let circular = Ellipse::of([[4.0, 0.0], [0.0, 4.0]]);
    near(
        radius_holding(0.95, [0.0; 2], circular, f64::INFINITY),
        2.0 * math::sqrt(-2.0 * libm::log(0.05)),
        1e-13,
    );
}

#[test]
fn extremes_are_answered_without_a_panic() {
    let numbers = [0.0, 1e-300, 1e-8, 1.0, 1e8, 1e300, f64::INFINITY, f64::NAN];
    for a in numbers {
        for b in numbers {
            let ellipse = Ellipse::of([[a, 0.0], [0.0, b]]);
            for radius in numbers {
                let share = share_inside(radius, [b, a], ellipse, 3.0);
                assert!(share.is_nan() || (0.0..=1.0).contains(&share));
            }
            let _ = (chi_squared_upper(a, b), f_upper(a, b, 3.0), student_lower(a, b.max(1.0)));
        }
    }
    assert!(normal_density(1e300) == 0.0);
}

#[test]
fn very_many_degrees_keep_the_digits() {
    // With ν degrees limits are (1 + k/ν) times those of a known scatter, k of the order of the limit itself.
    for nu in [1e7, 1e8, 1e9, 1e10, 1e11, 9e11] {
        let near_known = 50.0 / nu + 3e-12;
        for (d, chance) in [(3.0, 0.05), (4.0, 0.05), (6.0, 1e-6), (12.0, 0.5)] {
            near(d * f_quantile(chance, d, nu), chi_squared_quantile(chance, d), near_known);
        }
        let circle = Ellipse { major: 0.05, minor: 0.05, direction: [1.0, 0.0] };
        for radius in [2.9, 3.0, 3.05, 3.2] {
            let known = share_inside(radius, [3.0, 0.0], circle, f64::INFINITY);
            near(share_inside(radius, [3.0, 0.0], circle, nu), known, near_known);
        }
        for share in [0.5, 0.95, 0.999_999] {
            let known = radius_holding(share, [3.0, 0.0], circle, f64::INFINITY);
            near(radius_holding(share, [3.0, 0.0], circle, nu), known, near_known);
        }
    }
}

#[test]
fn f_against_fifty_digits() {
    // From mpmath 1.3, betainc with 50 digits: d times the value that F(d, ν) exceeds with a chance, about the place where
    // the expansion takes over from the fraction and far from it.
    near(4.0 * f_quantile(0.05, 4.0, 7.0), 16.481_246_907_590_54, 1e-13);
    near(3.0 * f_quantile(0.5, 3.0, 2.5), 3.153_824_797_663_705, 1e-13);
    near(12.0 * f_quantile(0.05, 12.0, 1e4), 21.037_663_276_754_948, 1e-12);
    near(3.0 * f_quantile(0.05, 3.0, 3e4), 7.815_615_551_917_299, 1e-12);
    near(4.0 * f_quantile(0.05, 4.0, 99_999.0), 9.488_084_255_460_425, 1e-12);
    near(4.0 * f_quantile(0.05, 4.0, 100_001.0), 9.488_084_248_355_975, 1e-13);
    near(6.0 * f_quantile(1e-6, 6.0, 100_001.0), 38.264_890_331_870_46, 1e-13);
    near(4.0 * f_quantile(0.01, 4.0, 1e6), 13.276_778_994_968_229, 1e-13);
}

/// Radius, centre along the minor and the major axis, ratio of the axes (the major is 1), degrees of freedom, chance inside.
///
/// Computed with mpmath 1.3 at 30 digits, adaptive quadrature along the major axis over the distribution function along the minor
/// one; printed to 17 digits.
#[rustfmt::skip]
#[allow(clippy::excessive_precision, clippy::unreadable_literal)] // as mpmath prints them
const THIN_ELLIPSES: [(f64, [f64; 2], f64, f64, f64); 96] = [
    (2.0, [0.0, 0.0], 1e-2, f64::INFINITY, 0.9544970363022048),
    (0.02, [0.0, 0.0], 1e-2, f64::INFINITY, 0.013472640879531737),
    (0.01, [0.0, 0.0], 1e-2, f64::INFINITY, 0.0044455912128768215),
    (2.0, [0.5, 1.0], 1e-2, f64::INFINITY, 0.82382212202371504),
    (2.0, [2.0, 0.0], 1e-2, f64::INFINITY, 0.065063379794760756),
    (2.0, [1.9999995, 0.3], 1e-2, f64::INFINITY, 0.062242171075512126),
    (0.5, [0.1, 0.2], 1e-2, f64::INFINITY, 0.36884884517361986),
    (1e-3, [1e-4, 0.0], 1e-2, f64::INFINITY, 4.9935081216813574e-5),
    (2.0, [0.0, 0.0], 1e-4, f64::INFINITY, 0.95449973583368675),
    (0.0002, [0.0, 0.0], 1e-4, f64::INFINITY, 0.00013473400382905003),
    (0.01, [0.0, 0.0], 1e-4, f64::INFINITY, 0.0079783136769997708),
    (2.0, [0.5, 1.0], 1e-4, f64::INFINITY, 0.82383021160215028),
    (2.0, [2.0, 0.0], 1e-4, f64::INFINITY, 0.00655949578485783),
    (2.0, [1.9999995, 0.3], 1e-4, f64::INFINITY, 0.0063037373595791389),
    (0.5, [0.1, 0.2], 1e-4, f64::INFINITY, 0.36892365397057151),
    (1e-3, [1e-4, 0.0], 1e-4, f64::INFINITY, 0.00078980179913512506),
    (2.0, [0.0, 0.0], 1e-6, f64::INFINITY, 0.95449973610361459),
    (0.000002, [0.0, 0.0], 1e-6, f64::INFINITY, 1.3473400458859382e-6),
    (0.01, [0.0, 0.0], 1e-6, f64::INFINITY, 0.0079787125893709737),
    (2.0, [0.5, 1.0], 1e-6, f64::INFINITY, 0.82383021241105231),
    (2.0, [2.0, 0.0], 1e-6, f64::INFINITY, 0.00065600335408272136),
    (2.0, [1.9999995, 0.3], 1e-6, f64::INFINITY, 0.00098652648054262275),
    (0.5, [0.1, 0.2], 1e-6, f64::INFINITY, 0.36892366144803865),
    (1e-3, [1e-4, 0.0], 1e-6, f64::INFINITY, 0.00079388457826693493),
    (2.0, [0.0, 0.0], 1e-9, f64::INFINITY, 0.95449973610364159),
    (0.000000002, [0.0, 0.0], 1e-9, f64::INFINITY, 1.3473400458866978e-9),
    (0.01, [0.0, 0.0], 1e-9, f64::INFINITY, 0.0079787126292631675),
    (2.0, [0.5, 1.0], 1e-9, f64::INFINITY, 0.82383021241113321),
    (2.0, [2.0, 0.0], 1e-9, f64::INFINITY, 2.0744664678040054e-5),
    (2.0, [1.9999995, 0.3], 1e-9, f64::INFINITY, 0.0010787267082954238),
    (0.5, [0.1, 0.2], 1e-9, f64::INFINITY, 0.36892366144878647),
    (1e-3, [1e-4, 0.0], 1e-9, f64::INFINITY, 0.00079388498326875468),
    (2.0, [0.0, 0.0], 1e-2, 3.0, 0.8606622099634245),
    (0.02, [0.0, 0.0], 1e-2, 3.0, 0.012073727313190193),
    (0.01, [0.0, 0.0], 1e-2, 3.0, 0.0041901215564713376),
    (2.0, [0.5, 1.0], 1e-2, 3.0, 0.76059005862663941),
    (2.0, [2.0, 0.0], 1e-2, 3.0, 0.060950684900638432),
    (2.0, [1.9999995, 0.3], 1e-2, 3.0, 0.057937004560201361),
    (0.5, [0.1, 0.2], 1e-2, 3.0, 0.33458484024551223),
    (1e-3, [1e-4, 0.0], 1e-2, 3.0, 4.9891995614668033e-5),
    (2.0, [0.0, 0.0], 1e-4, 3.0, 0.86067403025973762),
    (0.0002, [0.0, 0.0], 1e-4, 3.0, 0.00012074762925299168),
    (0.01, [0.0, 0.0], 1e-4, 3.0, 0.0073503367981297952),
    (2.0, [0.5, 1.0], 1e-4, 3.0, 0.7606066629520096),
    (2.0, [2.0, 0.0], 1e-4, 3.0, 0.0061467617748081263),
    (2.0, [1.9999995, 0.3], 1e-4, 3.0, 0.0058672622812312953),
    (0.5, [0.1, 0.2], 1e-4, 3.0, 0.33469344182196155),
    (1e-3, [1e-4, 0.0], 1e-4, 3.0, 0.00072562916301630699),
    (2.0, [0.0, 0.0], 1e-6, 3.0, 0.86067403144103868),
    (0.000002, [0.0, 0.0], 1e-6, 3.0, 1.2074763028872628e-6),
    (0.01, [0.0, 0.0], 1e-6, 3.0, 0.0073508885320169561),
    (2.0, [0.5, 1.0], 1e-6, 3.0, 0.76060666461137562),
    (2.0, [2.0, 0.0], 1e-6, 3.0, 0.00061472850170575517),
    (2.0, [1.9999995, 0.3], 1e-6, 3.0, 0.00091709550721646154),
    (0.5, [0.1, 0.2], 1e-6, 3.0, 0.33469345264178947),
    (1e-3, [1e-4, 0.0], 1e-6, 3.0, 0.0007314197122541995),
    (2.0, [0.0, 0.0], 1e-9, 3.0, 0.86067403144115682),
    (0.000000002, [0.0, 0.0], 1e-9, 3.0, 1.2074763028882987e-9),
    (0.01, [0.0, 0.0], 1e-9, 3.0, 0.0073508885871479633),
    (2.0, [0.5, 1.0], 1e-9, 3.0, 0.76060666461154157),
    (2.0, [2.0, 0.0], 1e-9, 3.0, 1.9439438778965047e-5),
    (2.0, [1.9999995, 0.3], 1e-9, 3.0, 0.00097991751972242534),
    (0.5, [0.1, 0.2], 1e-9, 3.0, 0.33469345264287155),
    (1e-3, [1e-4, 0.0], 1e-9, 3.0, 0.00073142027196506294),
    (2.0, [0.0, 0.0], 1e-2, 8.0, 0.91947841556527745),
    (0.02, [0.0, 0.0], 1e-2, 8.0, 0.012879741040767329),
    (0.01, [0.0, 0.0], 1e-2, 8.0, 0.0043424574679537845),
    (2.0, [0.5, 1.0], 1e-2, 8.0, 0.8023719404891779),
    (2.0, [2.0, 0.0], 1e-2, 8.0, 0.063522430966543723),
    (2.0, [1.9999995, 0.3], 1e-2, 8.0, 0.060621632585798157),
    (0.5, [0.1, 0.2], 1e-2, 8.0, 0.35539626720607682),
    (1e-3, [1e-4, 0.0], 1e-2, 8.0, 4.9918906045781537e-5),
    (2.0, [0.0, 0.0], 1e-4, 8.0, 0.91948376150815374),
    (0.0002, [0.0, 0.0], 1e-4, 8.0, 0.00012880611484751341),
    (0.01, [0.0, 0.0], 1e-4, 8.0, 0.0077333934346118416),
    (2.0, [0.5, 1.0], 1e-4, 8.0, 0.80238223568047524),
    (2.0, [2.0, 0.0], 1e-4, 8.0, 0.0064047291901827551),
    (2.0, [1.9999995, 0.3], 1e-4, 8.0, 0.0061392200433340649),
    (0.5, [0.1, 0.2], 1e-4, 8.0, 0.35548064751407884),
    (1e-3, [1e-4, 0.0], 1e-4, 8.0, 0.00076497243103693405),
    (2.0, [0.0, 0.0], 1e-6, 8.0, 0.91948376204268387),
    (0.000002, [0.0, 0.0], 1e-6, 8.0, 1.2880611571802528e-6),
    (0.01, [0.0, 0.0], 1e-6, 8.0, 0.0077338353658935795),
    (2.0, [0.5, 1.0], 1e-6, 8.0, 0.80238223670989116),
    (2.0, [2.0, 0.0], 1e-6, 8.0, 0.00064052602977037583),
    (2.0, [1.9999995, 0.3], 1e-6, 8.0, 0.00095986905678111632),
    (0.5, [0.1, 0.2], 1e-6, 8.0, 0.35548065594617454),
    (1e-3, [1e-4, 0.0], 1e-6, 8.0, 0.00076952074409857567),
    (2.0, [0.0, 0.0], 1e-9, 8.0, 0.91948376204273733),
    (0.000000002, [0.0, 0.0], 1e-9, 8.0, 1.2880611571811234e-9),
    (0.01, [0.0, 0.0], 1e-9, 8.0, 0.0077338354100857762),
    (2.0, [0.5, 1.0], 1e-9, 8.0, 0.80238223670999411),
    (2.0, [2.0, 0.0], 1e-9, 8.0, 2.0255228496788544e-5),
    (2.0, [1.9999995, 0.3], 1e-9, 8.0, 0.0010400500537718626),
    (0.5, [0.1, 0.2], 1e-9, 8.0, 0.35548065594701784),
    (1e-3, [1e-4, 0.0], 1e-9, 8.0, 0.000769521192753214),
];

#[test]
fn thin_ellipses_against_thirty_digits() {
    for (radius, [across, along], minor, degrees, want) in THIN_ELLIPSES {
        // The major axis lies along (0.6, 0.8), so that nothing is aligned; the minor one is a quarter turn from it.
        let ellipse = Ellipse { major: 1.0, minor, direction: [0.6, 0.8] };
        let centre = [0.6 * along - 0.8 * across, 0.8 * along + 0.6 * across];
        let got = share_inside(radius, centre, ellipse, degrees);
        // Places are told apart to a rounding of the radius, which is a ten millionth of the thinnest of these.
        let tolerance = if minor < 1e-6 { 1e-10 } else { 1e-11 };
        assert!(
            (got - want).abs() <= tolerance,
            "{radius} {across} {along} {minor} {degrees}: {got:e} for {want:e}"
        );
    }
}
