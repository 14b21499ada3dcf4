//! Binary glTF 2.0 (GLB): metres, +Y up, right-handed. The sack frame's x stays x, its z becomes up (y), and its y, towards
//! the valve end, goes into the picture (-z).
//!
//! Every part is a node of its own, by name, with piece, ply, end and panel as extras. Materials are two tones of paper,
//! the outer side's and the inner side's.

use std::collections::BTreeMap;

use glam::{DVec3, Vec3};
use serde::Serialize;

use crate::fill::{FilledMesh, Panel};
use crate::model::{Face, Mesh, Part};

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
        children.push(document.mesh_node(node, &mesh.positions, &mesh.normals, triangles));
    }
    document.root(title, children);
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
        children.push(document.mesh_node(node, &mesh.positions, &normals, &triangles));
    }
    document.root(title, children);
    document.finish()
}

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

/// Kinds of binary data, each in a view of its own.
#[derive(Clone, Copy)]
enum View {
    Vectors,
    Indices,
}

const VIEWS: [(View, Option<u32>, Option<u32>); 2] =
    [(View::Vectors, Some(12), Some(ARRAY_BUFFER)), (View::Indices, None, Some(ELEMENT_ARRAY_BUFFER))];

const ARRAY_BUFFER: u32 = 34_962;
const ELEMENT_ARRAY_BUFFER: u32 = 34_963;
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
        triangles: &Triangles,
    ) -> usize {
        let mut used: Vec<u32> = triangles.outer.iter().chain(&triangles.inner).copied().collect();
        used.sort_unstable();
        used.dedup();
        if !used.is_empty() {
            let attributes = Attributes {
                position: self.vectors(used.iter().map(|&vertex| placed(positions[vertex as usize])), true),
                normal: self.vectors(used.iter().map(|&vertex| turned(normals[vertex as usize])), false),
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

    /// Adds the root node above all others.
    fn root(&mut self, title: &str, children: Vec<usize>) {
        self.json.scenes = vec![Scene { nodes: vec![self.json.nodes.len()] }];
        let extras = Some(Extras { title: Some(title.into()), ..Extras::default() });
        self.json.nodes.push(Node { name: "sack".into(), children, extras, ..Node::default() });
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
        let (min, max) = if bounds { (Some(least.to_array()), Some(most.to_array())) } else { (None, None) };
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
        for ((_, byte_stride, target), bytes) in VIEWS.iter().zip(&self.views) {
            self.json.buffer_views.push(BufferView {
                buffer: 0,
                byte_offset: binary.len(),
                byte_length: bytes.len(),
                byte_stride: *byte_stride,
                target: *target,
            });
            binary.extend_from_slice(bytes);
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
    extras: Option<Extras>,
}

#[derive(Default, Serialize)]
struct Extras {
    #[serde(skip_serializing_if = "Option::is_none")]
    title: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    piece: Option<crate::fold::Piece>,
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
    count: usize,
    #[serde(rename = "type")]
    of: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    min: Option<[f32; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    max: Option<[f32; 3]>,
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
