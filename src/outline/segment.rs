//! The relaxed segmentation of a grid of cells.
//!
//! The cells' evidence is joined by minimising  Σ TV(u) λ − Σ r u  over 0 ≤ u ≤ 1, whose threshold is the
//! best segmentation (T. F. Chan, S. Esedoglu and M. Nikolova, "Algorithms for finding global minimizers
//! of image segmentation and denoising models", SIAM J. Appl. Math. 66, 2006, doi:10.1137/040615286),
//! by the primal-dual steps of A. Chambolle and T. Pock (J. Math. Imaging Vis. 40, 2011,
//! doi:10.1007/s10851-010-0251-1). Where nothing speaks either way, the shortest boundary is taken.

use rayon::prelude::*;

/// Cost of a cell's side of boundary. Raising it rounds corners, lowering it lets texture through.
const BOUNDARY_COST: f32 = 3.0;
/// Steps of the primal-dual iteration; the threshold stands still after about a hundred.
const STEPS: usize = 120;

/// The relaxed segmentation.
pub(super) fn segment(evidence: &[f32], across: usize, down: usize) -> Vec<f32> {
    // Steps with σ τ |∇|² ≤ 1, |∇|² = 8 (Chambolle and Pock 2011, theorem 1).
    const TAU: f32 = 0.25;
    const SIGMA: f32 = 0.5;
    let mut u: Vec<f32> = evidence.iter().map(|e| if *e > 0.0 { 1.0 } else { 0.0 }).collect();
    let mut over = u.clone();
    let (mut across_flow, mut down_flow) = (vec![0f32; u.len()], vec![0f32; u.len()]);
    let none = vec![0f32; across];
    for _ in 0..STEPS {
        // Rows go by in slices of one length, so that many cells are worked on at once.
        across_flow.par_chunks_mut(across).zip(down_flow.par_chunks_mut(across)).enumerate().for_each(
            |(y, (right_flow, below_flow))| {
                let here = &over[y * across..][..across];
                let below = if y + 1 < down { &over[(y + 1) * across..][..across] } else { here };
                let last = across - 1;
                let step = |f: &mut f32, g: &mut f32, right: f32, below: f32| {
                    let (x, y) = (*f + SIGMA * right, *g + SIGMA * below);
                    let part = BOUNDARY_COST / (x * x + y * y).sqrt().max(BOUNDARY_COST);
                    (*f, *g) = (x * part, y * part);
                };
                let (next, at) = (&here[1..], &here[..last]);
                let (f, g, below_at) = (&mut right_flow[..last], &mut below_flow[..last], &below[..last]);
                for x in 0..last {
                    step(&mut f[x], &mut g[x], next[x] - at[x], below_at[x] - at[x]);
                }
                step(&mut right_flow[last], &mut below_flow[last], 0.0, below[last] - here[last]);
            },
        );
        u.par_chunks_mut(across).zip(over.par_chunks_mut(across)).enumerate().for_each(
            |(y, (u_row, over_row))| {
                let row = y * across;
                let (right, below) = (&across_flow[row..][..across], &down_flow[row..][..across]);
                let above = y.checked_sub(1).map_or(&none[..], |y| &down_flow[y * across..][..across]);
                let evidence = &evidence[row..][..across];
                let step = |x: usize, left: f32, u: &mut f32, over: &mut f32| {
                    let divergence = right[x] - left + below[x] - above[x];
                    let after = (*u + TAU * (divergence + evidence[x])).clamp(0.0, 1.0);
                    (*over, *u) = (2.0 * after - *u, after);
                };
                step(0, 0.0, &mut u_row[0], &mut over_row[0]);
                let (u_row, over_row) = (&mut u_row[..across], &mut over_row[..across]);
                for x in 1..across {
                    step(x, right[x - 1], &mut u_row[x], &mut over_row[x]);
                }
            },
        );
    }
    u
}
