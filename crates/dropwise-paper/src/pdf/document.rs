//! Pages put together to a file.

use std::io::Write as _;

use dropwise_geometry::{Point, Vector};
use flate2::{Compression, write::ZlibEncoder};
use pdf_writer::{Filter, Finish as _, Pdf, Rect, Ref, TextStr};

use super::canvas::{Hold, Page, Style, UNITS};
use super::font::{Fonts, Weight};
use crate::drawing::text::clean;

/// A document being written.
pub(super) struct Document {
    pub(super) fonts: Fonts,
    pub(super) pages: Vec<Page>,
}

impl Document {
    pub(super) fn new() -> Self {
        Self { fonts: Fonts::new(), pages: Vec::new() }
    }

    /// Starts a page of this size, mm.
    pub(super) fn page(&mut self, size: Vector) -> &mut Page {
        self.pages.push(Page::new(size));
        self.pages.last_mut().expect("one was just added")
    }

    /// Writes at the lower right of each page which of how many it is.
    pub(super) fn number_pages(&mut self, margin: f64) {
        let count = self.pages.len();
        for (index, page) in self.pages.iter_mut().enumerate() {
            let style = Style::new(Weight::Regular, 2.8).held(Hold::End);
            let at = Point::new(page.size.x - margin, margin);
            page.text(&mut self.fonts, style, at, &format!("page {} of {count}", index + 1));
        }
    }

    /// The file. It holds no date and no random number: the same pages make the same file.
    pub(super) fn finish(self, title: &str) -> Vec<u8> {
        let mut pdf = Pdf::new();
        let mut next = 0;
        let mut reference = || {
            next += 1;
            Ref::new(next)
        };
        let (catalog, tree, information) = (reference(), reference(), reference());
        let fonts: Vec<[Ref; 5]> = Weight::ALL.iter().map(|_| std::array::from_fn(|_| reference())).collect();
        let pages: Vec<(Ref, Ref)> = self.pages.iter().map(|_| (reference(), reference())).collect();
        pdf.set_version(1, 7);
        let mut root = pdf.catalog(catalog);
        root.pages(tree);
        let mut wishes = root.viewer_preferences();
        wishes.display_doc_title(true);
        // Readers that honour it then print at true size unless told otherwise (ISO 32000-1, table 150).
        wishes.pair(pdf_writer::Name(b"PrintScaling"), pdf_writer::Name(b"None"));
        wishes.finish();
        root.finish();
        let mut about = pdf.document_info(information);
        about.title(TextStr(&clean(title))).producer(TextStr("dropwise"));
        about.finish();
        let count = pages.len() as i32;
        pdf.pages(tree).kids(pages.iter().map(|&(page, _)| page)).count(count);
        for (page, &(page_reference, content_reference)) in self.pages.into_iter().zip(&pages) {
            let size = page.size * UNITS;
            let mut writer = pdf.page(page_reference);
            writer
                .parent(tree)
                .media_box(Rect::new(0.0, 0.0, size.x as f32, size.y as f32))
                .contents(content_reference);
            let mut resources = writer.resources();
            let mut names = resources.fonts();
            for (weight, references) in Weight::ALL.into_iter().zip(&fonts) {
                names.pair(weight.resource(), references[0]);
            }
            names.finish();
            resources.finish();
            writer.finish();
            let packed = deflated(&page.content.finish());
            pdf.stream(content_reference, &packed).filter(Filter::FlateDecode);
        }
        self.fonts.write(&mut pdf, &fonts);
        pdf.finish()
    }
}

/// A stream for the filter `FlateDecode` (ISO 32000-1, 7.4.4).
pub(super) fn deflated(content: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(content).expect("a vector takes all that is written");
    encoder.finish().expect("a vector takes all that is written")
}
