//! `dryturn still`: what can be asked, what comes of it, and that nothing half-written is left.

use tiny_skia::Pixmap;

use crate::workshop::Workshop;

/// A peg of maple with a groove around it, held in a chuck.
const SCENE: &str = "\
format = 1
title = \"A peg\"
blank = { diameter = 30, length = 80, material = \"hard maple\" }
chuck = { hold = 15, body = { diameter = 60, length = 30 }, jaws = { count = 3, width = 10, length = 15, height = 12 } }
program = [{ file = \"peg.nc\" }, { file = \"slot.nc\" }]
cutter = [{ diameter = 6 }, { number = 2, name = \"small\", diameter = 4 }]
target = { file = \"peg.csv\" }
grid = { pitch = 0.8 }
";
const PEG: &str = "G21 G17 G90 G94\nM3 S12000\nG0 X40 Y0 Z20 A0\nG1 Z10 F300\nG1 A360 F900\nG0 Z20\nM5\nM30\n";
const SLOT: &str = "G21 G90 G94\nT2 M6\nM3 S12000\nG0 X20 Y0 Z20 A0\nG1 Z12 F300\nX30\nG0 Z20\nM30\n";
const TARGET: &str = "0,15\n37,15\n37,9\n43,9\n43,15\n65,15\n";
/// Small pictures are made quickly.
const SMALL: &str = "--size 240x160 --samples 1";

fn peg() -> Workshop {
    Workshop::with(&[("scene.toml", SCENE), ("peg.nc", PEG), ("slot.nc", SLOT), ("peg.csv", TARGET)])
}

fn picture(workshop: &Workshop, name: &str) -> Pixmap {
    Pixmap::decode_png(&workshop.files()[name]).unwrap()
}

/// The picture of a command; `None` where nothing draws.
fn shown(workshop: &Workshop, options: &str) -> Option<Pixmap> {
    workshop.drawn(&format!("still . -o still.png {SMALL} {options}"))?;
    Some(picture(workshop, "still.png"))
}

/// Share of the pixels in which two pictures differ by more than a hair.
fn change(one: &Pixmap, other: &Pixmap) -> f64 {
    assert_eq!((one.width(), one.height()), (other.width(), other.height()));
    let channels = |picture: &Pixmap| picture.data().to_vec();
    let (one, other) = (channels(one), channels(other));
    let off = |(a, b): (&[u8], &[u8])| a.iter().zip(b).any(|(a, b)| a.abs_diff(*b) > 6);
    let differing = one.chunks_exact(4).zip(other.chunks_exact(4)).filter(|pair| off(*pair)).count();
    differing as f64 / (one.len() / 4) as f64
}

#[test]
fn a_still_is_written_and_named() {
    let workshop = peg();
    let Some(run) = workshop.drawn(&format!("still . -o pictures/peg.png {SMALL}")) else { return };
    assert_eq!(run.stdout, "pictures/peg.png\n");
    let picture = picture(&workshop, "pictures/peg.png");
    assert_eq!((picture.width(), picture.height()), (240, 160));
    let quiet = workshop.run(&format!("still scene.toml -o peg.png {SMALL} --quiet"));
    assert_eq!((quiet.code, quiet.stdout.as_str(), quiet.stderr.as_str()), (0, "", ""));
}

#[test]
fn the_same_bytes_come_twice_and_with_any_number_of_threads() {
    let workshop = peg();
    let file = |options: &str| {
        workshop.drawn(&format!("still . -o still.png {SMALL} --color gap {options}"))?;
        Some(workshop.files()["still.png"].clone())
    };
    let Some(first) = file("") else { return };
    assert!(
        file("").unwrap() == first && file("--threads 1").unwrap() == first && file("--threads 3").unwrap() == first
    );
}

#[test]
fn after_no_line_it_is_the_blank_and_after_the_last_the_piece() {
    let workshop = peg();
    let Some(piece) = shown(&workshop, "") else { return };
    let at = |moment: &str| shown(&workshop, &format!("--at {moment}")).unwrap();
    let blank = at("peg.nc:0");
    assert!(change(&blank, &piece) > 0.02);
    // The third line only goes there.
    assert_eq!(change(&at("peg.nc:3"), &blank), 0.0);
    assert_eq!(change(&at("slot.nc:8"), &piece), 0.0);
    assert_eq!(change(&at("2:8"), &piece), 0.0);
    let grooved = at("peg.nc:5");
    assert_eq!(change(&at("slot.nc:0"), &grooved), 0.0);
    assert!(change(&grooved, &blank) > 0.02 && change(&grooved, &piece) > 0.001);
}

#[test]
fn moments_that_there_are_not_are_told_with_those_that_there_are() {
    let workshop = peg();
    let refused = |moment: &str| workshop.expect(2, &format!("still . -o still.png --at {moment}")).stderr;
    assert!(refused("peg.nc:9").contains("peg.nc has 8 lines"));
    assert!(refused("pig.nc:2").contains("1 peg.nc, 2 slot.nc"));
    assert!(refused("3:2").contains("no program is called 3"));
    assert!(refused("peg.nc").contains("finial.nc:120"));
    workshop.write("scene.toml", SCENE.replace("slot.nc", "peg.nc"));
    assert!(refused("peg.nc:2").contains("more than one program"));
    assert_eq!(workshop.files().len(), 4);
}

#[test]
fn a_section_shows_the_wood_inside() {
    let workshop = peg();
    let Some(whole) = shown(&workshop, "--view end") else { return };
    let cut = shown(&workshop, "--view end --section 40").unwrap();
    assert!(change(&whole, &cut) > 0.02);
    // In the middle of the cut is wood: neither white nor black, redder than blue.
    for options in
        ["--view end --section 40", "--view front --section lengthwise", "--view front --section 0,0,0/0,-1,0"]
    {
        let picture = shown(&workshop, options).unwrap();
        let pixel = picture.pixel(120, 80).unwrap();
        assert!(pixel.red() > pixel.blue() + 20 && pixel.red() > 60, "{options}: {pixel:?}");
    }
    let nothing = workshop.run("still . -o nothing.png --section -100");
    assert!(nothing.code == 2 && nothing.stderr.contains("nothing to show"), "{}", nothing.stderr);
}

#[test]
fn colours_tell_what_was_asked_and_a_card_explains_them() {
    let workshop = peg();
    let Some(wood) = shown(&workshop, "") else { return };
    for tint in ["cutter", "gap", "radius", "age"] {
        let told = shown(&workshop, &format!("--color {tint}")).unwrap();
        assert!(change(&wood, &told) > 0.05, "{tint}");
        let bare = shown(&workshop, &format!("--color {tint} --no-legend")).unwrap();
        assert!(change(&bare, &told) > 0.02, "{tint}");
    }
    workshop.write("scene.toml", SCENE.replace("target = ", "# target = "));
    let run = workshop.expect(2, "still . -o still.png --color gap");
    assert!(run.stderr.contains("[target]"), "{}", run.stderr);
}

#[test]
fn holding_dimensions_grounds_and_views_change_the_picture() {
    let workshop = peg();
    let Some(plain) = shown(&workshop, "") else { return };
    for option in ["--holding", "--dimensions", "--ground plain", "--view back", "--view -20,40", "--view 30,20,900"] {
        assert!(change(&plain, &shown(&workshop, option).unwrap()) > 0.005, "{option}");
    }
    let clear = shown(&workshop, "--ground transparent").unwrap();
    assert_eq!(clear.pixel(0, 0).unwrap().alpha(), 0);
    assert_eq!(clear.pixel(120, 80).unwrap().alpha(), 255);
}

#[test]
fn a_turntable_is_a_row_of_files_or_one_that_moves() {
    let workshop = peg();
    if workshop.drawn(&format!("still . -o peg.png --turntable 4 {SMALL}")).is_none() {
        return;
    }
    let frames: Vec<Pixmap> = (1..=4).map(|number| picture(&workshop, &format!("peg-00{number}.png"))).collect();
    assert!(frames.windows(2).all(|pair| change(&pair[0], &pair[1]) > 0.05));
    workshop.drawn(&format!("still . -o peg.apng --turntable 4 {SMALL}"));
    let file = workshop.files()["peg.apng"].clone();
    let chunks = |name: &[u8]| file.windows(4).filter(|bytes| *bytes == name).count();
    assert_eq!((chunks(b"acTL"), chunks(b"fcTL")), (1, 4));
    // Its first picture shows where animations do not.
    assert!(change(&Pixmap::decode_png(&file).unwrap(), &frames[0]) < 1e-9);
}

#[test]
fn what_makes_no_sense_is_refused_before_anything_is_written() {
    let workshop = peg();
    let cases = [
        ("-o still.gif", "the ending does not say what to write"),
        ("-o still.apng", "add --turntable"),
        ("-o still.png --size 20", "2400x1600"),
        ("-o still.png --view askew", "three-quarter"),
        ("-o still.png --section askew", "lengthwise"),
        ("-o still.png --samples 0", "--samples"),
        ("-o still.png --turntable 1", "--turntable"),
        ("-o still.png --color red", "cutter"),
        ("-o still.html --section 40", "leave --section out"),
        ("-o still.html --turntable 9", "leave --turntable out"),
        ("-o still.html --color age", "leave --color out"),
        ("-o still.html --ground plain", "leave --ground out"),
        ("-o still.html --no-legend", "leave --no-legend out"),
    ];
    for (options, told) in cases {
        let run = workshop.expect(2, &format!("still . {options}"));
        assert!(run.stderr.contains(told), "{options}: {}", run.stderr);
    }
    workshop.write("broken.toml", "format = 1\n");
    let run = workshop.expect(2, "still broken.toml -o still.png");
    assert!(run.stderr.contains("broken.toml"), "{}", run.stderr);
    assert_eq!(workshop.files().len(), 5);
}

#[test]
fn what_would_show_nothing_is_told() {
    let workshop = peg();
    let Some(run) = workshop.drawn(&format!("still . -o still.png {SMALL} --view front --section 500")) else { return };
    assert!(run.stderr.contains("the section passes the piece by at 435.0 mm"), "{}", run.stderr);
    let cases = [
        ("--view chuck --section 500", "takes all of the piece away, whose nearest lies 435.0 mm"),
        ("--view 0,0,5", "at 5 mm from its middle the eye stands within the piece"),
        ("--view 0,0,2 --turntable 2", "at 2 mm from its middle the eye stands within the piece"),
    ];
    for (options, told) in cases {
        let run = workshop.expect(2, &format!("still . -o none.png {SMALL} {options}"));
        assert!(run.stderr.contains(told), "{options}: {}", run.stderr);
    }
    assert!(workshop.files().keys().all(|name| !name.starts_with("none")));
    // Seen along its axis its ends lie behind the eye or before it.
    let run = workshop.expect(0, &format!("still . -o some.png {SMALL} --view 0,10,5 --turntable 3"));
    assert!(run.stderr.contains("2 of the 3 views show nothing of the piece"), "{}", run.stderr);
    // From afar it is small, but seen.
    workshop.expect(0, &format!("still . -o far.png {SMALL} --view 0,10,3000"));
}

#[test]
fn a_card_lies_beside_what_fills_the_picture() {
    let workshop = peg();
    let Some(bare) = shown(&workshop, "--color radius --view 0,10,60 --no-legend") else { return };
    let told = shown(&workshop, "--color radius --view 0,10,60").unwrap();
    assert_eq!((told.width(), told.height()), (bare.width(), bare.height()));
    let corners = |picture: &Pixmap| {
        [0, picture.width() - 1].map(|x| picture.pixel(x, 0).unwrap()).map(|it| [it.red(), it.green(), it.blue()])
    };
    // The card's paper goes up all the way, and the picture goes on to the other side.
    let paper = told.pixels()[told.pixels().len() - told.width() as usize];
    let paper = [paper.red(), paper.green(), paper.blue()];
    assert!(paper.iter().all(|part| *part > 240), "{paper:?}");
    let is_paper = |corner: &&[u8; 3]| **corner == paper;
    assert_eq!(corners(&bare).iter().filter(is_paper).count(), 0);
    assert_eq!(corners(&told).iter().filter(is_paper).count(), 1);
}

#[test]
fn without_an_adapter_the_package_is_named_and_a_page_goes_without_its_picture() {
    let workshop = peg();
    let without = |arguments: &str| {
        let mut command = workshop.command(arguments);
        // No driver is found there, by the loader's own variables.
        command.env("WGPU_BACKEND", "vulkan").env("VK_DRIVER_FILES", "/nowhere").env("VK_ICD_FILENAMES", "/nowhere");
        crate::workshop::Run::of(command.output().unwrap())
    };
    let run = without("still . -o still.png");
    assert!(run.code == 2 && run.stderr.contains("mesa-vulkan-drivers"), "{}", run.stderr);
    let run = without("still . -o still.html");
    assert!(run.code == 0 && run.stderr.contains("the page has no picture"), "{}", run.stderr);
    assert_eq!(workshop.files().len(), 5);
    assert!(!workshop.read("still.html").contains("<img"));
    // Neither does one that cannot draw it stand in the way of a page.
    let mut command = workshop.command("still . -o unfit.html");
    command.env("VK_DRIVER_FILES", "/nowhere").env("VK_ICD_FILENAMES", "/nowhere");
    let run = crate::workshop::Run::of(command.output().unwrap());
    assert!(run.code == 0 && run.stderr.contains("the page has no picture"), "{}", run.stderr);
}
