//! Which values a word takes, and how often.

use std::collections::BTreeMap;

/// Different values that are told apart; a program that has more has a value a line.
const MOST: usize = 64;

/// A value and how often it is in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f32,
    /// How often.
    pub times: u32,
}

/// The values that something takes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Used {
    /// How often any value is in use.
    pub times: u32,
    /// Least and greatest.
    pub span: Option<[f32; 2]>,
    /// Each value, the most frequent first; `None`: more than 64 different ones.
    pub values: Option<Vec<Value>>,
}

/// Counts values as they come.
#[derive(Debug, Default)]
pub(super) struct Tally {
    times: u32,
    span: Option<[f32; 2]>,
    /// By the bits of the value, which order as positive numbers do; `latest` comes on top.
    counts: BTreeMap<u32, u32>,
    latest: Option<Value>,
    too_many: bool,
}

impl Tally {
    /// Counts a number that is not negative.
    pub(super) fn take(&mut self, value: f32) {
        self.times += 1;
        match &mut self.latest {
            Some(latest) if latest.value == value => {
                latest.times += 1;
                return;
            }
            _ => {}
        }
        self.put_by();
        self.latest = Some(Value { value, times: 1 });
        let [least, greatest] = self.span.unwrap_or([value; 2]);
        self.span = Some([least.min(value), greatest.max(value)]);
    }

    fn put_by(&mut self) {
        let Some(latest) = self.latest.take().filter(|_| !self.too_many) else {
            return;
        };
        *self.counts.entry(latest.value.to_bits()).or_default() += latest.times;
        self.too_many = self.counts.len() > MOST;
    }

    pub(super) fn used(mut self) -> Used {
        self.put_by();
        let mut values: Vec<Value> =
            self.counts.iter().map(|(&bits, &times)| Value { value: f32::from_bits(bits), times }).collect();
        values.sort_by_key(|value| std::cmp::Reverse(value.times));
        Used { times: self.times, span: self.span, values: (!self.too_many).then_some(values) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn used(values: impl IntoIterator<Item = f32>) -> Used {
        let mut tally = Tally::default();
        values.into_iter().for_each(|value| tally.take(value));
        tally.used()
    }

    #[test]
    fn the_most_frequent_comes_first() {
        let found = used([300.0, 900.0, 900.0, 600.0, 900.0, 300.0]);
        let expected = [(900.0, 3), (300.0, 2), (600.0, 1)].map(|(value, times)| Value { value, times });
        assert_eq!(found, Used { times: 6, span: Some([300.0, 900.0]), values: Some(expected.to_vec()) });
        assert_eq!(used([]), Used { values: Some(Vec::new()), ..Used::default() });
    }

    #[test]
    fn a_value_a_line_is_not_listed() {
        assert_eq!(used((0..64).map(|value| value as f32)).values.map(|values| values.len()), Some(64));
        let found = used((0..1000).map(|value| value as f32));
        assert_eq!((found.times, found.span, found.values), (1000, Some([0.0, 999.0]), None));
    }
}
