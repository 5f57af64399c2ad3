//! Files written by hand.

use super::*;

#[test]
fn smoke() {
    let file = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\nCUT\n10\n30\n20\n40\n40\n5\n0\nENDSEC\n0\nEOF\n";
    let drawing = read_dxf(file.as_bytes(), &DrawingOptions::default()).unwrap();
    assert!((drawing.shapes[0].shape.area() - 25.0 * std::f64::consts::PI).abs() < 1e-9);
}
