//! Good parts: what any of these shops makes.

use super::{LASER, LEAF, THIN, WHEEL};

/// What a good part is called; its metal, thickness and process; what the shop file adds; its keys.
type GoodPart = (&'static str, (&'static str, &'static str, &'static str), &'static str, &'static str);

/// Notes may stand; no warning and no stop.
pub(super) const GOOD: [GoodPart; 38] = [
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
    (
        "a tray on a box-and-pan brake",
        THIN,
        "benders = [{ kind = \"box and pan\" }]\n",
        "!tray = { length = 300, width = 200, height = 40 }",
    ),
    ("a channel on a leaf brake", THIN, LEAF, "!channel = { length = 300, web = 120, flange = 40 }"),
    (
        "a bracket in the vise",
        LASER,
        "benders = [{ kind = \"vise\" }]\n",
        "!angle_bracket = { length = 200, base = 60, leg = 40 }",
    ),
    (
        "a hem on a leaf brake",
        THIN,
        LEAF,
        "!rectangle = { width = 200, height = 120 }\nflanges = [{ name = \"hem\", edge = \"top\", height = 14, hem = \"closed\" }]",
    ),
    (
        "a teardrop on a leaf brake",
        THIN,
        LEAF,
        "!rectangle = { width = 200, height = 120 }\nflanges = [{ name = \"hem\", edge = \"top\", height = 14, hem = \"teardrop\", inside_radius = 1.5 }]",
    ),
    (
        "a bracket in the shop press",
        LASER,
        "no_brake = true\nshop_press = { length = 600, force = \"20 tons\", dies = [8, 12, 16], gauge_to = 300 }\n",
        "!angle_bracket = { length = 300, base = 60, leg = 40 }",
    ),
    ("a Z on the press brake", LASER, "", "!z_section = { length = 300, web = 60, flange = 30 }"),
    ("a wall told by its own K", LASER, "", "flanges = [{ name = \"wall\", edge = \"top\", height = 40, k = 0.42 }]"),
    (
        "a stainless bracket with room to bend",
        ("304 stainless", "1.5 mm", "laser"),
        "",
        "!angle_bracket = { length = 200, base = 60, leg = 40 }",
    ),
    (
        "16 ga in inches",
        ("mild steel", "16 ga", "laser"),
        "",
        "!rectangle = { width = \"8 in\", height = \"4 in\" }\nflanges = [{ name = \"wall\", edge = \"top\", height = \"1 1/2 in\", holes = [{ diameter = \"9/32 in\", at = { top = \"5/8 in\" } }] }]",
    ),
    (
        "a tapped wall of quarter-inch plate",
        ("mild steel", "1/4 in", "plasma"),
        "drills = [\"13/64 in\", \"1/2 in\"]\nhole_saws = [\"1 in\"]\n",
        "holes = [{ tap = \"1/4-20\" }]",
    ),
    (
        "a wall with two rows of holes",
        LASER,
        "",
        "!rectangle = { width = 200, height = 100 }\nflanges = [{ name = \"wall\", edge = \"top\", height = 60, hole_rows = [{ diameter = 6, count = 5, pitch = 30, middle = { top = 12 } }, { diameter = 6, count = 5, pitch = 30, middle = { top = 32 } }] }]",
    ),
    (
        "aluminium for the shear",
        ("5052 aluminium", "2 mm", "shear"),
        "[shear]\nlength = 1250\nthickest = 2\n",
        "!rectangle = { width = 400, height = 60 }",
    ),
];
