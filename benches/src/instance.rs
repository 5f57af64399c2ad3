//! Open packing instances in the plain JSON form of the benchmark folder, and results in the form its checker reads.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use dropwise_geometry::{Outline, Point, Shape};
use dropwise_model::{Clearances, Job, LeftoverRule, Money, Need, OpenLength, Part, Plan, Sheet, StockClass, Turns};
use serde::{Deserialize, Serialize};

/// An instance as its file gives it.
#[derive(Clone, Debug, Deserialize)]
pub struct Instance {
    /// Its name.
    pub name: String,
    /// Strip or sheets.
    pub kind: Kind,
    /// Width of the strip; strips only.
    #[serde(default)]
    pub strip_width: Option<f64>,
    /// Sheets to choose from; kind "sheets" only.
    #[serde(default)]
    pub sheets: Vec<InstanceSheet>,
    /// What is to be packed.
    pub parts: Vec<InstancePart>,
    /// What others reached.
    #[serde(default)]
    pub reference: BTreeMap<String, serde_json::Value>,
}

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// One sheet of fixed width: make it short.
    Strip,
    /// Sheets with prices: pay little.
    Sheets,
}

/// A kind of sheet.
#[derive(Clone, Debug, Deserialize)]
pub struct InstanceSheet {
    /// Its name.
    pub id: String,
    /// Corners.
    pub outline: Vec<[f64; 2]>,
    /// Corners of holes.
    #[serde(default)]
    pub holes: Vec<Vec<[f64; 2]>>,
    /// How many there are; none for no limit.
    pub quantity: Option<u32>,
    /// Price of one.
    pub price: f64,
}

/// A kind of part.
#[derive(Clone, Debug, Deserialize)]
pub struct InstancePart {
    /// Its name.
    pub id: String,
    /// How many.
    pub quantity: u32,
    /// Turns allowed.
    pub rotations_deg: Rotations,
    /// Whether it may be mirrored.
    #[serde(default)]
    pub may_mirror: bool,
    /// Corners.
    pub outline: Vec<[f64; 2]>,
    /// Corners of holes.
    #[serde(default)]
    pub holes: Vec<Vec<[f64; 2]>>,
}

/// Turns allowed: a list of angles, or the word "free".
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub enum Rotations {
    /// These only.
    List(Vec<f64>),
    /// Any.
    Free(String),
}

/// Coins to a unit of an instance's price: prices there are small whole numbers.
const COINS: f64 = 100.0;
/// A strip in a job file, mm: how wide it is made, what it is sheared to multiples of, and the longest there is.
const JOB_WIDTH: f64 = 10_000.0;
const JOB_INCREMENT: f64 = 0.1;
const JOB_LONGEST: f64 = 99_000.0;

fn shape(outline: &[[f64; 2]], holes: &[Vec<[f64; 2]>]) -> Shape {
    let ring = |points: &[[f64; 2]]| Outline::polygon(points.iter().map(|&[x, y]| Point::new(x, y)));
    Shape::new(ring(outline), holes.iter().map(|hole| ring(hole)).collect())
}

impl Instance {
    /// The instance as a job without clearances.
    ///
    /// # Errors
    /// When the job is refused, for example because a part has no area.
    pub fn job(&self) -> Result<Job, dropwise_model::JobError> {
        let class = StockClass::new("instance");
        let parts: Vec<Part> = self
            .parts
            .iter()
            .map(|part| Part {
                name: part.id.clone(),
                shape: shape(&part.outline, &part.holes),
                quantity: part.quantity,
                class: class.clone(),
                turns: match &part.rotations_deg {
                    Rotations::List(angles) => Turns::List(angles.clone()),
                    Rotations::Free(_) => Turns::Any,
                },
                may_flip: part.may_mirror,
                need: Need::Required,
            })
            .collect();
        let sheet = |name: &str, shape: Shape, quantity: Option<u32>, price: f64| Sheet {
            name: name.to_owned(),
            shape,
            damage: Vec::new(),
            class: class.clone(),
            quantity,
            price: Money::round(price * COINS),
            grain_deg: None,
            location: String::new(),
            open_length: None,
            leftover_worth: 0.0,
            scrap_worth: 0.0,
            weight: 0.0,
        };
        let sheets = match self.kind {
            Kind::Strip => {
                let width = self.strip_width.unwrap_or(0.0);
                // Laid end to end in any way, the parts are no longer than this.
                let longest = parts.iter().map(|p| p.shape.bounds().diagonal() * f64::from(p.quantity)).sum::<f64>();
                let mut strip =
                    sheet("strip", Shape::new(Outline::rectangle(Point::ORIGIN, longest, width), vec![]), Some(1), 0.0);
                strip.open_length =
                    Some(OpenLength { increment: width * 1e-9, minimum: 0.0, price_per_length: COINS / width });
                vec![strip]
            }
            Kind::Sheets => {
                self.sheets.iter().map(|s| sheet(&s.id, shape(&s.outline, &s.holes), s.quantity, s.price)).collect()
            }
        };
        let clearances = Clearances::new(0.0, 0.0, 0.0).expect("zero is allowed");
        // Larger than any sheet: nothing is worth keeping, and no time is spent on it.
        let rule = LeftoverRule { length: 1e9, width: 1e9, neck: 0.0 };
        Job::new(parts, sheets, clearances, rule)
    }

    /// A strip as a user would write it: the text of a job file. It is made so wide that what lengths are
    /// sheared to multiples of is a hundred thousandth of it. `None` if it is no strip.
    #[must_use]
    pub fn job_text(&self) -> Option<String> {
        let width = self.strip_width?;
        let scale = JOB_WIDTH / width;
        let ring = |points: &[[f64; 2]]| {
            let points: Vec<String> = points.iter().map(|[x, y]| format!("[{}, {}]", x * scale, y * scale)).collect();
            format!("{{ points = [{}] }}", points.join(", "))
        };
        let mut text = format!(
            "clearances = {{ kerf = 0, web = 0, margin = 0 }}\n\
             defaults = {{ material = \"mild steel\", thickness = \"1 mm\" }}\n\
             [[sheets]]\nname = \"coil\"\nprice = \"10 per m\"\n\
             strip = {{ width = {JOB_WIDTH}, longest = {JOB_LONGEST}, increment = {JOB_INCREMENT} }}\n"
        );
        for part in &self.parts {
            let turns = match &part.rotations_deg {
                Rotations::List(angles) => format!("{angles:?}"),
                Rotations::Free(_) => "\"any\"".to_owned(),
            };
            let _ = write!(
                text,
                "[[parts]]\nname = {:?}\nquantity = {}\nturns = {turns}\nmay_flip = {}\npolygon = {}\n",
                part.id,
                part.quantity,
                part.may_mirror,
                ring(&part.outline)
            );
        }
        Some(text)
    }

    /// Net area of all parts.
    #[must_use]
    pub fn parts_area(&self) -> f64 {
        self.parts.iter().map(|p| shape(&p.outline, &p.holes).area() * f64::from(p.quantity)).sum()
    }

    /// What a plan of [`Instance::job_text`] reached: density in percent.
    #[must_use]
    pub fn reached_by_job_file(&self, plan: &Plan) -> f64 {
        let scale = JOB_WIDTH / self.strip_width.unwrap_or(f64::NAN);
        let length: f64 = plan.layout().sheets.iter().map(|used| used.length.unwrap_or(f64::INFINITY)).sum();
        100.0 * self.parts_area() * scale * scale / (length * JOB_WIDTH)
    }

    /// What a plan reached: density in percent for a strip, the price paid for sheets.
    #[must_use]
    pub fn reached(&self, plan: &Plan) -> f64 {
        match self.kind {
            Kind::Strip => {
                let length: f64 = plan.layout().sheets.iter().map(|used| used.length.unwrap_or(f64::INFINITY)).sum();
                100.0 * self.parts_area() / (length * self.strip_width.unwrap_or(f64::NAN))
            }
            Kind::Sheets => plan.figures().sheets_price.coins() as f64 / COINS,
        }
    }

    /// The best that others printed: density in percent, number of sheets, or nothing.
    #[must_use]
    pub fn printed_best(&self) -> Option<f64> {
        let key =
            ["best_density_percent", "sheets", "cost"].into_iter().find(|key| self.reference.contains_key(*key))?;
        self.reference[key].as_f64()
    }
}

/// A result in the form that the checker reads.
#[derive(Clone, Debug, Serialize)]
pub struct InstanceResult {
    instance: String,
    seconds: f64,
    threads: usize,
    seed: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    strip_length: Option<f64>,
    sheets: Vec<SheetId>,
    placements: Vec<InstancePlacement>,
}

#[derive(Clone, Debug, Serialize)]
struct SheetId {
    id: String,
}

#[derive(Clone, Debug, Serialize)]
struct InstancePlacement {
    part: String,
    sheet: usize,
    mirrored: bool,
    rotation_deg: f64,
    x: f64,
    y: f64,
}

impl InstanceResult {
    /// Puts a plan into that form.
    #[must_use]
    pub fn new(instance: &Instance, job: &Job, plan: &Plan, seconds: f64, threads: usize, seed: u64) -> Self {
        let used = &plan.layout().sheets;
        let placements = used
            .iter()
            .enumerate()
            .flat_map(|(sheet, used)| {
                used.placements.iter().map(move |placement| InstancePlacement {
                    part: job.parts()[placement.part].name.clone(),
                    sheet,
                    mirrored: placement.position.is_mirrored,
                    rotation_deg: placement.position.rotation_deg,
                    x: placement.position.translation.x,
                    y: placement.position.translation.y,
                })
            })
            .collect();
        Self {
            instance: instance.name.clone(),
            seconds,
            threads,
            seed,
            strip_length: used.first().and_then(|used| used.length),
            sheets: used.iter().map(|used| SheetId { id: job.sheets()[used.sheet].name.clone() }).collect(),
            placements,
        }
    }
}
