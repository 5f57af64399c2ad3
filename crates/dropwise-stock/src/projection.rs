//! The present follows from the events.
//!
//! One rule, [`sheet_after`], says what an event makes of one piece. The log applies it as events come in; [`replay`]
//! applies it to all events from the first, and both must agree. An event that was undone counts as if it had never been.

use std::collections::{BTreeMap, BTreeSet};

use dropwise_geometry::Shape;
use thiserror::Error;

use crate::{Change, Event, EventNumber, Origin, State, StockSheet, Tag};

/// Why an event cannot follow on those before it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Misfit {
    /// The piece is not there.
    #[error("there is no {tag}")]
    NotThere {
        /// Which.
        tag: Tag,
    },
    /// A piece of that tag is there already.
    #[error("{tag} is there already")]
    AlreadyThere {
        /// Which.
        tag: Tag,
    },
    /// The piece is no longer in the rack.
    #[error("{tag} is {state}")]
    NotInRack {
        /// Which.
        tag: Tag,
        /// What has become of it.
        state: State,
    },
    /// The price of a piece that was left over cannot be set.
    #[error("{tag} was not bought: what it carries follows from the sheet it was left over from")]
    NotBought {
        /// Which.
        tag: Tag,
    },
    /// The shares of a cut sheet do not add up to what it carried.
    #[error("the shares of {tag} do not add up to what it carried")]
    Unbalanced {
        /// Which.
        tag: Tag,
    },
    /// An event that is taken back does not exist, was taken back already, or others follow on it.
    #[error("event {event} cannot be taken back here")]
    Undo {
        /// Which.
        event: EventNumber,
    },
    /// Numbers of events do not count up from 1.
    #[error("event {found} follows on event {after}")]
    Order {
        /// The number before.
        after: EventNumber,
        /// The number found.
        found: EventNumber,
    },
}

/// What an event other than an undoing makes of one of its pieces.
pub(crate) fn sheet_after(event: &Event, tag: Tag, before: Option<StockSheet>) -> Result<StockSheet, Misfit> {
    let number = event.number;
    let fresh = |details, origin, purchase, cost, since| StockSheet {
        tag,
        details,
        state: State::InRack,
        origin,
        purchase,
        cost,
        since,
        touched: event.time,
        revision: number,
        last_event: number,
    };
    match &event.change {
        Change::Bought { sheets } => {
            let bought = sheets.iter().find(|sheet| sheet.tag == tag).ok_or(Misfit::NotThere { tag })?;
            if before.is_some() {
                return Err(Misfit::AlreadyThere { tag });
            }
            let origin = Origin::Bought { paid: bought.paid };
            return Ok(fresh(bought.details.clone(), origin, tag, bought.paid, bought.since));
        }
        Change::Cut { sheets, .. } => {
            let leftovers = sheets.iter().flat_map(|sheet| sheet.leftovers.iter().map(move |piece| (sheet, piece)));
            if let Some((sheet, piece)) = leftovers.into_iter().find(|(_, piece)| piece.tag == tag) {
                if before.is_some() {
                    return Err(Misfit::AlreadyThere { tag });
                }
                let origin = Origin::LeftOver { from: sheet.tag };
                return Ok(fresh(piece.details.clone(), origin, sheet.purchase, piece.share, event.time));
            }
        }
        _ => {}
    }
    let before = before.ok_or(Misfit::NotThere { tag })?;
    if before.state != State::InRack {
        return Err(Misfit::NotInRack { tag, state: before.state });
    }
    let mut after = before.clone();
    match &event.change {
        Change::Moved { place, .. } => after.details.place.clone_from(place),
        Change::Measured { shape, damage, measured_mm, .. } => {
            after.details.shape = shape.clone();
            after.details.damage.clone_from(damage);
            after.details.measured_mm = measured_mm.or(after.details.measured_mm);
        }
        Change::Cut { sheets, .. } => {
            let cut = sheets.iter().find(|sheet| sheet.tag == tag).ok_or(Misfit::NotThere { tag })?;
            let shares = cut.leftovers.iter().map(|leftover| leftover.share).sum::<dropwise_model::Money>();
            if shares + cut.charged != before.cost || cut.purchase != before.purchase {
                return Err(Misfit::Unbalanced { tag });
            }
            after.state = State::Cut;
            after.cost = cut.charged;
        }
        Change::Scrapped { .. } => after.state = State::Scrapped,
        Change::Sold { .. } => after.state = State::Sold,
        Change::Corrected { details, paid, .. } => {
            after.details = details.as_ref().clone();
            if let Some(paid) = *paid {
                let Origin::Bought { .. } = before.origin else { return Err(Misfit::NotBought { tag }) };
                after.origin = Origin::Bought { paid };
                after.cost = paid;
            }
        }
        Change::Bought { .. } | Change::Undone { .. } => return Err(Misfit::NotThere { tag }),
    }
    after.last_event = number;
    // Never earlier than before, even when the clock was set back.
    after.touched = before.touched.max(event.time);
    if after.has_other_metal_than(&before) {
        after.revision = number;
    }
    Ok(after)
}

/// The sheet that a piece was left over from in this event, and its outline: what the piece is. The tag of one that was
/// taken back may be given again to the same one alone, which is then the same metal: it may stand on it in chalk.
pub(crate) fn left_over(change: &Change, tag: Tag) -> Option<(Tag, &Shape)> {
    let Change::Cut { sheets, .. } = change else { return None };
    sheets.iter().find_map(|sheet| {
        let piece = sheet.leftovers.iter().find(|piece| piece.tag == tag)?;
        Some((sheet.tag, &piece.details.shape))
    })
}

/// All pieces as the events leave them, those no longer in the rack included.
///
/// # Errors
/// The first event that cannot follow on those before it.
pub fn replay(events: &[Event]) -> Result<BTreeMap<Tag, StockSheet>, (EventNumber, Misfit)> {
    /// A piece after each of its events that stand.
    type Versions = BTreeMap<Tag, Vec<StockSheet>>;
    let mut versions = Versions::new();
    let mut standing: BTreeMap<EventNumber, &Event> = BTreeMap::new();
    let mut used: BTreeMap<Tag, Option<(Tag, &Shape)>> = BTreeMap::new();
    let mut bought: BTreeSet<Tag> = BTreeSet::new();
    let mut last = EventNumber(0);
    for event in events {
        let failed = |misfit| (event.number, misfit);
        if event.number.0 != last.0 + 1 {
            return Err(failed(Misfit::Order { after: last, found: event.number }));
        }
        last = event.number;
        if let Change::Undone { event: undone } = event.change {
            let misfit = || failed(Misfit::Undo { event: undone });
            let roles = standing.remove(&undone).ok_or_else(misfit)?.change.roles();
            for (tag, _) in roles {
                let history = versions.get_mut(&tag).ok_or_else(misfit)?;
                if history.pop().is_none_or(|sheet| sheet.last_event != undone) {
                    return Err(misfit());
                }
            }
            continue;
        }
        for (tag, role) in event.change.roles() {
            use crate::Role;
            let history = versions.entry(tag).or_default();
            // The tag of a piece whose purchase was undone may stand on metal all the same: no other piece gets it.
            if matches!(role, Role::Bought | Role::LeftOver) {
                let now = left_over(&event.change, tag);
                let first = *used.entry(tag).or_insert(now);
                if !history.is_empty() || first != now || (now.is_none() && !bought.insert(tag)) {
                    return Err(failed(Misfit::AlreadyThere { tag }));
                }
            }
            let after = sheet_after(event, tag, history.last().cloned()).map_err(failed)?;
            history.push(after);
        }
        standing.insert(event.number, event);
    }
    Ok(versions.into_iter().filter_map(|(tag, mut history)| Some((tag, history.pop()?))).collect())
}
