//! The page itself: markup, style and script in one answer.

const PAGE: &str = include_str!("page/page.html");
const STYLE: &str = include_str!("page/page.css");
const SCRIPT: &str = include_str!("page/page.js");

/// The page, its style and script allowed by a number used once.
pub(crate) fn page(nonce: &str) -> String {
    PAGE.replace("NONCE", nonce).replacen("STYLE", STYLE, 1).replacen("SCRIPT", SCRIPT, 1)
}

/// What the page may do: its own style and script, and questions to where it came from. Nothing else, from nowhere else.
pub(crate) fn policy(nonce: &str) -> String {
    format!(
        "default-src 'none'; style-src 'nonce-{nonce}'; script-src 'nonce-{nonce}'; connect-src 'self'; img-src data:; \
         base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_brings_all_it_needs() {
        let page = page("abc");
        assert!(page.contains("<script nonce=\"abc\">\n(function") && page.contains("<style nonce=\"abc\">\n:root"));
        for wanted in ["NONCE", "STYLE", "SCRIPT", "http://", "https://", " style=", "onclick"] {
            assert!(!page.contains(wanted), "{wanted}");
        }
    }
}
