//! A chart of bars, as SVG.

use std::fmt::Write as _;

/// A group of bars under one name.
pub(crate) struct Group {
    /// What they are of.
    pub(crate) name: String,
    /// For each series how long the bar is, and the figure beside it; `None` where there is none.
    pub(crate) bars: Vec<Option<(f64, String)>>,
}

/// Bars that lie, so that names of any length stand above them. Series are told apart by their filling and by the order in
/// which they stand in the legend, not by colour.
pub(crate) struct Chart<'a> {
    /// What is shown.
    pub(crate) title: &'a str,
    /// The names of the series.
    pub(crate) series: &'a [&'a str],
    /// The groups, from the top.
    pub(crate) groups: &'a [Group],
    /// The longest bar that could be; `None` for the longest that is.
    pub(crate) whole: Option<f64>,
}

const WIDTH: f64 = 720.0;
const BAR: f64 = 14.0;
const MARGIN: f64 = 20.0;
/// Room beside the longest bar for its figure.
const FIGURE: f64 = 150.0;

/// Fillings, by series: solid, hatched, blank.
const FILLINGS: [&str; 3] = ["#333", "url(#hatch)", "#fff"];

impl Chart<'_> {
    /// The chart.
    pub(crate) fn svg(&self) -> String {
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
    let text = crate::text::cleaned(text);
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
