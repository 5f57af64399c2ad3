//! How shapes, metals and amounts are written as JSON: exact, and short enough to read.
//!
//! A ring is a list of corners, each `[x, y]` or, where an arc leaves it, `[x, y, bulge]`. Numbers carry as many digits as
//! reading them back to the same double needs.

use dropwise_geometry::{Outline, Point, Shape, Vertex};
use dropwise_model::Money;
use dropwise_shop::{GaugeSystem, Material, Thickness};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

/// Corners of a ring.
#[derive(Serialize, Deserialize)]
pub(crate) struct Ring(Vec<Vec<f64>>);

/// Rings of a shape.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ShapeEntry {
    exterior: Ring,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    holes: Vec<Ring>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ThicknessEntry {
    mm: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    gauge: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    system: Option<String>,
}

impl Ring {
    fn of(outline: &Outline) -> Self {
        let corner = |vertex: &Vertex| {
            let Point { x, y } = vertex.point;
            if vertex.bulge == 0.0 { vec![x, y] } else { vec![x, y, vertex.bulge] }
        };
        Self(outline.vertices().iter().map(corner).collect())
    }

    fn outline(self) -> Result<Outline, &'static str> {
        let corners = self.0.into_iter().map(|corner| match corner[..] {
            [x, y] => Ok(Vertex::line(Point::new(x, y))),
            [x, y, bulge] => Ok(Vertex::arc(Point::new(x, y), bulge)),
            _ => Err("a corner is [x, y] or [x, y, bulge]"),
        });
        Ok(Outline::new(corners.collect::<Result<_, _>>()?))
    }
}

pub(crate) mod shape {
    use super::*;

    pub(crate) fn serialize<S: Serializer>(shape: &Shape, serializer: S) -> Result<S::Ok, S::Error> {
        let holes = shape.holes().iter().map(Ring::of).collect();
        ShapeEntry { exterior: Ring::of(shape.exterior()), holes }.serialize(serializer)
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Shape, D::Error> {
        let entry = ShapeEntry::deserialize(deserializer)?;
        let holes = entry.holes.into_iter().map(Ring::outline).collect::<Result<_, _>>().map_err(D::Error::custom)?;
        Ok(Shape::new(entry.exterior.outline().map_err(D::Error::custom)?, holes))
    }
}

pub(crate) mod outlines {
    use super::*;

    pub(crate) fn serialize<S: Serializer>(outlines: &[Outline], serializer: S) -> Result<S::Ok, S::Error> {
        outlines.iter().map(Ring::of).collect::<Vec<_>>().serialize(serializer)
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<Outline>, D::Error> {
        let rings = Vec::<Ring>::deserialize(deserializer)?;
        rings.into_iter().map(Ring::outline).collect::<Result<_, _>>().map_err(D::Error::custom)
    }
}

pub(crate) mod material {
    use super::*;

    pub(crate) fn serialize<S: Serializer>(material: &Material, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(material.name())
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Material, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(D::Error::custom)
    }
}

pub(crate) mod thickness {
    use super::*;

    pub(crate) fn serialize<S: Serializer>(thickness: &Thickness, serializer: S) -> Result<S::Ok, S::Error> {
        let gauge = thickness.gauge();
        ThicknessEntry {
            mm: thickness.millimetres(),
            gauge: gauge.map(|gauge| gauge.number()),
            system: gauge.map(|gauge| gauge.system().name().to_owned()),
        }
        .serialize(serializer)
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Thickness, D::Error> {
        let entry = ThicknessEntry::deserialize(deserializer)?;
        let (Some(number), Some(name)) = (entry.gauge, entry.system) else {
            return Thickness::new(entry.mm).map_err(D::Error::custom);
        };
        let system = GaugeSystem::ALL.into_iter().find(|system| system.name() == name);
        let system = system.ok_or_else(|| D::Error::custom(format!("no gauge system is called `{name}`")))?;
        Ok(system.gauge(number).map_err(D::Error::custom)?.into())
    }
}

pub(crate) mod money {
    use super::*;

    pub(crate) fn serialize<S: Serializer>(money: &Money, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_i64(money.coins())
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Money, D::Error> {
        i64::deserialize(deserializer).map(Money::from_coins)
    }
}

pub(crate) mod optional_money {
    use super::*;

    pub(crate) fn serialize<S: Serializer>(money: &Option<Money>, serializer: S) -> Result<S::Ok, S::Error> {
        money.map(Money::coins).serialize(serializer)
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Money>, D::Error> {
        Ok(Option::<i64>::deserialize(deserializer)?.map(Money::from_coins))
    }
}

/// A shape as text.
pub(crate) fn shape_text(shape: &Shape) -> String {
    let mut text = Vec::new();
    // Writing to memory cannot fail, and no key is anything but a text.
    let _ = self::shape::serialize(shape, &mut serde_json::Serializer::new(&mut text));
    String::from_utf8(text).unwrap_or_default()
}

/// A shape from its text.
pub(crate) fn read_shape(text: &str) -> Result<Shape, serde_json::Error> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let shape = self::shape::deserialize(&mut reader)?;
    reader.end()?;
    Ok(shape)
}

/// Outlines as text.
pub(crate) fn outlines_text(outlines: &[Outline]) -> String {
    let rings: Vec<Ring> = outlines.iter().map(Ring::of).collect();
    serde_json::to_string(&rings).unwrap_or_default()
}

/// Outlines from their text.
pub(crate) fn read_outlines(text: &str) -> Result<Vec<Outline>, serde_json::Error> {
    let rings: Vec<Ring> = serde_json::from_str(text)?;
    rings.into_iter().map(Ring::outline).collect::<Result<_, _>>().map_err(serde_json::Error::custom)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arcs_and_digits_survive() {
        let third = 1.0 / 3.0;
        let shape = Shape::new(
            Outline::new(vec![
                Vertex::line(Point::new(0.1 + 0.2, -0.0)),
                Vertex::arc(Point::new(1e3 * third, 1e-300), 0.4142),
                Vertex::line(Point::new(400.0, 300.0 + third)),
            ]),
            vec![Outline::circle(Point::new(250.0, 80.0), 2.5)],
        );
        assert_eq!(read_shape(&shape_text(&shape)).unwrap(), shape);
        let damage = [Outline::circle(Point::ORIGIN, third), Outline::rectangle(Point::ORIGIN, 3.0, third)];
        assert_eq!(read_outlines(&outlines_text(&damage)).unwrap(), damage);
    }

    #[test]
    fn rubbish_is_told() {
        for text in ["", "{}", r#"{"exterior":[[1]]}"#, r#"{"exterior":[[1,2,3,4]]}"#, r#"{"exterior":[]} x"#, "[1]"] {
            assert!(read_shape(text).is_err(), "{text}");
        }
        assert!(read_outlines("[[[1]]]").is_err());
    }
}
