//! The scale sheet: what is printed on it, and where.
//!
//! A page of black and white squares whose inner corners are measured, around a white block. The block holds a ruled
//! square, by which the printer is checked, and two QR codes that tell which way up the page is, its pitch and its number.
//! Millimetres from the lower left corner of the paper, y up.

use dropwise_geometry::{Point, Vector};

/// Side of a black or white square, mm.
pub const PITCH: f64 = 10.0;
/// Side of the ruled square, mm, from the middle of one line to the middle of the other.
pub const RULED_SQUARE: f64 = 120.0;
/// Side of a module of the codes, mm.
pub const MODULE: f64 = 1.7;
/// Modules along a code: QR code version 1 (ISO/IEC 18004, 6.3.1).
pub const MODULES: usize = 21;
/// Squares along each side of the white block.
const BLOCK: i32 = 13;
/// Most pages that can lie around one thing.
pub const MOST_PAGES: u8 = 9;

/// Paper that a sheet is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetPaper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8 1/2 x 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

impl SheetPaper {
    /// All kinds.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// Width and height, mm.
    #[must_use]
    pub const fn size(self) -> Vector {
        match self {
            Self::A4 => Vector::new(210.0, 297.0),
            Self::Letter => Vector::new(215.9, 279.4),
        }
    }

    /// The word for it in the codes.
    const fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "LT",
        }
    }
}

/// One of the two codes of a page.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetCode {
    /// What it says.
    pub text: String,
    /// Its lower left corner, without the white around it.
    pub corner: Point,
}

/// A page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ScaleSheet {
    /// What it is printed on.
    pub paper: SheetPaper,
    /// Its number, from 1; pages that lie in one picture have different ones.
    pub page: u8,
}

impl ScaleSheet {
    /// Columns and rows of squares.
    #[must_use]
    pub const fn squares(self) -> (i32, i32) {
        match self.paper {
            SheetPaper::A4 => (19, 27),
            SheetPaper::Letter => (19, 25),
        }
    }

    /// Lower left corner of the pattern.
    #[must_use]
    pub fn origin(self) -> Point {
        let (columns, rows) = self.squares();
        let size = self.paper.size();
        Point::new((size.x - f64::from(columns) * PITCH) / 2.0, (size.y - f64::from(rows) * PITCH) / 2.0)
    }

    /// First column and first row of the white block.
    const fn block(self) -> (i32, i32) {
        let (columns, rows) = self.squares();
        ((columns - BLOCK) / 2, (rows - BLOCK) / 2)
    }

    /// Lower left corners of the black squares.
    #[must_use]
    pub fn black_squares(self) -> Vec<Point> {
        let (columns, rows) = self.squares();
        let (left, bottom) = self.block();
        let is_free = |c: i32, r: i32| (left..left + BLOCK).contains(&c) && (bottom..bottom + BLOCK).contains(&r);
        (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .filter(|&(c, r)| (c + r) % 2 == 0 && !is_free(c, r))
            .map(|(c, r)| self.lattice(c, r))
            .collect()
    }

    /// Where a crossing of the pattern lies, by column and row.
    #[must_use]
    pub fn lattice(self, column: i32, row: i32) -> Point {
        self.origin() + Vector::new(f64::from(column) * PITCH, f64::from(row) * PITCH)
    }

    /// Whether four squares meet there.
    #[must_use]
    pub fn is_crossing(self, column: i32, row: i32) -> bool {
        let (columns, rows) = self.squares();
        let (left, bottom) = self.block();
        let is_inner = (1..columns).contains(&column) && (1..rows).contains(&row);
        is_inner && !((left..=left + BLOCK).contains(&column) && (bottom..=bottom + BLOCK).contains(&row))
    }

    /// All crossings, by column and row.
    #[must_use]
    pub fn crossings(self) -> Vec<(i32, i32)> {
        let (columns, rows) = self.squares();
        let all = (1..rows).flat_map(|r| (1..columns).map(move |c| (c, r)));
        all.filter(|&(c, r)| self.is_crossing(c, r)).collect()
    }

    /// Lower left corner of the ruled square.
    #[must_use]
    pub fn ruled_square(self) -> Point {
        let size = self.paper.size();
        Point::new((size.x - RULED_SQUARE) / 2.0, (size.y - RULED_SQUARE) / 2.0)
    }

    /// The codes: the first in the upper left quarter of the ruled square, the second in the lower right one.
    #[must_use]
    pub fn codes(self) -> [SheetCode; 2] {
        let quarter = RULED_SQUARE / 4.0;
        let middle = self.ruled_square() + Vector::new(2.0 * quarter, 2.0 * quarter);
        let half = MODULE * MODULES as f64 / 2.0;
        [('A', -quarter, quarter), ('B', quarter, -quarter)].map(|(letter, x, y)| SheetCode {
            text: self.text(letter),
            corner: middle + Vector::new(x - half, y - half),
        })
    }

    /// What a code says: a mark of ours, pitch, columns and rows, paper, page, and which code it is.
    fn text(self, letter: char) -> String {
        let (columns, rows) = self.squares();
        format!("DW1:{PITCH:.0}:{columns}X{rows}:{}:{}{letter}", self.paper.word(), self.page)
    }

    /// The page and the letter of the code that says this.
    pub(crate) fn from_text(text: &str) -> Option<(Self, char)> {
        let all = SheetPaper::ALL.into_iter().flat_map(|paper| (1..=MOST_PAGES).map(move |page| Self { paper, page }));
        all.flat_map(|sheet| ['A', 'B'].map(|letter| (sheet, letter)))
            .find(|(sheet, letter)| sheet.text(*letter) == text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_crossing_has_two_black_squares() {
        for paper in SheetPaper::ALL {
            let sheet = ScaleSheet { paper, page: 1 };
            let black = sheet.black_squares();
            for (column, row) in sheet.crossings() {
                let at = sheet.lattice(column, row);
                let around = |dx: f64, dy: f64| {
                    let corner = at + Vector::new(dx, dy);
                    black.iter().any(|square| square.distance(corner) < 1e-6)
                };
                let rising = (around(0.0, 0.0), around(-PITCH, -PITCH));
                let falling = (around(-PITCH, 0.0), around(0.0, -PITCH));
                assert!(rising.0 == rising.1 && falling.0 == falling.1 && rising.0 != falling.0, "{column}, {row}");
            }
        }
    }

    #[test]
    fn codes_say_which_page_it_is() {
        for paper in SheetPaper::ALL {
            for page in 1..=MOST_PAGES {
                let sheet = ScaleSheet { paper, page };
                let [a, b] = sheet.codes();
                assert_eq!(ScaleSheet::from_text(&a.text), Some((sheet, 'A')));
                assert_eq!(ScaleSheet::from_text(&b.text), Some((sheet, 'B')));
                let code = qrcodegen::QrCode::encode_text(&a.text, qrcodegen::QrCodeEcc::Medium).unwrap();
                assert_eq!(code.size() as usize, MODULES);
            }
        }
        assert_eq!(ScaleSheet::from_text("https://example.org"), None);
    }
}
