//! Dense real solvers for the Newton systems of the optimal corrections: a few unknowns, no
//! allocation, and an answer also when the system is singular.

/// A pivot of which less than this fraction of the diagonal element is left counts as zero.
const DIRECTION_ZERO: f64 = 4.0 * f64::EPSILON;

/// A pivot below this, in a system scaled to unit size, counts as zero.
const PIVOT_ZERO: f64 = 1e-12;

/// Factors the symmetric positive semidefinite `m` (row-major, `n` x `n`, lower triangle) in place
/// as L D Lᵀ: the unit lower triangle L below the diagonal, 1/D on it.
///
/// A direction in which the matrix vanishes gets an infinite pivot: nothing moves in it.
pub(crate) fn factor(m: &mut [f64], n: usize) {
    for i in 0..n {
        let (above, row) = m.split_at_mut(i * n);
        let diagonal = row[i];
        let mut pivot = diagonal;
        // Lᵢⱼ Dⱼ = mᵢⱼ − Σ_{k<j} (Lᵢₖ Dₖ) Lⱼₖ
        for j in 0..i {
            let mut sum = row[j];
            for k in 0..j {
                sum -= row[k] * above[j * n + k];
            }
            row[j] = sum;
        }
        // Dᵢ = mᵢᵢ − Σ_{k<i} (Lᵢₖ Dₖ)² / Dₖ
        for j in 0..i {
            let scaled = row[j] * above[j * n + j];
            pivot -= row[j] * scaled;
            row[j] = scaled;
        }
        row[i] = if pivot > DIRECTION_ZERO * diagonal { 1.0 / pivot } else { 0.0 };
    }
}

/// Solves L x = `x` in place, L the unit lower triangle left by [`factor`].
pub(crate) fn forward(l: &[f64], n: usize, x: &mut [f64]) {
    for i in 0..n {
        let mut sum = x[i];
        for j in 0..i {
            sum -= l[i * n + j] * x[j];
        }
        x[i] = sum;
    }
}

/// Solves L D Lᵀ x = `x` in place, with what [`factor`] left.
pub(crate) fn solve_factored(l: &[f64], n: usize, x: &mut [f64]) {
    forward(l, n, x);
    for i in (0..n).rev() {
        let mut sum = x[i] * l[i * n + i];
        for j in i + 1..n {
            sum -= l[j * n + i] * x[j];
        }
        x[i] = sum;
    }
}

/// Solves the square system `a` x = `b` (row-major, `n` x `n`, scaled to about unit size) by Gaussian
/// elimination with row pivoting; the answer replaces `b`.
///
/// When the rank is short, the unknowns without a pivot stay zero and the equations left over are
/// ignored: a consistent singular system still gets a solution. `lead` is scratch of length `n`.
pub(crate) fn solve_indefinite(a: &mut [f64], n: usize, b: &mut [f64], lead: &mut [usize]) {
    let mut rank = 0;
    for column in 0..n {
        let (mut largest, mut pivot_row) = (PIVOT_ZERO, n);
        for i in rank..n {
            let size = a[i * n + column].abs();
            if size > largest {
                (largest, pivot_row) = (size, i);
            }
        }
        if pivot_row == n {
            continue;
        }
        let (upper, lower) = a.split_at_mut((rank + 1) * n);
        let pivot = &mut upper[rank * n..];
        if pivot_row != rank {
            let other = &mut lower[(pivot_row - rank - 1) * n..(pivot_row - rank) * n];
            pivot[column..].swap_with_slice(&mut other[column..]);
            b.swap(pivot_row, rank);
        }
        let inverse = 1.0 / pivot[column];
        let tail = &pivot[column + 1..];
        let (top, below) = b.split_at_mut(rank + 1);
        for (row, b) in lower.chunks_exact_mut(n).zip(below) {
            let factor = row[column] * inverse;
            if factor != 0.0 {
                for (x, p) in row[column + 1..].iter_mut().zip(tail) {
                    *x -= factor * p;
                }
                *b -= factor * top[rank];
            }
        }
        lead[rank] = column;
        rank += 1;
    }
    b[rank..n].fill(0.0);
    // Row r determines unknown lead[r] ≥ r: what stands further on in `b` is known already.
    for r in (0..rank).rev() {
        let place = lead[r];
        let row = &a[r * n..(r + 1) * n];
        let mut sum = core::mem::take(&mut b[r]);
        for (x, known) in row[place + 1..].iter().zip(&b[place + 1..n]) {
            sum -= x * known;
        }
        b[place] = sum / row[place];
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use alloc::vec;
    use alloc::vec::Vec;

    /// xorshift64*, in [-1, 1).
    fn uniform(state: &mut u64) -> f64 {
        *state ^= *state >> 12;
        *state ^= *state << 25;
        *state ^= *state >> 27;
        let bits = state.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11;
        bits as f64 / (1_u64 << 52) as f64 - 1.0
    }

    fn product(a: &[f64], n: usize, x: &[f64]) -> Vec<f64> {
        (0..n).map(|i| (0..n).map(|j| a[i * n + j] * x[j]).sum()).collect()
    }

    #[test]
    fn both_solvers_return_the_solution_put_in() {
        let mut seed = 7;
        for n in 1..9 {
            for _ in 0..50 {
                let g: Vec<f64> = (0..n * n).map(|_| uniform(&mut seed)).collect();
                let x: Vec<f64> = (0..n).map(|_| uniform(&mut seed)).collect();
                let mut gram = vec![0.0; n * n];
                for i in 0..n {
                    for j in 0..n {
                        gram[i * n + j] = (0..n).map(|k| g[i * n + k] * g[j * n + k]).sum::<f64>()
                            + if i == j { 1.0 } else { 0.0 };
                    }
                }
                let mut b = product(&gram, n, &x);
                factor(&mut gram, n);
                solve_factored(&gram, n, &mut b);
                for (got, want) in b.iter().zip(&x) {
                    assert!((got - want).abs() < 1e-12, "{n}: {got} {want}");
                }

                let mut shifted = g.clone();
                for i in 0..n {
                    shifted[i * n + (i + 1) % n] += 4.0; // far from singular, not diagonal
                }
                let mut b = product(&shifted, n, &x);
                solve_indefinite(&mut shifted, n, &mut b, &mut vec![0; n]);
                for (got, want) in b.iter().zip(&x) {
                    assert!((got - want).abs() < 1e-12, "{n}: {got} {want}");
                }
            }
        }
    }

    #[test]
    fn a_consistent_singular_system_is_still_met() {
        // Third row = first + second.
        let a = [1.0, 2.0, 3.0, -1.0, 0.5, 2.0, 0.0, 2.5, 5.0];
        let b = product(&a, 3, &[0.3, -0.7, 0.2]);
        let mut x = b.clone();
        solve_indefinite(&mut a.clone(), 3, &mut x, &mut [0; 3]);
        assert!(x.contains(&0.0));
        for (got, want) in product(&a, 3, &x).iter().zip(&b) {
            assert!((got - want).abs() < 1e-14);
        }

        let mut gram = [4.0, 0.0, 2.0, 1.0]; // rank one, lower triangle
        let mut x = [2.0, 1.0];
        factor(&mut gram, 2);
        solve_factored(&gram, 2, &mut x);
        assert!((2.0 * x[0] + x[1] - 1.0).abs() < 1e-12);
    }
}
