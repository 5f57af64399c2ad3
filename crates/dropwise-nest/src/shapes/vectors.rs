//! Vector instructions, and what all that uses them shares.

use pulp::Arch;

/// Lines, edges or corners looked at together: a full vector of double precision of the widest kind.
pub(crate) const LANES: usize = 8;

/// The vector instructions that the processor has, found out once.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Vectors(Arch);

impl Default for Vectors {
    fn default() -> Self {
        Self(Arch::new())
    }
}

impl Vectors {
    pub(crate) fn arch(self) -> Arch {
        self.0
    }
}

/// Without a look for NaN, of which there is none: one instruction.
#[inline(always)]
pub(crate) fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

#[inline(always)]
pub(crate) fn greater(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The least of a vector.
#[inline(always)]
pub(crate) fn least_of(mut values: [f64; LANES]) -> f64 {
    let mut half = LANES / 2;
    while half > 0 {
        for i in 0..half {
            values[i] = lesser(values[i], values[i + half]);
        }
        half /= 2;
    }
    values[0]
}
