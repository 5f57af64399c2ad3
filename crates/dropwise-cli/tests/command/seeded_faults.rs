//! Parts with one fault each, and parts without any: what `check` says of them before anything is nested.

use dropwise_cli::Exit;
use serde_json::Value;

use crate::shop::Shop;

/// A part with one fault.
struct Fault {
    /// What is wrong, in the words of whoever would find it at the bench.
    what: &'static str,
    /// The rule that must be told.
    rule: &'static str,
    /// How much it must matter at least.
    severity: &'static str,
    /// What differs from 2 mm mild steel and a laser: `material`, `thickness`, `process`.
    stock: (&'static str, &'static str, &'static str),
    /// Lines of the shop file.
    shop: &'static str,
    /// Keys of the part.
    part: &'static str,
}

const LASER: (&str, &str, &str) = ("mild steel", "2 mm", "laser");
const WHEEL: (&str, &str, &str) = ("mild steel", "2 mm", "cutoff wheel");
const PLASMA: (&str, &str, &str) = ("mild steel", "2 mm", "plasma");

const fn fault(
    what: &'static str,
    severity: &'static str,
    rule: &'static str,
    stock: (&'static str, &'static str, &'static str),
    shop: &'static str,
    part: &'static str,
) -> Fault {
    Fault { what, rule, severity, stock, shop, part }
}

const PLATE: &str = "rectangle = { width = 120, height = 80 }\n";
const OWN_TOOLS: &str = "cutters = [\"cutoff wheel\"]\ndrills = [5, 8, 10]\nhole_saws = [22, 32]\n";

/// Round holes, slots, corners, edges, metal and weight.
const FLAT: [Fault; 41] = [
    fault("a hole near the edge", "warn", "hole to edge", LASER, "", "holes = [{ diameter = 8, at = [5, 40] }]"),
    fault(
        "two holes near each other",
        "warn",
        "hole to hole",
        LASER,
        "",
        "holes = [{ diameter = 8, at = [40, 40] }, { diameter = 8, at = [50, 40] }]",
    ),
    fault(
        "a slot near the edge",
        "warn",
        "hole to edge",
        LASER,
        "",
        "slots = [{ length = 30, width = 8, at = { bottom = 5 } }]",
    ),
    fault(
        "a hole that a laser burns out",
        "warn",
        "smallest hole that is cut",
        LASER,
        "",
        "holes = [{ diameter = 1.5 }]",
    ),
    fault(
        "a hole that plasma blows out",
        "warn",
        "smallest hole that is cut",
        ("mild steel", "6 mm", "plasma"),
        "",
        "holes = [{ diameter = 7 }]",
    ),
    fault(
        "a slot narrower than the kerf",
        "stop",
        "wider than the kerf",
        PLASMA,
        "",
        "slots = [{ length = 30, width = 1.2 }]",
    ),
    fault(
        "a notch narrower than the kerf",
        "warn",
        "wider than the kerf",
        PLASMA,
        "",
        "!polygon = { points = [[0,0],[120,0],[120,80],[61,80],[61,40],[60,40],[60,80],[0,80]] }",
    ),
    fault(
        "a hole that no tool makes",
        "stop",
        "hole that no tool makes",
        WHEEL,
        OWN_TOOLS,
        "holes = [{ diameter = 14.5 }]",
    ),
    fault(
        "a bore larger than every hole saw",
        "stop",
        "hole that no tool makes",
        WHEEL,
        OWN_TOOLS,
        "!ring = { outer_diameter = 150, inner_diameter = 94 }",
    ),
    fault(
        "a hole that the usual shop has no saw for",
        "warn",
        "hole that no tool makes",
        WHEEL,
        "",
        "holes = [{ diameter = 36.5 }]",
    ),
    fault(
        "a window with nothing but a bandsaw",
        "stop",
        "side that no tool cuts",
        ("mild steel", "4 mm", "bandsaw"),
        "cutters = [\"bandsaw\"]\n",
        "cutouts = [{ width = 40, height = 30, corner_radius = 5 }]",
    ),
    fault(
        "a punch through plate thicker than itself",
        "stop",
        "thickest sheet of a punch",
        ("mild steel", "6 mm", "cutoff wheel"),
        "drills = [3]\nhole_saws = [20]\npunches = [5]\n",
        "holes = [{ diameter = 5 }]",
    ),
    fault(
        "a punch beyond what the shop says it goes through",
        "stop",
        "thickest sheet of a punch",
        ("mild steel", "3 mm", "cutoff wheel"),
        "drills = [3]\nhole_saws = [20]\npunches = [{ hole = 9, thickest = 2 }]\n",
        "holes = [{ diameter = 9 }]",
    ),
    fault(
        "a punched hole below the published least",
        "warn",
        "punched hole",
        ("mild steel", "3 mm", "cutoff wheel"),
        "drills = [5]\nhole_saws = [20]\npunches = [3.2]\n",
        "holes = [{ diameter = 3.2 }]",
    ),
    fault(
        "a drill much thinner than the plate",
        "warn",
        "drilled hole",
        ("mild steel", "8 mm", "cutoff wheel"),
        "",
        "holes = [{ diameter = 2 }]",
    ),
    fault(
        "a hole saw that leaves a thin rim",
        "warn",
        "rim of a hole saw",
        WHEEL,
        "",
        "holes = [{ diameter = 32, at = [18.5, 40] }]",
    ),
    fault(
        "a sharp inside corner for a wheel",
        "warn",
        "inside corner",
        WHEEL,
        "",
        "!l_shape = { length_x = 120, width_x = 40, length_y = 80, width_y = 40 }",
    ),
    fault(
        "a sharp inside corner for a jigsaw",
        "warn",
        "inside corner",
        ("mild steel", "3 mm", "jigsaw"),
        "",
        "!l_shape = { length_x = 120, width_x = 40, length_y = 80, width_y = 40 }",
    ),
    fault(
        "an inside curve of a radius that nobody saws",
        "warn",
        "inside curve",
        WHEEL,
        OWN_TOOLS,
        "!l_shape = { length_x = 120, width_x = 40, length_y = 80, width_y = 40, inside_radius = 13.5 }",
    ),
    fault(
        "a slot whose ends no drill makes",
        "warn",
        "inside curve",
        WHEEL,
        OWN_TOOLS,
        "slots = [{ length = 40, width = 13 }]",
    ),
    fault(
        "a tongue of a millimetre",
        "warn",
        "strip of metal",
        LASER,
        "",
        "!polygon = { points = [[0,0],[120,0],[120,60],[61,60],[61,80],[60,80],[60,60],[0,60]] }",
    ),
    fault(
        "a part too heavy for one",
        "warn",
        "weight for one person",
        ("mild steel", "12 mm", "plasma"),
        "",
        "!rectangle = { width = 600, height = 500 }",
    ),
    fault(
        "a part too heavy for this one",
        "warn",
        "weight for one person",
        ("mild steel", "6 mm", "plasma"),
        "lifted_by_one = \"10 kg\"\n",
        "!rectangle = { width = 600, height = 500 }",
    ),
    fault(
        "a part longer than the shear",
        "stop",
        "length of the shear",
        ("mild steel", "1.5 mm", "shear"),
        "[shear]\nlength = 600\nthickest = 2\n",
        "!rectangle = { width = 700, height = 100 }",
    ),
    fault(
        "sheet thicker than the shear cuts",
        "stop",
        "thickest sheet of the shear",
        ("mild steel", "3 mm", "shear"),
        "[shear]\nlength = 1250\nthickest = 2\n",
        "",
    ),
    fault("a shear that nobody told of", "warn", "shear of the shop", ("mild steel", "1.5 mm", "shear"), "", ""),
    fault(
        "a strip too narrow to be sheared",
        "warn",
        "narrowest strip",
        ("mild steel", "1.5 mm", "shear"),
        "[shear]\nlength = 1250\nthickest = 2\n",
        "!rectangle = { width = 200, height = 10 }",
    ),
    fault(
        "galvanized sheet under a plasma torch",
        "warn",
        "zinc fume",
        ("galvanized steel", "1.5 mm", "plasma"),
        "",
        "",
    ),
    fault(
        "galvanized sheet under a wheel",
        "warn",
        "zinc fume",
        ("galvanized steel", "1.5 mm", "cutoff wheel"),
        "",
        "",
    ),
    fault("brass under a torch", "warn", "zinc fume", ("brass", "3 mm", "plasma"), "", ""),
    fault("stainless steel under oxygen", "warn", "metal for oxy-fuel", ("304 stainless", "6 mm", "oxy-fuel"), "", ""),
    fault("thin sheet under oxygen", "warn", "thinnest plate for oxy-fuel", ("mild steel", "2 mm", "oxy-fuel"), "", ""),
    fault(
        "a countersink deeper than the sheet",
        "warn",
        "countersink depth",
        LASER,
        "",
        "holes = [{ clearance = \"M6\", countersink = { screw = \"M6\" } }]",
    ),
    fault(
        "a countersink that leaves a knife edge",
        "warn",
        "countersink depth",
        ("mild steel", "3 mm", "laser"),
        "",
        "holes = [{ clearance = \"M5\", countersink = { screw = \"M5\" } }]",
    ),
    fault(
        "a countersink near the edge",
        "warn",
        "countersink to edge",
        ("mild steel", "4 mm", "laser"),
        "",
        "holes = [{ clearance = \"M5\", at = [15, 40], countersink = { screw = \"M5\" } }]",
    ),
    fault(
        "two countersinks near each other",
        "warn",
        "countersink to countersink",
        ("mild steel", "4 mm", "laser"),
        "",
        "holes = [{ clearance = \"M5\", at = [45, 40], countersink = { screw = \"M5\" } }, { clearance = \"M5\", at = [70, 40], countersink = { screw = \"M5\" } }]",
    ),
    fault(
        "a hole too small for its own screw",
        "warn",
        "hole of a screw",
        ("mild steel", "6 mm", "laser"),
        "",
        "holes = [{ diameter = 5.5, countersink = { screw = \"M6\" } }]",
    ),
    fault("a thread of two turns", "warn", "threads in the sheet", LASER, "", "holes = [{ tap = \"M6\" }]"),
    fault(
        "an inch thread in thin sheet",
        "warn",
        "threads in the sheet",
        LASER,
        "",
        "hole_rows = [{ tap = \"1/4-20\", count = 3, pitch = 30 }]",
    ),
    fault(
        "a flare that no die makes",
        "stop",
        "flaring die",
        LASER,
        "flaring_dies = [{ hole = 38 }]\n",
        "holes = [{ diameter = 30, flare = { diameter = 42 } }]",
    ),
    fault(
        "a flare near the edge",
        "warn",
        "flare to edge",
        LASER,
        "flaring_dies = [{ hole = 25 }]\n",
        "holes = [{ diameter = 25, at = [24, 40], flare = { diameter = 37.7 } }]",
    ),
];

/// Flares, bends, hems, reliefs, the brake and its dies.
const BENT: [Fault; 46] = [
    fault(
        "a flare near a plain hole",
        "warn",
        "flare to hole",
        LASER,
        "flaring_dies = [{ hole = 25 }]\n",
        "holes = [{ diameter = 25, at = [60, 40], flare = { diameter = 37.7 } }, { diameter = 6, at = [86, 40] }]",
    ),
    fault(
        "a flare deeper than half its hole",
        "warn",
        "depth of a flare",
        LASER,
        "flaring_dies = [{ hole = 25 }]\n",
        "holes = [{ diameter = 25, flare = { diameter = 37.7, depth = 14 } }]",
    ),
    fault(
        "a flare in plate too thick for its die",
        "stop",
        "thickest sheet of a flaring die",
        ("mild steel", "4 mm", "laser"),
        "flaring_dies = [{ hole = 25, thickest = 3 }]\n",
        "holes = [{ diameter = 25, flare = { diameter = 37.7 } }]",
    ),
    fault(
        "two flares near each other",
        "warn",
        "flare to flare",
        LASER,
        "flaring_dies = [{ hole = 20 }]\n",
        "holes = [{ diameter = 20, at = [35, 40], flare = { diameter = 32.7 } }, { diameter = 20, at = [80, 40], flare = { diameter = 32.7 } }]",
    ),
    fault(
        "a hole near a bend",
        "warn",
        "hole to bend",
        LASER,
        "",
        "holes = [{ diameter = 8, at = { top = 11 } }]\nflanges = [{ name = \"wall\", edge = \"top\", height = 40 }]",
    ),
    fault(
        "a hole of a flange near its bend",
        "warn",
        "hole to bend",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, holes = [{ diameter = 8, at = { bottom = 11 } }] }]",
    ),
    fault(
        "a cutout near a bend",
        "warn",
        "hole to bend",
        LASER,
        "",
        "cutouts = [{ width = 20, height = 10, edges = { top = 6 } }]\nflanges = [{ name = \"wall\", edge = \"top\", height = 40 }]",
    ),
    fault(
        "a countersink near a bend",
        "warn",
        "countersink to bend",
        ("mild steel", "4 mm", "laser"),
        "",
        "holes = [{ clearance = \"M5\", at = { top = 20 }, countersink = { screw = \"M5\" } }]\nflanges = [{ name = \"wall\", edge = \"top\", height = 60 }]",
    ),
    fault(
        "a flare near a bend",
        "warn",
        "flare to bend",
        LASER,
        "flaring_dies = [{ hole = 25 }]\n",
        "holes = [{ diameter = 25, at = { top = 28 }, flare = { diameter = 37.7 } }]\nflanges = [{ name = \"wall\", edge = \"top\", height = 40 }]",
    ),
    fault(
        "a notch that ends by a bend",
        "warn",
        "notch to bend",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, edge_notches = [{ at = 60, width = 20, depth = 35 }] }]",
    ),
    fault(
        "a round notch that ends by a bend",
        "warn",
        "notch to bend",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 25, edge_notches = [{ at = 60, radius = 20 }] }]",
    ),
    fault(
        "a flange shorter than the die holds",
        "stop",
        "leg on the die",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 5 }]",
    ),
    fault(
        "a flange below the published least",
        "warn",
        "shortest flange",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 6 }]",
    ),
    fault(
        "a base shorter than the die holds",
        "stop",
        "leg on the die",
        LASER,
        "",
        "!angle_bracket = { length = 100, base = 8, leg = 40 }",
    ),
    fault(
        "a die of only 3.3 thicknesses",
        "stop",
        "opening of the die",
        ("mild steel", "3 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40 }]\nbending = { die = 10 }",
    ),
    fault(
        "a die of 4.5 thicknesses",
        "warn",
        "opening of the die",
        ("mild steel", "3.556 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40 }]\nbending = { die = 16 }",
    ),
    fault(
        "an angle tighter than benders hold",
        "warn",
        "angle of a bend",
        LASER,
        "",
        "+general_tolerances = \"medium\"\n!rectangle = { width = 200, height = 160 }\nflanges = [{ name = \"wall\", edge = \"top\", height = 140 }]",
    ),
    fault(
        "a short leg that takes a narrow die",
        "warn",
        "opening of the die",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 6, inside_radius = 1.3 }]",
    ),
    fault(
        "a bend longer than the brake",
        "stop",
        "length of the brake",
        LASER,
        "[brake]\nlength = 600\n",
        "!rectangle = { width = 700, height = 80 }\nflanges = [{ name = \"wall\", edge = \"top\", height = 40 }]",
    ),
    fault(
        "more force than the brake has",
        "stop",
        "force of the brake",
        ("mild steel", "6 mm", "laser"),
        "[brake]\nforce = \"10 tonnes\"\n",
        "!rectangle = { width = 700, height = 120 }\nflanges = [{ name = \"wall\", edge = \"top\", height = 60 }]",
    ),
    fault(
        "aluminium bent tighter than it stands",
        "stop",
        "inside radius",
        ("6061 aluminium", "3.175 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, inside_radius = 3 }]",
    ),
    fault(
        "steel bent tighter than it stands",
        "stop",
        "inside radius",
        ("mild steel", "3 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, inside_radius = 1 }]",
    ),
    fault(
        "plate bent tighter than it stands",
        "stop",
        "inside radius",
        ("mild steel", "6 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 60, inside_radius = 5 }]",
    ),
    fault(
        "a tight bend along the grain",
        "warn",
        "inside radius",
        LASER,
        "",
        "turns = \"grain\"\nflanges = [{ name = \"wall\", edge = \"top\", height = 40, inside_radius = 1.2 }]",
    ),
    fault(
        "a radius that the die does not make",
        "warn",
        "radius of the die",
        LASER,
        "[brake]\ndies = [12]\n",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, inside_radius = 5 }]",
    ),
    fault(
        "a radius tighter than the punch's tip",
        "warn",
        "tip of the punch",
        LASER,
        "[brake]\npunches = [{ name = \"blunt\", tip_radius = 3 }]\n",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, inside_radius = 1.9 }]",
    ),
    fault(
        "an angle that no tool closes to",
        "stop",
        "sharpest bend",
        ("mild steel", "1.5 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 60, angle = 155 }]",
    ),
    fault(
        "an acute angle without an acute die",
        "stop",
        "sharpest bend",
        LASER,
        "[brake]\ndies = [{ opening = 12, angle = 85 }]\n",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 60, angle = 120 }]",
    ),
    fault(
        "bends without a brake",
        "warn",
        "order of bends",
        LASER,
        "no_brake = true\n",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40 }]",
    ),
    fault(
        "a channel too deep for the punch",
        "warn",
        "order of bends",
        LASER,
        "",
        "!channel = { length = 300, web = 40, flange = 120 }",
    ),
    fault(
        "a tab without a relief",
        "warn",
        "bend relief",
        LASER,
        "",
        "flanges = [{ name = \"tab\", edge = \"top\", from = 30, to = 90, height = 30, relief = \"none\" }]",
    ),
    fault(
        "a relief too narrow",
        "warn",
        "bend relief",
        LASER,
        "",
        "flanges = [{ name = \"tab\", edge = \"top\", from = 30, to = 90, height = 30, relief = { form = \"rectangular\", width = 0.6, depth = 6 } }]",
    ),
    fault(
        "a relief too shallow",
        "warn",
        "depth of a relief",
        LASER,
        "",
        "flanges = [{ name = \"tab\", edge = \"top\", from = 30, to = 90, height = 30, relief = { form = \"rectangular\", width = 3, depth = 0.3 } }]",
    ),
    fault(
        "a hem too short to fold",
        "stop",
        "return of a hem",
        ("mild steel", "1.5 mm", "laser"),
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 3.5, hem = \"closed\" }]",
    ),
    fault(
        "a hem that folds to 45 degrees only",
        "warn",
        "return of a hem",
        ("mild steel", "1 mm", "laser"),
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 9, hem = \"closed\" }]",
    ),
    fault(
        "a hem below the published return",
        "warn",
        "return of a hem",
        ("mild steel", "2 mm", "laser"),
        "no_brake = true\n",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 11, hem = \"closed\" }]",
    ),
    fault(
        "a closed hem in 6 mm plate",
        "stop",
        "thickness of a hem",
        ("mild steel", "6 mm", "laser"),
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 60, hem = \"closed\" }]",
    ),
    fault(
        "a closed hem in 3 mm sheet",
        "warn",
        "thickness of a hem",
        ("mild steel", "3 mm", "laser"),
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 40, hem = \"closed\" }]",
    ),
    fault(
        "a closed hem in hard aluminium",
        "stop",
        "metal of a hem",
        ("5052 aluminium", "1/16 in", "laser"),
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 20, hem = \"closed\" }]",
    ),
    fault(
        "an open hem tighter than its metal stands",
        "stop",
        "metal of a hem",
        ("6061 aluminium", "1.5 mm", "laser"),
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 25, hem = \"open\", gap = 2 }]",
    ),
    fault(
        "a hem that the brake does not close",
        "stop",
        "force to press a hem",
        LASER,
        "",
        "!rectangle = { width = 1200, height = 120 }\nflanges = [{ name = \"hem\", edge = \"top\", height = 20, hem = \"closed\" }]",
    ),
    fault(
        "a teardrop narrower than the sheet",
        "warn",
        "loop of a teardrop",
        LASER,
        "",
        "flanges = [{ name = \"hem\", edge = \"top\", height = 20, hem = \"teardrop\", inside_radius = 0.8 }]",
    ),
    fault(
        "a hole under a hem",
        "warn",
        "hole under a hem",
        ("mild steel", "1 mm", "laser"),
        "",
        "holes = [{ diameter = 5, at = { top = 9 } }]\nflanges = [{ name = \"hem\", edge = \"top\", height = 14, hem = \"closed\" }]",
    ),
    fault(
        "a hem near another bend",
        "warn",
        "hem to bend",
        ("mild steel", "1 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 7.5 }, { name = \"hem\", on = \"wall\", height = 13, hem = \"closed\" }]",
    ),
    fault(
        "a teardrop near another bend",
        "warn",
        "hem to bend",
        ("mild steel", "1 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 12 }, { name = \"hem\", on = \"wall\", height = 13, hem = \"teardrop\", inside_radius = 1.5, direction = \"down\" }]",
    ),
    fault(
        "a hem in metal that nobody published",
        "warn",
        "metal of a hem",
        ("mild steel", "1 mm", "laser"),
        "",
        "bending = { temper = \"hard cold rolled steel\" }\nflanges = [{ name = \"hem\", edge = \"top\", height = 14, hem = \"closed\" }]",
    ),
];

/// What a good part is called; its metal, thickness and process; what the shop file adds; its keys.
type GoodPart = (&'static str, (&'static str, &'static str, &'static str), &'static str, &'static str);

/// Parts that any of these shops makes. Notes may stand; no warning and no stop.
const GOOD: [GoodPart; 25] = [
    ("a plate", LASER, "", ""),
    (
        "a plate with clearance holes",
        LASER,
        "",
        "holes = [{ clearance = \"M6\", at = [20, 20] }, { clearance = { screw = \"M8\", fit = \"coarse\" }, at = [80, 20] }]",
    ),
    (
        "a plate drilled by hand",
        WHEEL,
        "",
        "holes = [{ diameter = 9, at = [20, 20] }, { diameter = 32, at = [70, 40] }]",
    ),
    (
        "a plate with rivet holes",
        WHEEL,
        "drills = [3.1, 3.3, 4.1]\n",
        "hole_rows = [{ rivet = \"4 mm\", count = 4, pitch = 25 }]",
    ),
    (
        "a tapped plate",
        ("mild steel", "5 mm", "plasma"),
        "",
        "bolt_circles = [{ tap = \"M6\", count = 4, circle = 50 }]",
    ),
    (
        "a punched plate",
        WHEEL,
        "punches = [5, 9]\n",
        "holes = [{ diameter = 5, at = [20, 20] }, { diameter = 9, at = [60, 20] }]",
    ),
    (
        "a countersunk plate",
        ("mild steel", "5 mm", "laser"),
        "",
        "holes = [{ clearance = \"M5\", countersink = { screw = \"M5\" } }]",
    ),
    (
        "a flare of the die's own size",
        LASER,
        "flaring_dies = [{ hole = 25 }]\n",
        "holes = [{ diameter = 25, flare = { diameter = 37.7 } }]",
    ),
    ("a slotted plate", LASER, "", "slots = [{ length = 40, width = 9, edges = { left = 20, bottom = 20 } }]"),
    (
        "a window for a jigsaw",
        ("mild steel", "3 mm", "jigsaw"),
        "",
        "cutouts = [{ width = 50, height = 30, corner_radius = 8 }]",
    ),
    (
        "an L whose corner a hole saw makes",
        WHEEL,
        "",
        "!l_shape = { length_x = 120, width_x = 40, length_y = 80, width_y = 40, inside_radius = 16 }",
    ),
    (
        "a notched plate with rounded bites",
        WHEEL,
        "",
        "!notched = { width = 200, height = 120, notches = [{ width = 60, height = 40, at = \"top right\", inside_radius = 10 }] }",
    ),
    ("a gusset", WHEEL, "", "!gusset = { leg_x = 120, leg_y = 120, nose = 12 }"),
    (
        "a sheared strip",
        ("mild steel", "1.5 mm", "shear"),
        "[shear]\nlength = 1250\nthickest = 2\n",
        "!rectangle = { width = 400, height = 60 }",
    ),
    (
        "galvanized steel on the shear",
        ("galvanized steel", "1.5 mm", "shear"),
        "[shear]\nlength = 1250\nthickest = 2\n",
        "",
    ),
    ("a plate of 12 mm by oxygen", ("mild steel", "12 mm", "oxy-fuel"), "", ""),
    ("an angle bracket", LASER, "", "!angle_bracket = { length = 100, base = 60, leg = 40 }"),
    (
        "an angle in 16 ga by plasma",
        ("mild steel", "16 ga", "plasma"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 25 }]",
    ),
    (
        "a tab in sheet thinner than the kerf",
        ("mild steel", "1.5 mm", "plasma"),
        "",
        "flanges = [{ name = \"tab\", edge = \"top\", from = 30, to = 90, height = 30 }]",
    ),
    (
        "a channel with holes clear of its bends",
        LASER,
        "",
        "!channel = { length = 200, web = 80, flange = 30 }\nfaces = [{ face = \"base\", holes = [{ diameter = 9, at = [50, 40] }] }]",
    ),
    ("a tray", ("mild steel", "1.2 mm", "laser"), "", "!tray = { length = 200, width = 120, height = 30 }"),
    (
        "soft aluminium with room to bend",
        ("5052 aluminium", "2 mm", "laser"),
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, inside_radius = 4 }]",
    ),
    (
        "a closed hem",
        ("mild steel", "1 mm", "laser"),
        "",
        "!rectangle = { width = 200, height = 120 }\nflanges = [{ name = \"hem\", edge = \"top\", height = 13, hem = \"closed\" }]",
    ),
    (
        "a teardrop",
        ("mild steel", "1 mm", "laser"),
        "",
        "!rectangle = { width = 200, height = 120 }\nflanges = [{ name = \"hem\", edge = \"top\", height = 13, hem = \"teardrop\", inside_radius = 1.5 }]",
    ),
    (
        "a rounded notch clear of its bend",
        LASER,
        "",
        "flanges = [{ name = \"wall\", edge = \"top\", height = 40, edge_notches = [{ at = 60, width = 20, depth = 12, inside_radius = 4 }] }]",
    ),
];

/// The findings of a part, as JSON.
fn findings(stock: (&str, &str, &str), shop_file: &str, part: &str) -> Result<Vec<Value>, String> {
    let (material, thickness, process) = stock;
    let shop = Shop::new();
    shop.write("shop.toml", format!("unit = \"mm\"\n{shop_file}"));
    // Keys of the whole job stand first, behind `+`; a part that brings its own form says so with `!`.
    let (settings, part) = part.strip_prefix('+').and_then(|rest| rest.split_once('\n')).unwrap_or(("", part));
    let form = part.strip_prefix('!').map_or_else(|| format!("{PLATE}{part}"), str::to_owned);
    shop.write(
        "job.toml",
        format!(
            "unit = \"mm\"\nshop = \"shop.toml\"\ndefaults = {{ material = \"{material}\", thickness = \"{thickness}\" }}\n\
             clearances = {{ process = \"{process}\" }}\n{settings}\n[[sheets]]\nname = \"sheet\"\n\
             rectangle = {{ width = 2500, height = 1250 }}\n[[parts]]\nname = \"part\"\n{form}\n"
        ),
    );
    let run = shop.run("check @job.toml --json");
    if !matches!(run.exit, Exit::Done | Exit::CannotBeMade) {
        return Err(run.stderr);
    }
    let document: Value = serde_json::from_str(&run.stdout).expect("findings are JSON");
    Ok(document["parts"][0]["findings"].as_array().expect("a list").clone())
}

fn rank(severity: &str) -> usize {
    ["note", "warn", "stop"].iter().position(|known| *known == severity).expect("a severity")
}

/// What of these faults is missed, with what was said instead.
fn missed(faults: &[Fault]) -> Vec<String> {
    faults
        .iter()
        .filter_map(|fault| {
            let found = match findings(fault.stock, fault.shop, fault.part) {
                Ok(found) => found,
                Err(refused) => return Some(format!("{}: refused: {refused}", fault.what)),
            };
            let text = |finding: &Value, key: &str| finding[key].as_str().unwrap_or_default().to_owned();
            let is_told = found.iter().any(|finding| {
                let has_number = finding["found"].is_object()
                    || finding["wanted"].is_object()
                    || text(finding, "problem").contains("mg/m³")
                    || ["order of bends", "shear of the shop", "metal for oxy-fuel"].contains(&fault.rule);
                text(finding, "rule") == fault.rule
                    && rank(&text(finding, "severity")) >= rank(fault.severity)
                    && has_number
                    && !text(finding, "cure").is_empty()
                    && !text(finding, "source").is_empty()
            });
            let said: Vec<String> = found
                .iter()
                .map(|finding| format!("{} {}", text(finding, "severity"), text(finding, "rule")))
                .collect();
            (!is_told).then(|| format!("{}: wanted {} {}, got {said:?}", fault.what, fault.severity, fault.rule))
        })
        .collect()
}

#[test]
fn every_seeded_fault_of_a_flat_part_is_told() {
    assert_eq!(missed(&FLAT), Vec::<String>::new());
}

#[test]
fn every_seeded_fault_of_a_bent_part_is_told() {
    assert_eq!(missed(&BENT), Vec::<String>::new());
}

#[test]
fn good_parts_raise_no_alarm() {
    let mut alarms = Vec::new();
    for (what, stock, shop, part) in GOOD {
        for finding in findings(stock, shop, part).unwrap_or_else(|refused| panic!("{what}: {refused}")) {
            if finding["severity"] != "note" {
                alarms.push(format!("{what}: {finding}"));
            }
        }
    }
    assert_eq!(alarms, Vec::<String>::new());
}

/// A figure that is only remembered, or only common practice about what parts look like, never stops.
#[test]
fn nothing_that_is_only_remembered_stops() {
    for fault in FLAT.iter().chain(&BENT) {
        for finding in findings(fault.stock, fault.shop, fault.part).unwrap_or_default() {
            let source = finding["source"].as_str().unwrap_or_default();
            // The force rule is remembered, but it lies within 5 % of the charts, and it is the machine that it spares.
            let is_force = finding["rule"] == "force of the brake";
            let is_remembered = source.contains("from memory") && !is_force;
            assert!(finding["severity"] != "stop" || !is_remembered, "{}: {finding}", fault.what);
        }
    }
}
