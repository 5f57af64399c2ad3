//! What the search is told of cutting by hand.

use dropwise_formats::LoadedJob;
use dropwise_nest::HandWork;
use dropwise_shop::cutplan::coins_per_set_up;

/// What cutting by hand costs in a job: nothing where its process is a machine's, or none is named.
pub(crate) fn hand_work(loaded: &LoadedJob) -> HandWork {
    loaded
        .process
        .map_or_else(HandWork::default, |process| HandWork::by_set_up(coins_per_set_up(process, &loaded.rates)))
}
