//! Scale sheets in photographs, and the cameras that saw them.

use crate::camera::{Calibration, Sighting};
use crate::corners::{edge, refine};
use crate::decode::Photograph;
use crate::error::PhotoError;
use crate::identify::{FoundPage, identify};
use crate::lattice::{Lattice, find_lattices};
use crate::plane::LooseMap;
use crate::raster::{Gray, brightness, reduced, sample};
use crate::sheet::{PITCH, ScaleSheet};

/// Least share of the crossings of a page that must be seen.
const LEAST_SHARE: f64 = 0.6;
/// Widest blur, as a share of a square.
const MOST_BLUR: f64 = 0.16;
/// Largest residual of the fit, mm: a sheet that waves by more is no plane.
const MOST_RESIDUAL: f64 = 0.3;

/// Photographs of one scene whose sheets were found.
pub(crate) struct Located {
    pub(crate) calibration: Calibration,
    /// Pages, in the order of the calibration.
    pub(crate) sheets: Vec<ScaleSheet>,
    /// For each photograph.
    pub(crate) shots: Vec<Shot>,
}

/// A photograph whose sheet was found.
pub(crate) struct Shot {
    /// Standard deviation of its blur, pixels.
    pub(crate) blur: f64,
}

/// A page seen in one photograph: crossings on the page and in the picture.
type SeenPage = (ScaleSheet, Vec<([f64; 2], [f64; 2])>);

/// Finds the sheets and fits the cameras. `stretch` is printed size over true size.
pub(crate) fn locate(photographs: &[Photograph], stretch: f64) -> Result<Located, PhotoError> {
    let mut sheets: Vec<ScaleSheet> = Vec::new();
    let (mut sightings, mut shots) = (Vec::new(), Vec::new());
    for photograph in photographs {
        let (shot, pages) = look(photograph)?;
        let pages = pages
            .into_iter()
            .map(|(sheet, points)| {
                let index = sheets.iter().position(|known| *known == sheet).unwrap_or_else(|| {
                    sheets.push(sheet);
                    sheets.len() - 1
                });
                let points = points.into_iter().map(|([x, y], pixel)| ([x * stretch, y * stretch], pixel)).collect();
                (index, points)
            })
            .collect();
        sightings.push(Sighting { size: photograph.size(), focal_length: photograph.focal_length, pages });
        shots.push(shot);
    }
    let unrelated = || PhotoError::NotTogether("they show no page in common".to_owned());
    let flat = || if photographs.len() > 1 { unrelated() } else { PhotoError::NotFlat { hundredths: 9999 } };
    let calibration = Calibration::fit(&sightings, sheets.len()).ok_or_else(flat)?;
    if calibration.residual_mm > MOST_RESIDUAL {
        return Err(PhotoError::NotFlat { hundredths: (calibration.residual_mm * 100.0) as u32 });
    }
    let expected: usize = sightings.iter().flat_map(|s| &s.pages).map(|(_, points)| points.len()).sum();
    if (calibration.used as f64) < LEAST_SHARE * expected as f64 {
        return Err(PhotoError::NotFlat { hundredths: (calibration.residual_mm * 100.0) as u32 });
    }
    Ok(Located { calibration, sheets, shots })
}

/// Pages in one photograph.
fn look(photograph: &Photograph) -> Result<(Shot, Vec<SeenPage>), PhotoError> {
    let gray = brightness(&photograph.pixels);
    let pages = match pages_in(&gray) {
        Ok(pages) => pages,
        Err(error) => return Err(explained(error, photograph, &gray)),
    };
    let mut seen: Vec<SeenPage> = Vec::new();
    let (mut blurs, mut squares) = (Vec::new(), Vec::new());
    for page in pages {
        if page.is_mirrored {
            return Err(PhotoError::Mirrored);
        }
        if seen.iter().any(|(sheet, _)| *sheet == page.sheet) {
            return Err(PhotoError::TwoSheets(page.sheet.page));
        }
        let points = crossings(&gray, page.sheet, page.map);
        let expected = page.sheet.crossings().len();
        if (points.len() as f64) < LEAST_SHARE * expected as f64 {
            return Err(PhotoError::PartOfSheet { found: points.len(), expected });
        }
        for pair in points.windows(2).step_by(3) {
            if (pair[1].0[0] - pair[0].0[0] - PITCH).abs() > 0.1 {
                continue;
            }
            squares.push((pair[1].1[0] - pair[0].1[0]).hypot(pair[1].1[1] - pair[0].1[1]));
            blurs.extend(edge(&gray, pair[0].1, pair[1].1));
        }
        seen.push((page.sheet, points));
    }
    let median = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied().unwrap_or(0.0)
    };
    let dark = median(blurs.iter().map(|edge| edge.dark).collect());
    if dark > 170.0 {
        return Err(PhotoError::OverExposed);
    }
    let blur = median(blurs.iter().map(|edge| edge.blur).collect());
    if blur > MOST_BLUR * median(squares) {
        return Err(PhotoError::Blurred { tenths: (blur * 25.6) as u32 });
    }
    Ok((Shot { blur: blur.max(0.4) }, seen))
}

/// Finds patterns and reads their codes, first in a picture made smaller, then in others.
fn pages_in(gray: &Gray) -> Result<Vec<FoundPage>, PhotoError> {
    let longest = gray.width().max(gray.height());
    let best = (longest / 2000).max(1);
    let mut factors = vec![best, 2 * best, 4 * best];
    if best > 1 {
        factors.insert(1, best / 2);
    }
    let mut worst = PhotoError::NoSheet;
    for factor in factors {
        if longest / factor < 400 {
            continue;
        }
        let lattices = find_lattices(&reduced(gray, factor));
        let f = f64::from(factor);
        let mut pages = Vec::new();
        for lattice in lattices.into_iter().take(12) {
            let nodes = lattice.nodes.iter().map(|&(i, j, [x, y])| (i, j, [f * (x + 0.5) - 0.5, f * (y + 0.5) - 0.5]));
            let lattice = Lattice { nodes: nodes.collect() };
            match identify(gray, &lattice) {
                Some(page) => pages.push(page),
                None if lattice.nodes.len() > 120 => worst = PhotoError::NoCode,
                None => {}
            }
        }
        if !pages.is_empty() {
            return Ok(pages);
        }
    }
    Err(worst)
}

/// Why there is no sheet, as far as the picture shows it.
fn explained(error: PhotoError, photograph: &Photograph, gray: &Gray) -> PhotoError {
    let bright = gray.as_raw().iter().filter(|&&value| value > 250.0).count() as f64;
    if bright > 0.5 * gray.as_raw().len() as f64 {
        return PhotoError::OverExposed;
    }
    if error == PhotoError::NoCode
        && let Ok(pages) = pages_in(&brightness(&photograph.mirrored()))
        && pages.iter().any(|page| !page.is_mirrored)
    {
        return PhotoError::Mirrored;
    }
    // Nothing sharp anywhere: the strongest steps from pixel to pixel are small.
    let (width, raw) = (gray.width() as usize, gray.as_raw());
    let mut steps: Vec<f32> = raw
        .chunks_exact(width)
        .step_by(7)
        .flat_map(|row| row.windows(2).map(|pair| (pair[1] - pair[0]).abs()))
        .collect();
    let at = steps.len() - 1 - steps.len() / 500;
    let (_, strong, _) = steps.select_nth_unstable_by(at, f32::total_cmp);
    if *strong < 9.0 {
        return PhotoError::Blurred { tenths: (256.0 / f64::from(strong.max(1.0))) as u32 * 10 };
    }
    error
}

/// All crossings of a page at sub-pixel accuracy. What was found first leads to the rest.
fn crossings(gray: &Gray, sheet: ScaleSheet, mut map: LooseMap) -> Vec<([f64; 2], [f64; 2])> {
    let mut found = Vec::new();
    for _ in 0..3 {
        let all = sheet.crossings().into_iter();
        let now: Vec<_> = all.filter_map(|(column, row)| crossing(gray, sheet, &map, column, row)).collect();
        if now.len() <= found.len() {
            break;
        }
        found = now;
        match LooseMap::fit(&found) {
            Some(better) => map = better,
            None => break,
        }
    }
    found
}

/// A crossing: its place on the page, and where it is seen.
fn crossing(gray: &Gray, sheet: ScaleSheet, map: &LooseMap, column: i32, row: i32) -> Option<([f64; 2], [f64; 2])> {
    let at = sheet.lattice(column, row);
    let start = map.map([at.x, at.y]);
    let off = |dx: f64, dy: f64| {
        let other = map.map([at.x + dx, at.y + dy]);
        [other[0] - start[0], other[1] - start[1]]
    };
    let length = |v: [f64; 2]| v[0].hypot(v[1]);
    let smaller = length(off(PITCH, 0.0)).min(length(off(0.0, PITCH)));
    let found = refine(gray, start, (0.4 * smaller).clamp(3.0, 12.0))?;
    if length([found[0] - start[0], found[1] - start[1]]) > 0.3 * smaller {
        return None;
    }
    // The squares around it must be as black and white as on the page.
    let square = |dx: f64, dy: f64| {
        let by = off(dx * PITCH / 3.0, dy * PITCH / 3.0);
        f64::from(sample(gray, found[0] + by[0], found[1] + by[1]))
    };
    let rising = [square(1.0, 1.0), square(-1.0, -1.0)];
    let falling = [square(1.0, -1.0), square(-1.0, 1.0)];
    let (black, white) = if (column + row) % 2 == 0 { (rising, falling) } else { (falling, rising) };
    let step = white[0].min(white[1]) - black[0].max(black[1]);
    (step > 0.15 * white[0].max(white[1])).then_some(([at.x, at.y], found))
}
