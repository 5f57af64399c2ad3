//! What is known of a sheet without working out the room on it: enough to bound what a plan costs.

use dropwise_geometry::{Outline, Segment, Shape, Side, convex_hull};
use dropwise_model::{Clearances, Sheet, Turns};

use crate::shapes::girth::Girth;

/// A kind of sheet as a bound sees it: never dearer, smaller or slimmer than it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Offer {
    /// Price of all of it in the smallest coin, less what it is worth if all of it were sold back; may be below zero.
    pub(crate) price: f64,
    /// The price as printed, in the smallest coin.
    pub(crate) coins: i64,
    /// What a square millimetre sold back may bring at most.
    pub(crate) worth: f64,
    pub(crate) is_by_length: bool,
    /// The least share of it that can be bought: below 1 for stock sold by length only.
    pub(crate) share: f64,
    /// What the least piece costs that lengths are multiples of; zero for what is sold whole.
    pub(crate) increment_price: f64,
    /// Area that parts with half the web around them may cover at most, mm².
    pub(crate) area: f64,
    pub(crate) quantity: Option<u32>,
    /// No part longer than this fits, mm.
    pub(crate) diagonal: f64,
    /// No part whose least width is more fits, mm.
    pub(crate) narrow: f64,
    pub(crate) grain_deg: Option<f64>,
}

impl Offer {
    /// From the outline alone: quick, and right for ten thousands of sheets.
    pub(crate) fn of(sheet: &Sheet, clearances: &Clearances) -> Self {
        // Everything that is not part may at best be sold back, as leftover or as scrap.
        let worth = sheet.leftover_worth.max(sheet.scrap_worth);
        let coins = sheet.price.coins();
        let available = sheet.shape.bounds().width();
        // Of stock sold by length the longest piece that can be ordered is all there is, and as much is bought as is
        // needed.
        let longest = sheet.open_length.map(|terms| (terms, terms.longest_order(available)));
        let (full, share) = match longest {
            Some((_, length)) if length <= 0.0 => return Self::unusable(sheet),
            Some((terms, length)) => (terms.price_per_length * length, (terms.order_length(0.0) / length).min(1.0)),
            None => (coins as f64, 1.0),
        };
        let bought = sheet.bought_shape(longest.map(|(_, length)| length));
        let (bounds, area) = (bought.bounds(), bought.area());
        Self {
            price: full - worth * area,
            coins,
            worth,
            is_by_length: longest.is_some(),
            share,
            increment_price: longest.map_or(0.0, |(terms, _)| terms.price_per_length * terms.increment),
            area: area + Self::hung_over(&bought, clearances),
            quantity: sheet.quantity,
            diagonal: bounds.diagonal(),
            narrow: bounds.width().min(bounds.height()),
            grain_deg: sheet.grain_deg,
        }
    }

    /// Stock sold by length of which no piece is long enough to be sold: it costs nothing and holds nothing.
    fn unusable(sheet: &Sheet) -> Self {
        Self {
            price: 0.0,
            coins: 0,
            worth: 0.0,
            is_by_length: true,
            share: 1.0,
            increment_price: 0.0,
            area: 0.0,
            quantity: sheet.quantity,
            diagonal: 0.0,
            narrow: 0.0,
            grain_deg: sheet.grain_deg,
        }
    }

    /// Whether anything can lie on it.
    pub(crate) fn is_usable(&self) -> bool {
        self.area > 0.0
    }

    /// The same with no more area than the room on the sheet has, which is known better.
    pub(crate) fn within(sheet: &Sheet, clearances: &Clearances, room_area: f64) -> Self {
        if room_area <= 0.0 {
            return Self::unusable(sheet);
        }
        let rough = Self::of(sheet, clearances);
        Self { area: (room_area + straightened(sheet, clearances)).min(rough.area), ..rough }
    }

    /// Area outside the edge that parts' webs may hang over.
    fn hung_over(bought: &Shape, clearances: &Clearances) -> f64 {
        let overhang = (clearances.web() / 2.0 - clearances.margin()).max(0.0);
        overhang * (bought.perimeter() + std::f64::consts::TAU * overhang)
    }

    /// Whether nothing that can be said of length, width, area and grain forbids a part to lie on it.
    pub(crate) fn may_hold(&self, need: &Need) -> bool {
        need.diameter <= self.diagonal * (1.0 + 1e-9)
            && need.width <= self.narrow * (1.0 + 1e-9)
            && need.area <= self.area * (1.0 + 1e-9)
            && !(need.is_held_to_grain && self.grain_deg.is_none())
    }
}

/// Area that making curves straight may have taken off a room: no edge is moved by more than two tenths of a millimetre,
/// once in the outline and once in its offset.
fn straightened(sheet: &Sheet, clearances: &Clearances) -> f64 {
    let is_arc = |segment: Segment| matches!(segment, Segment::Arc { .. });
    let rings = || sheet.shape.rings().chain(&sheet.damage);
    if clearances.web() == 0.0 && clearances.margin() == 0.0 && !rings().any(|ring| ring.segments().any(is_arc)) {
        return 0.0;
    }
    let around: f64 = rings().map(Outline::perimeter).sum();
    0.4 * (around + std::f64::consts::TAU * clearances.web())
}

/// What a part asks of a sheet at least.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Need {
    /// Longest chord, mm.
    pub(crate) diameter: f64,
    /// Least width, mm.
    pub(crate) width: f64,
    /// Area, mm².
    pub(crate) area: f64,
    pub(crate) is_held_to_grain: bool,
}

impl Need {
    /// From the part's outline, without its clearance.
    pub(crate) fn of(part: &dropwise_model::Part) -> Self {
        // Curves made straight inward: never longer or wider than the part is.
        let flat = part.shape.flatten(0.2, Side::Shrink);
        let girth = Girth::of(&convex_hull(&flat.exterior));
        Self {
            diameter: girth.diameter,
            width: girth.width,
            area: part.shape.area(),
            is_held_to_grain: matches!(part.turns, Turns::Grain { .. }),
        }
    }
}
