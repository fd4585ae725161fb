//! Numbers as people read them: few digits, and more only where a comparison would not show without them.

/// Decimals that a value never needs more of.
const MOST: usize = 9;
/// Decimals with which a limit is told whole: a limit is a round number, though perhaps of inches.
const WHOLE: usize = 4;
/// Decimals of lengths that nobody measures more finely.
const THOUSANDTHS: usize = 3;

/// A number of millimetres as people read it: two decimals, three below a tenth.
pub(crate) fn mm(value: f64) -> String {
    if value.abs() < 0.0995 { format!("{value:.3} mm") } else { format!("{value:.2} mm") }
}

/// A number with at most two decimals, none that say nothing.
pub(crate) fn short(value: f64) -> String {
    trimmed(value, 2)
}

/// A number with about three figures.
pub(crate) fn figures(value: f64) -> String {
    trimmed(value, decimals(value))
}

/// A value and the limit it is held against, with about three figures and as many more as show which is the greater.
pub(crate) fn beside(value: f64, limit: f64) -> [String; 2] {
    told_apart(value, limit, decimals(value))
}

/// A range with its unit, and the limit beside it: of a range that passes it whole both ends are told as such.
pub(crate) fn range_beside([low, high]: [f64; 2], limit: f64, unit: &str) -> [String; 2] {
    if low > limit {
        let [low, limit] = beside(low, limit);
        return [format!("{low} {unit} at the least, {} {unit} at the most", figures(high)), limit];
    }
    let [high, limit] = beside(high, limit);
    [format!("{} to {high} {unit}", figures(low)), limit]
}

/// A value beside its limit as [`beside`] has them, but for millimetres, of which thousandths do where they
/// tell the numbers apart; without the unit.
pub(crate) fn mm_beside(value: f64, limit: f64) -> [String; 2] {
    told_apart(value, limit, decimals(value).min(THOUSANDTHS))
}

/// A number of millimetres with about three figures, but no finer than thousandths; without the unit.
pub(crate) fn mm_figures(value: f64) -> String {
    trimmed(value, decimals(value).min(THOUSANDTHS))
}

fn told_apart(value: f64, limit: f64, decimals: usize) -> [String; 2] {
    let told = |count: usize| [trimmed(value, count), trimmed(limit, count.max(WHOLE))];
    let shows = |told: &[String; 2]| {
        let [value_told, limit_told] = [0, 1].map(|at| told[at].parse::<f64>().ok());
        value_told.partial_cmp(&limit_told) == value.partial_cmp(&limit)
    };
    (decimals..MOST).map(told).find(shows).unwrap_or_else(|| told(MOST))
}

/// Decimals that leave about three figures.
fn decimals(value: f64) -> usize {
    let mut power = value.abs();
    let mut count = 0;
    while power < 99.95 && count < MOST - 3 {
        power *= 10.0;
        count += 1;
    }
    if value == 0.0 { 0 } else { count }
}

fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_figures_do_where_they_tell_the_numbers_apart() {
        assert_eq!(beside(47.42, 30.0), ["47.4", "30"]);
        assert_eq!(beside(5.0, 3.175), ["5", "3.175"]);
        assert_eq!(beside(0.02764, 0.02), ["0.0276", "0.02"]);
        assert_eq!(beside(1234.6, 600.0), ["1235", "600"]);
        assert_eq!(range_beside([5.05, 10.04], 10.0, "W"), ["5.05 to 10.04 W", "10"]);
        assert_eq!(range_beside([10.01, 32.0], 10.0, "W"), ["10.01 W at the least, 32 W at the most", "10"]);
        assert_eq!([0.0, 0.0456, 12.34, 100.0].map(figures), ["0", "0.0456", "12.3", "100"]);
        assert_eq!([0.0456, 0.5049, 12.34, 2e-7].map(mm_figures), ["0.046", "0.505", "12.3", "0"]);
    }

    #[test]
    fn what_is_just_beyond_its_limit_gets_the_digits_that_say_so() {
        assert_eq!(beside(0.120_04, 0.12), ["0.12004", "0.12"]);
        assert_eq!(beside(600.4, 600.0), ["600.4", "600"]);
        assert_eq!(beside(1.999_6, 2.0), ["1.9996", "2"]);
        assert_eq!(mm_beside(0.050_000_4, 0.05), ["0.0500004", "0.05"]);
        // The limit has digits of its own that rounding would hide.
        assert_eq!(beside(0.1251, 0.1249), ["0.125", "0.1249"]);
    }

    #[test]
    fn the_greater_number_reads_as_the_greater() {
        for limit in [0.02, 0.3, 1.5, 12.7, 600.0, 18_000.0] {
            for step in 1..=16 {
                for share in [0.5_f64.powi(2 * step), -0.5_f64.powi(2 * step)] {
                    let value = limit * (1.0 + share);
                    let told = beside(value, limit).map(|text| text.parse::<f64>().unwrap());
                    let is_told = told[0] != told[1] && (told[0] > told[1]) == (value > limit);
                    assert!(is_told || (value - limit).abs() < 1e-9, "{value} beside {limit}: {told:?}");
                    assert!((told[0] - value).abs() <= 0.0051 * value, "{value}: {told:?}");
                }
            }
        }
    }
}
