//! Eight cells at a time: numbers side by side, so that the compiler uses the processor's wide registers by itself.

use std::ops::{Add, AddAssign, Mul, Sub};

/// Cells worked on together.
pub const LANES: usize = 8;

/// A real number of the precision a step needs: f32 while smoothing, f64 where it decides.
pub trait Real:
    Copy
    + Default
    + Send
    + Sync
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + AddAssign
    + 'static
{
    fn from_f64(x: f64) -> Self;
    fn from_f32(x: f32) -> Self;
    fn to_f64(self) -> f64;
}

impl Real for f32 {
    #[inline(always)]
    fn from_f64(x: f64) -> Self {
        x as f32
    }
    #[inline(always)]
    fn from_f32(x: f32) -> Self {
        x
    }
    #[inline(always)]
    fn to_f64(self) -> f64 {
        f64::from(self)
    }
}

impl Real for f64 {
    #[inline(always)]
    fn from_f64(x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn from_f32(x: f32) -> Self {
        f64::from(x)
    }
    #[inline(always)]
    fn to_f64(self) -> f64 {
        self
    }
}

/// One number for each of the cells of a batch.
#[derive(Debug, Clone, Copy)]
#[repr(align(32))]
pub struct Pack<T>(pub [T; LANES]);

impl<T: Real> Pack<T> {
    #[inline(always)]
    pub fn zero() -> Self {
        Self([T::default(); LANES])
    }

    #[inline(always)]
    pub fn splat(x: f64) -> Self {
        Self([T::from_f64(x); LANES])
    }

    #[inline(always)]
    pub fn by(self, factor: f64) -> Self {
        self * Self::splat(factor)
    }
}

impl<T: Real> Default for Pack<T> {
    fn default() -> Self {
        Self::zero()
    }
}

impl<T: Real> Add for Pack<T> {
    type Output = Self;
    #[inline(always)]
    fn add(self, o: Self) -> Self {
        let mut r = self.0;
        for l in 0..LANES {
            r[l] = self.0[l] + o.0[l];
        }
        Self(r)
    }
}

impl<T: Real> AddAssign for Pack<T> {
    #[inline(always)]
    fn add_assign(&mut self, o: Self) {
        *self = *self + o;
    }
}

impl<T: Real> Sub for Pack<T> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, o: Self) -> Self {
        let mut r = self.0;
        for l in 0..LANES {
            r[l] = self.0[l] - o.0[l];
        }
        Self(r)
    }
}

impl<T: Real> Mul for Pack<T> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, o: Self) -> Self {
        let mut r = self.0;
        for l in 0..LANES {
            r[l] = self.0[l] * o.0[l];
        }
        Self(r)
    }
}
