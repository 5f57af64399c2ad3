//! Photographs made up here, and what is read from them.

mod scene;

use std::io::Cursor;

use dropwise_geometry::{Outline, Point, Segment};
use dropwise_photo::{
    HoleForm, Known, MarkColour, Measure, PhotoError, Photograph, Reading, ScaleSheet, Settings, SheetPaper, read,
};
use image::{ImageFormat, Rgb, RgbImage};

use scene::{Scene, camera};

fn read_pixels(pixels: RgbImage, settings: &Settings) -> Result<Reading, PhotoError> {
    read(&[Photograph::from_pixels(pixels, None)], settings)
}

fn settings(scene: &Scene) -> Settings {
    Settings { printed_square: Some(scene.printed_square()), ..Settings::new(scene.thickness) }
}

#[test]
fn a_plate_with_two_holes_comes_out_in_true_size() {
    let scene = Scene::plate();
    let pixels = scene.photograph();
    let reading = read_pixels(pixels.clone(), &settings(&scene)).unwrap();
    let sides: Vec<f64> = reading.outline.segments().map(|side| side.length()).collect();
    assert!(reading.outline.segments().all(|s| matches!(s, Segment::Line { .. })), "{reading:#?}");
    assert_eq!(sides.len(), 4, "{sides:?}");
    let told = reading.accuracy.outline_worst;
    assert!(told < 1.0, "{told}");
    for (side, exact) in [(sides[0], 180.0), (sides[1], 120.0), (sides[2], 180.0), (sides[3], 120.0)] {
        let off = side.min(sides[0].max(sides[1])) - exact;
        assert!(off.abs() < 0.6 && off.abs() < 2.0 * told || (side - (300.0 - exact)).abs() < 0.6, "{sides:?}");
    }
    let mut diameters: Vec<f64> = reading
        .holes
        .iter()
        .map(|hole| match hole.form {
            HoleForm::Round { diameter, .. } => diameter,
            other => panic!("{other:?}"),
        })
        .collect();
    diameters.sort_by(f64::total_cmp);
    assert_eq!(diameters.len(), 2, "{diameters:?}");
    assert!((diameters[0] - 9.0).abs() < 0.5 && (diameters[1] - 20.0).abs() < 0.5, "{diameters:?}");
    let apart = reading.measured(&Measure::Holes(1, 2)).unwrap();
    assert!((apart - 110.0_f64.hypot(50.0)).abs() < 0.5, "{apart}");
    // Taken for a thing without thickness, it would be too large by its height over the camera's.
    let flat = read_pixels(pixels.clone(), &Settings { thickness: 0.0, ..settings(&scene) }).unwrap();
    let ratio = flat.outline.bounds().width() / reading.outline.bounds().width();
    assert!((1.003..1.009).contains(&ratio), "{ratio}");
    // A decision is taken back by its name; a known length stretches the whole.
    let names: Vec<&str> = reading.decisions.iter().map(|d| d.name.as_str()).collect();
    assert!(names.contains(&"side 1") && names.contains(&"hole 1") && names.contains(&"square"), "{names:?}");
    let free =
        read_pixels(pixels.clone(), &Settings { as_found: vec!["side 1".to_owned()], ..settings(&scene) }).unwrap();
    assert!(free.outline.vertices().len() > 40, "{}", free.outline.vertices().len());
    let known = vec![Known { what: Measure::Width, length: 182.0 }];
    let tied = read_pixels(pixels, &Settings { known, ..settings(&scene) }).unwrap();
    assert!((tied.outline.bounds().width() - 182.0).abs() < 1e-6);
    let picture = reading.picture(&Photograph::from_pixels(scene.photograph(), None));
    assert!(
        picture.contains("data:image/jpeg;base64,") && picture.contains("hole 2") && picture.contains("with a rule")
    );
}

#[test]
fn two_photographs_and_two_pages_are_fitted_together() {
    let mut scene = Scene::plate();
    scene.sheets.push((ScaleSheet { paper: SheetPaper::A4, page: 2 }, Point::new(440.0, 10.0)));
    scene.view = camera(scene.size, Point::new(320.0, 140.0), 800.0, 8.0, 200.0);
    let one = Photograph::from_pixels(scene.photograph(), None);
    scene.view = camera(scene.size, Point::new(320.0, 140.0), 800.0, 20.0, 90.0);
    let two = Photograph::from_pixels(scene.photograph(), None);
    let alone = read(std::slice::from_ref(&one), &settings(&scene)).unwrap();
    let both = read(&[one, two], &settings(&scene)).unwrap();
    assert_eq!(both.sheets.len(), 2);
    assert!(both.accuracy.outline_rms <= alone.accuracy.outline_rms);
    let bounds = both.outline.bounds();
    assert!((bounds.width() - 180.0).abs() < 0.6 && (bounds.height() - 120.0).abs() < 0.6, "{bounds:?}");
}

#[test]
fn a_zone_marked_in_yellow_is_damage() {
    let mut scene = Scene::plate();
    let zone = Outline::circle(Point::new(350.0, 100.0), 16.0);
    scene.mark = Some((zone.clone(), [215.0, 190.0, 40.0]));
    let marked = Settings { damage: vec![MarkColour::Yellow], ..settings(&scene) };
    let reading = read_pixels(scene.photograph(), &marked).unwrap();
    assert_eq!((reading.damage.len(), reading.holes.len()), (1, 2), "{:?}", reading.holes);
    let ratio = reading.damage[0].area() / zone.area();
    assert!((0.85..1.25).contains(&ratio), "{ratio}");
}

#[test]
fn each_bad_picture_is_told_with_its_cure() {
    let scene = Scene::plate();
    let good = scene.photograph();
    let settings = settings(&scene);
    let fault = |pixels: RgbImage| {
        let error = read_pixels(pixels, &settings).expect_err("it cannot be read");
        assert!(error.cure().len() > 20);
        error
    };
    // Nothing but ground.
    let bare = Scene { sheets: Vec::new(), ..Scene::plate() };
    let error = fault(bare.photograph());
    assert!(matches!(error, PhotoError::NoSheet | PhotoError::NoCode), "{error}");
    let mut half = good.clone();
    // A board over the left part of the sheet.
    for (x, _, pixel) in half.enumerate_pixels_mut() {
        if x < 640 {
            *pixel = Rgb([90, 90, 92]);
        }
    }
    let error = fault(half);
    assert!(matches!(error, PhotoError::PartOfSheet { .. } | PhotoError::NoCode | PhotoError::NoSheet), "{error}");
    assert_eq!(fault(image::imageops::flip_horizontal(&good)), PhotoError::Mirrored);
    let error = fault(imageproc::filter::gaussian_blur_f32(&good, 9.0));
    assert!(matches!(error, PhotoError::Blurred { .. } | PhotoError::NoSheet), "{error}");
    let mut bright = good.clone();
    for pixel in bright.pixels_mut() {
        pixel.0 = pixel.0.map(|v| (u32::from(v) * 3 + 180).min(255) as u8);
    }
    assert_eq!(fault(bright), PhotoError::OverExposed);
    let mut twice = Scene::plate();
    twice.sheets.push((twice.sheets[0].0, Point::new(440.0, 10.0)));
    twice.view = camera(twice.size, Point::new(320.0, 140.0), 800.0, 5.0, 0.0);
    assert_eq!(fault(twice.photograph()), PhotoError::TwoSheets(1));
    let none = Scene {
        thing: dropwise_geometry::Shape::new(Outline::circle(Point::new(-900.0, 0.0), 1.0), vec![]),
        ..Scene::plate()
    };
    let error = fault(none.photograph());
    assert!(matches!(error, PhotoError::NoThing | PhotoError::OffPicture), "{error}");
}

#[test]
fn each_bad_file_is_told_with_its_cure() {
    let fault = |bytes: &[u8]| Photograph::decode(bytes).map(|_| ()).unwrap_err();
    let picture =
        RgbImage::from_fn(900, 700, |x, y| Rgb([(x * 7 % 251) as u8, (y * 5 % 241) as u8, ((x + y) % 200) as u8]));
    let bytes = |format| {
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    };
    let (jpeg, png) = (bytes(ImageFormat::Jpeg), bytes(ImageFormat::Png));
    assert!(Photograph::decode(&jpeg).is_ok() && Photograph::decode(&png).is_ok());
    for whole in [&jpeg, &png] {
        assert_eq!(fault(&whole[..whole.len() / 2]), PhotoError::CutShort);
        for end in [0, 1, 2, 3, 8, 20, 33, 60, 200] {
            fault(&whole[..end]);
        }
    }
    assert_eq!(fault(b""), PhotoError::NoPicture);
    assert_eq!(fault(b"%PDF-1.7 no picture at all"), PhotoError::NoPicture);
    assert_eq!(fault(b"PK\x03\x04 an archive"), PhotoError::NoPicture);
    // A header that promises 30,000 x 30,000 pixels in a few bytes.
    let mut bomb = png.clone();
    bomb[16..24].copy_from_slice(&[0, 0, 0x75, 0x30, 0, 0, 0x75, 0x30]);
    assert!(matches!(fault(&bomb), PhotoError::TooLarge { .. } | PhotoError::Damaged(_)), "{}", fault(&bomb));
    let mut small = Cursor::new(Vec::new());
    RgbImage::new(200, 100).write_to(&mut small, ImageFormat::Png).unwrap();
    assert_eq!(fault(small.get_ref()), PhotoError::TooSmall { width: 200, height: 100 });
    // A picture within the flat borders of a viewer.
    let mut screen = RgbImage::from_pixel(900, 900, Rgb([20, 20, 22]));
    image::imageops::overlay(&mut screen, &picture, 0, 100);
    let mut file = Cursor::new(Vec::new());
    screen.write_to(&mut file, ImageFormat::Png).unwrap();
    assert_eq!(fault(file.get_ref()), PhotoError::Screenshot);
}
