//! Areas that parts need and sheets give, clearances included, each erring on the safe side.

use dropwise_geometry::{BooleanError, Polygon, Side, convex_hull, difference, offset};
use dropwise_model::{Clearances, Part, Sheet};

use crate::fit::Room;

/// Flattening and offsetting keep to this, mm.
const TOLERANCE: f64 = 0.02;

/// At least so much area of rooms does a part take: the part grown by half the web. Two parts a web apart do not overlap
/// when grown so.
pub(crate) fn needed(part: &Part, clearances: &Clearances) -> f64 {
    let polygon = part.shape.flatten(TOLERANCE, Side::Shrink);
    // The part alone is less, and so a safe answer too.
    let Ok(grown) = offset(&[polygon], clearances.web() / 2.0, TOLERANCE) else { return part.shape.area() };
    // Grown shapes err outwards by up to the tolerance along their edges.
    let excess = TOLERANCE * grown.iter().map(perimeter).sum::<f64>();
    (grown.iter().map(Polygon::area).sum::<f64>() - excess).max(part.shape.area())
}

/// The room on a sheet for parts grown by half the web: at most so much area, and at most so large.
///
/// Parts keep the margin from the edge, so grown parts keep the margin less half the web, or overhang it.
pub(crate) fn room(sheet: &Sheet, clearances: &Clearances) -> (f64, Room) {
    // Where the exact room cannot be worked out, one that is too large errs on the same side.
    exact_room(sheet, clearances).unwrap_or_else(|_| hull_room(sheet, clearances))
}

fn exact_room(sheet: &Sheet, clearances: &Clearances) -> Result<(f64, Room), BooleanError> {
    let longest = sheet.open_length.map(|terms| terms.longest_order(sheet.shape.bounds().width()));
    if longest.is_some_and(|length| length <= 0.0) {
        return Ok((0.0, Room::NONE));
    }
    let margin = clearances.margin();
    let half_web = clearances.web() / 2.0;
    let bounds = sheet.shape.bounds();
    let length = longest.unwrap_or(bounds.width());
    if is_rectangle(sheet) {
        // As most offers are; thousands of them must not take time.
        let sides = |inset: f64| ((length - 2.0 * inset).max(0.0), (bounds.height() - 2.0 * inset).max(0.0));
        let (inner, outer) = (sides(margin), sides(margin - half_web));
        let area = if inner.0 > 0.0 && inner.1 > 0.0 { outer.0 * outer.1 } else { 0.0 };
        return Ok((area, Room::rectangle(inner.0, inner.1)));
    }
    let outline = sheet.bought_shape(longest).flatten(TOLERANCE, Side::Grow);
    let damage: Vec<Polygon> = sheet
        .damage
        .iter()
        .map(|zone| dropwise_geometry::Shape::new(zone.clone(), Vec::new()).flatten(TOLERANCE, Side::Shrink))
        .collect();
    let usable = if damage.is_empty() { vec![outline] } else { difference(&[outline], &damage)? };
    let polygons = if margin > 0.0 { offset(&usable, -margin, TOLERANCE)? } else { usable };
    let corners: Vec<_> = polygons.iter().flat_map(|piece| piece.exterior.iter().copied()).collect();
    if corners.is_empty() {
        return Ok((0.0, Room::NONE));
    }
    let grown = if half_web > 0.0 { offset(&polygons, half_web, TOLERANCE)? } else { polygons };
    // Shrunk shapes err inwards by up to the tolerance along their edges; growing again errs outwards.
    let slack = 2.0 * TOLERANCE;
    let area = grown.iter().map(|piece| piece.area() + slack * perimeter(piece)).sum();
    Ok((area, Room::of_hull(&convex_hull(&corners), slack)))
}

/// As [`room`], for a hundredth of the time: no less area and no less room than that, but often more.
///
/// Where a part may lie, a disc of the margin's radius about each of its points lies on the sheet: in every direction the
/// room is narrower than the sheet by two margins. Grown by half the web it lies in the sheet grown by what half the web
/// exceeds the margin, of which Steiner's formula bounds the area.
pub(crate) fn rough_room(sheet: &Sheet, clearances: &Clearances) -> (f64, Room) {
    if sheet.open_length.is_some() || is_rectangle(sheet) {
        return room(sheet, clearances);
    }
    hull_room(sheet, clearances)
}

fn hull_room(sheet: &Sheet, clearances: &Clearances) -> (f64, Room) {
    let margin = clearances.margin();
    let overhang = (clearances.web() / 2.0 - margin).max(0.0);
    let outline = sheet.shape.flatten(TOLERANCE, Side::Grow);
    let area = outline.area() + (perimeter(&outline) + std::f64::consts::PI * overhang) * overhang;
    let room = Room::of_hull(&convex_hull(&outline.exterior), -margin);
    if room.is_none() { (0.0, Room::NONE) } else { (area, room) }
}

fn is_rectangle(sheet: &Sheet) -> bool {
    let vertices = sheet.shape.exterior().vertices();
    sheet.damage.is_empty()
        && sheet.shape.holes().is_empty()
        && vertices.len() == 4
        && vertices.iter().all(|vertex| vertex.bulge == 0.0)
        && {
            let bounds = sheet.shape.bounds();
            vertices.iter().all(|vertex| {
                let on = |value: f64, low: f64, high: f64| value == low || value == high;
                on(vertex.point.x, bounds.min.x, bounds.max.x) && on(vertex.point.y, bounds.min.y, bounds.max.y)
            }) && (sheet.shape.area() - bounds.width() * bounds.height()).abs() <= 1e-9 * sheet.shape.area()
        }
}

fn perimeter(polygon: &Polygon) -> f64 {
    polygon.rings().map(|ring| (0..ring.len()).map(|i| ring[i].distance(ring[(i + 1) % ring.len()])).sum::<f64>()).sum()
}

/// Whether a sheet is a plain rectangle whose sides run along the axes: what can replace it is then plain to see.
pub(crate) fn plain_size(sheet: &Sheet) -> Option<(f64, f64)> {
    let bounds = sheet.shape.bounds();
    (sheet.open_length.is_none() && is_rectangle(sheet)).then(|| (bounds.width(), bounds.height()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::{Outline, Point, Shape};
    use dropwise_model::StockClass;

    fn shape(width: f64, height: f64) -> Shape {
        Shape::new(Outline::rectangle(Point::ORIGIN, width, height), Vec::new())
    }

    #[test]
    fn rough_rooms_are_no_smaller() {
        let class = StockClass::new("plate");
        let ell = [(0.0, 0.0), (300.0, 0.0), (300.0, 90.0), (120.0, 90.0), (120.0, 200.0), (0.0, 200.0)];
        let ell = Outline::polygon(ell.map(|(x, y)| Point::new(x, y)));
        let hole = Outline::circle(Point::new(60.0, 60.0), 20.0);
        for (kerf, web, margin) in [(1.0, 4.0, 5.0), (1.0, 30.0, 5.0), (0.0, 0.0, 0.0), (1.0, 6.0, 80.0)] {
            let clearances = Clearances::new(kerf, web, margin).unwrap();
            for outline in [ell.clone(), Outline::circle(Point::new(90.0, 90.0), 90.0)] {
                let mut sheet = Sheet::new("s", Shape::new(outline, vec![hole.clone()]), class.clone());
                sheet.damage = vec![Outline::rectangle(Point::new(100.0, 60.0), 20.0, 30.0)];
                let (exact, narrow) = room(&sheet, &clearances);
                let (rough, wide) = rough_room(&sheet, &clearances);
                assert!(rough >= exact - 1e-6, "{rough} for {exact}");
                assert!(wide.holds(narrow), "{wide:?} for {narrow:?} at {web} and {margin}");
            }
        }
    }

    #[test]
    fn rooms_and_needs_of_rectangles_by_hand() {
        let clearances = Clearances::new(2.0, 4.0, 5.0).unwrap();
        let class = StockClass::new("plate");
        let part = Part::new("p", shape(100.0, 50.0), class.clone());
        // A + P d + pi d^2, with d half the web (Steiner).
        let exact = 5000.0 + 300.0 * 2.0 + std::f64::consts::PI * 4.0;
        let least = needed(&part, &clearances);
        assert!(least <= exact && least > exact - 20.0, "{least}");
        let (area, _) = room(&Sheet::new("s", shape(210.0, 110.0), class.clone()), &clearances);
        assert!((area - 204.0 * 104.0).abs() < 1e-9);
        // The same sheet by the general way, with a corner cut off by next to nothing.
        let points = [(0.0, 0.0), (210.0, 0.0), (210.0, 110.0), (0.001, 110.0), (0.0, 109.999)];
        let outline = Outline::polygon(points.map(|(x, y)| Point::new(x, y)));
        let (general, _) = room(&Sheet::new("s", Shape::new(outline, Vec::new()), class), &clearances);
        // The corners of the room are round by half the web.
        let exact = 200.0 * 100.0 + 600.0 * 2.0 + std::f64::consts::PI * 4.0;
        assert!(general >= exact && general < exact + 60.0, "{general}");
        assert!(area >= exact);
    }
}
