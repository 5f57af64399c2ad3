//! What the bench needs of a plan: bends, worked holes, mark-out and cut plan of each sheet.

use std::collections::BTreeSet;

use dropwise_formats::plan_json::asked_of_sheet;
use dropwise_formats::plan_json::types::{BendEntry, HoleWorkEntry, PlanDocument};
use dropwise_geometry::{Point, Segment, Unit, format_length};
use dropwise_paper::{BendLine, HoleNote, LengthStyle, MarkedOut, PaperColumn, PaperTable, mark_out_of_sheet};
use dropwise_shop::Caution;
use dropwise_shop::bend::fasteners::thread_name;
use dropwise_shop::cutplan::{CutPlan, ShopTools};
use dropwise_shop::markout::{Grid, MarkOut, MarkOutError, ScribeLines};

use super::cards::bend_names;
use super::files::{Drawn, Wanted};

/// Everything that is worked out once and stands on several papers.
pub(super) struct Bench {
    /// How lengths are written on what is taken to the bench.
    pub(super) lengths: LengthStyle,
    pub(super) grid: Grid,
    pub(super) tools: ShopTools,
    pub(super) bends: Vec<BendLine>,
    pub(super) scribe: Vec<ScribeLines>,
    pub(super) notes: Vec<HoleNote>,
    /// One for each sheet of the layout.
    pub(super) sheets: Vec<(MarkOut, CutPlan)>,
}

impl Bench {
    pub(super) fn new(drawn: &Drawn<'_>, wanted: &Wanted) -> Result<Self, MarkOutError> {
        let unit = drawn.loaded.unit;
        let grid = wanted.grid.unwrap_or_else(|| Grid::beside(unit));
        let tools = wanted.tools.clone().unwrap_or_else(|| ShopTools::beside(unit)).for_job(drawn.loaded.process);
        let scribe = scribe_lines(drawn.document, wanted.has_sight_lines);
        let sheets = drawn.plan.layout().sheets.iter().map(|used| {
            let job = &drawn.loaded.job;
            let metal = drawn.loaded.sheets.get(used.sheet).map(|sheet| (sheet.material, sheet.thickness));
            let count = job.sheets().len();
            let metal = metal.ok_or(MarkOutError::NoSuch { kind: "sheet", index: used.sheet, count })?;
            let marks = MarkOut::of_sheet(job, used, &scribe, grid, &tools.holes.in_sheet(metal.1.millimetres()))?;
            Ok((marks, CutPlan::of_sheet(job, used, metal, &tools)?))
        });
        Ok(Self {
            lengths: LengthStyle::tape(grid),
            grid,
            bends: bend_lines(drawn.document, unit),
            notes: hole_notes(drawn.document, unit),
            sheets: sheets.collect::<Result<_, _>>()?,
            tools,
            scribe,
        })
    }

    /// The tables of one sheet on a screen: mark-out, cut plan.
    pub(super) fn tables(&self, drawn: &Drawn<'_>, index: usize) -> Vec<PaperTable> {
        let marked = self.marked_out(drawn, index).map(|marked| marked.table);
        let asked = asked_table(drawn, index);
        let before = drawing_table(drawn, index).into_iter().chain(asked);
        before.chain(marked).chain(self.cut_tables(drawn, index)).collect()
    }

    /// The tables of one sheet on its cut sheet: what was asked of its parts, the cut plan, and of which drawings something is
    /// to be checked before. What that is stands once, behind all sheets.
    pub(super) fn cut_sheet_tables(&self, drawn: &Drawn<'_>, index: usize) -> Vec<PaperTable> {
        let mut tables = self.cut_tables(drawn, index);
        let mut names: Vec<String> = checks(drawn, index).into_iter().map(|[name, _]| name).collect();
        names.dedup();
        if let (Some(table), false) = (tables.first_mut(), names.is_empty()) {
            let (drawing, names) = (if names.len() == 1 { "the drawing" } else { "the drawings" }, names.join(", "));
            table
                .notes
                .insert(0, format!("CHECK before cutting how {drawing} of {names} was read: see the last page."));
        }
        asked_table(drawn, index).into_iter().chain(tables).collect()
    }

    /// What of all drawings is to be checked before cutting, once.
    pub(super) fn drawing_checks(&self, drawn: &Drawn<'_>) -> Option<PaperTable> {
        let mut rows: Vec<Vec<String>> = Vec::new();
        for row in (0..drawn.plan.layout().sheets.len()).flat_map(|index| checks(drawn, index)).map(Vec::from) {
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
        (!rows.is_empty()).then(|| PaperTable {
            title: "How drawings were read: check before cutting, it may not be what was meant".to_owned(),
            columns: ["drawn as", "what was read"].map(PaperColumn::words).into(),
            rows,
            has_boxes: true,
            ..PaperTable::default()
        })
    }

    /// The cut plan of one sheet.
    pub(super) fn cut_tables(&self, drawn: &Drawn<'_>, index: usize) -> Vec<PaperTable> {
        let Some((_, cuts)) = self.sheets.get(index) else { return Vec::new() };
        let (job, plan) = (&drawn.loaded.job, drawn.plan);
        let mut tables = dropwise_paper::cut_plan_tables(job, plan, index, cuts, self.lengths);
        tables.retain(|table| !table.rows.is_empty());
        tables
    }

    /// The points of one sheet.
    pub(super) fn marked_out(&self, drawn: &Drawn<'_>, index: usize) -> Option<MarkedOut> {
        let (marks, _) = self.sheets.get(index)?;
        Some(mark_out_of_sheet(&drawn.loaded.job, drawn.plan, index, marks, (&self.bends, &self.notes)))
    }

    /// What holds for the cut plans of all sheets: advice, and the rates behind the times, each once.
    pub(super) fn closing_tables(&self, drawn: &Drawn<'_>, cautions: &[Caution]) -> Vec<PaperTable> {
        let mut rates: Vec<PaperTable> = Vec::new();
        let mut notes: Vec<String> = Vec::new();
        for (used, (_, cuts)) in drawn.plan.layout().sheets.iter().zip(&self.sheets) {
            let Some(sheet) = drawn.loaded.sheets.get(used.sheet) else { continue };
            let table =
                dropwise_paper::rate_table(cuts, &self.tools.rates, sheet.thickness.millimetres(), self.lengths);
            rates.push(table);
            notes.extend(cuts.statements());
        }
        let mut rows: Vec<Vec<String>> = Vec::new();
        for row in rates.iter().flat_map(|table| &table.rows) {
            if !rows.contains(row) {
                rows.push(row.clone());
            }
        }
        rows.sort();
        let mut said: Vec<String> = Vec::new();
        notes.retain(|note| {
            !said.contains(note) && {
                said.push(note.clone());
                true
            }
        });
        let cautions = PaperTable {
            title: "Cautions".to_owned(),
            columns: vec![PaperColumn::words("mind")],
            rows: cautions
                .iter()
                .map(|caution| vec![format!("{}: {}. [{}]", caution.topic, caution.text, caution.authority)])
                .collect(),
            ..PaperTable::default()
        };
        let rates = rates.into_iter().next().map(|first| PaperTable { rows, notes, ..first });
        rates.into_iter().chain([cautions]).filter(|table| !table.rows.is_empty()).collect()
    }
}

/// What the job asks of a sheet; `None` when that is nothing.
fn asked_table(drawn: &Drawn<'_>, index: usize) -> Option<PaperTable> {
    let sheet = drawn.plan.layout().sheets.get(index)?.sheet;
    let said = asked_of_sheet(&drawn.loaded.job, sheet, drawn.loaded.unit);
    (!said.is_empty()).then(|| PaperTable {
        title: "As asked".to_owned(),
        columns: vec![PaperColumn::words("of this sheet")],
        rows: said.into_iter().map(|text| vec![text]).collect(),
        ..PaperTable::default()
    })
}

/// Stands before what must be looked at before cutting.
const CHECK: &str = "check";

/// Names and notes of the drawings of a sheet that must be looked at before cutting.
fn checks(drawn: &Drawn<'_>, index: usize) -> Vec<[String; 2]> {
    let rows = drawing_table(drawn, index).map_or_else(Vec::new, |table| table.rows);
    let check = |row: Vec<String>| <[String; 3]>::try_from(row).ok().filter(|[_, word, _]| word == CHECK);
    rows.into_iter().filter_map(check).map(|[name, _, note]| [name, note]).collect()
}

/// What was assumed, left out or mended when the drawings of a sheet and of the parts on it were read; `None` when that is
/// nothing.
fn drawing_table(drawn: &Drawn<'_>, index: usize) -> Option<PaperTable> {
    let used = &drawn.plan.layout().sheets[index];
    let (parts, sheets) = (drawn.loaded.job.parts(), drawn.loaded.job.sheets());
    let placed: BTreeSet<usize> = used.placements.iter().map(|placement| placement.part).collect();
    let of_sheet = drawn.loaded.sheets.get(used.sheet).map(|detail| (&sheets[used.sheet].name, &detail.drawing_notes));
    let of_parts = placed.into_iter().map(|part| (&parts[part].name, &drawn.loaded.parts[part].drawing_notes));
    let rows: Vec<Vec<String>> = of_sheet
        .into_iter()
        .chain(of_parts)
        .flat_map(|(name, notes)| notes.iter().map(move |note| (name, note)))
        .map(|(name, note)| {
            let word = if note.is_warning() { CHECK } else { "note" };
            vec![name.clone(), word.to_owned(), note.text.clone()]
        })
        .collect();
    (!rows.is_empty()).then(|| PaperTable {
        title: "How the drawings were read".to_owned(),
        notes: vec!["Look at what says \"check\" before cutting: it may not be what was meant.".to_owned()],
        columns: ["drawn as", "what to do", "what was read"].map(PaperColumn::words).into(),
        rows,
        has_boxes: false,
    })
}

/// Where the sight line of a bend runs: its distance from the bend line, mm, towards the face that stays clamped, which
/// lies to the left of travel along the line.
///
/// In a leaf brake the sheet is pushed in until the sight line stands right under the nose of the clamping bar; the nose has the
/// inside radius, so the bend then begins where it should: one radius behind the sight line.
///
/// # Source
/// FAA, Aviation Maintenance Technician Handbook: Airframe (FAA-H-8083-31), volume 1, chapter 4: the sight line lies one
/// bend radius from the bend tangent line that is placed under the brake. From memory.
fn sight_line(bend: &BendEntry) -> f64 {
    bend.allowance / 2.0 - bend.inside_radius
}

fn ends(bend: &BendEntry) -> [Point; 2] {
    [bend.from, bend.to].map(|[x, y]| Point::new(x, y))
}

fn bend_lines(document: &PlanDocument, unit: Unit) -> Vec<BendLine> {
    let of_part = document.parts.iter().enumerate().flat_map(|(part, entry)| {
        entry.bends.iter().zip(bend_names(entry)).map(move |(bend, name)| {
            let [from, to] = ends(bend);
            let length = |mm: f64| format_length(mm, unit);
            let sight = sight_line(bend);
            let side = if sight < 0.0 { "flange" } else { "clamped face" };
            let mut note = format!(
                "brings up {}; allowance {}; sight line for a leaf brake {} from the bend line, on the side of the {side}",
                bend.name,
                length(bend.allowance),
                length(sight.abs())
            );
            if let Some(deduction) = bend.deduction {
                note.push_str(&format!("; deduction {}", length(deduction)));
            }
            BendLine {
                part,
                name,
                from,
                to,
                turn_deg: bend.turn_deg,
                is_up: bend.is_up,
                inside_radius: bend.inside_radius,
                note,
            }
        })
    });
    of_part.collect()
}

fn scribe_lines(document: &PlanDocument, has_sight_lines: bool) -> Vec<ScribeLines> {
    let of_part = document.parts.iter().map(|part| {
        let mut lines = ScribeLines::default();
        for bend in &part.bends {
            let [from, to] = ends(bend);
            let along = if bend.is_up { &mut lines.bends_up } else { &mut lines.bends_down };
            along.push(Segment::Line { start: from, end: to });
            if let Some(direction) = (to - from).unit().filter(|_| has_sight_lines) {
                let aside = direction.left() * sight_line(bend);
                lines.marks.push(Segment::Line { start: from + aside, end: to + aside });
            }
        }
        lines
    });
    of_part.collect()
}

fn hole_notes(document: &PlanDocument, unit: Unit) -> Vec<HoleNote> {
    let unit = if unit.is_metric() { Unit::Millimetre } else { Unit::Inch };
    let length = move |mm: f64| format_length(mm, unit);
    let of_part = document.parts.iter().enumerate().flat_map(|(part, entry)| {
        entry.features.iter().map(move |feature| HoleNote {
            part,
            center: Point::new(feature.x, feature.y),
            diameter: feature.hole,
            is_up: feature.is_up,
            work: match feature.work {
                HoleWorkEntry::Countersunk { diameter, angle_deg, depth } => {
                    format!("countersink {angle_deg}° to Ø {}, {} deep", length(diameter), length(depth))
                }
                HoleWorkEntry::Flared { diameter, depth } => {
                    let stands = depth.map_or_else(String::new, |depth| format!(", {} high", length(depth)));
                    format!("flare, die Ø {} outside{stands}", length(diameter))
                }
                HoleWorkEntry::Tapped { major, pitch } => match thread_name(major, pitch) {
                    Some(thread) => format!("tap {thread}"),
                    None => format!("tap Ø {}, pitch {}", length(major), length(pitch)),
                },
            },
        })
    });
    of_part.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sight_line_lies_one_radius_from_where_the_bend_begins() {
        // 16 ga at 90° about 3 mm, K 0.4: allowance π/2 (3 + 0.4 · 1.519) = 5.667, half of it 2.834; the bend begins there.
        let bend = BendEntry {
            name: "lip".into(),
            from: [0.0, 0.0],
            to: [100.0, 0.0],
            turn_deg: 90.0,
            is_up: true,
            inside_radius: 3.0,
            k: 0.4,
            allowance: std::f64::consts::FRAC_PI_2 * (3.0 + 0.4 * 1.519),
            deduction: None,
            setback: None,
            begins: None,
            ends: None,
        };
        let begins = bend.allowance / 2.0;
        assert!((begins - sight_line(&bend) - 3.0).abs() < 1e-12);
        assert!(sight_line(&bend) < 0.0, "under a third of a turn it lies beyond the bend line");
    }
}
