//! `stock list`: what lies in the rack.

use clap::{Args, ValueEnum};
use dropwise_geometry::parse_length;
use dropwise_model::Money;
use dropwise_shop::{Material, Thickness, stock_class};
use dropwise_stock::{Filter, Order, State, StockSheet, Timestamp};
use serde_json::json;

use super::add::keep;
use super::describe::{json_page, piece_json, piece_table};
use super::desk::{Desk, bad, told};
use super::form::two_sides;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::stock_log::Purpose;

/// What was typed after `stock list`.
#[derive(Clone, Debug, Args)]
pub(crate) struct List {
    #[command(flatten)]
    wanted: Wanted,
    /// Only pieces in this state
    #[arg(long, value_enum, value_name = "STATE", default_value_t)]
    state: StateWord,
    /// Sorted by
    #[arg(long, value_enum, value_name = "BY", default_value_t)]
    sort: OrderWord,
    /// Print everything as JSON; lengths mm, areas mm², weights kg, money in the smallest coin
    #[arg(long)]
    json: bool,
}

/// Which pieces are wanted.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct Wanted {
    /// Only of this metal
    #[arg(long, value_name = "METAL")]
    pub(crate) material: Option<String>,
    /// Only of this thickness, a gauge or a length
    #[arg(long, value_name = "THICKNESS")]
    pub(crate) thickness: Option<String>,
    /// Only pieces that a box of these sides is no larger than, such as `400 x 300`
    #[arg(long, value_name = "SIDES")]
    pub(crate) size: Option<String>,
    /// Only where the place holds this text
    #[arg(long, value_name = "TEXT")]
    pub(crate) place: Option<String>,
    /// Only what the shop has had for so many days at least
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub(crate) older_than: Option<u32>,
    /// Only what the shop has had for fewer days than this
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(0..=100_000))]
    pub(crate) newer_than: Option<u32>,
}

/// What has become of a piece.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum StateWord {
    /// It lies in the rack
    #[default]
    Rack,
    /// It was cut
    Cut,
    /// It went into the scrap bin
    Scrapped,
    /// It was sold
    Sold,
}

/// What a list is sorted by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum OrderWord {
    /// Metal, then thickness
    #[default]
    Stock,
    /// Tag
    Tag,
    /// Area, the largest first
    Area,
    /// Age, the oldest first
    Age,
    /// Place
    Place,
    /// What it carries of the money paid, the most first
    Cost,
}

/// What was asked for, read.
pub(crate) struct Sieve {
    pub(crate) filter: Filter,
    thickness: Option<String>,
}

impl Wanted {
    /// What was asked for.
    ///
    /// # Errors
    /// Every fault in it.
    pub(crate) fn read(&self, desk: &Desk, now: Timestamp) -> Result<Sieve, Stop> {
        let mut faults = Vec::new();
        let mut filter = Filter { place: self.place.clone(), ..Filter::default() };
        if let Some(text) = &self.material {
            keep(desk.material("--material", text), &mut faults, |material| filter.material = Some(material));
        }
        if let Some(text) = &self.thickness {
            // A gauge means another thickness in each metal, but what is none in any is a slip.
            let mut metals = filter.material.map_or(Material::ALL.to_vec(), |material| vec![material]).into_iter();
            let is_one = metals.any(|metal| Thickness::parse(text, metal, desk.unit).is_ok());
            if !is_one {
                let material = filter.material.unwrap_or(Material::MildSteel);
                keep(desk.thickness("--thickness", text, material), &mut faults, |_| ());
            }
        }
        if let Some(text) = &self.size {
            let sides = two_sides(text)
                .and_then(|(a, b)| Some((parse_length(a, desk.unit).ok()?, parse_length(b, desk.unit).ok()?)));
            match sides {
                Some(sides) => filter.size = Some(sides),
                None => faults.push(
                    Complaint::new(format!("\"{}\" is not two sides", crate::text::shortened(text, 60)))
                        .at("--size")
                        .with_cure("Write, for example, \"400 x 300\""),
                ),
            }
        }
        let ago = |days: u32| Timestamp::from_seconds(now.seconds() - i64::from(days) * 86_400);
        // Exactly so old is old enough.
        filter.before = self.older_than.map(|days| Timestamp::from_seconds(ago(days).seconds() + 1));
        filter.after = self.newer_than.map(|days| Timestamp::from_seconds(ago(days).seconds() + 1));
        if faults.is_empty() { Ok(Sieve { filter, thickness: self.thickness.clone() }) } else { Err(bad(faults)) }
    }
}

impl Sieve {
    /// Whether a piece is of the thickness that was asked for, which depends on its metal.
    pub(crate) fn accepts_thickness(&self, sheet: &StockSheet, desk: &Desk) -> bool {
        let Some(text) = &self.thickness else { return true };
        let material = sheet.details.material;
        Thickness::parse(text, material, desk.unit)
            .is_ok_and(|thickness| stock_class(material, thickness) == sheet.details.class())
    }
}

pub(crate) fn list(typed: &List, desk: &Desk, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let log = desk.open(Purpose::Look, environment)?;
    let now = log.now();
    let mut sieve = typed.wanted.read(desk, now)?;
    sieve.filter.state = Some(match typed.state {
        StateWord::Rack => State::InRack,
        StateWord::Cut => State::Cut,
        StateWord::Scrapped => State::Scrapped,
        StateWord::Sold => State::Sold,
    });
    let order = match typed.sort {
        OrderWord::Stock => Order::Class,
        OrderWord::Tag => Order::Tag,
        OrderWord::Area => Order::Area,
        OrderWord::Age => Order::Age,
        OrderWord::Place => Order::Place,
        OrderWord::Cost => Order::Cost,
    };
    let mut sheets = log.list(&sieve.filter, order).map_err(told)?;
    sheets.retain(|sheet| sieve.accepts_thickness(sheet, desk));
    if typed.json {
        let pieces: Vec<_> = sheets.iter().map(|sheet| piece_json(sheet, now)).collect();
        environment.print(&json_page(&json!({ "pieces": pieces })))?;
        return Ok(Exit::Done);
    }
    if sheets.is_empty() {
        environment.print("No piece is like that.\n")?;
        return Ok(Exit::Done);
    }
    let mut page = piece_table(&sheets, now, desk);
    let area: f64 = sheets.iter().map(|sheet| sheet.details.area()).sum();
    let weight: f64 = sheets.iter().map(|sheet| sheet.details.weight()).sum();
    let cost: Money = sheets.iter().map(|sheet| sheet.cost).sum();
    let count = if sheets.len() == 1 { "1 piece".to_owned() } else { format!("{} pieces", sheets.len()) };
    page.push_str(&format!("{count}, {}, {}, {}\n", desk.area(area), desk.weight(weight), desk.money(cost)));
    environment.print(&page)?;
    Ok(Exit::Done)
}
