//! Fits, hardware and calibration against published values: every row of the reference tables. The copies in
//! `tests/published/` name their source in their first line.

use makeready::fits::calibration::least_squares;
use makeready::fits::hardware::{self, Series};
use makeready::fits::iso286::{self, Character, Grade, Zone};
use makeready::quantity::Length;

fn rows(text: &str) -> Vec<Vec<&str>> {
    text.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()).map(|l| l.split(',').collect()).collect()
}

/// Reads a cell; what is no number becomes NaN, which equals nothing and so fails the check.
fn number(text: &str) -> f64 {
    text.parse().unwrap_or(f64::NAN)
}

/// A size inside the step and the step's own upper bound: both must read the same row.
fn sizes(over: &str, to: &str) -> [Length; 2] {
    let (a, b) = (number(over), number(to));
    [Length::mm(a + 0.6 * (b - a)), Length::mm(b)]
}

#[test]
fn every_published_iso286_zone() {
    let rows = rows(include_str!("published/iso286_zones.csv"));
    assert_eq!(rows.len(), 1900);
    for row in rows {
        let zone = Zone::parse(row[0]).unwrap();
        for size in sizes(row[1], row[2]) {
            let found = iso286::limits(size, &zone).unwrap();
            assert_eq!((found.upper_um, found.lower_um), (number(row[3]), number(row[4])), "{row:?} at {size}");
        }
    }
}

#[test]
fn every_published_standard_tolerance() {
    let rows = rows(include_str!("published/iso286_it.csv"));
    assert_eq!(rows.len(), 156);
    for row in rows {
        let grade = Grade::parse(row[2].trim_start_matches("IT")).unwrap();
        for size in sizes(row[0], row[1]) {
            assert_eq!(iso286::standard_tolerance_um(size, grade).unwrap(), number(row[3]), "{row:?}");
        }
    }
}

#[test]
fn every_published_shaft_deviation() {
    let rows = rows(include_str!("published/iso286_shaft_deviations.csv"));
    assert_eq!(rows.len(), 300);
    for row in rows {
        let zone = Zone::parse(&format!("{}6", row[0])).unwrap();
        for size in sizes(row[1], row[2]) {
            let found = iso286::limits(size, &zone).unwrap();
            let value = if row[3] == "es" { found.upper_um } else { found.lower_um };
            assert_eq!(value, number(row[4]), "{row:?}");
        }
    }
}

/// Δ shows in the hole P: ES(P) = -p + Δ up to IT7, and in N8 = -n + Δ.
#[test]
fn every_published_delta() {
    let rows = rows(include_str!("published/iso286_delta.csv"));
    assert_eq!(rows.len(), 52);
    for row in rows {
        let grade = row[2].trim_start_matches("IT");
        let hole = Zone::parse(&format!("N{grade}")).unwrap();
        let shaft = Zone::parse(&format!("n{grade}")).unwrap();
        for size in sizes(row[0], row[1]) {
            let es = iso286::limits(size, &hole).unwrap().upper_um;
            let ei = iso286::limits(size, &shaft).unwrap().lower_um;
            assert_eq!(es + ei, number(row[3]), "{row:?}");
        }
    }
}

/// One published fit: case, size, fit, hole upper/lower, shaft upper/lower, clearance min/max, character.
type Case = (&'static str, f64, &'static str, [f64; 6], Character);

/// FIT-01 to FIT-13: SHIG9 Ex 7-7 (34 H11/c11), JINDAL Ex 4-2 and 4-3, an encyclopedia's 50 H8/f7, two libraries for the rest.
const CASES: [Case; 13] = [
    ("FIT-01", 20.0, "H7/g6", [21.0, 0.0, -7.0, -20.0, 7.0, 41.0], Character::Clearance),
    ("FIT-02", 50.0, "H8/f7", [39.0, 0.0, -25.0, -50.0, 25.0, 89.0], Character::Clearance),
    ("FIT-03", 34.0, "H11/c11", [160.0, 0.0, -120.0, -280.0, 120.0, 440.0], Character::Clearance),
    ("FIT-04", 25.0, "H7/r6", [21.0, 0.0, 41.0, 28.0, -41.0, -7.0], Character::Interference),
    ("FIT-05", 50.0, "H8/g7", [39.0, 0.0, -9.0, -34.0, 9.0, 73.0], Character::Clearance),
    ("FIT-06", 10.0, "H7/h6", [15.0, 0.0, 0.0, -9.0, 0.0, 24.0], Character::Clearance),
    ("FIT-07", 30.0, "H7/g6", [21.0, 0.0, -7.0, -20.0, 7.0, 41.0], Character::Clearance),
    ("FIT-08", 60.0, "H8/f7", [46.0, 0.0, -30.0, -60.0, 30.0, 106.0], Character::Clearance),
    ("FIT-09", 25.0, "H7/k6", [21.0, 0.0, 15.0, 2.0, -15.0, 19.0], Character::Transition),
    ("FIT-10", 40.0, "H7/n6", [25.0, 0.0, 33.0, 17.0, -33.0, 8.0], Character::Transition),
    ("FIT-11", 40.0, "K7/h6", [7.0, -18.0, 0.0, -16.0, -18.0, 23.0], Character::Transition),
    ("FIT-12", 63.0, "P7/h6", [-21.0, -51.0, 0.0, -19.0, -51.0, -2.0], Character::Interference),
    ("FIT-13", 45.0, "JS7/h6", [12.5, -12.5, 0.0, -16.0, -12.5, 28.5], Character::Transition),
];

#[test]
fn published_fits() {
    for (case, mm, fit, [hu, hl, su, sl, min, max], character) in CASES {
        let found = iso286::pair(Length::mm(mm), fit).unwrap();
        assert_eq!((found.hole.upper_um, found.hole.lower_um), (hu, hl), "{case} hole");
        assert_eq!((found.shaft.upper_um, found.shaft.lower_um), (su, sl), "{case} shaft");
        assert_eq!((found.clearance.min_um, found.clearance.max_um), (min, max), "{case} clearance");
        assert_eq!(found.character, character, "{case}");
    }
}

#[test]
fn every_published_clearance_hole() {
    let rows = rows(include_str!("published/iso273.csv"));
    assert_eq!(rows.len(), 63);
    for row in rows {
        let series = Series::parse(row[1]).unwrap();
        assert_eq!(series.field(), row[3]);
        assert_eq!(hardware::clearance_hole(row[0], series).unwrap().get("hole_mm"), Some(number(row[2])), "{row:?}");
    }
}

#[test]
fn every_published_thread() {
    let rows = rows(include_str!("published/threads.csv"));
    assert_eq!(rows.len(), 20);
    for row in rows {
        let thread = hardware::thread(row[0]).unwrap();
        let keys = [
            ("major_diameter_mm", 1, 0.0),
            ("pitch_mm", 2, 0.0),
            ("pitch_diameter_mm", 4, 0.001),
            ("minor_diameter_internal_mm", 5, 0.001),
            ("minor_diameter_external_mm", 6, 0.001),
            ("stress_area_mm2", 7, 0.011),
        ];
        for (key, column, within) in keys {
            let found = thread.get(key).unwrap();
            assert!((found - number(row[column])).abs() <= within, "{} {key}: {found}", row[0]);
        }
        // What is drilled for the tap leaves room for its core and something for it to cut.
        let drill = thread.get("tap_drill_mm").unwrap();
        assert!((number(row[5])..number(row[4])).contains(&drill), "{} tap drill: {drill}", row[0]);
    }
}

#[test]
fn every_published_hardware_dimension() {
    let rows = rows(include_str!("published/hardware.csv"));
    assert_eq!(rows.len(), 244);
    for row in rows {
        let (part, key) = match (row[0].get(..8).unwrap(), row[2]) {
            ("ISO 4032", "s_nom") => (hardware::nut(row[1]), "across_flats_mm"),
            ("ISO 4032", "m_max") => (hardware::nut(row[1]), "height_mm"),
            ("ISO 4032", _) => (hardware::nut(row[1]), "across_corners_min_mm"),
            ("ISO 4762", "dk_max_plain") => (hardware::socket_head(row[1]), "head_diameter_mm"),
            ("ISO 4762", "dk_max_knurled") => (hardware::socket_head(row[1]), "head_diameter_knurled_mm"),
            ("ISO 4762", "k_max") => (hardware::socket_head(row[1]), "head_height_mm"),
            ("ISO 4762", "s_nom") => (hardware::socket_head(row[1]), "key_mm"),
            ("ISO 4762", _) => (hardware::socket_head(row[1]), "key_depth_mm"),
            ("ISO 1064", "dk_theoretical_max") => (hardware::countersink(row[1]), "socket_countersink_mm"),
            ("ISO 1064", "k_max") => (hardware::countersink(row[1]), "socket_head_height_mm"),
            ("ISO 1064", _) => (hardware::countersink(row[1]), "socket_head_diameter_mm"),
            ("ISO 7046", "dk_theoretical_max") => (hardware::countersink(row[1]), "recess_countersink_mm"),
            ("ISO 7046", _) => (hardware::countersink(row[1]), "recess_head_height_mm"),
            ("ISO 7089", "d1_min") => (hardware::washer(row[1]), "bore_mm"),
            ("ISO 7089", "d2_max") => (hardware::washer(row[1]), "outside_mm"),
            ("ISO 7089", "h_nom") => (hardware::washer(row[1]), "thickness_mm"),
            ("ISO 7089", _) => (hardware::washer(row[1]), "thickness_max_mm"),
            other => panic!("unread row {other:?}"),
        };
        assert_eq!(part.unwrap().get(key), Some(number(row[3])), "{row:?}");
    }
}

#[test]
fn every_published_bearing() {
    let rows = rows(include_str!("published/bearings.csv"));
    assert_eq!(rows.len(), 27);
    for row in rows {
        let b = hardware::bearing(row[0]).unwrap();
        let found = [b.get("bore_mm"), b.get("outside_mm"), b.get("width_mm")];
        assert_eq!(found, [Some(number(row[1])), Some(number(row[2])), Some(number(row[3]))], "{row:?}");
    }
}

/// ST-40: the certified values of NIST StRD Norris (linear, lower difficulty), to 1e-9 relative.
#[test]
fn least_squares_meets_the_certified_values() {
    let points: Vec<(f64, f64)> =
        rows(include_str!("published/norris.csv")).iter().map(|r| (number(r[0]), number(r[1]))).collect();
    assert_eq!(points.len(), 36);
    let line = least_squares(&points).unwrap();
    for (name, found, certified) in [
        ("B0", line.intercept, -0.262_323_073_774_029),
        ("B1", line.slope, 1.002_116_818_020_45),
        ("s(B0)", line.intercept_error, 0.232_818_234_301_152),
        ("s(B1)", line.slope_error, 0.429_796_848_199_937e-3),
        ("residual sd", line.residual_sd, 0.884_796_396_144_373),
        ("R2", line.r_squared, 0.999_993_745_883_712),
    ] {
        assert!(((found - certified) / certified).abs() < 1e-9, "{name}: {found} against {certified}");
    }
}

/// Every row of ISO 2768-1 Table 1.
#[test]
fn every_published_general_tolerance() {
    let rows = rows(include_str!("published/iso2768_1.csv"));
    let linear: Vec<_> = rows.iter().filter(|r| r[0].starts_with("linear")).collect();
    assert_eq!(linear.len(), 32);
    for row in linear {
        let found = makeready::fits::general::linear(Length::mm(number(row[3])), row[1]);
        if row[4].is_empty() {
            assert!(found.is_err(), "{row:?}");
        } else {
            assert!((found.unwrap().to_mm() - number(row[4])).abs() < 1e-12, "{row:?}");
        }
    }
}
