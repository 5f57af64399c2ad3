//! Words in the names of layers and line types that tell what a line is for.
//!
//! Common practice, no source: names that drawing offices give to layers, and that CAD programs write into flat patterns,
//! in the languages that such drawings come in. Letters are compared without their accents.

use super::layers::LayerUse;

/// Says that nothing on the layer is metal, whatever else the name says, cutting words aside.
const WRITING: &[&str] = &[
    // English
    "ignore",
    "dim",
    "dims",
    "dimension",
    "dimensions",
    "text",
    "texts",
    "txt",
    "note",
    "notes",
    "annotation",
    "annotations",
    "title",
    "titleblock",
    "hatch",
    "hatching",
    "defpoints",
    "viewport",
    "viewports",
    "vport",
    "tangent",
    "tangents",
    "extent",
    "extents",
    "bendextent",
    "bendextents",
    "logo",
    "legend",
    "measurements",
    // German
    "bemassung",
    "bemassungen",
    "masse",
    "mass",
    "massketten",
    "beschriftung",
    "schriftfeld",
    "schraffur",
    "notiz",
    "notizen",
    "zeichnungskopf",
    "tangenten",
    // French
    "cote",
    "cotes",
    "cotation",
    "cotations",
    "texte",
    "textes",
    "cartouche",
    "hachure",
    "hachures",
    "tangente",
    "tangentes",
    // Spanish, Portuguese, Italian
    "cota",
    "cotas",
    "texto",
    "textos",
    "cajetin",
    "sombreado",
    "quota",
    "quote",
    "quotatura",
    "testo",
    "testi",
    "cartiglio",
    "tratteggio",
    "tangenti",
    "legenda",
    "hachura",
    // Dutch, Scandinavian, Finnish
    "maatvoering",
    "maten",
    "tekst",
    "arcering",
    "titelblok",
    "raaklijn",
    "raaklijnen",
    "matt",
    "mal",
    "skravering",
    "mitat",
    "teksti",
    // Polish, Czech, Hungarian, Turkish, Russian
    "wymiary",
    "wymiar",
    "opis",
    "kreskowanie",
    "koty",
    "srafy",
    "meretek",
    "szoveg",
    "olculer",
    "olcu",
    "yazi",
    "размеры",
    "размер",
    "текст",
    "штриховка",
    "штамп",
    // Japanese, Chinese, Korean
    "寸法",
    "文字",
    "注記",
    "图框",
    "标注",
    "尺寸",
    "文本",
    "치수",
    "문자",
];

/// Says that lines are no metal, but loses to words for bending and marking: "bend centerline".
const HELPING: &[&str] = &[
    // English
    "center",
    "centers",
    "centre",
    "centres",
    "centerline",
    "centreline",
    "centerlines",
    "centrelines",
    "centermark",
    "centermarks",
    "arccenters",
    "toolcenter",
    "axis",
    "axes",
    "hidden",
    "phantom",
    "construction",
    "constr",
    "const",
    "consts",
    "aux",
    "auxiliary",
    "helper",
    "reference",
    "ref",
    "guide",
    "guides",
    "guideline",
    "guidelines",
    "frame",
    "border",
    "borders",
    "page",
    "unconsumed",
    "roll",
    "sketches",
    // German
    "mittellinie",
    "mittellinien",
    "mitte",
    "achse",
    "achsen",
    "verdeckt",
    "verdeckte",
    "unsichtbar",
    "hilfslinie",
    "hilfslinien",
    "konstruktion",
    "konstruktionslinien",
    "rahmen",
    "zeichnungsrahmen",
    "symmetrie",
    // French
    "axe",
    "cache",
    "caches",
    "cachees",
    "cadre",
    "traits",
    "repere",
    "reperes",
    // Spanish, Portuguese, Italian
    "eje",
    "ejes",
    "eixo",
    "eixos",
    "asse",
    "assi",
    "oculta",
    "ocultas",
    "nascoste",
    "nascosta",
    "construccion",
    "construcao",
    "costruzione",
    "marco",
    "moldura",
    "cornice",
    "squadratura",
    "auxiliar",
    "auxiliares",
    // Dutch, Scandinavian, Finnish
    "hartlijn",
    "hartlijnen",
    "kader",
    "hulplijn",
    "hulplijnen",
    "centrumlinje",
    "centrumlinjer",
    "ram",
    "ramme",
    "hjalplinjer",
    "hjelpelinjer",
    "keskiviiva",
    "keskiviivat",
    "apuviivat",
    "kehys",
    // Polish, Czech, Hungarian, Turkish, Russian
    "os",
    "osie",
    "osa",
    "osy",
    "ramka",
    "ramecek",
    "pomocnicze",
    "pomocne",
    "keret",
    "tengely",
    "eksen",
    "cerceve",
    "оси",
    "ось",
    "рамка",
    "осевая",
    "осевые",
    "невидимые",
    "вспомогательные",
    // Japanese, Chinese, Korean
    "中心線",
    "中心线",
    "補助線",
    "隠れ線",
    "虚线",
    "辅助线",
    "图框线",
    "중심선",
];

const BENDING: &[&str] = &[
    "bend",
    "bends",
    "bending",
    "bendline",
    "bendlines",
    "bendup",
    "benddown",
    "fold",
    "folds",
    "folding",
    "foldline",
    "foldlines",
    "brake",
    "crease",
    "creases",
    "creasing",
    // German
    "biegelinie",
    "biegelinien",
    "biegung",
    "biegungen",
    "biegen",
    "biege",
    "kantlinie",
    "kantlinien",
    "kanten",
    "abkantung",
    "falz",
    "falzlinie",
    "falzlinien",
    "faltlinie",
    "faltlinien",
    // French
    "pli",
    "plis",
    "pliage",
    "pliages",
    "pliure",
    "pliures",
    // Spanish, Portuguese, Italian
    "pliegue",
    "pliegues",
    "plegado",
    "doblez",
    "dobleces",
    "doblado",
    "dobra",
    "dobras",
    "quinagem",
    "piega",
    "pieghe",
    "piegatura",
    // Dutch, Scandinavian, Finnish
    "buiglijn",
    "buiglijnen",
    "buig",
    "zetlijn",
    "zetlijnen",
    "kantlijn",
    "bock",
    "bocklinje",
    "bocklinjer",
    "bockning",
    "bukk",
    "bukkelinje",
    "buk",
    "bukkelinjer",
    "taivutus",
    "taivutusviiva",
    "taivutusviivat",
    // Polish, Czech, Hungarian, Turkish, Russian
    "giecie",
    "giecia",
    "zagiecie",
    "zagiecia",
    "ohyb",
    "ohyby",
    "hajlitas",
    "bukum",
    "гиб",
    "гибка",
    "сгиб",
    "сгибы",
    "гибы",
    // Japanese, Chinese, Korean
    "曲げ",
    "曲げ線",
    "折り線",
    "折弯",
    "折弯线",
    "折线",
    "절곡",
    "절곡선",
];

const MARKING: &[&str] = &[
    "mark",
    "marks",
    "marking",
    "markings",
    "scribe",
    "scribing",
    "etch",
    "etching",
    "engrave",
    "engraving",
    "engraved",
    "engravings",
    "score",
    "scoring",
    "scored",
    "vscore",
    "label",
    "labels",
    "raster",
    // German
    "gravur",
    "gravuren",
    "gravieren",
    "graviert",
    "markierung",
    "markierungen",
    "markieren",
    "anriss",
    "ritzen",
    "kornen",
    // French
    "gravure",
    "gravures",
    "graver",
    "marquage",
    "marquages",
    "tracage",
    // Spanish, Portuguese, Italian
    "grabado",
    "grabados",
    "grabar",
    "marcado",
    "marcas",
    "gravacao",
    "gravar",
    "marcacao",
    "incisione",
    "incisioni",
    "marcatura",
    "incidere",
    // Dutch, Scandinavian, Finnish
    "graveren",
    "markering",
    "gravering",
    "graverad",
    "kaiverrus",
    "merkinta",
    // Polish, Czech, Hungarian, Turkish, Russian
    "grawer",
    "grawerowanie",
    "grawerka",
    "gravirovani",
    "popis",
    "gravirozas",
    "kazima",
    "isaretleme",
    "гравировка",
    "маркировка",
    "разметка",
    // Japanese, Chinese, Korean
    "刻印",
    "彫刻",
    "雕刻",
    "打标",
    "각인",
];

/// Says that the layer is cut, whatever ignoring words stand beside.
const CUTTING: &[&str] = &[
    "cut",
    "cuts",
    "cutting",
    "cutout",
    "cutouts",
    "cutline",
    "cutlines",
    "profile",
    "profiles",
    "outline",
    "outlines",
    "contour",
    "contours",
    "outer",
    "inner",
    "interior",
    "exterior",
    "outside",
    "inside",
    "perimeter",
    "hole",
    "holes",
    "slot",
    "slots",
    "opening",
    "openings",
    // German
    "schnitt",
    "schnitte",
    "schneiden",
    "schnittlinie",
    "schnittlinien",
    "kontur",
    "konturen",
    "aussenkontur",
    "innenkontur",
    "aussen",
    "innen",
    "bohrung",
    "bohrungen",
    "loch",
    "locher",
    "umriss",
    "ausschnitt",
    "ausschnitte",
    "langloch",
    "langlocher",
    // French
    "decoupe",
    "decoupes",
    "decoupage",
    "coupe",
    "trou",
    "trous",
    "percage",
    "percages",
    "interieur",
    "exterieur",
    // Spanish, Portuguese, Italian
    "corte",
    "cortes",
    "cortar",
    "contorno",
    "contornos",
    "agujero",
    "agujeros",
    "taladro",
    "taladros",
    "furo",
    "furos",
    "recorte",
    "taglio",
    "tagli",
    "tagliare",
    "foro",
    "fori",
    "profilo",
    // Dutch, Scandinavian, Finnish
    "snijden",
    "snijlijn",
    "snijlijnen",
    "snij",
    "omtrek",
    "gat",
    "gaten",
    "skar",
    "skaer",
    "skjaer",
    "hal",
    "hul",
    "hull",
    "kontur",
    "leikkaus",
    "reika",
    "reiat",
    "aariviiva",
    // Polish, Czech, Hungarian, Turkish, Russian
    "ciecie",
    "ciecia",
    "otwor",
    "otwory",
    "rez",
    "rezani",
    "otvor",
    "otvory",
    "obrys",
    "vagas",
    "furat",
    "kesim",
    "delik",
    "delikler",
    "резка",
    "рез",
    "контур",
    "отверстия",
    "отверстие",
    // Japanese, Chinese, Korean
    "切断",
    "外形",
    "外形線",
    "穴",
    "カット",
    "切割",
    "轮廓",
    "孔",
    "외곽",
    "구멍",
];

/// Layers that are cut, and say nothing against an ignoring word beside them.
const PLAIN: &[&str] = &["part", "parts", "blank", "sheet", "visible", "plate", "steel", "metal", "laser", "plasma"];

/// Holes and openings: they lie in something.
const HOLLOW: &[&str] = &[
    "hole",
    "holes",
    "inner",
    "interior",
    "inside",
    "slot",
    "slots",
    "cutout",
    "cutouts",
    "opening",
    "openings",
    "innenkontur",
    "innen",
    "bohrung",
    "bohrungen",
    "loch",
    "locher",
    "trou",
    "trous",
    "percage",
    "interieur",
    "agujero",
    "agujeros",
    "taladros",
    "furo",
    "furos",
    "foro",
    "fori",
    "gat",
    "gaten",
    "otwory",
    "otvory",
    "furat",
    "delik",
    "delikler",
    "отверстия",
    "穴",
    "孔",
];

const DAMAGE: &[&str] = &[
    "damage",
    "damaged",
    "damages",
    "rust",
    "rusty",
    "rusted",
    "dent",
    "dents",
    "dented",
    "crack",
    "cracks",
    "scratch",
    "scratches",
    "bad",
    "schaden",
    "rost",
    "beule",
    "beulen",
    "riss",
    "kratzer",
    "rouille",
    "dommage",
    "degats",
    "dano",
    "danos",
    "oxido",
    "ruggine",
    "danno",
    "danni",
    "schade",
    "roest",
    "skada",
    "skade",
    "ruoste",
    "rdza",
    "ржавчина",
    "傷",
    "锈",
];

/// What the words of a name say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Meaning {
    pub(crate) line_use: LayerUse,
    /// Whether the word also names parts, as "frame" does: it is not believed where nothing else would be left to cut.
    pub(crate) is_weak: bool,
    /// Whether it is a word for cutting, which is believed against line types and shapes.
    pub(crate) is_cutting: bool,
}

/// What a name says; `None` when no word in it is known.
pub(crate) fn meaning(name: &str) -> Option<Meaning> {
    let words = split(name);
    let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
    let found = |line_use| Some(Meaning { line_use, is_weak: false, is_cutting: line_use == LayerUse::Cut });
    if has(BENDING) || has(MARKING) {
        if has(WRITING) {
            return found(LayerUse::Ignore);
        }
        return found(if has(BENDING) { LayerUse::Bend } else { LayerUse::Mark });
    }
    if has(CUTTING) {
        return found(LayerUse::Cut);
    }
    if has(WRITING) {
        return found(LayerUse::Ignore);
    }
    if has(HELPING) {
        return Some(Meaning { line_use: LayerUse::Ignore, is_weak: true, is_cutting: false });
    }
    let is_plain = name.trim() == "0" || has(PLAIN);
    is_plain.then_some(Meaning { line_use: LayerUse::Cut, is_weak: true, is_cutting: false })
}

/// Whether a name is one of holes.
pub(crate) fn is_of_holes(name: &str) -> bool {
    split(name).iter().any(|word| HOLLOW.contains(&word.as_str()))
}

/// Whether a name is one of damage.
pub(crate) fn is_of_damage(name: &str) -> bool {
    split(name).iter().any(|word| DAMAGE.contains(&word.as_str()))
}

/// What a line type says: centre lines are no metal; dashed ones may be bend lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum TypeMeaning {
    Centre,
    Dashed,
}

/// Names of line types as CAD programs come with, by how they begin. Those of ISO 128 go by number.
pub(crate) fn line_type_meaning(name: &str) -> Option<TypeMeaning> {
    const CENTRE: &[&str] = &[
        "center",
        "centre",
        "mitte",
        "strichpunkt",
        "achse",
        "axe",
        "axes",
        "eje",
        "asse",
        "mezzeria",
        "hartlijn",
        "osova",
        "осевая",
        "штрихпунктирная",
        "chain",
        "acad_iso04",
        "acad_iso08",
        "acad_iso10",
        "dashdot",
        "symmetrie",
    ];
    const DASHED: &[&str] = &[
        "hidden",
        "dashed",
        "dash",
        "phantom",
        "divide",
        "dot",
        "border",
        "verdeckt",
        "strichlinie",
        "gestrichelt",
        "cache",
        "interrompu",
        "oculta",
        "trazos",
        "nascost",
        "tratteggi",
        "streep",
        "kreskow",
        "штриховая",
        "acad_iso",
        "jis_02",
        "fold",
        "bend",
    ];
    let name = folded(name);
    let name = name.trim();
    let begins = |list: &[&str]| list.iter().any(|word| name.starts_with(word));
    if begins(CENTRE) {
        Some(TypeMeaning::Centre)
    } else if begins(DASHED) && !name.starts_with("acad_iso01") {
        Some(TypeMeaning::Dashed)
    } else {
        None
    }
}

/// The words of a name in small letters without accents: "IV_BendLines2" is iv, bend, lines, bendlines.
fn split(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for run in name.split(|c: char| !c.is_alphanumeric()) {
        let letters = run.trim_end_matches(|c: char| c.is_ascii_digit());
        words.push(folded(letters));
        let mut word = String::new();
        let mut last: Option<char> = None;
        for c in letters.chars() {
            let is_new = last.is_some_and(|last| {
                (last.is_lowercase() && c.is_uppercase()) || last.is_ascii_digit() != c.is_ascii_digit()
            });
            if is_new {
                words.push(folded(&std::mem::take(&mut word)));
            }
            word.push(c);
            last = Some(c);
        }
        words.push(folded(&word));
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Small letters without their accents, as far as the languages above have them.
fn folded(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars().flat_map(char::to_lowercase) {
        match c {
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ą' | 'ă' => plain.push('a'),
            'ç' | 'ć' | 'č' => plain.push('c'),
            'ď' => plain.push('d'),
            'è' | 'é' | 'ê' | 'ë' | 'ę' | 'ě' => plain.push('e'),
            'ğ' => plain.push('g'),
            'ì' | 'í' | 'î' | 'ï' | 'ı' => plain.push('i'),
            'ł' => plain.push('l'),
            'ñ' | 'ń' | 'ň' => plain.push('n'),
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' | 'ő' => plain.push('o'),
            'ř' => plain.push('r'),
            'ś' | 'š' | 'ş' => plain.push('s'),
            'ť' => plain.push('t'),
            'ù' | 'ú' | 'û' | 'ü' | 'ů' | 'ű' => plain.push('u'),
            'ý' | 'ÿ' => plain.push('y'),
            'ż' | 'ź' | 'ž' => plain.push('z'),
            'ß' => plain.push_str("ss"),
            'æ' => plain.push_str("ae"),
            'œ' => plain.push_str("oe"),
            // Combining accents, and the dot that small letters of a Turkish capital keep.
            '\u{300}'..='\u{36f}' => {}
            c => plain.push(c),
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn says(name: &str, expected: Option<LayerUse>) {
        assert_eq!(meaning(name).map(|meaning| meaning.line_use), expected, "{name}");
    }

    #[test]
    fn cutting_words_win_over_ignoring_ones() {
        for name in
            ["CENTER_HOLE", "Z-Axis holes", "guide rod holes", "Cut frame", "note_cutouts", "Außenkontur Rahmen"]
        {
            says(name, Some(LayerUse::Cut));
        }
        for name in
            ["frame", "guide", "AXIS", "Border", "const1", "Hilfslinien", "IV_ARC_CENTERS", "IV_UNCONSUMED_SKETCHES"]
        {
            says(name, Some(LayerUse::Ignore));
            assert!(meaning(name).unwrap().is_weak, "{name}");
        }
        for name in ["Notes", "part text", "IV_TANGENT", "IV_ROLL_TANGENT", "Bemaßung", "sheet title", "BEND_EXTENT"] {
            says(name, Some(LayerUse::Ignore));
            assert!(!meaning(name).unwrap().is_weak, "{name}");
        }
    }

    #[test]
    fn bends_and_marks_are_known_in_the_languages_of_drawings() {
        for name in [
            "BEND_DOWN",
            "Biegelinien",
            "Bend centerline",
            "plis",
            "Líneas de plegado",
            "pieghe",
            "Buiglijnen",
            "Linie gięcia",
            "曲げ線",
        ] {
            says(name, Some(LayerUse::Bend));
        }
        for name in
            ["Gravur", "SCORE", "gravure", "Grabado", "incisione", "Grawer", "engrave-text2", "雕刻", "V-Scoring"]
        {
            says(name, if name.contains("text") { Some(LayerUse::Ignore) } else { Some(LayerUse::Mark) });
        }
        for name in [
            "Schnitt",
            "découpe",
            "CORTE",
            "taglio",
            "IV_INTERIOR_PROFILES",
            "OuterProfile",
            "Bohrungen",
            "OTWORY",
            "外形",
        ] {
            says(name, Some(LayerUse::Cut));
        }
        for name in ["Layer 1", "DEFAULT", "unbendable", "", "Smith"] {
            says(name, None);
        }
    }

    #[test]
    fn line_types_are_centre_lines_or_dashed() {
        for name in ["CENTER", "CENTERX2", "Mittellinie", "ACAD_ISO04W100", "DASHDOT"] {
            assert_eq!(line_type_meaning(name), Some(TypeMeaning::Centre), "{name}");
        }
        for name in ["DASHED", "HIDDEN2", "PHANTOM", "ACAD_ISO02W100", "Gestrichelt"] {
            assert_eq!(line_type_meaning(name), Some(TypeMeaning::Dashed), "{name}");
        }
        for name in ["Continuous", "BYLAYER", "", "SOLID"] {
            assert_eq!(line_type_meaning(name), None, "{name}");
        }
    }
}
