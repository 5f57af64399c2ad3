//! Corners that are square within what was measured.

use dropwise_geometry::Vector;

use crate::fit::{Form, Piece};

/// Sides that stray by more than this at their ends are not square, mm.
const MOST_STRAY: f64 = 0.6;

/// Turns straight sides that stand nearly square to the longest onto it, each about its middle. Tells how many were turned and
/// by how much at most; `None` when fewer than two sides are square to each other.
pub(crate) fn square_up(pieces: &mut [Piece]) -> Option<String> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let line = |piece: &Piece| match piece.form {
        Form::Line { along, .. } if piece.length > 12.0 => Some((along.angle(), piece.length)),
        _ => None,
    };
    let (longest, _) = pieces.iter().filter_map(line).max_by(|a, b| a.1.total_cmp(&b.1))?;
    let off = |angle: f64, base: f64| {
        let turned = (angle - base).rem_euclid(quarter);
        if turned > quarter / 2.0 { turned - quarter } else { turned }
    };
    // Short sides say little of the direction: how far an end strays decides.
    let is_square = |piece: &Piece, base: f64| {
        line(piece).is_some_and(|(angle, length)| {
            let stray = (off(angle, base) * length / 2.0).abs();
            let limit = (2.5 * piece.sigma.max(0.03) + 0.1).min(MOST_STRAY);
            stray < limit.max(0.0015 * length) && stray < MOST_STRAY
        })
    };
    let (mut sum, mut weight) = (0.0, 0.0);
    for piece in pieces.iter().filter(|piece| is_square(piece, longest)) {
        let (angle, length) = line(piece)?;
        sum += off(angle, longest) * length.powi(3);
        weight += length.powi(3);
    }
    let base = longest + sum / weight;
    let chosen: Vec<usize> = (0..pieces.len()).filter(|&k| is_square(&pieces[k], base)).collect();
    if chosen.len() < 2 {
        return None;
    }
    let mut most = 0.0_f64;
    for &k in &chosen {
        let length = pieces[k].length;
        if let Form::Line { along, .. } = &mut pieces[k].form {
            let by = off(along.angle(), base);
            most = most.max((by * length / 2.0).abs());
            *along = Vector::from_angle(along.angle() - by);
        }
    }
    let sides: Vec<String> = chosen.iter().map(|k| (k + 1).to_string()).collect();
    Some(format!(
        "sides {} are square or parallel to each other; their ends moved by at most {most:.2} mm",
        sides.join(", ")
    ))
}
