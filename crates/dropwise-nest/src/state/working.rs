//! The working state of the search: where everything lies now, overlaps included, and what they cost.

use std::cell::Cell;
use std::ops::Range;
use std::sync::Arc;

use dropwise_geometry::{Bounds, Point, sin_cos_deg};

use crate::overlap::boxes_in_use::Boxes;
use crate::overlap::collision::{EdgeBuffer, Rings, shapes_overlap};
use crate::overlap::convex::Pieces;
use crate::overlap::neighbours::{Laid, Neighbours};
use crate::overlap::search_shape::{Placed, SearchShape};
use crate::problem::container::Container;
use crate::problem::task::{Task, Variant};
use crate::shapes::circles::Circles;
use crate::shapes::half_plane::HalfPlane;
use crate::shapes::pose::{Pose, turned};
use crate::shapes::vectors::Vectors;
use crate::state::pairs::{Link, Pairs, WeightRow};
use crate::statistics::MoveCounts;

/// A sheet that is in use.
#[derive(Clone, Debug)]
pub(crate) struct Bin {
    /// Index of the sheet in the task.
    pub(crate) sheet: usize,
    pub(crate) container: Arc<Container>,
    /// A cut line that parts must stay behind: it makes an open sheet short, or a leftover large.
    pub(crate) limit: Option<HalfPlane>,
    /// Items on it.
    pub(crate) members: Vec<usize>,
    /// Their boxes, in the same order.
    pub(crate) boxes: Boxes,
}

/// One copy of a part, where it lies, with its shape moved there.
#[derive(Clone, Debug)]
struct Body {
    bin: usize,
    pose: Pose,
    /// Sine and cosine of its free turn.
    rotation: (f64, f64),
    bounds: Bounds,
    /// Box of the shape that must lie in the room.
    edge_bounds: Bounds,
    corners: Vec<Point>,
    circles: Circles,
    /// The shape once more in convex pieces, if it has them.
    pieces: Pieces,
}

impl Body {
    fn placed<'a>(&self, shape: &'a SearchShape) -> Placed<'a> {
        Placed { shape, rotation: self.rotation, at: self.pose.at }
    }
}

/// A variant turned: what of a pose does not depend on the place. Most poses that follow each other are turned alike.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Turned {
    /// Number of the variant.
    number: usize,
    turn_deg: f64,
    /// Sine and cosine.
    rotation: (f64, f64),
    /// Box about the reference point, and that of the shape that must lie in the room.
    pub(crate) bounds: Bounds,
    pub(crate) edge_bounds: Bounds,
}

/// Where every item lies: enough to restore a working state. Items that lie nowhere have no entry.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Arrangement {
    /// Sheet of each bin, an index in the task, and its cut line.
    pub(crate) bins: Vec<(usize, Option<HalfPlane>)>,
    /// Bin and pose by item.
    pub(crate) places: Vec<Option<(usize, Pose)>>,
}

impl Arrangement {
    /// Leaves out all other bins and whatever lies on them.
    pub(crate) fn keep_bins(&mut self, is_kept: impl Fn(usize) -> bool) {
        let mut left = 0..;
        let new_index: Vec<Option<usize>> =
            (0..self.bins.len()).map(|bin| if is_kept(bin) { left.next() } else { None }).collect();
        let mut index = 0..;
        self.bins.retain(|_| index.next().is_some_and(&is_kept));
        for place in &mut self.places {
            *place = place.and_then(|(bin, pose)| new_index[bin].map(|bin| (bin, pose)));
        }
    }

    /// The same places by variants that may turn freely, for items of the parts given.
    pub(crate) fn freed(&self, task: &Task, parts: &[usize]) -> Self {
        let freed =
            |(place, &part): (&Option<(usize, Pose)>, &usize)| place.map(|(bin, pose)| (bin, task.freed(part, pose)));
        Self { bins: self.bins.clone(), places: self.places.iter().zip(parts).map(freed).collect() }
    }
}

/// The state itself. Losses are areas: how much two items overlap, or an item sticks out, measured so that the figure
/// is zero exactly when they are apart and grows as they sink into each other.
#[derive(Clone, Debug)]
pub(crate) struct Working<'t> {
    pub(crate) task: &'t Task,
    /// Part of each item, an index in the task.
    pub(crate) parts: Vec<usize>,
    pub(crate) bins: Vec<Bin>,
    bodies: Vec<Option<Body>>,
    /// Short form of the bodies; stale for items that lie nowhere.
    pub(crate) laid: Vec<Laid>,
    /// Position of each item among the members of its bin; stale for items that lie nowhere.
    slots: Vec<u32>,
    /// Losses and weights of pairs of items.
    pairs: Pairs,
    /// The weights of the item that is being evaluated.
    weights: WeightRow,
    /// Loss of each item against its sheet: sticking out, obstacles.
    sheet_loss: Vec<f32>,
    sheet_weight: Vec<f32>,
    /// Evaluations of a placement so far.
    pub(crate) evaluations: u64,
    /// Moves so far.
    pub(crate) moves: MoveCounts,
    pub(crate) scratch: Scratch,
    /// Whether parts that may turn freely are given quarter turns only, where those are kept.
    pub(crate) is_square: bool,
}

/// Buffers that evaluations reuse.
#[derive(Clone, Debug, Default)]
pub(crate) struct Scratch {
    corners: Vec<Point>,
    circles: Circles,
    pieces: Pieces,
    edge_circles: Circles,
    edge_pieces: Pieces,
    /// Members of a bin whose boxes meet that of the item, by position.
    pub(crate) meeting: Vec<u32>,
    /// Items that may overlap by edges only.
    pending: Vec<usize>,
    /// The same for obstacles.
    pending_obstacles: Vec<usize>,
    edges: EdgeBuffer,
    /// Parts of a way that are not free.
    pub(crate) spans: Vec<(f64, f64)>,
    pub(crate) vectors: Vectors,
    /// What was last turned.
    turned: Cell<Option<Turned>>,
}

impl<'t> Working<'t> {
    /// No bins, and every item nowhere. `parts` gives the part of each item.
    pub(crate) fn new(task: &'t Task, parts: Vec<usize>) -> Self {
        let n = parts.len();
        Self {
            task,
            parts,
            bins: Vec::new(),
            bodies: vec![None; n],
            laid: vec![Laid::default(); n],
            slots: vec![0; n],
            pairs: Pairs::new(n),
            weights: WeightRow::new(n),
            sheet_loss: vec![0.0; n],
            sheet_weight: vec![1.0; n],
            evaluations: 0,
            moves: MoveCounts::default(),
            scratch: Scratch::default(),
            is_square: false,
        }
    }

    /// The variants among which a new place for an item in a bin is looked for.
    pub(crate) fn choice(&self, item: usize, bin: usize) -> Range<usize> {
        let (task, part) = (self.task, self.parts[item]);
        let square = task.square(part);
        if self.is_square && !square.is_empty() {
            return square;
        }
        task.allowed(part, task.sheets[self.bins[bin].sheet].grain)
    }

    /// Whether most items lie at one of the quarter turns of parts that may turn freely.
    pub(crate) fn lies_square(&self) -> bool {
        let is_square = |&item: &usize| {
            self.place_of(item).is_some_and(|(_, pose)| self.task.square(self.parts[item]).contains(&pose.variant))
        };
        2 * (0..self.parts.len()).filter(is_square).count() > self.parts.len()
    }

    pub(crate) fn task(&self) -> &'t Task {
        self.task
    }

    pub(crate) fn item_count(&self) -> usize {
        self.parts.len()
    }

    /// Part of an item, an index in the task.
    pub(crate) fn part_of(&self, item: usize) -> usize {
        self.parts[item]
    }

    /// Opens a sheet and returns its bin.
    pub(crate) fn open(&mut self, sheet: usize, container: Arc<Container>, limit: Option<HalfPlane>) -> usize {
        self.bins.push(Bin { sheet, container, limit, members: Vec::new(), boxes: Boxes::default() });
        self.bins.len() - 1
    }

    pub(crate) fn place_of(&self, item: usize) -> Option<(usize, Pose)> {
        self.bodies[item].as_ref().map(|body| (body.bin, body.pose))
    }

    /// Box of the shape that must lie in the room.
    pub(crate) fn bounds_of(&self, item: usize) -> Option<Bounds> {
        self.bodies[item].as_ref().map(|body| body.edge_bounds)
    }

    /// An item's shape where it lies, if it lies anywhere.
    pub(crate) fn placed(&self, item: usize) -> Option<Placed<'t>> {
        let body = self.bodies[item].as_ref()?;
        Some(body.placed(self.shape_of(item, body.pose.variant)))
    }

    fn variant_of(&self, item: usize, variant: usize) -> &'t Variant {
        &self.task.parts[self.parts[item]].variants[variant]
    }

    pub(crate) fn shape_of(&self, item: usize, variant: usize) -> &'t SearchShape {
        &self.task.parts[self.parts[item]].variants[variant].shape
    }

    /// Takes an item off its sheet, if it lies on one.
    pub(crate) fn remove(&mut self, item: usize) {
        let Some(body) = self.bodies[item].take() else { return };
        let bin = &mut self.bins[body.bin];
        let position = self.slots[item] as usize;
        bin.members.swap_remove(position);
        bin.boxes.swap_remove(position);
        if let Some(&moved) = bin.members.get(position) {
            self.slots[moved] = position as u32;
        }
        self.pairs.clear_losses_of(item);
        self.sheet_loss[item] = 0.0;
    }

    fn bin_len(&self, bin: usize) -> usize {
        self.bins[bin].members.len()
    }

    /// Lays an item down, off wherever it lay, and works out what it overlaps.
    pub(crate) fn put(&mut self, item: usize, bin: usize, pose: Pose) {
        self.remove(item);
        let shape = self.shape_of(item, pose.variant);
        let turned = self.turned(item, pose.variant, pose.turn_deg);
        let rotation = turned.rotation;
        let mut circles = Circles::default();
        shape.circles.moved_into(rotation, pose.at, &mut circles);
        let mut pieces = Pieces::default();
        shape.pieces.moved_into(rotation, pose.at, &mut pieces);
        let mut corners = Vec::with_capacity(shape.corners.len());
        move_corners(&shape.corners, rotation, pose.at, &mut corners);
        let bounds = moved_bounds(turned.bounds, pose.at);
        let edge_bounds = moved_bounds(turned.edge_bounds, pose.at);
        self.laid[item] = Laid { at: pose.at, number: self.variant_of(item, pose.variant).number, size: shape.size };
        self.bodies[item] = Some(Body { bin, pose, rotation, bounds, edge_bounds, corners, circles, pieces });
        self.refresh(item);
        self.slots[item] = self.bins[bin].members.len() as u32;
        self.bins[bin].members.push(item);
        self.bins[bin].boxes.push(bounds);
    }

    /// A variant of an item, turned.
    #[inline]
    pub(crate) fn turned(&self, item: usize, variant: usize, turn_deg: f64) -> Turned {
        let variant = self.variant_of(item, variant);
        let number = variant.number;
        if turn_deg == 0.0 {
            let (bounds, edge_bounds) = (variant.shape.bounds, variant.edge().bounds);
            return Turned { number, turn_deg, rotation: (0.0, 1.0), bounds, edge_bounds };
        }
        if let Some(kept) = self.scratch.turned.get()
            && kept.number == number
            && kept.turn_deg == turn_deg
        {
            return kept;
        }
        let rotation = sin_cos_deg(turn_deg);
        let boxed = |shape: &SearchShape| self.scratch.vectors.turned_bounds(&shape.hull_lanes, rotation);
        let bounds = boxed(&variant.shape);
        let edge_bounds = if variant.has_own_edge() { boxed(variant.edge()) } else { bounds };
        let turned = Turned { number, turn_deg, rotation, bounds, edge_bounds };
        self.scratch.turned.set(Some(turned));
        turned
    }

    /// Works out the losses of an item that is not yet listed in its bin, and has none with others.
    fn refresh(&mut self, item: usize) {
        self.refresh_sheet_loss(item);
        let mut scratch = std::mem::take(&mut self.scratch);
        let body = self.bodies[item].as_ref().expect("called for items that lie somewhere");
        let shape = self.shape_of(item, body.pose.variant);
        move_corners(&shape.inner, body.rotation, body.pose.at, &mut scratch.corners);
        let rings = Rings { corners: &scratch.corners, ring_ends: &shape.ring_ends, bounds: body.bounds };
        let room = &self.bins[body.bin];
        let mut meeting = std::mem::take(&mut scratch.meeting);
        scratch.vectors.boxes_meeting(&room.boxes, body.bounds, &mut meeting);
        for &index in &meeting {
            let other = room.members[index as usize];
            let other_body = self.bodies[other].as_ref().expect("members lie somewhere");
            if !other_body.bounds.intersects(body.bounds) {
                continue;
            }
            let other_shape = self.shape_of(other, other_body.pose.variant);
            let others =
                Rings { corners: &other_body.corners, ring_ends: &other_shape.ring_ends, bounds: other_body.bounds };
            let vectors = scratch.vectors;
            let both = (&self.laid[item], &self.laid[other]);
            let loss = if let Some(no_fit) = self.task.no_fits.of(both.0.number, both.1.number) {
                let place = both.0.place_of(both.1, no_fit.1);
                let depth = vectors.no_fit_depth(no_fit.0, place, self.task.touch);
                (depth * both.0.scale_with(both.1)).sqrt()
            } else if !body.pieces.is_empty() && !other_body.pieces.is_empty() {
                let one = (body.placed(shape), &body.pieces);
                let two = (other_body.placed(other_shape), &other_body.pieces);
                vectors.pieces_loss(one, two, self.task.touch)
            } else if vectors.circles_overlap(&body.circles, &other_body.circles)
                || shapes_overlap(rings, others, &mut scratch.edges)
            {
                vectors.loss((&body.circles, shape), (&other_body.circles, other_shape), f64::INFINITY)
            } else {
                0.0
            };
            if loss as f32 > 0.0 {
                self.pairs.set_loss(item, other, loss as f32);
            }
        }
        scratch.meeting = meeting;
        self.scratch = scratch;
    }

    /// Works out how far an item sticks out of its sheet and into obstacles.
    fn refresh_sheet_loss(&mut self, item: usize) {
        let mut scratch = std::mem::take(&mut self.scratch);
        let body = self.bodies[item].as_ref().expect("called for items that lie somewhere");
        let bin = &self.bins[body.bin];
        let shape = self.variant_of(item, body.pose.variant).edge();
        let rotation = body.rotation;
        let mut loss =
            outside_loss(bin, shape, (rotation, body.pose.at), body.edge_bounds, self.task.touch, scratch.vectors);
        if !bin.container.obstacles.is_empty() {
            move_corners(&shape.inner, rotation, body.pose.at, &mut scratch.corners);
            shape.circles.moved_into(rotation, body.pose.at, &mut scratch.circles);
            shape.pieces.moved_into(rotation, body.pose.at, &mut scratch.edge_pieces);
        }
        for obstacle in &bin.container.obstacles {
            if !obstacle.bounds.intersects(body.edge_bounds) {
                continue;
            }
            let vectors = scratch.vectors;
            if !shape.pieces.is_empty() && !obstacle.pieces.is_empty() {
                let edge = (body.placed(shape), &scratch.edge_pieces);
                loss += vectors.pieces_loss(edge, (Placed::obstacle(obstacle), &obstacle.pieces), self.task.touch);
                continue;
            }
            let rings = Rings { corners: &scratch.corners, ring_ends: &shape.ring_ends, bounds: body.edge_bounds };
            let others = Rings { corners: &obstacle.corners, ring_ends: &obstacle.ring_ends, bounds: obstacle.bounds };
            if vectors.circles_overlap(&scratch.circles, &obstacle.circles)
                || shapes_overlap(rings, others, &mut scratch.edges)
            {
                loss += vectors.loss((&scratch.circles, shape), (&obstacle.circles, obstacle), f64::INFINITY);
            }
        }
        self.sheet_loss[item] = loss as f32;
        self.scratch = scratch;
    }

    /// What an item would cost if it lay so: the weighted sum of its losses, or infinity as soon as that is certain to
    /// exceed `bound`. Changes nothing. Zero means that it lies free.
    pub(crate) fn evaluate(&mut self, item: usize, bin: usize, pose: Pose, bound: f64) -> f64 {
        self.evaluations += 1;
        let variant = self.variant_of(item, pose.variant);
        let (shape, edge) = (&variant.shape, variant.edge());
        let turned = self.turned(item, pose.variant, pose.turn_deg);
        let rotation = turned.rotation;
        let bounds = moved_bounds(turned.bounds, pose.at);
        let edge_bounds = moved_bounds(turned.edge_bounds, pose.at);
        self.weights.show(item, &self.pairs);
        let scratch = &mut self.scratch;
        let room = &self.bins[bin];
        let sheet_weight = f64::from(self.sheet_weight[item]);
        let mut loss =
            sheet_weight * outside_loss(room, edge, (rotation, pose.at), edge_bounds, self.task.touch, scratch.vectors);
        if loss > bound {
            return f64::INFINITY;
        }
        // Both are the same shape, but for parts that may come nearer to the edge than to each other.
        let mut has_circles = false;
        let has_pieces = !shape.pieces.is_empty();
        let (mut has_edge_circles, mut has_edge_pieces) = (false, false);
        scratch.pending_obstacles.clear();
        for (index, obstacle) in room.container.obstacles.iter().enumerate() {
            if !obstacle.bounds.intersects(edge_bounds) {
                continue;
            }
            if !edge.pieces.is_empty() && !obstacle.pieces.is_empty() {
                if !has_edge_pieces {
                    edge.pieces.moved_into(rotation, pose.at, &mut scratch.edge_pieces);
                    has_edge_pieces = true;
                }
                let placed = (Placed { shape: edge, rotation, at: pose.at }, &scratch.edge_pieces);
                let obstacle = (Placed::obstacle(obstacle), &obstacle.pieces);
                loss += sheet_weight * scratch.vectors.pieces_loss(placed, obstacle, self.task.touch);
                if loss > bound {
                    return f64::INFINITY;
                }
                continue;
            }
            if !has_edge_circles {
                edge.circles.moved_into(rotation, pose.at, &mut scratch.edge_circles);
                has_edge_circles = true;
            }
            if scratch.vectors.circles_overlap(&scratch.edge_circles, &obstacle.circles) {
                let rest = (bound - loss) / sheet_weight;
                loss += sheet_weight
                    * scratch.vectors.loss((&scratch.edge_circles, edge), (&obstacle.circles, obstacle), rest);
                if loss > bound {
                    return f64::INFINITY;
                }
            } else {
                scratch.pending_obstacles.push(index);
            }
        }
        let mut are_pieces_moved = has_edge_pieces && !variant.has_own_edge();
        if are_pieces_moved {
            std::mem::swap(&mut scratch.pieces, &mut scratch.edge_pieces);
        }
        scratch.pending.clear();
        scratch.meeting.clear();
        loss += scratch.vectors.run(Neighbours {
            item,
            laid: Laid { at: pose.at, number: variant.number, size: shape.size },
            bounds,
            boxes: &room.boxes,
            members: &room.members,
            others: &self.laid,
            weights: self.weights.weights(),
            no_fits: &self.task.no_fits,
            touch: self.task.touch,
            bound: bound - loss,
            left: &mut scratch.meeting,
        });
        if loss > bound {
            return f64::INFINITY;
        }
        for &index in &scratch.meeting {
            let other = room.members[index as usize];
            let other_body = self.bodies[other].as_ref().expect("members lie somewhere");
            if has_pieces && !other_body.pieces.is_empty() {
                if !are_pieces_moved {
                    shape.pieces.moved_into(rotation, pose.at, &mut scratch.pieces);
                    are_pieces_moved = true;
                }
                let other_shape = &self.task.parts[self.parts[other]].variants[other_body.pose.variant].shape;
                let placed = (Placed { shape, rotation, at: pose.at }, &scratch.pieces);
                let others = (other_body.placed(other_shape), &other_body.pieces);
                let found = scratch.vectors.pieces_loss(placed, others, self.task.touch);
                if found > 0.0 {
                    loss += f64::from(self.weights.weights()[other]) * found;
                    if loss > bound {
                        return f64::INFINITY;
                    }
                }
                continue;
            }
            if !has_circles {
                shape.circles.moved_into(rotation, pose.at, &mut scratch.circles);
                has_circles = true;
            }
            if scratch.vectors.circles_overlap(&scratch.circles, &other_body.circles) {
                let other_shape = &self.task.parts[self.parts[other]].variants[other_body.pose.variant].shape;
                let weight = f64::from(self.weights.weights()[other]);
                let rest = (bound - loss) / weight;
                loss +=
                    weight * scratch.vectors.loss((&scratch.circles, shape), (&other_body.circles, other_shape), rest);
                if loss > bound {
                    return f64::INFINITY;
                }
            } else {
                scratch.pending.push(other);
            }
        }
        // Shapes whose circles are apart may still overlap by their corners; only the edges tell.
        if !scratch.pending_obstacles.is_empty() {
            move_corners(&edge.inner, rotation, pose.at, &mut scratch.corners);
            let rings = Rings { corners: &scratch.corners, ring_ends: &edge.ring_ends, bounds: edge_bounds };
            for &index in &scratch.pending_obstacles {
                let other = &room.container.obstacles[index];
                let others = Rings { corners: &other.corners, ring_ends: &other.ring_ends, bounds: other.bounds };
                if shapes_overlap(rings, others, &mut scratch.edges) {
                    let rest = (bound - loss) / sheet_weight;
                    loss += sheet_weight
                        * scratch.vectors.loss((&scratch.edge_circles, edge), (&other.circles, other), rest);
                    if loss > bound {
                        return f64::INFINITY;
                    }
                }
            }
        }
        if scratch.pending.is_empty() {
            return loss;
        }
        if scratch.pending_obstacles.is_empty() || variant.has_own_edge() {
            move_corners(&shape.inner, rotation, pose.at, &mut scratch.corners);
        }
        let rings = Rings { corners: &scratch.corners, ring_ends: &shape.ring_ends, bounds };
        for &other in &scratch.pending {
            let body = self.bodies[other].as_ref().expect("members lie somewhere");
            let other_shape = &self.task.parts[self.parts[other]].variants[body.pose.variant].shape;
            let others = Rings { corners: &body.corners, ring_ends: &other_shape.ring_ends, bounds: body.bounds };
            if shapes_overlap(rings, others, &mut scratch.edges) {
                let weight = f64::from(self.weights.weights()[other]);
                let rest = (bound - loss) / weight;
                loss += weight * scratch.vectors.loss((&scratch.circles, shape), (&body.circles, other_shape), rest);
                if loss > bound {
                    return f64::INFINITY;
                }
            }
        }
        loss
    }

    /// Unweighted loss of one item.
    pub(crate) fn item_loss(&self, item: usize) -> f64 {
        if self.bodies[item].is_none() {
            return 0.0;
        }
        self.sum_of_pairs(item, |link| f64::from(link.loss)) + f64::from(self.sheet_loss[item])
    }

    /// Weighted loss of one item.
    pub(crate) fn weighted_item_loss(&self, item: usize) -> f64 {
        if self.bodies[item].is_none() {
            return 0.0;
        }
        self.sum_of_pairs(item, |link| f64::from(link.loss) * f64::from(link.weight))
            + f64::from(self.sheet_loss[item]) * f64::from(self.sheet_weight[item])
    }

    /// A figure of an item summed over all that it overlaps, in the order of its bin's members.
    fn sum_of_pairs(&self, item: usize, of: impl Fn(&Link) -> f64) -> f64 {
        let overlaps = || self.pairs.of(item).iter().filter(|link| link.loss > 0.0);
        if overlaps().nth(2).is_none() {
            // A sum of two does not depend on their order.
            return overlaps().map(of).sum();
        }
        let mut figures: Vec<(u32, f64)> = overlaps().map(|link| (self.slots[link.other as usize], of(link))).collect();
        figures.sort_unstable_by_key(|&(slot, _)| slot);
        figures.into_iter().map(|(_, figure)| figure).sum()
    }

    /// Unweighted loss of the whole state, each pair once.
    pub(crate) fn total_loss(&self) -> f64 {
        // Items on different sheets have no loss together.
        let of_sheets = self.sheet_loss.iter().copied().filter(|&loss| loss > 0.0);
        // A sum of nothing would be minus zero.
        self.pairs.losses().chain(of_sheets).fold(0.0, |sum, loss| sum + f64::from(loss))
    }

    /// Items that overlap something or stick out, by index.
    pub(crate) fn items_in_conflict(&self, into: &mut Vec<usize>) {
        into.clear();
        into.extend((0..self.parts.len()).filter(|&item| self.sheet_loss[item] > 0.0 || self.pairs.has_loss(item)));
    }

    /// Makes what is in conflict now weigh more, and what is not a little less.
    pub(crate) fn learn_weights(&mut self, rule: crate::state::weights::WeightRule) {
        let losses = self.pairs.losses().chain(self.sheet_loss.iter().copied());
        let largest = losses.fold(0.0_f32, f32::max);
        if largest <= 0.0 {
            return;
        }
        self.pairs.learn(rule, largest);
        self.weights.forget();
        for (weight, &loss) in self.sheet_weight.iter_mut().zip(&self.sheet_loss) {
            *weight = rule.updated(*weight, loss / largest);
        }
    }

    /// Forgets what the weights have learned.
    pub(crate) fn reset_weights(&mut self) {
        self.pairs.reset_weights();
        self.weights.forget();
        self.sheet_weight.fill(1.0);
    }

    /// Moves the cut line of a bin; losses of its items against the sheet change with it.
    pub(crate) fn set_limit(&mut self, bin: usize, limit: Option<HalfPlane>) {
        self.bins[bin].limit = limit;
        for index in 0..self.bin_len(bin) {
            let item = self.bins[bin].members[index];
            self.refresh_sheet_loss(item);
        }
    }

    /// Area of a bin's room, mm²; of stock sold by length, up to its cut line.
    pub(crate) fn room_area(&self, bin: usize) -> f64 {
        let room = &self.bins[bin];
        match room.limit {
            Some(limit) if self.task.sheets[room.sheet].price_per_length.is_some() => {
                (limit.limit - room.container.bounds.min.x).max(0.0) * room.container.bounds.height()
            }
            _ => room.container.area,
        }
    }

    /// What of that no item lies on, clearances counted as lain on, mm². Negative when items overlap much.
    pub(crate) fn free_area(&self, bin: usize) -> f64 {
        let used: f64 = self.bins[bin].members.iter().map(|&item| self.task.parts[self.parts[item]].grown_area).sum();
        self.room_area(bin) - used
    }

    /// The right end of what lies in a bin; the left end of its room when nothing does.
    pub(crate) fn right_end(&self, bin: &Bin) -> f64 {
        let bodies = bin.members.iter().filter_map(|&item| self.bounds_of(item));
        bodies.fold(bin.container.bounds.min.x, |right, bounds| right.max(bounds.max.x))
    }

    /// For stock sold by length, the length to order for what lies in a bin.
    pub(crate) fn length_used(&self, bin: &Bin) -> Option<f64> {
        let sheet = &self.task.job.sheets()[bin.sheet];
        let needed = self.right_end(bin) - sheet.shape.bounds().min.x + bin.container.inset;
        sheet.open_length.map(|terms| terms.order_length(needed))
    }

    /// Where everything lies now.
    pub(crate) fn arrangement(&self) -> Arrangement {
        Arrangement {
            bins: self.bins.iter().map(|bin| (bin.sheet, bin.limit)).collect(),
            places: (0..self.parts.len()).map(|item| self.place_of(item)).collect(),
        }
    }

    /// Lays everything as it was; weights stay as they are.
    pub(crate) fn restore(&mut self, saved: &Arrangement) {
        let same_bins = self.bins.len() == saved.bins.len()
            && self.bins.iter().zip(&saved.bins).all(|(bin, &(sheet, _))| bin.sheet == sheet);
        if same_bins {
            for (bin, &(_, limit)) in saved.bins.iter().enumerate() {
                if self.bins[bin].limit != limit {
                    self.set_limit(bin, limit);
                }
            }
        } else {
            for item in 0..self.parts.len() {
                self.remove(item);
            }
            self.bins.clear();
            for &(sheet, limit) in &saved.bins {
                self.open(sheet, self.task.container(sheet), limit);
            }
        }
        for item in 0..self.parts.len() {
            if self.place_of(item) != saved.places[item] {
                match saved.places[item] {
                    Some((bin, pose)) => self.put(item, bin, pose),
                    None => self.remove(item),
                }
            }
        }
    }
}

impl Vectors {
    /// Loss of two placed shapes in convex pieces. Zero when they are apart, or one lies in a hole of the other.
    #[inline]
    fn pieces_loss(
        self,
        (one, pieces): (Placed<'_>, &Pieces),
        (other, others): (Placed<'_>, &Pieces),
        touch: f64,
    ) -> f64 {
        let mut depth = self.pieces_depth(pieces, others, touch);
        if depth == 0.0 {
            return 0.0;
        }
        let (size, other_size) = (one.shape.size, other.shape.size);
        if !(one.shape.pockets().is_empty() && other.shape.pockets().is_empty()) {
            let least = size.min(other_size);
            let beside =
                self.beside_pockets(one, other, depth / least).min(self.beside_pockets(other, one, depth / least));
            if beside <= touch {
                return 0.0;
            }
            depth = depth.min(beside * least);
        }
        (depth * std::f64::consts::PI * size * other_size).sqrt()
    }

    /// How far a guest sticks out of the hole of a host that it sticks out of least; infinitely far where it has room in none.
    /// Beyond `enough` the figure only says that it is more.
    fn beside_pockets(self, host: Placed<'_>, guest: Placed<'_>, enough: f64) -> f64 {
        let pockets = host.shape.pockets().iter().filter(|pocket| pocket.may_hold(guest.shape.least));
        // Seen from the host.
        let (sin, cos) = host.rotation;
        let at = turned(Point::ORIGIN + (guest.at - host.at), (-sin, cos));
        let (guest_sin, guest_cos) = guest.rotation;
        let rotation = (guest_sin * cos - guest_cos * sin, guest_cos * cos + guest_sin * sin);
        let hull = &guest.shape.hull_lanes;
        pockets.fold(f64::INFINITY, |least, pocket| {
            least.min(self.farthest_beyond(&pocket.planes, hull, (rotation, at), enough.min(least)))
        })
    }

    /// Loss of two placed shapes that overlap: a length times a length, whatever the sizes, so that weights start level.
    /// The square root makes the last hair of an overlap as steep as the first. Beyond `enough` the figure only says that
    /// it is more.
    #[inline]
    fn loss(
        self,
        (circles, shape): (&Circles, &SearchShape),
        (others, other): (&Circles, &SearchShape),
        enough: f64,
    ) -> f64 {
        let both = shape.size * other.size;
        let scale = std::f64::consts::PI * both;
        // The measure decays below one percent of the larger shape.
        let decay = (0.01 * shape.reach.max(other.reach)) as f32;
        let depth = self.circle_depth(circles, others, decay, (enough * enough / scale) as f32);
        // Never zero for shapes that overlap, even where no circle is near.
        ((f64::from(depth) + 1e-6 * both) * scale).sqrt()
    }
}

/// How far an item sticks out of its room or over the cut line, as a loss.
#[inline]
fn outside_loss(
    bin: &Bin,
    shape: &SearchShape,
    (rotation, at): ((f64, f64), Point),
    bounds: Bounds,
    touch: f64,
    vectors: Vectors,
) -> f64 {
    let room = &bin.container;
    let counted = |beyond: f64| if beyond > touch { beyond } else { 0.0 };
    let mut depth = if room.is_box {
        let (low, high) = (room.bounds.min - bounds.min, bounds.max - room.bounds.max);
        [low.x, low.y, high.x, high.y].map(counted).iter().sum()
    } else {
        vectors.beyond(&room.planes, &shape.hull_lanes, shape.reach, rotation, at, touch)
    };
    if let Some(limit) = bin.limit {
        // Cut lines run along an axis.
        let farthest = if limit.normal.y == 0.0 {
            if limit.normal.x > 0.0 { bounds.max.x } else { -bounds.min.x }
        } else if limit.normal.y > 0.0 {
            bounds.max.y
        } else {
            -bounds.min.y
        };
        depth += counted(farthest - limit.limit);
    }
    if depth > 0.0 { 2.0 * (depth * shape.size).sqrt() * shape.size + depth * shape.size } else { 0.0 }
}

#[inline]
fn moved_bounds(Bounds { min, max }: Bounds, by: Point) -> Bounds {
    let shift = by.to_vector();
    Bounds { min: min + shift, max: max + shift }
}

#[inline]
fn move_corners(corners: &[Point], rotation: (f64, f64), by: Point, into: &mut Vec<Point>) {
    into.clear();
    let shift = by.to_vector();
    if rotation == (0.0, 1.0) {
        into.extend(corners.iter().map(|&p| p + shift));
    } else {
        into.extend(corners.iter().map(|&p| turned(p, rotation) + shift));
    }
}
