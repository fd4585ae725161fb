//! A tile in little room.
//!
//! A tile holds four numbers a ray, but most of them follow from those of the ray beside it in the rows above. So the
//! numbers are laid down plane by plane (all outer ends, all their owners, all inner ends, all their owners), chunk by
//! chunk, each as what it is off a guess: that it is as above, or that it goes on from the two rows above in a straight line,
//! whichever leaves less. Of what is left, signs folded in, only the bytes that are not zero in the whole chunk are written,
//! the lowest of all rays first: where a guess is right that is one byte, and on a smooth surface little more than one a
//! ray. The few spans farther in stand as a list behind them. What that leaves is pressed by LZ4 (Collet, *LZ4 block format
//! description*), which is quick to undo.

use std::ops::Range;

use super::{CHUNK, NONE, Node, Span, Spans, Tile};
use crate::kernel::greatest;

/// A tile that can be had back to the last bit, for a tenth of the room or less.
#[derive(Clone, Debug)]
pub(crate) struct Packed {
    rows: Range<usize>,
    columns: Range<usize>,
    /// Length before pressing, bytes.
    plain: usize,
    pressed: Box<[u8]>,
}

/// Why nothing that was packed fails to unpack.
const SOUND: &str = "nothing but `Packed::of` lays down what is read here";

impl Packed {
    pub(crate) fn of(tile: &Tile) -> Packed {
        let mut plain = Vec::with_capacity(2 * size_of::<u32>() * tile.outer.len() + 64);
        let stride = tile.stride;
        put_plane(&mut plain, &tile.outer, stride, f32::to_bits);
        put_plane(&mut plain, &tile.outer_by, stride, |by| by);
        put_plane(&mut plain, &tile.inner, stride, f32::to_bits);
        put_plane(&mut plain, &tile.inner_by, stride, |by| by);
        put_further_spans(&mut plain, tile);
        let pressed = lz4_flex::block::compress(&plain).into_boxed_slice();
        Packed { rows: tile.rows.clone(), columns: tile.columns.clone(), plain: plain.len(), pressed }
    }

    pub(crate) fn unpack(&self) -> Tile {
        let mut tile = Tile::filled(self.rows.clone(), self.columns.clone(), |_, _| Spans::new());
        self.unpack_into(&mut tile);
        tile
    }

    /// As [`Packed::unpack`], into a tile of the same rows and columns.
    pub(crate) fn unpack_into(&self, tile: &mut Tile) {
        debug_assert!(tile.rows == self.rows && tile.columns == self.columns);
        let mut plain = vec![0; self.plain];
        lz4_flex::block::decompress_into(&self.pressed, &mut plain).expect(SOUND);
        let mut rest = plain.as_slice();
        let stride = tile.stride;
        take_plane(&mut rest, &mut tile.outer, stride, f32::from_bits);
        take_plane(&mut rest, &mut tile.outer_by, stride, |by| by);
        take_plane(&mut rest, &mut tile.inner, stride, f32::from_bits);
        take_plane(&mut rest, &mut tile.inner_by, stride, |by| by);
        take_further_spans(&mut rest, tile);
        refresh(tile);
    }

    /// Bytes it takes beside itself.
    pub(crate) fn bytes(&self) -> usize {
        self.pressed.len()
    }
}

fn put(plain: &mut Vec<u8>, word: u32) {
    plain.extend_from_slice(&word.to_le_bytes());
}

/// A chunk of a plane.
type Words = [u32; CHUNK];

/// The rows above a chunk: the one next to it, and the one above that.
#[derive(Clone, Copy)]
struct Above(Words, Words);

impl Above {
    /// Above the first row stands one number all along.
    fn first(number: u32) -> Above {
        Above([number; CHUNK], [number; CHUNK])
    }

    fn guess(&self, guess: Guess) -> Words {
        match guess {
            Guess::Same => self.0,
            Guess::Straight => std::array::from_fn(|k| self.0[k].wrapping_mul(2).wrapping_sub(self.1[k])),
        }
    }

    fn go_on(&mut self, words: Words) {
        *self = Above(words, self.0);
    }
}

/// What a chunk is taken for.
#[derive(Clone, Copy)]
enum Guess {
    Same = 0,
    Straight = 8,
}

/// What words are off a guess, small numbers for small differences of either sign.
fn folded(words: &Words, guess: &Words) -> Words {
    std::array::from_fn(|k| {
        let off = words[k].wrapping_sub(guess[k]) as i32;
        ((off << 1) ^ (off >> 31)) as u32
    })
}

fn unfolded(folded: &Words, guess: &Words) -> Words {
    std::array::from_fn(|k| {
        let off = (folded[k] >> 1) ^ (folded[k] & 1).wrapping_neg();
        guess[k].wrapping_add(off)
    })
}

/// How many bytes the greatest of the words has that are not zero.
fn width(words: &Words) -> usize {
    let all = words.iter().fold(0, |all, word| all | word);
    (u32::BITS - all.leading_zeros()).div_ceil(8) as usize
}

/// Lays down a plane row by row: for each chunk a mark of its guess and how many bytes a word is off, then those bytes.
fn put_plane<T: Copy>(plain: &mut Vec<u8>, plane: &[T], stride: usize, bits: impl Fn(T) -> u32) {
    let first = plane.first().map_or(0, |&value| bits(value));
    put(plain, first);
    let mut above = vec![Above::first(first); stride / CHUNK];
    for row in plane.chunks_exact(stride.max(1)) {
        for (chunk, above) in row.as_chunks::<CHUNK>().0.iter().zip(&mut above) {
            let words = chunk.map(&bits);
            let off = |guess| {
                let off = folded(&words, &above.guess(guess));
                (width(&off), guess as usize, off)
            };
            let (same, straight) = (off(Guess::Same), off(Guess::Straight));
            let (width, guess, off) = if straight.0 < same.0 { straight } else { same };
            plain.push((guess | width) as u8);
            (0..width).for_each(|byte| plain.extend(off.map(|word| word.to_le_bytes()[byte])));
            above.go_on(words);
        }
    }
}

/// Spans under the outermost, each behind the index of its ray, from the outside in.
fn put_further_spans(plain: &mut Vec<u8>, tile: &Tile) {
    for ray in tile.more.iter().enumerate().filter(|(_, node)| **node != NONE).map(|(ray, _)| ray) {
        for span in tile.spans(ray).iter().skip(1) {
            let Span { inner, outer, inner_by, outer_by } = *span;
            let words = [ray as u32, inner.to_bits(), outer.to_bits(), inner_by, outer_by];
            words.into_iter().for_each(|word| put(plain, word));
        }
    }
}

fn take<'a>(rest: &mut &'a [u8], count: usize) -> &'a [u8] {
    let (taken, left) = rest.split_at_checked(count).expect(SOUND);
    *rest = left;
    taken
}

fn word(bytes: &[u8]) -> u32 {
    u32::from_le_bytes(*bytes.first_chunk().expect(SOUND))
}

fn take_plane<T: Copy>(rest: &mut &[u8], plane: &mut [T], stride: usize, value: impl Fn(u32) -> T) {
    let mut above = vec![Above::first(word(take(rest, 4))); stride / CHUNK];
    for row in plane.chunks_exact_mut(stride.max(1)) {
        for (chunk, above) in row.as_chunks_mut::<CHUNK>().0.iter_mut().zip(&mut above) {
            let mark = usize::from(take(rest, 1)[0]);
            let guess = if mark & Guess::Straight as usize == 0 { Guess::Same } else { Guess::Straight };
            let mut off = [0; CHUNK];
            for byte in 0..mark & 7 {
                let bytes: &[u8; CHUNK] = take(rest, CHUNK).first_chunk().expect(SOUND);
                (0..CHUNK).for_each(|k| off[k] |= u32::from(bytes[k]) << (8 * byte));
            }
            let words = unfolded(&off, &above.guess(guess));
            *chunk = words.map(&value);
            above.go_on(words);
        }
    }
}

fn take_further_spans(rest: &mut &[u8], tile: &mut Tile) {
    tile.more = if rest.is_empty() { Vec::new() } else { vec![NONE; tile.outer.len()] };
    tile.nodes.clear();
    tile.free = NONE;
    let mut last = None;
    while !rest.is_empty() {
        let [ray, inner, outer, inner_by, outer_by] = std::array::from_fn(|_| word(take(rest, 4)));
        let span = Span { inner: f32::from_bits(inner), outer: f32::from_bits(outer), inner_by, outer_by };
        let at = tile.nodes.len() as u32;
        tile.nodes.push(Node { span, next: NONE });
        match last.filter(|last| *last == ray) {
            Some(_) => tile.nodes[at as usize - 1].next = at,
            None => tile.more[ray as usize] = at,
        }
        last = Some(ray);
    }
}

fn refresh(tile: &mut Tile) {
    let chunks = tile.outer.as_chunks::<CHUNK>().0;
    tile.chunk_top.iter_mut().zip(chunks).for_each(|(top, chunk)| *top = greatest(chunk));
    let rows = tile.chunk_top.chunks_exact((tile.stride / CHUNK).max(1));
    tile.row_top.iter_mut().zip(rows).for_each(|(top, chunks)| *top = super::highest(chunks));
    tile.is_top_stale = true;
    tile.refresh_all();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tile::{PREPARED, UNTOUCHED};

    fn same(a: &Tile, b: &Tile) {
        assert_eq!((&a.rows, &a.columns, a.stride), (&b.rows, &b.columns, b.stride));
        for ray in a.rays() {
            assert_eq!((a.outermost(ray), a.spans(ray)), (b.outermost(ray), b.spans(ray)));
        }
        assert_eq!((&a.outer, &a.chunk_top, &a.row_top, a.top), (&b.outer, &b.chunk_top, &b.row_top, b.top));
    }

    fn tube(bore: f32) -> Tile {
        let inner_by = if bore > 0.0 { PREPARED } else { UNTOUCHED };
        let span = Span { inner: bore, outer: 10.0, inner_by, outer_by: UNTOUCHED };
        Tile::filled(3..12, 5..46, |_, _| std::iter::once(span).collect())
    }

    #[test]
    fn a_blank_is_a_few_bytes() {
        for bore in [0.0, 4.0] {
            let packed = Packed::of(&tube(bore));
            same(&packed.unpack(), &tube(bore));
            assert!(packed.bytes() < 400, "{}", packed.bytes());
        }
    }

    /// What a ball of radius 1.5 leaves, at a pitch of 0.02 mm.
    #[test]
    fn a_smooth_surface_is_under_two_bytes_a_ray() {
        let hollow = |row: usize, column: usize| {
            let [along, around] = [(row, 16.0), (column, 64.0)].map(|(at, middle)| 0.02 * (at as f64 - middle));
            (20.0 + (along * along + around * around) / 3.0) as f32
        };
        let tile = Tile::filled(0..32, 0..128, |row, column| {
            let span = Span { inner: 0.0, outer: hollow(row, column), inner_by: UNTOUCHED, outer_by: 7 };
            std::iter::once(span).collect()
        });
        let packed = Packed::of(&tile);
        same(&packed.unpack(), &tile);
        assert!(packed.bytes() < 2 * 32 * 128, "{}", packed.bytes());
    }

    #[test]
    fn a_carved_tile_comes_back_and_is_cut_on_as_if_it_had_never_left() {
        let mut tile = tube(4.0);
        let cut = |tile: &mut Tile, blocks: Range<u32>| {
            for block in blocks {
                let (row, column) = (3 + block as usize * 7 % 9, 5 + block as usize * 11 % 41);
                let lo = 3.0 + (block * 31 % 70) as f32 * 0.1;
                let ray = tile.index(row, column);
                tile.remove(ray, lo, lo + 0.2 + (block % 5) as f32, block);
            }
            refresh(tile);
        };
        for stage in 0..6 {
            cut(&mut tile, 200 * stage..200 * stage + 200);
            let mut other = Packed::of(&tile).unpack();
            same(&other, &tile);
            let mut straight = tile.clone();
            cut(&mut straight, 5000..6000);
            cut(&mut other, 5000..6000);
            same(&other, &straight);
        }
        let counts: Vec<usize> = tile.rays().map(|ray| tile.spans(ray).len()).collect();
        assert!(counts.contains(&0) && counts.contains(&3), "the cuts leave no empty ray and none with three spans");
        // A tile that was used for something else before.
        let mut used = tile;
        Packed::of(&tube(0.0)).unpack_into(&mut used);
        same(&used, &tube(0.0));
    }
}
