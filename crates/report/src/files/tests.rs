use super::*;

fn files(text: &str) -> Vec<(PathBuf, Vec<u8>)> {
    ["maps/a.npy", "maps/a.png", "report.json"].map(|name| (name.into(), format!("{text} {name}").into())).to_vec()
}

/// Every file below a folder, with what is in it.
fn found(dir: &Path) -> Vec<(String, String)> {
    let mut list = Vec::new();
    let mut folders = vec![dir.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(dir).unwrap().to_string_lossy().replace('\\', "/");
                list.push((name, fs::read_to_string(path).unwrap()));
            }
        }
    }
    list.sort();
    list
}

fn expected(text: &str) -> Vec<(String, String)> {
    let as_text = |(name, bytes): (PathBuf, _)| (name.display().to_string(), String::from_utf8(bytes).unwrap());
    files(text).into_iter().map(as_text).collect()
}

#[test]
fn folders_are_made_and_files_replaced() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = temporary.path().join("deep/out");
    let go_on = AtomicBool::new(false);
    let written = write_all(&dir, &files("old"), &go_on).unwrap();
    assert_eq!(written[2], dir.join("report.json"));
    assert_eq!(found(&dir), expected("old"));
    write_all(&dir, &files("new"), &go_on).unwrap();
    assert_eq!(found(&dir), expected("new"));
}

#[cfg(unix)]
#[test]
fn permissions_are_those_of_any_new_file() {
    use std::os::unix::fs::PermissionsExt;
    let temporary = tempfile::tempdir().unwrap();
    write_all(temporary.path(), &files("new"), &AtomicBool::new(false)).unwrap();
    fs::write(temporary.path().join("plain"), "").unwrap();
    let mode = |name: &str| fs::metadata(temporary.path().join(name)).unwrap().permissions().mode();
    assert_eq!(mode("report.json"), mode("plain"));
}

#[test]
fn an_interrupt_writes_nothing() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = temporary.path().join("out");
    let error = write_all(&dir, &files("new"), &AtomicBool::new(true)).unwrap_err();
    assert!(matches!(error, WriteError::Interrupted));
    assert!(!dir.exists());
}

#[test]
fn an_interrupt_before_the_first_rename_leaves_the_old_files() {
    let mut interrupted = 0;
    for moment in 1..200 {
        let temporary = tempfile::tempdir().unwrap();
        write_all(temporary.path(), &files("old"), &AtomicBool::new(false)).unwrap();
        let (flag, mut steps) = (AtomicBool::new(false), 0);
        let mut raise = |_: Step, _: &Path| {
            steps += 1;
            flag.fetch_or(steps == moment, Ordering::Relaxed);
            Ok(())
        };
        match write_watched(temporary.path(), &files("new"), &flag, &mut raise) {
            Err(WriteError::Interrupted) => assert_eq!(found(temporary.path()), expected("old")),
            Err(error) => panic!("{error}"),
            Ok(_) if flag.into_inner() => assert_eq!(found(temporary.path()), expected("new")),
            Ok(_) => break,
        }
        interrupted = moment;
    }
    assert!(interrupted > 12, "only {interrupted} moments were tried");
}

/// Lets the nth step fail, for every n, over old files and over none.
#[test]
fn a_failure_at_any_step_leaves_no_half_file() {
    for old in [None, Some("old")] {
        let mut failed = 0;
        for fatal in 0..200 {
            let temporary = tempfile::tempdir().unwrap();
            let dir = temporary.path().join("out");
            if let Some(old) = old {
                write_all(&dir, &files(old), &AtomicBool::new(false)).unwrap();
            }
            let (mut steps, mut renaming) = (0, false);
            let mut fail = |step: Step, _: &Path| {
                steps += 1;
                let now = steps - 1 == fatal;
                renaming |= step == Step::Rename && !now || step == Step::FlushFolder;
                if now { Err(ErrorKind::StorageFull.into()) } else { Ok(()) }
            };
            let result = write_watched(&dir, &files("new"), &AtomicBool::new(false), &mut fail);
            let Err(error) = result else { break };
            failed += 1;
            assert!(error.to_string().contains("make room on the disk"), "{error}");
            let (new, old) = (expected("new"), old.map(expected).unwrap_or_default());
            let there = found(&dir);
            assert!(there.iter().all(|file| new.contains(file) || old.contains(file)), "step {fatal}: {there:?}");
            if !renaming {
                assert_eq!(there, old, "step {fatal}");
                assert_eq!(dir.exists(), !old.is_empty(), "step {fatal}");
            }
        }
        assert!(failed > 12, "only {failed} steps were tried");
    }
}

/// What a power cut leaves follows from the order: all flushed, then all renamed, then the folders flushed.
#[test]
fn nothing_is_renamed_before_everything_is_flushed() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = temporary.path().join("out");
    let mut log = Vec::new();
    let mut note = |step: Step, path: &Path| {
        log.push((step, path.to_owned()));
        Ok(())
    };
    write_watched(&dir, &files("new"), &AtomicBool::new(false), &mut note).unwrap();
    let kinds: Vec<Step> = log.iter().map(|(step, _)| *step).collect();
    let first = |step| kinds.iter().position(|&kind| kind == step).unwrap();
    let last = |step| kinds.iter().rposition(|&kind| kind == step).unwrap();
    assert!(last(Step::Write) < first(Step::Rename) && last(Step::Rename) < first(Step::FlushFolder));
    for folder in [temporary.path().to_owned(), dir.clone(), dir.join("maps")] {
        assert!(log.contains(&(Step::FlushFolder, folder.clone())), "{}", folder.display());
    }
    let renamed: Vec<_> = log.iter().filter(|(step, _)| *step == Step::Rename).map(|(_, path)| path).collect();
    assert_eq!(renamed[2], &dir.join("report.json"));
}

#[test]
fn a_file_where_a_folder_should_be_is_named() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = temporary.path().join("out");
    fs::write(&dir, "a file").unwrap();
    let error = write_all(&dir, &files("new"), &AtomicBool::new(false)).unwrap_err().to_string();
    assert!(error.contains("out") && error.contains("a file stands where a folder is needed"), "{error}");
    assert_eq!(fs::read_to_string(&dir).unwrap(), "a file");
}

#[test]
fn a_folder_where_a_file_should_be_is_named() {
    let temporary = tempfile::tempdir().unwrap();
    fs::create_dir(temporary.path().join("report.json")).unwrap();
    let error = write_all(temporary.path(), &files("new"), &AtomicBool::new(false)).unwrap_err().to_string();
    assert!(error.contains("report.json") && error.contains("a folder stands where a file is needed"), "{error}");
    assert_eq!(found(temporary.path()), []);
}

#[test]
fn a_refusal_says_what_to_do() {
    let refuse = |kind: ErrorKind| {
        let temporary = tempfile::tempdir().unwrap();
        let mut refuse = |_: Step, _: &Path| Err(kind.into());
        let dir = temporary.path().join("out");
        write_watched(&dir, &files("new"), &AtomicBool::new(false), &mut refuse).unwrap_err().to_string()
    };
    assert!(refuse(ErrorKind::PermissionDenied).contains("choose a folder you may write in"));
    assert!(refuse(ErrorKind::ReadOnlyFilesystem).contains("cannot make this folder"));
}

#[test]
fn names_may_not_leave_the_folder_or_come_twice() {
    let temporary = tempfile::tempdir().unwrap();
    for name in ["../out.json", "/etc/out.json", "", "maps/../../x", "."] {
        let files = [(PathBuf::from(name), vec![])];
        let error = write_all(temporary.path(), &files, &AtomicBool::new(false)).unwrap_err();
        assert!(matches!(error, WriteError::Name { .. }), "{name}");
    }
    let twice = [(PathBuf::from("a"), vec![]), (PathBuf::from("a"), vec![])];
    assert!(write_all(temporary.path(), &twice, &AtomicBool::new(false)).is_err());
    assert_eq!(found(temporary.path()), []);
}

#[test]
fn files_of_several_folders_appear_together_or_not_at_all() {
    let temporary = tempfile::tempdir().unwrap();
    let files = ["one/a.sarif", "b.xml"].map(|name| (temporary.path().join(name), b"text".to_vec()));
    assert!(matches!(write_each(&files, &AtomicBool::new(true)), Err(WriteError::Interrupted)));
    fs::create_dir(temporary.path().join("b.xml")).unwrap();
    assert!(write_each(&files, &AtomicBool::new(false)).unwrap_err().to_string().contains("b.xml"));
    assert_eq!(found(temporary.path()), []);
    fs::remove_dir(temporary.path().join("b.xml")).unwrap();
    write_each(&files, &AtomicBool::new(false)).unwrap();
    assert_eq!(found(temporary.path()).len(), 2);
}
