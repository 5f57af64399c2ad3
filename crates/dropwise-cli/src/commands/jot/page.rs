//! The job file that is written, with remarks for whoever opens it next.

use std::fmt::Write as _;

use super::Answers;
use crate::commands::draft::quoted;

/// The text of the job file `file`, which holds these `[[parts]]` tables.
pub(super) fn text(answers: &Answers, parts: &str, file: &str) -> String {
    let file = if file.contains(' ') { format!("'{file}'") } else { file.to_owned() };
    let mut text = String::from("# A job for dropwise. Everything after a # is a remark.\n#\n");
    let mut step = |line: &str, tale: &str| {
        let _ = writeln!(text, "#   {line:<36} {tale}");
    };
    step(&format!("dropwise check {file}"), "what the tools and the metal cannot do");
    if answers.form.is_bent() {
        step(&format!("dropwise flat {file}"), "the flat pattern and the order of bends");
    }
    step(&format!("dropwise nest {file} --out plan"), "the nest, with drawings");
    let _ = write!(
        text,
        "#\n# Lengths may carry fractions and units of their own: \"12 3/8\", \"40 mm\".\n\n\
         name = {}\nunit = {}        # of bare numbers, and of what is printed\n\n\
         [defaults]\nmaterial = {}\nthickness = {}\n\n\
         [clearances]\nprocess = {}   # brings its usual kerf, web and edge margin\n\n",
        quoted(&answers.name),
        quoted(answers.unit.symbol()),
        quoted(&answers.metal.0),
        quoted(&answers.thickness.0),
        quoted(&answers.process),
    );
    text.push_str(parts);
    if answers.pieces.is_empty() {
        let side = if answers.unit.is_metric() { ("600", "340") } else { ("30", "18") };
        let _ = write!(
            text,
            "\n# No piece to cut it from is told yet. Either nest it on the rack (--from-stock), or write one table for each:\n\
             # [[sheets]]\n# name = \"drop 1\"\n# rectangle = {{ width = {}, height = {} }}\n# price = 9.50\n",
            side.0, side.1
        );
        return text;
    }
    text.push_str("\n# What there is to cut, one table for each piece or for several alike.\n");
    for (index, piece) in answers.pieces.iter().enumerate() {
        let _ = write!(text, "[[sheets]]\n{}", piece.keys(&format!("piece {}", index + 1)));
    }
    text
}
