//! Offers as tables of keys, in TOML or JSON: what the columns of a list in CSV are called, keys are called here.
//!
//! A key whose value is a table or a list tells the form as a sheet of a job file does: `l_shape`, `tape`, `damage`.

use std::collections::HashSet;
use std::path::Path;

use csv::StringRecord;
use dropwise_geometry::Unit;

use crate::job_file::{
    Document, Entry, Fault, JobFileError, Node, Note, Place, Step, Value, describe_piece, nearest, shortened,
};
use crate::stock_csv::{Columns, Lines, MOST_ROWS, RowForm, RowReader, StockCsvOptions, StockList, StockRow};

/// The key under which the offers stand.
const OFFERS: &str = "offers";

/// Keys that tell a form as a sheet of a job file does.
const FORMS: [&str; 12] = [
    "rectangle",
    "circle",
    "ring",
    "slot",
    "l_shape",
    "gusset",
    "polygon",
    "notched",
    "tape",
    "drawing",
    "damage",
    "holes",
];

/// Whether a list is written with keys, by its name or, where that says nothing, by how it begins.
pub(super) fn is_keyed(path: &Path, text: &str) -> bool {
    let extension = path.extension().map(|extension| extension.to_string_lossy().to_lowercase());
    match extension.as_deref() {
        Some("json" | "toml") => true,
        Some("csv" | "tsv" | "txt") => false,
        _ => text.trim_start_matches('\u{feff}').trim_start().starts_with(['{', '[']),
    }
}

/// Reads a list of offers written with keys.
///
/// # Errors
/// Every fault, with the place of the value.
pub(super) fn read(path: &Path, text: &str, options: &StockCsvOptions) -> Result<StockList, Vec<JobFileError>> {
    let document = Document::parse(path, text)?;
    let (start, nodes) = offers(&document)?;
    if nodes.len() > MOST_ROWS {
        let cure = "Split it, or leave out what this job cannot use";
        let fault = Fault::value(format!("holds more than {MOST_ROWS} offers"), cure);
        return Err(vec![JobFileError::new(document.place(&start), fault)]);
    }
    let (mut rows, mut notes, mut errors) = (Vec::new(), Vec::new(), Vec::new());
    let mut told = HashSet::new();
    // Lines are counted once, not from the top for each offer.
    let mut lines = Lines { text: document.text(), offset: 0, line: 1 };
    for (index, node) in nodes.iter().enumerate() {
        let line = lines.of(node.span.start);
        let mut reader = OneOffer { document: &document, start: &start, index, line, options, errors: Vec::new() };
        // What is told of a key once need not be told of each offer.
        let row = reader.read(node, |note| notes.extend(told.insert(note.text.clone()).then_some(note)));
        match row {
            Some(row) if reader.errors.is_empty() => rows.push(row),
            _ => errors.append(&mut reader.errors),
        }
    }
    if errors.is_empty() { Ok(StockList { rows, notes }) } else { Err(errors) }
}

/// The tables of the offers, and the way to their list.
fn offers(document: &Document) -> Result<(Vec<Step>, &[Node]), Vec<JobFileError>> {
    let cure = "Write each offer as a table `[[offers]]` in TOML, or in JSON as { \"offers\": [ { ... } ] }";
    let fault = |steps: &[Step], problem: String| {
        Err(vec![JobFileError::new(document.place(steps), Fault::value(problem, cure.to_owned()))])
    };
    let (start, list) = match &document.root.value {
        Value::List(_) => (Vec::new(), &document.root),
        Value::Table(entries) => {
            if let Some(other) = entries.iter().find(|entry| entry.key != OFFERS) {
                let place = document.place_of_key(&[Step::Key(shortened(&other.key))], &other.key_span);
                let near = nearest(&other.key, [OFFERS]).map(str::to_owned);
                let fault = Fault::UnknownKey { nearest: near, known: vec![OFFERS.to_owned()] };
                return Err(vec![JobFileError::new(place, fault)]);
            }
            match document.root.get(OFFERS) {
                Some(entry) => (vec![Step::Key(OFFERS.to_owned())], &entry.node),
                None => return fault(&[], "holds no offers".to_owned()),
            }
        }
        _ => return fault(&[], "is no list of offers".to_owned()),
    };
    match &list.value {
        Value::List(nodes) if nodes.is_empty() => fault(&start, "is an empty list".to_owned()),
        Value::List(nodes) => Ok((start, nodes)),
        _ => fault(&start, "is no list".to_owned()),
    }
}

/// Reads one offer, keeping its faults.
struct OneOffer<'a> {
    document: &'a Document,
    start: &'a [Step],
    index: usize,
    line: usize,
    options: &'a StockCsvOptions,
    errors: Vec<JobFileError>,
}

impl OneOffer<'_> {
    fn read(&mut self, node: &Node, tell: impl FnMut(Note)) -> Option<StockRow> {
        let Value::Table(entries) = &node.value else {
            self.fault(None, Fault::value("is no table of keys", "Write an offer as keys with their values"));
            return None;
        };
        let (forms, plain): (Vec<&Entry>, Vec<&Entry>) =
            entries.iter().partition(|entry| matches!(entry.node.value, Value::Table(_) | Value::List(_)));
        let outlines = if forms.is_empty() { None } else { Some(self.outlines(&forms, &plain)) };
        if outlines == Some(None) {
            return None;
        }
        let mut row = self.plain(&plain, outlines.is_some(), tell)?;
        if let Some(outlines) = outlines.flatten() {
            row.form = outlines;
        }
        Some(row)
    }

    /// What keys with plain values say, read as the cells of a row.
    fn plain(&mut self, entries: &[&Entry], has_outlines: bool, tell: impl FnMut(Note)) -> Option<StockRow> {
        let mut header = StringRecord::new();
        let mut record = StringRecord::new();
        for entry in entries {
            let cell = match &entry.node.value {
                Value::Text(text) => text.trim().to_owned(),
                Value::Integer(number) => number.to_string(),
                Value::Real(number) if number.is_finite() => number.to_string(),
                Value::Null => String::new(),
                _ => {
                    self.fault(Some(&entry.key), Fault::value("is no text and no number", "Write a number or a text"));
                    continue;
                }
            };
            header.push_field(&entry.key);
            record.push_field(&cell);
        }
        let file = self.document.file();
        if has_outlines {
            // The form is told elsewhere; a row needs one to be read.
            for (key, cell) in [("length", "1"), ("width", "1")] {
                header.push_field(key);
                record.push_field(cell);
            }
        }
        let columns = match Columns::read(&header, file, self.line, true) {
            Ok((columns, found)) => {
                found.into_iter().map(|note| Note { text: in_keys(&note.text), ..note }).for_each(tell);
                columns
            }
            Err(errors) => {
                self.keep(errors);
                return None;
            }
        };
        let (line, options) = (self.line, self.options);
        let mut reader =
            RowReader { file, line, columns: &columns, record: &record, delimiter: b',', options, errors: Vec::new() };
        let row = reader.read();
        let errors = reader.errors;
        self.keep(errors);
        row
    }

    /// The form, as the keys of a sheet in a job file tell it.
    fn outlines(&mut self, forms: &[&Entry], plain: &[&Entry]) -> Option<RowForm> {
        let mut is_sound = true;
        for entry in forms.iter().filter(|entry| !FORMS.contains(&entry.key.as_str())) {
            is_sound = false;
            let fault = match Columns::is_known(&entry.key) {
                true => Fault::value("is a table or a list", "Write a number or a text"),
                false => Fault::UnknownKey {
                    nearest: nearest(&entry.key, FORMS).map(str::to_owned),
                    known: FORMS.map(str::to_owned).to_vec(),
                },
            };
            self.fault(Some(&entry.key), fault);
        }
        if let Some(size) = plain.iter().find(|entry| Columns::is_size(&entry.key)).filter(|_| is_sound) {
            is_sound = false;
            let problem = format!("tells the size beside `{}`", forms[0].key);
            let cure =
                "Keep one of them; of a rectangle with damage or holes write `rectangle` with its width and height";
            self.fault(Some(&size.key), Fault::value(problem, cure));
        }
        if !is_sound {
            return None;
        }
        let mut keys: serde_json::Map<String, serde_json::Value> =
            forms.iter().map(|entry| (entry.key.clone(), entry.node.to_json())).collect();
        keys.insert("name".to_owned(), "offer".into());
        let keys = match serde_json::from_value(serde_json::Value::Object(keys)) {
            Ok(keys) => keys,
            Err(error) => {
                let fault = Fault::value(format!("is no form of a sheet: {error}"), "Write it as in a job file");
                self.fault(Some(&forms[0].key), fault);
                return None;
            }
        };
        let folder = self.document.file().parent().unwrap_or(Path::new(""));
        let unit = self.options.unit.unwrap_or(Unit::Millimetre);
        match describe_piece(&keys, unit, folder) {
            Ok(piece) => Some(RowForm::Outlines { shapes: piece.shapes, damage: piece.damage }),
            Err(errors) => {
                for error in errors {
                    // What lies in no file of its own is told with the key alone.
                    let place = match error.place.file.as_os_str().is_empty() {
                        true => Place { key: joined(self.place(None).key, &error.place.key), ..self.place(None) },
                        false => error.place,
                    };
                    self.errors.push(JobFileError::new(place, error.fault));
                }
                None
            }
        }
    }

    fn place(&self, key: Option<&str>) -> Place {
        let mut steps = self.start.to_vec();
        steps.push(Step::Index(self.index));
        steps.extend(key.map(|key| Step::Key(key.to_owned())));
        self.document.place(&steps)
    }

    fn fault(&mut self, key: Option<&str>, fault: Fault) {
        let place = self.place(key);
        self.errors.push(JobFileError::new(place, fault));
    }

    /// Keeps faults that were told of cells, with the places of the keys.
    fn keep(&mut self, errors: Vec<JobFileError>) {
        for error in errors {
            let key = error.place.key.strip_prefix("column \"").and_then(|key| key.strip_suffix('"'));
            let fault = match error.fault {
                Fault::Value { problem, cure } => Fault::Value { problem: in_keys(&problem), cure: in_keys(&cure) },
                fault => fault,
            };
            let place = self.place(key);
            self.errors.push(JobFileError::new(place, fault));
        }
    }
}

/// A path with a further key.
fn joined(path: String, key: &str) -> String {
    match key {
        "" => path,
        key if path.ends_with('"') => format!("{path}: {key}"),
        key => format!("{path}.{key}"),
    }
}

/// What is told of columns and cells, in the words of keys.
fn in_keys(text: &str) -> String {
    [
        ("leave the other cells blank", "leave the others out"),
        ("all but one of its price cells blank", "all but one of its prices out"),
        (", in the first line", ""),
        ("columns", "keys"),
        ("column", "key"),
    ]
    .iter()
    .fold(text.to_owned(), |text, (old, new)| text.replace(old, new))
}
