//! A part after some of its bends, small and without words: for a row of steps.

use dropwise_geometry::Point;
use dropwise_shop::fold::Unfolding;

use super::marks;
use super::paint::{DOUBTFUL, UNDER, paint};
use super::view::Stroke;
use crate::drawing::svg::{Canvas, MEDIUM, THIN, number};

/// The part after the bends that `is_bent` names, as SVG `width` mm wide. The side that is down on the flat is darker.
pub(crate) fn draw_stage(flat: &Unfolding, is_bent: &dyn Fn(usize) -> bool, title: &str, width: f64) -> String {
    let painting = paint(flat, is_bent, 0.004);
    let bounds = painting.bounds;
    let paper = (bounds.width() / (width - 2.0)).max(bounds.height() / (width * 0.75)).max(1e-3);
    let mut canvas = Canvas::new(paper);
    let place =
        |point: Point| Point::new(paper + point.x - bounds.min.x, paper + bounds.height() - (point.y - bounds.min.y));
    for one in &painting.fills {
        let byte = ((if one.is_under { one.level * UNDER } else { one.level }) * 255.0).round() as u8;
        let fill = format!("#{byte:02x}{byte:02x}{byte:02x}");
        let rings = one.regions.iter().map(|region| marks::path(region.rings().map(<[Point]>::to_vec), &place));
        let data: String = rings.collect();
        if !data.is_empty() {
            canvas.fill(&data, &fill, "");
        }
    }
    for (wanted, width, colour) in [(Stroke::BendLimit, THIN * 0.7, "#777"), (Stroke::Outline, MEDIUM, "#000")] {
        let lines = painting.lines.iter().filter(|(stroke, _)| *stroke == wanted).map(|(_, [from, to])| {
            let (from, to) = (place(*from), place(*to));
            format!("M{} {}L{} {}", number(from.x), number(from.y), number(to.x), number(to.y))
        });
        let (data, width) = (lines.collect::<String>(), canvas.paper_length(width));
        canvas.raw(&format!(
            "<path d=\"{data}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linecap=\"round\"/>\n"
        ));
    }
    let title = if painting.is_doubtful { format!("{title} ({DOUBTFUL})") } else { title.to_owned() };
    canvas.finish(width * paper, bounds.height() + 2.0 * paper, &title, "")
}
