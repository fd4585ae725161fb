//! Matrices of two rows and two columns: what a force across the bar does in either direction.

use std::ops::{Add, Mul, Sub};

/// Rows, then columns; the directions are y and z of the blank frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Matrix(pub(crate) [[f64; 2]; 2]);

impl Matrix {
    /// The same in every direction.
    pub(crate) fn alike(value: f64) -> Matrix {
        Matrix([[value, 0.0], [0.0, value]])
    }

    /// The inverse; not finite where there is none.
    pub(crate) fn inverse(self) -> Matrix {
        let [[a, b], [c, d]] = self.0;
        Matrix([[d, -b], [-c, a]]) * (a * d - b * c).recip()
    }

    /// Greatest eigenvalue of a symmetric matrix; infinite if any of its values is.
    pub(crate) fn greatest(self) -> f64 {
        let [[a, b], [c, d]] = self.0;
        if [a, b, c, d].iter().any(|value| value.is_infinite()) {
            return f64::INFINITY;
        }
        0.5 * (a + d) + (0.25 * (a - d) * (a - d) + b * c).max(0.0).sqrt()
    }

    /// Least eigenvalue of a symmetric matrix of finite values.
    pub(crate) fn least(self) -> f64 {
        self.0[0][0] + self.0[1][1] - self.greatest()
    }

    /// The greatest length that it makes of a vector of length 1: the root of the greatest eigenvalue of AᵀA.
    pub(crate) fn stretch(self) -> f64 {
        let [[a, b], [c, d]] = self.0;
        Matrix([[a * a + c * c, a * b + c * d], [a * b + c * d, b * b + d * d]]).greatest().sqrt()
    }
}

impl Add for Matrix {
    type Output = Matrix;

    fn add(self, other: Matrix) -> Matrix {
        Matrix(std::array::from_fn(|row| std::array::from_fn(|column| self.0[row][column] + other.0[row][column])))
    }
}

impl Sub for Matrix {
    type Output = Matrix;

    fn sub(self, other: Matrix) -> Matrix {
        self + other * -1.0
    }
}

impl Mul<f64> for Matrix {
    type Output = Matrix;

    fn mul(self, factor: f64) -> Matrix {
        Matrix(self.0.map(|row| row.map(|value| value * factor)))
    }
}

impl Mul for Matrix {
    type Output = Matrix;

    fn mul(self, other: Matrix) -> Matrix {
        let column = |row: usize, column: usize| (0..2).map(|k| self.0[row][k] * other.0[k][column]).sum();
        Matrix(std::array::from_fn(|row| std::array::from_fn(|k| column(row, k))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_and_its_inverse() {
        let matrix = Matrix([[4.0, 1.0], [1.0, 3.0]]);
        assert_eq!(matrix * Matrix([[3.0, -1.0], [-1.0, 4.0]]) * (1.0 / 11.0), Matrix::alike(1.0));
        assert!((matrix.inverse() * matrix - Matrix::alike(1.0)).0.as_flattened().iter().all(|it| it.abs() < 1e-15));
        // Eigenvalues of [[4, 1], [1, 3]] are (7 ± √5)/2.
        assert!((matrix.greatest() - 0.5 * (7.0 + 5f64.sqrt())).abs() < 1e-14);
        assert!((matrix.least() - 0.5 * (7.0 - 5f64.sqrt())).abs() < 1e-14);
        assert!((matrix.stretch() - matrix.greatest()).abs() < 1e-14);
        assert_eq!(Matrix::alike(f64::INFINITY).greatest(), f64::INFINITY);
    }
}
