//! A table of text that keeps to the columns of the terminal.

use crate::ink::Ink;
use crate::text::{columns as wide, shortened, width};

/// Columns between two columns of a table.
const GAP: usize = 2;

/// What stands in a table: a heading and a row of cells, the first cell a name, the others figures.
///
/// Figures are aligned at their points, so that digits of the same worth stand below each other whatever unit follows.
/// Names are shortened to what the figures leave of the line; figures never are.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    heading: Vec<String>,
    rows: Vec<Row>,
    /// Columns left out where names would be cut too short, the first of them first.
    spare: Vec<usize>,
}

#[derive(Clone, Debug)]
enum Row {
    Cells(Vec<String>),
    /// Stands over the rows that follow, as wide as the line.
    Group(String),
    Rule,
}

/// A name is never shortened below this, even if lines then grow too long: it would tell nothing.
const SHORTEST_NAME: usize = 8;

/// A name that is shortened below this costs a spare column instead.
const FAIR_NAME: usize = 16;

impl Table {
    pub(crate) fn new(heading: &[&str]) -> Self {
        Self { heading: heading.iter().map(|&title| title.to_owned()).collect(), rows: Vec::new(), spare: Vec::new() }
    }

    /// Names the columns that may be left out on a narrow terminal.
    pub(crate) fn spare(mut self, columns: &[usize]) -> Self {
        self.spare = columns.to_vec();
        self
    }

    /// Adds a line that stands over the rows after it.
    pub(crate) fn group(&mut self, text: &str) {
        self.rows.push(Row::Group(text.to_owned()));
    }

    /// The same without one of its columns of figures.
    fn without(&self, column: usize) -> Self {
        let less = |cells: &[String]| -> Vec<String> {
            cells.iter().enumerate().filter(|&(index, _)| index != column).map(|(_, cell)| cell.clone()).collect()
        };
        let rows = self.rows.iter().map(|row| match row {
            Row::Cells(cells) => Row::Cells(less(cells)),
            other => other.clone(),
        });
        let others = self.spare.iter().filter(|&&other| other != column);
        Self {
            heading: less(&self.heading),
            rows: rows.collect(),
            spare: others.map(|&other| if other > column { other - 1 } else { other }).collect(),
        }
    }

    /// Adds a row, which has as many cells as the heading.
    pub(crate) fn row(&mut self, cells: Vec<String>) {
        debug_assert_eq!(cells.len(), self.heading.len());
        self.rows.push(Row::Cells(cells));
    }

    /// Sets what follows apart, as a sum.
    pub(crate) fn rule(&mut self) {
        self.rows.push(Row::Rule);
    }

    /// The table, each line ended.
    pub(crate) fn render(&self, ink: Ink) -> String {
        let cells = || self.rows.iter().filter_map(|row| if let Row::Cells(cells) = row { Some(cells) } else { None });
        let columns = self.heading.len();
        // Columns before the point and from the point on, for each column of figures.
        let reaches: Vec<(usize, usize)> = (0..columns)
            .map(|column| {
                let splits = cells().map(|cells| split(&cells[column]));
                splits.fold((0, 0), |(before, after), (head, tail)| (before.max(width(head)), after.max(width(tail))))
            })
            .collect();
        let mut widths: Vec<usize> = (0..columns)
            .map(|column| (reaches[column].0 + reaches[column].1).max(width(&self.heading[column])))
            .collect();
        let figures: usize = widths.iter().skip(1).map(|width| width + GAP).sum();
        let longest = cells().map(|cells| width(&cells[0])).max().unwrap_or(0).max(width(&self.heading[0]));
        let left = wide().saturating_sub(figures);
        if left < longest.min(FAIR_NAME)
            && let Some(&column) = self.spare.first()
        {
            return self.without(column).render(ink);
        }
        widths[0] = longest.min(left.max(SHORTEST_NAME));

        let mut page = String::new();
        let name = |text: &str| padded(&shortened(text, widths[0]), widths[0]);
        let mut heading = name(&self.heading[0]);
        for (title, columns) in self.heading.iter().zip(&widths).skip(1) {
            heading.push_str(&" ".repeat(GAP + columns - width(title)));
            heading.push_str(title);
        }
        push_line(&mut page, &ink.strong(heading.trim_end()));
        for row in &self.rows {
            match row {
                Row::Group(text) => push_line(&mut page, &shortened(text, wide())),
                Row::Rule => push_line(&mut page, &"-".repeat(widths.iter().sum::<usize>() + GAP * (columns - 1))),
                Row::Cells(cells) => {
                    let mut line = name(&cells[0]);
                    for column in 1..columns {
                        let (head, tail) = split(&cells[column]);
                        let after = reaches[column].1;
                        line.push_str(&" ".repeat(GAP + widths[column] - after - width(head)));
                        line.push_str(head);
                        line.push_str(&padded(tail, after));
                    }
                    push_line(&mut page, line.trim_end());
                }
            }
        }
        page
    }
}

fn push_line(page: &mut String, line: &str) {
    page.push_str(line);
    page.push('\n');
}

fn padded(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(width(text))))
}

/// A figure before its point, or before the blank in front of its unit, and the rest.
fn split(figure: &str) -> (&str, &str) {
    let is_end = |c: char| c == '.' || c == ' ';
    match figure.find(is_end) {
        Some(at) if figure.starts_with(|c: char| c.is_ascii_digit() || c == '-') => figure.split_at(at),
        _ => (figure, ""),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(names: &[&str], figures: &[&str]) -> String {
        let mut table = Table::new(&["part", "weight"]);
        for (name, figure) in names.iter().zip(figures) {
            table.row(vec![(*name).to_owned(), (*figure).to_owned()]);
        }
        table.render(Ink::plain())
    }

    #[test]
    fn figures_meet_at_their_points() {
        let page = page(&["plate", "ring", "支架", "lug"], &["12.5 kg", "1.25 kg", "3 kg", "-"]);
        let expected = "\
part     weight
plate  12.5 kg
ring    1.25 kg
支架    3 kg
lug     -
";
        assert_eq!(page, expected);
    }

    #[test]
    fn spare_columns_are_left_out_before_names_are_cut_short() {
        let mut table = Table::new(&["part", "over all", "weight"]).spare(&[1]);
        table.group(&"g".repeat(70));
        table.row(vec!["n".repeat(30), "w".repeat(60), "12.5 kg".to_owned()]);
        let page = table.render(Ink::plain());
        assert!(page.contains(&"g".repeat(70)) && page.contains(&"n".repeat(30)) && page.contains("12.5 kg"));
        assert!(!page.contains("over all") && !page.contains("ww"), "{page}");
    }

    #[test]
    fn long_names_give_way() {
        let page = page(&[&"x".repeat(200)], &["1"]);
        assert!(page.lines().all(|line| width(line) <= wide()), "{page}");
        assert!(page.contains('…'));
    }
}
