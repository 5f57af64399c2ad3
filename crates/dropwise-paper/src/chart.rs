//! A chart of bars, as SVG.

use std::fmt::Write as _;

use crate::drawing::text::{clean, escape};

/// A group of bars under one name.
#[derive(Clone, Debug, PartialEq)]
pub struct BarGroup {
    /// What they are of.
    pub name: String,
    /// For each series how long the bar is, and the figure beside it; `None` where there is none.
    pub bars: Vec<Option<(f64, String)>>,
}

/// Bars that lie, so that names of any length stand above them. Series are told apart by their filling and by the order in
/// which they stand in the legend, not by colour.
///
/// # Examples
/// ```
/// use dropwise_paper::{BarChart, BarGroup};
/// let groups = [BarGroup { name: "mild steel".to_owned(), bars: vec![Some((3.0, "3 kg".to_owned()))] }];
/// let chart = BarChart { title: "In the rack", series: &["weight"], groups: &groups, whole: None };
/// assert!(chart.svg().contains("3 kg"));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarChart<'a> {
    /// What is shown.
    pub title: &'a str,
    /// The names of the series.
    pub series: &'a [&'a str],
    /// The groups, from the top.
    pub groups: &'a [BarGroup],
    /// The longest bar that could be; `None` for the longest that is.
    pub whole: Option<f64>,
}

const WIDTH: f64 = 720.0;
const BAR: f64 = 14.0;
const MARGIN: f64 = 20.0;
/// Room beside the longest bar for its figure.
const FIGURE: f64 = 150.0;

/// Fillings, by series: solid, hatched, blank.
const FILLINGS: [&str; 3] = ["#333", "url(#hatch)", "#fff"];

impl BarChart<'_> {
    /// The chart as an SVG file.
    #[must_use]
    pub fn svg(&self) -> String {
        let series = self.series.len() as f64;
        let group_height = 20.0 + series * (BAR + 3.0) + 8.0;
        let top = 46.0 + 20.0 * series;
        let height = top + group_height * self.groups.len() as f64 + MARGIN;
        let longest = self.groups.iter().flat_map(|group| group.bars.iter().flatten()).map(|bar| bar.0);
        let whole = self.whole.unwrap_or_else(|| longest.fold(0.0, f64::max)).max(1e-9);
        let scale = (WIDTH - 2.0 * MARGIN - FIGURE) / whole;
        let mut page = opening(WIDTH, height, self.title);
        let _ = writeln!(
            page,
            "<text x=\"{MARGIN}\" y=\"28\" font-size=\"17\" font-weight=\"bold\">{}</text>",
            escaped(self.title)
        );
        for (index, name) in self.series.iter().enumerate() {
            let y = 40.0 + 20.0 * index as f64;
            rectangle(&mut page, (MARGIN, y), (24.0, BAR), FILLINGS[index % FILLINGS.len()]);
            let _ = writeln!(page, "<text x=\"{}\" y=\"{}\">{}</text>", MARGIN + 32.0, y + 12.0, escaped(name));
        }
        for (index, group) in self.groups.iter().enumerate() {
            let y = top + group_height * index as f64;
            let _ = writeln!(
                page,
                "<text x=\"{MARGIN}\" y=\"{:.1}\" font-weight=\"bold\">{}</text>",
                y + 14.0,
                escaped(&group.name)
            );
            for (index, bar) in group.bars.iter().enumerate() {
                let y = y + 20.0 + (BAR + 3.0) * index as f64;
                let (length, figure) =
                    bar.as_ref().map_or((0.0, "none"), |(length, figure)| (*length, figure.as_str()));
                let length = (length.max(0.0) * scale).min(WIDTH - 2.0 * MARGIN - FIGURE);
                if bar.is_some() {
                    rectangle(&mut page, (MARGIN, y), (length.max(1.0), BAR), FILLINGS[index % FILLINGS.len()]);
                }
                let x = MARGIN + length + 8.0;
                let _ = writeln!(page, "<text x=\"{x:.1}\" y=\"{:.1}\">{}</text>", y + 12.0, escaped(figure));
            }
        }
        page.push_str("</svg>\n");
        page
    }
}

/// The head of an SVG page, with a hatching to fill with.
pub(crate) fn opening(width: f64, height: f64, title: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {width:.0} \
         {height:.0}\" font-family=\"sans-serif\" font-size=\"13\" role=\"img\">\n<title>{}</title>\n<defs><pattern \
         id=\"hatch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect \
         width=\"5\" height=\"5\" fill=\"#fff\"/><path d=\"M0 0V5\" stroke=\"#333\" stroke-width=\"2.5\"/></pattern></defs>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
        escaped(title)
    )
}

fn rectangle(page: &mut String, (x, y): (f64, f64), (width, height): (f64, f64), filling: &str) {
    let _ = writeln!(
        page,
        "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{filling}\" stroke=\"#333\"/>"
    );
}

/// A text as it may stand in SVG.
pub(crate) fn escaped(text: &str) -> String {
    escape(&clean(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_are_as_long_as_their_figures_and_names_do_no_harm() {
        let bar = |length: f64| Some((length, format!("{length} kg")));
        let groups = [
            BarGroup { name: "<b>&\"\u{202E}".to_owned(), bars: vec![bar(4.0), None] },
            BarGroup { name: "second".to_owned(), bars: vec![bar(1.0), bar(2.0)] },
        ];
        let chart = BarChart { title: "a < b", series: &["one", "two"], groups: &groups, whole: None };
        let svg = chart.svg();
        let document = roxmltree::Document::parse(&svg).expect("well formed");
        let bars: Vec<f64> = document
            .descendants()
            .filter(|node| node.has_tag_name("rect") && node.attribute("height") == Some("14.0"))
            .map(|node| node.attribute("width").unwrap().parse().unwrap())
            .collect();
        // Two fields of the legend, then the bars: half as long means half as much.
        let [_, _, four, one, two] = bars[..] else { panic!("{bars:?}") };
        assert!((four - 2.0 * two).abs() < 0.2 && (two - 2.0 * one).abs() < 0.2, "{bars:?}");
        assert!(!svg.contains("<b>") && !svg.contains('\u{202E}'));
    }
}
