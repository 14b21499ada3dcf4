//! The drawing: buffers, programs and textures by three-d, and the handful of draws that make a picture.
//!
//! Everything here dies with a lost context and is made anew from the scene. Shadow pictures are redrawn when the
//! mesh moved, not when the camera did.

use std::sync::Arc;

use glam::DVec3;
use js_sys::Reflect;
use three_d::context::Context as Gl;
use three_d::core::{
    Blend, BlendEquationType, BlendMultiplierType, BufferDataType, ClearState, Context, CoreError, Cull, DepthTest,
    DepthTexture2D, ElementBuffer, InstanceBuffer, Interpolation, Mipmap, Program, RenderStates, RenderTarget,
    Texture2D, UniformBuffer, UniformDataType, Vec3, VertexBuffer, Viewport, Wrapping, WriteMask, f24, vec2, vec4,
};
use wasm_bindgen::JsValue;
use web_sys::{HtmlCanvasElement, WebGl2RenderingContext};

use crate::camera::{Bounds, Camera, Canvas, View};
use crate::filled;
use crate::grain;
use crate::light::{self, Footprint};
use crate::place::Band;
use crate::scene::{Group, Ink, Paper, Scene};
use crate::tone::{self, Rgb, Theme};

/// The text of a shader, without comments.
macro_rules! shader {
    ($name:literal) => {
        include_str!(concat!(env!("OUT_DIR"), "/", $name))
    };
}

/// Side of the shadow map, texels.
const SHADOW_SIDE: u32 = 512;
/// Side of the footprint's picture, texels.
const FOOTPRINT_SIDE: u32 = 256;
/// Paper looks its shadow up this far off its surface at grazing light, mm.
const SHADOW_OFFSET_MM: f64 = 1.6;
/// Smaller side of a texel of grain on paper and on the table, mm: the tile's reach there (the shaders') by its texels.
const PAPER_TEXEL_MM: f64 = 110.0 / grain::SIDE as f64;
const TABLE_TEXEL_MM: f64 = 330.0 / grain::SIDE as f64;
/// A scene lower than this throws no shadow on itself, mm.
const FLAT_MM: f64 = 8.0;
/// The table's square reaches this many radii of the sack from its middle.
const TABLE_RADII: f64 = 2.6;
/// Lines are drawn this much nearer than they are, mm: less than a ply's thickness, more than what vertices rounded to
/// parts of a pixel make of a sheet that is seen aslant.
const PULL_MM: f64 = 0.07;
/// The same for an outline: within a pixel of it, what is round with a radius of 30 mm comes nearer by so much.
const OUTLINE_PULL_MM: f64 = 6.0;
/// A line counts as hidden when it is this far behind, mm: a ribbon may dip under its own sheet.
const HIDDEN_MM: f64 = 0.3;
/// Across its width a line follows a sheet that is seen aslant by this much at most, mm.
const STEEPEST_MM: f64 = 6.0;
/// Bends lie back by this many device px. They are slivers, and rounding of vertices to parts of a pixel throws what
/// is on a sliver forward through the sheets above it.
const BEND_BACK_PX: f64 = 0.3;
/// Widths of cut, crease and rim lines, CSS px.
const WIDTHS: [f64; 3] = [1.15, 0.9, 2.6];
/// How much of a crease's ink covers the paper.
const CREASE_INK: f64 = 0.45;

/// What a picture is drawn with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Colours and lights.
    pub theme: Theme,
    /// Grain and shadows; off for tiny machines.
    pub rich: bool,
}

/// The size of a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// The canvas in CSS px.
    pub canvas: Canvas,
    /// Its buffer in device px.
    pub device: [u32; 2],
}

/// What programs are compiled with, as bits.
const GRAIN: usize = 1;
const SHADOW: usize = 2;
const SEAM: usize = 4;
const LIT: usize = 8;
const WALL: usize = 16;
const BOTTOM: usize = 32;
const STACK: usize = 64;
const KEPT: usize = 128;
const PRINT: usize = 256;
/// Their names in the shaders.
const WITH: [&str; 9] = ["GRAIN", "SHADOW", "SEAM", "LIT", "WALL", "BOTTOM", "STACK", "KEPT", "PRINT"];

/// What one picture is drawn from.
struct Frame<'a> {
    scene: &'a Scene,
    camera: &'a Camera,
    look: &'a Look,
    size: Size,
    /// The eye is below the table.
    below: bool,
    /// The box around all that is drawn but the table.
    bounds: Bounds,
    /// The table's middle from the scene's origin, and how far it reaches, mm.
    table: [f64; 4],
    viewport: Viewport,
}

/// What the table looks like, but for the shadow on it, follows from this.
#[derive(Clone, Copy, PartialEq)]
struct TableView {
    camera: Camera,
    look: Look,
    size: Size,
    /// As in [`Frame`].
    table: [f64; 4],
}

impl TableView {
    fn of(&Frame { camera, look, size, table, .. }: &Frame) -> Self {
        Self { camera: *camera, look: *look, size, table }
    }
}

/// Vertices of something with a skin and with lines on it.
struct Buffers {
    positions: VertexBuffer<[f32; 3]>,
    normals: VertexBuffer<[i16; 4]>,
    chart: VertexBuffer<[f32; 2]>,
    tags: VertexBuffer<[u8; 4]>,
    from: InstanceBuffer<[f32; 4]>,
    to: InstanceBuffer<[f32; 4]>,
    up: InstanceBuffer<[i16; 4]>,
    over: InstanceBuffer<[i16; 4]>,
    style: InstanceBuffer<[u8; 4]>,
    /// Some lines are seen through what covers them.
    through: bool,
    /// They are an outline; see [`Ink::outline`].
    outline: bool,
}

impl Buffers {
    fn new(context: &Context) -> Self {
        Self {
            positions: VertexBuffer::new(context),
            normals: VertexBuffer::new(context),
            chart: VertexBuffer::new(context),
            tags: VertexBuffer::new(context),
            from: InstanceBuffer::new(context),
            to: InstanceBuffer::new(context),
            up: InstanceBuffer::new(context),
            over: InstanceBuffer::new(context),
            style: InstanceBuffer::new(context),
            through: false,
            outline: false,
        }
    }

    fn fill_places(&mut self, paper: &Paper, ink: &Ink) {
        self.positions.fill(&paper.positions);
        self.normals.fill(&paper.normals);
        self.fill_lines(ink);
    }

    fn fill_lines(&mut self, ink: &Ink) {
        self.from.fill(&ink.from);
        self.to.fill(&ink.to);
        self.up.fill(&ink.normals);
        self.over.fill(&ink.others);
        self.outline = ink.outline;
    }

    fn fill_tags(&mut self, paper: &Paper, ink: &Ink) {
        self.tags.fill(&paper.tags);
        self.fill_style(ink);
    }

    fn fill_style(&mut self, ink: &Ink) {
        self.style.fill(&ink.style);
        self.through = ink.style.iter().any(|style| style[2] != 0);
    }
}

/// Everything that lives in one WebGL context.
pub struct Gpu {
    gl: WebGl2RenderingContext,
    context: Context,
    /// By what it is compiled with; compiled when first needed.
    paper: Vec<(usize, Program)>,
    /// For the shadow map and for the shadow on the table, likewise.
    depth: Vec<(usize, Program)>,
    thrown: Vec<(usize, Program)>,
    /// Likewise.
    table: Vec<(usize, Program)>,
    /// How the table was last seen, and a picture of it without the shadow.
    seen: Option<TableView>,
    kept: Option<(TableView, Texture2D)>,
    ink: Program,
    /// What all programs share, as shaders/frame.glsl lists it.
    uniforms: UniformBuffer,
    sack: Buffers,
    spout: Buffers,
    /// Of the spout: what is within the valve, and the rest.
    spout_indices: [ElementBuffer<u32>; 2],
    /// By [`Group`].
    indices: [ElementBuffer<u32>; Group::ALL.len()],
    casters: ElementBuffer<u32>,
    /// Where the sacks of a stack stand.
    copies: InstanceBuffer<[f32; 4]>,
    /// The table's cells: those around the sack, and the one where its shadow may be.
    cells: [VertexBuffer<[f32; 2]>; 2],
    /// The two triangles of a line.
    ribbon: ElementBuffer<u32>,
    grain: Texture2D,
    /// What is printed, as shaders/README.md lays it out; none: nothing.
    artwork: Option<Texture2D>,
    shadow: DepthTexture2D,
    footprint_map: Texture2D,
    /// The picture without its lines, for the lines' soft edges; as large as the canvas.
    picture: Option<Texture2D>,
    /// Which order the indices were sent in; none while they are not sent.
    order: Option<Vec<usize>>,
    /// The shadow pictures show the mesh as it is.
    shadows_current: bool,
}

impl Gpu {
    /// Makes programs, buffers and textures in a context that is not lost.
    ///
    /// # Errors
    /// The context refuses, or a shader does not compile on this machine.
    #[cold]
    pub fn new(gl: &WebGl2RenderingContext) -> Result<Self, CoreError> {
        #[expect(clippy::arc_with_non_send_sync, reason = "three-d asks for an Arc; a page has one thread")]
        let shared = Arc::new(loaded(gl));
        let context = Context::from_gl_context(shared)?;
        let repeat = Wrapping::Repeat;
        let clamp = Wrapping::ClampToEdge;
        // The nearest level only: half the cost where software renders.
        let mipmap = Some(Mipmap { max_ratio: 1, max_levels: 8, filter: Interpolation::Nearest });
        let linear = Interpolation::Linear;
        let side = grain::SIDE as u32;
        let tile = Texture2D::new_empty::<[u8; 4]>(&context, side, side, linear, linear, mipmap, repeat, repeat);
        tile.fill(&grain::tile());
        let footprint_map = Texture2D::new_empty::<[u8; 4]>(
            &context,
            FOOTPRINT_SIDE,
            FOOTPRINT_SIDE,
            linear,
            linear,
            mipmap,
            clamp,
            clamp,
        );
        let shadow = DepthTexture2D::new::<f24>(&context, SHADOW_SIDE, SHADOW_SIDE, clamp, clamp);
        // The new texture is still bound: depths are compared where they are looked up.
        for (parameter, value) in [
            (WebGl2RenderingContext::TEXTURE_COMPARE_MODE, WebGl2RenderingContext::COMPARE_REF_TO_TEXTURE),
            (WebGl2RenderingContext::TEXTURE_MIN_FILTER, WebGl2RenderingContext::LINEAR),
            (WebGl2RenderingContext::TEXTURE_MAG_FILTER, WebGl2RenderingContext::LINEAR),
        ] {
            gl.tex_parameteri(WebGl2RenderingContext::TEXTURE_2D, parameter, value as i32);
        }
        Ok(Self {
            paper: Vec::new(),
            depth: Vec::new(),
            thrown: Vec::new(),
            table: Vec::new(),
            seen: None,
            kept: None,
            ink: compiled(&context, 0, shader!("ink.vert"), shader!("ink.frag"))?,
            uniforms: UniformBuffer::new(&context, &[UNIFORMS as u32]),
            sack: Buffers::new(&context),
            spout: Buffers::new(&context),
            spout_indices: std::array::from_fn(|_| ElementBuffer::new(&context)),
            indices: std::array::from_fn(|_| ElementBuffer::new(&context)),
            copies: InstanceBuffer::new(&context),
            casters: ElementBuffer::new(&context),
            cells: [false, true].map(|middle| VertexBuffer::new_with_data(&context, &cells(middle))),
            ribbon: ElementBuffer::new_with_data(&context, &[0, 1, 2, 0, 2, 3]),
            grain: tile,
            artwork: None,
            shadow,
            footprint_map,
            picture: None,
            order: None,
            shadows_current: false,
            context,
            gl: gl.clone(),
        })
    }

    /// Sends what is printed, laid out as shaders/README.md says and white where no ink is; none: nothing.
    ///
    /// # Errors
    /// The picture is another origin's: the context must not read it.
    #[cold]
    pub fn send_artwork(&mut self, picture: Option<&HtmlCanvasElement>) -> Result<(), JsValue> {
        self.artwork = None;
        let Some(picture) = picture else { return Ok(()) };
        let (linear, clamp) = (Interpolation::Linear, Wrapping::ClampToEdge);
        let mipmap = Some(Mipmap { max_ratio: 1, max_levels: 12, filter: linear });
        let [width, height] = [picture.width(), picture.height()];
        // Front and back meet at both side folds.
        let around = Wrapping::Repeat;
        let context = &self.context;
        let texture = Texture2D::new_empty::<[u8; 4]>(context, width, height, linear, linear, mipmap, around, clamp);
        let (target, format) = (WebGl2RenderingContext::TEXTURE_2D, WebGl2RenderingContext::RGBA);
        let numbers = WebGl2RenderingContext::UNSIGNED_BYTE;
        // The new texture is still bound.
        self.gl.tex_sub_image_2d_with_u32_and_u32_and_html_canvas_element(target, 0, 0, 0, format, numbers, picture)?;
        self.gl.generate_mipmap(target);
        self.artwork = Some(texture);
        Ok(())
    }

    /// Sends what follows from the mesh's topology, and then the rest.
    pub fn send_all(&mut self, scene: &Scene) {
        self.sack.chart.fill(&scene.paper.paper);
        self.order = None;
        self.casters.fill(&scene.paper.casters);
        self.copies.fill(copies(scene));
        self.send_tags(scene);
        self.send_positions(scene);
    }

    /// Sends what moves with the pose.
    pub fn send_positions(&mut self, scene: &Scene) {
        self.sack.fill_places(&scene.paper, &scene.ink);
        self.shadows_current = false;
    }

    /// Sends lines that were found anew.
    pub fn send_lines(&mut self, scene: &Scene) {
        self.sack.fill_lines(&scene.ink);
        self.sack.fill_style(&scene.ink);
    }

    /// Sends tones, flags and the lines' styles.
    pub fn send_tags(&mut self, scene: &Scene) {
        self.sack.fill_tags(&scene.paper, &scene.ink);
    }

    /// Sends a spout: the first so many of its indices are of what is within the valve.
    pub fn send_spout(&mut self, paper: &Paper, ink: &Ink, within: usize) {
        self.spout.chart.fill(&paper.paper);
        self.spout.fill_places(paper, ink);
        self.spout.fill_tags(paper, ink);
        let (inner, outer) = paper.indices.split_at(within);
        for (buffer, indices) in self.spout_indices.iter_mut().zip([inner, outer]) {
            buffer.fill(indices);
        }
    }

    /// Draws the picture; with the spout that was sent when `spout` says how far scene and spout reach.
    ///
    /// # Errors
    /// What the context reports.
    pub fn draw(
        &mut self,
        scene: Option<&Scene>,
        spout: Option<Bounds>,
        camera: &Camera,
        look: &Look,
        size: Size,
    ) -> Result<(), CoreError> {
        let [width, height] = size.device;
        let [r, g, b] = look.theme.background.map(|c| f32::from(c) / 255.0);
        let clear = ClearState::color_and_depth(r, g, b, 1.0, 1.0);
        let screen = RenderTarget::screen(&self.context, width, height);
        if self.picture.as_ref().is_none_or(|picture| [picture.width(), picture.height()] != size.device) {
            self.picture = Some(canvas_texture(&self.context, size));
        }
        let Some(scene) = scene.filter(|scene| !scene.paper.indices.is_empty()) else {
            screen.clear(clear);
            return Ok(());
        };
        let below = is_below(scene, camera);
        self.send_indices(scene, !below);
        let rich = look.rich;
        let with = if rich { GRAIN } else { 0 }
            | if rich && !below && relief(scene) > 0.0 { SHADOW } else { 0 }
            | if scene.is_lit() { LIT } else { 0 };
        let print = if self.artwork.is_some() { PRINT } else { 0 };
        let with = |group| {
            let stack = if copies(scene).is_empty() { 0 } else { STACK };
            match group {
                Group::Plain => with | print,
                Group::Seam => with | SEAM | print,
                Group::Wall => with | WALL | stack | print,
                Group::SeamWall => with | WALL | SEAM | stack | print,
                Group::Bottom(_) => with | BOTTOM | stack | print,
                Group::Board => with & !LIT,
            }
        };
        for group in scene.slices.iter().map(|slice| slice.group).chain(spout.map(|_| Group::Board)) {
            let (vertex, fragment) = (shader!("paper.vert"), shader!("paper.frag"));
            need(&mut self.paper, &self.context, with(group), vertex, fragment)?;
        }
        let bounds = spout.unwrap_or(scene.bounds);
        let frame = Frame {
            scene,
            camera,
            look,
            size,
            below,
            bounds,
            table: table(scene),
            viewport: Viewport::new_at_origo(width, height),
        };
        self.uniforms.update(0, &uniforms(&frame));
        if rich && !self.shadows_current {
            self.draw_shadows(scene)?;
            self.shadows_current = true;
        }
        screen.clear(clear);
        let table = if below { None } else { Some(self.look_at_table(&frame)?) };
        screen.write(|| {
            let draw = |group, buffers, indices: &ElementBuffer<u32>, states| {
                if let Some(program) = known(&self.paper, with(group)).filter(|_| indices.count() > 0) {
                    self.draw_paper(program, group, buffers, indices, states, &frame);
                }
            };
            let solid = RenderStates { cull: Cull::Back, ..RenderStates::default() };
            for (group, indices) in Group::ALL.into_iter().zip(&self.indices) {
                draw(group, &self.sack, indices, solid);
            }
            if spout.is_some() {
                draw(Group::Board, &self.spout, &self.spout_indices[1], solid);
            }
            for (with, cells) in table.iter().flatten().zip(&self.cells) {
                self.draw_cells(*with, cells, frame.viewport);
            }
            if spout.is_some() {
                let (write_mask, depth_test) = (WriteMask::COLOR, DepthTest::Always);
                let through = RenderStates { write_mask, depth_test, blend: TINT, ..solid };
                draw(Group::Board, &self.spout, &self.spout_indices[0], through);
            }
            self.draw_ink(&self.sack, &frame);
            if spout.is_some() {
                self.draw_ink(&self.spout, &frame);
            }
            Ok::<(), CoreError>(())
        })?;
        Ok(())
    }

    /// Sends the indices in the order in which they are drawn, if that has changed.
    fn send_indices(&mut self, scene: &Scene, from_above: bool) {
        if self.order.as_ref().is_some_and(|order| scene.is_in_order(order, from_above)) {
            return;
        }
        let order = scene.order(from_above);
        for (group, buffer) in Group::ALL.into_iter().zip(&mut self.indices) {
            let slices = order.iter().map(|&slice| &scene.slices[slice]).filter(|slice| slice.group == group);
            let indices: Vec<u32> =
                slices.flat_map(|slice| &scene.paper.indices[slice.indices.clone()]).copied().collect();
            buffer.fill(&indices);
        }
        self.order = Some(order);
    }

    fn draw_shadows(&mut self, scene: &Scene) -> Result<(), CoreError> {
        let copies = copies(scene).len() as u32;
        let with = if copies > 0 { STACK } else { 0 };
        let (vertex, fragment) = (shader!("footprint.vert"), shader!("footprint.frag"));
        need(&mut self.thrown, &self.context, with, vertex, fragment)?;
        // Flat paper throws none on itself.
        if relief(scene) > 0.0 {
            let (vertex, fragment) = (shader!("depth.vert"), shader!("depth.frag"));
            need(&mut self.depth, &self.context, with, vertex, fragment)?;
        }
        let uniforms = &self.uniforms;
        let cast = |program: &Program, states, viewport| {
            if copies > 0 {
                instances(program, "stand", &self.copies);
                program.draw_elements_instanced(states, viewport, &self.casters, copies);
            } else {
                program.draw_elements(states, viewport, &self.casters);
            }
        };
        if let Some(program) = known(&self.depth, with).filter(|_| relief(scene) > 0.0) {
            let target = self.shadow.as_depth_target();
            target.clear(ClearState::depth(1.0)).write(|| {
                program.use_uniform_block("Frame", uniforms);
                attribute(program, "position", &self.sack.positions);
                let states = RenderStates { write_mask: WriteMask::DEPTH, ..RenderStates::default() };
                let viewport = Viewport::new_at_origo(SHADOW_SIDE, SHADOW_SIDE);
                cast(program, states, viewport);
                Ok::<(), CoreError>(())
            })?;
        }

        let Some(program) = known(&self.thrown, with) else { return Ok(()) };
        let target = self.footprint_map.as_color_target(None);
        target.clear(ClearState::color(0.0, 0.0, 0.0, 1.0)).write(|| {
            let viewport = Viewport::new_at_origo(FOOTPRINT_SIDE, FOOTPRINT_SIDE);
            program.use_uniform_block("Frame", uniforms);
            let key = light::key();
            let along = vec2((key.x / key.z) as f32, (key.y / key.z) as f32);
            let red = WriteMask { green: false, blue: false, alpha: false, ..WriteMask::COLOR };
            let green = WriteMask { red: false, blue: false, alpha: false, ..WriteMask::COLOR };
            for (slide, write_mask) in [(along, red), (vec2(0.0, 0.0), green)] {
                set(program, "slide", slide);
                attribute(program, "position", &self.sack.positions);
                let states =
                    RenderStates { write_mask, depth_test: DepthTest::Always, blend: HIGHEST, cull: Cull::None };
                cast(program, states, viewport);
            }
            Ok::<(), CoreError>(())
        })?;
        Ok(())
    }

    /// What this picture's table is drawn with, around the sack and where its shadow may be. When the table is seen a second
    /// time as it is, a picture of it is kept, without the shadow and with nothing on it: while a sack folds under a still eye,
    /// software renderers need not work out its grain anew.
    fn look_at_table(&mut self, frame: &Frame) -> Result<[usize; 2], CoreError> {
        let view = TableView::of(frame);
        let again = self.seen.replace(view) == Some(view);
        let with = match (frame.look.rich, again) {
            (false, _) => [0, 0],
            (true, false) => [GRAIN, GRAIN | SHADOW],
            (true, true) => [KEPT, KEPT | SHADOW],
        };
        for with in with {
            let (vertex, fragment) = (shader!("table.vert"), shader!("table.frag"));
            need(&mut self.table, &self.context, with, vertex, fragment)?;
        }
        if frame.look.rich && again && self.kept.as_ref().is_none_or(|(kept, _)| *kept != view) {
            for cells in &self.cells {
                self.draw_cells(GRAIN, cells, frame.viewport);
            }
            let kept = self.kept.take().filter(|(kept, _)| kept.size == view.size);
            let picture = kept.map_or_else(|| canvas_texture(&self.context, view.size), |(_, picture)| picture);
            if let Some(program) = known(&self.table, KEPT) {
                program.use_texture("kept", &picture);
                let [width, height] = view.size.device.map(|px| px as i32);
                self.copy_canvas([0, 0, width, height]);
            }
            self.kept = Some((view, picture));
        }
        Ok(with)
    }

    fn draw_cells(&self, with: usize, cells: &VertexBuffer<[f32; 2]>, viewport: Viewport) {
        let Some(program) = known(&self.table, with) else { return };
        program.use_uniform_block("Frame", &self.uniforms);
        let kept = self.kept.as_ref().map(|(_, picture)| picture);
        let textures = [("footprintMap", Some(&self.footprint_map)), ("grainMap", Some(&self.grain)), ("kept", kept)];
        for (name, texture) in textures {
            if let Some(texture) = texture.filter(|_| program.requires_uniform(name)) {
                program.use_texture(name, texture);
            }
        }
        attribute(program, "corner", cells);
        let states =
            RenderStates { write_mask: WriteMask::COLOR, depth_test: DepthTest::Less, ..RenderStates::default() };
        program.draw_arrays(states, viewport, cells.vertex_count());
    }

    /// Copies a part of the canvas (left, bottom, width, height, device px) into the texture that was put to use last.
    fn copy_canvas(&self, [x, y, width, height]: [i32; 4]) {
        self.gl.copy_tex_sub_image_2d(WebGl2RenderingContext::TEXTURE_2D, 0, x, y, x, y, width, height);
    }

    fn draw_paper(
        &self,
        program: &Program,
        group: Group,
        buffers: &Buffers,
        indices: &ElementBuffer<u32>,
        states: RenderStates,
        frame: &Frame,
    ) {
        let &Frame { scene, viewport, .. } = frame;
        program.use_uniform_block("Frame", &self.uniforms);
        if program.requires_uniform("shadowMap") {
            program.use_depth_texture("shadowMap", &self.shadow);
        }
        if program.requires_uniform("grainMap") {
            program.use_texture("grainMap", &self.grain);
        }
        if let Some(artwork) = self.artwork.as_ref().filter(|_| program.requires_uniform("artwork")) {
            program.use_texture("artwork", artwork);
        }
        attribute(program, "position", &buffers.positions);
        attribute(program, "normal", &buffers.normals);
        attribute(program, "paper", &buffers.chart);
        attribute(program, "tags", &buffers.tags);
        self.set_lines(program, group, frame);
        let copies = copies(scene).len() as u32;
        if copies > 0 && group != Group::Board {
            instances(program, "stand", &self.copies);
            program.draw_elements_instanced(states, viewport, indices, copies);
        } else {
            program.draw_elements(states, viewport, indices);
        }
    }

    /// What lies on a filled sack: creases of a wall, or the parts of a bottom, with their tones as shares of the tone
    /// that the bottom's vertices have.
    fn set_lines(&self, program: &Program, group: Group, frame: &Frame) {
        let &Frame { scene, .. } = frame;
        let sizes = &scene.sizes;
        set(program, "faceWidth", sizes.face_width as f32);
        let [d, plain_d] = sizes.opening_depth;
        let [f, plain_f] = [0, 1].map(|end| (sizes.bottom_width[end] + sizes.lap[end]) / 2.0);
        set(program, "rims", vec2(f as f32, (sizes.tube_length - plain_f) as f32));
        set(program, "foldBacks", vec2(d as f32, (sizes.tube_length - plain_d) as f32));
        let [[length, width, _], [plain_length, plain_width, _]] =
            sizes.plans.map(|plan| plan.patch.map(|mm| mm as f32));
        set(program, "patchSizes", vec4(length, width, plain_length, plain_width));
        let Group::Bottom(end) = group else { return };
        let plan = &sizes.plans[end as usize];
        let half = (sizes.face_width - plan.width) / 2.0;
        let [to_a, to_b] = plan.reach.map(|reach| reach as f32);
        set(program, "plan", vec4(plan.width as f32, half as f32, to_a, to_b));
        set(program, "last", plan.last as f32);
        let three = |values: [f64; 3]| Vec3::from(values.map(|value| value as f32));
        set(program, "patchPlace", three(plan.patch));
        set(program, "plainEnd", f32::from(end as u8));
        set(program, "sleevePlace", three(plan.sleeve));
        let first = filled::first_part(end);
        let tone = |part: usize| srgb(tone::of(&scene.mesh.parts[first + part], &scene.papers));
        let base = tone(plan.last);
        let share = |part: usize| {
            let tone = tone(part);
            Vec3::from(std::array::from_fn(|k| (tone[k] / base[k]) as f32))
        };
        if program.requires_uniform("wallTones") {
            program.use_uniform_array("wallTones", &[share(0), share(1)]);
        }
        set(program, "litParts", scene.lit_parts(end));
        set(program, "patchTone", share(4));
        set(program, "sleeveTone", share(5));
    }

    fn draw_ink(&self, buffers: &Buffers, frame: &Frame) {
        let &Frame { viewport, .. } = frame;
        let lines = buffers.from.instance_count();
        if lines == 0 {
            return;
        }
        let program = &self.ink;
        let slope = slope(frame);
        program.use_uniform_block("Frame", &self.uniforms);
        if program.requires_uniform("picture")
            && let Some(picture) = &self.picture
        {
            program.use_texture("picture", picture);
            // All lines lie within the bounds.
            self.copy_canvas(within(frame));
        }
        let seen = (0.0, if buffers.outline { OUTLINE_PULL_MM } else { PULL_MM }, DepthTest::LessOrEqual);
        let hidden = (1.0, HIDDEN_MM, DepthTest::Greater);
        let passes = if buffers.through { &[seen, hidden][..] } else { &[seen] };
        for &(behind, pull, depth_test) in passes {
            set(program, "behind", behind);
            set(program, "pull", (pull * slope) as f32);
            instances(program, "from", &buffers.from);
            instances(program, "to", &buffers.to);
            instances(program, "up", &buffers.up);
            instances(program, "over", &buffers.over);
            instances(program, "style", &buffers.style);
            let states = RenderStates { write_mask: WriteMask::COLOR, depth_test, blend: OVER, cull: Cull::None };
            program.draw_elements_instanced(states, viewport, &self.ribbon, lines);
        }
    }
}

impl Drop for Gpu {
    fn drop(&mut self) {
        // Context and programs hold each other; an emptied cache lets both go.
        if let Ok(mut programs) = self.context.programs.write() {
            programs.clear();
        }
    }
}

/// The context as three-d takes it. Its loader asks for every extension that there is, and each that is had costs a browser
/// two round trips. One is used for textures; of the others it is told that they are not to be had.
#[cold]
fn loaded(gl: &WebGl2RenderingContext) -> Gl {
    gl.get_extension("EXT_texture_filter_anisotropic").unwrap_or_default();
    let name = JsValue::from("getExtension");
    // What all functions inherit from is itself one: it takes anything and returns nothing.
    let nothing = Reflect::get(gl, &name).map(|function| Reflect::get_prototype_of(&function));
    let silenced = nothing.flatten().and_then(|nothing| Reflect::set(gl, &name, &nothing));
    let context = Gl::from_webgl2_context(gl.clone());
    if silenced.is_ok() {
        Reflect::delete_property(gl, &name).unwrap_or_default();
    }
    context
}

/// A program with so many of [`WITH`].
#[cold]
fn compiled(context: &Context, with: usize, vertex: &str, fragment: &str) -> Result<Program, CoreError> {
    let wanted = WITH.iter().enumerate().filter(|(bit, _)| with & (1 << bit) != 0);
    let mut before: String = wanted.map(|(_, name)| format!("#define {name}\n")).collect();
    before += shader!("frame.glsl");
    Program::from_source(context, &format!("{before}{vertex}"), &format!("{before}{fragment}"))
}

/// The program of a list that is compiled with so much.
fn known(programs: &[(usize, Program)], with: usize) -> Option<&Program> {
    programs.iter().find(|(known, _)| *known == with).map(|(_, program)| program)
}

/// Compiles a program into the list unless it is there.
#[inline(never)]
fn need(
    programs: &mut Vec<(usize, Program)>,
    context: &Context,
    with: usize,
    vertex: &str,
    fragment: &str,
) -> Result<(), CoreError> {
    if known(programs, with).is_none() {
        programs.push((with, compiled(context, with, vertex, fragment)?));
    }
    Ok(())
}

/// An empty picture as large as the canvas.
fn canvas_texture(context: &Context, size: Size) -> Texture2D {
    let [width, height] = size.device;
    let (nearest, clamp) = (Interpolation::Nearest, Wrapping::ClampToEdge);
    Texture2D::new_empty::<[u8; 4]>(context, width, height, nearest, nearest, None, clamp, clamp)
}

/// Where the sacks of a stack stand; none for one sack.
fn copies(scene: &Scene) -> &[[f32; 4]] {
    scene.filled.as_ref().map_or(&[], |filled| &filled.copies)
}

/// The triangles of the table's nine cells, from 0 to 3 in both directions: of the one in the middle, or of the others.
fn cells(middle: bool) -> Vec<[f32; 2]> {
    const CORNERS: [[u8; 2]; 6] = [[0, 0], [1, 0], [1, 1], [0, 0], [1, 1], [0, 1]];
    let wanted = (0..9).filter(|&cell| (cell == 4) == middle);
    wanted.flat_map(|cell| CORNERS.map(|[a, b]| [f32::from(cell % 3 + a), f32::from(cell / 3 + b)])).collect()
}

/// Lays what comes, premultiplied by its alpha, over what is there.
const OVER: Blend = Blend::Enabled {
    source_rgb_multiplier: BlendMultiplierType::One,
    source_alpha_multiplier: BlendMultiplierType::One,
    destination_rgb_multiplier: BlendMultiplierType::OneMinusSrcAlpha,
    destination_alpha_multiplier: BlendMultiplierType::OneMinusSrcAlpha,
    rgb_equation: BlendEquationType::Add,
    alpha_equation: BlendEquationType::Add,
};

/// Darkens and tints what is there, as coloured glass does.
const TINT: Blend = Blend::Enabled {
    source_rgb_multiplier: BlendMultiplierType::DstColor,
    source_alpha_multiplier: BlendMultiplierType::DstAlpha,
    destination_rgb_multiplier: BlendMultiplierType::Zero,
    destination_alpha_multiplier: BlendMultiplierType::Zero,
    rgb_equation: BlendEquationType::Add,
    alpha_equation: BlendEquationType::Add,
};

/// Keeps the higher of what is there and what comes.
const HIGHEST: Blend = Blend::Enabled {
    source_rgb_multiplier: BlendMultiplierType::One,
    source_alpha_multiplier: BlendMultiplierType::One,
    destination_rgb_multiplier: BlendMultiplierType::One,
    destination_alpha_multiplier: BlendMultiplierType::One,
    rgb_equation: BlendEquationType::Max,
    alpha_equation: BlendEquationType::Max,
};

/// A uniform, unless this machine's compiler found it unused.
fn set<T: UniformDataType>(program: &Program, name: &str, value: T) {
    program.use_uniform_if_required(name, value);
}

fn bend_back_mm(camera: &Camera, size: Size) -> f64 {
    BEND_BACK_PX * mm_per_device_px(camera, size)
}

fn mm_per_device_px(camera: &Camera, size: Size) -> f64 {
    camera.mm_per_px(size.canvas) * size.canvas.width / f64::from(size.device[0])
}

/// The level of the grain's picture that fits a pixel. One for the whole picture, as the lens is long: to find it for
/// every pixel costs where software renders.
fn grain_level(camera: &Camera, size: Size, texel_mm: f64) -> f64 {
    libm::log2(mm_per_device_px(camera, size) / texel_mm).max(0.0)
}

/// What of the picture the bounds and the width of a line around them may cover: left, bottom, width, height, device px.
fn within(&Frame { camera, size, bounds, .. }: &Frame) -> [i32; 4] {
    let [width, height] = size.device.map(f64::from);
    let scale = width / size.canvas.width;
    let margin = WIDTHS[2] * scale + 2.0;
    let whole = [0.0, 0.0, width, height];
    let corner = |p| camera.project(p, size.canvas).map(|spot| [spot.x * scale, height - spot.y * scale]);
    let corners: Option<Vec<_>> = bounds.corners().into_iter().map(corner).collect();
    let [left, bottom, right, top] = corners.map_or(whole, |corners| {
        corners.iter().fold([width, height, 0.0, 0.0], |[left, bottom, right, top], [x, y]| {
            [left.min(x - margin), bottom.min(y - margin), right.max(x + margin), top.max(y + margin)]
        })
    });
    let [left, bottom] = [left.max(0.0).floor(), bottom.max(0.0).floor()];
    let [right, top] = [right.min(width).ceil(), top.min(height).ceil()];
    [left, bottom, (right - left).max(0.0), (top - bottom).max(0.0)].map(|px| px as i32)
}

/// The table's middle from the scene's origin, and how far it reaches, mm. By what a view of the whole shows: it stays where it
/// is while the sack folds.
fn table(scene: &Scene) -> [f64; 4] {
    let whole = scene.points(View::Whole).into_iter().fold(Bounds::EMPTY, Bounds::with);
    let [x, y, _] = (whole.middle() - scene.origin).to_array();
    [x, y, scene.bounds.min.z - scene.origin.z, whole.radius() * TABLE_RADII]
}

/// Whether the eye is below the table.
fn is_below(scene: &Scene, camera: &Camera) -> bool {
    camera.eye().z <= scene.bounds.min.z
}

/// How much of a shadow paper throws on paper, 0 to 1: none while all lies flat, where it would cost and not be seen.
fn relief(scene: &Scene) -> f64 {
    let height = scene.bounds.max.z - scene.bounds.min.z;
    ((height - FLAT_MM) / FLAT_MM).clamp(0.0, 1.0)
}

/// A vertex attribute, likewise.
fn attribute<T: BufferDataType>(program: &Program, name: &str, buffer: &VertexBuffer<T>) {
    if program.requires_attribute(name) {
        program.use_vertex_attribute(name, buffer);
    }
}

/// An attribute of an instance, likewise.
fn instances<T: BufferDataType>(program: &Program, name: &str, buffer: &InstanceBuffer<T>) {
    if program.requires_attribute(name) {
        program.use_instance_attribute(name, buffer);
    }
}

/// How much normalised depth changes for a mm at the target's distance.
fn slope(&Frame { camera, bounds, .. }: &Frame) -> f64 {
    let (near, far) = camera.depth_range(bounds);
    2.0 * far * near / ((far - near) * camera.distance * camera.distance)
}

/// Numbers in the block of shaders/frame.glsl.
const UNIFORMS: usize = 116;

/// The block of shaders/frame.glsl, in its order.
fn uniforms(frame: &Frame) -> [f32; UNIFORMS] {
    let &Frame { scene, camera, look, size, below, bounds, table, .. } = frame;
    let (theme, sizes) = (&look.theme, &scene.sizes);
    let clip = camera.clip_from_space(scene.origin, bounds, size.canvas);
    // Seen from below the table is not there, and the lamp is where the eye is.
    let mirror = DVec3::new(1.0, 1.0, if below { -1.0 } else { 1.0 });
    let key = light::key() * mirror;
    let (sky, ground) = if below { (theme.ground, theme.sky) } else { (theme.sky, theme.ground) };
    // The lens is long: one line of sight for the whole sack will do.
    let sight = -camera.axes()[2];
    // A flap that stands up is worth more distance than a ply: the offset grows with the map's texel.
    let texel = scene.bounds.radius() * 2.0 / f64::from(SHADOW_SIDE);
    let sag = scene.filled.as_ref().map_or(0.0, |filled| filled.sag_mm);
    let slope = slope(frame);
    let [table @ .., reach] = table;
    let pixel = f64::from(size.device[0]) / size.canvas.width;
    let Footprint { min, size: extent } = Footprint::of(scene.bounds);
    let Band { u_low, u_high, v_low, v_high } = scene.band;

    let mut block = [0.0; UNIFORMS];
    let mut at = 0;
    let mut put = |values: &[f32]| {
        for value in values {
            block[at] = *value;
            at += 1;
        }
    };
    // Planes go by the inverse transpose.
    for matrix in [clip, clip.inverse().transpose(), light::light_from_space(scene.bounds, scene.origin)] {
        put(&matrix.as_mat4().to_cols_array());
    }
    let mut row = |values: [f64; 4]| put(&values.map(|value| value as f32));
    row([min[0] - scene.origin.x, min[1] - scene.origin.y, extent[0], extent[1]]);
    row([u_low, u_high, v_low, v_high]);
    let [seam @ .., fifth, sixth] = sizes.seam;
    row(seam);
    row([fifth, sixth, size.device[0].into(), size.device[1].into()]);
    let mut with = |vector: [f64; 3], number: f64| row([vector[0], vector[1], vector[2], number]);
    with(key.to_array(), SHADOW_OFFSET_MM.max(texel * 1.6) + sag);
    let warm = f64::from(theme.key);
    with([warm, warm * 0.97, warm * 0.91], bend_back_mm(camera, size));
    with(sky.map(f64::from), grain_level(camera, size, PAPER_TEXEL_MM));
    with(ground.map(f64::from), grain_level(camera, size, TABLE_TEXEL_MM));
    with(sight.to_array(), relief(scene));
    with((key + sight).normalize_or(key).to_array(), theme.shadow.into());
    with(srgb(theme.lit), sizes.seam_lap);
    with(srgb(theme.ink), CREASE_INK);
    with(srgb(theme.rim), pixel);
    with(WIDTHS, STEEPEST_MM * slope);
    with(table, bend_back_mm(camera, size) * slope);
    with(srgb(theme.table), reach);
    with(srgb(theme.background), theme.wood.into());
    block
}

fn srgb(rgb: Rgb) -> [f64; 3] {
    rgb.map(|channel| f64::from(channel) / 255.0)
}
