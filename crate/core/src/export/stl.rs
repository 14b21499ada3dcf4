//! Solids as binary STL.

use glam::{DVec3, Vec3};

/// What an STL file begins with. It must not begin with "solid": that is how text files of the format begin.
const STL_HEADER: &[u8] = b"Sackwright, binary STL, lengths in mm";

/// Triangles as binary STL, little-endian, lengths in mm: an 80-byte header, the number of triangles, and for each its
/// facet normal and corners, counter-clockwise seen from outside. The format holds `f32`; triangles that have no area
/// left in it are left out.
#[must_use]
pub fn stl(positions: &[[f64; 3]], triangles: &[[u32; 3]]) -> Vec<u8> {
    let facets: Vec<[Vec3; 4]> = triangles.iter().filter_map(|triangle| facet(positions, *triangle)).collect();
    let mut bytes = Vec::with_capacity(84 + 50 * facets.len());
    bytes.extend_from_slice(STL_HEADER);
    bytes.resize(80, 0);
    // Vertices are numbered in u32, and a mesh has no more triangles than a few per vertex: the count fits.
    bytes.extend_from_slice(&u32::try_from(facets.len()).unwrap_or(u32::MAX).to_le_bytes());
    for facet in facets {
        for number in facet.iter().flat_map(|vector| vector.to_array()) {
            bytes.extend_from_slice(&number.to_le_bytes());
        }
        // The format's attribute count, unused.
        bytes.extend_from_slice(&[0, 0]);
    }
    bytes
}

/// Normal and corners of a triangle as the file holds them; `None` when nothing is left of it.
fn facet(positions: &[[f64; 3]], triangle: [u32; 3]) -> Option<[Vec3; 4]> {
    let corners = triangle.map(|index| DVec3::from(positions[index as usize]).as_vec3());
    let [a, b, c] = corners.map(Vec3::as_dvec3);
    let normal = (b - a).cross(c - a).try_normalize()?.as_vec3();
    let [a, b, c] = corners;
    Some([normal, a, b, c])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn floats(bytes: &[u8]) -> Vec<f32> {
        bytes.as_chunks().0.iter().map(|four| f32::from_le_bytes(*four)).collect()
    }

    #[test]
    fn a_triangle_takes_fifty_bytes_and_carries_its_normal() {
        let bytes = stl(&[[0.0; 3], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0]], &[[0, 1, 2]]);
        assert_eq!(bytes.len(), 84 + 50);
        assert!(!bytes.starts_with(b"solid"));
        assert_eq!(bytes[80..84], [1, 0, 0, 0]);
        assert_eq!(floats(&bytes[84..132]), [0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 2.0, 0.0, 0.0, 0.0, 3.0, 0.0]);
    }

    #[test]
    fn triangles_without_area_in_the_file_are_left_out() {
        // The last corner differs from the first by less than f32 resolves at 1000 mm.
        let positions = [[1_000.0, 0.0, 0.0], [1_001.0, 0.0, 0.0], [1_000.000_000_1, 0.0, 0.0], [1_000.0, 1.0, 0.0]];
        let bytes = stl(&positions, &[[0, 1, 1], [0, 1, 2], [0, 1, 3]]);
        assert_eq!(bytes[80..84], [1, 0, 0, 0]);
        assert_eq!(bytes.len(), 84 + 50);
    }
}
