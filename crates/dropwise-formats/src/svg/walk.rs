//! From element to element, with what each hands down to those within it.

use std::collections::{BTreeMap, HashMap};
use std::str::FromStr;
use std::sync::Arc;

use dropwise_geometry::{Point, Vector};
use roxmltree::{Document, Node, NodeId};
use svgtypes::{AspectRatio, PointsParser, Transform, ViewBox};

use super::viewport::{self, PIXEL};
use super::{Lines, SvgError, strokes};
use crate::curves::{Affine, NoRoom};
use crate::drawing::{DrawingOptions, FARTHEST, LayerUse, NoteKind, Severity, Sketch, Source, Spot};
use strokes::Stroke;

/// Elements within elements, for each block depth that the limits allow.
const DEPTH_FACTOR: usize = 4;

struct Walker<'a, 'input> {
    file: &'a str,
    lines: &'a Lines,
    options: &'a DrawingOptions,
    sketch: &'a mut Sketch,
    ids: HashMap<&'a str, Node<'a, 'input>>,
    /// Elements still allowed.
    room: usize,
    /// Targets of `use` being drawn.
    used: Vec<NodeId>,
    not_followed: BTreeMap<&'static str, usize>,
    clipped: usize,
}

#[derive(Clone)]
struct Context {
    /// User units to millimetres.
    map: Affine,
    /// Width and height that percentages refer to, in user units.
    viewport: [f64; 2],
    layer: Arc<str>,
    layer_use: Option<LayerUse>,
    label: Option<Arc<str>>,
    is_visible: bool,
    depth: usize,
}

pub(super) fn walk(
    document: &Document<'_>,
    lines: &Lines,
    sketch: &mut Sketch,
    options: &DrawingOptions,
) -> Result<(), SvgError> {
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        let found = root.tag_name().name().chars().take(40).collect();
        return Err(SvgError::NotSvg { file: options.file.clone(), found });
    }
    let mut ids = HashMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            ids.entry(id).or_insert(node);
        }
    }
    let mut walker = Walker {
        file: &options.file,
        lines,
        options,
        sketch,
        ids,
        room: options.limits.entities,
        used: Vec::new(),
        not_followed: BTreeMap::new(),
        clipped: 0,
    };
    let (map, viewport) = walker.root_map(root)?;
    let context = Context { map, viewport, layer: "".into(), layer_use: None, label: None, is_visible: true, depth: 0 };
    walker.children(root, &context)?;
    let Walker { not_followed, clipped, sketch, .. } = walker;
    for (what, count) in not_followed {
        sketch.note(Severity::Warning, NoteKind::NotFollowed { what: what.to_owned(), count });
    }
    if clipped > 0 {
        let (entity, cure) = ("clipping or masking".to_owned(), "cut the shapes themselves where they end");
        sketch.note(Severity::Warning, NoteKind::NotUnderstood { entity, count: clipped, cure });
    }
    Ok(())
}

impl<'a, 'input> Walker<'a, 'input> {
    fn spot(&self, node: Node<'_, '_>) -> Spot {
        self.lines.spot(node.range().start)
    }

    fn bad(&self, node: Node<'_, '_>, attribute: &'static str, expected: &'static str) -> SvgError {
        SvgError::BadAttribute {
            file: self.file.to_owned(),
            spot: self.spot(node),
            element: node.tag_name().name().to_owned(),
            attribute,
            text: node.attribute(attribute).unwrap_or_default().chars().take(40).collect(),
            expected,
        }
    }

    fn view_box(&self, node: Node<'_, '_>) -> Result<Option<ViewBox>, SvgError> {
        let parse = |text: &str| ViewBox::from_str(text).map_err(|_| self.bad(node, "viewBox", VIEW_BOX));
        let view = node.attribute("viewBox").map(parse).transpose()?;
        if view.is_some_and(|v| ![v.x, v.y, v.w, v.h].iter().all(|value| value.is_finite())) {
            return Err(self.bad(node, "viewBox", VIEW_BOX));
        }
        Ok(view)
    }

    fn aspect_ratio(node: Node<'_, '_>) -> Option<AspectRatio> {
        AspectRatio::from_str(node.attribute("preserveAspectRatio")?).ok()
    }

    /// A length in user units, `default` when absent.
    fn length(&self, node: Node<'_, '_>, name: &'static str, whole: f64, default: f64) -> Result<f64, SvgError> {
        match node.attribute(name) {
            None => Ok(default),
            Some(text) => {
                viewport::pixels(text, whole).ok_or_else(|| self.bad(node, name, "a length, such as 12 or 3mm"))
            }
        }
    }

    /// A size: a length that is not below zero. `None` when absent or "auto".
    fn size(&self, node: Node<'_, '_>, name: &'static str, whole: f64) -> Result<Option<f64>, SvgError> {
        if node.attribute(name).is_none_or(|text| text.trim() == "auto") {
            return Ok(None);
        }
        let value = self.length(node, name, whole, 0.0)?;
        if value >= 0.0 { Ok(Some(value)) } else { Err(self.bad(node, name, "a length of zero or more")) }
    }

    /// The map from the outermost user units to millimetres with y up, and the size of the picture in user units.
    fn root_map(&mut self, root: Node<'_, '_>) -> Result<(Affine, [f64; 2]), SvgError> {
        let view = self.view_box(root)?;
        let mut size = [("width", 0), ("height", 1)].map(|(name, _)| root.attribute(name));
        // Percentages of an unknown window say nothing.
        size = size.map(|text| text.filter(|text| !text.trim().ends_with('%') && text.trim() != "auto"));
        let [width, height] = [
            if size[0].is_some() { self.size(root, "width", 0.0)? } else { None },
            if size[1].is_some() { self.size(root, "height", 0.0)? } else { None },
        ];
        let flip = |height: f64| Affine::scale(1.0, -1.0).then(&Affine::translation(0.0, height));
        if let Some(unit) = self.options.unit {
            let (bottom, viewport) = match view {
                Some(view) => (view.y + view.h, [view.w, view.h]),
                None => (height.unwrap_or(0.0), [width.unwrap_or(0.0), height.unwrap_or(0.0)]),
            };
            let factor = unit.millimetres();
            return Ok((flip(bottom).then(&Affine::scale(factor, factor)), viewport));
        }
        if !size.iter().flatten().any(|text| viewport::is_physical(text)) {
            self.sketch.note(Severity::Warning, NoteKind::UnitAssumed { unit: "1/96 inch for each px", hint: None });
        }
        let to_pixels = match view {
            None => Affine::IDENTITY,
            Some(view) => {
                // One side given: the other follows from the viewBox. None: a px for each unit.
                let (w, h) = match (width, height) {
                    (Some(w), Some(h)) => (w, h),
                    (Some(w), None) => (w, w * view.h / view.w),
                    (None, Some(h)) => (h * view.w / view.h, h),
                    (None, None) => (view.w, view.h),
                };
                if w == 0.0 || h == 0.0 {
                    let name = if w == 0.0 { "width" } else { "height" };
                    return Err(self.bad(root, name, "a length above zero"));
                }
                let fitted = viewport::fit(view, w, h, Self::aspect_ratio(root));
                let map = fitted.then(&flip(h)).then(&Affine::scale(PIXEL, PIXEL));
                return Ok((map, [view.w, view.h]));
            }
        };
        let (w, h) = (width.unwrap_or(0.0), height.unwrap_or(0.0));
        Ok((to_pixels.then(&flip(h)).then(&Affine::scale(PIXEL, PIXEL)), [w, h]))
    }

    fn children(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), SvgError> {
        node.children().filter(Node::is_element).try_for_each(|child| self.element(child, context))
    }

    fn element(&mut self, node: Node<'a, 'input>, outer: &Context) -> Result<(), SvgError> {
        let (file, spot) = (|| self.file.to_owned(), self.spot(node));
        let limit = self.options.limits.nesting * DEPTH_FACTOR;
        if outer.depth >= limit {
            return Err(SvgError::TooDeep { file: file(), spot, limit });
        }
        let limit = self.options.limits.entities;
        self.room = self.room.checked_sub(1).ok_or_else(|| SvgError::TooManyEntities { file: file(), spot, limit })?;
        if node.tag_name().namespace().is_some_and(|namespace| namespace != "http://www.w3.org/2000/svg") {
            return Ok(()); // what drawing programs keep for themselves
        }
        let name = node.tag_name().name();
        if node.attributes().any(|attribute| attribute.name().starts_with("on")) || name == "script" {
            *self.not_followed.entry("script(s)").or_default() += 1;
        }
        match name {
            "defs" | "symbol" | "clipPath" | "mask" | "pattern" | "marker" | "linearGradient" | "radialGradient"
            | "filter" | "metadata" | "title" | "desc" | "script" | "view" | "cursor" => return Ok(()),
            "style" => {
                *self.not_followed.entry("style sheet(s)").or_default() += 1;
                return Ok(());
            }
            _ => {}
        }
        let Some(context) = self.context(node, outer)? else {
            self.sketch.leave_out("hidden element(s)");
            return Ok(());
        };
        match name {
            "g" | "a" => self.children(node, &context),
            // The first that a viewer understands; this one understands all languages.
            "switch" => node.first_element_child().map_or(Ok(()), |child| self.element(child, &context)),
            "svg" => {
                let [w, h] = context.viewport;
                let corner = [self.length(node, "x", w, 0.0)?, self.length(node, "y", h, 0.0)?];
                let size = [self.size(node, "width", w)?, self.size(node, "height", h)?];
                self.nested(node, &context, corner, size)
            }
            "use" => self.reuse(node, &context),
            "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" => {
                let strokes = self.strokes(node, &context)?;
                self.draw(node, &context, &strokes)
            }
            "text" => {
                self.sketch.leave_out("text(s)");
                let [w, h] = context.viewport;
                let first = |name: &str| node.attribute(name).and_then(|list| list.split([' ', ',']).next());
                let at = Point::new(
                    first("x").and_then(|text| viewport::pixels(text, w)).unwrap_or(0.0),
                    first("y").and_then(|text| viewport::pixels(text, h)).unwrap_or(0.0),
                );
                let words: String =
                    node.descendants().filter(Node::is_text).filter_map(|n| n.text()).take(20).collect();
                self.sketch.text(context.map.apply(at), &words);
                Ok(())
            }
            "image" | "feImage" => {
                self.sketch.leave_out("image(s)");
                Ok(())
            }
            other => {
                self.sketch.leave_out(&other.chars().take(40).collect::<String>());
                Ok(())
            }
        }
    }

    /// What holds within an element; `None` when it is not shown.
    fn context(&mut self, node: Node<'a, 'input>, outer: &Context) -> Result<Option<Context>, SvgError> {
        let style = |property: &str| {
            let styled = node.attribute("style").and_then(|style| {
                style.split(';').filter_map(|rule| rule.split_once(':')).find(|(name, _)| name.trim() == property)
            });
            styled.map(|(_, value)| value.trim()).or_else(|| node.attribute(property).map(str::trim))
        };
        if style("display") == Some("none") {
            return Ok(None);
        }
        if ["clip-path", "mask"].iter().any(|name| style(name).is_some_and(|value| value != "none")) {
            self.clipped += 1;
        }
        let mut context = Context { depth: outer.depth + 1, ..outer.clone() };
        match style("visibility") {
            Some("hidden" | "collapse") => context.is_visible = false,
            Some("visible") => context.is_visible = true,
            _ => {}
        }
        if let Some(text) = node.attribute("transform") {
            let transform = Transform::from_str(text)
                .ok()
                .filter(|t| [t.a, t.b, t.c, t.d, t.e, t.f].iter().all(|value| value.is_finite()))
                .ok_or_else(|| self.bad(node, "transform", "a list such as translate(10 20) rotate(30)"))?;
            let Transform { a, b, c, d, e, f } = transform;
            let inner = Affine { x_axis: Vector::new(a, b), y_axis: Vector::new(c, d), origin: Vector::new(e, f) };
            context.map = inner.then(&outer.map);
        }
        let is_group = matches!(node.tag_name().name(), "g" | "svg" | "symbol" | "use" | "a" | "switch");
        let id = node.attribute("id").filter(|id| id.len() <= 200);
        if let Some(id) = id {
            context.label = Some(id.into());
        }
        // A group's label as drawing programs keep it, in a namespace of their own.
        let label = node.attributes().find(|attribute| attribute.name() == "label").map(|attribute| attribute.value());
        for name in [label, id].into_iter().flatten().filter(|name| name.len() <= 200) {
            let found = self.options.layers.find(name).filter(|&layer_use| {
                // A part may be called "frame" without being a title block's.
                is_group || layer_use != LayerUse::Ignore
            });
            if found.is_some() {
                (context.layer, context.layer_use) = (name.into(), found);
                break;
            }
        }
        if is_group
            && context.layer.is_empty()
            && let Some(label) = label.filter(|label| label.len() <= 200)
        {
            context.layer = label.into();
        }
        Ok(Some(context))
    }

    /// The inside of an svg or symbol element at a corner, with a size that may be left open.
    fn nested(
        &mut self,
        node: Node<'a, 'input>,
        context: &Context,
        corner: [f64; 2],
        size: [Option<f64>; 2],
    ) -> Result<(), SvgError> {
        let mut inner = context.clone();
        let [w, h] = [size[0].unwrap_or(context.viewport[0]), size[1].unwrap_or(context.viewport[1])];
        let shift = Affine::translation(corner[0], corner[1]);
        match self.view_box(node)? {
            Some(view) => {
                // Without any size at all, the viewBox is taken as it is.
                let (w, h) = if w > 0.0 && h > 0.0 { (w, h) } else { (view.w, view.h) };
                inner.map = viewport::fit(view, w, h, Self::aspect_ratio(node)).then(&shift).then(&context.map);
                inner.viewport = [view.w, view.h];
            }
            None => {
                inner.map = shift.then(&context.map);
                inner.viewport = [w, h];
            }
        }
        self.children(node, &inner)
    }

    fn reuse(&mut self, node: Node<'a, 'input>, context: &Context) -> Result<(), SvgError> {
        let (file, spot) = (self.file.to_owned(), self.spot(node));
        let xlink = ("http://www.w3.org/1999/xlink", "href");
        let href = node.attribute("href").or_else(|| node.attribute(xlink)).unwrap_or_default().trim();
        let target: String = href.chars().take(100).collect();
        let Some(id) = href.strip_prefix('#') else {
            *self.not_followed.entry("reference(s) to other files").or_default() += 1;
            return Ok(());
        };
        let Some(&found) = self.ids.get(id) else {
            return Err(SvgError::UnknownTarget { file, spot, target });
        };
        if self.used.contains(&found.id()) || node.ancestors().any(|around| around.id() == found.id()) {
            return Err(SvgError::UseWithinItself { file, spot, target });
        }
        if self.used.len() >= self.options.limits.nesting {
            return Err(SvgError::TooDeep { file, spot, limit: self.options.limits.nesting });
        }
        let [w, h] = context.viewport;
        let corner = [self.length(node, "x", w, 0.0)?, self.length(node, "y", h, 0.0)?];
        self.used.push(found.id());
        match found.tag_name().name() {
            name @ ("symbol" | "svg") => {
                let mut size = [self.size(node, "width", w)?, self.size(node, "height", h)?];
                if name == "svg" {
                    size[0] = size[0].or(self.size(found, "width", w)?);
                    size[1] = size[1].or(self.size(found, "height", h)?);
                }
                if let Some(inner) = self.context(found, context)? {
                    self.nested(found, &inner, corner, size)?;
                }
            }
            _ => {
                let map = Affine::translation(corner[0], corner[1]).then(&context.map);
                self.element(found, &Context { map, ..context.clone() })?;
            }
        }
        self.used.pop();
        Ok(())
    }

    fn strokes(&self, node: Node<'a, 'input>, context: &Context) -> Result<Vec<Stroke>, SvgError> {
        let [w, h] = context.viewport;
        let diagonal = w.hypot(h) / std::f64::consts::SQRT_2;
        Ok(match node.tag_name().name() {
            "rect" => {
                let corner = Point::new(self.length(node, "x", w, 0.0)?, self.length(node, "y", h, 0.0)?);
                let (Some(width), Some(height)) = (self.size(node, "width", w)?, self.size(node, "height", h)?) else {
                    return Ok(Vec::new());
                };
                if width == 0.0 || height == 0.0 {
                    return Ok(Vec::new()); // the standard draws nothing
                }
                let (rx, ry) = (self.size(node, "rx", w)?, self.size(node, "ry", h)?);
                let (rx, ry) = (rx.or(ry).unwrap_or(0.0).min(width / 2.0), ry.or(rx).unwrap_or(0.0).min(height / 2.0));
                vec![Stroke::rectangle(corner, width, height, rx, ry)]
            }
            name @ ("circle" | "ellipse") => {
                let center = Point::new(self.length(node, "cx", w, 0.0)?, self.length(node, "cy", h, 0.0)?);
                let (rx, ry) = if name == "circle" {
                    let radius = self.size(node, "r", diagonal)?.unwrap_or(0.0);
                    (radius, radius)
                } else {
                    let (rx, ry) = (self.size(node, "rx", w)?, self.size(node, "ry", h)?);
                    (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0))
                };
                if rx == 0.0 || ry == 0.0 {
                    return Ok(Vec::new());
                }
                vec![Stroke::ellipse(center, rx, ry)]
            }
            "line" => {
                let start = Point::new(self.length(node, "x1", w, 0.0)?, self.length(node, "y1", h, 0.0)?);
                let end = Point::new(self.length(node, "x2", w, 0.0)?, self.length(node, "y2", h, 0.0)?);
                vec![Stroke::polyline(vec![start, end], false)]
            }
            name @ ("polyline" | "polygon") => {
                let text = node.attribute("points").unwrap_or_default();
                let points: Vec<Point> = PointsParser::from(text).map(|(x, y)| Point::new(x, y)).collect();
                // The parser stops at the first thing it does not understand, without saying so.
                let numbers = text.split(|c: char| c.is_whitespace() || c == ',').filter(|word| !word.is_empty());
                if points.is_empty() && !text.trim().is_empty() || numbers.clone().any(|word| !is_number(word)) {
                    return Err(self.bad(node, "points", "pairs of numbers, such as 0,0 10,0 10,5"));
                }
                vec![Stroke::polyline(points, name == "polygon")]
            }
            _ => match node.attribute("d").map(str::trim) {
                None | Some("" | "none") => Vec::new(),
                Some(data) => strokes::path(data).map_err(|column| {
                    let mut error = self.bad(node, "d", "path data, such as M 0 0 H 10 V 5 Z");
                    if let SvgError::BadAttribute { text, .. } = &mut error {
                        // What stands where the parser stopped tells more than how the data begins.
                        let from = column.saturating_sub(10);
                        *text = data.chars().skip(from).take(20).collect();
                        if from > 0 {
                            text.insert(0, '…');
                        }
                    }
                    error
                })?,
            },
        })
    }

    fn draw(&mut self, node: Node<'a, 'input>, context: &Context, strokes: &[Stroke]) -> Result<(), SvgError> {
        if !context.is_visible {
            self.sketch.leave_out("hidden element(s)");
            return Ok(());
        }
        let spot = self.spot(node);
        // The name that set the use, unless an element's own id did, in which case the table gives the same answer.
        let Some(layer_use) = self.sketch.layer_use(&context.layer, false, self.options) else { return Ok(()) };
        debug_assert!(context.layer_use.is_none_or(|known| known == layer_use));
        for stroke in strokes.iter().filter(|stroke| !stroke.is_empty()) {
            let is_far = |at: &Point| !(at.x.abs() <= FARTHEST && at.y.abs() <= FARTHEST);
            if let Some(at) = stroke.extremes().map(|point| context.map.apply(point)).find(is_far) {
                return Err(SvgError::TooFar { file: self.file.to_owned(), spot, at });
            }
            let source = Source { spot, layer: Arc::clone(&context.layer), label: context.label.clone() };
            self.sketch.draw(source, layer_use, stroke.is_closed, |sink| stroke.fill(&context.map, sink)).map_err(
                |NoRoom| SvgError::TooManyPieces {
                    file: self.file.to_owned(),
                    spot,
                    limit: self.options.limits.pieces,
                },
            )?;
        }
        Ok(())
    }
}

const VIEW_BOX: &str = "four numbers: left, top, and a width and height above zero";

/// Whether a word holds nothing but numbers: "10", "-5.5", or "1-2", which the standard reads as two.
fn is_number(word: &str) -> bool {
    word.bytes().all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte))
        && word.bytes().any(|b| b.is_ascii_digit())
}
