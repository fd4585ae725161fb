//! The worker that draws the piece, apart from the window, so that neither waits for the other.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::sync::Arc;
use std::sync::mpsc::Receiver;

use dryturn_render::live::{Live, Look, Ready, Shape, Sight};
use dryturn_render::{Gpu, Picture, RenderError, Wish};

use super::news::{Drawn, News, Told};
use crate::eye::Extent;

/// A picture that is wanted.
pub struct Scenery {
    /// Its number, by which its picture is known.
    pub number: u64,
    /// How many blocks have run of the piece in it; `None` where there is none.
    pub blocks: Option<u32>,
    /// From where.
    pub sight: Sight,
    /// What of the room is in it.
    pub extent: Extent,
    /// What of; bodies that let the ground through come last.
    pub bodies: Vec<(Arc<Shape>, Look)>,
}

/// Draws what is wanted, the latest only, until nobody asks any more. A device that is lost is opened once more at once, and
/// one that failed otherwise before the next picture.
pub(crate) fn run(wish: Option<String>, wanted: &Receiver<Scenery>, news: &News) {
    let open = || Gpu::open(&Wish { adapter: wish.clone() }).map(Live::new);
    let mut drawing = match open() {
        Ok(live) => Some(Drawing { live, held: Held::default() }),
        Err(error) => return news.tell(Told::Unpainted(error.to_string())),
    };
    news.tell(Told::Painter(drawing.as_ref().map_or_else(String::new, |it| about(&it.live))));
    while let Some(scenery) = latest(wanted) {
        let mut painted = Drawing::paint(&mut drawing, &scenery, open);
        if matches!(painted, Err(RenderError::Lost(_))) {
            painted = Drawing::paint(&mut drawing, &scenery, open);
        }
        match painted {
            Ok(picture) => {
                let Scenery { number, blocks, extent, .. } = scenery;
                news.tell(Told::Painted(Box::new(Drawn { picture, number, blocks, extent })));
            }
            Err(error) => news.tell(Told::Unpainted(error.to_string())),
        }
    }
}

/// An adapter, and what lies with it.
struct Drawing {
    live: Live,
    held: Held,
}

impl Drawing {
    /// Draws, on what is opened for it if need be; what fails is given up.
    fn paint(
        drawing: &mut Option<Drawing>,
        scenery: &Scenery,
        open: impl Fn() -> Result<Live, RenderError>,
    ) -> Result<Picture, RenderError> {
        let mut now = match drawing.take() {
            Some(now) => now,
            None => Drawing { live: open()?, held: Held::default() },
        };
        let picture = now.held.paint(&mut now.live, scenery)?;
        *drawing = Some(now);
        Ok(picture)
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
    fn paint(&mut self, live: &mut Live, scenery: &Scenery) -> Result<Picture, RenderError> {
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

#[cfg(test)]
#[expect(clippy::print_stdout, reason = "a test that is skipped says why")]
mod tests {
    use super::*;

    /// A square of a millimetre before the eye.
    fn scenery() -> Scenery {
        let axes = [[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]];
        let sight = Sight {
            width: 16,
            height: 16,
            axes,
            middle: [0.0; 3],
            half_width: 1.0,
            reach: 10.0,
            is_smooth: false,
            plane: None,
            ground: [255; 3],
        };
        let extent = Extent { station: 0.0, rise: 0.0, half: [1.0; 2] };
        Scenery { number: 1, blocks: None, sight, extent, bodies: Vec::new() }
    }

    #[test]
    fn what_failed_is_opened_anew_before_the_next_picture() {
        let open = || Gpu::open(&Wish::default()).map(Live::new);
        let mut drawing = match open() {
            Ok(live) => Some(Drawing { live, held: Held::default() }),
            Err(why) => return println!("skipped: {why}"),
        };
        let wide = Scenery { sight: Sight { width: 1 << 30, ..scenery().sight }, ..scenery() };
        assert!(Drawing::paint(&mut drawing, &wide, open).is_err());
        assert!(drawing.is_none());
        // While nothing can be opened, that is told; then it goes on.
        let never = || Err(RenderError::Lost("gone".to_owned()));
        assert!(matches!(Drawing::paint(&mut drawing, &scenery(), never), Err(RenderError::Lost(_))));
        assert_eq!(Drawing::paint(&mut drawing, &scenery(), open).unwrap().width, 16);
        assert!(drawing.is_some());
    }
}
