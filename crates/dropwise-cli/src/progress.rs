//! How far the search is, on a terminal.

use std::time::Duration;

use dropwise_formats::LoadedJob;
use dropwise_model::Money;
use dropwise_nest::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::report::amount;

/// Steps of the bar.
const STEPS: u64 = 1000;

/// A line on standard error that follows the search, and is gone when it ends.
#[derive(Debug)]
pub(crate) struct ProgressLine {
    bar: ProgressBar,
}

impl ProgressLine {
    pub(crate) fn new() -> Self {
        let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::stderr());
        // The template is our own and known to be good.
        let style = ProgressStyle::with_template("nesting {bar:20} {elapsed} {wide_msg}")
            .unwrap_or_else(|_| ProgressStyle::default_bar());
        bar.set_style(style.progress_chars("#: "));
        bar.enable_steady_tick(Duration::from_millis(250));
        Self { bar }
    }

    /// A line without a bar, for work of which nobody knows how long it will be.
    pub(crate) fn without_bar(word: &str) -> Self {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
        let style = ProgressStyle::with_template("{prefix} {elapsed} {wide_msg}");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        bar.set_prefix(word.to_owned());
        bar.enable_steady_tick(Duration::from_millis(250));
        Self { bar }
    }

    pub(crate) fn tell(&self, message: String) {
        self.bar.set_message(message);
    }

    pub(crate) fn show(&self, loaded: &LoadedJob, progress: &Progress, is_stopping: bool) {
        self.bar.set_position((progress.fraction * STEPS as f64) as u64);
        let message = if is_stopping {
            "stopping with the best so far; Ctrl-C again aborts".to_owned()
        } else {
            message(loaded, progress)
        };
        self.bar.set_message(message);
    }

    pub(crate) fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

/// The best so far in a few words.
fn message(loaded: &LoadedJob, progress: &Progress) -> String {
    let cost = amount(loaded, Money::round(progress.cost)).replace('\u{a0}', " ");
    let missing = match progress.missing {
        0 => "all placed".to_owned(),
        1 => "1 part missing".to_owned(),
        count => format!("{count} parts missing"),
    };
    format!("{missing}, metal {cost}, yield {:.1} %", progress.yield_ratio * 100.0)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;

    #[test]
    fn the_best_so_far_in_words() {
        let text = "currency = \"USD\"\ndefaults = { material = \"mild steel\", thickness = 2 }\nclearances = { process = \"laser\" }\n\
                    parts = [{ name = \"p\", circle = { diameter = 9 } }]\nsheets = [{ name = \"s\", circle = { diameter = 90 } }]\n";
        let loaded = dropwise_formats::parse_job(Path::new("job.toml"), text).unwrap();
        let mut progress = Progress {
            rounds: 3,
            fraction: 0.1,
            elapsed: Duration::from_secs(1),
            cost: 1234.4,
            yield_ratio: 0.7126,
            missing: 0,
            evaluations: 9,
            ..Progress::default()
        };
        assert_eq!(message(&loaded, &progress), "all placed, metal USD 12.34, yield 71.3 %");
        progress.missing = 2;
        assert_eq!(message(&loaded, &progress), "2 parts missing, metal USD 12.34, yield 71.3 %");
    }
}
