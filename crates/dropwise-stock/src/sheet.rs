//! What the log knows of a piece of metal.

use std::fmt;

use dropwise_geometry::{Outline, Shape};
use dropwise_model::{Money, Sheet, StockClass};
use dropwise_shop::{GaugeSystem, Material, Thickness, WeightRule, stock_class};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::encoding;
use crate::{Tag, Timestamp};

/// Most coins that one piece may cost: every whole number of coins up to there is a double too, so that shares by area
/// are worked out without loss.
pub const MOST_COINS: i64 = 1_000_000_000_000_000;

/// Number of an event, counted from 1. The order of events is the order of their numbers, whatever the clock said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EventNumber(pub i64);

impl fmt::Display for EventNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// What can be seen, measured or read on a piece of metal or on its papers.
///
/// Texts may be empty where nothing is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Details {
    /// Outline and holes, mm, arcs kept.
    #[serde(with = "encoding::shape")]
    pub shape: Shape,
    /// Zones to stay out of: rust, dents, paint.
    #[serde(default, with = "encoding::outlines", skip_serializing_if = "Vec::is_empty")]
    pub damage: Vec<Outline>,
    /// The metal.
    #[serde(with = "encoding::material")]
    pub material: Material,
    /// Grade or temper, such as `A36` or `H32`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub grade: String,
    /// Thickness it was sold as.
    #[serde(with = "encoding::thickness")]
    pub thickness: Thickness,
    /// Thickness as measured, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured_mm: Option<f64>,
    /// Coating, such as `G90`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub coating: String,
    /// Direction of the grain, degrees from the x axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain_deg: Option<f64>,
    /// Place in the rack.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place: String,
    /// Who sold it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supplier: String,
    /// Heat number on the metal.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub heat_number: String,
    /// Where its mill certificate is to be found.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub certificate: String,
    /// Path of a photo.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub photo: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
}

/// Something in [`Details`] that cannot be.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum DetailFault {
    /// The shape has a fault.
    #[error("the outline is not sound: {0}")]
    Shape(dropwise_geometry::Fault),
    /// A damaged zone has one.
    #[error("damaged zone {} is not sound: {fault}", .zone + 1)]
    Damage {
        /// Which zone, counted from 0.
        zone: usize,
        /// What is wrong.
        fault: dropwise_geometry::Fault,
    },
    /// A measured thickness that no sheet has.
    #[error("the measured thickness, {0} mm, is not one of sheet or plate")]
    MeasuredThickness(f64),
    /// A grain direction that is no angle.
    #[error("the grain runs at {0} degrees, which is no angle")]
    Grain(f64),
    /// A text with characters that do not print.
    #[error("the {field} holds a character that does not print")]
    Text {
        /// Which text.
        field: &'static str,
    },
    /// A gauge of another metal's system.
    #[error("its gauge is one of another metal's system")]
    Gauge,
    /// A price below nothing, or so high that shares of it would not be exact.
    #[error("a price of {0} coins is out of range (0 to {MOST_COINS})")]
    Price(i64),
}

impl Details {
    /// A piece of which only shape, metal and thickness are known.
    #[must_use]
    pub fn new(shape: Shape, material: Material, thickness: Thickness) -> Self {
        Self {
            shape,
            damage: Vec::new(),
            material,
            grade: String::new(),
            thickness,
            measured_mm: None,
            coating: String::new(),
            grain_deg: None,
            place: String::new(),
            supplier: String::new(),
            heat_number: String::new(),
            certificate: String::new(),
            photo: String::new(),
            notes: String::new(),
        }
    }

    /// All that cannot be; empty when all can.
    #[must_use]
    pub fn faults(&self) -> Vec<DetailFault> {
        let mut faults: Vec<DetailFault> = self.shape.faults().into_iter().map(DetailFault::Shape).collect();
        for (zone, outline) in self.damage.iter().enumerate() {
            let found = Shape::new(outline.clone(), Vec::new()).faults();
            faults.extend(found.into_iter().map(|fault| DetailFault::Damage { zone, fault }));
        }
        if let Some(measured) = self.measured_mm.filter(|&measured| Thickness::new(measured).is_err()) {
            faults.push(DetailFault::MeasuredThickness(measured));
        }
        if let Some(grain) = self.grain_deg.filter(|grain| !grain.is_finite()) {
            faults.push(DetailFault::Grain(grain));
        }
        for (field, text) in self.texts() {
            if text.chars().any(|letter| letter.is_control() && letter != '\n' && letter != '\t') {
                faults.push(DetailFault::Text { field });
            }
        }
        faults
    }

    /// The texts, with their names.
    pub(crate) fn texts(&self) -> [(&'static str, &str); 8] {
        [
            ("grade", &self.grade),
            ("coating", &self.coating),
            ("place", &self.place),
            ("supplier", &self.supplier),
            ("heat number", &self.heat_number),
            ("certificate", &self.certificate),
            ("photo", &self.photo),
            ("notes", &self.notes),
        ]
    }

    /// The same, with a gauge of another metal's system kept as its millimetres only.
    pub(crate) fn settled(mut self) -> Self {
        let is_foreign = |gauge: dropwise_shop::Gauge| gauge.system() != GaugeSystem::of(self.material);
        if self.thickness.gauge().is_some_and(is_foreign)
            && let Ok(plain) = Thickness::new(self.thickness.millimetres())
        {
            self.thickness = plain;
        }
        self
    }

    /// The stock it belongs to, by its nominal thickness.
    #[must_use]
    pub fn class(&self) -> StockClass {
        stock_class(self.material, self.thickness)
    }

    /// The thickness it truly has as far as is known: as measured, else nominal.
    #[must_use]
    pub fn true_thickness(&self) -> Thickness {
        self.measured_mm.and_then(|measured| Thickness::new(measured).ok()).unwrap_or(self.thickness)
    }

    /// Area of the shape, mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.shape.area()
    }

    /// Weight of a square millimetre, kg, by true density and true thickness.
    #[must_use]
    pub fn weight_per_area(&self) -> f64 {
        WeightRule::TrueDensity.weight_per_area(self.material, self.true_thickness())
    }

    /// Weight, kg, by true density and true thickness.
    #[must_use]
    pub fn weight(&self) -> f64 {
        self.area() * self.weight_per_area()
    }
}

/// A piece that comes into the shop.
#[derive(Clone, Debug, PartialEq)]
pub struct NewSheet {
    /// The tag it already carries; `None` for a fresh one.
    pub tag: Option<Tag>,
    /// What it is.
    pub details: Details,
    /// What was paid for it.
    pub paid: Money,
    /// Since when the shop has it; `None` for now.
    pub since: Option<Timestamp>,
}

/// Where a piece came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// It was bought.
    Bought {
        /// What was paid.
        paid: Money,
    },
    /// It was left over when another was cut.
    LeftOver {
        /// The sheet it was part of.
        from: Tag,
    },
}

/// What has become of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// It lies in the rack.
    InRack,
    /// It was cut; what was left over has tags of its own.
    Cut,
    /// It went into the scrap bin whole.
    Scrapped,
    /// It was sold.
    Sold,
}

impl State {
    /// Every state.
    pub const ALL: [Self; 4] = [Self::InRack, Self::Cut, Self::Scrapped, Self::Sold];

    /// In words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::InRack => "in rack",
            Self::Cut => "cut",
            Self::Scrapped => "scrapped",
            Self::Sold => "sold",
        }
    }

    /// The state of this name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.name() == name)
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// A piece as it stands now: what its events have made of it.
#[derive(Clone, Debug, PartialEq)]
pub struct StockSheet {
    /// Its tag.
    pub tag: Tag,
    /// What it is.
    pub details: Details,
    /// What has become of it.
    pub state: State,
    /// Where it came from.
    pub origin: Origin,
    /// The sheet, bought once, that it descends from: itself if it was bought.
    pub purchase: Tag,
    /// What it carries of the money paid. Of a cut sheet: what was charged to the parts, its leftovers having taken
    /// their shares. The costs of all pieces of one purchase always add up to what was paid.
    pub cost: Money,
    /// Since when the shop has it as a piece of its own.
    pub since: Timestamp,
    /// When its last event happened.
    pub touched: Timestamp,
    /// The last event that changed the metal or its cost, or what is known of them; moving it or writing a note does not
    /// count. A plan made for this revision may be cut as long as it stands.
    pub revision: EventNumber,
    /// The last event of any kind that stands.
    pub last_event: EventNumber,
}

impl StockSheet {
    /// The sheet as a nesting job takes it: named by its tag, one of it, paid for at what it carries.
    ///
    /// `leftover_worth` and `scrap_worth` are coins for a square millimetre.
    #[must_use]
    pub fn to_sheet(&self, leftover_worth: f64, scrap_worth: f64) -> Sheet {
        Sheet {
            name: self.tag.to_string(),
            shape: self.details.shape.clone(),
            damage: self.details.damage.clone(),
            class: self.details.class(),
            quantity: Some(1),
            price: self.cost,
            grain_deg: self.details.grain_deg,
            location: self.details.place.clone(),
            open_length: None,
            leftover_worth,
            scrap_worth,
            weight: self.details.weight_per_area(),
        }
    }

    /// Whether it is what was left over of another.
    #[must_use]
    pub const fn is_remnant(&self) -> bool {
        matches!(self.origin, Origin::LeftOver { .. })
    }

    /// Whether a plan made for this piece would have to be looked at again if it became `other`.
    pub(crate) fn has_other_metal_than(&self, other: &Self) -> bool {
        let (a, b) = (&self.details, &other.details);
        self.state != other.state
            || self.cost != other.cost
            || a.shape != b.shape
            || a.damage != b.damage
            || (a.material, a.thickness, a.measured_mm) != (b.material, b.thickness, b.measured_mm)
            || (&a.grade, &a.coating, a.grain_deg) != (&b.grade, &b.coating, b.grain_deg)
            || a.heat_number != b.heat_number
    }
}
