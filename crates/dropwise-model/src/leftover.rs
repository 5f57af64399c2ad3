//! What goes back into the rack.

use dropwise_geometry::Polygon;

/// What the shop thinks worth keeping.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftoverRule {
    /// Longer side of the smallest rectangle worth keeping, mm.
    pub length: f64,
    /// Its shorter side, mm.
    pub width: f64,
    /// Tongues and necks narrower than this are trimmed off a leftover, mm.
    pub neck: f64,
}

/// A piece that remains of a sheet and goes back into the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct Leftover {
    /// Its outline, on the sheet it came from. Not larger than what truly remains.
    pub outline: Polygon,
    /// Area, mm².
    pub area: f64,
    /// Sides of the largest rectangle found on it, longer first, mm.
    pub largest_rectangle: (f64, f64),
}
