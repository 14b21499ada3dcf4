//! Models as bytes of a file.

use sackwright::export::{FoldedState, filled_glb, film_glb, fold, glb, stl};
use sackwright::fill::{Bottoms, Filling, film_frame};
use sackwright::fold::Stage;
use sackwright::model::{Mesh, build};
use sackwright::pattern::Pattern;
use sackwright::rig::Rig;
use sackwright::sack::Sack;

use crate::args::{Format, Model, pose};
use crate::report;

/// The file's bytes.
///
/// # Errors
/// Why there is no such model, and what would do.
pub fn bytes(sack: &Sack, model: &Model) -> Result<Vec<u8>, String> {
    let title = &sack.file().name;
    match *model {
        Model::Solid(pose, thickness, format) => {
            let mut mesh = Mesh::default();
            build(sack, &pose, thickness, &mut mesh);
            match format {
                Format::Stl => Ok(stl(&mesh.positions, &mesh.triangles)),
                Format::Glb => glb(title, &mesh).map_err(unwritten),
            }
        }
        Model::Filled(at, format) => {
            // Filled with the contents that its sheet says, its bottoms stiff.
            let frame = film_frame(sack, Bottoms::Stiff, Filling::Contents, at);
            let mesh = frame.map_err(|error| report::unfilled("contents", &error))?.mesh;
            match format {
                Format::Stl => Ok(stl(&mesh.positions, &mesh.triangles)),
                Format::Glb => filled_glb(title, &mesh).map_err(unwritten),
            }
        }
        Model::Film(thickness) => film_glb(title, &Rig::new(sack, thickness)).map_err(unwritten),
        Model::Pattern(ply, state) => pattern(sack, ply, state),
    }
}

fn pattern(sack: &Sack, ply: usize, state: Option<(Stage, f64)>) -> Result<Vec<u8>, String> {
    let Some(pattern) = Pattern::new(sack, ply) else {
        let last = sack.tube().plies.len() - 1;
        return Err(format!("--ply {ply}: the innermost ply is {last}, so 0 to {last} would do"));
    };
    let states = state.map_or_else(|| Stage::ALL.map(|stage| (stage, 1.0)).to_vec(), |state| vec![state]);
    let folded = |stage, at| Ok::<_, String>(pattern.fold(sack, &pose(stage, at)?));
    let states: Result<Vec<FoldedState>, String> = states
        .into_iter()
        .map(|(stage, at)| Ok(FoldedState { title: format!("{} {at}", stage.name()), folded: folded(stage, at)? }))
        .collect();
    let closed = folded(Stage::LayPatch, 1.0)?;
    fold(&sack.file().name, &pattern, &closed, &states?).map(String::into_bytes).map_err(unwritten)
}

fn unwritten(error: serde_json::Error) -> String {
    format!("no model: {error}")
}
