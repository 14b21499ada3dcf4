//! The class `Viewer`: one canvas with the sack on it.
//!
//! Keeps the scene, the camera and what was asked for on the CPU; the context may be lost and come back at any time.
//! Nothing is drawn unless something changed.

use glam::DVec3;
use js_sys::{Error, Float32Array, Object, Reflect, Uint8Array, Uint32Array};
use sackwright::fold::{Pose, Stage};
use sackwright::model::{self, Thickness};
use sackwright::sack::Sack;
use sackwright::sheet::End;
use sackwright_boundary::{Fault, finite, from_js, to_js};
use serde::{Deserialize, Serialize};
use three_d::core::CoreError;
use wasm_bindgen::prelude::*;
use web_sys::{HtmlCanvasElement, WebGl2RenderingContext};

use crate::camera::{Camera, Canvas, View};
use crate::filled::{self, Given, Pipe};
use crate::gpu::{Gpu, Look, Size};
use crate::pick;
use crate::place::{self, Anchor, Named};
use crate::scene::{Ink, Paper, Scene};
use crate::spout::Spout;
use crate::tone;
use crate::workshop::Workshop;

/// Widest and highest buffer of the canvas, device px: beyond it a browser may refuse.
const LARGEST_PX: f64 = 8192.0;

/// What the page asks for by `setLook`.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    dark: bool,
    thickness: f64,
    plain: bool,
}

/// The pallet that the page asks for by `setStack`, mm.
#[derive(Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
struct Board {
    length_mm: f64,
    width_mm: f64,
    height_mm: f64,
}

/// What the page is told by `pick`.
#[derive(Serialize)]
struct Picked<'a> {
    part: &'a str,
    word: &'a str,
    end: Option<&'static str>,
    ply: Option<u8>,
    side: &'static str,
    paper: [f64; 2],
}

/// What the page is told by `anchor`.
#[derive(Serialize)]
struct CanvasPoint {
    x: f64,
    y: f64,
    visible: bool,
}

/// What of the scene the context has not been sent yet.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
enum Unsent {
    Nothing,
    Tags,
    Positions,
    Everything,
}

/// The sack and what is derived from it.
struct Shown {
    sack: Sack,
    scene: Scene,
    /// Anchors of places since the mesh last moved.
    anchors: Vec<(String, Option<Anchor>)>,
    /// The mesh does not show the pose yet.
    stale: bool,
}

/// A canvas that shows a sack.
#[wasm_bindgen]
pub struct Viewer {
    gl: WebGl2RenderingContext,
    canvas: HtmlCanvasElement,
    gpu: Option<Gpu>,
    shown: Option<Shown>,
    /// A filled sack or a stack, in the fold's stead.
    filled: Option<Scene>,
    spout: Option<Spout>,
    artwork: Option<HtmlCanvasElement>,
    pose: Pose,
    thickness: Thickness,
    asked: Asked,
    named: Option<String>,
    camera: Camera,
    /// The named view, until somebody turns the sack by hand.
    view: Option<View>,
    size: Size,
    unsent: Unsent,
    stale: bool,
}

#[wasm_bindgen]
impl Viewer {
    /// Takes a WebGL2 context from the canvas.
    #[wasm_bindgen(constructor)]
    pub fn new(canvas: HtmlCanvasElement) -> Result<Self, Error> {
        let gl = context(&canvas)?;
        let gpu = Gpu::new(&gl).map_err(graphics)?;
        let device = [canvas.width().max(1), canvas.height().max(1)];
        let pose = Pose::new(Stage::Tube, 0.0).ok_or_else(|| range("at", 0.0, "0 to 1"))?;
        let css = Canvas { width: f64::from(device[0]), height: f64::from(device[1]) };
        Ok(Self {
            gl,
            canvas,
            gpu: Some(gpu),
            shown: None,
            filled: None,
            spout: None,
            artwork: None,
            pose,
            thickness: Thickness::TRUE,
            asked: Asked { dark: false, thickness: 1.0, plain: false },
            named: None,
            camera: Camera::fitted(View::Whole, 1.0, &[], css),
            view: Some(View::Whole),
            size: Size { canvas: css, device },
            unsent: Unsent::Everything,
            stale: true,
        })
    }

    /// Shows the workshop's current good sack.
    #[wasm_bindgen(js_name = setSack)]
    pub fn set_sack(&mut self, workshop: &Workshop) -> Result<(), Error> {
        let sack = workshop.sack()?;
        match &mut self.shown {
            Some(shown) => {
                shown.sack.clone_from(sack);
                shown.scene.renew(sack);
                shown.stale = true;
            }
            None => {
                let scene = Scene::new(sack);
                self.shown = Some(Shown { sack: sack.clone(), scene, anchors: Vec::new(), stale: true });
            }
        }
        self.unsent = Unsent::Everything;
        self.stale = true;
        self.fit();
        Ok(())
    }

    /// Shows a stage at a fraction, 0 to 1.
    #[wasm_bindgen(js_name = setPose)]
    pub fn set_pose(&mut self, stage: &str, at: f64) -> Result<(), Error> {
        let stage = Stage::from_name(stage).ok_or_else(|| unknown("stage", stage))?;
        let pose = Pose::new(stage, at).ok_or_else(|| range("at", at, "0 to 1"))?;
        if pose != self.pose {
            self.pose = pose;
            self.remodel();
        }
        Ok(())
    }

    /// Shows a filled sack instead of the fold: the sack that is shown, in the shape of this mesh. `reach`: points, three
    /// numbers (mm) each, that views of the whole open to while the mesh moves, and whose lowest is on the table; none: the
    /// mesh as it is. `spout`: what fills it, to be seen once it is given a place.
    #[wasm_bindgen(js_name = setFilled)]
    pub fn set_filled(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "FilledMesh")] mesh: JsValue,
        reach: Option<Vec<f32>>,
        #[wasm_bindgen(unchecked_param_type = "SpoutMesh | undefined")] spout: JsValue,
    ) -> Result<(), Error> {
        let given = given(&mesh)?;
        let reach = filled::points(&reach.unwrap_or_default())
            .ok_or_else(|| Fault::BadShape.with("reach: three finite numbers for every point would do"))?;
        let pipe = if spout.is_undefined() { None } else { Some(pipe(&spout)?) };
        self.show_filled(&given, Vec::new(), None, (reach, pipe))
    }

    /// Moves the filled sack: three numbers (mm) for every vertex of the mesh that it is shown by, and likewise of the spout;
    /// no spout is seen for none. `opened` is how
    /// much of the way views of the whole open from the flat sack to the mesh's reach, 0 to 1, and close again to the last
    /// eight points of it, 1 to 2.
    #[wasm_bindgen(js_name = setFilledPositions)]
    pub fn set_filled_positions(
        &mut self,
        positions: &[f32],
        spout: Option<Vec<f32>>,
        opened: f64,
    ) -> Result<(), Error> {
        let opened = finite(opened, "opened")?.clamp(0.0, 2.0);
        let scene = self.filled.as_mut().ok_or_else(|| Fault::NoSack.with("no filled sack is shown"))?;
        scene
            .move_filled(positions, &spout.unwrap_or_default())
            .ok_or_else(|| Fault::BadShape.with("the positions are not as many as the mesh's, or one is not finite"))?;
        self.unsent = if self.unsent <= Unsent::Positions { Unsent::Positions } else { Unsent::Everything };
        self.stale = true;
        if scene.opened != opened {
            scene.opened = opened;
            self.fit();
        }
        Ok(())
    }

    /// Shows many copies of one filled mesh at (x, y, z in mm, quarter turns), four numbers a copy, on a pallet of boards
    /// or, with none, on the table.
    #[wasm_bindgen(js_name = setStack)]
    pub fn set_stack(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "FilledMesh")] mesh: JsValue,
        placements: &[f32],
        #[wasm_bindgen(unchecked_param_type = "Board | undefined")] board: JsValue,
    ) -> Result<(), Error> {
        let given = given(&mesh)?;
        let board: Option<Board> = from_js(board, "board")?;
        let sizes = board.map(|board| [board.length_mm, board.width_mm, board.height_mm]);
        if let Some(size) = sizes.iter().flatten().find(|size| !(1.0..=10_000.0).contains(*size)) {
            return Err(range("a size of the board", *size, "1 to 10000 mm"));
        }
        if placements.is_empty() || !placements.len().is_multiple_of(4) || placements.iter().any(|p| !p.is_finite()) {
            return Err(Fault::BadShape.with("placements: four finite numbers for every copy would do"));
        }
        let copies = placements.chunks_exact(4).map(|p| [p[0], p[1], p[2], p[3]]).collect();
        self.show_filled(&given, copies, sizes, (Vec::new(), None))
    }

    /// Shows the fold again.
    #[wasm_bindgen(js_name = clearFilled)]
    pub fn clear_filled(&mut self) {
        if self.filled.take().is_some() {
            self.unsent = Unsent::Everything;
            self.stale = true;
            self.fit();
        }
    }

    /// Shows a spout in the sleeve, as the drafter gives it, wherever the fold has the sleeve in its place.
    #[wasm_bindgen(js_name = setSpout)]
    pub fn set_spout(
        &mut self,
        positions: &[f32],
        normals: &[f32],
        triangles: Vec<u32>,
        within: usize,
        touches: &[f32],
    ) -> Result<(), Error> {
        let spout = Spout::new(positions, normals, triangles, within, touches);
        self.spout = Some(spout.ok_or_else(|| Fault::BadShape.with("spout: arrays that don't agree"))?);
        self.stale = true;
        Ok(())
    }

    /// Shows no spout.
    #[wasm_bindgen(js_name = clearSpout)]
    pub fn clear_spout(&mut self) {
        self.stale |= self.spout.take().is_some();
    }

    /// Prints the sack with a picture that is white where no ink is. Its upper three quarters are front and back side by side,
    /// as they are seen from outside with the valve end above, its lowest quarter the patches of valve end and plain end, each
    /// with its outer edge above; every part is stretched to its place. Nothing for none.
    #[wasm_bindgen(js_name = setArtwork)]
    pub fn set_artwork(&mut self, picture: Option<HtmlCanvasElement>) -> Result<(), Error> {
        self.artwork = picture;
        self.stale = true;
        self.send_artwork()
    }

    /// Theme, thickness and plainness.
    #[wasm_bindgen(js_name = setLook)]
    pub fn set_look(&mut self, #[wasm_bindgen(unchecked_param_type = "Look")] look: JsValue) -> Result<(), Error> {
        let asked: Asked = from_js(look, "look")?;
        let thickness =
            Thickness::exaggerated(asked.thickness).ok_or_else(|| range("thickness", asked.thickness, "1 to 20"))?;
        if asked != self.asked {
            if thickness != self.thickness {
                self.thickness = thickness;
                self.remodel();
            }
            self.asked = asked;
            self.stale = true;
        }
        Ok(())
    }

    /// Jumps to a named view.
    #[wasm_bindgen(js_name = setView)]
    pub fn set_view(&mut self, #[wasm_bindgen(unchecked_param_type = "View")] name: &str) -> Result<(), Error> {
        let view = View::named(name).ok_or_else(|| unknown("view", name))?;
        self.view = Some(view);
        self.fit();
        Ok(())
    }

    /// Turns the sack by a drag, CSS px.
    pub fn orbit(&mut self, dx: f64, dy: f64) -> Result<(), Error> {
        self.camera.orbit(finite(dx, "dx")?, finite(dy, "dy")?);
        self.by_hand();
        Ok(())
    }

    /// Moves the sack by a drag, CSS px.
    pub fn pan(&mut self, dx: f64, dy: f64) -> Result<(), Error> {
        let (dx, dy) = (finite(dx, "dx")?, finite(dy, "dy")?);
        self.settle();
        if let Some(bounds) = self.scene().map(|scene| scene.bounds) {
            self.camera.pan(dx, dy, bounds, self.size.canvas);
            self.by_hand();
        }
        Ok(())
    }

    /// Comes nearer by a factor above 1, goes away by one below; what lies under (x, y), CSS px, stays there.
    pub fn zoom(&mut self, factor: f64, x: Option<f64>, y: Option<f64>) -> Result<(), Error> {
        let factor = finite(factor, "factor")?;
        let at = match (x, y) {
            (Some(x), Some(y)) => Some((finite(x, "x")?, finite(y, "y")?)),
            _ => None,
        };
        self.settle();
        if let Some(bounds) = self.scene().map(|scene| scene.bounds) {
            self.camera.zoom(factor, at, bounds, self.size.canvas);
            self.by_hand();
        }
        Ok(())
    }

    /// Sets the canvas' size in CSS px and device px per CSS px.
    pub fn resize(&mut self, width: f64, height: f64, ratio: f64) -> Result<(), Error> {
        // A canvas that is not shown measures 0: it gets a pixel and a true size later.
        let width = finite(width, "width")?.max(1.0);
        let height = finite(height, "height")?.max(1.0);
        let ratio = finite(ratio, "ratio")?.max(0.1);
        let device = [width, height].map(|px| (px * ratio).round().clamp(1.0, LARGEST_PX) as u32);
        let size = Size { canvas: Canvas { width, height }, device };
        if size != self.size || [self.canvas.width(), self.canvas.height()] != device {
            self.canvas.set_width(device[0]);
            self.canvas.set_height(device[1]);
            self.size = size;
            self.stale = true;
            self.fit();
        }
        Ok(())
    }

    /// Lights up a place or a panel by its name; nothing for none.
    pub fn highlight(&mut self, name: Option<String>) -> Result<(), Error> {
        if name == self.named {
            return Ok(());
        }
        self.settle();
        if let Some(shown) = &mut self.shown {
            let named = match &name {
                None => None,
                Some(name) => {
                    let named = Named::parse(name);
                    Some(named.ok_or_else(|| unknown("place or panel", name))?)
                }
            };
            shown.scene.light_up(named);
            if let Some(scene) = &mut self.filled {
                scene.light_up(named);
            }
            self.unsent = if self.unsent < Unsent::Tags { Unsent::Tags } else { Unsent::Everything };
        }
        self.named = name;
        self.stale = true;
        Ok(())
    }

    /// What lies under a point of the canvas, CSS px.
    #[wasm_bindgen(unchecked_return_type = "Picked | undefined")]
    pub fn pick(&mut self, x: f64, y: f64) -> Result<JsValue, Error> {
        let ray = self.camera.ray(finite(x, "x")?, finite(y, "y")?, self.size.canvas);
        self.settle();
        // In a stack no part is named.
        let Some(scene) = self.scene().filter(|scene| !scene.is_stack()) else {
            return Ok(JsValue::UNDEFINED);
        };
        let Some(hit) = pick::first(scene, ray) else {
            return Ok(JsValue::UNDEFINED);
        };
        let part = &scene.mesh.parts[scene.part_of(hit)];
        to_js(&Picked {
            part: part.panel.name(),
            word: part.panel.word(),
            end: part.end.map(End::name),
            ply: part.ply,
            side: place::side(part),
            paper: hit.paper,
        })
    }

    /// Where on the canvas the middle of a place or panel is; none where the model has nothing of it.
    #[wasm_bindgen(unchecked_return_type = "CanvasPoint | undefined")]
    pub fn anchor(&mut self, name: &str) -> Result<JsValue, Error> {
        let named = Named::parse(name).ok_or_else(|| unknown("place or panel", name))?;
        self.settle();
        let Some(Shown { scene, anchors, .. }) = &mut self.shown else {
            return Ok(JsValue::UNDEFINED);
        };
        let (scene, anchor) = match &self.filled {
            Some(filled) => (filled, place::anchor(named, filled).filter(|_| !filled.is_stack())),
            None => {
                let known = anchors.iter().find(|(known, _)| known == name).map(|&(_, anchor)| anchor);
                let anchor = known.unwrap_or_else(|| {
                    let anchor = place::anchor(named, scene);
                    anchors.push((name.to_owned(), anchor));
                    anchor
                });
                (&*scene, anchor)
            }
        };
        let canvas = self.size.canvas;
        let spot = anchor.and_then(|anchor| Some((anchor, self.camera.project(anchor.point, canvas)?)));
        let Some((anchor, spot)) = spot else {
            return Ok(JsValue::UNDEFINED);
        };
        let eye = self.camera.eye();
        let inside = (0.0..=canvas.width).contains(&spot.x) && (0.0..=canvas.height).contains(&spot.y);
        let seen = || place::seen(anchor, named, scene, eye);
        to_js(&CanvasPoint { x: spot.x, y: spot.y, visible: inside && seen() })
    }

    /// Draws though nothing changed: a canvas holds what was drawn only until the browser has painted it.
    #[wasm_bindgen(js_name = drawAnew)]
    pub fn draw_anew(&mut self) -> Result<bool, Error> {
        self.stale = true;
        self.draw()
    }

    /// Draws if anything changed since the last picture; true when it did.
    pub fn draw(&mut self) -> Result<bool, Error> {
        self.settle();
        let Some(gpu) = self.gpu.as_mut().filter(|_| self.stale && !self.gl.is_context_lost()) else {
            return Ok(false);
        };
        if let Some(scene) = &mut self.filled {
            // Its only lines are its outline, which is another for every eye.
            scene.find_outline(self.camera.eye());
        }
        let scene = self.filled.as_ref().or(self.shown.as_ref().map(|shown| &shown.scene));
        if let Some(scene) = scene {
            match self.unsent {
                Unsent::Nothing => {}
                Unsent::Tags => gpu.send_tags(scene),
                Unsent::Positions => gpu.send_positions(scene),
                Unsent::Everything => gpu.send_all(scene),
            }
            if scene.filled.is_some() {
                gpu.send_lines(scene);
            }
        }
        self.unsent = Unsent::Nothing;
        let look = Look { theme: if self.asked.dark { tone::DARK } else { tone::LIGHT }, rich: !self.asked.plain };
        let mut reach = None;
        if let Some((spout, scene)) = self.spout.as_ref().zip(scene)
            && scene.filled.is_none()
            && self.pose.sleeve() == Some(1.0)
            && let Some(height) = Spout::height(scene)
        {
            let (mut paper, mut ink) = (Paper::default(), Ink::default());
            let within = spout.put(scene, height, &mut paper, &mut ink);
            gpu.send_spout(&paper, &ink, within);
            reach = Some(spout.bounds(scene, height));
        }
        gpu.draw(scene, reach, &self.camera, &look, self.size).map_err(graphics)?;
        self.stale = false;
        Ok(true)
    }

    /// The context is lost: nothing is drawn until [`Viewer::restore`].
    pub fn lost(&mut self) {
        self.gpu = None;
    }

    /// The context is back: everything in it is made anew.
    pub fn restore(&mut self) -> Result<(), Error> {
        self.gpu = None;
        self.gl = context(&self.canvas)?;
        self.gpu = Some(Gpu::new(&self.gl).map_err(graphics)?);
        self.unsent = Unsent::Everything;
        self.stale = true;
        self.send_artwork()
    }
}

impl Viewer {
    /// What is shown: a filled sack or stack, else the fold.
    fn scene(&self) -> Option<&Scene> {
        self.filled.as_ref().or(self.shown.as_ref().map(|shown| &shown.scene))
    }

    fn send_artwork(&mut self) -> Result<(), Error> {
        let Some(gpu) = &mut self.gpu else { return Ok(()) };
        let sent = gpu.send_artwork(self.artwork.as_ref());
        sent.map_err(|_| Fault::Graphics.with("the artwork is a picture that may not be read"))
    }

    fn show_filled(
        &mut self,
        given: &Given,
        copies: Vec<[f32; 4]>,
        board: Option<[f64; 3]>,
        (reach, pipe): (Vec<DVec3>, Option<Pipe>),
    ) -> Result<(), Error> {
        let shown = self.shown.as_ref().ok_or_else(|| Fault::NoSack.with("the viewer has been given no sack"))?;
        let mut scene = Scene::filled(&shown.sack, given, copies, board)
            .ok_or_else(|| Fault::BadShape.with("mesh: positions that can't be drawn"))?;
        if let Some(pipe) = pipe {
            scene.add_pipe(pipe);
        }
        scene.light_up(self.named.as_deref().and_then(Named::parse));
        scene.keep_in_sight(reach);
        self.filled = Some(scene);
        self.unsent = Unsent::Everything;
        self.stale = true;
        self.fit();
        Ok(())
    }

    /// Brings the scene up to the pose.
    fn settle(&mut self) {
        let Some(shown) = self.shown.as_mut().filter(|shown| shown.stale) else {
            return;
        };
        model::build(&shown.sack, &self.pose, self.thickness, &mut shown.scene.mesh);
        let named = self.named.as_deref().and_then(Named::parse);
        let unsent = if shown.scene.refresh(named) { Unsent::Everything } else { Unsent::Positions };
        shown.stale = false;
        shown.anchors.clear();
        // Tags that wait go out with everything.
        self.unsent = match (self.unsent, unsent) {
            (Unsent::Nothing | Unsent::Positions, unsent) => unsent,
            _ => Unsent::Everything,
        };
    }

    fn remodel(&mut self) {
        if let Some(shown) = &mut self.shown {
            shown.stale = true;
        }
        self.stale = true;
    }

    fn by_hand(&mut self) {
        self.view = None;
        self.stale = true;
    }

    /// Fits the named view again, after the canvas or the sack changed.
    fn fit(&mut self) {
        if let (Some(view), Some(scene)) = (self.view, self.scene()) {
            let (points, side) = (scene.points(view), scene.sizes.valve_side);
            self.camera = Camera::fitted(view, side, &points, self.size.canvas);
            self.stale = true;
        }
    }
}

/// Takes a filled mesh from the page.
#[cold]
fn given(mesh: &JsValue) -> Result<Given, Error> {
    let given = Given {
        positions: array::<Float32Array>(mesh, "positions")?.to_vec(),
        paper: array::<Float32Array>(mesh, "paper")?.to_vec(),
        panels: array::<Uint8Array>(mesh, "panels")?.to_vec(),
        triangles: array::<Uint32Array>(mesh, "triangles")?.to_vec(),
    };
    match given.fault() {
        None => Ok(given),
        Some(fault) => Err(Fault::BadShape.with(&format!("mesh: {fault}"))),
    }
}

#[cold]
fn context(canvas: &HtmlCanvasElement) -> Result<WebGl2RenderingContext, Error> {
    let options = Object::new();
    let wanted = [("alpha", true), ("antialias", false), ("depth", true), ("stencil", false)];
    for (key, value) in wanted {
        // Setting a key of a fresh object can't fail.
        Reflect::set(&options, &key.into(), &value.into()).unwrap_or_default();
    }
    let found = canvas.get_context_with_context_options("webgl2", &options).ok().flatten();
    let gl = found
        .and_then(|context| context.dyn_into::<WebGl2RenderingContext>().ok())
        .ok_or_else(|| Fault::NoWebGl.with("the browser gives no WebGL2 context"))?;
    if gl.is_context_lost() {
        return Err(Fault::NoWebGl.with("the WebGL2 context is lost"));
    }
    Ok(gl)
}

/// Takes a film's spout from the page.
#[cold]
fn pipe(spout: &JsValue) -> Result<Pipe, Error> {
    let (normals, triangles) = (array::<Float32Array>(spout, "normals")?, array::<Uint32Array>(spout, "triangles")?);
    Pipe::new(&normals.to_vec(), &triangles.to_vec())
        .ok_or_else(|| Fault::BadShape.with("spout: arrays that don't agree"))
}

/// A typed array of an object of the page.
#[cold]
fn array<T: JsCast>(mesh: &JsValue, key: &str) -> Result<T, Error> {
    let found = Reflect::get(mesh, &key.into()).ok().and_then(|found| found.dyn_into().ok());
    found.ok_or_else(|| Fault::BadShape.with(&format!("mesh: {key} is no typed array of the right kind")))
}

fn graphics(error: CoreError) -> Error {
    Fault::Graphics.with(&error.to_string())
}

#[cold]
fn range(what: &str, value: f64, would_do: &str) -> Error {
    Fault::BadNumber.with(&format!("{what} is {value}; {would_do} would do"))
}

#[cold]
fn unknown(what: &str, name: &str) -> Error {
    Fault::UnknownName.with(&format!("no {what} is named \"{name}\""))
}
