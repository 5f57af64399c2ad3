//! Entities into lines and arcs in millimetres, blocks put where they are inserted.

use std::collections::BTreeMap;
use std::sync::Arc;

use dropwise_geometry::{Point, Vector};

use super::DxfError;
use super::entities::{Entity, Figure, Insert, Plane};
use super::structure::Contents;
use crate::curves::{Affine, Conic, NoRoom, Piece, PieceSink};
use crate::drawing::{DrawingOptions, FARTHEST, LayerUse, NoteKind, Severity, Sketch, Source};

struct Expander<'a> {
    contents: &'a Contents,
    options: &'a DrawingOptions,
    sketch: &'a mut Sketch,
    /// Entities still allowed.
    room: usize,
    /// Blocks being inserted, outermost first, in lower case.
    stack: Vec<String>,
    unknown: BTreeMap<(String, &'static str), usize>,
    external: usize,
}

/// What an INSERT hands down to its entities.
#[derive(Clone)]
struct Context {
    map: Affine,
    /// Layer of the INSERT: what its block draws on layer 0 is drawn there.
    layer: Option<Arc<str>>,
    /// Name of the outermost block.
    label: Option<Arc<str>>,
}

pub(super) fn expand(
    contents: &Contents,
    map: &Affine,
    sketch: &mut Sketch,
    options: &DrawingOptions,
) -> Result<(), DxfError> {
    let mut expander = Expander {
        contents,
        options,
        sketch,
        room: options.limits.entities,
        stack: Vec::new(),
        unknown: BTreeMap::new(),
        external: 0,
    };
    expander.entities(&contents.entities, &Context { map: *map, layer: None, label: None })?;
    let Expander { unknown, external, sketch, .. } = expander;
    for ((entity, cure), count) in unknown.into_iter().take(100) {
        sketch.note(Severity::Warning, NoteKind::NotUnderstood { entity, count, cure });
    }
    if external > 0 {
        let what = "reference to another drawing".to_owned();
        sketch.note(Severity::Warning, NoteKind::NotFollowed { what, count: external });
    }
    Ok(())
}

impl Expander<'_> {
    fn file(&self) -> String {
        self.options.file.clone()
    }

    fn entities(&mut self, entities: &[Entity], context: &Context) -> Result<(), DxfError> {
        entities.iter().try_for_each(|entity| self.entity(entity, context))
    }

    fn count(&mut self, entity: &Entity) -> Result<(), DxfError> {
        let limit = self.options.limits.entities;
        self.room = self.room.checked_sub(1).ok_or_else(|| DxfError::TooManyEntities {
            file: self.options.file.clone(),
            spot: entity.spot,
            limit,
        })?;
        Ok(())
    }

    fn entity(&mut self, entity: &Entity, context: &Context) -> Result<(), DxfError> {
        self.count(entity)?;
        match &entity.figure {
            Figure::Paper => self.sketch.leave_out("on paper layouts"),
            Figure::Hidden => self.sketch.leave_out("marked invisible"),
            Figure::Annotation(kind) => self.sketch.leave_out(kind),
            Figure::Unknown { kind, cure } => {
                *self.unknown.entry((kind.clone(), *cure)).or_default() += 1;
            }
            _ if entity.plane == Plane::Tilted => {
                let key = ("entity tilted out of the drawing plane".to_owned(), "draw it flat in the xy plane");
                *self.unknown.entry(key).or_default() += 1;
            }
            figure => self.figure(entity, figure, context)?,
        }
        Ok(())
    }

    fn figure(&mut self, entity: &Entity, figure: &Figure, context: &Context) -> Result<(), DxfError> {
        let layer = match &context.layer {
            Some(layer) if &*entity.layer == "0" => layer,
            _ => &entity.layer,
        };
        let is_hidden = self.contents.hidden_layers.contains(&layer.to_lowercase());
        // An ellipse's axes are not in its plane's coordinates: only its direction of travel depends on the extrusion.
        let map = match (entity.plane, figure) {
            (Plane::FromBelow, Figure::Ellipse { .. } | Figure::Polyline { is_flat: false, .. }) => context.map,
            (Plane::FromBelow, _) => Affine::scale(-1.0, 1.0).then(&context.map),
            _ => context.map,
        };
        match figure {
            Figure::Insert(insert) if !is_hidden => return self.insert(entity, insert, &map, layer, context),
            Figure::Text { at, text } => {
                self.sketch.leave_out("TEXT");
                self.sketch.text(map.apply(*at), text);
                return Ok(());
            }
            _ => {}
        }
        let Some(layer_use) = self.sketch.layer_use(layer, is_hidden, self.options) else { return Ok(()) };
        let source = Source { spot: entity.spot, layer: Arc::clone(layer), label: context.label.clone() };
        self.draw(entity, figure, &map, source, layer_use)
    }

    fn draw(
        &mut self,
        entity: &Entity,
        figure: &Figure,
        map: &Affine,
        source: Source,
        layer_use: LayerUse,
    ) -> Result<(), DxfError> {
        let far = extremes(figure).into_iter().map(|point| map.apply(point)).find(|at| {
            // Written so that what is not a number counts as far.
            !(at.x.abs() <= FARTHEST && at.y.abs() <= FARTHEST)
        });
        if let Some(at) = far {
            return Err(DxfError::TooFar { file: self.file(), spot: entity.spot, at });
        }
        let is_closed = match figure {
            Figure::Circle { .. } => true,
            Figure::Ellipse { start, end, .. } => ellipse_sweep(*start, *end).is_none(),
            Figure::Polyline { is_closed, vertices, .. } => *is_closed && vertices.len() > 1,
            _ => false,
        };
        self.sketch.draw(source, layer_use, is_closed, |sink| fill(figure, entity.plane, map, sink)).map_err(|NoRoom| {
            DxfError::TooManyPieces {
                file: self.options.file.clone(),
                spot: entity.spot,
                limit: self.options.limits.pieces,
            }
        })
    }

    fn insert(
        &mut self,
        entity: &Entity,
        insert: &Insert,
        map: &Affine,
        layer: &Arc<str>,
        context: &Context,
    ) -> Result<(), DxfError> {
        let (file, spot) = (self.file(), entity.spot);
        let name: String = insert.block.chars().take(100).collect();
        let key = insert.block.to_lowercase();
        let Some(block) = self.contents.blocks.get(&key) else {
            return Err(DxfError::UnknownBlock { file, spot, name });
        };
        if block.is_external {
            self.external += 1;
            return Ok(());
        }
        if self.stack.contains(&key) {
            return Err(DxfError::BlockWithinItself { file, spot, name });
        }
        if self.stack.len() >= self.options.limits.nesting {
            return Err(DxfError::TooDeep { file, spot, limit: self.options.limits.nesting });
        }
        let label = context.label.clone().or_else(|| {
            // Names that begin with a star are made up by the drawing program.
            (!insert.block.starts_with('*')).then(|| insert.block.as_str().into())
        });
        let placed =
            Affine::translation(-block.base.x, -block.base.y).then(&Affine::scale(insert.scale[0], insert.scale[1]));
        let turn = Affine::rotation_deg(insert.rotation_deg);
        self.stack.push(key);
        for row in 0..insert.rows {
            for column in 0..insert.columns {
                if (row, column) != (0, 0) {
                    self.count(entity)?;
                }
                let step = Affine::translation(insert.spacing[0] * column as f64, insert.spacing[1] * row as f64);
                let inner = placed.then(&step).then(&turn).then(&Affine::translation(insert.at.x, insert.at.y));
                let context = Context { map: inner.then(map), layer: Some(Arc::clone(layer)), label: label.clone() };
                self.entities(&block.entities, &context)?;
            }
        }
        self.stack.pop();
        Ok(())
    }
}

/// Points that span the figure, to see that it is not too far away.
fn extremes(figure: &Figure) -> Vec<Point> {
    let around = |center: Point, reach: f64| {
        vec![center + Vector::new(reach, reach), center - Vector::new(reach, reach), center]
    };
    match figure {
        Figure::Line { start, end } => vec![*start, *end],
        Figure::Circle { center, radius } | Figure::Arc { center, radius, .. } => around(*center, *radius),
        Figure::Ellipse { center, major, ratio, .. } => around(*center, major.length() * ratio.max(1.0)),
        Figure::Polyline { vertices, is_closed, .. } => {
            let next = vertices.iter().skip(1).chain(vertices.first().filter(|_| *is_closed));
            vertices
                .iter()
                .zip(next)
                .flat_map(|(&(start, bulge), &(end, _))| {
                    // No point of an arc is farther from its ends than its diameter: chord (b + 1/b) / 2, at least
                    // when it is more than a half circle. A flat one stays within its chord.
                    let reach = start.distance(end) * bulge.abs().max(1.0);
                    around(start, reach)
                })
                .chain(vertices.first().map(|&(point, _)| point))
                .collect()
        }
        Figure::Spline(spline) => spline.control_points().collect(),
        _ => Vec::new(),
    }
}

/// The sweep of an ellipse's parameter; `None` for a whole one.
fn ellipse_sweep(start: f64, end: f64) -> Option<f64> {
    let sweep = (end - start).rem_euclid(std::f64::consts::TAU);
    (sweep > 1e-9 && sweep < std::f64::consts::TAU - 1e-9).then_some(sweep)
}

fn fill(figure: &Figure, plane: Plane, map: &Affine, sink: &mut PieceSink<'_>) -> Result<(), NoRoom> {
    match figure {
        Figure::Line { start, end } => sink.push(Piece::line(map.apply(*start), map.apply(*end))),
        Figure::Circle { center, radius } => sink.push_conic(&Conic::circle(*center, *radius), map),
        Figure::Arc { center, radius, start_deg, end_deg } => {
            let sweep = (end_deg - start_deg).rem_euclid(360.0);
            // Equal angles mean the whole circle.
            let sweep = if sweep == 0.0 { 360.0 } else { sweep };
            let conic = Conic::circle(*center, *radius);
            sink.push_conic(&Conic { start: start_deg.to_radians(), sweep: sweep.to_radians(), ..conic }, map)
        }
        Figure::Ellipse { center, major, ratio, start, end } => {
            let minor = major.left() * if plane == Plane::FromBelow { -ratio } else { *ratio };
            let sweep = ellipse_sweep(*start, *end).unwrap_or(std::f64::consts::TAU);
            sink.push_conic(&Conic { center: *center, a: *major, b: minor, start: *start, sweep }, map)
        }
        Figure::Polyline { vertices, is_closed, .. } => {
            let next = vertices.iter().skip(1).chain(vertices.first().filter(|_| *is_closed && vertices.len() > 1));
            vertices
                .iter()
                .zip(next)
                .try_for_each(|(&(start, bulge), &(end, _))| sink.push_mapped(start, end, bulge, map))
        }
        Figure::Spline(spline) => {
            let mapped = spline.mapped(map);
            mapped.spans().try_for_each(|(span, from, to)| sink.push_curve(&span, from, to))
        }
        _ => Ok(()),
    }
}
