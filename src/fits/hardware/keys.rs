//! Parallel keys and the keyways they want, by the diameter of the shaft.

use super::super::{FitError, Provenance, SourceKind};
use super::{Dimension, Hardware};
use crate::quantity::{Length, trim_number};

/// Zone of the width of a hub's keyway, for a key that is pushed in by hand (ISO 773, normal).
pub(crate) const HUB_KEYWAY: &str = "JS9";

/// A parallel key and how deep it sits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParallelKey {
    /// Of key and keyway.
    pub width: Length,
    /// Of the key.
    pub height: Length,
    /// How far the keyway goes beyond the bore of the hub.
    pub in_hub: Length,
    /// How much deeper it may be.
    pub deeper: Length,
}

/// Shafts over this and up to that, then width, height, depth in the hub and how much deeper that may be, mm: ISO 773 (DIN
/// 6885-1), recalled; the rows over 38 mm were compared with a published table.
const KEYS: &[[f64; 6]] = &[
    [6.0, 8.0, 2.0, 2.0, 1.0, 0.1],
    [8.0, 10.0, 3.0, 3.0, 1.4, 0.1],
    [10.0, 12.0, 4.0, 4.0, 1.8, 0.1],
    [12.0, 17.0, 5.0, 5.0, 2.3, 0.1],
    [17.0, 22.0, 6.0, 6.0, 2.8, 0.1],
    [22.0, 30.0, 8.0, 7.0, 3.3, 0.2],
    [30.0, 38.0, 10.0, 8.0, 3.3, 0.2],
    [38.0, 44.0, 12.0, 8.0, 3.3, 0.2],
    [44.0, 50.0, 14.0, 9.0, 3.8, 0.2],
    [50.0, 58.0, 16.0, 10.0, 4.3, 0.2],
    [58.0, 65.0, 18.0, 11.0, 4.4, 0.2],
    [65.0, 75.0, 20.0, 12.0, 4.9, 0.2],
    [75.0, 85.0, 22.0, 14.0, 5.4, 0.2],
    [85.0, 95.0, 25.0, 14.0, 5.4, 0.2],
    [95.0, 110.0, 28.0, 16.0, 6.4, 0.2],
];

/// Returns the key of a shaft.
///
/// # Errors
///
/// Says which shafts the table holds.
pub fn parallel_key(shaft: Length) -> Result<ParallelKey, FitError> {
    let d = shaft.to_mm();
    let row = KEYS.iter().find(|[over, to, ..]| d > *over && d <= *to);
    let Some([_, _, width, height, in_hub, deeper]) = row else {
        let part = format!("{} mm", trim_number(d, 3));
        let told = format!("no parallel key is listed for a shaft of {part}");
        return Err(FitError::new(
            part,
            told,
            "the table goes over 6 up to 110 mm; for a small shaft take a D-bore or a set screw",
        ));
    };
    let [width, height, in_hub, deeper] = [width, height, in_hub, deeper].map(|v| Length::mm(*v));
    Ok(ParallelKey { width, height, in_hub, deeper })
}

const SOURCE: Provenance = Provenance::new(
    SourceKind::FromMemory,
    "ISO 773 (DIN 6885-1), recalled; shafts over 38 mm compared with a published table",
);

/// Returns what a hub wants for a parallel key on a shaft.
///
/// # Errors
///
/// As [`parallel_key`].
pub fn keyway(shaft: Length) -> Result<Hardware, FitError> {
    let key = parallel_key(shaft)?;
    let of = |name, label, value: f64| Dimension::new(name, label, value, &SOURCE);
    let (d, width, height) = (shaft.to_mm(), key.width.to_mm(), key.height.to_mm());
    Ok(Hardware {
        title: format!("keyway of a hub for a shaft of {} mm", trim_number(d, 3)),
        dimensions: vec![
            of("key_width_mm", "width of key and keyway", width),
            of("key_height_mm", "height of the key", height),
            of("depth_in_hub_mm", "depth beyond the bore", key.in_hub.to_mm()),
            of("far_side_to_bottom_mm", "far side of the bore to the bottom", d + key.in_hub.to_mm()),
            of("deeper_by_at_most_mm", "how much deeper it may be", key.deeper.to_mm()),
        ],
        notes: vec![
            "width JS9 for a key pushed in by hand, P9 for one that sits tight; a printed hub takes its torque on one side",
        ],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shaft_has_its_key() {
        let of = |d: f64| parallel_key(Length::mm(d)).map(|k| [k.width, k.height, k.in_hub].map(|l| l.to_mm()));
        assert_eq!(of(20.0).unwrap(), [6.0, 6.0, 2.8]);
        // Of a shaft of just 22 mm it is still the smaller key: the rows are over one and up to the next.
        assert_eq!(of(22.0).unwrap()[0], 6.0);
        assert_eq!(of(22.1).unwrap(), [8.0, 7.0, 3.3]);
        // A published table has d + 3.8 over 44 up to 50, and d + 6.4 over 95 up to 110.
        assert_eq!((of(50.0).unwrap()[2], of(110.0).unwrap()[2]), (3.8, 6.4));
        assert!(of(5.0).unwrap_err().message.contains("5 mm") && of(111.0).is_err());
    }

    #[test]
    fn rows_follow_on_one_another() {
        for pair in KEYS.windows(2) {
            assert_eq!(pair[0][1], pair[1][0]);
            assert!(pair[0][2] < pair[1][2] && pair[0][4] <= pair[1][4]);
        }
    }
}
