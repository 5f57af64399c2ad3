//! Presets against the published table, process by process.

use std::collections::HashMap;

use super::*;
use crate::source::Status;

fn at(process: Process, millimetres: f64) -> Preset {
    process.preset(Thickness::new(millimetres).unwrap())
}

/// The whole table in 3 mm sheet: kerf range, web, margin. Laser, waterjet and plasma kerf: Laser vs waterjet vs plasma
/// guide; wheel: Cutoff wheel thickness (0.040, 0.045, 1/16 to 0.125 in); plasma web: Plasma cutting design table; the
/// rest from memory.
#[test]
fn every_process_in_three_millimetre_sheet() {
    let table = [
        (Process::CutoffWheel, (1.2, 3.675), 1.493, 5.993, 3.0),
        (Process::Bandsaw, (0.9, 1.6), 1.25, 5.75, 3.0),
        (Process::Jigsaw, (1.0, 1.3), 1.15, 5.65, 3.0),
        (Process::Shear, (0.0, 0.0), 0.0, 0.0, 0.0),
        (Process::Plasma, (1.5, 3.0), 2.25, 5.0, 10.0),
        (Process::OxyFuel, (1.0, 1.5), 1.25, 10.0, 12.5),
        (Process::Laser, (0.1, 0.3), 0.2, 3.0, 7.5),
        (Process::Waterjet, (0.8, 1.2), 1.0, 2.5, 7.5),
        (Process::HandNibbler, (2.0, 8.0), 5.0, 9.5, 3.0),
    ];
    assert_eq!(table.map(|row| row.0), Process::ALL, "a process without a check");
    for (process, published, kerf, web, margin) in table {
        let preset = at(process, 3.0);
        assert_eq!(preset.process, process);
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(near(preset.kerf.published.0, published.0) && near(preset.kerf.published.1, published.1), "{process}");
        for ((name, figure), expected) in preset.figures().into_iter().zip([kerf, web, margin]) {
            assert!(near(figure.millimetres, expected), "{process}: {name} {}", figure.millimetres);
        }
    }
}

/// The three whose figures go with the thickness, at both sides of each step.
#[test]
fn thickness_matters_where_the_source_says_so() {
    for (process, thickness, kerf, web) in [
        (Process::Laser, 1.0, 0.2, 2.5),
        (Process::Laser, 2.5, 0.2, 2.5),
        (Process::Laser, 12.0, 0.2, 12.0),
        (Process::Waterjet, 5.0, 1.0, 2.5),
        (Process::Waterjet, 12.0, 1.0, 6.0),
        (Process::OxyFuel, 6.0, 1.25, 10.0),
        (Process::OxyFuel, 6.001, 2.0, 10.0),
        (Process::OxyFuel, 25.0, 2.0, 25.0),
    ] {
        let preset = at(process, thickness);
        assert_eq!((preset.kerf.millimetres, preset.web.millimetres), (kerf, web), "{process} {thickness} mm");
    }
}

#[test]
fn every_preset_makes_clearances_lies_in_its_range_and_names_a_source() {
    for process in Process::ALL {
        for thickness in [0.02, 0.5, 1.5, 3.0, 6.0, 12.0, 25.0, 50.0, 200.0] {
            let preset = at(process, thickness);
            let clearances = preset.clearances().unwrap();
            assert_eq!(clearances.kerf(), preset.kerf.millimetres);
            assert_eq!(clearances.web(), preset.web.millimetres);
            assert_eq!(clearances.margin(), preset.margin.millimetres);
            for (name, figure) in preset.figures() {
                let (low, high) = figure.published;
                assert!((low..=high).contains(&figure.millimetres), "{process} {thickness} mm: {name}");
                let is_recalled = matches!(figure.source.status, Status::FromMemory | Status::CommonPractice);
                assert!(is_recalled || !figure.source.title.is_empty(), "{process}: {name}");
            }
        }
    }
}

#[test]
fn every_name_and_alias_is_understood_and_belongs_to_one_process() {
    let mut owners = HashMap::new();
    for process in Process::ALL {
        assert_eq!(process.to_string().parse(), Ok(process));
        for (_, name) in names_of(process) {
            assert_eq!(name.parse(), Ok(process), "{name}");
            assert_eq!(name.to_uppercase().replace(' ', "_").parse(), Ok(process), "{name}");
            assert_eq!(owners.insert(folded(name), process), None, "`{name}` stands twice");
        }
    }
}

#[test]
fn a_miss_names_the_nearest() {
    for (typed, nearest) in [
        ("plasm", Some("plasma")),
        ("lazer", Some("laser")),
        ("cut-of wheel", Some("cut off wheel")),
        ("axe", None),
        ("", None),
    ] {
        assert_eq!(typed.parse::<Process>(), Err(ProcessError { typed: typed.to_owned(), nearest }), "{typed}");
    }
    assert_eq!(
        "axe".parse::<Process>().unwrap_err().to_string(),
        "no cutting process is called `axe`; known are cutoff wheel, bandsaw, jigsaw, shear, plasma, oxy-fuel, laser, \
         waterjet, hand nibbler"
    );
}

#[test]
fn the_shear_alone_cuts_edge_to_edge_and_sparks_make_hot_work() {
    let edge_to_edge: Vec<Process> = Process::ALL.into_iter().filter(|process| process.is_edge_to_edge()).collect();
    assert_eq!(edge_to_edge, [Process::Shear]);
    let hot: Vec<Process> = Process::ALL.into_iter().filter(|process| process.is_hot()).collect();
    assert_eq!(hot, [Process::CutoffWheel, Process::Plasma, Process::OxyFuel, Process::Laser]);
}
