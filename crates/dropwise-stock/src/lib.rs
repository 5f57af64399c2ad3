//! The stock log: what lies in the rack, where it came from, and what became of it.
//!
//! The log is one SQLite file. All that happens to metal is an event in it, numbered, with its time and cause, and never
//! changed; what lies in the rack now follows from the events. The crate knows nothing of how a nest is found, of drawings,
//! pages and terminals.
//!
//! | to | see |
//! |---|---|
//! | open a log | [`StockLog::open`], [`StockLog::open_read_only`] |
//! | write down what happened | [`StockLog::buy`], [`StockLog::relocate`], [`StockLog::measure`], [`StockLog::scrap`], [`StockLog::sell`], [`StockLog::correct`] |
//! | record that a plan was cut | [`StockLog::record_cut`], [`CutPlan`] |
//! | take something back | [`StockLog::undo`] |
//! | look | [`StockLog::sheet`], [`StockLog::list`], [`StockLog::find`], [`StockLog::history`], [`StockLog::value`], [`StockLog::report`] |
//! | know what amounts are counted in, and the unit spoken | [`StockLog::currency`], [`StockLog::set_currency`], [`StockLog::unit`] |
//! | carry it elsewhere | [`StockLog::export_json`], [`StockLog::export_csv`], [`read_rack_csv`] |
//! | make sure | [`StockLog::check_integrity`], [`StockLog::rebuild`], [`StockLog::open_as_it_is`], [`replay`] |
//!
//! **Money follows the metal.** Each piece carries a share of what was paid. When a sheet is cut, a leftover takes its share
//! by area, and the rest is charged to the parts, which so pay for the scrap too. At any time the pieces of a purchase,
//! those in the rack, cut, scrapped and sold together, carry exactly what was paid.
//!
//! **Time.** The order of events is that of their numbers. A clock that was set back is noted, and changes no order.
//!
//! Lengths are millimetres, areas mm², weights kilograms, money whole coins. The tables are described in
//! `docs/stock-log.md`.

mod actions;
mod checksum;
mod currency;
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
mod unit;

pub use actions::Measurement;
pub use currency::Currency;
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
