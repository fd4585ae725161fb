//! Lists of different lengths, one behind the other.

/// One list for each of a row of things.
#[derive(Clone, Debug)]
pub(crate) struct Ragged<T> {
    first: Vec<u32>,
    items: Vec<T>,
}

impl<T> Ragged<T> {
    pub(crate) fn new() -> Ragged<T> {
        Ragged { first: vec![0], items: Vec::new() }
    }

    /// Adds the next list.
    pub(crate) fn push(&mut self, list: impl IntoIterator<Item = T>) {
        self.items.extend(list);
        self.first.push(self.items.len() as u32);
    }

    /// Adds the lists of more things.
    pub(crate) fn append(&mut self, other: Ragged<T>) {
        let before = self.items.len() as u32;
        self.items.extend(other.items);
        self.first.extend(other.first[1..].iter().map(|first| first + before));
    }

    /// The list of one of the things.
    pub(crate) fn of(&self, index: usize) -> &[T] {
        &self.items[self.first[index] as usize..self.first[index + 1] as usize]
    }

    /// How many lists there are.
    pub(crate) fn count(&self) -> usize {
        self.first.len() - 1
    }

    /// The items of all lists.
    pub(crate) fn all(&self) -> &[T] {
        &self.items
    }

    /// Where the list of one of the things begins among all items.
    pub(crate) fn start(&self, index: usize) -> usize {
        self.first[index] as usize
    }

    /// Which of the lists holds the item of a number among all items.
    pub(crate) fn list_with(&self, item: usize) -> Option<usize> {
        let after = self.first.partition_point(|first| *first as usize <= item);
        (after < self.first.len()).then(|| after - 1)
    }

    /// Gives the items of all lists away; where each began is still told.
    pub(crate) fn take(&mut self) -> Vec<T> {
        std::mem::take(&mut self.items)
    }
}

impl<T, L: IntoIterator<Item = T>> FromIterator<L> for Ragged<T> {
    fn from_iter<I: IntoIterator<Item = L>>(lists: I) -> Ragged<T> {
        let mut ragged = Ragged::new();
        lists.into_iter().for_each(|list| ragged.push(list));
        ragged
    }
}
