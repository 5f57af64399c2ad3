//! `jot`: a job file from a few questions, or from one line of options.

pub(super) mod clerk;
mod forms;
mod page;

use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;
use dropwise_formats::LoadedJob;
use dropwise_geometry::{Unit, parse_length};
use dropwise_shop::check::{Severity, gathered};
use dropwise_shop::{Material, Process, Thickness};

use super::check::told;
use super::draft::{Told, read, unit_asked_for};
use crate::arguments::Colour;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::exit::Exit;
use crate::ink::Ink;
use crate::shop_checks::check_part;
use crate::text::{cleaned, wrapped};
use clerk::{Clerk, Question};
use forms::{Form, Measures, Wording};

pub(crate) const ABOUT: &str = "Writes a job file from a few questions, or from one line";

pub(crate) const LONG_ABOUT: &str = "\
Writes a job file from a few questions, or from one line.

In a terminal it asks what is not said: which form, how long, which metal, how many, how it is cut, which pieces are at hand. \
It draws what it understood and writes a job file with remarks, to which holes, bends and prices can be added. Without a \
terminal it names the options that are missing. An answer that cannot be is told and asked for again; Ctrl-C or Ctrl-D ends \
it with nothing written.";

const EXAMPLES: &str = "\
Examples:
  By questions:
      dropwise jot
  A tray of 16 gauge, in one line:
      dropwise jot tray --unit in --length 9 --width 6 --height 1-1/4 --metal 'mild steel' --thickness '16 ga'
  Eight brackets with holes, from a drop that is at hand:
      dropwise jot bracket --length 80 --base 40 --leg 30 --hole 6.6 --metal 'mild steel' --thickness 3 \\
          --count 8 --piece '600 x 340 @ 9.50' --out brackets.toml
  On standard output instead of in a file:
      dropwise jot gusset --width 120 --height 120 --metal aluminium --thickness 3 --out -";

/// Examples, and what is asked of each form.
pub(crate) fn after_long_help() -> String {
    use clap::ValueEnum as _;
    let lines = Form::value_variants().iter().map(|form| {
        let option = |measure: &forms::Measure| match measure.may_be_left_out {
            true => format!("[--{}]", measure.option),
            false => format!("--{}", measure.option),
        };
        let options: Vec<String> = form.measures().iter().map(option).collect();
        format!("  {:<8} {}", form.word(), options.join(" "))
    });
    format!("Measures of each form:\n{}\n\n{EXAMPLES}", lines.collect::<Vec<_>>().join("\n"))
}

/// What was typed after `jot`.
#[derive(Clone, Debug, Args)]
pub(crate) struct Jot {
    /// The form
    #[arg(value_enum)]
    form: Option<Form>,
    #[command(flatten)]
    sizes: Sizes,
    /// How many
    #[arg(long, value_name = "COUNT")]
    count: Option<String>,
    /// The metal: mild steel, galvanized steel, 304, 5052, ...
    #[arg(long, value_name = "METAL")]
    metal: Option<String>,
    /// Its thickness as sold: 16 ga, 1/8, 3 mm
    #[arg(long, value_name = "THICKNESS")]
    thickness: Option<String>,
    /// How it is cut out: cutoff wheel, bandsaw, jigsaw, shear, plasma, ... [default: cutoff wheel]
    #[arg(long, value_name = "PROCESS")]
    cut_with: Option<String>,
    /// A piece at hand: `30 x 18`, `2 of 600 x 340 @ 9.50`, `22 dia`; may be given several times
    #[arg(long, value_name = "PIECE")]
    piece: Vec<String>,
    /// What the part is called [default: the form]
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Unit of bare numbers and of the job: mm, cm, m, in or ft [variable: DROPWISE_UNIT]
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// The file to write [default: the part's name with .toml]; `-` prints it
    ///
    /// A file that is there is never replaced.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Measures of all forms.
#[derive(Clone, Debug, Default, Args)]
#[command(next_help_heading = "Measures")]
struct Sizes {
    /// Length
    #[arg(long, value_name = "LENGTH")]
    length: Option<String>,
    /// Width
    #[arg(long, value_name = "LENGTH")]
    width: Option<String>,
    /// Height
    #[arg(long, value_name = "LENGTH")]
    height: Option<String>,
    /// Leg of a bracket that lies
    #[arg(long, value_name = "LENGTH")]
    base: Option<String>,
    /// Leg of a bracket that stands; width of a table's legs
    #[arg(long, value_name = "LENGTH")]
    leg: Option<String>,
    /// Web of a channel
    #[arg(long, value_name = "LENGTH")]
    web: Option<String>,
    /// Flanges of a channel
    #[arg(long, value_name = "LENGTH")]
    flange: Option<String>,
    /// Walls of a box's lid
    #[arg(long, value_name = "LENGTH")]
    lid: Option<String>,
    /// Aprons of a table
    #[arg(long, value_name = "LENGTH")]
    apron: Option<String>,
    /// Feet of a table
    #[arg(long, value_name = "LENGTH")]
    foot: Option<String>,
    /// Crown of a guard
    #[arg(long, value_name = "LENGTH")]
    crown: Option<String>,
    /// Brims of a guard
    #[arg(long, value_name = "LENGTH")]
    brim: Option<String>,
    /// Points of a gusset, cut square
    #[arg(long, value_name = "LENGTH")]
    nose: Option<String>,
    /// Upstand at the back of a shelf
    #[arg(long, value_name = "LENGTH")]
    back: Option<String>,
    /// Lip at the front of a shelf
    #[arg(long, value_name = "LENGTH")]
    lip: Option<String>,
    /// Diameter of its holes
    #[arg(long, value_name = "LENGTH")]
    hole: Option<String>,
    /// From a panel's edges to the middles of its holes
    #[arg(long, value_name = "LENGTH")]
    inset: Option<String>,
    /// Radius of a panel's corners
    #[arg(long, value_name = "LENGTH")]
    radius: Option<String>,
}

impl Sizes {
    /// Each with its option.
    fn all(&self) -> [(&'static str, Option<&str>); 18] {
        [
            ("length", self.length.as_deref()),
            ("width", self.width.as_deref()),
            ("height", self.height.as_deref()),
            ("base", self.base.as_deref()),
            ("leg", self.leg.as_deref()),
            ("web", self.web.as_deref()),
            ("flange", self.flange.as_deref()),
            ("lid", self.lid.as_deref()),
            ("apron", self.apron.as_deref()),
            ("foot", self.foot.as_deref()),
            ("crown", self.crown.as_deref()),
            ("brim", self.brim.as_deref()),
            ("nose", self.nose.as_deref()),
            ("back", self.back.as_deref()),
            ("lip", self.lip.as_deref()),
            ("hole", self.hole.as_deref()),
            ("inset", self.inset.as_deref()),
            ("radius", self.radius.as_deref()),
        ]
    }

    fn of(&self, option: &str) -> Option<&str> {
        self.all().into_iter().find(|(name, _)| *name == option).and_then(|(_, value)| value)
    }
}

/// All that a job file needs to know.
#[derive(Debug)]
struct Answers {
    form: Form,
    unit: Unit,
    name: String,
    count: u32,
    metal: (String, Material),
    thickness: (String, Thickness),
    process: String,
    measures: Measures,
    pieces: Vec<Told>,
}

impl Answers {
    fn text(&self, file: &str) -> String {
        let wording = Wording {
            form: self.form,
            name: &self.name,
            count: self.count,
            unit: self.unit,
            thickness: self.thickness.1,
            measures: &self.measures,
        };
        page::text(self, &wording.parts(), file)
    }
}

pub(crate) fn jot(typed: &Jot, colour: Colour, environment: &mut Environment<'_>) -> Result<Exit, Stop> {
    let ink = Ink::new(colour.is_wanted(environment, true));
    let (answers, loaded, is_asking) = answers(typed, ink, environment)?;
    let file = typed.out.clone().unwrap_or_else(|| PathBuf::from(format!("{}.toml", file_stem(&answers.name))));
    if file.as_os_str() == "-" {
        environment.print(&answers.text(&format!("{}.toml", file_stem(&answers.name))))?;
        return Ok(Exit::Done);
    }
    let text = answers.text(&file.display().to_string());
    if is_asking {
        let question = format!("Write it to {}? [Y/n] ", cleaned(&file.display().to_string()));
        let answer = environment.ask(&question).ok_or_else(clerk::given_up)?;
        if !(answer.is_empty() || answer.to_lowercase().starts_with('y')) {
            return Err(clerk::given_up());
        }
    }
    write_new(&file, &text)?;
    environment.say(&next_steps(&file, &answers, &loaded, ink));
    Ok(Exit::Done)
}

/// Everything, asked for where it was not typed; with the job that it makes, and whether anything was asked.
fn answers(typed: &Jot, ink: Ink, environment: &mut Environment<'_>) -> Result<(Answers, LoadedJob, bool), Stop> {
    let asked_unit = unit_asked_for(typed.unit.as_deref(), environment.variable("DROPWISE_UNIT"))?;
    let is_told = typed.form.is_some_and(|form| {
        let must = form.measures().iter().filter(|measure| !measure.may_be_left_out);
        must.map(|measure| typed.sizes.of(measure.option)).all(|value| value.is_some())
    });
    let is_asking = environment.has_answers() && !(is_told && typed.metal.is_some() && typed.thickness.is_some());
    let mut clerk = Clerk::new(environment, ink, is_asking);
    let form = clerk.form(typed.form)?;
    check_strangers(form, &typed.sizes)?;
    let unit = clerk.unit(asked_unit)?;
    let metal = clerk.take(
        &Question::new("metal", "Metal (mild steel, galvanized steel, 304, 5052, ...)", "'mild steel'"),
        typed.metal.as_deref(),
        |text| {
            let read = text.parse::<Material>().map(|material| (text.to_owned(), material));
            read.map_err(|error| Complaint::new(error.to_string()))
        },
    )?;
    // Without a metal a gauge has no thickness; the metal will be told as missing.
    let material = metal.as_ref().map_or(Material::MildSteel, |metal| metal.1);
    let example = if unit.is_metric() { "2" } else { "'16 ga'" };
    let thickness = clerk.take(
        &Question::new("thickness", "Thickness as sold (16 ga, 1/8, 3 mm)", example),
        typed.thickness.as_deref(),
        |text| {
            let read = Thickness::parse(text, material, unit).map(|thickness| (text.to_owned(), thickness));
            read.map_err(|error| Complaint::new(error.to_string()))
        },
    )?;
    let count = clerk.take(&Question::new("count", "How many", "4").or("1"), typed.count.as_deref(), |text| {
        let count = text.parse().ok().filter(|count| (1..=10_000).contains(count));
        count.ok_or_else(|| Complaint::new(format!("\"{text}\" is no count from 1 to 10000")))
    })?;
    let process = clerk.take(
        &Question::new("cut-with", "Cut with (cutoff wheel, bandsaw, jigsaw, shear, plasma, ...)", "bandsaw")
            .or("cutoff wheel"),
        typed.cut_with.as_deref(),
        |text| text.parse::<Process>().map(|process| process.to_string()).map_err(|e| Complaint::new(e.to_string())),
    )?;
    let name = clerk.take(
        &Question::new("name", "What is it called", "'saw rest'").or(&form.word()),
        typed.name.as_deref(),
        |text| {
            let is_short = text.chars().count() <= 60;
            if is_short { Ok(text.to_owned()) } else { Err(Complaint::new("a name has at most 60 letters")) }
        },
    )?;
    loop {
        let measures = clerk.measures(form, unit, &typed.sizes)?;
        clerk.stop_if_missing(form)?;
        let both = metal.clone().zip(thickness.clone()).zip(count.zip(process.clone()).zip(name.clone()));
        let Some(((metal, thickness), ((count, process), name))) = both else { return Err(clerk::given_up()) };
        let mut answers = Answers { form, unit, name, count, metal, thickness, process, measures, pieces: Vec::new() };
        let understood = understood(&answers);
        match understood {
            Ok(loaded) => clerk.show(&loaded),
            // What does not go together is asked for again, all of it.
            Err(stop) if is_asking && typed.sizes.all().iter().all(|(_, value)| value.is_none()) => {
                clerk.complain(&stop);
                continue;
            }
            Err(stop) => return Err(stop),
        }
        answers.pieces = clerk.pieces(unit, &typed.piece)?;
        let loaded = understood_with_pieces(&answers)?;
        return Ok((answers, loaded, is_asking));
    }
}

/// A measure that the form does not have is a slip.
fn check_strangers(form: Form, sizes: &Sizes) -> Result<(), Stop> {
    let is_known = |option: &str| form.measures().iter().any(|measure| measure.option == option);
    let strangers = sizes.all().into_iter().filter(|(option, value)| value.is_some() && !is_known(option));
    let complaints: Vec<Complaint> = strangers
        .map(|(option, _)| {
            let known: Vec<String> = form.measures().iter().map(|measure| format!("--{}", measure.option)).collect();
            let complaint = Complaint::new(format!("a {} has no such measure", form.word())).at(format!("--{option}"));
            complaint.with_cure(format!("It takes {}", known.join(", ")))
        })
        .collect();
    if complaints.is_empty() { Ok(()) } else { Err(Stop { exit: Exit::BadInput, complaints }) }
}

/// A length that is more than nothing.
fn length(text: &str, unit: Unit) -> Result<String, Complaint> {
    let millimetres = parse_length(text, unit).map_err(|error| Complaint::new(format!("\"{text}\": {error}")))?;
    if millimetres > 0.0 && millimetres <= 100_000.0 {
        return Ok(text.to_owned());
    }
    Err(Complaint::new(format!("\"{text}\" is not from 0 to 100 m")).with_cure("Check number and unit"))
}

/// A sheet so large that it decides nothing, for reading a job that has none yet.
const ANY_SHEET: &str = "[[sheets]]\nname = \"any\"\nrectangle = { width = \"99 m\", height = \"99 m\" }\n";

/// The job as far as it is told: the part alone.
fn understood(answers: &Answers) -> Result<LoadedJob, Stop> {
    read(&format!("{}{ANY_SHEET}", answers.text("")), "", Path::new("")).map_err(Stop::without_places)
}

fn understood_with_pieces(answers: &Answers) -> Result<LoadedJob, Stop> {
    if answers.pieces.is_empty() {
        return understood(answers);
    }
    read(&answers.text(""), "", Path::new("")).map_err(Stop::without_places)
}

fn file_stem(name: &str) -> String {
    let safe: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let safe = safe.trim_matches('-').to_lowercase();
    if safe.is_empty() { "job".to_owned() } else { safe }
}

/// Writes a file that is not there yet.
pub(super) fn write_new(path: &Path, text: &str) -> Result<(), Stop> {
    let opened = std::fs::OpenOptions::new().write(true).create_new(true).open(path);
    let written = opened.and_then(|mut file| file.write_all(text.as_bytes()));
    written.map_err(|error| {
        if error.kind() == std::io::ErrorKind::AlreadyExists {
            let complaint = Complaint::new("there is a file of this name, and it is kept").at(path.display());
            return Stop::bad_input(complaint.with_cure("Name another with --out"));
        }
        let complaint = Complaint::new(format!("cannot be written: {error}")).at(path.display());
        Stop::failure(complaint.with_cure("Check the folder, its permissions and the room on the disk"))
    })
}

/// What was written, what the shop checks say of it, and what to type next.
fn next_steps(file: &Path, answers: &Answers, loaded: &LoadedJob, ink: Ink) -> String {
    let mut page = String::new();
    for (index, part) in loaded.job.parts().iter().enumerate() {
        let checks = check_part(loaded, index, &loaded.shop);
        let groups = gathered(&checks.findings);
        let worth_saying = groups.iter().filter(|group| group.worst.severity != Severity::Note);
        let findings: String = worth_saying.map(|group| told(group, loaded, ink)).collect();
        if !findings.is_empty() {
            page.push_str(&format!("{}\n{findings}", ink.strong(&cleaned(&part.name))));
        }
    }
    let name = cleaned(&file.display().to_string());
    let name = if name.contains(' ') { format!("'{name}'") } else { name };
    page.push_str(&wrapped("", 2, &format!("Written to {name}. Next:")));
    let mut steps = vec![("check", "what the tools and the metal cannot do")];
    if answers.form.is_bent() {
        steps.push(("flat", "the flat pattern and the order of bends"));
    }
    steps.push(if answers.pieces.is_empty() {
        ("nest --from-stock", "the nest, on what lies in the rack")
    } else {
        ("nest --out plan", "the nest, with drawings")
    });
    for (verb, tale) in steps {
        let (verb, rest) = verb.split_once(' ').unwrap_or((verb, ""));
        let line = format!("dropwise {verb} {name} {rest}");
        page.push_str(&format!("  {:<40} {tale}\n", line.trim_end()));
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::ValueEnum as _;

    #[test]
    fn every_measure_has_its_option() {
        for form in Form::value_variants() {
            for measure in form.measures() {
                let known = Sizes::default();
                assert!(known.all().iter().any(|(option, _)| *option == measure.option), "{form:?} {measure:?}");
            }
        }
    }

    #[test]
    fn every_form_by_its_examples_makes_a_sound_job() {
        for form in Form::value_variants() {
            for (unit, example) in [(Unit::Inch, 0), (Unit::Millimetre, 1)] {
                for with_optional in [false, true] {
                    let measures = form.measures().iter().filter(|measure| with_optional || !measure.may_be_left_out);
                    let measures = measures.map(|measure| (measure.option, measure.examples[example].to_owned()));
                    let metal = "mild steel".to_owned();
                    let answers = Answers {
                        form: *form,
                        unit,
                        name: form.word(),
                        count: 2,
                        thickness: ("16 ga".into(), Thickness::parse("16 ga", Material::MildSteel, unit).unwrap()),
                        metal: (metal, Material::MildSteel),
                        process: "plasma".into(),
                        measures: Measures(measures.collect()),
                        pieces: vec![Told::parse("48 in x 36 in @ 9.50", unit).unwrap()],
                    };
                    let loaded = understood_with_pieces(&answers)
                        .unwrap_or_else(|stop| panic!("{form:?} {unit}: {stop:?}\n{}", answers.text("")));
                    assert_eq!(loaded.parts[0].bent.is_some(), form.is_bent(), "{form:?}");
                    for index in 0..loaded.job.parts().len() {
                        let findings = check_part(&loaded, index, &loaded.shop).findings;
                        let stops = findings.iter().filter(|finding| finding.severity == Severity::Stop);
                        assert_eq!(stops.count(), 0, "{form:?} {unit}: {findings:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn file_names_are_plain() {
        assert_eq!(file_stem("Saw rest / No. 2"), "saw-rest---no--2");
        assert_eq!(file_stem("../.."), "job");
    }
}
