//! Entities into lines and arcs in millimetres, blocks put where they are inserted.

use std::sync::Arc;

use dropwise_geometry::{Point, Vector};

use super::DxfError;
use super::entities::{Entity, Figure, Given, Insert, Plane};
use super::structure::{Contents, Layer};
use crate::curves::{Affine, Conic, Cubic, NoRoom, Piece, PieceSink};
use crate::drawing::{
    Colour, DrawingOptions, FARTHEST, LayerUse, LineLook, NoteKind, Severity, Sketch, Source, is_of_writing,
};

struct Expander<'a> {
    contents: &'a Contents,
    options: &'a DrawingOptions,
    sketch: &'a mut Sketch,
    /// Entities still allowed.
    room: usize,
    /// Blocks being inserted, outermost first, in lower case.
    stack: Vec<String>,
    external: usize,
    fit_splines: usize,
}

/// What an INSERT hands down to its entities.
#[derive(Clone)]
struct Context {
    map: Affine,
    /// Layer of the INSERT: what its block draws on layer 0 is drawn there.
    layer: Option<Arc<str>>,
    /// Name of the outermost block.
    label: Option<Arc<str>>,
    /// Colour of the INSERT, for what takes its colour from there.
    colour: Option<Colour>,
    /// Its line type, likewise.
    line_type: Option<Arc<str>>,
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
        external: 0,
        fit_splines: 0,
    };
    let context = Context { map: *map, layer: None, label: None, colour: None, line_type: None };
    expander.entities(&contents.entities, &context)?;
    let Expander { external, fit_splines, sketch, .. } = expander;
    if contents.commas > 0 {
        sketch.note(Severity::Warning, NoteKind::DecimalCommas { count: contents.commas });
    }
    if fit_splines > 0 {
        sketch.note(Severity::Info, NoteKind::FitSplines { count: fit_splines });
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
            Figure::Unknown { kind, cure, points } => self.unknown(entity, kind, cure, points, context),
            figure if entity.plane == Plane::Tilted => {
                let (kind, cure) = ("entity tilted out of the drawing plane", "draw it flat in the xy plane");
                self.unknown(entity, kind, cure, &extremes(figure), context);
            }
            figure => self.figure(entity, figure, context)?,
        }
        Ok(())
    }

    /// Something that may be metal, unless its layer says that it is none.
    fn unknown(&mut self, entity: &Entity, kind: &str, cure: &'static str, points: &[Point], context: &Context) {
        let look = self.look(entity, context);
        let (line_use, _) = self.options.rules.decide(&look, self.options.is_stock);
        if line_use == LayerUse::Ignore {
            self.sketch.leave_out(kind);
            return;
        }
        let points: Vec<Point> = points.iter().map(|&point| context.map.apply(point)).collect();
        self.sketch.do_not_understand(kind, cure, entity.spot, &look.layer, &points);
    }

    /// How an entity looks where it is drawn.
    fn look(&self, entity: &Entity, context: &Context) -> LineLook {
        let layer = match &context.layer {
            Some(layer) if &*entity.layer == "0" => layer,
            _ => &entity.layer,
        };
        let known = self.contents.layers.get(&layer.to_lowercase());
        let of_layer = |known: Option<&Layer>| known.and_then(|layer| layer.line_type.clone());
        let (line_type, is_type_of_layer) = match &entity.line_type {
            Given::Itself(line_type) => (line_type.clone(), false),
            Given::ByBlock => (context.line_type.clone(), false),
            Given::ByLayer => (of_layer(known), true),
        };
        // What a file says nothing of is drawn in 7.
        let plain = Some(Colour::indexed(7));
        let colour = match entity.colour {
            Given::Itself(colour) => Some(colour),
            Given::ByBlock => context.colour.or(plain),
            Given::ByLayer => known.and_then(|layer| layer.colour).or(plain),
        };
        let is_hidden = known.is_some_and(|layer| layer.is_hidden);
        LineLook { layer: Arc::clone(layer), colour, line_type, is_type_of_layer, is_hidden }
    }

    fn figure(&mut self, entity: &Entity, figure: &Figure, context: &Context) -> Result<(), DxfError> {
        let look = self.look(entity, context);
        // An ellipse's axes are not in its plane's coordinates: only its direction of travel depends on the extrusion.
        let map = match (entity.plane, figure) {
            (Plane::FromBelow, Figure::Ellipse { .. } | Figure::Polyline { is_flat: false, .. }) => context.map,
            (Plane::FromBelow, _) => Affine::scale(-1.0, 1.0).then(&context.map),
            _ => context.map,
        };
        match figure {
            Figure::Insert(insert) => {
                if look.is_hidden {
                    self.sketch.leave_out("INSERT on hidden layers");
                    return Ok(());
                }
                return self.insert(entity, insert, &map, &look, context);
            }
            Figure::Text { at, text } => {
                self.sketch.leave_out("TEXT");
                self.sketch.text(map.apply(*at), text);
                return Ok(());
            }
            _ => {}
        }
        if matches!(figure, Figure::FitSpline(_)) {
            self.fit_splines += 1;
        }
        let source = Source { spot: entity.spot, look, label: context.label.clone(), is_bare_fill: false };
        self.draw(entity, figure, &map, source)
    }

    fn draw(&mut self, entity: &Entity, figure: &Figure, map: &Affine, source: Source) -> Result<(), DxfError> {
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
        let fill = |sink: &mut PieceSink<'_>| fill(figure, entity.plane, map, sink);
        self.sketch.draw(source, self.options, is_closed, fill).map_err(|NoRoom| DxfError::TooManyPieces {
            file: self.options.file.clone(),
            spot: entity.spot,
            limit: self.options.limits.pieces,
        })
    }

    fn insert(
        &mut self,
        entity: &Entity,
        insert: &Insert,
        map: &Affine,
        look: &LineLook,
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
                // Title blocks stand on layer 0 as often as not; their name tells.
                let is_title = &*look.layer == "0" && is_of_writing(&insert.block);
                let layer = if is_title { insert.block.as_str().into() } else { Arc::clone(&look.layer) };
                let context = Context {
                    map: inner.then(map),
                    layer: Some(layer),
                    label: label.clone(),
                    colour: look.colour,
                    line_type: look.line_type.clone(),
                };
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
        Figure::FitSpline(cubics) => cubics.iter().flat_map(|cubic| cubic.0).collect(),
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
        Figure::FitSpline(cubics) => {
            cubics.iter().try_for_each(|cubic| sink.push_curve(&Cubic(cubic.0.map(|point| map.apply(point))), 0.0, 1.0))
        }
        _ => Ok(()),
    }
}
