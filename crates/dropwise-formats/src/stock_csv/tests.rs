//! Lists as spreadsheets write them, right and wrong.

use super::*;
use dropwise_shop::Basis;
use proptest::prelude::*;

fn read(text: &str) -> Result<StockList, Vec<JobFileError>> {
    read_stock_csv(Path::new("rack.csv"), text.as_bytes(), &StockCsvOptions::default())
}

#[test]
fn a_list_as_a_spreadsheet_exports_it() {
    let list = read(concat!(
        "\u{feff}Tag,Metal,Gauge,Length (in),Width (in),Qty,Price per lb,Rack,Colour\r\n",
        "A-1,mild steel,16,96,48,3,0.65,\"B, top\",grey\r\n",
        "A-2,Galv,16 ga,\"30 1/2\",20 1/4,,,,\r\n",
        ",,,,,,,,\r\n\r\n\r\n",
        "A-3,brass,,\"40\",20,,,,\r\n",
    ));
    assert_eq!(list.expect_err("no thickness")[0].to_string().split(": ").next(), Some("rack.csv:7"));
    let list = read(concat!(
        "\u{feff}Tag,Metal,Gauge,Length (in),Width (in),Qty,Price per lb,Rack,Colour\r\n",
        "A-1,mild steel,16,96,48,3,0.65,\"B, top\",grey\r\n",
        "A-2,Galv,16 ga,\"30 1/2\",20 1/4,,,,\r\n",
    ))
    .expect("a good list");
    assert_eq!(list.rows.len(), 2);
    let first = &list.rows[0];
    assert_eq!((first.line, first.name.as_str(), first.quantity), (2, "A-1", Some(3)));
    assert_eq!(first.form, RowForm::Rectangle { length: 96.0 * 25.4, width: 48.0 * 25.4 });
    assert_eq!(first.price.map(|price| (price.coins(), price.basis())), Some((65.0, Basis::Pound)));
    assert_eq!(first.location, "B, top");
    // Manufacturers' Standard and galvanized 16 ga, 0.0598 and 0.0635 in (Steel Buyers Basics).
    let inches: Vec<f64> = list.rows.iter().map(|row| row.thickness.millimetres() / 25.4).collect();
    assert!((inches[0] - 0.0598).abs() < 5e-5 && (inches[1] - 0.0635).abs() < 5e-5, "{inches:?}");
    assert_eq!(list.notes.len(), 1, "the colour is not used: {:?}", list.notes);
}

#[test]
fn semicolons_bring_decimal_commas() {
    let list = read("name;material;thickness;length;width\na;brass;1,5;1250,5;600\n").expect("a good list");
    assert_eq!(list.rows[0].form, RowForm::Rectangle { length: 1250.5, width: 600.0 });
    assert!((list.rows[0].thickness.millimetres() - 1.5).abs() < 1e-12);
    let errors = read("name;material;thickness;length;width\na;brass;1,5;1,250;600\n").expect_err("1,250 is unclear");
    assert_eq!(
        errors[0].to_string(),
        "rack.csv:2: column \"length\": \"1,250\": \"1,250\" may be 1250 or 1.250; write one of these"
    );
}

#[test]
fn tabs_sep_lines_and_utf_16_are_understood() {
    let tabs = "name\tmaterial\tthickness\tdia\nplug\tcopper\t2 mm\t300\n";
    let list = read(tabs).expect("a good list");
    assert_eq!(list.rows[0].form, RowForm::Circle { diameter: 300.0 });
    let told = read("sep=;\nmaterial;thickness;length;width\nbrass;2;300;200\n").expect("a good list");
    assert_eq!((told.rows[0].line, told.rows[0].name.as_str()), (3, "rack line 3"));
    let utf16: Vec<u8> = [0xFF, 0xFE].into_iter().chain(tabs.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let list = read_stock_csv(Path::new("rack.csv"), &utf16, &StockCsvOptions::default()).expect("a good list");
    assert_eq!(list.rows[0].name, "plug");
}

#[test]
fn defaults_fill_what_a_list_leaves_out() {
    let options = StockCsvOptions {
        unit: Some(Unit::Inch),
        material: Some(Material::MildSteel),
        thickness: Some("11 ga".to_owned()),
        ..StockCsvOptions::default()
    };
    let list = read_stock_csv(Path::new("rack.csv"), b"length,width\n48,24\n", &options).expect("a good list");
    assert_eq!(list.rows[0].form, RowForm::Rectangle { length: 48.0 * 25.4, width: 24.0 * 25.4 });
    assert_eq!(list.rows[0].thickness.gauge().map(|gauge| gauge.number()), Some(11));
}

#[test]
fn sellers_and_their_terms_are_read_of_offers_only() {
    let text = b"name,material,thickness,length,width,supplier,vendor,delivery\nA,brass,2,300,200,the yard,,12 May\n";
    let list = read_stock_csv(Path::new("rack.csv"), text, &StockCsvOptions::default()).expect("a good list");
    assert_eq!((list.rows[0].seller.as_str(), list.rows[0].delivery, list.notes.len()), ("", None, 0));
    let offers = StockCsvOptions { is_offers: true, ..StockCsvOptions::default() };
    // Two columns for the seller, and a delivery that is no amount.
    assert!(read_stock_csv(Path::new("offers.csv"), text, &offers).is_err());
}

proptest! {
    /// Whatever stands in a file, the answer is a list or an error.
    #[test]
    fn any_bytes_are_a_list_or_an_error(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = read_stock_csv(Path::new("rack.csv"), &bytes, &StockCsvOptions::default());
    }

    /// The same for what looks like a list.
    #[test]
    fn any_cells_are_a_list_or_an_error(cells in "([0-9a-z,;\"\t ./'-]{0,8},){0,12}\n") {
        let _ = read(&format!("name,material,thickness,length,width,price,quantity,grain\n{cells}{cells}"));
    }
}
