//! Tables that run over pages.

use dropwise_geometry::{Point, Vector};

use super::MARGIN;
use crate::drawing::text::clean;
use crate::pdf::canvas::{Hold, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::Weight;
use crate::tables::PaperTable;

/// Height of a row, mm.
const ROW: f64 = 5.4;
/// From one line of a row to the next, mm.
const NEXT_LINE: f64 = 4.2;
/// A name of hundreds of letters does not fill a page.
const MOST_LINES: usize = 6;
/// Size of the type, mm.
const SIZE: f64 = 3.2;

/// A column: its heading, its share of the width, and whether it holds numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column<'a> {
    pub(super) heading: &'a str,
    pub(super) share: f64,
    pub(super) is_number: bool,
}

/// Where on the paper the next thing goes.
pub(super) struct Flow<'a> {
    pub(super) document: &'a mut Document,
    /// Size of a page, mm.
    pub(super) size: Vector,
    /// Written at the head of each page.
    pub(super) title: String,
    /// From the lower edge, mm; below the margin when there is no page yet.
    pub(super) y: f64,
}

impl Flow<'_> {
    /// Starts a page unless so much room is left.
    pub(super) fn need(&mut self, height: f64) {
        if self.y - height >= MARGIN {
            return;
        }
        let size = self.size;
        self.document.page(size);
        let Document { fonts, pages } = &mut *self.document;
        let page = pages.last_mut().expect("a page was just added");
        let title = fonts.shorten(Weight::Bold, &self.title, (size.x - 2.0 * MARGIN) / 5.0);
        page.text(fonts, Style::new(Weight::Bold, 5.0), Point::new(MARGIN, size.y - MARGIN - 5.0), &title);
        self.y = size.y - MARGIN - 12.0;
    }

    /// A line of text.
    pub(super) fn line(&mut self, weight: Weight, size: f64, text: &str) {
        self.need(size * 1.6);
        self.y -= size * 1.4;
        let (room, y) = (self.size.x - 2.0 * MARGIN, self.y);
        let Document { fonts, pages } = &mut *self.document;
        let page = pages.last_mut().expect("room was made");
        let text = fonts.shorten(weight, text, room / size);
        page.text(fonts, Style::new(weight, size), Point::new(MARGIN, y), &text);
        self.y -= size * 0.4;
    }

    /// A table of plain data; columns take room by what stands in them.
    pub(super) fn plain_table(&mut self, table: &PaperTable) {
        // The title stays with what is said of the table, and that with its first rows.
        let is_noted = !table.notes.is_empty();
        if is_noted {
            self.need(4.0 * ROW + 8.0 * table.notes.len() as f64);
            self.line(Weight::Bold, 4.0, &table.title);
        }
        for note in &table.notes {
            self.paragraph(note);
        }
        let longest = |index: usize, heading: &str| {
            let cells = table.rows.iter().filter_map(|row| row.get(index)).map(|cell| cell.chars().count());
            // Headings are bold.
            cells.chain([heading.chars().count() * 5 / 4 + 1]).max().unwrap_or(0).clamp(6, 70) as f64 + 2.0
        };
        let boxes = table.has_boxes.then_some(Column { heading: "", share: 4.0, is_number: false });
        let columns: Vec<Column<'_>> = boxes
            .into_iter()
            .chain(table.columns.iter().enumerate().map(|(index, column)| Column {
                heading: &column.heading,
                share: longest(index, &column.heading),
                is_number: column.is_number,
            }))
            .collect();
        let filled = |row: &Vec<String>| {
            let cells = (0..table.columns.len()).map(|index| row.get(index).cloned().unwrap_or_default());
            table.has_boxes.then(|| BOX.to_owned()).into_iter().chain(cells).collect::<Vec<_>>()
        };
        let rows: Vec<Vec<String>> = table.rows.iter().map(filled).collect();
        self.rows_of(&table.title, &columns, &rows, is_noted);
    }

    /// Text broken at blanks to the width of the page.
    fn paragraph(&mut self, text: &str) {
        let text = clean(text);
        let room = (self.size.x - 2.0 * MARGIN) / SIZE;
        let mut line = String::new();
        for word in text.split(' ') {
            let longer = format!("{line} {word}").trim().to_owned();
            if !line.is_empty() && self.document.fonts.width(Weight::Regular, &longer) > room {
                self.line(Weight::Regular, SIZE, &line);
                line = word.to_owned();
            } else {
                line = longer;
            }
        }
        self.line(Weight::Regular, SIZE, &line);
    }

    /// A table; its heading is repeated on each page. Every second row is shaded, so that the eye keeps its line.
    pub(super) fn table(&mut self, title: &str, columns: &[Column<'_>], rows: &[Vec<String>]) {
        self.rows_of(title, columns, rows, false);
    }

    fn rows_of(&mut self, title: &str, columns: &[Column<'_>], rows: &[Vec<String>], is_titled: bool) {
        let width = self.size.x - 2.0 * MARGIN;
        let shares: f64 = columns.iter().map(|column| column.share).sum();
        let mut is_headed = false;
        for (index, row) in rows.iter().enumerate() {
            let height = self.height(columns, row, Look::Plain, width / shares);
            if !is_headed || self.y - height < MARGIN {
                self.need(if is_headed { height + ROW * 2.0 } else { height + 2.0 * ROW + 8.0 });
                if is_headed || !is_titled {
                    let title = if is_headed { format!("{title}, continued") } else { title.to_owned() };
                    self.line(Weight::Bold, 4.0, &title);
                }
                self.row(
                    columns,
                    &columns.iter().map(|column| column.heading.to_owned()).collect::<Vec<_>>(),
                    Look::Head,
                    width / shares,
                );
                is_headed = true;
            }
            let look = if index % 2 == 1 { Look::Shaded } else { Look::Plain };
            self.row(columns, row, look, width / shares);
        }
        self.y -= 4.0;
    }

    /// Height of a row whose longest words take several lines.
    fn height(&mut self, columns: &[Column<'_>], cells: &[String], look: Look, unit: f64) -> f64 {
        let lines = columns.iter().zip(cells).map(|(column, cell)| self.broken(column, cell, look, unit).len()).max();
        ROW + (lines.unwrap_or(1).max(1) - 1) as f64 * NEXT_LINE
    }

    /// A cell on as many lines as it takes: nothing that is measured from may be cut off. Numbers stay whole.
    fn broken(&mut self, column: &Column<'_>, cell: &str, look: Look, unit: f64) -> Vec<String> {
        let weight = if look == Look::Head { Weight::Bold } else { Weight::Regular };
        let room = (column.share * unit - 3.0) / SIZE;
        let fonts = &mut self.document.fonts;
        if cell == BOX || look == Look::Head || fonts.width(weight, cell) <= room {
            return vec![cell.to_owned()];
        }
        let mut lines = vec![String::new()];
        for word in words_of(&clean(cell)) {
            let line = lines.last_mut().expect("there is one");
            let longer = format!("{line} {word}").trim().to_owned();
            if line.is_empty() || fonts.width(weight, &longer) <= room {
                *line = longer;
            } else {
                lines.push(word);
            }
        }
        lines.truncate(MOST_LINES);
        lines
    }

    fn row(&mut self, columns: &[Column<'_>], cells: &[String], look: Look, unit: f64) {
        let height = self.height(columns, cells, look, unit);
        let broken: Vec<Vec<String>> =
            columns.iter().zip(cells).map(|(column, cell)| self.broken(column, cell, look, unit)).collect();
        self.y -= height;
        let y = self.y;
        let width = self.size.x - 2.0 * MARGIN;
        let Document { fonts, pages } = &mut *self.document;
        let page = pages.last_mut().expect("room was made");
        if look == Look::Shaded {
            page.filled_rectangle(Point::new(MARGIN, y), Vector::new(width, height), 0.93);
        }
        let weight = if look == Look::Head { Weight::Bold } else { Weight::Regular };
        let mut x = MARGIN;
        for (column, lines) in columns.iter().zip(&broken) {
            let room = column.share * unit;
            let top = y + height - ROW;
            for (index, line) in lines.iter().enumerate() {
                // A single word may still be too long.
                let text = fonts.shorten(weight, line, (room - 3.0) / SIZE);
                let base = top + ROW * 0.3 - index as f64 * NEXT_LINE;
                if line == BOX {
                    page.rectangle(Point::new(x + 1.0, top + 1.0), Vector::new(3.4, 3.4), Pen::black(0.25));
                } else if column.is_number {
                    let style = Style::new(weight, SIZE).held(Hold::End);
                    page.text(fonts, style, Point::new(x + room - 2.0, base), &text);
                } else {
                    page.text(fonts, Style::new(weight, SIZE), Point::new(x + 1.0, base), &text);
                }
            }
            x += room;
        }
        if look == Look::Head {
            page.line(&[Point::new(MARGIN, y), Point::new(MARGIN + width, y)], Pen::black(0.3));
        }
    }
}

/// Words between which a line may be broken: a fraction stays with its whole number, or `12 3/8` would read as 12 in haste.
fn words_of(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split([' ', '\u{a0}']) {
        let is_fraction = word.contains('/') && word.starts_with(|c: char| c.is_ascii_digit());
        match words.last_mut() {
            Some(last) if is_fraction && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// A cell that is a box to tick.
pub(super) const BOX: &str = "\u{2610}";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Look {
    Head,
    Plain,
    Shaded,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_stay_with_their_whole_number() {
        assert_eq!(words_of("9 17/32, 11 to 9 1/8"), ["9 17/32,", "11", "to", "9 1/8"]);
        assert_eq!(words_of("12\u{a0}3/8 in drill 9/32"), ["12 3/8", "in", "drill", "9/32"]);
    }
}
