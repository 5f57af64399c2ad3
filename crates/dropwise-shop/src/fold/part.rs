//! A bent part as it is told: a base face, and what is bent up or down from its edges.

use dropwise_geometry::Shape;

use crate::bend::{Development, LegDatum};
use crate::pattern::{Corner, Feature, Pattern};

use super::relief::Relief;
use super::returns::ReturnJoin;

/// A part bent of one sheet. Lengths in mm, angles in degrees.
///
/// Faces are seen from the same side throughout: the one that is up when the base lies on the bench and its outline
/// runs counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct BentPart {
    /// Thickness of the sheet.
    pub thickness: f64,
    /// Inside radius of every bend that has none of its own.
    pub inside_radius: f64,
    /// Whether bends other than closed hems may have an inside radius of zero, as when coined.
    pub is_sharp_allowed: bool,
    /// Name of the base face: flanges may not share it.
    pub base_name: String,
    /// Outline of the base face, to where its edges are told: see [`Flange::edge_datum`].
    pub base: BaseFace,
    /// Notches in the base's edges.
    pub notches: Vec<Notch>,
    /// What is bent from the base's edges.
    pub flanges: Vec<Flange>,
    /// How flanges meet at corners of the base that differ from [`Self::join`].
    pub corners: Vec<CornerJoin>,
    /// How neighbouring flanges meet.
    pub join: Join,
    /// How flanges of flanges that would lie in one another meet, unless [`Self::return_joins`] says otherwise; `None` leaves
    /// them as they are told.
    pub join_returns: Option<Join>,
    /// How flanges of flanges meet that are told by name.
    pub return_joins: Vec<ReturnJoin>,
    /// Relief at the end of a bend beside which its parent face goes on.
    pub relief: Relief,
    /// Relief where two bends meet at a corner.
    pub corner_relief: Relief,
    /// The narrowest relief that can be cut, mm: the kerf. Reliefs sized by rule are no narrower.
    pub least_relief: f64,
}

/// The outline of a base face.
#[derive(Clone, Debug, PartialEq)]
pub enum BaseFace {
    /// By dimensions; its sides are counted as its corners are.
    Pattern(Pattern),
    /// As drawn; its sides are counted along the exterior, counter-clockwise.
    Shape(Shape),
}

/// A straight edge of a face, before anything is bent from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// The straight edge along the bottom of the box around the face. Of a flange, that is where it is attached.
    Bottom,
    /// The one on the right.
    Right,
    /// The one at the top: of a flange, its free edge.
    Top,
    /// The one on the left.
    Left,
    /// Counted from 0: side `i` runs from corner `i` to the next, as the outline was given.
    Side(usize),
}

/// How much of an edge is bent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Extent {
    /// The whole straight edge.
    #[default]
    Full,
    /// A stretch of it, measured along the edge from its start, travelling counter-clockwise around the face.
    FromTo(f64, f64),
    /// A stretch of this length in the middle of the edge.
    Middle(f64),
}

/// Which way the sheet is bent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Direction {
    /// Towards the viewer of the flat pattern.
    #[default]
    Up,
    /// Away from the viewer.
    Down,
}

impl Direction {
    /// The other way.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }
}

impl std::fmt::Display for Direction {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Up => "up",
            Self::Down => "down",
        })
    }
}

/// What kind of bend joins a flange to its parent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Turn {
    /// By an angle, over 0° and under 180°: 90 for a square corner.
    Angle(f64),
    /// A hem pressed flat: 180°, no inside radius.
    ClosedHem,
    /// A hem with a gap between its leaf and the parent: 180°, inside radius half the gap.
    OpenHem {
        /// The gap, more than zero.
        gap: f64,
    },
    /// A hem rolled past 180° until the inside of its leaf's edge touches the parent.
    ///
    /// The flange's height is its straight leaf, whatever its datum says: [`Flange::teardrop_hem`] sets both.
    TeardropHem {
        /// Inside radius of the loop.
        radius: f64,
    },
}

/// How an end of a flange is cut, by hand.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct EndCut {
    /// How far the end of the bend lies in from the end of the edge, or of the flange's extent; not below zero.
    pub set_back: f64,
    /// By how many degrees the end slants inwards on its way to the free edge; negative slants outwards.
    pub slant_deg: f64,
}

/// A face bent from an edge of another.
///
/// In its own frame, in which its features are placed and its edges named, a flange lies with its free edge up: x runs
/// along the bend, y away from it. The box around it is its length by its height *as told*, so that a hole is
/// dimensioned from the same datum as the height.
#[derive(Clone, Debug, PartialEq)]
pub struct Flange {
    /// Its name, unlike any other in the part.
    pub name: String,
    /// The edge of the parent that it is bent from.
    pub edge: Edge,
    /// How much of that edge.
    pub extent: Extent,
    /// By how much.
    pub turn: Turn,
    /// Which way.
    pub direction: Direction,
    /// Inside radius of an angle; the part's if none.
    pub inside_radius: Option<f64>,
    /// How the flat length of its bend is found; as the others' if none.
    pub development: Option<Development>,
    /// Height, from where [`Self::datum`] says to the free edge.
    pub height: f64,
    /// From where the height is told.
    pub datum: LegDatum,
    /// Where the parent's edge is told at this bend: an outside size, an inside size, or to the bend line.
    pub edge_datum: LegDatum,
    /// Its ends, cut by hand: right (where the parent's edge starts) and left. They overrule the join at a corner.
    pub ends: [Option<EndCut>; 2],
    /// Its free corners: right and left.
    pub free_corners: [Corner; 2],
    /// Relief at ends beside which the parent goes on; the part's if none.
    pub relief: Option<Relief>,
    /// What is cut out of it.
    pub features: Vec<Feature>,
    /// Notches in its edges.
    pub notches: Vec<Notch>,
    /// What is bent from its own edges.
    pub flanges: Vec<Flange>,
    /// How flanges meet at its corners where that differs from the part's join.
    pub corners: Vec<CornerJoin>,
}

/// An opening in an edge of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notch {
    /// Which edge.
    pub edge: Edge,
    /// Where its middle is, along the edge from its start, counter-clockwise.
    pub at: f64,
    /// Its form.
    pub form: NotchForm,
}

/// Forms of a notch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotchForm {
    /// Square cornered.
    Rectangular {
        /// Along the edge.
        width: f64,
        /// Into the face.
        depth: f64,
    },
    /// Square, with rounded inside corners.
    Rounded {
        /// Along the edge.
        width: f64,
        /// Into the face.
        depth: f64,
        /// Of both inside corners: at most the depth and half the width.
        radius: f64,
    },
    /// A V.
    Vee {
        /// Along the edge.
        width: f64,
        /// Into the face.
        depth: f64,
    },
    /// A half circle.
    Round {
        /// Its radius.
        radius: f64,
    },
}

impl NotchForm {
    /// Along the edge and into the face.
    pub(super) fn size(self) -> [f64; 2] {
        match self {
            Self::Rectangular { width, depth } | Self::Vee { width, depth } | Self::Rounded { width, depth, .. } => {
                [width, depth]
            }
            Self::Round { radius } => [2.0 * radius, radius],
        }
    }
}

/// How two flanges on neighbouring edges of a face meet at the corner between them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Join {
    /// Each ends where the bend of the other begins: the corner stays open.
    #[default]
    Open,
    /// Both end square, as near the corner as they can without passing the plane that halves it: two upright flanges
    /// touch with their inside corners.
    Butted {
        /// Clear width between the two.
        gap: f64,
    },
    /// One runs on to the outside of the other, which ends at its inside. For square flanges at square corners.
    Overlapped {
        /// Whether the flange on the edge after the corner, counter-clockwise, is the one that runs on.
        by_second: bool,
        /// Clear width between the two.
        gap: f64,
    },
    /// Both ends are cut along the plane that halves the corner. For equal angles and directions.
    Mitred {
        /// Clear width between the two.
        gap: f64,
    },
}

/// A join at one corner of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CornerJoin {
    /// The edge that starts at the corner, counter-clockwise.
    pub edge: Edge,
    /// How the flanges meet.
    pub join: Join,
    /// Relief there; the part's if none.
    pub relief: Option<Relief>,
}

impl BentPart {
    /// A part whose base is made by dimensions, not bent yet.
    ///
    /// Flanges meet open, bends that end beside metal get a rectangular relief, corners none.
    #[must_use]
    pub fn new(thickness: f64, inside_radius: f64, base: Pattern) -> Self {
        Self::of(thickness, inside_radius, BaseFace::Pattern(base))
    }

    /// A part whose base is drawn, not bent yet.
    #[must_use]
    pub fn of(thickness: f64, inside_radius: f64, base: BaseFace) -> Self {
        Self {
            thickness,
            inside_radius,
            is_sharp_allowed: false,
            base_name: "base".to_owned(),
            base,
            notches: Vec::new(),
            flanges: Vec::new(),
            corners: Vec::new(),
            join: Join::Open,
            join_returns: None,
            return_joins: Vec::new(),
            relief: Relief::RECTANGULAR,
            corner_relief: Relief::None,
            least_relief: 0.0,
        }
    }

    /// With one more flange.
    #[must_use]
    pub fn with(mut self, flange: Flange) -> Self {
        self.flanges.push(flange);
        self
    }

    /// With this join at every corner that has none of its own.
    #[must_use]
    pub fn with_join(mut self, join: Join) -> Self {
        self.join = join;
        self
    }
}

impl Flange {
    /// A flange square up along a whole edge, told outside.
    #[must_use]
    pub fn new(name: &str, edge: Edge, height: f64) -> Self {
        Self {
            name: name.to_owned(),
            edge,
            extent: Extent::Full,
            turn: Turn::Angle(90.0),
            direction: Direction::Up,
            inside_radius: None,
            development: None,
            height,
            datum: LegDatum::Outside,
            edge_datum: LegDatum::Outside,
            ends: [None; 2],
            free_corners: [Corner::Sharp; 2],
            relief: None,
            features: Vec::new(),
            notches: Vec::new(),
            flanges: Vec::new(),
            corners: Vec::new(),
        }
    }

    /// A hem pressed flat along a whole edge. Height and parent are told over the outside of the fold.
    #[must_use]
    pub fn closed_hem(name: &str, edge: Edge, height: f64) -> Self {
        Self { turn: Turn::ClosedHem, ..Self::new(name, edge, height) }.told(LegDatum::OutsideTangent)
    }

    /// A hem with a gap along a whole edge. Height and parent are told over the outside of the fold.
    #[must_use]
    pub fn open_hem(name: &str, edge: Edge, height: f64, gap: f64) -> Self {
        Self { turn: Turn::OpenHem { gap }, ..Self::new(name, edge, height) }.told(LegDatum::OutsideTangent)
    }

    /// A teardrop hem along a whole edge: its straight leaf, and the parent told over the outside of the loop.
    #[must_use]
    pub fn teardrop_hem(name: &str, edge: Edge, leaf: f64, radius: f64) -> Self {
        let hem = Self { turn: Turn::TeardropHem { radius }, ..Self::new(name, edge, leaf) };
        Self { datum: LegDatum::Straight, edge_datum: LegDatum::OutsideTangent, ..hem }
    }

    /// An offset (joggle) along a whole edge: the sheet steps by `step` from one plane into a parallel one, in two
    /// equal bends, and runs on straight by `run` after the second.
    ///
    /// The parent's edge is where the first bend begins. `inside_radius` is that of both bends. A slope too steep for
    /// its radii shows as a web of no length when the part is unfolded. The web is named after the offset, with
    /// ` web` after it.
    #[must_use]
    pub fn offset(
        name: &str,
        edge: Edge,
        step: f64,
        angle_deg: f64,
        run: f64,
        direction: Direction,
        sizes: (f64, f64),
    ) -> Self {
        let (thickness, inside_radius) = sizes;
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        // Both arcs together rise by (R + T + R)(1 - cos A) at the sheet's lower face; the web does the rest.
        let web = (step - (2.0 * inside_radius + thickness) * (1.0 - cos)) / sin;
        let bend = |name: &str, edge: Edge, height: f64, direction: Direction| Self {
            turn: Turn::Angle(angle_deg),
            inside_radius: Some(inside_radius),
            direction,
            ..Self::new(name, edge, height).told(LegDatum::Straight)
        };
        bend(&format!("{name} web"), edge, web, direction).with(bend(name, Edge::Top, run, direction.opposite()))
    }

    /// Bent down instead of up.
    #[must_use]
    pub fn down(self) -> Self {
        Self { direction: Direction::Down, ..self }
    }

    /// Bent by another angle.
    #[must_use]
    pub fn turned(self, angle_deg: f64) -> Self {
        Self { turn: Turn::Angle(angle_deg), ..self }
    }

    /// Over a stretch of its edge only.
    #[must_use]
    pub fn from_to(self, from: f64, to: f64) -> Self {
        Self { extent: Extent::FromTo(from, to), ..self }
    }

    /// Height and parent told from the same datum.
    #[must_use]
    pub fn told(self, datum: LegDatum) -> Self {
        Self { datum, edge_datum: datum, ..self }
    }

    /// With a flange bent from it in turn.
    #[must_use]
    pub fn with(mut self, flange: Flange) -> Self {
        self.flanges.push(flange);
        self
    }

    /// With both ends slanted by as many degrees.
    #[must_use]
    pub fn slanted(self, slant_deg: f64) -> Self {
        Self { ends: [Some(EndCut { set_back: 0.0, slant_deg }); 2], ..self }
    }
}
