//! Segments in a tree of boxes, for distances between whole rings.

use crate::{Bounds, Outline, Point, Segment, Shape};

/// Segments in one leaf of the tree. Fewer make the tree deeper, more test more pairs; 2 to 8 time alike.
const LEAF: usize = 4;

/// The sides of one or more rings, prepared for many distance queries.
///
/// Sides that follow each other lie near each other, so a tree of boxes over their order prunes well: the distance of
/// two rings of 200 sides costs a few microseconds. Building costs O(n).
#[derive(Clone, Debug)]
pub struct Boundary {
    segments: Vec<Segment>,
    boxes: Vec<Bounds>,
    nodes: Vec<Node>,
}

#[derive(Clone, Copy, Debug)]
struct Node {
    bounds: Bounds,
    first: usize,
    count: usize,
    /// Index of the right child, the left one being next in the list; zero for a leaf.
    right: usize,
    /// Whether its sides follow each other on one ring.
    is_chain: bool,
}

impl Boundary {
    /// The sides of some rings, in order.
    #[must_use]
    pub fn new<'a>(rings: impl IntoIterator<Item = &'a Outline>) -> Self {
        let (mut segments, mut ring_of) = (Vec::new(), Vec::new());
        for (ring, outline) in rings.into_iter().enumerate() {
            segments.extend(outline.segments());
            ring_of.resize(segments.len(), ring);
        }
        let boxes: Vec<Bounds> = segments.iter().map(Segment::bounds).collect();
        let mut boundary = Self { nodes: Vec::with_capacity(segments.len()), segments, boxes };
        if !boundary.segments.is_empty() {
            boundary.build(0, boundary.segments.len(), &ring_of);
        }
        boundary
    }

    fn build(&mut self, first: usize, count: usize, ring_of: &[usize]) {
        let bounds = self.boxes[first..first + count].iter().fold(Bounds::EMPTY, |all, &b| all.union(b));
        let is_chain = ring_of[first] == ring_of[first + count - 1];
        let index = self.nodes.len();
        self.nodes.push(Node { bounds, first, count, right: 0, is_chain });
        if count > LEAF {
            let left = count / 2;
            self.build(first, left, ring_of);
            self.nodes[index].right = self.nodes.len();
            self.build(first + left, count - left, ring_of);
        }
    }

    /// The sides, ring after ring.
    #[must_use]
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// The smallest box around all sides. Exact for arcs.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.nodes.first().map_or(Bounds::EMPTY, |root| root.bounds)
    }

    /// Least distance between any two sides; zero when they meet, infinite when either has no side.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        self.distance_within(other, f64::INFINITY)
    }

    /// Least distance between any two sides, or `limit` when that is smaller: quicker than [`Self::distance`] when
    /// only small distances matter.
    #[must_use]
    pub fn distance_within(&self, other: &Self, limit: f64) -> f64 {
        let mut best = limit;
        if !self.nodes.is_empty() && !other.nodes.is_empty() {
            self.nearest(0, other, 0, &mut best);
        }
        best
    }

    fn nearest(&self, index: usize, other: &Self, other_index: usize, best: &mut f64) {
        let (a, b) = (&self.nodes[index], &other.nodes[other_index]);
        if box_distance(a.bounds, b.bounds) >= *best {
            return;
        }
        if a.right == 0 && b.right == 0 {
            for i in a.first..a.first + a.count {
                for j in b.first..b.first + b.count {
                    if box_distance(self.boxes[i], other.boxes[j]) < *best {
                        *best = best.min(self.segments[i].distance(&other.segments[j]));
                    }
                }
            }
            return;
        }
        // The node with more sides is split, and its nearer half looked at first, so that the other is often pruned.
        if b.right == 0 || (a.right != 0 && a.count >= b.count) {
            let (left, right) = (index + 1, a.right);
            let is_swapped =
                box_distance(self.nodes[right].bounds, b.bounds) < box_distance(self.nodes[left].bounds, b.bounds);
            let (first, second) = if is_swapped { (right, left) } else { (left, right) };
            self.nearest(first, other, other_index, best);
            self.nearest(second, other, other_index, best);
        } else {
            let (left, right) = (other_index + 1, b.right);
            let is_swapped =
                box_distance(a.bounds, other.nodes[right].bounds) < box_distance(a.bounds, other.nodes[left].bounds);
            let (first, second) = if is_swapped { (right, left) } else { (left, right) };
            self.nearest(index, other, first, best);
            self.nearest(index, other, second, best);
        }
    }

    /// A point of this boundary that is as near to the other as any, to a thousandth of a side's length or better; `None`
    /// when either has no side. For messages: it looks at every pair of sides.
    #[must_use]
    pub fn nearest_point(&self, other: &Self) -> Option<Point> {
        let mut best: Option<(f64, usize, usize)> = None;
        for (i, side) in self.segments.iter().enumerate() {
            for (j, across) in other.segments.iter().enumerate() {
                if best.is_some_and(|(least, ..)| box_distance(self.boxes[i], other.boxes[j]) >= least) {
                    continue;
                }
                let found = side.distance(across);
                if best.is_none_or(|(least, ..)| found < least) {
                    best = Some((found, i, j));
                }
            }
        }
        let (_, i, j) = best?;
        let (side, across) = (&self.segments[i], &other.segments[j]);
        let distance = |t: f64| across.distance_to_point(side.at(t));
        // Along one side the distance to another falls and rises a few times at most: steps find the valley, thirds its floor.
        let steps = 64.0;
        let coarse =
            (0..=64).map(|step| f64::from(step) / steps).min_by(|a, b| distance(*a).total_cmp(&distance(*b)))?;
        let (mut low, mut high) = ((coarse - 1.0 / steps).max(0.0), (coarse + 1.0 / steps).min(1.0));
        for _ in 0..60 {
            let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if distance(a) <= distance(b) { high = b } else { low = a }
        }
        let candidates = [coarse, low, f64::midpoint(low, high), high];
        let best = candidates.into_iter().min_by(|a, b| distance(*a).total_cmp(&distance(*b)))?;
        Some(side.at(best))
    }

    /// Least distance from a point to any side; infinite when there is none.
    #[must_use]
    pub fn distance_to_point(&self, point: Point) -> f64 {
        let mut best = f64::INFINITY;
        if !self.nodes.is_empty() {
            self.nearest_to_point(0, point, &mut best);
        }
        best
    }

    fn nearest_to_point(&self, index: usize, point: Point, best: &mut f64) {
        let node = &self.nodes[index];
        let here = Bounds { min: point, max: point };
        if box_distance(node.bounds, here) >= *best {
            return;
        }
        if node.right == 0 {
            for segment in &self.segments[node.first..node.first + node.count] {
                *best = best.min(segment.distance_to_point(point));
            }
            return;
        }
        let (left, right) = (index + 1, node.right);
        let is_swapped = box_distance(self.nodes[right].bounds, here) < box_distance(self.nodes[left].bounds, here);
        let (first, second) = if is_swapped { (right, left) } else { (left, right) };
        self.nearest_to_point(first, point, best);
        self.nearest_to_point(second, point, best);
    }

    /// The angle by which a viewer at `point` turns while following all rings, radians: a full turn for each ring
    /// around the point, positive for those that run counter-clockwise.
    pub(crate) fn turn_around(&self, point: Point) -> f64 {
        if self.nodes.is_empty() { 0.0 } else { self.turn_of_node(0, point) }
    }

    fn turn_of_node(&self, index: usize, point: Point) -> f64 {
        let node = &self.nodes[index];
        let sides = &self.segments[node.first..node.first + node.count];
        // Seen from beyond its box a chain spans less than half a turn, whatever it does within: its ends tell all.
        if node.is_chain && !node.bounds.contains(point) {
            let (a, b) = (sides[0].start() - point, sides[node.count - 1].end() - point);
            return a.cross(b).atan2(a.dot(b));
        }
        if node.right == 0 {
            return sides.iter().map(|side| side.turn_around(point)).sum();
        }
        self.turn_of_node(index + 1, point) + self.turn_of_node(node.right, point)
    }

    /// Calls `found` with the index of each side whose box touches `bounds`, in order.
    pub(crate) fn for_each_near(&self, bounds: Bounds, found: &mut impl FnMut(usize)) {
        if !self.nodes.is_empty() {
            self.visit(0, bounds, found);
        }
    }

    fn visit(&self, index: usize, bounds: Bounds, found: &mut impl FnMut(usize)) {
        let node = &self.nodes[index];
        if !node.bounds.intersects(bounds) {
            return;
        }
        if node.right == 0 {
            for side in node.first..node.first + node.count {
                if self.boxes[side].intersects(bounds) {
                    found(side);
                }
            }
            return;
        }
        self.visit(index + 1, bounds, found);
        self.visit(node.right, bounds, found);
    }
}

/// Distance of two boxes, zero when they touch.
fn box_distance(a: Bounds, b: Bounds) -> f64 {
    let x = (b.min.x - a.max.x).max(a.min.x - b.max.x).max(0.0);
    let y = (b.min.y - a.max.y).max(a.min.y - b.max.y).max(0.0);
    // Most pairs are apart in one direction only, or not at all, and then need no root.
    if x == 0.0 {
        y
    } else if y == 0.0 {
        x
    } else {
        x.hypot(y)
    }
}

impl Outline {
    /// Least distance between two rings; zero when they meet, infinite when either has no side.
    ///
    /// A ring inside another is as far from it as their sides are. For many queries prepare a [`Boundary`] once.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        Boundary::new([self]).distance(&Boundary::new([other]))
    }
}

impl Shape {
    /// Least distance between the rings of two shapes; zero when they meet. A shape in a hole of another, or wholly in
    /// its metal, is as far from it as their rings are.
    #[must_use]
    pub fn boundary_distance(&self, other: &Self) -> f64 {
        Boundary::new(self.rings()).distance(&Boundary::new(other.rings()))
    }
}
