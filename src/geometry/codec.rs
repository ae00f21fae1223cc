//! Facts as bytes and back, to the last bit: for keeping what was measured between runs.
//!
//! Not a format for anyone else: whoever keeps such bytes keeps with them a digest of this very source. Bytes that make no
//! sense give `None`, at bounded cost.

use std::sync::Arc;

use super::cavity::Cavity;
use super::features::cylinders::Cylinder;
use super::features::{Boss, Countersink, Features, Hole, Plane, Rounding};
use super::pose::Pose;
use super::regions::{Kind, Region, Regions, Verdict};
use super::survey::{Overhangs, PENALTIES, PoseFacts};
use super::walls::Extreme;

/// A value that can be put into bytes and taken from them.
pub trait Coded: Sized {
    /// Puts the value at the end.
    fn put(&self, out: &mut Vec<u8>);
    /// Takes the value off the front; `None` where there is no such value.
    fn take(from: &mut &[u8]) -> Option<Self>;
}

/// Returns a value as bytes.
pub fn bytes<T: Coded>(of: &T) -> Vec<u8> {
    let mut bytes = Vec::new();
    of.put(&mut bytes);
    bytes
}

/// Takes one value that is all there is.
pub fn whole<T: Coded>(mut bytes: &[u8]) -> Option<T> {
    let value = T::take(&mut bytes)?;
    bytes.is_empty().then_some(value)
}

fn split<'b>(from: &mut &'b [u8], length: usize) -> Option<&'b [u8]> {
    let (head, tail) = from.split_at_checked(length)?;
    *from = tail;
    Some(head)
}

macro_rules! numbers {
    ($($t:ty),*) => {$(
        impl Coded for $t {
            fn put(&self, out: &mut Vec<u8>) {
                out.extend_from_slice(&self.to_le_bytes());
            }
            fn take(from: &mut &[u8]) -> Option<Self> {
                Some(<$t>::from_le_bytes(split(from, size_of::<$t>())?.try_into().ok()?))
            }
        }
    )*};
}
numbers!(u8, u32, u64, f64);

impl Coded for usize {
    fn put(&self, out: &mut Vec<u8>) {
        (*self as u64).put(out);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        u64::take(from)?.try_into().ok()
    }
}

impl Coded for bool {
    fn put(&self, out: &mut Vec<u8>) {
        u8::from(*self).put(out);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        match u8::take(from)? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }
}

impl Coded for String {
    fn put(&self, out: &mut Vec<u8>) {
        self.len().put(out);
        out.extend_from_slice(self.as_bytes());
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        let length = usize::take(from)?;
        String::from_utf8(split(from, length)?.to_vec()).ok()
    }
}

impl<T: Coded> Coded for Vec<T> {
    fn put(&self, out: &mut Vec<u8>) {
        self.len().put(out);
        self.iter().for_each(|item| item.put(out));
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        let length = usize::take(from)?;
        // Every item takes a byte at least: a length that lies asks for no more room than there are bytes.
        let mut items = Vec::with_capacity(length.min(from.len() / size_of::<T>().max(1)));
        for _ in 0..length {
            items.push(T::take(from)?);
        }
        Some(items)
    }
}

impl<T: Coded> Coded for Arc<T> {
    fn put(&self, out: &mut Vec<u8>) {
        T::put(self, out);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        T::take(from).map(Arc::new)
    }
}

impl<T: Coded> Coded for Option<T> {
    fn put(&self, out: &mut Vec<u8>) {
        self.is_some().put(out);
        if let Some(value) = self {
            value.put(out);
        }
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Some(if bool::take(from)? { Some(T::take(from)?) } else { None })
    }
}

impl<T: Coded + Copy + Default, const N: usize> Coded for [T; N] {
    fn put(&self, out: &mut Vec<u8>) {
        self.iter().for_each(|item| item.put(out));
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        let mut items = [T::default(); N];
        for item in &mut items {
            *item = T::take(from)?;
        }
        Some(items)
    }
}

impl<A: Coded, B: Coded> Coded for (A, B) {
    fn put(&self, out: &mut Vec<u8>) {
        self.0.put(out);
        self.1.put(out);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        Some((A::take(from)?, B::take(from)?))
    }
}

/// The name of a penalty: one of those there are.
impl Coded for &'static str {
    fn put(&self, out: &mut Vec<u8>) {
        PENALTIES.iter().position(|name| name == self).unwrap_or(PENALTIES.len()).put(out);
    }
    fn take(from: &mut &[u8]) -> Option<Self> {
        PENALTIES.get(usize::take(from)?).copied()
    }
}

/// Codes a record by all its fields; one that is left out does not compile.
#[macro_export]
macro_rules! coded {
    ($($record:ident { $($field:ident),* $(,)? })*) => {$(
        impl $crate::codec::Coded for $record {
            fn put(&self, out: &mut Vec<u8>) {
                let Self { $($field),* } = self;
                $($crate::codec::Coded::put($field, out);)*
            }
            fn take(from: &mut &[u8]) -> Option<Self> {
                $(let $field = $crate::codec::Coded::take(from)?;)*
                Some(Self { $($field),* })
            }
        }
    )*};
}

/// Codes a choice by its place in the list; one that is left out does not compile.
macro_rules! words {
    ($($word:ident { $($value:ident),* })*) => {$(
        impl Coded for $word {
            fn put(&self, out: &mut Vec<u8>) {
                match self { $(Self::$value)|* => (*self as u8).put(out) }
            }
            fn take(from: &mut &[u8]) -> Option<Self> {
                let word = u8::take(from)?;
                [$(Self::$value),*].into_iter().find(|v| *v as u8 == word)
            }
        }
    )*};
}

words! {
    Kind { Island, Bridge, Ledge, Steep, HoleCrown }
    Verdict { None, Bridge, Support, Trapped, Redesign, Left }
}

coded! {
    Extreme { mm, at }
    Countersink { angle_deg, diameter_mm }
    Cylinder { axis, centre, radius_mm, length_mm, arc_deg, sides, hollow, strips }
    Hole {
        diameter_mm, axis, centre_mm, depth_mm, through, facets, chord_shortfall_mm, counterbore, countersink, surface, name,
    }
    Boss { diameter_mm, axis, centre_mm, height_mm, facets, chord_shortfall_mm, surface, name }
    Rounding { radius_mm, axis, centre_mm, length_mm, arc_deg, hollow }
    Plane { normal, area_mm2, centre_mm, place_mm, name }
    Features { holes, bosses, roundings, planes }
    Cavity { shell, volume_mm3, sealed, at }
    Pose { up, label }
    Region {
        kind, z_mm, area_mm2, span_mm, above_mm, reach_mm, angle_deg, at, verdict, removable, because, direction,
        diameter_mm, below_mm3, on_part_mm2, openness, facets, room_mm, rises_from_bed,
    }
    Regions { list, unlisted, unlisted_mm2, support_mm3, support_contact_mm2, support_on_part_mm2 }
    Overhangs { overhang_mm2, support_mm3, regions, propped }
    PoseFacts {
        pose, equals, overhang_mm2, contact_mm2, height_mm, footprint_mm, turn_deg, shadow_mm2, support_mm3, regions,
        stability_mm, centroid_height_mm, footing_mm, stable, penalties, propped,
    }
}

#[cfg(test)]
mod tests {
    use super::super::survey::{PoseOptions, poses};
    use super::*;
    use crate::samples::block;

    fn bytes(value: &impl Coded) -> Vec<u8> {
        let mut out = Vec::new();
        value.put(&mut out);
        out
    }

    #[test]
    fn poses_come_back_as_they_were() {
        let found = poses(&block([40.0, 20.0, 10.0]), &PoseOptions::default());
        let coded = bytes(&found);
        assert_eq!(whole::<Vec<PoseFacts>>(&coded).unwrap(), found);
        assert_eq!(bytes(&whole::<Vec<PoseFacts>>(&coded).unwrap()), coded);
    }

    #[test]
    fn numbers_come_back_to_the_bit() {
        for x in [0.0, -0.0, 0.1, f64::MIN_POSITIVE / 8.0, f64::MAX, f64::INFINITY, f64::NAN] {
            assert_eq!(whole::<f64>(&bytes(&x)).unwrap().to_bits(), x.to_bits());
        }
        let mixed = (vec![Some("größe".to_owned()), None], [1.5, -2.5]);
        assert_eq!(whole::<(Vec<Option<String>>, [f64; 2])>(&bytes(&mixed)).unwrap(), mixed);
    }

    #[test]
    fn bytes_cut_short_damaged_or_left_over_give_nothing_or_another_value() {
        let coded = bytes(&poses(&block([40.0, 20.0, 10.0]), &PoseOptions::default()));
        for length in 0..coded.len() {
            assert!(whole::<Vec<PoseFacts>>(&coded[..length]).is_none(), "{length}");
        }
        assert!(whole::<Vec<PoseFacts>>(&[&coded[..], b"x"].concat()).is_none());
        // A length that lies costs nothing.
        assert!(whole::<Vec<Vec<f64>>>(&u64::MAX.to_le_bytes()).is_none());
        for at in 0..coded.len() {
            let mut damaged = coded.clone();
            damaged[at] ^= 0xff;
            let _ = whole::<Vec<PoseFacts>>(&damaged);
        }
    }
}
