//! What pictures can be drawn with, as the command tells it.

use crate::workshop::{Workshop, skipped};

#[test]
fn without_an_adapter_the_package_to_install_is_named() {
    let workshop = Workshop::new();
    let mut command = workshop.command("doctor");
    // An interface by which this machine has nothing, whatever is installed.
    let output = command.env("WGPU_BACKEND", "vulkan").env("VK_DRIVER_FILES", "/nowhere.json").output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(output.stdout.is_empty());
    assert!(told.contains("no graphics adapter was found") && told.contains("mesa-vulkan-drivers"), "{told}");
}

#[test]
fn with_an_adapter_it_is_told_which_one_draws_and_why() {
    let workshop = Workshop::new();
    let run = workshop.run("doctor");
    if run.code != 0 {
        let is_required = std::env::var_os("DRYTURN_REQUIRE_ADAPTER").is_some_and(|it| it == "1");
        assert!(!is_required, "{}", run.stderr);
        skipped(&run.stderr);
        return;
    }
    assert!(run.stdout.starts_with("Adapters\n  0 "), "{}", run.stdout);
    assert!(
        run.stdout.contains("Pictures are drawn by ") && run.stdout.contains("It was started and is ready."),
        "{}",
        run.stdout
    );
    let refused = workshop.expect(2, "doctor --adapter no-such-thing");
    assert!(
        refused.stderr.contains("no graphics adapter is called `no-such-thing`; there are: 0 "),
        "{}",
        refused.stderr
    );
}

#[test]
fn an_interface_that_there_is_not_is_refused_with_those_that_there_are() {
    let workshop = Workshop::new();
    let output = workshop.command("doctor").env("WGPU_BACKEND", "vulkan,foo").output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{told}");
    assert!(told.contains("WGPU_BACKEND asks for `foo`") && told.contains("it may name: vulkan"), "{told}");
}
