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
    /// What readers list beside the pages: a name and the page, from 0.
    pub(super) bookmarks: Vec<(String, usize)>,
    /// The job that the pages belong to.
    job: String,
    /// The number of their plan.
    plan: String,
}

/// Size of what stands at the foot of every page, mm.
const STAMP: f64 = 2.8;

impl Document {
    /// Pages of a job and a plan; either may be empty. Both stand on every page, so that pages of two plans cannot be mixed.
    ///
    /// # Source
    /// Identification number and page of pages are data fields of a title block: ISO 7200 (from memory).
    pub(super) fn new(job: &str, plan: &str) -> Self {
        let (job, plan) = (clean(job), clean(plan));
        Self { fonts: Fonts::new(), pages: Vec::new(), bookmarks: Vec::new(), job, plan }
    }

    /// Job and plan in words; empty where neither is told.
    fn subject(&self) -> String {
        let plan = if self.plan.is_empty() { String::new() } else { format!("plan {}", self.plan) };
        let told = [self.job.clone(), plan];
        told.into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>().join(" · ")
    }

    /// A bookmark to the page that comes next.
    pub(super) fn bookmark(&mut self, name: &str) {
        self.bookmarks.push((clean(name), self.pages.len()));
    }

    /// Brings the last so many pages before all others.
    pub(super) fn bring_to_front(&mut self, count: usize) {
        self.pages.rotate_right(count);
        self.bookmarks.iter_mut().for_each(|(_, page)| *page += count);
    }

    /// Starts a page of this size, mm.
    pub(super) fn page(&mut self, size: Vector) -> &mut Page {
        self.pages.push(Page::new(size));
        self.pages.last_mut().expect("one was just added")
    }

    /// Writes at the lower right of each page what it belongs to and which of how many it is.
    pub(super) fn number_pages(&mut self, margin: f64) {
        self.number_pages_beside(margin, None);
    }

    /// The same beside what takes so many mm of the foot from the left margin on: where one line does not hold it, the job
    /// stands above.
    pub(super) fn number_pages_beside(&mut self, margin: f64, taken: Option<f64>) {
        let count = self.pages.len();
        let style = Style::new(Weight::Regular, STAMP).held(Hold::End);
        for (index, page) in self.pages.iter_mut().enumerate() {
            let at = Point::new(page.size.x - margin, margin);
            let number = format!("page {} of {count}", index + 1);
            let rest = if self.plan.is_empty() { number } else { format!("plan {} · {number}", self.plan) };
            let whole = if self.job.is_empty() { rest.clone() } else { format!("{} · {rest}", self.job) };
            let room = taken.map_or(page.size.x / 2.0, |taken| page.size.x - 2.0 * margin - taken) / STAMP;
            let is_above = taken.is_some() && self.fonts.width(Weight::Regular, &whole) > room;
            // A long name of a job gives way, the plan's number never.
            let left = if is_above { room } else { room - self.fonts.width(Weight::Regular, &format!(" · {rest}")) };
            let job = self.fonts.shorten(Weight::Regular, &self.job, left);
            if is_above {
                page.text(&mut self.fonts, style, at + Vector::new(0.0, STAMP * 1.25), &job);
            }
            let text = if is_above || job.is_empty() { rest } else { format!("{job} · {rest}") };
            page.text(&mut self.fonts, style, at, &text);
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
        let marks: Vec<(String, usize)> =
            self.bookmarks.iter().filter(|(_, page)| *page < pages.len()).cloned().collect();
        let mark_references: Vec<Ref> = marks.iter().map(|_| reference()).collect();
        let outline = reference();
        if !marks.is_empty() {
            root.outlines(outline);
        }
        let mut wishes = root.viewer_preferences();
        wishes.display_doc_title(true);
        // Readers that honour it then print at true size unless told otherwise (ISO 32000-1, table 150).
        wishes.pair(pdf_writer::Name(b"PrintScaling"), pdf_writer::Name(b"None"));
        wishes.finish();
        root.finish();
        let mut about = pdf.document_info(information);
        about.title(TextStr(&clean(title))).creator(TextStr("dropwise")).producer(TextStr("dropwise"));
        let subject = self.subject();
        if !subject.is_empty() {
            about.subject(TextStr(&subject));
        }
        about.finish();
        if let (Some(&first), Some(&last)) = (mark_references.first(), mark_references.last()) {
            let mut root = pdf.outline(outline);
            root.first(first).last(last).count(marks.len() as i32);
            root.finish();
            for (index, (name, page)) in marks.iter().enumerate() {
                let mut item = pdf.outline_item(mark_references[index]);
                item.parent(outline).title(TextStr(name));
                if index > 0 {
                    item.prev(mark_references[index - 1]);
                }
                if let Some(&next) = mark_references.get(index + 1) {
                    item.next(next);
                }
                item.dest().page(pages[*page].0).fit();
                item.finish();
            }
        }
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
