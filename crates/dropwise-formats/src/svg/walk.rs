//! From element to element, with what each hands down to those within it.

use std::collections::{BTreeMap, HashMap};
use std::str::FromStr;
use std::sync::Arc;

use dropwise_geometry::{Bounds, Point, Vector};
use roxmltree::{Document, Node, NodeId};
use svgtypes::{AspectRatio, PointsParser, Transform, ViewBox};

use super::paint::{self, Clipping, Paint, Paints};
use super::{Lines, SvgError, strokes, viewport};
use crate::curves::{Affine, NoRoom, PieceSink};
use crate::drawing::{
    DrawingOptions, FARTHEST, LayerUse, LineLook, NoteKind, Reading, Severity, Sketch, Source, Spot, UnitSource,
    word_use,
};
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
    /// Targets of `use` being drawn, and the ids of the `use` elements.
    used: Vec<NodeId>,
    uses: Vec<String>,
    not_followed: BTreeMap<&'static str, usize>,
    page: &'a Page,
    /// What shapes show; `None` while only sizes are counted.
    paints: Option<&'a Paints>,
    unseen: usize,
    fills_closed: usize,
    /// User units to millimetres.
    root_map: Affine,
}

/// What the outermost element says of the whole.
#[derive(Clone, Debug)]
pub(super) struct Page {
    /// Pixels in an inch.
    pub(super) per_inch: f64,
    /// The program that counts so, when it is not the usual number.
    program: Option<&'static str>,
    /// Whether layers have labels, so that ids are none.
    has_labels: bool,
    view: Option<ViewBox>,
    /// In px; `None` when the file does not say, or says it as a share of its window.
    size: [Option<f64>; 2],
    /// Whether one of them is told in a physical unit.
    is_physical: bool,
    ratio: Option<AspectRatio>,
}

impl Page {
    pub(super) fn of(document: &Document<'_>, lines: &Lines, options: &DrawingOptions) -> Result<Self, SvgError> {
        let root = document.root_element();
        if root.tag_name().name() != "svg" {
            let found = root.tag_name().name().chars().take(40).collect();
            return Err(SvgError::NotSvg { file: options.file.clone(), found });
        }
        let (per_inch, program) = resolution(document);
        let has_labels = document.descendants().any(|node| layer_label(node).is_some());
        let mut page =
            Self { per_inch, program, has_labels, view: None, size: [None; 2], is_physical: false, ratio: None };
        let reader = Attributes { file: &options.file, lines, per_inch };
        page.view = reader.view_box(root)?;
        // Percentages of an unknown window say nothing.
        let given =
            |name: &str| root.attribute(name).filter(|text| !text.trim().ends_with('%') && text.trim() != "auto");
        for (size, name) in page.size.iter_mut().zip(["width", "height"]) {
            *size = if given(name).is_some() { reader.size(root, name, 0.0)? } else { None };
            page.is_physical |= given(name).is_some_and(viewport::is_physical);
        }
        page.ratio = aspect_ratio(root);
        if let Some(name) = ["width", "height"]
            .into_iter()
            .zip(page.size)
            .find_map(|(name, size)| (page.view.is_some() && size == Some(0.0)).then_some(name))
        {
            return Err(reader.bad(root, name, "a length above zero"));
        }
        Ok(page)
    }

    /// Width and height of the viewBox, in user units.
    pub(super) fn view_size(&self) -> Option<[f64; 2]> {
        self.view.map(|view| [view.w, view.h])
    }

    /// The corner of the viewBox, in user units.
    pub(super) fn corner(&self) -> Point {
        self.view.map_or(Point::ORIGIN, |view| Point::new(view.x, view.y))
    }
}

fn aspect_ratio(node: Node<'_, '_>) -> Option<AspectRatio> {
    AspectRatio::from_str(node.attribute("preserveAspectRatio")?).ok()
}

/// Reads lengths and boxes of elements, and says what is wrong with them.
struct Attributes<'a> {
    file: &'a str,
    lines: &'a Lines,
    per_inch: f64,
}

/// The label of a group that a drawing program keeps as a layer.
fn layer_label<'a>(node: Node<'a, '_>) -> Option<&'a str> {
    let is_layer = node.attributes().any(|a| a.name() == "groupmode" && a.value() == "layer");
    let label = node.attributes().find(|attribute| attribute.name() == "label").map(|attribute| attribute.value());
    label.filter(|label| is_layer && !label.trim().is_empty() && label.len() <= LONGEST_NAME)
}

/// Pixels in an inch, and the program that counts so: Inkscape did 90 before its version 0.92, Illustrator does 72.
fn resolution(document: &Document<'_>) -> (f64, Option<&'static str>) {
    let root = document.root_element();
    let version = root
        .attributes()
        .find(|a| a.name() == "version" && a.namespace().is_some_and(|namespace| namespace.contains("inkscape")));
    if let Some(version) = version {
        let mut numbers = version.value().split(|c: char| !c.is_ascii_digit()).map(|text| text.parse::<u32>().ok());
        if let (Some(Some(0)), Some(Some(minor))) = (numbers.next(), numbers.next())
            && minor < 92
        {
            return (90.0, Some("Inkscape before 0.92"));
        }
    }
    let comments = document.root().children().chain(root.children().take(5)).filter(Node::is_comment);
    let is_by = |name: &str| comments.clone().any(|node| node.text().is_some_and(|text| text.contains(name)));
    if is_by("Generator: Adobe Illustrator") { (72.0, Some("Adobe Illustrator")) } else { (96.0, None) }
}

/// Names longer than this name no layer.
const LONGEST_NAME: usize = 200;

/// What else a px may be: millimetres by name, px first.
const OTHER_PIXELS: &[(&str, f64)] =
    &[("1/72 inch", 25.4 / 72.0), ("1/90 inch", 25.4 / 90.0), ("1/96 inch", 25.4 / 96.0), ("millimetres", 1.0)];

#[derive(Clone)]
struct Context {
    /// User units to millimetres.
    map: Affine,
    /// Width and height that percentages refer to, in user units.
    viewport: [f64; 2],
    layer: Arc<str>,
    label: Option<Arc<str>>,
    depth: usize,
}

/// Draws a picture. Without paints everything counts as seen. With a true size, 1 in the picture is so many mm.
pub(super) fn walk(
    document: &Document<'_>,
    lines: &Lines,
    page: &Page,
    paints: Option<&Paints>,
    true_size: Option<f64>,
    sketch: &mut Sketch,
    options: &DrawingOptions,
) -> Result<(), SvgError> {
    let root = document.root_element();
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
        uses: Vec::new(),
        not_followed: BTreeMap::new(),
        page,
        paints,
        unseen: 0,
        fills_closed: 0,
        root_map: Affine::IDENTITY,
    };
    let (map, viewport) = walker.root_map(true_size);
    walker.root_map = map;
    let context = Context { map, viewport, layer: "".into(), label: None, depth: 0 };
    walker.children(root, &context)?;
    let Walker { not_followed, unseen, fills_closed, sketch, .. } = walker;
    for (what, count) in not_followed {
        sketch.note(Severity::Warning, NoteKind::NotFollowed { what: what.to_owned(), count });
    }
    if unseen > 0 {
        sketch.leave_out_many("shape(s) that show nothing", unseen);
    }
    if fills_closed > 0 {
        sketch.note(Severity::Warning, NoteKind::FillsClosed { count: fills_closed });
    }
    Ok(())
}

impl Attributes<'_> {
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

    /// A length in user units, `default` when absent.
    fn length(&self, node: Node<'_, '_>, name: &'static str, whole: f64, default: f64) -> Result<f64, SvgError> {
        match node.attribute(name) {
            None => Ok(default),
            Some(text) => viewport::pixels(text, whole, self.per_inch)
                .ok_or_else(|| self.bad(node, name, "a length, such as 12 or 3mm")),
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
}

impl<'a, 'input> Walker<'a, 'input> {
    fn reader(&self) -> Attributes<'a> {
        Attributes { file: self.file, lines: self.lines, per_inch: self.page.per_inch }
    }

    fn spot(&self, node: Node<'_, '_>) -> Spot {
        self.reader().spot(node)
    }

    fn bad(&self, node: Node<'_, '_>, attribute: &'static str, expected: &'static str) -> SvgError {
        self.reader().bad(node, attribute, expected)
    }

    fn length(&self, node: Node<'_, '_>, name: &'static str, whole: f64, default: f64) -> Result<f64, SvgError> {
        self.reader().length(node, name, whole, default)
    }

    fn size(&self, node: Node<'_, '_>, name: &'static str, whole: f64) -> Result<Option<f64>, SvgError> {
        self.reader().size(node, name, whole)
    }

    /// The map from the outermost user units to millimetres with y up, and the size of the picture in user units.
    fn root_map(&mut self, true_size: Option<f64>) -> (Affine, [f64; 2]) {
        let Page { view, size: [width, height], per_inch, .. } = *self.page;
        let flip = |height: f64| Affine::scale(1.0, -1.0).then(&Affine::translation(0.0, height));
        if let Some(factor) = true_size.or(self.options.unit.as_ref().map(crate::drawing::DrawingUnit::millimetres)) {
            let (bottom, viewport) = match view {
                Some(view) => (view.y + view.h, [view.w, view.h]),
                None => (height.unwrap_or(0.0), [width.unwrap_or(0.0), height.unwrap_or(0.0)]),
            };
            self.sketch.page = Some(viewport.map(|side| side * factor));
            let (source, others) = (UnitSource::Told, OTHER_PIXELS);
            self.sketch.reading = Some(Reading { source, millimetres: factor, others, against: None });
            return (flip(bottom).then(&Affine::scale(factor, factor)), viewport);
        }
        let pixel = 25.4 / per_inch;
        let (mut map, mut viewport) = (Affine::IDENTITY, [width.unwrap_or(0.0), height.unwrap_or(0.0)]);
        let mut size = viewport;
        if let Some(view) = view {
            // One side given: the other follows from the viewBox. None: a px for each unit.
            let (w, h) = match (width, height) {
                (Some(w), Some(h)) => (w, h),
                (Some(w), None) => (w, w * view.h / view.w),
                (None, Some(h)) => (h * view.w / view.h, h),
                (None, None) => (view.w, view.h),
            };
            map = viewport::fit(view, w, h, self.page.ratio);
            (size, viewport) = ([w, h], [view.w, view.h]);
        }
        self.sketch.page = Some(size.map(|side| side * pixel));
        let map = map.then(&flip(size[1])).then(&Affine::scale(pixel, pixel));
        let source = match self.page.program {
            _ if self.page.is_physical => UnitSource::Named("the unit of its size"),
            Some(program) => UnitSource::Program { per_inch: per_inch as u32, program },
            None => UnitSource::Assumed { unit: "1/96 inch for each px", hint: None },
        };
        self.sketch.reading =
            Some(Reading { source, millimetres: map.x_axis.length(), others: OTHER_PIXELS, against: None });
        (map, viewport)
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
            | "filter" | "metadata" | "title" | "desc" | "script" | "style" | "view" | "cursor" => return Ok(()),
            _ => {}
        }
        let Some(context) = self.context(node, outer)? else {
            self.unseen += node.descendants().filter(|node| is_shape(node.tag_name().name())).count();
            return Ok(());
        };
        match name {
            "g" | "a" => self.children(node, &context),
            // The first that a viewer understands; this one understands all languages and no extensions.
            "switch" => node
                .children()
                .filter(Node::is_element)
                .find(|child| {
                    child.tag_name().name() != "foreignObject" && child.attribute("requiredExtensions").is_none()
                })
                .map_or(Ok(()), |child| self.element(child, &context)),
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
                    first("x").and_then(|text| viewport::pixels(text, w, self.page.per_inch)).unwrap_or(0.0),
                    first("y").and_then(|text| viewport::pixels(text, h, self.page.per_inch)).unwrap_or(0.0),
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
        // What style sheets hide is found by its paint; this spares the walk.
        if style("display") == Some("none") {
            return Ok(None);
        }
        let mut context = Context { depth: outer.depth + 1, ..outer.clone() };
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
        let id = node.attribute("id").filter(|id| id.len() <= LONGEST_NAME && !paint::is_own_id(id));
        if let Some(id) = id {
            context.label = Some(id.into());
        }
        if let Some(layer) = self.layer(node, id, is_group, &context.layer) {
            context.layer = layer;
        }
        Ok(Some(context))
    }

    /// The layer that an element begins, if it does.
    fn layer(&self, node: Node<'a, 'input>, id: Option<&str>, is_group: bool, outer: &str) -> Option<Arc<str>> {
        let named = |name: &str| node.attributes().find(|a| a.name() == name).map(|a| a.value());
        let label = named("label").filter(|label| label.len() <= LONGEST_NAME);
        let data_name = named("data-name").filter(|name| name.len() <= LONGEST_NAME);
        // Illustrator writes names as ids, with blanks and the like by their number.
        let spelled = id.map(|id| id.replace("_x0020_", " ").replace("_x5F_", "_").replace("_x2D_", "-"));
        let names = || [label, data_name, spelled.as_deref(), id].into_iter().flatten();
        if let Some(told) = names().find(|name| self.options.rules.layers.told(name).is_some()) {
            return Some(told.into());
        }
        if let Some(label) = layer_label(node) {
            return Some(label.into());
        }
        if self.page.has_labels {
            return None;
        }
        let own = label.or(data_name);
        let says = |name: &str| word_use(name).filter(|&line_use| is_group || line_use != LayerUse::Ignore);
        if let Some(known) = own.filter(|name| says(name).is_some()) {
            return Some(known.into());
        }
        // An id given by a program says nothing, whatever word it is made of.
        if let Some(known) = spelled.as_deref().filter(|id| !is_automatic(id) && says(id).is_some()) {
            return Some(known.into());
        }
        own.filter(|_| is_group && outer.is_empty()).map(Into::into)
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
        match self.reader().view_box(node)? {
            Some(view) => {
                // Without any size at all, the viewBox is taken as it is.
                let (w, h) = if w > 0.0 && h > 0.0 { (w, h) } else { (view.w, view.h) };
                inner.map = viewport::fit(view, w, h, aspect_ratio(node)).then(&shift).then(&context.map);
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
        self.uses.push(node.attribute("id").unwrap_or_default().to_owned());
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
        self.uses.pop();
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

    /// The box around strokes, in the outermost user units.
    fn user_bounds(&self, strokes: &[Stroke], map: &Affine) -> Option<Bounds> {
        let (mut pieces, mut room) = (Vec::new(), self.options.limits.pieces);
        let tolerance = self.options.curve_tolerance;
        for stroke in strokes {
            let mut sink = PieceSink { pieces: &mut pieces, room: &mut room, tolerance };
            stroke.fill_as(stroke.is_closed, map, &mut sink).ok()?;
        }
        let bounds = pieces.iter().map(|piece| piece.segment().bounds()).reduce(Bounds::union)?;
        // The outermost map turns nothing: it scales, and y down into y up.
        let back = |point: Point| {
            let moved = point.to_vector() - self.root_map.origin;
            Point::new(moved.x / self.root_map.x_axis.x, moved.y / self.root_map.y_axis.y)
        };
        Some(Bounds::of([back(bounds.min), back(bounds.max)]))
    }

    fn draw(&mut self, node: Node<'a, 'input>, context: &Context, strokes: &[Stroke]) -> Result<(), SvgError> {
        let spot = self.spot(node);
        let is_far = |at: &Point| !(at.x.abs() <= FARTHEST && at.y.abs() <= FARTHEST);
        for stroke in strokes {
            if let Some(at) = stroke.extremes().map(|point| context.map.apply(point)).find(is_far) {
                return Err(SvgError::TooFar { file: self.file.to_owned(), spot, at });
            }
        }
        let paint = match self.paints {
            Some(paints) => match self.uses.first() {
                None => paints.of_id(node.attribute("id").unwrap_or_default()),
                Some(used) => {
                    self.user_bounds(strokes, &context.map).map_or_else(Paint::default, |b| paints.of_use(used, b))
                }
            },
            None => Paint { is_seen: true, is_stroked: true, ..Paint::default() },
        };
        let strokes: Vec<&Stroke> = strokes.iter().filter(|stroke| !stroke.is_empty()).collect();
        if !paint.is_seen || paint.clipping == Clipping::All {
            self.unseen += usize::from(!strokes.is_empty());
            return Ok(());
        }
        let look = LineLook {
            layer: Arc::clone(&context.layer),
            colour: paint.colour,
            line_type: paint.is_dashed.then(|| "dashed".into()),
            is_type_of_layer: false,
            is_hidden: false,
        };
        let is_ignored = self.options.rules.decide(&look, self.options.is_stock).0 == LayerUse::Ignore;
        if paint.clipping == Clipping::Some && !is_ignored {
            let points: Vec<Point> =
                strokes.iter().flat_map(|stroke| stroke.extremes()).map(|point| context.map.apply(point)).collect();
            let cure = "cut the shapes themselves where they end";
            self.sketch.do_not_understand("clipped or masked shape", cure, spot, &look.layer, &points);
        }
        let is_bare_fill = paint.is_filled && !paint.is_stroked;
        for stroke in strokes {
            // A filling closes its outline; without any width it shows nothing.
            if is_bare_fill && !stroke.is_closed && stroke.is_straight() {
                self.unseen += 1;
                continue;
            }
            let is_closed = stroke.is_closed || is_bare_fill;
            if is_closed && !stroke.is_closed && stroke.gap() > 1e-9 {
                self.fills_closed += 1;
            }
            let source = Source { spot, look: look.clone(), label: context.label.clone(), is_bare_fill };
            let fill = |sink: &mut PieceSink<'_>| stroke.fill_as(is_closed, &context.map, sink);
            self.sketch.draw(source, self.options, is_closed, fill).map_err(|NoRoom| SvgError::TooManyPieces {
                file: self.file.to_owned(),
                spot,
                limit: self.options.limits.pieces,
            })?;
        }
        Ok(())
    }
}

fn is_shape(name: &str) -> bool {
    matches!(name, "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon")
}

/// What drawing programs call things before they count them.
const COUNTED: &[&str] = &[
    "path",
    "rect",
    "circle",
    "ellipse",
    "line",
    "polyline",
    "polygon",
    "text",
    "tspan",
    "textpath",
    "flowroot",
    "g",
    "group",
    "layer",
    "svg",
    "svgid",
    "xmlid",
    "use",
    "image",
    "defs",
    "clippath",
    "clip",
    "mask",
    "pattern",
    "symbol",
    "marker",
    "guide",
    "grid",
    "object",
    "shape",
    "figure",
    "axes",
    "patch",
    "page",
    "namedview",
];

/// Whether an id is one that programs count up, "path1486", "Layer_1", "SVGID_00000_", or might be: a word for leaving out
/// with a number behind it.
fn is_automatic(id: &str) -> bool {
    let stem = id.trim_end_matches(|c: char| c.is_ascii_digit() || c == '-' || c == '_');
    let is_counted = stem.len() < id.len() && id.ends_with(|c: char| c.is_ascii_digit() || c == '_');
    is_counted
        && (COUNTED.contains(&stem.to_lowercase().as_str()) || word_use(stem).is_none_or(|is| is == LayerUse::Ignore))
}

const VIEW_BOX: &str = "four numbers: left, top, and a width and height above zero";

/// Whether a word holds nothing but numbers: "10", "-5.5", or "1-2", which the standard reads as two.
fn is_number(word: &str) -> bool {
    word.bytes().all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte))
        && word.bytes().any(|b| b.is_ascii_digit())
}
