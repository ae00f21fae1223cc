//! The distribution function the rest needs, to about 1e-12: the incomplete beta function.
//!
//! Methods: Lanczos approximation and continued fractions (Abramowitz and Stegun 6.1, 26.5); inverses by bisection, which
//! cannot run away.

/// ln Γ(x) for x > 0 (Lanczos, g = 7, nine terms).
fn ln_gamma(x: f64) -> f64 {
    const C: [f64; 9] = [
        0.999_999_999_999_809_9,
        676.520_368_121_885_1,
        -1_259.139_216_722_402_8,
        771.323_428_777_653_1,
        -176.615_029_162_140_6,
        12.507_343_278_686_905,
        -0.138_571_095_265_720_12,
        9.984_369_578_019_572e-6,
        1.505_632_735_149_311_6e-7,
    ];
    let x = x - 1.0;
    let t = x + 7.5;
    let sum = C.iter().enumerate().skip(1).fold(C[0], |s, (i, c)| s + c / (x + i as f64));
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x + 0.5) * t.ln() - t + sum.ln()
}

/// Modified Lentz evaluation of `b0 + a1/(b1 + a2/(b2 + ...))`.
fn continued_fraction(b0: f64, terms: impl Fn(f64) -> (f64, f64)) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut f = guard(b0);
    let (mut c, mut d) = (f, 0.0);
    for n in 1..20_000 {
        let (a, b) = terms(f64::from(n));
        d = 1.0 / guard(b + a * d);
        c = guard(b + a / c);
        let step = c * d;
        f *= step;
        if (step - 1.0).abs() < 1e-15 {
            break;
        }
    }
    f
}

/// Regularised incomplete beta function I_x(a, b), a, b > 0, 0 <= x <= 1.
pub(super) fn beta_i(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // The fraction converges fast only below the mean; mirror otherwise.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_i_below(b, a, 1.0 - x);
    }
    beta_i_below(a, b, x)
}

fn beta_i_below(a: f64, b: f64, x: f64) -> f64 {
    let front = (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (1.0 - x).ln()).exp() / a;
    let fraction = continued_fraction(1.0, |n| {
        let m = (n / 2.0).floor();
        let numerator = if n % 2.0 == 0.0 {
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        } else {
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        };
        (numerator, 1.0)
    });
    (front / fraction).clamp(0.0, 1.0)
}

/// Smallest x in `low..high` with `rising(x) >= p`, by bisection.
pub(super) fn bisect(mut low: f64, mut high: f64, p: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if rising(middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, tolerance: f64) {
        assert!((a - b).abs() <= tolerance, "{a} is not {b}");
    }

    /// Closed forms: Γ(1/2) = √π, Γ(11) = 10!, I_x(1, b) = 1 - (1-x)^b, I_x(a, 1) = x^a.
    #[test]
    fn special_functions_agree_with_closed_forms() {
        near(ln_gamma(0.5), std::f64::consts::PI.sqrt().ln(), 1e-13);
        near(ln_gamma(11.0), 3_628_800.0_f64.ln(), 1e-12);
        for x in [0.01, 0.2, 0.5, 0.9, 0.999] {
            near(beta_i(1.0, 7.0, x), 1.0 - (1.0 - x).powi(7), 1e-13);
            near(beta_i(5.0, 1.0, x), x.powi(5), 1e-13);
        }
    }
}
