//! `dryturn doctor`: what pictures can be drawn with.

use std::fmt::Write as _;

use dryturn_render::{Adapter, Gpu, Wish};
use dryturn_report::plain;

use crate::{REFUSED, print, tell};

/// Lists the adapters, starts the one that would draw, and says why it is that one.
pub(crate) fn examine(adapter: Option<&str>) -> u8 {
    // What keeps them from being listed keeps one from being opened too, and is told there.
    let all = Gpu::list().unwrap_or_default();
    if !all.is_empty() {
        let code = print(&listed(&all));
        if code != 0 {
            return code;
        }
    }
    match Gpu::open(&Wish { adapter: adapter.map(str::to_owned) }) {
        Ok(gpu) => print(&chosen(&gpu)),
        Err(error) => {
            tell(&format!("error: {}", plain(&error.to_string())));
            REFUSED
        }
    }
}

fn listed(all: &[Adapter]) -> String {
    let mut text = String::from("Adapters\n");
    for (number, adapter) in all.iter().enumerate() {
        let Adapter { name, backend, driver, kind, most_bytes, lacks, .. } = adapter;
        let _ = writeln!(text, "  {number} {}", plain(name));
        let _ = writeln!(text, "      {kind}; by {backend}, driver {}", plain(driver));
        let megabytes = most_bytes >> 20;
        let _ = writeln!(text, "      {megabytes} MB at most for the triangles of a body");
        if let Some(lacks) = lacks {
            let _ = writeln!(text, "      it cannot draw these pictures: it lacks {lacks}");
        }
    }
    text
}

fn chosen(gpu: &Gpu) -> String {
    let Adapter { name, is_software, .. } = gpu.about();
    let mut text = format!("\nPictures are drawn by {}, as {}. It was started and is ready.\n", plain(name), gpu.why());
    if *is_software {
        text.push_str(
            "It is a program and no card: a picture takes seconds instead of a moment, and looks the same.\n",
        );
    }
    text
}
