//! Crease patterns in the open FOLD format, version 1.2 (JSON): the flat pattern, and folded states as frames.

use serde::Serialize;

use crate::pattern::{Folded, Pattern};

/// A folded state with its name.
#[derive(Clone, Debug, PartialEq)]
pub struct FoldedState {
    /// What it is called.
    pub title: String,
    /// The pattern in that state.
    pub folded: Folded,
}

#[derive(Serialize)]
struct File<'a> {
    file_spec: f64,
    file_creator: &'static str,
    file_title: &'a str,
    file_classes: [&'static str; 1],
    frame_title: String,
    frame_classes: [&'static str; 1],
    frame_attributes: [&'static str; 1],
    frame_unit: &'static str,
    vertices_coords: Vec<[f64; 2]>,
    edges_vertices: Vec<[usize; 2]>,
    edges_assignment: Vec<&'static str>,
    #[serde(rename = "edges_foldAngle")]
    edges_fold_angle: Vec<f64>,
    faces_vertices: Vec<&'a [usize]>,
    #[serde(rename = "sackwright:faces_panel")]
    faces_panel: Vec<&'a str>,
    file_frames: Vec<Frame<'a>>,
}

#[derive(Serialize)]
struct Frame<'a> {
    frame_title: &'a str,
    frame_classes: [&'static str; 1],
    frame_attributes: [&'static str; 1],
    frame_unit: &'static str,
    frame_parent: usize,
    frame_inherit: bool,
    vertices_coords: Vec<[f64; 3]>,
    edges_assignment: Vec<&'static str>,
    #[serde(rename = "edges_foldAngle")]
    edges_fold_angle: Vec<f64>,
}

/// A pattern as a FOLD file, lengths in mm, angles in degrees: the flat web, seen from the sack's outside, with the
/// assignments and fold angles of `closed`, and a frame for each of `states`. Valley (V) is outer sides together,
/// mountain (M) inner sides together, F a crease that lies flat, J no crease, B the web's border. Coordinates are
/// rounded to 1e-9 mm.
///
/// # Errors
/// When a coordinate is no number.
pub fn fold(title: &str, pattern: &Pattern, closed: &Folded, states: &[FoldedState]) -> serde_json::Result<String> {
    let frames = states.iter().map(|state| Frame {
        frame_title: &state.title,
        frame_classes: ["foldedForm"],
        frame_attributes: ["3D"],
        frame_unit: "mm",
        frame_parent: 0,
        frame_inherit: true,
        vertices_coords: state.folded.vertices.iter().map(|at| at.to_array().map(rounded)).collect(),
        edges_assignment: assignments(pattern, &state.folded),
        edges_fold_angle: degrees(&state.folded),
    });
    let file = File {
        file_spec: 1.2,
        file_creator: "Sackwright",
        file_title: title,
        file_classes: ["animation"],
        frame_title: format!("ply-{}", pattern.ply),
        frame_classes: ["creasePattern"],
        frame_attributes: ["2D"],
        frame_unit: "mm",
        vertices_coords: pattern.vertices.iter().map(|at| at.to_array().map(rounded)).collect(),
        edges_vertices: pattern.edges.iter().map(|edge| edge.vertices).collect(),
        edges_assignment: assignments(pattern, closed),
        edges_fold_angle: degrees(closed),
        faces_vertices: pattern.faces.iter().map(|face| face.vertices.as_slice()).collect(),
        faces_panel: pattern.faces.iter().map(|face| face.panel).collect(),
        file_frames: frames.collect(),
    };
    serde_json::to_string(&file)
}

fn assignments(pattern: &Pattern, folded: &Folded) -> Vec<&'static str> {
    let edges = pattern.edges.iter().zip(degrees(folded));
    edges
        .map(|(edge, angle)| match angle {
            _ if edge.is_rim() => "B",
            _ if angle > 0.0 => "V",
            _ if angle < 0.0 => "M",
            _ if edge.is_crease => "F",
            _ => "J",
        })
        .collect()
}

fn degrees(folded: &Folded) -> Vec<f64> {
    folded.angles.iter().map(|angle| rounded(angle.to_degrees())).collect()
}

/// To a billionth: what is below is rounding of the computation. Adding nought makes -0 plain.
fn rounded(value: f64) -> f64 {
    (value * 1e9).round() / 1e9 + 0.0
}
