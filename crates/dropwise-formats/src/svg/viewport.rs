//! Lengths with units, and viewBox.

use std::str::FromStr;

use svgtypes::{Align, AspectRatio, Length, LengthUnit, ViewBox};

use crate::curves::Affine;

/// A length in px, of which so many make an inch, percentages taken of `whole`; `None` when it is not a length.
pub(super) fn pixels(text: &str, whole: f64, per_inch: f64) -> Option<f64> {
    let length = Length::from_str(text.trim()).ok()?;
    let unit = match length.unit {
        LengthUnit::None | LengthUnit::Px => 1.0,
        LengthUnit::In => per_inch,
        LengthUnit::Cm => per_inch / 2.54,
        LengthUnit::Mm => per_inch / 25.4,
        LengthUnit::Pt => per_inch / 72.0,
        LengthUnit::Pc => per_inch / 6.0,
        // Of the font that a browser starts with.
        LengthUnit::Em => 16.0,
        LengthUnit::Ex => 8.0,
        LengthUnit::Percent => whole / 100.0,
    };
    Some(length.number * unit).filter(|value| value.is_finite())
}

/// Whether a length is a physical one, as opposed to px, percentages and bare numbers.
pub(super) fn is_physical(text: &str) -> bool {
    Length::from_str(text.trim()).is_ok_and(|length| {
        matches!(length.unit, LengthUnit::In | LengthUnit::Cm | LengthUnit::Mm | LengthUnit::Pt | LengthUnit::Pc)
    })
}

/// From a viewBox to the rectangle (0, 0) to (width, height) that shows it.
pub(super) fn fit(view: ViewBox, width: f64, height: f64, ratio: Option<AspectRatio>) -> Affine {
    let ratio = ratio.unwrap_or(AspectRatio { defer: false, align: Align::XMidYMid, slice: false });
    let (mut sx, mut sy) = (width / view.w, height / view.h);
    if ratio.align != Align::None {
        let scale = if ratio.slice { sx.max(sy) } else { sx.min(sy) };
        (sx, sy) = (scale, scale);
    }
    let share_x = match ratio.align {
        Align::None | Align::XMinYMin | Align::XMinYMid | Align::XMinYMax => 0.0,
        Align::XMidYMin | Align::XMidYMid | Align::XMidYMax => 0.5,
        Align::XMaxYMin | Align::XMaxYMid | Align::XMaxYMax => 1.0,
    };
    let share_y = match ratio.align {
        Align::None | Align::XMinYMin | Align::XMidYMin | Align::XMaxYMin => 0.0,
        Align::XMinYMid | Align::XMidYMid | Align::XMaxYMid => 0.5,
        Align::XMinYMax | Align::XMidYMax | Align::XMaxYMax => 1.0,
    };
    Affine::translation(-view.x, -view.y)
        .then(&Affine::scale(sx, sy))
        .then(&Affine::translation((width - view.w * sx) * share_x, (height - view.h * sy) * share_y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use dropwise_geometry::Point;

    #[test]
    fn units_are_those_of_css() {
        // CSS Values and Units Module Level 3, section 5.2: 1in = 2.54cm = 25.4mm = 72pt = 6pc = 96px.
        for text in ["1in", "2.54cm", "25.4mm", "72pt", "6pc", "96px", "96", "50%"] {
            assert!((pixels(text, 192.0, 96.0).unwrap() - 96.0).abs() < 1e-9, "{text}");
        }
        assert_eq!(pixels("wide", 1.0, 96.0), None);
        assert!(is_physical("3mm") && !is_physical("3px") && !is_physical("3") && !is_physical("3%"));
    }

    #[test]
    fn a_view_box_is_centred_unless_told_otherwise() {
        let view = ViewBox::new(10.0, 10.0, 10.0, 10.0);
        let at = |ratio: Option<&str>| {
            fit(view, 40.0, 20.0, ratio.map(|text| AspectRatio::from_str(text).unwrap())).apply(Point::new(10.0, 20.0))
        };
        assert_eq!(at(None), Point::new(10.0, 20.0));
        assert_eq!(at(Some("none")), Point::new(0.0, 20.0));
        assert_eq!(at(Some("xMaxYMin meet")), Point::new(20.0, 20.0));
        assert_eq!(at(Some("xMidYMid slice")), Point::new(0.0, 30.0));
    }
}
