//! What lies in the rack, and which of it holds a part.

use std::cmp::Ordering;

use dropwise_geometry::{Point, Polygon, Shape, Side, convex_hull};
use dropwise_model::StockClass;
use dropwise_shop::Material;

use crate::error::StockError;
use crate::{State, StockLog, StockSheet, Tag, Timestamp};

/// Which pieces are wanted. Whatever is `None` does not matter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Filter {
    /// What has become of them; pieces in the rack when `None`.
    pub state: Option<State>,
    /// Of this metal.
    pub material: Option<Material>,
    /// Of this stock: metal and nominal thickness.
    pub class: Option<StockClass>,
    /// A rectangle of these sides, in either order, is no larger than the box around the piece, mm.
    pub size: Option<(f64, f64)>,
    /// Places that hold this text, in any case of letters.
    pub place: Option<String>,
    /// In the shop since before this.
    pub before: Option<Timestamp>,
    /// In the shop since this or later.
    pub after: Option<Timestamp>,
}

/// What pieces are sorted by. Ties go by tag.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// Their tags.
    #[default]
    Tag,
    /// Their stock: metal, then nominal thickness.
    Class,
    /// Their area, the largest first.
    Area,
    /// Their age, the oldest first.
    Age,
    /// Their places.
    Place,
    /// What they carry, the most first.
    Cost,
}

impl Filter {
    /// Whether a piece is wanted.
    #[must_use]
    pub fn accepts(&self, sheet: &StockSheet) -> bool {
        let details = &sheet.details;
        let bounds = details.shape.bounds();
        let longer_first = |a: f64, b: f64| (a.max(b), a.min(b));
        let is_large = |(a, b): (f64, f64)| {
            let (wanted, found) = (longer_first(a, b), longer_first(bounds.width(), bounds.height()));
            found.0 >= wanted.0 && found.1 >= wanted.1
        };
        sheet.state == self.state.unwrap_or(State::InRack)
            && self.material.is_none_or(|material| material == details.material)
            && self.class.as_ref().is_none_or(|class| *class == details.class())
            && self.size.is_none_or(is_large)
            && self.place.as_ref().is_none_or(|place| details.place.to_lowercase().contains(&place.to_lowercase()))
            && self.before.is_none_or(|before| sheet.since < before)
            && self.after.is_none_or(|after| sheet.since >= after)
    }
}

impl Order {
    fn compare(self, a: &StockSheet, b: &StockSheet) -> Ordering {
        let class = |sheet: &StockSheet| (sheet.details.material, sheet.details.thickness.millimetres().to_bits());
        let by = match self {
            Self::Tag => Ordering::Equal,
            // Thicknesses are positive, and the bits of positive doubles sort as they do.
            Self::Class => class(a).cmp(&class(b)),
            Self::Area => b.details.area().total_cmp(&a.details.area()),
            Self::Age => a.since.cmp(&b.since),
            Self::Place => a.details.place.cmp(&b.details.place),
            Self::Cost => b.cost.cmp(&a.cost),
        };
        by.then(a.tag.cmp(&b.tag))
    }
}

/// Why a piece cannot hold a part, whatever way the part is laid.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Misses {
    /// The piece has less area than the part, by so much, mm².
    Area(f64),
    /// The part is longer than the piece is anywhere, by so much, mm.
    Length(f64),
    /// The part is wider than the piece at its narrowest, by so much, mm.
    Width(f64),
    /// A string around the part is longer than one around the piece, by so much, mm.
    Girth(f64),
    /// None of the above: the trial found no way to lay it.
    Trial,
}

/// Answer to which pieces hold a part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Holders {
    /// Pieces that do, the smallest first: the one to cut first.
    pub holders: Vec<StockSheet>,
    /// Pieces that do not, and why, by tag.
    pub others: Vec<(Tag, Misses)>,
}

impl StockLog {
    /// The pieces that a filter accepts, in an order.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn list(&self, filter: &Filter, order: Order) -> Result<Vec<StockSheet>, StockError> {
        let mut sheets = self.sheets(Some(filter.state.unwrap_or(State::InRack)))?;
        sheets.retain(|sheet| filter.accepts(sheet));
        sheets.sort_by(|a, b| order.compare(a, b));
        Ok(sheets)
    }

    /// Which of the pieces that a filter accepts hold a part.
    ///
    /// Pieces that cannot are told apart by area, length, width and girth alone, which never rules out one that can; the
    /// rest are put to `holds`, the smallest first, which truly tries to lay the part. This crate does not know how.
    ///
    /// # Errors
    /// A fault of the file.
    pub fn find(
        &self,
        part: &Shape,
        filter: &Filter,
        mut holds: impl FnMut(&StockSheet) -> bool,
    ) -> Result<Holders, StockError> {
        let mut found = Holders::default();
        let wanted = Extent::of(part, Side::Shrink);
        let mut pieces = self.list(filter, Order::Area)?;
        pieces.reverse();
        for piece in pieces {
            let misses = wanted.misses(&Extent::of(&piece.details.shape, Side::Grow));
            match misses.or_else(|| (!holds(&piece)).then_some(Misses::Trial)) {
                None => found.holders.push(piece),
                Some(misses) => found.others.push((piece.tag, misses)),
            }
        }
        found.others.sort_by_key(|(tag, _)| *tag);
        Ok(found)
    }
}

/// Sizes of a shape that no turning changes, and that none inside another can exceed.
struct Extent {
    area: f64,
    /// Largest distance of two points, mm.
    length: f64,
    /// Least distance of two parallel lines that it fits between, mm.
    width: f64,
    /// Length of a string around it, mm.
    girth: f64,
}

impl Extent {
    /// Flattened inward for a part and outward for a piece, so that no part is ruled out by its arcs.
    fn of(shape: &Shape, side: Side) -> Self {
        let Polygon { exterior, .. } = shape.flatten(0.01, side);
        let hull = convex_hull(&exterior);
        let corner = |i: usize| hull[i % hull.len()];
        let sides = || (0..hull.len()).map(|i| (corner(i), corner(i + 1)));
        // A piece is narrowest across one of its hull's sides.
        let across = |(a, b): (Point, Point)| {
            let along = (b - a).unit().unwrap_or_default();
            hull.iter().map(|&point| along.cross(point - a)).fold(0.0, f64::max)
        };
        let pairs = hull.iter().enumerate().flat_map(|(i, &a)| hull[i..].iter().map(move |&b| a.distance(b)));
        Self {
            area: shape.area(),
            length: pairs.fold(0.0, f64::max),
            width: sides().map(across).fold(f64::INFINITY, f64::min),
            girth: sides().map(|(a, b)| a.distance(b)).sum(),
        }
    }

    /// Why this does not fit into another, if sizes alone say so. Of several reasons, the one a person would give first.
    fn misses(&self, other: &Self) -> Option<Misses> {
        // A hair, for a part that is cut from a piece of its own size.
        let beyond = |mine: f64, its: f64| Some(mine - its).filter(|&by| by > 1e-6 * (1.0 + its));
        beyond(self.width, other.width)
            .map(Misses::Width)
            .or_else(|| beyond(self.length, other.length).map(Misses::Length))
            .or_else(|| beyond(self.area, other.area).map(Misses::Area))
            .or_else(|| beyond(self.girth, other.girth).map(Misses::Girth))
    }
}
