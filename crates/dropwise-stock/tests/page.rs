//! The page that describes the tables names every column, and no other.

use dropwise_stock::{APPLICATION_ID, RACK_COLUMNS, Role, SCHEMA_VERSION, State, StockLog, SystemClock};
use rusqlite::Connection;

#[test]
fn the_page_tells_the_tables_as_they_are() {
    let page = include_str!("../../../docs/stock-log.md");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rack.dwsl");
    StockLog::open(&path, SystemClock).unwrap();
    let database = Connection::open(&path).unwrap();
    let names = |query: &str| -> Vec<String> {
        let mut statement = database.prepare(query).unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
    };
    let tables = names("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name");
    assert_eq!(tables, ["currency", "event", "event_sheet", "sheet", "unit"]);
    for table in tables {
        let section = page.split("### ").find(|section| section.starts_with(&format!("`{table}`"))).unwrap();
        let section = section.split("\n## ").next().unwrap();
        let told: Vec<&str> =
            section.lines().filter_map(|line| Some(line.strip_prefix("| `")?.split_once('`')?.0)).collect();
        assert_eq!(told, names(&format!("SELECT name FROM pragma_table_info('{table}')")), "{table}");
    }
    assert!(page.contains(&format!("{APPLICATION_ID:#x}")));
    assert!(page.contains(&format!("version of the tables: {SCHEMA_VERSION} ")));
    for column in RACK_COLUMNS {
        assert!(page.contains(&format!("`{column}`")), "{column}");
    }
    for name in State::ALL.map(State::name).into_iter().chain([Role::LeftOver.name(), Role::Undone.name()]) {
        assert!(page.contains(&format!("`{name}`")), "{name}");
    }
}
