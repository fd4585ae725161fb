//! The listing: whatever is done to the window, the line that is looked at is seen in it.

use std::fmt::Write as _;

use crate::common::{Bench, Table, click, settled, strike, table};
use egui::{Key, Modifiers, Rect, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

const SIZE: [f32; 2] = [1280.0, 800.0];

/// A desk whose second program has so many more lines than the first that they do not fit.
fn long<'a>() -> (Bench, Table<'a>) {
    let bench = Bench::new();
    let mut slot = String::from("G21 G90 G94\nT2 M6\nM3 S12000\nG0 X20 Y0 Z20 A0\nG1 Z12 F300\n");
    (0..200).for_each(|step| writeln!(slot, "X{:.2}", 20.0 + 0.05 * f64::from(step)).unwrap());
    slot.push_str("G0 Z20\nM30\n");
    bench.write("slot.nc", &slot);
    let table = table(&bench, SIZE);
    (bench, table)
}

/// Where the line that is marked stands, and where the listing is: from the name of the program to the foot of the window.
fn marked(table: &Table<'_>) -> Option<(String, Rect)> {
    let lines = table.get_all_by_label_contains("line ");
    let mut marked = lines.filter(|it| it.accesskit_node().is_selected() == Some(true));
    let line = marked.next()?;
    assert!(marked.next().is_none());
    Some((line.accesskit_node().label()?, line.rect()))
}

/// The law: the line is there, whole, under the name of its program and over the foot of the window.
fn is_seen(table: &mut Table<'_>, after: &str) {
    settled(table);
    (0..4).for_each(|_| table.step());
    let (line, rect) = marked(table).unwrap_or_else(|| panic!("{after}: no line is marked"));
    let (session, opened) = (&table.state().session, table.state().session.opened.as_ref().unwrap());
    let (program, number) = opened.line_of(session.cursor.focus.unwrap_or(session.cursor.blocks - 1));
    let program = &opened.job.programs[program].file;
    assert!(line.starts_with(&format!("line {number}:")), "{after}: {line}");
    let heads: Vec<Rect> = table.get_all_by_label(program).map(|it| it.rect()).collect();
    let foot = table.ctx.content_rect().bottom() - 24.0;
    let top = heads.iter().map(|it| it.bottom()).fold(f32::MIN, f32::max);
    assert!(rect.top() >= top - 1.0 && rect.bottom() <= foot, "{after}: {line} at {rect:?}, listing {top} to {foot}");
}

#[test]
fn the_line_is_seen_in_a_longer_program_than_the_one_before() {
    for key in [Key::End, Key::PageDown] {
        let (_bench, mut table) = long();
        for start in [Key::Home, Key::ArrowDown, Key::ArrowDown] {
            strike(&mut table, start);
        }
        is_seen(&mut table, "the first lines");
        strike(&mut table, key);
        is_seen(&mut table, &format!("{key:?}"));
        strike(&mut table, Key::ArrowUp);
        is_seen(&mut table, "a line back");
    }
}

#[test]
fn the_line_stays_in_sight_whatever_is_done_to_the_window() {
    let (_bench, mut table) = long();
    for (name, larger) in [("Ctrl +", Key::Plus), ("Ctrl −", Key::Minus)] {
        for step in 0..6 {
            table.key_press_modifiers(Modifiers::COMMAND, larger);
            is_seen(&mut table, &format!("{name}, {step}"));
        }
    }
    table.key_press_modifiers(Modifiers::COMMAND, Key::Num0);
    for pane in [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num4, Key::Num3, Key::Num2, Key::Num1] {
        strike(&mut table, pane);
        if table.state().settings.words {
            is_seen(&mut table, &format!("{pane:?}"));
        }
    }
    for size in [[1024.0, 700.0], [2560.0, 1440.0], [800.0, 500.0], [1280.0, 800.0]] {
        table.set_size(size.into());
        is_seen(&mut table, &format!("{size:?}"));
    }
    let edge = table.get_by_label("Edge under the skin").rect().center();
    for step in 1..8 {
        let to = edge + vec2(0.0, 12.0 * step as f32);
        table.drag_at(edge + vec2(0.0, 12.0 * (step - 1) as f32));
        table.step();
        table.hover_at(to);
        table.step();
        table.drop_at(to);
        is_seen(&mut table, &format!("the edge dragged {step}"));
    }
}

#[test]
fn who_scrolls_by_hand_is_left_alone_until_another_line_is_looked_at() {
    let (_bench, mut table) = long();
    let (_, rect) = marked(&table).unwrap();
    table.hover_at(rect.center());
    table.step();
    let wheel = |table: &mut Table<'_>| {
        let (unit, delta) = (egui::MouseWheelUnit::Point, vec2(0.0, 900.0));
        let (phase, modifiers, source) = (egui::TouchPhase::Move, Modifiers::NONE, egui::MouseWheelSource::Wheel);
        table.event(egui::Event::MouseWheel { unit, delta, phase, modifiers, source });
        (0..10).for_each(|_| table.step());
    };
    wheel(&mut table);
    assert!(marked(&table).is_none());
    table.key_press_modifiers(Modifiers::COMMAND, Key::Plus);
    (0..6).for_each(|_| table.step());
    assert!(marked(&table).is_none());
    strike(&mut table, Key::ArrowUp);
    is_seen(&mut table, "a line back");
}

#[test]
fn a_line_that_is_clicked_stays_under_the_pointer() {
    let (_bench, mut table) = long();
    let rect = table.get_all_by_label_contains("line 203: ").next().unwrap().rect();
    click(&mut table, rect.center(), Modifiers::NONE);
    is_seen(&mut table, "the click");
    let (line, now) = marked(&table).unwrap();
    assert!(line.starts_with("line 203:") && (now.top() - rect.top()).abs() < 1.0, "{line} {rect:?} {now:?}");
}

#[test]
fn the_feed_is_told_in_the_unit_that_the_program_gives_it_in() {
    let bench = Bench::new();
    let inches =
        "G20 G17 G90 G94\nM3 S12000\nG0 X1.5 Y0 Z.8 A0\nG1 Z.4 F12\nG1 A360 F900\nX1.6 A370 F8\nG0 Z.8\nM5\nM30\n";
    bench.write("peg.nc", inches);
    let table = table(&bench, SIZE);
    let opened = table.state().session.opened.clone().unwrap();
    let feeds: Vec<String> = (0..opened.blocks())
        .filter(|block| opened.line_of(*block).0 == 0)
        .filter_map(|block| opened.modes(block).split(' ').find(|word| word.starts_with('F')).map(str::to_owned))
        .collect();
    assert_eq!(feeds, ["F12", "F900", "F8"]);
}
