//! Tables that run over pages.

use dropwise_geometry::{Point, Vector};

use super::MARGIN;
use crate::pdf::canvas::{Hold, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::Weight;

/// Height of a row, mm.
const ROW: f64 = 5.4;
/// Size of the type, mm.
const SIZE: f64 = 3.2;

/// A column: its heading, its share of the width, and whether it holds numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column {
    pub(super) heading: &'static str,
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

    /// A table; its heading is repeated on each page. Every second row is shaded, so that the eye keeps its line.
    pub(super) fn table(&mut self, title: &str, columns: &[Column], rows: &[Vec<String>]) {
        let width = self.size.x - 2.0 * MARGIN;
        let shares: f64 = columns.iter().map(|column| column.share).sum();
        let mut is_headed = false;
        for (index, row) in rows.iter().enumerate() {
            if !is_headed || self.y - ROW < MARGIN {
                self.need(if is_headed { ROW * 3.0 } else { 3.0 * ROW + 8.0 });
                let title = if is_headed { format!("{title}, continued") } else { title.to_owned() };
                self.line(Weight::Bold, 4.0, &title);
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

    fn row(&mut self, columns: &[Column], cells: &[String], look: Look, unit: f64) {
        self.y -= ROW;
        let y = self.y;
        let width = self.size.x - 2.0 * MARGIN;
        let Document { fonts, pages } = &mut *self.document;
        let page = pages.last_mut().expect("room was made");
        if look == Look::Shaded {
            page.filled_rectangle(Point::new(MARGIN, y), Vector::new(width, ROW), 0.93);
        }
        let weight = if look == Look::Head { Weight::Bold } else { Weight::Regular };
        let mut x = MARGIN;
        for (column, cell) in columns.iter().zip(cells) {
            let room = column.share * unit;
            let text = fonts.shorten(weight, cell, (room - 3.0) / SIZE);
            let base = y + ROW * 0.3;
            if cell == BOX {
                page.rectangle(Point::new(x + 1.0, y + 1.0), Vector::new(3.4, 3.4), Pen::black(0.25));
            } else if column.is_number {
                let style = Style::new(weight, SIZE).held(Hold::End);
                page.text(fonts, style, Point::new(x + room - 2.0, base), &text);
            } else {
                page.text(fonts, Style::new(weight, SIZE), Point::new(x + 1.0, base), &text);
            }
            x += room;
        }
        if look == Look::Head {
            page.line(&[Point::new(MARGIN, y), Point::new(MARGIN + width, y)], Pen::black(0.3));
        }
    }
}

/// A cell that is a box to tick.
pub(super) const BOX: &str = "\u{2610}";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Look {
    Head,
    Plain,
    Shaded,
}
