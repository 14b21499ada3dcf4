//! Binary glTF 2.0 (GLB): metres, +Y up, right-handed. The sack frame's x stays x, its z becomes up (y), and its y, towards
//! the valve end, goes into the picture (-z).
//!
//! Every part is a node of its own, by name, with piece, ply, end and panel as extras. Materials are two tones of paper,
//! the outer side's and the inner side's.

use core::f64::consts::FRAC_PI_2;
use std::collections::BTreeMap;

use glam::{DQuat, DVec3, Vec3};
use serde::Serialize;

use super::stack::StackedSacks;
use crate::fill::{FilledMesh, Panel};
use crate::fold::{PanelName, Piece};
use crate::model::{Face, Mesh, Part};
use crate::rig::{Joint, Rig};
use crate::sheet::End;

/// A mesh as a GLB file, a node for every panel of every ply, sleeve and patch; `title` goes with the root node.
///
/// # Errors
/// When a number is none.
pub fn glb(title: &str, mesh: &Mesh) -> serde_json::Result<Vec<u8>> {
    let mut document = Document::new();
    let mut panels: Vec<Triangles> = vec![Triangles::default(); mesh.parts.len() / FACES];
    for triangle in &mesh.triangles {
        // Half-way over a bend the panel changes: the triangle goes with its first corner.
        let part = usize::from(mesh.part[triangle[0] as usize]);
        let inside = mesh.parts[part].face != Face::Outer;
        panels[part / FACES].of_side(inside).extend(triangle);
    }
    let mut children = Vec::new();
    for (panel, triangles) in panels.iter().enumerate() {
        let part = &mesh.parts[panel * FACES];
        let node = Node { name: name(part), extras: Some(Extras::of(part)), ..Node::default() };
        children.push(document.mesh_node(node, &mesh.positions, &mesh.normals, None, triangles));
    }
    let root = document.root(title, children);
    document.json.scenes = vec![Scene { nodes: vec![root] }];
    document.finish()
}

/// A film of the fold as a GLB file: a skinned mesh for each ply, the sleeve and each patch, a node for every joint by
/// the name of its panel or bend, and one animation. Turns are interpolated along the sphere, places along a line; sleeve
/// and patches have no size before their stage.
///
/// # Errors
/// When a number is none.
pub fn film_glb(title: &str, rig: &Rig) -> serde_json::Result<Vec<u8>> {
    let mut document = Document::new();
    let joints = document.joints(rig);
    let mut pieces: BTreeMap<PieceKey, Triangles> = BTreeMap::new();
    for triangle in &rig.mesh.triangles {
        let part = &rig.mesh.parts[usize::from(rig.mesh.part[triangle[0] as usize])];
        let end = if part.ply.is_some() { None } else { part.end };
        let piece = pieces.entry((part.piece, part.ply, end)).or_default();
        piece.of_side(part.face != Face::Outer).extend(triangle);
    }
    // What hangs on a skin is placed by its joints alone, so it stands beside the root.
    let mut roots = vec![document.root(title, joints)];
    for ((piece, ply, end), triangles) in &pieces {
        let word = match piece {
            Piece::Ply => "ply",
            Piece::Patch => "patch",
            Piece::Sleeve => "sleeve",
        };
        let ply_name = ply.map(|ply| format!("-{ply}")).unwrap_or_default();
        let end_name = end.map(|end| format!(" {}", end.name())).unwrap_or_default();
        let end = end.map(|end| end.name());
        let extras = Some(Extras { piece: Some(*piece), ply: *ply, end, ..Extras::default() });
        let node = Node { name: format!("{word}{ply_name}{end_name}"), skin: Some(0), extras, ..Node::default() };
        let mesh = &rig.mesh;
        roots.push(document.mesh_node(node, &mesh.positions, &mesh.normals, Some(&rig.influences), triangles));
    }
    document.json.scenes = vec![Scene { nodes: roots }];
    document.finish()
}

/// A filled shape as a GLB file, a node for each of its panels: the skin alone, without thickness.
///
/// # Errors
/// When a number is none.
pub fn filled_glb(title: &str, mesh: &FilledMesh) -> serde_json::Result<Vec<u8>> {
    const PANELS: [(Panel, &str); 5] = [
        (Panel::Upper, "upper"),
        (Panel::Side, "side"),
        (Panel::Lower, "lower"),
        (Panel::ValveBottom, "valve-bottom"),
        (Panel::PlainBottom, "plain-bottom"),
    ];
    let mut document = Document::new();
    let normals = smooth_normals(mesh);
    let mut children = Vec::new();
    for (panel, name) in PANELS {
        let mut triangles = Triangles::default();
        for triangle in mesh.triangles.iter().filter(|triangle| mesh.panel[triangle[0] as usize] == panel) {
            triangles.outer.extend(triangle);
        }
        let node = Node { name: name.into(), ..Node::default() };
        children.push(document.mesh_node(node, &mesh.positions, &normals, None, &triangles));
    }
    let root = document.root(title, children);
    document.json.scenes = vec![Scene { nodes: vec![root] }];
    document.finish()
}

/// A loaded pallet as a GLB file: a node for every sack, all with one mesh, and one for the pallet.
///
/// # Errors
/// When a number is none.
pub fn stack_glb(title: &str, stack: &StackedSacks) -> serde_json::Result<Vec<u8>> {
    let mut document = Document::new();
    let whole = |faces: &[[u32; 3]]| Triangles { outer: faces.as_flattened().to_vec(), inner: Vec::new() };
    let block = stack.block();
    let node = Node { name: "pallet".into(), ..Node::default() };
    let mut children = vec![document.mesh_node(node, &block.corners, &block.normals, None, &whole(&block.faces))];
    let smooth = smooth_normals(stack.mesh);
    let mut mesh = None;
    for (index, stand) in stack.stands.iter().enumerate() {
        let quarters = f64::from(stand.quarter_turns.rem_euclid(4));
        let node = Node {
            name: format!("sack-{}", index + 1),
            mesh,
            translation: Some(placed(stand.place_mm).to_array()),
            rotation: Some(turn(DQuat::from_rotation_z(quarters * FRAC_PI_2))),
            ..Node::default()
        };
        if mesh.is_none() {
            let triangles = whole(&stack.mesh.triangles);
            let first = document.mesh_node(node, &stack.mesh.positions, &smooth, None, &triangles);
            mesh = document.json.nodes[first].mesh;
            children.push(first);
        } else {
            document.json.nodes.push(node);
            children.push(document.json.nodes.len() - 1);
        }
    }
    let root = document.root(title, children);
    document.json.scenes = vec![Scene { nodes: vec![root] }];
    document.finish()
}

/// A ply, a patch of an end or the sleeve.
type PieceKey = (Piece, Option<u8>, Option<End>);

/// On which joints a vertex hangs, with weights that sum up to 255.
type Influences = [(usize, u8); 4];

/// Parts of a panel: its outer face, its inner face and its edge.
const FACES: usize = 3;

/// Vertex numbers, three a triangle, by material.
#[derive(Clone, Debug, Default)]
struct Triangles {
    outer: Vec<u32>,
    inner: Vec<u32>,
}

impl Triangles {
    const fn of_side(&mut self, inside: bool) -> &mut Vec<u32> {
        if inside { &mut self.inner } else { &mut self.outer }
    }
}

/// A panel's name, with its end where it has one.
fn name(part: &Part) -> String {
    let ply = part.ply.map(|ply| format!("ply-{ply} ")).unwrap_or_default();
    let end = part.end.map(|end| format!(" {}", end.name())).unwrap_or_default();
    format!("{ply}{}{end}", part.panel.name())
}

/// Normals of a filled shape: the mean of the faces around a point, over the walls as one surface and over each bottom;
/// the folds between them stay sharp.
fn smooth_normals(mesh: &FilledMesh) -> Vec<[f64; 3]> {
    let surface = |panel: Panel| match panel {
        Panel::Upper | Panel::Side | Panel::Lower => 0,
        Panel::ValveBottom => 1,
        Panel::PlainBottom => 2,
    };
    // Panels meet in the same coordinates to the bit but for the sign of nought, which adding nought drops.
    let key = |vertex: usize| (surface(mesh.panel[vertex]), mesh.positions[vertex].map(|x| (x + 0.0).to_bits()));
    let mut sums: BTreeMap<(u8, [u64; 3]), DVec3> = BTreeMap::new();
    for triangle in &mesh.triangles {
        let corners = triangle.map(|vertex| vertex as usize);
        let [a, b, c] = corners.map(|vertex| DVec3::from(mesh.positions[vertex]));
        for vertex in corners {
            *sums.entry(key(vertex)).or_default() += (b - a).cross(c - a);
        }
    }
    let normal = |vertex| sums.get(&key(vertex)).copied().unwrap_or_default().normalize_or(DVec3::Z).to_array();
    (0..mesh.positions.len()).map(normal).collect()
}

/// mm to metres.
const M_PER_MM: f64 = 1e-3;

/// A direction of the sack frame in glTF's.
fn turned(v: [f64; 3]) -> Vec3 {
    DVec3::new(v[0], v[2], -v[1]).as_vec3()
}

/// A point of the sack frame in glTF's, mm to metres.
fn placed(p: [f64; 3]) -> Vec3 {
    turned(p.map(|x| x * M_PER_MM))
}

/// A turn of the sack frame in glTF's; of two that are the same, the one with the positive w.
fn turn(rotation: DQuat) -> [f32; 4] {
    let rotation = if rotation.w < 0.0 { -rotation } else { rotation };
    let axis = turned([rotation.x, rotation.y, rotation.z]);
    [axis.x, axis.y, axis.z, rotation.w as f32]
}

/// Kinds of binary data, each in a view of its own.
#[derive(Clone, Copy)]
enum View {
    Vectors,
    Bytes,
    Indices,
    Binds,
    Keys,
}

/// Stride and target of each.
const VIEWS: [(Option<u32>, Option<u32>); 5] = [
    (Some(12), Some(ARRAY_BUFFER)),
    (Some(4), Some(ARRAY_BUFFER)),
    (None, Some(ELEMENT_ARRAY_BUFFER)),
    (None, None),
    (None, None),
];

const ARRAY_BUFFER: u32 = 34_962;
const ELEMENT_ARRAY_BUFFER: u32 = 34_963;
const U8: u32 = 5121;
const U16: u32 = 5123;
const U32: u32 = 5125;
const F32: u32 = 5126;

const OUTER: usize = 0;
const INNER: usize = 1;

/// A document in the making.
struct Document {
    json: Json,
    views: [Vec<u8>; VIEWS.len()],
}

impl Document {
    fn new() -> Self {
        // Linear colours of sack kraft, the outer side a little lighter.
        let paper = |name, colour| Material {
            name,
            pbr: Pbr { base_color_factor: colour, metallic_factor: 0.0, roughness_factor: 0.9 },
        };
        let materials = vec![
            paper("paper, outer side", [0.62, 0.43, 0.24, 1.0]),
            paper("paper, inner side", [0.47, 0.31, 0.16, 1.0]),
        ];
        Self { json: Json { materials, ..Json::default() }, views: Default::default() }
    }

    /// Adds a node with a mesh of its own, with only the vertices it uses.
    fn mesh_node(
        &mut self,
        mut node: Node,
        positions: &[[f64; 3]],
        normals: &[[f64; 3]],
        influences: Option<&[Influences]>,
        triangles: &Triangles,
    ) -> usize {
        let mut used: Vec<u32> = triangles.outer.iter().chain(&triangles.inner).copied().collect();
        used.sort_unstable();
        used.dedup();
        if !used.is_empty() {
            let hung = |of: fn(&(usize, u8)) -> u8| {
                let bytes = |all: &[Influences]| {
                    used.iter().flat_map(|&vertex| all[vertex as usize].each_ref().map(of)).collect::<Vec<u8>>()
                };
                influences.map(bytes)
            };
            // The rig has fewer than 256 joints.
            let (joints, weights) = (hung(|(joint, _)| *joint as u8), hung(|(_, weight)| *weight));
            let attributes = Attributes {
                position: self.vectors(used.iter().map(|&vertex| placed(positions[vertex as usize])), true),
                normal: self.vectors(used.iter().map(|&vertex| turned(normals[vertex as usize])), false),
                joints: joints.map(|bytes| self.quadruples(&bytes, false)),
                weights: weights.map(|bytes| self.quadruples(&bytes, true)),
            };
            let own = |vertex: &u32| used.binary_search(vertex).unwrap_or_default();
            let sides = [(OUTER, &triangles.outer), (INNER, &triangles.inner)];
            let primitives = sides.into_iter().filter(|(_, indices)| !indices.is_empty()).map(|(material, indices)| {
                let indices: Vec<usize> = indices.iter().map(own).collect();
                Primitive { attributes, indices: self.indices(&indices, used.len()), material }
            });
            let primitives = primitives.collect();
            node.mesh = Some(self.json.meshes.len());
            self.json.meshes.push(MeshJson { name: node.name.clone(), primitives });
        }
        self.json.nodes.push(node);
        self.json.nodes.len() - 1
    }

    /// Adds the root node above others.
    fn root(&mut self, title: &str, children: Vec<usize>) -> usize {
        let extras = Some(Extras { title: Some(title.into()), ..Extras::default() });
        self.json.nodes.push(Node { name: "sack".into(), children, extras, ..Node::default() });
        self.json.nodes.len() - 1
    }

    /// Adds the joints of a rig as the first nodes, the skin and the animation.
    fn joints(&mut self, rig: &Rig) -> Vec<usize> {
        let mut animation = Animation { name: "fold", ..Animation::default() };
        let times: Vec<f32> = rig.times.iter().map(|time| *time as f32).collect();
        let times = self.scalars(&times);
        let mut bind = Vec::new();
        for joint in &rig.joints {
            let number = self.json.nodes.len();
            let Some(first) = joint.keys.first() else { continue };
            // Bound where it is at the first key: the inverse of a turn and a move.
            let turned_back = first.rotation.inverse();
            let back = placed((-(turned_back * first.translation)).to_array()).to_array();
            bind.extend(matrix(turned_back, back));
            let places: Vec<[f32; 3]> =
                joint.keys.iter().map(|key| placed(key.translation.to_array()).to_array()).collect();
            let mut turns: Vec<[f32; 4]> = joint.keys.iter().map(|key| turn(key.rotation)).collect();
            for next in 1..turns.len() {
                // A turn and its negative are the same: the one nearer to the turn before is on the short way.
                let dot: f32 = turns[next - 1].iter().zip(turns[next]).map(|(a, b)| a * b).sum();
                if dot < 0.0 {
                    turns[next] = turns[next].map(|x| -x);
                }
            }
            if places.iter().any(|place| *place != places[0]) {
                let output = self.keys("VEC3", places.as_flattened(), places.len());
                animation.add(number, "translation", times, output, None);
            }
            if turns.iter().any(|turn| *turn != turns[0]) {
                let output = self.keys("VEC4", turns.as_flattened(), turns.len());
                animation.add(number, "rotation", times, output, None);
            }
            let hidden = joint.appears > 0.0;
            if hidden {
                let input = self.scalars(&[0.0, joint.appears as f32]);
                let output = self.keys("VEC3", &[0.0, 0.0, 0.0, 1.0, 1.0, 1.0], 2);
                animation.add(number, "scale", input, output, Some("STEP"));
            }
            self.json.nodes.push(Node {
                name: joint_name(joint),
                translation: Some(places[0]),
                rotation: Some(turns[0]),
                scale: hidden.then_some([0.0; 3]),
                ..Node::default()
            });
        }
        let joints: Vec<usize> = (0..self.json.nodes.len()).collect();
        let accessor = Accessor { component_type: F32, count: joints.len(), of: "MAT4", ..Accessor::default() };
        let inverse_bind_matrices = self.accessor(View::Binds, &bytes_of(&bind), accessor);
        self.json.skins = vec![Skin { inverse_bind_matrices, joints: joints.clone() }];
        self.json.animations = vec![animation];
        joints
    }

    /// Four bytes a vertex.
    fn quadruples(&mut self, bytes: &[u8], normalized: bool) -> usize {
        let normalized = normalized.then_some(true);
        let count = bytes.len() / 4;
        let accessor = Accessor { component_type: U8, normalized, count, of: "VEC4", ..Accessor::default() };
        self.accessor(View::Bytes, bytes, accessor)
    }

    /// Times of keys, which need bounds.
    fn scalars(&mut self, values: &[f32]) -> usize {
        let (least, most) = (values.iter().copied().reduce(f32::min), values.iter().copied().reduce(f32::max));
        let [min, max] = [least, most].map(|bound| bound.map(|bound| vec![bound]));
        let accessor =
            Accessor { component_type: F32, count: values.len(), of: "SCALAR", min, max, ..Accessor::default() };
        self.accessor(View::Keys, &bytes_of(values), accessor)
    }

    fn keys(&mut self, of: &'static str, values: &[f32], count: usize) -> usize {
        let accessor = Accessor { component_type: F32, count, of, ..Accessor::default() };
        self.accessor(View::Keys, &bytes_of(values), accessor)
    }

    fn vectors(&mut self, vectors: impl Iterator<Item = Vec3>, bounds: bool) -> usize {
        let (mut least, mut most) = (Vec3::INFINITY, Vec3::NEG_INFINITY);
        let mut bytes = Vec::new();
        let mut count = 0;
        for vector in vectors {
            (least, most) = (least.min(vector), most.max(vector));
            bytes.extend(vector.to_array().iter().flat_map(|x| x.to_le_bytes()));
            count += 1;
        }
        let [min, max] = [least, most].map(|bound| bounds.then(|| bound.to_array().to_vec()));
        self.accessor(
            View::Vectors,
            &bytes,
            Accessor { component_type: F32, count, of: "VEC3", min, max, ..Accessor::default() },
        )
    }

    fn indices(&mut self, indices: &[usize], vertices: usize) -> usize {
        // The largest number of a type is not for use.
        let short = vertices < usize::from(u16::MAX);
        let bytes: Vec<u8> = if short {
            indices.iter().flat_map(|&index| (index as u16).to_le_bytes()).collect()
        } else {
            indices.iter().flat_map(|&index| (index as u32).to_le_bytes()).collect()
        };
        let component_type = if short { U16 } else { U32 };
        self.accessor(
            View::Indices,
            &bytes,
            Accessor { component_type, count: indices.len(), of: "SCALAR", ..Accessor::default() },
        )
    }

    fn accessor(&mut self, view: View, bytes: &[u8], accessor: Accessor) -> usize {
        let buffer = &mut self.views[view as usize];
        let accessor = Accessor { buffer_view: view as usize, byte_offset: buffer.len(), ..accessor };
        buffer.extend_from_slice(bytes);
        pad(buffer, 0);
        self.json.accessors.push(accessor);
        self.json.accessors.len() - 1
    }

    /// The file: a header of 12 bytes, the JSON chunk and the binary chunk.
    fn finish(mut self) -> serde_json::Result<Vec<u8>> {
        const HEADER: usize = 12;
        const CHUNK_HEADER: usize = 8;
        let mut binary = Vec::new();
        let mut places = [0; VIEWS.len()];
        for (((byte_stride, target), bytes), place) in VIEWS.iter().zip(&self.views).zip(&mut places) {
            // A view of nothing is none.
            if bytes.is_empty() {
                continue;
            }
            *place = self.json.buffer_views.len();
            self.json.buffer_views.push(BufferView {
                buffer: 0,
                byte_offset: binary.len(),
                byte_length: bytes.len(),
                byte_stride: *byte_stride,
                target: *target,
            });
            binary.extend_from_slice(bytes);
        }
        for accessor in &mut self.json.accessors {
            accessor.buffer_view = places[accessor.buffer_view];
        }
        self.json.buffers = vec![Buffer { byte_length: binary.len() }];
        let mut json = serde_json::to_vec(&self.json)?;
        pad(&mut json, b' ');
        let length = HEADER + 2 * CHUNK_HEADER + json.len() + binary.len();
        let mut bytes = Vec::with_capacity(length);
        let number = |value: usize| u32::try_from(value).unwrap_or(u32::MAX).to_le_bytes();
        bytes.extend_from_slice(b"glTF");
        bytes.extend_from_slice(&number(2));
        bytes.extend_from_slice(&number(length));
        for (kind, chunk) in [(b"JSON", &json), (b"BIN\0", &binary)] {
            bytes.extend_from_slice(&number(chunk.len()));
            bytes.extend_from_slice(kind);
            bytes.extend_from_slice(chunk);
        }
        Ok(bytes)
    }
}

fn bytes_of(values: &[f32]) -> Vec<u8> {
    values.iter().flat_map(|value| value.to_le_bytes()).collect()
}

/// A turn and a move after it as glTF's matrix, column by column; the move is in glTF's frame already.
fn matrix(rotation: DQuat, [x, y, z]: [f32; 3]) -> [f32; 16] {
    // glTF's axes are the sack's x, z and -y.
    let column = |axis: DVec3| turned((rotation * axis).to_array()).to_array();
    let [a, b, c] = [column(DVec3::X), column(DVec3::Z), column(DVec3::NEG_Y)];
    [a[0], a[1], a[2], 0.0, b[0], b[1], b[2], 0.0, c[0], c[1], c[2], 0.0, x, y, z, 1.0]
}

/// A panel's name, or those of the two at a bend and which line of it.
fn joint_name(joint: &Joint) -> String {
    let name = |(panel, end): (PanelName, Option<End>)| {
        format!("{}{}", panel.name(), end.map(|end| format!(" {}", end.name())).unwrap_or_default())
    };
    let [from, to] = joint.panels.map(name);
    if joint.line == 0 { from } else { format!("{from} to {to} {}", joint.line) }
}

/// Fills up to a whole number of four bytes.
fn pad(bytes: &mut Vec<u8>, with: u8) {
    bytes.resize(bytes.len().next_multiple_of(4), with);
}

#[derive(Default, Serialize)]
#[serde(rename_all = "camelCase")]
struct Json {
    asset: Asset,
    scene: usize,
    scenes: Vec<Scene>,
    nodes: Vec<Node>,
    meshes: Vec<MeshJson>,
    materials: Vec<Material>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    skins: Vec<Skin>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    animations: Vec<Animation>,
    accessors: Vec<Accessor>,
    buffer_views: Vec<BufferView>,
    buffers: Vec<Buffer>,
}

#[derive(Serialize)]
struct Asset {
    version: &'static str,
    generator: &'static str,
}

impl Default for Asset {
    fn default() -> Self {
        Self { version: "2.0", generator: "Sackwright" }
    }
}

#[derive(Serialize)]
struct Scene {
    nodes: Vec<usize>,
}

#[derive(Default, Serialize)]
struct Node {
    name: String,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    children: Vec<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mesh: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    skin: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    translation: Option<[f32; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rotation: Option<[f32; 4]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    scale: Option<[f32; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    extras: Option<Extras>,
}

#[derive(Default, Serialize)]
struct Extras {
    #[serde(skip_serializing_if = "Option::is_none")]
    title: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    piece: Option<Piece>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ply: Option<u8>,
    #[serde(skip_serializing_if = "Option::is_none")]
    end: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    panel: Option<&'static str>,
}

impl Extras {
    fn of(part: &Part) -> Self {
        Self {
            title: None,
            piece: Some(part.piece),
            ply: part.ply,
            end: part.end.map(|end| end.name()),
            panel: Some(part.panel.name()),
        }
    }
}

#[derive(Serialize)]
struct MeshJson {
    name: String,
    primitives: Vec<Primitive>,
}

#[derive(Serialize)]
struct Primitive {
    attributes: Attributes,
    indices: usize,
    material: usize,
}

#[derive(Clone, Copy, Serialize)]
#[serde(rename_all = "UPPERCASE")]
struct Attributes {
    position: usize,
    normal: usize,
    #[serde(rename = "JOINTS_0", skip_serializing_if = "Option::is_none")]
    joints: Option<usize>,
    #[serde(rename = "WEIGHTS_0", skip_serializing_if = "Option::is_none")]
    weights: Option<usize>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Skin {
    inverse_bind_matrices: usize,
    joints: Vec<usize>,
}

#[derive(Default, Serialize)]
struct Animation {
    name: &'static str,
    channels: Vec<Channel>,
    samplers: Vec<Sampler>,
}

impl Animation {
    fn add(
        &mut self,
        node: usize,
        path: &'static str,
        input: usize,
        output: usize,
        interpolation: Option<&'static str>,
    ) {
        self.channels.push(Channel { sampler: self.samplers.len(), target: Target { node, path } });
        self.samplers.push(Sampler { input, output, interpolation });
    }
}

#[derive(Serialize)]
struct Channel {
    sampler: usize,
    target: Target,
}

#[derive(Serialize)]
struct Target {
    node: usize,
    path: &'static str,
}

#[derive(Serialize)]
struct Sampler {
    input: usize,
    output: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    interpolation: Option<&'static str>,
}

#[derive(Serialize)]
struct Material {
    name: &'static str,
    #[serde(rename = "pbrMetallicRoughness")]
    pbr: Pbr,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Pbr {
    base_color_factor: [f64; 4],
    metallic_factor: f64,
    roughness_factor: f64,
}

#[derive(Default, Serialize)]
#[serde(rename_all = "camelCase")]
struct Accessor {
    buffer_view: usize,
    byte_offset: usize,
    component_type: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    normalized: Option<bool>,
    count: usize,
    #[serde(rename = "type")]
    of: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    min: Option<Vec<f32>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    max: Option<Vec<f32>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct BufferView {
    buffer: usize,
    byte_offset: usize,
    byte_length: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    byte_stride: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    target: Option<u32>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Buffer {
    byte_length: usize,
}
