//! The square mesh over a section, and its equations.

/// What a node is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    /// Outside: φ is 0.
    Outside,
    /// The unknown of this number: a node of wood, or all of a hole.
    Unknown(usize),
}

/// The place where an edge cuts the arm between a node of wood and its neighbour.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    /// Where, mm.
    pub(super) point: [f64; 2],
    /// What lies beyond it.
    pub(super) beyond: Part,
}

/// Nodes, unknowns and equations.
pub(super) struct Mesh<F> {
    pub(super) holds: F,
    first: [f64; 2],
    /// Distance between nodes, mm.
    pub(super) spacing: f64,
    across: [usize; 2],
    parts: Vec<Part>,
    /// Ties between two unknowns and their weights.
    ties: Vec<(usize, usize, f64)>,
    pub(super) diagonal: Vec<f64>,
    pub(super) sources: Vec<f64>,
    pub(super) edges: Vec<Edge>,
}

/// Parts of an arm that are looked at for a slot between two nodes of wood.
const LOOKS: usize = 4;
/// Halvings that find an edge on an arm.
const HALVINGS: usize = 16;
/// An arm is never taken shorter than this share of the spacing, so that no equation outweighs all others.
const SHORTEST: f64 = 1e-3;

impl<F: Fn([f64; 2]) -> bool> Mesh<F> {
    /// The mesh of so many nodes over the greater width of the bounds; `None` where no node holds wood.
    pub(super) fn new(nodes: usize, bounds: [[f64; 2]; 2], holds: F) -> Option<Mesh<F>> {
        let widths = bounds.map(|[least, greatest]| greatest - least);
        let spacing = widths[0].max(widths[1]) / nodes as f64;
        if !(spacing > 0.0 && spacing.is_finite()) {
            return None;
        }
        // Two nodes of nothing all round.
        let across = widths.map(|width| (width / spacing).ceil() as usize + 5);
        let first: [f64; 2] =
            std::array::from_fn(|k| 0.5 * (bounds[k][0] + bounds[k][1]) - 0.5 * spacing * (across[k] - 1) as f64);
        let parts = vec![Part::Outside; across[0] * across[1]];
        let (ties, diagonal, sources, edges) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut mesh = Mesh { holds, first, spacing, across, parts, ties, diagonal, sources, edges };
        let wood: Vec<bool> = (0..mesh.parts.len()).map(|node| (mesh.holds)(mesh.point(node))).collect();
        mesh.name_parts(&wood);
        if mesh.sources.is_empty() {
            return None;
        }
        mesh.tie(&wood);
        Some(mesh)
    }

    fn point(&self, node: usize) -> [f64; 2] {
        let places = [node % self.across[0], node / self.across[0]];
        std::array::from_fn(|k| self.first[k] + self.spacing * places[k] as f64)
    }

    fn neighbours(&self, node: usize) -> impl Iterator<Item = usize> + use<F> {
        let (wide, count) = (self.across[0], self.parts.len());
        let (column, last) = (node % wide, wide - 1);
        let beside = [(column > 0).then(|| node - 1), (column < last).then(|| node + 1)];
        let above = [node.checked_sub(wide), Some(node + wide).filter(|node| *node < count)];
        beside.into_iter().chain(above).flatten()
    }

    /// Every node of wood is an unknown, and every hole is one.
    fn name_parts(&mut self, wood: &[bool]) {
        let mut seen = wood.to_vec();
        // The first node lies outside.
        self.flood(0, Part::Outside, &mut seen);
        for node in 0..wood.len() {
            if wood[node] {
                self.parts[node] = Part::Unknown(self.sources.len());
                self.sources.push(self.source());
            } else if !seen[node] {
                let hole = self.sources.len();
                self.sources.push(0.0);
                let count = self.flood(node, Part::Unknown(hole), &mut seen);
                self.sources[hole] = self.source() * count as f64;
            }
        }
        self.diagonal = vec![0.0; self.sources.len()];
    }

    fn source(&self) -> f64 {
        2.0 * self.spacing * self.spacing
    }

    /// Names what is connected with a node, and says how many nodes that are.
    fn flood(&mut self, start: usize, part: Part, seen: &mut [bool]) -> usize {
        let (mut open, mut count) = (vec![start], 0);
        seen[start] = true;
        while let Some(node) = open.pop() {
            self.parts[node] = part;
            count += 1;
            for next in self.neighbours(node) {
                if !std::mem::replace(&mut seen[next], true) {
                    open.push(next);
                }
            }
        }
        count
    }

    fn tie(&mut self, wood: &[bool]) {
        for node in (0..wood.len()).filter(|node| wood[*node]) {
            for next in self.neighbours(node) {
                self.tie_arm(node, next, wood[next]);
            }
        }
    }

    /// The equation of the arm from a node of wood to its neighbour.
    fn tie_arm(&mut self, node: usize, next: usize, is_wood: bool) {
        let (Part::Unknown(here), (from, to)) = (self.parts[node], (self.point(node), self.point(next))) else {
            return;
        };
        let at = |share: f64| -> [f64; 2] { std::array::from_fn(|k| from[k] + share * (to[k] - from[k])) };
        let share = |k: usize| k as f64 / LOOKS as f64;
        let Some(cut) = (1..=LOOKS).find(|k| !(self.holds)(at(share(*k)))) else {
            if let Part::Unknown(other) = self.parts[next].of_later(node, next) {
                self.join(here, other, 1.0);
            }
            return;
        };
        let (mut wood, mut void) = (share(cut - 1), share(cut));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (wood + void);
            if (self.holds)(at(middle)) { wood = middle } else { void = middle }
        }
        // A slot between two nodes of wood is taken as open.
        let beyond = if is_wood { Part::Outside } else { self.parts[next] };
        self.edges.push(Edge { point: at(void), beyond });
        let weight = void.max(SHORTEST).recip();
        match beyond {
            Part::Unknown(other) => self.join(here, other, weight),
            Part::Outside => self.diagonal[here] += weight,
        }
    }

    fn join(&mut self, one: usize, other: usize, weight: f64) {
        self.ties.push((one, other, weight));
        self.diagonal[one] += weight;
        self.diagonal[other] += weight;
    }

    /// The left side of the equations.
    pub(super) fn apply(&self, function: &[f64]) -> Vec<f64> {
        let mut image: Vec<f64> =
            function.iter().zip(&self.diagonal).map(|(value, diagonal)| value * diagonal).collect();
        for &(one, other, weight) in &self.ties {
            image[one] -= weight * function[other];
            image[other] -= weight * function[one];
        }
        image
    }

    /// ∫φ dA, holes included.
    pub(super) fn integral(&self, function: &[f64]) -> f64 {
        0.5 * self.sources.iter().zip(function).map(|(source, value)| source * value).sum::<f64>()
    }

    /// φ of a part.
    pub(super) fn value(&self, part: Part, function: &[f64]) -> f64 {
        match part {
            Part::Outside => 0.0,
            Part::Unknown(number) => function[number],
        }
    }

    /// φ at a point, straight between nodes.
    pub(super) fn at(&self, point: [f64; 2], function: &[f64]) -> f64 {
        let places: [f64; 2] = std::array::from_fn(|k| (point[k] - self.first[k]) / self.spacing);
        let cell: [usize; 2] = std::array::from_fn(|k| (places[k].max(0.0) as usize).min(self.across[k] - 2));
        let share: [f64; 2] = std::array::from_fn(|k| (places[k] - cell[k] as f64).clamp(0.0, 1.0));
        let node = cell[0] + cell[1] * self.across[0];
        let along = |node: usize| {
            let [one, other] = [node, node + 1].map(|node| self.value(self.parts[node], function));
            one + share[0] * (other - one)
        };
        let [one, other] = [node, node + self.across[0]].map(along);
        one + share[1] * (other - one)
    }
}

impl Part {
    /// The part of a neighbour, if the arm to it has not been met from its other end.
    fn of_later(self, node: usize, next: usize) -> Part {
        if next > node { self } else { Part::Outside }
    }
}
