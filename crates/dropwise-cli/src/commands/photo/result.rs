//! A reading as it is printed and written.

use std::fmt::Write as _;

use dropwise_formats::cut_drawing::CutDrawing;
use dropwise_formats::dxf_write::{DxfUnit, write_dxf};
use dropwise_formats::svg_write::write_svg;
use dropwise_geometry::{Outline, Segment, Unit, format_length};
use dropwise_model::{Part, StockClass};
use dropwise_photo::{HoleForm, Photograph, Reading};
use dropwise_shop::markout::ScribeLines;
use serde_json::{Value, json};

use crate::complaint::{Complaint, Stop};
use crate::ink::Ink;
use crate::out_folder::OutFile;
use crate::text::wrapped;

/// Said with every result.
pub(crate) const CAUTION: &str = "Look at the picture first: a shadow or a grain may have been taken for an edge, small holes may be missing, and spots may have been taken for holes. Then check the template with a rule before cutting: measure two long sides, every hole and the distance of two holes on the thing itself.";

/// What was read, for people.
pub(crate) fn page(reading: &Reading, unit: Unit, ink: Ink) -> String {
    let length = |mm: f64| format_length(mm, unit);
    let bounds = reading.outline.bounds();
    let mut page = format!("{}\n", ink.strong("Outline from a photograph"));
    let round = reading.outline.as_circle().map(|(_, radius)| format!("a disc of {}", length(2.0 * radius)));
    let sides = reading.outline.vertices().len();
    let form =
        round.unwrap_or_else(|| format!("{} x {}, {sides} sides", length(bounds.width()), length(bounds.height())));
    let _ = writeln!(page, "  size       {form}");
    for hole in &reading.holes {
        let text = match hole.form {
            HoleForm::Round { center, diameter } => {
                format!("round, {}, at {}, {}", length(diameter), length(center.x), length(center.y))
            }
            HoleForm::Slot { from, to, width } => {
                let middle = from.lerp(to, 0.5);
                let long = length(from.distance(to) + width);
                format!("slot, {} x {long}, at {}, {}", length(width), length(middle.x), length(middle.y))
            }
            HoleForm::Other => {
                let box_ = hole.outline.bounds();
                format!("{} x {} over all", length(box_.width()), length(box_.height()))
            }
        };
        page.push_str(&wrapped(&format!("  {:<11}", format!("hole {}", hole.number)), 13, &text));
    }
    for pattern in &reading.patterns {
        page.push_str(&wrapped("  pattern    ", 13, &pattern.text));
    }
    for zone in &reading.damage {
        let zone = zone.bounds();
        let text = format!(
            "{} x {} at {}, {}",
            length(zone.width()),
            length(zone.height()),
            length(zone.min.x),
            length(zone.min.y)
        );
        page.push_str(&wrapped("  damage     ", 13, &text));
    }
    let told = &reading.accuracy;
    let mut text = format!("outline within {:.2} mm, {:.2} mm root mean square", told.outline_worst, told.outline_rms);
    if !reading.holes.is_empty() {
        let _ = write!(
            text,
            "; holes' centres within {:.2} mm, diameters within {:.2} mm",
            told.hole_centers, told.hole_diameters
        );
    }
    page.push_str(&wrapped(
        "  accuracy   ",
        13,
        &format!("{text}, if the edges found are those of the thing (two standard deviations, from the fit)"),
    ));
    let (used, sigma) = reading.crossings;
    let text = format!(
        "{used} corners of the sheet, off by {sigma:.2} pixels; {:.2} mm a pixel; tilt {:.0}\u{b0}",
        reading.millimetres_per_pixel, reading.tilt_deg
    );
    page.push_str(&wrapped("  picture    ", 13, &text));
    if !reading.decisions.is_empty() {
        let _ = writeln!(page, "{}", ink.strong("Decided, each taken back by --as-found NAME"));
        for decision in &reading.decisions {
            page.push_str(&wrapped("  ", 4, &decision.text));
        }
    }
    for note in &reading.notes {
        page.push_str(&wrapped("note: ", 2, &format!("{note}.")));
    }
    page.push_str(&wrapped(&format!("{} ", ink.doubtful("caution:")), 2, CAUTION));
    page
}

/// What was read, for scripts. Lengths in mm.
pub(crate) fn record(reading: &Reading) -> Value {
    let ring = |outline: &Outline| -> Value {
        outline.vertices().iter().map(|v| json!({ "x": v.point.x, "y": v.point.y, "bulge": v.bulge })).collect()
    };
    let holes: Vec<Value> = reading
        .holes
        .iter()
        .map(|hole| {
            let mut value = json!({ "number": hole.number, "outline": ring(&hole.outline) });
            match hole.form {
                HoleForm::Round { center, diameter } => {
                    value["round"] = json!({ "x": center.x, "y": center.y, "diameter": diameter });
                }
                HoleForm::Slot { from, to, width } => {
                    value["slot"] = json!({ "from": [from.x, from.y], "to": [to.x, to.y], "width": width });
                }
                HoleForm::Other => {}
            }
            value
        })
        .collect();
    let told = &reading.accuracy;
    let decisions: Vec<Value> = reading.decisions.iter().map(|d| json!({ "name": d.name, "text": d.text })).collect();
    let patterns: Vec<Value> = reading.patterns.iter().map(|p| json!({ "text": p.text, "holes": p.holes })).collect();
    let strip: Vec<Value> = reading.strip.iter().map(|(at, sigma)| json!([at.x, at.y, sigma])).collect();
    json!({
        "unit": "mm",
        "outline": ring(&reading.outline),
        "holes": holes,
        "damage": reading.damage.iter().map(ring).collect::<Vec<_>>(),
        "patterns": patterns,
        "accuracy": {
            "outline_rms": told.outline_rms,
            "outline_worst": told.outline_worst,
            "hole_centers": told.hole_centers,
            "hole_diameters": told.hole_diameters,
        },
        "unsure": strip,
        "decisions": decisions,
        "notes": reading.notes,
        "caution": CAUTION,
        "mm_per_pixel": reading.millimetres_per_pixel,
        "tilt_deg": reading.tilt_deg,
    })
}

/// Drawings in true size, the picture, and lines for a job file.
pub(crate) fn files(reading: &Reading, photograph: &Photograph, name: &str, unit: Unit) -> Result<Vec<OutFile>, Stop> {
    let part = Part::new(name, reading.shape(), StockClass::new("template"));
    let drawing = CutDrawing::of_part(&part, &ScribeLines::default())
        .map_err(|error| Stop::failure(Complaint::new(error.to_string())))?;
    Ok(vec![
        OutFile::new("outline.dxf", write_dxf(&drawing, DxfUnit::beside(unit))),
        OutFile::new("outline.svg", write_svg(&drawing)),
        OutFile::new("picture.svg", reading.picture(photograph)),
        OutFile::new("job-lines.toml", job_lines(reading, name)),
    ])
}

/// A part for a job file: by its dimensions where straight sides and round holes are all there is, else by its drawing.
pub(crate) fn job_lines(reading: &Reading, name: &str) -> String {
    let is_straight = reading.outline.segments().all(|s| matches!(s, Segment::Line { .. }));
    let round: Option<Vec<(f64, f64, f64)>> = reading
        .holes
        .iter()
        .map(|hole| match hole.form {
            HoleForm::Round { center, diameter } => Some((center.x, center.y, diameter)),
            _ => None,
        })
        .collect();
    let disc = reading.outline.as_circle();
    let mut text = format!(
        "# From a photograph; outline within {:.2} mm if its edges were found. Check it with a rule before cutting.\n\
         # Add material, thickness and quantity. Lengths are in mm.\n[[parts]]\nname = {}\n",
        reading.accuracy.outline_worst,
        json!(name)
    );
    match round {
        Some(holes) if is_straight || disc.is_some() => {
            if let Some((_, radius)) = disc {
                let _ = writeln!(text, "circle = {{ diameter = \"{:.2} mm\" }}", 2.0 * radius);
            } else {
                let points: Vec<String> = reading
                    .outline
                    .vertices()
                    .iter()
                    .map(|v| format!("[\"{:.2} mm\", \"{:.2} mm\"]", v.point.x + 0.0, v.point.y + 0.0))
                    .collect();
                let _ = writeln!(text, "polygon = {{ points = [{}] }}", points.join(", "));
            }
            if !holes.is_empty() {
                let holes: Vec<String> = holes
                    .iter()
                    .map(|(x, y, d)| format!("{{ diameter = \"{d:.2} mm\", at = [\"{x:.2} mm\", \"{y:.2} mm\"] }}"))
                    .collect();
                let _ = writeln!(text, "holes = [{}]", holes.join(", "));
            }
        }
        _ => text.push_str("drawing = { file = \"outline.dxf\" }\n"),
    }
    text
}
