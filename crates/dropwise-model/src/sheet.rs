//! What parts are cut from.

use std::fmt;
use std::sync::Arc;

use dropwise_geometry::{Outline, Shape};

use crate::Money;

/// What a part must be cut from: one label for each material, grade and thickness. A part lies only on sheets of its
/// own class.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StockClass(Arc<str>);

impl StockClass {
    /// The class of this label, such as "galvanized steel, 16 ga (1.61 mm)".
    #[must_use]
    pub fn new(label: &str) -> Self {
        Self(label.into())
    }

    /// The label.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for StockClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A sheet, plate, drop or remnant that may be cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its name, unique in the job.
    pub name: String,
    /// Its outline and the holes already in it.
    pub shape: Shape,
    /// Zones to stay out of: rust, dents, paint.
    pub damage: Vec<Outline>,
    /// What it is.
    pub class: StockClass,
    /// How many there are, alike; `None` for as many as wanted.
    pub quantity: Option<u32>,
    /// Price of one; for stock sold by length, see [`OpenLength`].
    pub price: Money,
    /// Direction of the grain, degrees from the x axis, if known.
    pub grain_deg: Option<f64>,
    /// Where it lies, for people; may be empty.
    pub location: String,
    /// Set when it is sold by length: `shape` is then a rectangle from (0, 0), as long in x as can be had, and only as
    /// much as is needed is bought.
    pub open_length: Option<OpenLength>,
    /// What a square millimetre of leftover kept is worth, in the smallest coin.
    pub leftover_worth: f64,
    /// What a square millimetre of scrap is sold for, in the smallest coin.
    pub scrap_worth: f64,
    /// Weight of a square millimetre, kg.
    pub weight: f64,
}

/// Terms of stock of fixed width that is sold by length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpenLength {
    /// The yard shears to multiples of this, mm; positive.
    pub increment: f64,
    /// The least it sells, mm.
    pub minimum: f64,
    /// Price of a millimetre of length, in the smallest coin.
    pub price_per_length: f64,
}

impl OpenLength {
    /// The length to order so that `needed` fits: rounded up to the increment, at least the minimum.
    #[must_use]
    pub fn order_length(&self, needed: f64) -> f64 {
        let least = needed.max(self.minimum);
        // A length that misses a multiple by a rounding error is that multiple.
        let steps = (least / self.increment - 1e-9).ceil().max(1.0);
        steps * self.increment
    }

    /// The longest piece that can be ordered of stock this long: a multiple of the increment, zero if the least sold is
    /// longer.
    #[must_use]
    pub fn longest_order(&self, available: f64) -> f64 {
        let longest = (available / self.increment + 1e-9).floor() * self.increment;
        if longest + 1e-9 < self.minimum { 0.0 } else { longest }
    }

    /// What a length costs.
    #[must_use]
    pub fn price(&self, length: f64) -> Money {
        Money::round(self.price_per_length * length)
    }
}

impl Sheet {
    /// One sound sheet that is paid for: its grain is not known, its leftovers and its scrap are worth nothing, and it
    /// weighs nothing until told.
    #[must_use]
    pub fn new(name: &str, shape: Shape, class: StockClass) -> Self {
        Self {
            name: name.to_owned(),
            shape,
            damage: Vec::new(),
            class,
            quantity: Some(1),
            price: Money::ZERO,
            grain_deg: None,
            location: String::new(),
            open_length: None,
            leftover_worth: 0.0,
            scrap_worth: 0.0,
            weight: 0.0,
        }
    }

    /// The sheet as bought: all of it, or the first `length` of stock sold by length.
    #[must_use]
    pub fn bought_shape(&self, length: Option<f64>) -> Shape {
        match (self.open_length, length) {
            (Some(_), Some(length)) => {
                let bounds = self.shape.bounds();
                Shape::new(Outline::rectangle(bounds.min, length, bounds.height()), Vec::new())
            }
            _ => self.shape.clone(),
        }
    }

    /// What the sheet costs: its price, or that of the length bought.
    #[must_use]
    pub fn price_of(&self, length: Option<f64>) -> Money {
        match (self.open_length, length) {
            (Some(terms), Some(length)) => terms.price(length),
            _ => self.price,
        }
    }
}
