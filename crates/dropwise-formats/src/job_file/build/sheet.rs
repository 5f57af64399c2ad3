//! Sheets of the job.

use dropwise_geometry::{Bounds, Outline, Point, Shape};
use dropwise_model::{Money, OpenLength, Sheet};
use dropwise_shop::pattern::{Base, FromX, FromY, Pattern, PolygonCorner};
use dropwise_shop::{Material, Price, Thickness, WeightRule, stock_class};

use super::context::At;
use super::drawing::pieces;
use super::openings::{features, placing};
use super::outline::{add_openings, base, both, check_one_form, corners, flat, forms_given};
use super::part::stock;
use super::tape::tape_outline;
use crate::job_file::error::{Note, Place};
use crate::job_file::rack::RackMark;
use crate::job_file::types::{Axis, Count, Defaults, GrainDirection, SheetKeys, Strip, Zone};

/// What the job file says of a sheet beyond what nesting needs.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct SheetDetail {
    /// What it is made of.
    pub material: Material,
    /// How thick it is.
    pub thickness: Thickness,
    /// Its price as it was written; `None` when it is paid for.
    pub price: Option<Price>,
    /// What was assumed, left out or mended of its drawing; empty for a sheet by dimensions.
    pub drawing_notes: Vec<Note>,
    /// Where it was written down.
    pub place: Place,
    /// Which piece of the rack it is; `None` for a sheet that the job names itself.
    pub rack: Option<RackMark>,
}

/// What all sheets share.
#[derive(Clone, Copy)]
pub(super) struct Rates {
    pub(super) weight_rule: WeightRule,
    pub(super) leftover: Option<Price>,
    pub(super) scrap: Option<Price>,
}

const FORMS: &str = "`rectangle`, `polygon`, `circle`, `ring`, `slot`, `l_shape`, `gusset`, `notched`, `drawing`, \
                     `tape` and `strip`";

/// What stands beside the form of a sheet, read.
pub(super) struct Terms {
    pub(super) material: Material,
    pub(super) thickness: Thickness,
    pub(super) quantity: Option<u32>,
    pub(super) price: Option<Price>,
    pub(super) grain_deg: Option<f64>,
    pub(super) location: String,
    pub(super) leftover: Option<Price>,
}

/// A sheet as it is written; a drawing of several outlines makes several.
pub(super) fn sheets(
    at: &At<'_>,
    keys: &SheetKeys,
    defaults: &Defaults,
    rates: Rates,
) -> Option<Vec<(Sheet, SheetDetail)>> {
    let name = at.key("name").name(&keys.name);
    let stock = stock(at, keys.material.as_ref(), keys.thickness.as_ref(), defaults);
    let price = keys.price.as_ref().map_or(Some(None), |price| at.key("price").price(price));
    let worth = keys.leftover_worth.as_ref();
    let worth = worth.map_or(Some(rates.leftover), |worth| at.key("leftover_worth").worth(worth).map(Some));
    let grain_deg = match &keys.grain {
        None => Some(None),
        Some(GrainDirection::Axis(Axis::X)) => Some(Some(0.0)),
        Some(GrainDirection::Axis(Axis::Y)) => Some(Some(90.0)),
        Some(GrainDirection::Angle(angle)) => at.key("grain").angle(*angle).map(Some),
    };
    let quantity = match &keys.quantity {
        None if keys.strip.is_some() => None,
        None => Some(1),
        Some(Count::Number(count)) => Some(*count),
        Some(Count::Word(_)) => None,
    };
    let thickness = stock.as_ref().map(|(_, thickness)| thickness.millimetres());
    let shapes = shapes(at, keys, thickness);
    let (name, (material, thickness), price) = (name?, stock?, price?);
    let (leftover, grain_deg) = both(worth, grain_deg)?;
    let location = keys.location.clone().unwrap_or_default();
    let terms = Terms { material, thickness, quantity, price, grain_deg, location, leftover };
    let shapes = shapes?;
    let is_alone = shapes.len() == 1;
    let mut sheets = Vec::new();
    for (index, Described { shape, damage: drawn, notes }) in shapes.into_iter().enumerate() {
        let name = if is_alone { name.clone() } else { format!("{name} {}", index + 1) };
        let damage = damage(&at.key("damage"), keys.damage.as_deref().unwrap_or_default(), shape.bounds())?;
        let mut sheet = finish(name, shape, &terms, rates);
        sheet.0.damage = drawn.into_iter().chain(damage).collect();
        sheet.1.place = at.place();
        sheet.1.drawing_notes = notes;
        match &keys.strip {
            Some(strip) => sell_by_length(at, strip, &mut sheet.0, &terms)?,
            None if !set_price(at, &mut sheet.0, &terms) => return None,
            None => {}
        }
        sheets.push(sheet);
    }
    Some(sheets)
}

/// A sheet of a shape, not priced yet.
pub(super) fn finish(name: String, shape: Shape, terms: &Terms, rates: Rates) -> (Sheet, SheetDetail) {
    let weight = rates.weight_rule.weight_per_area(terms.material, terms.thickness);
    let worth = |price: Option<Price>| price.and_then(|price| price.per_area(weight)).unwrap_or(0.0);
    let sheet = Sheet {
        name,
        shape,
        damage: Vec::new(),
        class: stock_class(terms.material, terms.thickness),
        quantity: terms.quantity,
        price: Money::ZERO,
        grain_deg: terms.grain_deg,
        location: terms.location.clone(),
        open_length: None,
        leftover_worth: worth(terms.leftover),
        scrap_worth: worth(rates.scrap),
        weight,
    };
    let (material, thickness, price) = (terms.material, terms.thickness, terms.price);
    let (drawing_notes, place) = (Vec::new(), Place::default());
    (sheet, SheetDetail { material, thickness, price, drawing_notes, place, rack: None })
}

/// The price of a sheet that is sold whole; reported when it goes by length.
fn set_price(at: &At<'_>, sheet: &mut Sheet, terms: &Terms) -> bool {
    let Some(price) = terms.price else { return true };
    let (goes_by_weight, goes_by_length) = (price.per_area(1.0).is_some(), price.per_length(1.0).is_some());
    if goes_by_length && !goes_by_weight {
        at.key("price").fault(
            format!("is by length ({}), but the sheet is sold whole", price.format(at.context.coinage)),
            "Give the price of the piece or by weight, or write the stock as a `strip`",
        );
        return false;
    }
    sheet.price = price_whole(sheet, price);
    true
}

/// What a whole sheet costs.
pub(super) fn price_whole(sheet: &Sheet, price: Price) -> Money {
    price.of_piece(sheet.weight * sheet.shape.area(), sheet.shape.bounds().width())
}

/// Outlines and damaged zones alone.
pub(super) fn outlines(at: &At<'_>, keys: &SheetKeys) -> Option<(Vec<Shape>, Vec<Vec<Outline>>)> {
    let described = shapes(at, keys, None)?;
    let zones = keys.damage.as_deref().unwrap_or_default();
    let with_damage = described.into_iter().map(|Described { shape, damage: mut all, .. }| {
        all.extend(damage(&at.key("damage"), zones, shape.bounds())?);
        Some((shape, all))
    });
    Some(with_damage.collect::<Option<Vec<_>>>()?.into_iter().unzip())
}

/// An outline as it was told.
struct Described {
    shape: Shape,
    /// Damage that its drawing shows.
    damage: Vec<Outline>,
    /// What is to be told of its drawing.
    notes: Vec<Note>,
}

impl From<Shape> for Described {
    fn from(shape: Shape) -> Self {
        Self { shape, damage: Vec::new(), notes: Vec::new() }
    }
}

/// The outlines, less the openings in them. `thickness` is that of the metal, mm.
fn shapes(at: &At<'_>, keys: &SheetKeys, thickness: Option<f64>) -> Option<Vec<Described>> {
    let features = features(at, &keys.openings);
    let mut forms = forms_given(&keys.outline);
    forms.extend(keys.tape.is_some().then_some("tape"));
    forms.extend(keys.strip.is_some().then_some("strip"));
    if !check_one_form(at, &forms, "sheet", FORMS) {
        return None;
    }
    if let Some(strip) = &keys.strip {
        let at_strip = at.key("strip");
        let size = both(at_strip.key("longest").size(&strip.longest), at_strip.key("width").size(&strip.width));
        let (longest, width) = size?;
        if !features?.is_empty() || keys.damage.is_some() {
            at.fault("is sold by length, yet has holes or damage", "Write what lies in the rack as a sheet of its own");
            return None;
        }
        return Some(vec![Shape::new(Outline::rectangle(Point::ORIGIN, longest, width), Vec::new()).into()]);
    }
    if keys.tape.is_none() && keys.outline.drawing.is_none() {
        let (base, form_key) = base(at, &keys.outline)?;
        return flat(at, base, form_key, features?).map(|flat| vec![flat.shape.into()]);
    }
    let with_openings = |mut shapes: Vec<Described>| {
        let features = features?;
        match shapes.as_mut_slice() {
            [only] => {
                only.shape = add_openings(at, &only.shape, features)?.0;
                Some(shapes)
            }
            _ if features.is_empty() => Some(shapes),
            _ => {
                at.fault(
                    format!("has holes by dimensions, but its drawing holds {} outlines", shapes.len()),
                    "Choose one with `piece`",
                );
                None
            }
        }
    };
    if let Some(drawing) = &keys.outline.drawing {
        let found = pieces(&at.key("drawing"), drawing, thickness)?.into_iter();
        let described = found.map(|piece| Described { shape: piece.shape, damage: piece.damage, notes: piece.notes });
        return with_openings(described.collect());
    }
    with_openings(vec![tape_outline(&at.key("tape"), keys.tape.as_ref()?)?.into()])
}

/// Terms of stock that is sold by length.
fn sell_by_length(at: &At<'_>, strip: &Strip, sheet: &mut Sheet, terms: &Terms) -> Option<()> {
    let at_strip = at.key("strip");
    let increment = at_strip.key("increment").optional(strip.increment.as_ref(), At::size);
    let shortest = at_strip.key("shortest").optional(strip.shortest.as_ref(), At::size);
    let (increment, shortest) = both(increment, shortest)?;
    let increment = increment.unwrap_or(1.0);
    let minimum = shortest.unwrap_or(increment);
    let longest = sheet.shape.bounds().width();
    for (key, value) in [("increment", increment), ("shortest", minimum)] {
        if value > longest {
            let context = at.context;
            at_strip.key(key).fault(
                format!("is {}, more than the longest piece of {}", context.show(value), context.show(longest)),
                "Make it shorter, or `longest` longer",
            );
            return None;
        }
    }
    let order = OpenLength { increment, minimum, price_per_length: 0.0 };
    if order.longest_order(longest) <= 0.0 {
        let context = at.context;
        let (shortest, sold) = (context.show(minimum), context.show(order.order_length(minimum)));
        at_strip.key(if strip.shortest.is_some() { "shortest" } else { "longest" }).fault(
            format!(
                "leaves no length to order: the least of {shortest} is sold as {sold}, more than the longest piece of {}",
                context.show(longest)
            ),
            "Make `longest` longer, or `shortest` or `increment` shorter",
        );
        return None;
    }
    let width = sheet.shape.bounds().height();
    let price_per_length = match terms.price {
        None => 0.0,
        Some(price) => match price.per_length(sheet.weight * width) {
            Some(rate) => rate,
            None => {
                at.key("price").fault(
                    format!("is for the piece ({}), but a strip is sold by length", price.format(at.context.coinage)),
                    "Write, for example, \"14 per m\", \"4.25 per ft\" or \"0.60 per lb\"",
                );
                return None;
            }
        },
    };
    sheet.open_length = Some(OpenLength { increment, minimum, price_per_length });
    Some(())
}

/// Zones to stay out of.
fn damage(at: &At<'_>, zones: &[Zone], bounds: Bounds) -> Option<Vec<Outline>> {
    let read: Vec<Option<Outline>> = zones
        .iter()
        .enumerate()
        .map(|(index, keys)| {
            let at = at.index(index);
            let outline = zone(&at, keys, bounds)?;
            if !outline.bounds().intersects(bounds) {
                at.fault(
                    "lies wholly off the sheet",
                    "Check where it is; dimensions start at the box around the sheet",
                );
                return None;
            }
            Some(outline)
        })
        .collect();
    read.into_iter().collect()
}

pub(super) fn zone(at: &At<'_>, keys: &Zone, bounds: Bounds) -> Option<Outline> {
    let Zone { width, height, diameter, points, at: middle, corner } = keys;
    match (width, height, diameter, points) {
        (Some(width), Some(height), None, None) => {
            let size = both(at.key("width").size(width), at.key("height").size(height));
            if middle.is_some() && corner.is_some() {
                at.fault("has both `at` and `corner`", "Keep the one that was measured");
                return None;
            }
            let key = if corner.is_some() { "corner" } else { "at" };
            let position = placing(&at.key(key), corner.as_ref().or(middle.as_ref()))?;
            let (width, height) = size?;
            let mut center = position.on(bounds);
            if corner.is_some() {
                center.x += match position.x {
                    FromX::Left(_) => width / 2.0,
                    FromX::Right(_) => -width / 2.0,
                    FromX::Center(_) => 0.0,
                };
                center.y += match position.y {
                    FromY::Bottom(_) => height / 2.0,
                    FromY::Top(_) => -height / 2.0,
                    FromY::Center(_) => 0.0,
                };
            }
            let lower_left = Point::new(center.x - width / 2.0, center.y - height / 2.0);
            Some(Outline::rectangle(lower_left, width, height))
        }
        (None, None, Some(diameter), None) if corner.is_none() => {
            let (diameter, position) =
                both(at.key("diameter").size(diameter), placing(&at.key("at"), middle.as_ref()))?;
            Some(Outline::circle(position.on(bounds), diameter / 2.0))
        }
        (None, None, None, Some(points)) if middle.is_none() && corner.is_none() => {
            let corners = corners(&at.key("points"), points)?;
            let corners = corners
                .into_iter()
                .map(|(point, corner)| PolygonCorner { point, corner: corner.unwrap_or_default() })
                .collect();
            let pattern = Pattern::plain(Base::Polygon { corners });
            match pattern.build() {
                Ok(flat) => Some(flat.shape.exterior().clone()),
                Err(errors) => {
                    errors.into_iter().for_each(|error| at.key("points").message(0, error));
                    None
                }
            }
        }
        _ => {
            at.fault(
                "is no clear zone",
                "Give `width` and `height` with `at` or `corner`, or `diameter` with `at`, or `points` alone",
            );
            None
        }
    }
}
