//! The block before which the piece is shown.

use std::path::Path;

use dryturn_report::plain;
use dryturn_scene::Job;

use crate::arguments::Moment;

/// The first block that has not run yet when a line has run for the first time.
///
/// # Errors
/// What is wrong with the program's name or the line, and what there is.
pub(super) fn block_after(job: &Job, moment: &Moment) -> Result<u32, String> {
    let program = program_of(job, &moment.program)?;
    let run = &job.programs[program];
    let lines = run.program.lines;
    if moment.line > lines {
        return Err(format!("{} has {lines} lines, so none with the number {}", plain(&run.file), moment.line));
    }
    let blocks = job.blocks_of(program);
    let lines: Vec<u32> = blocks.clone().map(|block| job.line_of(block)).collect();
    Ok(blocks.start + ran(&lines, moment.line) as u32)
}

/// How many blocks have run when a line has run for the first time, given the lines of all blocks in their order.
fn ran(lines: &[u32], line: u32) -> usize {
    let first = lines.iter().position(|of| *of >= line).unwrap_or(lines.len());
    first + lines[first..].iter().take_while(|of| **of == line).count()
}

/// Index of a program by its number or the name of its file, with or without folders.
fn program_of(job: &Job, named: &str) -> Result<usize, String> {
    let files: Vec<&str> = job.programs.iter().map(|run| run.file.as_str()).collect();
    let is_named = |file: &str| file == named || Path::new(file).file_name().is_some_and(|name| name == named);
    let found: Vec<usize> = (0..files.len()).filter(|&index| is_named(files[index])).collect();
    let by_number = named.parse::<usize>().ok().filter(|number| (1..=files.len()).contains(number));
    match (&found[..], by_number) {
        ([index], _) => Ok(*index),
        ([], Some(number)) => Ok(number - 1),
        ([], None) => Err(format!("no program is called {}; there are {}", plain(named), listed(&files))),
        _ => Err(format!("{} is more than one program: write its number; there are {}", plain(named), listed(&files))),
    }
}

fn listed(files: &[&str]) -> String {
    let named: Vec<String> = (1..).zip(files).map(|(number, file)| format!("{number} {}", plain(file))).collect();
    named.join(", ")
}

#[cfg(test)]
mod tests {
    use super::ran;

    #[test]
    fn a_line_has_run_when_its_blocks_have() {
        // Line 5 makes three blocks, line 7 none.
        let lines = [3, 4, 5, 5, 5, 6, 9];
        let cases = [(0, 0), (1, 0), (3, 1), (4, 2), (5, 5), (6, 6), (7, 6), (9, 7), (12, 7)];
        for (line, blocks) in cases {
            assert_eq!(ran(&lines, line), blocks, "line {line}");
        }
    }

    #[test]
    fn a_line_that_runs_again_counts_the_first_time() {
        assert_eq!(ran(&[3, 4, 5, 4, 5, 6], 4), 2);
        assert_eq!(ran(&[3, 8, 9, 5], 5), 1);
    }
}
