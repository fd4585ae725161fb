//! How long a run takes at the machine and what it asks for, in lines that the summaries share.

use crate::run::{Load, ProgramTime, Run};
use crate::text::{number, trimmed};
use dryturn_check::JobTimes;

/// One sentence a line: the time first, then by cutter, a batch, and the loads that matter first.
pub fn lines(run: &Run) -> Vec<String> {
    let mut lines = times(run);
    if run.times.is_some() {
        lines.extend(loads(run));
    }
    lines
}

/// The same without the loads.
pub(crate) fn times(run: &Run) -> Vec<String> {
    let Some(times) = &run.times else { return Vec::new() };
    let mut lines = vec![whole(times)];
    lines.extend(by_cutter(run));
    lines.extend(batch(times));
    lines
}

fn whole(times: &JobTimes) -> String {
    let mut parts =
        vec![format!("feed moves {}", duration(times.cut_s)), format!("rapids {}", duration(times.rapid_s))];
    if times.dwell_s > 0.0 {
        parts.push(format!("dwells {}", duration(times.dwell_s)));
    }
    if times.changes > 0 {
        let changes =
            if times.changes == 1 { "1 cutter change".to_owned() } else { format!("{} cutter changes", times.changes) };
        parts.push(match times.change_s {
            Some(seconds) => format!("{changes} {}", duration(seconds)),
            None => format!("{changes} not counted"),
        });
    }
    let air = match 100.0 * times.air_share {
        share if share < 10.0 => String::new(),
        share => format!("; {} % of the feed time goes through air", number(share, 0)),
    };
    format!("{} a piece: {}{air}", duration(times.programs_s()), parts.join(", "))
}

fn by_cutter(run: &Run) -> Option<String> {
    let told = |times: &dryturn_check::CutterTimes| {
        format!("cutter {} {}", times.cutter, duration(times.cut_s + times.rapid_s))
    };
    (run.cutters.len() > 1).then(|| run.cutters.iter().map(told).collect::<Vec<_>>().join(", "))
}

/// The batch, or what turning back takes where that is more than a moment.
fn batch(times: &JobTimes) -> Option<String> {
    let back = times.unwinding_s.unwrap_or(0.0);
    let Some(batch) = times.batch else {
        return (back >= 1.0).then(|| format!("turning back for the next piece {}", duration(back)));
    };
    let loading =
        times.loading_s.map_or("loading not counted".to_owned(), |seconds| format!("loading {}", duration(seconds)));
    let pieces_s = f64::from(batch.pieces) * (times.programs_s() + times.loading_s.unwrap_or(0.0) + back);
    let change = if batch.total_s > pieces_s + 0.5 { ", the change back to the first cutter" } else { "" };
    let pieces = if batch.pieces == 1 { "piece" } else { "pieces" };
    Some(format!(
        "{} {pieces} {}: for each {loading}, turning back {}{change}",
        number(f64::from(batch.pieces), 0),
        duration(batch.total_s),
        duration(back)
    ))
}

/// How a spring is told.
const SPRINGS: &str = "springs apart";

/// Power, torque, what pushes along the axis where a limit of it is known, and what springs, or the force where that is not
/// known.
fn loads(run: &Run) -> Vec<String> {
    let line = |name: &str, load: Option<Load>, unit: &str, scale: f64| {
        let load = load?;
        let [low, high] = load.range.map(|end| rounded(end / scale));
        let file = run.programs.get(load.program).map_or("", |program| program.file.as_str());
        let limit = load.limit.map(|limit| format!(" of {}", rounded(limit / scale))).unwrap_or_default();
        let until = if load.breaks && name == SPRINGS { ", when it breaks" } else { "" };
        Some(format!("{name} {low} to {high}{limit} {unit} at the most{until}, {file}:{}", load.line))
    };
    let last = line(SPRINGS, run.loads.spring, "mm", 1.0);
    let first = [
        line("power at the spindle", run.loads.power, "W", 1.0),
        line("torque about the axis", run.loads.torque, "N·m", 1000.0),
        line("push along the axis", run.loads.axial.filter(|load| load.limit.is_some()), "N", 1.0),
        last.or_else(|| line("cutting force", run.loads.force, "N", 1.0)),
    ];
    first.into_iter().flatten().collect()
}

/// Two figures after the point at the most, more only of what is small.
pub(crate) fn rounded(value: f64) -> String {
    trimmed(
        value,
        if value.abs() < 1.0 {
            3
        } else if value.abs() < 10.0 {
            2
        } else {
            1
        },
    )
}

/// All that a program takes, seconds; changes where it is known how long they take.
pub(crate) fn all_of(time: &ProgramTime) -> f64 {
    time.cut_s + time.rapid_s + time.dwell_s + time.change_s.unwrap_or(0.0)
}

/// A time in the unit that suits it.
pub(crate) fn duration(seconds: f64) -> String {
    match seconds {
        _ if seconds < 59.5 => format!("{} s", number(seconds, 0)),
        _ if seconds < 3570.0 => format!("{} min", number(seconds / 60.0, 1)),
        _ => format!("{} h", number(seconds / 3600.0, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::Loads;
    use crate::sample;
    use dryturn_check::CutterTimes;

    #[test]
    fn the_time_comes_first_and_then_three_loads() {
        let mut run = sample::run();
        run.loads.spring = run.loads.force.map(|force| Load { range: [0.04, 0.316], limit: Some(0.3), ..force });
        run.cutters.push(CutterTimes { cutter: 7, cut_s: 20.0, air_s: 0.0, rapid_s: 5.0 });
        let pieces_s = lines(&run);
        assert!(pieces_s[2].ends_with("turning back 1.2 min"), "{}", pieces_s[2]);
        // A minute for each piece but the first.
        run.times.as_mut().unwrap().batch.as_mut().unwrap().total_s += 39.0 * 60.0;
        assert_eq!(
            lines(&run),
            [
                "3.3 min a piece: feed moves 3.1 min, rapids 12 s, 1 cutter change not counted",
                "cutter 1 3.3 min, cutter 7 25 s",
                "40 pieces 4.8 h: for each loading 1.8 min, turning back 1.2 min, the change back to the first cutter",
                "power at the spindle 12.2 to 24.5 W at the most, groove.nc:13",
                "torque about the axis 0.09 to 0.41 N·m at the most, groove.nc:13",
                "springs apart 0.04 to 0.316 of 0.3 mm at the most, groove.nc:13",
            ]
        );
        run.loads.spring = None;
        assert!(lines(&run).last().unwrap().starts_with("cutting force 1.5 to 9.75 N at the most"));
    }

    #[test]
    fn what_is_not_known_is_not_told() {
        let mut run = sample::run();
        run.loads = Loads::default();
        let times = run.times.as_mut().unwrap();
        (times.batch, times.unwinding_s, times.changes, times.change_s) = (None, Some(0.5), 0, Some(0.0));
        times.air_share = 0.31;
        let told = "3.3 min a piece: feed moves 3.1 min, rapids 12 s; 31 % of the feed time goes through air";
        assert_eq!(lines(&run), [told]);
        run.times = None;
        assert!(lines(&run).is_empty());
    }
}
