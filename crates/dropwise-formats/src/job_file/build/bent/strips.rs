//! The file of test strips, from which the shop's own K-factors follow.

use std::path::Path;

use dropwise_geometry::Unit;
use dropwise_shop::bend::{Grade, LegDatum, TestStrip};
use dropwise_shop::trade_size;

use super::super::context::{At, Context};
use crate::job_file::error::{Fault, JobFileError, Note, Place};
use crate::job_file::strip_schema;
use crate::job_file::structure;
use crate::job_file::tree::{Document, shortened};
use crate::job_file::types::{StripFile, StripKeys, ToldWord};

/// Bytes of the largest file of strips that is read.
const LARGEST_STRIP_FILE: u64 = 1 << 20;

/// A strip that gives a K, and the die it was bent in.
#[derive(Clone, Debug, PartialEq)]
pub(in super::super) struct MeasuredStrip {
    pub(super) strip: TestStrip,
    /// Opening of the die, mm.
    pub(super) die: f64,
}

/// Two lengths that tell of one die, or one radius: so near that nobody owns both.
fn is_one(a: f64, b: f64) -> bool {
    (a - b).abs() <= 0.02 * a.max(b) + 1e-9
}

/// The strip that speaks for a bend: same metal, thickness to a twentieth, same die; where no die is told, same inside
/// radius. Of several the one whose turn is nearest, then the one whose thickness is, then the first.
pub(super) fn speaking(
    strips: &[MeasuredStrip],
    grade: Grade,
    thickness: f64,
    die: Option<f64>,
    radius: f64,
    turn: f64,
) -> Option<&MeasuredStrip> {
    let speaks = |measured: &&MeasuredStrip| {
        let strip = &measured.strip;
        let is_same_tool = match die {
            Some(die) => is_one(measured.die, die),
            None => is_one(strip.radius, radius),
        };
        is_same_tool && strip.speaks_for(grade, thickness, &strip.tool)
    };
    let apart =
        |measured: &MeasuredStrip| ((measured.strip.turn - turn).abs(), (measured.strip.thickness - thickness).abs());
    strips.iter().filter(speaks).min_by(|a, b| {
        let (a, b) = (apart(a), apart(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    })
}

/// The strips of the file that the job names. Faults are told with their places in that file.
pub(in super::super) fn strips(at: &At<'_>, file: &str) -> Vec<MeasuredStrip> {
    let path = at.context.folder.join(file);
    let bytes = match crate::job_file::read_file(&path, LARGEST_STRIP_FILE) {
        Ok(bytes) => bytes,
        Err(fault) => {
            at.message(0, format!("\"{}\" {fault}", shortened(file)));
            return Vec::new();
        }
    };
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let fault = Fault::NotText { offset: error.utf8_error().valid_up_to() };
            at.context.push(JobFileError::new(Place::file(&path), fault));
            return Vec::new();
        }
    };
    let (strips, errors, notes) = parse(&path, &text, at.context.unit);
    errors.into_iter().for_each(|error| at.context.push(error));
    notes.into_iter().for_each(|note| at.context.push_note(note));
    strips
}

/// The strips in a text, bare numbers in `unit` unless it names its own.
fn parse(path: &Path, text: &str, unit: Unit) -> (Vec<MeasuredStrip>, Vec<JobFileError>, Vec<Note>) {
    let failed = |errors| (Vec::new(), errors, Vec::new());
    let document = match Document::parse(path, text) {
        Ok(document) => document,
        Err(errors) => return failed(errors),
    };
    let structural = structure::check(&document, strip_schema());
    if !structural.is_empty() {
        return failed(structural);
    }
    let keys: StripFile = match serde_json::from_value(document.root.to_json()) {
        Ok(keys) => keys,
        Err(error) => {
            let message = format!("this is no file of test strips: {error}");
            return failed(vec![JobFileError::new(Place::file(path), Fault::Syntax { message })]);
        }
    };
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let mut context = Context::new(&document, folder);
    context.unit = unit;
    if let Some(unit) = keys.unit.as_deref().and_then(|name| context.top().key("unit").unit(name)) {
        context.unit = unit;
    }
    let list = context.top().key("strips");
    let read = keys.strips.iter().enumerate().filter_map(|(index, keys)| strip(&list.index(index), keys)).collect();
    let (errors, notes) = context.finish();
    (read, errors, notes)
}

fn strip(at: &At<'_>, keys: &StripKeys) -> Option<MeasuredStrip> {
    let grade = keys.material.parse::<Grade>().map_err(|error| at.key("material").message(0, error)).ok();
    let size = |key: &str, length| at.key(key).size(length);
    let thickness = size("thickness", &keys.thickness);
    let die = size("die", &keys.die);
    let radius = at.key("inside_radius").distance(&keys.inside_radius);
    let flat_length = size("flat_length", &keys.flat_length);
    let legs: Vec<Option<f64>> =
        keys.legs.iter().enumerate().map(|(index, leg)| at.key("legs").index(index).size(leg)).collect();
    let (grade, thickness, die, radius, flat_length) = (grade?, thickness?, die?, radius?, flat_length?);
    // The structure check has seen to it that there are two.
    let &[Some(first), Some(second)] = legs.as_slice() else { return None };
    let turn = keys.angle.unwrap_or(90.0);
    let measured = match keys.told.unwrap_or(ToldWord::Outside) {
        ToldWord::Outside if turn > 90.0 => LegDatum::OutsideTangent,
        ToldWord::Outside | ToldWord::OutsideCorner => LegDatum::Outside,
        ToldWord::Inside => LegDatum::Inside,
        ToldWord::BendLine => LegDatum::BendLine,
        ToldWord::Straight => LegDatum::Straight,
    };
    let strip = TestStrip {
        material: grade.name().to_owned(),
        thickness,
        tool: format!("{} die", trade_size(die)),
        radius,
        turn,
        flat_length,
        legs: [first, second],
        measured,
        note: keys.note.clone().unwrap_or_default(),
    };
    match strip.k_factor() {
        Ok(k) => {
            if k.is_beyond_the_middle() {
                at.warn(format!("gives K = {:.3}, beyond the middle of the sheet: check its inside radius", k.value()));
            }
            Some(MeasuredStrip { strip, die })
        }
        Err(error) => {
            at.message(0, error);
            None
        }
    }
}
