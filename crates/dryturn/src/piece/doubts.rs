//! Where a mesh is not to be trusted, as it is told.

use dryturn_geom::{Side, angle};
use dryturn_report::trimmed;
use dryturn_surface::Doubts;

/// A sentence for each kind of doubt; `chuck` is the side of the machine that the chuck stands on.
pub(super) fn notes(doubts: &Doubts, chuck: Side) -> Vec<String> {
    let thin = told(&doubts.thin, chuck).map(|places| {
        format!("note: {places} the wood, or a gap in it, is thinner than the grid can tell and may come out in pieces; a finer --pitch tells more.")
    });
    let crossings = told(&doubts.crossings, chuck)
        .map(|places| format!("note: {places} the mesh passes through itself; a finer --pitch may cure it."));
    thin.into_iter().chain(crossings).collect()
}

/// How many places there are, and where the first of them along the piece is; `None` where there is none.
fn told(places: &[[f64; 3]], chuck: Side) -> Option<String> {
    let first = places.iter().min_by(|a, b| a[0].total_cmp(&b[0]))?;
    let [station, y, z] = *first;
    // Angles are those of the blank frame; that of a chuck on the far side is the mirror image of the piece frame.
    let across = if chuck == Side::Plus { y } else { -y };
    let degrees = angle::degrees(angle::atan2(across, z)).rem_euclid(360.0);
    let at = format!("at station {}, {}°", trimmed(station, 1), trimmed(degrees, 0));
    Some(match places.len() {
        1 => format!("{at},"),
        count => format!("at {count} places, the first {at},"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn doubts_are_told_by_number_and_the_first_place() {
        assert!(notes(&Doubts::default(), Side::Minus).is_empty());
        let doubts = Doubts { thin: vec![[34.0, 5.0, 0.0], [12.25, 0.0, 7.0]], crossings: vec![[3.0, -5.0, 0.0]] };
        let notes = notes(&doubts, Side::Minus);
        assert_eq!(notes.len(), 2);
        assert!(notes[0].starts_with("note: at 2 places, the first at station 12.2, 0°, the wood"), "{}", notes[0]);
        assert!(notes[1].starts_with("note: at station 3, 90°, the mesh"), "{}", notes[1]);
    }
}
