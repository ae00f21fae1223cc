//! What a foam of open cells has of its solid: less than a print of that infill has, which has walls besides.

/// Fillings below this have no stiffness worth a number; it keeps what is divided by it finite.
const LEAST: f64 = 0.01;

/// Share of a solid's stiffness that a foam of it has, `f^2`, where struts bend.
///
/// `filled` is the foam's density over the solid's; beyond about 0.3 a foam is a solid with holes in it, which has more.
/// Source: handbook, recalled: Gibson and Ashby, *Cellular Solids*, 2nd ed. 1997, ch. 5.
pub fn stiffness(filled: f64) -> f64 {
    filled.clamp(LEAST, 1.0).powi(2)
}

#[cfg(test)]
mod tests {
    use super::stiffness;

    #[test]
    fn a_foam_is_less_stiff_than_its_share_of_the_solid() {
        assert!((stiffness(0.2) - 0.04).abs() < 1e-12 && stiffness(0.0) > 0.0 && stiffness(7.0) == 1.0);
        for filled in [0.05, 0.1, 0.2, 0.3] {
            assert!(stiffness(filled) < filled);
        }
    }
}
