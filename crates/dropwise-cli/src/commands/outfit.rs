//! `outfit`: a shop file from a few questions, or from one line of options.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use dropwise_formats::parse_shop;
use dropwise_geometry::Unit;

use super::draft::{quoted, unit_asked_for};
use super::jot::clerk::{Clerk, Question, given_up};
use super::jot::write_new;
use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::text::{cleaned, wrapped};

pub(crate) const ABOUT: &str = "Writes a shop file from a few questions: what tools there are";

pub(crate) const LONG_ABOUT: &str = "\
Writes a shop file from a few questions: what tools there are.

A job that names it (`shop = \"shop.toml\"`) is checked against those tools: holes for which there is no drill, bends that the \
brake cannot reach, sheets too thick for the shear. What is not said is taken as common for a small shop, and stands in the \
file as a remark. An answer that cannot be is told and asked for again; Ctrl-C or Ctrl-D ends it with nothing written.";

pub(crate) const AFTER: &str = "\
Examples:
  By questions:
      dropwise outfit
  A plasma torch, a brake of 1.25 m and a shear, in one line:
      dropwise outfit --cut-with 'plasma, cutoff wheel' \\
          --bends-on 'press brake' \\
          --bend-length '1.25 m' --force '40 tons' \\
          --dies '8, 12, 16, 25' --shear '1250 x 2'
  A vise, four drills and no hole saws:
      dropwise outfit --unit mm --bends-on vise --hole-saws none \\
          --drills '3.3, 5, 6.6, 9'";

/// What was typed after `outfit`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Outfit {
    /// Ways to cut, the one preferred first: cutoff wheel, bandsaw, jigsaw, plasma, ...
    #[arg(long, value_name = "LIST")]
    cut_with: Option<String>,
    /// What bends: press brake, shop press, leaf, box and pan, vise, or none
    #[arg(long, value_name = "LIST")]
    bends_on: Option<String>,
    /// The longest bend of the press brake, or of the one in the shop press
    #[arg(long, value_name = "LENGTH")]
    bend_length: Option<String>,
    /// Its force: `40 tons`, `350 kN`
    #[arg(long, value_name = "FORCE")]
    force: Option<String>,
    /// Openings of its dies
    #[arg(long, value_name = "LIST")]
    dies: Option<String>,
    /// Widths of the fingers of a box-and-pan brake
    #[arg(long, value_name = "LIST")]
    fingers: Option<String>,
    /// Longest cut and thickest mild steel of a shear: `1250 x 2`; or none
    #[arg(long, value_name = "SIZE")]
    shear: Option<String>,
    /// Drills by diameter; or common, or none
    #[arg(long, value_name = "LIST")]
    drills: Option<String>,
    /// Hole saws by diameter; or common, or none
    #[arg(long, value_name = "LIST")]
    hole_saws: Option<String>,
    /// Round punches by the hole they make; or none
    #[arg(long, value_name = "LIST")]
    punches: Option<String>,
    /// The most that one person lifts: `23 kg`, `50 lb`
    #[arg(long, value_name = "WEIGHT")]
    lifts: Option<String>,
    /// Unit of bare numbers: mm, cm, m, in or ft [variable: DROPWISE_UNIT]
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// The file to write; `-` prints it
    ///
    /// A file that is there is never replaced.
    #[arg(long, value_name = "FILE", default_value = "shop.toml")]
    out: PathBuf,
}

impl Outfit {
    fn says_anything(&self) -> bool {
        let told = [
            &self.cut_with,
            &self.bends_on,
            &self.bend_length,
            &self.force,
            &self.dies,
            &self.fingers,
            &self.shear,
            &self.drills,
            &self.hole_saws,
            &self.punches,
            &self.lifts,
        ];
        told.iter().any(|option| option.is_some())
    }
}

pub(crate) fn outfit(typed: &Outfit, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let ink = Ink::new(colour.is_wanted(environment, true));
    if !typed.says_anything() && !environment.has_answers() {
        let complaint = Complaint::new("nothing was said of the shop, and there is no terminal to ask at");
        let cure = "Say what bends and what cuts: --bends-on 'press brake' --cut-with plasma; `dropwise outfit --help` has \
                    the rest";
        return Err(Stop::bad_input(complaint.with_cure(cure)));
    }
    let asked_unit = unit_asked_for(typed.unit.as_deref(), environment.variable("DROPWISE_UNIT"))?;
    let is_asking = environment.has_answers() && typed.bends_on.is_none();
    let mut clerk = Clerk::new(environment, ink, is_asking);
    let unit = clerk.unit(asked_unit)?;
    let text = text(typed, unit, &mut clerk)?;
    // Each answer was read by itself; now all of them together, as they will be.
    read(&text, unit).map_err(Stop::bad_input)?;
    if typed.out.as_os_str() == "-" {
        environment.print(&text)?;
        return Ok(Exit::Done);
    }
    let name = cleaned(&typed.out.display().to_string());
    if is_asking {
        let answer = environment.ask(&format!("Write it to {name}? [Y/n] ")).ok_or_else(given_up)?;
        if !(answer.is_empty() || answer.to_lowercase().starts_with('y')) {
            return Err(given_up());
        }
    }
    write_new(&typed.out, &text)?;
    let told = format!("Written to {name}. Name it in a job, `shop = {}`, or for one run:", quoted(&name));
    environment.say(&wrapped("", 2, &told));
    environment.say(&format!("  dropwise check JOB --shop {name}\n"));
    Ok(Exit::Done)
}

/// Reads a shop file; the first fault says what is wrong.
fn read(text: &str, unit: Unit) -> Result<(), Complaint> {
    let read = parse_shop(Path::new("shop.toml"), text, unit);
    read.map(drop).map_err(|errors| {
        let complaint = errors.first().map_or_else(|| Complaint::new("this is no shop"), Complaint::from);
        complaint.at("")
    })
}

/// A table of keys that is read at once, so that what is wrong is told at its question.
fn keys(unit: Unit, keys: String) -> Result<String, Complaint> {
    read(&format!("unit = \"{unit}\"\n{keys}"), unit)?;
    Ok(keys)
}

/// Lengths with commas between them, as the file has them.
fn list(text: &str) -> Result<String, Complaint> {
    let items: Vec<&str> = text.split([',', ';']).map(str::trim).filter(|item| !item.is_empty()).collect();
    if items.is_empty() {
        return Err(Complaint::new("nothing was said").with_cure("Write sizes with commas between them: 8, 12, 16"));
    }
    Ok(format!("[{}]", items.iter().map(|item| item_of(item)).collect::<Vec<_>>().join(", ")))
}

/// A bare number as it is, anything else in quotes.
fn item_of(text: &str) -> String {
    let is_number = text.parse::<f64>().is_ok_and(f64::is_finite) && text.starts_with(|c: char| c.is_ascii_digit());
    if is_number { text.to_owned() } else { quoted(text) }
}

/// A list under a key, `none` as an empty one, `common` as nothing at all.
fn sizes(key: &str, text: &str, unit: Unit) -> Result<String, Complaint> {
    match text.to_lowercase().as_str() {
        "common" => Ok(String::new()),
        "none" | "no" => Ok(format!("{key} = []\n")),
        _ => keys(unit, format!("{key} = {}\n", list(text)?)),
    }
}

/// What bends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Bender {
    PressBrake,
    ShopPress,
    Leaf,
    BoxAndPan,
    Vise,
}

const BENDERS: [(&str, Bender); 5] = [
    ("press brake", Bender::PressBrake),
    ("shop press", Bender::ShopPress),
    ("leaf", Bender::Leaf),
    ("box and pan", Bender::BoxAndPan),
    ("vise", Bender::Vise),
];

/// Benders by their words; nothing for none.
fn benders(text: &str) -> Result<Vec<Bender>, Complaint> {
    let mut found = Vec::new();
    for word in text.split(',').map(|word| word.trim().to_lowercase()).filter(|word| !word.is_empty()) {
        if word == "none" || word == "no" {
            continue;
        }
        let bender = BENDERS.iter().find(|(name, _)| word == *name || word == format!("{name} brake"));
        let Some((_, bender)) = bender else {
            let names: Vec<&str> = BENDERS.iter().map(|(name, _)| *name).collect();
            let complaint = Complaint::new(format!("\"{word}\" is nothing that bends here"));
            return Err(complaint.with_cure(format!("Write {}, or none", names.join(", "))));
        };
        found.push(*bender);
    }
    found.dedup();
    Ok(found)
}

/// A figure of a bender that is not there is a slip.
fn check_strangers(typed: &Outfit, bends_on: &[Bender]) -> Result<(), Stop> {
    let has_press = bends_on.iter().any(|bender| matches!(bender, Bender::PressBrake | Bender::ShopPress));
    let of_press = [("--bend-length", &typed.bend_length), ("--force", &typed.force), ("--dies", &typed.dies)];
    let of_press = of_press.into_iter().filter(|(_, told)| !has_press && told.is_some());
    let mut complaints: Vec<Complaint> =
        of_press.map(|(option, _)| Complaint::new("there is no press to have it").at(option)).collect();
    if typed.fingers.is_some() && !bends_on.contains(&Bender::BoxAndPan) {
        complaints.push(Complaint::new("there is no box-and-pan brake to have them").at("--fingers"));
    }
    let cure = "Say with --bends-on what bends, or leave it out";
    let complaints: Vec<Complaint> = complaints.into_iter().map(|complaint| complaint.with_cure(cure)).collect();
    if complaints.is_empty() { Ok(()) } else { Err(Stop { exit: Exit::BadInput, complaints }) }
}

/// Asks for the rest and writes the file.
fn text(typed: &Outfit, unit: Unit, clerk: &mut Clerk<'_, '_>) -> Result<String, Stop> {
    let mut interview = Interview { typed, unit, clerk };
    let mut page = String::from("# A shop for dropwise: what there is to work with. All keys: docs/shop-file.md\n");
    let _ = writeln!(page, "unit = \"{unit}\"        # of bare numbers\n");
    page.push_str(&interview.cutters()?);
    page.push_str(&interview.shear()?);
    page.push_str(&interview.round_tools()?);
    page.push_str(&interview.lifting()?);
    let bends_on = interview.bends_on()?;
    page.push_str(&interview.hand_benders(&bends_on)?);
    if bends_on.is_empty() {
        page.push_str("no_brake = true      # bending is sent out\n");
    }
    page.push_str(&interview.presses(&bends_on)?);
    Ok(page)
}

/// Reads an answer into lines of the file.
type Reader<'r> = &'r dyn Fn(&str) -> Result<String, Complaint>;

/// The questions, each of which becomes some lines of the file.
struct Interview<'t, 'c, 'a, 'b> {
    typed: &'t Outfit,
    unit: Unit,
    clerk: &'c mut Clerk<'a, 'b>,
}

impl Interview<'_, '_, '_, '_> {
    fn ask(
        &mut self,
        option: &str,
        text: &str,
        usual: &str,
        told: Option<&str>,
        read: Reader<'_>,
    ) -> Result<String, Stop> {
        let question = Question::new(option, text, usual).or(usual);
        self.clerk.take(&question, told, read)?.ok_or_else(given_up)
    }

    /// What suits the unit.
    fn pick(&self, inches: &'static str, millimetres: &'static str) -> &'static str {
        if self.unit.is_metric() { millimetres } else { inches }
    }

    fn cutters(&mut self) -> Result<String, Stop> {
        let (unit, told) = (self.unit, self.typed.cut_with.as_deref());
        let question = "What cuts (cutoff wheel, bandsaw, jigsaw, plasma, ...; the first is preferred)";
        self.ask("cut-with", question, "cutoff wheel", told, &|text| {
            let words: Vec<String> =
                text.split(',').map(str::trim).filter(|word| !word.is_empty()).map(quoted).collect();
            keys(unit, format!("cutters = [{}]\n", words.join(", ")))
        })
    }

    fn shear(&mut self) -> Result<String, Stop> {
        let (unit, told) = (self.unit, self.typed.shear.as_deref());
        let example = self.pick("50 x 0.08", "1250 x 2");
        let question = format!("Shear: longest cut x thickest mild steel ({example}; none)");
        self.ask("shear", &question, "none", told, &|text| match text.to_lowercase().split_once('x') {
            None if ["none", "no"].contains(&text.to_lowercase().as_str()) => Ok(String::new()),
            None => {
                Err(Complaint::new("this is no length and thickness")
                    .with_cure("Write both, such as 1250 x 2, or none"))
            }
            Some((length, thickest)) => {
                let [length, thickest] = [length, thickest].map(|text| item_of(text.trim()));
                keys(unit, format!("shear = {{ length = {length}, thickest = {thickest} }}\n"))
            }
        })
    }

    /// Drills, hole saws and punches.
    fn round_tools(&mut self) -> Result<String, Stop> {
        let (unit, typed) = (self.unit, self.typed);
        let mut lines = String::new();
        for (key, option, name, usual, told) in [
            ("drills", "drills", "Drills", "common", &typed.drills),
            ("hole_saws", "hole-saws", "Hole saws", "common", &typed.hole_saws),
            ("punches", "punches", "Round punches, by the hole they make", "none", &typed.punches),
        ] {
            let example = match key {
                "drills" => self.pick("1/8, 3/16, 9/32", "3, 5, 6.6"),
                "punches" => self.pick("3/16, 1/4", "5, 6.5"),
                _ => self.pick("7/8, 1-1/8, 2", "20, 25, 32"),
            };
            let choice = if key == "punches" { "none" } else { "common; none" };
            let question = format!("{name} ({example}; {choice})");
            lines.push_str(&self.ask(option, &question, usual, told.as_deref(), &|text| sizes(key, text, unit))?);
        }
        Ok(lines)
    }

    fn lifting(&mut self) -> Result<String, Stop> {
        let (unit, told, usual) = (self.unit, self.typed.lifts.as_deref(), self.pick("50 lb", "23 kg"));
        self.ask("lifts", "The most that one person lifts", usual, told, &|text| {
            keys(unit, format!("lifted_by_one = {}\n", quoted(text)))
        })
    }

    fn bends_on(&mut self) -> Result<Vec<Bender>, Stop> {
        let question = "What bends (press brake, shop press, leaf, box and pan, vise; none)";
        let told = self.typed.bends_on.as_deref();
        let answer = self.ask("bends-on", question, "none", told, &|text| benders(text).map(|_| text.to_owned()))?;
        let bends_on = benders(&answer).map_err(Stop::bad_input)?;
        check_strangers(self.typed, &bends_on)?;
        Ok(bends_on)
    }

    /// Benders without punch and die.
    fn hand_benders(&mut self, bends_on: &[Bender]) -> Result<String, Stop> {
        let (unit, told) = (self.unit, self.typed.fingers.as_deref());
        let mut entries = Vec::new();
        for bender in bends_on {
            match bender {
                Bender::Leaf => entries.push("    { kind = \"leaf\" },\n".to_owned()),
                Bender::Vise => entries.push("    { kind = \"vise\" },\n".to_owned()),
                Bender::BoxAndPan => {
                    let usual = self.pick("1, 2, 3, 4, 4", "25, 50, 75, 100, 100");
                    entries.push(self.ask("fingers", &format!("Its fingers ({usual})"), usual, told, &|text| {
                        let entry = format!("{{ kind = \"box and pan\", fingers = {} }}", list(text)?);
                        keys(unit, format!("benders = [{entry}]\n"))?;
                        Ok(format!("    {entry},\n"))
                    })?);
                }
                Bender::PressBrake | Bender::ShopPress => {}
            }
        }
        Ok(if entries.is_empty() { String::new() } else { format!("benders = [\n{}]\n", entries.concat()) })
    }

    /// The press brake; where there is none, the one in a shop press.
    fn presses(&mut self, bends_on: &[Bender]) -> Result<String, Stop> {
        let (has_brake, has_shop_press) =
            (bends_on.contains(&Bender::PressBrake), bends_on.contains(&Bender::ShopPress));
        if has_brake {
            let usual = (self.pick("50", "1250"), "40 tons", self.pick("3/8, 1/2, 3/4, 1", "8, 12, 16, 25"));
            let mut lines = self.press("brake", usual)?;
            if has_shop_press {
                lines.push_str("\n[shop_press]         # the usual one; docs/shop-file.md has its keys\n");
            }
            Ok(lines)
        } else if has_shop_press {
            self.press("shop_press", (self.pick("20", "500"), "20 tons", self.pick("1/2, 5/8, 1", "12, 16, 25")))
        } else {
            Ok(String::new())
        }
    }

    /// One table of a press, with what is usual of its length, force and dies.
    fn press(&mut self, table: &str, (length, force, dies): (&str, &str, &str)) -> Result<String, Stop> {
        let (unit, typed) = (self.unit, self.typed);
        let mut lines = format!("\n[{table}]\n");
        for (option, key, question, usual, told) in [
            ("bend-length", "length", "The longest bend", length, &typed.bend_length),
            ("force", "force", "Its force (40 tons, 350 kN)", force, &typed.force),
            ("dies", "dies", "Openings of its dies", dies, &typed.dies),
        ] {
            lines.push_str(&self.ask(option, question, usual, told.as_deref(), &|text| {
                let value = match key {
                    "dies" => list(text)?,
                    "force" => quoted(text),
                    _ => item_of(text),
                };
                keys(unit, format!("[{table}]\n{key} = {value}\n"))?;
                Ok(format!("{key} = {value}\n"))
            })?);
        }
        Ok(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn benders_by_their_words() {
        assert_eq!(benders("Press brake, VISE").unwrap(), [Bender::PressBrake, Bender::Vise]);
        assert_eq!(benders("leaf brake").unwrap(), [Bender::Leaf]);
        assert_eq!(benders("none").unwrap(), []);
        assert!(benders("hammer").unwrap_err().render(Ink::plain()).contains("box and pan"));
    }

    #[test]
    fn numbers_stay_numbers_and_fractions_become_texts() {
        assert_eq!(list("8, 1/2 ,1-1/8, 6.6").unwrap(), "[8, \"1/2\", \"1-1/8\", 6.6]");
        assert!(list(" , ").is_err());
        for word in ["nan", "inf", ".5", "-3"] {
            assert!(item_of(word).starts_with('"'), "{word}");
        }
    }
}
