"""Every slip in a site file gets one message: file, key, the value that arrived, what would be accepted."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_yard import refusal, spoiled

from terrain.plain import plain

OAK = '[[tree]] 2 "bur oak"'

# what stands in the file, what stands there instead, the message (less the folder)
SLIPS: dict[str, tuple[str, str, str]] = {
    # the file as a whole
    "not TOML": ("sod      = ", "sod      : ", "site.toml line 10: this is not valid TOML: expected '=' after a key"),
    "text without quotes": ('"2 ft"', "2 ft", "in 'toe       = 2 ft'. Texts stand in quotes, such as toe ="),
    "a table twice": (
        "[grid]",
        "[berm]",
        "site.toml line 51: this is not valid TOML: cannot declare ('berm',) twice, in '[berm]'. Each table",
    ),
    # keys
    "unknown table": (
        "[grid]",
        "[gird]",
        'site.toml: "gird" is not a known key. Did you mean "grid"? Known keys: name',
    ),
    "unknown key": (
        "max_slope",
        "max_slop",
        'site.toml [berm]: "max_slop" is not a known key. Did you mean "max_slope"? '
        "Known keys: max_slope, crest, soil, toe, gentle_side, saddle, drawn_out.",
    ),
    "unknown key of a tree": (
        "keep_off",
        "keepoff",
        f'site.toml {OAK}: "keepoff" is not a known key. Did you mean "keep_off"?',
    ),
    "key of the reader": ('"shots.csv"', '"shots.csv"\nrows = [1]', 'site.toml [survey]: "rows" is not a known key.'),
    "path of the reader": ('units = "ft"', 'units = "ft"\npath = "x"', 'site.toml: "path" is not a known key.'),
    "missing key": ('max_slope = "4:1"', "", 'site.toml [berm] max_slope: this is missing. Add max_slope = "4:1".'),
    "missing table": ("[survey]", "[soil_2]", 'site.toml: "soil_2" is not a known key. Did you mean "soil"?'),
    "missing key of a tree": (
        'trunk    = "26 in"',
        "",
        f'site.toml {OAK} trunk: this is missing. Add trunk = "26 in".',
    ),
    "one bracket": ("[[building]]", "[building]", "is not a list of tables. Write [[building]] above each one."),
    "two brackets": ("[grid]", "[[grid]]", "is not a table. Write its keys under a line [grid], once."),
    "a value for a table": (
        "[grid]\ncell = ",
        "[[keep_clear]]\nname = 3\noutline = [[1, 1], [2, 1], [2, 2]]\n#",
        "site.toml [[keep_clear]] 2 name: 3 is not a text.",
    ),
    # units and values
    "no units": ('units = "ft"', "", 'site.toml units: this key is missing. Accepted: units = "ft" or units = "m".'),
    "other units": (
        'units = "ft"',
        'units = "feet"',
        'site.toml units: "feet" is not a unit of a site. Accepted: units =',
    ),
    "no name": ('"Alder Bend, front bed"', '""', 'site.toml name: "" is not a text.'),
    "unknown unit": (
        '"26 in"',
        '"26 inn"',
        f'site.toml {OAK} trunk: "26 inn" is not a length. Accepted: a number in ft, or a number with',
    ),
    "true for a length": ('"2 in"', "true", "site.toml [bed] sod: true is not a length."),
    "nan for a length": ('"2 in"', "nan", "site.toml [bed] sod: nan is not a length."),
    "feet for inches": (
        'mulch    = "3 in"',
        "mulch = 3",
        "site.toml [bed] mulch: a layer of 3 is 3 ft, more than 1 ft 7 1/2 in. A bare number is in ft; "
        'a text may name its unit, such as "18 in".',
    ),
    "negative layer": ('"2 in"', '"-2 in"', 'site.toml [bed] sod: a layer of "-2 in" is negative.'),
    "no accuracy": ('"0.02 ft"', "0", "site.toml [survey] accuracy: 0 is not above zero. Accepted: more than 0."),
    "shots that are no file": (
        '"shots.csv"',
        "7",
        "site.toml [survey] shots: 7 is neither a file nor a list of shots.",
    ),
    "a shot of two numbers": (
        '"shots.csv"',
        "[[1, 2], [3, 4]]",
        "site.toml [survey] shots: shot 1, [1, 2], is not [x, y, elevation].",
    ),
    "a length for a volume": ('"14 cu yd"', '"14 yd"', 'site.toml [berm] soil: "14 yd" is not a volume.'),
    "no soil on hand": ('"14 cu yd"', "0", "site.toml [berm] soil: 0 is not above zero."),
    "a price in words": (
        "42.0",
        '"$42"',
        'site.toml [soil] price: "$42" is not a price. Accepted: a number above 0, in your',
    ),
    "negative toe": ('"2 ft"', "-2", "site.toml [berm] toe: a width of -2 is negative."),
    "a side of no compass": (
        '"south"',
        '"left"',
        'site.toml [berm] gentle_side: "left" is not a side. Accepted: north, northeast',
    ),
    "a share over one": ('"8 %"', "8", "site.toml [soil] settlement: 8 is 800 %, out of range."),
    "a great loss": ('"8 %"', '"60 %"', 'site.toml [soil] settlement: "60 %" loses more than half of the soil.'),
    "soil of no table": (
        '"loam"',
        '"lome"',
        'site.toml [soil] kind: "lome" is not a soil of the table (US Army FM 5-434, Earthmoving Operations, 2000, '
        'Table 1-1). Did you mean "loam"? Accepted: sand, gravel,',
    ),
    "a cell too fine": (
        '"0.25 ft"',
        '"0.001 in"',
        "site.toml [grid] cell: cells of 8.33333e-05 ft would give 324,000,000,000 nodes.",
    ),
    "a cell too wide": (
        "0.25 ft",
        "30 ft",
        "site.toml [grid] cell: cells of 30 ft would give 2 nodes. Accepted: from 0.017 to 10 ft;",
    ),
    # slope and crest
    "no slope": ('"4:1"', "0", "site.toml [berm] max_slope: a slope of 0 leaves no room to rise; it must be above 0."),
    "slope the wrong way round": (
        '"4:1"',
        '"1:4"',
        'site.toml [berm] max_slope: "1:4" is a slope of 400 %, steeper than',
    ),
    "negative height": (
        '"30 in"',
        '"-30 in"',
        'site.toml [berm] crest point 2: the height "-30 in" is not above existing grade. Accepted: a height of more',
    ),
    "no height": ('"30 in"', "0", "site.toml [berm] crest point 2: the height 0 is not above existing grade."),
    "feet for inches of height": (
        '"30 in"',
        "30",
        "site.toml [berm] crest point 2: a height of 30 is 30 ft, more than 16 ft 5 in.",
    ),
    "a crest point of two numbers": (
        '[26, 24, "30 in"]',
        "[26, 24]",
        "site.toml [berm] crest point 2: [26, 24] is not a crest point.",
    ),
    "a flat crest": (
        '[[18, 20, "22 in"], [26, 24, "30 in"], [37, 21, "14 in"]]',
        "[18, 20, 22]",
        "crest point 1: 18 is not a crest point.",
    ),
    "an empty crest": (
        '[[18, 20, "22 in"], [26, 24, "30 in"], [37, 21, "14 in"]]',
        "[]",
        "site.toml [berm] crest: there is no crest point.",
    ),
    "no crest": (
        'crest     = [[18, 20, "22 in"], [26, 24, "30 in"], [37, 21, "14 in"]]',
        "",
        "site.toml [berm] crest: this is missing.",
    ),
    "crest outside the bed": (
        "[26, 24, ",
        "[26, 34, ",
        "site.toml [berm] crest point 2: x 26.00, y 34.00 lies outside the bed, 4 ft from it. "
        "Accepted: a place inside the bed outline.",
    ),
    "crest in metres": (
        "[37, 21, ",
        "[121, 69, ",
        "lies outside the bed, 85 ft 5 in from it. Its coordinates times 0.3048 lie among",
    ),
    # trees
    "tree outside the yard": (
        "[31.0, 22.5]",
        "[310.0, 22.5]",
        f"site.toml {OAK} at: x 310.00, y 22.50 is outside the yard, 260 ft from it. "
        "The shots and the bed span x 0.00, y 0.00 to x 50.00, y 45.00.",
    ),
    "tree in metres": ("[31.0, 22.5]", "[150, 75]", "feet and metres look mixed"),
    "tree at three numbers": (
        "[31.0, 22.5]",
        "[31.0, 22.5, 1]",
        f"site.toml {OAK} at: [31.0, 22.5, 1] is not a place. Accepted: [x, y]",
    ),
    "no trunk": ('"26 in"', "0", f"site.toml {OAK} trunk: 0 is not above zero."),
    "trunk in feet": (
        '"26 in"',
        "26",
        f"site.toml {OAK} trunk: a trunk diameter of 26 is 26 ft, more than 13 ft 1 1/2 in.",
    ),
    "flare inside the trunk": (
        '"2.1 ft"',
        '"9 in"',
        f"site.toml {OAK} flare: the flare's radius 9 in is less than half the trunk's diameter, 13 in.",
    ),
    "keep-off inside the flare": (
        '"5 ft"',
        '"2 ft"',
        f"site.toml {OAK} keep_off: 24 in from the trunk's centre lies inside the root flare, "
        "whose radius is 25 1/4 in. Accepted: the root flare's radius or more; left out, the rule under",
    ),
    "two trees of one name": (
        '"red maple"',
        '"bur oak"',
        f"site.toml {OAK} name: [[tree]] 1 has the same name. Give every tree",
    ),
    "a rule of no book": (
        '"1.5 ft per inch"',
        '"leaf edge"',
        'site.toml [trees] rule: "leaf edge" is not a known root zone rule.',
    ),
    "a rule by the crown without one": (
        '"1.5 ft per inch"',
        '"dripline"',
        'site.toml [[tree]] 1 "red maple" dripline: this is missing, and the rule "dripline" goes by the width of the '
        'crown. Add dripline = "18 ft"',
    ),
    "two trunks": (
        'trunk    = "14 in"',
        'trunk = "14 in"\nstems = ["8 in", "11 in"]',
        'site.toml [[tree]] 1 "red maple" stems: this makes a trunk of 13 1/2 in, but trunk makes 14 in. '
        "Keep one of trunk and stems.",
    ),
    "one stem": (
        'trunk    = "14 in"',
        'stems = ["8 in"]',
        "is not a list of stems. Accepted: two or more diameters, such as",
    ),
    "a girth for a diameter": (
        'trunk    = "14 in"',
        "girth = 60",
        'site.toml [[tree]] 1 "red maple" girth: a girth of 60 is 60 ft, more than 41 ft',
    ),
    "two keep-offs": (
        'keep_off = "5 ft"',
        'keep_off = "5 ft"\nclear_of_flare = "3 ft"',
        f"site.toml {OAK} clear_of_flare: this makes a keep-off of 5 ft 1 in from the trunk's centre, but keep_off "
        "states 5 ft. Keep one of the two.",
    ),
    "a walk off the yard": (
        "[soil]",
        '[[walk]]\nname = "cut through"\nline = [[100, 100], [140, 120]]\nwidth = "4 ft"\n[soil]',
        'site.toml [[walk]] 1 "cut through" line: lies wholly off the yard, 74 ft 4',
    ),
    "a heap in metres": (
        "[soil]",
        '[[heap]]\nname = "loam"\noutline = [[100, 40], [120, 40], [120, 60]]\n[soil]',
        'site.toml [[heap]] 1 "loam" outline: lies wholly off the yard, 50 ft from it. Its coordinates times 0.3048',
    ),
    "a lot line elsewhere": (
        'units = "ft"',
        'units = "ft"\nboundary = [[60, 0], [90, 0], [90, 40], [60, 40]]',
        "site.toml boundary: lies wholly off the bed, 15 ft from it. Accepted: a place in the coordinates",
    ),
    # outlines and floors
    "a walk of two points": (
        "[[0, 0], [3, 0], [3, 30], [0, 30]]",
        "[[0, 0], [3, 0]]",
        'site.toml [[keep_clear]] 1 "front walk" outline: an outline needs at least 3 different points; this has 2.',
    ),
    "a point of one number": (
        "[3, 0],",
        "[3],",
        'site.toml [[keep_clear]] 1 "front walk" outline: point 2, [3], is not a pair [x, y].',
    ),
    "a point in words": (
        "[3, 0],",
        '[3, "left"],',
        'site.toml [[keep_clear]] 1 "front walk" outline: point 2: "left" is not a length.',
    ),
    "a bed without area": (
        '"bed.csv"',
        "[[10, 14], [20, 14], [45, 14]]",
        "site.toml [bed] outline: the outline encloses no ground: its area is zero.",
    ),
    "a bed that crosses itself": (
        '"bed.csv"',
        "[[10, 14], [45, 30], [45, 14], [10, 30]]",
        "site.toml [bed] outline: the outline crosses or touches itself at x 27.50, y 22.00. List the points in order",
    ),
    "a bed off the survey": (
        '"bed.csv"',
        "[[100, 14], [145, 14], [145, 40]]",
        "site.toml [bed] outline: the bed lies wholly off the surveyed ground, 50 ft from it. Its",
    ),
    "a floor from another datum": (
        "101.9",
        "12.5",
        '[[building]] 1 "house" floor: 12.50 ft is far from the elevations of the shots, 100.00 ft to 101.40 ft.',
    ),
}


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_in_the_site_file_is_named_with_what_is_accepted(tmp_path: Path, slip: str) -> None:
    line, instead, message = SLIPS[slip]
    said = refusal(tmp_path, spoiled(line, instead))
    (line,) = [line for line in said.splitlines() if message in line]
    assert plain(line) == line
