//! Lines that keep one placed shape in a hole of another.

use dropwise_geometry::{Point, Vector};

use crate::overlap::no_fit::Separation;
use crate::overlap::search_shape::Placed;
use crate::shapes::half_plane::HalfPlane;
use crate::shapes::pose::turned;

/// Lines that keep a guest in the hole of a host that it sticks out of least, and by how much it does, mm, negative if it lies
/// inside; `None` if it has room in none. Lines are seen from the host.
pub(crate) fn within_pocket(host: Placed<'_>, guest: Placed<'_>) -> Option<(f64, Vec<Separation>)> {
    let (sin, cos) = guest.rotation;
    let pockets = host.shape.pockets().iter().filter(|pocket| pocket.may_hold(guest.shape.least));
    let rooms = pockets.map(|pocket| {
        let line = |HalfPlane { normal, limit }: HalfPlane| {
            let vector = |vector: Vector, turn| turned(Point::new(vector.x, vector.y), turn).to_vector();
            let outward = vector(normal, host.rotation);
            let reach = guest.shape.reach_along(vector(outward, (-sin, cos)));
            Separation { normal: -outward, distance: limit - reach - outward.dot(guest.at - host.at) }
        };
        let lines: Vec<Separation> = pocket.half_planes().map(line).collect();
        (lines.iter().map(|line| -line.distance).fold(f64::NEG_INFINITY, f64::max), lines)
    });
    rooms.min_by(|a, b| a.0.total_cmp(&b.0))
}
