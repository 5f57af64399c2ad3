//! What can hurt somebody who makes a plan, and whose word that is.
//!
//! A reminder beside a plan, not instruction and not complete: the last caution always says who decides.

use std::fmt;

use crate::material::Material;
use crate::process::Process;
use crate::source::Source;

/// What is about to be done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Undertaking<'a> {
    /// The metals, in any order, repeats allowed.
    pub materials: &'a [Material],
    /// The ways to cut them.
    pub processes: &'a [Process],
    /// Whether holes are drilled.
    pub has_drilling: bool,
    /// Whether parts are bent.
    pub has_bending: bool,
    /// The heaviest piece that is handled, kg; zero when not known.
    pub heaviest: f64,
}

/// A hazard, what to do about it, and who says so. Prints as `topic: text [authority]`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caution {
    /// The hazard in a word or two.
    pub topic: &'static str,
    /// What it does and what to do.
    pub text: &'static str,
    /// Whose word the hazard and its figures are. Handling advice around them is common practice.
    pub authority: Source,
}

/// The weight that one person lifts under the best conditions, kg; under others less.
///
/// # Source
/// NIOSH, Applications Manual for the Revised NIOSH Lifting Equation (1994): load constant 51 lb. From memory.
pub(crate) const LIFTED_BY_ONE: f64 = 23.0;

/// Source of [`LIFTED_BY_ONE`].
pub(crate) const LIFT_SOURCE: Source =
    Source::from_memory("NIOSH, Applications Manual for the Revised NIOSH Lifting Equation");

/// Source of the limit of zinc oxide fume.
pub(crate) const ZINC_SOURCE: Source =
    Source::confirmed("OSHA, Zinc Oxide Fume, chemical sampling information; American Welding Society, Fact Sheet 25");

/// Source of the limit of hexavalent chromium.
pub(crate) const CHROMIUM_SOURCE: Source = Source::confirmed("OSHA, 29 CFR 1910.1026");

const ZINC_FUME: Caution = Caution {
    topic: "zinc fume",
    text: "galvanized sheet and brass give off zinc oxide fume when they are cut hot, ground hard or welded; the \
           permissible limit is 5 mg/m³ over 8 hours. It causes metal fume fever: chills, fever and aches that may start \
           hours later. Extract the fume at the cut, keep out of the plume, and clean the zinc off beside a weld",
    authority: ZINC_SOURCE,
};

const HEXAVALENT_CHROMIUM: Caution = Caution {
    topic: "hexavalent chromium",
    text: "stainless steel gives off hexavalent chromium when it is cut hot, ground or welded; it causes lung cancer, \
           asthma and damage to nose and skin. The permissible limit is 5 µg/m³ over 8 hours, the action level 2.5: \
           extraction at the cut, and a respirator where that is not enough",
    authority: CHROMIUM_SOURCE,
};

const CUTTING_FUME: Caution = Caution {
    topic: "fume",
    text: "fume of hot cutting and welding, of mild steel too, is treated as causing lung cancer: none of it indoors \
           without extraction, however short the job",
    authority: Source::confirmed("Health and Safety Executive, WL3 and STSU1-2019"),
};

const HOT_WORK: Caution = Caution {
    topic: "hot work",
    text: "sparks and slag set fires: clear or shield everything that burns within 35 ft (11 m), and keep a fire watch \
           during the work and for at least 30 minutes after; later fire codes ask for 60 (from memory)",
    authority: Source::confirmed("OSHA, 29 CFR 1910.252(a)"),
};

const COATINGS: Caution = Caution {
    topic: "unknown coatings",
    text: "drops of unknown origin may carry paint, oil, plating or film: scrape a little off and try it. What burns very \
           fast is stripped first; a toxic coating is stripped 4 in (100 mm) from the heat, or cut with an air-line \
           respirator. Clean oil and solvent off and let it dry (chlorinated solvent near an arc makes phosgene, from \
           memory); never cut a closed drum or tank (from memory)",
    authority: Source::confirmed("OSHA, 29 CFR 1926.354; WAC 296-155-420"),
};

const EYES_AND_EARS: Caution = Caution {
    topic: "eyes, face and ears",
    text: "eye protection to ANSI Z87.1 at every cut, bystanders too, with a face shield at a wheel; ears from 85 dBA on, \
           and angle grinders run above that (small ones 95 to 100 dBA, which is allowed for 4 to 2 hours, 90 for 8)",
    authority: Source::confirmed("33 CFR 142.27; OSHA, 29 CFR 1910.95; WorkSafe WA, Noise management: angle grinder"),
};

const ALUMINIUM_DUST: Caution = Caution {
    topic: "aluminium dust",
    text: "dust of aluminium burns and explodes: never on a wheel or belt that is used for steel, no layer over 1/32 in \
           (0.8 mm) anywhere, swept with a soft natural brush; wet dust gives off hydrogen, so never into a closed wet \
           vacuum, nor cut by plasma over standing water (from memory)",
    authority: Source::confirmed("NFPA 484, as a maker of dust tables gives it; OSHA, success stories, Connecticut"),
};

const WHEELS: Caution = Caution {
    topic: "cutoff wheels",
    text: "guard over the top and sides of the wheel, at least 180° of it; wheel rated for at least the speed of the tool \
           (at 80 m/s 13,290 a minute for 115 mm, 12,220 for 125), not older than the date on it, at most three years; \
           never loaded or ground on its side, damaged ones thrown away. Stand out of the plane of the wheel, and hold up \
           the sheet on both sides of the cut so that it does not close on the wheel",
    authority: Source::confirmed("WAC 296-807-18020; EN 12413:2007; OSHA, 29 CFR 1926.303"),
};

const BENCH_GRINDERS: Caution = Caution {
    topic: "bench grinders",
    text: "where edges are dressed on one: work rest within 1/8 in (3 mm) of the wheel, tongue guard within 1/4 in \
           (6 mm), wheel ring-tested and rated for the spindle",
    authority: Source::confirmed("OSHA, 29 CFR 1910.215"),
};

const PLASMA_ARC: Caution = Caution {
    topic: "plasma arc",
    text: "the arc burns eyes and skin and its voltage kills: shaded eye protection, covered skin, dry gloves, sound \
           leads and a good work clamp",
    authority: Source::from_memory("ANSI Z49.1"),
};

const GAS: Caution = Caution {
    topic: "gas",
    text: "cylinders upright, chained and capped when not in use; flashback arrestors, no oil on oxygen fittings, leaks \
           tested before lighting, shaded eye protection",
    authority: Source::from_memory("OSHA, 29 CFR 1910.253; ANSI Z49.1"),
};

const LASER_LIGHT: Caution = Caution {
    topic: "laser light",
    text: "beam and reflections blind and burn: interlocks and enclosure shut, all the more with bright copper, brass \
           and aluminium, which throw the beam back",
    authority: Source::from_memory("ANSI Z136.1"),
};

const HIGH_PRESSURE: Caution = Caution {
    topic: "high pressure",
    text: "a waterjet goes through skin and flesh, and even a small wound of it needs a hospital at once: hands out of \
           reach while there is pressure, and hearing protection",
    authority: Source::from_memory(""),
};

const BLADES: Caution = Caution {
    topic: "blades",
    text: "clamp the sheet, guards and guides close to the work, hands out of the line of the blade, no gloves or loose \
           cuffs near one that runs; wear eye protection",
    authority: Source::COMMON_PRACTICE,
};

const SHEAR: Caution = Caution {
    topic: "shear",
    text: "blades and hold-downs guarded in front, and the rear of a power guillotine closed to everybody while it \
           works; nobody reaches behind for the piece",
    authority: Source::confirmed("Health and Safety Inspectorate, notice on power guillotines; OSHA, 29 CFR 1910.212"),
};

const DRILLING: Caution = Caution {
    topic: "drilling",
    text: "thin sheet catches when the drill breaks through and spins: clamp it to a backing, never hold it by hand. No \
           gloves at the drill, no loose sleeves, rings or hair: gloves are for handling, and must not add a hazard at \
           what turns",
    authority: Source::confirmed("workshop rules; OSHA, 29 CFR 1910.138, and on gloves at moving equipment"),
};

const PRESS_BRAKE: Caution = Caution {
    topic: "press brake",
    text: "guard or device at the point where the tools close; where that cannot be, hands at least 4 in (100 mm) from \
           it under a written program. Long flanges swing up: mind your face",
    authority: Source::confirmed("OSHA, 29 CFR 1910.212; OSHA CPL 02-01-025"),
};

const SHARP_EDGES: Caution = Caution {
    topic: "sharp edges",
    text: "sheet, parts and above all the skeleton cut like knives: gloves and sleeves for handling, edges broken before \
           parts leave the shop, offcuts stored so that nobody brushes past them",
    authority: Source::confirmed("Health and Safety Executive, HSG246"),
};

const LIFTING: Caution = Caution {
    topic: "lifting",
    text: "stored sheet slides and tips when it is lifted and unloaded: know the weight first, keep feet and fingers \
           clear, stack flat or in a rack made for it",
    authority: Source::confirmed("Health and Safety Executive, HSG246"),
};

const HEAVY: Caution = Caution {
    topic: "heavy pieces",
    text: "a piece of this plan weighs more than 23 kg (51 lb), the most for one person under the best conditions: lift \
           it with two people, a hoist or magnets made for it",
    authority: LIFT_SOURCE,
};

/// The line that every list of cautions ends with.
pub const WHO_DECIDES: Caution = Caution {
    topic: "who decides",
    text: "these are reminders and not complete: local codes, the makers' instructions and licensed practice decide, and \
           where they differ from this list they are right",
    authority: Source::COMMON_PRACTICE,
};

/// The cautions for an undertaking: each once, breathing first, then fire, machines and handling, and
/// [`WHO_DECIDES`] at the end, always.
#[must_use]
pub fn cautions(undertaking: &Undertaking<'_>) -> Vec<Caution> {
    let uses = |process| undertaking.processes.contains(&process);
    let holds = |material| undertaking.materials.contains(&material);
    let is_hot = undertaking.processes.iter().any(|process| process.is_hot());
    let is_aluminium = holds(Material::Aluminium5052) || holds(Material::Aluminium6061);
    let makes_dust =
        uses(Process::CutoffWheel) || uses(Process::Plasma) || uses(Process::Bandsaw) || uses(Process::Jigsaw);
    let is_sawn = [Process::Bandsaw, Process::Jigsaw, Process::HandNibbler].into_iter().any(uses);
    [
        (is_hot && (holds(Material::GalvanizedSteel) || holds(Material::Brass)), ZINC_FUME),
        (is_hot && holds(Material::Stainless304), HEXAVALENT_CHROMIUM),
        (is_hot, CUTTING_FUME),
        (is_hot, COATINGS),
        (is_hot, HOT_WORK),
        (is_aluminium && makes_dust, ALUMINIUM_DUST),
        (!undertaking.processes.is_empty() || undertaking.has_drilling, EYES_AND_EARS),
        (uses(Process::CutoffWheel), WHEELS),
        (uses(Process::CutoffWheel), BENCH_GRINDERS),
        (uses(Process::Plasma), PLASMA_ARC),
        (uses(Process::OxyFuel), GAS),
        (uses(Process::Laser), LASER_LIGHT),
        (uses(Process::Waterjet), HIGH_PRESSURE),
        (is_sawn, BLADES),
        (uses(Process::Shear), SHEAR),
        (undertaking.has_drilling, DRILLING),
        (undertaking.has_bending, PRESS_BRAKE),
        (true, SHARP_EDGES),
        (true, LIFTING),
        (undertaking.heaviest > LIFTED_BY_ONE, HEAVY),
        (true, WHO_DECIDES),
    ]
    .into_iter()
    .filter_map(|(is_called_for, caution)| is_called_for.then_some(caution))
    .collect()
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} [{}]", self.topic, self.text, self.authority)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Status;

    fn topics(materials: &[Material], processes: &[Process]) -> Vec<&'static str> {
        let undertaking = Undertaking { materials, processes, ..Undertaking::default() };
        cautions(&undertaking).iter().map(|caution| caution.topic).collect()
    }

    /// Every metal cut in every way: what must be breathed with care, and that nothing is said twice.
    #[test]
    fn every_material_by_every_process() {
        for material in Material::ALL {
            for process in Process::ALL {
                let topics = topics(&[material, material], &[process, process]);
                let has = |topic| topics.contains(&topic);
                let has_zinc = matches!(material, Material::GalvanizedSteel | Material::Brass);
                assert_eq!(has("zinc fume"), has_zinc && process.is_hot(), "{material}, {process}");
                let is_stainless = material == Material::Stainless304;
                assert_eq!(has("hexavalent chromium"), is_stainless && process.is_hot(), "{material}, {process}");
                assert_eq!(has("hot work") && has("fume"), process.is_hot(), "{material}, {process}");
                assert!(has("sharp edges") && has("lifting"));
                assert_eq!(topics.last(), Some(&WHO_DECIDES.topic));
                let mut once = topics.clone();
                once.sort_unstable();
                once.dedup();
                assert_eq!(once.len(), topics.len(), "{material}, {process}: {topics:?}");
            }
        }
    }

    #[test]
    fn every_process_has_a_caution_of_its_own() {
        let bare = topics(&[Material::MildSteel], &[]);
        for (process, own) in [
            (Process::CutoffWheel, "cutoff wheels"),
            (Process::Bandsaw, "blades"),
            (Process::Jigsaw, "blades"),
            (Process::Shear, "shear"),
            (Process::Plasma, "plasma arc"),
            (Process::OxyFuel, "gas"),
            (Process::Laser, "laser light"),
            (Process::Waterjet, "high pressure"),
            (Process::HandNibbler, "blades"),
        ] {
            assert!(!bare.contains(&own) && topics(&[Material::MildSteel], &[process]).contains(&own), "{process}");
        }
    }

    /// What a person with a grinder must be told, and what a wheel makes of aluminium.
    #[test]
    fn wheels_drills_and_aluminium() {
        let by_wheel = topics(&[Material::MildSteel], &[Process::CutoffWheel]);
        for topic in ["eyes, face and ears", "unknown coatings", "cutoff wheels", "bench grinders", "hot work"] {
            assert!(by_wheel.contains(&topic), "{topic}");
        }
        assert!(!by_wheel.contains(&"aluminium dust"));
        assert!(topics(&[Material::Aluminium6061], &[Process::CutoffWheel]).contains(&"aluminium dust"));
        assert!(!topics(&[Material::Aluminium6061], &[Process::Waterjet]).contains(&"aluminium dust"));
        assert!(DRILLING.text.contains("No gloves at the drill"));
        // 80 m/s at the rim: 80 / (π d) turns a second.
        for (diameter, turns) in [(0.115, 13_290.0), (0.125, 12_220.0)] {
            assert!((80.0 / (std::f64::consts::PI * diameter) * 60.0 - turns).abs() < 10.0);
        }
    }

    #[test]
    fn work_and_weight_add_theirs() {
        let with = |undertaking: &Undertaking<'_>| -> Vec<_> {
            cautions(undertaking).iter().map(|caution| caution.topic).collect()
        };
        assert_eq!(with(&Undertaking::default()), ["sharp edges", "lifting", "who decides"]);
        let all = Undertaking { has_drilling: true, has_bending: true, heaviest: 23.1, ..Undertaking::default() };
        let expected =
            ["eyes, face and ears", "drilling", "press brake", "sharp edges", "lifting", "heavy pieces", "who decides"];
        assert_eq!(with(&all), expected);
        for heaviest in [0.0, 23.0, f64::NAN] {
            assert!(!with(&Undertaking { heaviest, ..all.clone() }).contains(&"heavy pieces"), "{heaviest}");
        }
    }

    /// The figures of the authorities: OSHA on zinc oxide (5 mg/m³) and on chromium (29 CFR 1910.1026: 5 and 2.5 µg/m³),
    /// bench grinders (1910.215: 1/8 and 1/4 in), hot work (1910.252: 35 ft, 30 minutes), press brakes (CPL 02-01-025:
    /// 4 in).
    #[test]
    fn figures_are_those_of_the_authority_named() {
        for (caution, figures, authority) in [
            (ZINC_FUME, &["5 mg/m³", "8 hours"][..], "OSHA"),
            (HEXAVALENT_CHROMIUM, &["5 µg/m³", "2.5"], "1910.1026"),
            (BENCH_GRINDERS, &["1/8 in", "1/4 in"], "1910.215"),
            (HOT_WORK, &["35 ft", "30 minutes"], "1910.252"),
            (PRESS_BRAKE, &["4 in"], "CPL 02-01-025"),
            (WHEELS, &["180°", "three years", "13,290", "12,220"], "WAC 296-807-18020"),
            (EYES_AND_EARS, &["85 dBA", "95 to 100", "Z87.1"], "1910.95"),
            (COATINGS, &["4 in"], "1926.354"),
            (ALUMINIUM_DUST, &["1/32 in"], "NFPA 484"),
        ] {
            let printed = caution.to_string();
            assert!(figures.iter().all(|figure| printed.contains(figure)), "{printed}");
            assert!(printed.contains(authority) && caution.authority.status == Status::Confirmed, "{printed}");
        }
        assert!(WHO_DECIDES.text.contains("local codes") && WHO_DECIDES.text.contains("licensed practice"));
    }
}
