//! Programs that are stopped when the guard is.

use std::io::Read;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::sleep;
use std::time::Duration;

static STOPPED: AtomicBool = AtomicBool::new(false);

/// From now on the usual signals end the guard in order.
pub(crate) fn stop_on_signals() -> Result<(), String> {
    ctrlc::set_handler(|| STOPPED.store(true, Ordering::Relaxed)).map_err(|error| error.to_string())
}

pub(crate) fn is_stopped() -> bool {
    STOPPED.load(Ordering::Relaxed)
}

/// Runs a program to its end; an error if it fails or the guard is stopped. What it prints goes to `to`, and its messages
/// to the terminal.
pub(crate) fn run(command: &mut Command, to: Stdio) -> Result<(), String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let fault = |error: std::io::Error| format!("{name}: {error}");
    if is_stopped() {
        return Err("stopped".into());
    }
    let mut child = command.stdin(Stdio::null()).stdout(to).spawn().map_err(fault)?;
    loop {
        if let Some(status) = child.try_wait().map_err(fault)? {
            // Ctrl-C reaches the child as well.
            return if is_stopped() {
                Err("stopped".into())
            } else if status.success() {
                Ok(())
            } else {
                Err(format!("{name}: {status}"))
            };
        }
        if is_stopped() {
            child.kill().and_then(|()| child.wait()).map_err(fault)?;
            return Err("stopped".into());
        }
        sleep(Duration::from_millis(20));
    }
}

/// What a program prints until its end.
pub(crate) fn output(command: &mut Command) -> Result<String, String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let (mut reader, writer) = std::io::pipe().map_err(|error| format!("{name}: {error}"))?;
    let printed = std::thread::spawn(move || {
        let mut text = String::new();
        reader.read_to_string(&mut text).map(|_| text)
    });
    let ran = run(command, writer.into());
    // The command holds the other end of the pipe, and the reader waits for it to be closed.
    command.stdout(Stdio::null());
    ran?;
    let text = printed.join().map_err(|_| format!("{name}: its output was lost"))?;
    text.map_err(|error| format!("{name}: {error}"))
}
