//! What must hold for a part to lie on a sheet.

use crate::problem::task::Task;
use crate::shapes::girth::Girth;

/// Whether nothing that can be said of area, girth and box forbids a part to lie on a sheet. `allowance`, mm, is forgiven
/// for outlines made straight.
pub(crate) fn may_fit(task: &Task, part: usize, sheet: usize, allowance: f64) -> bool {
    let container = task.container(sheet);
    let shapes = &task.parts[part];
    if !container.has_room() {
        return false;
    }
    let room = Girth::of(&container.hull);
    let slack = 1.0 + 1e-9;
    let (bounds, reach) = (container.bounds, container.bounds.width() + container.bounds.height());
    if shapes.grown_area > container.area * slack + 2.0 * allowance * reach {
        return false;
    }
    task.allowed(part, task.sheets[sheet].grain).any(|variant| {
        let variant = &shapes.variants[variant];
        let shape = variant.edge();
        let girth = Girth::of(&shape.hull);
        let is_slim =
            girth.diameter <= room.diameter * slack + allowance && girth.width <= room.width * slack + allowance;
        let is_boxed = variant.turn_deg.is_none()
            || shape.bounds.width() <= bounds.width() * slack + allowance
                && shape.bounds.height() <= bounds.height() * slack + allowance;
        is_slim && is_boxed
    })
}
