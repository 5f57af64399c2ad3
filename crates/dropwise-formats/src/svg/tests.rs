//! Files written by hand.

use super::*;

fn picture(body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"200mm\" \
         height=\"100mm\" viewBox=\"0 0 200 100\">\n{body}\n</svg>"
    )
}

fn read(body: &str) -> Result<Drawing, SvgError> {
    read_svg(&picture(body), &DrawingOptions::for_file("test.svg"))
}

#[test]
fn smoke() {
    let drawing = read("<circle cx='50' cy='50' r='10'/>").unwrap();
    assert!((drawing.shapes[0].shape.area() - 100.0 * std::f64::consts::PI).abs() < 1e-9);
}
