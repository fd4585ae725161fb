//! The block that says how far the zeros may be off.

use super::page::Page;
use crate::run::Run;
use crate::text::number;
use dryturn_check::{EndedBy, WindowLimit};

/// One paragraph for each zero and each stickout; for a job that hits something already, only what it hits.
pub(super) fn tell(page: &mut Page, run: &Run) {
    let Some(window) = &run.zero_window else { return };
    page.heading("How far the zeros may be off before bodies meet (wood left aside)");
    if let Some(end) = window.together.ended_by.as_ref().filter(|_| window.together.value <= 0.0) {
        return page.paragraph(2, &format!("not at all: as it is {}", meets(run, end)));
    }
    for (name, limits, unit) in
        [("X", &window.x, " mm"), ("Y", &window.y, " mm"), ("Z", &window.z, " mm"), ("A", &window.a, "°")]
    {
        page.paragraph(2, &format!("{name} {}", between(run, limits, unit)));
    }
    page.paragraph(2, &format!("X, Y and Z at once ± {}", limit(run, &window.together, " mm", "nothing met")));
    for row in &window.per_cutter {
        let [less, more] = &row.stickout;
        let less = limit(run, less, " mm", "no more than its flutes");
        let more = limit(run, more, " mm", "nothing met");
        page.paragraph(2, &format!("stickout of cutter {} {less} … {more}", row.cutter));
    }
}

fn between(run: &Run, limits: &[WindowLimit; 2], unit: &str) -> String {
    let [least, greatest] = limits;
    format!("{} … {}", limit(run, least, unit, "nothing met"), limit(run, greatest, unit, "nothing met"))
}

/// `free` says what ends it where nothing is met.
fn limit(run: &Run, limit: &WindowLimit, unit: &str, free: &str) -> String {
    let end = limit.ended_by.as_ref().map_or(free.to_owned(), |end| meets(run, end));
    format!("{}{unit} ({end})", number(limit.value, 2))
}

fn meets(run: &Run, end: &EndedBy) -> String {
    let file = run.programs.get(end.program).map_or("", |program| program.file.as_str());
    let over = if end.moving == "cutter" { "" } else { " over cutter" };
    let which = if end.which > 0 { format!(" {}", end.which) } else { String::new() };
    format!("{}{over} {} meets {}{which}, {file}:{}", end.moving, end.cutter, end.fixed, end.line)
}
