//! Tables that run over pages, narrow ones in bands side by side.

use dropwise_geometry::{Point, Vector};

use super::MARGIN;
use crate::drawing::text::clean;
use crate::pdf::canvas::{Hold, Page, Pen, Style};
use crate::pdf::document::Document;
use crate::pdf::font::Weight;
use crate::tables::PaperTable;

/// Heights of a row, mm: as it is, and where a few rows would take one more page. The least keeps capitals of 2.5 mm more
/// than a millimetre apart.
pub(super) const ROWS: [f64; 3] = [4.25, 3.85, 3.6];
/// How much less from one line of a row to the next, mm.
const CLOSER: f64 = 0.25;
/// A name of hundreds of letters does not fill a page.
const MOST_LINES: usize = 6;
/// Size of the type, mm: capitals and figures 2.5 mm high.
const SIZE: f64 = 3.45;
/// Size of text that is read at leisure, mm: nothing in it is measured.
pub(super) const WORDS: f64 = 2.6;
/// Between the text of two columns, mm.
const PAD: f64 = 1.6;
/// Between bands side by side, mm.
const GUTTER: f64 = 3.0;
/// Words of a band are broken to lines of this width, mm, if that lets more bands stand side by side.
const NARROW_WORDS: f64 = 17.6;
/// Bands side by side at most: with more, the eye loses its way from one to the next.
const MOST_BANDS: usize = 4;
/// Rows of a band at least; below, one more heading costs more than it saves.
const LEAST_ROWS: usize = 4;
/// Words up to this wide, mm, stay on one line where a table does not share its width.
const ONE_LINE: f64 = 55.0;
/// One more band must bring the height of a table down to so much of what it was.
const WORTHWHILE: f64 = 0.9;
/// A table that has its page to itself is drawn apart by so much, no more: a number must not lose sight of its name.
const WIDEST: f64 = 1.35;
/// White after a table, mm.
const AFTER: f64 = 2.2;
/// Height of the title of a table, mm.
const TITLE: f64 = 6.6;

/// A column: its heading and whether it holds numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Column<'a> {
    pub(super) heading: &'a str,
    pub(super) is_number: bool,
}

/// Where on the paper the next thing goes.
pub(super) struct Flow<'a> {
    pub(super) document: &'a mut Document,
    /// Size of a page, mm.
    pub(super) size: Vector,
    /// Where lines begin, mm from the left edge of the page.
    pub(super) left: f64,
    /// Size of notes, mm.
    pub(super) note: f64,
    /// Size of text that is no table, mm.
    pub(super) words: f64,
    /// Height of a row of a table, mm.
    pub(super) row: f64,
    /// Written at the head of each page.
    pub(super) title: String,
    /// From the lower edge, mm; below the margin when there is no page yet.
    pub(super) y: f64,
    /// Notes that stand under this title already: nobody reads them twice.
    pub(super) said: Vec<String>,
}

/// A table made ready to draw: widths of its columns in mm, broken cells.
struct Laid {
    columns: Vec<(f64, bool)>,
    /// How far the longest tail of each column's numbers reaches behind the point, mm.
    tails: Vec<f64>,
    head: Cells,
    rows: Vec<Cells>,
    bands: usize,
}

/// What of a number stands behind its whole part: `.5`, ` 13/32`, ` mm`. Whole parts of a column stand under each other.
fn tail(text: &str) -> &str {
    let digits = text.trim_start_matches(['-', '−', 'Ø', ' ']).trim_start_matches(|c: char| c.is_ascii_digit());
    // A fraction alone has no whole part.
    if digits.starts_with('/') { text } else { digits }
}

/// A row: the lines of each cell, and how high it is, mm.
struct Cells {
    lines: Vec<Vec<String>>,
    height: f64,
}

impl<'a> Flow<'a> {
    /// Nothing yet, not even a page.
    pub(super) fn new(document: &'a mut Document, size: Vector, title: String) -> Self {
        Self { document, size, left: MARGIN, note: SIZE, words: WORDS, row: ROWS[0], title, y: 0.0, said: Vec::new() }
    }

    /// From where lines begin to the right margin, mm.
    fn room(&self) -> f64 {
        self.size.x - MARGIN - self.left
    }

    /// How high a table comes out where a page has room for all of it, mm.
    pub(super) fn height_of(&mut self, table: &PaperTable) -> f64 {
        let room = self.room() / SIZE;
        let notes: Vec<String> = table.notes.iter().filter(|note| !self.said.contains(note)).cloned().collect();
        let lines: usize =
            notes.iter().map(|note| self.document.fonts.broken(Weight::Regular, &clean(note), room).len()).sum();
        let (columns, rows) = with_boxes(table);
        let laid = self.lay(&columns, &rows);
        let ends = fill(&laid.rows, laid.bands, f64::MAX);
        let starts = std::iter::once(0).chain(ends.iter().copied());
        let band = |(start, end): (usize, &usize)| laid.rows[start..*end].iter().map(|row| row.height).sum::<f64>();
        let longest = starts.zip(&ends).map(band).fold(0.0, f64::max);
        let title = if table.title.is_empty() { 0.0 } else { TITLE };
        title + lines as f64 * SIZE * 1.35 + notes.len() as f64 * SIZE * 0.4 + laid.head.height + longest + AFTER
    }

    /// Starts a page unless so much room is left.
    pub(super) fn need(&mut self, height: f64) {
        if self.y - height >= LOWEST {
            return;
        }
        let size = self.size;
        self.document.page(size);
        let Document { fonts, pages, .. } = &mut *self.document;
        let page = pages.last_mut().expect("a page was just added");
        let title = fonts.shorten(Weight::Bold, &self.title, (size.x - 2.0 * MARGIN) / 5.0);
        page.text(fonts, Style::new(Weight::Bold, 5.0), Point::new(MARGIN, size.y - MARGIN - 5.0), &title);
        self.y = size.y - MARGIN - 9.0;
    }

    /// The title of what follows, below what stands on the page already; the next page starts with it too.
    pub(super) fn go_on_with(&mut self, title: String) {
        self.title = title;
        let (size, y) = (self.size, self.y - 1.0);
        let Document { fonts, pages, .. } = &mut *self.document;
        let Some(page) = pages.last_mut() else { return };
        page.line(&[Point::new(MARGIN, y), Point::new(size.x - MARGIN, y)], Pen::black(0.3));
        let title = fonts.shorten(Weight::Bold, &self.title, (size.x - 2.0 * MARGIN) / 5.0);
        page.text(fonts, Style::new(Weight::Bold, 5.0), Point::new(MARGIN, y - 7.0), &title);
        self.y = y - 10.0;
    }

    /// A rule across the page; what follows has its title beside its picture, and so does its next page.
    pub(super) fn rule_before(&mut self, title: String) {
        self.title = title;
        let (size, y) = (self.size, self.y - 1.0);
        let Some(page) = self.document.pages.last_mut() else { return };
        page.line(&[Point::new(MARGIN, y), Point::new(size.x - MARGIN, y)], Pen::black(0.3));
        self.y = y - 1.0;
    }

    /// A line of text; nothing where there is none.
    pub(super) fn line(&mut self, weight: Weight, size: f64, text: &str) {
        if text.is_empty() {
            return;
        }
        self.need(size * 1.6);
        self.y -= size * 1.4;
        let (room, left, y) = (self.room(), self.left, self.y);
        let Document { fonts, pages, .. } = &mut *self.document;
        let page = pages.last_mut().expect("room was made");
        let text = fonts.shorten(weight, text, room / size);
        page.text(fonts, Style::new(weight, size), Point::new(left, y), &text);
        self.y -= size * 0.4;
    }

    /// A table of plain data.
    pub(super) fn plain_table(&mut self, table: &PaperTable) {
        // The title stays with what is said of the table, and that with its first rows.
        let notes: Vec<&String> = table.notes.iter().filter(|note| !self.said.contains(note)).collect();
        let is_noted = !notes.is_empty();
        if is_noted || table.columns.len() == 1 {
            let some = TITLE + 6.5 * notes.len() as f64 + 5.0 * self.row;
            let all = self.height_of(table);
            self.need(some.min(all));
            self.line(Weight::Bold, 4.0, &table.title);
        }
        for note in notes {
            self.paragraph(note);
            self.said.push(note.clone());
        }
        // Words alone are text, not a table.
        if let ([column], false) = (&table.columns[..], table.has_boxes)
            && !column.is_number
        {
            table.rows.iter().flatten().for_each(|words| self.text(words, self.words));
            return;
        }
        let (columns, rows) = with_boxes(table);
        self.rows_of(&table.title, &columns, &rows, is_noted);
    }

    /// Text broken at blanks to the width of the page.
    pub(super) fn paragraph(&mut self, text: &str) {
        self.text(text, self.note);
    }

    /// Text of this size, mm, broken at blanks to the width of the page.
    fn text(&mut self, text: &str, size: f64) {
        let room = self.room() / size;
        for line in self.document.fonts.broken(Weight::Regular, &clean(text), room) {
            self.line(Weight::Regular, size, &line);
            // Lines of one text stand closer than texts do.
            self.y += size * 0.45;
        }
        self.y -= size * 0.2;
    }

    /// A table; its heading is repeated on each page. Every second row is shaded, so that the eye keeps its line.
    pub(super) fn table(&mut self, title: &str, columns: &[Column<'_>], rows: &[Vec<String>]) {
        self.rows_of(title, columns, rows, false);
    }

    /// How wide each column would be with every cell on one line; a heading may be broken at its blanks.
    fn natural(&mut self, columns: &[Column<'_>], rows: &[Vec<String>]) -> Vec<f64> {
        let fonts = &mut self.document.fonts;
        let width = |(index, column): (usize, &Column<'_>)| {
            let cells = rows.iter().filter_map(|row| row.get(index));
            let widest = if column.is_number {
                let parts = cells.map(|cell| {
                    let whole = fonts.width(Weight::Regular, cell);
                    let tail = fonts.width(Weight::Regular, tail(cell));
                    (whole - tail, tail)
                });
                let (whole, tail) = parts.fold((0.0, 0.0), |(a, b), (whole, tail)| (whole.max(a), tail.max(b)));
                whole + tail
            } else {
                cells.map(|cell| if cell == BOX { 1.0 } else { fonts.width(Weight::Regular, cell) }).fold(0.0, f64::max)
            };
            let words = column.heading.split(' ').map(|word| fonts.width(Weight::Bold, word)).fold(0.0, f64::max);
            widest.max(words) * SIZE + PAD
        };
        columns.iter().enumerate().map(width).collect()
    }

    fn lay(&mut self, columns: &[Column<'_>], rows: &[Vec<String>]) -> Laid {
        // A column of empty cells tells nothing.
        let is_told = |index: &usize| rows.iter().any(|row| row.get(*index).is_some_and(|cell| !cell.is_empty()));
        let told: Vec<usize> = (0..columns.len()).filter(is_told).collect();
        let columns: Vec<Column<'_>> = told.iter().map(|&index| columns[index]).collect();
        let rows: Vec<Vec<String>> = rows
            .iter()
            .map(|row| told.iter().map(|&index| row.get(index).cloned().unwrap_or_default()).collect())
            .collect();
        let room = self.room();
        let natural = self.natural(&columns, &rows);
        let least: Vec<f64> = columns
            .iter()
            .zip(&natural)
            .map(|(column, &width)| if column.is_number { width } else { width.min(NARROW_WORDS) })
            .collect();
        let most = MOST_BANDS.min(rows.len().div_ceil(LEAST_ROWS)).max(1);
        let most = (((room + GUTTER) / (least.iter().sum::<f64>() + GUTTER)).floor() as usize).clamp(1, most);
        let fonts = &mut self.document.fonts;
        let tails: Vec<f64> = (0..columns.len())
            .map(|index| {
                let cells = rows.iter().filter_map(|row| row.get(index));
                cells.map(|cell| fonts.width(Weight::Regular, tail(cell)) * SIZE).fold(0.0, f64::max)
            })
            .collect();
        let headings: Vec<String> = columns.iter().map(|column| column.heading.to_owned()).collect();
        let mut best: Option<(f64, Laid)> = None;
        for bands in 1..=most {
            // Alone on the page only the longest texts are broken.
            let least: Vec<f64> = match bands {
                1 => natural.iter().zip(&least).map(|(width, least)| least.max(width.min(ONE_LINE))).collect(),
                _ => least.clone(),
            };
            let band = (room - (bands - 1) as f64 * GUTTER) / bands as f64;
            let widths = widths(band, &natural, &least);
            // Headings keep their height: their tails stay clear of the line below them.
            let row = std::mem::replace(&mut self.row, ROWS[0]);
            let head = self.cells(&headings, &widths, Weight::Bold);
            self.row = row;
            let rows: Vec<Cells> = rows.iter().map(|row| self.cells(row, &widths, Weight::Regular)).collect();
            let height = head.height + rows.iter().map(|row| row.height).sum::<f64>() / bands as f64;
            // More bands only where they save paper: words that are broken again and again save none.
            if best.as_ref().is_none_or(|(lowest, _)| height < lowest * WORTHWHILE) {
                let columns = widths.iter().zip(&columns).map(|(&width, column)| (width, column.is_number)).collect();
                best = Some((height, Laid { columns, tails: tails.clone(), head, rows, bands }));
            }
        }
        best.expect("there is one band at least").1
    }

    /// The lines of a row's cells in columns of these widths.
    fn cells(&mut self, texts: &[String], widths: &[f64], weight: Weight) -> Cells {
        let (row, fonts) = (self.row, &mut self.document.fonts);
        let broken = |(text, width): (&String, &f64)| {
            if text == BOX {
                return vec![BOX.to_owned()];
            }
            // A hair more than the width that was measured, which is exactly what the widest takes.
            let mut lines = fonts.broken(weight, &clean(text), (width - PAD) / SIZE + 1e-6);
            if lines.len() > MOST_LINES {
                lines.truncate(MOST_LINES);
                lines.iter_mut().last().into_iter().for_each(|last| last.push('…'));
            }
            lines
        };
        let lines: Vec<Vec<String>> = texts.iter().zip(widths).map(broken).collect();
        let count = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
        Cells { lines, height: row + (count - 1) as f64 * (row - CLOSER) }
    }

    fn rows_of(&mut self, title: &str, columns: &[Column<'_>], rows: &[Vec<String>], is_titled: bool) {
        if rows.is_empty() {
            return;
        }
        let laid = self.lay(columns, rows);
        let mut at = 0;
        while at < laid.rows.len() {
            // The title and two rows at least stay together.
            let first: f64 = laid.rows[at..].iter().take(2).map(|row| row.height).sum();
            let pages = self.document.pages.len();
            self.need(if at > 0 || !is_titled { TITLE } else { 0.0 } + laid.head.height + first);
            let is_on_new_page = self.document.pages.len() > pages;
            if at > 0 || !is_titled || is_on_new_page {
                let title = match (at, title) {
                    (0, title) => title.to_owned(),
                    (_, "") => "continued".to_owned(),
                    (_, title) => format!("{title}, continued"),
                };
                self.line(Weight::Bold, 4.0, &title);
            }
            let room = self.y - laid.head.height - LOWEST;
            let ends = fill(&laid.rows[at..], laid.bands, room);
            let (top, step) = (self.y, (self.room() + GUTTER) / laid.bands as f64);
            let mut lowest = top;
            let mut start = at;
            for (band, end) in ends.into_iter().enumerate() {
                let mut y = top;
                let left = self.left + band as f64 * step;
                self.row(&laid, &laid.head, (left, &mut y), Look::Head);
                for (index, row) in laid.rows[start..at + end].iter().enumerate() {
                    let look = if index % 2 == 1 { Look::Shaded } else { Look::Plain };
                    self.row(&laid, row, (left, &mut y), look);
                }
                lowest = lowest.min(y);
                start = at + end;
            }
            at = start;
            self.y = lowest;
        }
        self.y -= AFTER;
    }

    /// Draws a row from `left` and `y`, which moves to its lower edge.
    fn row(&mut self, laid: &Laid, cells: &Cells, (left, y): (f64, &mut f64), look: Look) {
        *y -= cells.height;
        let y = *y;
        let row = if look == Look::Head { ROWS[0] } else { self.row };
        let next = row - CLOSER;
        let width: f64 = laid.columns.iter().map(|(width, _)| width).sum();
        let Document { fonts, pages, .. } = &mut *self.document;
        let page: &mut Page = pages.last_mut().expect("room was made");
        if look == Look::Shaded {
            page.filled_rectangle(Point::new(left, y), Vector::new(width, cells.height), 0.93);
        }
        let weight = if look == Look::Head { Weight::Bold } else { Weight::Regular };
        let mut x = left;
        for ((&(room, is_number), &tails), lines) in laid.columns.iter().zip(&laid.tails).zip(&cells.lines) {
            // Headings stand on the line below them.
            let surplus = if look == Look::Head { (cells.height - row) / next + 1.0 - lines.len() as f64 } else { 0.0 };
            let top = y + cells.height - row - surplus * next;
            for (index, line) in lines.iter().enumerate() {
                // A single word may still be too long.
                let text = fonts.shorten(weight, line, (room - PAD) / SIZE + 1e-6);
                // Capitals, 2.5 mm high: headings clear of the line below them, rows of the line above.
                let lift = if look == Look::Head { 0.56 } else { 0.4 };
                let base = top + (row - 2.52) * lift - index as f64 * next;
                if line == BOX {
                    page.rectangle(
                        Point::new(x + 1.0, top + (row - BOX_SIDE) / 2.0),
                        Vector::new(BOX_SIDE, BOX_SIDE),
                        Pen::black(0.25),
                    );
                } else if is_number {
                    let style = Style::new(weight, SIZE).held(Hold::End);
                    let short = if look == Look::Head { 0.0 } else { tails - fonts.width(weight, tail(&text)) * SIZE };
                    let left = fonts.width(weight, &text) * SIZE;
                    // A long number among short ones keeps to its column.
                    let end = (room - 1.4 - short).max((left + 0.6).min(room - 1.4));
                    page.text(fonts, style, Point::new(x + end, base), &text);
                } else {
                    page.text(fonts, Style::new(weight, SIZE), Point::new(x + 1.0, base), &text);
                }
            }
            x += room;
        }
        if look == Look::Head {
            page.line(&[Point::new(left, y), Point::new(left + width, y)], Pen::black(0.3));
        }
    }
}

/// What lies below is the number of the page, mm.
pub(super) const LOWEST: f64 = MARGIN + 4.0;

/// Columns and rows of a table with the boxes to tick before them, if it has any.
fn with_boxes(table: &PaperTable) -> (Vec<Column<'_>>, Vec<Vec<String>>) {
    let boxes = table.has_boxes.then_some(Column { heading: "", is_number: false });
    let columns = table.columns.iter().map(|column| Column { heading: &column.heading, is_number: column.is_number });
    let filled = |row: &Vec<String>| {
        let cells = (0..table.columns.len()).map(|index| row.get(index).cloned().unwrap_or_default());
        table.has_boxes.then(|| BOX.to_owned()).into_iter().chain(cells).collect::<Vec<_>>()
    };
    (boxes.into_iter().chain(columns).collect(), table.rows.iter().map(filled).collect())
}

/// Widths of columns that share a band: what each would take if there is room, a little more if there is more, and less for
/// the wide ones if there is less.
fn widths(band: f64, natural: &[f64], least: &[f64]) -> Vec<f64> {
    let (wanted, needed) = (natural.iter().sum::<f64>(), least.iter().sum::<f64>());
    if wanted <= band {
        let factor = (band / wanted).min(WIDEST);
        return natural.iter().map(|width| width * factor).collect();
    }
    if needed >= band {
        return least.iter().map(|width| width * band / needed).collect();
    }
    // What is left goes to those that want more than the least, by how much more they want.
    let share = (band - needed) / (wanted - needed);
    natural.iter().zip(least).map(|(natural, least)| least + (natural - least) * share).collect()
}

/// Where each band of a page ends, as numbers of rows from the first: as even as they go if all rows fit, else full.
fn fill(rows: &[Cells], bands: usize, room: f64) -> Vec<usize> {
    let filled = |most: f64| {
        let mut ends = Vec::new();
        let mut at = 0;
        for _ in 0..bands {
            let mut left = most;
            let start = at;
            // One row at least, or a row higher than the page would never be drawn.
            while at < rows.len() && (at == start || left - rows[at].height >= -1e-9) {
                left -= rows[at].height;
                at += 1;
            }
            ends.push(at);
        }
        ends
    };
    let is_all = |ends: &[usize]| ends.last() == Some(&rows.len());
    let ends = filled(room);
    if !is_all(&ends) {
        return ends;
    }
    // Raised line by line until everything finds room.
    let total: f64 = rows.iter().map(|row| row.height).sum();
    let mut most = total / bands as f64;
    loop {
        let ends = filled(most);
        if is_all(&ends) || most >= room {
            return if is_all(&ends) { ends } else { filled(room) };
        }
        most += 1.0;
    }
}

/// Side of a box to tick, mm.
const BOX_SIDE: f64 = 2.8;

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
    fn rows_are_spread_over_bands() {
        let rows =
            |count: usize| -> Vec<Cells> { (0..count).map(|_| Cells { lines: Vec::new(), height: 5.0 }).collect() };
        assert_eq!(fill(&rows(9), 3, 100.0), [3, 6, 9], "even");
        assert_eq!(fill(&rows(10), 3, 100.0), [4, 8, 10]);
        assert_eq!(fill(&rows(100), 2, 50.0), [10, 20], "full, and a page to follow");
        assert_eq!(fill(&rows(3), 1, 1.0), [1], "a row higher than the page is drawn all the same");
        assert_eq!(widths(100.0, &[20.0, 20.0], &[20.0, 20.0]), [27.0, 27.0]);
        assert_eq!(widths(60.0, &[20.0, 80.0], &[20.0, 30.0]), [20.0, 40.0]);
        assert_eq!(widths(25.0, &[20.0, 80.0], &[20.0, 30.0]), [10.0, 15.0]);
    }
}
