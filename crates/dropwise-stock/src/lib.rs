//! The stock log.

mod actions;
mod cut;
mod encoding;
mod error;
mod event;
mod history;
mod integrity;
mod log;
mod projection;
mod projection_table;
mod schema;
mod sheet;
mod tag;
mod time;
mod undo;

pub use actions::Measurement;
pub use cut::{CutPlan, PlannedSheet, Source};
pub use error::{CutRefusal, StockError, StockFault, UndoRefusal};
pub use event::{BoughtSheet, Change, CutSheet, Event, EventSummary, LeftoverSheet, Role};
pub use history::{History, HistoryEntry};
pub use integrity::Finding;
pub use log::{Receipt, StockLog};
pub use projection::{Misfit, replay};
pub use schema::{APPLICATION_ID, SCHEMA_VERSION};
pub use sheet::{DetailFault, Details, EventNumber, MOST_COINS, NewSheet, Origin, State, StockSheet};
pub use tag::{Tag, TagError};
pub use time::{Clock, Month, SystemClock, Timestamp, TimestampError};
