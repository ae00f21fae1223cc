//! Three-component vectors as plain arrays: the few operations the geometry needs, in f64.

/// A vector or point with x, y and z components; millimetres where it is a place.
pub type Vector = [f64; 3];

/// Returns the scalar product.
#[inline]
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Returns the right-handed vector product.
#[inline]
pub fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Returns the way from `b` to `a`.
#[inline]
pub fn sub(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// Returns the sum.
#[inline]
pub fn add(a: Vector, b: Vector) -> Vector {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// Returns the vector made longer by a factor.
#[inline]
pub fn scale(a: Vector, factor: f64) -> Vector {
    [a[0] * factor, a[1] * factor, a[2] * factor]
}

/// Returns the Euclidean length.
#[inline]
pub fn norm(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

/// Returns the distance between two points.
#[inline]
pub fn distance(a: Vector, b: Vector) -> f64 {
    norm(sub(a, b))
}

/// Returns the unit vector, or zero where there is no direction.
#[inline]
pub fn normalise(a: Vector) -> Vector {
    // Scaled first: squaring the components of a very small or large vector would under- or overflow.
    let largest = a[0].abs().max(a[1].abs()).max(a[2].abs());
    if largest == 0.0 || !largest.is_finite() {
        return [0.0; 3];
    }
    let s = [a[0] / largest, a[1] / largest, a[2] / largest];
    scale(s, 1.0 / norm(s))
}

/// Returns the product of a matrix (rows) and a column vector.
#[inline]
pub fn rotate(rows: &[[f64; 3]; 3], v: Vector) -> Vector {
    [dot(rows[0], v), dot(rows[1], v), dot(rows[2], v)]
}

/// Returns the determinant of a matrix given by rows; negative for one that mirrors.
pub fn determinant(rows: &[[f64; 3]; 3]) -> f64 {
    dot(rows[0], cross(rows[1], rows[2]))
}

/// Returns two unit vectors that, with the unit vector `n`, form a right-handed frame (`u x v = n`).
///
/// Method: Duff et al., "Building an orthonormal basis, revisited", J. Computer Graphics Techniques 6(1), 2017.
pub fn perpendiculars(n: Vector) -> (Vector, Vector) {
    let sign = 1.0_f64.copysign(n[2]);
    let a = -1.0 / (sign + n[2]);
    let b = n[0] * n[1] * a;
    ([1.0 + sign * n[0] * n[0] * a, sign * b, -sign * n[0]], [b, sign + n[1] * n[1] * a, -n[1]])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn perpendiculars_form_a_right_handed_frame() {
        for n in [[0.0, 0.0, 1.0], [0.0, 0.0, -1.0], [1.0, 0.0, 0.0], normalise([1.0, -2.0, -3.0])] {
            let (u, v) = perpendiculars(n);
            let w = cross(u, v);
            assert!(distance(w, n) < 1e-12 && dot(u, n).abs() < 1e-12 && (norm(u) - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn normalise_keeps_to_length_one_at_any_scale() {
        assert!((norm(normalise([3e-200, 4e-200, 0.0])) - 1.0).abs() < 1e-12);
        assert!((norm(normalise([3e200, 4e200, 0.0])) - 1.0).abs() < 1e-12);
        assert_eq!(normalise([0.0; 3]), [0.0; 3]);
    }
}
