//! Entities: what is drawn.

use std::sync::Arc;

use dropwise_geometry::{Point, Vector};

use super::DxfError;
use super::groups::Group;
use super::spline::{Spline, through};
use super::structure::{line_type, palette_colour, true_colour};
use crate::curves::Cubic;
use crate::drawing::{Colour, Spot};

/// One entity, still in its file's units.
#[derive(Debug)]
pub(super) struct Entity {
    pub(super) spot: Spot,
    pub(super) layer: Arc<str>,
    /// Its plane seen from above, from below, or neither.
    pub(super) plane: Plane,
    pub(super) colour: Given<Colour>,
    /// `None` for a plain line.
    pub(super) line_type: Given<Option<Arc<str>>>,
    pub(super) figure: Figure,
}

/// A property that an entity has itself or from elsewhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Given<T> {
    Itself(T),
    ByLayer,
    ByBlock,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Plane {
    FromAbove,
    /// Its x axis runs the other way.
    FromBelow,
    Tilted,
}

#[derive(Debug)]
pub(super) enum Figure {
    Line {
        start: Point,
        end: Point,
    },
    Circle {
        center: Point,
        radius: f64,
    },
    Arc {
        center: Point,
        radius: f64,
        start_deg: f64,
        end_deg: f64,
    },
    Ellipse {
        center: Point,
        major: Vector,
        ratio: f64,
        start: f64,
        end: f64,
    },
    Polyline {
        vertices: Vec<(Point, f64)>,
        is_closed: bool,
        is_flat: bool,
    },
    Spline(Spline),
    /// A spline by the points that it passes through, in pieces of the third degree.
    FitSpline(Vec<Cubic>),
    Insert(Insert),
    Text {
        at: Point,
        text: String,
    },
    /// Left out as usual: dimensions and the like.
    Annotation(&'static str),
    /// Not understood, though it may be metal.
    Unknown {
        kind: String,
        cure: &'static str,
        /// Points of it, as far as the file tells any.
        points: Vec<Point>,
    },
    /// In a layout, on paper.
    Paper,
    /// Marked as not to be seen.
    Hidden,
}

#[derive(Debug)]
pub(super) struct Insert {
    pub(super) block: String,
    pub(super) at: Point,
    pub(super) scale: [f64; 2],
    pub(super) rotation_deg: f64,
    pub(super) columns: usize,
    pub(super) rows: usize,
    pub(super) spacing: [f64; 2],
}

/// Entities that say something about a drawing and are no metal.
const ANNOTATIONS: [&str; 30] = [
    "MTEXT",
    "ATTRIB",
    "ATTDEF",
    "DIMENSION",
    "ARC_DIMENSION",
    "LARGE_RADIAL_DIMENSION",
    "LEADER",
    "MLEADER",
    "MULTILEADER",
    "HATCH",
    "VIEWPORT",
    "POINT",
    "TOLERANCE",
    "IMAGE",
    "WIPEOUT",
    "OLEFRAME",
    "OLE2FRAME",
    "ACAD_TABLE",
    "XLINE",
    "RAY",
    "SHAPE",
    "LIGHT",
    "PDFUNDERLAY",
    "DWFUNDERLAY",
    "DGNUNDERLAY",
    // Filled triangles and bands: arrowheads and shadings.
    "SOLID",
    "TRACE",
    "CAMERA",
    "SUN",
    "TEXT",
];

/// Gathers the entities of a section or block, putting polylines of the old kind together.
pub(super) struct EntityList<'a> {
    file: &'a str,
    entities: Vec<Entity>,
    /// Where a POLYLINE began whose SEQEND has not come.
    open_polyline: Option<Spot>,
}

impl<'a> EntityList<'a> {
    pub(super) fn new(file: &'a str) -> Self {
        Self { file, entities: Vec::new(), open_polyline: None }
    }

    pub(super) fn finish(self) -> Result<Vec<Entity>, DxfError> {
        match self.open_polyline {
            Some(spot) => Err(unclosed_polyline(self.file, spot)),
            None => Ok(self.entities),
        }
    }

    /// Adds the entity that begins with `start` and has these groups.
    pub(super) fn push(&mut self, start: &Group<'_>, groups: &[Group<'_>]) -> Result<(), DxfError> {
        let kind = start.text().to_uppercase();
        let fields = Fields { file: self.file, spot: start.spot(), groups };
        match (kind.as_str(), self.open_polyline) {
            ("SEQEND", _) => {
                self.open_polyline = None;
                return Ok(());
            }
            ("VERTEX", Some(_)) => return self.push_vertex(&fields),
            (_, Some(spot)) => return Err(unclosed_polyline(self.file, spot)),
            ("VERTEX", None) => {
                return Err(DxfError::Invalid {
                    file: self.file.to_owned(),
                    spot: start.spot(),
                    entity: "VERTEX",
                    reason: "it follows no POLYLINE; lines may be missing before it",
                });
            }
            _ => {}
        }
        if kind == "POLYLINE" {
            self.open_polyline = Some(start.spot());
        }
        let layer: Arc<str> = fields.find(8).map_or_else(|| "0".into(), |group| group.text().as_ref().into());
        let figure = if fields.flag(67)? & 1 != 0 {
            Figure::Paper
        } else if fields.flag(60)? & 1 != 0 {
            Figure::Hidden
        } else {
            fields.figure(&kind)?
        };
        let colour = match (fields.find(420), fields.find(62)) {
            (Some(group), _) => Given::Itself(true_colour(group.integer(self.file)?)),
            (None, Some(group)) => match group.integer(self.file)? {
                0 => Given::ByBlock,
                index => palette_colour(index.saturating_abs()).map_or(Given::ByLayer, Given::Itself),
            },
            (None, None) => Given::ByLayer,
        };
        let line_type = match fields.find(6).map(|group| group.text().trim().to_lowercase()).as_deref() {
            None | Some("bylayer" | "") => Given::ByLayer,
            Some("byblock") => Given::ByBlock,
            Some(_) => Given::Itself(fields.find(6).and_then(|group| line_type(&group.text()))),
        };
        // Of all these only entities drawn in a plane of their own have its x axis turned by the extrusion.
        let plane = match figure {
            Figure::Line { .. } | Figure::Spline(_) | Figure::FitSpline(_) => Plane::FromAbove,
            _ => fields.plane()?,
        };
        self.entities.push(Entity { spot: start.spot(), layer, plane, colour, line_type, figure });
        Ok(())
    }

    fn push_vertex(&mut self, fields: &Fields<'_>) -> Result<(), DxfError> {
        let Some(Entity { figure: Figure::Polyline { vertices, .. }, .. }) = self.entities.last_mut() else {
            return Ok(()); // of a mesh, or of a polyline that is left out
        };
        // The points that frame a smoothed polyline are not on it.
        if fields.flag(70)? & 16 == 0 {
            let bulge = fields.real(42)?.unwrap_or(0.0);
            vertices.push((fields.point("VERTEX", 10, "place")?, bulge));
        }
        Ok(())
    }
}

fn unclosed_polyline(file: &str, spot: Spot) -> DxfError {
    let reason = "its vertices do not end with SEQEND; lines may be missing";
    DxfError::Invalid { file: file.to_owned(), spot, entity: "POLYLINE", reason }
}

/// The groups of one entity.
struct Fields<'a> {
    file: &'a str,
    spot: Spot,
    groups: &'a [Group<'a>],
}

impl<'a> Fields<'a> {
    fn find(&self, code: i32) -> Option<&'a Group<'a>> {
        self.groups.iter().find(|group| group.code == code)
    }

    fn real(&self, code: i32) -> Result<Option<f64>, DxfError> {
        self.find(code).map(|group| group.real(self.file)).transpose()
    }

    fn flag(&self, code: i32) -> Result<i64, DxfError> {
        self.find(code).map_or(Ok(0), |group| group.integer(self.file))
    }

    fn needed(&self, entity: &'static str, code: i32, what: &'static str) -> Result<f64, DxfError> {
        self.real(code)?.ok_or_else(|| DxfError::Missing {
            file: self.file.to_owned(),
            spot: self.spot,
            entity,
            code,
            what,
        })
    }

    fn point(&self, entity: &'static str, code: i32, what: &'static str) -> Result<Point, DxfError> {
        Ok(Point::new(self.needed(entity, code, what)?, self.needed(entity, code + 10, what)?))
    }

    fn invalid(&self, entity: &'static str, reason: &'static str) -> DxfError {
        DxfError::Invalid { file: self.file.to_owned(), spot: self.spot, entity, reason }
    }

    fn radius(&self, entity: &'static str) -> Result<f64, DxfError> {
        let radius = self.needed(entity, 40, "radius")?;
        if radius > 0.0 { Ok(radius) } else { Err(self.invalid(entity, "its radius must be above zero")) }
    }

    fn plane(&self) -> Result<Plane, DxfError> {
        let [x, y, z] =
            [self.real(210)?.unwrap_or(0.0), self.real(220)?.unwrap_or(0.0), self.real(230)?.unwrap_or(1.0)];
        Ok(if x.abs().max(y.abs()) > 1e-6 * z.abs() {
            Plane::Tilted
        } else if z < 0.0 {
            Plane::FromBelow
        } else {
            Plane::FromAbove
        })
    }

    fn figure(&self, kind: &str) -> Result<Figure, DxfError> {
        Ok(match kind {
            "LINE" => Figure::Line { start: self.point("LINE", 10, "start")?, end: self.point("LINE", 11, "end")? },
            "CIRCLE" => Figure::Circle { center: self.point("CIRCLE", 10, "centre")?, radius: self.radius("CIRCLE")? },
            "ARC" => Figure::Arc {
                center: self.point("ARC", 10, "centre")?,
                radius: self.radius("ARC")?,
                start_deg: self.needed("ARC", 50, "start angle")?,
                end_deg: self.needed("ARC", 51, "end angle")?,
            },
            "ELLIPSE" => self.ellipse()?,
            "LWPOLYLINE" => self.light_polyline()?,
            "POLYLINE" => match self.flag(70)? {
                flags if flags & (16 | 64) != 0 => {
                    let (kind, cure) = ("mesh POLYLINE".to_owned(), "draw its flat pattern");
                    Figure::Unknown { kind, cure, points: Vec::new() }
                }
                flags => Figure::Polyline { vertices: Vec::new(), is_closed: flags & 1 != 0, is_flat: flags & 8 == 0 },
            },
            "SPLINE" => self.spline()?,
            "INSERT" => Figure::Insert(self.insert()?),
            "TEXT" | "MTEXT" => match (self.find(1), self.find(10), self.find(20)) {
                (Some(text), Some(_), Some(_)) if !text.text().contains(['\\', '{']) => {
                    Figure::Text { at: self.point("TEXT", 10, "place")?, text: text.text().into_owned() }
                }
                _ => Figure::Annotation("TEXT"),
            },
            _ => match ANNOTATIONS.iter().find(|&&name| name == kind) {
                Some(name) => Figure::Annotation(name),
                None => {
                    let kind = kind.chars().take(40).collect();
                    let cure = "explode them into lines and arcs if they are to be cut";
                    Figure::Unknown { kind, cure, points: self.points()? }
                }
            },
        })
    }

    /// Whatever points an entity tells.
    fn points(&self) -> Result<Vec<Point>, DxfError> {
        let mut points: Vec<Point> = Vec::new();
        let mut x = None;
        for group in self.groups {
            match group.code {
                10..=13 => x = Some((group.code, group.real(self.file)?)),
                20..=23 => {
                    if let Some((_, x)) = x.take_if(|(code, _)| *code + 10 == group.code) {
                        points.push(Point::new(x, group.real(self.file)?));
                    }
                }
                _ => {}
            }
        }
        Ok(points)
    }

    fn ellipse(&self) -> Result<Figure, DxfError> {
        let major = self.point("ELLIPSE", 11, "major axis")?.to_vector();
        let ratio = self.needed("ELLIPSE", 40, "ratio of its axes")?;
        // Some programs swap the axes and write ratios above one; the formula does not mind.
        if !(major.length() > 0.0 && ratio > 0.0) {
            return Err(self.invalid("ELLIPSE", "its axes must be longer than zero"));
        }
        let (start, end) = (self.real(41)?.unwrap_or(0.0), self.real(42)?.unwrap_or(std::f64::consts::TAU));
        Ok(Figure::Ellipse { center: self.point("ELLIPSE", 10, "centre")?, major, ratio, start, end })
    }

    fn light_polyline(&self) -> Result<Figure, DxfError> {
        let mut vertices: Vec<(Point, f64)> = Vec::new();
        let mut has_y = true;
        let incomplete = || self.invalid("LWPOLYLINE", "one of its vertices has only one coordinate");
        for group in self.groups {
            match (group.code, vertices.last_mut()) {
                (10, _) => {
                    if !std::mem::replace(&mut has_y, false) {
                        return Err(incomplete());
                    }
                    vertices.push((Point::new(group.real(self.file)?, 0.0), 0.0));
                }
                (20, Some(vertex)) => {
                    vertex.0.y = group.real(self.file)?;
                    has_y = true;
                }
                (42, Some(vertex)) => vertex.1 = group.real(self.file)?,
                _ => {}
            }
        }
        if !has_y {
            return Err(incomplete());
        }
        Ok(Figure::Polyline { vertices, is_closed: self.flag(70)? & 1 != 0, is_flat: true })
    }

    fn spline(&self) -> Result<Figure, DxfError> {
        let (mut knots, mut weights, mut points): (Vec<f64>, Vec<f64>, Vec<Point>) = Default::default();
        let mut fit_points: Vec<Point> = Vec::new();
        for group in self.groups {
            match group.code {
                40 => knots.push(group.real(self.file)?),
                41 => weights.push(group.real(self.file)?),
                10 => points.push(Point::new(group.real(self.file)?, 0.0)),
                20 => {
                    if let Some(point) = points.last_mut() {
                        point.y = group.real(self.file)?;
                    }
                }
                11 => fit_points.push(Point::new(group.real(self.file)?, 0.0)),
                21 => {
                    if let Some(point) = fit_points.last_mut() {
                        point.y = group.real(self.file)?;
                    }
                }
                _ => {}
            }
        }
        if points.is_empty() && !fit_points.is_empty() {
            let tangent = |code| -> Result<Option<Vector>, DxfError> {
                let [x, y] = [self.real(code)?, self.real(code + 10)?];
                Ok(x.zip(y).map(|(x, y)| Vector::new(x, y)).filter(|tangent| tangent.length() > 0.0))
            };
            let is_closed = self.flag(70)? & 1 != 0;
            let tangents = [tangent(12)?, tangent(13)?];
            return through(&fit_points, is_closed, tangents)
                .map(Figure::FitSpline)
                .map_err(|reason| self.invalid("SPLINE", reason));
        }
        let degree = self.needed("SPLINE", 71, "degree")?;
        Spline::new(degree, knots, points, weights).map(Figure::Spline).map_err(|reason| self.invalid("SPLINE", reason))
    }

    fn insert(&self) -> Result<Insert, DxfError> {
        let Some(block) = self.find(2) else {
            let (file, spot) = (self.file.to_owned(), self.spot);
            return Err(DxfError::Missing { file, spot, entity: "INSERT", code: 2, what: "block name" });
        };
        let count = |code| -> Result<usize, DxfError> {
            Ok(usize::try_from(self.find(code).map_or(Ok(1), |group| group.integer(self.file))?).unwrap_or(1).max(1))
        };
        let scale = [self.real(41)?.unwrap_or(1.0), self.real(42)?.unwrap_or(1.0)];
        if scale.contains(&0.0) {
            return Err(self.invalid("INSERT", "its scale must not be zero"));
        }
        Ok(Insert {
            block: block.text().into_owned(),
            at: self.point("INSERT", 10, "place")?,
            scale,
            rotation_deg: self.real(50)?.unwrap_or(0.0),
            columns: count(70)?,
            rows: count(71)?,
            spacing: [self.real(44)?.unwrap_or(0.0), self.real(45)?.unwrap_or(0.0)],
        })
    }
}
