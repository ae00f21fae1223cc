//! Student's t: how far one more piece may lie from a few that were measured.

/// Student's t, 97.5 % point, by degrees of freedom (any statistics handbook; checked in the tests by its own integral).
const STUDENT_T: [f64; 30] = [
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131, 2.120,
    2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
];

/// Returns the 97.5 % point of Student's t; above 30 degrees of freedom by z + (z^3 + z)/(4 df), within 0.001.
pub(super) fn student_t_975(degrees: u32) -> f64 {
    match degrees {
        0 => STUDENT_T[0],
        1..=30 => STUDENT_T.get(degrees as usize - 1).copied().unwrap_or(STUDENT_T[0]),
        _ => {
            let z = 1.959_964_f64;
            z + (z.powi(3) + z) / (4.0 * f64::from(degrees))
        }
    }
}
