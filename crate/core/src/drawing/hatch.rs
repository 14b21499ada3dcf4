//! Hatching: parallel lines within a polygon, with the room of texts left out.

use glam::DVec2;

use super::rect::{HalfPlane, split};
use super::{Hatch, TurnedRect};

/// Families of lines of a hatching: normal (not a unit vector where it stands at 45 degrees) and pitch in heights of
/// the letters.
const fn families(hatch: Hatch) -> &'static [(DVec2, f64)] {
    const RISING: DVec2 = DVec2::new(1.0, -1.0);
    const FALLING: DVec2 = DVec2::new(1.0, 1.0);
    match hatch {
        Hatch::Paste => &[(RISING, 0.7)],
        Hatch::NoPaste => &[(FALLING, 2.2)],
        Hatch::Lap => &[(RISING, 1.0), (FALLING, 1.0)],
        Hatch::PrintFree => &[(DVec2::X, 0.8)],
        Hatch::Hidden => &[(DVec2::Y, 0.9)],
        Hatch::UnderPatch => &[(RISING, 1.6)],
        Hatch::Barcode => &[(DVec2::X, 0.4)],
        Hatch::BarcodeAcross => &[(DVec2::Y, 0.4)],
    }
}

/// The lines of a hatching within a simple polygon: for each line of the family, its crossings with the outline taken
/// in pairs. The lines stand on a fixed raster, so that neighbouring areas match.
pub(super) fn lines(hatch: Hatch, outline: &[DVec2], height_mm: f64) -> Vec<[DVec2; 2]> {
    let mut out = Vec::new();
    for &(normal, pitch) in families(hatch) {
        let along = normal.perp();
        let step = pitch * height_mm * normal.length();
        let levels = outline.iter().map(|point| normal.dot(*point));
        let (low, high) =
            levels.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), level| (low.min(level), high.max(level)));
        // Half a step off the raster: edges on round figures then never run along a line.
        let mut level = (low / step - 0.5).ceil() * step + step / 2.0;
        while level < high {
            let mut crossings: Vec<DVec2> = Vec::new();
            for (index, &a) in outline.iter().enumerate() {
                let b = outline[(index + 1) % outline.len()];
                let (at_a, at_b) = (normal.dot(a) - level, normal.dot(b) - level);
                if (at_a < 0.0) != (at_b < 0.0) {
                    crossings.push(a.lerp(b, at_a / (at_a - at_b)));
                }
            }
            crossings.sort_by(|a, b| along.dot(*a).total_cmp(&along.dot(*b)));
            out.extend(crossings.chunks_exact(2).map(|pair| [pair[0], pair[1]]));
            level += step;
        }
    }
    out
}

/// What of the lines lies in all the half planes.
pub(super) fn within(lines: Vec<[DVec2; 2]>, planes: &[HalfPlane]) -> Vec<[DVec2; 2]> {
    lines.into_iter().filter_map(|line| split(line, planes).1).collect()
}

/// What of the lines does not lie in all the half planes.
pub(super) fn without(lines: Vec<[DVec2; 2]>, planes: &[HalfPlane]) -> Vec<[DVec2; 2]> {
    lines.into_iter().flat_map(|line| split(line, planes).0).collect()
}

/// What of the lines lies outside the room of texts.
pub(super) fn broken(lines: Vec<[DVec2; 2]>, texts: &[TurnedRect]) -> Vec<[DVec2; 2]> {
    texts.iter().fold(lines, |lines, text| without(lines, &text.half_planes()))
}

#[cfg(test)]
mod tests {
    use super::super::Rect;
    use super::*;

    #[test]
    fn lines_fill_a_polygon_evenly() {
        // An L of 3 x 10 x 10 less 2 x 10 x 5: what is hatched, times the pitch, is its area.
        let outline = [(0.0, 0.0), (30.0, 0.0), (30.0, 5.0), (10.0, 5.0), (10.0, 10.0), (0.0, 10.0)]
            .map(|(x, y)| DVec2::new(x, y));
        let fine = lines(Hatch::Paste, &outline, 0.01);
        let area = fine.iter().map(|[a, b]| a.distance(*b)).sum::<f64>() * 0.7 * 0.01;
        assert!((area - 200.0).abs() < 0.5, "{area}");
        let text = Rect::new(DVec2::new(2.0, 1.0), DVec2::new(6.0, 3.0));
        let left = broken(fine, &[text.into()]);
        let area = left.iter().map(|[a, b]| a.distance(*b)).sum::<f64>() * 0.7 * 0.01;
        assert!((area - 192.0).abs() < 0.5, "{area}");
        assert!(!left.iter().any(|segment| text.grown(-1e-6).is_crossed(*segment)));
    }
}
