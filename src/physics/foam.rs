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

/// Share of a solid's strength that a foam of it has, `0.3 f^1.5`, where its struts yield in bending; a solid has the whole.
///
/// Prints of 10 to 80 % infill, with their walls, were 3.7 to 59 times as strong (tensile strengths of PLA on the outer section by
/// Ben Amor and others over this law): it is what is left where nothing is known of the pattern. Source: as [`stiffness`].
pub fn strength(filled: f64) -> f64 {
    if filled >= 1.0 { 1.0 } else { 0.3 * filled.max(0.0).powf(1.5) }
}

#[cfg(test)]
mod tests {
    use super::{stiffness, strength};

    /// Tensile strength of printed PLA on its outer section, MPa, at an infill (Ben Amor and others, as transcribed): each is
    /// more than the law says of the solid's 34 MPa.
    #[test]
    fn no_print_was_weaker_than_a_foam() {
        for (infill, mpa) in [(0.1, 19.0), (0.3, 21.0), (0.6, 24.0), (0.8, 27.0)] {
            assert!(3.0 * 34.0 * strength(infill) < mpa, "{infill}");
        }
        assert!((strength(0.25) - 0.0375).abs() < 1e-12 && strength(0.0) == 0.0 && strength(1.0) == 1.0);
    }

    #[test]
    fn a_foam_is_less_stiff_than_its_share_of_the_solid() {
        assert!((stiffness(0.2) - 0.04).abs() < 1e-12 && stiffness(0.0) > 0.0 && stiffness(7.0) == 1.0);
        for filled in [0.05, 0.1, 0.2, 0.3] {
            assert!(stiffness(filled) < filled);
        }
    }
}
