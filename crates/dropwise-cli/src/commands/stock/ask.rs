//! Asking for a piece step by step.

use super::add::{Add, pieces};
use super::describe::in_words;
use super::desk::Desk;
use super::form::{Form, two_sides};
use crate::complaint::{Complaint, Stop};
use crate::environment::Environment;
use crate::text::wrapped;

/// Asks for all that `stock add` takes. An answer that cannot be is told and asked for again.
///
/// # Errors
/// Where nobody sits, or whoever sat there went away.
pub(crate) fn ask_for_piece(desk: &Desk, environment: &mut Environment<'_>) -> Result<Add, Stop> {
    if !environment.has_answers() {
        let complaint = Complaint::new("nothing was said of the piece, and there is no terminal to ask at");
        let cure = "Give --material, --thickness and an outline: `dropwise stock add --help` has examples";
        return Err(Stop::bad_input(complaint.with_cure(cure)));
    }
    environment.say(&wrapped(
        "",
        0,
        &format!(
            "A piece for the rack. Bare lengths are in {}; other units may follow the number. An empty answer leaves out \
             what need not be known. Ctrl-C ends it with nothing written down.",
            desk.unit
        ),
    ));
    let mut add = Add { quantity: 1, ..Add::default() };
    let material = until(environment, desk, "Metal (mild steel, galvanized steel, 304, 5052, ...): ", |text| {
        desk.material("", text).map(|material| (text.to_owned(), material))
    })?;
    add.material = Some(material.0);
    let thickness = until(environment, desk, "Thickness as sold (16 ga, 3 mm, 1/8 in): ", |text| {
        desk.thickness("", text, material.1).map(|_| text.to_owned())
    })?;
    add.thickness = Some(thickness);
    add.form = ask_for_form(desk, environment)?;
    loop {
        let text = line(environment, "Damage to stay out of (150 x 80 at 0, 300, or 60 at 120, 80; Enter for none): ")?;
        if text.is_empty() {
            break;
        }
        let mut with_zone = add.form.clone();
        with_zone.damage.push(text);
        match with_zone.read(desk) {
            Ok(_) => add.form = with_zone,
            Err(stop) => environment.complain(&stop.complaints, desk.stderr_ink),
        }
    }
    let text = |question: &str, environment: &mut Environment<'_>| -> Result<Option<String>, Stop> {
        Ok(Some(line(environment, question)?).filter(|text| !text.is_empty()))
    };
    add.price = optional(environment, desk, "Price paid (18.50, or 0.42 per lb; Enter for none): ", |text| {
        if text.eq_ignore_ascii_case("paid") {
            return Ok(());
        }
        let read = dropwise_shop::Price::parse(text, desk.coinage);
        read.map(|_| ()).map_err(|error| Complaint::new(format!("\"{}\": {error}", crate::text::shortened(text, 60))))
    })?;
    add.notes.place = text("Place in the rack: ", environment)?;
    add.notes.grade = text("Grade or temper: ", environment)?;
    add.notes.measured =
        optional(environment, desk, "Thickness as measured: ", |text| desk.length("", text).map(|_| ()))?;
    add.notes.coating = text("Coating: ", environment)?;
    add.notes.grain =
        optional(environment, desk, "Grain (x, y, or degrees): ", |text| desk.grain("", text).map(|_| ()))?;
    add.notes.supplier = text("Bought from: ", environment)?;
    add.notes.heat = text("Heat number: ", environment)?;
    add.notes.certificate = text("Where its mill certificate is: ", environment)?;
    add.notes.photo = text("Path of a photo: ", environment)?;
    add.notes.notes = text("Notes: ", environment)?;
    // What hangs together is checked as a whole, before anything is written.
    for sheet in pieces(&add, desk, environment)? {
        let summary = format!("{}, {}", in_words(&sheet.details, desk), desk.money(sheet.paid));
        environment.say(&wrapped("  ", 2, &summary));
    }
    let answer = line(environment, "Write it down? [Y/n] ")?;
    if answer.is_empty() || answer.to_lowercase().starts_with('y') { Ok(add) } else { Err(given_up()) }
}

fn ask_for_form(desk: &Desk, environment: &mut Environment<'_>) -> Result<Form, Stop> {
    environment.say("Outline: 1 rectangle, 2 disc, 3 corners, 4 measured with a tape, 5 a drawing\n");
    loop {
        let mut form = Form::default();
        match line(environment, "Which? [1] ")?.as_str() {
            "" | "1" => {
                let sides = line(environment, "Its sides (780 x 520): ")?;
                // Somebody may type one side and be asked for the other.
                let sides = match two_sides(&sides) {
                    Some(_) => sides,
                    None => format!("{sides} x {}", line(environment, "And the other side: ")?),
                };
                form.rectangle = Some(sides);
            }
            "2" => form.circle = Some(line(environment, "Its diameter: ")?),
            "3" => {
                form.outline = Some(line(environment, "Its corners in order (0,0; 820,0; 800,410; 0,400): ")?);
            }
            "4" => {
                form.tape = Some(line(environment, "Its sides in order, counter-clockwise (820, 410, 790, 505): ")?);
                loop {
                    let diagonal = line(environment, "A diagonal (1-3 = 915; Enter when there is no other): ")?;
                    if diagonal.is_empty() {
                        break;
                    }
                    form.diagonal.push(diagonal);
                }
                let inward = line(environment, "Corners that point inwards (4; Enter for none): ")?;
                form.inward = inward.split([',', ' ']).filter(|word| !word.is_empty()).map(str::to_owned).collect();
            }
            "5" => form.drawing = Some(line(environment, "File (DXF or SVG): ")?.into()),
            _ => {
                environment.say("Type a number from 1 to 5.\n");
                continue;
            }
        }
        match form.read(desk) {
            Ok(_) => return Ok(form),
            Err(stop) => environment.complain(&stop.complaints, desk.stderr_ink),
        }
    }
}

/// A line that was typed.
fn line(environment: &mut Environment<'_>, question: &str) -> Result<String, Stop> {
    environment.ask(question).ok_or_else(given_up)
}

/// Asks until the answer can be.
fn until<T>(
    environment: &mut Environment<'_>,
    desk: &Desk,
    question: &str,
    read: impl Fn(&str) -> Result<T, Complaint>,
) -> Result<T, Stop> {
    loop {
        match read(&line(environment, question)?) {
            Ok(value) => return Ok(value),
            Err(complaint) => environment.complain(&[complaint], desk.stderr_ink),
        }
    }
}

/// Asks until the answer is empty or can be.
fn optional(
    environment: &mut Environment<'_>,
    desk: &Desk,
    question: &str,
    check: impl Fn(&str) -> Result<(), Complaint>,
) -> Result<Option<String>, Stop> {
    until(environment, desk, question, |text| {
        if text.is_empty() {
            return Ok(None);
        }
        check(text).map(|()| Some(text.to_owned()))
    })
}

fn given_up() -> Stop {
    Stop::bad_input(Complaint::new("nothing was written down"))
}
