//! Sparse Cholesky factorisation of the solver's systems: symmetric, positive definite, one pattern for many values.
//!
//! Method: multifrontal (Duff and Reid 1983; Liu 1992). The order of elimination is minimum degree on a quotient graph
//! with exact degrees; columns of like structure are joined to fronts, small ones also against a few stored zeros; each
//! front is a small dense partial factorisation whose remainder is added into its parent. The pattern is analysed once
//! ([`Pattern`]) and used for every factorisation ([`Factor`]). Everything runs in one fixed order, so the same input
//! gives the same bits.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Right-hand sides that are solved for at once, at most.
const MOST_SIDES: usize = 2;
/// No parent.
const ROOT: usize = usize::MAX;

/// A sparse pattern, analysed: where values go and in which order they are eliminated.
#[derive(Clone, Debug)]
pub(crate) struct Pattern {
    /// Number of unknowns.
    len: usize,
    /// Unknown to its place in the order of elimination.
    place: Vec<u32>,
    fronts: Vec<Front>,
    /// Rows of all fronts, as places; pivots first.
    rows: Vec<u32>,
    /// For each border row, its position in the parent's rows.
    in_parent: Vec<u32>,
    /// For each stored value its position in its front's panel or remainder.
    targets: Vec<u32>,
    /// For each place, where the values of its column begin; and their rows, ascending.
    column_start: Vec<u32>,
    column_rows: Vec<u32>,
    panel_len: usize,
    largest_border: usize,
    largest_front: usize,
    stack_len: usize,
}

#[derive(Clone, Debug)]
struct Front {
    first: usize,
    pivots: usize,
    /// Pivots and border rows.
    size: usize,
    rows: usize,
    parent: usize,
    panel: usize,
    /// Where the border's positions begin.
    map: usize,
    /// How many fronts just before it on the stack are its children.
    children: usize,
}

impl Pattern {
    /// Analyses the pattern in which the unknowns of each clique are coupled with one another. `sizes` says how many
    /// unknowns a node has; they are numbered node by node.
    pub(crate) fn new(sizes: &[usize], cliques: &[Vec<u32>]) -> Self {
        let graph = Graph::new(sizes.len(), cliques);
        let tree = Supernodes::join(&eliminate(sizes, &graph), sizes);
        tree.pattern(sizes, &graph)
    }

    /// Number of unknowns.
    pub(crate) const fn len(&self) -> usize {
        self.len
    }

    /// How many values a matrix of this pattern has.
    pub(crate) const fn values(&self) -> usize {
        self.column_rows.len()
    }

    /// Where the value of row `i` and column `j` (or the other way round) is kept. The pair must be of the pattern.
    pub(crate) fn slot(&self, i: usize, j: usize) -> usize {
        let (a, b) = (self.place[i], self.place[j]);
        let (row, column) = (a.max(b), a.min(b) as usize);
        let (from, to) = (self.column_start[column] as usize, self.column_start[column + 1] as usize);
        from + self.column_rows[from..to].partition_point(|&other| other < row)
    }

    /// Has it a value for row `i` and column `j`?
    pub(crate) fn has(&self, i: usize, j: usize) -> bool {
        let (a, b) = (self.place[i], self.place[j]);
        let (row, column) = (a.max(b), a.min(b) as usize);
        let (from, to) = (self.column_start[column] as usize, self.column_start[column + 1] as usize);
        self.column_rows[from..to].binary_search(&row).is_ok()
    }

    /// Adds a matrix times `x` to `y`.
    pub(crate) fn add_product(&self, values: &[f64], x: &[f64], y: &mut [f64]) {
        let mut unknown = vec![0; self.len];
        for (&place, index) in self.place.iter().zip(0..) {
            unknown[place as usize] = index;
        }
        for (column, &j) in unknown.iter().enumerate() {
            let (from, to) = (self.column_start[column] as usize, self.column_start[column + 1] as usize);
            for (value, &row) in values[from..to].iter().zip(&self.column_rows[from..to]) {
                let i: usize = unknown[row as usize];
                y[i] += value * x[j];
                if i != j {
                    y[j] += value * x[i];
                }
            }
        }
    }

    /// Clears the rows and columns of the unknowns marked `out`.
    pub(crate) fn take_out(&self, values: &mut [f64], out: &[bool]) {
        if !out.contains(&true) {
            return;
        }
        let mut gone = vec![false; self.len];
        for (&place, &out) in self.place.iter().zip(out) {
            gone[place as usize] = out;
        }
        for (column, &gone_column) in gone.iter().enumerate() {
            let (from, to) = (self.column_start[column] as usize, self.column_start[column + 1] as usize);
            for (value, &row) in values[from..to].iter_mut().zip(&self.column_rows[from..to]) {
                if gone_column || gone[row as usize] {
                    *value = 0.0;
                }
            }
        }
    }
}

/// A factorisation and its working memory.
#[derive(Clone, Debug)]
pub(crate) struct Factor {
    panels: Vec<f64>,
    stack: Vec<f64>,
    work: Vec<f64>,
}

impl Factor {
    /// Working memory for a pattern.
    pub(crate) fn new(pattern: &Pattern) -> Self {
        Self {
            panels: vec![0.0; pattern.panel_len],
            stack: vec![0.0; pattern.stack_len],
            work: vec![
                0.0;
                (MOST_SIDES * (pattern.len + pattern.largest_front))
                    .max(pattern.largest_border * pattern.largest_border)
            ],
        }
    }

    /// Factorises; false when the matrix is not positive definite.
    pub(crate) fn factorise(&mut self, pattern: &Pattern, values: &[f64]) -> bool {
        let mut top = 0;
        // Sizes of the remainders on the stack.
        let mut sizes: Vec<(usize, usize)> = Vec::with_capacity(pattern.fronts.len());
        for (index, front) in pattern.fronts.iter().enumerate() {
            let border = front.size - front.pivots;
            let panel = &mut self.panels[front.panel..front.panel + front.size * front.pivots];
            panel.fill(0.0);
            let from = pattern.column_start[front.first] as usize;
            let to = pattern.column_start[front.first + front.pivots] as usize;
            for (value, &target) in values[from..to].iter().zip(&pattern.targets[from..to]) {
                panel[target as usize] = *value;
            }
            let rest = &mut self.work[..border * border];
            rest.fill(0.0);
            for _ in 0..front.children {
                let Some((child, size)) = sizes.pop() else { return false };
                top -= size * size;
                let map = pattern.fronts[child].map;
                let map = &pattern.in_parent[map..map + size];
                add_child(&self.stack[top..top + size * size], map, panel, rest, front);
            }
            if !eliminate_dense(panel, rest, front.size, front.pivots) {
                return false;
            }
            if front.parent != ROOT {
                self.stack[top..top + border * border].copy_from_slice(rest);
                top += border * border;
                sizes.push((index, border));
            }
        }
        true
    }

    /// Solves for several right-hand sides at once, which become the solutions.
    pub(crate) fn solve<const K: usize>(&mut self, pattern: &Pattern, sides: [&mut [f64]; K]) {
        const { assert!(K <= MOST_SIDES) };
        let (y, local) = self.work.split_at_mut(K * pattern.len);
        let (y, local) = (y.as_chunks_mut::<K>().0, local.as_chunks_mut::<K>().0);
        for (i, &place) in pattern.place.iter().enumerate() {
            y[place as usize] = std::array::from_fn(|k| sides[k][i]);
        }
        for front in &pattern.fronts {
            let rows = &pattern.rows[front.rows..front.rows + front.size];
            // A front's rows side by side, so that its columns run along them.
            let local = &mut local[..front.size];
            for (value, &row) in local.iter_mut().zip(rows) {
                *value = y[row as usize];
            }
            for (j, column) in self.panels[front.panel..].chunks_exact(front.size).take(front.pivots).enumerate() {
                // A column of the inverse begins with nothing.
                if local[j] == [0.0; K] {
                    continue;
                }
                let value = local[j].map(|value| value / column[j]);
                local[j] = value;
                for (into, entry) in local[j + 1..].iter_mut().zip(&column[j + 1..]) {
                    for (into, value) in into.iter_mut().zip(value) {
                        *into -= entry * value;
                    }
                }
            }
            for (value, &row) in local.iter().zip(rows) {
                y[row as usize] = *value;
            }
        }
        for front in pattern.fronts.iter().rev() {
            let rows = &pattern.rows[front.rows..front.rows + front.size];
            let local = &mut local[..front.size];
            for (value, &row) in local.iter_mut().zip(rows) {
                *value = y[row as usize];
            }
            for j in (0..front.pivots).rev() {
                let column = &self.panels[front.panel + j * front.size..][..front.size];
                let below = sum_of_products(&column[j + 1..], &local[j + 1..]);
                for (value, below) in local[j].iter_mut().zip(below) {
                    *value = (*value - below) / column[j];
                }
                y[front.first + j] = local[j];
            }
        }
        for (k, side) in sides.into_iter().enumerate() {
            for (value, &place) in side.iter_mut().zip(&pattern.place) {
                *value = y[place as usize][k];
            }
        }
    }
}

/// Sum of entries times values, in four sums that don't wait for one another.
#[inline]
fn sum_of_products<const K: usize>(entries: &[f64], values: &[[f64; K]]) -> [f64; K] {
    let mut sums = [[0.0; K]; 4];
    let ((entries, entries_left), (values, values_left)) = (entries.as_chunks::<4>(), values.as_chunks::<4>());
    let mut add = |sum: usize, entry: f64, value: &[f64; K]| {
        for (sum, value) in sums[sum].iter_mut().zip(value) {
            *sum += entry * value;
        }
    };
    for (entries, values) in entries.iter().zip(values) {
        for i in 0..4 {
            add(i, entries[i], &values[i]);
        }
    }
    for (entry, value) in entries_left.iter().zip(values_left) {
        add(0, *entry, value);
    }
    std::array::from_fn(|k| (sums[0][k] + sums[1][k]) + (sums[2][k] + sums[3][k]))
}

/// Adds a child's remainder into its parent's panel and remainder.
fn add_child(child: &[f64], map: &[u32], panel: &mut [f64], rest: &mut [f64], front: &Front) {
    let (pivots, border) = (front.pivots, front.size - front.pivots);
    for (j, &column) in map.iter().enumerate() {
        let column = column as usize;
        let entries = &child[j * map.len() + j..(j + 1) * map.len()];
        if column < pivots {
            let into = &mut panel[column * front.size..(column + 1) * front.size];
            for (&row, entry) in map[j..].iter().zip(entries) {
                into[row as usize] += entry;
            }
        } else {
            let into = &mut rest[(column - pivots) * border..(column - pivots + 1) * border];
            for (&row, entry) in map[j..].iter().zip(entries) {
                into[row as usize - pivots] += entry;
            }
        }
    }
}

/// Eliminates the pivots of a dense front: `panel` holds its first columns, `rest` the remainder (lower triangles,
/// column by column). False when a pivot is not positive.
fn eliminate_dense(panel: &mut [f64], rest: &mut [f64], size: usize, pivots: usize) -> bool {
    // Two columns at a time: what is subtracted from both is read once.
    for j in (0..pivots).step_by(2) {
        let (before, from) = panel.split_at_mut(j * size);
        let (first, second) = from.split_at_mut(size);
        let first = &mut first[j..];
        if j + 1 == pivots {
            subtract(first, before, size, j, j);
            if !divide(first) {
                return false;
            }
            break;
        }
        let second = &mut second[j + 1..size];
        subtract_from_two(first, second, before, size, j, j);
        if !divide(first) {
            return false;
        }
        let factor = first[1];
        for (entry, by) in second.iter_mut().zip(&first[1..]) {
            *entry -= by * factor;
        }
        if !divide(second) {
            return false;
        }
    }
    let border = size - pivots;
    for k in (0..border).step_by(2) {
        let (first, second) = rest[k * border..].split_at_mut(border);
        let first = &mut first[k..];
        if k + 1 == border {
            subtract(first, panel, size, pivots, pivots + k);
        } else {
            subtract_from_two(first, &mut second[k + 1..border], panel, size, pivots, pivots + k);
        }
    }
    true
}

/// Divides a column by the root of its pivot, with which it begins; false when that is not positive.
fn divide(column: &mut [f64]) -> bool {
    let pivot = column[0];
    // NaN fails, too.
    if !(pivot > 0.0 && pivot < f64::INFINITY) {
        return false;
    }
    let root = pivot.sqrt();
    let scale = 1.0 / root;
    column[0] = root;
    for entry in &mut column[1..] {
        *entry *= scale;
    }
    true
}

/// Subtracts from a column, which begins at row `row`, what the first `count` columns of the panel put there.
#[inline]
fn subtract(column: &mut [f64], panel: &[f64], size: usize, count: usize, row: usize) {
    let len = column.len();
    let mut k = 0;
    while k + 4 <= count {
        let part = |i: usize| &panel[(k + i) * size + row..(k + i) * size + row + len];
        let (a, b, c, d) = (part(0), part(1), part(2), part(3));
        let (fa, fb, fc, fd) = (a[0], b[0], c[0], d[0]);
        for i in 0..len {
            column[i] -= (a[i] * fa + b[i] * fb) + (c[i] * fc + d[i] * fd);
        }
        k += 4;
    }
    while k < count {
        let a = &panel[k * size + row..k * size + row + len];
        let factor = a[0];
        for i in 0..len {
            column[i] -= a[i] * factor;
        }
        k += 1;
    }
}

/// The same for two neighbouring columns, which begin at rows `row` and `row + 1`.
#[inline]
fn subtract_from_two(first: &mut [f64], second: &mut [f64], panel: &[f64], size: usize, count: usize, row: usize) {
    let len = second.len();
    let (top, first) = first.split_at_mut(1);
    let first = &mut first[..len];
    let part = |k: usize| {
        let part = &panel[k * size + row..k * size + row + 1 + len];
        (part[0], &part[1..])
    };
    let mut k = 0;
    while k + 4 <= count {
        let ((ta, a), (tb, b), (tc, c), (td, d)) = (part(k), part(k + 1), part(k + 2), part(k + 3));
        top[0] -= (ta * ta + tb * tb) + (tc * tc + td * td);
        let (sa, sb, sc, sd) = (a[0], b[0], c[0], d[0]);
        for i in 0..len {
            first[i] -= (a[i] * ta + b[i] * tb) + (c[i] * tc + d[i] * td);
            second[i] -= (a[i] * sa + b[i] * sb) + (c[i] * sc + d[i] * sd);
        }
        k += 4;
    }
    while k < count {
        let (ta, a) = part(k);
        top[0] -= ta * ta;
        let sa = a[0];
        for i in 0..len {
            first[i] -= a[i] * ta;
            second[i] -= a[i] * sa;
        }
        k += 1;
    }
}

/// Neighbours of every node.
struct Graph {
    neighbours: Vec<Vec<u32>>,
}

impl Graph {
    fn new(nodes: usize, cliques: &[Vec<u32>]) -> Self {
        let mut neighbours = vec![Vec::new(); nodes];
        for clique in cliques {
            for &a in clique {
                neighbours[a as usize].extend(clique.iter().copied().filter(|&b| b != a));
            }
        }
        for list in &mut neighbours {
            list.sort_unstable();
            list.dedup();
        }
        Self { neighbours }
    }
}

/// A node's elimination: which nodes, not yet eliminated, it was coupled with.
struct Elimination {
    order: Vec<u32>,
    /// By node.
    border: Vec<Vec<u32>>,
}

/// Minimum degree on a quotient graph, degrees counted in unknowns.
fn eliminate(sizes: &[usize], graph: &Graph) -> Elimination {
    let n = sizes.len();
    let mut variables = graph.neighbours.clone();
    let mut elements: Vec<Vec<u32>> = vec![Vec::new(); n];
    let mut border: Vec<Vec<u32>> = vec![Vec::new(); n];
    let weight = |nodes: &[u32]| nodes.iter().map(|&node| sizes[node as usize]).sum::<usize>();
    let mut degree: Vec<usize> = variables.iter().map(|list| weight(list)).collect();
    let mut heap: BinaryHeap<Reverse<(usize, u32)>> =
        degree.iter().zip(0..).map(|(&degree, node)| Reverse((degree, node))).collect();
    let mut done = vec![false; n];
    let mut absorbed = vec![false; n];
    let mut mark = vec![0_u32; n];
    let mut stamp = 0;
    let mut order = Vec::with_capacity(n);
    while let Some(Reverse((of, node))) = heap.pop() {
        let v = node as usize;
        if done[v] || of != degree[v] {
            continue;
        }
        done[v] = true;
        order.push(node);
        stamp += 1;
        mark[v] = stamp;
        let mut around = Vec::new();
        let mut take = |list: &[u32]| {
            for &u in list {
                if mark[u as usize] != stamp && !done[u as usize] {
                    mark[u as usize] = stamp;
                    around.push(u);
                }
            }
        };
        take(&variables[v]);
        for &element in &elements[v] {
            take(&border[element as usize]);
            absorbed[element as usize] = true;
        }
        let here = stamp;
        for &u in &around {
            let u = u as usize;
            elements[u].retain(|&element| !absorbed[element as usize]);
            elements[u].push(node);
            variables[u].retain(|&other| mark[other as usize] != here && !done[other as usize]);
        }
        around.sort_unstable();
        border[v] = around;
        // Degrees outside what has just become a clique; `mark` of the clique stays `here` until all are counted.
        let mut counted = vec![0_u32; 0];
        for i in 0..border[v].len() {
            let u = border[v][i] as usize;
            counted.clear();
            counted.extend(variables[u].iter().copied());
            counted.extend(
                elements[u]
                    .iter()
                    .filter(|&&element| element != node)
                    .flat_map(|&element| border[element as usize].iter().copied())
                    .filter(|&other| mark[other as usize] != here && !done[other as usize]),
            );
            counted.sort_unstable();
            counted.dedup();
            degree[u] = weight(&border[v]) - sizes[u] + weight(&counted);
            heap.push(Reverse((degree[u], border[v][i])));
        }
        variables[v] = Vec::new();
        elements[v] = Vec::new();
    }
    Elimination { order, border }
}

/// Fronts as sets of nodes.
struct Supernodes {
    /// In an order in which children come before parents.
    fronts: Vec<NodeFront>,
}

struct NodeFront {
    pivots: Vec<u32>,
    border: Vec<u32>,
    parent: usize,
    weight: usize,
    border_weight: usize,
}

/// Stored zeros that joining two fronts may cost, as a share of the joined panel.
const ZERO_SHARE: f64 = 0.1;
/// Fronts with no more pivots than this, together, are joined whatever it costs.
const SMALL_FRONT: usize = 9;

impl Supernodes {
    fn join(elimination: &Elimination, sizes: &[usize]) -> Self {
        let n = sizes.len();
        let weight = |nodes: &[u32]| nodes.iter().map(|&node| sizes[node as usize]).sum::<usize>();
        let mut rank = vec![0_u32; n];
        for (at, &node) in (0..).zip(&elimination.order) {
            rank[node as usize] = at;
        }
        // One front per node, in order of elimination.
        let mut fronts: Vec<NodeFront> = elimination
            .order
            .iter()
            .map(|&node| {
                let border = elimination.border[node as usize].clone();
                let parent = border.iter().map(|&other| rank[other as usize]).min();
                NodeFront {
                    pivots: vec![node],
                    parent: parent.map_or(ROOT, |parent| parent as usize),
                    weight: sizes[node as usize],
                    border_weight: weight(&border),
                    border,
                }
            })
            .collect();
        let mut joined: Vec<usize> = (0..n).collect();
        for child in 0..n {
            let parent = fronts[child].parent;
            if parent == ROOT {
                continue;
            }
            let extra = fronts[parent].weight + fronts[parent].border_weight - fronts[child].border_weight;
            let zeros = fronts[child].weight * extra;
            let together = fronts[child].weight + fronts[parent].weight;
            let panel = together * (together + fronts[parent].border_weight);
            if zeros == 0 || (zeros as f64) < ZERO_SHARE * panel as f64 && together > SMALL_FRONT || {
                together <= SMALL_FRONT && 2 * zeros < panel
            } {
                let mut pivots = std::mem::take(&mut fronts[child].pivots);
                pivots.append(&mut fronts[parent].pivots);
                fronts[parent].pivots = pivots;
                fronts[parent].weight = together;
                joined[child] = parent;
            }
        }
        Self { fronts: compact(fronts, &joined) }
    }

    fn pattern(&self, sizes: &[usize], graph: &Graph) -> Pattern {
        let order = postorder(&self.fronts);
        let n = sizes.len();
        let mut node_start = vec![0_usize; n];
        let mut total = 0;
        for (start, size) in node_start.iter_mut().zip(sizes) {
            *start = total;
            total += size;
        }
        // Places of the nodes' first unknowns.
        let mut node_place = vec![0_usize; n];
        let mut at = 0;
        for &front in &order {
            for &node in &self.fronts[front].pivots {
                node_place[node as usize] = at;
                at += sizes[node as usize];
            }
        }
        let mut place = vec![0_u32; total];
        for node in 0..n {
            for k in 0..sizes[node] {
                place[node_start[node] + k] = to_u32(node_place[node] + k);
            }
        }
        let mut pattern = Pattern {
            len: total,
            place,
            fronts: Vec::with_capacity(order.len()),
            rows: Vec::new(),
            in_parent: Vec::new(),
            targets: Vec::new(),
            column_start: vec![0],
            column_rows: Vec::new(),
            panel_len: 0,
            largest_border: 0,
            largest_front: 0,
            stack_len: 0,
        };
        let mut index_of = vec![0; self.fronts.len()];
        let mut children = vec![0; self.fronts.len()];
        for (index, &front) in order.iter().enumerate() {
            index_of[front] = index;
            if self.fronts[front].parent != ROOT {
                children[self.fronts[front].parent] += 1;
            }
        }
        for &front in &order {
            let nodes = &self.fronts[front];
            let first = nodes.pivots.first().map_or(0, |&node| node_place[node as usize]);
            let rows = pattern.rows.len();
            pattern.rows.extend((first..first + nodes.weight).map(to_u32));
            let mut border: Vec<u32> = nodes
                .border
                .iter()
                .flat_map(|&node| (0..sizes[node as usize]).map(move |k| (node, k)))
                .map(|(node, k)| to_u32(node_place[node as usize] + k))
                .collect();
            border.sort_unstable();
            pattern.rows.extend(&border);
            let size = nodes.weight + border.len();
            pattern.fronts.push(Front {
                first,
                pivots: nodes.weight,
                size,
                rows,
                parent: if nodes.parent == ROOT { ROOT } else { index_of[nodes.parent] },
                panel: pattern.panel_len,
                map: 0,
                children: children[front],
            });
            pattern.panel_len += size * nodes.weight;
            pattern.largest_border = pattern.largest_border.max(border.len());
            pattern.largest_front = pattern.largest_front.max(size);
            // The columns of its pivots.
            for &node in &nodes.pivots {
                let node = node as usize;
                let mut blocks: Vec<usize> = graph.neighbours[node]
                    .iter()
                    .map(|&other| other as usize)
                    .filter(|&other| node_place[other] > node_place[node])
                    .collect();
                blocks.sort_unstable_by_key(|&other| node_place[other]);
                for k in 0..sizes[node] {
                    let column = node_place[node] + k;
                    let own = (column..node_place[node] + sizes[node]).map(to_u32);
                    let others = blocks
                        .iter()
                        .flat_map(|&other| node_place[other]..node_place[other] + sizes[other])
                        .map(to_u32);
                    let from = pattern.column_rows.len();
                    pattern.column_rows.extend(own.chain(others));
                    let mut position = 0;
                    for row in &pattern.column_rows[from..] {
                        while pattern.rows[rows + position] != *row {
                            position += 1;
                        }
                        pattern.targets.push(to_u32((column - first) * size + position));
                    }
                    pattern.column_start.push(to_u32(pattern.column_rows.len()));
                }
            }
        }
        let mut stack: Vec<usize> = Vec::new();
        let mut top = 0;
        for index in 0..pattern.fronts.len() {
            let front = pattern.fronts[index].clone();
            for _ in 0..front.children {
                top -= stack.pop().unwrap_or(0);
            }
            if front.parent == ROOT {
                continue;
            }
            let border = front.size - front.pivots;
            stack.push(border * border);
            top += border * border;
            pattern.stack_len = pattern.stack_len.max(top);
            let parent_rows = pattern.fronts[front.parent].rows;
            pattern.fronts[index].map = pattern.in_parent.len();
            let mut position = 0;
            for &row in &pattern.rows[front.rows + front.pivots..front.rows + front.size] {
                while pattern.rows[parent_rows + position] != row {
                    position += 1;
                }
                pattern.in_parent.push(to_u32(position));
            }
        }
        pattern
    }
}

/// Drops the fronts that were joined to their parents, and renumbers.
fn compact(fronts: Vec<NodeFront>, joined: &[usize]) -> Vec<NodeFront> {
    let mut number = vec![ROOT; fronts.len()];
    let mut count = 0;
    for (index, &into) in joined.iter().enumerate() {
        if into == index {
            number[index] = count;
            count += 1;
        }
    }
    let head = |mut index: usize| {
        while joined[index] != index {
            index = joined[index];
        }
        number[index]
    };
    fronts
        .into_iter()
        .enumerate()
        .filter(|(index, _)| joined[*index] == *index)
        .map(|(_, mut front)| {
            if front.parent != ROOT {
                front.parent = head(front.parent);
            }
            front
        })
        .collect()
}

/// Fronts so that every one's children come just before it.
fn postorder(fronts: &[NodeFront]) -> Vec<usize> {
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); fronts.len()];
    let mut stack: Vec<(usize, bool)> = Vec::new();
    for (index, front) in fronts.iter().enumerate() {
        if front.parent == ROOT {
            stack.push((index, false));
        } else {
            children[front.parent].push(index);
        }
    }
    let mut order = Vec::with_capacity(fronts.len());
    while let Some((index, open)) = stack.pop() {
        if open {
            order.push(index);
        } else {
            stack.push((index, true));
            stack.extend(children[index].iter().map(|&child| (child, false)));
        }
    }
    order
}

/// Sizes here stay far below 2^32: meshes have some thousand vertices.
fn to_u32(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers between -1 and 1 (Numerical Recipes' generator).
    fn noise() -> impl FnMut() -> f64 {
        let mut state = 12_345_u32;
        move || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state) / f64::from(1_u32 << 31) - 1.0
        }
    }

    /// A grid of nodes with one to three unknowns, coupled in squares, and one node coupled with a whole side.
    fn grid(n: usize) -> (Vec<usize>, Vec<Vec<u32>>) {
        let sizes = (0..=n * n).map(|node| 1 + node % 3).collect();
        let node = |i: usize, j: usize| to_u32(i * n + j);
        let squares = (0..n - 1).flat_map(|i| (0..n - 1).map(move |j| (i, j)));
        let mut cliques: Vec<Vec<u32>> =
            squares.map(|(i, j)| vec![node(i, j), node(i + 1, j), node(i, j + 1), node(i + 1, j + 1)]).collect();
        cliques.extend((0..n - 1).map(|j| vec![node(0, j), node(0, j + 1), to_u32(n * n)]));
        (sizes, cliques)
    }

    #[test]
    fn solutions_satisfy_their_system() {
        for n in [2, 3, 7, 12] {
            let (sizes, cliques) = grid(n);
            let pattern = Pattern::new(&sizes, &cliques);
            let starts: Vec<usize> = sizes
                .iter()
                .scan(0, |total, size| {
                    *total += size;
                    Some(*total - size)
                })
                .collect();
            let mut random = noise();
            let len = pattern.len();
            let mut dense = vec![vec![0.0; len]; len];
            let mut values = vec![0.0; pattern.values()];
            for clique in &cliques {
                let unknowns: Vec<usize> = clique
                    .iter()
                    .flat_map(|&node| (0..sizes[node as usize]).map(move |k| (node as usize, k)))
                    .map(|(node, k)| starts[node] + k)
                    .collect();
                // A square of a random vector is positive semidefinite.
                let vector: Vec<f64> = unknowns.iter().map(|_| random()).collect();
                for (a, &i) in unknowns.iter().enumerate() {
                    for (b, &j) in unknowns.iter().enumerate() {
                        dense[i][j] += vector[a] * vector[b];
                        if i >= j {
                            values[pattern.slot(i, j)] += vector[a] * vector[b];
                        }
                    }
                }
            }
            for (i, row) in dense.iter_mut().enumerate() {
                row[i] += 0.1;
                values[pattern.slot(i, i)] += 0.1;
            }
            let right: Vec<f64> = (0..len).map(|_| random()).collect();
            let mut x = right.clone();
            let mut factor = Factor::new(&pattern);
            assert!(factor.factorise(&pattern, &values));
            factor.solve(&pattern, [&mut x]);
            for (row, right) in dense.iter().zip(&right) {
                let left: f64 = row.iter().zip(&x).map(|(a, x)| a * x).sum();
                assert!((left - right).abs() < 1e-9, "{n}: {left} {right}");
            }
            values[pattern.slot(0, 0)] = -5.0;
            assert!(!factor.factorise(&pattern, &values), "not positive definite");
        }
    }
}
