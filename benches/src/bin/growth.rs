//! How time grows with size, for steps that a slip once made quadratic or worse: the time at twice the size over that at
//! once, in one run. Near 2 is linear, 4 is quadratic.
#![allow(clippy::print_stdout, reason = "a program that prints what it measured")]

use std::f64::consts::TAU;
use std::hint::black_box;
use std::time::Instant;

use dropwise_formats::drawing::DrawingOptions;
use dropwise_formats::dxf::read_dxf;
use dropwise_formats::svg::read_svg;
use dropwise_geometry::{Isometry, Outline, Point, Polygon, Shape, Vertex, largest_rectangle, offset};
use dropwise_model::{Clearances, Job, Layout, LeftoverRule, Part, Placement, Sheet, SheetUse, StockClass, certify};

/// Each size is timed so often; the least time counts.
const RUNS: usize = 5;

fn seconds(work: &dyn Fn()) -> f64 {
    let run = || {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64()
    };
    (0..RUNS).map(|_| run()).fold(f64::INFINITY, f64::min)
}

fn tell(name: &str, size: usize, work: impl Fn(usize)) {
    let (once, twice) = (seconds(&|| work(size)), seconds(&|| work(2 * size)));
    println!("{name:<42} {size:>6}  {:>9.2} ms  {:>9.2} ms  x {:.2}", once * 1e3, twice * 1e3, twice / once);
}

fn rim(count: usize) -> impl Iterator<Item = Point> {
    (0..count).map(move |i| {
        let angle = TAU * i as f64 / count as f64;
        Point::new(50.0 * angle.cos(), 50.0 * angle.sin())
    })
}

fn gear(teeth: usize) -> Outline {
    let corner = |i: usize| {
        let (radius, angle) = (if i.is_multiple_of(2) { 20.0 } else { 17.0 }, TAU * i as f64 / teeth as f64);
        Vertex::arc(Point::new(radius * angle.cos(), radius * angle.sin()), 0.1)
    };
    Outline::new((0..teeth).map(corner).collect())
}

/// Gears of 48 arcs in rows of 25, a millimetre apart.
fn tiled(count: usize) -> (Job, Layout) {
    let class = StockClass::new("plate");
    let shape = Shape::new(gear(48), vec![Outline::circle(Point::ORIGIN, 5.0)]);
    let bounds = shape.bounds();
    let (pitch, rows) = (bounds.width() + 1.0, count.div_ceil(25) as f64);
    let part = Part { quantity: count as u32, ..Part::new("gear", shape, class.clone()) };
    let room = Shape::new(Outline::rectangle(Point::ORIGIN, 25.0 * pitch, rows * pitch), Vec::new());
    let sheet = Sheet::new("sheet", room, class);
    let rule = LeftoverRule { length: 1e6, width: 1e6, neck: 0.0 };
    let job = Job::new(vec![part], vec![sheet], Clearances::default(), rule).expect("a sound job");
    let place = |i: usize| {
        let (x, y) = ((i % 25) as f64 * pitch - bounds.min.x, (i / 25) as f64 * pitch - bounds.min.y);
        Placement { part: 0, position: Isometry::translation(x, y) }
    };
    let placements = (0..count).map(place).collect();
    let layout = Layout { sheets: vec![SheetUse { sheet: 0, length: None, placements }], unplaced: Vec::new() };
    (job, layout)
}

fn plate_of_holes(count: usize) -> String {
    let hole = |i: usize| format!("0|CIRCLE|8|0|10|{}|20|{}|40|3|", i % 100 * 10 + 5, i / 100 * 10 + 5);
    let (holes, top): (String, usize) = ((0..count).map(hole).collect(), count.div_ceil(100) * 10);
    let plate = format!("0|LWPOLYLINE|8|0|70|1|10|0|20|0|10|1000|20|0|10|1000|20|{top}|10|0|20|{top}|");
    format!("0|SECTION|2|ENTITIES|{holes}{plate}0|ENDSEC|0|EOF|").replace('|', "\n")
}

/// Some 40 bytes a hole.
fn svg_of_holes(count: usize) -> String {
    let hole = |i: usize| format!("<circle cx=\"{}\" cy=\"{}\" r=\"3\"/>", i % 100 * 10 + 5, i / 100 * 10 + 5);
    let (holes, height): (String, usize) = ((0..count).map(hole).collect(), count.div_ceil(100) * 10);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000mm\" height=\"{height}mm\" viewBox=\"0 0 1000 {height}\">\
         <g fill=\"none\" stroke=\"black\" stroke-width=\"0.1\"><rect width=\"1000\" height=\"{height}\"/>{holes}</g></svg>"
    )
}

/// One outline of so many corners in one path, some 16 bytes a corner.
fn svg_of_one_path(corners: usize) -> String {
    let points: String = rim(corners).map(|p| format!("{:.3} {:.3} ", p.x + 50.0, p.y + 50.0)).collect();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"100mm\" viewBox=\"0 0 100 100\">\
         <path fill=\"none\" stroke=\"black\" stroke-width=\"0.1\" d=\"M{points}Z\"/></svg>"
    )
}

fn main() {
    println!("{:<42} {:>6}  {:>12}  {:>12}  ratio", "step", "size", "once", "twice");
    tell("shrink a disc of so many corners", 1000, |corners| {
        let plate = Polygon::new(rim(corners).collect(), Vec::new());
        black_box(offset(&[plate], -40.0, 0.01).expect("areas balance"));
    });
    tell("find faults of a gear of so many arcs", 4000, |teeth| {
        black_box(Shape::new(gear(teeth), Vec::new()).faults());
    });
    tell("largest rectangle among so many corners", 200, |corners| {
        black_box(largest_rectangle(&Polygon::new(rim(corners).collect(), Vec::new()), &[0.0, 15.0, 30.0]));
    });
    tell("certify so many gears", 500, |count| {
        let (job, layout) = tiled(count);
        black_box(certify(&job, &layout)).expect("a grid");
    });
    tell("read a plate of so many holes", 5000, |holes| {
        black_box(read_dxf(plate_of_holes(holes).as_bytes(), &DrawingOptions::default())).expect("a plate");
    });
    tell("read an SVG of so many holes", 12_500, |holes| {
        let svg = svg_of_holes(holes);
        black_box(read_svg(&svg, &DrawingOptions::default())).expect("a plate");
    });
    tell("read an SVG path of so many corners", 30_000, |corners| {
        let svg = svg_of_one_path(corners);
        black_box(read_svg(&svg, &DrawingOptions::default())).expect("a disc");
    });
}
