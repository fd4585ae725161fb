//! What the window knows, without anything of a window: the job, the piece at a moment, the findings, and one cursor.

mod answer;
mod carver;
mod cursor;
mod edits;
mod found;
mod news;
mod opened;
mod painter;
mod reader;
mod watch;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use dryturn_check::{Finding, Proof};

use crate::host::{Going, Host};
use carver::{Ask, Carver, Wanted};
use news::{News, Told};
use reader::Reader;
use watch::Watched;

pub use answer::{Aim, Known, Question};
pub use cursor::{Cursor, Stride};
pub use edits::Edits;
pub(crate) use found::{line_of, spot_of};
pub use news::{Drawn, Shown};
pub use opened::Opened;
pub(crate) use painter::Scenery;

/// The map that the skin shows unless another is chosen.
pub(crate) const FIRST_MAP: &str = "remaining-radius";

/// What may be under way, in words.
const READING: &str = "reading";
const CARVING: &str = "carving";
const REFINING: &str = "refining";
const PROVING: &str = "proving";
const WRITING: &str = "writing the mesh";

/// What is over before one could stop it.
fn is_short(what: &str) -> bool {
    [READING, CARVING].contains(&what)
}

/// What the window knows.
pub struct Session {
    host: Arc<dyn Host>,
    going: Going,
    wake: Arc<dyn Fn() + Send + Sync>,
    send: Sender<(u64, Told)>,
    told: Receiver<(u64, Told)>,
    /// Counts the readings of the scene; what is told of an earlier one comes too late.
    serial: u64,
    /// Ends all that belongs to the reading.
    cancel: Arc<AtomicBool>,
    /// Ends what takes long, and nobody needs to go on looking: the proof, the fine piece.
    long: Arc<AtomicBool>,
    /// The files that the scene hangs on.
    files: Vec<Watched>,
    /// Ends a mesh that is being written.
    saving: Arc<AtomicBool>,
    /// Whoever writes one, or did.
    writers: Vec<thread::JoinHandle<()>>,
    /// Whether the last mesh was written.
    is_written: bool,
    asks: Option<Sender<Ask>>,
    /// Whom the pictures are asked of, and its thread.
    paint: Option<(Sender<Scenery>, thread::JoinHandle<()>)>,
    /// The job as it was read last, if it ever could be.
    pub opened: Option<Arc<Opened>>,
    /// Why the scene cannot be read as it is now.
    pub refused: Option<String>,
    /// The piece at a moment.
    pub shown: Option<Box<Shown>>,
    /// What was found; that of the reading before until the new one is there.
    pub proof: Option<Arc<Proof>>,
    /// The places of its findings, in the order of the report.
    pub(crate) in_order: Vec<usize>,
    /// The finding that was chosen last, to be found again once the job is proved anew.
    chosen: Option<Finding>,
    /// Whether the proof is yet to be begun.
    awaits_proof: bool,
    /// Whether the proof is of the job as it is now.
    pub is_proved: bool,
    /// Why the job as it is now cannot be proved.
    pub unproved: Option<String>,
    /// What was answered last; what holds of the point under the cursor is [`Session::answer`].
    known: Option<Box<Known>>,
    /// Whether to go to where the point was made, once that is known.
    awaits_maker: bool,
    /// What is under way, with the share that is done.
    pub stages: Vec<(&'static str, f64)>,
    /// What could not be done, or was.
    pub notes: Vec<String>,
    /// The piece drawn; taken by whoever shows it.
    pub picture: Option<Drawn>,
    /// Why it is not drawn.
    pub unpainted: Option<String>,
    /// What draws it.
    pub painter: Option<String>,
    /// Whether the piece of this reading has been before the eyes.
    is_seen: bool,
    /// What is tried out.
    pub edits: Edits,
    /// Where everyone looks.
    pub cursor: Cursor,
    map: String,
    asked: Option<Wanted>,
}

impl Session {
    /// Begins to read, to carve and to prove. `wake` is called from any thread when there is something new.
    pub fn new(
        host: Arc<dyn Host>,
        going: Going,
        adapter: Option<String>,
        wake: Arc<dyn Fn() + Send + Sync>,
    ) -> Session {
        let (send, told) = channel();
        let (paint, wanted) = channel();
        let news = News { serial: 0, send: send.clone(), wake: Arc::clone(&wake) };
        let painter = thread::spawn(move || painter::run(adapter, &wanted, &news));
        let mut session = Session {
            host,
            going,
            wake,
            send,
            told,
            serial: 0,
            cancel: Arc::default(),
            long: Arc::default(),
            files: Vec::new(),
            saving: Arc::default(),
            writers: Vec::new(),
            is_written: false,
            asks: None,
            paint: Some((paint, painter)),
            opened: None,
            refused: None,
            shown: None,
            proof: None,
            in_order: Vec::new(),
            chosen: None,
            awaits_proof: false,
            is_proved: false,
            unproved: None,
            known: None,
            awaits_maker: false,
            stages: Vec::new(),
            notes: Vec::new(),
            picture: None,
            unpainted: None,
            painter: None,
            is_seen: false,
            edits: Edits::default(),
            cursor: Cursor::default(),
            map: FIRST_MAP.to_owned(),
            asked: None,
        };
        session.read();
        session
    }

    /// What the command does.
    pub fn host(&self) -> &dyn Host {
        &*self.host
    }

    /// Reads the scene again, as it now lies on the disk, with what is tried out.
    pub fn read(&mut self) {
        self.cancel.store(true, Ordering::Relaxed);
        self.long.store(true, Ordering::Relaxed);
        (self.cancel, self.long) = (Arc::default(), Arc::default());
        self.serial += 1;
        (self.asks, self.asked) = (None, None);
        self.forget_stages();
        self.stages.push((READING, 0.0));
        (self.is_proved, self.unproved) = (false, None);
        let reader = self.reader();
        thread::spawn(move || reader.run());
    }

    fn reader(&self) -> Reader {
        Reader {
            host: Arc::clone(&self.host),
            edits: self.edits.clone(),
            going: self.going,
            news: self.news(),
            cancel: Arc::clone(&self.cancel),
            long: Arc::clone(&self.long),
        }
    }

    /// Begins the proof, once there is a piece to be looked at: both at once would take each other's time.
    fn begin_proof(&mut self) {
        let Some(opened) = self.opened.clone().filter(|_| std::mem::take(&mut self.awaits_proof)) else { return };
        let reader = self.reader();
        thread::spawn(move || reader.prove(&opened));
    }

    /// Whether anything is under way that [`Session::stop`] ends.
    pub fn is_stoppable(&self) -> bool {
        self.stages.iter().any(|(what, _)| !is_short(what))
    }

    /// Ends what takes long; the piece stays as fine as it is and can be gone through, and the files stay watched.
    pub fn stop(&mut self) {
        if !self.is_stoppable() {
            return;
        }
        self.long.store(true, Ordering::Relaxed);
        self.saving.store(true, Ordering::Relaxed);
        (self.long, self.awaits_proof) = (Arc::default(), false);
        self.stages.retain(|(what, _)| is_short(what));
        self.notes.push("stopped; R reads and proves again".to_owned());
    }

    /// What is under way for the reading is so no more.
    fn forget_stages(&mut self) {
        self.stages.retain(|(what, _)| *what == WRITING);
    }

    /// Whether the proof is under way.
    pub fn is_proving(&self) -> bool {
        self.stages.iter().any(|(what, _)| [READING, PROVING].contains(what))
    }

    /// Whether anything is under way.
    pub fn is_busy(&self) -> bool {
        !self.stages.is_empty()
    }

    fn news(&self) -> News {
        News { serial: self.serial, send: self.send.clone(), wake: Arc::clone(&self.wake) }
    }

    /// Takes in what the workers tell; whether there was anything.
    pub fn poll(&mut self) -> bool {
        let mut any = false;
        while let Ok((serial, told)) = self.told.try_recv() {
            any = true;
            // What draws, or writes, belongs to no reading.
            if serial == self.serial || serial == 0 {
                self.take(told);
            }
        }
        any
    }

    fn take(&mut self, told: Told) {
        match told {
            Told::Stage(what, share) => match self.stages.iter_mut().find(|(known, _)| *known == what) {
                Some((_, done)) => *done = share,
                None => self.stages.push((what, share)),
            },
            Told::Done(what) => self.done(what),
            Told::Files(files) => self.files = files,
            Told::Refused(why) => self.refuse(why),
            Told::Failed(why) => self.notes.push(why),
            Told::Opened(opened) => self.open(opened),
            Told::Shown(shown) => self.take_shown(shown),
            Told::Proved(proof) => self.prove(proof),
            Told::Unproved(why) => self.unproved = Some(why),
            Told::Known(known) => self.take_known(known),
            Told::Painted(painted) => (self.picture, self.unpainted) = (Some(*painted), None),
            Told::Unpainted(why) => self.unpainted = Some(why),
            Told::Painter(about) => self.painter = Some(about),
            Told::Changed => self.read(),
            Told::Written(written) => self.take_written(written),
        }
    }

    fn done(&mut self, what: &str) {
        self.stages.retain(|(known, _)| *known != what);
        if what == CARVING {
            self.begin_proof();
        }
    }

    fn take_shown(&mut self, shown: Box<Shown>) {
        let is_guessed = self.cursor.aim == Aim::Tip && self.answer().is_none();
        if let Some(spot) = self.cursor.spot.as_mut().filter(|_| is_guessed && shown.blocks == self.cursor.blocks) {
            // It was set while the piece of the moment before was shown.
            spot.radius = shown.field.radius(spot.station, spot.theta);
        }
        self.shown = Some(shown);
    }

    fn refuse(&mut self, why: String) {
        self.forget_stages();
        self.refused = Some(why);
        self.watch();
    }

    fn open(&mut self, opened: Arc<Opened>) {
        self.stages.retain(|(known, _)| *known != READING);
        self.stages.push((PROVING, 0.0));
        self.awaits_proof = true;
        self.refused = None;
        let was_at_end = self.opened.as_ref().is_none_or(|before| self.cursor.blocks >= before.blocks());
        let (asks, asked) = channel();
        let carver = Carver {
            opened: Arc::clone(&opened),
            host: Arc::clone(&self.host),
            news: self.news(),
            is_first: self.shown.is_none(),
            cancel: Arc::clone(&self.cancel),
            long: Arc::clone(&self.long),
            threads: self.going.threads,
            memory: self.going.memory,
        };
        thread::spawn(move || carver.run(&asked));
        (self.asks, self.is_seen) = (Some(asks), false);
        let blocks = opened.blocks();
        self.cursor.blocks = if was_at_end { blocks } else { self.cursor.blocks.min(blocks) };
        self.opened = Some(opened);
        self.known = None;
        if self.cursor.aim == Aim::Tip && self.cursor.spot.is_some() {
            self.look_at_tip();
            self.cursor.focus = self.cursor.blocks.checked_sub(1);
        }
        self.cursor.focus = self.cursor.focus.filter(|focus| *focus < blocks);
        self.settle();
        self.watch();
    }

    fn watch(&self) {
        let (files, news, cancel) = (self.files.clone(), self.news(), Arc::clone(&self.cancel));
        thread::spawn(move || watch::run(&files, &news, &cancel));
    }

    /// Name of the map that the skin shows.
    pub fn map(&self) -> &str {
        &self.map
    }

    /// Has the skin show another map.
    pub fn set_map(&mut self, name: &str) {
        name.clone_into(&mut self.map);
        self.show(false);
    }

    /// Asks for the piece at the cursor's moment.
    pub fn show(&mut self, is_quick: bool) {
        let wanted = Wanted { blocks: self.cursor.blocks, map: self.map.clone(), is_quick, is_slow: self.is_slow() };
        if self.asked.as_ref() != Some(&wanted) {
            if let Some(asks) = &self.asks {
                let _ = asks.send(Ask::Show(wanted.clone()));
            }
            self.asked = Some(wanted);
        }
    }

    /// Asks for all that is wanted at rest: the piece made fine, and what is known of the point.
    pub fn settle(&mut self) {
        self.show(false);
        self.ask_about_spot();
    }

    /// Whether the piece was asked for quickly, so that a finer one should be asked for at rest.
    pub fn is_quick(&self) -> bool {
        self.asked.as_ref().is_some_and(|wanted| wanted.is_quick)
    }

    /// Whether the processor draws, which takes its time for every triangle.
    pub fn is_slow(&self) -> bool {
        self.painter.as_ref().is_some_and(|about| about.contains("processor"))
    }

    /// Tells the carver that the piece is before the eyes.
    pub(crate) fn seen(&mut self) {
        if let Some(asks) = self.asks.as_ref().filter(|_| !std::mem::replace(&mut self.is_seen, true)) {
            let _ = asks.send(Ask::Seen);
        }
    }

    /// Has the piece drawn.
    pub fn paint(&self, scenery: Scenery) {
        if let Some((paint, _)) = &self.paint {
            let _ = paint.send(scenery);
        }
    }

    /// Tries something out on top of what is tried already.
    pub fn attempt(&mut self, more: &Edits) {
        self.edits = self.edits.and(more);
        self.read();
    }

    /// Tries nothing any more.
    pub fn put_back(&mut self) {
        self.edits = Edits::default();
        self.read();
    }

    /// Whether a mesh is being written.
    pub fn is_writing(&self) -> bool {
        self.stages.iter().any(|(what, _)| *what == WRITING)
    }

    /// Whether the last mesh was written, all of it.
    pub fn is_written(&self) -> bool {
        self.is_written
    }

    /// Writes the piece at the cursor's moment as a mesh, in the background; one at a time.
    pub fn save_mesh(&mut self) {
        let Some(opened) = self.opened.clone() else { return };
        if self.is_writing() {
            return self.notes.push("a mesh is being written already; the next can be once that is".to_owned());
        }
        let (host, blocks) = (Arc::clone(&self.host), self.cursor.blocks);
        // It belongs to no reading: a file that changes meanwhile does not end it.
        let news = News { serial: 0, ..self.news() };
        (self.saving, self.is_written) = (Arc::default(), false);
        let cancel = Arc::clone(&self.saving);
        self.stages.push((WRITING, 0.0));
        self.writers.retain(|writer| !writer.is_finished());
        self.writers.push(thread::spawn(move || {
            let written = host.save_mesh(&opened.job, blocks, &cancel);
            if !cancel.load(Ordering::Relaxed) {
                news.tell(Told::Written(written));
            }
        }));
    }

    fn take_written(&mut self, written: Result<String, String>) {
        self.is_written = written.is_ok();
        self.notes.push(written.map_or_else(|why| why, |file| format!("wrote {file}")));
        self.done(WRITING);
    }

    /// Writes a picture.
    pub fn save_picture(&mut self, size: [u32; 2], rgba: &[u8]) {
        let title = self.opened.as_ref().map_or("", |opened| &opened.title);
        let saved = self.host.save_picture(title, size, rgba);
        self.notes.push(saved.map_or_else(|why| why, |file| format!("wrote {file}")));
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        self.cancel.store(true, Ordering::Relaxed);
        self.long.store(true, Ordering::Relaxed);
        self.saving.store(true, Ordering::Relaxed);
        // What is half written is taken away by whoever writes it.
        for writer in self.writers.drain(..) {
            let _ = writer.join();
        }
        // A driver must not be left at work while the program ends under it.
        if let Some((paint, painter)) = self.paint.take() {
            drop(paint);
            let _ = painter.join();
        }
    }
}
