//! Times, loads and the course of a run, as rows of the file format.

use super::Number;
use super::rows::{BandRow, BatchRow, BlocksRow, CutterRow, EngagementRow, JobRow, LoadRow, LoadsRow, SeriesRow};
use crate::run::{BlockRow, Blocks, Load, Loads, Series, Slice};
use dryturn_check::load::{Engagement, Grain};
use dryturn_check::{CutterTimes, Ends, JobTimes, Moment};

pub(super) fn cutter(times: &CutterTimes) -> CutterRow {
    CutterRow {
        cutter: times.cutter,
        cut_s: Number(times.cut_s),
        air_s: Number(times.air_s),
        rapid_s: Number(times.rapid_s),
    }
}

pub(super) fn job(times: &JobTimes) -> JobRow {
    JobRow {
        cut_s: Number(times.cut_s),
        air_s: Number(times.air_s),
        rapid_s: Number(times.rapid_s),
        dwell_s: Number(times.dwell_s),
        change_s: times.change_s.map(Number),
        changes: times.changes,
        air_share: Number(times.air_share),
        loading_s: times.loading_s.map(Number),
        unwinding_s: times.unwinding_s.map(Number),
        batch: times.batch.map(|batch| BatchRow { pieces: batch.pieces, total_s: Number(batch.total_s) }),
    }
}

pub(super) fn loads(loads: &Loads) -> LoadsRow {
    LoadsRow {
        power_w: loads.power.as_ref().map(load),
        torque_nmm: loads.torque.as_ref().map(load),
        force_n: loads.force.as_ref().map(load),
        axial_n: loads.axial.as_ref().map(load),
        spring_mm: loads.spring.as_ref().map(load),
    }
}

fn load(load: &Load) -> LoadRow {
    let [low, high] = load.range.map(Number);
    LoadRow {
        low,
        high,
        limit: load.limit.map(Number),
        breaks: load.breaks,
        program: load.program + 1,
        line: load.line,
        cutter: load.cutter,
    }
}

pub(super) fn series(series: &Series) -> SeriesRow {
    fn column<T>(series: &Series, of: impl Fn(&Slice) -> T) -> Vec<T> {
        series.slices.iter().map(of).collect()
    }
    SeriesRow {
        step_s: Number(series.step_s),
        starts_s: series.starts_s.iter().copied().map(Number).collect(),
        time_s: column(series, |slice| Number(slice.moment.time_s)),
        program: column(series, |slice| slice.program + 1),
        line: column(series, |slice| slice.line),
        cutter: column(series, |slice| slice.cutter),
        removal_mm3_s: column(series, |slice| Number(slice.moment.removal_mm3_s)),
        radius_mm: column(series, |slice| slice.moment.radius_mm.map(Number)),
        engagement: engagement(series),
        clearance_mm: column(series, |slice| slice.moment.clearance_mm.map(Number)),
        power_w: band(series, |moment| moment.power),
        force_n: band(series, |moment| moment.force),
        torque_nmm: band(series, |moment| moment.torque),
        axial_n: band(series, |moment| moment.axial),
        spring_mm: band(series, |moment| moment.spring),
    }
}

pub(super) fn blocks(blocks: &Blocks) -> BlocksRow {
    fn column<T>(blocks: &Blocks, of: impl Fn(&BlockRow) -> T) -> Vec<T> {
        blocks.rows.iter().map(of).collect()
    }
    BlocksRow {
        blocks_a_row: blocks.a_row,
        program: column(blocks, |row| row.program + 1),
        line: column(blocks, |row| row.line),
        start_s: column(blocks, |row| Number(row.times.start_s)),
        taken_s: column(blocks, |row| Number(row.times.taken_s)),
        asked_s: column(blocks, |row| Number(row.times.asked_s)),
        air_s: column(blocks, |row| Number(row.times.air_s)),
    }
}

fn engagement(series: &Series) -> EngagementRow {
    fn column<T>(series: &Series, of: impl Fn(&Engagement) -> Option<T>) -> Vec<Option<T>> {
        series.slices.iter().map(|slice| slice.moment.engagement.as_ref().and_then(&of)).collect()
    }
    EngagementRow {
        width_mm: column(series, |it| Some(Number(it.width))),
        depth_mm: column(series, |it| Some(Number(it.depth))),
        arc_deg: column(series, |it| Some(Number(it.arc.to_degrees()))),
        feed_per_tooth_mm: column(series, |it| it.feed_per_tooth.map(Number)),
        chip_mean_mm: column(series, |it| it.chip_mean.map(Number)),
        chip_greatest_mm: column(series, |it| it.chip_greatest.map(Number)),
        speed_mm_s: column(series, |it| it.speed.map(Number)),
        climbs: column(series, |it| it.is_climb),
        grain: column(series, |it| {
            Some(match it.grain {
                Grain::Across => "across",
                Grain::Along => "along",
                Grain::Uphill => "uphill",
                Grain::Downhill => "downhill",
            })
        }),
    }
}

/// `None` where nothing is known of it.
fn band(series: &Series, of: impl Fn(&Moment) -> Option<Ends>) -> Option<BandRow> {
    let ends: Vec<Option<Ends>> = series.slices.iter().map(|slice| of(&slice.moment)).collect();
    let column = |end: usize| ends.iter().map(|ends| ends.map(|ends| Number(ends[end]))).collect();
    ends.iter().any(Option::is_some).then(|| BandRow { low: column(0), high: column(1) })
}
