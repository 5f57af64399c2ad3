//! What all that is done with the rack shares: which log, in which unit and coins one speaks.

use clap::Args;
use dropwise_formats::{JobFileError, Note};
use dropwise_geometry::{Unit, format_area, format_gap, format_length, parse_length};
use dropwise_model::Money;
use dropwise_shop::weight::format_weight;
use dropwise_shop::{Coinage, Material, Price, Thickness, parse_money};
use dropwise_stock::{Currency, Details, Receipt, StockError, StockFault, StockLog, Tag, Timestamp};

use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop, render_note};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::stock_log::{LogChoice, Purpose, stop};
use crate::text::{cleaned, shortened};

/// In which unit and coins.
#[derive(Clone, Debug, Default, Args)]
pub(crate) struct DeskArguments {
    /// Unit of bare numbers, and of what is printed: mm, cm, m, in or ft
    ///
    /// When left out, the one that the variable DROPWISE_UNIT names; without that, the one in which the stock log was begun,
    /// which it keeps; else mm. Lengths with a unit of their own may stand beside it, as `12 3/8 in`.
    #[arg(long, global = true, value_name = "UNIT", display_order = 801)]
    pub(crate) unit: Option<String>,
    /// What amounts are counted in, printed beside them [variable: DROPWISE_CURRENCY]
    #[arg(long, global = true, value_name = "WORD", display_order = 802)]
    pub(crate) currency: Option<String>,
    /// Decimals of the currency [variable: DROPWISE_CURRENCY_DECIMALS; default: 2]
    ///
    /// The log keeps both from its first piece on; later they need not be said again, and others are refused.
    #[arg(long, global = true, value_name = "COUNT", display_order = 803)]
    pub(crate) currency_decimals: Option<String>,
}

/// Where one stands when asking for or writing down something.
#[derive(Clone, Debug)]
pub(crate) struct Desk {
    pub(crate) log: LogChoice,
    pub(crate) unit: Unit,
    /// The unit for a log that is begun: what was said, or what the first piece was written down in.
    pub(crate) unit_told: Option<Unit>,
    pub(crate) coinage: Coinage,
    pub(crate) currency: String,
    pub(crate) ink: Ink,
    pub(crate) stderr_ink: Ink,
}

impl Desk {
    pub(crate) fn new(
        log: LogChoice,
        typed: &DeskArguments,
        colour: Colour,
        environment: &Environment<'_>,
    ) -> Result<Self, Stop> {
        let told = |typed: &Option<String>, option: &str, variable: &str| {
            let from_option = typed.as_ref().map(|text| (text.clone(), option.to_owned()));
            from_option.or_else(|| environment.variable(variable).map(|text| (text.to_owned(), variable.to_owned())))
        };
        let unit_told = match told(&typed.unit, "--unit", "DROPWISE_UNIT") {
            None => None,
            Some((text, place)) => Some(text.parse::<Unit>().map_err(|_| {
                let complaint = Complaint::new(format!("\"{}\" is no unit of length", shortened(&text, 40))).at(place);
                Stop::bad_input(complaint.with_cure("Write mm, cm, m, in or ft"))
            })?),
        };
        let coinage = match told(&typed.currency_decimals, "--currency-decimals", "DROPWISE_CURRENCY_DECIMALS") {
            None => None,
            Some((text, place)) => {
                let read = text.trim().parse().ok().and_then(|decimals| Coinage::new(decimals).ok());
                Some(read.ok_or_else(|| {
                    let complaint =
                        Complaint::new(format!("\"{}\" is no number of decimals", shortened(&text, 40))).at(place);
                    Stop::bad_input(complaint.with_cure("Write 0, 1, 2, 3 or 4; most currencies have 2"))
                })?)
            }
        };
        let name = told(&typed.currency, "--currency", "DROPWISE_CURRENCY").map(|(text, _)| text);
        let Kept { currency: kept, unit: kept_unit } = kept(&log, environment).unwrap_or_default();
        let unit = unit_told.or(kept_unit).unwrap_or(Unit::Millimetre);
        let fallback = kept.clone().unwrap_or_default();
        let currency = Currency {
            name: name.unwrap_or(fallback.name).trim().to_owned(),
            coinage: coinage.unwrap_or(fallback.coinage),
        };
        if let Some(kept) = kept.filter(|kept| !kept.agrees_with(&currency)) {
            let path = log.path(environment)?;
            return Err(told_stop(StockFault::OtherCurrency { kept, given: currency }, path));
        }
        let Currency { name: currency, coinage } = currency;
        let (ink, stderr_ink) =
            (Ink::new(colour.is_wanted(environment, false)), Ink::new(colour.is_wanted(environment, true)));
        Ok(Self { log, unit, unit_told, coinage, currency, ink, stderr_ink })
    }

    pub(crate) fn open(&self, purpose: Purpose, environment: &Environment<'_>) -> Result<StockLog, Stop> {
        let mut log = self.log.open(purpose, environment)?;
        if purpose == Purpose::Add {
            // A log that is just begun keeps what amounts are counted in, and the unit that is spoken.
            let currency = Currency { name: self.currency.clone(), coinage: self.coinage };
            log.set_currency(&currency).map_err(told)?;
            log.set_unit(self.unit_told.unwrap_or(self.unit)).map_err(told)?;
        }
        Ok(log)
    }

    /// A length that was typed, mm.
    pub(crate) fn length(&self, option: &str, text: &str) -> Result<f64, Complaint> {
        let read = parse_length(text, self.unit).map_err(|error| refused(option, text, &error))?;
        if read.is_finite() && (0.0..=100_000.0).contains(&read) {
            return Ok(read);
        }
        Err(Complaint::new(format!("\"{}\" is not from 0 to 100 m", shortened(text, 60)))
            .at(option)
            .with_cure("Check number and unit"))
    }

    pub(crate) fn material(&self, option: &str, text: &str) -> Result<Material, Complaint> {
        text.parse().map_err(|error| refused(option, text, &error))
    }

    pub(crate) fn thickness(&self, option: &str, text: &str, material: Material) -> Result<Thickness, Complaint> {
        Thickness::parse(text, material, self.unit).map_err(|error| refused(option, text, &error))
    }

    pub(crate) fn amount(&self, option: &str, text: &str) -> Result<Money, Complaint> {
        parse_money(text, self.coinage).map_err(|error| refused(option, text, &error))
    }

    /// What a piece costs at a price that was typed: `18.50`, `0.42 per lb`, `paid` for nothing.
    pub(crate) fn price_of(&self, option: &str, text: &str, details: &Details) -> Result<Money, Complaint> {
        if text.trim().eq_ignore_ascii_case("paid") {
            return Ok(Money::ZERO);
        }
        let price = Price::parse(text, self.coinage).map_err(|error| refused(option, text, &error))?;
        let goes_by_length = price.per_length(0.0).is_some() && price.per_area(1.0).is_none();
        if goes_by_length {
            let complaint = Complaint::new(format!("\"{}\" goes by length", shortened(text, 60))).at(option);
            return Err(complaint.with_cure("Give what was paid for the piece, or a price by weight"));
        }
        Ok(price.of_piece(details.weight(), 0.0))
    }

    /// A grain direction that was typed: `x`, `y` or degrees.
    pub(crate) fn grain(&self, option: &str, text: &str) -> Result<f64, Complaint> {
        match text.trim().to_lowercase().as_str() {
            "x" => Ok(0.0),
            "y" => Ok(90.0),
            number => match number.trim_end_matches(['°', ' ']).parse::<f64>() {
                Ok(angle) if angle.abs() <= 360.0 => Ok(angle),
                _ => {
                    let complaint = Complaint::new(format!("\"{}\" is no direction", shortened(text, 60))).at(option);
                    Err(complaint.with_cure("Write x, y, or an angle in degrees from the x axis"))
                }
            },
        }
    }

    pub(crate) fn tag(&self, text: &str) -> Result<Tag, Stop> {
        text.parse().map_err(|error| {
            let complaint = Complaint::new(format!("{error}"));
            Stop::bad_input(
                complaint.with_cure("Read it off the metal again, or look it up with `dropwise stock list`"),
            )
        })
    }

    pub(crate) fn date(&self, option: &str, text: &str) -> Result<Timestamp, Complaint> {
        text.parse().map_err(|error: dropwise_stock::TimestampError| Complaint::new(error.to_string()).at(option))
    }

    /// An amount, with its currency if that is known.
    pub(crate) fn money(&self, money: Money) -> String {
        let amount = self.coinage.format(money);
        if self.currency.is_empty() { amount } else { format!("{} {amount}", cleaned(&self.currency)) }
    }

    /// A title, and the currency behind it if that is known.
    pub(crate) fn money_title(&self, title: &str) -> String {
        if self.currency.is_empty() { title.to_owned() } else { format!("{title}, {}", cleaned(&self.currency)) }
    }

    pub(crate) fn show(&self, millimetres: f64) -> String {
        format_length(millimetres, self.unit)
    }

    /// By how much something is too large.
    pub(crate) fn gap(&self, millimetres: f64) -> String {
        format_gap(millimetres, self.unit)
    }

    pub(crate) fn area(&self, square_millimetres: f64) -> String {
        format_area(square_millimetres, self.unit)
    }

    pub(crate) fn weight(&self, kilograms: f64) -> String {
        format_weight(kilograms, self.unit)
    }
}

/// What a log keeps from its first piece on.
#[derive(Default)]
struct Kept {
    currency: Option<Currency>,
    unit: Option<Unit>,
}

/// What the log counts in and speaks, if there is one with something in it. What is wrong with the file is told when it is
/// opened to be used.
fn kept(log: &LogChoice, environment: &Environment<'_>) -> Option<Kept> {
    let log = log.open(Purpose::Look, environment).ok()?;
    let is_begun = log.event_count().ok()? > 0;
    is_begun.then(|| Kept { currency: log.currency().ok(), unit: log.unit().ok().flatten() })
}

fn told_stop(fault: StockFault, path: std::path::PathBuf) -> Stop {
    told(StockError { path, fault: Box::new(fault) })
}

/// What a value was refused for; messages that end in a cure are split.
fn refused(option: &str, text: &str, error: &dyn std::fmt::Display) -> Complaint {
    Complaint::new(format!("\"{}\": {error}", shortened(text, 60))).at(option)
}

/// All that is wrong with what was typed.
pub(crate) fn bad(complaints: Vec<Complaint>) -> Stop {
    Stop { exit: Exit::BadInput, complaints }
}

/// Faults of an outline that was described on the command line; keys of the job file become options.
pub(crate) fn outline_complaints(errors: &[JobFileError]) -> Vec<Complaint> {
    errors
        .iter()
        .map(|error| {
            let complaint = Complaint::from(error);
            let is_typed = error.place.file.as_os_str().is_empty();
            if is_typed { complaint.at(option_of(&error.place.key)) } else { complaint }
        })
        .collect()
}

/// The option that a key of the job file was typed as.
fn option_of(key: &str) -> String {
    let (head, rest) = key.split_once(['.', '[']).map_or((key, ""), |(head, _)| (head, &key[head.len()..]));
    match head {
        "polygon" => "--outline".to_owned(),
        "holes" => "--hole".to_owned(),
        "tape" if rest.starts_with(".diagonals") => "--diagonal".to_owned(),
        "tape" if rest.starts_with(".inward") => "--inward".to_owned(),
        "drawing" if rest == ".piece" => "--piece".to_owned(),
        "drawing" if rest == ".unit" => "--drawing-unit".to_owned(),
        "" => String::new(),
        head => format!("--{head}"),
    }
}

/// Notes on an outline.
pub(crate) fn tell_notes(notes: &[Note], desk: &Desk, environment: &mut Environment<'_>) {
    let mut page = String::new();
    for note in notes {
        let mut note = note.clone();
        if note.place.file.as_os_str().is_empty() {
            note.place.key = option_of(&note.place.key);
            note.place.file = std::mem::take(&mut note.place.key).into();
        }
        page.push_str(&render_note(&note, desk.stderr_ink));
    }
    environment.say(&page);
}

/// Says that the clock stands behind, after something was recorded.
pub(crate) fn told_when_behind(receipt: &Receipt, ink: Ink, environment: &mut Environment<'_>) {
    if let Some(latest) = receipt.clock_is_behind {
        let text = format!(
            "the clock of this computer stands before {latest}, the time of an earlier event. The event is recorded, and \
             marked; set the clock right"
        );
        environment.say(&crate::text::wrapped(&format!("{} ", ink.doubtful("warning:")), 2, &format!("{text}.")));
    }
}

/// A fault of the log as it is told.
pub(crate) fn told(error: StockError) -> Stop {
    stop(&error)
}
