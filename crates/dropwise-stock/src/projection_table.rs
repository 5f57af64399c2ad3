//! The table of sheets: the projection as it lies in the file, and the events it follows from.

use std::collections::BTreeMap;

use dropwise_model::Money;
use dropwise_shop::{GaugeSystem, Material, Thickness};
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::checksum::{RowSum, crc32};
use crate::encoding::{outlines_text, read_outlines, read_shape, shape_text};
use crate::error::StockFault;
use crate::projection::replay;
use crate::{Change, Details, Event, EventNumber, Origin, State, StockSheet, Tag, Timestamp, schema};

const COLUMNS: &str = "tag, state, material, grade, thickness_mm, gauge, measured_mm, coating, grain_deg, place, \
    supplier, heat_number, certificate, photo, notes, shape, damage, cost, paid, left_over_from, purchase, since, \
    touched, revision, last_event, area_mm2";

/// How many columns those are.
const COLUMN_COUNT: usize = 26;

/// Something in the file that was never written there.
fn damaged(what: impl ToString) -> StockFault {
    StockFault::Damaged { what: what.to_string() }
}

/// A row of the table of sheets, its checksum last. What is not as it was written is not read.
fn sheet_of(row: &Row<'_>) -> Result<StockSheet, StockFault> {
    check_sheet(row)?;
    let text = |name: &str| row.get::<_, String>(name);
    let tag_of = |text: String| text.parse::<Tag>().map_err(damaged);
    let time_of = |name: &str| row.get(name).map(Timestamp::from_seconds);
    let material: Material = text("material")?.parse().map_err(damaged)?;
    let thickness = match row.get::<_, Option<u32>>("gauge")? {
        Some(number) => GaugeSystem::of(material).gauge(number).map_err(damaged)?.into(),
        None => Thickness::new(row.get("thickness_mm")?).map_err(damaged)?,
    };
    let origin = match (row.get::<_, Option<i64>>("paid")?, row.get::<_, Option<String>>("left_over_from")?) {
        (Some(paid), None) => Origin::Bought { paid: Money::from_coins(paid) },
        (None, Some(from)) => Origin::LeftOver { from: tag_of(from)? },
        _ => return Err(damaged("a sheet that was neither bought nor left over")),
    };
    let state = text("state")?;
    Ok(StockSheet {
        tag: tag_of(text("tag")?)?,
        details: Details {
            shape: read_shape(&text("shape")?).map_err(damaged)?,
            damage: read_outlines(&text("damage")?).map_err(damaged)?,
            material,
            grade: text("grade")?,
            thickness,
            measured_mm: row.get("measured_mm")?,
            coating: text("coating")?,
            grain_deg: row.get("grain_deg")?,
            place: text("place")?,
            supplier: text("supplier")?,
            heat_number: text("heat_number")?,
            certificate: text("certificate")?,
            photo: text("photo")?,
            notes: text("notes")?,
        },
        state: State::from_name(&state).ok_or_else(|| damaged(format!("a sheet that is `{state}`")))?,
        origin,
        purchase: tag_of(text("purchase")?)?,
        cost: Money::from_coins(row.get("cost")?),
        since: time_of("since")?,
        touched: time_of("touched")?,
        revision: EventNumber(row.get("revision")?),
        last_event: EventNumber(row.get("last_event")?),
    })
}

fn check_sheet(row: &Row<'_>) -> Result<(), StockFault> {
    let mut sum = RowSum::default();
    for column in 0..COLUMN_COUNT {
        sum.add(row.get_ref(column)?);
    }
    if row.get::<_, u32>(COLUMN_COUNT)? == sum.checksum() {
        return Ok(());
    }
    let tag: String = row.get(0)?;
    Err(damaged(format!("what it says of {} is not as it was written", tag.chars().take(8).collect::<String>())))
}

fn event_of(row: &Row<'_>) -> Result<Event, StockFault> {
    check_event(row)?;
    let number = EventNumber(row.get("number")?);
    let (time, is_clock_behind, body) = (row.get("time")?, row.get("is_clock_behind")?, row.get::<_, String>("body")?);
    let change: Change =
        serde_json::from_str(&body).map_err(|error| damaged(format!("event {number} cannot be read: {error}")))?;
    Ok(Event { number, time: Timestamp::from_seconds(time), is_clock_behind, cause: row.get("cause")?, change })
}

fn check_event(row: &Row<'_>) -> Result<(), StockFault> {
    let number = EventNumber(row.get("number")?);
    let (time, is_clock_behind, undoes) = (row.get("time")?, row.get("is_clock_behind")?, row.get("undoes")?);
    let (kind, cause, body): (String, String, String) = (row.get("kind")?, row.get("cause")?, row.get("body")?);
    if row.get::<_, u32>("checksum")? != checksum(number, time, is_clock_behind, &kind, &cause, &body, undoes) {
        return Err(damaged(format!("event {number} is not as it was written")));
    }
    Ok(())
}

/// Checksum of the columns of an event, one a line.
fn checksum(
    number: EventNumber,
    time: i64,
    is_clock_behind: bool,
    kind: &str,
    cause: &str,
    body: &str,
    undoes: Option<i64>,
) -> u32 {
    let behind = i32::from(is_clock_behind);
    let undoes = undoes.map_or_else(String::new, |number| number.to_string());
    crc32(format!("{number}\n{time}\n{behind}\n{kind}\n{cause}\n{body}\n{undoes}").as_bytes())
}

/// Rows of a query, each read by `read`.
fn all<T>(
    connection: &Connection,
    query: &str,
    parameters: impl rusqlite::Params,
    read: fn(&Row<'_>) -> Result<T, StockFault>,
) -> Result<Vec<T>, StockFault> {
    let mut statement = connection.prepare_cached(query)?;
    let mut rows = statement.query(parameters)?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        found.push(read(row)?);
    }
    Ok(found)
}

/// The sheet of this tag.
pub(crate) fn sheet(connection: &Connection, tag: Tag) -> Result<Option<StockSheet>, StockFault> {
    let query = format!("SELECT {COLUMNS}, checksum FROM sheet WHERE tag = ?1");
    Ok(all(connection, &query, [tag.as_str()], sheet_of)?.pop())
}

/// All sheets in one state, or in any, by tag. All are read whatever is wanted: a state that damage has changed would hide
/// its sheet.
pub(crate) fn sheets(connection: &Connection, state: Option<State>) -> Result<Vec<StockSheet>, StockFault> {
    let query = format!("SELECT {COLUMNS}, checksum FROM sheet ORDER BY tag");
    let mut found = all(connection, &query, [], sheet_of)?;
    found.retain(|sheet| state.is_none_or(|state| sheet.state == state));
    Ok(found)
}

/// All sheets by tag, and the tags, as far as they are any, of those that cannot be read.
pub(crate) fn sheets_as_they_are(connection: &Connection) -> Result<(Vec<StockSheet>, Vec<String>), StockFault> {
    let query = format!("SELECT {COLUMNS}, checksum FROM sheet ORDER BY tag");
    let mut statement = connection.prepare(&query)?;
    let mut rows = statement.query([])?;
    let (mut found, mut unreadable) = (Vec::new(), Vec::new());
    while let Some(row) = rows.next()? {
        match sheet_of(row) {
            Ok(sheet) => found.push(sheet),
            Err(_) => unreadable.push(row.get(0)?),
        }
    }
    Ok((found, unreadable))
}

/// Makes sure that every event and every sheet is as it was written.
pub(crate) fn check_checksums(connection: &Connection) -> Result<(), StockFault> {
    let mut statement = connection.prepare("SELECT * FROM event")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        check_event(row)?;
    }
    let mut statement = connection.prepare(&format!("SELECT {COLUMNS}, checksum FROM sheet"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        check_sheet(row)?;
    }
    Ok(())
}

/// Writes a sheet, in place of the one of the same tag if there is any.
pub(crate) fn put(connection: &Connection, sheet: &StockSheet) -> Result<(), StockFault> {
    let details = &sheet.details;
    let (paid, from) = match sheet.origin {
        Origin::Bought { paid } => (Some(paid.coins()), None),
        Origin::LeftOver { from } => (None, Some(from.to_string())),
    };
    let values: [Value; COLUMN_COUNT] = [
        sheet.tag.as_str().to_owned().into(),
        sheet.state.name().to_owned().into(),
        details.material.name().to_owned().into(),
        details.grade.clone().into(),
        details.thickness.millimetres().into(),
        details.thickness.gauge().map(|gauge| i64::from(gauge.number())).into(),
        details.measured_mm.into(),
        details.coating.clone().into(),
        details.grain_deg.into(),
        details.place.clone().into(),
        details.supplier.clone().into(),
        details.heat_number.clone().into(),
        details.certificate.clone().into(),
        details.photo.clone().into(),
        details.notes.clone().into(),
        shape_text(&details.shape).into(),
        outlines_text(&details.damage).into(),
        sheet.cost.coins().into(),
        paid.into(),
        from.into(),
        sheet.purchase.as_str().to_owned().into(),
        sheet.since.seconds().into(),
        sheet.touched.seconds().into(),
        sheet.revision.0.into(),
        sheet.last_event.0.into(),
        details.area().into(),
    ];
    let mut sum = RowSum::default();
    values.iter().for_each(|value| sum.add(value.into()));
    let places = vec!["?"; COLUMN_COUNT + 1].join(", ");
    let query = format!("INSERT OR REPLACE INTO sheet ({COLUMNS}, checksum) VALUES ({places})");
    let values = values.into_iter().chain([Value::from(sum.checksum())]);
    connection.prepare_cached(&query)?.execute(rusqlite::params_from_iter(values))?;
    Ok(())
}

/// Takes a sheet out of the table: its first event was undone.
pub(crate) fn remove(connection: &Connection, tag: Tag) -> Result<(), StockFault> {
    connection.prepare_cached("DELETE FROM sheet WHERE tag = ?1")?.execute([tag.as_str()])?;
    Ok(())
}

/// Writes an event and which sheets it speaks of.
pub(crate) fn insert_event(connection: &Connection, event: &Event, tags: &[Tag]) -> Result<(), StockFault> {
    let undoes = match event.change {
        Change::Undone { event } => Some(event.0),
        _ => None,
    };
    let body =
        serde_json::to_string(&event.change).map_err(|error| StockFault::BadValue { what: error.to_string() })?;
    let kind = event.change.kind().name();
    connection.prepare_cached("INSERT INTO event VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?.execute(params![
        event.number.0,
        event.time.seconds(),
        event.is_clock_behind,
        kind,
        event.cause,
        body,
        undoes,
        checksum(event.number, event.time.seconds(), event.is_clock_behind, kind, &event.cause, &body, undoes),
    ])?;
    link(connection, event, tags)
}

/// Writes which sheets an event speaks of.
fn link(connection: &Connection, event: &Event, tags: &[Tag]) -> Result<(), StockFault> {
    let roles = event.change.roles();
    let mut link = connection.prepare_cached("INSERT INTO event_sheet VALUES (?1, ?2, ?3)")?;
    for tag in tags {
        let role = roles.iter().find(|(other, _)| other == tag).map_or(event.change.kind(), |(_, role)| *role);
        link.execute(params![event.number.0, tag.as_str(), role.name()])?;
    }
    Ok(())
}

/// The event of this number.
pub(crate) fn event(connection: &Connection, number: EventNumber) -> Result<Option<Event>, StockFault> {
    Ok(all(connection, "SELECT * FROM event WHERE number = ?1", [number.0], event_of)?.pop())
}

/// All events after a number, in order.
pub(crate) fn events_after(connection: &Connection, number: EventNumber) -> Result<Vec<Event>, StockFault> {
    all(connection, "SELECT * FROM event WHERE number > ?1 ORDER BY number", [number.0], event_of)
}

/// All events after a number that speak of a sheet, undone ones and undoings included, in order.
pub(crate) fn events_of(connection: &Connection, tag: Tag, after: EventNumber) -> Result<Vec<Event>, StockFault> {
    let query =
        "SELECT event.* FROM event_sheet JOIN event USING (number) WHERE tag = ?1 AND number > ?2 ORDER BY number";
    all(connection, query, params![tag.as_str(), after.0], event_of)
}

/// The numbers of the events before a number that speak of a sheet and stand, in order. Undoings are none.
pub(crate) fn standing_before(
    connection: &Connection,
    tag: Tag,
    before: EventNumber,
) -> Result<Vec<EventNumber>, StockFault> {
    let query = "SELECT number FROM event_sheet WHERE tag = ?1 AND number < ?2 AND role <> 'undone' \
        AND NOT EXISTS (SELECT 1 FROM event WHERE undoes = event_sheet.number) ORDER BY number";
    all(connection, query, params![tag.as_str(), before.0], |row| Ok(EventNumber(row.get(0)?)))
}

/// The sheets that an event speaks of, by tag.
pub(crate) fn tags_of(connection: &Connection, number: EventNumber) -> Result<Vec<Tag>, StockFault> {
    let read = |row: &Row<'_>| row.get::<_, String>(0)?.parse().map_err(damaged);
    all(connection, "SELECT tag FROM event_sheet WHERE number = ?1 ORDER BY tag", [number.0], read)
}

/// Whether a tag is, or ever was, on a piece.
pub(crate) fn is_used(connection: &Connection, tag: Tag) -> Result<bool, StockFault> {
    let query = "SELECT EXISTS (SELECT 1 FROM event_sheet WHERE tag = ?1)";
    Ok(connection.prepare_cached(query)?.query_row([tag.as_str()], |row| row.get(0))?)
}

/// The event that took another back.
pub(crate) fn undone_by(connection: &Connection, number: EventNumber) -> Result<Option<EventNumber>, StockFault> {
    let query = "SELECT number FROM event WHERE undoes = ?1";
    let found = connection.prepare_cached(query)?.query_row([number.0], |row| row.get(0)).optional()?;
    Ok(found.map(EventNumber))
}

/// Number and time of the latest event; the time is the latest of all, which a clock set back may have put earlier.
pub(crate) fn latest(connection: &Connection) -> Result<(EventNumber, Option<Timestamp>), StockFault> {
    let query = "SELECT coalesce(max(number), 0), max(time) FROM event";
    let (number, time) = connection.query_row(query, [], |row| Ok((row.get(0)?, row.get::<_, Option<i64>>(1)?)))?;
    Ok((EventNumber(number), time.map(Timestamp::from_seconds)))
}

/// All sheets as the events make them, worked out from the first event on.
pub(crate) fn replayed(connection: &Connection) -> Result<BTreeMap<Tag, StockSheet>, StockFault> {
    let events = events_after(connection, EventNumber(0))?;
    replay(&events).map_err(|(event, misfit)| StockFault::Impossible { event, misfit })
}

/// Makes the table of sheets and the index of which event speaks of which sheet anew from the events.
pub(crate) fn rebuild(connection: &Connection) -> Result<(), StockFault> {
    let events = events_after(connection, EventNumber(0))?;
    let sheets = replay(&events).map_err(|(event, misfit)| StockFault::Impossible { event, misfit })?;
    connection.execute("DELETE FROM sheet", [])?;
    sheets.values().try_for_each(|sheet| put(connection, sheet))?;
    connection.execute_batch(schema::UNGUARD)?;
    connection.execute("DELETE FROM event_sheet", [])?;
    let mut tags_of: BTreeMap<EventNumber, Vec<Tag>> = BTreeMap::new();
    for event in &events {
        let tags: Vec<Tag> = match event.change {
            Change::Undone { event } => tags_of.get(&event).cloned().unwrap_or_default(),
            _ => event.change.roles().into_iter().map(|(tag, _)| tag).collect(),
        };
        link(connection, event, &tags)?;
        tags_of.insert(event.number, tags);
    }
    connection.execute_batch(schema::GUARD)?;
    Ok(())
}
