// The ground in 3D: one grid of nodes over a texture of heights, in the light and the surfaces of the stills.

import { shadersOf } from "./shaders.js";

const ROUGH_MESH = 150; // nodes of the ground along a side that throws shadows, and of one that is drawn in haste
const SHADE_CELLS = 1024; // of the map of shadows along a side
const MOST_MESH = 450; // nodes of the mesh along a side; a wider field is thinned

function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS)) {
    const logs = gl.getAttachedShaders(made).map((shader) => gl.getShaderInfoLog(shader));
    throw new Error(`shader: ${gl.getProgramInfoLog(made)} ${logs.join(" ")}`);
  }
  const places = {};
  const count = gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS);
  for (let k = 0; k < count; k++) {
    const { name } = gl.getActiveUniform(made, k);
    places[name.replace("[0]", "")] = gl.getUniformLocation(made, name);
  }
  return { made, places };
}

/** "#rrggbb" as three shares. */
export function channels(colour) {
  return [1, 3, 5].map((k) => parseInt(colour.slice(k, k + 2), 16) / 255);
}

/** Tell whether the machine has no graphics processor for the browser: then the picture must be cheap to draw. */
function drawnByProcessor() {
  const gl = document.createElement("canvas").getContext("webgl2");
  const told = gl?.getExtension("WEBGL_debug_renderer_info");
  const name = told ? gl.getParameter(told.UNMASKED_RENDERER_WEBGL) : "";
  gl?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software|basic render/i.test(name);
}

export class Relief {
  /**
   * Throws where the canvas gives no WebGL2 context. `look` holds colours, contour interval and depth step, `scenery` the
   * stills' light and grain.
   */
  constructor(canvas, look, scenery) {
    const byHand = drawnByProcessor();
    const gl = canvas.getContext("webgl2", { antialias: !byHand, alpha: true, premultipliedAlpha: true });
    if (!gl) throw new Error("no WebGL2");
    this.canvas = canvas;
    this.gl = gl;
    this.look = look;
    this.byHand = byHand;
    this.scenery = scenery;
    const shaders = shadersOf(scenery);
    this.programs = Object.fromEntries(Object.entries(shaders).map(([name, texts]) => [name, program(gl, ...texts)]));
    const [existing, change, skin, cover, near, far, shade] = Array.from({ length: 7 }, () => gl.createTexture());
    this.textures = { existing, change, skin, cover, near, far, shade };
    this.noVertices = gl.createVertexArray();
    this.fine = { strips: gl.createBuffer(), thin: 1, sides: [0, 0], count: 0 };
    this.rough = { strips: gl.createBuffer(), thin: 1, sides: [0, 0], count: 0 };
    this.solids = [];
    this.shadeOf = ""; // what the map of shadows was drawn of
    for (const texture of [this.textures.skin, this.textures.cover]) {
      gl.bindTexture(gl.TEXTURE_2D, texture);
      gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, 1, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    }
    const kinds = Object.keys(scenery.light.kinds).length;
    this.layGrain(this.textures.near, gl.R8, gl.RED, 1, kinds, new Uint8Array(kinds).fill(128));
    this.layGrain(this.textures.far, gl.RG8, gl.RG, 1, kinds, new Uint8Array(2 * kinds).fill(128));
    this.setUpShade();
    gl.enable(gl.DEPTH_TEST);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    gl.getExtension("EXT_texture_filter_anisotropic");
  }

  /** Tiles of grain, a layer a kind: bytes of -1 to 1 near, of 0 to 2 and -1 to 1 from afar. */
  setGrain({ near, far, nodes }) {
    const kinds = Object.keys(this.scenery.light.kinds).length;
    this.layGrain(this.textures.near, this.gl.R8, this.gl.RED, nodes, kinds, near);
    this.layGrain(this.textures.far, this.gl.RG8, this.gl.RG, nodes, kinds, far);
  }

  layGrain(texture, kept, given, nodes, kinds, bytes) {
    const { gl } = this;
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, texture);
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.texImage3D(gl.TEXTURE_2D_ARRAY, 0, kept, nodes, nodes, kinds, 0, given, gl.UNSIGNED_BYTE, bytes);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 4);
    gl.generateMipmap(gl.TEXTURE_2D_ARRAY);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_MIN_FILTER, this.byHand ? gl.LINEAR_MIPMAP_NEAREST : gl.LINEAR_MIPMAP_LINEAR);
    for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D_ARRAY, side, gl.REPEAT);
  }

  setUpShade() {
    const { gl } = this;
    gl.bindTexture(gl.TEXTURE_2D, this.textures.shade);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.DEPTH_COMPONENT24, SHADE_CELLS, SHADE_CELLS);
    for (const [key, value] of [
      [gl.TEXTURE_MIN_FILTER, gl.LINEAR], [gl.TEXTURE_MAG_FILTER, gl.LINEAR],
      [gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE], [gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE],
      [gl.TEXTURE_COMPARE_MODE, gl.COMPARE_REF_TO_TEXTURE], [gl.TEXTURE_COMPARE_FUNC, gl.LEQUAL],
    ]) gl.texParameteri(gl.TEXTURE_2D, key, value);
    this.shadeFrame = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadeFrame);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, this.textures.shade, 0);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  setField(field) {
    const same = this.field && this.field.nx === field.nx && this.field.ny === field.ny;
    if (!this.field || this.field.existing !== field.existing) this.upload(this.textures.existing, field, field.existing);
    this.upload(this.textures.change, field, field.change);
    this.field = field;
    this.shadeOf = "";
    if (same) return;
    this.layMesh(this.fine, field, MOST_MESH);
    this.layMesh(this.rough, field, ROUGH_MESH);
  }

  upload(texture, { nx, ny }, values) {
    const { gl } = this;
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.R32F, nx, ny, 0, gl.RED, gl.FLOAT, values);
    for (const [key, value] of [
      [gl.TEXTURE_MIN_FILTER, gl.NEAREST], [gl.TEXTURE_MAG_FILTER, gl.NEAREST],
      [gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE], [gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE],
    ]) gl.texParameteri(gl.TEXTURE_2D, key, value);
  }

  /** Strips over every `thin`-th node, so that there are at most so many along a side. */
  layMesh(mesh, { nx, ny }, most) {
    const { gl } = this;
    const thin = Math.ceil(Math.max(nx, ny) / most);
    const [mx, my] = [nx, ny].map((n) => Math.ceil((n - 1) / thin) + 1);
    const strips = new Uint32Array((my - 1) * (2 * mx + 1));
    let at = 0;
    for (let j = 0; j < my - 1; j++) {
      for (let i = 0; i < mx; i++) {
        strips[at++] = (j + 1) * mx + i;
        strips[at++] = j * mx + i;
      }
      strips[at++] = 0xffffffff;
    }
    gl.bindVertexArray(this.noVertices);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, mesh.strips);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, strips, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    Object.assign(mesh, { thin, sides: [mx, my], count: strips.length });
  }

  /** Lay drawings (canvases whose first row is the north edge) over the ground: lines, and the map of what lies on it. */
  setSkin(lines, cover) {
    this.layDrawing(this.textures.skin, lines, true);
    this.layDrawing(this.textures.cover, cover, false);
  }

  layDrawing(texture, drawing, sharpened) {
    const { gl } = this;
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, true);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, true);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, gl.RGBA, gl.UNSIGNED_BYTE, drawing);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
    gl.generateMipmap(gl.TEXTURE_2D);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.LINEAR_MIPMAP_LINEAR);
    const sharp = gl.getExtension("EXT_texture_filter_anisotropic");
    if (sharp && sharpened && !this.byHand) gl.texParameterf(gl.TEXTURE_2D, sharp.TEXTURE_MAX_ANISOTROPY_EXT, 4);
    for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, side, gl.CLAMP_TO_EDGE);
  }

  /**
   * Things that stand on the ground: [{data, kind, opacity, casts, built, overhead}], data of nine numbers a vertex (place, normal, ink),
   * kind the name of a surface or "" where the ink is the body's own.
   */
  setSolids(solids) {
    const { gl } = this;
    for (const old of this.solids) { gl.deleteVertexArray(old.array); gl.deleteBuffer(old.buffer); }
    this.shadeOf = "";
    this.highest = 0;
    this.solids = solids.map(({ data, ...told }) => {
      const array = gl.createVertexArray();
      const buffer = gl.createBuffer();
      gl.bindVertexArray(array);
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.bufferData(gl.ARRAY_BUFFER, data, gl.STATIC_DRAW);
      for (let k = 0; k < 3; k++) {
        gl.enableVertexAttribArray(k);
        gl.vertexAttribPointer(k, 3, gl.FLOAT, false, 36, 12 * k);
      }
      gl.bindVertexArray(null);
      if (told.casts) for (let k = 2; k < data.length; k += 9) this.highest = Math.max(this.highest, data[k]);
      return { ...told, array, buffer, count: data.length / 9 };
    });
  }

  /**
   * Draw what `eye` sees; `after` 0 is the ground as it is and 1 as built, `lift` how many times heights are drawn,
   * `tinted` 1 where soil has the colour of its depth. With `hasty` shadows stay where they were, over fewer nodes.
   */
  draw(eye, told) {
    const { gl, canvas } = this;
    const mesh = told.hasty ? this.rough : this.fine;
    const view = { ...told, mesh, eye: eye.matrix(canvas.width / canvas.height), from: eye.place() };
    this.castShade(view);
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const { existing, change, skin, cover, near, far, shade } = this.textures;
    const kept = [existing, change, skin, cover, null, null, shade];
    kept.forEach((texture, k) => {
      gl.activeTexture(gl.TEXTURE0 + k);
      gl.bindTexture(gl.TEXTURE_2D, texture);
    });
    [near, far].forEach((texture, k) => {
      gl.activeTexture(gl.TEXTURE4 + k);
      gl.bindTexture(gl.TEXTURE_2D_ARRAY, texture);
    });
    gl.activeTexture(gl.TEXTURE7);
    gl.disable(gl.BLEND);
    this.drawGround(view);
    this.drawWalls(view);
    this.drawSolids(view);
  }

  /** Take up a program with all that it shares with the others. */
  use(name, view, mesh = view.mesh) {
    const { gl, field } = this;
    const { made, places } = this.programs[name];
    gl.useProgram(made);
    gl.uniformMatrix4fv(places.u_eye, false, view.eye);
    gl.uniform3fv(places.u_sun, view.sun);
    gl.uniform3fv(places.u_from, view.from);
    gl.uniformMatrix4fv(places.u_toShade, false, this.toShade);
    gl.uniform1f(places.u_shaded, this.byHand ? 1 : 2); // how finely shadows end
    gl.uniform2i(places.u_nodes, field.nx, field.ny);
    gl.uniform2i(places.u_mesh, mesh.sides[0], mesh.sides[1]);
    gl.uniform1i(places.u_thin, mesh.thin);
    gl.uniform1f(places.u_cell, field.cell);
    gl.uniform1f(places.u_hasty, Number(view.hasty));
    for (const key of ["after", "lift", "base", "foot", "tinted"]) gl.uniform1f(places[`u_${key}`], view[key]);
    const units = ["existing", "change", "skin", "cover", "near", "far", "shade"];
    units.forEach((unit, k) => gl.uniform1i(places[`u_${unit}`], k));
    return places;
  }

  /** Draw the map of shadows anew where something in it has changed. */
  castShade(view) {
    const { gl } = this;
    const told = [view.after, view.lift, view.base, ...view.sun].map((value) => value.toFixed(3)).join();
    if (told === this.shadeOf || (view.hasty && this.toShade)) return;
    this.shadeOf = told;
    const boxed = [[0, this.field.width], [0, this.field.height], [view.foot, Math.max(this.highest, view.high) + 0.1]];
    const eye = sunMatrix(view.sun, boxed, 1);
    this.toShade = sunMatrix(view.sun, boxed, 0.5);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadeFrame);
    gl.viewport(0, 0, SHADE_CELLS, SHADE_CELLS);
    gl.clear(gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.POLYGON_OFFSET_FILL);
    gl.polygonOffset(2, 4);
    [this.textures.existing, this.textures.change, null, null, null, null, null].forEach((texture, k) => {
      gl.activeTexture(gl.TEXTURE0 + k);
      gl.bindTexture(gl.TEXTURE_2D, texture);
    });
    this.use("groundShade", { ...view, eye }, this.rough);
    this.drawMesh(this.rough);
    this.use("bodyShade", { ...view, eye });
    for (const solid of this.solidsIn(view).filter(({ casts }) => casts)) {
      gl.bindVertexArray(solid.array);
      gl.drawArrays(gl.TRIANGLES, 0, solid.count);
    }
    gl.disable(gl.POLYGON_OFFSET_FILL);
    gl.bindVertexArray(null);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  drawMesh({ strips, count }) {
    const { gl } = this;
    gl.bindVertexArray(this.noVertices);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, strips);
    gl.drawElements(gl.TRIANGLE_STRIP, count, gl.UNSIGNED_INT, 0);
  }

  drawGround(view) {
    const { gl, look } = this;
    const places = this.use("ground", view);
    gl.uniform1i(places.u_bed, Object.keys(this.scenery.light.kinds).indexOf(this.scenery.bed));
    gl.uniform1f(places.u_interval, look.interval);
    gl.uniform1f(places.u_strong, look.strong);
    gl.uniform1f(places.u_depthStep, look.depth_step);
    gl.uniform1f(places.u_pixel, Math.max(this.canvas.width / Math.max(this.canvas.clientWidth, 1), 1));
    gl.uniform3fv(places.u_fill, look.colours.fill.flatMap(channels));
    gl.uniform3fv(places.u_cut, look.colours.cut.flatMap(channels));
    gl.uniform3fv(places.u_proposedInk, channels(look.colours.proposed));
    gl.uniform3fv(places.u_existingInk, channels(look.colours.existing));
    this.drawMesh(view.mesh);
  }

  /** Cut sides, so that the ground reads as a block. */
  drawWalls(view) {
    const [mx, my] = view.mesh.sides;
    this.use("walls", view);
    this.gl.bindVertexArray(this.noVertices);
    this.gl.drawArrays(this.gl.TRIANGLE_STRIP, 0, 4 * (mx + my));
  }

  /** Straight from above, limbs and leaves would hide the bed: there a tree is its trunk. Stones are there once built. */
  solidsIn({ leaves, after }) {
    return this.solids.filter(({ overhead, built }) => (leaves > 0 || !overhead) && (after > 0.5 || !built));
  }

  drawSolids(view) {
    const { gl } = this;
    const places = this.use("bodies", view);
    const kinds = Object.keys(this.scenery.light.kinds);
    const lay = (solid) => {
      gl.bindVertexArray(solid.array);
      gl.drawArrays(gl.TRIANGLES, 0, solid.count);
    };
    for (const solid of this.solidsIn(view)) {
      gl.uniform1i(places.u_kind, kinds.indexOf(solid.kind));
      gl.uniform2fv(places.u_slant, this.scenery.light.slants[solid.kind] ?? [0, 0]);
      gl.uniform1f(places.u_opacity, solid.opacity);
      if (solid.opacity === 1) { lay(solid); continue; }
      // What is clear lies over the rest as one film, of its nearest faces.
      gl.colorMask(false, false, false, false);
      lay(solid);
      gl.colorMask(true, true, true, true);
      gl.uniform1f(places.u_opacity, solid.opacity * view.leaves);
      gl.enable(gl.BLEND);
      gl.depthFunc(gl.EQUAL);
      lay(solid);
      gl.depthFunc(gl.LESS);
      gl.disable(gl.BLEND);
    }
    gl.bindVertexArray(null);
  }
}

/** Column-major matrix from metres to what the sun sees of a box [[west, east], [south, north], [low, high]]; `half` 1
 * gives places of -1 to 1, and 0.5 of 0 to 1. */
function sunMatrix(sun, box, half) {
  const flat = Math.hypot(sun[0], sun[1]) || 1;
  const right = [-sun[1] / flat, sun[0] / flat, 0];
  const up = [-sun[2] * right[1], sun[2] * right[0], sun[0] * right[1] - sun[1] * right[0]];
  const matrix = new Float32Array(16);
  [right, up, sun.map((v) => -v)].forEach((axis, row) => {
    const ends = axis.map((v, k) => [v * box[k][0], v * box[k][1]]);
    const low = ends.reduce((sum, pair) => sum + Math.min(...pair), 0);
    const high = ends.reduce((sum, pair) => sum + Math.max(...pair), 0);
    const scale = (2 * half) / Math.max(high - low, 1e-6);
    axis.forEach((v, k) => { matrix[4 * k + row] = v * scale; });
    matrix[12 + row] = -low * scale - (half === 1 ? 1 : 0);
  });
  matrix[15] = 1;
  return matrix;
}
