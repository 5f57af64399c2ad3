//! Counts, classes, turns and sums, checked by plain arithmetic.

use dropwise_model::{Job, Layout, Need, Plan, Reason, SheetUse, Turns};

use crate::referee::{area_of, bought_area, perimeter_of};

/// Counts of parts and sheets, and the reasons given for parts left out.
pub(crate) fn judge_counts(job: &Job, layout: &Layout) -> Vec<String> {
    let mut faults = Vec::new();
    let mut placed = vec![0_u32; job.parts().len()];
    let mut cut = vec![0_u32; job.sheets().len()];
    for used in &layout.sheets {
        match cut.get_mut(used.sheet) {
            Some(count) => *count += 1,
            None => faults.push(format!("sheet {} does not exist", used.sheet)),
        }
        for placement in &used.placements {
            match placed.get_mut(placement.part) {
                Some(count) => *count += 1,
                None => faults.push(format!("part {} does not exist", placement.part)),
            }
        }
        if used.placements.is_empty() {
            faults.push(format!("sheet {} is cut for nothing", used.sheet));
        }
    }
    let mut missing = vec![0_u32; job.parts().len()];
    for unplaced in &layout.unplaced {
        match missing.get_mut(unplaced.part) {
            Some(count) => *count += unplaced.count,
            None => faults.push(format!("unplaced part {} does not exist", unplaced.part)),
        }
    }
    if !faults.is_empty() {
        return faults;
    }
    for (index, part) in job.parts().iter().enumerate() {
        if placed[index] + missing[index] != part.quantity {
            faults.push(format!(
                "`{}`: {} placed and {} unplaced, {} wanted",
                part.name, placed[index], missing[index], part.quantity
            ));
        }
    }
    for (index, sheet) in job.sheets().iter().enumerate() {
        if sheet.quantity.is_some_and(|most| cut[index] > most) {
            faults.push(format!("`{}`: {} cut, there are {:?}", sheet.name, cut[index], sheet.quantity));
        }
    }
    for unplaced in &layout.unplaced {
        let part = &job.parts()[unplaced.part];
        let own_stock = || job.sheets().iter().enumerate().filter(|(_, sheet)| sheet.class == part.class);
        let is_right = match &unplaced.reason {
            Reason::NoSuchStock => own_stock().count() == 0,
            Reason::GrainUnknown => {
                matches!(part.turns, Turns::Grain { .. }) && own_stock().all(|(_, sheet)| sheet.grain_deg.is_none())
            }
            Reason::TooLarge { nearest, .. } => {
                placed[unplaced.part] == 0 && own_stock().any(|(index, _)| index == *nearest)
            }
            // It lies on one sheet, so it would lie on another of the same kind that is still whole.
            Reason::NoRoom => {
                own_stock().count() > 0
                    && (part.need == Need::Filler
                        || own_stock().all(|(index, sheet)| {
                            let lies_here = layout
                                .sheets
                                .iter()
                                .any(|u| u.sheet == index && u.placements.iter().any(|p| p.part == unplaced.part));
                            !lies_here || sheet.quantity.is_some_and(|most| cut[index] == most)
                        }))
            }
            _ => false,
        };
        if !is_right {
            faults.push(format!("`{}` is left out for a wrong reason: {:?}", part.name, unplaced.reason));
        }
    }
    faults
}

/// Classes, turns, flips, fillers and lengths on one sheet.
pub(crate) fn judge_rules(job: &Job, used: &SheetUse) -> Vec<String> {
    let mut faults = Vec::new();
    let sheet = &job.sheets()[used.sheet];
    for placement in &used.placements {
        let part = &job.parts()[placement.part];
        if part.class != sheet.class {
            faults.push(format!("`{}` is not of the sheet's class", part.name));
        }
        if placement.position.is_mirrored && !part.may_flip {
            faults.push(format!("`{}` is flipped", part.name));
        }
        let turn = placement.position.rotation_deg;
        let apart = |a: f64, b: f64, period: f64| {
            let gap = (a - b).rem_euclid(period);
            gap.min(period - gap)
        };
        let is_allowed = match &part.turns {
            Turns::Any => true,
            Turns::List(angles) => angles.iter().any(|&angle| apart(turn, angle, 360.0) < 1e-9),
            Turns::Grain { along_deg } => sheet.grain_deg.is_some_and(|grain| {
                let drawn = if placement.position.is_mirrored { 180.0 - along_deg } else { *along_deg };
                apart(drawn + turn, grain, 180.0) < 1e-9
            }),
        };
        if !is_allowed {
            faults.push(format!("`{}` is turned by {turn}, allowed {:?}", part.name, part.turns));
        }
    }
    if used.placements.iter().all(|placement| job.parts()[placement.part].need == Need::Filler) {
        faults.push("it is cut for fillers alone".to_owned());
    }
    match (sheet.open_length, used.length) {
        (None, None) => {}
        (Some(terms), Some(length)) => {
            let longest = sheet.shape.exterior().vertices().iter().map(|v| v.point.x).fold(0.0, f64::max);
            let steps = length / terms.increment;
            if (steps - steps.round()).abs() > 1e-6 || length < terms.minimum - 1e-6 || length > longest + 1e-6 {
                faults.push(format!("a length of {length} is not sold: {terms:?}, at most {longest}"));
            }
        }
        (terms, length) => faults.push(format!("length {length:?} of a sheet with terms {terms:?}")),
    }
    faults
}

/// Areas, weights and money of a plan, each worked out again.
pub(crate) fn judge_figures(job: &Job, plan: &Plan) -> Vec<String> {
    let figures = plan.figures();
    let layout = plan.layout();
    let mut faults = Vec::new();
    let mut same = |what: String, said: f64, found: f64, slack: f64| {
        // Written so that NaN is a fault too.
        if (said - found).abs() > slack || (said - found).is_nan() {
            faults.push(format!("{what} is said to be {said}, the referee finds {found}"));
        }
    };
    let parts: Vec<(f64, f64)> = job.parts().iter().map(|part| area_of(&part.shape)).collect();
    let kerf = job.clearances().kerf();
    let (mut price, mut net_weight, mut gross_weight) = (0, 0.0, 0.0);
    for (index, (used, said)) in layout.sheets.iter().zip(&figures.sheets).enumerate() {
        let sheet = &job.sheets()[used.sheet];
        let what = |name: &str| format!("{name} of sheet use {index}");
        let gross = bought_area(job, used);
        let net: f64 = used.placements.iter().map(|p| parts[p.part].0).sum();
        let net_slack: f64 = used.placements.iter().map(|p| parts[p.part].1).sum::<f64>() + 1e-6 * net;
        let (_, gross_slack) = area_of(&sheet.shape);
        same(what("gross area"), said.gross_area, gross, gross_slack + 1e-6 * gross);
        same(what("net area"), said.net_area, net, net_slack);
        let leftovers: f64 = said.leftovers.iter().map(|leftover| leftover.area).sum();
        same(what("leftover area"), said.leftover_area, leftovers, 1e-9 * gross);
        let sum = said.net_area + said.leftover_area + said.kerf_area + said.other_scrap_area;
        same(what("net + leftover + kerf + scrap"), sum, said.gross_area, 1e-9 * gross);
        // A cut of width k along a ring of length l, outside corners included, takes at most k l + π k² (Steiner's
        // formula for the area of a parallel body); curves and offsets are flattened to 0.05 mm in the figures.
        let most_kerf: f64 = used
            .placements
            .iter()
            .map(|p| {
                let shape = &job.parts()[p.part].shape;
                let rings = 1.0 + shape.holes().len() as f64;
                perimeter_of(shape) * (kerf + 0.15) + rings * std::f64::consts::PI * kerf * kerf
            })
            .sum();
        let kerf_beyond = (said.kerf_area - if kerf > 0.0 { most_kerf } else { 0.0 }).max(0.0);
        same(what("kerf beyond the most there can be"), kerf_beyond, 0.0, 1e-6 * gross);
        if kerf > 0.0 {
            same(what("kerf of parts that are cut, at least"), f64::from(u8::from(said.kerf_area > 0.0)), 1.0, 0.0);
        }
        let least = [said.net_area, said.leftover_area, said.kerf_area, said.other_scrap_area];
        same(what("least of the four areas, below zero"), least.into_iter().fold(0.0, f64::min), 0.0, 0.0);
        let sheet_price = match (sheet.open_length, used.length) {
            (Some(terms), Some(length)) => (terms.price_per_length * length).round() as i64,
            _ => sheet.price.coins(),
        };
        same(what("price"), said.price.coins() as f64, sheet_price as f64, 0.0);
        let credit = (said.leftover_area * sheet.leftover_worth).round();
        same(what("leftover credit"), said.leftover_credit.coins() as f64, credit, 0.0);
        let credit = (said.other_scrap_area * sheet.scrap_worth).round();
        same(what("scrap credit"), said.scrap_credit.coins() as f64, credit, 0.0);
        price += sheet_price;
        net_weight += net * sheet.weight;
        gross_weight += gross * sheet.weight;
    }
    let credits = |sheet: &dropwise_model::SheetFigures| sheet.leftover_credit.coins() + sheet.scrap_credit.coins();
    let cost = price - figures.sheets.iter().map(credits).sum::<i64>();
    same("price of all sheets".into(), figures.sheets_price.coins() as f64, price as f64, 0.0);
    same("cost of the material".into(), figures.material_cost.coins() as f64, cost as f64, 0.0);
    let shares: i64 = figures.parts.iter().map(|part| part.material_cost.coins()).sum();
    same("sum of the parts' shares".into(), shares as f64, cost as f64, 0.0);
    let weight_slack = |weight: f64| 1e-3 * weight;
    same("net weight".into(), figures.net_weight, net_weight, weight_slack(net_weight));
    same("gross weight".into(), figures.gross_weight, gross_weight, weight_slack(gross_weight));
    let sum_of = |of: fn(&dropwise_model::SheetFigures) -> f64| figures.sheets.iter().map(of).sum::<f64>();
    for (what, said, found) in [
        ("gross", figures.gross_area, sum_of(|s| s.gross_area)),
        ("net", figures.net_area, sum_of(|s| s.net_area)),
        ("leftover", figures.leftover_area, sum_of(|s| s.leftover_area)),
        ("kerf", figures.kerf_area, sum_of(|s| s.kerf_area)),
        ("scrap", figures.other_scrap_area, sum_of(|s| s.other_scrap_area)),
    ] {
        same(format!("total {what} area"), said, found, 1e-9 * figures.gross_area);
    }
    for (index, part) in figures.parts.iter().enumerate() {
        let placed = layout.sheets.iter().flat_map(|u| &u.placements).filter(|p| p.part == index).count();
        let shape = &job.parts()[index].shape;
        same(format!("placed of part {index}"), f64::from(part.placed), placed as f64, 0.0);
        same(format!("area of part {index}"), part.net_area, parts[index].0, parts[index].1 + 1e-6 * parts[index].0);
        let length = perimeter_of(shape);
        same(format!("cut length of part {index}"), part.cut_length, length, 1e-3 * length);
    }
    if let Some(bound) = plan.provenance().lower_bound {
        let below = (bound as f64 - cost as f64).max(0.0);
        same("cost below the bound".into(), below, 0.0, 0.0);
    }
    faults
}
