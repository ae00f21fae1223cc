//! What must hold for any input: hotter is weaker, nothing overlaps, more is never less.

use makeready::physics::packing::{self, Place};
use makeready::physics::statistics::binomial;
use makeready::physics::strength::{self, Factors, LayerStress, LoadCase, Strengths};
use makeready::physics::{heat, press_fit, print_time, sustained, warp};
use makeready::quantity::{
    Angle, Area, Density, Duration, Expansion, Flow, Irradiance, Length, Speed, Stress, SurfaceCoefficient,
    Temperature, TemperatureDifference, Volume,
};
use proptest::prelude::*;

fn mm(v: f64) -> Length {
    Length::mm(v)
}

fn mpa(v: f64) -> Stress {
    Stress::mpa(v)
}

fn overlap(a: &Place, b: &Place) -> bool {
    let apart = |p: Length, w: Length, q: Length, v: Length| {
        p.to_um() + w.to_um() <= q.to_um() + 1e-6 || q.to_um() + v.to_um() <= p.to_um() + 1e-6
    };
    !(apart(a.x, a.width, b.x, b.width) || apart(a.y, a.depth, b.y, b.depth))
}

fn sound_plate(places: &[Place], bed: [f64; 2], margin: f64, gap: f64) {
    let room = [bed[0] - 2.0 * margin, bed[1] - 2.0 * margin];
    for (i, a) in places.iter().enumerate() {
        assert!(a.x.to_mm() >= 0.0 && a.y.to_mm() >= 0.0);
        assert!(a.x.to_mm() + a.width.to_mm() <= room[0] + 1e-9, "{a:?} leaves the bed");
        assert!(a.y.to_mm() + a.depth.to_mm() <= room[1] + 1e-9, "{a:?} leaves the bed");
        let grown = Place { width: mm(a.width.to_mm() + gap), depth: mm(a.depth.to_mm() + gap), ..*a };
        for b in &places[i + 1..] {
            let other = Place { width: mm(b.width.to_mm() + gap), depth: mm(b.depth.to_mm() + gap), ..*b };
            assert!(!overlap(&grown, &other), "{a:?} and {b:?} are closer than the gap");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn hotter_longer_and_oftener_is_never_stronger(
        limit in 40.0..200.0_f64, t in -20.0..220.0_f64, dt in 0.0..50.0_f64, days in 0.0..3000.0_f64, more in 1.0..10.0_f64,
        cycles in 1.0..1e7_f64, across in 0.0..1.0_f64,
    ) {
        let hot = |t: f64| strength::hot_strength_factor(Temperature::celsius(t), Temperature::celsius(limit)).unwrap();
        prop_assert!(hot(t + dt) <= hot(t));
        prop_assert!((0.0..=1.0).contains(&hot(t)));
        let held = |d: f64| sustained::sustained_band(Duration::days(d)).unwrap();
        let (now, later) = (held(days), held(days * more));
        prop_assert!(later.low <= now.low && later.typical <= now.typical && later.high <= now.high);
        prop_assert!(now.low <= now.typical && now.typical <= now.high && now.high <= 1.0);
        let tired = |n: f64, a: f64| sustained::fatigue_factor(n, a).unwrap();
        prop_assert!(tired(cycles * more, across) <= tired(cycles, across));
        prop_assert!(tired(cycles, 1.0) <= tired(cycles, across));
        prop_assert!(tired(cycles, across) > 0.0 && tired(cycles, across) <= 1.0);
    }

    #[test]
    fn strength_at_an_angle_lies_within_the_material(
        x in 10.0..120.0_f64, ratio in 0.1..1.0_f64, shear in 0.1..1.5_f64, angle in 0.0..90.0_f64,
    ) {
        let at = |a: f64| strength::across_layer_strength(mpa(x), mpa(x * ratio), mpa(x * shear), Angle::deg(a)).unwrap().to_mpa();
        prop_assert!(at(angle) <= x * (1.0 + 1e-12));
        prop_assert!(at(angle) > 0.0);
        prop_assert!((at(0.0) - x).abs() < 1e-9 * x && (at(90.0) - x * ratio).abs() < 1e-9 * x);
        prop_assert!((at(angle) - at(-angle)).abs() < 1e-9 * x, "the sign of the angle does not matter");
        prop_assert!((at(angle) - at(180.0 - angle)).abs() < 1e-9 * x);
    }

    #[test]
    fn a_margin_falls_with_load_and_never_flatters_any_component(
        s in (-20.0..20.0_f64, -20.0..20.0_f64, -20.0..20.0_f64), raise in 1.0..5.0_f64, hot in 0.1..1.0_f64,
    ) {
        prop_assume!(s.0.abs() + s.1.abs() + s.2.abs() > 0.1);
        let strengths = Strengths::tensile(mpa(50.0), mpa(30.0), mpa(28.0));
        let case = |k: f64| LoadCase {
            stress: LayerStress { along: mpa(s.0 * k), across: mpa(s.1 * k), shear: mpa(s.2 * k) },
        };
        let margin = |k: f64, f: &Factors| strength::assess(&case(k), &strengths, f).unwrap().margin;
        let base = margin(1.0, &Factors::NONE);
        prop_assert!((margin(raise, &Factors::NONE) * raise / base - 1.0).abs() < 1e-9);
        let (hotter, asked) = (Factors { hot, ..Factors::NONE }, Factors { load: raise, ..Factors::NONE });
        prop_assert!((margin(1.0, &hotter) / (base * hot) - 1.0).abs() < 1e-9);
        prop_assert!((margin(1.0, &asked) * raise / base - 1.0).abs() < 1e-9);
        for (size, limit) in [(s.0, 50.0), (s.1, 30.0), (s.2, 28.0)] {
            prop_assert!(base * size.abs() <= limit * (1.0 + 1e-9));
        }
    }

    #[test]
    fn darker_sunnier_and_stiller_is_hotter(
        air in -30.0..50.0_f64, sun in 0.0..1200.0_f64, a in 0.0..0.9_f64, h in 5.0..30.0_f64,
    ) {
        let te = |air: f64, sun: f64, a: f64, h: f64| heat::sol_air_temperature(
            Temperature::celsius(air), Irradiance::w_per_m2(sun), a, SurfaceCoefficient::w_per_m2_k(h)).unwrap().to_celsius();
        let base = te(air, sun, a, h);
        prop_assert!(base >= air - 1e-9);
        prop_assert!(te(air, sun, a + 0.1, h) >= base && te(air, sun + 50.0, a, h) >= base && te(air, sun, a, h + 1.0) <= base);
        let balance = |a: f64| heat::sunlit_temperature(
            Temperature::celsius(air), Temperature::celsius(air), Irradiance::w_per_m2(sun), a, 0.9,
            SurfaceCoefficient::w_per_m2_k(h)).unwrap().to_celsius();
        // Radiation is counted apart here, so the balance is cooler than convection alone, and never below the air.
        prop_assert!(balance(a) >= air - 1e-6 && balance(a) <= base + 1e-6 && balance(a + 0.1) >= balance(a));
    }

    #[test]
    fn a_hotter_chamber_warps_less(chamber in 0.0..110.0_f64, step in 0.0..20.0_f64, n in 2.0..60.0_f64) {
        let lift = |t: f64| warp::plate_lift(
            n, mm(0.2), Expansion::per_k(90e-6), Temperature::celsius(105.0), Temperature::celsius(t), mm(60.0));
        // Above the softening point nothing is left to warp.
        prop_assume!(chamber + step < 105.0);
        let (cool, warm) = (lift(chamber).unwrap(), lift(chamber + step).unwrap());
        prop_assert!(warm.to_mm() <= cool.to_mm() + 1e-12);
    }

    #[test]
    fn more_interference_presses_harder_and_heat_loosens_a_plastic_hub(
        i in 0.0..0.3_f64, more in 0.0..0.2_f64, rise in 0.0..60.0_f64, d in 5.0..40.0_f64, wall in 1.0..20.0_f64,
    ) {
        let plastic = press_fit::Elastic { modulus: mpa(2000.0), poisson: 0.38 };
        let steel = press_fit::Elastic { modulus: mpa(206_000.0), poisson: 0.29 };
        let fit = press_fit::PressFit {
            diameter: mm(d), hub_outer: mm(d + 2.0 * wall), shaft_bore: mm(0.0), hub: plastic, shaft: steel };
        let p = |i: f64| fit.pressure(mm(i)).unwrap().to_mpa();
        prop_assert!(p(i + more) >= p(i));
        let warm = fit.interference_at(mm(i), Expansion::per_k(11e-6), Expansion::per_k(80e-6), TemperatureDifference::k(rise)).unwrap();
        prop_assert!(warm.to_mm() <= i);
        prop_assert!(p(-i) == 0.0);
        let year = fit.pressure_after(mm(i), Duration::years(1.0), true, false).unwrap().to_mpa();
        prop_assert!(year <= p(i) && year >= 0.15 * p(i));
    }

    #[test]
    fn start_counts_are_the_least(good in 1_u64..300, p in 0.3..0.999_f64, c in 0.5..0.999_f64) {
        let n = binomial::start_count(good, p, c).unwrap();
        prop_assert!(n >= good);
        prop_assert!(binomial::chance_of_enough(n, good, p).unwrap() >= c - 1e-9);
        prop_assert!(n == good || binomial::chance_of_enough(n - 1, good, p).unwrap() < c);
    }

    /// Against the plain sum of binomial terms, an independent route.
    #[test]
    fn the_binomial_tail_is_the_sum_of_its_terms(n in 1_u64..60, k in 0_u64..60, p in 0.01..0.99_f64) {
        let mut sum = 0.0;
        for j in k..=n {
            let mut term = p.powi(j as i32) * (1.0 - p).powi((n - j) as i32);
            for m in 0..j {
                term *= (n - m) as f64 / (j - m) as f64;
            }
            sum += term;
        }
        prop_assert!((binomial::chance_of_enough(n, k, p).unwrap() - sum).abs() < 1e-10);
    }

    #[test]
    fn identical_pieces_fit_without_touching(
        bed in (50.0..300.0_f64, 50.0..300.0_f64), part in (6.0..80.0_f64, 6.0..80.0_f64), gap in 0.0..6.0_f64, margin in 0.0..10.0_f64,
    ) {
        let load = packing::on_bed([mm(bed.0), mm(bed.1)], [mm(part.0), mm(part.1)], mm(gap), mm(margin)).unwrap();
        // Where plain rows hold so many, the bed does, so that it need not be laid out.
        for wanted in [1, load.count / 2, load.count, load.count + 1] {
            let rows = packing::rows_hold(wanted, [mm(bed.0), mm(bed.1)], [mm(part.0), mm(part.1)], mm(gap), mm(margin)).unwrap();
            prop_assert!(!rows || wanted <= load.count);
        }
        sound_plate(&load.plate.places, [bed.0, bed.1], margin, gap);
        prop_assert!(load.count == load.plate.places.len() && load.count <= load.bound);
        // Sizes count in whole micrometres, pieces and gaps rounded up, the bed down: a grid that holds even so is never beaten.
        let grid = |a: f64, b: f64| {
            let n = |room: f64, size: f64| ((room - 2.0 * margin + gap - 1e-3) / (size + gap + 2e-3)).floor().max(0.0) as usize;
            n(bed.0, a) * n(bed.1, b)
        };
        prop_assert!(load.count >= grid(part.0, part.1).max(grid(part.1, part.0)), "worse than a plain grid");
        prop_assert!(load.plate.fill <= 1.0 + 1e-9);
    }

    #[test]
    fn more_infill_takes_longer_and_weighs_more(infill in 0.0..0.9_f64, pieces in 1_u32..20) {
        let job = |infill: f64, pieces: u32| print_time::estimate(&print_time::PrintJob {
            volume: Volume::cm3(60.0), area: Area::mm2(12_000.0), height: mm(40.0), layer_height: mm(0.2), bead_width: mm(0.45),
            walls: 3, infill, flow_limit: Flow::mm3_per_s(11.0), wall_speed: Speed::mm_per_s(50.0), infill_speed: Speed::mm_per_s(90.0),
            least_layer_time: Duration::s(10.0), support: Volume::cm3(0.0), density: Density::g_per_cm3(1.24), pieces,
        }).unwrap();
        let (a, b, c) = (job(infill, pieces), job(infill + 0.1, pieces), job(infill, pieces + 1));
        prop_assert!(b.time.to_s() > a.time.to_s() && b.mass.to_g() > a.mass.to_g());
        prop_assert!(c.time.to_s() >= a.time.to_s() && c.mass.to_g() > a.mass.to_g());
        prop_assert!(a.low.to_s() < a.time.to_s() && a.time.to_s() < a.high.to_s());
        let sum: f64 = a.terms.iter().map(|t| t.1.to_s()).sum();
        prop_assert!((sum - a.time.to_s()).abs() < 1e-6);
        // Never more than the solid part, never less than the skin alone.
        prop_assert!(a.mass.to_g() <= f64::from(pieces) * 60.0 * 1.24 + 1e-6);
    }
}

/// Twenty pieces and nineteen gaps that fill a bed but for 13 µm: rounding each up to whole micrometres asks for 6 µm more
/// than there is, and the twentieth is left out rather than hung over the edge.
#[test]
fn a_bed_full_to_the_micrometre_is_not_overfilled() {
    let on = |depth: f64| {
        packing::on_bed(
            [mm(50.0), mm(depth)],
            [mm(6.184_117_294), mm(29.417_415_746)],
            mm(1.391_592_868),
            mm(7.406_408_019),
        )
        .unwrap()
    };
    assert_eq!(on(164.955_619_707).count, 19);
    assert_eq!(on(164.962).count, 20);
    sound_plate(&on(164.962).plate.places, [50.0, 164.962], 7.406_408_019, 1.391_592_868);
}

/// Bad input is a reason, not a panic: sizes that do not fit, nothing at all, absurd counts.
#[test]
fn packing_refuses_what_cannot_be_packed() {
    let bed = [mm(250.0), mm(210.0)];
    assert_eq!(packing::on_bed(bed, [mm(260.0), mm(10.0)], mm(2.0), mm(0.0)).unwrap().count, 0);
    assert_eq!(packing::on_bed(bed, [mm(20.0), mm(10.0)], mm(2.0), mm(130.0)).unwrap().count, 0);
    assert!(packing::on_bed(bed, [mm(0.01), mm(0.01)], mm(0.0), mm(0.0)).is_err());
    assert!(packing::on_bed(bed, [mm(f64::NAN), mm(10.0)], mm(0.0), mm(0.0)).is_err());
}
