//! A rigid body that turns inside: an engine with its propeller on soft mounts, four degrees of freedom.
//!
//! Axes: x along the shaft, forward; y and z across it. Space angles run from y towards z. Stations are counted along x
//! from the centre of gravity. A point of the body at station s moves across the shaft by
//!
//! ```text
//! y_s = y + s φ,  z_s = z + s ψ,  with the slopes φ = ∂y/∂x, ψ = ∂z/∂x
//! ```
//!
//! The rotor turns at W and carries the angular momentum `I_p W` along the shaft, (1, φ, ψ); its change is the gyroscopic
//! moment. A force across the shaft at station s has the moments `M_z = s F_y` and `M_y = −s F_z`, the rotations about z and
//! y are φ and −ψ, so that (G. Genta, Dynamics of Rotating Systems, 2005, from memory, in these axes):
//!
//! ```text
//! m y″                       + mounts = Σ F_y
//! m z″                       + mounts = Σ F_z
//! I_φ φ″ + I_p W ψ′          + mounts = Σ s F_y
//! I_ψ ψ″ − I_p W φ′          + mounts = Σ s F_z
//! ```
//!
//! A propeller with two blades has another inertia across its blades than along them, and shakes its engine twice a turn; it
//! is taken here as one with three blades or more, whose inertia is the same in all directions. What is once per turn
//! is then linear with constant coefficients.

// Every index is below four, or two.
#![allow(clippy::indexing_slicing)]

use num_complex::Complex64;

/// Four numbers or four rows: y, z, φ, ψ.
pub type Four<T> = [T; 4];

const ZERO: Complex64 = Complex64::new(0.0, 0.0);
const J: Complex64 = Complex64::new(0.0, 1.0);

/// Which way the rotor turns, in space.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turns {
    /// From y towards z.
    FromYToZ,
    /// From z towards y.
    FromZToY,
}

impl Turns {
    /// 1 where the rotor turns as space angles are counted, −1 otherwise.
    pub const fn sign(self) -> f64 {
        match self {
            Self::FromYToZ => 1.0,
            Self::FromZToY => -1.0,
        }
    }
}

/// All mounts of one station together: along y and z, and against a slope of the shaft.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mount {
    pub station_m: f64,
    pub stiffness_n_per_m: [f64; 2],
    pub damping_n_s_per_m: [f64; 2],
    /// A ring of mounts resists a slope by itself.
    pub tilt_stiffness_n_m_per_rad: [f64; 2],
    pub tilt_damping_n_m_s_per_rad: [f64; 2],
}

/// The body with its rotor and its mounts.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Of everything on the mounts.
    pub mass_kg: f64,
    /// Of everything, about the centre of gravity, for the slopes φ and ψ.
    pub transverse_inertia_kg_m2: [f64; 2],
    /// Of what turns, about the shaft.
    pub polar_inertia_kg_m2: f64,
    pub turns: Turns,
    pub mounts: Vec<Mount>,
}

impl Body {
    /// What a motion `q exp(jωt)` needs of force while the rotor turns at a speed, both in rad/s.
    pub fn dynamic_stiffness(&self, spin: f64, frequency: f64) -> Four<Four<Complex64>> {
        let [of_phi, of_psi] = self.transverse_inertia_kg_m2;
        let mass = [self.mass_kg, self.mass_kg, of_phi, of_psi];
        let (mut stiffness, mut damping) = ([[0.0; 4]; 4], [[0.0; 4]; 4]);
        for mount in &self.mounts {
            let s = mount.station_m;
            for axis in 0..2 {
                let of_axis = [
                    (&mut stiffness, mount.stiffness_n_per_m[axis], mount.tilt_stiffness_n_m_per_rad[axis]),
                    (&mut damping, mount.damping_n_s_per_m[axis], mount.tilt_damping_n_m_s_per_rad[axis]),
                ];
                let (shift, slope) = (axis, axis + 2);
                for (matrix, across, tilt) in of_axis {
                    // F = −k (y + s φ), M = −s k (y + s φ) − κ φ
                    matrix[shift][shift] += across;
                    matrix[shift][slope] += s * across;
                    matrix[slope][shift] += s * across;
                    matrix[slope][slope] += s * s * across + tilt;
                }
            }
        }
        // W G: I_p W ψ′ acts on φ, −I_p W φ′ on ψ.
        let gyroscopic = self.polar_inertia_kg_m2 * spin * self.turns.sign();
        damping[2][3] += gyroscopic;
        damping[3][2] -= gyroscopic;
        let mut dynamic = [[ZERO; 4]; 4];
        for row in 0..4 {
            for column in 0..4 {
                let inertia = if row == column { mass[row] } else { 0.0 };
                // D = −ω² M + jω (C + W G) + K
                dynamic[row][column] = Complex64::new(
                    stiffness[row][column] - frequency * frequency * inertia,
                    frequency * damping[row][column],
                );
            }
        }
        dynamic
    }

    /// The motion, as complex amplitudes, that forces and moments at a frequency cause; `None` at an undamped resonance.
    pub fn motion(&self, spin: f64, frequency: f64, forces: Four<Complex64>) -> Option<Four<Complex64>> {
        solve(self.dynamic_stiffness(spin, frequency), forces)
    }

    /// The forces and moments that an unbalance in kg m at a station, a complex number counted with rotation from y, makes
    /// at speed W: it pulls along y with `U W² cos(Wt + β)`, along z with `± U W² sin(Wt + β)`.
    pub fn pull(&self, spin: f64, station_m: f64, unbalance_kg_m: Complex64) -> Four<Complex64> {
        // F = U W² exp(jβ) (1, ∓j)
        let along_y = unbalance_kg_m * (spin * spin);
        let along_z = along_y * J * -self.turns.sign();
        [along_y, along_z, along_y * station_m, along_z * station_m]
    }
}

/// `A⁻¹ b` by Gauss with the largest pivot; `None` for a singular matrix.
#[allow(clippy::needless_range_loop)] // rows of one matrix against each other
fn solve(mut a: Four<Four<Complex64>>, mut b: Four<Complex64>) -> Option<Four<Complex64>> {
    for at in 0..4 {
        let pivot = (at..4).max_by(|&i, &j| a[i][at].norm_sqr().total_cmp(&a[j][at].norm_sqr()))?;
        if a[pivot][at].norm_sqr() == 0.0 {
            return None;
        }
        a.swap(at, pivot);
        b.swap(at, pivot);
        for row in at + 1..4 {
            let factor = a[row][at] / a[at][at];
            for column in at..4 {
                let part = factor * a[at][column];
                a[row][column] -= part;
            }
            let part = factor * b[at];
            b[row] -= part;
        }
    }
    let mut x = [ZERO; 4];
    for row in (0..4).rev() {
        let known: Complex64 = (row + 1..4).map(|column| a[row][column] * x[column]).sum();
        x[row] = (b[row] - known) / a[row][row];
    }
    Some(x)
}
