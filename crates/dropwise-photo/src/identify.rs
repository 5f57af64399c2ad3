//! Which page of a scale sheet a pattern is, and which way up it lies.

use qrcodegen::{QrCode, QrCodeEcc};
use rqrr::{Grid, SimpleGrid};

use crate::lattice::Lattice;
use crate::plane::LooseMap;
use crate::raster::{Gray, sample};
use crate::sheet::{MODULE, MODULES, MOST_PAGES, ScaleSheet, SheetPaper};

/// A page found in a picture.
pub(crate) struct FoundPage {
    pub(crate) sheet: ScaleSheet,
    /// From millimetres on the page to the picture; good to a few pixels.
    pub(crate) map: LooseMap,
    pub(crate) is_mirrored: bool,
}

/// What a pattern could be: columns and rows of a page for those of the pattern.
struct Guess {
    sheet: ScaleSheet,
    turn: [[i32; 2]; 2],
    offset: [i32; 2],
    hits: usize,
}

impl Guess {
    fn place(&self, i: i32, j: i32) -> (i32, i32) {
        let [[a, b], [c, d]] = self.turn;
        (a * i + b * j + self.offset[0], c * i + d * j + self.offset[1])
    }

    fn is_mirrored(&self) -> bool {
        let [[a, b], [c, d]] = self.turn;
        // Columns and rows of a pattern turn the way the picture does, whose y axis points down.
        a * d - b * c > 0
    }
}

/// The eight ways to lay a square grid on itself.
const TURNS: [[[i32; 2]; 2]; 8] = [
    [[1, 0], [0, -1]],
    [[-1, 0], [0, 1]],
    [[0, 1], [1, 0]],
    [[0, -1], [-1, 0]],
    [[1, 0], [0, 1]],
    [[-1, 0], [0, -1]],
    [[0, -1], [1, 0]],
    [[0, 1], [-1, 0]],
];

/// Most guesses whose codes are looked at.
const MOST_GUESSES: usize = 200;

/// The page, if one of its codes says so. Places of the pattern are pixels of `gray`.
pub(crate) fn identify(gray: &Gray, lattice: &Lattice) -> Option<FoundPage> {
    let mut guesses = guesses(lattice);
    guesses.sort_by_key(|guess| std::cmp::Reverse(guess.hits));
    guesses.into_iter().take(MOST_GUESSES).find_map(|guess| {
        let pairs: Vec<([f64; 2], [f64; 2])> = lattice
            .nodes
            .iter()
            .filter_map(|&(i, j, at)| {
                let (column, row) = guess.place(i, j);
                let on_page = guess.sheet.lattice(column, row);
                guess.sheet.is_crossing(column, row).then_some(([on_page.x, on_page.y], at))
            })
            .collect();
        let map = LooseMap::fit(&pairs)?;
        let page = page_by_code(gray, &map, guess.sheet.paper)?;
        let sheet = ScaleSheet { page, ..guess.sheet };
        Some(FoundPage { sheet, map, is_mirrored: guess.is_mirrored() })
    })
}

fn guesses(lattice: &Lattice) -> Vec<Guess> {
    let mut all = Vec::new();
    for paper in SheetPaper::ALL {
        let sheet = ScaleSheet { paper, page: 1 };
        let (columns, rows) = sheet.squares();
        for turn in TURNS {
            let mut guess = Guess { sheet, turn, offset: [0, 0], hits: 0 };
            let places: Vec<(i32, i32)> = lattice.nodes.iter().map(|&(i, j, _)| guess.place(i, j)).collect();
            let Some(c) = common_range(places.iter().map(|p| p.0)) else { continue };
            let Some(r) = common_range(places.iter().map(|p| p.1)) else { continue };
            for dc in (1 - c.0)..=(columns - 1 - c.1) {
                for dr in (1 - r.0)..=(rows - 1 - r.1) {
                    guess.offset = [dc, dr];
                    let hits = places.iter().filter(|p| sheet.is_crossing(p.0 + dc, p.1 + dr)).count();
                    if hits * 10 >= places.len() * 9 {
                        all.push(Guess { hits, ..guess });
                    }
                }
            }
        }
    }
    all
}

/// From the first to the last number that comes up three times.
fn common_range(numbers: impl Iterator<Item = i32>) -> Option<(i32, i32)> {
    let mut counts = std::collections::BTreeMap::new();
    for number in numbers {
        *counts.entry(number).or_insert(0) += 1;
    }
    let mut common = counts.into_iter().filter(|&(_, count)| count >= 3).map(|(number, _)| number);
    let first = common.next()?;
    Some((first, common.next_back().unwrap_or(first)))
}

/// The number of the page, if either code is where it must be.
fn page_by_code(gray: &Gray, map: &LooseMap, paper: SheetPaper) -> Option<u8> {
    let places = ScaleSheet { paper, page: 1 }.codes().map(|code| code.corner);
    ['A', 'B'].into_iter().zip(places).find_map(|(letter, corner)| {
        let values: Vec<f32> = (0..MODULES * MODULES)
            .map(|index| {
                let (column, row) = (index % MODULES, MODULES - 1 - index / MODULES);
                let mut sum = 0.0;
                for (du, dv) in [(0.5, 0.5), (0.3, 0.5), (0.7, 0.5), (0.5, 0.3), (0.5, 0.7)] {
                    let x = corner.x + (column as f64 + du) * MODULE;
                    let y = corner.y + (row as f64 + dv) * MODULE;
                    let [u, v] = map.map([x, y]);
                    sum += sample(gray, u, v);
                }
                sum / 5.0
            })
            .collect();
        let (low, high) = values.iter().fold((f32::MAX, f32::MIN), |(low, high), &v| (low.min(v), high.max(v)));
        if high - low < 15.0 {
            return None;
        }
        let read = [0.5, 0.4, 0.6].into_iter().find_map(|share| {
            let level = low + share * (high - low);
            let grid = SimpleGrid::from_func(MODULES, |x, y| values[y * MODULES + x] < level);
            let (_, text) = Grid::new(grid).decode().ok()?;
            let (sheet, said) = ScaleSheet::from_text(&text)?;
            (sheet.paper == paper && said == letter).then_some(sheet.page)
        });
        read.or_else(|| page_by_likeness(&values, paper, letter))
    })
}

/// The page whose code looks most like what is seen: the codes are known, so one too blurred to be read can still be told
/// from the others.
fn page_by_likeness(values: &[f32], paper: SheetPaper, letter: char) -> Option<u8> {
    let index = usize::from(letter == 'B');
    let mut likeness: Vec<(f32, u8)> = (1..=MOST_PAGES)
        .filter_map(|page| {
            let [a, b] = ScaleSheet { paper, page }.codes();
            let code = QrCode::encode_text(&[a, b][index].text, QrCodeEcc::Medium).ok()?;
            let modules: Vec<f32> = (0..MODULES * MODULES)
                .map(|at| if code.get_module((at % MODULES) as i32, (at / MODULES) as i32) { -1.0 } else { 1.0 })
                .collect();
            Some((correlation(values, &modules), page))
        })
        .collect();
    likeness.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (best, second) = (likeness.first()?, likeness.get(1)?);
    (best.0 > 0.6 && best.0 > second.0 + 0.05).then_some(best.1)
}

fn correlation(a: &[f32], b: &[f32]) -> f32 {
    let mean = |values: &[f32]| values.iter().sum::<f32>() / values.len() as f32;
    let (ma, mb) = (mean(a), mean(b));
    let sums = a.iter().zip(b).fold((0.0, 0.0, 0.0), |(ab, aa, bb), (x, y)| {
        let (x, y) = (x - ma, y - mb);
        (ab + x * y, aa + x * x, bb + y * y)
    });
    sums.0 / (sums.1 * sums.2).sqrt().max(1e-9)
}
