//! Which rows have become slower.

use std::fmt;

use serde_json::Value;

/// Work, pitch and number of threads.
type Key = (String, String, u64);

/// The least time of each row, s, in the order in which they first came.
#[derive(Default)]
pub(crate) struct Times {
    rows: Vec<(Key, f64)>,
}

impl Times {
    /// Takes in the rows of a run, a JSON object a line.
    pub(crate) fn add(&mut self, printed: &str) -> Result<(), String> {
        for line in printed.lines() {
            self.add_line(line).ok_or(format!("not a row of the benchmark: {line}"))?;
        }
        Ok(())
    }

    fn add_line(&mut self, line: &str) -> Option<()> {
        let row: Value = serde_json::from_str(line).ok()?;
        for time in row["seconds"].as_array()? {
            let key = (row["work"].as_str()?.to_owned(), row["pitch"].to_string(), time["threads"].as_u64()?);
            let seconds = time["seconds"].as_f64()?;
            match self.rows.iter_mut().find(|(other, _)| *other == key) {
                Some((_, least)) => *least = least.min(seconds),
                None => self.rows.push((key, seconds)),
            }
        }
        Some(())
    }

    fn of(&self, key: &Key) -> Option<f64> {
        self.rows.iter().find(|(other, _)| other == key).map(|&(_, seconds)| seconds)
    }
}

/// What a row must pass, both of it, to count as slower.
pub(crate) struct Bounds {
    /// Share of the time it took before.
    pub(crate) share: f64,
    /// s.
    pub(crate) seconds: f64,
}

impl Bounds {
    fn are_passed(&self, before: f64, after: f64) -> bool {
        let more = after - before;
        more > self.share * before && more > self.seconds
    }
}

/// A row of the table.
#[derive(Debug, PartialEq)]
pub(crate) struct Compared {
    key: Key,
    before: Option<f64>,
    after: Option<f64>,
    pub(crate) is_slower: bool,
}

/// All rows of both; those that only one has are no slower.
pub(crate) fn compare(base: &Times, head: &Times, bounds: &Bounds) -> Vec<Compared> {
    let gone = base.rows.iter().filter(|(key, _)| head.of(key).is_none());
    let keys = head.rows.iter().chain(gone).map(|(key, _)| key);
    keys.map(|key| {
        let (before, after) = (base.of(key), head.of(key));
        let is_slower = before.zip(after).is_some_and(|(before, after)| bounds.are_passed(before, after));
        Compared { key: key.clone(), before, after, is_slower }
    })
    .collect()
}

impl fmt::Display for Compared {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (work, pitch, threads) = &self.key;
        let cell = |seconds: Option<f64>| seconds.map_or("–".to_owned(), |seconds| format!("{seconds:.4}"));
        let change = match (self.before, self.after) {
            (Some(before), Some(after)) => format!("{:+.1} %", 100.0 * (after / before - 1.0)),
            (None, _) => "new".to_owned(),
            (_, None) => "gone".to_owned(),
        };
        let verdict = if self.is_slower { "slower" } else { "" };
        let (before, after) = (cell(self.before), cell(self.after));
        write!(f, "| {work} | {pitch} | {threads} | {before} | {after} | {change} | {verdict} |")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOUNDS: Bounds = Bounds { share: 0.05, seconds: 0.010 };

    fn times(rows: &[(&str, f64)]) -> Times {
        let mut times = Times::default();
        for (work, seconds) in rows {
            let line = format!(r#"{{"work":"{work}","pitch":0.25,"seconds":[{{"threads":1,"seconds":{seconds}}}]}}"#);
            times.add(&line).unwrap();
        }
        times
    }

    fn slower(before: f64, after: f64) -> bool {
        compare(&times(&[("helix", before)]), &times(&[("helix", after)]), &BOUNDS)[0].is_slower
    }

    #[test]
    fn both_bounds_must_be_passed() {
        assert!(slower(1.0, 1.06) && slower(0.1, 0.12));
        // 8 ms are nothing, even if they are 80 %; 4 % are nothing, even if they are 40 ms.
        assert!(!slower(0.010, 0.018) && !slower(1.0, 1.04));
        assert!(!slower(1.0, 1.0) && !slower(1.0, 0.5));
    }

    #[test]
    fn a_bound_that_is_just_reached_is_not_passed() {
        let bounds = Bounds { share: 0.25, seconds: 0.125 };
        assert!(!bounds.are_passed(1.0, 1.25) && bounds.are_passed(1.0, 1.26));
        assert!(!bounds.are_passed(0.25, 0.375) && bounds.are_passed(0.25, 0.376));
    }

    #[test]
    fn the_least_time_of_all_rounds_counts() {
        let base = times(&[("helix", 1.2), ("helix", 1.0), ("helix", 1.5)]);
        assert_eq!(base.of(&("helix".into(), "0.25".into(), 1)), Some(1.0));
        assert!(!compare(&base, &times(&[("helix", 2.0), ("helix", 1.01)]), &BOUNDS)[0].is_slower);
    }

    #[test]
    fn rows_of_one_side_are_told_and_no_slower() {
        let compared = compare(&times(&[("old", 1.0), ("both", 1.0)]), &times(&[("both", 2.0), ("new", 9.0)]), &BOUNDS);
        let rows: Vec<String> = compared.iter().map(ToString::to_string).collect();
        assert_eq!(
            rows,
            [
                "| both | 0.25 | 1 | 1.0000 | 2.0000 | +100.0 % | slower |",
                "| new | 0.25 | 1 | – | 9.0000 | new |  |",
                "| old | 0.25 | 1 | 1.0000 | – | gone |  |",
            ]
        );
    }

    #[test]
    fn pitches_and_threads_are_rows_of_their_own() {
        let mut times = Times::default();
        let row = |pitch| {
            format!(
                r#"{{"work":"a","pitch":{pitch},"seconds":[{{"threads":1,"seconds":4}},{{"threads":2,"seconds":2}}]}}"#
            )
        };
        times.add(&format!("{}\n{}\n", row("0.25"), row("0.1"))).unwrap();
        assert_eq!(times.rows.len(), 4);
        assert_eq!(times.of(&("a".into(), "0.1".into(), 2)), Some(2.0));
    }

    #[test]
    fn what_is_not_a_row_is_an_error() {
        for line in ["| a | b |", "{}", r#"{"work":"a","pitch":1,"seconds":[{"threads":1}]}"#] {
            assert!(Times::default().add(line).is_err(), "{line}");
        }
    }
}
