//! Text in the embedded faces: shaped, measured, and reduced to the glyphs in use.

use std::collections::{BTreeMap, HashMap};

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish as _, Name, Pdf, Rect, Ref, Str};
use rustybuzz::{Direction, Face, UnicodeBuffer};
use subsetter::GlyphRemapper;
use unicode_bidi::BidiInfo;

use super::document::deflated;
use crate::drawing::text::clean;

/// A face of the family.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Weight {
    /// For reading.
    Regular,
    /// For headings.
    Bold,
}

impl Weight {
    pub(super) const ALL: [Self; 2] = [Self::Regular, Self::Bold];

    fn data(self) -> &'static [u8] {
        match self {
            Self::Regular => dejavu::sans::regular(),
            Self::Bold => dejavu::sans::bold(),
        }
    }

    /// Its name in a page's resources.
    pub(super) const fn resource(self) -> Name<'static> {
        match self {
            Self::Regular => Name(b"F0"),
            Self::Bold => Name(b"F1"),
        }
    }

    /// Six capitals and a plus sign say that it is a subset (ISO 32000-1, 9.6.4).
    const fn name(self) -> Name<'static> {
        match self {
            Self::Regular => Name(b"DRWREG+DejaVuSans"),
            Self::Bold => Name(b"DRWBLD+DejaVuSans-Bold"),
        }
    }
}

/// A glyph of a shaped text; lengths are multiples of the text's size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Glyph {
    /// Its number in the subset.
    pub(super) id: u16,
    /// What the font says it takes.
    pub(super) natural: f64,
    /// How far the pen moves on.
    pub(super) advance: f64,
    /// How far it is drawn from the pen.
    pub(super) offset: (f64, f64),
}

/// A line of text, ready to draw from left to right.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Line {
    pub(super) glyphs: Vec<Glyph>,
    /// As a multiple of the text's size.
    pub(super) width: f64,
}

/// A face and which of its glyphs are in use.
struct Used {
    face: Face<'static>,
    glyphs: GlyphRemapper,
    /// For each glyph of the subset its width and the text it stands for, so that text can be found and copied.
    widths: BTreeMap<u16, (f64, String)>,
}

/// Both faces of a document.
pub(super) struct Fonts {
    used: Vec<Used>,
    /// Widths of lines that were measured before, face by face. Looked up only, never listed: its order decides nothing.
    measured: [HashMap<String, f64>; 2],
}

impl Fonts {
    pub(super) fn new() -> Self {
        let used = |weight: Weight| Used {
            face: Face::from_slice(weight.data(), 0).expect("the embedded face is a sound font: tested"),
            glyphs: GlyphRemapper::new(),
            widths: BTreeMap::new(),
        };
        Self { used: Weight::ALL.map(used).into(), measured: Default::default() }
    }

    /// Shapes a line. Letters run as their script does; control characters and marks that turn the direction are left
    /// out; what the face does not hold is an empty box.
    pub(super) fn line(&mut self, weight: Weight, text: &str) -> Line {
        let text = clean(text);
        let used = &mut self.used[weight as usize];
        let mut line = Line::default();
        let bidi = BidiInfo::new(&text, None);
        for paragraph in &bidi.paragraphs {
            let (levels, runs) = bidi.visual_runs(paragraph, paragraph.range.clone());
            for run in runs {
                let is_right_to_left = levels[run.start].is_rtl();
                used.shape(&text[run], is_right_to_left, &mut line);
            }
        }
        line
    }

    /// How wide a line is, as a multiple of its size.
    pub(super) fn width(&mut self, weight: Weight, text: &str) -> f64 {
        // Tables hold the same words over and over, and shaping is what pages spend their time on.
        let measured = &self.measured[weight as usize];
        if let Some(&width) = measured.get(text) {
            return width;
        }
        let width = self.line(weight, text).width;
        self.measured[weight as usize].insert(text.to_owned(), width);
        width
    }

    /// The text on as many lines as it takes, each no wider than `room` (a multiple of its size) but for single words that
    /// are.
    pub(super) fn broken(&mut self, weight: Weight, text: &str, room: f64) -> Vec<String> {
        if self.width(weight, text) <= room {
            return vec![text.to_owned()];
        }
        let mut lines = vec![String::new()];
        for word in words_of(text) {
            let line = lines.last_mut().expect("there is one");
            let longer = format!("{line} {word}").trim().to_owned();
            if line.is_empty() || self.width(weight, &longer) <= room {
                *line = longer;
            } else {
                lines.push(word);
            }
        }
        lines
    }

    /// The text, or as much of its start as fits `room` (a multiple of its size) with an ellipsis.
    pub(super) fn shorten(&mut self, weight: Weight, text: &str, room: f64) -> String {
        let text = clean(text);
        // Endless names are not shaped whole: no letter is narrower than a fifth of its size.
        let most = ((room.max(0.0) * 5.0) as usize).saturating_add(2);
        let mut letters: Vec<char> = text.chars().take(most).collect();
        if letters.len() == text.chars().count() && self.width(weight, &text) <= room {
            return text;
        }
        while !letters.is_empty() {
            let shortened: String = letters.iter().collect::<String>().trim_end().to_owned() + "…";
            let width = self.width(weight, &shortened);
            if width <= room {
                return shortened;
            }
            // Most of what is too much in one step.
            let surplus = ((width - room) / width * letters.len() as f64 * 0.8) as usize;
            letters.truncate(letters.len() - surplus.clamp(1, letters.len()));
        }
        String::new()
    }

    /// Writes the faces into a document under these numbers: five for each face, the first of which pages refer to.
    pub(super) fn write(&self, pdf: &mut Pdf, references: &[[Ref; 5]]) {
        for ((weight, used), references) in Weight::ALL.into_iter().zip(&self.used).zip(references) {
            used.write(pdf, weight, *references);
        }
    }
}

impl Used {
    fn shape(&mut self, text: &str, is_right_to_left: bool, line: &mut Line) {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.set_direction(if is_right_to_left { Direction::RightToLeft } else { Direction::LeftToRight });
        buffer.guess_segment_properties();
        let shaped = rustybuzz::shape(&self.face, &[], buffer);
        let units = f64::from(self.face.units_per_em());
        let clusters: Vec<usize> = shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
        for (info, position) in shaped.glyph_infos().iter().zip(shaped.glyph_positions()) {
            let old = rustybuzz::ttf_parser::GlyphId(info.glyph_id as u16);
            let id = self.glyphs.remap(old.0);
            let natural = f64::from(self.face.glyph_hor_advance(old).unwrap_or(0)) / units;
            let start = info.cluster as usize;
            // A cluster ends where the next one in the text starts, whichever way the glyphs run.
            let end = clusters.iter().copied().filter(|&other| other > start).min().unwrap_or(text.len());
            self.widths.entry(id).or_insert_with(|| (natural, text[start..end].to_owned()));
            let advance = f64::from(position.x_advance) / units;
            let offset = (f64::from(position.x_offset) / units, f64::from(position.y_offset) / units);
            line.glyphs.push(Glyph { id, natural, advance, offset });
            line.width += advance;
        }
    }

    fn write(&self, pdf: &mut Pdf, weight: Weight, references: [Ref; 5]) {
        let [font, cid, descriptor, file, map] = references;
        let name = weight.name();
        let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
        pdf.type0_font(font)
            .base_font(name)
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(map);
        let mut cid_font = pdf.cid_font(cid);
        cid_font.subtype(CidFontType::Type2).base_font(name).system_info(system).font_descriptor(descriptor);
        cid_font.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = cid_font.widths();
        for (&id, (width, _)) in &self.widths {
            widths.consecutive(id, [(width * 1000.0) as f32]);
        }
        widths.finish();
        cid_font.finish();
        let per_mille = |value: i16| f32::from(value) * 1000.0 / self.face.units_per_em() as f32;
        let bounds = self.face.global_bounding_box();
        let rectangle = Rect::new(
            per_mille(bounds.x_min),
            per_mille(bounds.y_min),
            per_mille(bounds.x_max),
            per_mille(bounds.y_max),
        );
        pdf.font_descriptor(descriptor)
            .name(name)
            .flags(FontFlags::SYMBOLIC)
            .bbox(rectangle)
            .italic_angle(0.0)
            .ascent(per_mille(self.face.ascender()))
            .descent(per_mille(self.face.descender()))
            .cap_height(per_mille(self.face.capital_height().unwrap_or(1493)))
            .stem_v(if weight == Weight::Bold { 140.0 } else { 80.0 })
            .font_file2(file);
        let subset = subsetter::subset(weight.data(), 0, &self.glyphs).expect("a sound font has subsets: tested");
        let packed = deflated(&subset);
        pdf.stream(file, &packed).filter(Filter::FlateDecode).pair(Name(b"Length1"), subset.len() as i32);
        let mut unicode: UnicodeCmap = UnicodeCmap::new(Name(b"Custom"), system);
        for (&id, (_, text)) in &self.widths {
            if !text.is_empty() {
                unicode.pair_with_multiple(id, text.chars());
            }
        }
        let packed = deflated(&unicode.finish());
        pdf.cmap(map, &packed).filter(Filter::FlateDecode);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_stay_with_their_whole_number() {
        assert_eq!(words_of("9 17/32, 11 to 9 1/8"), ["9 17/32,", "11", "to", "9 1/8"]);
        assert_eq!(words_of("12\u{a0}3/8 in drill 9/32"), ["12 3/8", "in", "drill", "9/32"]);
    }

    #[test]
    fn both_faces_hold_what_the_pages_say() {
        let mut fonts = Fonts::new();
        for weight in Weight::ALL {
            let line = fonts.line(weight, "Ø 9 × 25.4 mm · 1–3 of 8 ±0.1 → Träger № 5 °…");
            assert!(line.glyphs.iter().all(|glyph| glyph.id != 0), "{weight:?}");
            assert!((line.width - line.glyphs.iter().map(|glyph| glyph.advance).sum::<f64>()).abs() < 1e-9);
        }
    }

    #[test]
    fn right_to_left_text_is_drawn_from_its_end() {
        let mut fonts = Fonts::new();
        // Shin, lamed, vav, final mem: the last letter stands leftmost.
        let word = fonts.line(Weight::Regular, "שלום").glyphs;
        let last = fonts.line(Weight::Regular, "ם").glyphs[0];
        assert_eq!((word.len(), word[0].id), (4, last.id));
        // Unicode Standard Annex 9: numbers keep their direction within such text.
        let mixed = fonts.line(Weight::Regular, "שלום 12").glyphs;
        let one = fonts.line(Weight::Regular, "1").glyphs[0];
        assert_eq!(mixed[0].id, one.id);
    }

    #[test]
    fn long_text_is_cut_to_its_room() {
        let mut fonts = Fonts::new();
        for text in ["W".repeat(9000), "iii ".repeat(3000), "שלום".repeat(100)] {
            let cut = fonts.shorten(Weight::Bold, &text, 12.0);
            assert!(cut.ends_with('…') && fonts.width(Weight::Bold, &cut) <= 12.0);
            assert!(fonts.width(Weight::Bold, &cut) > 8.0, "{cut}");
        }
        assert_eq!(fonts.shorten(Weight::Regular, "Bracket", 0.1), "");
        assert_eq!(fonts.shorten(Weight::Regular, "Bracket", 40.0), "Bracket");
    }
}
