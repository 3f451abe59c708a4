from .errors import HummockError as HummockError, InputError as InputError, OutputError as OutputError
from .field import (
    check_as_built as check_as_built,
    read_built as read_built,
    set_out as set_out,
    where_next as where_next,
)
from .files import summary_of as summary_of, write_files as write_files
from .flow import Study as Study, run_site as run_site
from .grid import Grid as Grid
from .ground import interpolate as interpolate, model_ground as model_ground
from .look import natural_look as natural_look
from .review import review as review
from .shape import shape_berm as shape_berm
from .site import Site as Site, build_site as build_site, read_site as read_site
from .soil import (
    Order as Order,
    WhatIf as WhatIf,
    measure_earthwork as measure_earthwork,
    order_soil as order_soil,
)
from .suggest import suggest as suggest
