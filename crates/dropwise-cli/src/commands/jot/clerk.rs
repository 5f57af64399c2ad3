//! Takes what was typed, and asks for the rest.

use clap::ValueEnum as _;
use dropwise_formats::LoadedJob;
use dropwise_geometry::{Unit, format_length};

use super::forms::{Form, Measures};
use super::{Sizes, length};
use crate::commands::draft::Told;
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::ink::Ink;
use crate::picture::Picture;
use crate::text::{cleaned, wrapped};

/// Something to know.
#[derive(Clone, Debug)]
pub(crate) struct Question {
    option: String,
    text: String,
    example: String,
    fallback: Option<String>,
}

impl Question {
    pub(crate) fn new(option: &str, text: &str, example: &str) -> Self {
        let [option, text, example] = [option, text, example].map(str::to_owned);
        Self { option, text, example, fallback: None }
    }

    /// With an answer that is taken when nothing is said.
    pub(crate) fn or(self, fallback: &str) -> Self {
        Self { fallback: Some(fallback.to_owned()), ..self }
    }
}

/// Takes answers from the command line, from a person, or notes that they are missing.
pub(crate) struct Clerk<'a, 'b> {
    environment: &'a mut Environment<'b>,
    ink: Ink,
    is_asking: bool,
    /// Options that must be given, each with an example.
    missing: Vec<String>,
}

pub(crate) fn given_up() -> Stop {
    Stop::bad_input(Complaint::new("nothing was written"))
}

impl<'a, 'b> Clerk<'a, 'b> {
    pub(crate) fn new(environment: &'a mut Environment<'b>, ink: Ink, is_asking: bool) -> Self {
        Self { environment, ink, is_asking, missing: Vec::new() }
    }

    fn line(&mut self, question: &str) -> Result<String, Stop> {
        self.environment.ask(question).ok_or_else(given_up)
    }

    /// Tells what is wrong.
    pub(crate) fn complain(&mut self, stop: &Stop) {
        self.environment.complain(&stop.complaints, self.ink);
    }

    /// The answer to a question; `None` where it is missing and was noted.
    pub(crate) fn take<T>(
        &mut self,
        question: &Question,
        typed: Option<&str>,
        read: impl Fn(&str) -> Result<T, Complaint>,
    ) -> Result<Option<T>, Stop> {
        if let Some(text) = typed {
            return read(text)
                .map(Some)
                .map_err(|complaint| Stop::bad_input(complaint.at(format!("--{}", question.option))));
        }
        if !self.is_asking {
            return match &question.fallback {
                Some(text) => read(text).map(Some).map_err(Stop::bad_input),
                None => {
                    self.missing.push(format!("--{} {}", question.option, question.example));
                    Ok(None)
                }
            };
        }
        let hint = question.fallback.as_ref().map_or_else(String::new, |text| format!(" [{text}]"));
        loop {
            let answer = self.line(&format!("{}{hint}: ", question.text))?;
            let answer = match (&question.fallback, answer.is_empty()) {
                (Some(fallback), true) => fallback.clone(),
                _ => answer,
            };
            match read(&answer) {
                Ok(value) => return Ok(Some(value)),
                Err(complaint) => self.environment.complain(&[complaint], self.ink),
            }
        }
    }

    /// Which form.
    pub(super) fn form(&mut self, typed: Option<Form>) -> Result<Form, Stop> {
        if let Some(form) = typed {
            return Ok(form);
        }
        let words: Vec<String> = Form::value_variants().iter().map(|form| form.word()).collect();
        if !self.is_asking {
            let complaint = Complaint::new("no form was given, and there is no terminal to ask at");
            let cure = format!("Give one of {}; `dropwise jot --help` has examples", words.join(", "));
            return Err(Stop::bad_input(complaint.with_cure(cure)));
        }
        self.environment.say("What is it?\n");
        for (index, form) in Form::value_variants().iter().enumerate() {
            self.environment.say(&format!("  {} {:<8} {}\n", index + 1, form.word(), form.description()));
        }
        loop {
            let answer = self.line("Number or word: ")?.to_lowercase();
            let by_number = answer.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
            let form = by_number.and_then(|index| Form::value_variants().get(index).copied());
            match form.or_else(|| Form::from_str(&answer, true).ok()) {
                Some(form) => return Ok(form),
                None => {
                    self.environment.say(&format!("Type a number from 1 to {}, or one of the words.\n", words.len()))
                }
            }
        }
    }

    /// Inches or millimetres.
    pub(crate) fn unit(&mut self, asked_for: Option<Unit>) -> Result<Unit, Stop> {
        match asked_for {
            Some(unit) => Ok(unit),
            None if !self.is_asking => Ok(Unit::Millimetre),
            None => loop {
                let answer = self.line("Inches or millimetres (in, mm): ")?.to_lowercase();
                if let Some(unit) = unit_word(&answer) {
                    return Ok(unit);
                }
                self.environment.say("Type in or mm.\n");
            },
        }
    }

    /// The measures of a form.
    pub(super) fn measures(&mut self, form: Form, unit: Unit, sizes: &Sizes) -> Result<Measures, Stop> {
        let mut measures = Measures::default();
        for measure in form.measures() {
            let example = measure.examples[usize::from(unit.is_metric())];
            let told = sizes.of(measure.option);
            if measure.may_be_left_out {
                let text = match (told, self.is_asking) {
                    (Some(text), _) => text.to_owned(),
                    (None, false) => continue,
                    (None, true) => self.line(&format!("{} ({example}; Enter for none): ", measure.question))?,
                };
                if text.is_empty() {
                    continue;
                }
                match length(&text, unit) {
                    Ok(text) => drop(measures.0.insert(measure.option, text)),
                    Err(complaint) if told.is_some() => {
                        return Err(Stop::bad_input(complaint.at(format!("--{}", measure.option))));
                    }
                    Err(complaint) => {
                        self.environment.complain(&[complaint], self.ink);
                        let question = format!("{} ({example})", measure.question);
                        let again = Question::new(measure.option, &question, example);
                        if let Some(text) = self.take(&again, None, |text| length(text, unit))? {
                            measures.0.insert(measure.option, text);
                        }
                    }
                }
                continue;
            }
            let question = Question::new(measure.option, &format!("{} ({example})", measure.question), example);
            if let Some(text) = self.take(&question, told, |text| length(text, unit))? {
                measures.0.insert(measure.option, text);
            }
        }
        Ok(measures)
    }

    /// Ends it where something is missing and nobody can be asked, naming all of it.
    pub(super) fn stop_if_missing(&mut self, form: Form) -> Result<(), Stop> {
        if self.missing.is_empty() {
            return Ok(());
        }
        let options = std::mem::take(&mut self.missing).join(" ");
        let complaint =
            Complaint::new(format!("a {} needs more than was said, and there is no terminal to ask at", form.word()));
        Err(Stop::bad_input(complaint.with_cure(format!("Add, for example: {options}"))))
    }

    /// Draws what was understood: each part laid flat, its bends dashed.
    pub(super) fn show(&mut self, loaded: &LoadedJob) {
        if !self.is_asking {
            return;
        }
        for (part, detail) in loaded.job.parts().iter().zip(&loaded.parts) {
            let mut picture = Picture::new(part.shape.bounds());
            picture.shape(&part.shape);
            let bends = detail.bent.as_ref().map_or(&[][..], |bent| &bent.unfolding.bends);
            bends.iter().for_each(|bend| picture.dashes(bend.line[0], bend.line[1]));
            let bounds = part.shape.bounds();
            let size = |millimetres| format_length(millimetres, loaded.unit);
            let bends = match bends.len() {
                0 => String::new(),
                1 => ", one bend".to_owned(),
                count => format!(", {count} bends"),
            };
            let caption = format!(
                "{}, laid flat: {} × {}{bends}",
                cleaned(&part.name),
                size(bounds.width()),
                size(bounds.height())
            );
            self.environment.say(&format!("\n{}{}", picture.text(), wrapped("", 0, &caption)));
        }
        self.environment.say("\n");
    }

    /// Pieces at hand.
    pub(super) fn pieces(&mut self, unit: Unit, typed: &[String]) -> Result<Vec<Told>, Stop> {
        let read: Result<Vec<Told>, Complaint> = typed.iter().map(|text| Told::parse(text, unit)).collect();
        let mut pieces = read.map_err(Stop::bad_input)?;
        while self.is_asking && typed.is_empty() {
            let example =
                if unit.is_metric() { "600 x 340, 2 of 500 x 300 @ 9.50" } else { "30 x 18, 2 of 24 x 12 @ 9.50" };
            let more = if pieces.is_empty() { "A piece at hand" } else { "Another piece" };
            let answer = self.line(&format!("{more} ({example}; Enter when there is no other): "))?;
            if answer.is_empty() {
                break;
            }
            match Told::parse(&answer, unit) {
                Ok(piece) => pieces.push(piece),
                Err(complaint) => self.environment.complain(&[complaint], self.ink),
            }
        }
        Ok(pieces)
    }
}

/// Inches or millimetres, as people type them.
fn unit_word(answer: &str) -> Option<Unit> {
    match answer {
        "in" | "inch" | "inches" | "i" | "\"" => Some(Unit::Inch),
        "mm" | "millimetre" | "millimetres" | "millimeters" | "m" => Some(Unit::Millimetre),
        other => other.parse().ok(),
    }
}
