//! The bends of the parts that are made.

use dropwise_formats::LoadedJob;
use dropwise_geometry::format_length;
use dropwise_model::Plan;

use crate::ink::Ink;
use crate::table::Table;

/// What stands where a bend has no such figure: near a half turn there is no corner to measure to.
const NONE: &str = "-";

const COLUMNS: [&str; 7] = ["Bends of each part", "turn", "way", "radius", "adds flat", "deduction", "length"];

/// Each bend of each part that is placed; nothing where no part has any.
pub(super) fn render(loaded: &LoadedJob, plan: &Plan, ink: Ink) -> String {
    let length = |millimetres| format_length(millimetres, loaded.unit);
    let mut table = Table::new(&COLUMNS);
    let mut has_any = false;
    let parts = loaded.job.parts().iter().zip(&loaded.parts).zip(&plan.figures().parts);
    for ((part, detail), _) in parts.filter(|(_, figures)| figures.placed > 0) {
        let Some(bent) = detail.bent.as_deref() else { continue };
        // The part stands above its bends, so that neither name is cut short.
        let mut heading = vec![part.name.clone()];
        heading.resize(COLUMNS.len(), String::new());
        table.row(heading);
        for row in &bent.table.bends {
            has_any = true;
            table.row(vec![
                format!("- {} {}", row.number, row.face),
                format!("{:.1}°", row.turn),
                row.direction.to_string(),
                length(row.inside_radius),
                length(row.allowance),
                row.deduction.map_or_else(|| NONE.to_owned(), length),
                length(row.length),
            ]);
        }
    }
    if has_any { table.render(ink) } else { String::new() }
}
