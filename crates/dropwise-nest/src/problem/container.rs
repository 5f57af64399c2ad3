//! The room on a sheet.

use dropwise_geometry::{BooleanError, Bounds, Outline, Point, Polygon, Side, convex_hull, difference, offset};
use dropwise_model::Job;

use crate::overlap::hull::Planes;
use crate::overlap::search_shape::SearchShape;
use crate::shapes::circle_cover::circle_cover;
use crate::shapes::half_plane::HalfPlane;

/// The room on a sheet: a convex region less obstacles. Clearances are already taken off.
#[derive(Debug)]
pub(crate) struct Container {
    pub(crate) half_planes: Vec<HalfPlane>,
    /// The same, laid out for vector instructions.
    pub(crate) planes: Planes,
    /// Whether the half planes are those of the bounds.
    pub(crate) is_box: bool,
    pub(crate) hull: Vec<Point>,
    pub(crate) bounds: Bounds,
    /// Notches, holes and damage, in the sheet's frame.
    pub(crate) obstacles: Vec<SearchShape>,
    /// Area that the parts with half the web around them may cover, mm²; more than the room's where they hang over it.
    pub(crate) area: f64,
    /// How far the room's edge lies inside the sheet's, mm.
    pub(crate) inset: f64,
}

impl Container {
    /// Whether there is any.
    pub(crate) fn has_room(&self) -> bool {
        self.hull.len() >= 3
    }

    pub(crate) fn new(job: &Job, index: usize, touch: f64) -> Result<Self, BooleanError> {
        let sheet = &job.sheets()[index];
        let clearances = job.clearances();
        let extent = sheet.shape.bounds().diagonal();
        let tolerance = (extent * 1e-4).clamp(0.01, 0.2);
        // Of stock sold by length no more than the longest piece that can be ordered.
        let longest = sheet.open_length.map(|terms| terms.longest_order(sheet.shape.bounds().width()));
        if longest.is_some_and(|length| length <= 0.0) {
            return Ok(Self::none());
        }
        let bought = sheet.bought_shape(longest);
        let outline = bought.flatten(tolerance, Side::Shrink);
        let damage: Vec<Polygon> = sheet
            .damage
            .iter()
            .map(|zone| dropwise_geometry::Shape::new(zone.clone(), Vec::new()).flatten(tolerance, Side::Grow))
            .collect();
        let half_web = clearances.web() / 2.0;
        let inset = (clearances.margin() - half_web).max(0.0);
        let overhang = (half_web - clearances.margin()).max(0.0);
        let usable = if damage.is_empty() { vec![outline] } else { difference(&[outline], &damage)? };
        let room = if inset == 0.0 { usable } else { offset(&usable, -inset, tolerance)? };
        // Parts come with half the web, or the margin where that is less; the rest of the web goes to what is kept clear.
        let beyond = clearances.web() - half_web.min(clearances.margin());
        let clear: Vec<Polygon> =
            job.instructions().reserved_on(index).map(|(_, area)| area.flatten(tolerance, Side::Grow)).collect();
        let room = match (clear.is_empty(), beyond > 0.0) {
            (true, _) => room,
            (false, true) => difference(&room, &offset(&clear, beyond, tolerance)?)?,
            (false, false) => difference(&room, &clear)?,
        };
        let area = |pieces: &[Polygon]| pieces.iter().map(Polygon::area).sum();
        let covered = if overhang > 0.0 { area(&offset(&room, overhang, tolerance)?) } else { area(&room) };
        let rounds: Vec<(Point, f64)> =
            bought.holes().iter().chain(&sheet.damage).filter_map(Outline::as_circle).collect();
        // Flattened, and offset, each by no more than the tolerance.
        let is_on = |corner: &Point, center: Point, radius: f64| {
            (corner.distance(center) - radius).abs() <= 2.0 * tolerance + touch
        };
        let round_of = |pocket: &Polygon| {
            let mut rounds = rounds.iter().map(|&(center, radius)| (center, radius + inset));
            rounds.find(|&(center, radius)| pocket.exterior.iter().all(|corner| is_on(corner, center, radius)))
        };
        Self::of_room(&room, covered, inset, touch, round_of)
    }

    /// A sheet without room.
    pub(crate) fn none() -> Self {
        let (bounds, planes) = (Bounds::EMPTY, Planes::new(&[]));
        let (half_planes, hull, obstacles) = (Vec::new(), Vec::new(), Vec::new());
        Self { half_planes, planes, is_box: false, bounds, hull, obstacles, area: 0.0, inset: 0.0 }
    }

    /// `round_of` tells the circle, if any, for which an obstacle stands.
    fn of_room(
        room: &[Polygon],
        area: f64,
        inset: f64,
        touch: f64,
        round_of: impl Fn(&Polygon) -> Option<(Point, f64)>,
    ) -> Result<Self, BooleanError> {
        let corners: Vec<Point> = room.iter().flat_map(|p| p.exterior.iter().copied()).collect();
        let hull = convex_hull(&corners);
        let half_planes: Vec<HalfPlane> = (0..hull.len())
            .filter_map(|i| {
                let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
                let outward = -(b - a).unit()?.left();
                Some(HalfPlane { normal: outward, limit: outward.dot(a.to_vector()) })
            })
            .collect();
        let hull_polygon = Polygon::new(hull.clone(), Vec::new());
        let pockets = difference(std::slice::from_ref(&hull_polygon), room)?;
        let least = hull_polygon.area() * 1e-9;
        let obstacles = pockets
            .iter()
            .filter(|pocket| pocket.area() > least)
            .map(|pocket| SearchShape::with_cover(pocket, &circle_cover(pocket), round_of(pocket), touch))
            .filter(|shape| shape.circles.count() > 0)
            .collect();
        let (planes, bounds) = (Planes::new(&half_planes), Bounds::of(hull.iter().copied()));
        let is_box = half_planes.len() == 4 && half_planes.iter().all(|p| p.normal.x == 0.0 || p.normal.y == 0.0);
        Ok(Self { half_planes, planes, is_box, bounds, hull, obstacles, area, inset })
    }
}
