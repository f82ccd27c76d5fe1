//! A ring's opening: what the rays of one ring say of it, and what those of rings of one make say together.

/// Heights of a ring's crest over the cloth that are tried: every so many millimetres, so many of them.
pub(super) const CREST_STEP_MM: f64 = 0.2;
pub(super) const CRESTS: usize = 10;
/// Radii of openings that are tried, the same way.
pub(super) const RADIUS_STEP_MM: f64 = 0.1;
pub(super) const RADII: usize = 156;
/// Part of the rays that must see an opening.
pub(super) const EDGE_PART: f64 = 0.45;

/// For each height of the crest and each radius, the part of the rays that see an edge there.
pub(super) struct Votes(pub Vec<[f64; RADII]>);

/// A ring's opening, and the height of the ring's crest over the cloth, millimetres.
#[derive(Clone, Copy)]
pub(super) struct Opening {
    pub radius: f64,
    pub crest_mm: f64,
}

impl Votes {
    /// Whether these rays show an opening that others agree on; half as many of them do than tell one by themselves.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few bins")]
    pub(super) fn bear_out(&self, opening: Opening) -> bool {
        let bin = |mm: f64, step: f64| (mm / step).round() as usize;
        let (h, r) = (bin(opening.crest_mm, CREST_STEP_MM), bin(opening.radius, RADIUS_STEP_MM));
        self.0[h][r.saturating_sub(2)..=(r + 2).min(RADII - 1)].iter().any(|part| *part >= 0.5 * EDGE_PART)
    }
}

/// The opening that rings of one make agree on.
#[expect(clippy::cast_precision_loss, reason = "a few bins")]
pub(super) fn opening(votes: &[&Votes]) -> Option<Opening> {
    let mean = |h: usize, r: usize| votes.iter().map(|v| v.0[h][r]).sum::<f64>() / votes.len() as f64;
    let bins = (0..CRESTS).flat_map(|h| (2..RADII - 2).map(move |r| (h, r)));
    let (h, r) = bins.max_by(|a, b| mean(a.0, a.1).total_cmp(&mean(b.0, b.1)))?;
    if votes.is_empty() || mean(h, r) < EDGE_PART {
        return None;
    }
    let (mut sum, mut weight) = (0.0, 0.0);
    for k in r - 2..=r + 2 {
        sum += mean(h, k) * k as f64;
        weight += mean(h, k);
    }
    Some(Opening { radius: RADIUS_STEP_MM * sum / weight, crest_mm: CREST_STEP_MM * h as f64 })
}
