//! What a file needs around its entities: header, tables, blocks and objects.

use super::{DxfUnit, Writer, plain};
use crate::cut_drawing::{CutDrawing, CutLayer};

/// Handle of the block record that model space is; its entities name it as their owner.
pub(super) const MODEL_SPACE: u32 = 0x1F;
const PAPER_SPACE: u32 = 0x1E;
const MODEL_LAYOUT: u32 = 0x1D;
const PAPER_LAYOUT: u32 = 0x1C;
const ROOT_DICTIONARY: u32 = 0x1B;
const LAYOUT_DICTIONARY: u32 = 0x1A;
const GROUP_DICTIONARY: u32 = 0x19;
const PLOT_STYLES: u32 = 0x18;
const PLOT_STYLE: u32 = 0x17;
/// The first handle that is not spoken for.
const FIRST_FREE: u32 = 0x20;

/// Stands in the header until the last handle is known. Not a word that a name could hold: names are ASCII.
pub(super) const SEED_TO_COME: &str = "\u{1}SEED";

/// Colour of a layer, by the format's index: what is cut in white (black on paper), bends green and magenta, marks
/// orange, what is only for people grey.
const fn colour(layer: CutLayer) -> i64 {
    match layer {
        CutLayer::SheetBorder | CutLayer::PartText => 8,
        CutLayer::Mark => 30,
        CutLayer::BendUp => 3,
        CutLayer::BendDown => 6,
        CutLayer::CutInner => 5,
        CutLayer::Cut => 7,
    }
}

pub(super) fn head(writer: &mut Writer, drawing: &CutDrawing, unit: DxfUnit) {
    writer.next_handle = FIRST_FREE;
    for line in [
        format!("{}: flat patterns in {}", plain(&drawing.title, 100), unit.word()),
        "paths are the true edges of the parts: kerf compensation is left to the machine".to_owned(),
        "order: marks, bend lines, then for each part its holes before its outline".to_owned(),
        "layers SHEET_BORDER and PART_TEXT are for reference and not to be cut".to_owned(),
    ] {
        writer.name(999, &line);
    }
    header(writer, drawing, unit);
    writer.name(0, "SECTION");
    writer.name(2, "CLASSES");
    for (name, class) in [("ACDBDICTIONARYWDFLT", "AcDbDictionaryWithDefault"), ("LAYOUT", "AcDbLayout")] {
        writer.name(0, "CLASS");
        writer.name(1, name);
        writer.name(2, class);
        writer.name(3, "ObjectDBX Classes");
        writer.whole(90, 0);
        writer.whole(280, 0);
        writer.whole(281, 0);
    }
    writer.name(0, "ENDSEC");
    tables(writer, drawing);
    blocks(writer);
}

fn header(writer: &mut Writer, drawing: &CutDrawing, unit: DxfUnit) {
    writer.name(0, "SECTION");
    writer.name(2, "HEADER");
    writer.name(9, "$ACADVER");
    writer.name(1, "AC1015");
    writer.name(9, "$DWGCODEPAGE");
    writer.name(3, "ANSI_1252");
    let bounds = drawing.bounds();
    for (name, at) in [("$EXTMIN", bounds.min), ("$EXTMAX", bounds.max)] {
        if !bounds.is_empty() {
            writer.name(9, name);
            writer.point(10, at, true);
        }
    }
    writer.name(9, "$INSUNITS");
    writer.whole(70, i64::from(unit.code()));
    writer.name(9, "$MEASUREMENT");
    writer.whole(70, i64::from(unit == DxfUnit::Millimetre));
    writer.name(9, "$LUNITS");
    writer.whole(70, 2); // decimal
    writer.name(9, "$HANDSEED");
    writer.name(5, SEED_TO_COME);
    writer.name(0, "ENDSEC");
}

/// Opens a table with so many entries and returns its handle.
fn table(writer: &mut Writer, name: &str, entries: i64) -> u32 {
    let handle = writer.fresh();
    writer.name(0, "TABLE");
    writer.name(2, name);
    writer.handle(5, handle);
    writer.handle(330, 0);
    writer.name(100, "AcDbSymbolTable");
    writer.whole(70, entries);
    handle
}

/// Opens an entry. Its own handle stands in group 5, but in 105 for a DIMSTYLE, whose group 5 means something else.
fn record(writer: &mut Writer, table_name: &str, handle: u32, owner: u32, class: &str, name: &str) {
    writer.name(0, table_name);
    writer.handle(if table_name == "DIMSTYLE" { 105 } else { 5 }, handle);
    writer.handle(330, owner);
    writer.name(100, "AcDbSymbolTableRecord");
    writer.name(100, class);
    writer.name(2, name);
}

fn tables(writer: &mut Writer, drawing: &CutDrawing) {
    writer.name(0, "SECTION");
    writer.name(2, "TABLES");
    view_port(writer, drawing);

    let names = [("ByBlock", ""), ("ByLayer", ""), ("Continuous", "Solid line")];
    let owner = table(writer, "LTYPE", names.len() as i64);
    for (name, description) in names {
        let handle = writer.fresh();
        record(writer, "LTYPE", handle, owner, "AcDbLinetypeTableRecord", name);
        writer.whole(70, 0);
        writer.name(3, description);
        writer.whole(72, 65);
        writer.whole(73, 0);
        writer.real(40, 0.0);
    }
    writer.name(0, "ENDTAB");

    let layers = CutLayer::ALL.map(|layer| (layer.name(), colour(layer), !layer.is_reference()));
    let owner = table(writer, "LAYER", layers.len() as i64 + 1);
    for (name, colour, is_plotted) in std::iter::once(("0", 7, true)).chain(layers) {
        let handle = writer.fresh();
        record(writer, "LAYER", handle, owner, "AcDbLayerTableRecord", name);
        writer.whole(70, 0);
        writer.whole(62, colour);
        writer.name(6, "Continuous");
        if !is_plotted {
            writer.whole(290, 0);
        }
        writer.whole(370, -3); // the viewer's own line width
        writer.handle(390, PLOT_STYLE);
    }
    writer.name(0, "ENDTAB");

    let owner = table(writer, "STYLE", 1);
    let handle = writer.fresh();
    record(writer, "STYLE", handle, owner, "AcDbTextStyleTableRecord", "Standard");
    writer.whole(70, 0);
    for (code, value) in [(40, 0.0), (41, 1.0), (50, 0.0)] {
        writer.real(code, value);
    }
    writer.whole(71, 0);
    writer.real(42, 2.5);
    writer.name(3, "txt");
    writer.name(4, "");
    writer.name(0, "ENDTAB");

    for name in ["VIEW", "UCS"] {
        table(writer, name, 0);
        writer.name(0, "ENDTAB");
    }

    let owner = table(writer, "APPID", 1);
    let handle = writer.fresh();
    record(writer, "APPID", handle, owner, "AcDbRegAppTableRecord", "ACAD");
    writer.whole(70, 0);
    writer.name(0, "ENDTAB");

    let owner = table(writer, "DIMSTYLE", 1);
    writer.name(100, "AcDbDimStyleTable");
    let handle = writer.fresh();
    record(writer, "DIMSTYLE", handle, owner, "AcDbDimStyleTableRecord", "Standard");
    writer.whole(70, 0);
    writer.name(0, "ENDTAB");

    let owner = table(writer, "BLOCK_RECORD", 2);
    for (name, handle, layout) in SPACES {
        record(writer, "BLOCK_RECORD", handle, owner, "AcDbBlockTableRecord", name);
        writer.handle(340, layout);
    }
    writer.name(0, "ENDTAB");
    writer.name(0, "ENDSEC");
}

const SPACES: [(&str, u32, u32); 2] =
    [("*Model_Space", MODEL_SPACE, MODEL_LAYOUT), ("*Paper_Space", PAPER_SPACE, PAPER_LAYOUT)];

/// The view that opens shows the whole drawing.
fn view_port(writer: &mut Writer, drawing: &CutDrawing) {
    let bounds = drawing.bounds();
    let (center, height) = if bounds.is_empty() {
        (dropwise_geometry::Point::ORIGIN, 100.0)
    } else {
        (bounds.center(), 1.1 * bounds.height().max(bounds.width() / VIEW_RATIO).max(1.0))
    };
    let owner = table(writer, "VPORT", 1);
    let handle = writer.fresh();
    record(writer, "VPORT", handle, owner, "AcDbViewportTableRecord", "*Active");
    writer.whole(70, 0);
    for (code, value) in [(10, 0.0), (20, 0.0), (11, 1.0), (21, 1.0)] {
        writer.real(code, value);
    }
    writer.point(12, center, false);
    for (code, value) in [(13, 0.0), (23, 0.0), (14, 10.0), (24, 10.0), (15, 10.0), (25, 10.0)] {
        writer.real(code, value);
    }
    // Seen from above.
    for (code, value) in [(16, 0.0), (26, 0.0), (36, 1.0), (17, 0.0), (27, 0.0), (37, 0.0)] {
        writer.real(code, value);
    }
    writer.length(40, height);
    writer.real(41, VIEW_RATIO);
    for (code, value) in [(42, 50.0), (43, 0.0), (44, 0.0), (50, 0.0), (51, 0.0)] {
        writer.real(code, value);
    }
    for (code, value) in [(71, 0), (72, 1000), (73, 1), (74, 3), (75, 0), (76, 0), (77, 0), (78, 0)] {
        writer.whole(code, value);
    }
    writer.name(0, "ENDTAB");
}

/// Width of the view by its height.
const VIEW_RATIO: f64 = 1.5;

fn blocks(writer: &mut Writer) {
    writer.name(0, "SECTION");
    writer.name(2, "BLOCKS");
    for (name, record, _) in SPACES {
        for (kind, class) in [("BLOCK", "AcDbBlockBegin"), ("ENDBLK", "AcDbBlockEnd")] {
            let handle = writer.fresh();
            writer.name(0, kind);
            writer.handle(5, handle);
            writer.handle(330, record);
            writer.name(100, "AcDbEntity");
            writer.name(8, "0");
            writer.name(100, class);
            if kind == "BLOCK" {
                writer.name(2, name);
                writer.whole(70, 0);
                writer.point(10, dropwise_geometry::Point::ORIGIN, true);
                writer.name(3, name);
                writer.name(1, "");
            }
        }
    }
    writer.name(0, "ENDSEC");
}

fn dictionary(writer: &mut Writer, handle: u32, owner: u32, entries: &[(&str, u32)]) {
    writer.name(0, "DICTIONARY");
    writer.handle(5, handle);
    writer.handle(330, owner);
    writer.name(100, "AcDbDictionary");
    writer.whole(281, 1);
    for &(name, entry) in entries {
        writer.name(3, name);
        writer.handle(350, entry);
    }
}

/// Objects and the end of the file.
pub(super) fn tail(writer: &mut Writer) {
    writer.name(0, "SECTION");
    writer.name(2, "OBJECTS");
    let root =
        [("ACAD_GROUP", GROUP_DICTIONARY), ("ACAD_LAYOUT", LAYOUT_DICTIONARY), ("ACAD_PLOTSTYLENAME", PLOT_STYLES)];
    dictionary(writer, ROOT_DICTIONARY, 0, &root);
    dictionary(writer, GROUP_DICTIONARY, ROOT_DICTIONARY, &[]);
    let layouts = [("Model", MODEL_LAYOUT), ("Layout1", PAPER_LAYOUT)];
    dictionary(writer, LAYOUT_DICTIONARY, ROOT_DICTIONARY, &layouts);

    writer.name(0, "ACDBDICTIONARYWDFLT");
    writer.handle(5, PLOT_STYLES);
    writer.handle(330, ROOT_DICTIONARY);
    writer.name(100, "AcDbDictionary");
    writer.whole(281, 1);
    writer.name(3, "Normal");
    writer.handle(350, PLOT_STYLE);
    writer.name(100, "AcDbDictionaryWithDefault");
    writer.handle(340, PLOT_STYLE);
    writer.name(0, "ACDBPLACEHOLDER");
    writer.handle(5, PLOT_STYLE);
    writer.handle(330, PLOT_STYLES);

    for (order, ((name, handle), (_, record, _))) in layouts.into_iter().zip(SPACES).enumerate() {
        layout(writer, name, handle, record, order as i64);
    }
    writer.name(0, "ENDSEC");
    writer.name(0, "EOF");
}

fn layout(writer: &mut Writer, name: &str, handle: u32, record: u32, order: i64) {
    writer.name(0, "LAYOUT");
    writer.handle(5, handle);
    writer.handle(330, LAYOUT_DICTIONARY);
    writer.name(100, "AcDbPlotSettings");
    writer.name(1, "");
    writer.name(2, "none_device");
    writer.name(4, "");
    writer.name(6, "");
    for code in 40..=49 {
        writer.real(code, 0.0);
    }
    for (code, value) in [(140, 0.0), (141, 0.0), (142, 1.0), (143, 1.0)] {
        writer.real(code, value);
    }
    // 1024 marks the layout of model space.
    for (code, value) in [(70, if order == 0 { 1024 } else { 0 }), (72, 0), (73, 0), (74, 5)] {
        writer.whole(code, value);
    }
    writer.name(7, "");
    writer.whole(75, 16);
    for (code, value) in [(147, 1.0), (148, 0.0), (149, 0.0)] {
        writer.real(code, value);
    }
    writer.name(100, "AcDbLayout");
    writer.name(1, name);
    writer.whole(70, 1);
    writer.whole(71, order);
    for (code, value) in [(10, 0.0), (20, 0.0), (11, 420.0), (21, 297.0)] {
        writer.real(code, value);
    }
    for (code, value) in [(12, 0.0), (22, 0.0), (32, 0.0), (14, 0.0), (24, 0.0), (34, 0.0)] {
        writer.real(code, value);
    }
    for (code, value) in [(15, 0.0), (25, 0.0), (35, 0.0), (146, 0.0), (13, 0.0), (23, 0.0), (33, 0.0)] {
        writer.real(code, value);
    }
    for (code, value) in [(16, 1.0), (26, 0.0), (36, 0.0), (17, 0.0), (27, 1.0), (37, 0.0)] {
        writer.real(code, value);
    }
    writer.whole(76, 0);
    writer.handle(330, record);
}
