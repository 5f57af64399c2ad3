//! Bytes into the text of a picture, and what is mended in it before it is parsed.

use std::borrow::Cow;

/// Names for stretches of text that a file may define, as Illustrator does for its namespaces.
const MOST_ENTITIES: usize = 100;
const LONGEST_ENTITY: usize = 1_000;

/// The text of a picture: UTF-8, UTF-16 with its mark, or the Latin alphabet where the head of the file says so. The
/// offset of the first bad byte when it is none of these.
///
/// # Errors
/// The offset, counted from 0.
pub fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, usize> {
    let wide = |of: fn([u8; 2]) -> u16| {
        let units = bytes[2..].chunks_exact(2).map(|pair| of([pair[0], pair[1]]));
        let text: Result<String, _> = char::decode_utf16(units).collect();
        // The head names the encoding that it no longer has.
        text.map(|text| Cow::Owned(text.replacen("UTF-16", "UTF-8", 1).replacen("utf-16", "utf-8", 1))).map_err(|_| 2)
    };
    if bytes.starts_with(&[0xff, 0xfe]) {
        return wide(u16::from_le_bytes);
    }
    if bytes.starts_with(&[0xfe, 0xff]) {
        return wide(u16::from_be_bytes);
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Cow::Borrowed(text)),
        Err(error) => {
            let head = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]).to_lowercase();
            let is_latin = head.starts_with("<?xml")
                && ["iso-8859-1", "latin1", "windows-1252", "us-ascii"].iter().any(|name| head.contains(name));
            if is_latin {
                Ok(Cow::Owned(bytes.iter().map(|&byte| char::from(byte)).collect()))
            } else {
                Err(error.valid_up_to())
            }
        }
    }
}

/// Comments with two hyphens in them, which XML forbids and many programs write: each becomes a hyphen and a blank, so that
/// everything stays where it is.
pub(super) fn with_sound_comments(text: &str) -> Cow<'_, str> {
    let mut mended: Option<Vec<u8>> = None;
    let mut at = 0;
    while let Some(found) = text[at..].find("<!") {
        let start = at + found;
        if text[start..].starts_with("<![CDATA[") {
            let Some(end) = text[start..].find("]]>") else { break };
            at = start + end + 3;
        } else if text[start..].starts_with("<!--") {
            let inside = start + 4;
            let Some(length) = text[inside..].find("-->") else { break };
            let bytes = text.as_bytes();
            let mut last_is_hyphen = false;
            for place in inside..inside + length {
                let is_hyphen = bytes[place] == b'-';
                let ends_in_hyphen = is_hyphen && place + 1 == inside + length;
                if (is_hyphen && last_is_hyphen) || ends_in_hyphen {
                    mended.get_or_insert_with(|| bytes.to_vec())[place] = b' ';
                    last_is_hyphen = false;
                } else {
                    last_is_hyphen = is_hyphen;
                }
            }
            at = inside + length + 3;
        } else {
            at = start + 2;
        }
    }
    match mended.map(String::from_utf8) {
        Some(Ok(text)) => Cow::Owned(text),
        _ => Cow::Borrowed(text),
    }
}

/// The place of the first definition that is more than a short text: one that names another, or that stands for markup or
/// for another file.
pub(super) fn dangerous_entity(text: &str) -> Option<usize> {
    let mut at = 0;
    let mut count = 0;
    while let Some(found) = text[at..].find("<!ENTITY") {
        let start = at + found;
        count += 1;
        let rest = &text[start + "<!ENTITY".len()..];
        let is_plain =
            plain_value(rest).is_some_and(|value| value.len() <= LONGEST_ENTITY && !value.contains(['&', '<', '%']));
        if !is_plain || count > MOST_ENTITIES {
            return Some(start);
        }
        at = start + "<!ENTITY".len();
    }
    None
}

/// The value of `NAME "value">`; `None` for any other form.
fn plain_value(rest: &str) -> Option<&str> {
    let rest = rest.trim_start();
    let name = rest.find(|c: char| c.is_whitespace())?;
    if !rest[..name].chars().all(|c| c.is_alphanumeric() || "_-.:".contains(c)) {
        return None;
    }
    let rest = rest[name..].trim_start();
    let quote = rest.chars().next().filter(|&c| c == '"' || c == '\'')?;
    let value = &rest[1..];
    let end = value.find(quote)?;
    value[end + 1..].trim_start().starts_with('>').then_some(&value[..end])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hyphens_in_comments_are_mended_in_place() {
        let text = "<svg><!-- a -- b ---><g/><!----><![CDATA[<!-- -- -->]]></svg>";
        let mended = with_sound_comments(text);
        assert_eq!(mended.len(), text.len());
        assert_eq!(mended, "<svg><!-- a -  b  --><g/><!----><![CDATA[<!-- -- -->]]></svg>");
        assert!(roxmltree::Document::parse(&mended).is_ok(), "{mended}");
        assert!(matches!(with_sound_comments("<svg><!-- a - b --></svg>"), Cow::Borrowed(_)));
    }

    #[test]
    fn short_names_for_namespaces_are_harmless() {
        assert_eq!(dangerous_entity("<!DOCTYPE svg [<!ENTITY ns_svg \"http://www.w3.org/2000/svg\">]>"), None);
        for bad in [
            "<!ENTITY a SYSTEM 'file:///etc/passwd'>",
            "<!ENTITY % a 'x'>",
            "<!ENTITY a '&b;&b;'>",
            "<!ENTITY a '<g/>'>",
            "<!ENTITY a 'unended",
        ] {
            assert_eq!(dangerous_entity(bad), Some(0), "{bad}");
        }
    }

    #[test]
    fn old_encodings_are_read_where_the_file_names_them() {
        let latin = b"<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?><svg id=\"\xfc\"/>";
        assert!(decode(latin).unwrap().contains('\u{fc}'));
        let wide: Vec<u8> =
            [0xff, 0xfe].into_iter().chain("<svg/>".encode_utf16().flat_map(u16::to_le_bytes)).collect();
        assert_eq!(decode(&wide).unwrap(), "<svg/>");
        assert_eq!(decode(b"<svg \xfc/>"), Err(5));
    }
}
