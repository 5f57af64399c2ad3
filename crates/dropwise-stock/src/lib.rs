//! The stock log.

mod actions;
mod cut;
mod encoding;
mod error;
mod event;
mod find;
mod history;
mod integrity;
mod log;
mod log_json;
mod projection;
mod projection_table;
mod rack_csv;
mod report;
mod schema;
mod sheet;
mod tag;
mod time;
mod undo;

pub use actions::Measurement;
pub use cut::{CutPlan, PlannedSheet, Source};
pub use error::{CutRefusal, StockError, StockFault, UndoRefusal};
pub use event::{BoughtSheet, Change, CutSheet, Event, EventSummary, LeftoverSheet, Role};
pub use find::{Filter, Holders, Misses, Order};
pub use history::{History, HistoryEntry};
pub use integrity::Finding;
pub use log::{Receipt, StockLog};
pub use log_json::{LOG_FORMAT, LOG_VERSION};
pub use projection::{Misfit, replay};
pub use rack_csv::{RACK_COLUMNS, RackFile, RackRow, RejectedRow, read_rack_csv};
pub use report::{ClassValue, Figures, MoneyTrail, MonthFigures, Report, Value};
pub use schema::{APPLICATION_ID, SCHEMA_VERSION};
pub use sheet::{DetailFault, Details, EventNumber, MOST_COINS, NewSheet, Origin, State, StockSheet};
pub use tag::{Tag, TagError};
pub use time::{Clock, Month, SystemClock, Timestamp, TimestampError};
