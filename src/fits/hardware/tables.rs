//! Tables of standard parts, in millimetres. Made from the project's reference tables; the sources stand at each table.

/// ISO 273:1979 Table 1: thread, fine (H12), medium (H13), coarse (H14). One library and one popular table print older
/// values for M12 (14/15), M14 (16/17) and M16 (18/19); these three rest on one public page and memory, M4.5 on memory.
pub(super) const CLEARANCE: [(&str, f64, f64, f64); 21] = [
    ("M1.6", 1.7, 1.8, 2.0),
    ("M2", 2.2, 2.4, 2.6),
    ("M2.5", 2.7, 2.9, 3.1),
    ("M3", 3.2, 3.4, 3.6),
    ("M3.5", 3.7, 3.9, 4.2),
    ("M4", 4.3, 4.5, 4.8),
    ("M4.5", 4.8, 5.0, 5.3),
    ("M5", 5.3, 5.5, 5.8),
    ("M6", 6.4, 6.6, 7.0),
    ("M7", 7.4, 7.6, 8.0),
    ("M8", 8.4, 9.0, 10.0),
    ("M10", 10.5, 11.0, 12.0),
    ("M12", 13.0, 13.5, 14.5),
    ("M14", 15.0, 15.5, 16.5),
    ("M16", 17.0, 17.5, 18.5),
    ("M18", 19.0, 20.0, 21.0),
    ("M20", 21.0, 22.0, 24.0),
    ("M22", 23.0, 24.0, 26.0),
    ("M24", 25.0, 26.0, 28.0),
    ("M27", 28.0, 30.0, 32.0),
    ("M30", 31.0, 33.0, 35.0),
];

/// ISO 261/262 coarse pitches and tap drills: thread, major diameter, pitch, tap drill. Pitches agree with an open parts
/// library; tap drills are common practice (sources differ at M2.5, M12, M14 and M22).
pub(super) const COARSE: [(&str, f64, f64, f64); 20] = [
    ("M1.6", 1.6, 0.35, 1.25),
    ("M2", 2.0, 0.4, 1.6),
    ("M2.5", 2.5, 0.45, 2.05),
    ("M3", 3.0, 0.5, 2.5),
    ("M3.5", 3.5, 0.6, 2.9),
    ("M4", 4.0, 0.7, 3.3),
    ("M5", 5.0, 0.8, 4.2),
    ("M6", 6.0, 1.0, 5.0),
    ("M7", 7.0, 1.0, 6.0),
    ("M8", 8.0, 1.25, 6.8),
    ("M10", 10.0, 1.5, 8.5),
    ("M12", 12.0, 1.75, 10.2),
    ("M14", 14.0, 2.0, 12.0),
    ("M16", 16.0, 2.0, 14.0),
    ("M18", 18.0, 2.5, 15.5),
    ("M20", 20.0, 2.5, 17.5),
    ("M22", 22.0, 2.5, 19.5),
    ("M24", 24.0, 3.0, 21.0),
    ("M27", 27.0, 3.0, 24.0),
    ("M30", 30.0, 3.5, 26.5),
];

/// Fine pitches of ISO 261 in common use: major diameter, pitches. From memory.
pub(super) const FINE_PITCHES: [(f64, &[f64]); 18] = [
    (2.0, &[0.25]),
    (2.5, &[0.35]),
    (3.0, &[0.35]),
    (4.0, &[0.5]),
    (5.0, &[0.5]),
    (6.0, &[0.75]),
    (8.0, &[1.0, 0.75]),
    (10.0, &[1.25, 1.0, 0.75]),
    (12.0, &[1.5, 1.25, 1.0]),
    (14.0, &[1.5, 1.25, 1.0]),
    (16.0, &[1.5, 1.0]),
    (18.0, &[2.0, 1.5, 1.0]),
    (20.0, &[2.0, 1.5, 1.0]),
    (22.0, &[2.0, 1.5, 1.0]),
    (24.0, &[2.0, 1.5, 1.0]),
    (27.0, &[2.0, 1.5, 1.0]),
    (30.0, &[3.0, 2.0, 1.5, 1.0]),
    (33.0, &[3.0, 2.0, 1.5]),
];

/// ISO 4032 hexagon nut, style 1: across flats s, height m (max), across corners e (min). Two open libraries agree on s and m
/// (M14: one has the old s = 22); e from one of them. Nuts to the old DIN 934 have s = 17 (M10), 19 (M12), 22 (M14).
pub(super) const NUTS: [(&str, [f64; 3]); 19] = [
    ("M1.6", [3.2, 1.3, 3.4]),
    ("M2", [4.0, 1.6, 4.4]),
    ("M2.5", [5.0, 2.0, 5.5]),
    ("M3", [5.5, 2.4, 6.1]),
    ("M3.5", [6.0, 2.8, 6.6]),
    ("M4", [7.0, 3.2, 7.7]),
    ("M5", [8.0, 4.7, 8.9]),
    ("M6", [10.0, 5.2, 11.05]),
    ("M8", [13.0, 6.8, 14.5]),
    ("M10", [16.0, 8.4, 17.9]),
    ("M12", [18.0, 10.8, 20.1]),
    ("M14", [21.0, 12.8, 24.5]),
    ("M16", [24.0, 14.8, 26.9]),
    ("M18", [27.0, 15.8, 29.6]),
    ("M20", [30.0, 18.0, 33.7]),
    ("M22", [34.0, 19.4, 37.3]),
    ("M24", [36.0, 21.5, 40.1]),
    ("M27", [41.0, 23.8, 45.2]),
    ("M30", [46.0, 25.6, 50.9]),
];

/// ISO 4762 socket head cap screw: head diameter plain and knurled (max), head height k, key s, key depth t. Two or three open
/// libraries agree; the knurled diameter from one.
#[expect(clippy::approx_constant, reason = "3.14 is a knurled head, not a rounded pi")]
pub(super) const SOCKET_HEADS: [(&str, [f64; 5]); 15] = [
    ("M1.6", [3.0, 3.14, 1.6, 1.5, 0.7]),
    ("M2", [3.8, 3.98, 2.0, 1.5, 1.0]),
    ("M2.5", [4.5, 4.68, 2.5, 2.0, 1.1]),
    ("M3", [5.5, 5.68, 3.0, 2.5, 1.3]),
    ("M4", [7.0, 7.22, 4.0, 3.0, 2.0]),
    ("M5", [8.5, 8.72, 5.0, 4.0, 2.5]),
    ("M6", [10.0, 10.22, 6.0, 5.0, 3.0]),
    ("M8", [13.0, 13.27, 8.0, 6.0, 4.0]),
    ("M10", [16.0, 16.27, 10.0, 8.0, 5.0]),
    ("M12", [18.0, 18.27, 12.0, 10.0, 6.0]),
    ("M14", [21.0, 21.33, 14.0, 12.0, 7.0]),
    ("M16", [24.0, 24.33, 16.0, 14.0, 8.0]),
    ("M20", [30.0, 30.33, 20.0, 17.0, 10.0]),
    ("M24", [36.0, 36.39, 24.0, 19.0, 12.0]),
    ("M30", [45.0, 45.39, 30.0, 22.0, 15.5]),
];

/// ISO 10642 countersunk socket head, 90 degrees: theoretical head diameter, actual head diameter, head height. One open
/// library; heads to the withdrawn DIN 7991 are smaller (M4: 8.0 with k 2.3).
pub(super) const SOCKET_COUNTERSUNK: [(&str, [f64; 3]); 12] = [
    ("M2", [4.09, 3.9, 1.24]),
    ("M2.5", [5.08, 4.9, 1.55]),
    ("M3", [6.72, 6.0, 1.86]),
    ("M4", [8.96, 8.0, 2.48]),
    ("M5", [11.2, 10.0, 3.1]),
    ("M6", [13.44, 12.0, 3.72]),
    ("M8", [17.92, 16.0, 4.96]),
    ("M10", [22.4, 20.5, 6.2]),
    ("M12", [26.88, 25.0, 7.44]),
    ("M14", [30.8, 28.4, 8.4]),
    ("M16", [33.6, 31.0, 8.8]),
    ("M20", [40.32, 38.0, 10.16]),
];

/// ISO 7046-1 / ISO 2009 countersunk head (form ISO 7721), 90 degrees: theoretical head diameter, head height. One open library;
/// heads to DIN 965 are smaller (M4: 7.5 with k 2.2).
pub(super) const SLOT_COUNTERSUNK: [(&str, [f64; 2]); 10] = [
    ("M1.6", [3.6, 1.0]),
    ("M2", [4.4, 1.2]),
    ("M2.5", [5.5, 1.5]),
    ("M3", [6.3, 1.65]),
    ("M3.5", [8.2, 2.35]),
    ("M4", [9.4, 2.7]),
    ("M5", [10.4, 2.7]),
    ("M6", [12.6, 3.3]),
    ("M8", [17.3, 4.65]),
    ("M10", [20.0, 5.0]),
];

/// ISO 7089 plain washer, normal series: bore d1, outside d2, thickness nominal and max. Two open libraries agree.
pub(super) const WASHERS: [(&str, [f64; 4]); 14] = [
    ("M1.6", [1.7, 4.0, 0.3, 0.35]),
    ("M2", [2.2, 5.0, 0.3, 0.35]),
    ("M2.5", [2.7, 6.0, 0.5, 0.55]),
    ("M3", [3.2, 7.0, 0.5, 0.55]),
    ("M4", [4.3, 9.0, 0.8, 0.9]),
    ("M5", [5.3, 10.0, 1.0, 1.1]),
    ("M6", [6.4, 12.0, 1.6, 1.8]),
    ("M8", [8.4, 16.0, 1.6, 1.8]),
    ("M10", [10.5, 20.0, 2.0, 2.2]),
    ("M12", [13.0, 24.0, 2.5, 2.7]),
    ("M16", [17.0, 30.0, 3.0, 3.3]),
    ("M20", [21.0, 37.0, 3.0, 3.3]),
    ("M24", [25.0, 44.0, 4.0, 4.3]),
    ("M30", [31.0, 56.0, 4.0, 4.3]),
];

/// ISO 15 boundary dimensions of deep-groove ball bearings: designation, bore d, outside D, width B. Two open libraries agree
/// for most; corner radii are left out because the libraries contradict each other everywhere.
pub(super) const BEARINGS: [(&str, f64, f64, f64); 27] = [
    ("623", 3.0, 10.0, 4.0),
    ("604", 4.0, 12.0, 4.0),
    ("624", 4.0, 13.0, 5.0),
    ("634", 4.0, 16.0, 5.0),
    ("625", 5.0, 16.0, 5.0),
    ("635", 5.0, 19.0, 6.0),
    ("626", 6.0, 19.0, 6.0),
    ("607", 7.0, 19.0, 6.0),
    ("627", 7.0, 22.0, 7.0),
    ("608", 8.0, 22.0, 7.0),
    ("609", 9.0, 24.0, 7.0),
    ("629", 9.0, 26.0, 8.0),
    ("61800", 10.0, 19.0, 5.0),
    ("61900", 10.0, 22.0, 6.0),
    ("6000", 10.0, 26.0, 8.0),
    ("6200", 10.0, 30.0, 9.0),
    ("6300", 10.0, 35.0, 11.0),
    ("6001", 12.0, 28.0, 8.0),
    ("6002", 15.0, 32.0, 9.0),
    ("6003", 17.0, 35.0, 10.0),
    ("6004", 20.0, 42.0, 12.0),
    ("6005", 25.0, 47.0, 12.0),
    ("6201", 12.0, 32.0, 10.0),
    ("6202", 15.0, 35.0, 11.0),
    ("6203", 17.0, 40.0, 12.0),
    ("6204", 20.0, 47.0, 14.0),
    ("6205", 25.0, 52.0, 15.0),
];

/// Nominal diameters of parallel and dowel pins, ISO 2338 and ISO 8734. From memory.
pub(super) const DOWELS: [f64; 14] = [0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0];

/// Usual heat-set inserts: thread, hole, outside diameter over the knurl, usual lengths (short, long). From memory; makers
/// differ by several tenths, there is no standard, and the insert in the drawer governs.
pub(super) const INSERTS: [(&str, f64, f64, f64, f64); 7] = [
    ("M2", 3.2, 3.6, 3.0, 4.0),
    ("M2.5", 4.0, 4.6, 4.0, 5.7),
    ("M3", 4.0, 4.6, 3.0, 5.7),
    ("M4", 5.6, 6.3, 4.7, 8.1),
    ("M5", 6.4, 7.1, 5.8, 9.5),
    ("M6", 8.0, 8.7, 5.8, 12.7),
    ("M8", 9.6, 10.2, 6.8, 12.7),
];

/// Deviations of Normal-class bearing rings: up to and including this diameter, bore lower deviation (mm), outside lower
/// deviation (mm); the upper deviations are zero. ISO 492 Normal class, from memory.
pub(super) const RING_TOLERANCE: [(f64, f64, f64); 6] = [
    (10.0, -0.008, -0.008),
    (18.0, -0.008, -0.008),
    (30.0, -0.010, -0.009),
    (50.0, -0.012, -0.011),
    (80.0, -0.015, -0.013),
    (120.0, -0.020, -0.015),
];
