// A picture under the plan: whether it can be taken at all, and how it lies once two of its points are taped.

export const MOST_BYTES = 40e6; // of the file
export const MOST_PIXELS = 50e6; // 200 MB once it is unpacked, which a browser can hold
const MOST_SIDE = 2400; // pixels that are kept of its longer side: a plan on a screen shows no more

/** Two bytes, high one first. */
const word = (bytes, at) => (bytes[at] << 8) | bytes[at + 1];

function pngSize(bytes) {
  const long = (at) => word(bytes, at) * 65536 + word(bytes, at + 2);
  return { wide: long(16), high: long(20) };
}

/** Of the first frame's head; what stands before it is passed over by its own length. */
function jpegSize(bytes) {
  let at = 2;
  while (at + 9 < bytes.length && bytes[at] === 0xff) {
    const kind = bytes[at + 1];
    const frame = kind >= 0xc0 && kind <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(kind);
    if (frame) return { wide: word(bytes, at + 7), high: word(bytes, at + 5) };
    const length = word(bytes, at + 2);
    if (length < 2) return null;
    at += 2 + length;
  }
  return null;
}

/**
 * Width and height in pixels that a PNG or JPEG says it has; null for anything else.
 * @param {Uint8Array} bytes
 * @returns {{ wide: number, high: number } | null}
 */
export function pictureSize(bytes) {
  const begins = (...signs) => signs.every((sign, k) => bytes[k] === sign);
  if (begins(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a) && bytes.length > 23) return pngSize(bytes);
  return begins(0xff, 0xd8) ? jpegSize(bytes) : null;
}

/**
 * Why a picture cannot be taken, in words; "" where it can. It is judged before any of it is unpacked.
 * @param {number} size bytes of the file
 * @param {Uint8Array} bytes its beginning
 */
export function refusedPicture(size, bytes) {
  if (size > MOST_BYTES) return `This file has ${Math.round(size / 1e6)} MB. Accepted: ${MOST_BYTES / 1e6} MB at most.`;
  const found = pictureSize(bytes);
  if (!found || !(found.wide > 0) || !(found.high > 0)) return "This is no picture that can be read. Accepted: JPEG or PNG.";
  const pixels = found.wide * found.high;
  if (pixels <= MOST_PIXELS) return "";
  return `This picture has ${Math.round(pixels / 1e6)} megapixels. Accepted: ${MOST_PIXELS / 1e6} at most; send a smaller copy.`;
}

/** By how much a picture is made smaller before it is kept. */
export const shrunk = (wide, high) => Math.min(1, MOST_SIDE / Math.max(wide, high));

// A lay takes pixels (right, up from the top left, so always 0 or less) to metres: turned and stretched by the complex
// number [a, b], then moved by [e, f].

/**
 * @param {number[]} lay
 * @param {number[]} pixel right and up
 * @returns {[number, number]} metres
 */
export const laidAt = ([a, b, e, f], [u, v]) => [a * u - b * v + e, b * u + a * v + f];

/**
 * The lay of a picture before anything of it is taped: upright, so wide, its middle at a place; metres.
 * @param {number} wide pixels
 * @param {number} high pixels
 * @param {number[]} middle
 * @param {number} metres
 */
export function firstLay(wide, high, middle, metres) {
  const scale = metres / wide;
  return [scale, 0, middle[0] - metres / 2, middle[1] + (scale * high) / 2];
}

/**
 * The lay after two places of the plan turned out to be so far apart: the first becomes along 0, out 0, and the second
 * lies straight along from it. null where the two are one place.
 * @param {number[]} lay
 * @param {number[]} from
 * @param {number[]} to
 * @param {number} metres
 */
export function tapedLay([a, b, e, f], from, to, metres) {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const square = dx * dx + dy * dy;
  if (!(square > 1e-12) || !(metres > 0)) return null;
  const [c, d] = [(metres * dx) / square, (-metres * dy) / square]; // metres over the way between them
  const [g, h] = [e - from[0], f - from[1]];
  return [c * a - d * b, c * b + d * a, c * g - d * h, c * h + d * g];
}
