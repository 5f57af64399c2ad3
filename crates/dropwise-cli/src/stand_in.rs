//! Sheet of another nominal thickness that the mill's tolerance makes the same: offered, and taken where that is asked for.

use clap::Args;
use dropwise_formats::{Instead, LoadedJob};
use dropwise_geometry::{Unit, format_length};
use dropwise_shop::{Material, StandIn, Thickness, stands_in, stock_class, stock_in_words};

use crate::text::{cleaned, wrapped};

/// Whether near thicknesses are taken.
#[derive(Clone, Copy, Debug, Default, Args)]
pub(crate) struct NearChoice {
    /// Make parts whose thickness is not there of one within the mill's tolerance of it
    ///
    /// 11 ga and 1/8 in, for example, cannot be told apart by a caliper. Flat patterns are laid anew for the thickness that is
    /// taken. Without this, a note says what there is.
    #[arg(long = "near-thickness")]
    pub(crate) is_taken: bool,
}

/// Metal that is there: what, how thick, how much.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stock {
    pub(crate) material: Material,
    pub(crate) thickness: Thickness,
    /// Area of one, mm².
    pub(crate) area: f64,
}

/// A thickness that may be taken for another.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct NearThickness {
    pub(crate) instead: Instead,
    /// Names of the parts.
    pub(crate) parts: Vec<String>,
    /// Why it may.
    by: StandIn,
    /// How many sheets of it there are, and their area, mm².
    count: usize,
    area: f64,
    /// Whether sheets of the parts' own thickness are there.
    has_own: bool,
}

/// The metal that a job names or that lies in the rack.
pub(crate) fn stock_of(loaded: &LoadedJob) -> Vec<Stock> {
    let sheets = loaded.job.sheets().iter().zip(&loaded.sheets);
    sheets
        .map(|(sheet, detail)| Stock {
            material: detail.material,
            thickness: detail.thickness,
            area: sheet.shape.area(),
        })
        .collect()
}

/// Every near thickness that is there for parts of a job, those with the most metal first.
pub(crate) fn near(loaded: &LoadedJob, stock: &[Stock]) -> Vec<NearThickness> {
    let mut found: Vec<NearThickness> = Vec::new();
    for (part, detail) in loaded.job.parts().iter().zip(&loaded.parts) {
        let (material, told) = (detail.material, detail.thickness);
        let is_own = |sheet: &&Stock| stock_class(sheet.material, sheet.thickness) == part.class;
        let has_own = stock.iter().any(|sheet| is_own(&sheet));
        for sheet in stock.iter().filter(|sheet| sheet.material == material) {
            let Some(by) = stands_in(material, told, sheet.thickness) else { continue };
            let taken = stock_class(material, sheet.thickness);
            let known = found.iter_mut().find(|one| {
                stock_class(material, one.instead.told) == part.class
                    && one.instead.material == material
                    && stock_class(material, one.instead.taken) == taken
            });
            match known {
                Some(one) => {
                    // Sheets are counted for the first part alone; the others want the same ones.
                    if one.parts == [part.name.as_str()] {
                        one.count += 1;
                        one.area += sheet.area;
                    } else if !one.parts.contains(&part.name) {
                        one.parts.push(part.name.clone());
                    }
                }
                None => found.push(NearThickness {
                    instead: Instead { material, told, taken: sheet.thickness },
                    parts: vec![part.name.clone()],
                    by,
                    count: 1,
                    area: sheet.area,
                    has_own,
                }),
            }
        }
    }
    found.sort_by(|a, b| b.area.total_cmp(&a.area));
    found
}

/// What is taken where that is asked for: of parts without sheets of their own, the near thickness with the most metal.
pub(crate) fn taken(near: &[NearThickness]) -> Vec<Instead> {
    let mut taken: Vec<Instead> = Vec::new();
    for one in near.iter().filter(|one| !one.has_own) {
        let class = stock_class(one.instead.material, one.instead.told);
        if !taken.iter().any(|known| stock_class(known.material, known.told) == class) {
            taken.push(one.instead);
        }
    }
    taken
}

/// What is said of near thicknesses: that they are taken, or that they may be.
pub(crate) fn told(near: &[NearThickness], taken: &[Instead], unit: Unit) -> String {
    let mut page = String::new();
    for one in near {
        let Instead { material, told, taken: other } = one.instead;
        let band = one.by.tolerance;
        let sheets = if one.count == 1 { "1 sheet".to_owned() } else { format!("{} sheets", one.count) };
        let length = |millimetres| format_length(millimetres, unit);
        let why = format!(
            "{} ± {} ({}) covers both [{}]",
            length(one.by.nominal),
            length(band.plus_minus),
            band.of,
            band.source
        );
        let names = one.parts.iter().map(|name| cleaned(name)).collect::<Vec<_>>().join(", ");
        let words = |thickness| stock_in_words(stock_class(material, thickness).label(), unit);
        let (told, other) = (words(told), words(other));
        let text = if taken.contains(&one.instead) {
            format!(
                "note: {names}: made of {other} instead of {told}, flat patterns laid anew for it. {why}. Measure the sheet \
                 before it is cut."
            )
        } else {
            let how = if one.has_own { "" } else { "; --near-thickness takes it and lays the flat patterns anew" };
            format!("note: {names}: wants {told}; {sheets} of {other} would do as well: {why}{how}.")
        };
        page.push_str(&wrapped("", 2, &text));
    }
    page
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use dropwise_formats::parse_job;

    use super::*;

    fn job(sheets: &str) -> LoadedJob {
        let text = format!(
            "unit = \"in\"\ndefaults = {{ material = \"mild steel\", thickness = \"11 ga\" }}\n\
             clearances = {{ kerf = 0.1, web = 0.1, margin = 0.1 }}\n[[parts]]\nname = \"a\"\n\
             rectangle = {{ width = 5, height = 4 }}\n[[parts]]\nname = \"b\"\nrectangle = {{ width = 5, height = 4 }}\n{sheets}"
        );
        parse_job(Path::new("job.toml"), &text).unwrap()
    }

    fn sheet(name: &str, thickness: &str) -> String {
        format!(
            "[[sheets]]\nname = \"{name}\"\nthickness = \"{thickness}\"\nrectangle = {{ width = 20, height = 10 }}\n"
        )
    }

    #[test]
    fn an_eighth_is_offered_for_11_gauge() {
        let loaded = job(&format!("{}{}{}", sheet("x", "1/8 in"), sheet("y", "1/8 in"), sheet("z", "1/4 in")));
        let near = near(&loaded, &stock_of(&loaded));
        assert_eq!(near.len(), 1);
        assert_eq!((near[0].count, near[0].parts.as_slice()), (2, ["a".to_owned(), "b".to_owned()].as_slice()));
        let taken = taken(&near);
        assert_eq!(taken.len(), 1);
        let said = told(&near, &taken, Unit::Inch).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            said.contains(
                "a, b: made of mild steel, 1/8 in (3.18 mm) instead of mild steel, 11 ga (0.120 in, 3.04 mm)"
            ),
            "{said}"
        );
        assert!(told(&near, &[], Unit::Inch).contains("--near-thickness"));
    }

    #[test]
    fn nothing_is_taken_where_the_own_thickness_is_there() {
        let loaded = job(&format!("{}{}", sheet("x", "1/8 in"), sheet("y", "11 ga")));
        let near = near(&loaded, &stock_of(&loaded));
        assert_eq!((near.len(), taken(&near)), (1, Vec::new()));
    }
}
