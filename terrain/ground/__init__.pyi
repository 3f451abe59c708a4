from .choose import FittedGround as FittedGround, fit_ground as fit_ground, heights_at as heights_at
from .control_choice import next_controls as next_controls
from .existing import model_ground as model_ground
from .gaps import gap_words as gap_words
from .interpolate import interpolate as interpolate
from .lie import lie_of as lie_of
from .mean_range import mean_height_range as mean_height_range
from .model import DoubtfulShot as DoubtfulShot, Ground as Ground, ReadAgain as ReadAgain, check_ground as check_ground
from .model_averaging import mean_deviation_over as mean_deviation_over
from .notes import count_words as count_words, left_out_words as left_out_words, method_words as method_words
from .read_again import again_short as again_short, again_words as again_words
from .resampled import coarser as coarser, on_grid as on_grid
from .shot_choice import NextShot as NextShot, next_shots as next_shots
from .shots import local_shots as local_shots
from .spots import points_over as points_over
from .unmeasured import (
    TWENTY as TWENTY,
    all_alike as all_alike,
    deviation_after_shots as deviation_after_shots,
    deviations_after as deviations_after,
    first_shots as first_shots,
    guessed as guessed,
)
from .yard import grid_words as grid_words
