//! The document of a plan.

use dropwise_geometry::{Outline, Point, Polygon, Shape};
use dropwise_model::{Leftover, Need, Plan, Reason, Standing, Turns};
use dropwise_shop::fold::{Direction, FlatBend, FlatFace, Unfolding};
use dropwise_shop::{Cost, CuttingRate, PlanCost};

use super::reason::reason_in_words;
use super::types::{
    BendEntry, ByLengthEntry, CertificateEntry, CostEntry, CuttingRateEntry, DrawingNoteEntry, FaceEntry, FeatureEntry,
    FiguresEntry, HeldEntry, HoleWorkEntry, InstructionsEntry, JobEntry, KeptToEntry, LeftoverEntry, PartEntry,
    PlacementEntry, PlanDocument, ProvenanceEntry, RatesEntry, ReasonEntry, ReservedEntry, RingEntry, ShapeEntry,
    SheetEntry, SheetProofEntry, StandingEntry, StandingWord, StockEntry, TurnsEntry, UnplacedEntry, VertexEntry,
    WorkEntry,
};
use super::{FORMAT, VERSION};
use crate::drawing::Severity;
use crate::job_file::{HoleWork, LoadedJob, Note, Place, WorkedHole};

impl PlanDocument {
    /// The document of a plan that was made for a job, and its cost.
    ///
    /// # Panics
    /// When plan or cost belong to another job.
    #[must_use]
    pub fn new(loaded: &LoadedJob, plan: &Plan, cost: &PlanCost) -> Self {
        assert_eq!(plan.figures().parts.len(), loaded.job.parts().len(), "the plan is that of this job");
        assert_eq!(cost.parts.len(), loaded.job.parts().len(), "the cost is that of this plan");
        let figures = plan.figures();
        Self {
            format: FORMAT.to_owned(),
            version: VERSION,
            job: job(loaded),
            parts: (0..loaded.job.parts().len()).map(|index| part(loaded, plan, cost, index)).collect(),
            stock: (0..loaded.job.sheets().len()).map(|index| stock(loaded, index)).collect(),
            instructions: instructions(loaded),
            sheets: (0..plan.layout().sheets.len()).map(|index| sheet(loaded, plan, index)).collect(),
            unplaced: unplaced(loaded, plan),
            figures: FiguresEntry {
                gross_area: figures.gross_area,
                net_area: figures.net_area,
                leftover_area: figures.leftover_area,
                kerf_area: figures.kerf_area,
                other_scrap_area: figures.other_scrap_area,
                yield_ratio: figures.yield_ratio(),
                gross_weight: figures.gross_weight,
                net_weight: figures.net_weight,
                scrap_weight: figures.scrap_weight,
                sheets_price: figures.sheets_price.coins(),
                leftover_credit: figures.leftover_credit.coins(),
                scrap_credit: figures.scrap_credit.coins(),
            },
            cost: cost_entry(&cost.whole),
            certificate: certificate(plan),
            provenance: ProvenanceEntry {
                seed: plan.provenance().seed.to_string(),
                rounds: plan.provenance().rounds,
                chains: plan.provenance().chains,
                lower_bound: plan.provenance().lower_bound,
                went_on_from: plan.provenance().went_on_from.clone(),
            },
        }
    }
}

fn job(loaded: &LoadedJob) -> JobEntry {
    let (clearances, leftovers) = (loaded.job.clearances(), loaded.job.leftover_rule());
    JobEntry {
        name: loaded.name.clone(),
        unit: loaded.unit.symbol().to_owned(),
        currency: loaded.currency.clone(),
        currency_decimals: loaded.coinage.decimals(),
        weights: loaded.weight_rule.name().to_owned(),
        process: loaded.process.map(|process| process.name().to_owned()),
        general_tolerances: loaded.tolerances.map(|class| class.word().to_owned()),
        kerf: clearances.kerf(),
        web: clearances.web(),
        margin: clearances.margin(),
        leftover_length: leftovers.length,
        leftover_width: leftovers.width,
        leftover_neck: leftovers.neck,
        rates: rates(loaded),
        shop: loaded.shop_text.clone(),
    }
}

fn rates(loaded: &LoadedJob) -> RatesEntry {
    let rates = &loaded.rates;
    RatesEntry {
        cutting: rates.cutting.map(|cutting| match cutting {
            CuttingRate::ByLength { coins_per_millimetre } => {
                CuttingRateEntry::ByLength { coins_per_mm: coins_per_millimetre }
            }
            CuttingRate::ByTime { coins_per_hour, millimetres_per_minute } => {
                CuttingRateEntry::ByTime { coins_per_hour, mm_per_minute: millimetres_per_minute }
            }
        }),
        hole: rates.coins_per_hole,
        bend: rates.coins_per_bend,
        setup: rates.setup_per_batch.coins(),
    }
}

fn instructions(loaded: &LoadedJob) -> Option<InstructionsEntry> {
    let told = loaded.job.instructions();
    let held = told.held.iter().map(|hold| HeldEntry {
        part: hold.part,
        sheet: hold.sheet,
        is_flipped: hold.position.is_mirrored,
        turn_deg: hold.position.rotation_deg,
        x: hold.position.translation.x,
        y: hold.position.translation.y,
    });
    let kept = told.kept_to.iter().map(|kept| KeptToEntry { part: kept.part, sheets: kept.sheets.clone() });
    let reserved = told.reserved.iter().map(|one| ReservedEntry { sheet: one.sheet, area: shape(&one.area) });
    let standing = told.standing.iter().map(|&(sheet, standing)| StandingEntry {
        sheet,
        standing: match standing {
            Standing::UsedUp => StandingWord::UseUp,
            Standing::Preferred => StandingWord::Prefer,
            Standing::Avoided => StandingWord::Avoid,
        },
    });
    (!told.is_empty()).then(|| InstructionsEntry {
        held: held.collect(),
        kept_to: kept.collect(),
        reserved: reserved.collect(),
        standing: standing.collect(),
    })
}

fn stock(loaded: &LoadedJob, index: usize) -> StockEntry {
    let (sheet, detail) = (&loaded.job.sheets()[index], loaded.sheets.get(index));
    StockEntry {
        name: sheet.name.clone(),
        class: sheet.class.label().to_owned(),
        material: detail.map_or_else(String::new, |detail| detail.material.name().to_owned()),
        thickness: detail.map_or(0.0, |detail| detail.thickness.millimetres()),
        quantity: sheet.quantity,
        location: sheet.location.clone(),
        shape: shape(&sheet.shape),
        damage: sheet.damage.iter().map(ring).collect(),
        drawing_notes: detail.map_or_else(Vec::new, |detail| drawing_notes(&detail.drawing_notes)),
        grain_deg: sheet.grain_deg,
        price: sheet.price.coins(),
        by_length: sheet.open_length.map(|terms| ByLengthEntry {
            increment: terms.increment,
            minimum: terms.minimum,
            coins_per_mm: terms.price_per_length,
        }),
        leftover_worth: sheet.leftover_worth,
        scrap_worth: sheet.scrap_worth,
        weight: sheet.weight,
    }
}

fn part(loaded: &LoadedJob, plan: &Plan, cost: &PlanCost, index: usize) -> PartEntry {
    let (part, figures) = (&loaded.job.parts()[index], &plan.figures().parts[index]);
    let detail = loaded.parts.get(index);
    let ready_made = detail.and_then(|detail| detail.ready_made);
    let bent = detail.and_then(|detail| detail.bent.as_deref());
    let worked = detail.map_or(&[][..], |detail| &detail.worked_holes);
    let work = detail.map(|detail| detail.work).unwrap_or_default();
    PartEntry {
        name: part.name.clone(),
        class: part.class.label().to_owned(),
        material: detail.map_or_else(String::new, |detail| detail.material.name().to_owned()),
        thickness: detail.map_or(0.0, |detail| detail.thickness.millimetres()),
        shape: shape(&part.shape),
        bends: bent.map_or_else(Vec::new, |bent| bends(&bent.unfolding)),
        faces: bent.map_or_else(Vec::new, |bent| faces(&bent.unfolding)),
        bending: None,
        by_hand: None,
        findings: Vec::new(),
        features: worked.iter().map(feature).collect(),
        drawing_notes: detail.map_or_else(Vec::new, |detail| drawing_notes(&detail.drawing_notes)),
        turns: match &part.turns {
            Turns::Any => TurnsEntry::Any,
            Turns::List(angles) => TurnsEntry::List { angles_deg: angles.clone() },
            Turns::Grain { along_deg } => TurnsEntry::Grain { along_deg: *along_deg },
        },
        may_flip: part.may_flip,
        wanted: part.quantity,
        placed: figures.placed,
        is_required: part.need == Need::Required,
        net_area: figures.net_area,
        weight: figures.weight,
        cut_length: figures.cut_length,
        cost: cost_entry(&cost.parts[index].cost),
        cost_each: cost.parts[index].each().map(|money| money.coins()),
        ready_made_each: ready_made.map(|money| money.coins()),
        work: WorkEntry { cut_length: work.cut_length, drilled_holes: work.drilled_holes, bends: work.bends },
    }
}

/// Notes with the name of their file alone: its folder is another on the next machine.
fn drawing_notes(notes: &[Note]) -> Vec<DrawingNoteEntry> {
    let entry = |note: &Note| {
        let name = note.place.file.file_name().map_or_else(Default::default, Into::into);
        let place = Place { file: name, ..note.place.clone() };
        DrawingNoteEntry {
            is_warning: note.severity > Severity::Info,
            place: place.to_string(),
            text: note.text.clone(),
        }
    };
    notes.iter().map(entry).collect()
}

fn bends(unfolding: &Unfolding) -> Vec<BendEntry> {
    let bend = |bend: &FlatBend| {
        let [from, to] = bend.line.map(|point| [point.x, point.y]);
        BendEntry {
            name: unfolding.faces[bend.face].name.clone(),
            from,
            to,
            turn_deg: bend.figures.bend.turn(),
            is_up: bend.direction == Direction::Up,
            inside_radius: bend.figures.bend.radius(),
            k: bend.figures.k,
            allowance: bend.figures.allowance,
            deduction: bend.figures.deduction,
            setback: bend.figures.outside_setback,
            begins: Some(bend.start.map(|point| [point.x, point.y])),
            ends: Some(bend.end.map(|point| [point.x, point.y])),
        }
    };
    unfolding.bends.iter().map(bend).collect()
}

fn faces(unfolding: &Unfolding) -> Vec<FaceEntry> {
    let face = |face: &FlatFace| FaceEntry {
        name: face.name.clone(),
        parent: face.parent,
        region: shape(&face.region),
        origin: [face.frame.origin.x, face.frame.origin.y],
        x_axis: [face.frame.x_axis.x, face.frame.x_axis.y],
    };
    unfolding.faces.iter().map(face).collect()
}

fn feature(hole: &WorkedHole) -> FeatureEntry {
    let work = match hole.work {
        HoleWork::Countersunk { diameter, angle_deg, depth, .. } => {
            HoleWorkEntry::Countersunk { diameter, angle_deg, depth }
        }
        HoleWork::Flared { diameter, depth } => HoleWorkEntry::Flared { diameter, depth },
        HoleWork::Tapped { major, pitch } => HoleWorkEntry::Tapped { major, pitch },
    };
    FeatureEntry { x: hole.center.x, y: hole.center.y, hole: hole.diameter, is_up: hole.is_up, work }
}

fn sheet(loaded: &LoadedJob, plan: &Plan, index: usize) -> SheetEntry {
    let (sheet_use, figures) = (&plan.layout().sheets[index], &plan.figures().sheets[index]);
    let sheet = &loaded.job.sheets()[sheet_use.sheet];
    let placements = sheet_use.placements.iter().map(|placement| {
        let part = &loaded.job.parts()[placement.part];
        PlacementEntry {
            part: placement.part,
            name: part.name.clone(),
            is_flipped: placement.position.is_mirrored,
            turn_deg: placement.position.rotation_deg,
            x: placement.position.translation.x,
            y: placement.position.translation.y,
            shape: shape(&part.shape.transformed(placement.position)),
        }
    });
    // A job may be put together without a word on its sheets.
    let detail = loaded.sheets.get(sheet_use.sheet);
    let rack = detail.and_then(|detail| detail.rack.as_ref());
    SheetEntry {
        sheet: sheet_use.sheet,
        name: sheet.name.clone(),
        tag: rack.map(|rack| rack.tag.clone()),
        revision: rack.map(|rack| rack.revision),
        material: detail.map(|detail| detail.material.name().to_owned()),
        thickness: detail.map(|detail| detail.thickness.millimetres()),
        class: sheet.class.label().to_owned(),
        location: sheet.location.clone(),
        length_bought: sheet_use.length,
        shape: shape(&sheet.bought_shape(sheet_use.length)),
        damage: sheet.damage.iter().map(ring).collect(),
        grain_deg: sheet.grain_deg,
        placements: placements.collect(),
        gross_area: figures.gross_area,
        net_area: figures.net_area,
        leftover_area: figures.leftover_area,
        kerf_area: figures.kerf_area,
        other_scrap_area: figures.other_scrap_area,
        yield_ratio: figures.yield_ratio(),
        gross_weight: figures.gross_weight,
        price: figures.price.coins(),
        leftover_credit: figures.leftover_credit.coins(),
        scrap_credit: figures.scrap_credit.coins(),
        leftovers: figures.leftovers.iter().map(leftover).collect(),
    }
}

fn unplaced(loaded: &LoadedJob, plan: &Plan) -> Vec<UnplacedEntry> {
    let entries = plan.layout().unplaced.iter().map(|unplaced| UnplacedEntry {
        part: unplaced.part,
        name: loaded.job.parts()[unplaced.part].name.clone(),
        count: unplaced.count,
        reason: match unplaced.reason {
            Reason::NoSuchStock => ReasonEntry::NoSuchStock,
            Reason::GrainUnknown => ReasonEntry::GrainUnknown,
            Reason::TooLarge { nearest, excess } => ReasonEntry::TooLarge { nearest_sheet: nearest, excess },
            Reason::OutOfTime => ReasonEntry::OutOfTime,
            // A reason that a newer model adds leaves at least this much true.
            _ => ReasonEntry::NoRoom,
        },
        in_words: reason_in_words(&unplaced.reason, &loaded.job, loaded.unit),
    });
    entries.collect()
}

fn certificate(plan: &Plan) -> CertificateEntry {
    let sheets = plan.certificate().sheets.iter().map(|proof| SheetProofEntry {
        parts_checked: proof.parts_checked,
        pairs_checked: proof.pairs_checked,
        least_between_parts: proof.least_between_parts,
        least_to_edge: proof.least_to_edge,
        tolerance: proof.tolerance,
    });
    CertificateEntry { sheets: sheets.collect() }
}

fn cost_entry(cost: &Cost) -> CostEntry {
    CostEntry {
        material: cost.material.coins(),
        cutting: cost.cutting.coins(),
        drilling: cost.drilling.coins(),
        bending: cost.bending.coins(),
        setup: cost.setup.coins(),
        total: cost.total().coins(),
    }
}

fn shape(shape: &Shape) -> ShapeEntry {
    ShapeEntry { outline: ring(shape.exterior()), holes: shape.holes().iter().map(ring).collect() }
}

fn ring(outline: &Outline) -> RingEntry {
    let vertices = outline.vertices().iter();
    RingEntry(vertices.map(|v| VertexEntry { x: v.point.x, y: v.point.y, bulge: v.bulge }).collect())
}

fn leftover(leftover: &Leftover) -> LeftoverEntry {
    let points = |ring: &Vec<Point>| ring.iter().map(|point| [point.x, point.y]).collect();
    let Polygon { exterior, holes } = &leftover.outline;
    let (longer, shorter) = leftover.largest_rectangle;
    LeftoverEntry {
        outline: points(exterior),
        holes: holes.iter().map(points).collect(),
        area: leftover.area,
        largest_rectangle: [longer, shorter],
    }
}
