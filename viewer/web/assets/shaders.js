// What the graphics card is told: ground, block and bodies of the 3D picture in the light of the stills.

/** Light and grain as the stills have them, from their own figures. */
function lightText({ light, near, far }) {
  const number = (value) => value.toFixed(6);
  const triple = (values) => `vec3(${values.map(number).join(", ")})`;
  const kinds = Object.entries(light.kinds);
  return `
precision highp float;
precision highp int;
precision highp sampler2DArray;
precision highp sampler2DShadow;
uniform sampler2DArray u_near;
uniform sampler2DArray u_far;
uniform sampler2DShadow u_shade;
uniform mat4 u_toShade;
uniform float u_shaded;
uniform float u_hasty;
uniform vec3 u_sun;
uniform vec3 u_from;
${kinds.map(([name], k) => `const int ${name.toUpperCase()} = ${k};`).join("\n")}
const vec3 KINDS[${kinds.length}] = vec3[](${kinds.map(([, colour]) => triple(colour)).join(", ")});
const vec3 MIRRORED = ${triple(light.mirrored)};
const float WIDE_NEAR = ${number(near.pixel * near.kinds[0].nodes)};
const float WIDE_FAR = ${number(far.pixel * far.kinds[0][0].nodes)};
float nearGrain(int kind, vec2 at, vec2 dx, vec2 dy) {
  return 2.0 * textureGrad(u_near, vec3(at / WIDE_NEAR, float(kind)), dx / WIDE_NEAR, dy / WIDE_NEAR).r - 1.0;
}
// A kind's colour at a place of its surface: patches from afar, grain from near.
vec3 grained(int kind, vec2 at, vec2 dx, vec2 dy) {
  vec2 patches = textureGrad(u_far, vec3(at / WIDE_FAR, float(kind)), dx / WIDE_FAR, dy / WIDE_FAR).rg;
  float bright = 2.0 * patches.r;
  if (u_hasty < 0.5) bright += nearGrain(kind, at, dx, dy);
  return KINDS[kind] * bright * (1.0 + vec3(1.0, 0.0, -1.0) * (2.0 * patches.g - 1.0));
}
// Share of the sun that reaches a place.
float sunlit(vec3 place, vec3 normal) {
  vec4 spot = u_toShade * vec4(place + 0.03 * normal, 1.0);
  vec3 at = spot.xyz / spot.w;
  if (u_shaded < 0.5 || any(lessThan(at, vec3(0.0))) || any(greaterThan(at, vec3(1.0)))) return 1.0;
  if (u_shaded < 1.5) return texture(u_shade, at);
  vec2 cell = 0.75 / vec2(textureSize(u_shade, 0));
  float light = 0.0;
  for (int k = 0; k < 4; k++) light += texture(u_shade, vec3(at.xy + cell * vec2(k % 2 * 2 - 1, k / 2 * 2 - 1), at.z));
  return 0.25 * light;
}
// How light a surface is beside level ground in the open sun.
float toned(float facing, float lit, float up) {
  float level = ${number(light.sun)} * u_sun.z + ${number(light.sky)};
  return (${number(light.sun)} * max(facing, 0.0) * lit + ${number(light.sky)} * (0.5 + 0.5 * up)) / level
    + ${number(light.bounced)} * (0.5 - 0.5 * up);
}
// sRGB of light, IEC 61966-2-1, its brightest part pressed together.
vec3 encoded(vec3 colour) {
  vec3 light = ${number(light.exposure)} * max(colour, 0.0);
  vec3 over = max(light - ${number(light.shoulder)}, 0.0) / ${number(1 - light.shoulder)};
  vec3 pressed = min(light, ${number(light.shoulder)}) + ${number(1 - light.shoulder)} * over / (1.0 + over);
  return mix(12.92 * pressed, 1.055 * pow(pressed, vec3(1.0 / 2.4)) - 0.055, step(0.0031308, pressed));
}
// A drawing's own ink as the light that comes out as it on level ground in the sun.
vec3 decoded(vec3 ink) {
  vec3 light = mix(ink / 12.92, pow((ink + 0.055) / 1.055, vec3(2.4)), step(0.04045, ink));
  return light / ${number(light.exposure)};
}
// Water over its bed: foam where it falls, and the sky that it mirrors by Schlick's form of Fresnel's law.
vec3 wet(vec3 bed, vec3 normal, vec3 place, float ripple) {
  float foam = clamp(2.2 * (0.75 - normal.z) + 0.25 * ripple, 0.0, 1.0);
  float slant = 1.0 - clamp(dot(normal, normalize(u_from - place)) + 0.12 * ripple, 0.0, 1.0);
  float mirror = min(1.6 * (0.02 + 0.98 * pow(slant, 5.0)) + 0.06 * (1.0 + ripple), 0.85);
  return mix(mix(bed * (1.0 + 0.18 * ripple), vec3(${number(light.foam)}), foam), MIRRORED, mirror);
}
`;
}

const HEIGHTS = `
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
// Existing grade and the change of it at a node, metres.
vec2 heights(ivec2 node) {
  ivec2 k = clamp(node, ivec2(0), u_nodes - 1);
  return vec2(texelFetch(u_existing, k, 0).r, texelFetch(u_change, k, 0).r);
}
float finished(ivec2 node) { vec2 h = heights(node); return h.x + u_after * h.y; }
ivec2 meshNode(ivec2 at) { return min(at * u_thin, u_nodes - 1); }
`;

const GROUND_VERTEX = `${HEIGHTS}
out vec2 v_spot;
out vec2 v_heights;
out vec3 v_normal;
out vec3 v_place;
void main() {
  ivec2 node = meshNode(ivec2(gl_VertexID % u_mesh.x, gl_VertexID / u_mesh.x));
  v_heights = heights(node);
  v_spot = vec2(node) / vec2(u_nodes - 1);
  float east = finished(node + ivec2(1, 0)) - finished(node - ivec2(1, 0));
  float north = finished(node + ivec2(0, 1)) - finished(node - ivec2(0, 1));
  v_normal = vec3(-u_lift * east, -u_lift * north, 2.0 * u_cell);
  v_place = vec3(vec2(node) * u_cell, u_lift * (v_heights.x + u_after * v_heights.y - u_base));
  gl_Position = u_eye * vec4(v_place, 1.0);
}`;

// The map of what lies on the ground: red is the bed, green paving, blue gravel, white water; black is lawn.
const GROUND_FRAGMENT = `
in vec2 v_spot;
in vec2 v_heights;
in vec3 v_normal;
in vec3 v_place;
uniform sampler2D u_skin;
uniform sampler2D u_cover;
uniform int u_bed;
uniform float u_after;
uniform float u_tinted;
uniform float u_interval;
uniform float u_strong;
uniform float u_depthStep;
uniform float u_pixel;
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
  vec2 at = v_place.xy, dx = dFdx(at), dy = dFdy(at);
  vec3 normal = normalize(v_normal);
  vec3 map = texture(u_cover, v_spot).rgb;
  float water = min(map.r, min(map.g, map.b));
  vec3 rest = map - water;
  float dug = smoothstep(0.006, 0.02, -depth);
  float bare = u_after * dug * (1.0 - max(rest.g, rest.b));
  vec3 ink = vec3(0.0);
  float lawn = max(1.0 - water - rest.r - rest.g - rest.b, 0.0);
  if (lawn > 0.0) ink += lawn * grained(LAWN, at, dx, dy);
  if (rest.r > 0.0) ink += rest.r * grained(u_bed, at, dx, dy);
  if (rest.g > 0.0) ink += rest.g * grained(PAVING, at, dx, dy);
  if (rest.b > 0.0) ink += rest.b * grained(GRAVEL, at, dx, dy);
  if (bare > 0.0) ink = mix(ink, grained(SOIL, at, dx, dy), bare * (1.0 - water));
  if (water > 0.0) ink = mix(ink, wet(KINDS[WATER], normal, v_place, nearGrain(WATER, at, dx, dy)), water);
  int band = clamp(int(deep / u_depthStep), 0, 4);
  // Thin soil at the toe runs out into the ground.
  if (u_tinted > 0.0) ink = mix(ink, decoded(depth > 0.0 ? u_fill[band] : u_cut[band]), smoothstep(0.002, 0.012, deep));
  float facing = dot(normal, u_sun);
  vec3 seen = encoded(ink * toned(facing, facing > 0.0 ? sunlit(v_place, normal) : 0.0, normal.z));
  float covered = smoothstep(0.002, 0.006, deep);
  float level = (v_heights.x + depth) / u_interval;
  float across = fwidth(level);
  float strong = lineAt(level / u_strong, across / u_strong, 1.1 * u_pixel);
  float plain = lineAt(level, across, 0.6 * u_pixel);
  float drawn = max(strong, plain) * mix(0.75 * u_tinted, mix(0.7, 1.0, u_tinted), covered);
  seen = mix(seen, mix(u_existingInk, u_proposedInk, covered), drawn);
  vec4 skin = texture(u_skin, v_spot);
  colour = vec4(seen * (1.0 - skin.a) + skin.rgb, 1.0);
}`;

const WALL_VERTEX = `${HEIGHTS}
uniform float u_foot;
out vec3 v_place;
out vec3 v_normal;
void main() {
  // Two vertices a node of the rim, going round against the clock from the south-west corner.
  int n = gl_VertexID / 2;
  ivec2 last = u_mesh - 1;
  ivec2 at;
  if (n <= last.x) { at = ivec2(n, 0); v_normal = vec3(0.0, -1.0, 0.0); }
  else if (n <= last.x + 1 + last.y) { at = ivec2(last.x, n - last.x - 1); v_normal = vec3(1.0, 0.0, 0.0); }
  else if (n <= 2 * last.x + 2 + last.y) {
    at = ivec2(2 * last.x + 2 + last.y - n, last.y); v_normal = vec3(0.0, 1.0, 0.0);
  } else { at = ivec2(0, 2 * last.x + 3 + 2 * last.y - n); v_normal = vec3(-1.0, 0.0, 0.0); }
  ivec2 node = meshNode(at);
  float z = gl_VertexID % 2 == 0 ? u_foot : u_lift * (finished(node) - u_base);
  v_place = vec3(vec2(node) * u_cell, z);
  gl_Position = u_eye * vec4(v_place, 1.0);
}`;

const WALL_FRAGMENT = `
in vec3 v_place;
in vec3 v_normal;
out vec4 colour;
void main() {
  vec2 at = vec2(v_place.x + v_place.y, v_place.z);
  vec3 ink = grained(SOIL, at, dFdx(at), dFdy(at));
  colour = vec4(encoded(ink * toned(dot(v_normal, u_sun), 1.0, 0.0)), 1.0);
}`;

const BODY_VERTEX = `
precision highp float;
layout(location = 0) in vec3 a_place;
layout(location = 1) in vec3 a_normal;
layout(location = 2) in vec3 a_ink;
uniform mat4 u_eye;
out vec3 v_place;
out vec3 v_normal;
out vec3 v_ink;
void main() {
  v_place = a_place;
  v_normal = a_normal;
  v_ink = a_ink;
  gl_Position = u_eye * vec4(a_place, 1.0);
}`;

/** Bodies: a kind of surface whose grain slants with their height, or -1 where the ink is their own. */
const bodyFragment = ({ light }) => `
in vec3 v_place;
in vec3 v_normal;
in vec3 v_ink;
uniform int u_kind;
uniform vec2 u_slant;
uniform float u_opacity;
out vec4 colour;
void main() {
  vec2 at = v_place.xy + u_slant * v_place.z;
  vec2 dx = dFdx(at), dy = dFdy(at);
  vec3 normal = normalize(v_normal);
  if (dot(normal, u_from - v_place) < 0.0) normal = -normal; // seen from its other side
  float facing = dot(normal, u_sun);
  if (u_kind == LEAVES) {
    // Fewer and larger tufts than in a still: their leaves hang in bunches, and the sky shows between those too.
    float leaf = min(nearGrain(LEAVES, at, dx, dy), nearGrain(LEAVES, 0.31 * at, 0.31 * dx, 0.31 * dy));
    if (leaf < 0.72) discard;
    float through = ${light.through[0].toFixed(3)} + ${light.through[1].toFixed(3)} * abs(facing);
    vec3 seen = encoded(v_ink * KINDS[LEAVES] * toned(through, 1.0, normal.z));
    colour = vec4(seen * u_opacity, u_opacity);
    return;
  }
  vec3 ink = u_kind < 0 ? v_ink : v_ink * grained(u_kind, at, dx, dy);
  if (u_kind == WATER) ink = wet(KINDS[WATER], normal, v_place, nearGrain(WATER, at, dx, dy));
  float lit = facing > 0.0 ? sunlit(v_place, normal) : 0.0;
  colour = vec4(encoded(ink * toned(facing, lit, normal.z)), 1.0);
}`;

const NOTHING = `precision highp float;
void main() {}`;

/** Vertex and fragment shaders of ground, walls of the block, bodies, and of ground and bodies as the sun sees them. */
export function shadersOf(scenery) {
  const version = "#version 300 es\n";
  const light = lightText(scenery);
  const pair = (vertex, fragment) => [version + vertex, version + fragment];
  return {
    ground: pair(GROUND_VERTEX, light + GROUND_FRAGMENT),
    walls: pair(WALL_VERTEX, light + WALL_FRAGMENT),
    bodies: pair(BODY_VERTEX, light + bodyFragment(scenery)),
    groundShade: pair(GROUND_VERTEX, NOTHING),
    bodyShade: pair(BODY_VERTEX, NOTHING),
  };
}
