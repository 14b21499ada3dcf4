//! The class `Drafter`: drawings and files of one sack, for the page's own thread.

use js_sys::{Error, Function, Uint8Array, Uint32Array};
use sackwright::cards::{Line, read_line};
use sackwright::check::{Habits, read_habits};
use sackwright::drawing::{Drawing, Given, LengthUnit, Scale, What, Words, sheets, tiles};
use sackwright::export::{
    FoldedState, StackedSacks, Stand, csv, dxf, filled_glb, film_glb, fold, glb, stack_glb, stl, svg,
};
use sackwright::figures::{PasteHabits, figures};
use sackwright::fill::{FilledMesh, Panel};
use sackwright::finding::Message;
use sackwright::fold::{Pose, Stage};
use sackwright::model::{Mesh, Thickness, build};
use sackwright::pattern::Pattern;
use sackwright::placing::{Placing, SpoutSolid};
use sackwright::rig::Rig;
use sackwright::sack::Sack;
use sackwright_boundary::{Fault, floats, object, refused, to_js};
use wasm_bindgen::prelude::*;

/// A sack with the cards that drawings show something of.
#[wasm_bindgen]
#[derive(Default)]
pub struct Drafter {
    sack: Option<Sack>,
    line: Option<Line>,
    habits: Habits,
}

#[wasm_bindgen]
impl Drafter {
    /// Without a sack yet.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes a sheet, which must be a good one.
    #[wasm_bindgen(js_name = setSheet)]
    pub fn set_sheet(&mut self, text: &str) -> Result<(), Error> {
        self.sack = Some(Sack::read(text).map_err(|problems| refused("the sheet", &problems))?);
        Ok(())
    }

    /// Takes a filling-line card, which must be a good one; undefined for none.
    #[wasm_bindgen(js_name = setLine)]
    pub fn set_line(&mut self, text: Option<String>) -> Result<(), Error> {
        self.line =
            text.map(|text| read_line(&text)).transpose().map_err(|problems| refused("the line card", &problems))?;
        Ok(())
    }

    /// Takes a habits card, which must be a good one.
    #[wasm_bindgen(js_name = setHabits)]
    pub fn set_habits(&mut self, text: &str) -> Result<(), Error> {
        self.habits = read_habits(text).map_err(|problems| refused("the habits card", &problems))?;
        Ok(())
    }

    /// A drawing as the text of a file, `svg` or `dxf`. `message` and `number` put the core's messages and lengths in mm
    /// into words, in `unit`, `mm` or `in`; `date` and `revision` stand in the title block.
    #[expect(clippy::too_many_arguments, reason = "one call across the boundary")]
    pub fn drawing(
        &self,
        what: &str,
        format: &str,
        unit: &str,
        date: &str,
        revision: &str,
        #[wasm_bindgen(unchecked_param_type = "(message: any) => string")] message: &Function,
        #[wasm_bindgen(unchecked_param_type = "(mm: number) => string")] number: &Function,
    ) -> Result<String, Error> {
        let told = ([date, revision], [message, number]);
        self.with_drawings(what, Scale::Full, unit, told, |drawings, words| match format {
            "svg" => Ok(drawings.iter().map(|drawing| svg(drawing, words)).collect()),
            "dxf" => Ok(drawings.iter().map(|drawing| dxf(drawing, words)).collect()),
            _ => Err(unknown("format", format)),
        })
    }

    /// A drawing as it is printed fitted to a page, or to two where its letters would be too small on one: the text of an
    /// SVG file for each. The other arguments as for `drawing`.
    pub fn fitted(
        &self,
        what: &str,
        unit: &str,
        date: &str,
        revision: &str,
        #[wasm_bindgen(unchecked_param_type = "(message: any) => string")] message: &Function,
        #[wasm_bindgen(unchecked_param_type = "(mm: number) => string")] number: &Function,
    ) -> Result<Vec<String>, Error> {
        let told = ([date, revision], [message, number]);
        self.with_drawings(what, Scale::Fitted, unit, told, |drawings, words| {
            Ok(drawings.iter().map(|drawing| svg(drawing, words)).collect())
        })
    }

    /// A drawing at 1:1 as it falls onto sheets that `tiles` lays out, as the text of an SVG file, with its title block so
    /// far to the right and down, mm, as the tiling has it. The other arguments as for `drawing`.
    #[expect(clippy::too_many_arguments, reason = "one call across the boundary")]
    pub fn joined(
        &self,
        what: &str,
        block_right_mm: f64,
        block_down_mm: f64,
        unit: &str,
        date: &str,
        revision: &str,
        #[wasm_bindgen(unchecked_param_type = "(message: any) => string")] message: &Function,
        #[wasm_bindgen(unchecked_param_type = "(mm: number) => string")] number: &Function,
    ) -> Result<String, Error> {
        let told = ([date, revision], [message, number]);
        self.with_drawings(what, Scale::Joined, unit, told, |drawings, words| {
            let moved = |drawing: &Drawing| drawing.clone().with_title_block_by([block_right_mm, block_down_mm]);
            Ok(drawings.iter().map(|drawing| svg(&moved(drawing), words)).collect())
        })
    }

    /// How a drawing at 1:1 falls onto sheets of which one of two windows is printed, `windows`: the width and the height
    /// of each in mm; with the name of a `part` of the drawing that part alone. The other arguments as for `drawing`.
    #[expect(clippy::too_many_arguments, reason = "one call across the boundary")]
    #[wasm_bindgen(unchecked_return_type = "Tiling")]
    pub fn tiles(
        &self,
        what: &str,
        windows: &[f64],
        overlap_mm: f64,
        part: Option<String>,
        unit: &str,
        date: &str,
        revision: &str,
        #[wasm_bindgen(unchecked_param_type = "(message: any) => string")] message: &Function,
        #[wasm_bindgen(unchecked_param_type = "(mm: number) => string")] number: &Function,
    ) -> Result<JsValue, Error> {
        let windows: &[[f64; 2]] = windows.as_chunks().0;
        let told = ([date, revision], [message, number]);
        self.with_drawings(what, Scale::Joined, unit, told, |drawings, _| {
            let tiling = drawings.first().map(|drawing| tiles(drawing, windows, overlap_mm, part.as_deref()));
            to_js(&tiling.unwrap_or_default())
        })
    }

    /// The sack at a point of the fold as the bytes of a file, `glb` or `stl`, in true thickness.
    #[wasm_bindgen(unchecked_return_type = "Uint8Array<ArrayBuffer>")]
    pub fn model(&self, format: &str, stage: &str, at: f64) -> Result<Uint8Array, Error> {
        let sack = self.sack()?;
        let mut mesh = Mesh::default();
        build(sack, &pose(stage, at)?, Thickness::TRUE, &mut mesh);
        let bytes = match format {
            "stl" => stl(&mesh.positions, &mesh.triangles),
            "glb" => glb(&sack.file().name, &mesh).map_err(|error| unwritten(&error.to_string()))?,
            _ => return Err(unknown("format", format)),
        };
        Ok(Uint8Array::from(bytes.as_slice()))
    }

    /// A frame of the filling as the bytes of a file, `glb` or `stl`: the skin alone. `positions`: x, y, z of each vertex in
    /// mm; `panels`: the number of each vertex's panel; `triangles`: three vertices each.
    #[wasm_bindgen(unchecked_return_type = "Uint8Array<ArrayBuffer>")]
    pub fn filled(
        &self,
        format: &str,
        positions: &[f32],
        panels: &[u8],
        triangles: &[u32],
    ) -> Result<Uint8Array, Error> {
        let mesh = filled_mesh(positions, panels, triangles)?;
        let bytes = match format {
            "stl" => stl(&mesh.positions, &mesh.triangles),
            "glb" => filled_glb(&self.sack()?.file().name, &mesh).map_err(|error| unwritten(&error.to_string()))?,
            _ => return Err(unknown("format", format)),
        };
        Ok(Uint8Array::from(bytes.as_slice()))
    }

    /// A loaded pallet as the bytes of a file, `glb` or `stl`: a filled sack as for `filled`, at (x, y, z in mm, quarter
    /// turns), four numbers a copy, on a pallet of so many mm along x and y and in height.
    #[wasm_bindgen(unchecked_return_type = "Uint8Array<ArrayBuffer>")]
    #[expect(clippy::too_many_arguments, reason = "one call across the boundary")]
    pub fn stacked(
        &self,
        format: &str,
        positions: &[f32],
        panels: &[u8],
        triangles: &[u32],
        placements: &[f32],
        length_mm: f64,
        width_mm: f64,
        height_mm: f64,
    ) -> Result<Uint8Array, Error> {
        let mesh = filled_mesh(positions, panels, triangles)?;
        let stands: Vec<Stand> = placements
            .as_chunks()
            .0
            .iter()
            .map(|&[x, y, z, turns]: &[f32; 4]| Stand {
                place_mm: [x, y, z].map(f64::from),
                quarter_turns: turns.round() as i32,
            })
            .collect();
        let stack = StackedSacks { mesh: &mesh, stands: &stands, pallet_mm: [length_mm, width_mm, height_mm] };
        let bytes = match format {
            "stl" => {
                let (positions, triangles) = stack.solids();
                stl(&positions, &triangles)
            }
            "glb" => stack_glb(&self.sack()?.file().name, &stack).map_err(|error| unwritten(&error.to_string()))?,
            _ => return Err(unknown("format", format)),
        };
        Ok(Uint8Array::from(bytes.as_slice()))
    }

    /// The whole fold as the bytes of an animated GLB, in true thickness.
    #[wasm_bindgen(unchecked_return_type = "Uint8Array<ArrayBuffer>")]
    pub fn film(&self) -> Result<Uint8Array, Error> {
        let sack = self.sack()?;
        let bytes = film_glb(&sack.file().name, &Rig::new(sack, Thickness::TRUE));
        Ok(Uint8Array::from(bytes.map_err(|error| unwritten(&error.to_string()))?.as_slice()))
    }

    /// The outermost ply's crease pattern, with its folded states at the end of every stage, as the text of a FOLD file.
    pub fn pattern(&self) -> Result<String, Error> {
        let sack = self.sack()?;
        let pattern = Pattern::new(sack, 0).ok_or_else(|| unwritten("there is no ply"))?;
        let states: Result<Vec<_>, Error> = Stage::ALL
            .iter()
            .map(|stage| {
                let folded = pattern.fold(sack, &pose(stage.name(), 1.0)?);
                Ok(FoldedState { title: stage.name().into(), folded })
            })
            .collect();
        let closed = pattern.fold(sack, &pose(Stage::LayPatch.name(), 1.0)?);
        fold(&sack.file().name, &pattern, &closed, &states?).map_err(|error| unwritten(&error.to_string()))
    }

    /// The valve sleeve in its bottom, with the line's spout slid in so far; undefined: to its reach.
    #[wasm_bindgen(unchecked_return_type = "Placing | null")]
    pub fn placing(&self, depth: Option<f64>) -> Result<JsValue, Error> {
        to_js(&Placing::new(self.sack()?, self.line.as_ref(), &self.habits, depth))
    }

    /// The line's spout in space, slid in so far; undefined: to its reach. Undefined without a sleeve or a line.
    #[wasm_bindgen(unchecked_return_type = "SpoutSolid | undefined")]
    pub fn spout(&self, depth: Option<f64>) -> Result<JsValue, Error> {
        let sack = self.sack()?;
        let Some(solid) = self.line.as_ref().and_then(|line| SpoutSolid::new(sack, line, depth)) else {
            return Ok(JsValue::UNDEFINED);
        };
        // All but the bore within: paper is nearer than what one would see of it.
        let seen = &solid.triangles[..solid.within + solid.before];
        Ok(object([
            ("positions", floats(&solid.positions).into()),
            ("normals", floats(&solid.normals).into()),
            ("triangles", Uint32Array::from(seen.as_flattened()).into()),
            ("within", (solid.within as f64).into()),
            ("touches", floats(solid.touches.as_flattened()).into()),
        ]))
    }

    /// The figures as CSV.
    pub fn figures(&self) -> Result<String, Error> {
        let figures = figures(self.sack()?, self.line.as_ref(), &PasteHabits::default());
        csv(&figures).map_err(|error| unwritten(&error.to_string()))
    }
}

impl Drafter {
    /// Makes the sheets of a drawing, at 1:1 a single one, and does something with them.
    fn with_drawings<T>(
        &self,
        what: &str,
        scale: Scale,
        unit: &str,
        ([date, revision], [message, number]): ([&str; 2], [&Function; 2]),
        make: impl FnOnce(&[Drawing], &Words) -> Result<T, Error>,
    ) -> Result<T, Error> {
        let what = What::from_name(what).ok_or_else(|| unknown("drawing", what))?;
        let unit = LengthUnit::from_name(unit).ok_or_else(|| unknown("unit", unit))?;
        let told = |value: Result<JsValue, Error>| {
            let text = value.ok().and_then(|value| message.call1(&JsValue::UNDEFINED, &value).ok());
            text.and_then(|text| text.as_string()).unwrap_or_default()
        };
        let message = |message: &Message| told(to_js(message));
        let number = |value: f64| {
            let text = number.call1(&JsValue::UNDEFINED, &value.into()).ok();
            text.and_then(|text| text.as_string()).unwrap_or_default()
        };
        let words = Words { message: &message, number: &number };
        let (line, habits) = (self.line.as_ref(), Some(&self.habits));
        let given = Given { line, habits, date, revision, scale, unit, ..Given::default() };
        make(&sheets(self.sack()?, what, &given, &words), &words)
    }

    fn sack(&self) -> Result<&Sack, Error> {
        self.sack.as_ref().ok_or_else(|| Fault::NoSack.with("the drafter has no sheet yet"))
    }
}

/// A filled sack as the page has it, held against itself.
fn filled_mesh(positions: &[f32], panels: &[u8], triangles: &[u32]) -> Result<FilledMesh, Error> {
    let panel = |&number: &u8| Panel::ALL.get(usize::from(number)).copied();
    let mesh = FilledMesh {
        positions: positions.as_chunks().0.iter().map(|place: &[f32; 3]| place.map(f64::from)).collect(),
        panel: panels.iter().map(panel).collect::<Option<_>>().ok_or_else(|| shape("a panel has no such number"))?,
        triangles: triangles.as_chunks().0.to_vec(),
        ..FilledMesh::default()
    };
    if mesh.positions.len() != mesh.panel.len() {
        return Err(shape("every vertex needs a place and a panel"));
    }
    if triangles.iter().any(|&vertex| vertex as usize >= mesh.positions.len()) {
        return Err(shape("a triangle has a corner that is no vertex"));
    }
    Ok(mesh)
}

fn pose(stage: &str, at: f64) -> Result<Pose, Error> {
    let named = Stage::from_name(stage).ok_or_else(|| unknown("stage", stage))?;
    Pose::new(named, at).ok_or_else(|| Fault::BadNumber.with(&format!("at: {at} is not from 0 to 1")))
}

fn unknown(kind: &str, name: &str) -> Error {
    Fault::UnknownName.with(&format!("no {kind} is named \"{name}\""))
}

fn shape(why: &str) -> Error {
    Fault::BadShape.with(&format!("the filled sack: {why}"))
}

fn unwritten(why: &str) -> Error {
    Fault::BadShape.with(&format!("the file can't be written: {why}"))
}
