//! Camera and homography beside those of a general computer-vision library, on the same corners.
#![allow(clippy::print_stderr, reason = "a test that is skipped says so")]

mod scene;

use std::io::Write as _;
use std::process::{Command, Stdio};

use dropwise_geometry::Point;
use dropwise_photo::{Calibration, Homography, ScaleSheet, SheetPaper, Sighting};
use serde_json::{Value, json};

use scene::{camera, grain};

/// What the library makes of the corners: a homography and a camera, and where they send some places.
const PROGRAM: &str = r"
import json, sys
import numpy as np, cv2
given = json.load(sys.stdin)
plane = [np.array([[p[0][0], p[0][1], 0.0] for p in view], np.float32) for view in given['views']]
pixels = [np.array([p[1] for p in view], np.float32) for view in given['views']]
h, _ = cv2.findHomography(np.array([p[0] for p in given['flat']], np.float64), np.array([p[1] for p in given['flat']], np.float64), 0)
rms, k, d, r, t = cv2.calibrateCamera(plane, pixels, tuple(given['size']), None, None,
    criteria=(cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 200, 1e-12))
probe = np.array([[x, y, z] for x, y, z in given['probe']], np.float64)
seen = cv2.projectPoints(probe, r[0], t[0], k, d)[0].reshape(-1, 2)
by_homography = cv2.perspectiveTransform(probe[None, :, :2], h)[0]
# The library's own model of the true camera, to compare models and not only fits.
true = given['true']
rotation = cv2.Rodrigues(np.array(true['rotation'], np.float64))[0]
exact = cv2.projectPoints(probe, rotation, np.array(true['translation'], np.float64), np.array(true['matrix'], np.float64), np.array(true['distortion'], np.float64))[0].reshape(-1, 2)
json.dump(dict(rms=rms, seen=seen.tolist(), homography=by_homography.tolist(), exact=exact.tolist()), sys.stdout)
";

#[test]
fn homography_and_distortion_agree_with_a_general_library() {
    let has_library =
        Command::new("python3").args(["-c", "import cv2, numpy"]).output().is_ok_and(|run| run.status.success());
    if !has_library {
        assert!(std::env::var_os("DROPWISE_REQUIRE_REFERENCES").is_none(), "python3 with opencv and numpy is missing");
        eprintln!("skipped: python3 with opencv and numpy is not there");
        return;
    }
    let size = (1600, 1200);
    let sheet = ScaleSheet { paper: SheetPaper::A4, page: 1 };
    // Tilted enough that focal length and distance can be told apart, so that what is known of lenses beforehand matters little.
    let cameras = [(28.0, 30.0), (32.0, 140.0), (30.0, 260.0), (12.0, 80.0)]
        .map(|(tilt, turn)| camera(size, Point::new(105.0, 148.0), 430.0, tilt, turn));
    let views: Vec<Vec<([f64; 2], [f64; 2])>> = cameras
        .iter()
        .enumerate()
        .map(|(index, view)| {
            let crossings = sheet.crossings().into_iter().enumerate();
            crossings
                .map(|(k, (column, row))| {
                    let at = sheet.lattice(column, row);
                    let [u, v] = view.project(at.x, at.y, 0.0);
                    let noise = |salt: i64| 0.03 * grain(k as i64, 10 * index as i64 + salt);
                    ([at.x, at.y], [u + noise(1), v + noise(2)])
                })
                .collect()
        })
        .collect();
    let probe: Vec<[f64; 3]> = [
        [25., 30., 0.],
        [185., 30., 0.],
        [185., 265., 0.],
        [25., 265., 0.],
        [105., 148., 0.],
        [60., 200., 5.],
        [150., 80., 5.],
    ]
    .into();
    let truth = &cameras[0];
    let matrix = {
        let [cx, cy] = truth.lens.principal_point;
        let f = truth.lens.focal_length;
        [[f, 0.0, cx], [0.0, f, cy], [0.0, 0.0, 1.0]]
    };
    let [k1, k2, k3] = truth.lens.radial;
    let [p1, p2] = truth.lens.tangential;
    // A homography alone knows no lens: corners as one without distortion sees them.
    let mut plain = cameras[0];
    (plain.lens.radial, plain.lens.tangential) = ([0.0; 3], [0.0; 2]);
    let flat: Vec<([f64; 2], [f64; 2])> = views[0]
        .iter()
        .enumerate()
        .map(|(k, (at, _))| {
            let [u, v] = plain.project(at[0], at[1], 0.0);
            (*at, [u + 0.03 * grain(k as i64, 91), v + 0.03 * grain(k as i64, 92)])
        })
        .collect();
    let given = json!({
        "flat": flat,
        "size": size,
        "views": views,
        "probe": probe,
        "true": {
            "matrix": matrix,
            "distortion": [k1, k2, p1, p2, k3],
            "rotation": truth.rotation.matrix().row_iter().map(|row| row.iter().copied().collect::<Vec<_>>()).collect::<Vec<_>>(),
            "translation": truth.translation.as_slice(),
        },
    });
    let theirs = ask(&given);
    let places = |key: &str| -> Vec<[f64; 2]> { serde_json::from_value(theirs[key].clone()).unwrap() };
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let sightings: Vec<Sighting> =
        views.iter().map(|points| Sighting { size, focal_length: None, pages: vec![(0, points.clone())] }).collect();
    let ours = Calibration::fit(&sightings, 1).unwrap();
    let homography = Homography::fit(&flat).unwrap();
    for (k, &[x, y, z]) in probe.iter().enumerate() {
        // The model of the lens is the same: to rounding.
        assert!(apart(truth.project(x, y, z), places("exact")[k]) < 1e-3, "model {k}");
        // Two fits to the same noisy corners, as far as they reach: to a tenth of a pixel, and both near the truth.
        assert!(apart(ours.views[0].project(x, y, z), places("seen")[k]) < 0.1, "camera {k}");
        assert!(apart(ours.views[0].project(x, y, z), truth.project(x, y, z)) < 0.1, "truth {k}");
        if z == 0.0 {
            assert!(apart(homography.map([x, y]), places("homography")[k]) < 0.02, "homography {k}");
        }
    }
}

fn ask(given: &Value) -> Value {
    let mut python = Command::new("python3")
        .args(["-c", PROGRAM])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python3 was there a moment ago");
    python.stdin.take().unwrap().write_all(given.to_string().as_bytes()).unwrap();
    let answer = python.wait_with_output().unwrap();
    assert!(answer.status.success());
    serde_json::from_slice(&answer.stdout).unwrap()
}
