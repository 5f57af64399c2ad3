//! Labels that crowd each other, moved apart.

/// Heights for labels that want to stand at `wanted` (ascending), at least `pitch` apart, between `top` and `bottom`
/// as far as there is room. Labels that crowd each other spread evenly about the middle of where they want to be.
///
/// # Source
/// Isotonic regression by pooling adjacent violators; textbook, from memory.
pub(crate) fn spread(wanted: &[f64], pitch: f64, top: f64, bottom: f64) -> Vec<f64> {
    // With the pitch taken off, "at least the pitch apart" becomes "not falling".
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (i, &height) in wanted.iter().enumerate() {
        let mut pool = (height - i as f64 * pitch, 1);
        while let Some(&(above, count)) = pools.last()
            && above > pool.0
        {
            pools.pop();
            let both = count + pool.1;
            pool = ((above * count as f64 + pool.0 * pool.1 as f64) / both as f64, both);
        }
        pools.push(pool);
    }
    let mut heights: Vec<f64> = pools.iter().flat_map(|&(level, count)| std::iter::repeat_n(level, count)).collect();
    let last = heights.len().saturating_sub(1) as f64 * pitch;
    for (i, height) in heights.iter_mut().enumerate() {
        // The levels do not fall, so neither do they after both ends are pulled in.
        *height = height.min(bottom - last).max(top) + i as f64 * pitch;
    }
    heights
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_distance_and_stay_in_the_column() {
        assert_eq!(spread(&[10.0, 30.0], 4.0, 0.0, 50.0), [10.0, 30.0]);
        assert_eq!(spread(&[10.0, 10.0, 10.0], 4.0, 0.0, 50.0), [6.0, 10.0, 14.0]);
        assert_eq!(spread(&[1.0, 1.0, 1.0], 4.0, 0.0, 50.0), [0.0, 4.0, 8.0]);
        assert_eq!(spread(&[], 4.0, 0.0, 50.0), Vec::<f64>::new());
        assert_eq!(spread(&[49.0, 50.0, 50.0], 4.0, 0.0, 50.0), [42.0, 46.0, 50.0]);
        assert_eq!(spread(&[-5.0], 4.0, 0.0, 50.0), [0.0]);
    }
}
