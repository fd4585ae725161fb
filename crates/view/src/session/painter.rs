//! The worker that draws the piece, apart from the window, so that neither waits for the other.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;
use std::sync::mpsc::Receiver;

use dryturn_render::live::{Live, Look, Ready, Shape, Sight};
use dryturn_render::{Gpu, RenderError, Wish};

use super::news::{Drawn, News, Told};

/// A picture that is wanted.
pub struct Scenery {
    /// Its number, by which its picture is known.
    pub number: u64,
    /// How many blocks have run of the piece in it; `None` where there is none.
    pub blocks: Option<u32>,
    /// From where.
    pub sight: Sight,
    /// What of; bodies that let the ground through come last.
    pub bodies: Vec<(Arc<Shape>, Look)>,
}

/// Draws what is wanted, the latest only, until nobody asks any more. A device that is lost is opened once more.
pub(crate) fn run(wish: Option<String>, wanted: &Receiver<Scenery>, news: &News) {
    let open = || Gpu::open(&Wish { adapter: wish.clone() }).map(Live::new);
    let mut live = match open() {
        Ok(live) => live,
        Err(error) => return news.tell(Told::Unpainted(error.to_string())),
    };
    news.tell(Told::Painter(about(&live)));
    let mut held = Held::default();
    while let Some(scenery) = latest(wanted) {
        let mut painted = held.paint(&mut live, &scenery);
        if matches!(painted, Err(RenderError::Lost(_))) {
            held = Held::default();
            painted = open().and_then(|again| {
                live = again;
                held.paint(&mut live, &scenery)
            });
        }
        match painted {
            Ok(picture) => {
                let Scenery { number, blocks, .. } = scenery;
                news.tell(Told::Painted(Box::new(Drawn { picture, number, blocks })));
            }
            Err(error) => news.tell(Told::Unpainted(error.to_string())),
        }
    }
}

fn latest(wanted: &Receiver<Scenery>) -> Option<Scenery> {
    let mut scenery = wanted.recv().ok()?;
    while let Ok(newer) = wanted.try_recv() {
        scenery = newer;
    }
    Some(scenery)
}

fn about(live: &Live) -> String {
    let about = live.about();
    if about.is_software {
        format!("drawn by the processor ({}), so coarser while it moves", about.name)
    } else {
        format!("drawn by {}", about.name)
    }
}

/// Shapes that lie with the adapter, by where they lie here.
#[derive(Default)]
struct Held {
    ready: BTreeMap<usize, (Arc<Shape>, Ready)>,
}

impl Held {
    fn paint(&mut self, live: &mut Live, scenery: &Scenery) -> Result<dryturn_render::Picture, RenderError> {
        let key = |shape: &Arc<Shape>| Arc::as_ptr(shape) as usize;
        let wanted: Vec<usize> = scenery.bodies.iter().map(|(shape, _)| key(shape)).collect();
        self.ready.retain(|place, _| wanted.contains(place));
        for (shape, _) in &scenery.bodies {
            if let Entry::Vacant(place) = self.ready.entry(key(shape)) {
                place.insert((Arc::clone(shape), live.ready(shape)?));
            }
        }
        let bodies = scenery.bodies.iter().filter_map(|(shape, look)| Some((&self.ready.get(&key(shape))?.1, *look)));
        live.picture(&scenery.sight, &bodies.collect::<Vec<_>>())
    }
}
