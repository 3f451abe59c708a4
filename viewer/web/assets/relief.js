// The ground in 3D: one grid of nodes over a texture of heights, one light, contours and depth tints in the shader.

const SHARED = `#version 300 es
precision highp float;
precision highp int;
precision highp sampler2D;
uniform sampler2D u_existing;
uniform sampler2D u_change;
uniform ivec2 u_nodes;
uniform ivec2 u_mesh;
uniform int u_thin;
uniform float u_cell;
uniform float u_after;
uniform float u_lift;
uniform float u_base;
uniform mat4 u_eye;
uniform vec3 u_sun;
// Existing grade and the change of it at a node, metres.
vec2 heights(ivec2 node) {
  ivec2 k = clamp(node, ivec2(0), u_nodes - 1);
  return vec2(texelFetch(u_existing, k, 0).r, texelFetch(u_change, k, 0).r);
}
float finished(ivec2 node) { vec2 h = heights(node); return h.x + u_after * h.y; }
ivec2 meshNode(ivec2 at) { return min(at * u_thin, u_nodes - 1); }
vec4 seen(ivec2 node, float z) { return u_eye * vec4(vec2(node) * u_cell, z, 1.0); }
`;

const GROUND_VERTEX = `${SHARED}
out vec2 v_spot;
out vec2 v_heights;
out vec3 v_normal;
void main() {
  ivec2 node = meshNode(ivec2(gl_VertexID % u_mesh.x, gl_VertexID / u_mesh.x));
  v_heights = heights(node);
  v_spot = vec2(node) / vec2(u_nodes - 1);
  float east = finished(node + ivec2(1, 0)) - finished(node - ivec2(1, 0));
  float north = finished(node + ivec2(0, 1)) - finished(node - ivec2(0, 1));
  v_normal = vec3(-east, -north, 2.0 * u_cell);
  gl_Position = seen(node, u_lift * (v_heights.x + u_after * v_heights.y - u_base));
}`;

const GROUND_FRAGMENT = `#version 300 es
precision highp float;
in vec2 v_spot;
in vec2 v_heights;
in vec3 v_normal;
uniform sampler2D u_skin;
uniform float u_after;
uniform float u_lift;
uniform vec3 u_sun;
uniform float u_interval;
uniform float u_strong;
uniform float u_depthStep;
uniform float u_pixel;
uniform vec3 u_meadow;
uniform vec3 u_fill[5];
uniform vec3 u_cut[5];
uniform vec3 u_proposedInk;
uniform vec3 u_existingInk;
out vec4 colour;
float lineAt(float level, float across, float wide) {
  float off = abs(fract(level - 0.5) - 0.5) / max(across, 1e-7);
  // Where lines crowd, they fade into a tone instead of a flicker.
  return (1.0 - smoothstep(wide - 0.5, wide + 0.5, off)) * (1.0 - smoothstep(0.3, 0.6, across));
}
void main() {
  float depth = u_after * v_heights.y;
  float deep = abs(depth);
  int band = clamp(int(deep / u_depthStep), 0, 4);
  // Thin soil at the toe runs out into the ground.
  vec3 ink = mix(u_meadow, depth > 0.0 ? u_fill[band] : u_cut[band], smoothstep(0.002, 0.012, deep));
  float covered = smoothstep(0.002, 0.006, deep);
  float level = (v_heights.x + depth) / u_interval;
  float across = fwidth(level);
  float strong = lineAt(level / u_strong, across / u_strong, 1.1 * u_pixel);
  float plain = lineAt(level, across, 0.6 * u_pixel);
  ink = mix(ink, mix(u_existingInk, u_proposedInk, covered), max(strong, plain) * mix(0.75, 1.0, covered));
  vec4 skin = texture(u_skin, v_spot);
  ink = ink * (1.0 - skin.a) + skin.rgb;
  vec3 normal = normalize(vec3(1.7 * v_normal.xy * sqrt(u_lift), v_normal.z));
  float light = 0.45 + 0.55 * max(dot(normal, u_sun), 0.0) / u_sun.z;
  colour = vec4(ink * min(light, 1.06), 1.0);
}`;

const WALL_VERTEX = `${SHARED}
uniform float u_foot;
out vec3 v_ink;
void main() {
  // Two vertices a node of the rim, going round against the clock from the south-west corner.
  int n = gl_VertexID / 2;
  ivec2 last = u_mesh - 1;
  ivec2 at;
  vec3 away;
  if (n <= last.x) { at = ivec2(n, 0); away = vec3(0.0, -1.0, 0.0); }
  else if (n <= last.x + 1 + last.y) { at = ivec2(last.x, n - last.x - 1); away = vec3(1.0, 0.0, 0.0); }
  else if (n <= 2 * last.x + 2 + last.y) {
    at = ivec2(2 * last.x + 2 + last.y - n, last.y); away = vec3(0.0, 1.0, 0.0);
  } else { at = ivec2(0, 2 * last.x + 3 + 2 * last.y - n); away = vec3(-1.0, 0.0, 0.0); }
  ivec2 node = meshNode(at);
  float z = gl_VertexID % 2 == 0 ? u_foot : u_lift * (finished(node) - u_base);
  v_ink = vec3(0.71, 0.624, 0.486) * (0.72 + 0.28 * max(dot(away, u_sun), 0.0));
  gl_Position = seen(node, z);
}`;

const INK_FRAGMENT = `#version 300 es
precision highp float;
in vec3 v_ink;
uniform float u_opacity;
out vec4 colour;
void main() { colour = vec4(v_ink * u_opacity, u_opacity); }`;

const SOLID_VERTEX = `#version 300 es
precision highp float;
layout(location = 0) in vec3 a_place;
layout(location = 1) in vec3 a_normal;
layout(location = 2) in vec3 a_ink;
uniform mat4 u_eye;
uniform vec3 u_sun;
out vec3 v_ink;
void main() {
  v_ink = a_ink * (0.64 + 0.36 * max(dot(normalize(a_normal), u_sun), 0.0));
  gl_Position = u_eye * vec4(a_place, 1.0);
}`;

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
  /** Throws where the canvas gives no WebGL2 context. `look` holds colours, contour interval and depth step. */
  constructor(canvas, look) {
    const byHand = drawnByProcessor();
    const gl = canvas.getContext("webgl2", { antialias: !byHand, alpha: true, premultipliedAlpha: true });
    if (!gl) throw new Error("no WebGL2");
    this.canvas = canvas;
    this.gl = gl;
    this.look = look;
    this.byHand = byHand;
    this.ground = program(gl, GROUND_VERTEX, GROUND_FRAGMENT);
    this.walls = program(gl, WALL_VERTEX, INK_FRAGMENT);
    this.bodies = program(gl, SOLID_VERTEX, INK_FRAGMENT);
    this.existing = gl.createTexture();
    this.change = gl.createTexture();
    this.skin = gl.createTexture();
    this.sides = gl.createBuffer();
    this.noVertices = gl.createVertexArray();
    this.solids = [];
    gl.bindTexture(gl.TEXTURE_2D, this.skin);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, 1, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    gl.enable(gl.DEPTH_TEST);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    gl.getExtension("EXT_texture_filter_anisotropic");
  }

  setField(field) {
    const same = this.field && this.field.nx === field.nx && this.field.ny === field.ny;
    if (!this.field || this.field.existing !== field.existing) this.upload(this.existing, field, field.existing);
    this.upload(this.change, field, field.change);
    this.field = field;
    if (!same) this.layMesh(field);
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

  layMesh({ nx, ny }) {
    const { gl } = this;
    this.thin = Math.ceil(Math.max(nx, ny) / MOST_MESH);
    this.mesh = [nx, ny].map((n) => Math.ceil((n - 1) / this.thin) + 1);
    const [mx, my] = this.mesh;
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
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.sides);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, strips, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    this.count = strips.length;
  }

  /** Lay a drawing (a canvas whose first row is the north edge) over the ground. */
  setSkin(drawing) {
    const { gl } = this;
    gl.bindTexture(gl.TEXTURE_2D, this.skin);
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, true);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, true);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, gl.RGBA, gl.UNSIGNED_BYTE, drawing);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
    gl.generateMipmap(gl.TEXTURE_2D);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.LINEAR_MIPMAP_LINEAR);
    const sharp = gl.getExtension("EXT_texture_filter_anisotropic");
    if (sharp && !this.byHand) gl.texParameterf(gl.TEXTURE_2D, sharp.TEXTURE_MAX_ANISOTROPY_EXT, 4);
    for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, side, gl.CLAMP_TO_EDGE);
  }

  /** Things that stand on the ground: [{data, opacity}], data of nine numbers a vertex (place, normal, ink). */
  setSolids(solids) {
    const { gl } = this;
    for (const old of this.solids) { gl.deleteVertexArray(old.array); gl.deleteBuffer(old.buffer); }
    this.solids = solids.map(({ data, opacity }) => {
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
      return { array, buffer, count: data.length / 9, opacity };
    });
  }

  /** Draw what `eye` sees; `after` 0 is the ground as it is and 1 as built, `lift` how many times heights are drawn. */
  draw(eye, { after, lift, base, foot, sun }) {
    const { gl, canvas } = this;
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const matrix = eye.matrix(canvas.width / canvas.height);
    const shared = (places) => {
      gl.uniformMatrix4fv(places.u_eye, false, matrix);
      gl.uniform3fv(places.u_sun, sun);
      gl.uniform1i(places.u_existing, 0);
      gl.uniform1i(places.u_change, 1);
      gl.uniform2i(places.u_nodes, this.field.nx, this.field.ny);
      gl.uniform2i(places.u_mesh, ...this.mesh);
      gl.uniform1i(places.u_thin, this.thin);
      gl.uniform1f(places.u_cell, this.field.cell);
      gl.uniform1f(places.u_after, after);
      gl.uniform1f(places.u_lift, lift);
      gl.uniform1f(places.u_base, base);
    };
    [this.existing, this.change, this.skin].forEach((texture, k) => {
      gl.activeTexture(gl.TEXTURE0 + k);
      gl.bindTexture(gl.TEXTURE_2D, texture);
    });
    gl.activeTexture(gl.TEXTURE3);
    gl.disable(gl.BLEND);
    this.drawGround(shared);
    this.drawWalls(shared, foot);
    this.drawSolids(matrix, sun);
  }

  drawGround(shared) {
    const { gl, look } = this;
    const { made, places } = this.ground;
    gl.useProgram(made);
    shared(places);
    gl.uniform1i(places.u_skin, 2);
    gl.uniform1f(places.u_interval, look.interval);
    gl.uniform1f(places.u_strong, look.strong);
    gl.uniform1f(places.u_depthStep, look.depth_step);
    gl.uniform1f(places.u_pixel, Math.max(this.canvas.width / Math.max(this.canvas.clientWidth, 1), 1));
    gl.uniform3fv(places.u_meadow, channels(look.colours.meadow));
    gl.uniform3fv(places.u_fill, look.colours.fill.flatMap(channels));
    gl.uniform3fv(places.u_cut, look.colours.cut.flatMap(channels));
    gl.uniform3fv(places.u_proposedInk, channels(look.colours.proposed));
    gl.uniform3fv(places.u_existingInk, channels(look.colours.existing));
    gl.bindVertexArray(this.noVertices);
    gl.drawElements(gl.TRIANGLE_STRIP, this.count, gl.UNSIGNED_INT, 0);
  }

  drawWalls(shared, foot) {
    const { gl } = this;
    const { made, places } = this.walls;
    gl.useProgram(made);
    shared(places);
    gl.uniform1f(places.u_foot, foot);
    gl.uniform1f(places.u_opacity, 1);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4 * (this.mesh[0] + this.mesh[1]));
    gl.bindVertexArray(null);
  }

  drawSolids(matrix, sun) {
    const { gl } = this;
    const { made, places } = this.bodies;
    gl.useProgram(made);
    gl.uniformMatrix4fv(places.u_eye, false, matrix);
    gl.uniform3fv(places.u_sun, sun);
    for (const { array, count, opacity } of this.solids) {
      if (opacity < 1) { gl.enable(gl.BLEND); gl.depthMask(false); gl.enable(gl.CULL_FACE); }
      gl.uniform1f(places.u_opacity, opacity);
      gl.bindVertexArray(array);
      gl.drawArrays(gl.TRIANGLES, 0, count);
      gl.disable(gl.BLEND);
      gl.depthMask(true);
      gl.disable(gl.CULL_FACE);
    }
    gl.bindVertexArray(null);
  }
}
