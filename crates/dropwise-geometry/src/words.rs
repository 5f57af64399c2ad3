//! Words from a file or from the keyboard, as messages show them.

/// Letters of the longest text that a message shows whole.
const MOST_LETTERS: usize = 60;

/// A text that somebody wrote as a message may show it: no line breaks or other control characters, and cut after 60
/// letters, which `…` shows. A file may hold a name of a megabyte; a message must not.
///
/// # Examples
/// ```
/// use dropwise_geometry::shortened;
/// assert_eq!(shortened("mild steel"), "mild steel");
/// assert_eq!(shortened("two\nlines"), "two\\nlines");
/// assert_eq!(shortened(&"x".repeat(1000)).chars().count(), 61);
/// ```
#[must_use]
pub fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(MOST_LETTERS).flat_map(char::escape_debug).collect();
    if text.chars().nth(MOST_LETTERS).is_some() {
        short.push('…');
    }
    // Quotation marks need no escape in a message.
    short.replace("\\'", "'").replace("\\\"", "\"")
}
