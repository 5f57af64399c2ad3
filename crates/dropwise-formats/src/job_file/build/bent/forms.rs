//! Short forms of bent parts.

use dropwise_shop::fold::{
    BentPart, angle_bracket, channel, gusseted_corner, hat_section, lipped_box, machine_table, tray, z_section,
};

use super::super::context::At;
use crate::job_file::types::{BentForms, Length};

/// The short forms written down, by their keys.
pub(in super::super) fn bent_forms_given(keys: &BentForms) -> Vec<&'static str> {
    let BentForms { angle_bracket, channel, z_section, hat_section, tray, lipped_box, gusseted_corner, machine_table } =
        keys;
    [
        ("angle_bracket", angle_bracket.is_some()),
        ("channel", channel.is_some()),
        ("z_section", z_section.is_some()),
        ("hat_section", hat_section.is_some()),
        ("tray", tray.is_some()),
        ("lipped_box", lipped_box.is_some()),
        ("gusseted_corner", gusseted_corner.is_some()),
        ("machine_table", machine_table.is_some()),
    ]
    .into_iter()
    .filter_map(|(key, is_given)| is_given.then_some(key))
    .collect()
}

/// The part that a short form stands for. `None` when none is given, or a size is wrong (and was reported).
pub(super) fn short_form(at: &At<'_>, keys: &BentForms, thickness: f64, radius: f64) -> Option<BentPart> {
    let (t, r) = (thickness, radius);
    if let Some(keys) = &keys.angle_bracket {
        let [length, base, leg] =
            sizes(&at.key("angle_bracket"), [("length", &keys.length), ("base", &keys.base), ("leg", &keys.leg)])?;
        return Some(angle_bracket(length, base, leg, t, r));
    }
    if let Some(keys) = &keys.channel {
        let [length, web, flange] =
            sizes(&at.key("channel"), [("length", &keys.length), ("web", &keys.web), ("flange", &keys.flange)])?;
        return Some(channel(length, web, flange, t, r));
    }
    if let Some(keys) = &keys.z_section {
        let [length, web, flange] =
            sizes(&at.key("z_section"), [("length", &keys.length), ("web", &keys.web), ("flange", &keys.flange)])?;
        return Some(z_section(length, web, flange, t, r));
    }
    if let Some(keys) = &keys.hat_section {
        let [length, crown, height, brim] = sizes(
            &at.key("hat_section"),
            [("length", &keys.length), ("crown", &keys.crown), ("height", &keys.height), ("brim", &keys.brim)],
        )?;
        return Some(hat_section(length, crown, height, brim, t, r));
    }
    if let Some(keys) = &keys.tray {
        let [length, width, height] =
            sizes(&at.key("tray"), [("length", &keys.length), ("width", &keys.width), ("height", &keys.height)])?;
        return Some(tray(length, width, height, t, r));
    }
    if let Some(keys) = &keys.lipped_box {
        let [length, width, height, lip] = sizes(
            &at.key("lipped_box"),
            [("length", &keys.length), ("width", &keys.width), ("height", &keys.height), ("lip", &keys.lip)],
        )?;
        return Some(lipped_box(length, width, height, lip, t, r));
    }
    if let Some(keys) = &keys.gusseted_corner {
        let at = at.key("gusseted_corner");
        let [length, depth, height, crest] = sizes(
            &at,
            [("length", &keys.length), ("depth", &keys.depth), ("height", &keys.height), ("crest", &keys.crest)],
        )?;
        if crest >= depth {
            let context = at.context;
            at.key("crest").fault(
                format!("is {}, not less than the depth of {}", context.show(crest), context.show(depth)),
                "The gussets slope down from the crest to the front: make it shorter",
            );
            return None;
        }
        return Some(gusseted_corner(length, depth, height, crest, t, r));
    }
    let keys = keys.machine_table.as_ref()?;
    let at = at.key("machine_table");
    let [length, width, height, leg, apron, foot] = sizes(
        &at,
        [
            ("length", &keys.length),
            ("width", &keys.width),
            ("height", &keys.height),
            ("leg_width", &keys.leg_width),
            ("apron", &keys.apron),
            ("foot", &keys.foot),
        ],
    )?;
    // Between each leg and the apron there is a gap of three thicknesses.
    if 2.0 * leg + 6.0 * t >= length {
        let context = at.context;
        at.key("leg_width").fault(
            format!(
                "is {}; two legs leave no room for an apron on a length of {}",
                context.show(leg),
                context.show(length)
            ),
            "Make the legs narrower, or the table longer",
        );
        return None;
    }
    Some(machine_table((length, width, height), leg, apron, foot, t, r))
}

/// Sizes by their keys; `None` when one is wrong, after all were looked at.
fn sizes<const N: usize>(at: &At<'_>, lengths: [(&str, &Length); N]) -> Option<[f64; N]> {
    let read = lengths.map(|(key, length)| at.key(key).size(length));
    if read.iter().any(Option::is_none) {
        return None;
    }
    Some(read.map(Option::unwrap_or_default))
}
