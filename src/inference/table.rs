//! The table of the open axes, and what a step does to it, forward and backward.
//!
//! A table over axes of n₁, n₂, … states lies with the first axis innermost: entry (x₁, x₂, …) at x₁ + n₁·(x₂ + …). An
//! axis is given by its stride (the product of the axes within) and its states. Every backward step is the transpose of
//! its forward step, so that at every point the sum of products of the forward and the backward table is P(e).
//!
//! Matrices are row by row, `m[y * n + x]` moving state x to state y; those of draws are lower triangular (a draw only
//! moves upwards), so that they can be applied in place from the top.

use super::number::Number;

/// Opens an axis outermost, in place: `table` holds `len` entries and room for `start.len()` times as many.
#[inline]
pub(crate) fn open<N: Number>(table: &mut [N], len: usize, start: &[N]) {
    let (first, rest) = table.split_at_mut(len);
    for (slice, &weight) in rest.chunks_exact_mut(len).zip(&start[1..]) {
        for (to, &from) in slice.iter_mut().zip(first.iter()) {
            *to = from.times(weight);
        }
    }
    for entry in first {
        *entry = entry.times(start[0]);
    }
}

/// The product of two tables, the axes of `outer` outermost.
#[inline]
pub(crate) fn join<N: Number>(inner: &[N], outer: &[N], to: &mut [N]) {
    for (slice, &weight) in to.chunks_exact_mut(inner.len()).zip(outer) {
        for (to, &from) in slice.iter_mut().zip(inner) {
            *to = from.times(weight);
        }
    }
}

/// The transpose of [`join`] for the inner table: sums of the slices of `from`, each weighed by an entry of `outer`.
#[inline]
pub(crate) fn join_back<N: Number>(from: &[N], outer: &[N], to: &mut [N]) {
    to.fill(N::ZERO);
    for (slice, &weight) in from.chunks_exact(to.len()).zip(outer) {
        for (to, &from) in to.iter_mut().zip(slice) {
            *to = to.plus(from.times(weight));
        }
    }
}

/// The transpose of [`open`]: sums the outermost axis out with `start`, in place into the first `len` entries.
#[inline]
pub(crate) fn open_back<N: Number>(table: &mut [N], len: usize, start: &[N]) {
    let (first, rest) = table.split_at_mut(len);
    for entry in first.iter_mut() {
        *entry = entry.times(start[0]);
    }
    for (slice, &weight) in rest.chunks_exact(len).zip(&start[1..]) {
        for (to, &from) in first.iter_mut().zip(slice) {
            *to = to.plus(from.times(weight));
        }
    }
}

/// What each state of the outermost axis is worth: the sums of products of `forward` with each slice.
#[inline]
pub(crate) fn worth<N: Number>(forward: &[N], backward: &[N], mut each: impl FnMut(usize, N)) {
    for (x, slice) in backward.chunks_exact(forward.len()).enumerate() {
        each(x, dot(forward, slice));
    }
}

/// The sum of products.
#[inline]
pub(crate) fn dot<N: Number>(a: &[N], b: &[N]) -> N {
    // Four sums, so that the additions need not wait for one another; the order is fixed.
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let tail = a4.remainder().iter().zip(b4.remainder()).fold(N::ZERO, |s, (&x, &y)| s.plus(x.times(y)));
    let mut sums = [N::ZERO; 4];
    for (x, y) in a4.zip(b4) {
        for i in 0..4 {
            sums[i] = sums[i].plus(x[i].times(y[i]));
        }
    }
    sums[0].plus(sums[1]).plus(sums[2].plus(sums[3])).plus(tail)
}

/// Makes a draw, in place: for each state of the controlling axis but the first, its matrix over the target axis.
/// `back`: the transposed matrices.
#[inline]
pub(crate) fn draw<N: Number>(
    table: &mut [N],
    matrices: &[N],
    control: (usize, usize),
    target: (usize, usize),
    back: bool,
) {
    let (stride_c, states_c) = control;
    let (stride_t, states_t) = target;
    for state in 1..states_c {
        let matrix = &matrices[(state - 1) * states_t * states_t..][..states_t * states_t];
        if stride_c > stride_t {
            for block in table.chunks_exact_mut(stride_c * states_c) {
                apply(&mut block[state * stride_c..][..stride_c], matrix, target, back);
            }
        } else {
            for block in table.chunks_exact_mut(stride_t * states_t) {
                for at in (state * stride_c..stride_t).step_by(stride_c * states_c) {
                    strided(&mut block[at..], stride_c, matrix, target, back);
                }
            }
        }
    }
}

/// Applies a lower triangular matrix to every vector along `axis`, in place.
#[inline]
fn apply<N: Number>(table: &mut [N], matrix: &[N], axis: (usize, usize), back: bool) {
    for block in table.chunks_exact_mut(axis.0 * axis.1) {
        strided(block, axis.0, matrix, axis, back);
    }
}

/// Applies the matrix to the vectors that begin at the first `run` entries.
#[inline(always)]
fn strided<N: Number>(table: &mut [N], run: usize, matrix: &[N], (stride, n): (usize, usize), back: bool) {
    if let &[m00, _, m10, m11] = matrix {
        let (low, high) = table.split_at_mut(stride);
        if back {
            for (a, b) in low[..run].iter_mut().zip(&mut high[..run]) {
                *a = a.times(m00).plus(b.times(m10));
                *b = b.times(m11);
            }
        } else {
            for (a, b) in low[..run].iter_mut().zip(&mut high[..run]) {
                *b = b.times(m11).plus(a.times(m10));
                *a = a.times(m00);
            }
        }
        return;
    }
    for i in 0..run {
        if back {
            for x in 0..n {
                let sum = (x..n).fold(N::ZERO, |s, y| s.plus(matrix[y * n + x].times(table[i + y * stride])));
                table[i + x * stride] = sum;
            }
        } else {
            for y in (0..n).rev() {
                let sum =
                    (0..=y).fold(N::ZERO, |s, x| s.plus(matrix[y * n + x].times(table[i + x * stride])));
                table[i + y * stride] = sum;
            }
        }
    }
}

/// Turns an axis by any square matrix, in place.
pub(crate) fn turn<N: Number>(table: &mut [N], matrix: &[N], (stride, n): (usize, usize), back: bool) {
    if let &[m00, m01, m10, m11] = &matrix[..n * n] {
        let (m01, m10) = if back { (m10, m01) } else { (m01, m10) };
        for block in table.chunks_exact_mut(stride * 2) {
            let (low, high) = block.split_at_mut(stride);
            for (a, b) in low.iter_mut().zip(high) {
                (*a, *b) = (m00.times(*a).plus(m01.times(*b)), m10.times(*a).plus(m11.times(*b)));
            }
        }
        return;
    }
    let mut vector = vec![N::ZERO; n];
    for block in table.chunks_exact_mut(stride * n) {
        for i in 0..stride {
            for (y, entry) in vector.iter_mut().enumerate() {
                *entry = (0..n).fold(N::ZERO, |s, x| {
                    let m = if back { matrix[x * n + y] } else { matrix[y * n + x] };
                    s.plus(m.times(block[i + x * stride]))
                });
            }
            for (y, &entry) in vector.iter().enumerate() {
                block[i + y * stride] = entry;
            }
        }
    }
}

/// Sums an axis out of `from` into `to`, with a weight per state (`None`: 1 each).
#[inline]
pub(crate) fn close<N: Number>(from: &[N], to: &mut [N], (stride, n): (usize, usize), end: Option<&[N]>) {
    if n == 2 {
        let pairs = from.chunks_exact(2 * stride).zip(to.chunks_exact_mut(stride));
        match end {
            // A bit that must be set: the other half is not needed.
            Some(&[unset, set]) if unset.is_zero() => {
                for (block, out) in pairs {
                    for (o, &b) in out.iter_mut().zip(&block[stride..]) {
                        *o = b.times(set);
                    }
                }
            }
            Some(&[e0, e1]) => {
                for (block, out) in pairs {
                    let (low, high) = block.split_at(stride);
                    for ((o, &a), &b) in out.iter_mut().zip(low).zip(high) {
                        *o = a.times(e0).plus(b.times(e1));
                    }
                }
            }
            _ => {
                for (block, out) in pairs {
                    let (low, high) = block.split_at(stride);
                    for ((o, &a), &b) in out.iter_mut().zip(low).zip(high) {
                        *o = a.plus(b);
                    }
                }
            }
        }
        return;
    }
    for (block, out) in from.chunks_exact(n * stride).zip(to.chunks_exact_mut(stride)) {
        for (i, o) in out.iter_mut().enumerate() {
            *o = (0..n).fold(N::ZERO, |s, x| {
                let entry = block[i + x * stride];
                s.plus(end.map_or(entry, |end| entry.times(end[x])))
            });
        }
    }
}

/// The transpose of [`close`]: `to[.., x, ..] = end[x]·from[..]`.
#[inline]
pub(crate) fn close_back<N: Number>(
    from: &[N],
    to: &mut [N],
    (stride, n): (usize, usize),
    end: Option<&[N]>,
) {
    for (block, small) in to.chunks_exact_mut(n * stride).zip(from.chunks_exact(stride)) {
        for (x, slice) in block.chunks_exact_mut(stride).enumerate() {
            match end {
                None => slice.copy_from_slice(small),
                Some(end) => {
                    let weight = end[x];
                    for (t, &f) in slice.iter_mut().zip(small) {
                        *t = f.times(weight);
                    }
                }
            }
        }
    }
}

/// What each state of an axis is worth before it is summed out: Σ over the others of `forward`·`backward`, without the
/// weight of the state.
#[inline]
pub(crate) fn worth_before<N: Number>(
    forward: &[N],
    backward: &[N],
    (stride, n): (usize, usize),
    mut each: impl FnMut(usize, N),
) {
    for x in 0..n {
        let mut sum = N::ZERO;
        for (block, small) in forward.chunks_exact(n * stride).zip(backward.chunks_exact(stride)) {
            sum = sum.plus(dot(&block[x * stride..][..stride], small));
        }
        each(x, sum);
    }
}
