// Made by `python -m viewer.web.measures` from terrain/units.py.

export const FOOT = 0.3048; // metres
export const INCH = 0.0254; // metres
export const CUBIC_YARD = 0.764554857984; // m3
