//! What each shape of a picture shows, as a general SVG library has it: style sheets, inheritance, visibility, opacity and
//! clipping. The shapes themselves are read in [`super::walk`] with all their digits and with arcs as arcs, which that
//! library turns into curves of single precision.
//!
//! A shape is found again by its id; elements without one, or with one that is taken, get one of ours first. What a `use`
//! element draws has no ids there, so that it is found by its place among what that element draws.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};

use dropwise_geometry::{Bounds, Outline, Point};
use roxmltree::{Document, Node};
use usvg::tiny_skia_path::{PathSegment, Transform};

use crate::drawing::{Colour, DrawingOptions};

/// How ids of ours begin.
const OWN_ID: &str = "dropwise.";
/// Points for each curve of a clip's edge.
const CLIP_SAMPLES: usize = 16;

/// Whether an id was put in by [`with_ids`].
pub(super) fn is_own_id(id: &str) -> bool {
    id.starts_with(OWN_ID)
}

fn needs_id(node: &Node<'_, '_>) -> bool {
    matches!(node.tag_name().name(), "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" | "use")
}

/// The text with an id on every shape and `use`, no two alike, and with the picture as large as its viewBox, so that the
/// library's pixels are user units. Lines stay where they are.
pub(super) fn with_ids(text: &str, document: &Document<'_>, view: Option<[f64; 2]>) -> String {
    let mut taken: HashSet<&str> = HashSet::new();
    let mut edits: Vec<(std::ops::Range<usize>, String)> = Vec::new();
    if let Some(size) = view {
        let root = document.root_element();
        for (name, side) in ["width", "height"].into_iter().zip(size) {
            match root.attribute_node(name) {
                Some(attribute) => edits.push((attribute.range_value(), side.to_string())),
                None => edits.push(put_in(text, &root, name, &side.to_string())),
            }
        }
    }
    for node in document.descendants().filter(Node::is_element) {
        let own = format!("{OWN_ID}{}", edits.len());
        match node.attribute_node("id") {
            // The first of two alike is what references mean.
            Some(id) if !taken.insert(id.value()) && needs_id(&node) => edits.push((id.range_value(), own)),
            Some(_) => {}
            None if needs_id(&node) => {
                edits.push(put_in(text, &node, "id", &own));
            }
            None => {}
        }
    }
    let mut whole = String::with_capacity(text.len() + 24 * edits.len());
    let mut at = 0;
    edits.sort_by_key(|(range, _)| range.start);
    for (range, new) in edits {
        whole.push_str(&text[at..range.start]);
        whole.push_str(&new);
        at = range.end;
    }
    whole.push_str(&text[at..]);
    whole
}

/// An attribute more, right behind the element's name.
fn put_in(text: &str, node: &Node<'_, '_>, name: &str, value: &str) -> (std::ops::Range<usize>, String) {
    let start = node.range().start + 1;
    let end = start + text[start..].find(|c: char| c.is_whitespace() || c == '/' || c == '>').unwrap_or(0);
    (end..end, format!(" {name}=\"{value}\""))
}

/// How a shape is painted.
#[derive(Clone, Debug, Default)]
pub(super) struct Paint {
    /// Whether anything of it shows.
    pub(super) is_seen: bool,
    pub(super) is_filled: bool,
    pub(super) is_stroked: bool,
    /// Of its stroke, or else of its filling; `None` for gradients and patterns.
    pub(super) colour: Option<Colour>,
    pub(super) is_dashed: bool,
    pub(super) clipping: Clipping,
}

/// What clips and masks do to a shape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Clipping {
    /// Nothing is cut off.
    #[default]
    None,
    /// Some of it is.
    Some,
    /// All of it.
    All,
}

/// The paint of all shapes.
#[derive(Debug, Default)]
pub(super) struct Paints {
    by_id: HashMap<String, Paint>,
    /// What each `use` element draws, in order, with the box around it in user units; what was found is taken out.
    by_use: RefCell<HashMap<String, Vec<(Bounds, Paint)>>>,
}

impl Paints {
    /// The paint of all shapes of a picture, or what is wrong with it. `origin` is the corner of its viewBox.
    pub(super) fn of(
        document: &Document<'_>,
        per_inch: f64,
        origin: Point,
        options: &DrawingOptions,
    ) -> Result<Self, String> {
        let settings = usvg::Options {
            dpi: per_inch as f32,
            // Nothing outside the file is opened, and pictures in it are none of ours.
            image_href_resolver: usvg::ImageHrefResolver {
                resolve_data: Box::new(|_, _, _| None),
                resolve_string: Box::new(|_, _| None),
            },
            ..usvg::Options::default()
        };
        let tree = usvg::Tree::from_xmltree(document, &settings).map_err(|error| error.to_string())?;
        let uses: HashSet<&str> = document
            .descendants()
            .filter(|node| node.tag_name().name() == "use")
            .filter_map(|node| node.attribute("id"))
            .collect();
        let mut paints = Self::default();
        let mut room = options.limits.entities;
        paints.gather(tree.root(), &uses, &State::default(), origin, &mut room);
        Ok(paints)
    }

    /// How the shape of an id is painted; one that the library leaves out shows nothing.
    pub(super) fn of_id(&self, id: &str) -> Paint {
        self.by_id.get(id).cloned().unwrap_or_default()
    }

    /// How a shape is painted that a `use` element draws, by the box around it in user units.
    pub(super) fn of_use(&self, id: &str, bounds: Bounds) -> Paint {
        let mut by_use = self.by_use.borrow_mut();
        let Some(list) = by_use.get_mut(id) else { return Paint::default() };
        let size = bounds.width().max(bounds.height());
        let far =
            [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y].iter().fold(0.0_f64, |far, v| far.max(v.abs()));
        let slack = 0.01 * size + 1e-5 * far + 1e-6;
        let is_same = |(found, _): &(Bounds, Paint)| {
            found.min.distance(bounds.min) <= slack && found.max.distance(bounds.max) <= slack
        };
        list.iter().position(is_same).map(|index| list.remove(index).1).unwrap_or_default()
    }

    fn gather(&mut self, group: &usvg::Group, uses: &HashSet<&str>, outer: &State, origin: Point, room: &mut usize) {
        let mut state = outer.clone();
        if state.drawn_by.is_none() && uses.contains(group.id()) {
            state.drawn_by = Some(group.id().to_owned());
        }
        state.is_seen &= group.opacity().get() > 0.0;
        state.is_masked |= group.mask().is_some();
        let mut clip = group.clip_path();
        while let Some(path) = clip {
            state.clips.push(Clip::of(path, group.abs_transform()));
            clip = path.clip_path();
        }
        for child in group.children() {
            let Some(left) = room.checked_sub(1) else { return };
            *room = left;
            match child {
                usvg::Node::Group(group) => self.gather(group, uses, &state, origin, room),
                usvg::Node::Path(path) => {
                    let paint = paint_of(path, &state);
                    match &state.drawn_by {
                        None => {
                            self.by_id.insert(path.id().to_owned(), paint);
                        }
                        Some(id) => {
                            let found = path.abs_bounding_box();
                            let corner = |x: f32, y: f32| Point::new(f64::from(x) + origin.x, f64::from(y) + origin.y);
                            let bounds =
                                Bounds::of([corner(found.left(), found.top()), corner(found.right(), found.bottom())]);
                            self.by_use.borrow_mut().entry(id.clone()).or_default().push((bounds, paint));
                        }
                    }
                }
                usvg::Node::Image(_) | usvg::Node::Text(_) => {}
            }
        }
    }
}

#[derive(Clone, Debug)]
struct State {
    /// The outermost `use` element around.
    drawn_by: Option<String>,
    is_seen: bool,
    is_masked: bool,
    clips: Vec<Clip>,
}

impl Default for State {
    fn default() -> Self {
        Self { drawn_by: None, is_seen: true, is_masked: false, clips: Vec::new() }
    }
}

fn paint_of(path: &usvg::Path, state: &State) -> Paint {
    let fill = path.fill().filter(|fill| fill.opacity().get() > 0.0);
    let stroke = path.stroke().filter(|stroke| stroke.opacity().get() > 0.0);
    let paint = stroke.map(usvg::Stroke::paint).or(fill.map(usvg::Fill::paint));
    let colour = match paint {
        Some(usvg::Paint::Color(colour)) => Some(Colour::rgb([colour.red, colour.green, colour.blue])),
        _ => None,
    };
    Paint {
        is_seen: state.is_seen && path.is_visible() && (fill.is_some() || stroke.is_some()),
        is_filled: fill.is_some(),
        is_stroked: stroke.is_some(),
        colour,
        is_dashed: stroke.is_some_and(|stroke| stroke.dasharray().is_some()),
        clipping: clipping_of(path, state),
    }
}

fn clipping_of(path: &usvg::Path, state: &State) -> Clipping {
    if state.is_masked {
        return Clipping::Some;
    }
    if state.clips.is_empty() {
        return Clipping::None;
    }
    let points: Vec<Point> = points_on(path.data(), path.abs_transform()).into_iter().flatten().collect();
    if points.is_empty() {
        return Clipping::None;
    }
    let bounds = Bounds::of(points.iter().copied());
    // Single precision, and lines that lie on the clip's edge.
    let slack = 1e-4 * (1.0 + bounds.width().max(bounds.height()));
    let mut clipping = Clipping::None;
    for clip in &state.clips {
        if !clip.bounds.is_some_and(|clip| clip.intersects(bounds)) {
            return Clipping::All;
        }
        if !clip.holds(&points, slack) {
            clipping = Clipping::Some;
        }
    }
    clipping
}

/// The region that a clip leaves.
#[derive(Clone, Debug)]
struct Clip {
    /// `None` when it leaves nothing.
    bounds: Option<Bounds>,
    /// Its loops, as polygons.
    loops: Vec<Outline>,
    is_rectangle: bool,
}

impl Clip {
    fn of(clip: &usvg::ClipPath, outer: Transform) -> Self {
        let mut loops = Vec::new();
        gather_loops(clip.root(), outer.pre_concat(clip.transform()), &mut loops);
        let loops: Vec<Outline> = loops.into_iter().filter(|points| points.len() > 2).map(Outline::polygon).collect();
        let bounds = loops.iter().map(Outline::bounds).reduce(Bounds::union);
        let is_rectangle = matches!(loops.as_slice(), [only] if {
            let bounds = only.bounds();
            only.area() >= (1.0 - 1e-5) * bounds.width() * bounds.height()
        });
        Self { bounds, loops, is_rectangle }
    }

    fn holds(&self, points: &[Point], slack: f64) -> bool {
        match (self.bounds, self.is_rectangle) {
            (None, _) => false,
            (Some(bounds), true) => points.iter().all(|&point| bounds.expanded(slack).contains(point)),
            (Some(_), false) => {
                points.iter().all(|&point| self.loops.iter().filter(|one| one.contains(point)).count() % 2 == 1)
            }
        }
    }
}

fn gather_loops(group: &usvg::Group, outer: Transform, loops: &mut Vec<Vec<Point>>) {
    for child in group.children() {
        match child {
            usvg::Node::Group(group) => gather_loops(group, outer, loops),
            usvg::Node::Path(path) => {
                loops.extend(points_on(path.data(), outer.pre_concat(path.abs_transform())));
            }
            _ => {}
        }
    }
}

/// Points on the runs of a path.
fn points_on(path: &usvg::tiny_skia_path::Path, transform: Transform) -> Vec<Vec<Point>> {
    let mut runs: Vec<Vec<Point>> = Vec::new();
    let mut at = (0.0, 0.0);
    for segment in path.segments() {
        let mut put = |x: f32, y: f32| {
            let mut point = usvg::tiny_skia_path::Point::from_xy(x, y);
            transform.map_point(&mut point);
            if let Some(run) = runs.last_mut() {
                run.push(Point::new(f64::from(point.x), f64::from(point.y)));
            }
        };
        let shares = (1..=CLIP_SAMPLES).map(|i| i as f32 / CLIP_SAMPLES as f32);
        match segment {
            PathSegment::MoveTo(point) => {
                runs.push(Vec::new());
                let mut moved = point;
                transform.map_point(&mut moved);
                runs.last_mut()
                    .into_iter()
                    .for_each(|run| run.push(Point::new(f64::from(moved.x), f64::from(moved.y))));
                at = (point.x, point.y);
            }
            PathSegment::LineTo(point) => {
                put(point.x, point.y);
                at = (point.x, point.y);
            }
            PathSegment::QuadTo(control, point) => {
                for t in shares {
                    let s = 1.0 - t;
                    let mix = |a: f32, b: f32, c: f32| s * s * a + 2.0 * s * t * b + t * t * c;
                    put(mix(at.0, control.x, point.x), mix(at.1, control.y, point.y));
                }
                at = (point.x, point.y);
            }
            PathSegment::CubicTo(one, other, point) => {
                for t in shares {
                    let s = 1.0 - t;
                    let mix = |a: f32, b: f32, c: f32, d: f32| {
                        s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
                    };
                    put(mix(at.0, one.x, other.x, point.x), mix(at.1, one.y, other.y, point.y));
                }
                at = (point.x, point.y);
            }
            PathSegment::Close => {}
        }
    }
    runs
}
