from .camera import Camera as Camera, camera_over as camera_over, level_camera as level_camera
from .cover import Cover as Cover, cover_grid as cover_grid, cover_of as cover_of, resampled as resampled
from .light import sky_view as sky_view, sun_over as sun_over
from .noise import scattered as scattered
from .shading import shown_as as shown_as
from .shapes import (
    block as block,
    boulder as boulder,
    gathered as gathered,
    lathe as lathe,
    limb as limb,
    sheet as sheet,
)
from .stage import Stage as Stage, StillBody as StillBody, face_colours as face_colours
from .still import Still as Still, draw_still as draw_still
from .surfaces import (
    BARK as BARK,
    GRAVEL as GRAVEL,
    GROUND as GROUND,
    LAWN as LAWN,
    LEAVES as LEAVES,
    MULCH as MULCH,
    PAVING as PAVING,
    SOIL as SOIL,
    STONE as STONE,
    WATER as WATER,
    encoded as encoded,
    linear as linear,
)
from .told import FAR as FAR, NEAR as NEAR, grain_tiles as grain_tiles, told_light as told_light
