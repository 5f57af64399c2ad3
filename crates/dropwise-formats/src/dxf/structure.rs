//! Sections of the file: units from the header, hidden layers from the tables, blocks, and the entities themselves.

use std::collections::BTreeMap;
use std::sync::Arc;

use dropwise_geometry::Point;

use super::DxfError;
use super::entities::{Entity, EntityList};
use super::groups::{Group, Groups};
use crate::drawing::{Colour, DrawingOptions, Spot};

/// What the header says.
#[derive(Debug, Default)]
pub(super) struct Header {
    /// $INSUNITS and where it stands.
    pub(super) units: Option<(i64, Spot)>,
    /// $MEASUREMENT: 0 imperial, 1 metric. Says which hatch patterns to use, so it is a hint at best.
    pub(super) measurement: Option<i64>,
}

/// A block of entities to be inserted.
#[derive(Debug)]
pub(super) struct Block {
    pub(super) base: Point,
    /// Kept in another file.
    pub(super) is_external: bool,
    pub(super) entities: Vec<Entity>,
}

/// What a layer hands to the lines on it.
#[derive(Clone, Debug, Default)]
pub(super) struct Layer {
    /// Switched off or frozen.
    pub(super) is_hidden: bool,
    pub(super) colour: Option<Colour>,
    /// `None` for a plain line.
    pub(super) line_type: Option<Arc<str>>,
}

/// A file, taken apart.
#[derive(Debug, Default)]
pub(super) struct Contents {
    pub(super) header: Header,
    /// Layers by name in lower case, as names of layers and blocks ignore case.
    pub(super) layers: BTreeMap<String, Layer>,
    /// Numbers with a decimal comma.
    pub(super) commas: usize,
    pub(super) blocks: BTreeMap<String, Block>,
    pub(super) entities: Vec<Entity>,
}

/// The name of a line type; `None` for plain lines.
pub(super) fn line_type(name: &str) -> Option<Arc<str>> {
    let is_plain = ["continuous", "bylayer", "byblock", ""].contains(&name.trim().to_lowercase().as_str());
    (!is_plain).then(|| name.trim().into())
}

/// A colour of the palette; `None` for numbers that are none, 0 and 256 among them.
pub(super) fn palette_colour(index: i64) -> Option<Colour> {
    u8::try_from(index).ok().filter(|&index| index > 0).map(Colour::indexed)
}

/// A colour told as 0x00rrggbb.
pub(super) fn true_colour(value: i64) -> Colour {
    let part = |shift: u32| (value >> shift & 0xff) as u8;
    Colour::rgb([part(16), part(8), part(0)])
}

struct Reader<'a> {
    groups: Groups<'a>,
    section: Option<String>,
    file: &'a str,
    /// Entities still allowed.
    room: usize,
    limit: usize,
}

pub(super) fn read(bytes: &[u8], options: &DrawingOptions) -> Result<Contents, DxfError> {
    let file = options.file.as_str();
    let limit = options.limits.entities;
    let mut reader = Reader { groups: Groups::new(bytes, file)?, section: None, file, room: limit, limit };
    let mut contents = Contents::default();
    loop {
        let group = reader.next()?;
        if group.is(0, "EOF") {
            contents.commas = reader.groups.commas;
            return Ok(contents);
        }
        if !group.is(0, "SECTION") {
            continue; // a header comment, or what stands between sections in files written by hand
        }
        let name = reader.next()?;
        let section = name.text().to_uppercase();
        reader.section = Some(section.chars().take(20).collect());
        match section.as_str() {
            "HEADER" => reader.header(&mut contents.header)?,
            "TABLES" => reader.tables(&mut contents.layers)?,
            "BLOCKS" => reader.blocks(&mut contents.blocks)?,
            "ENTITIES" => {
                // Two such sections are not allowed, but harmless.
                let (entities, _) = reader.entities()?;
                contents.entities.extend(entities);
            }
            _ => while !reader.next()?.is(0, "ENDSEC") {},
        }
        reader.section = None;
    }
}

impl<'a> Reader<'a> {
    fn next(&mut self) -> Result<Group<'a>, DxfError> {
        match self.groups.next()? {
            Some(group) => Ok(group),
            None => {
                let within = match &self.section {
                    Some(section) => format!("within section {section}"),
                    None => "before its last line, EOF".to_owned(),
                };
                Err(DxfError::CutOff { file: self.file.to_owned(), spot: self.groups.spot(), within })
            }
        }
    }

    fn header(&mut self, header: &mut Header) -> Result<(), DxfError> {
        let mut variable = String::new();
        loop {
            let group = self.next()?;
            match (group.code, variable.as_str()) {
                (0, _) if group.is(0, "ENDSEC") => return Ok(()),
                (9, _) => variable = group.text().to_uppercase(),
                (70, "$INSUNITS") => header.units = Some((group.integer(self.file)?, group.spot())),
                (70, "$MEASUREMENT") => header.measurement = Some(group.integer(self.file)?),
                _ => {}
            }
        }
    }

    fn tables(&mut self, layers: &mut BTreeMap<String, Layer>) -> Result<(), DxfError> {
        let mut name: Option<String> = None;
        let mut layer = Layer::default();
        loop {
            let group = self.next()?;
            if group.code == 0 {
                if let Some(name) = name.take() {
                    layers.insert(name, std::mem::take(&mut layer));
                }
                if group.is(0, "ENDSEC") {
                    return Ok(());
                }
                // Until its name comes it has none, but it is a layer.
                name = group.is(0, "LAYER").then(String::new);
                layer = Layer::default();
            }
            let Some(name) = &mut name else { continue };
            match group.code {
                2 => *name = group.text().to_lowercase(),
                6 => layer.line_type = line_type(&group.text()),
                // Frozen; off is told by a colour below zero.
                70 => layer.is_hidden |= group.integer(self.file)? & 1 != 0,
                62 => {
                    let index = group.integer(self.file)?;
                    layer.is_hidden |= index < 0;
                    layer.colour = layer.colour.or(palette_colour(index.saturating_abs()));
                }
                420 => layer.colour = Some(true_colour(group.integer(self.file)?)),
                _ => {}
            }
        }
    }

    fn blocks(&mut self, blocks: &mut BTreeMap<String, Block>) -> Result<(), DxfError> {
        let mut group = self.next()?;
        loop {
            if group.is(0, "ENDSEC") {
                return Ok(());
            }
            if !group.is(0, "BLOCK") {
                group = self.next()?;
                continue;
            }
            let mut name = String::new();
            let mut block = Block { base: Point::ORIGIN, is_external: false, entities: Vec::new() };
            loop {
                group = self.next()?;
                match group.code {
                    0 => break,
                    2 => name = group.text().to_lowercase(),
                    10 => block.base.x = group.real(self.file)?,
                    20 => block.base.y = group.real(self.file)?,
                    70 => block.is_external = group.integer(self.file)? & 0b1100 != 0,
                    _ => {}
                }
            }
            (block.entities, group) = self.entities_from(group)?;
            blocks.insert(name, block);
        }
    }

    fn entities(&mut self) -> Result<(Vec<Entity>, Group<'a>), DxfError> {
        let mut group = self.next()?;
        while group.code != 0 {
            group = self.next()?;
        }
        self.entities_from(group)
    }

    /// Entities from one that begins with `group` to ENDSEC, ENDBLK or EOF, which is handed back.
    fn entities_from(&mut self, mut group: Group<'a>) -> Result<(Vec<Entity>, Group<'a>), DxfError> {
        let mut list = EntityList::new(self.file);
        let mut groups: Vec<Group<'a>> = Vec::new();
        loop {
            if ["ENDSEC", "ENDBLK", "EOF"].iter().any(|end| group.is(0, end)) {
                if group.is(0, "EOF") {
                    let within = "within its entities, without ENDSEC".to_owned();
                    return Err(DxfError::CutOff { file: self.file.to_owned(), spot: group.spot(), within });
                }
                return Ok((list.finish()?, group));
            }
            let start = group;
            self.room = self.room.checked_sub(1).ok_or_else(|| DxfError::TooManyEntities {
                file: self.file.to_owned(),
                spot: start.spot(),
                limit: self.limit,
            })?;
            groups.clear();
            group = self.next()?;
            while group.code != 0 {
                groups.push(group);
                group = self.next()?;
            }
            list.push(&start, &groups)?;
        }
    }
}
