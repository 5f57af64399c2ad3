#![allow(dead_code, missing_docs, unreachable_pub, reason = "shared by tests that each use a part")]
//! Small photographs made up for the tests: a plane seen by a camera with distortion, a sheet, and a plate above the plane.

use dropwise_geometry::{Outline, Point, Shape, Vector};
use dropwise_photo::{Lens, MODULE, MODULES, PITCH, RULED_SQUARE, ScaleSheet, SheetPaper, View};
use image::{Rgb, RgbImage};
use nalgebra::{Matrix3, Rotation3, Vector3};
use qrcodegen::{QrCode, QrCodeEcc};

/// What lies on the ground, and who looks at it.
pub struct Scene {
    pub view: View,
    pub size: (u32, u32),
    pub thing: Shape,
    pub thickness: f64,
    /// Where the lower left corner of each sheet lies.
    pub sheets: Vec<(ScaleSheet, Point)>,
    /// Printed size over true size.
    pub stretch: f64,
    pub blur: f32,
    /// Colours of ground and thing.
    pub colours: [[f64; 3]; 2],
    /// A zone on the thing in another colour.
    pub mark: Option<(Outline, [f64; 3])>,
}

/// A camera at a height, tilted and turned, that looks at a place.
pub fn camera(size: (u32, u32), at: Point, height: f64, tilt_deg: f64, turn_deg: f64) -> View {
    let (width, depth) = (f64::from(size.0), f64::from(size.1));
    let (sin, cos) = tilt_deg.to_radians().sin_cos();
    let around = turn_deg.to_radians();
    let eye = Vector3::new(at.x + height * sin * around.cos(), at.y + height * sin * around.sin(), height * cos);
    let axis = (Vector3::new(at.x, at.y, 0.0) - eye).normalize();
    let across = axis.cross(&Vector3::new(0.2, 1.0, 0.0)).normalize();
    let down = axis.cross(&across);
    let rotation =
        Rotation3::from_matrix(&Matrix3::from_rows(&[across.transpose(), down.transpose(), axis.transpose()]));
    let lens = Lens {
        focal_length: 0.82 * width,
        principal_point: [0.505 * width, 0.49 * depth],
        radial: [0.06, -0.02, 0.0],
        tangential: [0.0004, -0.0003],
    };
    View { lens, rotation, translation: -(rotation * eye) }
}

impl Scene {
    /// A plate of 180 x 120 mm with a hole of 20 mm and one of 9 mm, beside one sheet.
    pub fn plate() -> Self {
        let size = (1600, 1200);
        let ring = Outline::rectangle(Point::new(240.0, 60.0), 180.0, 120.0);
        let holes =
            vec![Outline::circle(Point::new(280.0, 100.0), 10.0), Outline::circle(Point::new(390.0, 150.0), 4.5)];
        let sheet = ScaleSheet { paper: SheetPaper::A4, page: 1 };
        Self {
            view: camera(size, Point::new(215.0, 140.0), 520.0, 12.0, 40.0),
            size,
            thing: Shape::new(ring, holes),
            thickness: 3.0,
            sheets: vec![(sheet, Point::ORIGIN)],
            stretch: 1.004,
            blur: 0.9,
            colours: [[120.0, 116.0, 108.0], [182.0, 186.0, 192.0]],
            mark: None,
        }
    }

    /// Side of the ruled square as somebody would measure it.
    pub fn printed_square(&self) -> f64 {
        RULED_SQUARE * self.stretch
    }

    /// The photograph.
    pub fn photograph(&self) -> RgbImage {
        let (width, height) = self.size;
        let codes: Vec<Vec<QrCode>> = self.sheets.iter().map(|(sheet, _)| codes(*sheet)).collect();
        let mut picture = RgbImage::from_fn(width, height, |x, y| {
            let mut sum = [0.0; 3];
            for (dx, dy) in [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)] {
                let colour = self.colour([f64::from(x) + dx, f64::from(y) + dy], &codes);
                for c in 0..3 {
                    sum[c] += colour[c] / 4.0;
                }
            }
            Rgb(sum.map(|v| v.clamp(0.0, 255.0) as u8))
        });
        if self.blur > 0.0 {
            picture = imageproc::filter::gaussian_blur_f32(&picture, self.blur);
        }
        for (index, pixel) in picture.pixels_mut().enumerate() {
            let noise = grain(index as i64, 7) * 5.0;
            pixel.0 = pixel.0.map(|v| (f64::from(v) + noise).clamp(0.0, 255.0) as u8);
        }
        picture
    }

    fn colour(&self, pixel: [f64; 2], codes: &[Vec<QrCode>]) -> [f64; 3] {
        let light = 1.0 + 0.1 * (pixel[0] / f64::from(self.size.0) - 0.5);
        let Some(top) = self.view.on_plane(pixel, self.thickness) else { return [90.0; 3] };
        if self.thing.contains(top) {
            if let Some((zone, colour)) = &self.mark
                && zone.contains(top)
            {
                return colour.map(|v| v * light);
            }
            let texture = grain((top.x / 1.5) as i64, (top.y / 40.0) as i64) * 9.0;
            return self.colours[1].map(|v| (v + texture) * light);
        }
        // The cut face, in a few layers.
        let is_wall = (0..4).any(|k| {
            let level = self.thickness * f64::from(k) / 4.0;
            self.view.on_plane(pixel, level).is_some_and(|at| self.thing.contains(at))
        });
        if is_wall {
            return [62.0, 60.0, 58.0];
        }
        let Some(at) = self.view.on_plane(pixel, 0.0) else { return [90.0; 3] };
        for ((sheet, corner), codes) in self.sheets.iter().zip(codes) {
            let d = (at - *corner) * (1.0 / self.stretch);
            let size = sheet.paper.size();
            if d.x > 0.0 && d.y > 0.0 && d.x < size.x && d.y < size.y {
                return [if is_black(*sheet, codes, Point::new(d.x, d.y)) { 25.0 } else { 225.0 } * light; 3];
            }
        }
        let texture = grain((at.x / 2.5) as i64, (at.y / 2.5) as i64) * 22.0
            + grain((at.x / 9.0) as i64, (at.y / 9.0) as i64) * 14.0;
        self.colours[0].map(|v| (v + texture) * light)
    }
}

fn codes(sheet: ScaleSheet) -> Vec<QrCode> {
    sheet.codes().iter().map(|code| QrCode::encode_text(&code.text, QrCodeEcc::Medium).unwrap()).collect()
}

fn is_black(sheet: ScaleSheet, codes: &[QrCode], at: Point) -> bool {
    for (code, drawn) in sheet.codes().iter().zip(codes) {
        let d: Vector = (at - code.corner) * (1.0 / MODULE);
        if d.x >= 0.0 && d.y >= 0.0 && d.x < MODULES as f64 && d.y < MODULES as f64 {
            return drawn.get_module(d.x as i32, MODULES as i32 - 1 - d.y as i32);
        }
    }
    let d = (at - sheet.origin()) * (1.0 / PITCH);
    let (column, row) = (d.x.floor() as i32, d.y.floor() as i32);
    let (columns, rows) = sheet.squares();
    if !(0..columns).contains(&column) || !(0..rows).contains(&row) || (column + row) % 2 != 0 {
        return false;
    }
    let (left, bottom) = ((columns - 13) / 2, (rows - 13) / 2);
    !((left..left + 13).contains(&column) && (bottom..bottom + 13).contains(&row))
}

/// Between -1 and 1, the same for the same place.
pub fn grain(x: i64, y: i64) -> f64 {
    let mut z = (x as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ (y as u64).wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (z >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}
