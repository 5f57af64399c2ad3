//! How much memory a program has used.

/// The most memory this process has held at once, in bytes; `None` where the system does not tell.
#[must_use]
pub fn peak_memory() -> Option<u64> {
    // Linux: "VmHWM: 12345 kB".
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kilobytes: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kilobytes * 1024)
}
