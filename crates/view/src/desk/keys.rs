//! What each key does. One table says it all: to the keyboard and to whoever asks with `?`.

use egui::{Key, Modifiers};

use super::Desk;
use crate::session::{Aim, Stride};
use crate::settings::Settings;
use crate::spot::Spot;
use dryturn_geom::angle;

/// How far a key moves the point at the least, points of the screen.
const POINT: f64 = 2.0;

/// Something a key does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Does {
    Step(Stride, bool),
    Start,
    End,
    Finding(bool),
    Owner,
    Point([i8; 2]),
    From,
    Map,
    Paint,
    Cut,
    Holding,
    Cutter,
    Turn(bool),
    Swing(bool),
    Zoom(bool),
    Slide(bool),
    All,
    Pane(usize),
    Words,
    Dark,
    Larger(bool),
    Suited,
    Read,
    PutBack,
    Still,
    Mesh,
    Leave,
    Help,
    Close,
}

/// A key, with Shift or without, how it is written, and what it does in words.
pub(crate) struct Stroke {
    pub(crate) key: Key,
    pub(crate) shift: bool,
    pub(crate) command: bool,
    pub(crate) written: &'static str,
    pub(crate) words: &'static str,
    pub(crate) does: Does,
}

const fn plain(key: Key, written: &'static str, words: &'static str, does: Does) -> Stroke {
    Stroke { key, shift: false, command: false, written, words, does }
}

const fn shifted(key: Key, written: &'static str, words: &'static str, does: Does) -> Stroke {
    Stroke { key, shift: true, command: false, written, words, does }
}

const fn command(key: Key, written: &'static str, words: &'static str, does: Does) -> Stroke {
    Stroke { key, shift: false, command: true, written, words, does }
}

/// All of them, in the order in which they are told.
pub(crate) const STROKES: &[Stroke] = &[
    plain(Key::ArrowRight, "→", "one block on", Does::Step(Stride::Block, true)),
    plain(Key::ArrowLeft, "←", "one block back", Does::Step(Stride::Block, false)),
    plain(Key::ArrowDown, "↓", "one line on", Does::Step(Stride::Line, true)),
    plain(Key::ArrowUp, "↑", "one line back", Does::Step(Stride::Line, false)),
    shifted(Key::ArrowRight, "Shift →", "a hundredth of the run on", Does::Step(Stride::Leap, true)),
    shifted(Key::ArrowLeft, "Shift ←", "a hundredth of the run back", Does::Step(Stride::Leap, false)),
    plain(Key::PageDown, "Page ↓", "to where the next cutter begins", Does::Step(Stride::Cutter, true)),
    plain(Key::PageUp, "Page ↑", "back to where a cutter begins", Does::Step(Stride::Cutter, false)),
    plain(Key::Home, "Home", "before the first block", Does::Start),
    plain(Key::End, "End", "after the last block", Does::End),
    plain(Key::N, "N", "next finding", Does::Finding(true)),
    shifted(Key::N, "Shift N", "finding before", Does::Finding(false)),
    plain(Key::G, "G", "go to when this point was made", Does::Owner),
    command(Key::ArrowRight, "Ctrl ← → ↑ ↓", "the point over the surface", Does::Point([1, 0])),
    command(Key::ArrowLeft, "Ctrl ← → ↑ ↓", "the point over the surface", Does::Point([-1, 0])),
    command(Key::ArrowDown, "Ctrl ← → ↑ ↓", "the point over the surface", Does::Point([0, 1])),
    command(Key::ArrowUp, "Ctrl ← → ↑ ↓", "the point over the surface", Does::Point([0, -1])),
    plain(Key::K, "K", "measure from this point on", Does::From),
    plain(Key::M, "M", "next map on the skin", Does::Map),
    plain(Key::P, "P", "paint the piece with the map", Does::Paint),
    plain(Key::X, "X", "cut open: along, across, whole", Does::Cut),
    plain(Key::H, "H", "holding on or off", Does::Holding),
    plain(Key::T, "T", "cutter on or off", Does::Cutter),
    plain(Key::OpenBracket, "[", "roll the piece away", Does::Turn(false)),
    plain(Key::CloseBracket, "]", "roll the piece here", Does::Turn(true)),
    plain(Key::Comma, ",", "swing to the left", Does::Swing(false)),
    plain(Key::Period, ".", "swing to the right", Does::Swing(true)),
    plain(Key::Plus, "+", "nearer", Does::Zoom(true)),
    plain(Key::Equals, "=", "nearer", Does::Zoom(true)),
    plain(Key::Minus, "−", "farther", Does::Zoom(false)),
    shifted(Key::Comma, "Shift ,", "slide toward the chuck", Does::Slide(false)),
    shifted(Key::Period, "Shift .", "slide toward the free end", Does::Slide(true)),
    plain(Key::F, "F", "all of it, square on; again: the piece", Does::All),
    plain(Key::Num1, "1", "piece on or off", Does::Pane(0)),
    plain(Key::Num2, "2", "skin on or off", Does::Pane(1)),
    plain(Key::Num3, "3", "run on or off", Does::Pane(2)),
    plain(Key::Num4, "4", "words on or off", Does::Words),
    plain(Key::L, "L", "light or dark", Does::Dark),
    command(Key::Plus, "Ctrl +", "larger text", Does::Larger(true)),
    command(Key::Equals, "Ctrl =", "larger text", Does::Larger(true)),
    command(Key::Minus, "Ctrl −", "smaller text", Does::Larger(false)),
    command(Key::Num0, "Ctrl 0", "text that suits the window", Does::Suited),
    plain(Key::R, "R", "read and prove again", Does::Read),
    plain(Key::B, "B", "put back what is tried", Does::PutBack),
    plain(Key::W, "W", "write what is seen as a picture", Does::Still),
    shifted(Key::W, "Shift W", "write the piece as a mesh", Does::Mesh),
    plain(Key::Escape, "Esc", "leave off: this page, measuring, a long work, a note", Does::Leave),
    command(Key::Q, "Ctrl Q", "close the window", Does::Close),
    plain(Key::Questionmark, "?", "these keys", Does::Help),
    shifted(Key::Slash, "?", "these keys", Does::Help),
];

/// Keys that stand for a sign or a digit; where they lie, and whether Shift is needed to strike them, hangs on the keyboard.
const SIGNS: &[Key] = &[
    Key::Plus,
    Key::Equals,
    Key::Minus,
    Key::Questionmark,
    Key::OpenBracket,
    Key::CloseBracket,
    Key::Comma,
    Key::Period,
    Key::Num0,
    Key::Num1,
    Key::Num2,
    Key::Num3,
    Key::Num4,
];

/// Keys that go through the run, unless an edge or words that scroll take them.
const ARROWS: &[Key] = &[Key::ArrowLeft, Key::ArrowRight, Key::ArrowUp, Key::ArrowDown, Key::PageUp, Key::PageDown];

/// What a key stands for as it was struck.
fn stroke_of(key: Key, modifiers: Modifiers) -> Option<&'static Stroke> {
    if modifiers.alt {
        return None;
    }
    let with =
        |shift: bool| STROKES.iter().find(|it| it.key == key && it.shift == shift && it.command == modifiers.command);
    with(modifiers.shift).or_else(|| with(false).filter(|_| SIGNS.contains(&key)))
}

impl Desk {
    /// Does what the keys say that were struck since the last picture.
    pub(super) fn keys(&mut self, ctx: &egui::Context) {
        if let Some(id) = ctx.memory(|memory| memory.focused()) {
            // Arrows belong to the run, Tab goes from one thing to the next.
            let filter = egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
            ctx.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
        }
        let is_typing = ctx.egui_wants_keyboard_input() && ctx.text_edit_focused();
        if is_typing {
            return;
        }
        let struck: Vec<(Key, Modifiers)> = ctx.input(|input| {
            let strokes = input.events.iter().filter_map(|event| match event {
                egui::Event::Key { key, pressed: true, modifiers, .. } => Some((*key, *modifiers)),
                _ => None,
            });
            strokes.collect()
        });
        for (key, modifiers) in struck {
            if (self.takes_arrows || self.is_helping) && ARROWS.contains(&key) {
                continue;
            }
            if let Some(stroke) = stroke_of(key, modifiers) {
                self.does(ctx, stroke.does);
            }
        }
    }

    /// Hides or shows something; what is seen last stays.
    fn hide_or_show(&mut self, which: impl Fn(&mut Settings) -> &mut bool) {
        *which(&mut self.settings) ^= true;
        if !self.settings.shows_anything() {
            *which(&mut self.settings) = true;
            self.session
                .notes
                .push("nothing else is seen, so it stays; 1, 2 and 3 show the pictures, 4 the words".to_owned());
        }
    }

    pub(crate) fn does(&mut self, ctx: &egui::Context, does: Does) {
        match does {
            Does::Step(stride, forward) => self.session.step(stride, forward, true),
            Does::Start => self.session.go(0, true),
            Does::End => self.session.go(u32::MAX, true),
            Does::Finding(forward) => self.session.choose_next(forward),
            Does::Owner => self.session.go_to_maker(),
            Does::Point(by) => self.point(by),
            Does::From => self.session.cursor.from = self.session.cursor.spot,
            Does::Map => self.next_map(),
            Does::Paint => self.settings.painted ^= true,
            Does::Cut => self.settings.cut = self.settings.cut.next(),
            Does::Holding => self.settings.holding ^= true,
            Does::Cutter => self.settings.cutter ^= true,
            Does::Pane(pane) => self.hide_or_show(|settings| &mut settings.shown[pane]),
            Does::Words => self.hide_or_show(|settings| &mut settings.words),
            Does::Dark => self.settings.dark ^= true,
            Does::Larger(more) => {
                let zoom = self.zoom(ctx) * if more { 1.1 } else { 1.0 / 1.1 };
                self.settings.zoom = Some(zoom.clamp(0.6, 2.6));
            }
            Does::Suited => self.settings.zoom = None,
            Does::Read => self.session.read(),
            Does::PutBack => self.session.put_back(),
            Does::Still => self.want_still(),
            Does::Mesh => self.session.save_mesh(),
            Does::Leave => self.leave(),
            Does::Help => self.is_helping ^= true,
            Does::Close => ctx.send_viewport_cmd(egui::ViewportCommand::Close),
            Does::All => self.show_all(),
            Does::Turn(_) | Does::Swing(_) | Does::Zoom(_) | Does::Slide(_) => self.look(ctx, does),
        }
        if matches!(does, Does::Step(..) | Does::Finding(_) | Does::Owner | Does::Point(_) | Does::Start | Does::End) {
            // Quickly first: another such key may follow, and a fine piece takes its time.
            self.moves(ctx);
            self.look_at_cursor();
        }
    }

    /// Looks at the point beside the one that is looked at, as one would pick it: so many steps to the right and downward.
    fn point(&mut self, [right, down]: [i8; 2]) {
        let (Some(eye), Some(field)) = (self.eye, self.session.shown.as_ref().map(|shown| &shown.field)) else {
            return;
        };
        let fallback = Spot { station: eye.station, theta: eye.facing, radius: field.greatest() };
        let now = self.session.cursor.spot.unwrap_or(fallback);
        let along = field.step.max(POINT / eye.scale);
        let around = field.turn.max(POINT / (eye.scale * now.radius.max(1.0)));
        let station = (now.station + along * f64::from(right)).clamp(field.ends[0], field.ends[1]);
        let theta = angle::wrapped(now.theta + around * eye.down() * f64::from(down));
        let spot = Spot { station, theta, radius: field.radius(station, theta) };
        self.session.pick(spot, Aim::Skin, self.session.cursor.from.is_some());
    }

    fn look(&mut self, ctx: &egui::Context, does: Does) {
        self.moves(ctx);
        let Some(eye) = &mut self.eye else { return };
        let way = |more: bool| if more { 1.0 } else { -1.0 };
        match does {
            Does::Turn(here) => eye.facing -= eye.down() * way(here) * 15.0f64.to_radians(),
            Does::Swing(right) => eye.swing = (eye.swing + way(right) * 10.0f64.to_radians()).clamp(-1.5, 1.5),
            Does::Zoom(nearer) => eye.zoom(1.25f64.powf(way(nearer)), [0.0; 2]),
            Does::Slide(on) => eye.station += way(on) * 60.0 / eye.scale,
            _ => {}
        }
    }

    fn next_map(&mut self) {
        let Some(opened) = self.session.opened.clone() else { return };
        let maps = self.session.host().maps(&opened.job, self.session.proof.as_deref());
        let now = maps.iter().position(|map| map.name == self.session.map()).map_or(0, |at| at + 1);
        if let Some(map) = maps.get(now % maps.len().max(1)) {
            self.choose_map(map.name);
        }
    }

    pub(crate) fn choose_map(&mut self, name: &str) {
        self.session.set_map(name);
        name.clone_into(&mut self.settings.map);
    }

    fn leave(&mut self) {
        if self.is_helping {
            self.is_helping = false;
        } else if self.session.cursor.from.is_some() {
            self.session.cursor.from = None;
        } else if self.session.is_stoppable() {
            self.session.stop();
        } else {
            // What was told before it comes to light again.
            self.session.notes.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_struck_with_shift_or_without_and_letters_are_not() {
        let does = |key, modifiers| stroke_of(key, modifiers).map(|stroke| stroke.does);
        for shift in [Modifiers::NONE, Modifiers::SHIFT] {
            assert_eq!(does(Key::Plus, shift), Some(Does::Zoom(true)));
            assert_eq!(does(Key::Plus, shift | Modifiers::COMMAND), Some(Does::Larger(true)));
            assert_eq!(does(Key::Num3, shift), Some(Does::Pane(2)));
            assert_eq!(does(Key::Questionmark, shift), Some(Does::Help));
        }
        assert_eq!(does(Key::Comma, Modifiers::SHIFT), Some(Does::Slide(false)));
        assert_eq!((does(Key::L, Modifiers::SHIFT), does(Key::Plus, Modifiers::ALT)), (None, None));
    }

    #[test]
    fn no_key_does_two_things() {
        for (place, stroke) in STROKES.iter().enumerate() {
            let same = |it: &&Stroke| it.key == stroke.key && it.shift == stroke.shift && it.command == stroke.command;
            assert_eq!(STROKES.iter().position(|it| same(&it)), Some(place), "{}", stroke.written);
        }
    }
}
