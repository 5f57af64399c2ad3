//! Writing HTML that is well-formed XML too, so that any parser reads it.

use std::fmt::Write as _;

use crate::drawing::text::{clean, escape};
use crate::tables::{PaperColumn, PaperTable};

/// A page being written.
#[derive(Debug, Default)]
pub(super) struct Html {
    pub(super) out: String,
    boxes: usize,
}

/// Text from the job, made safe to stand anywhere on the page.
pub(super) fn safe(text: &str) -> String {
    escape(&clean(text))
}

/// What of a number stands behind its whole part: `.5`, ` 13/32`, ` kg`.
fn tail(text: &str) -> &str {
    let tail = text.trim_start_matches(['-', '−', ' ']).trim_start_matches(|c: char| c.is_ascii_digit());
    if tail.starts_with('/') || tail.len() == text.len() { "" } else { tail }
}

/// The longest tail of each column of numbers: shorter ones are padded to it unseen, so that points and units line up.
pub(super) struct Pads(Vec<String>);

impl Pads {
    fn of(table: &PaperTable) -> Self {
        let longest = |(index, column): (usize, &PaperColumn)| {
            let cells = table.rows.iter().filter_map(|row| row.get(index)).filter(|_| column.is_number);
            cells.map(|cell| tail(cell)).max_by_key(|tail| tail.chars().count()).unwrap_or_default().to_owned()
        };
        Self(table.columns.iter().enumerate().map(longest).collect())
    }

    fn attribute(&self, column: usize, text: &str) -> String {
        let longest = self.0.get(column).map_or("", String::as_str);
        let is_number = text.starts_with(|c: char| c.is_ascii_digit() || c == '-');
        let pad: String = longest.chars().skip(tail(text).chars().count()).collect();
        if pad.is_empty() || !is_number { String::new() } else { format!(r#" data-pad="{}""#, escape(&pad)) }
    }
}

/// With fractions that stay on the line of their whole number, or `12 3/8` would read as 12 in haste.
fn glued(text: &str) -> String {
    let mut page = String::with_capacity(text.len());
    for (at, c) in text.char_indices() {
        let next = text[at + c.len_utf8()..].split(' ').next().unwrap_or_default();
        let is_fraction = next.contains('/') && next.starts_with(|c: char| c.is_ascii_digit());
        let is_glue = c == ' ' && is_fraction && page.ends_with(|c: char| c.is_ascii_digit());
        page.push(if is_glue { '\u{a0}' } else { c });
    }
    page
}

impl Html {
    /// Markup as it is.
    pub(super) fn raw(&mut self, markup: &str) {
        self.out.push_str(markup);
        self.out.push('\n');
    }

    /// An element around text, which is made safe. `open` is the name with attributes.
    pub(super) fn text(&mut self, open: &str, text: &str) {
        let name = open.split(' ').next().unwrap_or(open);
        let _ = writeln!(self.out, "<{open}>{}</{name}>", safe(text));
    }

    /// A name for the next box to tick.
    pub(super) fn box_name(&mut self) -> String {
        self.boxes += 1;
        format!("tick-{}", self.boxes)
    }

    /// A box to tick within a table; `label` says to a screen reader what it is for.
    pub(super) fn box_cell(&mut self, label: &str) -> String {
        let name = self.box_name();
        format!(r#"<td role="cell" class="box"><input type="checkbox" id="{name}" aria-label="{}"/></td>"#, safe(label))
    }

    /// A list of things to do, each with a box.
    pub(super) fn ticks(&mut self, heading: &str, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.raw(r#"<div class="task">"#);
        self.text("h3", heading);
        self.raw(r#"<ul class="ticks">"#);
        for item in items {
            let name = self.box_name();
            let item = safe(item);
            self.raw(&format!(
                r#"<li><label for="{name}"><input type="checkbox" id="{name}"/><span>{item}</span></label></li>"#
            ));
        }
        self.raw("</ul></div>");
    }

    /// The heading row of a table.
    pub(super) fn heading_row(&mut self, columns: &[PaperColumn]) {
        // Told as a table by its roles too: on a phone its rows are blocks.
        self.raw(r#"<thead role="rowgroup"><tr role="row">"#);
        for column in columns {
            let class = if column.is_number { r#" class="n""# } else { "" };
            // A screen reader reads an empty heading as a fault; the eye needs none above boxes.
            let cell = if column.heading.is_empty() { "done" } else { &column.heading };
            self.raw(&format!(r#"<th scope="col" role="columnheader"{class}>{}</th>"#, safe(cell)));
        }
        self.raw("</tr></thead>");
    }

    /// Opens a table that scrolls sideways on a narrow screen.
    pub(super) fn open_table(&mut self, caption: &str, class: &str) {
        let caption = safe(caption);
        self.raw(&format!(r#"<div class="scroll" role="region" tabindex="0" aria-label="{caption}">"#));
        self.raw(&format!(r#"<table role="table" class="{class}"><caption>{caption}</caption>"#));
    }

    pub(super) fn close_table(&mut self) {
        self.raw("</tbody></table></div>");
    }

    /// A table of plain data; the first column of words names its row. `sums` rows at the end stand out.
    pub(super) fn table(&mut self, table: &PaperTable, sums: usize) {
        for note in &table.notes {
            self.text("p", note);
        }
        if table.rows.is_empty() {
            return;
        }
        self.open_table(&table.title, "plain");
        let mut columns = table.columns.clone();
        if table.has_boxes {
            columns.insert(0, PaperColumn::words(""));
        }
        self.heading_row(&columns);
        self.raw(r#"<tbody role="rowgroup">"#);
        let pads = Pads::of(table);
        for (index, row) in table.rows.iter().enumerate() {
            let class = if index + sums >= table.rows.len() { r#" class="sum""# } else { "" };
            self.raw(&format!(r#"<tr role="row"{class}>"#));
            if table.has_boxes {
                let cell = self.box_cell(&row.join(" "));
                self.raw(&cell);
            }
            for (i, column) in table.columns.iter().enumerate() {
                let text = row.get(i).map_or("", String::as_str);
                // Columns of numbers are not broken at all.
                let cell = if column.is_number { safe(text) } else { glued(&safe(text)) };
                let class = if column.is_number { r#" class="n""# } else { "" };
                let pad = pads.attribute(i, text);
                match i {
                    0 => self.raw(&format!(r#"<th scope="row" role="rowheader"{class}{pad}>{cell}</th>"#)),
                    _ => {
                        let label = safe(&column.heading);
                        self.raw(&format!(r#"<td role="cell" data-label="{label}"{class}{pad}>{cell}</td>"#));
                    }
                }
            }
            self.raw("</tr>");
        }
        self.close_table();
    }
}
