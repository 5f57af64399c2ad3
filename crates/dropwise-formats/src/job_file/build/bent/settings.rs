//! How the bends of a part are made: radius, die, rule for the flat length, corners and reliefs.

use std::cell::RefCell;

use dropwise_geometry::{Unit, format_length};
use dropwise_shop::bend::{
    Bend, DIE_TABLE, Development, Grade, KFactor, Method, OPENING_RULES, air_bend_radius, nearest_die,
};
use dropwise_shop::fold::{Join, Relief, ReliefSize};
use dropwise_shop::{Material, Thickness};

use super::super::context::At;
use super::Workshop;
use super::strips::{MeasuredStrip, speaking};
use crate::job_file::types::{self, AllowanceWord, BendingKeys, JoinWord, Length, MethodWord, ReliefWord};

/// How the bends of one part are made, everything read.
pub(super) struct Settings<'s> {
    pub(super) grade: Grade,
    pub(super) method: Method,
    pub(super) thickness: f64,
    pub(super) is_sharp_allowed: bool,
    /// Opening of the die of every bend that has none of its own; `None` where only a radius is told.
    pub(super) die: Option<f64>,
    /// Inside radius of every bend that has none of its own.
    pub(super) radius: f64,
    pub(super) join: Option<Join>,
    pub(super) relief: Option<Relief>,
    pub(super) corner_relief: Option<Relief>,
    k: Option<KFactor>,
    rule: Option<AllowanceWord>,
    strips: &'s [MeasuredStrip],
    /// Openings of the shop's dies.
    dies: &'s [f64],
    /// Whether the shop bends on benders without punch and die alone.
    is_by_hand: bool,
    /// The unit that faults are told in.
    unit: Unit,
    /// Bends for which no rule has an answer, with why.
    unanswered: RefCell<Vec<String>>,
}

/// A setting of the part, or else of the file, with its place.
fn either<'c, 'k, T>(
    levels: &[(At<'c>, &'k BendingKeys)],
    key: &str,
    get: impl Fn(&'k BendingKeys) -> Option<&'k T>,
) -> Option<(At<'c>, &'k T)> {
    levels.iter().find_map(|(at, keys)| get(keys).map(|value| (at.key(key), value)))
}

impl<'s> Settings<'s> {
    /// `levels`: the part's own settings and then those of the file, each with its place; one may be missing.
    pub(super) fn read(
        at: &At<'_>,
        levels: &[(At<'_>, &BendingKeys)],
        (material, thickness): (Material, Thickness),
        workshop: &'s Workshop<'_>,
    ) -> Option<Self> {
        let grade = grade(levels, material);
        let method = match either(levels, "method", |keys| keys.method.as_ref()) {
            None | Some((_, MethodWord::AirBend)) => Method::AirBend,
            Some((_, MethodWord::Bottoming)) => Method::Bottoming,
            Some((_, MethodWord::Coining)) => Method::Coining,
        };
        let k = match either(levels, "k", |keys| keys.k.as_ref()) {
            None => Some(None),
            Some((at, &k)) => given_k(&at, k).map(Some),
        };
        let gap = match either(levels, "gap", |keys| keys.gap.as_ref()) {
            None => Some(0.0),
            Some((at, gap)) => at.distance(gap),
        };
        let join_word = either(levels, "join", |keys| keys.join.as_ref()).map(|(_, word)| *word);
        let relief = match either(levels, "relief", |keys| keys.relief.as_ref()) {
            None => Some(None),
            Some((at, keys)) => relief(&at, keys).map(Some),
        };
        let corner_relief = match either(levels, "corner_relief", |keys| keys.corner_relief.as_ref()) {
            None => Some(None),
            Some((at, keys)) => self::relief(&at, keys).map(Some),
        };
        let sizes = tooling(levels);
        let (grade, k, gap) = (grade?, k?, gap?);
        let thickness = thickness.millimetres();
        let mut settings = Self {
            grade,
            method,
            thickness,
            is_sharp_allowed: either(levels, "sharp", |keys| keys.sharp.as_ref()).is_some_and(|(_, &sharp)| sharp),
            die: None,
            radius: 0.0,
            join: join_word.map(|word| join(word, gap, true)),
            relief: relief?,
            corner_relief: corner_relief?,
            k,
            rule: either(levels, "allowance_by", |keys| keys.allowance_by.as_ref()).map(|(_, rule)| *rule),
            strips: &workshop.strips,
            dies: &workshop.dies,
            is_by_hand: workshop.is_by_hand,
            unit: at.context.unit,
            unanswered: RefCell::default(),
        };
        let (radius, die) = sizes?;
        (settings.radius, settings.die) = settings.made_in(at, radius, die)?;
        settings.check_rule(levels.first().map_or(at, |(at, _)| at))?;
        Some(settings)
    }

    /// Radius and die of the part, the usual ones where nothing is told.
    fn made_in(&self, at: &At<'_>, radius: Option<f64>, die: Option<f64>) -> Option<(f64, Option<f64>)> {
        if let Some(radius) = radius {
            let measured =
                die.and_then(|die| speaking(self.strips, self.grade, self.thickness, Some(die), radius, 90.0));
            if let Some(measured) = measured.filter(|one| (one.strip.radius - radius).abs() > self.thickness / 4.0) {
                let context = at.context;
                at.key("bending").key("inside_radius").warn(format!(
                    "is {}, but the strip bent in this die came to {}: leave it out, or measure again",
                    context.show(radius),
                    context.show(measured.strip.radius)
                ));
            }
            return Some((radius, die));
        }
        if self.method != Method::AirBend {
            at.key("bending").fault(
                format!("lacks `inside_radius`, and {} presses the punch's own radius into the sheet", self.method),
                "Give the radius of the punch as `inside_radius`",
            );
            return None;
        }
        if self.is_by_hand && die.is_none() {
            let context = at.context;
            at.note(format!(
                "no `inside_radius` is given, and the shop bends without punch and die: taken as the thickness, {}, which is \
                 about what a bar's nose makes (common practice, no source). Fold a strip and measure it",
                context.show(self.thickness)
            ));
            return Some((self.thickness, None));
        }
        let usual = || {
            let wanted = OPENING_RULES[0].opening(self.thickness);
            // A shop without a press brake has it bent elsewhere, in one of the common dies.
            nearest_die(self.dies, wanted).or_else(|| nearest_die(&DIE_TABLE.map(|row| row.opening), wanted))
        };
        let opening = die.or_else(usual)?;
        let radius = self.radius_in(opening);
        if die.is_none() {
            let context = at.context;
            at.note(format!(
                "neither `inside_radius` nor `die` is given: bent in the die nearest to what is usual for {}, {} wide, to an \
                 inside radius of {}",
                context.show(self.thickness),
                context.show(opening),
                context.show(radius)
            ));
        }
        Some((radius, Some(opening)))
    }

    /// The inside radius that an air bend takes in a die: as measured on a test strip, or by rule.
    pub(super) fn radius_in(&self, opening: f64) -> f64 {
        match speaking(self.strips, self.grade, self.thickness, Some(opening), 0.0, 90.0) {
            Some(measured) => measured.strip.radius,
            None => air_bend_radius(self.grade, opening).radius,
        }
    }

    /// How the flat length of a bend is found.
    pub(super) fn development(&self, radius: f64, turn: f64, die: Option<f64>) -> Development {
        if let Some(k) = &self.k {
            return Development::KFactor(k.clone());
        }
        let measured = || {
            let measured = speaking(self.strips, self.grade, self.thickness, die, radius, turn)?;
            measured.strip.k_factor().ok()
        };
        let is_pressed_flat = turn >= 180.0 && radius == 0.0;
        let by_ratio = || match Bend::new(self.thickness, radius, turn) {
            // No table of air bends speaks for a fold pressed flat.
            _ if is_pressed_flat => Development::KFactor(KFactor::closed_hem(self.thickness)),
            Ok(bend) => Development::KFactor(KFactor::by_ratio(self.method, self.grade.hardness(), &bend)),
            // Sizes that no bend has are reported when the part is laid flat.
            Err(_) => Development::Empirical,
        };
        let found = match self.rule {
            None => measured(),
            Some(AllowanceWord::RadiusTable) => None,
            Some(AllowanceWord::ThicknessTable | AllowanceWord::HandbookConstant) if is_pressed_flat => None,
            Some(AllowanceWord::ThicknessTable) => KFactor::by_thickness(self.method, self.grade, self.thickness).ok(),
            Some(AllowanceWord::HandbookConstant) => KFactor::by_handbook(self.grade),
            Some(AllowanceWord::Din6935) => return Development::Din6935,
            Some(AllowanceWord::DegreeRule) => return Development::Empirical,
            Some(AllowanceWord::TestStrips) => {
                let found = measured();
                if found.is_none() {
                    let length = |mm| format_length(mm, self.unit);
                    let die = die.map_or_else(String::new, |die| format!(" in a die of {}", length(die)));
                    self.unanswered.borrow_mut().push(format!(
                        "no test strip speaks for a bend of {} at {}{die}, inside radius {}",
                        self.grade,
                        length(self.thickness),
                        length(radius)
                    ));
                }
                found
            }
        };
        found.map_or_else(by_ratio, Development::KFactor)
    }

    /// Reports tables that have no row for this metal, once for the part.
    fn check_rule(&self, at: &At<'_>) -> Option<()> {
        let at = at.key("allowance_by");
        match self.rule {
            Some(AllowanceWord::ThicknessTable) => {
                let found = KFactor::by_thickness(self.method, self.grade, self.thickness);
                found.map_err(|error| at.fault(error.to_string(), "Take another rule, or give `k`")).ok().map(drop)
            }
            Some(AllowanceWord::HandbookConstant) if KFactor::by_handbook(self.grade).is_none() => {
                at.fault(format!("the handbook has no constant for {}", self.grade), "Take another rule, or give `k`");
                None
            }
            _ => Some(()),
        }
    }

    /// Reports bends that no test strip speaks for, though one is asked for.
    pub(super) fn report_unanswered(&self, at: &At<'_>) -> bool {
        let mut unanswered = self.unanswered.borrow().clone();
        unanswered.dedup();
        for problem in &unanswered {
            at.key("bending").key("allowance_by").fault(
                problem.clone(),
                "Bend a strip of that metal in that die and add it to the file of `test_strips`, or give `k`",
            );
        }
        !unanswered.is_empty()
    }
}

/// The metal's state. One of another metal in the file's settings means other parts.
fn grade(levels: &[(At<'_>, &BendingKeys)], material: Material) -> Option<Grade> {
    for (at, keys) in levels {
        let Some(name) = &keys.temper else { continue };
        let is_of_part = at.is_in_part();
        let at = at.key("temper");
        match name.parse::<Grade>() {
            Err(error) => {
                at.message(0, error);
                return None;
            }
            Ok(grade) if grade.material() == Some(material) => return Some(grade),
            Ok(grade) if is_of_part => {
                let problem = format!("{grade} is no state of {material}, which the part is made of");
                at.fault(problem, "Change `temper` or `material`");
                return None;
            }
            Ok(_) => {}
        }
    }
    Some(Grade::usual(material))
}

/// Radius and die as told. What a part says of either goes before both of the file's.
fn tooling(levels: &[(At<'_>, &BendingKeys)]) -> Option<(Option<f64>, Option<f64>)> {
    for (at, keys) in levels {
        if keys.inside_radius.is_none() && keys.die.is_none() {
            continue;
        }
        let radius = at.key("inside_radius").optional(keys.inside_radius.as_ref(), At::distance);
        let die = at.key("die").optional(keys.die.as_ref(), At::size);
        let (radius, mut die) = (radius?, die?);
        // A radius by hand leaves the die as the file has it.
        if die.is_none()
            && let Some((at, length)) = either(levels, "die", |keys| keys.die.as_ref())
        {
            die = Some(at.size(length)?);
        }
        return Some((radius, die));
    }
    Some((None, None))
}

/// A K by hand.
pub(super) fn given_k(at: &At<'_>, k: f64) -> Option<KFactor> {
    KFactor::given(k).map_err(|error| at.message(0, error)).ok()
}

pub(super) fn join(word: JoinWord, gap: f64, by_second: bool) -> Join {
    match word {
        JoinWord::Open => Join::Open,
        JoinWord::Butted => Join::Butted { gap },
        JoinWord::Overlapped => Join::Overlapped { by_second, gap },
        JoinWord::Mitred => Join::Mitred { gap },
    }
}

/// A relief, by rule or by hand.
pub(super) fn relief(at: &At<'_>, keys: &types::Relief) -> Option<Relief> {
    let keys = match keys {
        types::Relief::Word(word) => {
            return Some(match word {
                ReliefWord::None => Relief::None,
                ReliefWord::Rectangular => Relief::RECTANGULAR,
                ReliefWord::Round => Relief::ROUND,
                ReliefWord::Hole => Relief::HOLE,
            });
        }
        types::Relief::Sized(keys) => keys,
    };
    let wanted: &[&str] = match keys.form {
        ReliefWord::None => &[],
        ReliefWord::Rectangular | ReliefWord::Round => &["width", "depth"],
        ReliefWord::Hole => &["diameter"],
    };
    let given: [(&str, &Option<Length>); 3] =
        [("width", &keys.width), ("depth", &keys.depth), ("diameter", &keys.diameter)];
    if given.iter().any(|(key, length)| length.is_some() != wanted.contains(key)) {
        let cure = match keys.form {
            ReliefWord::None => "Write \"none\", without sizes",
            ReliefWord::Hole => "A hole has a `diameter` alone; write \"hole\" to have it sized by rule",
            _ => "A slot has a `width` and a `depth`; write the form alone to have it sized by rule",
        };
        at.fault("has not the sizes of its form", cure);
        return None;
    }
    let size = |key: &str, length: &Option<Length>| length.as_ref().and_then(|length| at.key(key).size(length));
    Some(match keys.form {
        ReliefWord::None => Relief::None,
        ReliefWord::Hole => Relief::HoleSawn { diameter: Some(size("diameter", &keys.diameter)?) },
        form => {
            let (width, depth) = (size("width", &keys.width), size("depth", &keys.depth));
            let size = ReliefSize::Hand { width: width?, depth: depth? };
            if form == ReliefWord::Round { Relief::Round(size) } else { Relief::Rectangular(size) }
        }
    })
}
