//! A loaded pallet in solids: one filled sack where every sack of a stack lies, and the pallet as a block of its size.
//! The pallet's middle is the origin and its top is z = 0, as pages show it.

use glam::DVec3;

use crate::fill::FilledMesh;

/// Where a copy of a sack lies: turned about z, then moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Where its middle comes to lie, mm.
    pub place_mm: [f64; 3],
    /// Counter-clockwise seen from above.
    pub quarter_turns: i32,
}

/// A stack on its pallet.
#[derive(Clone, Copy, Debug)]
pub struct StackedSacks<'a> {
    /// The sack, its middle at the origin.
    pub mesh: &'a FilledMesh,
    /// Where each lies.
    pub stands: &'a [Stand],
    /// Length along x, width along y and height of the pallet, mm.
    pub pallet_mm: [f64; 3],
}

/// A block, every face of which has corners of its own.
#[derive(Default)]
pub(super) struct Block {
    pub corners: Vec<[f64; 3]>,
    pub normals: Vec<[f64; 3]>,
    pub faces: Vec<[u32; 3]>,
}

impl StackedSacks<'_> {
    /// All as one mesh: positions in mm and triangles, the sacks one after the other, then the pallet.
    #[must_use]
    pub fn solids(&self) -> (Vec<[f64; 3]>, Vec<[u32; 3]>) {
        let mut positions = Vec::new();
        let mut triangles = Vec::new();
        let mut add = |corners: &mut dyn Iterator<Item = [f64; 3]>, faces: &[[u32; 3]]| {
            // A stack has far fewer vertices than u32 counts.
            let first = u32::try_from(positions.len()).unwrap_or(u32::MAX);
            positions.extend(corners);
            triangles.extend(faces.iter().map(|face| face.map(|vertex| first + vertex)));
        };
        for stand in self.stands {
            add(&mut self.mesh.positions.iter().map(|&point| stand.of(point)), &self.mesh.triangles);
        }
        let block = self.block();
        add(&mut block.corners.into_iter(), &block.faces);
        (positions, triangles)
    }

    /// The pallet.
    pub(super) fn block(&self) -> Block {
        let half = DVec3::from(self.pallet_mm) / 2.0;
        let mut block = Block::default();
        for (axis, side) in [0, 1, 2].into_iter().flat_map(|axis| [(axis, 1.0), (axis, -1.0)]) {
            let normal = DVec3::AXES[axis] * side;
            let (u, v) = (DVec3::AXES[(axis + 1) % 3], DVec3::AXES[(axis + 2) % 3] * side);
            let first = u32::try_from(block.corners.len()).unwrap_or(u32::MAX);
            for (a, b) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
                let corner = (normal + a * u + b * v) * half - DVec3::Z * half.z;
                block.corners.push(corner.to_array());
                block.normals.push(normal.to_array());
            }
            block.faces.extend([[first, first + 1, first + 2], [first, first + 2, first + 3]]);
        }
        block
    }
}

impl Stand {
    /// A point of the sack where this copy has it.
    fn of(&self, [x, y, z]: [f64; 3]) -> [f64; 3] {
        let turned = match self.quarter_turns.rem_euclid(4) {
            0 => DVec3::new(x, y, z),
            1 => DVec3::new(-y, x, z),
            2 => DVec3::new(-x, -y, z),
            _ => DVec3::new(y, -x, z),
        };
        (turned + DVec3::from(self.place_mm)).to_array()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::stack_glb;
    use crate::fill::Panel;

    /// A tetrahedron for a sack.
    fn mesh() -> FilledMesh {
        FilledMesh {
            positions: vec![[0.0; 3], [300.0, 0.0, 0.0], [0.0, 500.0, 0.0], [0.0, 0.0, 100.0]],
            panel: vec![Panel::Upper; 4],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
            ..FilledMesh::default()
        }
    }

    fn volume(positions: &[[f64; 3]], triangles: &[[u32; 3]]) -> f64 {
        let corner = |vertex: u32| DVec3::from(positions[vertex as usize]);
        triangles.iter().map(|&[a, b, c]| corner(a).dot(corner(b).cross(corner(c))) / 6.0).sum()
    }

    const STANDS: [Stand; 3] = [
        Stand { place_mm: [100.0, 50.0, 0.0], quarter_turns: 0 },
        Stand { place_mm: [-100.0, 50.0, 0.0], quarter_turns: 1 },
        Stand { place_mm: [0.0, 0.0, 100.0], quarter_turns: 7 },
    ];

    #[test]
    fn every_sack_is_there_and_the_pallet_under_them() {
        let mesh = mesh();
        let stack = StackedSacks { mesh: &mesh, stands: &STANDS, pallet_mm: [1200.0, 800.0, 144.0] };
        let (positions, triangles) = stack.solids();
        let expected = 3.0 * volume(&mesh.positions, &mesh.triangles) + 1200.0 * 800.0 * 144.0;
        assert!((volume(&positions, &triangles) / expected - 1.0).abs() < 1e-12);
        // The tip that lies along y points to -x after a quarter turn, and to +x after three.
        assert_eq!(positions[2], [100.0, 550.0, 0.0]);
        assert_eq!(positions[4 + 2], [-600.0, 50.0, 0.0]);
        assert_eq!(positions[8 + 2], [500.0, 0.0, 100.0]);
        let lowest = positions.iter().map(|point| point[2]).fold(f64::INFINITY, f64::min);
        assert_eq!(lowest, -144.0);
    }

    #[test]
    fn in_a_glb_a_sack_s_mesh_is_there_once() {
        let mesh = mesh();
        let stack = StackedSacks { mesh: &mesh, stands: &STANDS, pallet_mm: [1200.0, 800.0, 144.0] };
        let bytes = stack_glb("Flour", &stack).unwrap();
        let length = u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
        let json: serde_json::Value = serde_json::from_slice(&bytes[20..20 + length]).unwrap();
        assert_eq!(json["meshes"].as_array().unwrap().len(), 2);
        let nodes = json["nodes"].as_array().unwrap();
        let sacks: Vec<_> = nodes.iter().filter(|node| node["name"].as_str().unwrap().starts_with("sack-")).collect();
        assert_eq!(sacks.len(), 3);
        assert!(sacks.iter().all(|sack| sack["mesh"] == sacks[0]["mesh"]));
        // glTF's up is y: the third sack lies 0.1 m above the pallet.
        let height = sacks[2]["translation"][1].as_f64().unwrap();
        assert!((height - 0.1).abs() < 1e-6);
    }
}
