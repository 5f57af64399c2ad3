//! `docs/bent-part.md`: one part followed by hand from its bend table. The page is made of the computed numbers, and every
//! sum in it is worked out again here from the formulas as they are printed; run with `DROPWISE_WRITE_DOCS=1` to write it.

use std::f64::consts::FRAC_PI_2;
use std::fmt::Write as _;
use std::path::Path;

use dropwise_formats::parse_job;
use dropwise_shop::fold::RunRow;

const JOB: &str = r#"[defaults]
material = "mild steel"
thickness = "2 mm"

[clearances]
process = "plasma"

[bending]
inside_radius = 3
k = 0.44

[[parts]]
name = "cable hook"
rectangle = { width = 60, height = 80 }
holes = [{ diameter = 6.6, at = [30, 20] }]
flanges = [
    { name = "arm", edge = "top", height = 50 },
    { name = "tip", on = "arm", height = 25, angle = 60 },
]

[[sheets]]
name = "drop 1"
rectangle = { width = 400, height = 300 }
"#;

/// A number as the page prints it, and as whoever follows it by hand has it.
fn printed(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}

fn page() -> String {
    let job = parse_job(Path::new("hook.toml"), JOB).unwrap_or_else(|errors| panic!("{errors:#?}"));
    let bent = job.parts[0].bent.as_deref().expect("a bent part");
    let mut text = String::from(
        "<!-- Generated from the part itself: change its test, not this page. -->\n\n# A bent part, followed by hand\n\n\
         Everything on this page can be worked out with a pocket calculator, and should be by whoever trusts it with a\n\
         sheet. The formulas: K-Factor, Bend Allowance and Bend Deduction (confirmed). With the thickness T, the inside\n\
         radius R and the turn A in degrees:\n\n\
         - bend allowance BA = A × π/180 × (R + K T): the flat length of the bend zone\n\
         - outside setback SB = (R + T) × tan(A/2): from where the bend begins to the outside corner\n\
         - bend deduction BD = 2 SB − BA: what to take off the sum of the two legs\n\nThe job:\n\n```toml\n",
    );
    text.push_str(JOB);
    text.push_str(
        "```\n\n## Bend table\n\n| bend | face | from | turn | direction | R | K | BA | SB | BD | bend line |\n\
         |---|---|---|---|---|---|---|---|---|---|---|\n",
    );
    for row in &bent.table.bends {
        let (setback, deduction) = (row.setback.expect("a corner"), row.deduction.expect("a corner"));
        let _ = writeln!(
            text,
            "| {} | {} | {} | {}° | {} | {} | {} | {:.3} | {:.3} | {:.3} | {:.3} |",
            row.number,
            row.face,
            row.parent,
            row.turn,
            row.direction,
            row.inside_radius,
            printed(row.k),
            row.allowance,
            setback,
            deduction,
            row.length
        );
    }
    text.push_str("\nAll lengths in mm. By hand:\n\n");
    for row in &bent.table.bends {
        let (a, r, k) = (row.turn, row.inside_radius, printed(row.k));
        let _ = writeln!(
            text,
            "- bend {}: BA = {a} × π/180 × ({r} + {k} × 2) = {:.3}; SB = ({r} + 2) × tan({}°) = {:.3}; BD = 2 × {:.3} − {:.3} = {:.3}",
            row.number,
            row.allowance,
            a / 2.0,
            row.setback.expect("a corner"),
            row.setback.expect("a corner"),
            row.allowance,
            row.deduction.expect("a corner"),
        );
    }
    let run = &bent.table.runs[0];
    text.push_str(
        "\n## From the free edge of the tip to the foot of the base\n\nEach leg is told to the outside corner, so each bend beside it takes its \
         setback off. Sums are made of the unrounded numbers, so a last digit may differ by one.\n\n| | told | taken before | taken after | adds | so far |\n|---|---|---|---|---|---|\n",
    );
    for row in &run.rows {
        match row {
            RunRow::Leg { face, told, taken_before, taken_after, straight, running } => {
                let _ = writeln!(
                    text,
                    "| {face} | {told:.3} | {taken_before:.3} | {taken_after:.3} | {straight:.3} | {running:.3} |"
                );
            }
            RunRow::Bend { number, allowance, running } => {
                let _ = writeln!(text, "| bend {number} | | | | {allowance:.3} | {running:.3} |");
            }
        }
    }
    let _ = writeln!(
        text,
        "\nThe same in one line: the legs as told, {:.3}, less the deductions of all bends, {:.3}, are **{:.3} mm** flat.",
        run.told, run.deducted, run.flat_length
    );
    text.push_str("\n## Where to mark\n\nFrom the lower edge of the blank, along the base:\n\n");
    for bend in &bent.unfolding.bends {
        let _ = writeln!(
            text,
            "- bend line of {}: {:.3} mm (the bend begins at {:.3} and ends at {:.3})",
            bent.unfolding.faces[bend.face].name, bend.line[0].y, bend.start[0].y, bend.end[0].y
        );
    }
    let hole = &bent.unfolding.holes[0];
    let _ = writeln!(
        text,
        "- hole of {:.1}: {:.3} mm up, {:.3} mm in from the left",
        hole.diameter.unwrap_or(0.0),
        hole.center.y,
        hole.center.x
    );
    text.push_str(
        "\nThe flat pattern is right when the strip of your own metal says so: bend one (`docs/test-strips.md`) before a batch.\n",
    );
    text
}

#[test]
fn the_page_is_fresh() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/bent-part.md");
    if std::env::var_os("DROPWISE_WRITE_DOCS").is_some() {
        std::fs::write(&path, page()).expect("a page that can be written");
        return;
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(written == page(), "docs/bent-part.md is stale: run this test with DROPWISE_WRITE_DOCS=1 and commit it");
}

/// Elementary trigonometry with the sizes as written in the job, independent of the library.
#[test]
fn every_number_of_the_page_follows_from_the_job() {
    let (t, r, k) = (2.0, 3.0, 0.44);
    let (square, slight) = (FRAC_PI_2, std::f64::consts::FRAC_PI_3);
    let allowance = |turn: f64| turn * (r + k * t);
    let setback = |turn: f64| (r + t) * (turn / 2.0).tan();
    let base = 80.0 - setback(square);
    let arm = 50.0 - setback(square) - setback(slight);
    let tip = 25.0 - setback(slight);
    let first = [base, base + allowance(square) / 2.0, base + allowance(square)];
    let second = first[2] + arm;
    let flat = second + allowance(slight) + tip;
    let page = page();
    let numbers = [
        allowance(square),
        setback(square),
        2.0 * setback(square) - allowance(square),
        allowance(slight),
        setback(slight),
        2.0 * setback(slight) - allowance(slight),
        base,
        arm,
        tip,
        first[0],
        first[1],
        first[2],
        second,
        second + allowance(slight) / 2.0,
        second + allowance(slight),
        flat,
        tip + allowance(slight),
        tip + allowance(slight) + arm,
    ];
    for number in numbers {
        let shown = format!("{:.3}", printed(number));
        assert!(page.contains(&shown), "{shown} is not on the page");
    }
    // Whoever adds up the printed numbers, rounded to a thousandth, is off by no more than that rounding.
    let by_hand = printed(base) + printed(allowance(square)) + printed(arm) + printed(allowance(slight)) + printed(tip);
    assert!((by_hand - flat).abs() <= 5.0 * 0.0005);
}
