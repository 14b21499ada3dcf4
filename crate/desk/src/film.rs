//! The class `Projector`: the filling as frames, and filled shapes as the viewer takes them.

use std::ops::ControlFlow;

use js_sys::{Error, Function, Uint8Array, Uint32Array};
use sackwright::fill::{FillError, FilledMesh, Film};
use sackwright::placing::SpoutSolid;
use sackwright_boundary::{Fault, floats, object};
use wasm_bindgen::prelude::*;

/// Shows the frames of a film one after the other.
#[wasm_bindgen]
pub struct Projector {
    film: Film,
    shown: usize,
}

#[wasm_bindgen]
impl Projector {
    /// How many frames the film has.
    #[wasm_bindgen(getter)]
    pub fn frames(&self) -> usize {
        self.film.frames()
    }

    /// How many have been shown.
    #[wasm_bindgen(getter)]
    pub fn shown(&self) -> usize {
        self.shown
    }

    /// The next frame; undefined when `goOn` said false: the next call computes it anew.
    #[wasm_bindgen(unchecked_return_type = "FilmFrame | undefined")]
    pub fn next(
        &mut self,
        #[wasm_bindgen(js_name = goOn, unchecked_param_type = "() => boolean")] go_on: &Function,
    ) -> Result<JsValue, Error> {
        let mut watch = |_| match go_on.call0(&JsValue::UNDEFINED) {
            Ok(answer) if answer.is_truthy() => ControlFlow::Continue(()),
            _ => ControlFlow::Break(()),
        };
        let frame = match self.film.next_frame(&mut watch) {
            Err(FillError::Cancelled) => return Ok(JsValue::UNDEFINED),
            Err(error) => return Err(Fault::BadNumber.with(&format!("no frame: {error:?}"))),
            Ok(None) => return Err(Fault::BadNumber.with("the film is over")),
            Ok(Some(frame)) => frame,
        };
        let index = self.shown;
        self.shown += 1;
        let spout = frame.spout.map(|place| floats(&SpoutSolid::in_film(&place).positions).into());
        let common = (index == 0).then(|| {
            let tube = SpoutSolid::in_film(&self.film.spout());
            let spout = object([
                ("normals", floats(&tube.normals).into()),
                ("triangles", Uint32Array::from(tube.triangles.as_flattened()).into()),
            ]);
            object([("mesh", mesh(&frame.mesh)), ("spout", spout), ("reach", floats(&self.film.reach()).into())])
        });
        Ok(object([
            ("index", (index as f64).into()),
            ("frames", (self.film.frames() as f64).into()),
            ("positions", floats(&frame.mesh.positions).into()),
            ("spout", spout.unwrap_or(JsValue::NULL)),
            ("common", common.unwrap_or(JsValue::NULL)),
        ]))
    }
}

impl Projector {
    /// From the first frame.
    pub const fn new(film: Film) -> Self {
        Self { film, shown: 0 }
    }
}

/// A filled shape in the arrays that the viewer takes.
pub fn mesh(mesh: &FilledMesh) -> JsValue {
    let panels: Vec<u8> = mesh.panel.iter().map(|&panel| panel as u8).collect();
    object([
        ("positions", floats(&mesh.positions).into()),
        ("paper", floats(&mesh.paper).into()),
        ("panels", Uint8Array::from(&panels[..]).into()),
        ("triangles", Uint32Array::from(mesh.triangles.as_flattened()).into()),
    ])
}
