use std::path::Path;

use dropwise_geometry::Unit;
use proptest::prelude::*;

use super::*;
use crate::parse_job;

fn job() -> LoadedJob {
    let text = r#"
        unit = "in"
        defaults = { material = "mild steel", thickness = "1/8 in" }
        clearances = { process = "plasma" }
        [[parts]]
        name = "cover"
        rectangle = { width = 8, height = 6 }
        [[sheets]]
        name = "rack 1"
        rectangle = { width = 24, height = 12 }
    "#;
    parse_job(Path::new("job.toml"), text).unwrap()
}

fn read(file: &str, text: &str) -> Result<OfferList, Vec<String>> {
    let errors = |errors: Vec<JobFileError>| errors.iter().map(ToString::to_string).collect();
    read_offers(Path::new(file), text.as_bytes(), &job()).map_err(errors)
}

/// What one offer says, however it is written.
#[derive(Clone, Debug)]
struct Written {
    length: u32,
    width: u32,
    quantity: Option<u32>,
    price: Option<u32>,
    seller: usize,
    cut_charge: Option<u32>,
}

const SELLERS: [&str; 3] = ["", "Quarry Lane Metals", "Ferry Wharf, \"Steel\""];

fn money(coins: u32) -> String {
    format!("{}.{:02}", coins / 100, coins % 100)
}

impl Written {
    /// Its fields with a name, those that are not given left out.
    fn fields(&self, index: usize) -> Vec<(&'static str, String)> {
        let mut fields = vec![("name", format!("D{index}")), ("material", "mild steel".to_owned())];
        fields.push(("thickness", "1/8 in".to_owned()));
        fields.push(("length", format!("{} 1/4", self.length)));
        fields.push(("width", self.width.to_string()));
        fields.extend(self.quantity.map(|count| ("quantity", count.to_string())));
        fields.extend(self.price.map(|coins| ("price", money(coins))));
        fields.push(("seller", SELLERS[self.seller].to_owned()));
        fields.extend(self.cut_charge.map(|coins| ("cut charge", money(coins))));
        fields
    }
}

fn written() -> impl Strategy<Value = Vec<Written>> {
    let some = |most: u32| proptest::option::of(1..most);
    let one = (1..200_u32, 1..90_u32, some(9), some(90_000), 0..3_usize, some(900));
    let one = one.prop_map(|(length, width, quantity, price, seller, cut_charge)| Written {
        length,
        width,
        quantity,
        price,
        seller,
        cut_charge,
    });
    proptest::collection::vec(one, 1..12)
}

proptest! {
    /// The same offers in CSV, JSON and TOML are the same offers.
    #[test]
    fn three_ways_of_writing_are_one(offers in written()) {
        let columns = ["name", "material", "thickness", "length", "width", "quantity", "price", "seller", "cut charge"];
        let mut csv = csv::Writer::from_writer(Vec::new());
        csv.write_record(columns).unwrap();
        let (mut json, mut toml) = (Vec::new(), String::new());
        for (index, offer) in offers.iter().enumerate() {
            let fields = offer.fields(index);
            let cell = |column| fields.iter().find(|(name, _)| *name == column).map_or("", |(_, text)| text.as_str());
            csv.write_record(columns.map(cell)).unwrap();
            toml.push_str("[[offers]]\n");
            let mut table = serde_json::Map::new();
            for (name, text) in &fields {
                let key = name.replace(' ', "_");
                // Numbers stand bare where they can.
                let value: serde_json::Value = serde_json::from_str(text).unwrap_or_else(|_| text.as_str().into());
                toml.push_str(&format!("{key} = {value}\n"));
                table.insert(key, value);
            }
            json.push(serde_json::Value::Object(table));
        }
        let csv = String::from_utf8(csv.into_inner().unwrap()).unwrap();
        let json = serde_json::json!({ "offers": json }).to_string();
        let [from_csv, from_json, from_toml] =
            [("y.csv", &csv), ("y.json", &json), ("y.toml", &toml)].map(|(file, text)| read(file, text).unwrap());
        prop_assert_eq!(from_csv.offers.len(), offers.len());
        for other in [from_json, from_toml] {
            prop_assert_eq!(&from_csv.sellers, &other.sellers);
            for (one, two) in from_csv.offers.iter().zip(&other.offers) {
                prop_assert_eq!(&one.sheet, &two.sheet);
                prop_assert_eq!((one.seller, one.is_priced, one.cut_charge), (two.seller, two.is_priced, two.cut_charge));
            }
        }
    }
}

#[test]
fn forms_of_the_job_file_are_read() {
    let list = read(
        "yard.toml",
        r#"
        [[offers]]
        name = "corner"
        l_shape = { length_x = 40, width_x = 12, length_y = 30, width_y = 10 }
        damage = [{ width = 4, height = 4, corner = { left = 0, bottom = 0 } }]
        price = "0.40 per lb"
        seller = "Quarry Lane Metals"
        delivery = 12
        [[offers]]
        name = "taped"
        tape = { sides = [30, 40, 30, 40], diagonals = [{ from = 1, to = 3, length = 50 }] }
        "#,
    );
    // The material is not that of `defaults`: a list says what it is made of.
    let errors = list.unwrap_err();
    assert_eq!(errors.len(), 2, "{errors:?}");
    assert!(errors[0].starts_with("yard.toml:2:9: offers[1] \"corner\": has no material. Fill in a key"), "{errors:?}");

    let list = read(
        "yard.json",
        r#"[{"name": "corner", "material": "mild steel", "thickness": "1/8 in", "price": "0.40 per lb",
             "l_shape": {"length_x": 40, "width_x": 12, "length_y": 30, "width_y": 10},
             "damage": [{"width": 4, "height": 4, "corner": {"left": 0, "bottom": 0}}]}]"#,
    )
    .unwrap();
    let sheet = &list.offers[0].sheet;
    // By hand: 40 x 12 in and 10 x 18 in above it.
    let square_inches = sheet.shape.area() / Unit::Inch.millimetres().powi(2);
    assert!((square_inches - 660.0).abs() < 1e-6, "{square_inches}");
    assert_eq!(sheet.damage.len(), 1);
    // 660 sq in of 1/8 in at 490 lb per cubic foot (usual handbook density of steel, rounded), within 1 %.
    let pounds = 660.0 / 144.0 * 0.125 / 12.0 * 490.0;
    assert!((sheet.price.coins() as f64 / (40.0 * pounds) - 1.0).abs() < 0.01, "{:?} for {pounds} lb", sheet.price);
}

#[test]
fn faults_name_offer_key_and_cure() {
    let offer = |more: &str| {
        format!(r#"{{"offers": [{{"name": "A", "material": "mild steel", "thickness": "1/8 in", {more}}}]}}"#)
    };
    let size = r#""length": 30, "width": 20"#;
    for (text, told) in [
        ("{}".to_owned(), "holds no offers. Write each offer as a table"),
        ("3".to_owned(), "is no list of offers"),
        (r#"{"offers": []}"#.to_owned(), "offers: is an empty list"),
        (r#"{"offers": {}}"#.to_owned(), "offers: is no list"),
        (r#"{"offer": []}"#.to_owned(), "offer: is no key here; did you mean `offers`?"),
        (r#"{"offers": [3]}"#.to_owned(), "offers[1]: is no table of keys"),
        ("{\"offers\": [".to_owned(), "this is not JSON"),
        (offer(r#""length": 30"#), "no key holds the width"),
        (offer(&format!(r#"{size}, "prise": 3"#)), "key \"prise\" is not known"),
        (offer(&format!(r#"{size}, "price": true"#)), "price: is no text and no number"),
        (offer(&format!(r#"{size}, "price": [3]"#)), "price: is a table or a list"),
        (offer(&format!(r#"{size}, "price": "cheap""#)), "price: \"cheap\""),
        (offer(&format!(r#"{size}, "quantity": 1.5"#)), "quantity: is \"1.5\""),
        (offer(&format!(r#"{size}, "delivery": 3"#)), "has a delivery, but no seller"),
        (offer(&format!(r#"{size}, "damage": []"#)), "length: tells the size beside `damage`"),
        (offer(r#""l_shap": {}"#), "l_shap: is no key here; did you mean `l_shape`?"),
        (offer(r#""rectangle": {"width": 3}"#), "\"A\": rectangle"),
        (offer(r#""rectangle": {"width": 3, "height": "4 ells"}"#), "\"A\": rectangle.height: \"4 ells\""),
        (offer(r#""tape": {"sides": [3, 4]}"#), "\"A\": tape.sides"),
        (offer(r#""drawing": {"file": "missing.dxf"}"#), "missing.dxf"),
    ] {
        let errors = read("yard.json", &text).unwrap_err();
        assert!(errors[0].starts_with("yard.json") && errors[0].contains(told), "{text}: {errors:?}");
    }
}

/// The examples of the page about lists of offers are lists of offers.
#[test]
fn examples_of_the_docs_are_read() {
    let page = include_str!("../../../../docs/offers.md").replace("\r\n", "\n");
    let mut kinds = Vec::new();
    for block in page.split("\n```").skip(1).step_by(2) {
        let (kind, text) = block.split_once('\n').unwrap();
        let list = read(&format!("yard.{kind}"), text).unwrap_or_else(|errors| panic!("{kind}: {errors:?}"));
        assert_eq!((list.offers[0].sheet.name.as_str(), list.notes.as_slice()), ("Q1", &[][..]), "{kind}");
        assert_eq!(list.sellers[0].delivery.coins(), 1200, "{kind}");
        kinds.push(kind);
    }
    assert_eq!(kinds, ["csv", "toml", "json"]);
}

const LISTS: [(&str, &str); 3] = [
    ("y.csv", "name,seller,material,thickness,length,width,price\nA,Q,mild steel,16 ga,30,20,4\n"),
    ("y.toml", "[[offers]]\nname = 'A'\nmaterial = 'mild steel'\nthickness = '16 ga'\nl_shape = { length_x = 9 }\n"),
    ("y.json", r#"{"offers": [{"name": "A", "tape": {"sides": [3, 4, 5]}, "thickness": 1e3, "material": "5052"}]}"#),
];

proptest! {
    /// Whatever is cut out of a list or put into it: an answer, never a panic.
    #[test]
    fn garbled_lists_end_in_an_answer(
        which in 0..LISTS.len(), at in 0.0..1.0_f64, out in 0..12_usize, put in "[\\PC\\n\\[\\]{}\",:=0-9]{0,6}",
    ) {
        let (file, text) = LISTS[which];
        let mut characters: Vec<char> = text.chars().collect();
        let from = (at * characters.len() as f64) as usize;
        characters.splice(from..(from + out).min(characters.len()), put.chars());
        let garbled: String = characters.into_iter().collect();
        match read(file, &garbled) {
            Ok(list) => prop_assert!(!list.offers.is_empty()),
            Err(errors) => prop_assert!(!errors.is_empty() && errors.iter().all(|error| error.starts_with("y."))),
        }
    }
}
